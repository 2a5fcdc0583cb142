//! Answers as they are printed: rounded to the safe side, in the user's units, to a number that a case file would take.

use super::{Dimension, System, parse, show};

/// Significant digits that an answer has at least.
const DIGITS: i32 = 3;
/// What a rounding error is, relative: a number that lies this near to a printed one is that number.
const EQUAL: f64 = 1e-9;

/// Which way an answer is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// Down: a fastest speed, the low end of a range.
    Less,
    /// Up: a needed length, the high end of a range.
    More,
}

/// An answer as it is printed.
#[derive(Clone, Debug, PartialEq)]
pub struct Printed {
    /// The number.
    pub number: String,
    /// Its unit.
    pub unit: &'static str,
    /// What a case file reads of the two, SI.
    pub si: f64,
}

impl std::fmt::Display for Printed {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{} {}", self.number, self.unit)
    }
}

/// Decimals in which values of a dimension are shown: as many as a reader can act on.
pub fn decimals(dimension: Dimension, system: System) -> usize {
    match (dimension, system) {
        (Dimension::Diameter, System::Si) => 3,
        (Dimension::Diameter, System::Us) => 4,
        (Dimension::Length, System::Si) | (Dimension::Time, _) => 2,
        (Dimension::Power, System::Si) => 2,
        (Dimension::FilmCoefficient, System::Si) | (Dimension::Power | Dimension::Speed, _) => 0,
        _ => 1,
    }
}

/// Decimals with which a number has three significant digits, and no fewer than its dimension is shown with.
pub fn decimals_of(value_si: f64, dimension: Dimension, system: System) -> usize {
    let (value, _) = show(value_si, dimension, system);
    let text = format!("{:e}", value.abs());
    let exponent: i32 = text.rsplit_once('e').and_then(|(_, exponent)| exponent.parse().ok()).unwrap_or(0);
    let significant = if value == 0.0 || !value.is_finite() { 0 } else { (DIGITS - 1 - exponent).clamp(0, 12) };
    decimals(dimension, system).max(significant as usize)
}

/// A value rounded toward less or more, `further` steps of its last digit beyond; three significant digits at least.
///
/// ```
/// use quenchway::units::{printed, Dimension, System, Toward};
/// let text = |si, dimension, system, toward| printed(si, dimension, system, toward, 0).to_string();
/// assert_eq!(text(8.7499 / 60.0, Dimension::Speed, System::Si, Toward::Less), "8.74 m/min");
/// assert_eq!(text(138.6 / 60.0, Dimension::Speed, System::Si, Toward::Less), "138 m/min");
/// assert_eq!(text(31.3901, Dimension::Length, System::Si, Toward::More), "31.40 m");
/// assert_eq!(text(31.3901, Dimension::Length, System::Us, Toward::More), "103.0 ft");
/// ```
pub fn printed(value_si: f64, dimension: Dimension, system: System, toward: Toward, further: usize) -> Printed {
    let (value, unit) = show(value_si, dimension, system);
    let decimals = decimals_of(value_si, dimension, system);
    let steps = 10_u64.pow(decimals as u32) as f64;
    // An infinite margin about an infinite value would leave no number.
    let equal = if value.is_finite() { EQUAL * value.abs() * steps } else { 0.0 };
    let further = further as f64;
    let whole = match toward {
        Toward::Less => (value * steps + equal).floor() - further,
        Toward::More => (value * steps - equal).ceil() + further,
    };
    let number = format!("{:.decimals$}", whole / steps);
    let si = parse(&format!("{number} {unit}"), dimension).unwrap_or(value_si);
    Printed { number, unit, si }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// Never on the wrong side, never farther than the last digit, the same again when it is rounded again.
    #[test]
    fn an_answer_is_rounded_to_its_side_and_stays() {
        for dimension in [Dimension::Speed, Dimension::Length] {
            for system in [System::Si, System::Us] {
                for i in 1..2000 {
                    let si = 1.7e-3 * 1.0071_f64.powi(i);
                    for (toward, sign) in [(Toward::Less, -1.0), (Toward::More, 1.0)] {
                        let found = printed(si, dimension, system, toward, 0);
                        let off = sign * (found.si - si);
                        assert!(off > -2e-9 * si && off <= 0.0101 * si, "{si} {found}");
                        let digits = found.number.trim_start_matches(['0', '.']).replace('.', "").len();
                        assert!(digits >= 3, "{si} {found}");
                        assert_eq!(printed(found.si, dimension, system, toward, 0).si, found.si, "{si} {found}");
                        let next = printed(si, dimension, system, toward, 1);
                        assert!(sign * (next.si - found.si) > 0.0, "{found} {next}");
                    }
                }
            }
        }
    }

    #[test]
    fn nothing_and_infinity_print() {
        assert_eq!(printed(0.0, Dimension::Length, System::Si, Toward::More, 0).to_string(), "0.00 m");
        assert!(printed(f64::INFINITY, Dimension::Length, System::Si, Toward::More, 0).number.contains("inf"));
    }
}
