//! A boundary layer that starts at a section's entry: what the laws of a moving product, their ends and the lanes have in common.

use crate::material::medium::Medium;
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

/// That of `moving-water`.
pub(super) const ANY_WATER: BoundaryLayer = BoundaryLayer { medium: Medium::Water, turbulent: TURBULENT_IN_WATER };
/// That of `moving-air`.
pub(super) const ANY_AIR: BoundaryLayer = BoundaryLayer { medium: Medium::Air, turbulent: 1.0 };

/// Ra = g beta |T_s - T_m| d^3 Pr/nu^2 with [`ROUNDED`] corners, from the difference of temperatures, d, beta, nu and Pr.
#[inline(always)]
pub(super) fn rayleigh<V: Vector>([difference, d]: [V; 2], expansion: V, viscosity: V, prandtl: V) -> V {
    let [kelvin, per_kelvin] = [V::all(ROUNDED[0] * ROUNDED[0]), V::all(ROUNDED[1] * ROUNDED[1])];
    let buoyancy = difference.mul_add(difference, kelvin).mul(expansion.mul_add(expansion, per_kelvin)).sqrt();
    let cubed = V::all(GRAVITY).mul(buoyancy).mul(d.mul(d).mul(d));
    cubed.mul(prandtl).div(viscosity.mul(viscosity))
}
