//! Conductivity and heat capacity that grow alike with temperature: a non-linear problem with an exact answer.
//!
//! With k = k0 (1 + b (T - Tr)) and rho c = C0 (1 + b (T - Tr)) the quantity U = (T - Tr) + b/2 (T - Tr)^2 obeys the
//! linear equation with alpha = k0/C0, and C0 U is the heat content. Transformation: Kirchhoff, 1894; Carslaw & Jaeger,
//! Conduction of Heat in Solids, 1959, 1.6 (numbering from memory, not checked).

use std::f64::consts::PI;

use super::check::{half_unit, rows};
use super::{Body, Check, OutOfRange, Properties, finite, ierfc, positive, positive_or_infinite};
use crate::case::Shape;
use crate::data::witness::{Subject, Witness};

/// Figures of Segal & Praagman as a table, comma between columns: half space and slab of 2 m at x, t, with their source above.
pub const SEGAL_PRAAGMAN: &str = include_str!("reference/segal_praagman.csv");

/// A flat or round body whose surface steps to another temperature; Tr is the surface's temperature.
///
/// ```
/// use quenchway::{case::Shape, exact::{KirchhoffStepProblem, Properties}};
/// let properties = Properties { conductivity: 0.2, capacity: 2.0e6 };
/// let problem =
///     KirchhoffStepProblem { shape: Shape::Round, size: 1e-3, properties, slope: 0.002, start: 190.0, surface: 20.0 };
/// // Fo = 0.3 at 3 s.
/// assert!((problem.solve()?.temperature(0.0, 3.0) - 73.34137572).abs() < 1e-8);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KirchhoffStepProblem {
    /// Flat (both faces step) or round.
    pub shape: Shape,
    /// Half thickness or radius, m.
    pub size: f64,
    /// k0 and C0: the properties at the surface's temperature.
    pub properties: Properties,
    /// Relative change b of both per kelvin, 1/K; 0 is the linear problem.
    pub slope: f64,
    /// Uniform temperature at time 0, degC.
    pub start: f64,
    /// Temperature of the surface from time 0 on, degC.
    pub surface: f64,
}

/// The solution of a [`KirchhoffStepProblem`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KirchhoffStep {
    problem: KirchhoffStepProblem,
    body: Body,
    start: f64,
}

impl KirchhoffStepProblem {
    /// Checks the values and gives the temperature as a function of place and time.
    ///
    /// # Errors
    ///
    /// A size or property not above 0, anything not finite, a slope that brings the properties at the start
    /// temperature to 0 or below.
    pub fn solve(&self) -> Result<KirchhoffStep, OutOfRange> {
        positive("half thickness or radius", self.size)?;
        self.properties.check()?;
        let excess = finite("start temperature", self.start)? - finite("surface temperature", self.surface)?;
        finite("relative change per kelvin", self.slope)?;
        positive("1 + b (start - surface)", 1.0 + self.slope * excess)?;
        let start = excess + 0.5 * self.slope * excess * excess;
        Ok(KirchhoffStep { problem: *self, body: Body::new(self.shape, f64::INFINITY)?, start })
    }
}

impl KirchhoffStep {
    /// Temperature, degC, at a distance from the mid-plane or axis, m, and a time, s; ranges as in [`Body`].
    pub fn temperature(&self, place: f64, time: f64) -> f64 {
        let theta = self.body.theta(place / self.problem.size, self.fourier(time));
        self.problem.surface + excess(self.problem.slope, self.start * theta)
    }

    fn fourier(&self, time: f64) -> f64 {
        self.problem.properties.diffusivity() * time / (self.problem.size * self.problem.size)
    }
}

/// A slab or half space into which a constant heat flux enters; Tr is the start temperature.
///
/// Half space: U = (2 q/k0) sqrt(alpha t) ierfc(x/(2 sqrt(alpha t))). Slab of thickness L, insulated behind: its mirror
/// images summed for alpha t < L^2/2, the eigenfunctions after. Problem: A. Segal & N. Praagman, Int. J. Numer. Meth.
/// Eng. 23 (1986) 155-168, as code_aster test TTNL302, whose formula has to read `- x erfc`; slab: Carslaw & Jaeger,
/// Conduction of Heat in Solids, 1959, 3.8 (numbering from memory, not checked).
///
/// ```
/// use quenchway::exact::{KirchhoffFluxProblem, Properties};
/// let properties = Properties { conductivity: 1.0, capacity: 1.0 };
/// let problem =
///     KirchhoffFluxProblem { properties, slope: 0.5, start: 0.0, flux: 1.0, thickness: f64::INFINITY };
/// assert!((problem.solve()?.temperature(0.0, 1.0) - 0.917793116).abs() < 1e-9);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KirchhoffFluxProblem {
    /// k0 and C0: the properties at the start temperature.
    pub properties: Properties,
    /// Relative change b of both per kelvin, 1/K; 0 is the linear problem.
    pub slope: f64,
    /// Uniform temperature at time 0, degC.
    pub start: f64,
    /// Heat flux into the face at x = 0, W/m2; negative cools.
    pub flux: f64,
    /// Thickness, m, insulated behind; infinity is the half space.
    pub thickness: f64,
}

