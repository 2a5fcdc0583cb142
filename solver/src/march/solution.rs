//! What comes out of a march; serialised, it is the JSON that `quenchway run --json` prints.

use ndarray::{Array1, Array2};
use serde::{Deserialize, Serialize};

use crate::case::warning::Warning;
use crate::case::{InputBand, Medium, Quantity};

/// The answer of a march: reports, books, error, fields. All SI; temperatures in degC, differences in K.
#[derive(Clone, Debug, Serialize)]
pub struct Solution {
    /// The case's title (in JSON written by the caller, before what identifies the run).
    #[serde(skip)]
    pub title: String,
    /// At each station, in the order of the case.
    pub stations: Vec<StationReport>,
    /// For each section, from the die onward.
    pub sections: Vec<SectionReport>,
    /// Adiabatic mix of the product at the last point of the line, degC: what the reel settles to.
    #[serde(rename = "equalised_degC")]
    pub equalised: f64,
    /// Highest surface temperature after the last water above the one at its exit, K (0 without water).
    #[serde(rename = "rebound_K")]
    pub rebound: f64,
    /// Where each plastic layer is set through.
    pub set_through: Vec<SetThrough>,
    /// Where each plastic layer's skin sets, over how much melt, and how fast the layer sets.
    pub skins: Vec<Skin>,
    /// Diameters from the hot gauge to 23 degC.
    pub shrink: Shrink,
    /// Mass flow of each layer.
    pub throughput: Vec<Throughput>,
    /// What limits the cooling; none where nobody looked, see `study::cooling`.
    pub cooling: Option<Cooling>,
    /// Heat that all water takes up and a chiller must remove, W; 0 where the water warms the product.
    #[serde(rename = "chiller_duty_W")]
    pub chiller_duty: f64,
    /// Lowest Peclet number of the sections.
    pub peclet: f64,
    /// How far the inputs' uncertainty moves the temperatures at the stations; empty where it was not asked for.
    pub band: Vec<Band>,
    /// The uncertain inputs that `band` follows, with their ends.
    pub band_inputs: Vec<InputBand>,
    /// The energy books.
    pub balance: Balance,
    /// What the answer cost and how exact it is.
    pub numerics: Numerics,
    /// What the result must be read with.
    #[serde(serialize_with = "warnings_as_objects")]
    pub warnings: Vec<Warning>,
    /// What must be kept in mind on the plant floor.
    pub cautions: Vec<String>,
    /// The fields along the line (not part of the JSON).
    #[serde(skip)]
    pub fields: Fields,
}

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

/// What limits the cooling of the temperature that decides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cooling {
    /// Name of that temperature: `capstan.core`.
    pub temperature: String,
    /// As the case is.
    #[serde(flatten)]
    pub now: Doubled,
    /// With the films in water at the low end of their bands, where the two ends do not call it by one word.
    #[serde(rename = "at_low_film", skip_serializing_if = "Option::is_none")]
    pub low: Option<Doubled>,
}

/// What doubling the film does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Doubled {
    /// The temperature, degC.
    #[serde(rename = "value_degC")]
    pub value: f64,
    /// With every film in water doubled, degC.
    #[serde(rename = "film_doubled_degC")]
    pub film_doubled: f64,
    /// With all water a tenth longer, degC.
    #[serde(rename = "longer_degC")]
    pub longer: f64,
    /// How much more trough doubling the film is worth, 0 to 1; none where more trough changes nothing.
    #[serde(rename = "doubling_worth")]
    pub worth: Option<f64>,
    /// The film's share of the resistance; none where more trough changes nothing.
    pub film_share: Option<f64>,
    /// In a word.
    pub limited_by: LimitedBy,
}

/// Which side limits the cooling.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitedBy {
    /// The plastic: less than a tenth of the resistance is the film's.
    Plastic,
    /// Mostly the plastic: less than about a third is.
    MostlyPlastic,
    /// Both: less than about two thirds is.
    Both,
    /// The film.
    Film,
    /// Neither: more of either changes nothing.
    Neither,
}

/// Where a plastic layer is set through.
#[derive(Clone, Debug, Serialize)]
pub struct SetThrough {
    /// The layer.
    pub layer: String,
    /// From the die, m; none when its hottest point is above the set temperature at the end of the line.
    #[serde(rename = "distance_m")]
    pub distance: Option<f64>,
}

