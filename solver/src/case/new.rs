//! A case without a file: constructors take what every case has to say, and leave the rest as in a case file that says no more.
//!
//! All fields are public: change them, or name them before `..`.

use super::{
    Case, Contact, Contraction, DieTemperature, Geometry, Layer, Limit, Medium, Quantity, Section, Shape, Size,
    Station, Turn,
};
use crate::case::programme::Feed;
use crate::film::{Film, Inputs, Wetting, default_law};
use crate::material::{Kind, Material};
use crate::units::{Celsius, System};

/// Temperature of the air in the turn-rounds of a line that does not say.
pub(crate) const ROOM: Celsius = Celsius(25.0);

/// Largest error wanted of a temperature where a case does not say, K.
pub(crate) const TOLERANCE: f64 = 0.01;

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
}

impl Layer {
    /// A layer in perfect contact with the one inside it, its material as it is; a metal contracts in every direction, a plastic
    /// is held in length by what lies inside it.
    ///
    /// A plastic with nothing solid inside it contracts in every direction: say `contraction: Contraction::Free`.
    pub fn new(name: impl Into<String>, material: Material, size: Size, at_die: Celsius) -> Layer {
        let contraction = if material.kind == Kind::Metal { Contraction::Free } else { Contraction::Held };
        Layer {
            name: name.into(),
            material,
            size,
            temperature: DieTemperature::Fixed(at_die),
            contact: Contact::Perfect,
            contraction,
            poisson_ratio: 0.5,
            conductivity_factor: 1.0,
            heat_capacity_factor: 1.0,
            melt_shrink_max: None,
            feed: Feed::default(),
        }
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
            emissivity: if medium == Medium::Air { Turn::EMISSIVITY } else { 0.0 },
            wetting: Wetting::default(),
            circulation: None,
            supply: None,
            passes: 1,
            turn: Turn::in_air(0.0, ROOM),
            film_exponent: 0.0,
            film_floor: 0.0,
            time_max: None,
        }
    }

    /// The same with a given film coefficient, W/(m2 K), which includes radiation.
    pub fn given(self, film: f64) -> Section {
        Section { film: Film::Given(film), emissivity: 0.0, ..self }
    }
}

impl Station {
    /// A station without limits at the end of the section of this index.
    pub fn behind(name: impl Into<String>, section: usize) -> Station {
        Station {
            name: name.into(),
            after: section,
            offset: 0.0,
            limits: Vec::new(),
            diameter_min: None,
            diameter_max: None,
            contact: 0.0,
        }
    }

    /// The same so far along the line, m; before the section's end where negative.
    pub fn moved(self, offset: f64) -> Station {
        Station { offset, ..self }
    }

    /// The same with another limit.
    pub fn below(mut self, quantity: Quantity, max: Celsius) -> Station {
        self.limits.push(Limit { quantity, max });
        self
    }
}
