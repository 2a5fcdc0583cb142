//! The report of a rank: what limits the cooling in words, then a row an input.

use quenchway::case::CaseFile;
use quenchway::names::key_path::KeyPath;
use quenchway::study::rank::{Effect, Rank, Target};
use quenchway::units::{Dimension, Printed};

use super::blocks::{Block, Grid, Mark, Part, Report, Tone};
use super::{clean, cooling, significant};
use crate::shown::Shown;

/// Names longer than this are broken in a table of many columns, and in one of few.
const LONG: usize = 30;
const VERY_LONG: usize = 44;

/// Everything that is told; the needed trough as it is printed, where there is one.
pub fn report(case: &CaseFile, rank: &Rank, needed: Option<&Printed>, shown: Shown) -> Report {
    Words { case, rank, needed }.report(shown)
}

struct Words<'a> {
    case: &'a CaseFile,
    rank: &'a Rank,
    needed: Option<&'a Printed>,
}

/// A change of a temperature or of a melt shrink with its sign, without its unit.
pub fn change(of: Dimension, change: f64, shown: Shown) -> String {
    signed(shown.number(change.abs(), change_of(of)), change)
}

/// What the change of a target measures.
pub fn change_of(target: Dimension) -> Dimension {
    if target == Dimension::Temperature { Dimension::TemperatureDifference } else { target }
}

/// A change of length with its sign, without its unit; a dash where there is none.
pub fn length(metres: Option<f64>, shown: Shown) -> String {
    metres.map_or("-".to_string(), |metres| signed(shown.number(metres.abs(), Dimension::Length), metres))
}

/// A key path that is longer than `most` in two lines, broken before its last step; several paths a line each.
pub(crate) fn in_two(path: &str, most: usize) -> String {
    let one = |path: &str| match path.rsplit_once('.') {
        Some((place, key)) if path.chars().count() > most => format!("{place}.\n  {key}"),
        _ => path.to_string(),
    };
    // A name may hold a comma and a blank.
    match &KeyPath::parse_list(path)[..] {
        [] => one(path),
        paths => paths.iter().map(|path| one(&path.to_string())).collect::<Vec<_>>().join(",\n"),
    }
}

fn signed(number: String, value: f64) -> String {
    let nothing = !number.contains(|c: char| ('1'..='9').contains(&c));
    if !value.is_finite() {
        "-".to_string()
    } else if nothing {
        number
    } else {
        format!("{}{number}", if value < 0.0 { "-" } else { "+" })
    }
}

