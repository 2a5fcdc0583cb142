//! What comes out of a march; serialised, it is the JSON that `quenchway run --json` prints.

use ndarray::{Array1, Array2};
use serde::{Deserialize, Serialize};

pub use super::report::{AroundReport, FlowForRise, Interface, LimitReport, PointReport, SectionReport, StationReport};
use crate::case::InputBand;
use crate::case::warning::Warning;

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
