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

/// A text in which the blank between a number and its unit is held.
fn with_units(text: &str) -> String {
    let mut held = String::with_capacity(text.len());
    let mut last = ' ';
    for (place, sign) in text.char_indices() {
        let unit = || text[place + 1..].split([' ', ',', ';', '.', ':', ')']).next().unwrap_or_default();
        let keeps = sign == ' ' && last.is_ascii_digit() && is_unit(unit());
        held.push(if keeps { HELD } else { sign });
        last = sign;
    }
    held
}

fn is_unit(word: &str) -> bool {
    let of = |system: System| Dimension::ALL.into_iter().any(|dimension| show(0.0, dimension, system).1 == word);
    !word.is_empty() && (of(System::Si) || of(System::Us))
}
