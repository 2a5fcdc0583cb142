//! The case: everything that a run needs, checked, in SI, nothing optional.

pub mod cautions;
pub mod error;
mod new;
mod plant;
pub mod preheat;
pub mod programme;
pub mod shrink;
mod uncertain;

use std::borrow::Borrow;
use std::ops::{Deref, DerefMut};

pub use crate::material::medium::Medium;
pub use crate::maths::shape::Shape;
pub(crate) use new::{ROOM, TOLERANCE};
pub use plant::Plant;
pub use uncertain::{InputBand, Mode, Move, Varied, Varying};

use crate::case::error::Warning;
use crate::case::preheat::Preheat;
use crate::case::programme::{Feed, Programme};
use crate::film::{Film, Wetting};
use crate::material::{Kind, Material};
use crate::units::words::key;
use crate::units::{Celsius, System};

/// One product on one line: what a march takes.
#[derive(Clone, Debug)]
pub struct Case {
    /// What the user calls it.
    pub title: String,
    /// The units in which answers are shown; what is computed does not depend on them.
    pub units: System,
    /// Line speed, m/s.
    pub line_speed: f64,
    /// Round product or flat product.
    pub shape: Shape,
    /// Whether the radii follow the density.
    pub geometry: Geometry,
    /// Diameter of a hollow core, m (flat: full gap); 0 for a solid product.
    pub bore: f64,
    /// From the axis (flat: mid-plane) outward; at least one.
    pub layers: Vec<Layer>,
    /// From the die onward; at least one.
    pub sections: Vec<Section>,
    /// Where numbers are wanted, in the order of the case file.
    pub stations: Vec<Station>,
    /// Largest error wanted of every reported temperature, K.
    pub tolerance: f64,
    /// What was assumed because the case file left it blank.
    pub assumptions: Vec<Warning>,
    /// How uncertain inputs are, where the case says so; the usual bands hold for the others.
    pub bands: Vec<InputBand>,
    /// Doubts that move several inputs together; independent of each other and of the bands.
    pub modes: Vec<Mode>,
}

/// What a case file says: a case, and what its march ignores. Wherever a case is asked for, it is its case.
#[derive(Clone, Debug)]
pub struct CaseFile {
    /// What a march takes.
    pub case: Case,
    /// What the plant allows: only answers to design questions look at it.
    pub plant: Plant,
    /// What varies and how it is distributed, in the order in which it is applied: only studies of many samples look at it.
    pub vary: Vec<Varying>,
    /// What the line does over time: only `drive` looks at it.
    pub programme: Programme,
}

impl CaseFile {
    /// The same to another tolerance, K.
    pub fn to(mut self, tolerance: f64) -> CaseFile {
        self.tolerance = tolerance;
        self
    }
}

impl Deref for CaseFile {
    type Target = Case;

    fn deref(&self) -> &Case {
        &self.case
    }
}

impl DerefMut for CaseFile {
    fn deref_mut(&mut self) -> &mut Case {
        &mut self.case
    }
}

impl Borrow<Case> for CaseFile {
    fn borrow(&self) -> &Case {
        &self.case
    }
}

impl From<Case> for CaseFile {
    /// A plant without ceilings, nothing that varies, one speed for ever.
    fn from(case: Case) -> CaseFile {
        CaseFile { case, plant: Plant::default(), vary: Vec::new(), programme: Programme::default() }
    }
}

/// Whether the radii follow the density.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Geometry {
    /// Ring areas follow the density as each layer's contraction says.
    Shrinking,
    /// Radii stay as they are at the die.
    Fixed,
}

/// One layer of the product.
#[derive(Clone, Debug)]
pub struct Layer {
    /// The user's name for it.
    pub name: String,
    /// What it is made of.
    pub material: Material,
    /// Its size as the case gives it.
    pub size: Size,
    /// Its uniform temperature at the die.
    pub temperature: DieTemperature,
    /// Thermal contact with the layer inside it (`Perfect` for the first layer).
    pub contact: Contact,
    /// How a ring's area answers a change of density.
    pub contraction: Contraction,
    /// Poisson's ratio of a held plastic below its set temperature, 0 to 0.5; 0.5: it goes on contracting as the melt.
    pub poisson_ratio: f64,
    /// Multiplier of the material's conductivity, 1.
    pub conductivity_factor: f64,
    /// Multiplier of the material's heat capacity, 1.
    pub heat_capacity_factor: f64,
    /// Most volume that the melt under the set skin may still have to lose, percent of the layer's.
    pub melt_shrink_max: Option<f64>,
    /// Its output and its way to the die, of a melt; only `drive` looks at it.
    pub feed: Feed,
}

