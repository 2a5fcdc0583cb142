//! What a station reads of the product, and where that stands among the values of a sight.

use crate::case::Quantity;

/// What a station reads of the product.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// A temperature, degC.
    Temperature(Quantity),
    /// Outer diameter, hot, m.
    Diameter,
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
