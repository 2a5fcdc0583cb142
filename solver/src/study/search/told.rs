//! What answers of searches have in common as JSON: SI with the unit in the key or beside the value; absent numbers are null.

use serde::{Serialize, Serializer};

use super::ceilings::Ceiling;
use super::confirm::Range;
use super::levers::Lever;
use crate::case::CaseFile;
use crate::case::cautions::cautions;
use crate::data::{ByName, InUnit};
use crate::march::solution::Solution;
use crate::units::Printed;

/// What an answer rests on: a solution; without one the cautions of the case.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub(in crate::study) enum Ground<'a> {
    Solution(&'a Solution),
    Case { warnings: [(); 0], cautions: Vec<String> },
}

/// An answer under its name beside what it rests on.
#[derive(Debug, Serialize)]
pub(in crate::study) struct Beside<G, T> {
    #[serde(flatten)]
    ground: G,
    #[serde(flatten)]
    answer: ByName<&'static str, T>,
}

/// An answer under its name beside what it rests on.
pub(in crate::study) fn named<G, T>(ground: G, name: &'static str, answer: T) -> Beside<G, T> {
    Beside { ground, answer: ByName::one(name, answer) }
}

/// An answer under its name beside the solution that it rests on; without one beside the cautions.
pub(in crate::study) fn beside<'a, T>(
    case: &CaseFile,
    solution: Option<&'a Solution>,
    name: &'static str,
    answer: T,
) -> Beside<Ground<'a>, T> {
    let of_case = || Ground::Case { warnings: [], cautions: cautions(case) };
    named(solution.map_or_else(of_case, Ground::Solution), name, answer)
}

/// A ceiling with its value.
#[derive(Debug, Serialize)]
pub(in crate::study) struct Taken {
    name: String,
    max: f64,
    value: f64,
    met: bool,
    unit: &'static str,
}

/// A ceiling with its value.
pub(in crate::study) fn taken(ceiling: &Ceiling, value: f64) -> Taken {
    let unit = ceiling.dimension().udunits();
    Taken { name: ceiling.name.clone(), max: ceiling.max, value, met: value <= ceiling.max, unit }
}

/// What would help.
#[derive(Debug, Serialize)]
pub(in crate::study) struct Help<'a> {
    paths: &'a [String],
    words: &'static str,
    from: f64,
    to: f64,
    printed: &'a str,
    unit: &'static str,
    meets: bool,
    worst: Taken,
}

impl<'a> Help<'a> {
    fn of(lever: &'a Lever) -> Help<'a> {
        let (ceiling, value) = &lever.worst;
        Help {
            paths: &lever.paths,
            words: lever.words,
            from: lever.from,
            to: lever.to,
            printed: &lever.printed,
            unit: lever.variable.units(),
            meets: lever.meets,
            worst: taken(ceiling, *value),
        }
    }
}

/// What would help.
pub(in crate::study) fn helps(levers: &[Lever]) -> Vec<Help<'_>> {
    levers.iter().map(Help::of).collect()
}

/// An answer as a report prints it, and what that is in SI.
#[derive(Debug, Serialize)]
pub(in crate::study) struct Print {
    text: String,
    pub(in crate::study) si: f64,
}

/// An answer as a report prints it.
pub(in crate::study) fn print(printed: &Printed) -> Print {
    Print { text: printed.to_string(), si: printed.si }
}

/// Serialises an answer as a report prints it.
pub(in crate::study) fn as_printed<S: Serializer>(printed: &Printed, serializer: S) -> Result<S::Ok, S::Error> {
    print(printed).serialize(serializer)
}

/// The range of an answer.
#[derive(Debug, Serialize)]
pub(in crate::study) struct Ends {
    #[serde(flatten)]
    pub(in crate::study) told: InUnit,
    largest: String,
}

/// The range of an answer; `unit` ends its keys.
pub(in crate::study) fn ends(range: &Range, unit: &str) -> Ends {
    let [favourable, unfavourable] = [range.favourable, range.unfavourable].map(|end| end.unwrap_or(f64::NAN));
    let told = InUnit::of(unit, &[("favourable", favourable), ("unfavourable", unfavourable)]);
    Ends { told, largest: range.largest.clone() }
}

/// A number that JSON can hold.
pub(in crate::study) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
