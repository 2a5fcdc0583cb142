//! What an interpreter and a notebook show of an answer: the words of the report, in short. The cautions stand last.

use maud::{Markup, PreEscaped, html};
use quenchway_words::blocks::{Block, Grid, Mark, Part, Report};
use quenchway_words::html;

/// The parts that are shown.
const SHOWN: [&str; 5] = ["Verdict", "Stations", "Limits", "Warnings", "Cautions"];
/// Those that are told in lines of text.
const TOLD: [&str; 3] = ["Verdict", "Stations", "Cautions"];
/// A notebook has its own style, light or dark: its own colour of letters is mixed into each of these.
const STYLE: &str = ".quenchway h1{font-size:1.25em}.quenchway h2{font-size:1.05em;margin:.8em 0 .2em}\
.quenchway{--good:#1e9a63;--bad:#d9434a}\
.quenchway .verdict{border-left:6px solid #808080;padding:1px 12px}.quenchway .verdict.good{border-color:var(--good)}\
.quenchway .verdict.bad{border-color:var(--bad)}.quenchway .wide{overflow-x:auto}\
.quenchway svg{display:block;max-width:100%;height:auto}\
.quenchway td,.quenchway th{text-align:right;padding:2px 8px}.quenchway .words{text-align:left}\
.quenchway li p{margin:2px 0}.quenchway strong.good{color:color-mix(in srgb,currentColor 50%,var(--good))}\
.quenchway strong.bad{color:color-mix(in srgb,currentColor 50%,var(--bad))}";

fn of(report: Report, headings: &[&str]) -> Report {
    let parts = report.parts.into_iter().filter(|part| headings.contains(&part.heading)).collect();
    Report { parts, ..report }
}

/// For a notebook: the verdict, the picture, the tables, warnings and cautions.
pub fn page(report: Report, picture: String) -> String {
    let between: Markup = PreEscaped(picture);
    let shown = html::report(&of(report, &SHOWN), 1, &between);
    html! { div class="quenchway" { style { (PreEscaped(STYLE)) } (shown) } }.into_string()
}

/// For an interpreter, as lines of text.
pub fn text(report: Report) -> String {
    let Report { title, about, parts, .. } = of(report, &TOLD);
    let parts = parts.iter().map(|part| part_text(part, part.heading == TOLD[0]));
    let said: Vec<String> = std::iter::once(format!("{title}\n{about}\n")).chain(parts).collect();
    said.join("\n").trim_end().to_string()
}

/// A part with its heading, but for the verdict.
fn part_text(part: &Part, bare: bool) -> String {
    let heading = if bare { String::new() } else { format!("{}\n", part.heading) };
    let blocks = part.blocks.iter().map(|block| match block {
        Block::Paragraph(words) => match words.mark {
            Mark::None => format!("{}\n", words.text),
            Mark::Indent => format!("  {}\n", words.text),
            Mark::Warning | Mark::Item => format!("- {}\n", words.text),
        },
        Block::Table(grid) => columns(grid),
        Block::Lines(rows) => rows.iter().map(|row| format!("  {}\n", row.join("  "))).collect(),
        Block::Gap => "\n".to_string(),
    });
    heading + &blocks.collect::<String>()
}

/// A table with its columns below each other: words to the left, numbers to the right.
fn columns(grid: &Grid) -> String {
    let head = grid.header.iter().map(|name| name.split('\n').collect::<Vec<_>>()).collect::<Vec<_>>();
    let height = head.iter().map(Vec::len).max().unwrap_or(0);
    let line = |index: usize| head.iter().map(|name| name.get(index).copied().unwrap_or_default()).collect();
    let mut rows: Vec<Vec<&str>> = (0..height).map(line).collect();
    rows.extend(grid.rows.iter().map(|row| row.iter().map(|cell| cell.text.as_str()).collect()));
    let width = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max();
    let widths: Vec<usize> = (0..grid.header.len()).map(|column| width(column).unwrap_or(0)).collect();
    let told = |row: &Vec<&str>| {
        let cells = row.iter().zip(&widths).enumerate().map(|(column, (cell, &width))| {
            match column == 0 || grid.words.contains(&column) {
                true => format!("{cell:<width$}"),
                false => format!("{cell:>width$}"),
            }
        });
        format!("  {}\n", cells.collect::<Vec<_>>().join("  ").trim_end())
    };
    rows.iter().map(told).collect()
}
