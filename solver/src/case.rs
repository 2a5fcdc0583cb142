//! The case: everything that a run needs, checked, in SI, nothing optional.

use crate::error::Warning;
use crate::film::Film;
use crate::material::Material;
use crate::units::Celsius;

/// One product on one line: what a march takes.
#[derive(Clone, Debug)]
pub struct Case {
    /// What the user calls it.
    pub title: String,
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
}

/// The product's shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Concentric layers about an axis.
    Round,
    /// Layers from the mid-plane outward, cooled on both faces.
    Flat,
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
    /// Multiplier of the material's conductivity, 1.
    pub conductivity_factor: f64,
    /// Multiplier of the material's heat capacity, 1.
    pub heat_capacity_factor: f64,
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

/// A temperature at the die, fixed or following the line speed.
#[derive(Clone, Debug, PartialEq)]
pub enum DieTemperature {
    /// The same at every speed.
    Fixed(Celsius),
    /// Linear between (line speed m/s, degC) points, constant outside.
    OfSpeed(Vec<[f64; 2]>),
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

/// What surrounds the product in a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Medium {
    /// Still or slow air, with radiation.
    Air,
    /// Immersed in water.
    Water,
    /// Water jets on all sides, in air.
    Spray,
}

impl Medium {
    /// All of them.
    pub const ALL: [Medium; 3] = [Medium::Air, Medium::Water, Medium::Spray];

    /// The word that the case file, JSON and reports use.
    pub fn name(self) -> &'static str {
        match self {
            Medium::Air => "air",
            Medium::Water => "water",
            Medium::Spray => "spray",
        }
    }

    /// Whether water wets the product: no radiation, boiling is watched, the dry span begins behind it.
    pub fn is_water(self) -> bool {
        self != Medium::Air
    }
}

/// One stretch of the line.
#[derive(Clone, Debug)]
pub struct Section {
    /// The user's name for it.
    pub name: String,
    /// What surrounds the product.
    pub medium: Medium,
    /// Length, m.
    pub length: f64,
    /// Temperature of the medium.
    pub temperature: Celsius,
    /// Surface law or given coefficient.
    pub film: Film,
    /// Multiplier of the film coefficient, 1.
    pub film_factor: f64,
    /// Emissivity of the surface, 0 to 1 (0 in water).
    pub emissivity: f64,
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
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Quantity {
    /// Outer surface.
    Surface,
    /// Axis, or the inner surface of a hollow product.
    Core,
    /// Mass mean of the plastic layers.
    Mean,
    /// Hottest point of the plastic layers.
    Hottest,
    /// Adiabatic mix of the whole product.
    Equalised,
}

impl Quantity {
    /// All of them, in the order in which reports list them.
    pub const ALL: [Quantity; 5] =
        [Quantity::Surface, Quantity::Core, Quantity::Mean, Quantity::Hottest, Quantity::Equalised];

    /// The word that the case file, JSON and reports use.
    pub fn name(self) -> &'static str {
        match self {
            Quantity::Surface => "surface",
            Quantity::Core => "core",
            Quantity::Mean => "mean",
            Quantity::Hottest => "hottest",
            Quantity::Equalised => "equalised",
        }
    }
}

impl Case {
    /// Length of the line, m.
    pub fn line_length(&self) -> f64 {
        self.sections.iter().map(|section| section.length).sum()
    }

    /// Distance from the die at which section `index` begins, m.
    pub fn section_start(&self, index: usize) -> f64 {
        self.sections[..index].iter().map(|section| section.length).sum()
    }

    /// Distance of a station from the die, m.
    pub fn station_distance(&self, station: &Station) -> f64 {
        self.section_start(station.after + 1) + station.offset
    }

    /// The section that a station stands in and its distance from that section's entry, m; a boundary belongs to the
    /// section that ends there.
    pub fn station_place(&self, station: &Station) -> (usize, f64) {
        if station.offset == 0.0 {
            return (station.after, self.sections[station.after].length);
        }
        let distance = self.station_distance(station);
        let last = self.sections.len() - 1;
        let section = (0..last).find(|&index| distance <= self.section_start(index + 1)).unwrap_or(last);
        let length = self.sections[section].length;
        let within = (distance - self.section_start(section)).clamp(0.0, length);
        // A billionth of a section past its entry is the entry, but for rounding.
        (section, if within < 1e-9 * length { 0.0 } else { within })
    }

    /// Temperature of layer `index` at the die at this case's line speed.
    pub fn die_temperature(&self, index: usize) -> Celsius {
        match &self.layers[index].temperature {
            DieTemperature::Fixed(temperature) => *temperature,
            DieTemperature::OfSpeed(points) => Celsius(crate::material::linear(points, self.line_speed)),
        }
    }
}
