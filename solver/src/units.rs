//! Text to SI and back: the only place where a number that is not SI exists.
//!
//! Conversion factors: A. Thompson and B. N. Taylor, Guide for the Use of the International System of Units (SI), NIST
//! Special Publication 811, 2008 edition, Appendix B.8. The British thermal unit is the International Table one.

mod error;
mod expression;
mod gauge;

pub use error::UnitError;
use expression::{BTU, CIRCULAR_MIL, FAHRENHEIT, FOOT, GALLON, HOUR, INCH, MINUTE, POUND};
use serde::Serialize;

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

/// What a value measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A distance along the line, m.
    Length,
    /// A cross-section's diameter, thickness or wall, m; parses like a length.
    Diameter,
    /// Area of a cross-section, m2.
    Area,
    /// Speed, m/s.
    Speed,
    /// A temperature on the Celsius scale, degC.
    Temperature,
    /// A temperature difference, K.
    TemperatureDifference,
    /// Thermal conductivity, W/(m K).
    Conductivity,
    /// Heat capacity by mass, J/(kg K).
    HeatCapacity,
    /// Density, kg/m3.
    Density,
    /// Film coefficient or contact conductance, W/(m2 K).
    FilmCoefficient,
    /// Mass flow, kg/s.
    MassFlow,
    /// Volume flow, m3/s.
    VolumeFlow,
    /// Power, W.
    Power,
    /// Time, s.
    Time,
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

/// Everything about a dimension in one row.
struct Row {
    dimension: Dimension,
    /// With its article: "a length".
    name: &'static str,
    /// Units to name where one is missing or wrong.
    accepted: &'static str,
    /// Exponents of m, kg, s, K.
    exponents: [i32; 4],
    /// How it is shown: symbol and its factor to SI.
    si: (&'static str, f64),
    us: (&'static str, f64),
}

const ROWS: [Row; 14] = [
    Row {
        dimension: Dimension::Length,
        name: "a length",
        accepted: "m, mm, ft or in",
        exponents: [1, 0, 0, 0],
        si: ("m", 1.0),
        us: ("ft", FOOT),
    },
    Row {
        dimension: Dimension::Diameter,
        name: "a length",
        accepted: "mm, um, in, mil or AWG",
        exponents: [1, 0, 0, 0],
        si: ("mm", 1e-3),
        us: ("in", INCH),
    },
    Row {
        dimension: Dimension::Area,
        name: "an area",
        accepted: "mm2, in2 or kcmil",
        exponents: [2, 0, 0, 0],
        si: ("mm2", 1e-6),
        us: ("kcmil", 1e3 * CIRCULAR_MIL),
    },
    Row {
        dimension: Dimension::Speed,
        name: "a speed",
        accepted: "m/min, m/s or ft/min",
        exponents: [1, 0, -1, 0],
        si: ("m/min", 1.0 / MINUTE),
        us: ("ft/min", FOOT / MINUTE),
    },
    Row {
        dimension: Dimension::Temperature,
        name: "a temperature",
        accepted: "degC, degF or K",
        exponents: [0, 0, 0, 1],
        si: ("degC", 1.0),
        us: ("degF", FAHRENHEIT),
    },
    Row {
        dimension: Dimension::TemperatureDifference,
        name: "a temperature difference",
        accepted: "K or delta degF",
        exponents: [0, 0, 0, 1],
        si: ("K", 1.0),
        us: ("delta degF", FAHRENHEIT),
    },
    Row {
        dimension: Dimension::Conductivity,
        name: "a thermal conductivity",
        accepted: "W/(m K) or BTU/(h ft degF)",
        exponents: [1, 1, -3, -1],
        si: ("W/(m K)", 1.0),
        us: ("BTU/(h ft degF)", BTU / (HOUR * FOOT * FAHRENHEIT)),
    },
    Row {
        dimension: Dimension::HeatCapacity,
        name: "a heat capacity",
        accepted: "J/(kg K), kJ/(kg K) or BTU/(lb degF)",
        exponents: [2, 0, -2, -1],
        si: ("J/(kg K)", 1.0),
        us: ("BTU/(lb degF)", BTU / (POUND * FAHRENHEIT)),
    },
    Row {
        dimension: Dimension::Density,
        name: "a density",
        accepted: "kg/m3, g/cm3 or lb/ft3",
        exponents: [-3, 1, 0, 0],
        si: ("kg/m3", 1.0),
        us: ("lb/ft3", POUND / (FOOT * FOOT * FOOT)),
    },
    Row {
        dimension: Dimension::FilmCoefficient,
        name: "a heat transfer coefficient",
        accepted: "W/(m2 K) or BTU/(h ft2 degF)",
        exponents: [0, 1, -3, -1],
        si: ("W/(m2 K)", 1.0),
        us: ("BTU/(h ft2 degF)", BTU / (HOUR * FOOT * FOOT * FAHRENHEIT)),
    },
    Row {
        dimension: Dimension::MassFlow,
        name: "a mass flow",
        accepted: "kg/h, kg/s or lb/h",
        exponents: [0, 1, -1, 0],
        si: ("kg/h", 1.0 / HOUR),
        us: ("lb/h", POUND / HOUR),
    },
    Row {
        dimension: Dimension::VolumeFlow,
        name: "a volume flow",
        accepted: "L/min, m3/h or gpm",
        exponents: [3, 0, -1, 0],
        si: ("L/min", 1e-3 / MINUTE),
        us: ("gpm", GALLON / MINUTE),
    },
    Row {
        dimension: Dimension::Power,
        name: "a power",
        accepted: "kW, W or BTU/h",
        exponents: [2, 1, -3, 0],
        si: ("kW", 1e3),
        us: ("BTU/h", BTU / HOUR),
    },
    Row {
        dimension: Dimension::Time,
        name: "a time",
        accepted: "s, ms, min or h",
        exponents: [0, 0, 1, 0],
        si: ("s", 1.0),
        us: ("s", 1.0),
    },
];

impl Dimension {
    fn row(self) -> &'static Row {
        // The table is in the order of the enum; a test holds it there.
        &ROWS[self as usize]
    }

    /// Its name with an article: "a speed".
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// The units to offer where one is missing or wrong: "m/min, m/s or ft/min".
    pub fn accepted(self) -> &'static str {
        self.row().accepted
    }
}

