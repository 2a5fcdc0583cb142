//! Exact solutions of the heat equation: the engine is measured against them, and a quick estimate can use them.
//!
//! | question | solution |
//! |---|---|
//! | one material, surface film or surface step, flat or round | [`Body`], [`BodyProblem`] |
//! | the first moments, before the cold reaches the far side | [`HalfSpace`] |
//! | two bodies pressed together | [`contact_temperature`] |
//! | core and coating through several sections of a line | [`CompositeProblem`] |
//! | conductivity and heat capacity that depend on temperature | [`KirchhoffStepProblem`], [`KirchhoffFluxProblem`] |
//! | freezing at one temperature | [`FreezingProblem`], [`stefan_lambda`] |
//! | freezing over a range of temperatures | [`MeltingRangeProblem`] |
//! | a face that swings with time | [`SineBarProblem`] |
//!
//! Constructors and `solve` check what they are given and answer [`OutOfRange`]; after that nothing panics. Every
//! value is SI, temperatures in degC. [`checks`] lists every comparison with reference figures, one row each.

mod body;
mod body_problem;
mod check;
mod composite;
mod composite_figures;
mod freezing;
mod half_space;
mod kirchhoff;
mod melting_range;
mod modes;
mod root;
mod short_time;
mod sine_bar;
mod special;

pub use body::{Body, Term};
pub use body_problem::{BodyCooling, BodyProblem};
pub use check::Check;
pub use composite::{CompositeCooling, CompositeProblem, CompositeTemperatures, Span};
pub use composite_figures::composite_reference;
pub use freezing::{Freezing, FreezingProblem, stefan_lambda};
pub use half_space::{HalfSpace, contact_temperature};
pub use kirchhoff::{KirchhoffFlux, KirchhoffFluxProblem, KirchhoffStep, KirchhoffStepProblem, SEGAL_PRAAGMAN};
pub use melting_range::{MeltingRange, MeltingRangeProblem};
pub(crate) use root::of_rising;
pub use sine_bar::{SineBar, SineBarProblem};
pub use special::{erfcx, ierfc};

use std::fmt;

/// A value that a solution does not hold for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// Which value, in words.
    pub quantity: &'static str,
    /// What was found.
    pub found: f64,
    /// What would be right.
    pub expected: &'static str,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} is {}: expected {}", self.quantity, self.found, self.expected)
    }
}

impl std::error::Error for OutOfRange {}

/// The two constant properties that conduction knows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Properties {
    /// Thermal conductivity k, W/(m K).
    pub conductivity: f64,
    /// Heat capacity per volume, rho c, J/(m3 K).
    pub capacity: f64,
}

impl Properties {
    /// From conductivity k W/(m K), density rho kg/m3 and specific heat c J/(kg K).
    ///
    /// ```
    /// let copper = quenchway::exact::Properties::new(390.0, 8960.0, 385.0);
    /// assert!((copper.diffusivity() - 1.13057e-4).abs() < 1e-9);
    /// ```
    pub fn new(conductivity: f64, density: f64, specific_heat: f64) -> Properties {
        Properties { conductivity, capacity: density * specific_heat }
    }

    /// Thermal diffusivity alpha = k/(rho c), m2/s.
    pub fn diffusivity(&self) -> f64 {
        self.conductivity / self.capacity
    }

    /// Thermal effusivity e = sqrt(k rho c), W s^0.5/(m2 K).
    pub fn effusivity(&self) -> f64 {
        (self.conductivity * self.capacity).sqrt()
    }

    fn check(&self) -> Result<(), OutOfRange> {
        positive("conductivity", self.conductivity)?;
        positive("heat capacity per volume", self.capacity)?;
        Ok(())
    }
}

/// Every comparison of these solutions with reference figures: family, source, expected, computed, bound and its reason.
///
/// ```
/// let checks = quenchway::exact::checks();
/// assert!(checks.len() > 500);
/// assert!(checks.iter().all(|check| check.holds()));
/// ```
pub fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    checks.extend(body::checks());
    checks.extend(half_space::checks());
    checks.extend(kirchhoff::checks());
    checks.extend(freezing::checks());
    checks.extend(melting_range::checks());
    checks.extend(composite_figures::checks());
    checks.extend(sine_bar::checks());
    checks
}

fn positive(quantity: &'static str, found: f64) -> Result<f64, OutOfRange> {
    if found > 0.0 && found.is_finite() {
        return Ok(found);
    }
    Err(OutOfRange { quantity, found, expected: "a finite number above 0" })
}

