//! The laminar boundary layer on a cylinder that moves along its axis through still fluid: a table and its limits.

use crate::maths::exp_ln::{exp, ln};
use crate::maths::spline::{self, Knots};
use crate::maths::vector::{Row, Vector};
use std::f64::consts::LOG2_E;
use std::sync::LazyLock;

/// -theta'(0; xi, Pr) = Nu_x / Re_x^(1/2), from the entry (xi = 0, the flat sheet) to the long cylinder; the Prandtl
/// number by its logarithm.
///
/// With t = ln(1 + xi) and R = xi / (-theta'(0)), the heat resistance of the layer in units of radius / (2 k),
/// ln(R / t) is a bicubic spline of t and log2 Pr. Beyond the table R is linear in t, as it must become on a long
/// cylinder, from which heat spreads as from a line: its thickness counts only by its logarithm.
#[inline(always)]
pub(super) fn surface_gradient<V: Vector>(xi: V, log_prandtl: V) -> V {
    let one = V::all(1.0);
    // ln(1 + xi), with what the sum was rounded by.
    let sum = one.add(xi);
    let t = xi.sub(sum.sub(one)).div(sum).add(ln(sum));
    let inside = t.min(V::all(OF_CURVATURE.end()));
    let (mut ts, mut prandtls) = (V::Row::all(0.0), V::Row::all(0.0));
    inside.store(&mut ts);
    V::all(LOG2_E).mul(log_prandtl.sub(V::all(LN_LOWEST_PRANDTL))).store(&mut prandtls);
    let surface = &*SURFACE;
    let mut logs = V::Row::all(0.0);
    for lane in 0..<V::Row as Row>::LANES {
        logs[lane] = surface.resistance(ts[lane], prandtls[lane]);
    }
    // On a flat surface xi/t tends to one.
    let curved = V::all(0.0).less(xi);
    let (xi, within) = (V::select(curved, xi, one), V::select(curved, inside, one));
    let beyond = V::all(LONG_CYLINDER).mul(t.sub(inside));
    xi.div(within.mul_add(exp(V::load(&logs)), beyond))
}

/// The table, solved for its slopes once.
static SURFACE: LazyLock<Surface> = LazyLock::new(Surface::new);

/// ln(R / t) as a bicubic spline.
struct Surface {
    /// Between the knots of t and of the Prandtl number: coefficients by powers of the share of the way along t, then by those
    /// of the share across.
    patches: Vec<[[[f64; 4]; 4]; PRANDTLS - 1]>,
}

impl Surface {
    fn new() -> Surface {
        let rows: Vec<[f64; PRANDTLS]> = GRADIENTS
            .iter()
            .enumerate()
            .map(|(row, gradients)| {
                let t = OF_CURVATURE.step * row as f64;
                let xi_over_t = if row == 0 { 1.0 } else { (libm::exp(t) - 1.0) / t };
                gradients.map(|gradient| libm::log(xi_over_t / gradient))
            })
            .collect();
        let across: Vec<Vec<f64>> = rows.iter().map(|row| spline::slopes(row)).collect();
        // Of each Prandtl number the cubics along t of the value and of its slope across.
        let cubics = |values: Vec<f64>| -> Vec<[f64; 4]> {
            let slopes = spline::slopes(&values);
            let at = |left: usize| spline::cubic([values[left], slopes[left], values[left + 1], slopes[left + 1]]);
            (0..values.len() - 1).map(at).collect()
        };
        let values: [_; PRANDTLS] = std::array::from_fn(|column| cubics(rows.iter().map(|row| row[column]).collect()));
        let slopes: [_; PRANDTLS] =
            std::array::from_fn(|column| cubics(across.iter().map(|row| row[column]).collect()));
        let patch = |row: usize, column: usize| {
            std::array::from_fn(|power| {
                let [left, right] = [column, column + 1];
                let ends = [&values[left], &slopes[left], &values[right], &slopes[right]];
                spline::cubic(ends.map(|cubics| cubics[row][power]))
            })
        };
        let patches = (0..rows.len() - 1).map(|row| std::array::from_fn(|column| patch(row, column)));
        Surface { patches: patches.collect() }
    }

    /// ln(R / t) where t is inside the table, and log2 of the Prandtl number over the lowest.
    #[inline(always)]
    fn resistance(&self, t: f64, prandtls: f64) -> f64 {
        let (along, across) = (OF_CURVATURE.place(t), OF_PRANDTL.place(prandtls));
        let [constant, linear, square, cube] = spline::at(&self.patches[along.left][across.left], along.share);
        ((cube * across.share + square) * across.share + linear) * across.share + constant
    }
}

