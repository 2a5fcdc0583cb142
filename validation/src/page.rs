//! One check page: a question, how it is answered, the rows that answer it, and what is left in doubt.

use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;

/// Which table of the index a page belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Exact solutions.
    Analytic,
    /// Published benchmarks and worked examples, and converged answers of other programs.
    Published,
    /// Reference libraries.
    Library,
}

/// A row that fails, in the place of comparisons that could not be made: none may be lost unseen.
pub fn lost(family: &'static str, what: String, why: &dyn std::fmt::Display) -> Check {
    Check {
        family,
        what: format!("{what}: {why}"),
        source: "no comparison was made",
        subject: Subject::Engine,
        witness: Witness::Equation,
        unit: "",
        expected: f64::NAN,
        computed: f64::NAN,
        bound: 0.0,
        reason: "a comparison that cannot be made fails",
    }
}

/// A check with its words.
#[derive(Clone, Debug)]
pub struct Page {
    /// Heading.
    pub title: &'static str,
    /// Table of the index.
    pub kind: Kind,
    /// What is asked.
    pub question: &'static str,
    /// The case.
    pub set_up: &'static str,
    /// Where the expected values come from.
    pub reference: &'static str,
    /// Why the bound is what it is.
    pub bound: &'static str,
    /// What is left in doubt.
    pub doubts: &'static str,
    /// The comparisons.
    pub rows: Vec<Check>,
}

impl Page {
    /// Whether every row holds; a page without rows does not.
    pub fn holds(&self) -> bool {
        !self.rows.is_empty() && self.rows.iter().all(Check::holds)
    }

    /// The row that comes closest to its bound or goes beyond it; none without rows.
    pub fn worst(&self) -> Option<&Check> {
        // A value that is no number is worse than any.
        let strain = |row: &Check| if row.error().is_nan() { f64::INFINITY } else { row.error() / row.bound };
        self.rows.iter().max_by(|a, b| strain(a).total_cmp(&strain(b)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lost_comparison_fails_its_page_and_is_its_worst() {
        let good = Check { expected: 1.0, computed: 1.0, bound: 1.0, ..lost("family", "good".into(), &"") };
        let page = |rows| Page {
            title: "",
            kind: Kind::Analytic,
            question: "",
            set_up: "",
            reference: "",
            bound: "",
            doubts: "",
            rows,
        };
        assert!(page(vec![good.clone()]).holds() && !page(Vec::new()).holds());
        let lost = page(vec![good.clone(), lost("family", "P1".into(), &"line 3"), good]);
        assert!(!lost.holds());
        assert_eq!(lost.worst().map(|row| row.what.as_str()), Some("P1: line 3"));
    }
}
