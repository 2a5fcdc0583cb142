//! The outer surface: heat flux to the medium by film and radiation, and its derivatives.

use crate::film::{
    self, BoundaryLayer, ENTRY_OFFSET, Film, FilmState, Inputs, Inward, KELVIN, OF_DISTANCE, OF_SPEED, Wetting,
};
use crate::material::medium::Medium;
use crate::maths::exp_ln::{exp, ln};
use crate::maths::shape::Shape;
use crate::maths::vector::Vector;
use crate::units::{Celsius, ZERO_CELSIUS};

/// Stefan-Boltzmann constant, W/(m2 K4) (CODATA 2018: 5.670374419e-8, exact after the SI of 2019).
pub const STEFAN_BOLTZMANN: f64 = 5.670374419e-8;

/// Emissivity of a plastic surface in air. Common practice for plastics, 0.90 to 0.96, no source.
pub const EMISSIVITY: f64 = 0.94;

/// Radiation as a film coefficient, eps sigma (T_s^4 - T_m^4)/(T_s - T_m) = eps sigma (T_s + T_m)(T_s^2 + T_m^2), W/(m2 K).
///
/// Temperatures in degC, inside in kelvin; surroundings large and at the medium's temperature.
///
/// ```
/// use quenchway::film::surface::radiation;
/// // Worked in Python with the constant of CODATA 2018.
/// assert!((radiation(0.94, 150.0, 25.0) - 10.3017).abs() < 5e-5);
/// assert!((radiation(0.94, 190.0, 25.0) - 12.3116).abs() < 5e-5);
/// assert!((radiation(0.94, 60.0, 25.0) - 6.72589).abs() < 5e-6);
/// ```
pub fn radiation(emissivity: f64, surface: f64, medium: f64) -> f64 {
    let (ts, tm) = (surface + ZERO_CELSIUS, medium + ZERO_CELSIUS);
    emissivity * STEFAN_BOLTZMANN * (ts + tm) * (ts * ts + tm * tm)
}

/// The surface condition of one pass: q'' = h (T_s - T_m) + eps sigma (T_s^4 - T_m^4), temperatures in kelvin there.
///
/// The film sees the product's diameter at the die: following its few percent of shrink would feign an accuracy that no
/// film law has. The medium is constant, or water that warms with the heat that the product has given off since it
/// entered: T_m = T_entry + warming (Q - Q_entry).
#[derive(Clone, Copy, Debug)]
pub struct Surface<'a> {
    film: &'a Film,
    factor: f64,
    emissivity: f64,
    entry: f64,
    warming: f64,
    entry_heat: f64,
    shape: Shape,
    speed: f64,
    diameter: f64,
    driven: Option<Driven>,
    around: Option<Around>,
}

/// Water that does not touch all round, or all round a part of the time.
#[derive(Clone, Copy, Debug)]
struct Around {
    wetting: Wetting,
    /// How the product conducts around.
    inward: Inward,
    /// Way of the product since water first touched a part only, at the entry, m.
    begun: f64,
    /// Whether the film is that of the hot side, instead of the one all round that cools as much.
    hot_side: bool,
}

/// What conduction around leaves of a hot side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    /// Temperature of the hot side were it at rest with the wet one, degC.
    pub at_rest: f64,
    /// How much of the way to a side of its own it still has, 0 to 1.
    pub share: f64,
    /// Film coefficient where the water touches, W/(m2 K), and the one all round that cools as much.
    pub wet_film: f64,
    /// See `wet_film`.
    pub all_round: f64,
    /// Whether a part is dry; otherwise it is a smooth pattern.
    pub dry: bool,
}

/// A line whose speed changes: what a film that is given for one speed becomes at another.
///
/// h = max(floor, h_given (v/rated)^exponent), before `film_factor`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driven {
    /// The speed for which films are given, m/s.
    pub rated: f64,
    /// See the type.
    pub exponent: f64,
    /// W/(m2 K).
    pub floor: f64,
}

