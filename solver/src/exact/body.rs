//! One material, uniform at the start, cooled through a surface film: flat or round.

use std::f64::consts::PI;

use super::check::{half_unit, rows};
use super::root::bracketed;
use super::short_time;
use super::{Check, OutOfRange, positive_or_infinite};
use crate::case::Shape;
use crate::data::witness::{Subject, Witness};

/// Below this Fourier number a flat body is two half spaces back to back, to 1e-22.
const SHORT_FLAT: f64 = 0.02;

/// Below this Fourier number a round body is a curved half space, to the order of the Fourier number.
const SHORT_ROUND: f64 = 1e-8;

/// Terms smaller than exp(-EXPONENT), 1e-18, are left out.
const EXPONENT: f64 = 41.5;

/// A flat or round body in dimensionless form: theta = (T - Tmedium)/(Tstart - Tmedium).
///
/// theta = sum of C_n f(zeta_n x) exp(-zeta_n^2 Fo). Flat: f = cos, zeta tan zeta = Bi, C = 4 sin zeta/(2 zeta + sin 2
/// zeta), x from the mid-plane over the half thickness L, Bi = h L/k, Fo = alpha t/L^2. Round: f = J0, zeta J1/J0 = Bi,
/// C = (2/zeta) J1/(J0^2 + J1^2), x = r/r0, Bi = h r0/k, Fo = alpha t/r0^2. As many terms as the digits of f64 need;
/// absolute error below 1e-13. For Fo < 0.02 (flat, as accurate) and Fo < 1e-8 (round, error below 1e-9) the
/// short-time solution stands in; a round body just above takes 20 000 terms, some 0.02 s. Fo at or below 0 gives 1;
/// positions are held within 0 and 1. Source: Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 3.11 and 7.7;
/// Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, 5.39 to 5.49 (numbering from memory, not checked).
///
/// ```
/// use quenchway::{case::Shape, exact::Body};
/// let rod = Body::new(Shape::Round, 5.0)?;
/// assert!((rod.centre(0.5) - 0.207554164709).abs() < 1e-12);
/// assert!((rod.surface(0.5) - 0.0476952670065).abs() < 1e-12);
/// assert!((rod.mean(0.5) - 0.120455385093).abs() < 1e-12);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    shape: Shape,
    biot: f64,
}

/// One term of the series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// Eigenvalue zeta; zeta^2 is the decay per unit of Fo.
    pub zeta: f64,
    /// Coefficient C.
    pub coefficient: f64,
}

impl Body {
    /// A body of a given Biot number; infinity lets the surface step to the medium's temperature.
    ///
    /// # Errors
    ///
    /// A Biot number that is not above 0.
    pub fn new(shape: Shape, biot: f64) -> Result<Body, OutOfRange> {
        positive_or_infinite("Biot number", biot)?;
        Ok(Body { shape, biot })
    }

    /// First eigenvalue and coefficient: for Fo > 0.2 the first term alone is within 2 %.
    ///
    /// ```
    /// use quenchway::{case::Shape, exact::Body};
    /// let term = Body::new(Shape::Flat, 1.0)?.one_term();
    /// assert!((term.zeta - 0.8603335890).abs() < 1e-10 && (term.coefficient - 1.1191320084).abs() < 1e-10);
    /// # Ok::<(), quenchway::exact::OutOfRange>(())
    /// ```
    pub fn one_term(&self) -> Term {
        self.term(1)
    }

    /// Term `number` of the series, from 1 (0 counts as 1); zeta to a few units in its last place.
    pub fn term(&self, number: u32) -> Term {
        let number = number.max(1);
        // The weights keep an infinite Biot number within range: they divide the condition by 1 + Bi.
        let film = if self.biot.is_infinite() { 1.0 } else { self.biot / (1.0 + self.biot) };
        let body = 1.0 / (1.0 + self.biot);
        // Between neighbouring multiples of pi lies exactly one root, in both shapes.
        let (mut lo, mut hi) = (f64::from(number - 1) * PI, f64::from(number) * PI);
        if number == 1 {
            // Lumped bounds: Bi/(1 + Bi) < zeta^2/m < Bi, m = 1 flat, 2 round; they keep the digits of a tiny root.
            let faces = if self.shape == Shape::Flat { 1.0 } else { 2.0 };
            (lo, hi) = ((faces * film).sqrt(), hi.min((faces * self.biot).sqrt()));
        }
        match self.shape {
            Shape::Flat => {
                let condition = |zeta: f64| zeta * libm::sin(zeta) * body - libm::cos(zeta) * film;
                let zeta = bracketed(condition, lo, hi);
                let coefficient = 4.0 * libm::sin(zeta) / (2.0 * zeta + libm::sin(2.0 * zeta));
                Term { zeta, coefficient }
            }
            Shape::Round => {
                let condition = |zeta: f64| zeta * libm::j1(zeta) * body - libm::j0(zeta) * film;
                let zeta = bracketed(condition, lo, hi);
                let (j0, j1) = (libm::j0(zeta), libm::j1(zeta));
                Term { zeta, coefficient: 2.0 / zeta * j1 / (j0 * j0 + j1 * j1) }
            }
        }
    }

