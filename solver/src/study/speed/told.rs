//! The fastest speed and all that is told of it: as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};

use super::{CeilingSpeed, SpeedError, Speeds};
use crate::case::CaseFile;
use crate::case::cautions::cautions;
use crate::data::{Column, Data, column};
use crate::study::search::levers::Lever;
use crate::study::search::told::{Ends, Help, Print, Taken, beside, ends, helps, print, taken};
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
            let units = ceilings.iter().map(|of| of.ceiling.dimension().udunits().to_string());
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
#[derive(Debug, Serialize)]
struct Asked<'a> {
    given_m_s: f64,
    top_m_s: Option<f64>,
    printed: Option<Print>,
    line_length_m: f64,
    floor_length_m: f64,
    decides: Option<&'a str>,
    range: Option<Ends>,
    ceilings: Vec<OfCeiling>,
    beyond_table: Option<&'a [String]>,
    passes: Vec<Passed<'a>>,
    levers: Vec<Help<'a>>,
    solves: Option<usize>,
    no_answer: Option<String>,
}

#[derive(Debug, Serialize)]
struct OfCeiling {
    #[serde(flatten)]
    taken: Taken,
    speed_m_s: Option<f64>,
    reached: bool,
    met_again_m_s: Option<f64>,
    at_slowest: f64,
}

#[derive(Debug, Serialize)]
struct Passed<'a> {
    passes: usize,
    top_m_s: Option<f64>,
    printed: Option<Print>,
    decides: Option<&'a str>,
    line_length_m: f64,
    floor_length_m: f64,
    no_answer: Option<String>,
}

impl OfCeiling {
    fn of(of: &CeilingSpeed) -> OfCeiling {
        OfCeiling {
            taken: taken(&of.ceiling, of.value),
            speed_m_s: of.speed,
            reached: !of.open,
            met_again_m_s: of.again,
            at_slowest: of.slowest,
        }
    }
}

impl Passed<'_> {
    fn of(of: &OfPasses) -> Passed<'_> {
        let speeds = of.answer.as_ref().ok();
        Passed {
            passes: of.passes,
            top_m_s: speeds.map(|speeds| speeds.top),
            printed: speeds.and_then(|speeds| speeds.printed.as_ref()).map(print),
            decides: decides(&of.answer),
            line_length_m: of.way,
            floor_length_m: of.floor,
            no_answer: no_answer(&of.answer),
        }
    }
}

impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let speeds = self.answer.as_ref().ok();
        let asked = Asked {
            given_m_s: self.case.line_speed,
            top_m_s: speeds.map(|speeds| speeds.top),
            printed: speeds.and_then(|speeds| speeds.printed.as_ref()).map(print),
            line_length_m: self.case.line_length(),
            floor_length_m: self.case.floor_length(),
            decides: decides(self.answer),
            range: speeds.and_then(|speeds| speeds.range.as_ref()).map(|range| ends(range, "m_s")),
            ceilings: self.ceilings().unwrap_or_default().iter().map(OfCeiling::of).collect(),
            beyond_table: speeds.map(|speeds| speeds.beyond_table.as_slice()),
            passes: self.passes.iter().map(Passed::of).collect(),
            levers: helps(self.levers),
            solves: speeds.map(|speeds| speeds.solves),
            no_answer: no_answer(self.answer),
        };
        beside(self.case, speeds.map(|speeds| &speeds.solution), "speed", asked).serialize(serializer)
    }
}
