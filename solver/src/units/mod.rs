//! Text to SI and back: the only place where a number that is not SI exists.
//!
//! Conversion factors: A. Thompson and B. N. Taylor, Guide for the Use of the International System of Units (SI), NIST
//! Special Publication 811, 2008 edition, Appendix B.8. The British thermal unit is the International Table one.

mod dimension;
mod error;
mod expression;
mod gauge;
pub mod hidden;
mod safe;
pub mod words;

pub use dimension::Dimension;
use dimension::ROWS;
pub use error::UnitError;
use expression::{FAHRENHEIT, Scale};
pub use safe::{Printed, Toward, decimals, decimals_of, printed};
use serde::Serialize;
use std::borrow::Cow;

/// A temperature on the Celsius scale, degC.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Celsius(pub f64);

/// The Kelvin scale's zero of the Celsius scale, K (exact, BIPM SI brochure, 9th edition, 2019, section 2.3.1).
pub const ZERO_CELSIUS: f64 = 273.15;

impl Celsius {
    /// The same temperature on the absolute scale, K.
    pub fn kelvin(self) -> f64 {
        self.0 + ZERO_CELSIUS
    }
}

/// The units in which values are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum System {
    /// Metric, as the trade uses it: mm, m/min, degC, kg/h.
    #[default]
    Si,
    /// US customary: in, ft/min, degF, lb/h.
    Us,
}

/// Reads a value with its unit into SI; a temperature into degC, a temperature difference into K.
///
/// The blank before the unit may be left out. Everything after a slash divides, so that `W/m2/K`, `W/m2 K` and
/// `W/(m2 K)` are the same unit.
///
/// # Errors
///
/// No number, no unit, a decimal comma, an unknown unit, a unit of something else, a value that is not finite.
///
/// ```
/// use quenchway::units::{parse, Dimension};
/// assert_eq!(parse("150 m/min", Dimension::Speed), Ok(2.5));
/// assert_eq!(parse("45 degC", Dimension::Temperature), Ok(45.0));
/// assert!((parse("374 degF", Dimension::Temperature).unwrap() - 190.0).abs() < 1e-12);
/// assert!((parse("14 AWG", Dimension::Diameter).unwrap() - 1.62773e-3).abs() < 5e-9);
/// assert_eq!(
///     parse("150 mm", Dimension::Speed).unwrap_err().to_string(),
///     "mm is a length, a speed was expected: m/min, m/s or ft/min"
/// );
/// ```
pub fn parse(text: &str, dimension: Dimension) -> Result<f64, UnitError> {
    let text = expression::normal(text);
    if let Some(diameter) = gauge::read(&text) {
        let is_length = dimension.row().exponents == Dimension::Length.row().exponents;
        return if is_length { diameter } else { Err(UnitError::other("AWG", Some(Dimension::Diameter), dimension)) };
    }
    let (number, unit) = split(&text, dimension)?;
    let value = match dimension {
        Dimension::Temperature => temperature(number, unit)?,
        Dimension::TemperatureDifference => difference(number, unit)?,
        Dimension::Share if unit == "%" => number,
        Dimension::Share => return Err(UnitError::Unknown { unit: unit.to_string(), dimension }),
        Dimension::Rate => rate(&text[..number_length(&text)], unit)?,
        _ => scale(unit, dimension)?.to_si(number),
    };
    if value.is_finite() { Ok(value) } else { Err(UnitError::NotFinite) }
}

/// A value in the unit in which the trade shows it, with that unit.
///
/// ```
/// use quenchway::units::{show, Dimension, System};
/// assert_eq!(show(2.5, Dimension::Speed, System::Si), (150.0, "m/min"));
/// assert_eq!(show(100.0, Dimension::Temperature, System::Us), (212.0, "degF"));
/// assert_eq!(show(0.0254, Dimension::Diameter, System::Us), (1.0, "in"));
/// ```
pub fn show(value_si: f64, dimension: Dimension, system: System) -> (f64, &'static str) {
    let row = dimension.row();
    let (symbol, scale) = match system {
        System::Si => row.si,
        System::Us => row.us,
    };
    let zero = if dimension == Dimension::Temperature && system == System::Us { 32.0 } else { 0.0 };
    (scale.of_si(value_si) + zero, symbol)
}

/// A value as text with its unit, in as few digits as say it.
///
/// In SI it reads back as exactly this value; in US units to six digits, where more would be needed.
///
/// ```
/// use quenchway::units::{parse, write, Dimension, System};
/// let wire = parse("1.78 mm", Dimension::Diameter).unwrap();
/// assert_eq!(write(wire, Dimension::Diameter, System::Si), "1.78 mm");
/// assert_eq!(write(wire, Dimension::Diameter, System::Us), "0.0700787 in");
/// ```
pub fn write(value_si: f64, dimension: Dimension, system: System) -> String {
    let (number, unit) = show(value_si, dimension, system);
    let rounded = |digits: usize| {
        let number: f64 = format!("{number:.*e}", digits - 1).parse().unwrap_or(number);
        format!("{number} {unit}")
    };
    let most = if system == System::Us { 6 } else { 17 };
    (1..=most).map(rounded).find(|text| parse(text, dimension) == Ok(value_si)).unwrap_or_else(|| {
        match dimension.row().base {
            Some(base) if system == System::Si => format!("{value_si} {base}"),
            None if dimension == Dimension::Rate && system == System::Si => {
                format!("{} {unit}", shifted(&format!("{value_si:e}"), 2))
            }
            _ => rounded(most),
        }
    })
}

