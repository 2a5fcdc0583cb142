//! Gauges: what the hot gauge must read for a wanted finished diameter, what the cold one then reads, what the line speed
//! does to both at constant output, and how long a change takes from one to the other.
//!
//! The outer layer is sized by the wanted diameter at 23 degC and the line is marched carefully; the readings are the
//! diameters at the gauges. At constant output the melt's mass flow rho(T) A v stays, so that every layer that leaves the
//! die as a melt has A(v) = A0 v0 rho(T0)/(v rho(T(v))), T the die temperature where that follows the speed; what comes
//! already set keeps its area. The line is marched again at v (1 - 1 %) and v (1 + 1 %), and once with the outer layer's other
//! contraction: whether a layer that does not stick is held in length is the largest doubt of a set-point.

mod data;
#[cfg(test)]
mod tests;

use std::fmt;

use serde::Serialize;

use crate::case::error::Error;
use crate::case::shrink;
use crate::case::{Case, Contact, Contraction, Geometry, Size};
use crate::march::march;
use crate::march::solution::{Shrink, Solution};
use crate::units::{Dimension, System, write};

/// Change of the line speed on either side, as a share of it.
pub const CHANGE: f64 = 0.01;

/// The answer. All SI; temperatures in degC.
#[derive(Clone, Debug, Serialize)]
pub struct Gauges {
    /// Line speed, m/s.
    #[serde(rename = "line_speed_m_s")]
    pub speed: f64,
    /// Diameter wanted when everything is at 23 degC (flat: thickness), m.
    #[serde(rename = "wanted_m")]
    pub wanted: f64,
    /// The diameter is that of the case.
    pub of_case: bool,
    /// The outer layer, which is sized.
    pub outer_layer: String,
    /// How it contracts: "held" in length, or "free".
    pub contraction: &'static str,
    /// Whether it sticks to what lies inside it, or nothing does: then the contraction is no doubt.
    pub contraction_is_sure: bool,
    /// What the other contraction would give for the same finished size; none where sizes do not follow the density.
    pub other_contraction: Option<OtherContraction>,
    /// Diameter that the die must give, m.
    #[serde(rename = "at_die_m")]
    pub at_die: f64,
    /// The gauge behind the die.
    pub hot: Gauge,
    /// The gauge behind the cooling.
    pub cold: Gauge,
    /// Time from the hot to the cold gauge, s.
    #[serde(rename = "delay_s")]
    pub delay: f64,
    /// What the melts take for the wanted diameter.
    pub melts: Vec<Melt>,
    /// One percent slower, as it is, one percent faster, at the same output.
    pub at_speeds: [AtSpeed; 3],
    /// Change of the diameters with the line speed at constant output.
    pub per_percent: PerPercent,
    /// Stated error of the temperatures, K.
    #[serde(rename = "error_K")]
    pub error: f64,
    /// The line with the wanted diameter; of it the JSON has what the answer must be read with.
    #[serde(flatten, serialize_with = "crate::march::told::notes")]
    pub solution: Solution,
}

/// A gauge and what it reads.
#[derive(Clone, Debug, Serialize)]
pub struct Gauge {
    /// The station's name; none where no station has such a name: then the die or the end of the line stands for it.
    pub station: Option<String>,
    /// From the die, m.
    #[serde(rename = "distance_m")]
    pub distance: f64,
    /// Time since the die, s.
    #[serde(rename = "time_s")]
    pub time: f64,
    /// What it reads, m.
    #[serde(rename = "reading_m")]
    pub reading: f64,
    /// Lowest and highest reading with the outer layer held and free, where it is not sure which, m.
    #[serde(rename = "range_m")]
    pub range: [f64; 2],
    /// Reading less finished diameter, m.
    #[serde(rename = "over_finished_m")]
    pub over_finished: f64,
    /// Surface of the product there, degC.
    #[serde(rename = "surface_degC")]
    pub surface: f64,
    /// Mean temperature of the plastic there, degC.
    #[serde(rename = "mean_degC")]
    pub mean: f64,
}

