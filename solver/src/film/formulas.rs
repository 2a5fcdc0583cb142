//! Film laws: what the published correlations give for a product on a line.

use super::{FilmState, Numbers, layers};
use super::{
    nusselt_crossflow_churchill_bernstein, nusselt_fibre_kase_matsuo, nusselt_free_horizontal_churchill_chu,
    nusselt_moving_laminar_sakiadis, nusselt_moving_turbulent_ali_dey_white, nusselt_spray_karwa,
};
use crate::material::fluid::Fluid;
use crate::material::medium::Medium;
use crate::material::{air, water};
use crate::maths::shape::Shape;
use crate::maths::vector::Vector;

/// Added to the distance from a section's entry, m.
///
/// For h proportional to x^(-1/2) the mean over the first 10 mm is the local value at 2.5 mm. So h at the entry is that
/// mean instead of infinity, and h has no kink behind it. Over those 10 mm themselves a little less heat flows than the
/// layer would take.
pub const ENTRY_OFFSET: f64 = 2.5e-3;

/// Part of the turbulent layer's heat that a product in water is taken to give off.
///
/// The theory holds in unlimited water at rest. In a trough the water runs along with the product, air and steam come in
/// with it, guides touch it: all of that takes away. The theory's own doubt is 0.85 to 1.3, with the trough's share the band
/// goes from 0.4 to 1.3 of it (`end.rs`), and 0.75 is the geometric middle of that. A judgement, no
/// source: no measurement of a wire in water stands behind it.
pub const TURBULENT_IN_WATER: f64 = 0.75;

/// Diameter of the disc on which the spray correlation was measured, m.
const SPRAYED_DISC: f64 = 20e-3;

/// Acceleration of gravity, m/s2 (standard value: 3rd General Conference on Weights and Measures, 1901).
const GRAVITY: f64 = 9.80665;

/// Reynolds numbers on the distance and on the radius at which half of the layer counts as turbulent.
///
/// Ours: the water at an entry is stirred. A layer on a long cylinder is stable at any length below 1060 on the radius (Tutty,
/// Price, Parsons, Phys. Fluids 14 (2002) 628, abstract), and below about 300 nothing sustains turbulence (memory).
pub const TRANSITION: [f64; 2] = [2e5, 600.0];

/// Rounds the corner of the Rayleigh number at equal temperatures and the one at water's greatest density, each by less than
/// 1e-4 of h when the difference is above 3 K and the film above 8 degC: K, and 1/K.
const ROUNDED: [f64; 2] = [0.1, 5e-6];

/// A boundary layer that starts at the section's entry, together with free convection: what the laws of a moving product
/// have in common, so that lanes compute them side by side.
#[derive(Debug)]
pub struct BoundaryLayer {
    /// The medium.
    pub(crate) medium: Medium,
    /// What its turbulent part is multiplied with.
    pub(crate) turbulent: f64,
}

/// That of [`moving_water`].
pub(super) const ANY_WATER: BoundaryLayer = BoundaryLayer { medium: Medium::Water, turbulent: TURBULENT_IN_WATER };
/// That of [`moving_air`].
pub(super) const ANY_AIR: BoundaryLayer = BoundaryLayer { medium: Medium::Air, turbulent: 1.0 };

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

/// Ra = g beta |T_s - T_m| d^3 Pr/nu^2 with [`ROUNDED`] corners, from the difference of temperatures, d, beta, nu and Pr.
#[inline(always)]
pub(super) fn rayleigh<V: Vector>([difference, d]: [V; 2], expansion: V, viscosity: V, prandtl: V) -> V {
    let [kelvin, per_kelvin] = [V::all(ROUNDED[0] * ROUNDED[0]), V::all(ROUNDED[1] * ROUNDED[1])];
    let buoyancy = difference.mul_add(difference, kelvin).mul(expansion.mul_add(expansion, per_kelvin)).sqrt();
    let cubed = V::all(GRAVITY).mul(buoyancy).mul(d.mul(d).mul(d));
    cubed.mul(prandtl).div(viscosity.mul(viscosity))
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
