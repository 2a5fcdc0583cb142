//! What `--json` prints where there is no answer: what is wrong, where, and what would be right.

use std::path::Path;

use quenchway::case::error::Error;
use quenchway::file::Problem;
use serde::Serialize;

use super::Failure;
use crate::diagnostic;

/// What went wrong. With several problems the first stands at the top, and all of them in `problems`.
#[derive(Debug, Serialize)]
pub struct Wrong {
    /// What kind of failure it is: one word of the table in `docs/messages.md`.
    kind: &'static str,
    #[serde(flatten)]
    first: Place,
    /// Every problem of a file.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    problems: Vec<Place>,
}

/// One thing that is wrong.
#[derive(Clone, Debug, Default, Serialize)]
struct Place {
    /// What is wrong.
    message: String,
    /// The file that it stands in.
    file: Option<String>,
    /// Line in the file, from 1.
    line: Option<usize>,
    /// Column in the line, in characters from 1.
    column: Option<usize>,
    /// Key path in the file, or the flag.
    key: Option<String>,
    /// What would be right.
    help: Option<String>,
}

impl Wrong {
    /// What a failure says.
    pub fn of(failure: &Failure) -> Wrong {
        let in_file = |path: &Path, message: String| Place { message, file: Some(shown(path)), ..Place::default() };
        match failure {
            Failure::Input(diagnostic::Failure::File { path, reason, help }) => {
                Wrong::one("file", Place { help: Some(help.clone()), ..in_file(path, reason.clone()) })
            }
            Failure::Input(diagnostic::Failure::Case { path, text, problems }) => {
                let problems: Vec<Place> = problems.iter().map(|problem| Place::of(problem, path, text)).collect();
                Wrong { kind: "input", first: problems.first().cloned().unwrap_or_default(), problems }
            }
            Failure::Flag { flag, reason } => {
                Wrong::one("flag", Place { message: reason.clone(), key: Some(flag.clone()), ..Place::default() })
            }
            Failure::Argument { what, help } => {
                Wrong::one("name", Place { message: what.clone(), help: help.clone(), ..Place::default() })
            }
            Failure::Reserve(error) => Wrong::one("output", Place::words(error.to_string())),
            Failure::March(path, error @ Error::Unphysical { .. }) => {
                let first = in_file(path, error.to_string());
                Wrong { kind: "input", problems: vec![first.clone()], first }
            }
            Failure::March(path, error) => Wrong::one("no_solution", in_file(path, error.to_string())),
            Failure::Question(path, reason) => Wrong::one("no_answer", in_file(path, reason.clone())),
            Failure::Write(reason) => Wrong::one("write", Place::words(reason.clone())),
        }
    }

    /// What is wrong with the command line: the first paragraph says it, what follows helps.
    pub fn usage(text: &str) -> Wrong {
        let text = text.trim().trim_start_matches("error: ");
        let (message, help) = match text.split_once("\n\n") {
            Some((message, help)) => (message, Some(help.trim().to_string())),
            None => (text, None),
        };
        let message = message.split_whitespace().collect::<Vec<_>>().join(" ");
        Wrong::one("usage", Place { message, help, ..Place::default() })
    }

    /// What ended the work before it was done.
    pub(super) fn interrupted(notes: &str) -> Wrong {
        Wrong::one("interrupted", Place::words(notes.trim().to_string()))
    }

    fn one(kind: &'static str, first: Place) -> Wrong {
        Wrong { kind, first, problems: Vec::new() }
    }

    /// The object that is printed; `status` is the exit status.
    pub fn json(&self, status: u8) -> String {
        #[derive(Serialize)]
        struct Document<'a> {
            error: &'a Wrong,
            status: u8,
        }
        // Texts and whole numbers always make JSON.
        serde_json::to_string_pretty(&Document { error: self, status }).unwrap_or_default() + "\n"
    }
}

impl Place {
    fn words(message: String) -> Place {
        Place { message, ..Place::default() }
    }

    fn of(problem: &Problem, path: &Path, text: &str) -> Place {
        let before = problem.span.as_ref().and_then(|span| text.get(..span.start));
        let line_start = before.map(|before| before.rfind('\n').map_or(0, |feed| feed + 1));
        Place {
            message: problem.message.clone(),
            file: Some(shown(path)),
            line: before.map(|before| 1 + before.matches('\n').count()),
            column: before.zip(line_start).map(|(before, start)| 1 + before[start..].chars().count()),
            key: (!problem.key.is_empty()).then(|| problem.key.clone()),
            help: problem.help.clone(),
        }
    }
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    #[test]
    fn a_problem_has_its_line_and_its_column_in_characters() {
        let text = "a = 1\né = 2\n";
        let problem = Problem {
            span: Some(9..10),
            key: "b".to_string(),
            message: "wrong".to_string(),
            label: String::new(),
            help: None,
        };
        let failure =
            diagnostic::Failure::Case { path: "x.toml".into(), text: text.to_string(), problems: vec![problem] };
        let told: Value = serde_json::from_str(&Wrong::of(&Failure::Input(failure)).json(2)).unwrap();
        let place = json!({ "message": "wrong", "file": "x.toml", "line": 2, "column": 3, "key": "b", "help": null });
        assert_eq!(told["error"]["problems"], json!([place]));
        assert_eq!(
            (&told["error"]["line"], &told["error"]["kind"], &told["status"]),
            (&json!(2), &json!("input"), &json!(2))
        );
    }
}
