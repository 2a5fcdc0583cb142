//! How thick the turbulent layer on a moving cylinder is: a table of its formula, which costs more than all else of a film.

use std::sync::LazyLock;

use crate::maths::vector::{Row, Vector};

/// ln X of the first knot, knots for each unit of it, and how many: X from 1e-7 to 7e20.
const FIRST: f64 = -16.0;
const EACH: f64 = 32.0;
const KNOTS: usize = 64 * 32 + 1;

/// L^(-1/4) of ln X, where L = {(1.0207 X^0.8)^(-1.4) + [1.951 ln(1 + 1.681 X^0.3263)]^(-1.4)}^(-1/1.4).
///
/// Cubics between knots a thirty-second apart that have the formula's values and slopes there: within 1e-10 of it, relative. Constant
/// outside, where only a product is that hardly moves.
#[inline(always)]
pub(super) fn fourth_root<V: Vector>(log: V) -> V {
    let last = V::all((KNOTS - 2) as f64);
    let place = log.sub(V::all(FIRST)).mul(V::all(EACH)).max(V::all(0.0)).min(last);
    let (mut places, mut found) = (V::Row::all(0.0), V::Row::all(0.0));
    place.store(&mut places);
    let table = &**TABLE;
    for lane in 0..<V::Row as Row>::LANES {
        let knot = (places[lane] as usize).min(KNOTS - 2);
        let t = places[lane] - knot as f64;
        let ([from, rise], [to, end]) = (table[knot], table[knot + 1]);
        // Hermite's cubic, by its difference from the chord.
        let chord = to - from;
        found[lane] = from + t * (chord + (1.0 - t) * ((1.0 - t) * (rise - chord) - t * (end - chord)));
    }
    V::load(&found)
}

/// Value and slope, for a step from knot to knot.
static TABLE: LazyLock<Vec<[f64; 2]>> = LazyLock::new(|| {
    (0..KNOTS).map(|knot| formula(FIRST + knot as f64 / EACH)).map(|[value, slope]| [value, slope / EACH]).collect()
});

/// The formula and its slope with ln X.
fn formula(log: f64) -> [f64; 2] {
    let near = libm::exp(-1.4 * (libm::log(1.0207) + 0.8 * log));
    let inside = 1.681 * libm::exp(0.3263 * log);
    let far_one = 1.951 * libm::log1p(inside);
    let far = libm::pow(far_one, -1.4);
    let slope_of_far = 1.951 * 0.3263 * inside / (1.0 + inside) / far_one;
    let fourth = 0.25 / 1.4;
    let value = libm::pow(near + far, fourth);
    [value, value * fourth * (-1.12 * near - 1.4 * slope_of_far * far) / (near + far)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_its_formula() {
        for i in 0..4000 {
            let log = -12.0 + 0.0101 * f64::from(i);
            let (found, [expected, slope]) = (fourth_root(log), formula(log));
            assert!((found / expected - 1.0).abs() < 1e-10, "{log}: {found} {expected}");
            let step = 1e-4;
            let rise = (fourth_root(log + step) - fourth_root(log - step)) / (2.0 * step);
            // The cubic's own slope, and rounding over the step.
            assert!((rise - slope).abs() < 1e-7, "{log}: {rise} {slope}");
        }
        assert!(fourth_root(-1e3) == formula(FIRST)[0] && fourth_root(1e3).is_finite());
        assert!(fourth_root(f64::NAN).is_finite());
    }
}