    /// theta on the mid-plane or axis.
    pub fn centre(&self, fourier: f64) -> f64 {
        self.theta(0.0, fourier)
    }

    /// theta of the surface.
    pub fn surface(&self, fourier: f64) -> f64 {
        self.theta(1.0, fourier)
    }

    /// theta at a position from 0 (mid-plane, axis) to 1 (surface).
    pub fn theta(&self, position: f64, fourier: f64) -> f64 {
        let position = position.clamp(0.0, 1.0);
        if fourier <= 0.0 {
            return 1.0;
        }
        match self.shape {
            Shape::Flat if fourier < SHORT_FLAT => short_time::flat(self.biot, position, fourier),
            Shape::Round if fourier < SHORT_ROUND => short_time::round(self.biot, position, fourier),
            // At the surface the condition itself gives the value without cancellation.
            Shape::Flat if position == 1.0 && self.biot > 1.0 => {
                self.sum(fourier, |zeta| zeta * libm::sin(zeta) / self.biot)
            }
            Shape::Round if position == 1.0 && self.biot > 1.0 => {
                self.sum(fourier, |zeta| zeta * libm::j1(zeta) / self.biot)
            }
            Shape::Flat => self.sum(fourier, |zeta| libm::cos(zeta * position)),
            Shape::Round => self.sum(fourier, |zeta| libm::j0(zeta * position)),
        }
    }

    /// Mean theta: over the thickness, or over the cross-section.
    pub fn mean(&self, fourier: f64) -> f64 {
        if fourier <= 0.0 {
            return 1.0;
        }
        match self.shape {
            Shape::Flat if fourier < SHORT_FLAT => short_time::flat_mean(self.biot, fourier),
            Shape::Round if fourier < SHORT_ROUND => short_time::round_mean(self.biot, fourier),
            Shape::Flat => self.sum(fourier, |zeta| libm::sin(zeta) / zeta),
            Shape::Round => self.sum(fourier, |zeta| 2.0 * libm::j1(zeta) / zeta),
        }
    }

    /// Sum of the series with the factor that a place or a mean puts on every term.
    fn sum(&self, fourier: f64, factor: impl Fn(f64) -> f64) -> f64 {
        if fourier.is_nan() {
            return f64::NAN;
        }
        let mut sum = 0.0;
        let mut number = 1;
        // The lower end of the next root's bracket says whether its term can still matter.
        while (f64::from(number - 1) * PI).powi(2) * fourier < EXPONENT {
            let term = self.term(number);
            sum += term.coefficient * factor(term.zeta) * libm::exp(-term.zeta * term.zeta * fourier);
            number += 1;
        }
        sum
    }
}

/// The comparisons with reference figures.
pub(super) fn checks() -> Vec<Check> {
    const SOURCE: &str = "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, 5.39 to 5.49; Carslaw & Jaeger, \
                          Conduction of Heat in Solids, 1959, 3.11 and 7.7 (numbering from memory, not checked); \
                          figure computed with mpmath";
    let mut checks = Vec::new();
    let mut compare = |what: String, expected: f64, computed: f64, digits: i32| {
        let bound = half_unit(expected, digits) + 4e-15;
        let (family, source, unit) = ("flat and round body with a film", SOURCE, "");
        let (subject, witness) = (Subject::Series, Witness::Equation);
        let reason = "half of the last digit kept, and 4e-15 for the arithmetic";
        checks.push(Check { family, what, source, subject, witness, unit, expected, computed, bound, reason });
    };
    for row in rows(include_str!("reference/one_term.csv")) {
        let biot = row.number(0);
        for (shape, name, column) in [(Shape::Flat, "flat", 1), (Shape::Round, "round", 3)] {
            let term = Body { shape, biot }.one_term();
            compare(format!("{name}, Bi {biot}, zeta_1"), row.number(column), term.zeta, 13);
            compare(format!("{name}, Bi {biot}, C_1"), row.number(column + 1), term.coefficient, 13);
        }
    }
    for row in rows(include_str!("reference/body_series.csv")) {
        let shape = if row.word(0) == "flat" { Shape::Flat } else { Shape::Round };
        let (biot, fourier) = (row.number(1), row.number(2));
        let body = Body { shape, biot };
        let found = [body.centre(fourier), body.theta(0.5, fourier), body.surface(fourier), body.mean(fourier)];
        for (place, (name, computed)) in ["centre", "half way", "surface", "mean"].into_iter().zip(found).enumerate() {
            // Where the film is infinite the surface is the medium's by definition: 0 against 0 cannot fail.
            if biot.is_infinite() && name == "surface" {
                continue;
            }
            let what = format!("{}, Bi {biot}, Fo {fourier}, {name}", row.word(0));
            compare(what, row.number(3 + place), computed, 12);
        }
    }
    checks
}

#[cfg(test)]
mod tests {
    use super::*;

