//! What lists and records are made of: hanging paragraphs, short numbers.

pub(super) use crate::report::terminal::hanging as paragraph;

/// Six digits, without zeros at the end.
pub fn number(value: f64) -> String {
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    rounded.to_string()
}
