//! Lines of a case file: heads, keys, values with their units, comments.

use std::fmt::Write;

use crate::units::hidden::is_hidden;
use crate::units::{Dimension, System, write};

/// The file so far.
pub(super) struct Writer {
    pub(super) text: String,
    system: System,
}

impl Writer {
    /// Nothing so far.
    pub(super) fn new(system: System) -> Writer {
        Writer { text: String::new(), system }
    }

    fn line(&mut self, line: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.text, "{line}");
    }

    pub(super) fn comment(&mut self, comment: &str) {
        let one_line: String = comment.chars().map(|c| if is_hidden(c) { ' ' } else { c }).collect();
        self.line(format_args!("# {one_line}"));
    }

    pub(super) fn head(&mut self, head: &str) {
        self.line(format_args!("\n{head}"));
    }

    pub(super) fn key(&mut self, key: &str, value: impl std::fmt::Display) {
        self.line(format_args!("{key} = {value}"));
    }

    pub(super) fn quantity(&self, value: f64, dimension: Dimension) -> String {
        format!("\"{}\"", write(value, dimension, self.system))
    }

    pub(super) fn value(&mut self, key: &str, value: f64, dimension: Dimension) {
        let value = self.quantity(value, dimension);
        self.key(key, value);
    }

    /// Those that are given.
    pub(super) fn values(&mut self, values: &[(&str, Option<f64>, Dimension)]) {
        for &(key, value, dimension) in values {
            if let Some(value) = value {
                self.value(key, value, dimension);
            }
        }
    }

    /// Points on one line each, but a few on one line together.
    pub(super) fn points(&self, points: &[[f64; 2]], x: Dimension, y: Dimension) -> String {
        const FEW: usize = 3;
        let pairs: Vec<String> = points
            .iter()
            .map(|point| format!("[{}, {}]", self.quantity(point[0], x), self.quantity(point[1], y)))
            .collect();
        if pairs.len() <= FEW {
            format!("[{}]", pairs.join(", "))
        } else {
            format!("[\n    {},\n]", pairs.join(",\n    "))
        }
    }
}
