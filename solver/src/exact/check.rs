//! One comparison with a reference figure, and the reading of the tables that hold them.

use std::fmt;

use crate::data::witness::{Subject, Witness};

/// One row: what was compared, with which source, and how far apart the two may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// The solution that it belongs to, in words.
    pub family: &'static str,
    /// Which number.
    pub what: String,
    /// Author, title, year, equation; how the figure was made where it is not printed there.
    pub source: &'static str,
    /// What is compared.
    pub subject: Subject,
    /// Where the figure comes from.
    pub witness: Witness,
    /// Unit of the three numbers; empty for a ratio.
    pub unit: &'static str,
    /// The reference figure.
    pub expected: f64,
    /// What this program finds.
    pub computed: f64,
    /// Largest difference that counts as agreement.
    pub bound: f64,
    /// Why the bound is what it is.
    pub reason: &'static str,
}

impl Check {
    /// Distance between the two figures, in the row's unit.
    pub fn error(&self) -> f64 {
        (self.computed - self.expected).abs()
    }

    /// Whether the two figures agree; a figure that is not a number never does.
    pub fn holds(&self) -> bool {
        self.error() <= self.bound
    }
}

impl fmt::Display for Check {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            out,
            "{}, {}: expected {} {}, computed {}, error {:.1e}, bound {:.1e}",
            self.family,
            self.what,
            self.expected,
            self.unit,
            self.computed,
            self.error(),
            self.bound
        )
    }
}

/// Half a unit in the last of `digits` significant digits: what rounding in print can hide.
pub(super) fn half_unit(expected: f64, digits: i32) -> f64 {
    if expected == 0.0 {
        return 0.0;
    }
    let magnitude = libm::floor(libm::log10(expected.abs())) as i32 + 1;
    0.5 * libm::pow(10.0, f64::from(magnitude - digits))
}

/// The rows of a table: lines that begin with `#` and the line of column names are left out.
pub(super) fn rows(table: &'static str) -> impl Iterator<Item = Row> {
    table.lines().filter(|line| !line.starts_with('#') && !line.is_empty()).skip(1).map(|line| Row { line })
}

/// One line of a table.
#[derive(Clone, Copy)]
pub(super) struct Row {
    line: &'static str,
}

impl Row {
    /// The word in a column; empty where the line is too short.
    pub(super) fn word(&self, column: usize) -> &'static str {
        self.line.split(',').nth(column).unwrap_or("").trim()
    }

    /// The number in a column; NaN, which no check accepts, where there is none.
    pub(super) fn number(&self, column: usize) -> f64 {
        self.word(column).parse().unwrap_or(f64::NAN)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(expected: f64, computed: f64) -> Check {
        let (family, source, unit, reason) = ("family", "source", "K", "reason");
        let (what, bound) = ("what".into(), 1e-3);
        let (subject, witness) = (Subject::Series, Witness::Equation);
        Check { family, what, source, subject, witness, unit, expected, computed, bound, reason }
    }

    #[test]
    fn a_difference_beyond_the_bound_fails_and_so_does_nan() {
        assert!(check(1.0, 1.0005).holds());
        assert!(!check(1.0, 1.0015).holds());
        assert!(!check(f64::NAN, 1.0).holds());
        assert!(!check(1.0, f64::NAN).holds());
    }

    #[test]
    fn half_a_unit_of_the_last_digit() {
        // Powers of ten carry a rounding of their own, hence the relative 1e-12.
        for (value, digits, wanted) in [(190.5, 4, 0.05), (0.0123, 3, 0.00005), (-9.99, 3, 0.005), (1.0, 12, 5e-12)] {
            assert!((half_unit(value, digits) / wanted - 1.0).abs() < 1e-12, "{value}");
        }
    }

    #[test]
    fn a_table_is_read_without_its_head() {
        let rows: Vec<Row> = rows("# source\nname,x\nfirst,1.5\nsecond,inf\nthird\n").collect();
        assert_eq!(rows.len(), 3);
        assert_eq!((rows[0].word(0), rows[0].number(1)), ("first", 1.5));
        assert_eq!(rows[1].number(1), f64::INFINITY);
        assert!(rows[2].number(1).is_nan());
    }
}
