//! Smooth interpolation: cubic splines on evenly spaced knots, continuous up to the second derivative.
//!
//! A time integrator of order four loses its order at every kink of what it integrates, so the tables that it reads in
//! its hot loop (water, air, the moving cylinder) are splines. Slopes are solved for once, and evaluation is one
//! cubic: C. de Boor, A Practical Guide to Splines, 1978, chapter IV.

/// Evenly spaced knots.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Knots {
    pub start: f64,
    pub step: f64,
    pub count: usize,
}

/// A place: the knot to its left, and its share of the way from there to the next.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    pub left: usize,
    pub share: f64,
}

impl Knots {
    /// The last knot.
    pub fn end(&self) -> f64 {
        self.start + self.step * (self.count - 1) as f64
    }

    /// Where `x` lies; outside the knots the nearest end, so that a spline is held constant there.
    #[inline(always)]
    pub fn place(&self, x: f64) -> Place {
        let steps = ((x - self.start) / self.step).clamp(0.0, (self.count - 1) as f64);
        let left = (steps as usize).min(self.count - 2);
        Place { left, share: steps - left as f64 }
    }
}

/// Hermite's cubic over one step, lowest order of the share first: of value and slope per step at its left, then at its right.
pub(crate) fn cubic([left, rise, right, end]: [f64; 4]) -> [f64; 4] {
    let chord = right - left;
    [left, rise, 3.0 * chord - 2.0 * rise - end, rise + end - 2.0 * chord]
}

/// Some cubics at one share: their coefficients side by side, lowest order first.
#[inline(always)]
#[allow(clippy::needless_range_loop)] // The kernel of lanes takes it in: without adaptors of iterators.
pub(crate) fn at<const N: usize>([constant, linear, square, cube]: &[[f64; N]; 4], share: f64) -> [f64; N] {
    let mut values = [0.0; N];
    for i in 0..N {
        values[i] = ((cube[i] * share + square[i]) * share + linear[i]) * share + constant[i];
    }
    values
}

/// Slopes per step of the cubic spline through evenly spaced values (at least five).
///
/// Inside, m_(i-1) + 4 m_i + m_(i+1) = 3 (y_(i+1) - y_(i-1)) makes the second derivative continuous; the end slopes are
/// those of the quartic through the five values nearest the end.
pub(crate) fn slopes(values: &[f64]) -> Vec<f64> {
    let last = values.len() - 1;
    let end = |y: [f64; 5]| (-25.0 * y[0] + 48.0 * y[1] - 36.0 * y[2] + 16.0 * y[3] - 3.0 * y[4]) / 12.0;
    let mut slopes = vec![0.0; last + 1];
    slopes[0] = end([values[0], values[1], values[2], values[3], values[4]]);
    slopes[last] = -end([values[last], values[last - 1], values[last - 2], values[last - 3], values[last - 4]]);

    let mut pivot = vec![4.0; last];
    for i in 1..last {
        slopes[i] = 3.0 * (values[i + 1] - values[i - 1]);
    }
    slopes[1] -= slopes[0];
    slopes[last - 1] -= slopes[last];
    for i in 2..last {
        pivot[i] = 4.0 - 1.0 / pivot[i - 1];
        slopes[i] -= slopes[i - 1] / pivot[i - 1];
    }
    slopes[last - 1] /= pivot[last - 1];
    for i in (1..last - 1).rev() {
        slopes[i] = (slopes[i] - slopes[i + 1]) / pivot[i];
    }
    slopes
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOTS: Knots = Knots { start: -1.0, step: 0.5, count: 9 };

    fn sampled(f: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        let values: Vec<f64> = (0..KNOTS.count).map(|i| f(KNOTS.start + KNOTS.step * i as f64)).collect();
        let slopes = slopes(&values);
        (values, slopes)
    }

    fn at(x: f64, values: &[f64], slopes: &[f64]) -> f64 {
        let Place { left, share } = KNOTS.place(x);
        let cubic = cubic([values[left], slopes[left], values[left + 1], slopes[left + 1]]);
        super::at(&cubic.map(|coefficient| [coefficient]), share)[0]
    }

    #[test]
    fn cubic_is_reproduced() {
        let cubic = |x: f64| 2.0 - x + 0.5 * x * x - 3.0 * x * x * x;
        let (values, slopes) = sampled(cubic);
        for i in 0..=80 {
            let x = -1.0 + 0.05 * i as f64;
            // A spline through a cubic is the cubic; what is left is rounding of values of order 100.
            assert!((at(x, &values, &slopes) - cubic(x)).abs() < 1e-12, "at {x}");
        }
    }

    #[test]
    fn second_derivative_is_continuous() {
        let (values, slopes) = sampled(f64::sin);
        for i in 1..KNOTS.count - 1 {
            // Second derivatives of the Hermite cubics left and right of the knot, per step squared.
            let left = 6.0 * (values[i - 1] - values[i]) + 2.0 * slopes[i - 1] + 4.0 * slopes[i];
            let right = 6.0 * (values[i + 1] - values[i]) - 4.0 * slopes[i] - 2.0 * slopes[i + 1];
            assert!((left - right).abs() < 1e-13, "at knot {i}: {left} {right}");
        }
    }

    #[test]
    fn held_constant_outside() {
        let (values, slopes) = sampled(f64::exp);
        assert_eq!(at(-7.0, &values, &slopes), values[0]);
        // The sum of a cubic's coefficients is rounded.
        assert!((at(99.0, &values, &slopes) / values[8] - 1.0).abs() < 1e-15);
        assert_eq!(at(99.0, &values, &slopes), at(3.0, &values, &slopes));
        assert_eq!(KNOTS.end(), 3.0);
    }
}
