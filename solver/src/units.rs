//! Text to SI and back: the only file where a number that is not SI exists.

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
