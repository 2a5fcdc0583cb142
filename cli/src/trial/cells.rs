//! The cells of a CSV file, each with its line, its column and its place in the text.

use std::ops::Range;

use csv::{ReaderBuilder, Trim};
use quenchway::file::Problem;

use super::missing;

/// What a spreadsheet writes before UTF-8 text.
const MARK: char = '\u{feff}';

/// A cell.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    /// What stands in it, without quotation marks.
    pub text: String,
    /// Line of the file, from 1.
    pub line: usize,
    /// Column as a spreadsheet names it: A, B, ...
    pub letter: String,
    /// Where it is in the text, bytes.
    pub span: Range<usize>,
}

/// A row below the header.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub line: usize,
    pub cells: Vec<Cell>,
}

/// The header and the rows below it.
#[derive(Clone, Debug)]
pub(super) struct Sheet {
    pub header: Vec<Cell>,
    pub rows: Vec<Row>,
}

impl Sheet {
    /// Reads cells that are separated by commas, semicolons or tabs, whichever the header has most of.
    ///
    /// Where the separator is no comma, one comma in a number is its decimal sign.
    pub fn read(text: &str) -> Result<Sheet, Vec<Problem>> {
        let start = if text.starts_with(MARK) { MARK.len_utf8() } else { 0 };
        let body = &text[start..];
        let header = body.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#')).unwrap_or("");
        let count = |separator: &u8| header.bytes().filter(|byte| byte == separator).count();
        // The first of equals: the comma.
        let separator = [b'\t', b';', b','].into_iter().max_by_key(count).unwrap_or(b',');
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .delimiter(separator)
            .trim(Trim::All)
            .from_reader(body.as_bytes());
        let mut rows = Vec::new();
        for record in reader.records() {
            let record =
                record.map_err(|error| vec![missing(&format!("this is no CSV text: {error}"), "save it as CSV")])?;
            let (line, byte) = record.position().map_or((0, 0), |at| (at.line() as usize, at.byte() as usize));
            // Empty lines and comments before a record count as its own.
            let blank = skipped(&body[byte..]);
            let line = line + body[byte..byte + blank].matches('\n').count();
            let places = places(&body[byte + blank..], separator);
            let cells = record.iter().enumerate().map(|(index, text)| {
                let decimal = |text: &str| if separator == b',' { text.to_string() } else { decimal_point(text) };
                let place = places.get(index).cloned().unwrap_or(0..0);
                let offset = start + byte + blank;
                let span = offset + place.start..offset + place.end;
                Cell { text: decimal(text), line, letter: letter(index), span }
            });
            rows.push(Row { line, cells: cells.collect() });
        }
        // A row of empty cells is what a spreadsheet leaves below the data.
        rows.retain(|row| row.cells.iter().any(|cell| !cell.text.is_empty()));
        if rows.is_empty() {
            let help = "the first row names the columns: line.speed [m/min], capstan.surface [degC]";
            return Err(vec![missing("the file holds no header", help)]);
        }
        let header = rows.remove(0).cells;
        Ok(Sheet { header, rows })
    }
}

impl Row {
    /// Whether it gives the uncertainties of the columns: its first filled cell begins with the sign.
    pub fn is_uncertainty(&self) -> bool {
        self.cells.iter().find(|cell| !cell.text.is_empty()).is_some_and(|cell| split_sign(&cell.text).0.is_empty())
    }
}

impl Cell {
    /// Something that is wrong with this cell of the column `name`.
    pub fn problem(&self, name: &str, message: impl Into<String>, label: &str, help: String) -> Problem {
        let of = if name.is_empty() { String::new() } else { format!(" ({name})") };
        Problem {
            span: Some(self.span.clone()).filter(|span| !span.is_empty()),
            key: format!("line {}, column {}{of}", self.line, self.letter),
            message: message.into(),
            label: label.to_string(),
            help: Some(help),
        }
    }
}

/// What stands before and behind a "±" or "+-".
pub(super) fn split_sign(text: &str) -> (&str, Option<&str>) {
    let split = text.split_once('±').or_else(|| text.split_once("+-")).or_else(|| text.split_once("+/-"));
    match split {
        Some((value, uncertainty)) => (value.trim(), Some(uncertainty.trim())),
        None => (text.trim(), None),
    }
}

/// A number with one comma and no point, with a point.
fn decimal_point(text: &str) -> String {
    let one = |part: &str| {
        let number = part.trim_start().starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+' || c == ',');
        if number && !part.contains('.') && part.matches(',').count() == 1 {
            part.replace(',', ".")
        } else {
            part.into()
        }
    };
    match split_sign(text) {
        (value, Some(uncertainty)) => format!("{} ± {}", one(value), one(uncertainty)),
        (value, None) => one(value),
    }
}

/// The name that a spreadsheet gives a column: A to Z, AA, AB, ...
fn letter(mut index: usize) -> String {
    let mut name = String::new();
    loop {
        name.insert(0, (b'A' + (index % 26) as u8) as char);
        if index < 26 {
            return name;
        }
        index = index / 26 - 1;
    }
}

/// How many bytes of empty lines and comments a text begins with.
fn skipped(text: &str) -> usize {
    let skip = |line: &&str| line.starts_with('#') || line.trim_end_matches(['\n', '\r']).is_empty();
    text.split_inclusive('\n').take_while(skip).map(str::len).sum()
}

/// Where the cells of the record at the beginning of a text are, without the blanks around them.
fn places(text: &str, separator: u8) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let mut places = Vec::new();
    let (mut begin, mut quoted) = (0, false);
    for (at, &byte) in bytes.iter().chain(b"\n").enumerate() {
        match byte {
            // Only a cell that begins with a quotation mark is quoted; a doubled mark inside changes nothing.
            b'"' if bytes.get(begin) == Some(&b'"') => quoted = !quoted,
            _ if (byte == separator || byte == b'\n' || byte == b'\r') && !quoted => {
                let cell = &text[begin..at];
                let lead = cell.len() - cell.trim_start().len();
                places.push(begin + lead..begin + lead + cell.trim().len());
                begin = at + 1;
                if byte != separator {
                    break;
                }
            }
            _ => {}
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::{letter, places};

    #[test]
    fn columns_are_named_as_in_a_spreadsheet() {
        let names: Vec<String> = [0, 25, 26, 51, 52, 701, 702].into_iter().map(letter).collect();
        assert_eq!(names, ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }

    #[test]
    fn places_are_those_of_the_cells() {
        let text = "a,\"b, \"\"c\"\"\" ,\"to x\".y [m],,d\nnext,line";
        let cells: Vec<&str> = places(text, b',').into_iter().map(|place| &text[place]).collect();
        assert_eq!(cells, ["a", "\"b, \"\"c\"\"\"", "\"to x\".y [m]", "", "d"]);
    }
}
