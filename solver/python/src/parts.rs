//! What a solution tells at stations, of sections and of limits.

use pyo3::prelude::*;
use pyo3::types::{IntoPyDict, PyDict};
use quenchway::march::solution::{LimitReport, PointReport, SectionReport, StationReport};

/// A limit at a station, and whether it is met.
#[pyclass(frozen, get_all, module = "quenchway")]
#[derive(Clone)]
pub struct Limit {
    /// `core_max`, `layer_max.jacket`: the key of the case file.
    name: String,
    /// degC.
    limit: f64,
    /// degC.
    value: f64,
    /// Limit minus value, K.
    margin: f64,
    /// Whether the value is at or below the limit.
    met: bool,
}

/// Numbers of layers, from the axis outward.
type OfLayers = Vec<(String, f64)>;

/// The product at a station or at the end of a section.
#[pyclass(frozen, module = "quenchway")]
pub struct Station {
    /// Its name.
    #[pyo3(get)]
    name: String,
    /// From the die, m.
    #[pyo3(get)]
    distance: f64,
    /// Age of the slice, s.
    #[pyo3(get)]
    time: f64,
    /// Outer surface, degC.
    #[pyo3(get)]
    surface: f64,
    /// Axis or inner surface of a hollow product, degC.
    #[pyo3(get)]
    core: f64,
    /// Mass mean of the plastic, degC.
    #[pyo3(get)]
    mean: f64,
    /// Hottest point of the plastic, degC.
    #[pyo3(get)]
    hottest: f64,
    /// Adiabatic mix of the whole product, degC.
    #[pyo3(get)]
    equalised: f64,
    /// Hot side of the surface behind water that does not touch all round, degC; none elsewhere.
    #[pyo3(get)]
    hot_side: Option<f64>,
    /// Outer diameter (flat: full thickness), m.
    #[pyo3(get)]
    diameter: f64,
    /// Both sides of each joint from the axis outward, degC: outer face of the inner layer, inner face of the outer.
    #[pyo3(get)]
    interfaces: Vec<(f64, f64)>,
    /// Each limit with its margin.
    #[pyo3(get)]
    limits: Vec<Limit>,
    layer_means: OfLayers,
    layer_hottest: OfLayers,
}

/// A section of the line.
#[pyclass(frozen, get_all, module = "quenchway")]
pub struct Section {
    /// Its name.
    name: String,
    /// `air` or `water`.
    medium: String,
    /// From the die, m.
    start: f64,
    /// From the die, m.
    end: f64,
    /// Heat given to the medium, W.
    heat: f64,
    /// Heat given to the water, without the turns between passes, W; 0 in air.
    heat_to_water: f64,
    /// Water at its inlet, degC; none without a flow.
    water_in: Option<f64>,
    /// Water at its outlet, degC; none without a flow.
    water_out: Option<f64>,
    /// kg/s; none without a flow.
    water_flow: Option<f64>,
    /// Mean film coefficient, radiation not included, W/(m2 K).
    film_mean: f64,
    /// Biot number of the plastic.
    biot: f64,
    /// How long the surface was above 100 degC in water, s.
    above_boiling: f64,
    /// The product at its end.
    exit: Py<Station>,
}

fn of_layers(values: &[f64], layers: &[String]) -> OfLayers {
    layers.iter().cloned().zip(values.iter().copied()).collect()
}

impl Station {
    fn new(place: (&str, f64, f64), point: &PointReport, limits: &[LimitReport], layers: &[String]) -> Station {
        let (name, distance, time) = place;
        let limit = |limit: &LimitReport| Limit {
            name: limit.name.clone(),
            limit: limit.limit,
            value: limit.value,
            margin: limit.margin,
            met: limit.met,
        };
        Station {
            name: name.to_string(),
            distance,
            time,
            surface: point.surface,
            core: point.core,
            mean: point.mean,
            hottest: point.hottest,
            equalised: point.equalised,
            hot_side: point.hot_side,
            diameter: point.diameter,
            layer_means: of_layers(&point.layer_means, layers),
            layer_hottest: of_layers(&point.layer_hottest, layers),
            interfaces: point.interfaces.iter().map(|joint| (joint.inner, joint.outer)).collect(),
            limits: limits.iter().map(limit).collect(),
        }
    }

    pub fn of(report: &StationReport, layers: &[String]) -> Station {
        Station::new((&report.name, report.distance, report.time), &report.point, &report.limits, layers)
    }
}

impl Section {
    pub fn of(py: Python, report: &SectionReport, speed: f64, layers: &[String]) -> PyResult<Section> {
        let place = (report.name.as_str(), report.end, report.end / speed);
        Ok(Section {
            name: report.name.clone(),
            medium: quenchway::march::table::word(&report.medium),
            start: report.start,
            end: report.end,
            heat: report.heat,
            heat_to_water: report.heat_to_water,
            water_in: report.water_in,
            water_out: report.water_out,
            water_flow: report.water_flow,
            film_mean: report.film_mean,
            biot: report.biot,
            above_boiling: report.boiling,
            exit: Py::new(py, Station::new(place, &report.exit, &[], layers))?,
        })
    }
}

#[pymethods]
impl Limit {
    fn __repr__(&self) -> String {
        let Limit { name, limit, value, met, .. } = self;
        format!("<Limit {name}: {value:.2} of {limit:.2}, {}>", if *met { "met" } else { "NOT MET" })
    }
}

#[pymethods]
impl Station {
    /// Mass mean of each layer, degC.
    #[getter]
    fn layer_means<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        self.layer_means.iter().map(|(name, value)| (name, value)).into_py_dict(py)
    }

    /// Hottest point of each layer, degC.
    #[getter]
    fn layer_hottest<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        self.layer_hottest.iter().map(|(name, value)| (name, value)).into_py_dict(py)
    }

    fn __repr__(&self) -> String {
        let Station { name, distance, surface, core, mean, .. } = self;
        let name = quenchway_words::clean(name);
        format!("<Station \"{name}\" at {distance:.2} m: surface {surface:.2}, core {core:.2}, mean {mean:.2} degC>")
    }
}

#[pymethods]
impl Section {
    fn __repr__(&self) -> String {
        let Section { name, start, end, heat, .. } = self;
        let name = quenchway_words::clean(name);
        format!("<Section \"{name}\" from {start:.2} to {end:.2} m: {heat:.0} W>")
    }
}
