//! Core and coating through several spans of constant film and medium, by exact eigenfunctions.

use super::modes::{Mode, Stack};
use super::{OutOfRange, Properties, finite, positive};
use crate::case::Contact;

/// Terms smaller than exp(-EXPONENT), 1e-18, are left out.
const EXPONENT: f64 = 41.5;

/// A stretch of time under one film towards one medium.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Film coefficient, W/(m2 K).
    pub film: f64,
    /// Temperature of the medium, degC.
    pub medium: f64,
    /// Duration, s.
    pub duration: f64,
}

/// A round core with one coating, each uniform at the start, and the spans that it runs through.
///
/// rho c dT/dt = (1/r) d/dr (r k dT/dr) in both layers; at the interface the flux is continuous and T is, or jumps by
/// flux over contact conductance; at the surface -k dT/dr = h (T - Tmedium). T = Tmedium + sum of c_n R_n(r)
/// exp(-beta_n^2 t), R_n built of J0 and Y0. At a change of span the sum is expanded anew: the integral of rho c R S r
/// dr over both layers is b R(b) S(b) (h - h')/(beta^2 - gamma^2) for a mode R, beta under h and S, gamma under h'.
/// Source: Carslaw & Jaeger, Conduction of Heat in Solids, 1959, chapter XIII; Ozisik, Heat Conduction, chapter on
/// composite media (both from memory, not checked); the re-expansion is derived. Error: below 1e-12 of the temperature
/// differences; up to 1e-9 where a poor contact parts the layers (conductance times b below a thousandth of k).
///
/// ```
/// use quenchway::{case::Contact, exact::{CompositeProblem, Properties, Span}};
/// let wire = CompositeProblem {
///     core: Properties::new(390.0, 8960.0, 385.0),
///     coating: Properties::new(0.17, 1400.0, 1500.0),
///     interface: 0.7e-3,
///     outer: 1.5e-3,
///     contact: Contact::Perfect,
///     core_start: 190.0,
///     coating_start: 190.0,
///     spans: vec![Span { film: 3000.0, medium: 20.0, duration: 10.0 }],
/// };
/// let found = wire.solve()?.at(1.0)?;
/// assert!((found.axis - 186.4200839987).abs() < 1e-9);
/// assert!((found.surface - 36.0404302567).abs() < 1e-9);
/// assert!((found.mixed - 139.8793345669).abs() < 1e-9);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct CompositeProblem {
    /// Properties of the core, 0 < r < a.
    pub core: Properties,
    /// Properties of the coating, a < r < b.
    pub coating: Properties,
    /// Radius a of the interface, m.
    pub interface: f64,
    /// Outer radius b, m.
    pub outer: f64,
    /// Contact between core and coating.
    pub contact: Contact,
    /// Temperature of the core at time 0, degC.
    pub core_start: f64,
    /// Temperature of the coating at time 0, degC.
    pub coating_start: f64,
    /// At least one, in the order in which they are run through.
    pub spans: Vec<Span>,
}

/// The temperatures of core and coating at one time, degC.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CompositeTemperatures {
    /// On the axis.
    pub axis: f64,
    /// At the interface, core's side.
    pub core_interface: f64,
    /// At the interface, coating's side.
    pub coating_interface: f64,
    /// At the outer surface.
    pub surface: f64,
    /// Mean of the core.
    pub core_mean: f64,
    /// Mean of the coating.
    pub coating_mean: f64,
    /// Mean weighted with heat capacity: what the whole would equalise to without any loss.
    pub mixed: f64,
}

/// The solution of a [`CompositeProblem`].
#[derive(Clone, Debug, PartialEq)]
pub struct CompositeCooling {
    problem: CompositeProblem,
    pub(super) stack: Stack,
    /// What every span but the first begins with.
    ends: Vec<Field>,
}

/// Modes with their amplitudes above a medium, K.
#[derive(Clone, Debug, PartialEq)]
struct Field {
    span: Span,
    modes: Vec<(Mode, f64)>,
}

impl CompositeProblem {
    /// Checks the values and carries the temperatures from span to span.
    ///
    /// # Errors
    ///
    /// A size, property, conductance, film or duration not above 0, a temperature that is not finite, an
    /// interface not below the outer radius, no span, a span so short that it needs more than 1000 eigenfunctions.
    pub fn solve(&self) -> Result<CompositeCooling, OutOfRange> {
        self.core.check()?;
        self.coating.check()?;
        positive("radius of the interface", self.interface)?;
        finite("outer radius", self.outer)?;
        positive("outer radius minus radius of the interface", self.outer - self.interface)?;
        finite("start temperature of the core", self.core_start)?;
        finite("start temperature of the coating", self.coating_start)?;
        let resistance = match self.contact {
            Contact::Perfect => 0.0,
            Contact::Conductance(conductance) => 1.0 / positive("contact conductance", conductance)?,
        };
        for span in &self.spans {
            positive("film coefficient", span.film)?;
            finite("medium temperature", span.medium)?;
            positive("duration of a span", span.duration)?;
        }
        if self.spans.is_empty() {
            return Err(OutOfRange { quantity: "number of spans", found: 0.0, expected: "at least 1" });
        }
        let (core, coating, interface, outer) = (self.core, self.coating, self.interface, self.outer);
        let stack = Stack { core, coating, interface, outer, resistance };
        let mut cooling = CompositeCooling { problem: self.clone(), stack, ends: Vec::new() };
        for index in 0..self.spans.len() - 1 {
            let end = cooling.field(index, self.spans[index].duration)?;
            cooling.ends.push(end);
        }
        Ok(cooling)
    }
}

