//! Blocks as lines for a terminal.

use anstyle::{AnsiColor, Style};
use comfy_table::{Attribute, CellAlignment, Color};

use super::blocks::{Block, Cell, Grid, Mark, Paragraph, Part, Tone};
use super::tables::{table, text};

/// Heading of a part.
pub(crate) const HEADING: Style = Style::new().bold();
/// What is not met.
pub(crate) const BAD: Style = AnsiColor::Red.on_default().bold();
/// What is met.
pub(crate) const GOOD: Style = AnsiColor::Green.on_default().bold();
/// A warning.
pub(crate) const WARN: Style = AnsiColor::Yellow.on_default();

/// A heading over what follows; nothing over nothing.
pub fn part(part: &Part, width: usize) -> String {
    if part.blocks.is_empty() {
        String::new()
    } else {
        format!("{}\n{}", heading(part.heading), blocks(&part.blocks, width))
    }
}

/// Words as a heading.
pub fn heading(words: &str) -> String {
    styled(HEADING, words)
}

/// Text in a style.
pub(crate) fn styled(style: Style, text: &str) -> String {
    format!("{style}{text}{style:#}")
}

/// A heading over a text; nothing over nothing.
pub(crate) fn titled(words: &str, body: String) -> String {
    if body.is_empty() { body } else { format!("{}\n{body}", heading(words)) }
}

/// A paragraph that hangs under its mark.
pub(crate) fn hanging(mark: &str, text: &str, width: usize) -> String {
    let indent = " ".repeat(mark.chars().count());
    let options = textwrap::Options::new(width).initial_indent(mark).subsequent_indent(&indent).break_words(false);
    textwrap::fill(text, options) + "\n"
}

/// Blocks one below the other.
pub fn blocks(blocks: &[Block], width: usize) -> String {
    let one = |block: &Block| match block {
        Block::Paragraph(words) => paragraph(words, width),
        Block::Table(rows) => grid(rows, width),
        Block::Lines(rows) => lines(rows),
    };
    blocks.iter().map(one).collect()
}

fn style(tone: Tone) -> Style {
    match tone {
        Tone::Good => GOOD,
        Tone::Bad => BAD,
        Tone::Warn => WARN,
    }
}

/// A paragraph that hangs under its mark.
fn paragraph(words: &Paragraph, width: usize) -> String {
    let mark = match words.mark {
        Mark::None => "",
        Mark::Indent => "  ",
        Mark::Warning => "  ! ",
        Mark::Item => "  - ",
    };
    let wrapped = hanging(mark, &words.text, width);
    // Styled after wrapping: codes have no width.
    let stress = |tone, words: &str| wrapped.replacen(words, &styled(style(tone), words), 1);
    match (&words.stressed, words.mark) {
        (Some((tone, stressed)), _) => stress(*tone, stressed),
        (None, Mark::Warning) => stress(Tone::Warn, "!"),
        (None, _) => wrapped,
    }
}

fn grid(grid: &Grid, width: usize) -> String {
    let mut drawn = table(grid.header.clone(), width);
    for &column in &grid.words {
        if let Some(column) = drawn.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Left);
        }
    }
    let cell = |cell: &Cell| {
        let drawn = comfy_table::Cell::new(&cell.text);
        match cell.tone {
            Some(Tone::Bad) => drawn.fg(Color::Red).add_attribute(Attribute::Bold),
            _ => drawn,
        }
    };
    for row in &grid.rows {
        drawn.add_row(row.iter().map(cell).collect::<Vec<_>>());
    }
    text(&drawn)
}

/// Columns three blanks apart; the last of a row is not padded.
fn lines(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width =
        |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, &width)| format!("{cell:width$}"));
        format!("  {}\n", cells.collect::<Vec<_>>().join("   ").trim_end())
    };
    rows.iter().map(line).collect()
}
