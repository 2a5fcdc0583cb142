//! Freezing over a range of temperatures: the exact test of an apparent heat capacity.

use std::f64::consts::PI;

use super::check::{half_unit, rows};
use super::freezing::{LIQUID, SOLID, tail_point, tail_ratio};
use super::root::{bracketed, of_rising};
use super::special::erfcx;
use super::{Check, OutOfRange, Properties, finite, positive};
use crate::data::witness::{Subject, Witness};

/// A melt that frees its latent heat evenly between liquidus and solidus; its surface is held below the solidus.
///
/// Three zones, each T = A + B erf(x/(2 sqrt(alpha t))) with its own properties; between solidus and liquidus the heat
/// capacity per volume contains rho L/(Tl - Ts). The temperatures are given at both fronts and the fluxes pass them
/// unchanged, which fixes the fronts 2 eta sqrt(t). Source: derived by the method of Carslaw & Jaeger, Conduction of
/// Heat in Solids, 1959, chapter XI (numbering from memory, not checked).
///
/// ```
/// use quenchway::exact::{MeltingRangeProblem, Properties};
/// let melt = MeltingRangeProblem {
///     solid: Properties::new(0.35, 900.0, 2300.0),
///     between: Properties::new(0.30, 900.0, 2350.0 + 130e3 / 20.0),
///     liquid: Properties::new(0.25, 900.0, 2400.0),
///     solidus: 90.0,
///     liquidus: 110.0,
///     surface: 20.0,
///     start: 200.0,
/// };
/// let freezing = melt.solve()?;
/// assert!((freezing.solidus_depth(4.0) - 0.533596140302e-3).abs() < 1e-15);
/// assert!((freezing.liquidus_depth(4.0) - 0.697387476705e-3).abs() < 1e-15);
/// assert!((freezing.temperature(1e-3, 4.0) - 142.632650338).abs() < 1e-9);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeltingRangeProblem {
    /// Properties below the solidus.
    pub solid: Properties,
    /// Properties between solidus and liquidus; the capacity contains the latent heat.
    pub between: Properties,
    /// Properties above the liquidus.
    pub liquid: Properties,
    /// Temperature at which all is frozen, degC.
    pub solidus: f64,
    /// Temperature at which freezing begins, degC.
    pub liquidus: f64,
    /// Temperature at which the surface is held, degC, below the solidus.
    pub surface: f64,
    /// Uniform temperature at time 0, degC, above the liquidus.
    pub start: f64,
}

/// The solution of a [`MeltingRangeProblem`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeltingRange {
    problem: MeltingRangeProblem,
    /// x/(2 sqrt(t)) of the solidus, m/s^0.5.
    solidus: f64,
    /// The same of the liquidus.
    liquidus: f64,
}

impl MeltingRangeProblem {
    /// Finds both fronts.
    ///
    /// # Errors
    ///
    /// A property not above 0, a temperature that is not finite, temperatures not in the order surface <
    /// solidus < liquidus < start.
    pub fn solve(&self) -> Result<MeltingRange, OutOfRange> {
        self.solid.check()?;
        self.between.check()?;
        self.liquid.check()?;
        finite("solidus", self.solidus)?;
        finite("liquidus", self.liquidus)?;
        let below = positive("solidus minus surface temperature", self.solidus - self.surface)?;
        let range = positive("liquidus minus solidus", self.liquidus - self.solidus)?;
        let above = positive("start temperature minus liquidus", self.start - self.liquidus)?;
        let roots = [self.solid, self.between, self.liquid].map(|zone| zone.diffusivity().sqrt());
        // Strength k dT/sqrt(alpha) of a zone: its flux times sqrt(pi t) before the error functions.
        let solid = self.solid.conductivity * below / roots[0];
        let between = self.between.conductivity * range / roots[1];
        let liquid = self.liquid.conductivity * above / roots[2];
        // One unknown: the share of erfc, seen from the solidus outward in the middle zone, that lies below the
        // liquidus. The flux at the solidus then fixes both fronts, and the flux at the liquidus the share.
        let fronts = |share: f64| {
            let flux =
                |x: f64| between * libm::erf(x) * libm::exp(x * x) - solid * share * erfcx(x * roots[0] / roots[1]);
            let inner = of_rising(flux, 1.0) * roots[0];
            (inner, tail_point(inner / roots[1], 1.0 - share) * roots[1])
        };
        let surplus = |share: f64| {
            let (_, outer) = fronts(share);
            between * (1.0 - share) * erfcx(outer / roots[2]) / erfcx(outer / roots[1]) - liquid * share
        };
        // At both ends of (0, 1) the surplus has a sign: all of the range's flux, none of it.
        let share = bracketed(surplus, f64::EPSILON, 1.0 - f64::EPSILON);
        let (solidus, liquidus) = fronts(share);
        Ok(MeltingRange { problem: *self, solidus, liquidus })
    }
}

