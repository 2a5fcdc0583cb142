//! The fastest line speed in words: the verdict, every ceiling with its speed, the numbers of passes.

use quenchway::study::speed::{CeilingSpeed, SpeedError, Speeds, Told};
use quenchway::units::{Dimension, Printed};

use super::blocks::{Block, Cell, Grid, Mark, Part, Report, Tone};
use super::tables::head;
use super::{clean, design};
use crate::shown::Shown;

/// A number of passes in words.
pub fn counted(passes: usize) -> String {
    if passes == 1 { "1 pass".to_string() } else { format!("{passes} passes") }
}

/// The fastest speed as it was marched for print; rounded down where it was not.
pub fn printed(speeds: &Speeds, shown: Shown) -> Printed {
    speeds.printed.clone().unwrap_or_else(|| shown.down(speeds.top, Dimension::Speed))
}

/// Everything that is told.
pub fn report(told: &Told<'_>, shown: Shown) -> Report {
    let words = Words(told);
    let mut parts = vec![Part::new("Verdict", words.verdict(shown))];
    if let Some(ceilings) = told.ceilings() {
        parts.push(Part::new("Ceilings, the lowest first", words.table(ceilings, shown)));
    }
    if matches!(told.answer, Err(SpeedError::NoSpeed { .. })) {
        let heading = "What would help, each alone, at the speed that comes nearest";
        parts.push(design::helps(told.case, told.levers, heading, shown));
    }
    if !told.passes.is_empty() {
        parts.push(Part::new("Passes through the trough", words.over_passes(shown)));
    }
    let solution = told.answer.as_ref().ok().map(|speeds| &speeds.solution);
    parts.extend(design::notes(told.case, solution, shown));
    let about = format!(
        "How fast may the line run as it is? The case runs at {}; it is {}.",
        shown.with_unit(told.case.line_speed, Dimension::Speed),
        design::lengths_of_line(told.case, shown),
    );
    Report::new(&told.case.title, about, parts)
}

struct Words<'a>(&'a Told<'a>);

impl Words<'_> {
    fn verdict(&self, shown: Shown) -> Vec<Block> {
        let speeds = match self.0.answer {
            Ok(speeds) => speeds,
            Err(error) => return vec![design::no_answer(&error.message(shown.system))],
        };
        let stress = format!("FASTEST SPEED: {}", printed(speeds, shown));
        let first = &speeds.ceilings[0].ceiling;
        let (what, max) = (design::words(self.0.case, first), design::amount(first, first.max, shown));
        let value = design::amount(first, speeds.ceilings[0].value, shown);
        let text = format!(
            "{stress}; {what} decides, {value} of the {max} allowed. Computed again at this speed, the line meets every limit."
        );
        let mut blocks = vec![Block::stressed(Mark::None, text, Tone::Good, &stress)];
        blocks.extend(self.hall(shown));
        if let Some(range) = &speeds.range {
            blocks.extend(design::range(range, Dimension::Speed, "no speed is slow enough", shown));
        }
        if !speeds.beyond_table.is_empty() {
            let names: Vec<String> = speeds.beyond_table.iter().map(|name| format!("\"{}\"", clean(name))).collect();
            let text = format!(
                "The table of temperature against line speed of {} ends before that speed. Above it the program holds the temperature constant.",
                names.join(" and ")
            );
            blocks.push(Block::stressed(Mark::Warning, text, Tone::Warn, "!"));
        }
        blocks
    }

    /// A line that the hall does not hold, whatever its speed.
    fn hall(&self, shown: Shown) -> Option<Block> {
        let floor = self.0.case.floor_length();
        let hall = self.0.case.plant.hall_max.filter(|&hall| floor > hall)?;
        let metres = |value: f64| shown.with_unit(value, Dimension::Length);
        let text = format!("The hall holds {}; the line stands on {} of floor.", metres(hall), metres(floor));
        Some(Block::stressed(Mark::Warning, text, Tone::Warn, "!"))
    }

    fn table(&self, ceilings: &[CeilingSpeed], shown: Shown) -> Vec<Block> {
        let mut table = Grid::new(vec![
            "ceiling".to_string(),
            "allowed".to_string(),
            head("up to", shown, Dimension::Speed),
            if self.0.answer.is_ok() { "at the fastest".to_string() } else { "at the slowest tried".to_string() },
        ]);
        let mut blocks = Vec::new();
        for ceiling in ceilings {
            let own = &ceiling.ceiling;
            let name = design::words(self.0.case, own);
            let speed = match (ceiling.speed, ceiling.open) {
                (Some(speed), false) => Cell::from(shown.down(speed, Dimension::Speed).number),
                (Some(speed), true) => Cell::from(format!("beyond {}", shown.down(speed, Dimension::Speed).number)),
                (None, _) => Cell { text: "none".to_string(), tone: Some(Tone::Bad) },
            };
            let value = if self.0.answer.is_ok() { ceiling.value } else { ceiling.slowest };
            let value = shown.with_unit(value, own.dimension());
            table.row(vec![Cell::from(name.clone()), design::amount(own, own.max, shown).into(), speed, value.into()]);
            if let Some(again) = ceiling.again {
                let at = shown.with_unit(again, Dimension::Speed);
                let text = format!(
                    "{name} is met again at {at}. This is reported, not used: on its way there the line does not meet it."
                );
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
            head("way of the\nproduct", shown, Dimension::Length),
            head("floor\nlength", shown, Dimension::Length),
            "decides".to_string(),
        ])
        .with_words(&[4]);
        let mut blocks = Vec::new();
        for of in self.0.passes {
            let (speed, decides) = match &of.answer {
                Ok(speeds) => {
                    let words = design::words(self.0.case, &speeds.ceilings[0].ceiling);
                    (printed(speeds, shown).number, words)
                }
                Err(error) => {
                    let text = format!("{}: {}.", counted(of.passes), clean(&error.message(shown.system)));
                    blocks.push(Block::words(Mark::Warning, text));
                    ("-".to_string(), "no answer".to_string())
                }
            };
            let [way, floor] = [of.way, of.floor].map(|length| shown.number(length, Dimension::Length));
            table.row(vec![of.passes.to_string(), speed, way, floor, decides]);
        }
        blocks.insert(0, Block::Table(table));
        blocks
    }
}