impl Driven {
    /// The film of a speed, m/s, from that of the rated one.
    ///
    /// ```
    /// use quenchway::film::surface::Driven;
    /// let driven = Driven { rated: 2.5, exponent: 0.8, floor: 900.0 };
    /// // 3500 0.5^0.8 by hand.
    /// assert!((driven.film(3500.0, 1.25) - 2010.222121).abs() < 1e-6);
    /// assert_eq!([driven.film(3500.0, 2.5), driven.film(3500.0, 0.0)], [3500.0, 900.0]);
    /// ```
    pub fn film(&self, given: f64, speed: f64) -> f64 {
        of_speed(given, [speed, self.rated, self.exponent, self.floor])
    }

    /// The speed at which a given film meets its floor, m/s; none where it does not.
    pub fn at_the_floor(&self, given: f64) -> Option<f64> {
        let share = libm::pow(self.floor / given, 1.0 / self.exponent);
        (self.exponent > 0.0 && share > 0.0 && share.is_finite()).then_some(share * self.rated)
    }
}

/// As [`Driven::film`], of every lane: speed, rated speed, exponent, floor.
#[inline(always)]
pub(crate) fn of_speed<V: Vector>(given: V, [speed, rated, exponent, floor]: [V; 4]) -> V {
    // Below this share a power is nothing beside any floor; a standstill has no logarithm.
    let share = speed.div(rated).max(V::all(1e-30));
    exp(exponent.mul(ln(share))).mul(given).max(floor)
}

/// Derivatives of the heat flux.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slopes {
    /// With the surface temperature, W/(m2 K).
    pub per_kelvin: f64,
    /// With the distance from the entry, W/m3.
    pub per_metre: f64,
    /// With the heat given off per radian, through the medium's temperature, 1/(m s).
    pub per_heat: f64,
    /// With the line speed, W s/m3; zero at a standstill.
    pub per_speed: f64,
}

impl<'a> Surface<'a> {
    /// The surface of a product of `diameter` m at the die (flat: full thickness) under a film, in a medium of `entry` where the
    /// product enters; it does not radiate.
    pub fn under(film: &'a Film, entry: Celsius, shape: Shape, speed: f64, diameter: f64) -> Surface<'a> {
        Surface {
            film,
            factor: 1.0,
            emissivity: 0.0,
            entry: entry.0,
            warming: 0.0,
            entry_heat: 0.0,
            shape,
            speed,
            diameter,
            driven: None,
            around: None,
        }
    }

    /// The same surface with the film times a factor, and an emissivity.
    pub fn with(self, factor: f64, emissivity: f64) -> Surface<'a> {
        Surface { factor, emissivity, ..self }
    }

