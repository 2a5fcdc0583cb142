//! Blocks of the report as HTML; all text is escaped by the macro.

use maud::{Markup, html};

use crate::blocks::{Block, Cell, Grid, Mark, Paragraph, Part, Report, Tone};

/// Style for screen and paper. Paper has no size here: the printer's own holds, A4 or US Letter.
pub const STYLE: &str = include_str!("style.css");

/// A report from its title on, with `between` before part number `place`, the verdict being number 0.
pub fn report(report: &Report, place: usize, between: &Markup) -> Markup {
    let (before, behind) = report.parts.split_at(place.min(report.parts.len()));
    html! {
        header { h1 { (report.title) } p { (report.about) } }
        @if let Some((first, others)) = before.split_first() {
            (verdict(first))
            @for one in others { (part(one)) }
        }
        (between)
        @for one in behind { (part(one)) }
    }
}

/// The verdict, in the colour of its first words.
fn verdict(part: &Part) -> Markup {
    let tone = part.blocks.iter().find_map(|block| match block {
        Block::Paragraph(words) => words.stressed.as_ref().map(|(tone, _)| *tone),
        _ => None,
    });
    let class = tone.map_or("plain", class);
    html! { section class=(format!("verdict {class}")) { h2 { (part.heading) } (blocks(&part.blocks)) } }
}

/// A part under its heading; nothing without blocks.
pub fn part(part: &Part) -> Markup {
    html! { @if !part.blocks.is_empty() { section { h2 { (part.heading) } (blocks(&part.blocks)) } } }
}

/// Blocks one below the other; those that carry a mark follow each other as a list.
pub fn blocks(blocks: &[Block]) -> Markup {
    let listed = |block: &Block| match block {
        Block::Paragraph(words) => matches!(words.mark, Mark::Warning | Mark::Item).then_some(words.mark),
        _ => None,
    };
    html! {
        @for run in blocks.chunk_by(|a, b| listed(a) == listed(b)) {
            @match listed(&run[0]) {
                Some(mark) => ul class=[(mark == Mark::Warning).then_some("warnings")] {
                    @for block in run { li { (one(block)) } }
                },
                None => @for block in run { (one(block)) },
            }
        }
    }
}

fn one(block: &Block) -> Markup {
    match block {
        Block::Paragraph(words) => paragraph(words),
        Block::Table(rows) => grid(rows),
        Block::Lines(rows) => lines(rows),
        Block::Gap => html! {},
    }
}

/// The class of what stands out.
fn class(tone: Tone) -> &'static str {
    match tone {
        Tone::Good => "good",
        Tone::Bad => "bad",
        Tone::Warn => "warn",
        Tone::Answer => "plain",
    }
}

fn paragraph(words: &Paragraph) -> Markup {
    let stressed = words.stressed.as_ref().filter(|(_, stressed)| !stressed.is_empty());
    let split = stressed.and_then(|(tone, stressed)| Some((tone, stressed, words.text.split_once(stressed.as_str())?)));
    html! {
        p {
            @match split {
                Some((tone, stressed, (before, after))) => {
                    (before) strong class=(class(*tone)) { (stressed) } (after)
                }
                None => (words.text),
            }
        }
    }
}

fn grid(grid: &Grid) -> Markup {
    let left = |column: usize| (column == 0 || grid.words.contains(&column)).then_some("words");
    html! {
        div.wide tabindex="0" {
            table {
                thead {
                    tr {
                        @for (column, name) in grid.header.iter().enumerate() {
                            th scope="col" class=[left(column)] { (over(name)) }
                        }
                    }
                }
                tbody {
                    @for row in &grid.rows {
                        tr { @for (column, cell) in row.iter().enumerate() { (value(cell, left(column))) } }
                    }
                }
            }
        }
    }
}

/// A column's name over its unit.
fn over(name: &str) -> Markup {
    html! { @for (line, part) in name.split('\n').enumerate() { @if line > 0 { br; } (part) } }
}

fn value(cell: &Cell, left: Option<&str>) -> Markup {
    html! {
        td class=[left] {
            @match cell.tone {
                Some(tone) => strong class=(class(tone)) { (cell.text) },
                None => (cell.text),
            }
        }
    }
}

/// A name and its values, without a header.
fn lines(rows: &[Vec<String>]) -> Markup {
    html! {
        div.wide {
            table.lines {
                @for row in rows {
                    tr {
                        @for (column, cell) in row.iter().enumerate() {
                            @if column == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                        }
                    }
                }
            }
        }
    }
}
