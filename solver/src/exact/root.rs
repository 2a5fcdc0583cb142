//! The root of a function between two points where its sign differs.

/// Root of `f` between `lo` and `hi`, to two units in the last place of the root.
///
/// Inverse quadratic interpolation where it is safe, halving elsewhere. `f` must change sign between the ends; where
/// it does not, a point of the interval comes back. Never more than 200 evaluations. Source: T. R. Chandrupatla, "A new
/// hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function without using derivatives",
/// Advances in Engineering Software 28 (1997) 145 (from memory, not checked).
pub(super) fn bracketed(f: impl Fn(f64) -> f64, lo: f64, hi: f64) -> f64 {
    // `a` is the newest point, `b` the other end of the bracket, `c` the point before.
    let (mut a, mut b) = (hi, lo);
    let (mut at_a, mut at_b) = (f(a), f(b));
    let mut share = 0.5;
    let mut best = a;
    for _ in 0..200 {
        let newest = a + share * (b - a);
        let at_newest = f(newest);
        let (c, at_c);
        if (at_newest > 0.0) == (at_a > 0.0) {
            (c, at_c) = (a, at_a);
        } else {
            (c, at_c) = (b, at_b);
            (b, at_b) = (a, at_a);
        }
        (a, at_a) = (newest, at_newest);
        let at_best;
        (best, at_best) = if at_b.abs() < at_a.abs() { (b, at_b) } else { (a, at_a) };
        let smallest_share = (2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE) / (b - a).abs();
        if smallest_share > 0.5 || at_best == 0.0 {
            return best;
        }
        let place = (a - b) / (c - b);
        let height = (at_a - at_b) / (at_c - at_b);
        share = if height * height < place && (1.0 - height) * (1.0 - height) < 1.0 - place {
            at_a / (at_b - at_a) * at_c / (at_b - at_c)
                + (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
        } else {
            0.5
        };
        share = share.max(smallest_share).min(1.0 - smallest_share);
    }
    best
}

/// Root of a function that rises from below zero at 0: doubles an upper end until it encloses the root.
pub(super) fn of_rising(f: impl Fn(f64) -> f64, first_guess: f64) -> f64 {
    let mut hi = first_guess;
    for _ in 0..2000 {
        if f(hi) > 0.0 {
            break;
        }
        hi *= 2.0;
    }
    bracketed(f, 0.0, hi)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_of_known_functions() {
        // Two units in the last place of the root, and the rounding of the function itself.
        assert!((bracketed(|x| x * x - 2.0, 0.0, 2.0) - 2.0_f64.sqrt()).abs() < 1e-15);
        assert!((bracketed(libm::cos, 1.0, 2.0) - std::f64::consts::FRAC_PI_2).abs() < 1e-15);
        assert!((bracketed(|x| x * x * x - 1e-30, -1.0, 1.0) - 1e-10).abs() < 1e-22);
        assert!((of_rising(|x| x - 1000.0, 1.0) - 1000.0).abs() < 1e-12);
    }

    #[test]
    fn a_hard_function_takes_few_evaluations_and_a_senseless_one_ends() {
        let count = std::cell::Cell::new(0);
        let f = |x: f64| {
            count.set(count.get() + 1);
            libm::tanh(50.0 * (x - 0.3))
        };
        assert!((bracketed(f, 0.0, 10.0) - 0.3).abs() < 1e-15);
        // Halving alone would need 56.
        assert!(count.get() < 30, "{} evaluations", count.get());
        assert!((0.0..=1.0).contains(&bracketed(|_| 1.0, 0.0, 1.0)));
        bracketed(|_| f64::NAN, 0.0, 1.0);
    }
}
