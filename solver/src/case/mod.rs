//! The case: everything that a run needs, checked, in SI, nothing optional; and what a case file says besides.
//!
//! A case without a file is made by constructors that take what every case has to say, and leave the rest as in a case file that says
//! no more. All fields are public: change them, or name them before `..`.

pub mod cautions;
pub(crate) mod check;
pub mod error;
mod layer;
mod plant;
pub mod preheat;
pub mod programme;
mod section;
pub mod shrink;
mod stages;
mod station;
#[cfg(test)]
mod tests;
mod uncertain;
pub mod warning;

use std::borrow::Borrow;
use std::ops::{Deref, DerefMut};

pub use crate::material::medium::Medium;
pub use crate::maths::shape::Shape;
pub use layer::{Contact, Contraction, DieTemperature, Layer, Size};
pub use plant::Plant;
pub(crate) use section::ROOM;
pub use section::{Circulation, Direction, Flow, Section, Turn};
pub use stages::{Aim, Margin, Maximum, Prices, Ranged, Rest, Stages};
pub use station::{Limit, Quantity, Station};
pub use uncertain::{InputBand, Mode, Move, Varied, Varying};

use crate::case::programme::Programme;
use crate::case::shrink::Law;
use crate::case::warning::Warning;
use crate::material::{FINISHED, Kind};
use crate::units::{Celsius, System};

/// Largest error wanted of a temperature where a case does not say, K.
pub(crate) const TOLERANCE: f64 = 0.01;

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
    /// Where plastics set: as their curves say, or as the cooling rate moves that.
    pub setting: SettingPoint,
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
    /// What is to be best within bounds: only `stages` looks at it.
    pub stages: Option<Stages>,
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
        CaseFile { case, plant: Plant::default(), vary: Vec::new(), programme: Programme::default(), stages: None }
    }
}

/// Where plastics set.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SettingPoint {
    /// Where their curves have the peak of crystallisation, whatever the cooling rate.
    #[default]
    Equilibrium,
    /// As much lower as the cooling rate in the middle of the wall says.
    ByRate,
}

/// Whether the radii follow the density.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Geometry {
    /// Ring areas follow the density as each layer's contraction says.
    Shrinking,
    /// Radii stay as they are at the die.
    Fixed,
}

impl Case {
    /// A round product without a bore whose radii follow the density, to 0.01 K, without stations.
    ///
    /// Line speed in m/s; layers from the axis outward and sections from the die onward, at least one of each. Nothing is
    /// checked here: a march refuses a case that it cannot start from.
    ///
    /// ```
    /// use quenchway::file::library;
    /// use quenchway::{Case, Celsius, Contact, Layer, Medium, Quantity, Section, Size, Station, march};
    ///
    /// let material = |name| library::find(name).ok_or("no such material");
    /// let wire = Layer::new("wire", material("copper")?, Size::Diameter(1.78e-3), Celsius(90.0));
    /// let insulation = Layer::new("insulation", material("pvc-insulation")?, Size::Diameter(3.42e-3), Celsius(188.0));
    /// let insulation = Layer { contact: Contact::Conductance(2000.0), ..insulation };
    /// let sections = vec![
    ///     Section::new("air gap", Medium::Air, 0.4, Celsius(28.0)),
    ///     Section::new("trough", Medium::Water, 18.0, Celsius(16.0)),
    /// ];
    /// let case = Case::new(2.5, vec![wire, insulation], sections)
    ///     .with(Station::behind("capstan", 1).below(Quantity::Core, Celsius(75.0)));
    /// let solution = march(&case)?;
    /// assert!(solution.stations[0].limits[0].met);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(line_speed: f64, layers: Vec<Layer>, sections: Vec<Section>) -> Case {
        Case {
            title: "untitled".to_string(),
            units: System::default(),
            line_speed,
            shape: Shape::Round,
            geometry: Geometry::Shrinking,
            bore: 0.0,
            layers,
            sections,
            stations: Vec::new(),
            tolerance: TOLERANCE,
            setting: SettingPoint::Equilibrium,
            assumptions: Vec::new(),
            bands: Vec::new(),
            modes: Vec::new(),
        }
    }

    /// The same with another station.
    pub fn with(mut self, station: Station) -> Case {
        self.stations.push(station);
        self
    }

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
        let (mut section, mut start) = (0, 0.0);
        while section < last && distance > start + self.sections[section].span() {
            start += self.sections[section].span();
            section += 1;
        }
        let length = self.sections[section].span();
        let within = (distance - start).clamp(0.0, length);
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
            DieTemperature::Preheated(preheat) => {
                let layer = &self.layers[index];
                let (density, capacity) = (&layer.material.density, &layer.material.heat_capacity);
                let law = Law::uniform(shrink::exponent(layer.contraction, self.shape, self.geometry));
                let mass_flow = |t: Celsius| {
                    let ratio = shrink::area_ratio(density, &law, t, FINISHED);
                    let inner = self.bore / 2.0;
                    let squares = shrink::area_at_die(layer.size, self.shape, [inner, inner], ratio);
                    self.line_speed * density.at(t) * std::f64::consts::PI * squares
                };
                let gained = |t: Celsius| layer.heat_capacity_factor * capacity.integral(preheat.entry_temperature, t);
                preheat.temperature(mass_flow, gained)
            }
        }
    }
}
