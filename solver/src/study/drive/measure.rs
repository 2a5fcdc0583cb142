//! What a station reads of the product, where that stands among the values of a sight, and what is limited of it.

use serde::{Serialize, Serializer};

use crate::case::Quantity;
use crate::units::Dimension;

/// What a station reads of the product.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// A temperature, degC.
    Temperature(Quantity),
    /// Outer diameter, hot, m.
    Diameter,
}

/// What is limited at a station; JSON tells its key.
#[derive(Clone, Debug, PartialEq)]
pub struct Limited {
    /// The key of the case file: `surface_max`, `diameter_min`.
    pub key: String,
    /// In the words of a report.
    pub words: String,
    /// What is read.
    pub measure: Measure,
    /// Whether values above the limit are out of it.
    pub above: bool,
}

impl Limited {
    /// Whether it is a diameter, m; else a temperature, degC.
    pub fn is_diameter(&self) -> bool {
        self.measure == Measure::Diameter
    }

    /// What is measured.
    pub fn dimension(&self) -> Dimension {
        if self.is_diameter() { Dimension::Diameter } else { Dimension::Temperature }
    }

    /// Whether a value is out of a limit.
    pub fn is_out(&self, value: f64, limit: f64) -> bool {
        (value > limit) == self.above
    }
}

impl Serialize for Limited {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.key.serialize(serializer)
    }
}

/// Where the diameter stands among the values.
pub(super) const DIAMETER: usize = 5;

/// Where a measure stands among the values of a sight.
pub(super) fn place_of(measure: Measure) -> usize {
    match measure {
        // The hot side of water that does not touch all round is not followed in time: the mean surface stands for it.
        Measure::Temperature(Quantity::Surface | Quantity::HotSide) => 0,
        Measure::Temperature(Quantity::Core) => 1,
        Measure::Temperature(Quantity::Mean) => 2,
        Measure::Temperature(Quantity::Hottest) => 3,
        Measure::Temperature(Quantity::Equalised) => 4,
        Measure::Diameter => DIAMETER,
        Measure::Temperature(Quantity::Layer(layer)) => DIAMETER + 1 + layer,
    }
}