/// The readings with the outer layer's other contraction.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct OtherContraction {
    /// "held" or "free".
    pub contraction: &'static str,
    /// Diameter that the die must give, m.
    #[serde(rename = "at_die_m")]
    pub at_die: f64,
    /// What the hot gauge must read, m.
    #[serde(rename = "hot_m")]
    pub hot: f64,
    /// What the cold gauge reads then, m.
    #[serde(rename = "cold_m")]
    pub cold: f64,
}

/// A layer that leaves the die as a melt.
#[derive(Clone, Debug, Serialize)]
pub struct Melt {
    /// The layer.
    pub layer: String,
    /// Its mass flow for the wanted diameter (flat: a metre of width), kg/s.
    #[serde(rename = "flow_kg_s")]
    pub flow: f64,
}

/// The diameters at one speed, the output constant.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct AtSpeed {
    /// Line speed, m/s.
    #[serde(rename = "line_speed_m_s")]
    pub speed: f64,
    /// At the die, m.
    #[serde(rename = "at_die_m")]
    pub at_die: f64,
    /// At the hot gauge, m.
    #[serde(rename = "hot_m")]
    pub hot: f64,
    /// At the cold gauge, m.
    #[serde(rename = "cold_m")]
    pub cold: f64,
    /// With everything at 23 degC, m.
    #[serde(rename = "finished_m")]
    pub finished: f64,
}

/// Change of the diameters with one percent more line speed at constant output, m; from both sides of the speed.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct PerPercent {
    /// At the hot gauge.
    #[serde(rename = "hot_m")]
    pub hot: f64,
    /// At the cold gauge.
    #[serde(rename = "cold_m")]
    pub cold: f64,
    /// With everything at 23 degC.
    #[serde(rename = "finished_m")]
    pub finished: f64,
}

impl Gauges {
    /// Change of the line speed, as a share of it, that changes the finished diameter by `change` m at constant output.
    pub fn speed_for(&self, change: f64) -> f64 {
        CHANGE * change / self.per_percent.finished
    }
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum GaugesError {
    /// The wanted diameter is no possible size.
    Size {
        /// The diameter, m.
        wanted: f64,
        /// The least and the most that the outer layer can have, m.
        range: [f64; 2],
    },
    /// The outer layer does not leave the die as a melt.
    NoMelt {
        /// The layer.
        layer: String,
    },
    /// The cold gauge stands at or before the hot one.
    Order {
        /// Distances of the hot and the cold gauge from the die, m.
        distances: [f64; 2],
    },
    /// A march found no answer.
    March {
        /// Line speed, m/s.
        speed: f64,
        /// Why.
        error: Error,
    },
}

impl GaugesError {
    /// The message in a unit system.
    pub fn message(&self, system: System) -> String {
        let shown = |value: f64, dimension| {
            let (number, unit) = crate::units::show(value, dimension, system);
            format!("{number:.3} {unit}")
        };
        match self {
            GaugesError::Size { wanted, range: [low, high] } => format!(
                "a finished size of {} is not possible: with what is inside, the outer layer takes more than {} and up to {}",
                write(*wanted, Dimension::Diameter, system),
                shown(*low, Dimension::Diameter),
                write(*high, Dimension::Diameter, system),
            ),
            GaugesError::NoMelt { layer } => format!(
                "the outer layer \"{layer}\" leaves the die already set, so that no hot gauge sees it shrink and no output \
                 of compound makes its size. The outer layer must be a plastic above its set temperature at the die"
            ),
            GaugesError::Order { distances: [hot, cold] } => format!(
                "the cold gauge stands {} after the die, the hot gauge {}: the cold one must come later; mend \"after\" or \
                 \"offset\" of these stations",
                shown(*cold, Dimension::Length),
                shown(*hot, Dimension::Length),
            ),
            GaugesError::March { speed, error } => format!("at {}: {error}", shown(*speed, Dimension::Speed)),
        }
    }
}

impl fmt::Display for GaugesError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message(System::Si))
    }
}

impl std::error::Error for GaugesError {}

