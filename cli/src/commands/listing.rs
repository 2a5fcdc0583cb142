//! What lists and records are made of: ruled tables, hanging paragraphs, short numbers.

use comfy_table::{CellAlignment, LineStyle, Table, TableStyle};

/// A rule under the header and nothing else.
const RULED: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'));

/// Six digits, without zeros at the end.
pub fn number(value: f64) -> String {
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    rounded.to_string()
}

/// A table whose columns are numbers but for the first.
pub fn table(header: &[&str], width: usize) -> Table {
    let mut table = Table::new();
    table.load_style(RULED).set_width(width as u16).set_header(header);
    for column in 1..header.len() {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table
}

/// The table as text, without blanks at the ends of lines.
pub fn lines(table: &Table) -> String {
    table.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

/// Words that hang under their mark.
pub fn paragraph(mark: &str, words: &str, width: usize) -> String {
    let indent = " ".repeat(mark.chars().count());
    textwrap::fill(words, textwrap::Options::new(width).initial_indent(mark).subsequent_indent(&indent)) + "\n"
}
