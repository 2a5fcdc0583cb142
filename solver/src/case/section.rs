//! One stretch of the line: its medium, its film, its water, its passes.

use super::{Medium, Shape};
use crate::film::surface::{EMISSIVITY, Surface};
use crate::film::{Film, Inputs, Wetting, default_law};
use crate::units::Celsius;

/// Temperature of the air in the turn-rounds of a line that does not say.
pub(crate) const ROOM: Celsius = Celsius(25.0);

/// One stretch of the line.
#[derive(Clone, Debug)]
pub struct Section {
    /// The user's name for it.
    pub name: String,
    /// What surrounds the product.
    pub medium: Medium,
    /// Length of one pass, m.
    pub length: f64,
    /// Temperature of the medium; of water with a circulation, of its supply.
    pub temperature: Celsius,
    /// Surface law or given coefficient.
    pub film: Film,
    /// Multiplier of the film coefficient, 1.
    pub film_factor: f64,
    /// Emissivity of the surface, 0 to 1 (0 in water).
    pub emissivity: f64,
    /// How its water meets the circumference; in air all round.
    pub wetting: Wetting,
    /// Water whose temperature follows the heat; none: it stays at `temperature`.
    pub circulation: Option<Circulation>,
    /// Index of the section whose outlet feeds this one: its flow is then that of the first of the series, and its own
    /// `temperature` is not used.
    pub supply: Option<usize>,
    /// How often the product passes through; at least 1.
    pub passes: usize,
    /// The turn-round between two passes.
    pub turn: Turn,
    /// A given film at line speed v is max(floor, film (v / line speed)^exponent); only `drive` looks at it. 0: the same at
    /// every speed.
    pub film_exponent: f64,
    /// That floor, W/(m2 K).
    pub film_floor: f64,
    /// Longest time that product may spend in it, s; only `drive` looks at it.
    pub time_max: Option<f64>,
    /// Water in the tank, m3; only `drive` looks at it.
    pub volume: Option<f64>,
}

/// A water flow and its way through the section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circulation {
    /// How much water.
    pub flow: Flow,
    /// Which way.
    pub direction: Direction,
}

/// A water flow as the case gives it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Flow {
    /// kg/s.
    Mass(f64),
    /// m3/s at the temperature of the supply.
    Volume(f64),
}

impl Flow {
    /// kg/s of water supplied at `temperature`.
    pub fn mass(self, temperature: Celsius) -> f64 {
        match self {
            Flow::Mass(flow) => flow,
            Flow::Volume(flow) => flow * crate::material::water::at(temperature.0).density,
        }
    }
}

/// Which way water flows through a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// With the product.
    Along,
    /// Against the product.
    Counter,
    /// Stirred or recirculated: one temperature everywhere, that of the outlet.
    Mixed,
}

/// A turn-round in air between two passes through a section.
#[derive(Clone, Debug)]
pub struct Turn {
    /// Length of product in it, m.
    pub length: f64,
    /// Temperature of the air.
    pub temperature: Celsius,
    /// Film coefficient in it.
    pub film: Film,
    /// Emissivity of the surface in it.
    pub emissivity: f64,
}

impl Turn {
    /// A turn-round in still air with the law of product moving through air.
    pub fn in_air(length: f64, temperature: Celsius) -> Turn {
        let film = Film::Law(default_law(Medium::Air), Inputs::default());
        Turn { length, temperature, film, emissivity: EMISSIVITY }
    }

    /// The condition at the surface in it, as [`Section::surface`].
    pub fn surface(&self, shape: Shape, speed: f64, diameter: f64) -> Surface<'_> {
        Surface::under(&self.film, self.temperature, shape, speed, diameter).with(1.0, self.emissivity)
    }
}

impl Section {
    /// One pass of `length` m through a medium that stays at its temperature, with the film law and the emissivity that a case
    /// file has for it.
    ///
    /// The law for spray needs to know how much water arrives: give it a film with [`Section::film`] or [`Inputs::water_flux`].
    pub fn new(name: impl Into<String>, medium: Medium, length: f64, temperature: Celsius) -> Section {
        Section {
            name: name.into(),
            medium,
            length,
            temperature,
            film: Film::Law(default_law(medium), Inputs::default()),
            film_factor: 1.0,
            emissivity: if medium == Medium::Air { EMISSIVITY } else { 0.0 },
            wetting: Wetting::default(),
            circulation: None,
            supply: None,
            passes: 1,
            turn: Turn::in_air(0.0, ROOM),
            film_exponent: 0.0,
            film_floor: 0.0,
            time_max: None,
            volume: None,
        }
    }

    /// The same with a given film coefficient, W/(m2 K), which includes radiation.
    pub fn given(self, film: f64) -> Section {
        Section { film: Film::Given(film), emissivity: 0.0, ..self }
    }

    /// Way of the product through it, m: all passes and the turn-rounds between them.
    pub fn span(&self) -> f64 {
        self.passes as f64 * self.length + (self.passes as f64 - 1.0) * self.turn.length
    }

    /// The condition at the surface of a product of `diameter` m at the die (flat: full thickness), in the medium as it enters.
    pub fn surface(&self, shape: Shape, speed: f64, diameter: f64) -> Surface<'_> {
        let emissivity = if self.medium == Medium::Air { self.emissivity } else { 0.0 };
        Surface::under(&self.film, self.temperature, shape, speed, diameter).with(self.film_factor, emissivity)
    }
}
