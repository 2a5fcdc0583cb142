//! Tables as a terminal shows them: a rule under the header, columns as wide as their words; where they do not all fit
//! beside each other, several tables below each other that begin with the same first column; where not even two of them do,
//! each row as a paragraph.

use comfy_table::{
    Attribute, CellAlignment, Color, ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width,
};
use quenchway_words::blocks::{Cell, Grid, HELD, Tone, with_units};

use super::terminal::hanging;

/// A rule under the header and nothing else.
const RULED: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'));
/// Spaces around a cell.
const PADDING: usize = 2;
/// Spaces between cells.
const BETWEEN: usize = 1;
/// Longest number with its unit that is not broken: "-18.0 degF".
const LONGEST_NUMBER: usize = 12;

/// The table as text of so many columns, nothing without rows.
pub fn text(grid: &Grid, width: usize) -> String {
    if grid.rows.is_empty() {
        return String::new();
    }
    let needed: Vec<usize> = (0..grid.header.len()).map(|column| longest_piece(grid, column) + PADDING).collect();
    let widest = needed.iter().skip(1).max().copied().unwrap_or(0);
    if needed.first().is_some_and(|first| first + BETWEEN + widest > width) {
        return grid.rows.iter().map(|row| paragraph(grid, row, width)).collect();
    }
    let groups = groups(&needed, width);
    let drawn: Vec<String> = groups.iter().map(|columns| draw(grid, columns, &needed, width)).collect();
    drawn.join("\n")
}

/// The widest that must stay in one piece: a word, and a number with its unit.
fn longest_piece(grid: &Grid, column: usize) -> usize {
    let width = textwrap::core::display_width;
    let longest_word = |text: &str| with_units(text).split([' ', '\n']).map(width).max().unwrap_or(0);
    let numbers = column > 0 && !grid.words.contains(&column);
    let cells = grid.rows.iter().filter_map(|row| row.get(column)).map(|cell| match width(&cell.text) {
        whole if numbers && whole <= LONGEST_NUMBER => whole,
        _ => longest_word(&cell.text),
    });
    cells.chain(grid.header.get(column).map(|header| longest_word(header))).max().unwrap_or(0)
}

/// Which columns stand beside each other; the first one in every group.
fn groups(needed: &[usize], width: usize) -> Vec<Vec<usize>> {
    let first = needed.first().copied().unwrap_or(0);
    let mut groups = Vec::new();
    let (mut group, mut used) = (vec![0], first);
    for (column, &more) in needed.iter().enumerate().skip(1) {
        let more = more + BETWEEN;
        if used + more > width && group.len() > 1 {
            groups.push(std::mem::replace(&mut group, vec![0]));
            used = first;
        }
        group.push(column);
        used += more;
    }
    groups.push(group);
    groups
}

/// A row as its first cell, and below it the others, each after its column's name.
fn paragraph(grid: &Grid, row: &[Cell], width: usize) -> String {
    // A name that goes on over the end of its line, and what stands below a name.
    let one_line = |name: &String| name.replace("-\n", "").replace(".\n", ".").replace('\n', ", ");
    let names = grid.header.iter().map(one_line);
    let told = row.iter().zip(names).skip(1).filter(|(cell, _)| !cell.text.is_empty());
    let told: Vec<String> = told.map(|(cell, name)| format!("{name}: {}", cell.text)).collect();
    let first = row.first().map_or(String::new(), |cell| hanging(" ", &cell.text, width));
    first + &hanging("   ", &told.join("; "), width)
}

fn draw(grid: &Grid, columns: &[usize], needed: &[usize], width: usize) -> String {
    let mut table = Table::new();
    table
        .load_style(RULED)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(width as u16)
        .enforce_styling();
    table.set_header(columns.iter().map(|&column| with_units(&grid.header[column])));
    for row in &grid.rows {
        table.add_row(columns.iter().map(|&column| row.get(column).map_or(comfy_table::Cell::new(""), cell)));
    }
    for (place, &column) in columns.iter().enumerate() {
        if let Some(drawn) = table.column_mut(place) {
            drawn.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(needed[column] as u16)));
            if column > 0 && !grid.words.contains(&column) {
                drawn.set_cell_alignment(CellAlignment::Right);
            }
        }
    }
    table.lines().map(|line| format!("{}\n", line.trim_end().replace(HELD, " "))).collect()
}

fn cell(cell: &Cell) -> comfy_table::Cell {
    let drawn = comfy_table::Cell::new(with_units(&cell.text));
    match cell.tone {
        Some(Tone::Bad) => drawn.fg(Color::Red).add_attribute(Attribute::Bold),
        _ => drawn,
    }
}
