//! How many comparisons there are, by what is compared and by where the figure comes from.

use std::fmt::Write as _;

use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::{self, Check};

use crate::page::Page;

/// Comparisons of each kind.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Subject and witness of every comparison.
    kinds: Vec<(Subject, Witness)>,
}

impl Counts {
    /// Of every comparison that the program knows: those of the exact solutions and those of the pages.
    pub fn all(pages: &[Page]) -> Counts {
        let series = exact::checks();
        Counts::of(series.iter().chain(pages.iter().flat_map(|page| &page.rows)))
    }

    /// Of these comparisons.
    pub fn of<'a>(rows: impl Iterator<Item = &'a Check>) -> Counts {
        Counts { kinds: rows.map(|row| (row.subject, row.witness)).collect() }
    }

    /// How many of a subject, of a witness, or of both.
    pub fn count(&self, subject: Option<Subject>, witness: Option<Witness>) -> usize {
        let wanted = |kind: &&(Subject, Witness)| {
            subject.is_none_or(|subject| subject == kind.0) && witness.is_none_or(|witness| witness == kind.1)
        };
        self.kinds.iter().filter(wanted).count()
    }

    /// The counts in words, each kind apart.
    pub fn words(&self) -> String {
        let subjects = Subject::ALL.map(|subject| format!("{} of {}", self.count(Some(subject), None), subject.name()));
        let witnesses = Witness::ALL.iter().enumerate().map(|(at, &witness)| {
            let figures = if at == 0 { "figures are" } else { "are" };
            format!("{} {figures} {}.", self.count(None, Some(witness)), witness.name())
        });
        format!("{}. {}", subjects.join("; "), witnesses.collect::<Vec<_>>().join(" "))
    }

    /// The counts as a table of Markdown.
    pub fn table(&self) -> String {
        let mut out = String::from("| the figure is |");
        Subject::ALL.iter().for_each(|subject| out += &format!(" {} |", subject.name()));
        out += " all |\n|---|---|---|---|---|\n";
        let row = |name: &str, witness| {
            let cells: String =
                Subject::ALL.iter().map(|&subject| format!(" {} |", self.count(Some(subject), witness))).collect();
            format!("| {name} |{cells} {} |", self.count(None, witness))
        };
        for witness in Witness::ALL {
            let _ = writeln!(out, "{}", row(witness.name(), Some(witness)));
        }
        let _ = writeln!(out, "{}", row("any of these", None));
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A claim about counts is one number too many unless somebody counts.
    #[test]
    fn the_readme_says_what_is_counted() {
        let counts = Counts::all(crate::pages_once());
        let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let readme = one_line(include_str!("../../README.md"));
        assert!(readme.contains(&counts.words()), "README.md must say: {}", counts.words());
        let parts = Subject::ALL.map(|subject| counts.count(Some(subject), None));
        assert_eq!(parts.iter().sum::<usize>(), counts.count(None, None));
    }

    /// No page is empty, and every row of it is within its bound.
    #[test]
    fn every_row_holds() {
        for page in crate::pages_once() {
            let failed: Vec<String> = page.rows.iter().filter(|row| !row.holds()).map(ToString::to_string).collect();
            assert!(failed.is_empty() && page.holds(), "{}: {failed:#?}", page.title);
        }
    }

    /// No row compares a number with itself, and no bound is so wide that only absurdity breaks it.
    #[test]
    fn every_row_can_fail() {
        for row in exact::checks().iter().chain(crate::pages_once().iter().flat_map(|page| &page.rows)) {
            assert!(row.expected != 0.0 && row.bound > 0.0, "{row}");
            // An eighth of the figure is the widest: the greatest diameters of a standard, from memory.
            let widest = if row.witness == Witness::Memory { 0.125 } else { 0.036 };
            assert!(row.unit == "degC" || row.bound <= widest * row.expected.abs(), "{row}");
            // Temperatures by what the product cools: some 170 K.
            assert!(row.unit != "degC" || row.bound <= 0.051, "{row}");
        }
    }
}
