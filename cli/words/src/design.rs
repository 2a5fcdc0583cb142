//! What the reports on length and speed share: ceilings in words, the plant, the range, what would help.

use quenchway::case::CaseFile;
use quenchway::march::solution::Solution;
use quenchway::study::search::ceilings::{Ceiling, What};
use quenchway::study::search::confirm::Range;
use quenchway::study::search::levers::Lever;
use quenchway::units::Dimension;

use super::blocks::{Block, Cell, Grid, Mark, Part, Tone};
use super::{band, clean, notes};
use crate::shown::Shown;

/// A ceiling in words: `core at "capstan"`.
pub fn words(case: &CaseFile, ceiling: &Ceiling) -> String {
    match ceiling.what {
        What::Temperature(station, _) => {
            let name = case.stations.get(station).map_or("", |station| station.name.as_str());
            format!("{} at \"{}\"", clean(&ceiling.temperature), clean(name))
        }
        What::MeltShrink(layer) => {
            let name = case.layers.get(layer).map_or("", |layer| layer.name.as_str());
            format!("melt shrink under the skin of \"{}\"", clean(name))
        }
        What::Compound => "plastic from the extruders".to_string(),
        What::Chiller => "heat to the chiller".to_string(),
        What::WaterOut(section) => {
            let name = case.sections.get(section).map_or("", |section| section.name.as_str());
            format!("water out of \"{}\"", clean(name))
        }
        What::Hall => "floor length".to_string(),
    }
}

/// A value of a ceiling with its unit; the ceiling itself as it is written.
pub fn amount(ceiling: &Ceiling, value: f64, shown: Shown) -> String {
    match ceiling.dimension() {
        Dimension::Temperature if value == ceiling.max => shown.limit(value),
        Dimension::Share if value == ceiling.max => format!("{value} %"),
        dimension => shown.with_unit(value, dimension),
    }
}

/// A value of a ceiling in a column of temperatures: what is none has its unit beside it.
pub fn in_column(ceiling: &Ceiling, value: f64, shown: Shown) -> String {
    match ceiling.dimension() {
        Dimension::Temperature => shown.number(value, Dimension::Temperature),
        _ if !value.is_finite() => "-".to_string(),
        _ => amount(ceiling, value, shown),
    }
}

/// What the plant allows and what is taken of it.
pub fn plant(case: &CaseFile, taken: &[(Ceiling, f64)], shown: Shown) -> Grid {
    let mut table = Grid::new(["ceiling", "allowed", "taken"].map(str::to_string).to_vec());
    for (ceiling, value) in taken {
        let over = *value > ceiling.max;
        let text = amount(ceiling, *value, shown);
        table.row(vec![
            Cell::from(words(case, ceiling)),
            Cell::from(amount(ceiling, ceiling.max, shown)),
            Cell { text, tone: over.then_some(Tone::Bad) },
        ]);
    }
    table
}

/// There is no answer, and why.
pub fn no_answer(reason: &str) -> Block {
    Block::stressed(Mark::None, format!("NO ANSWER: {}.", clean(reason)), Tone::Bad, "NO ANSWER")
}

/// Between which lengths or speeds the answer lies with the uncertainty of the inputs; `open`: what the unfavourable end leaves
/// where it leaves none.
pub fn range(range: &Range, of: Dimension, open: &str, shown: Shown) -> Vec<Block> {
    // The longer trough is the safe one, and the slower line.
    let longer = of == Dimension::Length;
    let end = |end: f64, high: bool| if high { shown.up(end, of) } else { shown.down(end, of) };
    let [best, safe] =
        [range.favourable.map(|best| end(best, !longer)), range.unfavourable.map(|safe| end(safe, longer))];
    let text = match (best, safe) {
        (Some(best), Some(safe)) => {
            let [low, high] = if longer { [&best, &safe] } else { [&safe, &best] };
            format!(
                "With the uncertainty of the inputs it lies between {low} and {high}; {safe} allows for this uncertainty."
            )
        }
        (Some(best), None) => format!(
            "With the uncertainty of the inputs it is {best} or {}; at the unfavourable end {open}.",
            if longer { "more" } else { "less" }
        ),
        _ => "The program could not compute how far the uncertainty of the inputs moves it.".to_string(),
    };
    let mut blocks = vec![Block::words(Mark::None, text)];
    blocks.extend(least_sure(range));
    blocks
}

/// What would narrow the range most; nothing where nothing is uncertain.
fn least_sure(range: &Range) -> Vec<Block> {
    let (what, narrow) = band::words(&range.largest);
    if what.is_empty() {
        return Vec::new();
    }
    let text = format!("Least sure is {what}: {narrow} would narrow the range most.");
    vec![Block::words(Mark::None, text)]
}

/// What was tried and helps.
pub fn helps(case: &CaseFile, levers: &[Lever], heading: &'static str, shown: Shown) -> Part {
    let line = |lever: &Lever| {
        let (ceiling, value) = &lever.worst;
        let to = clean(&lever.printed);
        let from = lever.variable.show(lever.from, shown.system);
        let paths: Vec<String> = lever.paths.iter().map(|path| clean(path)).collect();
        let what = format!("{}, {to} instead of {from} ({})", lever.words, paths.join(", "));
        let worst = format!("{} then {}", words(case, ceiling), amount(ceiling, *value, shown));
        match lever.meets {
            true => format!("{what}: enough."),
            false => format!("{what}: not enough alone, {worst} of {} allowed.", amount(ceiling, ceiling.max, shown)),
        }
    };
    let mut blocks: Vec<Block> = levers.iter().map(|lever| Block::words(Mark::Item, line(lever))).collect();
    if blocks.is_empty() {
        let nothing = "Nothing of what was tried does: colder water, more water, a cooler conductor, other lengths of the air \
                       sections, a slower line.";
        blocks.push(Block::words(Mark::Indent, nothing));
    }
    Part::new(heading, blocks)
}

/// Warnings, accuracy and cautions of a solution; where there is none the cautions of the case.
pub fn notes(case: &CaseFile, solution: Option<&Solution>, shown: Shown) -> Vec<Part> {
    let Some(solution) = solution else {
        let cautions = quenchway::case::cautions::cautions(case);
        let items = cautions.iter().map(|caution| Block::words(Mark::Item, caution)).collect();
        return vec![Part::new("Cautions", items)];
    };
    vec![
        Part::new("Warnings", notes::warnings(solution, shown)),
        Part::new("Accuracy", notes::accuracy(solution, shown)),
        Part::new("Cautions", notes::cautions(solution)),
    ]
}

/// Names of sections, in quotation marks, as a list.
pub fn section_names(case: &CaseFile, sections: &[usize]) -> String {
    let names: Vec<String> =
        sections.iter().map(|&index| format!("\"{}\"", clean(&case.sections[index].name))).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    }
}

/// The length of a section as it stands on the floor, one pass of several: "3 passes of 6.00 m".
pub fn passes_of(passes: usize, length: String) -> String {
    if passes == 1 { length } else { format!("{passes} passes of {length}") }
}

/// How long the line is: the floor that it stands on, and the way of the product where passes make that longer.
pub fn lengths_of_line(case: &CaseFile, shown: Shown) -> String {
    let way = shown.with_unit(case.line_length(), Dimension::Length);
    let floor = shown.with_unit(case.floor_length(), Dimension::Length);
    match case.sections.iter().any(|section| section.passes > 1) {
        true => format!("{floor} long on the floor, the way of the product {way}"),
        false => format!("{floor} long"),
    }
}
