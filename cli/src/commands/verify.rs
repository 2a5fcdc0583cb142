//! `quenchway verify`: the engine and its exact solutions against outside figures, on this machine.

use std::fmt::Write as _;

use quenchway::data::witness::Subject;
use quenchway::exact::{self, Check};
use quenchway_validation::count::Counts;
use quenchway_validation::page::Page;
use quenchway_words::blocks::Grid;

use crate::report::{ruled, terminal};

/// What the checks say, and whether all of them hold.
pub struct Verdict {
    /// For standard output.
    pub report: String,
    /// Whether every row of every check holds.
    pub holds: bool,
}

/// A name and the comparisons under it.
struct Group {
    title: String,
    rows: Vec<Check>,
}

impl Group {
    /// A group that lost its rows proves nothing, so it does not hold.
    fn holds(&self) -> bool {
        !self.rows.is_empty() && self.rows.iter().all(Check::holds)
    }

    /// The row that comes closest to its bound or goes beyond it.
    fn worst(&self) -> Option<&Check> {
        self.rows.iter().max_by(|a, b| strain(a).total_cmp(&strain(b)))
    }
}

/// Runs every check; `all` lists every row instead of the worst of each check.
pub fn verify(all: bool, width: usize) -> Verdict {
    told(quenchway_validation::pages(), all, width)
}

/// What these pages say, and the exact solutions.
fn told(pages: Vec<Page>, all: bool, width: usize) -> Verdict {
    let mut solutions: Vec<Group> = Vec::new();
    for check in exact::checks() {
        match solutions.last_mut().filter(|group| group.title == check.family) {
            Some(group) => group.rows.push(check),
            None => solutions.push(Group { title: check.family.to_string(), rows: vec![check] }),
        }
    }
    let marches = |page: &Page| page.rows.iter().any(|row| row.subject == Subject::Engine);
    let (engine, parts): (Vec<_>, Vec<_>) = pages.into_iter().partition(marches);
    let groups = |pages: Vec<Page>| {
        pages.into_iter().map(|page| Group { title: page.title.to_string(), rows: page.rows }).collect()
    };
    verdict(
        &[
            ("The code of the exact solutions against figures of more digits", solutions),
            ("Marches of the engine against exact solutions, published values and other programs", groups(engine)),
            ("Laws, properties and sizes by themselves", groups(parts)),
        ],
        all,
        width,
    )
}

/// The report on these parts.
fn verdict(parts: &[(&str, Vec<Group>)], all: bool, width: usize) -> Verdict {
    let mut report = String::new();
    for (heading, groups) in parts {
        let _ = writeln!(report, "{heading}");
        match all {
            true => groups.iter().for_each(|group| report += &every_row(group, width)),
            false => report += &worst_rows(groups, width),
        }
        report.push('\n');
    }
    let groups = || parts.iter().flat_map(|(_, groups)| groups);
    let count = groups().map(|group| group.rows.len()).sum::<usize>();
    let failed: Vec<&Check> = groups().flat_map(|group| &group.rows).filter(|check| !check.holds()).collect();
    let empty: Vec<&Group> = groups().filter(|group| group.rows.is_empty()).collect();
    let holds = count > 0 && groups().all(Group::holds);
    let words = Counts::of(groups().flat_map(|group| &group.rows)).words();
    let _ = match holds {
        true => {
            writeln!(report, "All {count} comparisons agree within their bounds:\n{}", terminal::fill(&words, width))
        }
        false => writeln!(report, "{} of {count} comparisons FAIL:", failed.len()),
    };
    for check in failed {
        let _ = writeln!(report, "  {check} ({}; bound: {})", check.source, check.reason);
    }
    for group in empty {
        let _ = writeln!(report, "  {}: no comparison was made, which counts as a failure", group.title);
    }
    Verdict { report, holds }
}

/// One line a group: its worst row.
fn worst_rows(groups: &[Group], width: usize) -> String {
    let header = ["check, its worst comparison and source", "rows", "expected", "computed", "error", "bound", "pass"];
    let mut table = Grid::new(header.map(str::to_string).to_vec());
    for group in groups {
        let (what, mut cells) = match group.worst() {
            Some(row) => (format!("{}; worst: {}. {}", group.title, row.what, row.source), numbers(row)),
            None => (format!("{}; no comparison was made", group.title), Default::default()),
        };
        cells[4] = yes(group.holds());
        table.row([what, group.rows.len().to_string()].into_iter().chain(cells).collect());
    }
    ruled::text(&table, width)
}

