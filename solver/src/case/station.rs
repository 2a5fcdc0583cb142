//! A place on the line where numbers are wanted, and what is asked there.

use super::Case;
use crate::units::Celsius;
use crate::units::words::key;

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
