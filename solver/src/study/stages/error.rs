//! Why there is no best trough, in words.

use std::fmt;

use super::{Number, Of, Requirement};
use crate::case::error::Error;
use crate::names::error::KeyPathError;
use crate::units::System;

/// Why there is no best trough.
#[derive(Clone, Debug)]
pub enum StagesError {
    /// The case does not say what is looked for.
    NotAsked,
    /// A number of the case that is not there, or a value that it cannot take.
    Value(KeyPathError),
    /// No whole step of a number lies between its ends.
    NoStep {
        /// Its key path.
        path: String,
    },
    /// None of the places that were looked at has an answer.
    Nowhere {
        /// Why the case in the middle of the bounds has none.
        reason: String,
    },
    /// None of the numbers moves the aim.
    NoLever {
        /// The aim's word.
        aim: &'static str,
    },
    /// Nothing within the bounds meets everything; it comes nearest somewhere.
    Unmet {
        /// What is missed most there.
        requirement: Box<Requirement>,
        /// Its value there, SI.
        value: f64,
        /// The numbers, and their values there, SI.
        at: Vec<(Number, f64)>,
    },
    /// A case on the way has no answer.
    March(Error),
    /// Search and careful march do not agree.
    Unsteady,
}

impl StagesError {
    /// The message in the units of a system.
    pub fn message(&self, system: System) -> String {
        match self {
            StagesError::NotAsked => {
                "the case has no [stages], which says what is to be best and which numbers may be set; add it"
                    .to_string()
            }
            StagesError::Value(error) => error.to_string(),
            StagesError::NoStep { path } => {
                format!("no whole step or module of {path} lies between its ends; give it a wider range")
            }
            StagesError::Nowhere { reason } => {
                format!("nothing within the bounds has an answer; in their middle: {reason}")
            }
            StagesError::NoLever { aim } => {
                format!("none of the numbers that may be set moves what {aim:?} asks for: there is nothing to gain")
            }
            StagesError::Unmet { requirement, value, at } => {
                let dimension = requirement.dimension();
                let shown = |value: f64| {
                    let (number, unit) = crate::units::show(value, dimension, system);
                    format!("{number:.2} {unit}")
                };
                let allowed = requirement.max - requirement.margin;
                let margin = if requirement.margin > 0.0 { ", the margin taken off" } else { "" };
                let name =
                    if matches!(requirement.of, Of::Line) { "the length of the line" } else { &requirement.name };
                let at = at.iter().map(|(number, value)| {
                    format!("{} {}", number.variable.path, number.variable.show(*value, system))
                });
                format!(
                    "nothing within the bounds meets everything: with {} the value of {name} is {}, {} are allowed{margin}",
                    at.collect::<Vec<_>>().join(", "),
                    shown(*value),
                    shown(allowed)
                )
            }
            StagesError::March(error) => error.to_string(),
            StagesError::Unsteady => {
                "the temperatures jump about within the bounds, no best trough could be confirmed. A tighter \
                 solver.tolerance would show whether it is the case or the search"
                    .to_string()
            }
        }
    }
}

impl fmt::Display for StagesError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message(System::Si))
    }
}

impl std::error::Error for StagesError {}
