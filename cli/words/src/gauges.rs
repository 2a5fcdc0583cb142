//! The gauges' card in words: set-points, what the line speed does, the delay, the output.

use quenchway::case::{CaseFile, Shape};
use quenchway::study::gauges::{CHANGE, Gauge, Gauges};
use quenchway::units::{Dimension, System, write};

use super::blocks::{Block, Grid, Mark, Part, Report};
use super::tables::{across, head};
use super::{clean, notes, significant};
use crate::shown::Shown;

/// The report, with colours as ANSI codes.
pub fn report(case: &CaseFile, found: &Gauges, shown: Shown) -> Report {
    let what = what(case.shape);
    let whose = if found.of_case { "that of the case" } else { "as wanted" };
    let about = format!(
        "{}; {what} wanted at {}: {}, {whose}",
        shown.with_unit(case.line_speed, Dimension::Speed),
        shown.limit(23.0),
        shown.with_unit(found.wanted, Dimension::Diameter),
    );
    let parts = vec![
        Part::new("Readings", readings(found, shown)),
        Part::new("Line speed at constant output", speed(case, found, shown)),
        Part::new("Delay", delay(found, shown)),
        Part::new("Output", output(case, found, shown)),
        Part::new("Warnings", notes::warnings(&found.solution, shown)),
        Part::new("Accuracy", notes::accuracy(&found.solution, shown).into_iter().take(1).collect()),
        Part::new("Cautions", notes::cautions(&found.solution)),
    ];
    Report::new(&case.title, about, parts)
}

/// What a gauge measures.
pub fn what(shape: Shape) -> &'static str {
    if shape == Shape::Flat { "thickness" } else { "diameter" }
}

/// The change of diameter that an operator thinks in, m: 0.01 mm, or half a thousandth of an inch.
pub fn step(shown: Shown) -> f64 {
    match shown.system {
        System::Si => 1e-5,
        System::Us => 0.5e-3 * 0.0254,
    }
}

/// A small change of diameter with its sign and unit, to two digits.
pub fn change(shown: Shown, metres: f64) -> String {
    let value = shown.value(metres, Dimension::Diameter);
    let sign = if value < 0.0 { "-" } else { "+" };
    format!("{sign}{} {}", significant(value.abs()), shown.unit(Dimension::Diameter))
}

/// How far a reading is from the finished size, to the digits of a reading.
pub fn over(shown: Shown, gauge: &Gauge) -> String {
    let number = shown.with_unit(gauge.over_finished, Dimension::Diameter);
    if number.starts_with('-') { number } else { format!("+{number}") }
}

/// What the speed must do for one step less of diameter: the step, the percentage, the amount.
pub fn trim(found: &Gauges, shown: Shown) -> [String; 3] {
    let share = found.speed_for(-step(shown));
    let amount = shown.value(share * found.speed, Dimension::Speed);
    [
        write(step(shown), Dimension::Diameter, shown.system),
        format!("{} %", significant(100.0 * share)),
        format!("{} {}", significant(amount), shown.unit(Dimension::Speed)),
    ]
}

/// Which place stands for a gauge.
pub fn place(gauge: &Gauge, otherwise: &str, shown: Shown) -> String {
    let distance = shown.with_unit(gauge.distance, Dimension::Length);
    match &gauge.station {
        Some(station) => format!("\"{}\", {distance} from the die", clean(station)),
        None => otherwise.to_string(),
    }
}

fn readings(found: &Gauges, shown: Shown) -> Vec<Block> {
    let size = |metres: f64| shown.with_unit(metres, Dimension::Diameter);
    let celsius = |value: f64| shown.with_unit(value, Dimension::Temperature);
    let row = |name: &str, reading: f64, more: String| vec![name.to_string(), size(reading), more];
    let warm = |gauge: &Gauge| {
        let off = over(shown, gauge);
        format!("{off} from finished: surface {}, plastic {} in the mean", celsius(gauge.surface), celsius(gauge.mean))
    };
    let rows = vec![
        vec!["hot gauge must read".to_string(), ranged(&found.hot, shown), warm(&found.hot)],
        vec!["cold gauge will read".to_string(), ranged(&found.cold, shown), warm(&found.cold)],
        row("finished", found.wanted, format!("everything at {}", shown.limit(23.0))),
        row("at the die", found.at_die, "after the draw-down cone".to_string()),
    ];
    let mut places = format!(
        "Hot gauge: {}. Cold gauge: {}.",
        place(&found.hot, "the die", shown),
        place(&found.cold, "the end of the line", shown)
    );
    for (gauge, name, stands) in [(&found.hot, "hot", "the die"), (&found.cold, "cold", "the end of the line")] {
        if gauge.station.is_none() {
            places += &format!(" No station has \"{name} gauge\" in its name: {stands} stands for it.");
        }
    }
    let mut blocks = vec![Block::Lines(rows), Block::words(Mark::Indent, places)];
    blocks.extend(contraction(found, shown).map(|words| Block::words(Mark::Indent, words)));
    blocks
}

