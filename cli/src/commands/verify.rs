//! `quenchway verify`: the engine and its exact solutions against outside figures, on this machine.

use std::fmt::Write as _;

use quenchway::exact::{self, Check};
use quenchway_validation::page::Page;

use crate::report::tables::{table, text};

/// What the checks say, and whether all of them hold.
pub struct Verdict {
    /// For standard output.
    pub report: String,
    /// Whether every row of every check holds.
    pub holds: bool,
}

/// Runs every check; `all` lists every row instead of the worst of each check.
pub fn verify(all: bool, width: usize) -> Verdict {
    let mut groups: Vec<(String, Vec<Check>)> = Vec::new();
    for check in exact::checks() {
        match groups.last_mut().filter(|(name, _)| name == check.family) {
            Some((_, rows)) => rows.push(check),
            None => groups.push((check.family.to_string(), vec![check])),
        }
    }
    let pages = quenchway_validation::pages();
    let mut report = String::from("The exact solutions against reference figures\n");
    report += &rows_table(
        &groups.iter().map(|(name, rows)| (name.as_str(), rows.as_slice())).collect::<Vec<_>>(),
        all,
        width,
    );
    report += "\nThe engine against exact solutions, published values and other programs\n";
    let of_pages: Vec<(&str, &[Check])> = pages.iter().map(|page| (page.title, page.rows.as_slice())).collect();
    report += &rows_table(&of_pages, all, width);
    let rows =
        groups.iter().map(|(_, rows)| rows.len()).sum::<usize>() + pages.iter().map(|p| p.rows.len()).sum::<usize>();
    let failed = groups.iter().flat_map(|(_, rows)| rows).chain(pages.iter().flat_map(|page| &page.rows));
    let failed: Vec<&Check> = failed.filter(|check| !check.holds()).collect();
    let holds = failed.is_empty() && pages.iter().all(Page::holds);
    let _ = match holds {
        true => writeln!(report, "\nAll {rows} comparisons agree within their bounds."),
        false => writeln!(report, "\n{} of {rows} comparisons FAIL:", failed.len()),
    };
    for check in failed {
        let _ = writeln!(report, "  {check} ({})", check.source);
    }
    Verdict { report, holds }
}

/// One line a group, its worst row; or every row.
fn rows_table(groups: &[(&str, &[Check])], all: bool, width: usize) -> String {
    let header = ["check", "rows", "expected", "computed", "error", "bound", "pass"];
    let mut table = table(header.map(str::to_string).to_vec(), width);
    for (name, rows) in groups {
        let strain = |row: &Check| if row.error().is_nan() { f64::INFINITY } else { row.error() / row.bound };
        let worst = rows.iter().max_by(|a, b| strain(a).total_cmp(&strain(b)));
        let shown: Vec<&Check> = if all { rows.iter().collect() } else { worst.into_iter().collect() };
        for row in shown {
            let what = if all {
                format!("{name}: {}", row.what)
            } else {
                format!("{name}; worst: {}. {}", row.what, row.source)
            };
            let count = if all { 1 } else { rows.len() };
            let unit = if row.unit.is_empty() { String::new() } else { format!(" {}", row.unit) };
            let pass = if all { row.holds() } else { rows.iter().all(Check::holds) };
            table.add_row([
                what,
                count.to_string(),
                format!("{}{unit}", digits(row.expected)),
                digits(row.computed),
                format!("{:.0e}", row.error()),
                format!("{:.0e}", row.bound),
                if pass { "yes" } else { "NO" }.to_string(),
            ]);
        }
    }
    text(&table)
}

/// Nine significant digits.
fn digits(value: f64) -> String {
    let places = (8 - value.abs().max(1e-300).log10().floor() as i32).clamp(0, 12) as usize;
    if value != 0.0 && value.abs() < 1e-4 { format!("{value:.8e}") } else { format!("{value:.places$}") }
}
