//! A solution: numbers at stations and of sections, fields as views, and every form in which they go on.

use ndarray::{Array, Dimension};
use numpy::{IntoPyArray, PyArray, PyArray1, PyArray2, PyArrayMethods};
use pyo3::exceptions::{PyRuntimeError, PyTypeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use quenchway::Solution as Solved;
use quenchway::data::{Data, Head, document};
use quenchway::march::output::Output;
use quenchway::march::told::Told;
use quenchway_words::{Shown, run as words};
use serde::Serialize;

use crate::case::Case;
use crate::errors;
use crate::parts::{Section, Station};
use crate::report;
use crate::svg;
use crate::table::{self, PROGRAM, sha256};

/// The groups of a results file beside its root.
const GROUPS: [&str; 4] = ["", "stations", "sections", "band"];

/// The answer of a march.
///
/// Fields along the line are views of its memory that cannot be written: `solution.temperature.copy()` can. Dimensions:
/// `distance` points of the line, `node` from the axis outward (a joint has two, one a layer), `interface` joints.
#[pyclass(frozen, module = "quenchway")]
pub struct Solution {
    case: Py<Case>,
    pub solved: Solved,
}

impl Solution {
    pub fn new(case: Py<Case>, solved: Solved) -> Solution {
        Solution { case, solved }
    }

    fn data(&self) -> Data {
        self.solved.data(&self.case.get().file)
    }

    fn layers(&self) -> Vec<String> {
        self.case.get().file.layers.iter().map(|layer| layer.name.clone()).collect()
    }
}

/// A view of a field: not writeable, and the solution lives as long as it does.
fn view<'py, D: Dimension>(slf: &Bound<'py, Solution>, field: &Array<f64, D>) -> Bound<'py, PyArray<f64, D>> {
    // SAFETY: the solution is frozen, so that the field is neither changed nor moved while the array, whose base it is, lives.
    let array = unsafe { PyArray::borrow_from_array(field, slf.clone().into_any()) };
    array.readwrite().make_nonwriteable();
    array
}

#[pymethods]
impl Solution {
    /// The case.
    #[getter]
    fn case(&self, py: Python) -> Py<Case> {
        self.case.clone_ref(py)
    }

    /// Its title.
    #[getter]
    fn title(&self) -> &str {
        &self.solved.title
    }