    /// The same surface on a line whose speed changes.
    pub fn driven(self, driven: Driven) -> Surface<'a> {
        Surface { driven: Some(driven), ..self }
    }

    /// The same surface at another line speed, m/s.
    pub fn at_speed(self, speed: f64) -> Surface<'a> {
        Surface { speed, ..self }
    }

    /// Whether it is on a line whose speed changes.
    pub(crate) fn is_driven(&self) -> bool {
        self.driven.is_some()
    }

    /// What becomes of a given film at other speeds; none at one speed, and of laws.
    pub(crate) fn follows(&self) -> Option<Driven> {
        self.driven.filter(|_| !matches!(self.film, Film::Law(..)))
    }

    /// The same surface in a medium of `entry` degC where the product enters, that warms by `warming` K per J/m given off
    /// per radian; `entry_heat` J/m had been given off at the entry.
    pub fn in_medium(self, entry: f64, warming: f64, entry_heat: f64) -> Surface<'a> {
        Surface { entry, warming, entry_heat, ..self }
    }

    /// The same surface in a medium of this temperature where the product enters, degC.
    pub(crate) fn at_entry(self, entry: f64) -> Surface<'a> {
        Surface { entry, ..self }
    }

    /// The same surface under water that meets the circumference so; `begun` m before the entry it first touched a part only.
    /// `hot_side`: with the film of the hot side instead of the one all round that cools as much.
    pub fn around(self, wetting: Wetting, inward: Inward, begun: f64, hot_side: bool) -> Surface<'a> {
        if wetting.pattern.is_even() {
            return self;
        }
        Surface { around: Some(Around { wetting, inward, begun, hot_side }), ..self }
    }

    /// The film coefficient where it is given and all round, `film_factor` included, W/(m2 K); none where it is not or a law or
    /// table makes it.
    pub fn given(&self) -> Option<f64> {
        match self.film {
            Film::Given(h) if self.around.is_none() => Some(self.factor * self.at_its_speed(*h)),
            _ => None,
        }
    }

    /// The film that is given for the rated speed, where it is one number, W/(m2 K).
    pub(crate) fn at_rated_speed(&self) -> Option<f64> {
        match self.film {
            Film::Given(h) if self.around.is_none() => Some(*h),
            _ => None,
        }
    }

    /// A given film or one of a table, at the line speed.
    fn at_its_speed(&self, film: f64) -> f64 {
        self.follows().map_or(film, |driven| driven.film(film, self.speed))
    }

    /// The boundary layer that makes the film all round, with what its section tells it; none where another law, a table or
    /// a given number does, or water that does not touch all round.
    pub(crate) fn layer(&self) -> Option<(&'static BoundaryLayer, &'a Inputs)> {
        match self.film {
            Film::Law(law, inputs) if self.around.is_none() => Some((law.layer?, inputs)),
            _ => None,
        }
    }

    /// What the film is multiplied with.
    pub(crate) fn factor(&self) -> f64 {
        self.factor
    }

    /// Round or flat product, and its diameter at the die, m.
    pub(crate) fn product(&self) -> (Shape, f64) {
        (self.shape, self.diameter)
    }

    /// Emissivity, 0 in water.
    pub fn emissivity(&self) -> f64 {
        self.emissivity
    }

    /// Temperature of the medium where the product enters, degC.
    pub fn entry(&self) -> f64 {
        self.entry
    }

    /// Heat given off per radian before the entry, J/m.
    pub fn entry_heat(&self) -> f64 {
        self.entry_heat
    }

    /// Line speed, m/s.
    pub fn speed(&self) -> f64 {
        self.speed
    }

    /// How much the medium warms, K per J/m given off per radian.
    pub fn warming(&self) -> f64 {
        self.warming
    }

    /// Temperature of the medium where `heat` J/m have been given off per radian since the die, degC.
    pub fn medium(&self, heat: f64) -> f64 {
        self.entry + self.warming * (heat - self.entry_heat)
    }

    fn state(&self, surface: f64, medium: f64, distance: f64) -> FilmState {
        let Surface { shape, speed, diameter, .. } = *self;
        // A law brings its own inputs.
        let inputs = Inputs::default();
        FilmState { shape, speed, diameter, distance, surface, medium, inputs }
    }

    /// Convective film coefficient at surface temperature `surface` (degC), `distance` (m) from the entry, W/(m2 K); where
    /// the water does not touch all round, the one all round that cools as much.
    pub fn film(&self, surface: f64, heat: f64, distance: f64) -> f64 {
        match self.film {
            Film::Given(h) if self.around.is_none() => self.factor * self.at_its_speed(*h),
            _ => self.film_in(surface, self.medium(heat), distance),
        }
    }

    /// The film where the medium touches.
    fn touching(&self, state: &FilmState) -> f64 {
        self.factor * self.at_its_speed(self.film.coefficient(state))
    }

    /// `film` in a medium of this temperature, degC.
    fn film_in(&self, surface: f64, medium: f64, distance: f64) -> f64 {
        let state = self.state(surface, medium, distance);
        let touching = self.touching(&state);
        let Some(around) = &self.around else { return touching };
        let (pattern, dry) = (around.wetting.pattern, around.dry(&state));
        if around.hot_side && around.wetting.is_uneven() {
            return pattern.of_hot_side(touching, dry);
        }
        let g =
            if around.wetting.turning { 0.0 } else { 1.0 / around.inward.conductance(self.since(around, distance)) };
        pattern.all_round(touching, dry, g)
    }

    /// Time since the water first touched a part only, s; where the speed changes, as long as it takes at the rated one. As the
    /// boundary layers do, it counts from a little before the entry.
    fn since(&self, around: &Around, distance: f64) -> f64 {
        let speed = self.driven.map_or(self.speed, |driven| driven.rated);
        (around.begun + distance + ENTRY_OFFSET) / speed
    }

    /// What conduction around leaves of the hot side at a place; none where there is none.
    ///
    /// At rest T_m + (T_s - T_m)(h_e + G)/(h_hot + G).
    pub fn apart(&self, surface: f64, heat: f64, distance: f64) -> Option<Apart> {
        let around = self.around.as_ref().filter(|around| around.wetting.is_uneven())?;
        let (medium, pattern) = (self.medium(heat), around.wetting.pattern);
        let state = self.state(surface, medium, distance);
        let wet_film = self.touching(&state);
        let time = self.since(around, distance);
        let conductance = around.inward.conductance(time);
        let dry = around.dry(&state);
        let (all_round, hot) =
            (pattern.all_round(wet_film, dry, 1.0 / conductance), pattern.of_hot_side(wet_film, dry));
        Some(Apart {
            at_rest: medium + (surface - medium) * (all_round + conductance) / (hot + conductance),
            share: around.inward.apart(pattern, time),
            wet_film,
            all_round,
            dry: matches!(pattern, film::Pattern::Part(_)),
        })
    }

    /// Radiative share of the film coefficient, W/(m2 K).
    pub fn radiation(&self, surface: f64) -> f64 {
        if self.emissivity == 0.0 {
            return 0.0;
        }
        radiation(self.emissivity, surface, self.entry)
    }

    /// Derivative of the radiated flux, W/(m2 K).
    pub(crate) fn radiation_slope(&self, surface: f64) -> f64 {
        let ts = surface + ZERO_CELSIUS;
        4.0 * self.emissivity * STEFAN_BOLTZMANN * ts * ts * ts
    }

    /// Heat flux to the medium, W/m2.
    pub fn flux(&self, surface: f64, heat: f64, distance: f64) -> f64 {
        (self.film(surface, heat, distance) + self.radiation(surface)) * (surface - self.medium(heat))
    }

    /// Derivatives of the flux.
    pub fn slopes(&self, surface: f64, heat: f64, distance: f64) -> Slopes {
        let radiation = self.radiation_slope(surface);
        if self.around.is_some() {
            return self.slopes_around(surface, self.medium(heat), distance);
        }
        let state = self.state(surface, self.medium(heat), distance);
        let excess = surface - state.medium;
        if let Film::Given(h) = self.film {
            let film = self.factor * self.at_its_speed(*h);
            let per_speed = self.per_speed(*h, &state) * excess;
            return Slopes { per_kelvin: film + radiation, per_metre: 0.0, per_heat: -film * self.warming, per_speed };
        }
        let own = self.film.coefficient(&state);
        let film = self.factor * self.at_its_speed(own);
        let (per_kelvin, per_metre) = self.film.slopes(&state);
        // A film that follows the speed does so with its slopes; on its floor it has none.
        let share = self
            .follows()
            .map_or(1.0, |driven| if film > self.factor * driven.floor { self.at_its_speed(own) / own } else { 0.0 });
        let (per_kelvin, per_metre) = (share * per_kelvin, share * per_metre);
        let per_heat = if self.warming == 0.0 {
            0.0
        } else {
            (self.factor * self.film.slope_with_medium(&state) * excess - film) * self.warming
        };
        Slopes {
            per_kelvin: film + self.factor * per_kelvin * excess + radiation,
            per_metre: self.factor * per_metre * excess,
            per_heat,
            per_speed: self.per_speed(own, &state) * excess,
        }
    }

    /// Derivative of the film with the line speed, W s/(m3 K); `own` is the film before the speed and its factor.
    fn per_speed(&self, own: f64, state: &FilmState) -> f64 {
        let Some(driven) = self.driven.filter(|_| self.speed > 0.0) else { return 0.0 };
        let Film::Law(law, inputs) = self.film else {
            let film = driven.film(own, self.speed);
            return if film > driven.floor { self.factor * driven.exponent * film / self.speed } else { 0.0 };
        };
        let aside = OF_SPEED * self.speed;
        let at = |speed: f64| (law.coefficient)(&FilmState { speed, inputs: *inputs, ..*state });
        self.factor * (at(self.speed + aside) - at(self.speed - aside)) / (2.0 * aside)
    }

    /// `slopes` by differences of the film, as those of a law.
    fn slopes_around(&self, surface: f64, medium: f64, distance: f64) -> Slopes {
        let film = self.film_in(surface, medium, distance);
        let metre = OF_DISTANCE * (distance + ENTRY_OFFSET);
        let per = |step: f64, high: f64, low: f64| (high - low) / (2.0 * step);
        let at_surface = |surface: f64| self.film_in(surface, medium, distance);
        let at_medium = |medium: f64| self.film_in(surface, medium, distance);
        let at_distance = |distance: f64| self.film_in(surface, medium, distance);
        let at_speed = |speed: f64| self.at_speed(speed).film_in(surface, medium, distance);
        let excess = surface - medium;
        let per_kelvin = (at_surface(surface + KELVIN) - film) / KELVIN;
        let per_metre = (at_distance(distance + metre) - film) / metre;
        let with_medium = || per(KELVIN, at_medium(medium + KELVIN), at_medium(medium - KELVIN));
        let per_heat = if self.warming == 0.0 { 0.0 } else { (with_medium() * excess - film) * self.warming };
        let aside = OF_SPEED * self.speed;
        let moves = self.driven.is_some() && self.speed > 0.0;
        let per_speed =
            if moves { per(aside, at_speed(self.speed + aside), at_speed(self.speed - aside)) } else { 0.0 };
        Slopes {
            per_kelvin: film + per_kelvin * excess + self.radiation_slope(surface),
            per_metre: per_metre * excess,
            per_heat,
            per_speed: per_speed * excess,
        }
    }
}

