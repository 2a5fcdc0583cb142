//! What stations and sections report of a march.

use serde::Serialize;

use crate::case::{Medium, Quantity};

/// The product's state at one place.
#[derive(Clone, Debug, Serialize)]
pub struct PointReport {
    /// Outer surface, degC.
    #[serde(rename = "surface_degC")]
    pub surface: f64,
    /// Axis or inner surface of a hollow product, degC.
    #[serde(rename = "core_degC")]
    pub core: f64,
    /// Mass mean of the plastic layers (of all layers where none is plastic), degC.
    #[serde(rename = "mean_degC")]
    pub mean: f64,
    /// Hottest point of the plastic, that inside laid-up cores included (of all layers where none has any), degC.
    #[serde(rename = "hottest_degC")]
    pub hottest: f64,
    /// Adiabatic mix of the whole product, degC.
    #[serde(rename = "equalised_degC")]
    pub equalised: f64,
    /// Hot side of the outer surface, behind water that does not touch all round, degC; none elsewhere.
    #[serde(rename = "hot_side_degC", skip_serializing_if = "Option::is_none")]
    pub hot_side: Option<f64>,
    /// Both sides of each joint, from the axis outward.
    pub interfaces: Vec<Interface>,
    /// Mass mean of each layer, degC.
    #[serde(rename = "layer_means_degC")]
    pub layer_means: Vec<f64>,
    /// Hottest point of each layer, degC.
    #[serde(rename = "layer_hottest_degC")]
    pub layer_hottest: Vec<f64>,
    /// Outer diameter (flat: full thickness), m.
    #[serde(rename = "diameter_m")]
    pub diameter: f64,
}

impl PointReport {
    /// One of the temperatures that can be limited, degC.
    pub fn quantity(&self, quantity: Quantity) -> f64 {
        match quantity {
            Quantity::Surface => self.surface,
            Quantity::Core => self.core,
            Quantity::Mean => self.mean,
            Quantity::Hottest => self.hottest,
            Quantity::Equalised => self.equalised,
            Quantity::HotSide => self.hot_side.unwrap_or(self.surface),
            Quantity::Layer(index) => self.layer_hottest.get(index).copied().unwrap_or(f64::NAN),
        }
    }

    /// Every temperature of the report, degC.
    pub fn temperatures(&self) -> Vec<f64> {
        let named = [self.surface, self.core, self.mean, self.hottest, self.equalised];
        let joints = self.interfaces.iter().flat_map(|interface| [interface.inner, interface.outer]);
        let of_layers = self.layer_means.iter().chain(&self.layer_hottest).copied();
        named.into_iter().chain(self.hot_side).chain(joints).chain(of_layers).collect()
    }
}

/// Both sides of a joint between two layers.
#[derive(Clone, Debug, Serialize)]
pub struct Interface {
    /// The layer inside.
    pub inner_layer: String,
    /// The layer outside.
    pub outer_layer: String,
    /// Outer face of the inner layer, degC.
    #[serde(rename = "inner_degC")]
    pub inner: f64,
    /// Inner face of the outer layer, degC.
    #[serde(rename = "outer_degC")]
    pub outer: f64,
}

/// What a station reports.
#[derive(Clone, Debug, Serialize)]
pub struct StationReport {
    /// The station's name.
    pub name: String,
    /// From the die, m.
    #[serde(rename = "distance_m")]
    pub distance: f64,
    /// Age of the slice, s.
    #[serde(rename = "time_s")]
    pub time: f64,
    /// The product there.
    #[serde(flatten)]
    pub point: PointReport,
    /// Each limit and its margin.
    pub limits: Vec<LimitReport>,
}

/// A limit and whether it is met.
#[derive(Clone, Debug, Serialize)]
pub struct LimitReport {
    /// `surface_max`, `layer_max.jacket`, ...: the key of the case file.
    pub name: String,
    /// The limit, degC.
    #[serde(rename = "limit_degC")]
    pub limit: f64,
    /// The value, degC.
    #[serde(rename = "value_degC")]
    pub value: f64,
    /// Limit minus value, K.
    #[serde(rename = "margin_K")]
    pub margin: f64,
    /// Whether the value is at or below the limit.
    pub met: bool,
}