/// Reads a value with its unit into SI; a temperature into degC, a temperature difference into K.
///
/// The blank before the unit may be left out. Everything after a slash divides, so that `W/m2/K`, `W/m2 K` and
/// `W/(m2 K)` are the same unit.
///
/// Errors: no number, no unit, a decimal comma, an unknown unit, a unit of something else, a value that is not finite.
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
        _ => number * factor(unit, dimension)?,
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
    let (symbol, factor) = match system {
        System::Si => row.si,
        System::Us => row.us,
    };
    let zero = if dimension == Dimension::Temperature && system == System::Us { 32.0 } else { 0.0 };
    (value_si / factor + zero, symbol)
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

/// Factor of a unit to SI, if it is one of the dimension.
fn factor(unit: &str, dimension: Dimension) -> Result<f64, UnitError> {
    let Some((factor, exponents)) = expression::read(unit) else {
        return Err(UnitError::Unknown { unit: unit.to_string(), dimension });
    };
    if exponents == dimension.row().exponents {
        return Ok(factor);
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
            factor(unit, Dimension::Temperature)?;
            return Err(UnitError::Unknown { unit: unit.to_string(), dimension: Dimension::Temperature });
        }
    };
    if celsius < -ZERO_CELSIUS { Err(UnitError::BelowAbsoluteZero) } else { Ok(celsius) }
}

/// K from a temperature difference; a unit of a scale is refused, for it may have been meant as a temperature.
fn difference(number: f64, unit: &str) -> Result<f64, UnitError> {
    match unit {
        "delta degF" => Ok(number * FAHRENHEIT),
        "degC" | "C" | "delta degC" => {
            Err(UnitError::ScaleGiven { unit: unit.to_string(), instead: format!("{number} K") })
        }
        "degF" | "F" => Err(UnitError::ScaleGiven { unit: unit.to_string(), instead: format!("{number} delta degF") }),
        _ => Ok(number * factor(unit, Dimension::TemperatureDifference)?),
    }
}

#[cfg(test)]
mod tests;