/// A layer's size; every value in m. Flat: full thickness for diameter, one side for wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    /// Outer diameter at the die, hot.
    Diameter(f64),
    /// Outer diameter when everything is at 23 degC.
    FinishedDiameter(f64),
    /// Wall at the die, hot.
    Wall(f64),
    /// Wall when everything is at 23 degC.
    FinishedWall(f64),
}

/// A temperature at the die: fixed, following the line speed, or what a preheater makes of it.
#[derive(Clone, Debug, PartialEq)]
pub enum DieTemperature {
    /// The same at every speed.
    Fixed(Celsius),
    /// Linear between (line speed m/s, degC) points, constant outside.
    OfSpeed(Vec<[f64; 2]>),
    /// What a preheater of this power makes of it at the case's line speed; first layer of a round product only.
    Preheated(Preheat),
}

/// Thermal contact between a layer and the one inside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Contact {
    /// One temperature on both sides.
    Perfect,
    /// q'' = h_c (T_in - T_out), W/(m2 K).
    Conductance(f64),
}

/// How a ring of area A0 at its die temperature answers a change of density.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contraction {
    /// A/A0 = rho(T0)/rho(T): the conductor holds the length.
    Held,
    /// A/A0 = (rho(T0)/rho(T))^(2/3); flat: thickness^(1/3): contracts in every direction.
    Free,
}

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
    /// Emissivity of a plastic surface in air. Common practice for plastics, 0.90 to 0.96, no source.
    pub const EMISSIVITY: f64 = 0.94;

    /// A turn-round in still air with the law of product moving through air.
    pub fn in_air(length: f64, temperature: Celsius) -> Turn {
        let film = Film::Law(crate::film::default_law(Medium::Air), crate::film::Inputs::default());
        Turn { length, temperature, film, emissivity: Turn::EMISSIVITY }
    }
}

impl Section {
    /// Way of the product through it, m: all passes and the turn-rounds between them.
    pub fn span(&self) -> f64 {
        self.passes as f64 * self.length + (self.passes as f64 - 1.0) * self.turn.length
    }
}

/// A named place on the line where numbers are wanted and limits hold.
#[derive(Clone, Debug)]
pub struct Station {
    /// The user's name for it.
    pub name: String,
    /// Index of the section at whose end it stands.
    pub after: usize,
    /// Distance from that end along the line, m (negative: before it).
    pub offset: f64,
    /// Limits that hold there.
    pub limits: Vec<Limit>,
    /// Smallest outer diameter allowed there (flat: thickness), hot as the station sees it, m.
    pub diameter_min: Option<f64>,
    /// Largest outer diameter allowed there, hot, m.
    pub diameter_max: Option<f64>,
    /// Length of product that lies on a wheel from here on, m; only `drive` looks at it.
    pub contact: f64,
}

/// An upper limit of a temperature at a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Which temperature.
    pub quantity: Quantity,
    /// The highest that is allowed.
    pub max: Celsius,
}

/// The temperatures that a station reports.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Outer surface.
    Surface,
    /// Axis, or the inner surface of a hollow product.
    Core,
    /// Mass mean of the plastic layers.
    Mean,
    /// Hottest point of the plastic, that inside laid-up cores included.
    Hottest,
    /// Adiabatic mix of the whole product.
    Equalised,
    /// Hot side of the outer surface, behind water that does not touch all round; the outer surface where it does.
    HotSide,
    /// Hottest point of the layer of this index.
    Layer(usize),
}

impl Quantity {
    /// Those of every product as a whole, in the order in which reports list them.
    pub const ALL: [Quantity; 5] =
        [Quantity::Surface, Quantity::Core, Quantity::Mean, Quantity::Hottest, Quantity::Equalised];

    /// Those of the whole product, its hot side where the case has one, then the hottest point of every layer.
    pub fn all(case: &Case) -> Vec<Quantity> {
        let hot_side = case.is_uneven().then_some(Quantity::HotSide);
        Quantity::ALL.into_iter().chain(hot_side).chain((0..case.layers.len()).map(Quantity::Layer)).collect()
    }

    /// What a limit of this temperature judges: the hot side for the surface, where the case has one.
    pub fn judged(self, case: &Case) -> Quantity {
        if self == Quantity::Surface && case.is_uneven() { Quantity::HotSide } else { self }
    }

    /// The last steps of its output's name: `core`, `hottest.jacket`.
    pub fn name(self, case: &Case) -> String {
        match self {
            Quantity::Surface => "surface".to_string(),
            Quantity::Core => "core".to_string(),
            Quantity::Mean => "mean".to_string(),
            Quantity::Hottest => "hottest".to_string(),
            Quantity::Equalised => "equalised".to_string(),
            Quantity::HotSide => "hot_side".to_string(),
            Quantity::Layer(index) => format!("hottest.{}", key(case.layer_name(index))),
        }
    }

