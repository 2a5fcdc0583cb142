//! What a report consists of, before it becomes lines on a terminal or a page: parts, made of blocks.

use quenchway::units::{Dimension, System, show};

use crate::clean;

/// How a word is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Limits that are met.
    Good,
    /// A limit that is not met.
    Bad,
    /// A doubt.
    Warn,
    /// A number that was asked for.
    Answer,
}

/// What stands before a paragraph.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Nothing: the verdict.
    None,
    /// Nothing, set in.
    Indent,
    /// A warning's mark.
    Warning,
    /// A list's mark.
    Item,
}

/// A paragraph; some of its words may stand out.
#[derive(Clone, Debug)]
pub struct Paragraph {
    /// What stands before it.
    pub mark: Mark,
    /// All of its words.
    pub text: String,
    /// Those that stand out, as they are in `text`.
    pub stressed: Option<(Tone, String)>,
}

/// A cell of a table.
#[derive(Clone, Debug)]
pub struct Cell {
    /// What it says.
    pub text: String,
    /// How it is meant.
    pub tone: Option<Tone>,
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Cell {
        Cell { text: text.into(), tone: None }
    }
}

/// A table: the first column is words, the others are numbers unless they are in `words`.
#[derive(Clone, Debug)]
pub struct Grid {
    /// Names of the columns; the unit below, after a line feed.
    pub header: Vec<String>,
    /// Further columns of words.
    pub words: Vec<usize>,
    /// Row by row.
    pub rows: Vec<Vec<Cell>>,
}

impl Grid {
    /// A table without rows.
    pub fn new(header: Vec<String>) -> Grid {
        Grid { header, words: Vec::new(), rows: Vec::new() }
    }

    /// The same with further columns of words.
    pub fn with_words(self, words: &[usize]) -> Grid {
        Grid { words: words.to_vec(), ..self }
    }

    /// Adds a row.
    pub fn row<C: Into<Cell>>(&mut self, cells: Vec<C>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }
}

/// A piece of a part.
#[derive(Clone, Debug)]
pub enum Block {
    /// Words.
    Paragraph(Paragraph),
    /// A table with a header.
    Table(Grid),
    /// Lines of a name and its values, without a header.
    Lines(Vec<Vec<String>>),
    /// Room between what stands above and below.
    Gap,
}

impl Block {
    /// A paragraph without words that stand out.
    pub fn words(mark: Mark, text: impl Into<String>) -> Block {
        Block::Paragraph(Paragraph { mark, text: text.into(), stressed: None })
    }

    /// A paragraph in which `words` stand out.
    pub fn stressed(mark: Mark, text: impl Into<String>, tone: Tone, words: &str) -> Block {
        Block::Paragraph(Paragraph { mark, text: text.into(), stressed: Some((tone, words.to_string())) })
    }
}

/// A heading and what stands under it.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name.
    pub heading: &'static str,
    /// What it says; nothing to say without blocks.
    pub blocks: Vec<Block>,
}

impl Part {
    /// A part; tables without rows are left out.
    pub fn new(heading: &'static str, blocks: Vec<Block>) -> Part {
        let says = |block: &Block| !matches!(block, Block::Table(grid) if grid.rows.is_empty());
        Part { heading, blocks: blocks.into_iter().filter(says).collect() }
    }
}

/// Everything that is told of one answer.
#[derive(Clone, Debug)]
pub struct Report {
    /// The case's title.
    pub title: String,
    /// What was asked.
    pub about: String,
    /// What is said of it, the answer first.
    pub parts: Vec<Part>,
    /// The answer stands right below the title on a terminal, without its heading: nothing else was asked.
    pub bare: bool,
}

impl Report {
    /// A report; the title is the user's.
    pub fn new(title: &str, about: String, parts: Vec<Part>) -> Report {
        Report { title: clean(title), about, parts, bare: false }
    }

    /// The same, its answer right below the title.
    pub fn bare(self) -> Report {
        Report { bare: true, ..self }
    }

    /// The same, in which a number stays on a line with its unit: the blank between them is [`HELD`].
    pub fn with_units(self) -> Report {
        let block = |block: Block| match block {
            Block::Paragraph(Paragraph { mark, text, stressed }) => Block::Paragraph(Paragraph {
                mark,
                text: with_units(&text),
                stressed: stressed.map(|(tone, words)| (tone, with_units(&words))),
            }),
            other => other,
        };
        let part = |part: Part| Part { blocks: part.blocks.into_iter().map(block).collect(), ..part };
        Report { about: with_units(&self.about), parts: self.parts.into_iter().map(part).collect(), ..self }
    }
}

/// A blank at which no line ends.
pub const HELD: char = '\u{a0}';

/// A text in which the space between a number and its unit is held, and those within the unit, too.
pub fn with_units(text: &str) -> String {
    let mut held = String::with_capacity(text.len());
    let (mut last, mut until) = (' ', 0);
    for (place, sign) in text.char_indices() {
        if sign == ' ' && last.is_ascii_digit() {
            until = unit_at(&text[place + 1..]).map_or(until, |unit| place + 1 + unit.len());
        }
        held.push(if sign == ' ' && place < until { HELD } else { sign });
        last = sign;
    }
    held
}

/// Units beside those in which numbers are shown.
const MORE: [&str; 4] = ["min", "h", "ms", "L"];

/// The unit that a text begins with, the longest.
fn unit_at(text: &str) -> Option<&str> {
    let of = |system: System| Dimension::ALL.into_iter().map(move |dimension| show(0.0, dimension, system).1);
    let ends = |unit: &&str| !text[unit.len()..].starts_with(|next: char| next.is_alphanumeric() || next == '/');
    let known = of(System::Si).chain(of(System::Us)).chain(MORE).filter(|unit| !unit.is_empty());
    let found = known.filter(|unit| text.starts_with(unit)).filter(ends).map(str::len).max()?;
    Some(&text[..found])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_held_to_its_unit_and_to_nothing_else() {
        let shown = |text: &str| with_units(text).replace(HELD, "_");
        assert_eq!(shown("at 2.50 m/min, 5 s"), "at 2.50_m/min, 5_s");
        assert_eq!(shown("3500 W/(m2 K) and 0.1 m"), "3500_W/(m2_K) and 0.1_m");
        assert_eq!(shown("60 BTU/(h ft2 degF): 15 %; 10 min."), "60_BTU/(h_ft2_degF): 15_%; 10_min.");
        assert_eq!(shown("2 metres in 3 lengths, 4 sections"), "2 metres in 3 lengths, 4 sections");
    }
}
