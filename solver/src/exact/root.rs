//! Roots of the equations that exact solutions rest on.

use std::convert::Infallible;

use crate::maths::root::{Bracket, RootError, enclose};

/// Root of `f` between `lo` and `hi`, to two units in the last place of the root.
///
/// `f` must change sign between the ends; where it does not, a point of the interval comes back. The method: [`enclose`].
pub(super) fn bracketed(f: impl Fn(f64) -> f64, lo: f64, hi: f64) -> f64 {
    let ends = Bracket { low: [lo, f(lo)], high: [hi, f(hi)] };
    match enclose(|x| Ok::<f64, Infallible>(f(x)), ends, 0.0) {
        Ok(root) | Err(RootError::Unfinished(root)) => root.best(),
        Err(RootError::SameSign(_) | RootError::NotANumber { .. }) => 0.5 * (lo + hi),
        Err(RootError::Function(never)) => match never {},
    }
}

/// Root of a function that rises from below zero at 0: doubles an upper end until it encloses the root.
pub(crate) fn of_rising(f: impl Fn(f64) -> f64, first_guess: f64) -> f64 {
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
