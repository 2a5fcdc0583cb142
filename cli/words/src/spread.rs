//! The report of a spread: the chance of the limits first, the trough that it needs, then the numbers.

use quenchway::case::CaseFile;
use quenchway::march::output::Output;
use quenchway::maths::distribution::Distribution;
use quenchway::maths::order::sort_by_number;
use quenchway::study::spread::{Chance, Drawn, Lengths, Measures, NoLengths, Spread, Summary};
use quenchway::units::{Dimension, Printed};

use super::blocks::{Block, Grid, Mark, Part, Report, Tone};
use super::rank::{four_digits, in_two};
use super::tables::head;
use super::{clean, design, significant};
use crate::shown::Shown;

/// Shares of the variance below this are not listed one by one.
const LEAST: f64 = 0.01;
/// Key paths longer than this are broken.
const LONG: usize = 34;

/// Everything that is told.
pub fn report(case: &CaseFile, spread: &Spread, shown: Shown) -> Report {
    Words { case, spread }.report(shown)
}

struct Words<'a> {
    case: &'a CaseFile,
    spread: &'a Spread,
}

/// A probability in percent: whole ones, and a tenth near the ends.
pub fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if (1.0..=99.0).contains(&percent) || percent == 0.0 || percent == 100.0 {
        format!("{percent:.0} %")
    } else if percent < 1.0 {
        format!("{percent:.1} %")
    } else {
        // Nearly certain is not certain.
        format!("{:.1} %", percent.min(99.9))
    }
}

/// A probability with its interval.
fn chance(chance: &Chance) -> String {
    let [low, high] = chance.interval.map(percent);
    format!("{} ({} to {high})", percent(chance.probability), low.trim_end_matches(" %"))
}

/// A distribution in words.
pub fn distribution(drawn: &Drawn, shown: Shown) -> String {
    let bare = |value: f64| significant(value);
    let value = |number: f64| match (drawn.measures, drawn.variable()) {
        (Measures::Value, Some(variable)) => match variable.dimension {
            Some(Dimension::Temperature) => shown.with_unit(number, Dimension::Temperature),
            Some(dimension) => format!("{} {}", four_digits(shown.value(number, dimension)), shown.unit(dimension)),
            None => four_digits(number),
        },
        (Measures::Difference, _) => shown.with_unit(number, Dimension::TemperatureDifference),
        _ => bare(number),
    };
    let width = |number: f64| match drawn.variable().map(|variable| variable.is_temperature()) {
        Some(true) => shown.with_unit(number, Dimension::TemperatureDifference),
        _ => value(number),
    };
    match (drawn.measures, drawn.distribution) {
        (Measures::Mode, _) => "normal, several numbers together".to_string(),
        (Measures::Lean, _) => "normal along the band of the law".to_string(),
        (Measures::Difference, Distribution::Normal { sd, .. }) => format!("normal, ± {}", value(sd)),
        (Measures::Difference, Distribution::TwoSided { sd: [below, above], .. }) => {
            format!("normal to each side, -{} or +{}", value(below), value(above))
        }
        (Measures::Factor, Distribution::Normal { sd, .. }) => format!("normal, ± {} %", bare(100.0 * sd)),
        (Measures::Factor, Distribution::LogNormal { factor, .. }) => {
            format!("log-normal, times or over {}", bare(factor))
        }
        (Measures::Resistance, Distribution::TwoSided { median, sd: [_, above], .. }) => {
            let end = shown.with_unit(1.0 / (median + above), Dimension::FilmCoefficient);
            let middle = shown.with_unit(1.0 / median, Dimension::FilmCoefficient);
            let from = if median > 0.0 { middle } else { "perfect".to_string() };
            format!("resistance normal to each side, {from} to {end} at one standard value")
        }
        (_, Distribution::Normal { mean, sd, .. }) => format!("normal, {} ± {}", value(mean), width(sd)),
        (_, Distribution::LogNormal { median, factor, .. }) => {
            format!("log-normal, {} times or over {}", value(median), bare(factor))
        }
        (_, Distribution::Uniform { low, high }) => format!("uniform, {} to {}", value(low), value(high)),
        (_, Distribution::LogUniform { low, high }) => format!("log-uniform, {} to {}", value(low), value(high)),
        (_, Distribution::Triangular { low, mode, high }) => {
            format!("triangular, {} to {}, likeliest {}", value(low), value(high), value(mode))
        }
        (_, Distribution::TwoSided { median, sd: [below, above], .. }) => {
            format!("normal to each side, {} -{} or +{}", value(median), width(below), width(above))
        }
    }
}

