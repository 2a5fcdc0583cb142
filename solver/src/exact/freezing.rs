//! Freezing at one temperature: a half space of melt whose surface is held cold.

use std::f64::consts::PI;

use super::check::{half_unit, rows};
use super::root::{bracketed, of_rising};
use super::special::erfcx;
use super::{Check, OutOfRange, Properties, finite, positive};
use crate::data::witness::{Subject, Witness};

/// Front parameter lambda of a melt at its melting point: sqrt(pi) lambda exp(lambda^2) erf(lambda) = Ste.
///
/// Ste = c_s (Tm - Ts)/L above 0; the front stands at 2 lambda sqrt(alpha_s t).
///
/// # Errors
///
/// A Stefan number that is not
/// above 0 and finite. Source: J. Stefan, 1891; Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 11.2 (numbering
/// from memory, not checked).
///
/// ```
/// assert!((quenchway::exact::stefan_lambda(0.5)? - 0.464785920646).abs() < 1e-12);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
pub fn stefan_lambda(stefan: f64) -> Result<f64, OutOfRange> {
    positive("Stefan number", stefan)?;
    Ok(of_rising(|x| PI.sqrt() * x * libm::exp(x * x) * libm::erf(x) - stefan, 1.0))
}

/// A melt above or at its melting point whose surface is suddenly held below it (Neumann's problem).
///
/// Solid: T = Ts + (Tm - Ts) erf(x/(2 sqrt(alpha_s t)))/erf(lambda); liquid: T = T0 - (T0 - Tm)
/// erfc(x/(2 sqrt(alpha_l t)))/erfc(lambda sqrt(alpha_s/alpha_l)); the front stands at X = 2 lambda sqrt(alpha_s t),
/// where the fluxes differ by L dX/dt. One density for both phases. Source: F. Neumann, about 1860; Carslaw & Jaeger,
/// Conduction of Heat in Solids, 1959, 11.2 (numbering from memory, not checked).
///
/// ```
/// use quenchway::exact::{FreezingProblem, Properties};
/// let melt = FreezingProblem {
///     solid: Properties::new(0.35, 900.0, 2300.0),
///     liquid: Properties::new(0.25, 900.0, 2400.0),
///     latent_heat: 900.0 * 130e3,
///     melting: 110.0,
///     surface: 20.0,
///     start: 200.0,
/// };
/// let freezing = melt.solve()?;
/// assert!((freezing.lambda() - 0.41934687547526).abs() < 1e-14);
/// assert!((freezing.front(4.0) - 0.689734980624e-3).abs() < 1e-15);
/// assert!((freezing.temperature(1e-3, 4.0) - 143.225559219).abs() < 1e-9);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreezingProblem {
    /// Properties below the melting point.
    pub solid: Properties,
    /// Properties above it.
    pub liquid: Properties,
    /// Latent heat per volume, rho L, J/m3.
    pub latent_heat: f64,
    /// Melting point, degC.
    pub melting: f64,
    /// Temperature at which the surface is held, degC, below the melting point.
    pub surface: f64,
    /// Uniform temperature at time 0, degC, at or above the melting point.
    pub start: f64,
}

/// The solution of a [`FreezingProblem`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Freezing {
    problem: FreezingProblem,
    lambda: f64,
}

impl FreezingProblem {
    /// Finds the front.
    ///
    /// # Errors
    ///
    /// A property or the latent heat not above 0, a temperature that is not finite, temperatures not in the
    /// order surface < melting <= start.
    pub fn solve(&self) -> Result<Freezing, OutOfRange> {
        self.solid.check()?;
        self.liquid.check()?;
        positive("latent heat per volume", self.latent_heat)?;
        finite("melting point", self.melting)?;
        let below = positive("melting point minus surface temperature", self.melting - self.surface)?;
        let above = finite("start temperature", self.start)? - self.melting;
        if above < 0.0 {
            let expected = "at or above the melting point";
            return Err(OutOfRange { quantity: "start temperature", found: self.start, expected });
        }
        let (solid, liquid) = (self.solid.diffusivity().sqrt(), self.liquid.diffusivity().sqrt());
        // Fluxes at the front times sqrt(pi t), each times erf(lambda) exp(lambda^2): falls from above 0 without limit.
        let missing = |lambda: f64| {
            let from_liquid = self.liquid.conductivity * above / (liquid * erfcx(lambda * solid / liquid));
            let from_front = self.latent_heat * PI.sqrt() * solid * lambda;
            (from_liquid + from_front) * libm::erf(lambda) * libm::exp(lambda * lambda)
                - self.solid.conductivity * below / solid
        };
        Ok(Freezing { problem: *self, lambda: of_rising(missing, 1.0) })
    }
}