fn positive_or_infinite(quantity: &'static str, found: f64) -> Result<f64, OutOfRange> {
    if found > 0.0 {
        return Ok(found);
    }
    Err(OutOfRange {
        quantity,
        found,
        expected: "a number above 0; infinity is a surface held at the medium's temperature",
    })
}

fn finite(quantity: &'static str, found: f64) -> Result<f64, OutOfRange> {
    if found.is_finite() {
        return Ok(found);
    }
    Err(OutOfRange { quantity, found, expected: "a finite number" })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::case::Shape;

    #[test]
    fn every_check_holds() {
        for check in checks() {
            assert!(check.holds(), "{check}");
        }
    }

    #[test]
    fn every_check_names_its_source_and_has_a_tight_bound() {
        for check in checks() {
            assert!(check.source.len() > 20 && check.reason.len() > 10, "{check}");
            // The loosest figure is printed with one decimal: half a unit of it.
            assert!(check.bound > 0.0 && check.bound <= 0.0501, "{check}");
        }
    }

    #[test]
    fn a_wrong_value_is_named_with_what_would_be_right() {
        let error = positive("conductivity", -1.0).unwrap_err();
        assert_eq!(error.to_string(), "conductivity is -1: expected a finite number above 0");
        assert!(positive("conductivity", f64::NAN).is_err());
        assert!(finite("start", f64::INFINITY).is_err());
    }

    /// Numbers of either kind that a user might type, and numbers that nobody would.
    fn any_positive() -> impl Strategy<Value = f64> {
        prop_oneof![(-6.0..6.0), (-300.0..300.0)].prop_map(|power: f64| 10.0_f64.powf(power))
    }

    proptest! {
        #[test]
        fn no_finite_input_stops_the_program(v in prop::collection::vec(any_positive(), 10), round in any::<bool>()) {
            let shape = if round { Shape::Round } else { Shape::Flat };
            let of = |at: usize| Properties { conductivity: v[at], capacity: v[at + 1] };
            let (size, start, surface, place, time) = (v[2], v[3], -v[4], 0.5 * v[2], v[5]);
            let body = BodyProblem { shape, size, properties: of(0), film: v[6], start, medium: surface };
            let _ = body.solve().map(|body| body.temperature(place, time) + body.mean(time));
            let step = KirchhoffStepProblem { shape, size, properties: of(0), slope: v[6], start, surface };
            let _ = step.solve().map(|step| step.temperature(place, time));
            let flux = KirchhoffFluxProblem { properties: of(0), slope: v[6], start, flux: -v[7], thickness: size };
            let _ = flux.solve().map(|flux| flux.temperature(place, time));
            let (solid, liquid, latent_heat, melting) = (of(0), of(6), v[8], 0.0);
            let freezing = FreezingProblem { solid, liquid, latent_heat, melting, surface, start };
            let _ = freezing.solve().map(|melt| melt.temperature(place, time) + melt.surface_flux(time));
            let (between, solidus, liquidus) = (of(8), 0.5 * surface, 0.5 * start);
            let range = MeltingRangeProblem { solid, between, liquid, solidus, liquidus, surface, start };
            let _ = range.solve().map(|melt| melt.temperature(place, time) + melt.surface_flux(time));
            let bar = SineBarProblem { properties: of(0), length: size, amplitude: start, angular_frequency: v[6] };
            let _ = bar.solve().map(|bar| bar.temperature(place, time));
        }

        #[test]
        fn no_temperature_leaves_the_range_of_start_and_surface(
            conductivities in (0.05..5.0, 0.05..5.0, 0.05..5.0), latent in 1e6..1e9, share in 0.01..0.99,
            depth in 0.0..0.02, power in -3.0..4.0,
        ) {
            let of = |conductivity: f64| Properties { conductivity, capacity: 2e6 };
            let (solid, liquid, time) = (of(conductivities.0), of(conductivities.1), 10.0_f64.powf(power));
            let (surface, start, melting) = (20.0, 220.0, 20.0 + 200.0 * share);
            let freezing = FreezingProblem { solid, liquid, latent_heat: latent, melting, surface, start };
            let between = Properties { conductivity: conductivities.2, capacity: latent };
            let liquidus = 0.5 * (melting + start);
            let range = MeltingRangeProblem { solid, between, liquid, solidus: melting, liquidus, surface, start };
            for found in [
                freezing.solve().unwrap().temperature(depth, time),
                range.solve().unwrap().temperature(depth, time),
            ] {
                // Rounding of 200 K.
                prop_assert!(found > 20.0 - 1e-11 && found < 220.0 + 1e-11, "{}", found);
            }
        }
    }
}
