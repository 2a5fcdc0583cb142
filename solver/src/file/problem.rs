//! What is wrong with a case file, and where.

use std::ops::Range;

use crate::maths::order::sort_by_number;
use crate::units::UnitError;

/// One thing that is wrong with a case file.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Where in the text, in bytes; none where something is missing from the whole file.
    pub span: Option<Range<usize>>,
    /// Key path, such as `layer.insulation.diameter`; a name with blanks is quoted.
    pub key: String,
    /// What is wrong with the offending value.
    pub message: String,
    /// The same in a few words, to stand beside the caret.
    pub label: String,
    /// What would be right, as text to paste.
    pub help: Option<String>,
}

impl std::fmt::Display for Problem {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.key.is_empty() {
            write!(out, "{}", self.message)?;
        } else {
            write!(out, "{}: {}", self.key, self.message)?;
        }
        match &self.help {
            Some(help) => write!(out, "; {help}"),
            None => Ok(()),
        }
    }
}

/// Problems found so far.
#[derive(Debug, Default)]
pub(crate) struct Problems {
    found: Vec<Problem>,
}

impl Problems {
    /// Adds a problem at a place of the text.
    pub(crate) fn add(
        &mut self,
        span: &Range<usize>,
        key: &str,
        message: impl Into<String>,
        label: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.found.push(Problem {
            span: Some(span.clone()),
            key: key.to_string(),
            message: message.into(),
            label: label.into(),
            help: Some(help.into()),
        });
    }

    /// Adds something that is missing from the whole file.
    pub(crate) fn add_missing(&mut self, key: &str, message: impl Into<String>, help: impl Into<String>) {
        self.found.push(Problem {
            span: None,
            key: key.to_string(),
            message: message.into(),
            label: String::new(),
            help: Some(help.into()),
        });
    }

    /// Whether there are none.
    pub(crate) fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// All of them in the order of the text, what is missing from the whole file last.
    pub(crate) fn sorted(mut self) -> Vec<Problem> {
        sort_by_number(&mut self.found, |problem| {
            problem.span.as_ref().map_or(f64::INFINITY, |span| span.start as f64)
        });
        self.found
    }
}

/// A few words for a unit error, to stand beside the caret.
pub(crate) fn unit_label(error: &UnitError) -> String {
    match error {
        UnitError::NoNumber { .. } => "no number".to_string(),
        UnitError::NoUnit { .. } => "no unit".to_string(),
        UnitError::DecimalComma { .. } => "decimal comma".to_string(),
        UnitError::Grouped { .. } => "space within the number".to_string(),
        UnitError::Unknown { .. } => "unknown unit".to_string(),
        UnitError::OtherDimension { found: Some(found), .. } => format!("this is {}", found.name()),
        UnitError::OtherDimension { found: None, .. } => "unit of something else".to_string(),
        UnitError::DifferenceGiven { .. } => "this is a difference".to_string(),
        UnitError::ScaleGiven { .. } => "this is a temperature".to_string(),
        UnitError::BelowAbsoluteZero => "below absolute zero".to_string(),
        UnitError::Gauge { .. } => "no such gauge".to_string(),
        UnitError::NotFinite => "too large".to_string(),
    }
}

/// The problem of a text that is not TOML.
pub(crate) fn of_syntax(text: &str, error: &toml::de::Error) -> Problem {
    let span = error.span().filter(|span| span.end <= text.len());
    let help = span.as_ref().and_then(|span| quotes_forgotten(text, span.start));
    Problem {
        span,
        key: String::new(),
        message: format!("this is not TOML: {}", error.message()),
        label: "here".to_string(),
        help: Some(help.unwrap_or_else(|| "the rules of TOML are on https://toml.io".to_string())),
    }
}

/// The line around a position with its value in quotation marks, where `key = value` lacks them.
fn quotes_forgotten(text: &str, position: usize) -> Option<String> {
    let before = text.get(..position)?;
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let (key, value) = text[start..].lines().next()?.split_once('=')?;
    let value = value.split('#').next()?.trim();
    let bare = value.starts_with(|c: char| c.is_alphanumeric() || c == '-' || c == '+' || c == '.');
    let plain = !value.contains(['"', '\'', '[', '{']);
    (bare && plain).then(|| format!("a text stands in quotation marks: {} = \"{value}\"", key.trim()))
}
