//! The fastest line speed in words: the verdict, every ceiling with its speed, the numbers of passes.

use quenchway::case::Case;
use quenchway::study::levers::Lever;
use quenchway::study::speed::{CeilingSpeed, SpeedError, Speeds};
use quenchway::units::Dimension;

use super::blocks::{Block, Cell, Grid, Mark, Part, Tone};
use super::tables::head;
use super::{clean, design, study};
use crate::shown::Shown;

/// The fastest speed with one number of passes.
pub struct OfPasses {
    /// How often the trough is passed.
    pub passes: usize,
    /// Length of the line then, m.
    pub line: f64,
    /// The answer.
    pub answer: Result<Speeds, SpeedError>,
}

/// The answer and what is told of it.
pub struct Told<'a> {
    /// The case.
    pub case: &'a Case,
    /// The answer.
    pub answer: &'a Result<Speeds, SpeedError>,
    /// What would help where there is none.
    pub levers: &'a [Lever],
    /// The same for numbers of passes, where it was asked for.
    pub passes: &'a [OfPasses],
}

/// A number of passes in words.
pub fn counted(passes: usize) -> String {
    if passes == 1 { "1 pass".to_string() } else { format!("{passes} passes") }
}

/// Whether a line is longer than the hall.
pub fn over_hall(case: &Case, of: &OfPasses) -> bool {
    case.plant.hall_max.is_some_and(|hall| of.line > hall)
}

