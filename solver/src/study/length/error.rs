//! Why there is no needed length, in words.

use std::fmt;

use super::{LimitNeed, Needed, Reason};
use crate::case::error::Error;
use crate::units::words::listed;
use crate::units::{Dimension, System, Toward, printed, show};

/// Why there is no needed length.
#[derive(Clone, Debug)]
pub enum LengthError {
    /// The case does not say which section may grow.
    NothingGrows {
        /// Names of sections that could.
        known: Vec<String>,
    },
    /// The case sets no limit, so that any length would do.
    NoLimits,
    /// No length meets this limit.
    NoLength {
        /// Index of the limit whose asymptote is farthest above it.
        worst: usize,
        /// What each limit alone needs.
        limits: Vec<LimitNeed>,
        /// The longest trough that was looked at, m.
        far_end: f64,
        /// How many cases were solved.
        solves: usize,
    },
    /// The needed length takes more than the plant allows.
    OverCeiling(Box<Needed>),
    /// A case on the way has no answer.
    March(Error),
    /// The temperatures jump about with the length, so that no needed length could be enclosed and confirmed.
    Unsteady {
        /// Where, m.
        length: f64,
    },
}

impl LengthError {
    /// The message in the units of a system.
    pub fn message(&self, system: System) -> String {
        let with_unit = |value: f64, dimension: Dimension, decimals: usize| {
            let (value, unit) = show(value, dimension, system);
            format!("{value:.decimals$} {unit}")
        };
        let celsius = |value: f64| with_unit(value, Dimension::Temperature, 1);
        match self {
            LengthError::NothingGrows { known } => format!(
                "the case does not say which section may grow; name it, [plant] adjustable = [{:?}]; there are {}",
                known.first().map_or("trough", String::as_str),
                listed(known.iter().map(|name| format!("{name:?}")), "and")
            ),
            LengthError::NoLimits => {
                "no station has a limit, so that any length would do; give one, for example core_max = \
                                      \"60 degC\" at the capstan"
                    .to_string()
            }
            LengthError::NoLength { worst, limits, .. } => {
                let need = &limits[*worst];
                let name = &need.ceiling.name;
                let (max, left) = (celsius(need.ceiling.max), celsius(need.asymptote));
                match &need.reason {
                    Reason::Untouched => format!(
                        "{name} is {left}, above its limit of {max}, whatever the trough's length: the station stands before it"
                    ),
                    Reason::Ended(error) => format!(
                        "{name} is {left}, above its limit of {max}, after the longest trough that has an answer. A longer \
                         one: {error}"
                    ),
                    _ => format!(
                        "no length meets the limit of {max} of {name}: even a trough that cools no further leaves {left}"
                    ),
                }
            }
            LengthError::OverCeiling(needed) => {
                let over = needed.built.over();
                let names = listed(over.iter().map(|(ceiling, _)| ceiling.name.as_str()), "and");
                let trough = printed(needed.built.trough, Dimension::Length, system, Toward::More, 0);
                format!("the {trough} of trough that are needed take more than {names} allows")
            }
            LengthError::March(error) => error.to_string(),
            LengthError::Unsteady { length } => format!(
                "near {} the temperatures jump about with the length, no needed length could be confirmed. A tighter \
                 solver.tolerance would show whether it is the case or the search",
                with_unit(*length, Dimension::Length, 2)
            ),
        }
    }
}

impl fmt::Display for LengthError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message(System::Si))
    }
}

impl std::error::Error for LengthError {}