impl MeltingRange {
    /// Depth at which all is frozen, m, at a time, s; 0 at or before time 0.
    pub fn solidus_depth(&self, time: f64) -> f64 {
        2.0 * self.solidus * time.max(0.0).sqrt()
    }

    /// Depth at which freezing begins, m, at a time, s; 0 at or before time 0.
    pub fn liquidus_depth(&self, time: f64) -> f64 {
        2.0 * self.liquidus * time.max(0.0).sqrt()
    }

    /// Temperature, degC, at a depth, m (below 0 counts as 0), and a time, s (at or before 0 gives the start).
    pub fn temperature(&self, depth: f64, time: f64) -> f64 {
        let problem = &self.problem;
        if time <= 0.0 {
            return problem.start;
        }
        let eta = depth.max(0.0) / (2.0 * time.sqrt());
        if eta <= self.solidus {
            let root = problem.solid.diffusivity().sqrt();
            let share = libm::erf(eta / root) / libm::erf(self.solidus / root);
            return problem.surface + (problem.solidus - problem.surface) * share;
        }
        if eta <= self.liquidus {
            let root = problem.between.diffusivity().sqrt();
            let from = self.solidus / root;
            let share = (1.0 - tail_ratio(eta / root, from)) / (1.0 - tail_ratio(self.liquidus / root, from));
            return problem.solidus + (problem.liquidus - problem.solidus) * share;
        }
        let root = problem.liquid.diffusivity().sqrt();
        problem.start - (problem.start - problem.liquidus) * tail_ratio(eta / root, self.liquidus / root)
    }

    /// Heat flux out of the surface, W/m2, at a time, s; 0 at or before time 0, where it has no bound.
    pub fn surface_flux(&self, time: f64) -> f64 {
        if time <= 0.0 {
            return 0.0;
        }
        let MeltingRangeProblem { solid, solidus, surface, .. } = self.problem;
        let root = solid.diffusivity().sqrt();
        solid.conductivity * (solidus - surface) / (root * (PI * time).sqrt() * libm::erf(self.solidus / root))
    }
}

/// Between the phases of the reference figures: 2350 J/(kg K) and 130 kJ/kg over 20 K.
const BETWEEN: Properties = Properties { conductivity: 0.30, capacity: 900.0 * (2350.0 + 6500.0) };

/// The melt of the reference figures.
const MELT: MeltingRangeProblem = MeltingRangeProblem {
    solid: SOLID,
    between: BETWEEN,
    liquid: LIQUID,
    solidus: 90.0,
    liquidus: 110.0,
    surface: 20.0,
    start: 200.0,
};

