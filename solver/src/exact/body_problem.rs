//! One material, uniform at the start, cooled through a surface film: with dimensions.

use super::{Body, OutOfRange, Properties, finite, positive, positive_or_infinite};
use crate::case::Shape;

/// A flat or round body with its dimensions: what [`BodyProblem::solve`] takes.
///
/// ```
/// use quenchway::{case::Shape, exact::{BodyProblem, Properties}};
/// // A solid rod of 3 mm, 190 degC, in water of 20 degC.
/// let plastic = Properties::new(0.17, 1400.0, 1500.0);
/// let (shape, film, start, medium) = (Shape::Round, 3000.0, 190.0, 20.0);
/// let rod = BodyProblem { shape, size: 1.5e-3, properties: plastic, film, start, medium }.solve()?;
/// assert!(rod.surface(5.0) < rod.mean(5.0) && rod.mean(5.0) < rod.centre(5.0));
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodyProblem {
    /// Flat (cooled on both faces) or round.
    pub shape: Shape,
    /// Half thickness or radius, m.
    pub size: f64,
    /// What it is made of.
    pub properties: Properties,
    /// Film coefficient, W/(m2 K); infinity is a step of the surface temperature.
    pub film: f64,
    /// Uniform temperature at time 0, degC.
    pub start: f64,
    /// Temperature of the medium, degC.
    pub medium: f64,
}

impl BodyProblem {
    /// Checks the values and gives the temperatures as functions of place and time.
    ///
    /// # Errors
    ///
    /// A size, property or film that is not above 0, a temperature that is not finite.
    pub fn solve(&self) -> Result<BodyCooling, OutOfRange> {
        positive("half thickness or radius", self.size)?;
        self.properties.check()?;
        positive_or_infinite("film coefficient", self.film)?;
        finite("start temperature", self.start)?;
        finite("medium temperature", self.medium)?;
        let body = Body::new(self.shape, self.film * self.size / self.properties.conductivity)?;
        Ok(BodyCooling { problem: *self, body })
    }
}

/// The cooling of a body, in degC, m and s; ranges and errors as in [`Body`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodyCooling {
    problem: BodyProblem,
    body: Body,
}

impl BodyCooling {
    /// Temperature, degC, at a distance from the mid-plane or axis, m, and a time, s.
    pub fn temperature(&self, place: f64, time: f64) -> f64 {
        self.dimensional(self.body.theta(place / self.problem.size, self.fourier(time)))
    }

    /// Temperature of the mid-plane or axis, degC.
    pub fn centre(&self, time: f64) -> f64 {
        self.dimensional(self.body.centre(self.fourier(time)))
    }

    /// Temperature of the surface, degC.
    pub fn surface(&self, time: f64) -> f64 {
        self.dimensional(self.body.surface(self.fourier(time)))
    }

    /// Mean temperature over the thickness or the cross-section, degC.
    pub fn mean(&self, time: f64) -> f64 {
        self.dimensional(self.body.mean(self.fourier(time)))
    }

    fn fourier(&self, time: f64) -> f64 {
        self.problem.properties.diffusivity() * time / (self.problem.size * self.problem.size)
    }

    fn dimensional(&self, theta: f64) -> f64 {
        self.problem.medium + (self.problem.start - self.problem.medium) * theta
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rod() -> BodyProblem {
        let properties = Properties::new(0.17, 1400.0, 1500.0);
        BodyProblem { shape: Shape::Round, size: 1.5e-3, properties, film: 3000.0, start: 190.0, medium: 20.0 }
    }

    #[test]
    fn degrees_and_seconds_are_the_ratios_with_their_scales() {
        // Fo = 1 at 27.79 s; the products agree to rounding.
        let (cooling, body) = (rod().solve().unwrap(), Body::new(Shape::Round, 3000.0 * 1.5e-3 / 0.17).unwrap());
        let time = 0.3 * 1.5e-3 * 1.5e-3 * 2.1e6 / 0.17;
        for (found, theta) in [
            (cooling.centre(time), body.centre(0.3)),
            (cooling.surface(time), body.surface(0.3)),
            (cooling.mean(time), body.mean(0.3)),
            (cooling.temperature(0.75e-3, time), body.theta(0.5, 0.3)),
        ] {
            assert!((found - (20.0 + 170.0 * theta)).abs() < 1e-11, "{found}");
        }
    }

    #[test]
    fn twice_the_size_at_half_the_film_takes_four_times_as_long() {
        let large = BodyProblem { size: 3.0e-3, film: 1500.0, ..rod() };
        let difference = large.solve().unwrap().centre(20.0) - rod().solve().unwrap().centre(5.0);
        assert!(difference.abs() < 1e-11, "{difference}");
    }

    #[test]
    fn every_senseless_value_is_refused() {
        for problem in [
            BodyProblem { size: 0.0, ..rod() },
            BodyProblem { film: -1.0, ..rod() },
            BodyProblem { start: f64::NAN, ..rod() },
            BodyProblem { medium: f64::INFINITY, ..rod() },
            BodyProblem { properties: Properties { conductivity: -0.2, capacity: 1e6 }, ..rod() },
            BodyProblem { properties: Properties { conductivity: 0.2, capacity: 0.0 }, ..rod() },
        ] {
            assert!(problem.solve().is_err(), "{problem:?}");
        }
        assert!(BodyProblem { film: f64::INFINITY, ..rod() }.solve().is_ok());
    }
}
