//! Flat and round bodies in their first moments, where the series would need too many terms.
//!
//! Flat: two half spaces back to back; the neglected reflections are below 1e-22 for Fo < 0.02. Round: half space with
//! the first correction for curvature; what is neglected is of the order of Fo. Laplace transform of
//! I0(q r)/(q I1(q) + Bi I0(q)) with the large-argument forms of I0 and I1, after Carslaw & Jaeger, Conduction of Heat
//! in Solids, 1959, 13.3 (numbering from memory, not checked); the form for every Bi is derived.

use std::f64::consts::{FRAC_2_SQRT_PI, PI};

use super::half_space::{film_heat, film_response};
use super::special::erfcx;

/// theta at `position` (0 mid-plane, 1 surface) of a flat body.
pub(super) fn flat(biot: f64, position: f64, fourier: f64) -> f64 {
    let spread = fourier.sqrt();
    let far = film_response(0.5 * (1.0 + position) / spread, biot * spread);
    1.0 - film_response(0.5 * (1.0 - position) / spread, biot * spread) - far
}

/// Mean theta of a flat body.
pub(super) fn flat_mean(biot: f64, fourier: f64) -> f64 {
    1.0 - emptied(biot, fourier)
}

/// theta at `position` (0 axis, 1 surface) of a round body.
pub(super) fn round(biot: f64, position: f64, fourier: f64) -> f64 {
    // The inner half has felt nothing; the form below would blow up at the axis.
    if position < 0.5 {
        return 1.0;
    }
    let spread = fourier.sqrt();
    let eta = 0.5 * (1.0 - position) / spread;
    let plane = film_response(eta, biot * spread);
    let mut curvature = 0.0;
    if biot.is_finite() {
        let z = eta + biot * spread;
        let slope = 2.0 * z * erfcx(z) - FRAC_2_SQRT_PI;
        curvature = 0.5 * (plane / biot + spread * libm::exp(-eta * eta) * slope);
    }
    1.0 - (plane + curvature) / position.sqrt()
}

/// Mean theta of a round body.
pub(super) fn round_mean(biot: f64, fourier: f64) -> f64 {
    let emptied = emptied(biot, fourier);
    let mut curvature = fourier;
    if biot.is_finite() {
        curvature = fourier * (1.0 + 2.0 * erfcx(biot * fourier.sqrt())) - 3.0 * emptied / biot;
    }
    1.0 - 2.0 * emptied + curvature
}

/// Heat given off by a plane face, as a depth emptied relative to the half thickness or radius.
fn emptied(biot: f64, fourier: f64) -> f64 {
    if biot.is_infinite() {
        return 2.0 * (fourier / PI).sqrt();
    }
    film_heat(biot * fourier.sqrt()) / biot
}
