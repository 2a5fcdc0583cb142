//! Why a text is not a value of the wanted dimension.

use std::fmt;

use super::{Dimension, excerpt};

/// Why a text is not a value of the wanted dimension.
#[derive(Clone, Debug, PartialEq)]
pub enum UnitError {
    /// It does not begin with a number.
    NoNumber {
        /// The text.
        text: String,
        /// What was wanted.
        dimension: Dimension,
    },
    /// A number without a unit.
    NoUnit {
        /// The number as written.
        number: String,
        /// What was wanted.
        dimension: Dimension,
    },
    /// A comma in the number.
    DecimalComma {
        /// The value written with a point.
        instead: String,
    },
    /// A blank within the number.
    Grouped {
        /// The value written without it.
        instead: String,
    },
    /// A unit that is not known.
    Unknown {
        /// The unit as written.
        unit: String,
        /// What was wanted.
        dimension: Dimension,
    },
    /// A unit of something else.
    OtherDimension {
        /// The unit as written.
        unit: String,
        /// What it measures, where that has a name here.
        found: Option<Dimension>,
        /// What was wanted.
        dimension: Dimension,
    },
    /// A temperature difference where a temperature was wanted.
    DifferenceGiven {
        /// The unit as written.
        unit: String,
    },
    /// A unit of a temperature scale where a difference was wanted.
    ScaleGiven {
        /// The unit as written.
        unit: String,
        /// The difference spelt out.
        instead: String,
    },
    /// A temperature below -273.15 degC.
    BelowAbsoluteZero,
    /// A wire gauge that does not exist.
    Gauge {
        /// As written.
        gauge: String,
    },
    /// Too large for a number.
    NotFinite,
}

impl UnitError {
    /// A unit of something else than what was wanted.
    pub(super) fn other(unit: &str, found: Option<Dimension>, dimension: Dimension) -> UnitError {
        UnitError::OtherDimension { unit: unit.to_string(), found, dimension }
    }

    /// What would be right.
    pub fn remedy(&self) -> String {
        match self {
            UnitError::NoNumber { dimension, .. } => {
                format!("write a number and its unit: {}", dimension.accepted())
            }
            UnitError::NoUnit { dimension, .. }
            | UnitError::Unknown { dimension, .. }
            | UnitError::OtherDimension { dimension, .. } => dimension.accepted().to_string(),
            UnitError::DecimalComma { instead }
            | UnitError::Grouped { instead }
            | UnitError::ScaleGiven { instead, .. } => format!("write {}", excerpt(instead)),
            UnitError::DifferenceGiven { .. } => Dimension::Temperature.accepted().to_string(),
            UnitError::BelowAbsoluteZero => "a value above -273.15 degC".to_string(),
            UnitError::Gauge { .. } => "a whole number from 0 to 56, or 1/0, 2/0, 3/0, 4/0".to_string(),
            UnitError::NotFinite => "a value of ordinary size".to_string(),
        }
    }

    /// What is wrong, without the remedy.
    pub fn wrong(&self) -> String {
        match self {
            UnitError::NoNumber { text, dimension } => {
                format!("\"{}\" does not begin with a number, {} was expected", excerpt(text), dimension.name())
            }
            UnitError::NoUnit { number, dimension } => {
                format!("{} has no unit, {} was expected", excerpt(number), dimension.name())
            }
            UnitError::DecimalComma { .. } => "a decimal comma is not understood".to_string(),
            UnitError::Grouped { .. } => "a space within a number is not understood".to_string(),
            UnitError::Unknown { unit, dimension } => {
                format!("\"{}\" is not a known unit, {} was expected", excerpt(unit), dimension.name())
            }
            UnitError::OtherDimension { unit, found: Some(found), dimension } => {
                format!("{unit} is {}, {} was expected", found.name(), dimension.name())
            }
            UnitError::OtherDimension { unit, found: None, dimension } => {
                format!("{unit} is no unit of {}", dimension.name())
            }
            UnitError::DifferenceGiven { unit } => {
                format!("{unit} is a temperature difference, a temperature was expected")
            }
            UnitError::ScaleGiven { unit, .. } => {
                format!("{unit} is a temperature, a temperature difference was expected")
            }
            UnitError::BelowAbsoluteZero => "a temperature below absolute zero".to_string(),
            UnitError::Gauge { gauge } => format!("\"{}\" is not a wire gauge", excerpt(gauge)),
            UnitError::NotFinite => "the number is too large".to_string(),
        }
    }
}

impl fmt::Display for UnitError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}: {}", self.wrong(), self.remedy())
    }
}

impl std::error::Error for UnitError {}