impl Around {
    /// The film where no water touches: given, or air at the water's temperature with radiation.
    fn dry(&self, state: &FilmState) -> f64 {
        self.wetting.dry_film.unwrap_or_else(|| {
            let air = (film::default_law(Medium::Air).coefficient)(state);
            air + radiation(EMISSIVITY, state.surface, state.medium)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::Section;

    /// Slopes of the flux against central differences of it, for every kind of film, with radiation.
    #[test]
    fn slopes_are_those_of_the_flux() {
        let films = [
            Film::Given(30.0),
            Film::OfSurface(vec![[20.0, 10.0], [200.0, 45.0]]),
            Film::OfDistance(vec![[0.0, 60.0], [3.0, 15.0]]),
            Film::Law(crate::film::default_law(Medium::Air), Inputs::default()),
        ];
        for film in films {
            let section = Section::new("air", Medium::Air, 3.0, Celsius(35.0));
            let section = Section { film, film_factor: 1.4, emissivity: 0.9, ..section };
            let surface = section.surface(Shape::Round, 2.5, 4e-3);
            // Where a law's distance step must not vanish: at the offset of its virtual entry.
            for (ts, x) in [(150.0, 1.3), (60.0, 0.2), (110.0, ENTRY_OFFSET)] {
                let Slopes { per_kelvin, per_metre, .. } = surface.slopes(ts, 0.0, x);
                let (kelvin, metre) = (0.01, 1e-3 * x);
                let kelvins = (surface.flux(ts + kelvin, 0.0, x) - surface.flux(ts - kelvin, 0.0, x)) / (2.0 * kelvin);
                let metres = (surface.flux(ts, 0.0, x + metre) - surface.flux(ts, 0.0, x - metre)) / (2.0 * metre);
                // Third derivatives over a hundredth of a kelvin and a thousandth of the distance.
                assert!((per_kelvin / kelvins - 1.0).abs() < 1e-6, "{ts} {x}: {per_kelvin} {kelvins}");
                let scale = metres.abs() + 1e-6 * surface.flux(ts, 0.0, x) / x;
                assert!((per_metre - metres).abs() < 1e-5 * scale, "{ts} {x}: {per_metre} {metres}");
            }
        }
    }
}