/// The set skin of a plastic layer: the outer tenth of its wall, as soon as it is below the set temperature.
///
/// Beyond the place where a skin closes over melt the diameter of a thick layer is approximate.
#[derive(Clone, Debug, Serialize)]
pub struct Skin {
    /// The layer.
    pub layer: String,
    /// Where the skin first closed, m from the die; none when it did not.
    #[serde(rename = "distance_m")]
    pub distance: Option<f64>,
    /// Volume that the melt inside had then still to lose down to its set temperature, percent of the layer's volume.
    #[serde(rename = "melt_shrink_percent")]
    pub melt_shrink: Option<f64>,
    /// Mean cooling rate of the outer face from 5 K above to 5 K below its set temperature, K/s; no more than `resolved`.
    #[serde(rename = "surface_rate_K_per_s")]
    pub surface_rate: Option<f64>,
    /// The largest such rate that a run resolves behind an entry, K/s: that of a face which passes it as it enters.
    #[serde(rename = "surface_rate_resolved_K_per_s")]
    pub resolved: f64,
    /// The section in which the outer face passed it.
    #[serde(rename = "surface_sets_in")]
    pub set_in: Option<String>,
    /// Mean cooling rate of the middle of the wall from 5 K above to 5 K below its set temperature, K/s.
    #[serde(rename = "mid_wall_rate_K_per_s")]
    pub mid_wall_rate: Option<f64>,
}

impl Skin {
    /// The section at whose entry the outer face passed its set temperature: sooner after the plunge than a run resolves.
    pub fn set_at_entry(&self) -> Option<&str> {
        self.set_in.as_deref().filter(|_| self.surface_rate.is_some_and(|rate| rate >= self.resolved))
    }
}

/// Diameters from the hot gauge to 23 degC, and the strain frozen in.
#[derive(Clone, Debug, Serialize)]
pub struct Shrink {
    /// Diameter at the hot gauge (without such a station: at the die), m.
    #[serde(rename = "hot_gauge_m")]
    pub hot_gauge: f64,
    /// Diameter at the cold gauge (without such a station: at the end of the line), m.
    #[serde(rename = "cold_gauge_m")]
    pub cold_gauge: f64,
    /// Diameter when everything is at 23 degC, m.
    #[serde(rename = "finished_m")]
    pub finished: f64,
    /// Shrink from the hot to the cold gauge, percent of the hot diameter.
    #[serde(rename = "to_cold_gauge_percent")]
    pub to_cold_gauge: f64,
    /// Shrink from the hot gauge to 23 degC, percent of the hot diameter.
    #[serde(rename = "to_finished_percent")]
    pub to_finished: f64,
    /// Largest axial strain frozen into a held plastic layer from its set temperature to 23 degC, percent.
    #[serde(rename = "frozen_axial_percent")]
    pub frozen_axial: f64,
    /// Which place the hot diameter was taken at.
    pub hot_gauge_station: String,
    /// Which place the cold diameter was taken at.
    pub cold_gauge_station: String,
}

/// Mass flow of a layer.
#[derive(Clone, Debug, Serialize)]
pub struct Throughput {
    /// The layer.
    pub layer: String,
    /// Mass flow at the die, kg/h.
    pub kg_per_h: f64,
}

/// How far the inputs' uncertainty moves a temperature: the root sum of squares of one-at-a-time changes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Band {
    /// The station.
    pub station: String,
    /// Which temperature.
    pub quantity: String,
    /// Low end, degC.
    #[serde(rename = "low_degC")]
    pub low: f64,
    /// High end, degC.
    #[serde(rename = "high_degC")]
    pub high: f64,
    /// Key path of the largest contributor; empty where nothing is uncertain.
    pub largest: String,
    /// Change of the temperature with each of `band_inputs` at its low and at its high end, K; not a number where that
    /// end has no answer.
    #[serde(rename = "changes_K")]
    pub changes: Vec<[f64; 2]>,
}

/// Low and high ends along the line of what the inputs' uncertainty does to surface and core, degC (distance).
#[derive(Clone, Debug, PartialEq)]
pub struct FieldBand {
    /// Surface, low end.
    pub surface_low: Array1<f64>,
    /// Surface, high end.
    pub surface_high: Array1<f64>,
    /// Core, low end.
    pub core_low: Array1<f64>,
    /// Core, high end.
    pub core_high: Array1<f64>,
}

