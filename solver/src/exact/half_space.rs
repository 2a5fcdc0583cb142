//! A body so thick that the far side has not felt the cold yet: the first moments of every product.

use std::f64::consts::FRAC_2_SQRT_PI;

use super::check::{half_unit, rows};
use super::special::erfcx;
use super::{Check, OutOfRange, Properties, finite};
use crate::data::witness::{Subject, Witness};

/// A semi-infinite body, uniform at the start, whose face at depth 0 is cooled or heated.
///
/// Holds for a real body while its thickness exceeds about 4 sqrt(alpha t). A depth below 0 counts as 0, a time at or
/// before 0 gives the start temperature. Source: Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 2.4 to 2.7
/// (numbering from memory, not checked).
///
/// ```
/// use quenchway::exact::{HalfSpace, Properties};
/// let plastic = Properties { conductivity: 0.17, capacity: 2.1e6 };
/// let melt = HalfSpace::new(plastic, 190.0)?;
/// // A film of 3000 W/(m2 K) and water of 20 degC bring the surface to 59.4 degC in 0.2 s.
/// let surface = melt.under_film(3000.0, 20.0, 0.0, 0.2);
/// assert!((surface - (190.0 - 170.0 * 0.768508893088)).abs() < 1e-9);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HalfSpace {
    properties: Properties,
    start: f64,
}

impl HalfSpace {
    /// A body of constant properties at `start`, degC.
    ///
    /// # Errors
    ///
    /// A property that is not above 0, a start that is not finite.
    pub fn new(properties: Properties, start: f64) -> Result<HalfSpace, OutOfRange> {
        properties.check()?;
        finite("start temperature", start)?;
        Ok(HalfSpace { properties, start })
    }

    /// Temperature, degC, at a depth m and time s after the face stepped to `surface` degC.
    ///
    /// (T - Ts)/(T0 - Ts) = erf(x/(2 sqrt(alpha t))).
    pub fn after_step(&self, surface: f64, depth: f64, time: f64) -> f64 {
        self.under_film(f64::INFINITY, surface, depth, time)
    }

    /// Temperature, degC, at a depth m and time s under a film W/(m2 K) towards a medium degC.
    ///
    /// (T - T0)/(Tm - T0) = erfc(eta) - exp(h x/k + y^2) erfc(eta + y) with eta = x/(2 sqrt(alpha t)) and
    /// y = h sqrt(alpha t)/k. An infinite film is a step; a film that is not above 0 leaves the start temperature.
    pub fn under_film(&self, film: f64, medium: f64, depth: f64, time: f64) -> f64 {
        if time <= 0.0 || film <= 0.0 {
            return self.start;
        }
        let spread = (self.properties.diffusivity() * time).sqrt();
        let response = film_response(0.5 * depth.max(0.0) / spread, film * spread / self.properties.conductivity);
        self.start + (medium - self.start) * response
    }
}

/// Temperature, degC, that two bodies take at their common face from the moment they touch.
///
/// T = (e1 T1 + e2 T2)/(e1 + e2), effusivity e = sqrt(k rho c); constant while both count as half spaces. Source:
/// Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 2.15 (numbering from memory, not checked). Caution: below the
/// boiling point it says that no steam is expected on entry for these properties, not that splashing melt is safe.
///
/// ```
/// use quenchway::exact::{HalfSpace, Properties, contact_temperature};
/// let melt = HalfSpace::new(Properties::new(0.17, 1400.0, 1500.0), 190.0)?;
/// let water = HalfSpace::new(Properties::new(0.5980124, 998.2072, 4184.051), 20.0)?;
/// assert!((contact_temperature(&melt, &water) - 66.64).abs() < 0.005);
/// # Ok::<(), quenchway::exact::OutOfRange>(())
/// ```
pub fn contact_temperature(one: &HalfSpace, other: &HalfSpace) -> f64 {
    let (e1, e2) = (one.properties.effusivity(), other.properties.effusivity());
    (e1 * one.start + e2 * other.start) / (e1 + e2)
}

/// Share of the step towards the medium that depth eta has made: erfc(eta) - exp(y^2 + 2 eta y) erfc(eta + y).
pub(super) fn film_response(eta: f64, y: f64) -> f64 {
    // Scaled functions: neither the growing exponential nor the vanishing tail leaves the range of numbers.
    libm::exp(-eta * eta) * (erfcx(eta) - erfcx(eta + y))
}

/// Heat given off, y^2-like at first: exp(y^2) erfc(y) - 1 + 2 y/sqrt(pi); over h/k it is the depth emptied, m.
pub(super) fn film_heat(y: f64) -> f64 {
    if y > 0.5 {
        return erfcx(y) - 1.0 + FRAC_2_SQRT_PI * y;
    }
    // The three terms cancel for small y: the power series, sum over n >= 2 of (-y)^n/Gamma(n/2 + 1), does not.
    let (mut even, mut odd) = (y * y, -FRAC_2_SQRT_PI * y * y * y / 1.5);
    let mut sum = even + odd;
    for n in 1..12 {
        even *= y * y / f64::from(n + 1);
        odd *= y * y / (f64::from(n) + 1.5);
        sum += even + odd;
    }
    sum
}

