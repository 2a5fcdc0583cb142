//! Film laws: what the published correlations give for a product on a line, one row each.

use super::{FilmState, Law, Numbers, WorkedFilm};
use super::{
    nusselt_free_horizontal_churchill_chu, nusselt_moving_laminar_sakiadis, nusselt_moving_turbulent_colburn,
};
use crate::case::{Medium, Shape};
use crate::fluid::Fluid;
use crate::{air, water};
use libm::cbrt;

/// Added to the distance from a section's entry, m.
///
/// For h proportional to x^(-1/2) the mean over the first 10 mm is the local value at 2.5 mm. So h at the entry is that
/// mean instead of infinity, and h has no kink behind it. Over those 10 mm themselves a little less heat flows than the
/// layer would take.
pub const ENTRY_OFFSET: f64 = 2.5e-3;

/// Film coefficients of immersed cooling that are usual, W/(m2 K): common practice, no source.
pub const BAND_OF_PRACTICE: [f64; 2] = [1000.0, 6000.0];

/// Acceleration of gravity, m/s2 (standard value: 3rd General Conference on Weights and Measures, 1901).
const GRAVITY: f64 = 9.80665;

/// Reynolds number on the distance at which half of the layer counts as turbulent; order of magnitude after Tsou, Sparrow
/// and Goldstein 1967 (from memory, not checked).
const TRANSITION: f64 = 5e5;

/// Every film law.
pub fn laws() -> &'static [Law] {
    &LAWS
}

/// The law of that name.
pub fn find(name: &str) -> Option<&'static Law> {
    LAWS.iter().find(|law| law.name == name)
}

/// The law of a section that names none.
pub fn default_law(medium: Medium) -> &'static Law {
    match medium {
        Medium::Water => &LAWS[0],
        Medium::Air => &LAWS[1],
    }
}

/// A product moving through still water, W/(m2 K).
///
/// h = band((h_f^3 + h_n^3)^(1/3)), where h_n is free convection about a horizontal cylinder and h_f the boundary layer
/// that starts at the section's entry: laminar with the curvature of a round product, turbulent as if flat, the latter
/// with the weight 1/(1 + (5e5/Re_x)^4). The band is [`BAND_OF_PRACTICE`], rounded so that h keeps its derivatives. The
/// distance counts from [`ENTRY_OFFSET`] before the entry, the water's properties are those at the mean of surface and
/// medium.
///
/// Good to a factor of two.
fn moving_water(state: &FilmState) -> f64 {
    let water = water::at(0.5 * (state.surface + state.medium));
    let forced = forced(&water, state, true);
    within(BAND_OF_PRACTICE, cube_sum(forced, free(&water, state)))
}

/// A product moving through still air, W/(m2 K): (h_f^3 + h_n^3)^(1/3) with a laminar boundary layer h_f.
fn moving_air(state: &FilmState) -> f64 {
    let air = air::at(0.5 * (state.surface + state.medium));
    cube_sum(forced(&air, state, false), free(&air, state))
}

/// Free convection alone in water, W/(m2 K).
fn still_water(state: &FilmState) -> f64 {
    free(&water::at(0.5 * (state.surface + state.medium)), state)
}

/// Free convection alone in air, W/(m2 K).
fn still_air(state: &FilmState) -> f64 {
    free(&air::at(0.5 * (state.surface + state.medium)), state)
}

/// Free convection about a horizontal cylinder; a flat product counts as a cylinder of its thickness.
fn free(fluid: &Fluid, state: &FilmState) -> f64 {
    // Rounds the corner at equal temperatures and the one at water's greatest density, each by less than 1e-4 of h when
    // the difference is above 3 K and the film above 8 degC.
    const KELVIN: f64 = 0.1;
    const PER_KELVIN: f64 = 5e-6;
    let difference = state.surface - state.medium;
    let squared = (difference * difference + KELVIN * KELVIN)
        * (fluid.expansion * fluid.expansion + PER_KELVIN * PER_KELVIN);
    let d = state.diameter;
    let rayleigh = GRAVITY * squared.sqrt() * d * d * d / (fluid.kinematic_viscosity() * fluid.diffusivity());
    let numbers = Numbers { rayleigh, prandtl: fluid.prandtl, ..Numbers::default() };
    nusselt_free_horizontal_churchill_chu(&numbers) * fluid.conductivity / d
}

/// The boundary layer on the moving product, local coefficient.
fn forced(fluid: &Fluid, state: &FilmState, turbulent: bool) -> f64 {
    let x = state.distance + ENTRY_OFFSET;
    let root_reynolds = (state.speed * x / fluid.kinematic_viscosity()).sqrt();
    let curvature = match state.shape {
        Shape::Round => 4.0 * x / (root_reynolds * state.diameter),
        Shape::Flat => 0.0,
    };
    let reynolds = root_reynolds * root_reynolds;
    let numbers = Numbers { reynolds, prandtl: fluid.prandtl, curvature, ..Numbers::default() };
    let mut nusselt = nusselt_moving_laminar_sakiadis(&numbers);
    if turbulent {
        let ratio = (TRANSITION / reynolds) * (TRANSITION / reynolds);
        nusselt += (nusselt_moving_turbulent_colburn(&numbers) - nusselt) / (1.0 + ratio * ratio);
    }
    nusselt * fluid.conductivity / x
}

/// Forced and free convection together.
fn cube_sum(forced: f64, free: f64) -> f64 {
    cbrt(forced * forced * forced + free * free * free)
}

/// `h` bent into a band: h itself well inside, the ends far outside, 4 % inside of an end that h just reaches; smooth and
/// rising with h everywhere.
fn within([low, high]: [f64; 2], h: f64) -> f64 {
    let square = |x: f64| x * x;
    let power_16 = |x: f64| square(square(square(square(x))));
    let root_16 = |x: f64| x.sqrt().sqrt().sqrt().sqrt();
    let below_high = h / root_16(1.0 + power_16(h / high));
    low * root_16(1.0 + power_16(below_high / low))
}

const fn state(speed: f64, diameter: f64, distance: f64, surface: f64, medium: f64) -> FilmState {
    FilmState { shape: Shape::Round, speed, diameter, distance, surface, medium }
}

static LAWS: [Law; 4] = [
];
