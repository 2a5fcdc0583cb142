//! Conductors and laid-up cores as one round body: its size, its metal, and the material that it is equivalent to.
//!
//! Mass and heat of the body are exact; its conductivity is an estimate between bounds ([`mixture`]).

pub mod core;
pub mod iec;
pub mod layup;
pub mod mixture;
mod strand;

pub use strand::Strand;

use crate::material::Material;

/// Resistivity of annealed copper at 20 degC, ohm m: 1/58 ohm mm2/m (IEC 60028, International standard of resistance for
/// copper; from memory, not checked).
pub const COPPER_RESISTIVITY: f64 = 1e-6 / 58.0;

/// A conductor at room temperature.
#[derive(Clone, Debug, PartialEq)]
pub enum Conductor {
    /// One round wire.
    Solid {
        /// m.
        diameter: f64,
    },
    /// Wires laid together.
    Stranded(Strand),
}

impl Conductor {
    /// A number of round wires of a diameter (m), laid together; one wire is solid.
    ///
    /// ```
    /// use quenchway::material::conductor::Conductor;
    /// // Six wires around one: three wires across.
    /// assert!((Conductor::of_wires(7, 0.67e-3).diameter() - 2.01e-3).abs() < 1e-15);
    /// assert_eq!(Conductor::of_wires(1, 1.78e-3), Conductor::Solid { diameter: 1.78e-3 });
    /// ```
    pub fn of_wires(wires: usize, wire: f64) -> Conductor {
        if wires <= 1 { Conductor::Solid { diameter: wire } } else { Conductor::Stranded(Strand::new(wires, wire)) }
    }

    /// A number of equal wires whose cross-sections add up to an area (m2).
    pub fn of_area(wires: usize, area: f64) -> Conductor {
        Conductor::of_wires(wires, (4.0 * area / (std::f64::consts::PI * wires.max(1) as f64)).sqrt())
    }

    /// Diameter over all, m.
    pub fn diameter(&self) -> f64 {
        match self {
            Conductor::Solid { diameter } => *diameter,
            Conductor::Stranded(strand) => strand.overall(),
        }
    }

    /// Metal in the cross-section of the conductor, m2: mass per length over density.
    pub fn metal_area(&self) -> f64 {
        match self {
            Conductor::Solid { diameter } => std::f64::consts::FRAC_PI_4 * diameter * diameter,
            Conductor::Stranded(strand) => strand.metal_area(),
        }
    }

    /// The material of a round body of this diameter that holds the same mass and heat; none for curves that are none.
    pub fn material(&self, metal: &Material) -> Option<Material> {
        match self {
            Conductor::Solid { .. } => Some(metal.clone()),
            Conductor::Stranded(strand) => strand.material(metal),
        }
    }
}

/// Temperatures of curves that follow from others, degC: every point of those, and every 50 K of the range between.
fn temperatures(range: [f64; 2], curves: &[&crate::material::Curve]) -> Vec<f64> {
    const EVERY: f64 = 50.0;
    let [low, high] = range;
    let even = (1..200).map(|i| EVERY * (low / EVERY).floor() + EVERY * f64::from(i)).take_while(|t| *t < high);
    let given = curves.iter().flat_map(|curve| curve.points().iter().map(|point| point[0]));
    let mut all: Vec<f64> = given.chain(even).chain([low, high]).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}