/// The comparisons with reference figures.
pub(super) fn checks() -> Vec<Check> {
    const SOURCE: &str = "Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 2.4 and 2.7 (numbering from memory, \
                          not checked); figure computed with mpmath";
    let plastic = HalfSpace { properties: Properties { conductivity: 0.17, capacity: 2.1e6 }, start: 0.0 };
    let mut checks: Vec<Check> = rows(include_str!("reference/half_space.csv"))
        .map(|row| {
            let (argument, expected) = (row.number(1), row.number(2));
            let (what, computed) = match row.word(0) {
                "step" => (format!("surface step, eta^2 = {argument}"), libm::erf(argument.sqrt())),
                "film" => (format!("film, surface, y = {argument}"), film_response(0.0, argument)),
                _ => (format!("film, depth {argument} m, 0.2 s"), plastic.under_film(3000.0, 1.0, argument, 0.2)),
            };
            let bound = half_unit(expected, 12) + 2e-15;
            let (family, source, unit) = ("half space", SOURCE, "");
            let (subject, witness) = (Subject::Series, Witness::Equation);
            let reason = "half of the twelfth digit, and 2e-15 for the arithmetic";
            Check { family, what, source, subject, witness, unit, expected, computed, bound, reason }
        })
        .collect();
    let water = HalfSpace { properties: Properties::new(0.5980124, 998.2072, 4184.051), start: 20.0 };
    for (name, properties, start, expected) in [
        ("flexible PVC of 190 degC into water of 20 degC", Properties::new(0.17, 1400.0, 1500.0), 190.0, 66.64),
        ("LDPE of 220 degC into water of 20 degC", Properties::new(0.25, 760.0, 2500.0), 220.0, 80.73),
    ] {
        checks.push(Check {
            family: "contact of two half spaces",
            what: name.into(),
            source: "Carslaw & Jaeger, Conduction of Heat in Solids, 1959, 2.15 (numbering from memory, not checked); \
                     arithmetic by hand",
            subject: Subject::Series,
            witness: Witness::Equation,
            unit: "degC",
            expected,
            computed: contact_temperature(&HalfSpace { properties, start }, &water),
            bound: 0.005,
            reason: "two decimals kept",
        });
    }
    checks
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plastic() -> HalfSpace {
        HalfSpace::new(Properties { conductivity: 0.17, capacity: 2.1e6 }, 190.0).unwrap()
    }

    #[test]
    fn a_film_without_limit_is_a_step() {
        // The film still holds back 1/(y sqrt(pi)) of the step: y = 5e8 here, 170 K times 1e-9.
        let (step, film) = (plastic().after_step(20.0, 1e-4, 0.2), plastic().under_film(6e11, 20.0, 1e-4, 0.2));
        assert!((step - film).abs() < 1e-6, "{step} {film}");
        assert_eq!(plastic().after_step(20.0, 0.0, 1e-9), 20.0);
    }

    #[test]
    fn the_flux_out_is_what_the_film_takes() {
        // The heat given off is the integral of h (Ts - Tm): one-sided difference over 1e-6 of the time, truncation
        // 1e-6.
        let spread = |time: f64| (0.17 / 2.1e6 * time).sqrt();
        let heat = |time: f64| film_heat(3000.0 * spread(time) / 0.17) * 170.0 * 0.17 * 2.1e6 / 3000.0;
        let rate = (heat(0.2 + 1e-7) - heat(0.2 - 1e-7)) / 2e-7;
        let film = 3000.0 * (plastic().under_film(3000.0, 20.0, 0.0, 0.2) - 20.0);
        assert!((rate / film - 1.0).abs() < 1e-6, "{rate} {film}");
    }

    #[test]
    fn both_forms_of_the_heat_meet() {
        // Each form carries a few units of 1e-16 absolute.
        let direct = erfcx(0.5) - 1.0 + FRAC_2_SQRT_PI * 0.5;
        assert!((film_heat(0.5) - direct).abs() < 2e-15);
        assert!((film_heat(1e-8) / 1e-16 - 1.0).abs() < 1e-7);
    }

    #[test]
    fn senseless_input_is_refused_or_harmless() {
        assert!(HalfSpace::new(Properties { conductivity: 0.0, capacity: 1.0 }, 20.0).is_err());
        assert!(HalfSpace::new(Properties { conductivity: 1.0, capacity: 1.0 }, f64::NAN).is_err());
        assert_eq!(plastic().under_film(-5.0, 20.0, 0.0, 1.0), 190.0);
        assert_eq!(plastic().under_film(3000.0, 20.0, 0.0, -1.0), 190.0);
        assert!(plastic().under_film(f64::MAX, 20.0, f64::MAX, f64::MIN_POSITIVE).is_finite());
    }
}