/// A piece of the user's text for a message, cut short where it is long.
pub(crate) fn excerpt(text: &str) -> Cow<'_, str> {
    const LONGEST: usize = 40;
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => Cow::Owned(format!("{}...", &text[..end])),
        None => Cow::Borrowed(text),
    }
}

/// Number and unit of a normalised text.
fn split(text: &str, dimension: Dimension) -> Result<(f64, &str), UnitError> {
    let digits = number_length(text);
    let (number, rest) = text.split_at(digits);
    let unit = rest.trim_start();
    let Ok(value) = number.parse::<f64>() else {
        return Err(UnitError::NoNumber { text: text.to_string(), dimension });
    };
    if let Some(after_comma) = rest.strip_prefix(',') {
        return Err(UnitError::DecimalComma { instead: format!("{number}.{after_comma}") });
    }
    if unit.is_empty() {
        return Err(UnitError::NoUnit { number: number.to_string(), dimension });
    }
    if unit.starts_with(|c: char| c.is_ascii_digit()) {
        return Err(UnitError::Grouped { instead: format!("{number}{unit}") });
    }
    if !value.is_finite() {
        return Err(UnitError::NotFinite);
    }
    Ok((value, unit))
}

/// How many bytes of the text are its leading decimal number.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let sign = |at: usize| usize::from(matches!(bytes.get(at), Some(b'+' | b'-')));
    let mut end = sign(0);
    let whole = digits(end);
    end += whole;
    if bytes.get(end) == Some(&b'.') {
        let decimals = digits(end + 1);
        if whole + decimals > 0 {
            end += 1 + decimals;
        }
    } else if whole == 0 {
        return 0;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let start = end + 1 + sign(end + 1);
        if start <= bytes.len() && digits(start) > 0 {
            end = start + digits(start);
        }
    }
    end
}

/// The scale of a unit, if it is one of the dimension.
fn scale(unit: &str, dimension: Dimension) -> Result<Scale, UnitError> {
    let Some((scale, exponents)) = expression::read(unit) else {
        return Err(UnitError::Unknown { unit: unit.to_string(), dimension });
    };
    if exponents == dimension.row().exponents {
        return Ok(scale);
    }
    // A litre of water counts as a kilogram: L/(m2 s) has the exponents of a speed.
    if dimension == Dimension::WaterFlux && exponents == Dimension::Speed.row().exponents {
        return Ok(scale.shifted(3));
    }
    let found = ROWS.iter().find(|row| row.exponents == exponents).map(|row| row.dimension);
    Err(UnitError::other(unit, found, dimension))
}

/// degC from a value on one of the temperature scales.
fn temperature(number: f64, unit: &str) -> Result<f64, UnitError> {
    let celsius = match unit {
        "degC" | "C" => number,
        "degF" | "F" => (number - 32.0) * FAHRENHEIT,
        "K" => number - ZERO_CELSIUS,
        "degR" => number * FAHRENHEIT - ZERO_CELSIUS,
        _ if unit.starts_with("delta") => return Err(UnitError::DifferenceGiven { unit: unit.to_string() }),
        _ => {
            scale(unit, Dimension::Temperature)?;
            return Err(UnitError::Unknown { unit: unit.to_string(), dimension: Dimension::Temperature });
        }
    };
    // -459.67 degF is absolute zero, whatever rounding makes of it.
    const ROUNDING: f64 = 1e-9;
    if celsius < -ZERO_CELSIUS - ROUNDING { Err(UnitError::BelowAbsoluteZero) } else { Ok(celsius.max(-ZERO_CELSIUS)) }
}

/// A decimal number times 10^tens, in digits: no binary number is rounded on the way.
fn shifted(number: &str, tens: i32) -> String {
    let (digits, exponent) = number.split_once(['e', 'E']).unwrap_or((number, "0"));
    // An exponent beyond an i32 is that of a zero: what is infinite was refused before.
    let exponent = exponent.parse::<i32>().unwrap_or(i32::MIN);
    format!("{digits}e{}", exponent.saturating_add(tens))
}

/// 1/s from percent of itself in a time. A hundredth of a binary number would skip values that a text can mean.
fn rate(number: &str, unit: &str) -> Result<f64, UnitError> {
    match unit.strip_prefix('%').map(str::trim_start).filter(|time| time.starts_with('/')) {
        Some(time) => {
            let scale = scale(time, Dimension::Rate)?;
            Ok(scale.to_si(shifted(number, -2).parse().unwrap_or(f64::NAN)))
        }
        // A unit of something else is called by its name; a bare 1/s has no percent.
        None => match scale(unit, Dimension::Rate) {
            Ok(_) => Err(UnitError::Unknown { unit: unit.to_string(), dimension: Dimension::Rate }),
            Err(error) => Err(error),
        },
    }
}

/// K from a temperature difference; degC is refused, for it may have been meant as a temperature and there is K. The trade
/// knows no other word than degF in US units.
fn difference(number: f64, unit: &str) -> Result<f64, UnitError> {
    match unit {
        "degF" | "F" | "delta degF" => Ok(number * FAHRENHEIT),
        "degC" | "C" | "delta degC" => {
            Err(UnitError::ScaleGiven { unit: unit.to_string(), instead: format!("{number} K") })
        }
        _ => Ok(scale(unit, Dimension::TemperatureDifference)?.to_si(number)),
    }
}

#[cfg(test)]
mod tests;
