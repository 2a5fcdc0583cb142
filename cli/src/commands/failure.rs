//! Why a command gave no answer, and the exit status that says so.

use std::fmt;
use std::path::{Path, PathBuf};

use quenchway::case::error::Error;
use quenchway::file::Problem;
use quenchway_words::clean;

use crate::diagnostic;
use crate::store::StoreError;

/// Why a command gave no answer.
#[derive(Debug)]
pub enum Failure {
    /// The case file is wrong.
    Input(diagnostic::Failure),
    /// A flag's value is wrong: what is wrong with it, and what would be right.
    Flag {
        /// The flag as it is typed: `--speed`.
        flag: String,
        /// What is wrong, and what would be right.
        reason: String,
    },
    /// What was asked for does not exist or cannot be had.
    Argument {
        /// What is wrong.
        what: String,
        /// What would be right.
        help: Option<String>,
    },
    /// An output cannot be made: nothing was computed.
    Reserve(StoreError),
    /// The march found no answer.
    March(PathBuf, Error),
    /// The question has no answer: why, and what would help.
    Question(PathBuf, String),
    /// The answer could not be written.
    Write(String),
}

impl Failure {
    /// Exit status: 2 where the user's input is wrong, 1 otherwise.
    pub fn status(&self) -> u8 {
        match self {
            // A march that the program refuses for what the case says is wrong input, too.
            Failure::Input(_)
            | Failure::Flag { .. }
            | Failure::Argument { .. }
            | Failure::Reserve(_)
            | Failure::March(_, Error::Unphysical { .. }) => diagnostic::WRONG_INPUT,
            Failure::March(..) | Failure::Question(..) | Failure::Write(_) => 1,
        }
    }

    /// Its words for standard error: in colour where that is a terminal, without what could steer it.
    pub fn shown(&self) -> String {
        match self {
            // The report cleans the pieces that it is made of.
            Failure::Input(failure) => failure.report().trim_end().to_string(),
            other => clean::lines(other.to_string().trim_end()).into_owned(),
        }
    }

    /// What a case file that is right in itself lacks for a question, or has wrong for it: at a key, not at one place of the text.
    pub fn lacks(path: &Path, key: &str, message: impl fmt::Display, help: Option<&str>) -> Failure {
        let problem = Problem {
            span: None,
            key: key.to_string(),
            message: message.to_string(),
            label: String::new(),
            help: help.map(str::to_string),
        };
        let (path, text) = (path.to_path_buf(), String::new());
        Failure::Input(diagnostic::Failure::Case { path, text, problems: vec![problem] })
    }

    /// A wrong flag.
    pub fn flag(flag: &str, reason: impl fmt::Display) -> Failure {
        Failure::Flag { flag: flag.to_string(), reason: reason.to_string() }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Failure::Input(failure) => out.write_str(failure.to_string().trim_end()),
            Failure::Flag { flag, reason } => write!(out, "error: {flag}: {reason}; nothing was computed"),
            Failure::Argument { what, help: None } => write!(out, "error: {what}"),
            Failure::Argument { what, help: Some(help) } => write!(out, "error: {what}\nhelp: {help}"),
            Failure::Reserve(error) => write!(out, "error: {error}; nothing was computed, nothing was written"),
            Failure::March(path, error) => {
                write!(out, "error: {}: {error}; nothing was written", path.display())
            }
            Failure::Question(path, reason) => {
                write!(out, "no answer: {}: {reason}; nothing was written", path.display())
            }
            Failure::Write(reason) => write!(out, "error: {reason}"),
        }
    }
}

impl std::error::Error for Failure {}