/// The energy books of the whole line.
#[derive(Clone, Debug, Serialize)]
pub struct Balance {
    /// Heat given to all media, W.
    #[serde(rename = "heat_to_media_W")]
    pub heat_to_media: f64,
    /// Enthalpy that the product lost, W.
    #[serde(rename = "enthalpy_drop_W")]
    pub enthalpy_drop: f64,
    /// Their difference, relative to the product's heat content above the coldest medium.
    pub relative_error: f64,
}

/// What the answer cost and how exact it is.
#[derive(Clone, Debug, Serialize)]
pub struct Numerics {
    /// Intervals across the product (a metal core solved as one node counts as one).
    pub cells: usize,
    /// Time steps accepted.
    pub steps: usize,
    /// The tolerance asked for, K.
    #[serde(rename = "tolerance_K")]
    pub tolerance: f64,
    /// Stated error of every reported temperature, K.
    #[serde(rename = "error_K")]
    pub error: f64,
    /// Stated error of every time above 100 degC, s; none where no error is measured or nothing stays above it.
    #[serde(rename = "boiling_error_s")]
    pub boiling_error: Option<f64>,
    /// Time that the solves took, s (filled in by the caller, who owns a clock).
    #[serde(rename = "wall_s")]
    pub wall: f64,
}

impl Numerics {
    /// Whether the stated error is within the tolerance asked for.
    pub fn tolerance_met(&self) -> bool {
        self.error <= self.tolerance
    }
}

/// Fields along the line. Dimensions: `distance` output points, `node` from the axis outward (a joint has two, one a
/// layer), `interface` joints from the axis outward.
#[derive(Clone, Debug, Default)]
pub struct Fields {
    /// From the die, m (distance).
    pub distance: Array1<f64>,
    /// Age of the slice, s (distance).
    pub time: Array1<f64>,
    /// Index of the section that the point belongs to (distance); a section's end belongs to it.
    pub section_of_point: Vec<usize>,
    /// Layer of each node (node).
    pub layer_of_node: Vec<usize>,
    /// kg/m (flat: kg per m of line and m of width): weights of the energy balance (node).
    pub node_mass: Array1<f64>,
    /// m from the axis or mid-plane (distance, node).
    pub radius: Array2<f64>,
    /// degC (distance, node).
    pub temperature: Array2<f64>,
    /// J/kg above 0 degC (distance, node).
    pub enthalpy: Array2<f64>,
    /// degC (distance).
    pub surface: Array1<f64>,
    /// Hot side, where a case has one: the surface itself where water still touches all round, degC (distance).
    pub hot_side: Option<Array1<f64>>,
    /// degC (distance).
    pub core: Array1<f64>,
    /// Mass mean of the plastic, degC (distance).
    pub mean: Array1<f64>,
    /// Hottest point of the plastic, degC (distance).
    pub hottest: Array1<f64>,
    /// Outer face of the inner layer, degC (distance, interface).
    pub interface_inner: Array2<f64>,
    /// Inner face of the outer layer, degC (distance, interface).
    pub interface_outer: Array2<f64>,
    /// m (distance).
    pub diameter: Array1<f64>,
    /// degC (distance).
    pub medium: Array1<f64>,
    /// W/(m2 K), convection only (distance).
    pub film: Array1<f64>,
    /// W/m2 from the surface, radiation included (distance).
    pub heat_flux: Array1<f64>,
    /// Heat given up since the die, J/m (flat: J per m of line and m of width) (distance).
    pub heat_per_length: Array1<f64>,
    /// What the inputs' uncertainty does along the line, where it was asked for.
    pub band: Option<FieldBand>,
}

impl Solution {
    /// Largest difference of any reported temperature between two solutions of one case, K.
    pub fn largest_difference(&self, other: &Solution) -> f64 {
        let points = |solution: &Solution| -> Vec<Vec<f64>> {
            let stations = solution.stations.iter().map(|station| station.point.temperatures());
            stations.chain(solution.sections.iter().map(|section| section.exit.temperatures())).collect()
        };
        let (a, b) = (points(self), points(other));
        let differences = a.iter().flatten().zip(b.iter().flatten()).map(|(a, b)| (a - b).abs());
        differences.fold(0.0, f64::max)
    }
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

pub(super) fn warnings_as_objects<S: serde::Serializer>(
    warnings: &[Warning],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Object {
        kind: &'static str,
        message: String,
        #[serde(rename = "where")]
        place: String,
    }
    serializer.collect_seq(warnings.iter().map(|warning| Object {
        kind: warning.kind(),
        message: warning.to_string(),
        place: warning.place(),
    }))
}