/// The solution of a [`KirchhoffFluxProblem`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KirchhoffFlux {
    problem: KirchhoffFluxProblem,
}

impl KirchhoffFluxProblem {
    /// Checks the values and gives the temperature as a function of place and time.
    ///
    /// # Errors
    ///
    /// A property or thickness not above 0, anything else not finite.
    pub fn solve(&self) -> Result<KirchhoffFlux, OutOfRange> {
        self.properties.check()?;
        finite("relative change per kelvin", self.slope)?;
        finite("start temperature", self.start)?;
        finite("heat flux", self.flux)?;
        positive_or_infinite("thickness", self.thickness)?;
        Ok(KirchhoffFlux { problem: *self })
    }
}

impl KirchhoffFlux {
    /// Temperature, degC, at a depth, m, and a time, s.
    ///
    /// A time at or before 0 gives the start; a depth is held within the slab. Where the properties would fall to 0 the
    /// temperature stays at start - 1/b.
    pub fn temperature(&self, depth: f64, time: f64) -> f64 {
        let KirchhoffFluxProblem { properties, slope, start, flux, thickness } = self.problem;
        if time <= 0.0 {
            return start;
        }
        let depth = depth.clamp(0.0, thickness);
        let reach = 2.0 * (properties.diffusivity() * time).sqrt();
        let length = if reach * reach < 2.0 * thickness * thickness {
            mirrored(depth, thickness, reach)
        } else {
            filled(depth / thickness, 0.25 * reach * reach / (thickness * thickness)) * thickness
        };
        start + excess(slope, flux / properties.conductivity * length)
    }
}

/// k0 U/q, m, as the sum over mirror images of the heated face; `reach` = 2 sqrt(alpha t) below 1.5 thicknesses.
fn mirrored(depth: f64, thickness: f64, reach: f64) -> f64 {
    let mut sum = ierfc(depth / reach);
    // The fifth image lies ten thicknesses away, beyond six times the reach: below 1e-20.
    if thickness.is_finite() {
        for image in 1..=5 {
            let distance = 2.0 * f64::from(image) * thickness;
            sum += ierfc((distance - depth) / reach) + ierfc((distance + depth) / reach);
        }
    }
    reach * sum
}

/// k0 U/(q L) of a slab for Fo >= 1/2, at a relative depth.
fn filled(depth: f64, fourier: f64) -> f64 {
    let back = 1.0 - depth;
    let mut sum = fourier + (3.0 * back * back - 1.0) / 6.0;
    let mut sign = -1.0;
    for n in 1..=4 {
        let n = f64::from(n) * PI;
        sum -= sign * 2.0 / (n * n) * libm::exp(-n * n * fourier) * libm::cos(n * back);
        sign = -sign;
    }
    sum
}

/// T - Tr that belongs to U: the root of e + b e^2/2 = U, in the form that holds for b = 0 too.
fn excess(slope: f64, u: f64) -> f64 {
    let squared = 1.0 + 2.0 * slope * u;
    if squared <= 0.0 {
        return -1.0 / slope;
    }
    2.0 * u / (1.0 + squared.sqrt())
}

