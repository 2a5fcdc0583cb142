//! Film laws: what the published correlations give for a product on a line.

use super::moving::{ANY_AIR, ANY_WATER, ENTRY_OFFSET, rayleigh};
use super::{FilmState, Numbers, layers};
use super::{
    nusselt_crossflow_churchill_bernstein, nusselt_fibre_kase_matsuo, nusselt_free_horizontal_churchill_chu,
    nusselt_moving_laminar_sakiadis, nusselt_moving_turbulent_ali_dey_white, nusselt_spray_karwa,
};
use crate::material::fluid::Fluid;
use crate::material::medium::Medium;
use crate::material::{air, water};
use crate::maths::shape::Shape;

/// Diameter of the disc on which the spray correlation was measured, m.
const SPRAYED_DISC: f64 = 20e-3;

/// A product moving through water, W/(m2 K).
///
/// h = (h_f^3 + h_n^3 + h_s^3)^(1/3) with h_n free convection about a horizontal cylinder, h_s cross-flow at the speed at which
/// the water is stirred, and h_f = h_l + w (0.75 h_t - h_l) the boundary layer that starts at the section's entry: h_l laminar,
/// h_t turbulent, both with the curvature of a round product, w = 1/\[1 + (2e5/Re_x)^4 + (600/Re_a)^4\] (flat: without
/// Re_a). The distance counts from [`ENTRY_OFFSET`] before the entry, the water's properties are those at the mean of surface
/// and medium, the speed is that of the product through the water. At speed 0 h is h_n.
pub(super) fn moving_water(state: &FilmState) -> f64 {
    layers::of_one(&ANY_WATER, state)
}

/// The laminar layer of [`moving_water`] alone, W/(m2 K).
pub(super) fn laminar_water(state: &FilmState) -> f64 {
    laminar(&fluid(Medium::Water, state), state)
}

/// The turbulent layer of [`moving_water`] alone, all of it, W/(m2 K).
pub(super) fn turbulent_water(state: &FilmState) -> f64 {
    turbulent(&fluid(Medium::Water, state), state)
}

/// A product moving through still air or against blown air, W/(m2 K): as [`moving_water`], with all of the turbulent layer.
pub(super) fn moving_air(state: &FilmState) -> f64 {
    layers::of_one(&ANY_AIR, state)
}

/// Free convection alone in water, W/(m2 K).
pub(super) fn still_water(state: &FilmState) -> f64 {
    free(&fluid(Medium::Water, state), state)
}

/// Free convection alone in air, W/(m2 K).
pub(super) fn still_air(state: &FilmState) -> f64 {
    free(&fluid(Medium::Air, state), state)
}

/// Air blown across the product, W/(m2 K).
pub(super) fn cross_air(state: &FilmState) -> f64 {
    across(&fluid(Medium::Air, state), state)
}

/// Water streaming across the product, W/(m2 K).
pub(super) fn cross_water(state: &FilmState) -> f64 {
    across(&fluid(Medium::Water, state), state)
}

/// A fine fibre running through air that is blown across it, W/(m2 K).
pub(super) fn fibre_air(state: &FilmState) -> f64 {
    let air = fluid(Medium::Air, state);
    let reynolds = state.speed * state.diameter / air.kinematic_viscosity();
    let numbers = Numbers { reynolds, cross_ratio: state.inputs.velocity / state.speed, ..Numbers::default() };
    nusselt_fibre_kase_matsuo(&numbers) * air.conductivity / state.diameter
}

/// Water jets, W/(m2 K): h = Nu k/D with the D of the disc on which the correlation was measured, whatever the product's
/// diameter is.
pub(super) fn spray(state: &FilmState) -> f64 {
    let water = fluid(Medium::Spray, state);
    let numbers = Numbers { reynolds: spray_reynolds(&water, state), ..Numbers::default() };
    nusselt_spray_karwa(&numbers) * water.conductivity / SPRAYED_DISC
}