/// Largest product that a case file takes, m.
const LARGEST: f64 = 1.0;

/// Answers for a wanted finished diameter (flat: thickness) in m, by default the one that the case gives.
///
/// # Errors
///
/// The diameter leaves the outer layer no wall; the outer layer is no melt at the die; the gauges stand in the
/// wrong order; a march has no answer.
///
/// ```
/// # let text = quenchway::file::EXAMPLE;
/// use quenchway::study::gauges::gauges;
/// let case = quenchway::file::read(text).unwrap();
/// let found = gauges(&case, Some(3.35e-3)).unwrap();
/// assert!(found.hot.reading > found.cold.reading && found.cold.reading > 3.35e-3);
/// assert!(found.per_percent.finished < 0.0, "a faster line draws the same melt thinner");
/// ```
pub fn gauges(case: &Case, wanted: Option<f64>) -> Result<Gauges, GaugesError> {
    let mut case = case.clone();
    let last = case.layers.len().saturating_sub(1);
    if !is_melt(&case, last) {
        let layer = case.layers.get(last).map(|layer| layer.name.clone()).unwrap_or_default();
        return Err(GaugesError::NoMelt { layer });
    }
    if let Some(wanted) = wanted {
        size(&mut case, last, wanted)?;
    }
    let base = solved(&case)?;
    let [mut hot, mut cold] = [gauge(&case, &base, "hot"), gauge(&case, &base, "cold")];
    if cold.distance <= hot.distance {
        return Err(GaugesError::Order { distances: [hot.distance, cold.distance] });
    }
    let [slower, faster] =
        [1.0 - CHANGE, 1.0 + CHANGE].map(|factor| at_constant_output(&case, factor * case.line_speed));
    let (slower, faster) = (slower?, faster?);
    let mut at_speeds = [(&slower, &solved(&slower)?), (&case, &base), (&faster, &solved(&faster)?)].map(at_speed);
    // The size that was asked for, not the one that went through areas and back.
    at_speeds[1].finished = wanted.unwrap_or(base.shrink.finished);
    let [low, _, high] = at_speeds;
    let other = other_contraction(&case, last, at_speeds[1].finished)?;
    let sure = last == 0 || case.layers[last].contact == Contact::Perfect;
    if let (Some(other), false) = (&other, sure) {
        for (gauge, reading) in [(&mut hot, other.hot), (&mut cold, other.cold)] {
            gauge.range = [gauge.reading.min(reading), gauge.reading.max(reading)];
        }
    }
    let melts = case.layers.iter().zip(&base.throughput).enumerate().filter(|(index, _)| is_melt(&case, *index));
    Ok(Gauges {
        speed: case.line_speed,
        wanted: at_speeds[1].finished,
        of_case: wanted.is_none(),
        outer_layer: case.layers[last].name.clone(),
        contraction: word(case.layers[last].contraction),
        contraction_is_sure: sure,
        other_contraction: other,
        at_die: at_speeds[1].at_die,
        delay: cold.time - hot.time,
        hot,
        cold,
        melts: melts
            .map(|(_, (layer, flow))| Melt { layer: layer.name.clone(), flow: flow.kg_per_h / 3600.0 })
            .collect(),
        at_speeds,
        per_percent: PerPercent {
            hot: (high.hot - low.hot) / 2.0,
            cold: (high.cold - low.cold) / 2.0,
            finished: (high.finished - low.finished) / 2.0,
        },
        error: base.numerics.error,
        solution: base,
    })
}

/// The case at another line speed with the mass flow of every melt as it is, kg/s.
///
/// # Errors
///
/// A layer of the case has no wall.
pub fn at_constant_output(case: &Case, speed: f64) -> Result<Case, GaugesError> {
    let radii = shrink::radii(case).map_err(|index| no_wall(case, index))?;
    let mut changed = case.clone();
    changed.line_speed = speed;
    let (mut before, mut inner) = (case.bore / 2.0, case.bore / 2.0);
    for (index, &outer) in radii.hot.iter().enumerate() {
        let mut area = case.shape.area_between(before, outer);
        if is_melt(case, index) {
            let density = |case: &Case| case.layers[index].material.density.at(case.die_temperature(index));
            area *= case.line_speed * density(case) / (speed * density(&changed));
        }
        inner = case.shape.outer_radius(inner, area);
        before = outer;
        changed.layers[index].size = Size::Diameter(2.0 * inner);
    }
    Ok(changed)
}

