//! The laminar boundary layer on a cylinder that moves along its axis through still fluid: a table and its limits.

use crate::spline::{self, Knots, Place};
use libm::{exp, log1p, log2};
use std::sync::OnceLock;

/// -theta'(0; xi, Pr) = Nu_x / Re_x^(1/2), from the entry (xi = 0, the flat sheet) to the long cylinder.
///
/// With t = ln(1 + xi) and R(t, Pr) = xi / (-theta'(0)), twice the radius over the thickness of a still layer of the same
/// resistance, ln(R / t) is a bicubic spline of t and log2 Pr. R is linear in t beyond the table, as it must become for a
/// long cylinder: heat then spreads from it as from a line and the layer's thickness counts by its logarithm.
pub(super) fn surface_gradient(xi: f64, prandtl: f64) -> f64 {
    let of_prandtl = OF_PRANDTL.place(log2(prandtl));
    if xi <= 0.0 {
        return 1.0 / ratio(&OF_CURVATURE.place(0.0), &of_prandtl);
    }
    let t = log1p(xi);
    let end = OF_CURVATURE.end();
    let resistance = if t <= end {
        t * ratio(&OF_CURVATURE.place(t), &of_prandtl)
    } else {
        end * ratio(&OF_CURVATURE.place(end), &of_prandtl) + LONG_CYLINDER * (t - end)
    };
    xi / resistance
}
