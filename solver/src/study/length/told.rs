//! The needed length and all that is told of it: as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};
use serde_json::{Map, Value, json};

use super::{LengthError, LimitNeed, Needed, Reason};
use crate::case::CaseFile;
use crate::case::cautions::cautions;
use crate::data::{Column, Data, column};
use crate::march::output::udunits;
use crate::study::search::levers::Lever;
use crate::study::search::told::{beside, finite, levers, print, range, taken};
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

/// Of every limit: the limit itself, what it needs, what it becomes.
static NEED: [Column<Need>; 4] = [
    column("limit_temperature", "degC", "the limit", |need| need.celsius(need.need.ceiling.max)),
    column("limit_needed_length", "m", "trough from which on the limit is met; 0: every length does", |need| {
        need.need.length.unwrap_or(f64::NAN)
    }),
    column("limit_value", "degC", "temperature with the trough that is built", |need| need.celsius(need.value)),
    column("limit_longest_trough", "degC", "temperature that the longest trough leaves", |need| {
        need.celsius(need.need.asymptote)
    }),
];

/// The same of limits of a melt shrink.
static MELT_NEED: [Column<Need>; 3] = [
    column("limit_melt_shrink", "percent", "the limit", |need| need.percent(need.need.ceiling.max)),
    column("limit_melt_shrink_value", "percent", "melt shrink with the trough that is built", |need| {
        need.percent(need.value)
    }),
    column("limit_melt_shrink_longest_trough", "percent", "melt shrink that the longest trough leaves", |need| {
        need.percent(need.need.asymptote)
    }),
];

/// What one limit needs, and its value with the trough that is built; not a number without one.
struct Need {
    need: LimitNeed,
    value: f64,
}

impl Need {
    fn of(need: &LimitNeed, needed: Option<&Needed>) -> Need {
        let value = needed.map_or(f64::NAN, |needed| need.ceiling.value(&needed.built.case, &needed.built.solution));
        Need { need: need.clone(), value }
    }

    fn is_of_temperature(&self) -> bool {
        self.need.ceiling.dimension() == Dimension::Temperature
    }

    fn celsius(&self, value: f64) -> f64 {
        if self.is_of_temperature() { value } else { f64::NAN }
    }