impl Words<'_> {
    fn report(&self, shown: Shown) -> Report {
        let rank = self.rank;
        let about = format!(
            "{} numbers and {} uncertain inputs ranked by what they do to {}",
            rank.numbers.len(),
            rank.uncertain.len(),
            self.deciding(),
        );
        let parts = vec![
            Part::new("What limits", self.limiting(shown)),
            Part::new("Numbers of the case", self.numbers(shown)),
            Part::new("Uncertain inputs", self.uncertain(shown)),
            Part::new("Without an answer", self.failed()),
            Part::new("Accuracy", self.accuracy(shown)),
            Part::new("Cautions", rank.cautions.iter().map(|words| Block::words(Mark::Item, words)).collect()),
        ];
        Report::new(&self.case.title, about, parts)
    }

    fn deciding(&self) -> String {
        self.rank.targets.get(self.rank.deciding).map_or(String::new(), |target| clean(&target.name))
    }

    /// Film or plastic, in words that say what to do.
    fn limiting(&self, shown: Shown) -> Vec<Block> {
        let rank = self.rank;
        let [film, plastic] = rank.film_and_plastic;
        let target = rank.targets.get(rank.deciding);
        let of = target.map_or(Dimension::Temperature, |target| target.dimension);
        let unit = shown.unit(change_of(of));
        let by = rank.cooling.as_ref().map(|cooling| cooling.now.limited_by);
        let advice = cooling::advice(self.case, rank.cooling.as_ref()).map_or(String::new(), |advice| advice + " ");
        let word = by.map_or("", cooling::opening);
        let text = format!(
            "{advice}A tenth more of every film coefficient in water changes {} by {} {unit}, a tenth more of the \
             plastics' conductivity by {} {unit}.",
            self.deciding(),
            change(of, film, shown),
            change(of, plastic, shown),
        );
        let mut blocks = vec![Block::stressed(Mark::None, text, Tone::Warn, word)];
        let value = |value: f64| shown.with_unit(value, of);
        let mut stands = match target.and_then(|target| Some((target, target.limit?))) {
            Some((target, limit)) => {
                let limit = if of == Dimension::Temperature { shown.limit(limit) } else { value(limit) };
                format!("At most {limit} are allowed for {}, which is {}.", self.deciding(), value(target.value))
            }
            None => target.map_or(String::new(), |target| {
                let why = if rank.targets.iter().any(|target| target.limit.is_some()) {
                    "."
                } else {
                    "; nothing has a limit."
                };
                format!("{} is {}{why}", self.deciding(), value(target.value))
            }),
        };
        stands += &match (&rank.length, self.needed) {
            (Ok(_), Some(needed)) => format!(" The limits need a trough of {needed}."),
            (Ok(_), None) => " No march with care confirmed the needed trough.".to_string(),
            (Err(reason), _) => format!(" No needed trough is ranked: {reason}."),
        };
        blocks.push(Block::words(Mark::None, stands));
        blocks
    }

    /// Columns for the changes: a column a target, one for the trough.
    fn heads(&self, shown: Shown) -> Vec<String> {
        let head = |target: &Target| {
            let unit = shown.unit(change_of(target.dimension));
            format!("{}\n{unit}", in_two(&clean(&target.name), 0).replace("  ", ""))
        };
        let mut heads: Vec<String> = self.rank.targets.iter().map(head).collect();
        if self.rank.length.is_ok() {
            heads.push(format!("trough\n{}", shown.unit(Dimension::Length)));
        }
        heads
    }

    fn changes(&self, effect: &Effect, shown: Shown) -> Vec<String> {
        let targets = self.rank.targets.iter().zip(&effect.changes);
        let mut cells: Vec<String> = targets.map(|(target, &by)| change(target.dimension, by, shown)).collect();
        if self.rank.length.is_ok() {
            cells.push(length(effect.length, shown));
        }
        cells
    }

    fn numbers(&self, shown: Shown) -> Vec<Block> {
        let mut header = vec!["number".to_string(), "is".to_string(), "by".to_string()];
        header.extend(self.heads(shown));
        header.push("elas-\nticity".to_string());
        let mut table = Grid::new(header);
        for effect in self.rank.numbers.iter().filter(|effect| self.rank.is_felt(effect)) {
            let variable = KeyPath::find(self.case, &effect.input).ok();
            let here = variable.as_ref().zip(effect.value).map_or(String::new(), |(variable, value)| {
                let (number, unit) = match variable.dimension {
                    Some(Dimension::Temperature) => return shown.with_unit(value, Dimension::Temperature),
                    Some(dimension) => (shown.value(value, dimension), shown.unit(dimension)),
                    None => (value, ""),
                };
                format!("{} {unit}", four_digits(number)).trim_end().to_string()
            });
            let step = match variable.is_some_and(|variable| variable.is_temperature()) {
                true => {
                    let step = shown.value(quenchway::study::rank::KELVIN, Dimension::TemperatureDifference);
                    format!("{step:.0} {}", shown.unit(Dimension::TemperatureDifference))
                }
                false => "10 %".to_string(),
            };
            let mut row = vec![in_two(&clean(&effect.input), LONG), here, step];
            row.extend(self.changes(effect, shown));
            let elasticity = effect.elasticity.get(self.rank.deciding).copied().flatten();
            row.push(elasticity.map_or("-".to_string(), |value| format!("{value:+.2}")));
            table.row(row);
        }
        let mut blocks = vec![Block::Table(table)];
        let temperature =
            self.rank.targets.get(self.rank.deciding).is_none_or(|target| target.dimension == Dimension::Temperature);
        let coldest = shown.with_unit(self.rank.coldest, Dimension::Temperature);
        let above = if temperature { format!(" above the coldest medium ({coldest})") } else { String::new() };
        let words = format!(
            "Each number goes up and down by this much, everything else as it is. The change is half of the difference. Elasticity: relative \
             change of {}{above} over the relative change of the number.",
            self.deciding(),
        );
        blocks.push(Block::words(Mark::Indent, words));
        blocks.extend(self.unfelt(&self.rank.numbers, shown));
        blocks
    }

    fn uncertain(&self, shown: Shown) -> Vec<Block> {
        let mut header = vec!["input".to_string()];
        header.extend(self.heads(shown));
        let mut table = Grid::new(header);
        for effect in self.rank.uncertain.iter().filter(|effect| self.rank.is_felt(effect)) {
            let mut row = vec![in_two(&clean(&effect.input), VERY_LONG)];
            row.extend(self.changes(effect, shown));
            table.row(row);
        }
        let from = if self.rank.usual { "the usual bands and [band]" } else { "[vary]" };
        let words = format!(
            "One standard value more of each, by {from}: half of what lies between its two ends. The first of them is the one to \
             measure."
        );
        let mut blocks = vec![Block::Table(table), Block::words(Mark::Indent, words)];
        blocks.extend(self.unfelt(&self.rank.uncertain, shown));
        blocks
    }

    /// What changes nothing that is seen.
    fn unfelt(&self, effects: &[Effect], shown: Shown) -> Option<Block> {
        let quiet = effects.iter().filter(|effect| !self.rank.is_felt(effect) && effect.failed.is_none());
        let names: Vec<String> = quiet.map(|effect| clean(&effect.input)).collect();
        let noise = significant(shown.value(self.rank.noise, Dimension::TemperatureDifference));
        (!names.is_empty()).then(|| {
            let unit = shown.unit(Dimension::TemperatureDifference);
            Block::words(Mark::Indent, format!("Less than {noise} {unit}: {}.", names.join("; ")))
        })
    }

    fn failed(&self) -> Vec<Block> {
        let failed = self.rank.numbers.iter().chain(&self.rank.uncertain);
        let one = |effect: &Effect| {
            let reason = effect.failed.as_ref()?;
            let words = format!("{}: {}; the change is that of the other end", clean(&effect.input), clean(reason));
            Some(Block::words(Mark::Item, words))
        };
        failed.filter_map(one).collect()
    }

    fn accuracy(&self, shown: Shown) -> Vec<Block> {
        let words = format!(
            "Changes are known to about {} {}: each is the difference of two single solves. {} solves in {} s.",
            significant(shown.value(self.rank.noise, Dimension::TemperatureDifference)),
            shown.unit(Dimension::TemperatureDifference),
            self.rank.solves,
            significant(self.rank.wall),
        );
        vec![Block::words(Mark::Indent, words)]
    }
}

/// Four significant digits without zeros at the end.
pub(crate) fn four_digits(value: f64) -> String {
    let rounded: f64 = format!("{value:.3e}").parse().unwrap_or(value);
    format!("{rounded}")
}
