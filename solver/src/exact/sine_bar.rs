//! A bar whose far end swings with time: the exact solution behind NAFEMS test T3.

use std::f64::consts::PI;

use super::check::rows;
use super::{Check, OutOfRange, Properties, finite, positive};
use crate::data::witness::{Subject, Witness};

/// A bar at 0 degC, held at 0 degC at x = 0, whose end x = L follows A sin(omega t).
///
/// T = A Im[exp(i omega t) sinh(p x)/sinh(p L)] + sum of (2 A omega/(n pi)) (-1)^(n+1) lambda_n/(lambda_n^2 + omega^2)
/// sin(n pi x/L) exp(-lambda_n t) with p = sqrt(i omega/alpha) and lambda_n = alpha (n pi/L)^2. Source: derived;
/// compare Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 3.6 (numbering from memory, not checked). Problem: The
/// Standard NAFEMS Benchmarks, revision 3, 1990, test T3.
///
/// ```
/// use quenchway::exact::{Properties, SineBarProblem};
/// let bar = SineBarProblem {
///     properties: Properties::new(35.0, 7200.0, 440.5),
///     length: 0.1,
///     amplitude: 100.0,
///     angular_frequency: std::f64::consts::PI / 40.0,
/// };
/// assert!((bar.solve()?.temperature(0.08, 32.0) - 36.603115959).abs() < 1e-9);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SineBarProblem {
    /// What the bar is made of.
    pub properties: Properties,
    /// Length L, m.
    pub length: f64,
    /// Amplitude A of the end's temperature, K.
    pub amplitude: f64,
    /// Angular frequency omega, 1/s.
    pub angular_frequency: f64,
}

/// The solution of a [`SineBarProblem`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SineBar {
    problem: SineBarProblem,
}

impl SineBarProblem {
    /// Checks the values and gives the temperature as a function of place and time.
    ///
    /// # Errors
    ///
    /// A property, length or frequency not above 0, an amplitude that is not finite.
    pub fn solve(&self) -> Result<SineBar, OutOfRange> {
        self.properties.check()?;
        positive("length", self.length)?;
        positive("angular frequency", self.angular_frequency)?;
        finite("amplitude", self.amplitude)?;
        Ok(SineBar { problem: *self })
    }
}

impl SineBar {
    /// Temperature, degC, at a place, m (held within the bar), and a time, s (at or before 0 gives 0 degC).
    ///
    /// Error below 1e-12 of the amplitude for alpha t/L^2 >= 1e-8.
    pub fn temperature(&self, place: f64, time: f64) -> f64 {
        if time <= 0.0 {
            return 0.0;
        }
        let place = place.clamp(0.0, self.problem.length);
        self.problem.amplitude * (self.swing(place, time) + self.transient(place / self.problem.length, time))
    }

    /// What remains when the start is forgotten, over the amplitude.
    fn swing(&self, place: f64, time: f64) -> f64 {
        let SineBarProblem { properties, length, angular_frequency, .. } = self.problem;
        // sinh((1 + i) a) = sinh a cos a + i cosh a sin a with a = x sqrt(omega/(2 alpha)), scaled by exp(-a).
        let depth = (0.5 * angular_frequency / properties.diffusivity()).sqrt();
        let scaled = |a: f64| {
            let fall = libm::exp(-2.0 * a);
            (-0.5 * libm::expm1(-2.0 * a) * libm::cos(a), 0.5 * (1.0 + fall) * libm::sin(a))
        };
        let ((x_re, x_im), (l_re, l_im)) = (scaled(place * depth), scaled(length * depth));
        let size = libm::exp((place - length) * depth) / (l_re * l_re + l_im * l_im);
        let (re, im) = ((x_re * l_re + x_im * l_im) * size, (x_im * l_re - x_re * l_im) * size);
        let (sin, cos) = libm::sincos(angular_frequency * time);
        re * sin + im * cos
    }