    fn percent(&self, value: f64) -> f64 {
        if self.is_of_temperature() { f64::NAN } else { value }
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

fn decides(needed: &Needed) -> Option<&str> {
    needed.deciding.map(|which| needed.limits[which].ceiling.name.as_str())
}

fn no_answer(answer: &Result<Needed, LengthError>) -> Option<String> {
    answer.as_ref().err().map(|error| error.message(System::Si))
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
        let (case, needed) = (self.case, self.needed());
        let mut data = Data::with_cautions(&cautions(case));
        let range = needed.and_then(|needed| needed.range.as_ref());
        data.text("decides", needed.and_then(decides).unwrap_or_default().to_string())
            .text("no_answer", no_answer(self.answer).unwrap_or_default())
            .number("line_speed_m_s", case.line_speed)
            .number("needed_m", needed.map(|needed| needed.length))
            .number("printed_m", needed.and_then(|needed| Some(needed.printed.as_ref()?.si)))
            .number("line_length_m", needed.map(|needed| needed.built.case.line_length()))
            .number("floor_length_m", needed.map(|needed| needed.built.case.floor_length()))
            .number("built_m", needed.map(|needed| needed.built.trough))
            .number("favourable_m", range.and_then(|range| range.favourable))
            .number("unfavourable_m", range.and_then(|range| range.unfavourable));
        let needs: Vec<Need> = self.limits().iter().map(|need| Need::of(need, needed)).collect();
        let limit = data.names("limit", "limit", needs.iter().map(|need| &need.need.ceiling.name));
        data.along(limit, &needs, &NEED);
        let words = needs.iter().map(|need| need.need.reason.word().to_string());
        data.texts("limit_reason", "why the limit needs it", limit, words);
        if !needs.iter().all(Need::is_of_temperature) {
            data.along(limit, &needs, &MELT_NEED);
        }
        let speeds = self.lengths.map_or(vec![case.line_speed], |lengths| lengths.speeds.clone());
        let speed = data.scale("line_speed", "m s-1", "line speed", speeds);
        if let Some(lengths) = self.lengths {
            self.over_speeds(&mut data, lengths, [speed, limit]);
        }
        let names = self.sections.iter().map(|&index| &case.sections[index].name);
        let growing = data.names("growing", "section that grows", names);
        let built = needed.map_or(vec![f64::NAN; self.sections.len()], |needed| needed.built.lengths.clone());
        data.numbers("built_section_length", "m", "length of the section as it is built", &[growing], built);
        data
    }

    fn over_speeds(&self, data: &mut Data, lengths: &Lengths, [speed, limit]: [usize; 2]) {
        let answers = &lengths.answers;
        for (name, words, value) in [
            (
                "needed_length",
                "shortest trough that meets every limit",
                (|needed| Some(needed.length)) as fn(&Needed) -> Option<f64>,
            ),
            ("built_length", "trough as it is built", |needed| Some(needed.built.trough)),
            ("favourable_length", "the same at the favourable end of the inputs' uncertainty", |needed| {
                needed.range.as_ref()?.favourable
            }),
            ("unfavourable_length", "the same at the unfavourable end", |needed| needed.range.as_ref()?.unfavourable),
        ] {
            let values = answers.iter().map(|answer| found(answer).and_then(value).unwrap_or(f64::NAN)).collect();
            data.numbers(name, "m", words, &[speed], values);
        }
        let by_limit = answers.iter().flat_map(|answer| {
            self.limits().iter().map(|need| {
                let same = limits(answer).iter().find(|other| other.ceiling == need.ceiling);
                same.and_then(|other| other.length).unwrap_or(f64::NAN)
            })
        });
        let (name, words) = ("needed_length_by_limit", "trough that each limit alone needs; 0: every length does");
        data.numbers(name, "m", words, &[speed, limit], by_limit.collect());
        let deciding = answers.iter().map(|answer| found(answer).and_then(decides).unwrap_or_default().to_string());
        data.texts("decides", "limit that decides", speed, deciding);
        let reasons = answers.iter().map(|answer| no_answer(answer).unwrap_or_default());
        data.texts("no_answer", "why there is no length", speed, reasons);
    }
}

/// What one speed needs; absent numbers are null.
fn at_speed(speed: f64, answer: &Result<Needed, LengthError>) -> Value {
    let needed = found(answer);
    let limit = |need: &LimitNeed| {
        let Need { need, value } = Need::of(need, needed);
        let unit = udunits(need.ceiling.dimension());
        let mut fields = Map::new();
        fields.insert("name".to_string(), json!(need.ceiling.name));
        fields.insert(format!("limit_{unit}"), json!(need.ceiling.max));
        fields.insert("needed_m".to_string(), json!(need.length));
        fields.insert("reason".to_string(), json!(need.reason.word()));
        fields.insert(format!("value_{unit}"), json!(finite(value)));
        fields.insert(format!("longest_trough_{unit}"), json!(finite(need.asymptote)));
        Value::Object(fields)
    };
    json!({
        "line_speed_m_s": speed,
        "needed_m": needed.map(|needed| needed.length),
        "printed": needed.and_then(|needed| needed.printed.as_ref()).map(print),
        "decides": needed.and_then(decides),
        "range": range(needed.and_then(|needed| needed.range.as_ref()), "m"),
        "low_film_m": needed.and_then(|needed| needed.low_film?.length),
        "built_m": needed.map(|needed| needed.built.trough),
        "built_sections_m": needed.map(|needed| &needed.built.lengths),
        "line_length_m": needed.map(|needed| needed.built.case.line_length()),
        "floor_length_m": needed.map(|needed| needed.built.case.floor_length()),
        "limits": limits(answer).iter().map(limit).collect::<Value>(),
        "plant": needed.map(|needed| {
            needed.built.plant.iter().map(|(ceiling, value)| taken(ceiling, *value)).collect::<Vec<_>>()
        }),
        "solves": needed.map(|needed| needed.solves),
        "no_answer": no_answer(answer),
    })
}

/// That of a run with the trough that is built, and under `length` what was asked.
impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let case = self.case;
        let sections = || self.sections.iter().map(|&index| &case.sections[index]);
        let mut told = at_speed(case.line_speed, self.answer);
        told["sections"] = sections().map(|section| section.name.as_str()).collect();
        told["given_m"] = json!(sections().map(|section| section.length).sum::<f64>());
        told["levers"] = levers(self.levers);
        if let Some(lengths) = self.lengths {
            let all = lengths.speeds.iter().zip(&lengths.answers);
            told["over_speeds"] = all.map(|(&speed, answer)| at_speed(speed, answer)).collect();
        }
        let solution = self.needed().map(|needed| &needed.built.solution);
        beside(case, solution, "length", told).serialize(serializer)
    }
}