    /// The last steps of its limit's key path: `core_max`, `layer_max.jacket`.
    pub fn limit(self, case: &Case) -> String {
        match self {
            Quantity::Layer(index) => format!("layer_max.{}", key(case.layer_name(index))),
            Quantity::HotSide => Quantity::Surface.limit(case),
            _ => format!("{}_max", self.name(case)),
        }
    }

    /// In the words of a report: "core", "hottest plastic", "hottest point of jacket".
    pub fn words(self, case: &Case) -> String {
        match self {
            Quantity::Hottest if case.has_plastic() => "hottest plastic".to_string(),
            Quantity::Layer(index) => format!("hottest point of {}", case.layer_name(index)),
            Quantity::HotSide => "hot side of the surface".to_string(),
            _ => self.name(case),
        }
    }
}

impl Case {
    /// Name of layer `index`; empty where there is none.
    pub fn layer_name(&self, index: usize) -> &str {
        self.layers.get(index).map_or("", |layer| layer.name.as_str())
    }

    /// Whether water of a section touches only a part of the circumference, or one side more than the other.
    pub fn is_uneven(&self) -> bool {
        self.sections.iter().any(|section| section.wetting.is_uneven())
    }

    /// Whether there is a plastic in the product.
    pub fn has_plastic(&self) -> bool {
        self.layers.iter().any(|layer| layer.material.kind != Kind::Metal)
    }

    /// Way of the product from the die to the end of the line, m: every pass and every turn-round counts.
    pub fn line_length(&self) -> f64 {
        self.sections.iter().map(Section::span).sum()
    }

    /// Floor that the line stands on, from the die to its last device, m: passes side by side count once.
    ///
    /// Turn-rounds are taken to lie within the length of their section. With an even number of passes the product leaves where
    /// it came in; what follows is counted beyond the section all the same, so that no line is longer than is said.
    ///
    /// ```
    /// let mut case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
    /// assert_eq!(case.floor_length(), case.line_length());
    /// let air = case.line_length() - case.sections[1].length;
    /// (case.sections[1].length, case.sections[1].passes, case.sections[1].turn.length) = (6.0, 3, 1.0);
    /// assert!((case.line_length() - air - 20.0).abs() < 1e-12 && (case.floor_length() - air - 6.0).abs() < 1e-12);
    /// ```
    pub fn floor_length(&self) -> f64 {
        self.sections.iter().map(|section| section.length).sum()
    }

    /// Distance from the die at which section `index` begins, m.
    pub fn section_start(&self, index: usize) -> f64 {
        self.sections[..index].iter().map(Section::span).sum()
    }

    /// Distance of a station from the die, m.
    pub fn station_distance(&self, station: &Station) -> f64 {
        self.section_start(station.after + 1) + station.offset
    }

    /// The section that a station stands in and its distance from that section's entry, m; a boundary belongs to the
    /// section that ends there.
    pub fn station_place(&self, station: &Station) -> (usize, f64) {
        if station.offset == 0.0 {
            return (station.after, self.sections[station.after].span());
        }
        let distance = self.station_distance(station);
        let last = self.sections.len() - 1;
        let section = (0..last).find(|&index| distance <= self.section_start(index + 1)).unwrap_or(last);
        let length = self.sections[section].span();
        let within = (distance - self.section_start(section)).clamp(0.0, length);
        // A billionth of a section past its entry is the entry, but for rounding.
        (section, if within < 1e-9 * length { 0.0 } else { within })
    }

    /// Index of the first station with both this word and "gauge" or "gage" in its name, whatever its capitals: "hot", "cold".
    pub fn gauge(&self, word: &str) -> Option<usize> {
        let is_one = |name: &str| name.contains(word) && (name.contains("gauge") || name.contains("gage"));
        self.stations.iter().position(|station| is_one(&station.name.to_lowercase()))
    }

    /// The first section of the series that feeds section `index` with water: itself where nobody does.
    pub fn water_head(&self, index: usize) -> usize {
        // A series is never longer than the line; a circle, which the reader refuses, ends somewhere.
        (0..self.sections.len()).fold(index, |at, _| self.sections[at].supply.unwrap_or(at))
    }

    /// Temperature of layer `index` at the die at this case's line speed.
    pub fn die_temperature(&self, index: usize) -> Celsius {
        match &self.layers[index].temperature {
            DieTemperature::Fixed(temperature) => *temperature,
            DieTemperature::OfSpeed(points) => Celsius(crate::material::linear(points, self.line_speed)),
            DieTemperature::Preheated(preheat) => preheat::temperature(self, preheat),
        }
    }
}