    /// What the start adds, over the amplitude, at a relative place.
    fn transient(&self, place: f64, time: f64) -> f64 {
        let SineBarProblem { properties, length, angular_frequency: omega, .. } = self.problem;
        let first = properties.diffusivity() * (PI / length) * (PI / length);
        let mut sum = 0.0;
        let mut sign = 1.0;
        // 100 000 terms reach alpha t/L^2 = 4e-10.
        for n in 1..100_000 {
            let n = f64::from(n);
            let rate = first * n * n;
            if rate * time > 41.5 {
                break;
            }
            let weight = rate / (rate * rate + omega * omega);
            sum += sign * 2.0 * omega / (n * PI) * weight * libm::sin(n * PI * place) * libm::exp(-rate * time);
            sign = -sign;
        }
        sum
    }
}

/// The comparisons with reference figures.
pub(super) fn checks() -> Vec<Check> {
    rows(include_str!("reference/sine_bar.csv"))
        .map(|row| {
            let (place, time, expected) = (row.number(0), row.number(1), row.number(2));
            let printed = row.word(4) == "read";
            Check {
                family: "bar with a swinging end",
                what: format!("x = {place} m, t = {time} s"),
                source: if printed {
                    "The Standard NAFEMS Benchmarks, revision 3, 1990, test T3, target as the MOOSE documentation \
                     prints it (page nafems_t3_verif)"
                } else {
                    "The Standard NAFEMS Benchmarks, revision 3, 1990, test T3; figure computed with mpmath"
                },
                subject: Subject::Series,
                witness: if printed { Witness::Printed } else { Witness::Equation },
                unit: "degC",
                expected,
                computed: nafems_t3().solve().map_or(f64::NAN, |bar| bar.temperature(place, time)),
                bound: 0.5 * libm::pow(10.0, -row.number(3)) + 1e-13,
                reason: "half of the last decimal kept, and 1e-13 K for sums of 100 K",
            }
        })
        .collect()
}

/// The bar of NAFEMS test T3.
fn nafems_t3() -> SineBarProblem {
    let properties = Properties::new(35.0, 7200.0, 440.5);
    SineBarProblem { properties, length: 0.1, amplitude: 100.0, angular_frequency: PI / 40.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_starts_cold_and_follows_its_ends() {
        let bar = nafems_t3().solve().unwrap();
        for place in [0.0, 0.03, 0.08, 0.0999] {
            // The periodic part and the series cancel; the end has moved by 100 K omega t = 8e-7 K.
            assert!(bar.temperature(place, 1e-7).abs() < 1e-6, "{place}");
        }
        for time in [1.0, 32.0, 1000.0] {
            assert_eq!(bar.temperature(0.0, time), 0.0);
            let end = 100.0 * libm::sin(PI / 40.0 * time);
            assert!((bar.temperature(0.1, time) - end).abs() < 1e-11, "{time}");
        }
    }

    #[test]
    fn it_obeys_the_heat_equation() {
        let bar = nafems_t3().solve().unwrap();
        let (dx, dt) = (1e-4, 1e-2);
        let at = |x, t| bar.temperature(x, t);
        let rate = (at(0.08, 32.0 + dt) - at(0.08, 32.0 - dt)) / (2.0 * dt);
        let bend = (at(0.08 + dx, 32.0) - 2.0 * at(0.08, 32.0) + at(0.08 - dx, 32.0)) / (dx * dx);
        // Truncation of the differences: (dx/L)^2 times the sixth power of pi at most, 1e-4.
        assert!((rate / (nafems_t3().properties.diffusivity() * bend) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn senseless_input_is_refused_or_harmless() {
        assert!(SineBarProblem { length: 0.0, ..nafems_t3() }.solve().is_err());
        assert!(SineBarProblem { angular_frequency: f64::NAN, ..nafems_t3() }.solve().is_err());
        assert_eq!(nafems_t3().solve().unwrap().temperature(0.05, -1.0), 0.0);
        let fast = SineBarProblem { angular_frequency: 1e9, ..nafems_t3() }.solve().unwrap();
        assert!(fast.temperature(0.05, 1e-12).is_finite() && fast.temperature(0.1, 1e9).is_finite());
    }
}
