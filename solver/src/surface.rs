//! The outer surface: heat flux to the medium by film and radiation, and its derivatives.

use crate::case::{Medium, Section, Shape};
use crate::film::{Film, FilmState};
use crate::units::ZERO_CELSIUS;

/// Stefan-Boltzmann constant, W/(m2 K4) (CODATA 2018: 5.670374419e-8, exact after the SI of 2019).
pub const STEFAN_BOLTZMANN: f64 = 5.670374419e-8;

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
        FilmState { shape, speed, diameter, distance, surface, medium }
    }

    /// Convective film coefficient at surface temperature `surface` (degC), `distance` (m) from the entry, W/(m2 K).
    pub fn film(&self, surface: f64, distance: f64) -> f64 {
        match self.film {
            Film::Given(h) => self.factor * h,
            film => self.factor * film.coefficient(&self.state(surface, distance)),
        }
    }

    /// Radiative share of the film coefficient, eps sigma (T_s^4 - T_m^4)/(T_s - T_m), W/(m2 K).
    pub fn radiation(&self, surface: f64) -> f64 {
        if self.emissivity == 0.0 {
            return 0.0;
        }
        let (ts, tm) = (surface + ZERO_CELSIUS, self.medium + ZERO_CELSIUS);
        self.emissivity * STEFAN_BOLTZMANN * (ts + tm) * (ts * ts + tm * tm)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::ENTRY_OFFSET;
    use crate::units::Celsius;

    /// Slopes of the flux against central differences of it, for every kind of film, with radiation.
    #[test]
    fn slopes_are_those_of_the_flux() {
        let films = [
            Film::Given(30.0),
            Film::OfSurface(vec![[20.0, 10.0], [200.0, 45.0]]),
            Film::OfDistance(vec![[0.0, 60.0], [3.0, 15.0]]),
            Film::Law(crate::film::default_law(Medium::Air)),
        ];
        for film in films {
            let section = Section {
                name: "air".into(),
                medium: Medium::Air,
                length: 3.0,
                temperature: Celsius(35.0),
                film,
                film_factor: 1.4,
                emissivity: 0.9,
            };
            let surface = Surface::new(&section, Shape::Round, 2.5, 4e-3);
            // Where a law's distance step must not vanish: at the offset of its virtual entry.
            for (ts, x) in [(150.0, 1.3), (60.0, 0.2), (110.0, ENTRY_OFFSET)] {
                let (per_kelvin, per_metre) = surface.slopes(ts, x);
                let (kelvin, metre) = (0.01, 1e-3 * x);
                let kelvins = (surface.flux(ts + kelvin, x) - surface.flux(ts - kelvin, x)) / (2.0 * kelvin);
                let metres = (surface.flux(ts, x + metre) - surface.flux(ts, x - metre)) / (2.0 * metre);
                // Third derivatives over a hundredth of a kelvin and a thousandth of the distance.
                assert!((per_kelvin / kelvins - 1.0).abs() < 1e-6, "{ts} {x}: {per_kelvin} {kelvins}");
                let scale = metres.abs() + 1e-6 * surface.flux(ts, x) / x;
                assert!((per_metre - metres).abs() < 1e-5 * scale, "{ts} {x}: {per_metre} {metres}");
            }
        }
    }
}