/// A reading, with its range where it has one.
fn ranged(gauge: &Gauge, shown: Shown) -> String {
    let reading = shown.with_unit(gauge.reading, Dimension::Diameter);
    match range(gauge, shown) {
        Some(range) => format!("{reading} ({range})"),
        None => reading,
    }
}

/// The readings with the outer layer held and free, where it is not sure which: "9.119 to 9.182 mm".
pub fn range(gauge: &Gauge, shown: Shown) -> Option<String> {
    let [low, high] = gauge.range;
    let low_end = shown.number(low, Dimension::Diameter);
    (low < high).then(|| format!("{low_end} to {}", shown.with_unit(high, Dimension::Diameter)))
}

/// Which contraction was assumed, why, and what the other gives; nothing where sizes do not follow the density.
fn contraction(found: &Gauges, shown: Shown) -> Option<String> {
    let other = found.other_contraction?;
    let size = |metres: f64| shown.with_unit(metres, Dimension::Diameter);
    let how = |contraction: &str| {
        if contraction == "held" { "held in length" } else { "free to contract along the line" }
    };
    let sure = if found.contraction_is_sure {
        ""
    } else {
        " It does not stick to what it lies on, so this is the largest doubt of the set-point. Measure one length before and \
         after the line."
    };
    Some(format!(
        "The program takes \"{}\" as {} (contraction = \"{}\"). If it is {}, the hot gauge must read {} and the cold gauge \
         will read {}.{sure}",
        clean(&found.outer_layer),
        how(found.contraction),
        found.contraction,
        how(other.contraction),
        size(other.hot),
        size(other.cold),
    ))
}

fn speed(case: &CaseFile, found: &Gauges, shown: Shown) -> Vec<Block> {
    let size = |name: &str| head(name, shown, Dimension::Diameter);
    let speed = head("line speed", shown, Dimension::Speed);
    let mut table = Grid::new(vec![speed, size("hot gauge"), size("cold gauge"), size("finished")]);
    let decimals = shown.decimals(Dimension::Diameter) + 1;
    for row in &found.at_speeds {
        let size = |metres: f64| format!("{:.decimals$}", shown.value(metres, Dimension::Diameter));
        let speed = format!("{:.1}", shown.value(row.speed, Dimension::Speed));
        table.row(vec![speed, size(row.hot), size(row.cold), size(row.finished)]);
    }
    let [step, percent, amount] = trim(found, shown);
    let what = what(case.shape);
    let per = format!(
        "{} % more line speed puts the same melt on more line. It changes the finished {what} by {}, the hot gauge by {}, the \
         cold gauge by {}.",
        100.0 * CHANGE,
        change(shown, found.per_percent.finished),
        change(shown, found.per_percent.hot),
        change(shown, found.per_percent.cold),
    );
    let trim = format!(
        "For {step} less of finished {what} the line runs {percent} ({amount}) faster at the same output. Or the output falls \
         by as many percent at the same speed."
    );
    vec![Block::Table(table), Block::words(Mark::Indent, per), Block::words(Mark::Indent, trim)]
}

fn delay(found: &Gauges, shown: Shown) -> Vec<Block> {
    let seconds = |value: f64| shown.with_unit(value, Dimension::Time);
    let words = format!(
        "A change at the die reaches the hot gauge after {}, and the cold gauge {} after that. Only then does the cold gauge \
         show what a correction did.",
        seconds(found.hot.time),
        seconds(found.delay),
    );
    vec![Block::words(Mark::Indent, words)]
}

fn output(case: &CaseFile, found: &Gauges, shown: Shown) -> Vec<Block> {
    let flows: Vec<String> = (found.melts.iter())
        .map(|melt| format!("{} {}", clean(&melt.layer), shown.with_unit(melt.flow, Dimension::MassFlow)))
        .collect();
    vec![Block::words(Mark::Indent, format!("{}{}.", flows.join(", "), across(case)))]
}