impl Freezing {
    /// lambda of the front X = 2 lambda sqrt(alpha_s t).
    pub fn lambda(&self) -> f64 {
        self.lambda
    }

    /// Depth of the front, m, at a time, s; 0 at or before time 0.
    pub fn front(&self, time: f64) -> f64 {
        2.0 * self.lambda * (self.problem.solid.diffusivity() * time.max(0.0)).sqrt()
    }

    /// Temperature, degC, at a depth, m (below 0 counts as 0), and a time, s (at or before 0 gives the start).
    pub fn temperature(&self, depth: f64, time: f64) -> f64 {
        let FreezingProblem { solid, liquid, melting, surface, start, .. } = self.problem;
        if time <= 0.0 {
            return start;
        }
        let depth = depth.max(0.0);
        if depth <= self.front(time) {
            let eta = depth / (2.0 * (solid.diffusivity() * time).sqrt());
            return surface + (melting - surface) * libm::erf(eta) / libm::erf(self.lambda);
        }
        let eta = depth / (2.0 * (liquid.diffusivity() * time).sqrt());
        let front = self.lambda * (solid.diffusivity() / liquid.diffusivity()).sqrt();
        start - (start - melting) * tail_ratio(eta, front)
    }

    /// Heat flux out of the surface, W/m2, at a time, s; 0 at or before time 0, where it has no bound.
    pub fn surface_flux(&self, time: f64) -> f64 {
        if time <= 0.0 {
            return 0.0;
        }
        let FreezingProblem { solid, melting, surface, .. } = self.problem;
        let spread = (PI * solid.diffusivity() * time).sqrt();
        solid.conductivity * (melting - surface) / (spread * libm::erf(self.lambda))
    }
}

/// erfc(eta)/erfc(from) for eta >= from, also where both vanish.
pub(super) fn tail_ratio(eta: f64, from: f64) -> f64 {
    libm::exp((from - eta) * (from + eta)) * erfcx(eta) / erfcx(from)
}

/// The point beyond `from` at which erfc has fallen to `share` of its value there, 0 < share < 1.
pub(super) fn tail_point(from: f64, share: f64) -> f64 {
    let missing = |further: f64| share - tail_ratio(from + further, from);
    let mut hi = 1.0;
    while missing(hi) < 0.0 && hi < 1e3 {
        hi *= 2.0;
    }
    from + bracketed(missing, 0.0, hi)
}

/// Polyethylene-like melt of the reference figures.
pub(super) const SOLID: Properties = Properties { conductivity: 0.35, capacity: 900.0 * 2300.0 };
/// The same above its melting point.
pub(super) const LIQUID: Properties = Properties { conductivity: 0.25, capacity: 900.0 * 2400.0 };

