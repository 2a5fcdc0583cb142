//! What the plant allows.

use crate::units::Celsius;

/// Ceilings of the plant that a length or speed must respect, and what may be rebuilt. None: no ceiling.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plant {
    /// Most melt that the extruders give, kg/s.
    pub compound_max: Option<f64>,
    /// Most heat that the chiller removes, W.
    pub chiller_max: Option<f64>,
    /// Warmest water that may leave a section.
    pub water_out_max: Option<Celsius>,
    /// Longest floor length that the hall holds, from the die, m.
    pub hall_max: Option<f64>,
    /// Fastest change of the line speed that drives and tension allow, m/s2.
    pub ramp_max: Option<f64>,
    /// Sections grow by whole modules of this length, m.
    pub module: Option<f64>,
    /// Indices of the sections that may grow.
    pub adjustable: Vec<usize>,
}
