//! What is wrong with a key path, or with a value for it.

use std::fmt;

use crate::units::words::{key, listed};
use crate::units::{UnitError, excerpt};

/// A key path that leads to no number, or a value that cannot stand there.
#[derive(Clone, Debug, PartialEq)]
pub enum KeyPathError {
    /// The text is no key path.
    Syntax {
        /// The text.
        path: String,
        /// The path that was probably meant.
        near: Option<String>,
    },
    /// No such table, name or key.
    Unknown {
        /// The path.
        path: String,
        /// What was looked for: "table", "layer", "section", "station", "material", or "number" for a key.
        what: &'static str,
        /// The step of the path that is not known.
        found: String,
        /// The whole path with the nearest known step instead.
        near: Option<String>,
        /// What is known there.
        known: Vec<String>,
    },
    /// The key is one of the case file, but this case gives no number there.
    NoNumber {
        /// The path.
        path: String,
        /// Paths beside it that lead to numbers.
        known: Vec<String>,
    },
    /// A value is outside what the case file allows.
    OutOfRange {
        /// The path.
        path: String,
        /// The value with its unit.
        value: String,
        /// Lowest and highest value with their units.
        range: [String; 2],
    },
    /// A value's text is no value of this kind.
    Value {
        /// The path.
        path: String,
        /// What is wrong with the unit or number.
        error: UnitError,
    },
    /// A text where a bare number was expected.
    NotBare {
        /// The path.
        path: String,
        /// The text.
        text: String,
    },
    /// A temperature was to be multiplied: its zero is a convention.
    Relative {
        /// The path.
        path: String,
    },
}

impl KeyPathError {
    /// What is wrong, without the path, and what would be right.
    pub fn parts(&self) -> (String, String) {
        let beside = |known: &[String]| match known {
            [] => "this case has none".to_string(),
            known => format!("known are {}", listed(known, "and")),
        };
        match self {
            KeyPathError::Syntax { path, near } => (
                format!("{} is not a key path", excerpt(path)),
                near.as_ref().map_or_else(
                    || {
                        "write table.key or table.name.key, a name with spaces or dots in quotation marks: line.speed, \
                         section.\"to capstan\".length"
                            .to_string()
                    },
                    |near| format!("did you mean {near}?"),
                ),
            ),
            KeyPathError::Unknown { what, found, near, known, .. } => (
                format!("there is no {what} {}", key(found)),
                near.as_ref().map_or_else(|| beside(known), |near| format!("did you mean {near}?")),
            ),
            KeyPathError::NoNumber { known, .. } => (
                "this case gives no single number there".to_string(),
                match &known[..] {
                    [] => "write it into the case file first".to_string(),
                    known => format!("numbers beside it are {}", listed(known, "and")),
                },
            ),
            KeyPathError::OutOfRange { value, range: [low, high], .. } => {
                (format!("{value} is outside what is possible there"), format!("it takes {low} to {high}"))
            }
            KeyPathError::Value { error, .. } => (error.wrong(), error.remedy()),
            KeyPathError::NotBare { text, .. } => {
                (format!("{} is not a number", excerpt(text)), "a bare number is expected".to_string())
            }
            KeyPathError::Relative { .. } => {
                ("a temperature is not varied by a factor".to_string(), "give a difference in K".to_string())
            }
        }
    }

    fn path(&self) -> &str {
        match self {
            KeyPathError::Syntax { path, .. }
            | KeyPathError::Unknown { path, .. }
            | KeyPathError::NoNumber { path, .. }
            | KeyPathError::OutOfRange { path, .. }
            | KeyPathError::Value { path, .. }
            | KeyPathError::NotBare { path, .. }
            | KeyPathError::Relative { path } => path,
        }
    }
}

impl fmt::Display for KeyPathError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (wrong, right) = self.parts();
        match self {
            KeyPathError::Syntax { .. } => write!(out, "{wrong}; {right}"),
            _ => write!(out, "{}: {wrong}; {right}", self.path()),
        }
    }
}

impl std::error::Error for KeyPathError {}