/// The comparisons with reference figures.
pub(super) fn checks() -> Vec<Check> {
    let (melting, surface, start) = (110.0, 20.0, 200.0);
    let problem = FreezingProblem { solid: SOLID, liquid: LIQUID, latent_heat: 117e6, melting, surface, start };
    let solution = problem.solve();
    let of = |value: &dyn Fn(&Freezing) -> f64| solution.as_ref().map_or(f64::NAN, value);
    rows(include_str!("reference/freezing.csv"))
        .filter(|row| row.word(0) != "range")
        .map(|row| {
            let (argument, expected) = (row.number(2), row.number(3));
            let (what, unit, computed) = match (row.word(0), row.word(1)) {
                ("stefan", _) => (
                    format!("melt at its melting point, Ste {argument}, lambda"),
                    "",
                    stefan_lambda(argument).unwrap_or(f64::NAN),
                ),
                (_, "lambda") => ("melt above its melting point, lambda".into(), "", of(&Freezing::lambda)),
                (_, "front") => (format!("front after {argument} s"), "m", of(&|melt| melt.front(argument))),
                (_, "flux") => {
                    (format!("surface flux after {argument} s"), "W/m2", of(&|melt| melt.surface_flux(argument)))
                }
                _ => (
                    format!("temperature at {argument} m after 4 s"),
                    "degC",
                    of(&|melt| melt.temperature(argument, 4.0)),
                ),
            };
            Check {
                family: "freezing at one temperature",
                what,
                source: "Carslaw & Jaeger, Conduction of Heat in Solids, 1959, chapter XI (numbering from memory, not \
                         checked); figure computed with mpmath",
                subject: Subject::Series,
                witness: Witness::Equation,
                unit,
                expected,
                computed,
                bound: half_unit(expected, if expected < 0.1 && unit.is_empty() { 11 } else { 12 }) + 2e-15 * expected,
                reason: "half of the twelfth digit (eleventh of the smallest lambda), and 2e-15 for the arithmetic",
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn melt() -> FreezingProblem {
        let (melting, surface, start) = (110.0, 20.0, 200.0);
        FreezingProblem { solid: SOLID, liquid: LIQUID, latent_heat: 117e6, melting, surface, start }
    }

    #[test]
    fn without_superheat_it_is_the_one_phase_problem() {
        let freezing = FreezingProblem { start: 110.0, ..melt() }.solve().unwrap();
        let lambda = stefan_lambda(2300.0 * 90.0 / 130e3).unwrap();
        // Two roots, each to two units in its last place.
        assert!((freezing.lambda() - lambda).abs() < 1e-15);
        assert_eq!(freezing.temperature(5e-3, 4.0), 110.0);
    }

    #[test]
    fn the_front_frees_the_latent_heat() {
        let freezing = melt().solve().unwrap();
        let front = freezing.front(4.0);
        // Differences over 1e-8 m, 1e-5 of the front: curvature of that order.
        let below = 0.35 * (freezing.temperature(front, 4.0) - freezing.temperature(front - 1e-8, 4.0)) / 1e-8;
        let above = 0.25 * (freezing.temperature(front + 1e-8, 4.0) - freezing.temperature(front, 4.0)) / 1e-8;
        let freed = 117e6 * front / 8.0;
        assert!(((below - above) / freed - 1.0).abs() < 1e-4, "{below} {above} {freed}");
        let surface = 0.35 * (freezing.temperature(1e-8, 4.0) - 20.0) / 1e-8;
        assert!((surface / freezing.surface_flux(4.0) - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_point_of_the_tail_is_found_far_out() {
        for (from, share) in [(0.3, 0.5), (0.3, 1e-12), (5.0, 1.0 - 1e-9), (200.0, 0.1)] {
            let point = tail_point(from, share);
            // The distance from `from` carries the rounding of the sum, amplified by the steepness 2 x.
            assert!((tail_ratio(point, from) / share - 1.0).abs() < 1e-15 * point * point.max(10.0), "{from} {share}");
        }
    }

    #[test]
    fn senseless_input_is_refused_or_harmless() {
        for problem in [
            FreezingProblem { start: 100.0, ..melt() },
            FreezingProblem { surface: 110.0, ..melt() },
            FreezingProblem { latent_heat: 0.0, ..melt() },
            FreezingProblem { melting: f64::NAN, ..melt() },
        ] {
            assert!(problem.solve().is_err(), "{problem:?}");
        }
        assert!(stefan_lambda(0.0).is_err());
        for stefan in [1e-300, 1e-9, 1e9, f64::MAX] {
            assert!(stefan_lambda(stefan).unwrap().is_finite(), "{stefan}");
        }
        let freezing = melt().solve().unwrap();
        assert_eq!(
            (freezing.front(-1.0), freezing.temperature(1e-3, 0.0), freezing.surface_flux(0.0)),
            (0.0, 200.0, 0.0)
        );
        assert!((freezing.temperature(1e6, 1e-6) - 200.0).abs() < 1e-9);
    }
}