impl Words<'_> {
    fn report(&self, shown: Shown) -> Report {
        let (spread, plan) = (self.spread, &self.spread.plan);
        let inputs = spread.inputs.len();
        let what = if spread.usual { "the usual bands and [band]" } else { "[vary]" };
        let about = format!(
            "{} {} by {}, seed {}; {inputs} {} by {what}",
            plan.samples,
            if plan.samples == 1 { "sample" } else { "samples" },
            plan.method.name(),
            plan.seed,
            if inputs == 1 { "input varies" } else { "inputs vary" },
        );
        let parts = vec![
            Part::new("Verdict", self.verdict(shown)),
            Part::new("Limits", vec![Block::Table(self.limits(shown))]),
            Part::new("Trough", self.trough(shown)),
            Part::new("Stations", self.stations(shown)),
            Part::new("Where the spread comes from", self.indices()),
            Part::new("What varies", vec![Block::Table(self.inputs(shown))]),
            Part::new("Samples without an answer", self.failures()),
            Part::new("Accuracy", self.accuracy(shown)),
            Part::new("Cautions", spread.cautions.iter().map(|words| Block::words(Mark::Item, words)).collect()),
        ];
        Report::new(&self.case.title, about, parts)
    }

    fn verdict(&self, shown: Shown) -> Vec<Block> {
        let Some(all) = &self.spread.all else {
            let words = "The case sets no limit, so that there is no probability of meeting it: give a station a limit, for \
                         example core_max = \"60 degC\".";
            return vec![Block::words(Mark::None, words)];
        };
        let tone = if all.probability >= 0.95 { Tone::Good } else { Tone::Bad };
        let stressed = percent(all.probability);
        let words = if self.spread.limits.len() == 1 { "The limit is met" } else { "All limits are met" };
        let mut text = format!("{words} with a probability of {stressed}");
        let [low, high] = all.interval.map(percent);
        text += &format!(" ({} to {high} by the number of samples).", low.trim_end_matches(" %"));
        if let Ok(lengths) = &self.spread.lengths
            && let Some(at) = lengths.at.iter().find(|at| at.chance == 0.95)
        {
            text += &if at.length.is_finite() {
                let [low, high] = at.interval;
                let (low, high) = (shown.down(low, Dimension::Length), shown.up(high, Dimension::Length));
                let within = match at.interval.map(f64::is_finite) {
                    [true, true] => format!("{low} to {high}"),
                    [true, false] => format!("{low} at least"),
                    _ => "too few samples to say how surely".to_string(),
                };
                format!(
                    " A trough of {} ({within}) meets {} with 95 %; {} are there.",
                    shown.up(at.length, Dimension::Length),
                    if self.spread.limits.len() == 1 { "it" } else { "them all" },
                    shown.with_unit(lengths.given, Dimension::Length),
                )
            } else {
                format!(
                    " No trough does so with 95 %: {} of the samples leave a limit exceeded however long it is.",
                    percent(lengths.never)
                )
            };
        }
        vec![Block::stressed(Mark::None, text, tone, &stressed)]
    }

    fn limits(&self, shown: Shown) -> Grid {
        let unit = |name: &str| head(name, shown, Dimension::Temperature);
        let header = ["limit".to_string(), unit("at most"), unit("median"), unit("5 % above"), "met with".to_string()];
        let mut table = Grid::new(header.to_vec());
        for limit in &self.spread.limits {
            let [.., median, _, high] = self.spread.summaries[limit.output].percentiles;
            let ceiling = &limit.ceiling;
            let number = |value: f64| design::in_column(ceiling, value, shown);
            let row = [clean(&ceiling.name), number(ceiling.max), number(median), number(high), chance(&limit.chance)];
            table.row(row.to_vec());
        }
        table
    }

    fn trough(&self, shown: Shown) -> Vec<Block> {
        let lengths: &Lengths = match &self.spread.lengths {
            Ok(lengths) => lengths,
            Err(NoLengths::NotAsked) => return Vec::new(),
            Err(reason) => return vec![Block::words(Mark::Indent, format!("No length was sought: {reason}."))],
        };
        let metres = |value: f64, round: fn(Shown, f64, Dimension) -> Printed| {
            if value.is_infinite() { "none".to_string() } else { round(shown, value, Dimension::Length).number }
        };
        let mut table = Grid::new(vec![
            "chance of meeting all limits".to_string(),
            head("trough", shown, Dimension::Length),
            head("at least", shown, Dimension::Length),
            head("at most", shown, Dimension::Length),
        ]);
        for at in &lengths.at {
            let [low, high] = at.interval;
            let lengths = [metres(at.length, Shown::up), metres(low, Shown::down), metres(high, Shown::up)];
            table.row([&[percent(at.chance)], &lengths[..]].concat());
        }
        let names: Vec<String> = lengths.sections.iter().map(|name| format!("\"{}\"", clean(name))).collect();
        let grows = if names.len() == 1 { "grows" } else { "grow in proportion" };
        let mut words = format!(
            "{} {grows}; {} are there. At least and at most: the 95 % interval by the number of samples, none where they are too few to tell.",
            names.join(", "),
            shown.with_unit(lengths.given, Dimension::Length),
        );
        if lengths.failed > 0.0 {
            words += &format!(" For {} of the samples no length was found.", percent(lengths.failed));
        }
        vec![Block::Table(table), Block::words(Mark::Indent, words)]
    }

    fn stations(&self, shown: Shown) -> Vec<Block> {
        let mut header = vec!["value".to_string()];
        header.extend(["5 %", "25 %", "median", "75 %", "95 %", "mean", "deviation", "unit"].map(str::to_string));
        let mut table = Grid::new(header);
        let stations = |output: &Output| {
            let of = |name: &String| output.name.starts_with(&format!("{}.", quenchway::units::words::key(name)));
            self.case.stations.iter().any(|station| of(&station.name))
        };
        for (output, summary) in self.spread.outputs.iter().zip(&self.spread.summaries) {
            let told = stations(output) || output.searched().is_some();
            let Some(dimension) = output.dimension.filter(|_| told) else { continue };
            table.row(row(output, summary, dimension, shown));
        }
        let words = "5 % of the samples lie below the first number, 95 % below the fifth. --json and --out hold the other \
                     outputs too.";
        vec![Block::Table(table), Block::words(Mark::Indent, words)]
    }

    fn indices(&self) -> Vec<Block> {
        let mut blocks = Vec::new();
        for (output, indices) in &self.spread.indices {
            let name = clean(&self.spread.outputs[*output].name);
            let header = [name, "alone".to_string(), "95 %".to_string(), "with others".to_string(), "95 %".to_string()];
            let mut table = Grid::new(header.to_vec());
            let mut rows: Vec<_> = self.spread.inputs.iter().zip(indices).collect();
            sort_by_number(&mut rows, |(_, index)| -index.total);
            let ends = |[low, high]: [f64; 2]| format!("{} to {}", two(low), two(high));
            let (felt, quiet): (Vec<_>, Vec<_>) = rows.into_iter().partition(|(_, index)| index.total >= LEAST);
            for (drawn, index) in felt {
                table.row(vec![
                    in_two(&clean(&drawn.input), LONG),
                    two(index.first),
                    ends(index.first_interval),
                    two(index.total),
                    ends(index.total_interval),
                ]);
            }
            blocks.push(Block::Table(table));
            if !quiet.is_empty() {
                let names: Vec<String> = quiet.iter().map(|(drawn, _)| clean(&drawn.input)).collect();
                blocks.push(Block::words(Mark::Indent, format!("Less than {LEAST}: {}.", names.join("; "))));
            }
        }
        if !blocks.is_empty() {
            let words = "Sobol' indices: the share of the variance that an input causes alone (first order), and with all that \
                         it does together with others (total). An input near 0 with others may stay as uncertain as it is.";
            blocks.push(Block::words(Mark::Indent, words));
        }
        blocks
    }

    fn inputs(&self, shown: Shown) -> Grid {
        let mut table = Grid::new(["input", "distribution", "from"].map(str::to_string).to_vec()).with_words(&[1, 2]);
        for drawn in &self.spread.inputs {
            table.row(vec![in_two(&clean(&drawn.input), LONG), distribution(drawn, shown), clean(&drawn.basis)]);
        }
        table
    }

    fn failures(&self) -> Vec<Block> {
        let all = self.spread.samples.len();
        let mut blocks = reasons(&self.spread.failures, &format!("of {all} samples have no answer and count nowhere"));
        let without = format!("numbers of a search or a drive are missing among {all} samples");
        blocks.extend(reasons(&self.spread.absent, &without));
        blocks
    }

    fn accuracy(&self, shown: Shown) -> Vec<Block> {
        let checked = &self.spread.checked;
        let kelvin = |value: f64| {
            let unit = shown.unit(Dimension::TemperatureDifference);
            format!("{} {unit}", significant(shown.value(value, Dimension::TemperatureDifference)))
        };
        let mut words = format!(
            "The program solved {} of the samples again the careful way. The largest difference of a reported temperature is \
             {}; half differ by less than {}.",
            checked.samples,
            kelvin(checked.largest),
            kelvin(checked.median),
        );
        if let Ok(lengths) = &self.spread.lengths
            && lengths.checked_largest.is_finite()
        {
            words += &format!(
                " Their needed troughs were searched on a grid of all lengths as well: the largest difference is {} %.",
                significant(100.0 * lengths.checked_largest)
            );
        }
        words += " Intervals count the samples as independent; even samples do better than that.";
        let ways: Vec<String> =
            self.spread.computed.iter().map(|(path, count)| format!("{count} {}", path.name())).collect();
        words += &format!(
            " {} solves in {} s. Samples computed: {}.",
            self.spread.solves,
            significant(self.spread.wall),
            ways.join(", ")
        );
        vec![Block::words(Mark::Indent, words)]
    }
}

