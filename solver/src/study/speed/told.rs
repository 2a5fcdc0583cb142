//! The fastest speed and all that is told of it: as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use super::{CeilingSpeed, SpeedError, Speeds};
use crate::case::CaseFile;
use crate::case::cautions::cautions;
use crate::data::{Column, Data, column};
use crate::march::output::udunits;
use crate::study::search::levers::Lever;
use crate::study::search::told::{beside, finite, levers, print, range, taken};
use crate::units::System;

/// The fastest speed with one number of passes.
#[derive(Clone, Debug)]
pub struct OfPasses {
    /// How often the trough is passed.
    pub passes: usize,
    /// Way of the product then, m.
    pub way: f64,
    /// Floor that the line then stands on, m.
    pub floor: f64,
    /// The answer.
    pub answer: Result<Speeds, SpeedError>,
}

/// The answer and what is told of it.
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// The case.
    pub case: &'a CaseFile,
    /// The answer.
    pub answer: &'a Result<Speeds, SpeedError>,
    /// What would help where there is none.
    pub levers: &'a [Lever],
    /// The same for numbers of passes, where it was asked for.
    pub passes: &'a [OfPasses],
}

static CEILING: [Column<CeilingSpeed>; 4] = [
    column("ceiling_max", "1", "highest that is allowed, in ceiling_units", |of| of.ceiling.max),
    column("ceiling_value", "1", "value at the fastest speed, in ceiling_units", |of| of.value),
    column("ceiling_speed", "m s-1", "fastest speed up to which the ceiling is met", |of| of.speed.unwrap_or(f64::NAN)),
    column("ceiling_reached", "1", "0 where the ceiling is met at every speed tried", |of| f64::from(!of.open)),
];

static OF_PASSES: [Column<OfPasses>; 3] = [
    column("top_speed", "m s-1", "fastest line speed", |of| of.answer.as_ref().map_or(f64::NAN, |speeds| speeds.top)),
    column("line_length", "m", "way of the product", |of| of.way),
    column("floor_length", "m", "floor that the line stands on", |of| of.floor),
];

fn decides(answer: &Result<Speeds, SpeedError>) -> Option<&str> {
    answer.as_ref().ok().map(|speeds| speeds.ceilings[0].ceiling.name.as_str())
}

fn no_answer(answer: &Result<Speeds, SpeedError>) -> Option<String> {
    answer.as_ref().err().map(|error| error.message(System::Si))
}

impl Told<'_> {
    /// Every ceiling with its speed, where they were found.
    pub fn ceilings(&self) -> Option<&[CeilingSpeed]> {
        match self.answer {
            Ok(speeds) => Some(&speeds.ceilings),
            Err(SpeedError::NoSpeed { ceilings, .. }) => Some(ceilings),
            Err(_) => None,
        }
    }

    /// Along the ceilings, along the numbers of passes.
    pub fn data(&self) -> Data {
        let speeds = self.answer.as_ref().ok();
        let range = speeds.and_then(|speeds| speeds.range.as_ref());
        let mut data = Data::with_cautions(&cautions(self.case));
        data.text("decides", decides(self.answer).unwrap_or_default().to_string())
            .text("no_answer", no_answer(self.answer).unwrap_or_default())
            .number("given_m_s", self.case.line_speed)
            .number("top_m_s", speeds.map(|speeds| speeds.top))
            .number("printed_m_s", speeds.and_then(|speeds| Some(speeds.printed.as_ref()?.si)))
            .number("line_length_m", self.case.line_length())
            .number("floor_length_m", self.case.floor_length())
            .number("favourable_m_s", range.and_then(|range| range.favourable))
            .number("unfavourable_m_s", range.and_then(|range| range.unfavourable));
        let ceilings = self.ceilings().unwrap_or_default();
        if !ceilings.is_empty() {
            let names = ceilings.iter().map(|of| &of.ceiling.name);
            let ceiling = data.names("ceiling", "what must not be exceeded, the lowest speed first", names);
            let units = ceilings.iter().map(|of| udunits(of.ceiling.dimension()).to_string());
            data.texts("ceiling_units", "unit of ceiling_max and ceiling_value", ceiling, units);
            data.along(ceiling, ceilings, &CEILING);
        }
        if !self.passes.is_empty() {
            let counts = self.passes.iter().map(|of| of.passes as f64).collect();
            let passes = data.scale("passes", "1", "passes through the trough", counts);
            data.along(passes, self.passes, &OF_PASSES);
            let deciding = self.passes.iter().map(|of| decides(&of.answer).unwrap_or_default().to_string());
            data.texts("decides", "ceiling that decides", passes, deciding);
            let reasons = self.passes.iter().map(|of| no_answer(&of.answer).unwrap_or_default());
            data.texts("no_answer", "why there is no speed", passes, reasons);
        }
        data
    }
}

/// That of a run at the fastest speed, and under `speed` what was asked.
impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let speeds = self.answer.as_ref().ok();
        let ceiling = |of: &CeilingSpeed| {
            let mut fields = json!(taken(&of.ceiling, of.value));
            fields["speed_m_s"] = json!(of.speed);
            fields["reached"] = json!(!of.open);
            fields["met_again_m_s"] = json!(of.again);
            fields["at_slowest"] = json!(finite(of.slowest));
            fields
        };
        let printed = |speeds: &Speeds| speeds.printed.as_ref().map(print);
        let passes = |of: &OfPasses| {
            json!({
                "passes": of.passes,
                "top_m_s": of.answer.as_ref().ok().map(|speeds| speeds.top),
                "printed": of.answer.as_ref().ok().and_then(printed),
                "decides": decides(&of.answer),
                "line_length_m": of.way,
                "floor_length_m": of.floor,
                "no_answer": no_answer(&of.answer),
            })
        };
        let told = json!({
            "given_m_s": self.case.line_speed,
            "top_m_s": speeds.map(|speeds| speeds.top),
            "printed": speeds.and_then(printed),
            "line_length_m": self.case.line_length(),
            "floor_length_m": self.case.floor_length(),
            "decides": decides(self.answer),
            "range": range(speeds.and_then(|speeds| speeds.range.as_ref()), "m_s"),
            "ceilings": self.ceilings().unwrap_or_default().iter().map(ceiling).collect::<Value>(),
            "beyond_table": speeds.map(|speeds| &speeds.beyond_table),
            "passes": self.passes.iter().map(passes).collect::<Value>(),
            "levers": levers(self.levers),
            "solves": speeds.map(|speeds| speeds.solves),
            "no_answer": no_answer(self.answer),
        });
        beside(self.case, speeds.map(|speeds| &speeds.solution), "speed", told).serialize(serializer)
    }
}