/// Whether a layer leaves the die as a melt: a plastic above its set temperature there.
fn is_melt(case: &Case, index: usize) -> bool {
    case.layers.get(index).is_some_and(|layer| layer.material.is_melt(case.die_temperature(index)))
}

/// Gives the outer layer its finished diameter.
fn size(case: &mut Case, outer: usize, wanted: f64) -> Result<(), GaugesError> {
    case.layers[outer].size = Size::FinishedDiameter(wanted);
    let sized = shrink::radii(case);
    if sized.is_ok() && wanted.is_finite() && wanted <= LARGEST {
        return Ok(());
    }
    let mut inside = case.clone();
    inside.layers.truncate(outer);
    let least = match outer {
        0 => case.bore,
        _ => shrink::radii(&inside).map_or(f64::NAN, |radii| 2.0 * radii.finished[outer - 1]),
    };
    Err(GaugesError::Size { wanted, range: [least, LARGEST] })
}

/// The word of the case file for a contraction.
fn word(contraction: Contraction) -> &'static str {
    if contraction == Contraction::Held { "held" } else { "free" }
}

/// The readings for the same finished size with the other contraction of the outer layer.
fn other_contraction(case: &Case, outer: usize, wanted: f64) -> Result<Option<OtherContraction>, GaugesError> {
    if case.geometry == Geometry::Fixed {
        return Ok(None);
    }
    let mut other = case.clone();
    let contraction =
        if case.layers[outer].contraction == Contraction::Held { Contraction::Free } else { Contraction::Held };
    other.layers[outer].contraction = contraction;
    size(&mut other, outer, wanted)?;
    let found = at_speed((&other, &solved(&other)?));
    Ok(Some(OtherContraction {
        contraction: word(contraction),
        at_die: found.at_die,
        hot: found.hot,
        cold: found.cold,
    }))
}

fn no_wall(case: &Case, index: usize) -> GaugesError {
    let place = format!("layer {:?}", case.layers[index].name);
    let error = Error::Unphysical { place, reason: "has no wall".to_string() };
    GaugesError::March { speed: case.line_speed, error }
}

fn solved(case: &Case) -> Result<Solution, GaugesError> {
    march(case).map_err(|error| GaugesError::March { speed: case.line_speed, error })
}

fn gauge(case: &Case, solution: &Solution, word: &str) -> Gauge {
    let station = case.gauge(word).map(|index| &solution.stations[index]);
    let Shrink { hot_gauge, cold_gauge, finished, .. } = solution.shrink;
    let hot = word == "hot";
    let reading = if hot { hot_gauge } else { cold_gauge };
    let line = case.line_length();
    let (distance, surface, mean) = match (station, solution.sections.last()) {
        (Some(station), _) => (station.distance, station.point.surface, station.point.mean),
        (None, Some(end)) if !hot => (line, end.exit.surface, end.exit.mean),
        _ => {
            let outer = case.die_temperature(case.layers.len() - 1).0;
            (0.0, outer, outer)
        }
    };
    Gauge {
        station: station.map(|station| station.name.clone()),
        distance,
        time: distance / case.line_speed,
        reading,
        range: [reading; 2],
        over_finished: reading - finished,
        surface,
        mean,
    }
}

fn at_speed((case, solution): (&Case, &Solution)) -> AtSpeed {
    let Shrink { hot_gauge: hot, cold_gauge: cold, finished, .. } = solution.shrink;
    let at_die = shrink::radii(case).map_or(f64::NAN, |radii| 2.0 * radii.hot[case.layers.len() - 1]);
    AtSpeed { speed: case.line_speed, at_die, hot, cold, finished }
}
