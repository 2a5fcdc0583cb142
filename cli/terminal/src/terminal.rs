//! Blocks as lines for a terminal.

use anstyle::{AnsiColor, Style};
use quenchway_words::blocks::{Block, HELD, Mark, Paragraph, Part, Tone, with_units};

use super::ruled;

/// Heading of a part.
const HEADING: Style = Style::new().bold();
/// What is not met.
const BAD: Style = AnsiColor::Red.on_default().bold();
/// What is met.
const GOOD: Style = AnsiColor::Green.on_default().bold();
/// A warning.
const WARN: Style = AnsiColor::Yellow.on_default();

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
fn styled(style: Style, text: &str) -> String {
    format!("{style}{text}{style:#}")
}

/// A paragraph that hangs under its mark.
pub fn hanging(mark: &str, text: &str, width: usize) -> String {
    let indent = " ".repeat(mark.chars().count());
    wrapped([mark, &indent], text, width) + "\n"
}

/// Text on lines of so many columns, broken at spaces and nowhere else: a key path stays whole.
pub fn fill(text: &str, width: usize) -> String {
    wrapped(["", ""], text, width)
}

/// The same with what begins the first line and the others. A number stays on a line with its unit.
pub fn wrapped([first, others]: [&str; 2], text: &str, width: usize) -> String {
    let options = textwrap::Options::new(width)
        .initial_indent(first)
        .subsequent_indent(others)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(&with_units(text), options).replace(HELD, " ")
}

/// Blocks one below the other.
pub fn blocks(blocks: &[Block], width: usize) -> String {
    let one = |block: &Block| match block {
        Block::Paragraph(words) => paragraph(words, width),
        Block::Table(rows) => ruled::text(rows, width),
        Block::Lines(rows) => lines(rows, width),
        Block::Gap => "\n".to_string(),
    };
    blocks.iter().map(one).collect()
}

fn style(tone: Tone) -> Style {
    match tone {
        Tone::Good => GOOD,
        Tone::Bad => BAD,
        Tone::Warn => WARN,
        Tone::Answer => HEADING,
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
    let stress = |tone, words: &str| {
        let words = words.replace(HELD, " ");
        wrapped.replacen(&words, &styled(style(tone), &words), 1)
    };
    match (&words.stressed, words.mark) {
        (Some((tone, stressed)), _) => stress(*tone, stressed),
        (None, Mark::Warning) => stress(Tone::Warn, "!"),
        (None, _) => wrapped,
    }
}

/// Columns three spaces apart, the last of a row not padded; where that is too wide, each row as a paragraph.
fn lines(rows: &[Vec<String>], room: usize) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width =
        |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, &width)| format!("{cell:width$}"));
        format!("  {}\n", cells.collect::<Vec<_>>().join("   ").trim_end())
    };
    let beside: String = rows.iter().map(line).collect();
    if beside.lines().all(|line| line.chars().count() <= room) {
        return beside;
    }
    rows.iter().map(|row| wrapped(["  ", "      "], &row.join("  "), room) + "\n").collect()
}