impl CompositeCooling {
    /// All temperatures at a time, s, from 0 to the end of the last span; at a change of span those just before it.
    ///
    /// # Errors
    ///
    /// A time outside the spans, or above 0 but so early in a span that more than 1000 eigenfunctions would be
    /// needed (about 4e-6 of the square of a/sqrt(alpha1) + (b - a)/sqrt(alpha2)).
    pub fn at(&self, time: f64) -> Result<CompositeTemperatures, OutOfRange> {
        let CompositeProblem { core_start, coating_start, .. } = self.problem;
        let (core_heat, coating_heat) = self.heat_capacities();
        if time == 0.0 {
            return Ok(CompositeTemperatures {
                axis: core_start,
                core_interface: core_start,
                coating_interface: coating_start,
                surface: coating_start,
                core_mean: core_start,
                coating_mean: coating_start,
                mixed: (core_heat * core_start + coating_heat * coating_start) / (core_heat + coating_heat),
            });
        }
        let field = self.field_at(time)?;
        let core_mean = field.sum(|mode| mode.core_content / core_heat);
        let coating_mean = field.sum(|mode| mode.coating_content / coating_heat);
        Ok(CompositeTemperatures {
            axis: field.sum(|_| 1.0),
            core_interface: field.sum(|mode| mode.core_edge),
            coating_interface: field.sum(|mode| mode.coating_edge),
            surface: field.sum(|mode| mode.surface),
            core_mean,
            coating_mean,
            mixed: (core_heat * core_mean + coating_heat * coating_mean) / (core_heat + coating_heat),
        })
    }

    /// Temperature, degC, at a radius, m (held within the body; at the interface the core's side), and a time, s.
    ///
    /// # Errors
    ///
    /// As for [`CompositeCooling::at`].
    pub fn temperature(&self, radius: f64, time: f64) -> Result<f64, OutOfRange> {
        let radius = radius.clamp(0.0, self.problem.outer);
        if time == 0.0 {
            let in_core = radius <= self.problem.interface;
            return Ok(if in_core { self.problem.core_start } else { self.problem.coating_start });
        }
        Ok(self.field_at(time)?.sum(|mode| self.stack.shape(mode, radius)))
    }

    /// Heat that the surface has given off per metre of length since the start, J/m.
    ///
    /// # Errors
    ///
    /// As for [`CompositeCooling::at`].
    pub fn heat_given_off(&self, time: f64) -> Result<f64, OutOfRange> {
        let (core_heat, coating_heat) = self.heat_capacities();
        let fall = self.at(0.0)?.mixed - self.at(time)?.mixed;
        Ok(2.0 * std::f64::consts::PI * (core_heat + coating_heat) * fall)
    }

    /// Eigenvalues beta, s^-0.5, of a span (counted from 0) below a limit; every temperature decays with the first
    /// squared.
    ///
    /// # Errors
    ///
    /// A limit not above 0, a span that does not exist, more than 1000 eigenvalues.
    pub fn eigenvalues(&self, span: usize, limit: f64) -> Result<Vec<f64>, OutOfRange> {
        positive("limit of the eigenvalues", limit)?;
        let Some(span) = self.problem.spans.get(span) else {
            let expected = "a span of the problem, counted from 0";
            return Err(OutOfRange { quantity: "span", found: span as f64, expected });
        };
        Ok(self.stack.modes(span.film, limit)?.iter().map(|mode| mode.beta).collect())
    }

    /// Heat capacities of core and coating per metre and radian, J/(m K).
    fn heat_capacities(&self) -> (f64, f64) {
        let (a2, b2) = (self.stack.interface.powi(2), self.stack.outer.powi(2));
        (0.5 * self.stack.core.capacity * a2, 0.5 * self.stack.coating.capacity * (b2 - a2))
    }

    fn field_at(&self, time: f64) -> Result<Field, OutOfRange> {
        let mut begins = 0.0;
        for (index, span) in self.problem.spans.iter().enumerate() {
            // Sums of durations round: a hair beyond the end still belongs to the span.
            if time > 0.0 && time <= (begins + span.duration) * (1.0 + 4.0 * f64::EPSILON) {
                return self.field(index, time - begins);
            }
            begins += span.duration;
        }
        Err(OutOfRange { quantity: "time", found: time, expected: "from 0 to the end of the last span" })
    }

    /// The field of span `index` when `elapsed` s of it have gone; the spans before must be in `ends`.
    fn field(&self, index: usize, elapsed: f64) -> Result<Field, OutOfRange> {
        let span = self.problem.spans[index];
        let mut modes = Vec::new();
        for mode in self.stack.modes(span.film, (EXPONENT / elapsed).sqrt())? {
            let content = match index.checked_sub(1).and_then(|before| self.ends.get(before)) {
                None => {
                    (self.problem.coating_start - span.medium) * mode.content
                        + (self.problem.core_start - self.problem.coating_start) * mode.core_content
                }
                Some(before) => before.content_in(&self.stack, span, &mode),
            };
            modes.push((mode, content / mode.norm * libm::exp(-mode.beta * mode.beta * elapsed)));
        }
        Ok(Field { span, modes })
    }
}

impl Field {
    /// Temperature as the sum over the modes of a factor.
    fn sum(&self, factor: impl Fn(&Mode) -> f64) -> f64 {
        self.span.medium + self.modes.iter().map(|(mode, amplitude)| amplitude * factor(mode)).sum::<f64>()
    }

    /// Integral of rho c (T - next medium) S r dr over both layers for a mode S of the next span.
    fn content_in(&self, stack: &Stack, next: Span, mode: &Mode) -> f64 {
        let step = (self.span.medium - next.medium) * mode.content;
        let films = (self.span.film, next.film);
        let overlaps = self.modes.iter().map(|(old, amplitude)| amplitude * stack.overlap(old, mode, films));
        step + overlaps.sum::<f64>()
    }
}