/// The medium's properties at the film temperature, the mean of surface and medium.
pub(super) fn fluid(medium: Medium, state: &FilmState) -> Fluid {
    let celsius = 0.5 * (state.surface + state.medium);
    if medium.is_water() { water::at(celsius) } else { air::at(celsius) }
}

/// Re_x = (U + velocity) x / nu: the velocity is against the product's travel, zero for laws that do not take it.
pub(super) fn reynolds_along(fluid: &Fluid, state: &FilmState) -> f64 {
    (state.speed + state.inputs.velocity) * (state.distance + ENTRY_OFFSET) / fluid.kinematic_viscosity()
}

/// Re_a = (U + velocity) d/(2 nu) of a round product; 0 of a flat one.
pub(super) fn reynolds_radius(fluid: &Fluid, state: &FilmState) -> f64 {
    match state.shape {
        Shape::Round => (state.speed + state.inputs.velocity) * 0.5 * state.diameter / fluid.kinematic_viscosity(),
        Shape::Flat => 0.0,
    }
}

/// Re_d = velocity d / nu.
pub(super) fn reynolds_across(fluid: &Fluid, state: &FilmState) -> f64 {
    state.inputs.velocity * state.diameter / fluid.kinematic_viscosity()
}

/// Re = water flux D / mu, D that of the disc.
pub(super) fn spray_reynolds(fluid: &Fluid, state: &FilmState) -> f64 {
    state.inputs.water_flux * SPRAYED_DISC / fluid.viscosity
}

/// Ra of a state.
pub(super) fn rayleigh_of(fluid: &Fluid, state: &FilmState) -> f64 {
    let difference = state.surface - state.medium;
    rayleigh([difference, state.diameter], fluid.expansion, fluid.kinematic_viscosity(), fluid.prandtl)
}

/// Free convection about a horizontal cylinder; a flat product counts as a cylinder of its thickness.
fn free(fluid: &Fluid, state: &FilmState) -> f64 {
    let numbers = Numbers { rayleigh: rayleigh_of(fluid, state), prandtl: fluid.prandtl, ..Numbers::default() };
    nusselt_free_horizontal_churchill_chu(&numbers) * fluid.conductivity / state.diameter
}

/// Cross-flow about a cylinder; a flat product counts as a cylinder of its thickness.
fn across(fluid: &Fluid, state: &FilmState) -> f64 {
    let numbers = Numbers { reynolds: reynolds_across(fluid, state), prandtl: fluid.prandtl, ..Numbers::default() };
    nusselt_crossflow_churchill_bernstein(&numbers) * fluid.conductivity / state.diameter
}

/// The laminar layer on the moving product, local coefficient.
fn laminar(fluid: &Fluid, state: &FilmState) -> f64 {
    let numbers = along(fluid, state);
    if numbers.reynolds == 0.0 {
        return 0.0;
    }
    nusselt_moving_laminar_sakiadis(&numbers) * fluid.conductivity / (state.distance + ENTRY_OFFSET)
}

/// The turbulent layer on the moving product, local coefficient.
fn turbulent(fluid: &Fluid, state: &FilmState) -> f64 {
    let numbers = along(fluid, state);
    if numbers.reynolds == 0.0 {
        return 0.0;
    }
    nusselt_moving_turbulent_ali_dey_white(&numbers) * fluid.conductivity / (state.distance + ENTRY_OFFSET)
}

/// The numbers of a layer along the product.
fn along(fluid: &Fluid, state: &FilmState) -> Numbers {
    let x = state.distance + ENTRY_OFFSET;
    let reynolds = reynolds_along(fluid, state);
    let curvature = match state.shape {
        Shape::Round => 4.0 * x / (reynolds.sqrt() * state.diameter),
        Shape::Flat => 0.0,
    };
    Numbers { reynolds, prandtl: fluid.prandtl, curvature, ..Numbers::default() }
}
