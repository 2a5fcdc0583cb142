//! Round wires laid together.

use std::f64::consts::{FRAC_PI_4, PI};

use super::layup::{helix, layup};
use super::{mixture, temperatures};
use crate::material::air;
use crate::material::{Curve, Material};
use crate::units::Celsius;

/// Share of the circle around a bunch of wires that metal fills, cut square to the wires: the middle of 0.65 to 0.78, read
/// on a public page about conductors of class 5 and 6.
const BUNCHED: f64 = 0.72;
/// Lay length over the diameter over all: common practice, no source (12 to 16 concentric, more in bunches).
const LAY_RATIO: f64 = 14.0;
/// Most wires that are laid in concentric rings; more are bunched.
const CONCENTRIC: usize = 61;

/// Round wires laid together.
#[derive(Clone, Debug, PartialEq)]
pub struct Strand {
    wires: usize,
    wire: f64,
    overall: f64,
    lay_factor: f64,
}

impl Strand {
    /// Wires of a diameter (m) in concentric rings where their number fills them (7, 19, 37, ...), bunched where it does not.
    pub fn new(wires: usize, wire: f64) -> Strand {
        match layup(wires).filter(|found| found.full && wires <= CONCENTRIC) {
            Some(found) => {
                let lay_factor = found.lay_factor(LAY_RATIO * found.overall);
                Strand { wires, wire, overall: wire * found.overall, lay_factor }
            }
            None => Strand::bunched(wires, wire),
        }
    }

    /// Wires of a diameter (m) in no order, with 72 % of the circle around them filled.
    pub fn bunched(wires: usize, wire: f64) -> Strand {
        // Over a disc the mean of the squared pitch diameter is half the squared diameter.
        let lay_factor = helix(std::f64::consts::FRAC_1_SQRT_2, LAY_RATIO);
        Strand { wires, wire, overall: wire * (wires as f64 / BUNCHED).sqrt(), lay_factor }
    }

    /// Number of wires.
    pub fn wires(&self) -> usize {
        self.wires
    }

    /// Diameter of one wire, m.
    pub fn wire(&self) -> f64 {
        self.wire
    }

    /// Diameter over all, m.
    pub fn overall(&self) -> f64 {
        self.overall
    }

    /// Mean length of the wires over the length of the strand, for a lay of 14 times the diameter over all.
    pub fn lay_factor(&self) -> f64 {
        self.lay_factor
    }

    /// Metal in the cross-section of the strand, m2: the wires are cut at a slant, N pi/4 d^2 times the lay factor.
    pub fn metal_area(&self) -> f64 {
        self.wires as f64 * FRAC_PI_4 * self.wire * self.wire * self.lay_factor
    }

    /// Share of the circle around it that metal fills.
    pub fn fill(&self) -> f64 {
        self.metal_area() / (FRAC_PI_4 * self.overall * self.overall)
    }

    /// The material of a round body of the diameter over all: density times the fill, the metal's heat capacity, and the
    /// conductivity across touching wires in air ([`mixture::touching`]).
    ///
    /// The air between the wires is taken to weigh nothing (3e-5 of the mass of copper).
    pub(super) fn material(&self, metal: &Material) -> Option<Material> {
        let fill = self.fill();
        let scaled = metal.density.points().iter().map(|point| [point[0], fill * point[1]]);
        let across = |t: f64| mixture::touching(metal.conductivity.at(Celsius(t)), air::at(t).conductivity, fill);
        let at = temperatures(metal.range.map(|t| t.0), &[&metal.conductivity]);
        Some(Material {
            name: format!("{}, {} wires", metal.name, self.wires),
            conductivity: Curve::new(at.into_iter().map(|t| [t, across(t)]).collect()).ok()?,
            density: Curve::new(scaled.collect()).ok()?,
            ..metal.clone()
        })
    }

    /// Lowest and highest conductivity across that is possible at a temperature, W/(m K).
    pub fn bounds(&self, metal: &Material, at: Celsius) -> [f64; 2] {
        mixture::bounds(metal.conductivity.at(at), air::at(at.0).conductivity, self.fill())
    }
}

/// Wires of which a resistance (ohm/m at 20 degC) is made: sum of their sections N a = rho f/R, m2, f their lay factor.
pub(super) fn section_of_resistance(resistance: f64, lay_factor: f64) -> f64 {
    super::COPPER_RESISTIVITY * lay_factor / resistance
}

/// Diameter of one of N wires whose sections add up to an area.
pub(super) fn wire_of(wires: usize, area: f64) -> f64 {
    (4.0 * area / (PI * wires as f64)).sqrt()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn mass_and_heat_are_those_of_the_wires() {
        let copper = crate::file::library::find("copper").unwrap();
        for strand in [Strand::new(7, 0.67e-3), Strand::new(50, 0.25e-3), Strand::new(19, 0.5e-3)] {
            let body = strand.material(&copper).unwrap();
            for t in [-10.0, 20.0, 113.0, 250.0].map(Celsius) {
                let wires = strand.wires as f64 * FRAC_PI_4 * strand.wire.powi(2) * copper.density.at(t);
                let mass = FRAC_PI_4 * strand.overall.powi(2) * body.density.at(t);
                // Rounding; and each wire is longer than the strand by its lay.
                assert!((mass / (wires * strand.lay_factor) - 1.0).abs() < 1e-14);
                assert_eq!(body.heat_capacity.at(t), copper.heat_capacity.at(t));
                let [low, high] = strand.bounds(&copper, t);
                assert!(low < body.conductivity.at(t) && body.conductivity.at(t) < high);
            }
            assert!(strand.lay_factor > 1.005 && strand.lay_factor < 1.02, "{}", strand.lay_factor);
            assert!(strand.fill() > 0.7 && strand.fill() < 0.8, "{}", strand.fill());
        }
    }

    /// Six wires on a pitch of 2 of 3 diameters and a lay of 42: 1 + 6 sqrt(1 + (2 pi/42)^2) over 7.
    #[test]
    fn the_lay_of_seven_wires() {
        let expected = (1.0 + 6.0 * (1.0 + (2.0 * PI / 42.0_f64).powi(2)).sqrt()) / 7.0;
        assert!((Strand::new(7, 1.0).lay_factor - expected).abs() < 1e-15);
        assert!((expected - 1.00954).abs() < 5e-6);
    }
}