/// How many there are of what, and the reasons; nothing where there is none.
fn reasons(reasons: &[(String, usize)], what: &str) -> Vec<Block> {
    const MOST: usize = 5;
    let count: usize = reasons.iter().map(|(_, count)| count).sum();
    if count == 0 {
        return Vec::new();
    }
    let mut blocks = vec![Block::words(Mark::Indent, format!("{count} {what}:"))];
    let one = |(reason, count): &(String, usize)| Block::words(Mark::Item, format!("{count}: {}", clean(reason)));
    blocks.extend(reasons.iter().take(MOST).map(one));
    if reasons.len() > MOST {
        blocks.push(Block::words(Mark::Item, format!("and {} more reasons", reasons.len() - MOST)));
    }
    blocks
}

/// One output in its unit.
fn row(output: &Output, summary: &Summary, dimension: Dimension, shown: Shown) -> Vec<String> {
    let mut row = vec![clean(&output.name)];
    row.extend(summary.percentiles.iter().chain([&summary.mean]).map(|&value| shown.number(value, dimension)));
    let width = if dimension == Dimension::Temperature { Dimension::TemperatureDifference } else { dimension };
    row.push(shown.number(summary.deviation, width));
    row.push(shown.unit(dimension).to_string());
    row
}

/// Two decimals, no minus sign on zero.
fn two(value: f64) -> String {
    let text = format!("{value:.2}");
    if text == "-0.00" { "0.00".to_string() } else { text }
}