/// dR/dt at the table's end, the same within 0.2 % for every Prandtl number; it tends to 2 for an endless cylinder.
const LONG_CYLINDER: f64 = 2.086;

const PRANDTLS: usize = 7;
/// Logarithm of the lowest Prandtl number of the table, 0.35.
const LN_LOWEST_PRANDTL: f64 = -1.049_822_124_498_677_8;
const OF_PRANDTL: Knots = Knots { start: 0.0, step: 1.0, count: PRANDTLS };
const OF_CURVATURE: Knots = Knots { start: 0.0, step: 0.4, count: GRADIENTS.len() };

/// -theta'(0) for xi = e^t - 1 with t = 0, 0.4 ... 9.6 (rows) and Pr = 0.35, 0.7, 1.4, 2.8, 5.6, 11.2, 22.4 (columns).
///
/// Solved for this program from the boundary-layer equations: velocity and temperature by Chebyshev collocation (100 to
/// 180 points) in the logarithm of the radius with the far field's power law as outer condition, marched in ln xi by
/// implicit Euler steps with Romberg extrapolation, scipy 1.17.1. Two meshes and two outer radii agree to 1e-6 (2e-5 at
/// Pr 0.35 and 22.4); the first row agrees with shooting for the sheet to all its digits, the others with a second,
/// finite-difference solution for xi up to 20 within that one's rounding (1e-4).
const GRADIENTS: [[f64; PRANDTLS]; 25] = [
    [0.2102017, 0.3492358, 0.5498734, 0.8322082, 1.228135, 1.784833, 2.569586],
    [0.2841417, 0.4349449, 0.6419472, 0.9275329, 1.325273, 1.883087, 2.66857],
    [0.385249, 0.5513857, 0.7689456, 1.061835, 1.464768, 2.026336, 2.814544],
    [0.5221341, 0.7091237, 0.9430874, 1.249099, 1.6626, 2.23261, 3.027446],
    [0.7081336, 0.9233015, 1.18118, 1.508066, 1.939897, 2.525772, 3.333994],
    [0.9624898, 1.215316, 1.506603, 1.864326, 2.32497, 2.937466, 3.76966],
    [1.312519, 1.615333, 1.952098, 2.353304, 2.856387, 3.510126, 4.381585],
    [1.796929, 2.165929, 2.5637, 3.024489, 3.587436, 4.301541, 5.233073],
    [2.47065, 2.927307, 3.406323, 3.947392, 4.592463, 5.391496, 6.410371],
    [3.41179, 3.984784, 4.571706, 5.21997, 5.975818, 6.891246, 8.032574],
    [4.731627, 5.459502, 6.189776, 6.980617, 7.884501, 8.956886, 10.26573],
    [6.588988, 7.523826, 8.44491, 9.425271, 10.52615, 11.80827, 13.34279],
    [9.210967, 10.42345, 11.59928, 12.83192, 14.1947, 15.75593, 17.59188],
    [12.92278, 14.50924, 16.02637, 17.5957, 19.30711, 21.23942, 23.4764],
    [18.1909, 20.28306, 22.25919, 24.27936, 26.45601, 28.88225, 31.65238],
    [25.68527, 28.46392, 31.05971, 33.68581, 36.48528, 39.57062, 43.05041],
    [36.36945, 40.0834, 43.51895, 46.96249, 50.59877, 54.56642, 58.99319],
    [51.63092, 56.62363, 61.20144, 65.75192, 70.51674, 75.66973, 81.36423],
    [73.46996, 80.21681, 86.35381, 92.40881, 98.70134, 105.4528, 112.8505],
    [104.7734, 113.934, 122.2065, 130.3137, 138.682, 147.597, 157.2915],
    [149.7121, 162.2038, 173.4105, 184.3263, 195.5249, 207.3792, 220.1829],
    [214.3173, 231.419, 246.6693, 261.4415, 276.5125, 292.3742, 309.4018],
    [307.3194, 330.8174, 351.6561, 371.7393, 392.1254, 413.4694, 436.256],
    [441.3658, 473.7603, 502.3432, 529.7618, 557.4657, 586.3335, 616.9986],
    [634.7944, 679.5915, 718.9326, 756.5099, 794.3179, 833.5432, 875.0211],
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_prandtl_number_has_its_logarithm() {
        assert_eq!(LN_LOWEST_PRANDTL, libm::log(0.35));
    }
}
