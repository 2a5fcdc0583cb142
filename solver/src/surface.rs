//! The outer surface: heat flux to the medium by film and radiation, and its derivatives.

use crate::case::{Medium, Section, Shape};
use crate::film::{Film, FilmState, Inputs};
use crate::units::ZERO_CELSIUS;

/// Stefan-Boltzmann constant, W/(m2 K4) (CODATA 2018: 5.670374419e-8, exact after the SI of 2019).
pub const STEFAN_BOLTZMANN: f64 = 5.670374419e-8;

/// Radiation as a film coefficient, eps sigma (T_s^4 - T_m^4)/(T_s - T_m) = eps sigma (T_s + T_m)(T_s^2 + T_m^2), W/(m2 K).
///
/// Temperatures in degC, inside in kelvin; surroundings large and at the medium's temperature.
///
/// ```
/// use quenchway::surface::radiation;
/// // Worked in Python with the constant of CODATA 2018.
/// assert!((radiation(0.94, 150.0, 25.0) - 10.3017).abs() < 5e-5);
/// assert!((radiation(0.94, 190.0, 25.0) - 12.3116).abs() < 5e-5);
/// assert!((radiation(0.94, 60.0, 25.0) - 6.72589).abs() < 5e-6);
/// ```
pub fn radiation(emissivity: f64, surface: f64, medium: f64) -> f64 {
    let (ts, tm) = (surface + ZERO_CELSIUS, medium + ZERO_CELSIUS);
    emissivity * STEFAN_BOLTZMANN * (ts + tm) * (ts * ts + tm * tm)
}

/// The surface condition of one section: q'' = h (T_s - T_m) + eps sigma (T_s^4 - T_m^4), temperatures in kelvin there.
///
/// The film sees the product's diameter at the die: following its few percent of shrink would feign an accuracy that no
/// film law has.
#[derive(Clone, Copy, Debug)]
pub struct Surface<'a> {
    film: &'a Film,
    factor: f64,
    emissivity: f64,
    medium: f64,
    shape: Shape,
    speed: f64,
    diameter: f64,
}

impl<'a> Surface<'a> {
    /// The surface of a section; `diameter` at the die, m (flat: full thickness).
    pub fn new(section: &'a Section, shape: Shape, speed: f64, diameter: f64) -> Surface<'a> {
        let emissivity = if section.medium == Medium::Air { section.emissivity } else { 0.0 };
        Surface {
            film: &section.film,
            factor: section.film_factor,
            emissivity,
            medium: section.temperature.0,
            shape,
            speed,
            diameter,
        }
    }

    /// Line speed, m/s.
    pub fn speed(&self) -> f64 {
        self.speed
    }

    /// Temperature of the medium, degC.
    pub fn medium(&self) -> f64 {
        self.medium
    }

    fn state(&self, surface: f64, distance: f64) -> FilmState {
        let Surface { shape, speed, diameter, medium, .. } = *self;
        // A law brings its own inputs.
        FilmState { shape, speed, diameter, distance, surface, medium, inputs: Inputs::default() }
    }

    /// Convective film coefficient at surface temperature `surface` (degC), `distance` (m) from the entry, W/(m2 K).
    pub fn film(&self, surface: f64, distance: f64) -> f64 {
        match self.film {
            Film::Given(h) => self.factor * h,
            film => self.factor * film.coefficient(&self.state(surface, distance)),
        }
    }

    /// Radiative share of the film coefficient, W/(m2 K).
    pub fn radiation(&self, surface: f64) -> f64 {
        if self.emissivity == 0.0 {
            return 0.0;
        }
        radiation(self.emissivity, surface, self.medium)
    }

    /// Heat flux to the medium, W/m2.
    pub fn flux(&self, surface: f64, distance: f64) -> f64 {
        (self.film(surface, distance) + self.radiation(surface)) * (surface - self.medium)
    }

    /// Derivatives of the flux with surface temperature, W/(m2 K), and with distance, W/m3.
    pub fn slopes(&self, surface: f64, distance: f64) -> (f64, f64) {
        let ts = surface + ZERO_CELSIUS;
        let radiation = 4.0 * self.emissivity * STEFAN_BOLTZMANN * ts * ts * ts;
        if let Film::Given(h) = self.film {
            return (self.factor * h + radiation, 0.0);
        }
        let state = self.state(surface, distance);
        let h = self.factor * self.film.coefficient(&state);
        let (per_kelvin, per_metre) = self.film.slopes(&state);
        let excess = surface - self.medium;
        (h + self.factor * per_kelvin * excess + radiation, self.factor * per_metre * excess)
    }
}