/// The comparisons with reference figures.
pub(super) fn checks() -> Vec<Check> {
    let solution = MELT.solve();
    let of = |value: &dyn Fn(&MeltingRange) -> f64| solution.as_ref().map_or(f64::NAN, value);
    rows(include_str!("reference/freezing.csv"))
        .filter(|row| row.word(0) == "range")
        .map(|row| {
            let (argument, expected) = (row.number(2), row.number(3));
            let (what, unit, computed) = match row.word(1) {
                "solidus" => (format!("solidus after {argument} s"), "m", of(&|melt| melt.solidus_depth(argument))),
                "liquidus" => (format!("liquidus after {argument} s"), "m", of(&|melt| melt.liquidus_depth(argument))),
                "flux" => (format!("surface flux after {argument} s"), "W/m2", of(&|melt| melt.surface_flux(argument))),
                _ => (
                    format!("temperature at {argument} m after 4 s"),
                    "degC",
                    of(&|melt| melt.temperature(argument, 4.0)),
                ),
            };
            Check {
                family: "freezing over a range",
                what,
                source: "derived by the method of Carslaw & Jaeger, Conduction of Heat in Solids, 1959, chapter XI \
                         (numbering from memory, not checked); figure computed with mpmath",
                subject: Subject::Series,
                witness: Witness::Equation,
                unit,
                expected,
                computed,
                bound: half_unit(expected, 12) + 4e-15 * expected,
                reason: "half of the twelfth digit, and 4e-15 for the arithmetic",
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::FreezingProblem;

    #[test]
    fn the_flux_passes_both_fronts_unchanged() {
        let melt = MELT.solve().unwrap();
        for (front, inside, outside) in [(melt.solidus_depth(4.0), 0.35, 0.30), (melt.liquidus_depth(4.0), 0.30, 0.25)]
        {
            // Differences over 1e-8 m, 1e-5 of the depth: curvature of that order.
            let before = inside * (melt.temperature(front, 4.0) - melt.temperature(front - 1e-8, 4.0)) / 1e-8;
            let after = outside * (melt.temperature(front + 1e-8, 4.0) - melt.temperature(front, 4.0)) / 1e-8;
            assert!((before / after - 1.0).abs() < 1e-4, "{before} {after}");
        }
    }

    #[test]
    fn a_narrow_range_is_freezing_at_one_temperature() {
        let narrow = 1e-6;
        let between = Properties { conductivity: 0.30, capacity: 117e6 / narrow };
        let range = MeltingRangeProblem { between, solidus: 110.0 - narrow, ..MELT }.solve().unwrap();
        let (melting, surface, start) = (110.0, 20.0, 200.0);
        let sharp = FreezingProblem { solid: SOLID, liquid: LIQUID, latent_heat: 117e6, melting, surface, start };
        // The range moves the solidus by its own 1e-6 K of 90 K, about 1e-8.
        let ratio = range.solidus_depth(4.0) / sharp.solve().unwrap().front(4.0);
        assert!((ratio - 1.0).abs() < 1e-7, "{ratio}");
    }

    #[test]
    fn one_material_throughout_is_a_plain_step() {
        let melt = MeltingRangeProblem { solid: SOLID, between: SOLID, liquid: SOLID, ..MELT }.solve().unwrap();
        let plain = crate::exact::HalfSpace::new(SOLID, 200.0).unwrap();
        for depth in [0.1e-3, 0.5e-3, 1e-3, 3e-3] {
            let difference = melt.temperature(depth, 4.0) - plain.after_step(20.0, depth, 4.0);
            // Rounding of 180 K through two nested roots.
            assert!(difference.abs() < 1e-11, "{depth}: {difference:e}");
        }
    }

    #[test]
    fn senseless_input_is_refused_or_harmless() {
        for problem in [
            MeltingRangeProblem { start: 110.0, ..MELT },
            MeltingRangeProblem { surface: 95.0, ..MELT },
            MeltingRangeProblem { solidus: 110.0, ..MELT },
            MeltingRangeProblem { liquidus: f64::NAN, ..MELT },
            MeltingRangeProblem { between: Properties { conductivity: 0.0, capacity: 1.0 }, ..MELT },
        ] {
            assert!(problem.solve().is_err(), "{problem:?}");
        }
        let melt = MELT.solve().unwrap();
        assert_eq!((melt.solidus_depth(-1.0), melt.temperature(1e-3, 0.0), melt.surface_flux(0.0)), (0.0, 200.0, 0.0));
        for between in [1e-9, 1e9] {
            let between = Properties { conductivity: between, capacity: 1e6 };
            let melt = MeltingRangeProblem { between, ..MELT }.solve().unwrap();
            assert!(melt.temperature(1e-3, 4.0).is_finite() && melt.solidus_depth(4.0) <= melt.liquidus_depth(4.0));
        }
    }
}