    const BIOTS: [f64; 6] = [1e-4, 0.1, 1.0, 20.0, 1e4, f64::INFINITY];

    #[test]
    fn the_short_time_forms_meet_the_series() {
        for biot in BIOTS {
            for position in [0.0, 0.5, 0.9, 1.0] {
                let body = Body { shape: Shape::Flat, biot };
                let short = short_time::flat(biot, position, SHORT_FLAT);
                // Both exact: rounding only.
                assert!((short - body.theta(position, SHORT_FLAT)).abs() < 1e-13, "flat {biot} {position}");
            }
            let body = Body { shape: Shape::Flat, biot };
            assert!((short_time::flat_mean(biot, SHORT_FLAT) - body.mean(SHORT_FLAT)).abs() < 1e-13, "flat {biot}");
        }
    }

    #[test]
    fn the_short_time_form_of_a_round_body_errs_by_the_order_of_the_fourier_number() {
        for biot in BIOTS {
            let body = Body { shape: Shape::Round, biot };
            for fourier in [1e-4_f64, 1e-6] {
                for position in [0.6, 1.0 - 2.0 * fourier.sqrt(), 1.0] {
                    let error = short_time::round(biot, position, fourier) - body.theta(position, fourier);
                    assert!(error.abs() < fourier, "{biot} {position} {fourier}: {error:e}");
                }
                let error = short_time::round_mean(biot, fourier) - body.mean(fourier);
                // One order higher: the mean counts a layer of sqrt(Fo).
                assert!(error.abs() < fourier * fourier.sqrt(), "{biot} {fourier}: {error:e}");
            }
        }
    }

    #[test]
    fn roots_satisfy_their_condition_at_every_biot_number() {
        for biot in [1e-12, 1e-4, 1.0, 1e8, 1e300] {
            for number in [1, 2, 3, 50, 1000] {
                let flat = Body { shape: Shape::Flat, biot }.term(number).zeta;
                let round = Body { shape: Shape::Round, biot }.term(number).zeta;
                // Newton step of each condition: the distance from the true root.
                let step = (flat * libm::sin(flat) / biot - libm::cos(flat))
                    / (libm::sin(flat) * (1.0 + 1.0 / biot) + flat * libm::cos(flat) / biot);
                assert!(step.abs() < 1e-15 * flat.max(1.0), "flat {biot} {number}: {step:e}");
                let (j0, j1) = (libm::j0(round), libm::j1(round));
                let step = (round * j1 / biot - j0) / (j1 + round * j0 / biot);
                assert!(step.abs() < 1e-15 * round.max(1.0), "round {biot} {number}: {step:e}");
            }
        }
        // Lumped limits, next order Bi^2: zeta^2 = Bi (1 - Bi/3) and 2 Bi (1 - Bi/4).
        let flat = Body { shape: Shape::Flat, biot: 1e-4 }.one_term().zeta;
        let round = Body { shape: Shape::Round, biot: 1e-4 }.one_term().zeta;
        assert!((flat * flat / (1e-4 * (1.0 - 1e-4 / 3.0)) - 1.0).abs() < 1e-8);
        assert!((round * round / (2e-4 * (1.0 - 1e-4 / 4.0)) - 1.0).abs() < 1e-8);
    }

    #[test]
    fn the_mean_falls_by_what_the_film_takes() {
        for (shape, faces) in [(Shape::Flat, 1.0), (Shape::Round, 2.0)] {
            for biot in [0.1, 1.0, 20.0] {
                for fourier in [1e-3, 0.05, 0.5] {
                    let body = Body { shape, biot };
                    let step = 1e-4 * fourier;
                    let rate = (body.mean(fourier + step) - body.mean(fourier - step)) / (2.0 * step);
                    // Central difference over 1e-4 of the time: truncation about 1e-8 of the rate.
                    let taken = -faces * biot * body.surface(fourier);
                    assert!((rate / taken - 1.0).abs() < 1e-7, "{shape:?} {biot} {fourier}: {rate} {taken}");
                }
            }
        }
    }

    #[test]
    fn senseless_input_is_refused_or_harmless() {
        assert!(Body::new(Shape::Flat, 0.0).is_err() && Body::new(Shape::Flat, f64::NAN).is_err());
        for (shape, biot) in [(Shape::Flat, 1e-300), (Shape::Round, 1e300), (Shape::Round, f64::INFINITY)] {
            let body = Body::new(shape, biot).unwrap();
            assert_eq!((body.theta(0.5, 0.0), body.mean(-1.0)), (1.0, 1.0));
            assert_eq!(body.theta(7.0, 0.3), body.surface(0.3));
            for fourier in [1e-320, 1e-12, 1e12, f64::MAX] {
                for position in [0.0, 0.999999, 1.0] {
                    let theta = body.theta(position, fourier);
                    assert!((-1e-8..=1.0 + 1e-8).contains(&theta), "{shape:?} {biot} {position} {fourier}: {theta}");
                }
            }
        }
    }
}
