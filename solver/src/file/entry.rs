//! A key and its value under the reader's finger: read into SI, every problem noted.

use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use super::problem::{Problems, unit_label};
use super::words::{kind_of, sample, shown};
use crate::names::keys::{Key, Kind, Quantity};
use crate::units::words::{listed, nearest, quoted};
use crate::units::{self, Dimension, System, UnitError};

/// A key and its value, as written.
pub(crate) struct Entry<'a> {
    pub(crate) key: &'static Key,
    /// Key path.
    pub(crate) path: String,
    pub(crate) value: &'a Spanned<DeValue<'a>>,
}

impl<'a> Entry<'a> {
    /// Notes a problem with this value.
    pub(crate) fn wrong(
        &self,
        problems: &mut Problems,
        message: impl Into<String>,
        label: impl Into<String>,
        help: impl Into<String>,
    ) {
        problems.add(&self.value.span(), &self.path, message, label, help);
    }

    /// `key = example`, to paste.
    pub(crate) fn example(&self) -> String {
        format!("{} = {}", self.key.name, self.key.example)
    }

    /// The text of a string.
    pub(crate) fn text(&self, problems: &mut Problems) -> Option<&'a str> {
        let text = self.value.get_ref().as_str();
        if text.is_none() {
            let found = kind_of(self.value.get_ref());
            self.wrong(problems, format!("{found}, a text was expected"), "not a text", self.example());
        }
        text
    }

    /// Whether a text can be a name; what is wrong with it is noted.
    pub(crate) fn check_name(&self, name: &str, problems: &mut Problems) -> bool {
        let Some((message, label)) = wrong_name(name) else { return true };
        self.wrong(problems, message, label, self.example());
        false
    }

    /// A value with its unit, SI.
    pub(crate) fn value(&self, problems: &mut Problems) -> Option<f64> {
        self.read_value(self.value, self.key.kind.quantity()?, problems)
    }

    /// A value in the unit of either of the key's quantities: its place among them, and SI.
    pub(crate) fn either(&self, problems: &mut Problems) -> Option<(usize, f64)> {
        let Kind::Either(first, second) = self.key.kind else { return None };
        let text = self.value.get_ref().as_str().unwrap_or_default();
        let place = usize::from(units::parse(text, second.dimension).is_ok());
        // What begins with a number and is neither is told both; the rest is read, or told, as the first.
        if let (Err(error @ (UnitError::Unknown { .. } | UnitError::OtherDimension { .. })), 0) =
            (units::parse(text, first.dimension), place)
        {
            let what = format!("{} or {}", first.dimension.accepted(), second.dimension.accepted());
            self.wrong(problems, error.wrong(), unit_label(&error), format!("{what}, for example {}", self.example()));
            return None;
        }
        Some((place, self.read_value(self.value, [first, second][place], problems)?))
    }

    /// A bare whole number.
    pub(crate) fn count(&self, problems: &mut Problems) -> Option<usize> {
        let Kind::Count(low, high) = self.key.kind else { return None };
        let number = match self.value.get_ref() {
            DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix()).ok(),
            other => {
                let found = match other {
                    DeValue::String(text) => quoted(text),
                    DeValue::Float(float) => float.to_string(),
                    _ => kind_of(other).to_string(),
                };
                let message = format!("{found}, a whole number was expected");
                self.wrong(problems, message, "not a whole number", self.example());
                return None;
            }
        };
        let inside = number.filter(|number| (low..=high).contains(number));
        if inside.is_none() {
            let help = format!("{} takes {low} to {high}", self.key.name);
            self.wrong(problems, "the number is outside what is possible here", "out of range", help);
        }
        inside.and_then(|number| usize::try_from(number).ok())
    }

    /// A bare number.
    pub(crate) fn number(&self, problems: &mut Problems) -> Option<f64> {
        let Kind::Number(low, high) = self.key.kind else { return None };
        let number = match self.value.get_ref() {
            DeValue::Integer(integer) => {
                i64::from_str_radix(integer.as_str(), integer.radix()).ok().map(|integer| integer as f64)
            }
            DeValue::Float(float) => float.as_str().parse::<f64>().ok(),
            other => {
                let found = match other {
                    DeValue::String(text) => quoted(text),
                    _ => kind_of(other).to_string(),
                };
                self.wrong(
                    problems,
                    format!("{found}, a bare number was expected"),
                    "not a bare number",
                    format!("{}, without quotation marks", self.example()),
                );
                return None;
            }
        };
        let inside = number.filter(|number| (low..=high).contains(number));
        if inside.is_none() {
            self.wrong(
                problems,
                "the number is outside what is possible here",
                "out of range",
                format!("{} takes {low} to {high}", self.key.name),
            );
        }
        inside
    }

    /// true or false.
    pub(super) fn flag(&self, problems: &mut Problems) -> Option<bool> {
        let flag = match self.value.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            _ => None,
        };
        if flag.is_none() {
            let found = match self.value.get_ref() {
                DeValue::String(text) => quoted(text),
                other => kind_of(other).to_string(),
            };
            let message = format!("{found}, true or false was expected");
            self.wrong(
                problems,
                message,
                "neither true nor false",
                format!("{}, without quotation marks", self.example()),
            );
        }
        flag
    }

    /// Position of a word in the key's list.
    pub(crate) fn choice(&self, problems: &mut Problems) -> Option<usize> {
        let (Kind::Choice(words) | Kind::ValueOr(_, words) | Kind::ChoiceOrTable(words, _)) = self.key.kind else {
            return None;
        };
        let text = self.text(problems)?;
        self.choose(text, &self.value.span(), words, problems)
    }

    /// Positions of the words of an array in the key's list.
    pub(crate) fn choices(&self, problems: &mut Problems) -> Option<Vec<usize>> {
        let Kind::Choices(words) = self.key.kind else { return None };
        let array = self.array(problems)?;
        let chosen = array.iter().map(|item| match item.get_ref().as_str() {
            Some(text) => self.choose(text, &item.span(), words, problems),
            None => {
                problems.add(
                    &item.span(),
                    &self.path,
                    format!("{}, a text was expected", kind_of(item.get_ref())),
                    "not a text",
                    self.example(),
                );
                None
            }
        });
        let chosen: Vec<Option<usize>> = chosen.collect();
        chosen.into_iter().collect()
    }

    fn choose(&self, text: &str, span: &Range<usize>, words: &[&str], problems: &mut Problems) -> Option<usize> {
        let position = words.iter().position(|word| *word == text);
        if position.is_none() {
            let all = listed(words.iter().map(|word| format!("\"{word}\"")), "or");
            let help = match nearest(text, words.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"? {} takes {all}", self.key.name),
                None => format!("{} takes {all}", self.key.name),
            };
            problems.add(span, &self.path, format!("{} is not known here", quoted(text)), "unknown word", help);
        }
        position
    }

    /// One value with its unit, within its bounds.
    pub(crate) fn read_value(
        &self,
        value: &'a Spanned<DeValue<'a>>,
        quantity: Quantity,
        problems: &mut Problems,
    ) -> Option<f64> {
        let dimension = quantity.dimension;
        let parsed = match value.get_ref() {
            DeValue::String(text) => units::parse(text, dimension),
            DeValue::Integer(number) => Err(UnitError::NoUnit { number: number.to_string(), dimension }),
            DeValue::Float(number) => Err(UnitError::NoUnit { number: number.to_string(), dimension }),
            other => {
                problems.add(
                    &value.span(),
                    &self.path,
                    format!("{}, {} was expected", kind_of(other), dimension.name()),
                    format!("not {}", dimension.name()),
                    self.to_paste(value, sample(dimension)),
                );
                return None;
            }
        };
        let number = match parsed {
            Ok(number) => number,
            Err(error) => {
                let help = self.unit_help(value, &error);
                problems.add(&value.span(), &self.path, error.wrong(), unit_label(&error), help);
                return None;
            }
        };
        if number < quantity.low || number > quantity.high {
            let (written, meant) = (value.get_ref().as_str().unwrap_or_default().trim(), shown(number, dimension));
            let meant = if written == meant { String::new() } else { format!(", {meant},") };
            problems.add(
                &value.span(),
                &self.path,
                format!("{}{meant} is outside what is possible here", units::excerpt(written)),
                "out of range",
                format!(
                    "{} takes {} to {}",
                    self.key.name,
                    shown(quantity.low, dimension),
                    shown(quantity.high, dimension)
                ),
            );
            return None;
        }
        Some(number)
    }

    /// What would be right instead of a value that `units` refused.
    fn unit_help(&self, value: &Spanned<DeValue>, error: &UnitError) -> String {
        match error {
            UnitError::DecimalComma { instead }
            | UnitError::Grouped { instead }
            | UnitError::ScaleGiven { instead, .. } => self.to_paste(value, format!("\"{}\"", units::excerpt(instead))),
            UnitError::NoUnit { number, dimension } => {
                let (_, first) = units::show(0.0, *dimension, System::Si);
                format!(
                    "{}, in whichever unit is meant: {}",
                    self.to_paste(value, format!("\"{} {}\"", units::excerpt(number), first)),
                    error.remedy()
                )
            }
            UnitError::BelowAbsoluteZero | UnitError::NotFinite | UnitError::Gauge { .. } => error.remedy(),
            UnitError::NoNumber { dimension, .. }
            | UnitError::Unknown { dimension, .. }
            | UnitError::OtherDimension { dimension, .. } => {
                format!("{}, for example {}", dimension.accepted(), self.to_paste(value, sample(*dimension)))
            }
            UnitError::DifferenceGiven { .. } => {
                let dimension = Dimension::Temperature;
                format!("{}, for example {}", dimension.accepted(), self.to_paste(value, sample(dimension)))
            }
        }
    }

    /// `key = text` where the value stands alone, the text where it stands in a list.
    fn to_paste(&self, value: &Spanned<DeValue>, text: impl std::fmt::Display) -> String {
        if value.span() == self.value.span() { format!("{} = {text}", self.key.name) } else { text.to_string() }
    }
}

/// What keeps a text from being a name that stands on one line, and that in a few words.
pub(crate) fn wrong_name(name: &str) -> Option<(String, &'static str)> {
    const LONGEST: usize = 200;
    if name.trim().is_empty() {
        Some(("the name is empty".to_string(), "empty"))
    } else if name.chars().any(char::is_control) {
        Some((format!("{} contains a line break or another control character", quoted(name)), "control character"))
    } else if name.chars().count() > LONGEST {
        Some((format!("the name is longer than {LONGEST} characters"), "too long"))
    } else {
        None
    }
}

/// A value's place in the file.
pub(super) struct Written {
    pub(super) path: String,
    pub(super) span: Range<usize>,
}

impl Written {
    pub(super) fn of(entry: &Entry<'_>) -> Written {
        Written { path: entry.path.clone(), span: entry.value.span() }
    }
}
