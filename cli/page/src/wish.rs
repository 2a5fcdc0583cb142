//! What the page asks and what it gets: JSON on both sides.

use std::collections::BTreeMap;

use quenchway::units::System;
use serde::{Deserialize, Serialize};

use crate::controls::Group;

/// Numbers that were moved: their key paths, each with its text.
pub type Moved = BTreeMap<String, String>;

/// A question of the page.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wish {
    /// What is asked.
    pub ask: Ask,
    /// Numbers that differ from those of the file.
    #[serde(default)]
    pub moved: Moved,
    /// The same of the answer that is kept as before, where one is.
    #[serde(default)]
    pub before: Option<Moved>,
    /// Whether all is told in US units.
    #[serde(default)]
    pub us: bool,
    /// Index of the station whose profile is drawn; absent: the last.
    #[serde(default)]
    pub station: Option<usize>,
    /// Width of the pictures, px.
    #[serde(default = "usual_width")]
    pub width: f64,
    /// What the first line of a saved case tells of the page.
    #[serde(default)]
    pub stamp: String,
    /// Error that a quick answer may have, K.
    #[serde(default = "quick_tolerance")]
    pub tolerance: f64,
}

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Ask {
    /// The controls alone, without an answer.
    Controls,
    /// An answer while a number moves: one run to the wish's own tolerance.
    Quick,
    /// The answer of `quenchway run`, with the uncertainty of the inputs.
    Careful,
    /// The fastest line and the shortest trough.
    Design,
    /// What the programme of speeds does; nothing where the case has none.
    Drive,
    /// The numbers of `quenchway run --json`.
    Json,
    /// The case file with the moved numbers.
    Save,
}

fn usual_width() -> f64 {
    720.0
}

fn quick_tolerance() -> f64 {
    0.1
}

impl Wish {
    /// The units of what is told.
    pub fn system(&self) -> System {
        if self.us { System::Us } else { System::Si }
    }
}

/// What is told: HTML is escaped.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Told {
    /// Why there is no answer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wrong: Option<Wrong>,
    /// The numbers that can be moved.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub controls: Vec<Group>,
    /// Names of the stations.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stations: Vec<String>,
    /// Whether the case has a programme of speeds.
    pub programme: bool,
    /// Speed, length and time on the way.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
    /// The verdict, HTML.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<String>,
    /// The fastest line and the shortest trough, HTML.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub design: Option<String>,
    /// The picture along the line, SVG.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    /// The picture across the product, SVG.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub profile: Option<String>,
    /// Stations, limits and ceilings, HTML.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tables: Option<String>,
    /// The other numbers, HTML.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub more: Option<String>,
    /// Warnings and accuracy, HTML.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Cautions, HTML.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cautions: Option<String>,
    /// What the programme does, HTML with SVG.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drive: Option<String>,
    /// The case file's text.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The numbers as JSON.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub numbers: Option<serde_json::Value>,
}

/// Why there is no answer.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Wrong {
    /// In words.
    pub message: String,
    /// Key path of the number that is to blame; empty where none is.
    pub path: String,
}

impl Told {
    /// That there is no answer, and why.
    pub fn wrong(message: impl Into<String>, path: impl Into<String>) -> Told {
        Told { wrong: Some(Wrong { message: message.into(), path: path.into() }), ..Told::default() }
    }

    /// As JSON.
    pub fn json(&self) -> String {
        serde_json::to_string(self).unwrap_or_else(|error| wrong(&error.to_string()))
    }
}

/// JSON that says what is wrong, of words without marks that JSON would escape.
pub fn wrong(message: &str) -> String {
    serde_json::json!({ "wrong": { "message": message, "path": "" } }).to_string()
}