    /// The product at each station.
    #[getter]
    fn stations<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let (all, layers) = (named(py)?, self.layers());
        for station in &self.solved.stations {
            all.set_item(&station.name, Station::of(station, &layers))?;
        }
        Ok(all)
    }

    /// The sections from the die onward.
    #[getter]
    fn sections<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let (all, layers) = (named(py)?, self.layers());
        let speed = self.case.get().file.line_speed;
        for section in &self.solved.sections {
            all.set_item(&section.name, Section::of(py, section, speed, &layers)?)?;
        }
        Ok(all)
    }

    /// From the die, m (distance).
    #[getter]
    fn distance<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.distance)
    }

    /// Age of the slice, s (distance).
    #[getter]
    fn time<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.time)
    }

    /// Mass of each node, kg/m (flat: kg/m2) (node).
    #[getter]
    fn node_mass<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.node_mass)
    }

    /// From the axis or mid-plane, m (distance, node).
    #[getter]
    fn radius<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray2<f64>> {
        view(slf, &slf.get().solved.fields.radius)
    }

    /// degC (distance, node).
    #[getter]
    fn temperature<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray2<f64>> {
        view(slf, &slf.get().solved.fields.temperature)
    }

    /// Above 0 degC, J/kg (distance, node).
    #[getter]
    fn enthalpy<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray2<f64>> {
        view(slf, &slf.get().solved.fields.enthalpy)
    }

    /// degC (distance).
    #[getter]
    fn surface_temperature<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.surface)
    }

    /// Axis or inner surface, degC (distance).
    #[getter]
    fn core_temperature<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.core)
    }

    /// Mass mean of the plastic, degC (distance).
    #[getter]
    fn mean_temperature<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.mean)
    }

    /// degC (distance).
    #[getter]
    fn hottest_plastic_temperature<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.hottest)
    }

    /// Outer face of the layer inside each joint, degC (distance, interface).
    #[getter]
    fn interface_temperature_inner<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray2<f64>> {
        view(slf, &slf.get().solved.fields.interface_inner)
    }

    /// Inner face of the layer outside each joint, degC (distance, interface).
    #[getter]
    fn interface_temperature_outer<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray2<f64>> {
        view(slf, &slf.get().solved.fields.interface_outer)
    }

    /// Outer diameter (flat: full thickness), m (distance).
    #[getter]
    fn diameter<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.diameter)
    }

    /// degC (distance).
    #[getter]
    fn medium_temperature<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.medium)
    }

    /// Radiation not included, W/(m2 K) (distance).
    #[getter]
    fn film_coefficient<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.film)
    }

    /// From the surface, radiation included, W/m2 (distance).
    #[getter]
    fn heat_flux<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.heat_flux)
    }

    /// Given up since the die, J/m (flat: J/m2) (distance).
    #[getter]
    fn heat_per_length<'py>(slf: &Bound<'py, Self>) -> Bound<'py, PyArray1<f64>> {
        view(slf, &slf.get().solved.fields.heat_per_length)
    }

    /// Layer of each node, an index (node).
    #[getter]
    fn layer_of_node<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<i32>> {
        whole(py, &self.solved.fields.layer_of_node)
    }

    /// Section of each point, an index (distance).
    #[getter]
    fn section_of_point<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<i32>> {
        whole(py, &self.solved.fields.section_of_point)
    }

    /// An output by its name, SI; not a number where the solution has none. Raises `UnknownName`.
    ///
    /// >>> solution = qw.march(qw.Case.from_text(qw.EXAMPLE))
    /// >>> solution.get("capstan.core") == solution.stations["capstan"].core
    /// True
    fn get(&self, py: Python, name: &str) -> PyResult<f64> {
        let output = Output::find(&self.case.get().file, name).map_err(|error| errors::of_output(py, &error))?;
        Ok(output.of(&self.solved))
    }

    /// Whether every limit of temperatures, diameters and layers is met.
    #[getter]
    fn limits_met(&self) -> bool {
        let case = &self.case.get().file;
        let solved = &self.solved;
        let sizes = quenchway::march::diameters::diameter_limits(case, solved);
        let melts = quenchway::study::search::ceilings::of_layers(case);
        solved.stations.iter().flat_map(|station| &station.limits).all(|limit| limit.met)
            && sizes.iter().all(|limit| limit.met)
            && melts.iter().all(|ceiling| ceiling.excess(case, solved) <= 0.0)
    }

    /// Stated error of every reported temperature, K.
    #[getter]
    fn error(&self) -> f64 {
        self.solved.numerics.error
    }

    /// The tolerance asked for, K.
    #[getter]
    fn tolerance(&self) -> f64 {
        self.solved.numerics.tolerance
    }

    /// What is assumed or doubtful: kind, message, key path.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, String, String)> {
        self.solved.warnings.iter().map(|warning| (warning.kind(), warning.to_string(), warning.place())).collect()
    }

    /// What must be kept in mind on the plant floor.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.solved.cautions.clone()
    }

    /// What `quenchway run --json` prints (without a band: with `--no-band`); `program` tells who computed it.
    ///
    /// Where numbers were changed, `case_changes` lists them: the hash is that of the text without the changes.
    fn to_json(&self) -> PyResult<String> {
        #[derive(Serialize)]
        struct Changed<'a> {
            case_changes: &'a [(String, f64)],
            #[serde(flatten)]
            told: Told<'a>,
        }
        let case = self.case.get();
        let told = Told::of(&case.file, &self.solved);
        let head = Head { title: &case.file.title, program: PROGRAM, case_sha256: &sha256(&case.text) };
        let text = match case.changes.is_empty() {
            true => document(&head, &told),
            false => document(&head, &Changed { case_changes: &case.changes, told }),
        };
        text.map_err(|error| PyRuntimeError::new_err(error.to_string()))
    }

    /// What a results file has at its root or in the group `stations`, `sections` or `band`; needs xarray.
    ///
    /// Where numbers were changed, the attribute `case_changes` lists them.
    #[pyo3(signature = (group = ""))]
    fn to_xarray<'py>(slf: &Bound<'py, Self>, group: &str) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("quenchway._xarray")?.getattr("dataset")?.call1((slf, group))
    }

    /// All groups of a results file; needs xarray.
    fn to_datatree<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("quenchway._xarray")?.getattr("datatree")?.call1((slf,))
    }

    /// What `to_xarray` makes a data set of: attributes of the root, and the variables of a group.
    fn _labelled<'py>(&self, py: Python<'py>, group: &str) -> PyResult<(Bound<'py, PyDict>, Bound<'py, PyList>)> {
        if !GROUPS.contains(&group) {
            let known = GROUPS[1..].join(", ");
            return Err(PyValueError::new_err(format!("there is no group {group:?}; there are {known}")));
        }
        let (case, data) = (self.case.get(), self.data());
        let facts = match group {
            "" => table::facts(py, case, None, &data)?,
            _ => PyDict::new(py),
        };
        Ok((facts, table::variables(py, &data, group)?))
    }

    fn __repr__(&self) -> String {
        let file = &self.case.get().file;
        report::text(words::report(file, &self.solved, Shown { system: file.units }))
    }

    fn _repr_html_(&self) -> String {
        let file = &self.case.get().file;
        report::page(words::report(file, &self.solved, Shown { system: file.units }), svg::picture(file, &self.solved))
    }

    fn __reduce__(&self) -> PyResult<()> {
        Err(PyTypeError::new_err(
            "a solution is not pickled: send its case and march it there, or send to_json() or to_xarray()",
        ))
    }
}

/// A dictionary that tells its names where one is missing.
fn named<'py>(py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
    py.import("quenchway._errors")?.getattr("Named")?.call0()
}

fn whole<'py>(py: Python<'py>, indices: &[usize]) -> Bound<'py, PyArray1<i32>> {
    indices.iter().map(|&index| index as i32).collect::<Vec<i32>>().into_pyarray(py)
}
