//! The needed trough length in words: the verdict, what each limit needs, the plant, the range of speeds.

use quenchway::case::CaseFile;
use quenchway::study::length::{LengthError, Lengths, LimitNeed, Needed, Reason, Told, displaced};
use quenchway::units::{Dimension, Printed};

use super::blocks::{Block, Cell, Grid, Mark, Part, Report, Tone};
use super::tables::head;
use super::{clean, design};
use crate::shown::Shown;

/// Whether a length is that of one of several passes.
pub fn one_of_several_passes(case: &CaseFile, sections: &[usize]) -> bool {
    sections.iter().any(|&index| case.sections[index].passes > 1)
}

/// A length of the trough, told as so many passes of it where one section grows; as one pass where several do.
pub fn of_passes(case: &CaseFile, sections: &[usize], length: String) -> String {
    match sections {
        &[one] => design::passes_of(case.sections[one].passes, length),
        _ if one_of_several_passes(case, sections) => format!("{length} (one pass)"),
        _ => length,
    }
}

/// The needed length as it was marched for print; rounded up where it was not.
pub fn printed(needed: &Needed, shown: Shown) -> Printed {
    needed.printed.clone().unwrap_or_else(|| shown.up(needed.length, Dimension::Length))
}

/// Everything that is told.
pub fn report(told: &Told<'_>, shown: Shown) -> Report {
    let words = Words(told);
    let mut parts = vec![Part::new("Verdict", words.verdict(shown))];
    let limits = told.limits();
    if !limits.is_empty() {
        parts.push(Part::new("What each limit alone needs", vec![Block::Table(words.needs(limits, shown))]));
    }
    if let Some(needed) = told.needed() {
        let plant = design::plant(told.case, &needed.built.plant, shown);
        parts.push(Part::new("Plant", vec![Block::Table(plant)]));
    }
    if told.answer.is_err() && !limits.is_empty() {
        let heading = match told.answer {
            Err(LengthError::NoLength { .. }) => "What would help, each alone, on a trough that cools no further",
            _ => "What would help, each alone, on the longest trough that the plant allows",
        };
        parts.push(design::helps(told.case, told.levers, heading, shown));
    }
    if let Some(lengths) = told.lengths {
        parts.push(Part::new("Over line speeds", words.over_speeds(lengths, shown)));
    }
    parts.extend(design::notes(told.case, told.needed().map(|needed| &needed.built.solution), shown));
    Report::new(&told.case.title, words.about(shown), parts)
}

struct Words<'a>(&'a Told<'a>);