/// Every row of a group, under the source and the reason of the bound that rows share.
fn every_row(group: &Group, width: usize) -> String {
    let mut out = format!("\n{}\n", group.title);
    for rows in group.rows.chunk_by(|a, b| (a.source, a.witness, a.reason) == (b.source, b.witness, b.reason)) {
        let Check { source, witness, reason, .. } = &rows[0];
        let said = format!("Source: {source}. The figure is {}. Bound: {reason}.", witness.name());
        out += &format!("{}\n", terminal::fill(&said, width));
        let header = ["check", "expected", "computed", "error", "bound", "pass"];
        let mut table = Grid::new(header.map(str::to_string).to_vec());
        for row in rows {
            table.row([row.what.clone()].into_iter().chain(numbers(row)).collect());
        }
        out += &ruled::text(&table, width);
    }
    out
}

/// Expected, computed, error, bound, pass.
fn numbers(row: &Check) -> [String; 5] {
    let unit = if row.unit.is_empty() { String::new() } else { format!(" {}", row.unit) };
    [
        format!("{}{unit}", digits(row.expected)),
        digits(row.computed),
        format!("{:.1e}", row.error()),
        format!("{:.1e}", row.bound),
        yes(row.holds()),
    ]
}

fn yes(holds: bool) -> String {
    if holds { "yes" } else { "NO" }.to_string()
}

/// Error over bound; a value that is no number is worse than any.
fn strain(row: &Check) -> f64 {
    let strain = row.error() / row.bound;
    match (row.holds(), strain.is_nan()) {
        (true, true) => 0.0,
        (false, true) => f64::INFINITY,
        _ => strain,
    }
}

/// Nine significant digits.
fn digits(value: f64) -> String {
    let places = (8 - value.abs().max(1e-300).log10().floor() as i32).clamp(0, 12) as usize;
    if value != 0.0 && value.abs() < 1e-4 { format!("{value:.8e}") } else { format!("{value:.places$}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quenchway::data::witness::Witness;
    use quenchway_validation::media;

    fn check(what: &str, computed: f64) -> Check {
        Check {
            family: "family",
            what: what.to_string(),
            source: "A. Author, Book, 1900",
            subject: Subject::Series,
            witness: Witness::Equation,
            unit: "K",
            expected: 1.0,
            computed,
            bound: 0.01,
            reason: "two digits",
        }
    }

    fn of(rows: Vec<Check>) -> Verdict {
        verdict(&[("part", vec![Group { title: "group".to_string(), rows }])], false, 100)
    }

    #[test]
    fn one_row_beyond_its_bound_is_a_failure_and_is_named() {
        assert!(of(vec![check("near", 1.001)]).holds);
        for bad in [1.02, f64::NAN, f64::INFINITY] {
            let verdict = of(vec![check("near", 1.001), check("far", bad), check("nearer", 1.0)]);
            assert!(!verdict.holds, "{bad}");
            assert!(verdict.report.contains("1 of 3 comparisons FAIL"), "{}", verdict.report);
            assert!(verdict.report.contains("worst: far. A. Author") && verdict.report.contains("NO"));
            assert!(verdict.report.contains("(A. Author, Book, 1900; bound: two digits)"), "{}", verdict.report);
        }
    }

    #[test]
    fn a_check_without_rows_is_a_failure_and_is_named() {
        assert!(!verdict(&[], false, 100).holds);
        let group = |title: &str, rows| Group { title: title.to_string(), rows };
        // The full group keeps the count of rows above 0: it must not hide the empty one.
        let parts = [("part", vec![group("full", vec![check("near", 1.001)]), group("empty", Vec::new())])];
        let verdict = verdict(&parts, false, 100);
        assert!(!verdict.holds, "{}", verdict.report);
        assert!(verdict.report.contains("empty: no comparison was made, which counts as a failure"));
    }

    /// Marches, laws and the exact solutions: of each the quick pages. The validation package computes them all in its tests.
    #[test]
    fn it_passes_on_this_machine() {
        let pages = [quenchway_validation::water::page, quenchway_validation::body::wall_and_cylinder, media::gauges];
        let verdict = told(pages.map(|page| page()).into(), false, 100);
        assert!(verdict.holds, "{}", verdict.report);
        let heads = ["The code of the exact solutions", "Marches of the engine", "Laws, properties and sizes"];
        for part in heads.iter().chain(&["comparisons agree within their bounds", "NAFEMS", "Carslaw"]) {
            assert!(verdict.report.contains(part), "{part} in\n{}", verdict.report);
        }
    }

    #[test]
    fn the_long_list_shows_every_row_with_source_and_reason() {
        let rows = vec![check("near", 1.001), check("nearer", 1.0)];
        let group = Group { title: "group".to_string(), rows };
        let report = verdict(&[("part", vec![group])], true, 100).report;
        let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in [
            "near ",
            "nearer ",
            "The figure is worked out from a published equation. Bound: two digits.",
            "1.0e-3",
            "1.0e-2",
            "yes",
        ] {
            assert!(flat.contains(part), "{part} in\n{report}");
        }
    }
}