impl Told<'_> {
    /// The report, with colours as ANSI codes.
    pub fn report(&self, shown: Shown, width: usize) -> String {
        let mut parts = vec![Part::new("Verdict", self.verdict(shown))];
        if let Some(ceilings) = self.ceilings() {
            parts.push(Part::new("Ceilings, the lowest first", self.table(ceilings, shown)));
        }
        if matches!(self.answer, Err(SpeedError::NoSpeed { .. })) {
            let heading = "What would help, each alone, at the speed that comes nearest";
            parts.push(design::helps(self.case, self.levers, heading, shown));
        }
        if !self.passes.is_empty() {
            parts.push(Part::new("Passes through the trough", self.over_passes(shown)));
        }
        match self.answer {
            Ok(speeds) => parts.extend(design::notes(&speeds.solution, shown)),
            Err(_) => parts.push(design::cautions(self.case)),
        }
        let about = format!(
            "How fast may the line run as it is? The case runs at {}, {} from the die to the end of the line.",
            shown.with_unit(self.case.line_speed, Dimension::Speed),
            shown.with_unit(self.case.line_length(), Dimension::Length),
        );
        study(&self.case.title, &about, &parts, width)
    }

    /// Every ceiling with its speed, where they were found.
    pub fn ceilings(&self) -> Option<&[CeilingSpeed]> {
        match self.answer {
            Ok(speeds) => Some(&speeds.ceilings),
            Err(SpeedError::NoSpeed { ceilings, .. }) => Some(ceilings),
            Err(_) => None,
        }
    }

    fn verdict(&self, shown: Shown) -> Vec<Block> {
        let speed = |value: f64| shown.with_unit(value, Dimension::Speed);
        let speeds = match self.answer {
            Ok(speeds) => speeds,
            Err(error) => {
                let text = format!("NO ANSWER: {}.", clean(&error.message(shown.system)));
                return vec![Block::stressed(Mark::None, text, Tone::Bad, "NO ANSWER")];
            }
        };
        let stress = format!("{} IS THE FASTEST", speed(speeds.top));
        let first = &speeds.ceilings[0].ceiling;
        let (what, max) = (design::words(self.case, first), design::amount(first, first.max, shown));
        let text = format!(
            "{stress}: {what} decides, it reaches the {max} that are allowed. Marched again, every limit is met."
        );
        let mut blocks = vec![Block::stressed(Mark::None, text, Tone::Good, &stress)];
        if let Some(range) = &speeds.range {
            let text = match (range.unfavourable, range.favourable) {
                (Some(low), Some(high)) => format!(
                    "With the uncertainty of the inputs it lies between {} and {}: the slower one serves the unfavourable end \
                     as well.",
                    speed(low),
                    speed(high)
                ),
                (None, Some(high)) => format!(
                    "With the uncertainty of the inputs it lies between none and {}: no speed serves the unfavourable end as well.",
                    speed(high)
                ),
                _ => "How far the uncertainty of the inputs moves it could not be told.".to_string(),
            };
            blocks.push(Block::words(Mark::None, text));
            blocks.extend(design::least_sure(range));
        }
        if !speeds.beyond_table.is_empty() {
            let names: Vec<String> = speeds.beyond_table.iter().map(|name| format!("\"{}\"", clean(name))).collect();
            let text = format!(
                "The table of temperature against line speed of {} ends before that speed: it is held constant beyond.",
                names.join(" and ")
            );
            blocks.push(Block::stressed(Mark::Warning, text, Tone::Warn, "!"));
        }
        blocks
    }

    fn table(&self, ceilings: &[CeilingSpeed], shown: Shown) -> Vec<Block> {
        let mut table = Grid::new(vec![
            "ceiling".to_string(),
            "allowed".to_string(),
            head("up to", shown, Dimension::Speed),
            if self.answer.is_ok() { "at the fastest".to_string() } else { "at the slowest looked at".to_string() },
        ]);
        let mut blocks = Vec::new();
        for ceiling in ceilings {
            let own = &ceiling.ceiling;
            let name = design::words(self.case, own);
            let speed = match (ceiling.speed, ceiling.open) {
                (Some(speed), false) => Cell::from(shown.number(speed, Dimension::Speed)),
                (Some(speed), true) => Cell::from(format!("beyond {}", shown.number(speed, Dimension::Speed))),
                (None, _) => Cell { text: "none".to_string(), tone: Some(Tone::Bad) },
            };
            let value = if self.answer.is_ok() { ceiling.value } else { ceiling.slowest };
            let value = shown.with_unit(value, own.dimension());
            table.row(vec![Cell::from(name.clone()), design::amount(own, own.max, shown).into(), speed, value.into()]);
            if let Some(again) = ceiling.again {
                let at = shown.with_unit(again, Dimension::Speed);
                let text =
                    format!("{name} is met again at {at}: not counted, a line is speeded up through what lies before.");
                blocks.push(Block::words(Mark::Indent, text));
            }
        }
        blocks.insert(0, Block::Table(table));
        blocks
    }

    fn over_passes(&self, shown: Shown) -> Vec<Block> {
        let mut table = Grid::new(vec![
            "passes".to_string(),
            head("fastest", shown, Dimension::Speed),
            head("line", shown, Dimension::Length),
            "decides".to_string(),
        ])
        .with_words(&[3]);
        let mut blocks = Vec::new();
        for of in self.passes {
            let (speed, decides) = match &of.answer {
                Ok(speeds) => {
                    let words = design::words(self.case, &speeds.ceilings[0].ceiling);
                    (shown.number(speeds.top, Dimension::Speed), words)
                }
                Err(error) => {
                    let text = format!("{}: {}.", counted(of.passes), clean(&error.message(shown.system)));
                    blocks.push(Block::words(Mark::Warning, text));
                    ("-".to_string(), "no answer".to_string())
                }
            };
            let line = shown.number(of.line, Dimension::Length);
            let line = Cell { text: line, tone: over_hall(self.case, of).then_some(Tone::Bad) };
            table.row(vec![Cell::from(of.passes.to_string()), speed.into(), line, decides.into()]);
        }
        blocks.insert(0, Block::Table(table));
        if let Some(hall) = self.case.plant.hall_max.filter(|_| self.passes.iter().any(|of| over_hall(self.case, of))) {
            let text = format!(
                "The line is longer than the {} of the hall with some of them; passes side by side take less of it.",
                shown.with_unit(hall, Dimension::Length)
            );
            blocks.push(Block::words(Mark::Indent, text));
        }
        blocks
    }
}