/// The comparisons with reference figures.
pub(super) fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    let properties = Properties { conductivity: 1.0, capacity: 1.0 };
    for row in rows(include_str!("reference/kirchhoff.csv")) {
        let shape = if row.word(0) == "flat" { Shape::Flat } else { Shape::Round };
        let (fourier, expected) = (row.number(1), row.number(3));
        let problem = KirchhoffStepProblem { shape, size: 1.0, properties, slope: 0.002, start: 190.0, surface: 20.0 };
        let computed = problem.solve().map_or(f64::NAN, |step| step.temperature(0.0, fourier) - problem.surface);
        checks.push(Check {
            family: "properties that depend on temperature, surface step",
            what: format!("{} centre, Fo {fourier}, b 0.002/K, 170 K above the surface", row.word(0)),
            source: "Kirchhoff transformation, Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 1.6 (numbering \
                     from memory, not checked); derived from the series computed with mpmath",
            subject: Subject::Series,
            witness: Witness::Equation,
            unit: "K",
            expected,
            computed,
            bound: half_unit(expected, 10),
            reason: "half of the tenth digit kept",
        });
    }
    for row in rows(SEGAL_PRAAGMAN) {
        let (depth, time) = (row.number(0), row.number(1));
        for (name, thickness, column) in [("half space", f64::INFINITY, 2), ("slab of thickness 2", 2.0, 3)] {
            let problem = KirchhoffFluxProblem { properties, slope: 0.5, start: 0.0, flux: 1.0, thickness };
            checks.push(Check {
                family: "properties that depend on temperature, constant flux",
                what: format!("{name}, x = {depth}, t = {time}"),
                source: "A. Segal & N. Praagman, Int. J. Numer. Meth. Eng. 23 (1986) 155-168 = code_aster test \
                         TTNL302, the sign before x erfc corrected to minus; figure computed with mpmath",
                subject: Subject::Series,
                witness: Witness::Equation,
                unit: "degC",
                expected: row.number(column),
                computed: problem.solve().map_or(f64::NAN, |solution| solution.temperature(depth, time)),
                bound: 0.5e-9,
                reason: "nine decimals kept",
            });
        }
    }
    checks
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Properties = Properties { conductivity: 1.0, capacity: 1.0 };

    fn heated(thickness: f64) -> KirchhoffFluxProblem {
        KirchhoffFluxProblem { properties: UNIT, slope: 0.5, start: 0.0, flux: 1.0, thickness }
    }

    #[test]
    fn only_the_minus_sign_lets_the_flux_be_one() {
        let gradient = |temperature: &dyn Fn(f64) -> f64| {
            let surface = temperature(0.0);
            // One-sided difference over 1e-6: truncation of its order.
            -(1.0 + 0.5 * surface) * (temperature(1e-6) - surface) / 1e-6
        };
        let solution = heated(f64::INFINITY).solve().unwrap();
        assert!((gradient(&|x| solution.temperature(x, 0.5)) - 1.0).abs() < 1e-5);
        let plus = |x: f64| {
            let t: f64 = 0.5;
            let u = 2.0 * (t / PI).sqrt() * libm::exp(-x * x / (4.0 * t)) + x * libm::erfc(0.5 * x / t.sqrt());
            2.0 * ((1.0 + u).sqrt() - 1.0)
        };
        assert!((gradient(&plus) - 1.0).abs() > 0.5);
    }

    #[test]
    fn mirror_images_meet_eigenfunctions() {
        for depth in [0.0, 0.3, 1.0] {
            // Both exact: rounding only.
            assert!((mirrored(depth, 1.0, 2.0_f64.sqrt()) - filled(depth, 0.5)).abs() < 1e-14, "{depth}");
        }
    }

    #[test]
    fn without_a_slope_it_is_the_linear_problem_and_near_it_no_digit_is_lost() {
        let problem = KirchhoffStepProblem {
            shape: Shape::Flat,
            size: 1.0,
            properties: UNIT,
            slope: 0.0,
            start: 190.0,
            surface: 20.0,
        };
        let linear = problem.solve().unwrap().temperature(0.2, 0.1);
        let body = Body::new(Shape::Flat, f64::INFINITY).unwrap();
        assert!((linear - 20.0 - 170.0 * body.theta(0.2, 0.1)).abs() < 1e-12);
        let nearly = KirchhoffStepProblem { slope: 1e-15, ..problem };
        // b times 170 K squared is 3e-11 K.
        assert!((nearly.solve().unwrap().temperature(0.2, 0.1) - linear).abs() < 1e-10);
    }

    #[test]
    fn senseless_input_is_refused_or_harmless() {
        let step = |slope| KirchhoffStepProblem {
            shape: Shape::Round,
            size: 1.0,
            properties: UNIT,
            slope,
            start: 190.0,
            surface: 20.0,
        };
        assert!(step(-0.01).solve().is_err() && step(f64::NAN).solve().is_err());
        assert!(heated(0.0).solve().is_err());
        // Strong cooling: the conductivity would reach 0 at start - 1/b.
        let cooled = KirchhoffFluxProblem { flux: -1e6, ..heated(1.0) }.solve().unwrap();
        assert_eq!(cooled.temperature(0.0, 10.0), -2.0);
        assert_eq!(heated(1.0).solve().unwrap().temperature(0.5, -1.0), 0.0);
    }
}
