//! The needed length and all that is told of it: as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};

use super::{LengthError, LimitNeed, Needed, Reason};
use crate::case::CaseFile;
use crate::case::cautions::cautions;
use crate::data::{Column, Data, InUnit, column};
use crate::study::search::ceilings::Ceiling;
use crate::study::search::levers::Lever;
use crate::study::search::told::{Ends, Help, Print, Taken, beside, ends, helps, print, taken};
use crate::units::{Dimension, System};

/// The needed length over a range of line speeds.
#[derive(Clone, Debug)]
pub struct Lengths {
    /// Line speeds, m/s.
    pub speeds: Vec<f64>,
    /// What each needs.
    pub answers: Vec<Result<Needed, LengthError>>,
}

/// The answer and what is told of it.
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// The case at the speed that was asked for.
    pub case: &'a CaseFile,
    /// The sections that grow.
    pub sections: &'a [usize],
    /// The program chose them.
    pub chosen: bool,
    /// The answer.
    pub answer: &'a Result<Needed, LengthError>,
    /// What would help where there is none.
    pub levers: &'a [Lever],
    /// The same over line speeds, where it was asked for.
    pub lengths: Option<&'a Lengths>,
}

/// What one line speed needs, SI; absent numbers are null.
#[derive(Debug, Serialize)]
struct AtSpeed {
    line_speed_m_s: f64,
    needed_m: Option<f64>,
    printed: Option<Print>,
    decides: Option<String>,
    range: Option<Ends>,
    low_film_m: Option<f64>,
    built_m: Option<f64>,
    built_sections_m: Option<Vec<f64>>,
    line_length_m: Option<f64>,
    floor_length_m: Option<f64>,
    limits: Vec<Need>,
    plant: Option<Vec<Taken>>,
    solves: Option<usize>,
    no_answer: Option<String>,
}

/// What one limit needs, and its value with the trough that is built; not a number without one.
#[derive(Debug, Serialize)]
struct Need {
    #[serde(rename = "name", serialize_with = "by_name")]
    ceiling: Ceiling,
    needed_m: Option<f64>,
    reason: &'static str,
    #[serde(flatten)]
    told: InUnit,
}

/// That of a run with the trough that is built, and under `length` what was asked.
#[derive(Debug, Serialize)]
struct Asked<'a> {
    #[serde(flatten)]
    at_speed: AtSpeed,
    sections: Vec<&'a str>,
    given_m: f64,
    levers: Vec<Help<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    over_speeds: Option<Vec<AtSpeed>>,
}

/// Of every limit: the limit itself, what it needs, what it becomes.
static NEED: [Column<Need>; 4] = [
    column("limit_temperature", "degC", "the limit", |need| need.told.number("limit_degC")),
    column("limit_needed_length", "m", "trough from which on the limit is met; 0: every length does", |need| {
        need.needed_m.unwrap_or(f64::NAN)
    }),
    column("limit_value", "degC", "temperature with the trough that is built", |need| need.told.number("value_degC")),
    column("limit_longest_trough", "degC", "temperature that the longest trough leaves", |need| {
        need.told.number("longest_trough_degC")
    }),
];

/// The same of limits of a melt shrink.
static MELT_NEED: [Column<Need>; 3] = [
    column("limit_melt_shrink", "percent", "the limit", |need| need.told.number("limit_percent")),
    column("limit_melt_shrink_value", "percent", "melt shrink with the trough that is built", |need| {
        need.told.number("value_percent")
    }),
    column("limit_melt_shrink_longest_trough", "percent", "melt shrink that the longest trough leaves", |need| {
        need.told.number("longest_trough_percent")
    }),
];

/// Of every line speed: what is needed, what is built, and the range of it.
static OVER_SPEEDS: [Column<AtSpeed>; 4] = [
    column("needed_length", "m", "shortest trough that meets every limit", |of| of.needed_m.unwrap_or(f64::NAN)),
    column("built_length", "m", "trough as it is built", |of| of.built_m.unwrap_or(f64::NAN)),
    column("favourable_length", "m", "the same at the favourable end of the inputs' uncertainty", |of| {
        of.end("favourable_m")
    }),
    column("unfavourable_length", "m", "the same at the unfavourable end", |of| of.end("unfavourable_m")),
];

fn by_name<S: Serializer>(ceiling: &Ceiling, serializer: S) -> Result<S::Ok, S::Error> {
    ceiling.name.serialize(serializer)
}

impl Need {
    fn of(need: &LimitNeed, needed: Option<&Needed>) -> Need {
        let ceiling = need.ceiling.clone();
        let value = needed.map_or(f64::NAN, |needed| ceiling.value(&needed.built.case, &needed.built.solution));
        let numbers = [("limit", ceiling.max), ("value", value), ("longest_trough", need.asymptote)];
        let told = InUnit::of(ceiling.dimension().udunits(), &numbers);
        Need { ceiling, needed_m: need.length, reason: need.reason.word(), told }
    }
}

impl AtSpeed {
    fn of(speed: f64, answer: &Result<Needed, LengthError>) -> AtSpeed {
        let needed = found(answer);
        let built = needed.map(|needed| &needed.built);
        AtSpeed {
            line_speed_m_s: speed,
            needed_m: needed.map(|needed| needed.length),
            printed: needed.and_then(|needed| needed.printed.as_ref()).map(print),
            decides: needed.and_then(|needed| Some(needed.limits[needed.deciding?].ceiling.name.clone())),
            range: needed.and_then(|needed| needed.range.as_ref()).map(|range| ends(range, "m")),
            low_film_m: needed.and_then(|needed| needed.low_film?.length),
            built_m: built.map(|built| built.trough),
            built_sections_m: built.map(|built| built.lengths.clone()),
            line_length_m: built.map(|built| built.case.line_length()),
            floor_length_m: built.map(|built| built.case.floor_length()),
            limits: limits(answer).iter().map(|need| Need::of(need, needed)).collect(),
            plant: built.map(|built| built.plant.iter().map(|(ceiling, value)| taken(ceiling, *value)).collect()),
            solves: needed.map(|needed| needed.solves),
            no_answer: answer.as_ref().err().map(|error| error.message(System::Si)),
        }
    }