impl Words<'_> {
    fn about(&self, shown: Shown) -> String {
        let given: f64 = self.0.sections.iter().map(|&index| self.0.case.sections[index].length).sum();
        let chosen = if self.0.chosen { " It is the only section with water." } else { "" };
        format!(
            "How long must {} be at {}? The case has {}.{chosen}",
            design::section_names(self.0.case, self.0.sections),
            shown.with_unit(self.0.case.line_speed, Dimension::Speed),
            of_passes(self.0.case, self.0.sections, shown.with_unit(given, Dimension::Length)),
        )
    }

    fn verdict(&self, shown: Shown) -> Vec<Block> {
        let mut blocks = Vec::new();
        if let Err(error) = self.0.answer {
            blocks.push(design::no_answer(&error.message(shown.system)));
        }
        let Some(needed) = self.0.needed() else { return blocks };
        let length = of_passes(self.0.case, self.0.sections, printed(needed, shown).to_string());
        let stress = format!("TROUGH NEEDED: {length}");
        let text = match needed.deciding {
            Some(which) => {
                let limit = &needed.limits[which].ceiling;
                let (what, max) = (design::words(self.0.case, limit), design::amount(limit, limit.max, shown));
                format!("{stress}; {what} decides, its limit is {max}.")
            }
            None => {
                format!("{stress}; the shortest one tried meets every limit, so less may be enough.")
            }
        };

        if self.0.answer.is_ok() {
            blocks.push(Block::stressed(Mark::None, text, Tone::Good, &stress));
        } else {
            blocks.push(Block::words(Mark::None, text));
        }
        blocks.push(Block::words(Mark::None, self.built(needed, shown)));
        let off: Vec<String> =
            displaced(self.0.case, &needed.built.case).into_iter().map(|name| format!("\"{}\"", clean(name))).collect();
        if !off.is_empty() {
            let text = format!("With it {} would stand before the die, and is reported at the die.", off.join(" and "));
            blocks.push(Block::words(Mark::None, text));
        }
        blocks.extend(self.low_film(needed, shown).map(|text| Block::words(Mark::None, text)));
        if let Some(range) = &needed.range {
            blocks.extend(design::range(range, Dimension::Length, "no length is enough", shown));
        }
        blocks
    }

    /// What is to be built.
    fn built(&self, needed: &Needed, shown: Shown) -> String {
        let metres = |value: f64| shown.with_unit(value, Dimension::Length);
        let built = &needed.built;
        let module = self.0.case.plant.module.map(|module| format!(" in whole modules of {}", metres(module)));
        let each: Vec<String> = (needed.sections.iter().zip(&built.lengths))
            .map(|(&index, &length)| {
                let section = &self.0.case.sections[index];
                let length = shown.up(length, Dimension::Length).to_string();
                format!("\"{}\" {}", clean(&section.name), design::passes_of(section.passes, length))
            })
            .collect();
        format!(
            "Build{}: {}. The line is then {}. Computed again with this length, it meets every limit.",
            module.unwrap_or_default(),
            each.join(", "),
            design::lengths_of_line(&built.case, shown),
        )
    }

    /// What a low film asks for.
    fn low_film(&self, needed: &Needed, shown: Shown) -> Option<String> {
        let length = printed(needed, shown);
        Some(match needed.low_film?.length {
            // The film law's doubt is smaller than the length is printed with.
            Some(low) if shown.up(low, Dimension::Length).to_string() == length.to_string() => return None,
            Some(low) => {
                let low = of_passes(self.0.case, self.0.sections, shown.up(low, Dimension::Length).to_string());
                format!("Build {length}; {low} if the film in the water is at the low end of its band.")
            }
            None => {
                format!("Build {length}; no length is enough if the film in the water is at the low end of its band.")
            }
        })
    }

    fn needs(&self, limits: &[LimitNeed], shown: Shown) -> Grid {
        let mut header = vec![
            "limit".to_string(),
            head("allowed", shown, Dimension::Temperature),
            head("trough needed", shown, Dimension::Length),
        ];
        let needed = self.0.needed();
        if needed.is_some() {
            header.push(head("with the trough built", shown, Dimension::Temperature));
        }
        header.push(head("longest trough leaves", shown, Dimension::Temperature));
        let mut table = Grid::new(header);
        for need in limits {
            let number = |value: f64| design::in_column(&need.ceiling, value, shown);
            let length = match (need.length, &need.reason) {
                (Some(length), Reason::Crossing) => Cell::from(shown.up(length, Dimension::Length).number),
                (Some(_), _) => Cell::from("any"),
                (None, _) => Cell { text: "none does".to_string(), tone: Some(Tone::Bad) },
            };
            let mut row =
                vec![Cell::from(design::words(self.0.case, &need.ceiling)), number(need.ceiling.max).into(), length];
            if let Some(needed) = needed {
                row.push(number(need.ceiling.value(&needed.built.case, &needed.built.solution)).into());
            }
            row.push(number(need.asymptote).into());
            table.row(row);
        }
        table
    }

    fn over_speeds(&self, lengths: &Lengths, shown: Shown) -> Vec<Block> {
        let metres = |name: &str| head(name, shown, Dimension::Length);
        let ranged = lengths.answers.iter().flatten().any(|needed| needed.range.is_some());
        let mut header = vec![head("line speed", shown, Dimension::Speed), metres("needed"), metres("built")];
        if ranged {
            header.extend([metres("favourable"), metres("unfavourable")]);
        }
        header.push("decides".to_string());
        let mut table = Grid::new(header).with_words(&[if ranged { 5 } else { 3 }]);
        let (mut reasons, mut causes) = (Vec::new(), Vec::new());
        for (&speed, answer) in lengths.speeds.iter().zip(&lengths.answers) {
            let up = |value: Option<f64>| shown.up(value.unwrap_or(f64::NAN), Dimension::Length).number;
            let down = |value: Option<f64>| shown.down(value.unwrap_or(f64::NAN), Dimension::Length).number;
            let (needed, refused) = match answer {
                Ok(needed) => (Some(needed), None),
                Err(LengthError::OverCeiling(needed)) => {
                    let over: Vec<String> =
                        needed.built.over().iter().map(|(ceiling, _)| design::words(self.0.case, ceiling)).collect();
                    (Some(&**needed), Some(format!("over: {}", over.join(", "))))
                }
                Err(error) => {
                    let at = shown.with_unit(speed, Dimension::Speed);
                    let message = clean(&error.message(shown.system));
                    // One reason for all speeds at which the same limit has no length.
                    let cause = match error {
                        LengthError::NoLength { worst, limits, .. } => limits[*worst].ceiling.name.clone(),
                        _ => message.clone(),
                    };
                    if !causes.contains(&cause) {
                        reasons.push(Block::words(Mark::Warning, format!("first at {at}: {message}.")));
                        causes.push(cause);
                    }
                    (None, Some("no answer".to_string()))
                }
            };
            let range = needed.and_then(|needed| needed.range.as_ref());
            let mut row = vec![
                Cell::from(shown.number(speed, Dimension::Speed)),
                needed.map_or("-".to_string(), |needed| printed(needed, shown).number).into(),
                up(needed.map(|needed| needed.built.trough)).into(),
            ];
            if ranged {
                let ends =
                    [down(range.and_then(|range| range.favourable)), up(range.and_then(|range| range.unfavourable))];
                row.extend(ends.map(Cell::from));
            }
            let decides = |needed: &Needed| {
                let which = needed.deciding.map(|which| &needed.limits[which].ceiling);
                which.map_or("none".to_string(), |ceiling| design::words(self.0.case, ceiling))
            };
            row.push(match refused {
                Some(text) => Cell { text, tone: Some(Tone::Bad) },
                None => Cell::from(needed.map_or(String::new(), decides)),
            });
            table.row(row);
        }
        let mut blocks = vec![Block::Table(table)];
        blocks.extend(reasons);
        blocks
    }
}