impl LimitReport {
    /// Judges a value against the limit of this key, degC.
    pub fn new(name: String, limit: f64, value: f64) -> LimitReport {
        LimitReport { name, limit, value, margin: limit - value, met: value <= limit }
    }

    /// The last steps of the name of the output that it limits: `core`, `hottest.jacket`.
    pub fn quantity(&self) -> String {
        match self.name.strip_prefix("layer_max.") {
            Some(layer) => format!("hottest.{layer}"),
            None => self.name.strip_suffix("_max").unwrap_or(&self.name).to_string(),
        }
    }
}

/// What a section reports.
#[derive(Clone, Debug, Serialize)]
pub struct SectionReport {
    /// The section's name.
    pub name: String,
    /// What surrounds the product.
    pub medium: Medium,
    /// From the die, m.
    #[serde(rename = "start_m")]
    pub start: f64,
    /// From the die, m.
    #[serde(rename = "end_m")]
    pub end: f64,
    /// The product at its end.
    pub exit: PointReport,
    /// Heat given to the medium by the running line, W.
    #[serde(rename = "heat_W")]
    pub heat: f64,
    /// Medium temperature, degC (in JSON only through the case).
    #[serde(skip)]
    pub medium_temperature: f64,
    /// Water temperature at its inlet, degC; none without a flow.
    #[serde(rename = "water_in_degC")]
    pub water_in: Option<f64>,
    /// Water temperature at its outlet, degC; none without a flow.
    #[serde(rename = "water_out_degC")]
    pub water_out: Option<f64>,
    /// Water flow, kg/s; none without a flow.
    #[serde(rename = "water_flow_kg_s")]
    pub water_flow: Option<f64>,
    /// Heat given to the water, W: without the turn-rounds between passes; 0 in air.
    #[serde(rename = "heat_to_water_W")]
    pub heat_to_water: f64,
    /// Water flows that would hold the rise of its temperature; none in air and where the product gives off no heat.
    #[serde(rename = "flow_for_rise_kg_s")]
    pub flow_for_rise: Option<FlowForRise>,
    /// Mean film coefficient over the section (radiation not included), W/(m2 K).
    #[serde(rename = "film_mean_W_m2K")]
    pub film_mean: f64,
    /// What water that does not touch all round does at its end; none elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub around: Option<AroundReport>,
    /// Biot number: the plastic's conduction resistance over the film's (radiation included in the film).
    pub biot: f64,
    /// How long the surface was above 100 degC in water there, s; 0 in air and where it was for at most 0.1 s.
    #[serde(rename = "above_boiling_s")]
    pub boiling: f64,
}

/// Water that does not touch all round, at its end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AroundReport {
    /// Film coefficient where the water touches; of a smooth pattern the mean around, W/(m2 K).
    #[serde(rename = "film_W_m2K")]
    pub film: f64,
    /// The film all round that would cool as much, W/(m2 K).
    #[serde(rename = "film_all_round_W_m2K")]
    pub all_round: f64,
}

/// Water flows in kg/s that would hold the rise of the water's temperature to so many kelvin.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FlowForRise {
    /// To 1 K.
    #[serde(rename = "1_K")]
    pub one: f64,
    /// To 2 K.
    #[serde(rename = "2_K")]
    pub two: f64,
    /// To 5 K.
    #[serde(rename = "5_K")]
    pub five: f64,
}

impl FlowForRise {
    /// Of `heat` W into water of `supply` degC: heat/(c_w rise), c_w at the supply.
    ///
    /// ```
    /// use quenchway::march::solution::FlowForRise;
    /// let flow = FlowForRise::of(4184.051, 20.0).unwrap();
    /// assert!((flow.one - 1.0).abs() < 1e-6 && (flow.five - 0.2).abs() < 1e-6);
    /// ```
    pub fn of(heat: f64, supply: f64) -> Option<FlowForRise> {
        let one = heat / crate::material::water::at(supply).heat_capacity;
        (heat > 0.0).then_some(FlowForRise { one, two: one / 2.0, five: one / 5.0 })
    }

    /// The flow that would hold another rise, K.
    pub fn of_rise(self, rise: f64) -> f64 {
        self.one / rise
    }
}