    /// An end of the range, m.
    fn end(&self, key: &str) -> f64 {
        self.range.as_ref().map_or(f64::NAN, |range| range.told.number(key))
    }
}

impl Lengths {
    fn told(&self) -> Vec<AtSpeed> {
        self.speeds.iter().zip(&self.answers).map(|(&speed, answer)| AtSpeed::of(speed, answer)).collect()
    }
}

impl Reason {
    /// Fixed word for programs.
    fn word(&self) -> &'static str {
        match self {
            Reason::Crossing => "crossing",
            Reason::Always => "always",
            Reason::Untouched => "untouched",
            Reason::Asymptote => "asymptote",
            Reason::Ended(_) => "ended",
        }
    }
}

/// The answer, be it allowed by the plant or not.
fn found(answer: &Result<Needed, LengthError>) -> Option<&Needed> {
    match answer {
        Ok(needed) => Some(needed),
        Err(LengthError::OverCeiling(needed)) => Some(needed),
        Err(_) => None,
    }
}

fn limits(answer: &Result<Needed, LengthError>) -> &[LimitNeed] {
    match (found(answer), answer) {
        (Some(needed), _) => &needed.limits,
        (_, Err(LengthError::NoLength { limits, .. })) => limits,
        _ => &[],
    }
}

impl Told<'_> {
    /// The answer, be it allowed by the plant or not.
    pub fn needed(&self) -> Option<&Needed> {
        found(self.answer)
    }

    /// What each limit alone needs; empty where nobody knows.
    pub fn limits(&self) -> &[LimitNeed] {
        limits(self.answer)
    }

    /// Along the limits, along line speeds, along the sections that grow.
    pub fn data(&self) -> Data {
        let case = self.case;
        let told = AtSpeed::of(case.line_speed, self.answer);
        let mut data = Data::with_cautions(&cautions(case));
        data.text("decides", told.decides.clone().unwrap_or_default())
            .text("no_answer", told.no_answer.clone().unwrap_or_default())
            .number("line_speed_m_s", case.line_speed)
            .number("needed_m", told.needed_m)
            .number("printed_m", told.printed.as_ref().map(|printed| printed.si))
            .number("line_length_m", told.line_length_m)
            .number("floor_length_m", told.floor_length_m)
            .number("built_m", told.built_m);
        for name in ["favourable_m", "unfavourable_m"] {
            data.number(name, Some(told.end(name)).filter(|end| !end.is_nan()));
        }
        let limit = data.names("limit", "limit", told.limits.iter().map(|need| &need.ceiling.name));
        data.along(limit, &told.limits, &NEED);
        data.texts("limit_reason", "why the limit needs it", limit, told.limits.iter().map(|need| need.reason));
        if told.limits.iter().any(|need| need.ceiling.dimension() != Dimension::Temperature) {
            data.along(limit, &told.limits, &MELT_NEED);
        }
        let speeds = self.lengths.map_or(vec![case.line_speed], |lengths| lengths.speeds.clone());
        let speed = data.scale("line_speed", "m s-1", "line speed", speeds);
        if let Some(lengths) = self.lengths {
            over_speeds(&mut data, &lengths.told(), &told.limits, [speed, limit]);
        }
        let names = self.sections.iter().map(|&index| &case.sections[index].name);
        let growing = data.names("growing", "section that grows", names);
        let built = told.built_sections_m.unwrap_or_else(|| vec![f64::NAN; self.sections.len()]);
        data.numbers("built_section_length", "m", "length of the section as it is built", &[growing], built);
        data
    }
}

fn over_speeds(data: &mut Data, answers: &[AtSpeed], limits: &[Need], [speed, limit]: [usize; 2]) {
    data.along(speed, answers, &OVER_SPEEDS);
    let by_limit = answers.iter().flat_map(|answer| {
        limits.iter().map(|need| {
            let same = answer.limits.iter().find(|other| other.ceiling == need.ceiling);
            same.and_then(|other| other.needed_m).unwrap_or(f64::NAN)
        })
    });
    let (name, words) = ("needed_length_by_limit", "trough that each limit alone needs; 0: every length does");
    data.numbers(name, "m", words, &[speed, limit], by_limit.collect());
    let texts =
        |of: fn(&AtSpeed) -> &Option<String>| answers.iter().map(move |one| of(one).clone().unwrap_or_default());
    data.texts("decides", "limit that decides", speed, texts(|one| &one.decides));
    data.texts("no_answer", "why there is no length", speed, texts(|one| &one.no_answer));
}

impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let sections = || self.sections.iter().map(|&index| &self.case.sections[index]);
        let asked = Asked {
            at_speed: AtSpeed::of(self.case.line_speed, self.answer),
            sections: sections().map(|section| section.name.as_str()).collect(),
            given_m: sections().map(|section| section.length).sum(),
            levers: helps(self.levers),
            over_speeds: self.lengths.map(Lengths::told),
        };
        let solution = self.needed().map(|needed| &needed.built.solution);
        beside(self.case, solution, "length", asked).serialize(serializer)
    }
}
