//! The march and the questions that rest on it, each as its command answers it.

use std::sync::Arc;
use std::time::Instant;

use numpy::IntoPyArray;
use pyo3::exceptions::{PyRuntimeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use quenchway::case::CaseFile;
use quenchway::data::{Head, document};
use quenchway::march::solution::Solution as Solved;
use quenchway::study::band::add_band;
use quenchway::study::converge::converge as by_levels;
use quenchway::study::cooling::add_cooling;
use quenchway::study::drive::answer::{Answer, DriveError, answer as drive_through, heat_over_time};
use quenchway::study::length::{LengthError, needed_as};
use quenchway::study::search::confirm::{Asked, Range};
use quenchway::study::speed::top_speed_as;
use quenchway_words::{Shown, drive as words};

use crate::case::{Case, case_of};
use crate::errors;
use crate::report;
use crate::solution::Solution;
use crate::table::{self, PROGRAM, sha256};
use crate::work::{beside, threads_of, whole};

/// Marches a case down the line, to its tolerance and with a stated error, as `quenchway run` does.
///
/// With `band` also how far the uncertainty of the inputs moves the temperatures, which takes some hundred solves more.
/// Raises `MarchError`.
///
/// >>> solution = qw.march(qw.Case.from_text(qw.EXAMPLE))
/// >>> solution.temperature.shape == (len(solution.distance), len(solution.node_mass))
/// True
/// >>> solution.error <= solution.tolerance
/// True
#[pyfunction]
#[pyo3(signature = (case, *, band = false, threads = None))]
pub fn march(
    #[pyo3(from_py_with = case_of)] case: Bound<'_, Case>,
    band: bool,
    #[pyo3(from_py_with = threads_of)] threads: Option<usize>,
) -> PyResult<Solution> {
    let (py, file) = (case.py(), Arc::clone(&case.get().file));
    let work = move |_: &_| {
        let start = Instant::now();
        let mut solved = quenchway::march(&file)?;
        add_cooling(&file, &mut solved, band);
        if band {
            add_band(&file, &mut solved)?;
        }
        solved.numerics.wall = start.elapsed().as_secs_f64();
        Ok(solved)
    };
    let solved: Result<Solved, _> = beside(py, threads, work)?;
    solved.map(|solved| Solution::new(case.clone().unbind(), solved)).map_err(|error| errors::of_march(py, &error))
}

/// What a question was asked with and answers: a dictionary that the package makes an object of.
fn told<'py>(
    py: Python<'py>,
    items: impl IntoIterator<Item = (&'static str, Bound<'py, PyAny>)>,
) -> PyResult<Bound<'py, PyDict>> {
    let told = PyDict::new(py);
    for (name, value) in items {
        told.set_item(name, value)?;
    }
    Ok(told)
}

/// Favourable end, unfavourable end, the largest contributor.
fn range(range: Option<&Range>) -> Option<(Option<f64>, Option<f64>, String)> {
    range.map(|range| (range.favourable, range.unfavourable, range.largest.clone()))
}

/// The case with other values, and its solution.
fn solved<'py>(
    case: &Bound<'py, Case>,
    changed: &CaseFile,
    paths: &[&str],
    solved: Solved,
) -> PyResult<Bound<'py, PyAny>> {
    let py = case.py();
    let mut values = Vec::new();
    for path in paths {
        let variable = case.get().variable(py, path)?;
        let value = variable.get(changed);
        values.push((variable, value));
    }
    let case = Py::new(py, case.get().with(py, values)?)?;
    Ok(Bound::new(py, Solution::new(case, solved))?.into_any())
}

#[pyfunction(name = "_top_speed")]
#[pyo3(signature = (case, band, threads))]
pub fn top_speed<'py>(
    #[pyo3(from_py_with = case_of)] case: Bound<'py, Case>,
    band: bool,
    #[pyo3(from_py_with = threads_of)] threads: Option<usize>,
) -> PyResult<Bound<'py, PyDict>> {
    let (py, file) = (case.py(), Arc::clone(&case.get().file));
    let asked = Asked { range: band, print: Some(file.units) };
    let system = file.units;
    let found = beside(py, threads, move |_| top_speed_as(&file, asked))?;
    let found = found.map_err(|error| errors::of_question(py, &error.message(system)))?;
    let ceilings = PyList::empty(py);
    for ceiling in &found.ceilings {
        ceilings.append((&ceiling.ceiling.name, ceiling.ceiling.max, ceiling.speed))?;
    }
    let deciding = found.ceilings.first().map(|ceiling| ceiling.ceiling.name.clone());
    let solution = solved(&case, &found.case, &["line.speed"], found.solution)?;
    told(
        py,
        [
            ("speed", found.top.into_pyobject(py)?.into_any()),
            ("printed", found.printed.map(|printed| printed.to_string()).into_pyobject(py)?.into_any()),
            ("deciding", deciding.into_pyobject(py)?.into_any()),
            ("ceilings", ceilings.into_any()),
            ("range", range(found.range.as_ref()).into_pyobject(py)?.into_any()),
            ("solution", solution),
        ],
    )
}

#[pyfunction(name = "_needed_length")]
#[pyo3(signature = (case, band, threads))]
pub fn needed_length<'py>(
    #[pyo3(from_py_with = case_of)] case: Bound<'py, Case>,
    band: bool,
    #[pyo3(from_py_with = threads_of)] threads: Option<usize>,
) -> PyResult<Bound<'py, PyDict>> {
    let (py, file) = (case.py(), Arc::clone(&case.get().file));
    let asked = Asked { range: band, print: Some(file.units) };
    let system = file.units;
    let found = beside(py, threads, move |_| needed_as(&file, asked))?;
    let (found, over) = match found {
        Ok(found) => (found, Vec::new()),
        // The plant does not bear the trough that is needed: an answer, with what it takes too much of.
        Err(LengthError::OverCeiling(needed)) => {
            let over =
                needed.built.over().into_iter().map(|(ceiling, value)| (ceiling.name.clone(), ceiling.max, *value));
            let over: Vec<(String, f64, f64)> = over.collect();
            (*needed, over)
        }
        Err(error) => return Err(errors::of_question(py, &error.message(system))),
    };
    let limits = PyList::empty(py);
    for need in &found.limits {
        limits.append((&need.ceiling.name, need.ceiling.max, need.length))?;
    }
    let own = &case.get().file;
    let names: Vec<&str> = found.sections.iter().map(|&index| own.sections[index].name.as_str()).collect();
    let lengths = PyDict::new(py);
    for (name, length) in names.iter().zip(&found.built.lengths) {
        lengths.set_item(name, length)?;
    }
    let paths: Vec<String> =
        names.iter().map(|name| format!("section.{}.length", quenchway::units::words::key(name))).collect();
    let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
    let deciding = found.deciding.map(|index| found.limits[index].ceiling.name.clone());
    let trough = found.built.trough;
    let solution = solved(&case, &found.built.case, &paths, found.built.solution)?;
    told(
        py,
        [
            ("length", found.length.into_pyobject(py)?.into_any()),
            ("printed", found.printed.map(|printed| printed.to_string()).into_pyobject(py)?.into_any()),
            ("trough", trough.into_pyobject(py)?.into_any()),
            ("lengths", lengths.into_any()),
            ("deciding", deciding.into_pyobject(py)?.into_any()),
            ("limits", limits.into_any()),
            ("over", over.into_pyobject(py)?.into_any()),
            ("range", range(found.range.as_ref()).into_pyobject(py)?.into_any()),
            ("solution", solution),
        ],
    )
}

fn levels_of(value: &Bound<PyAny>) -> PyResult<usize> {
    whole(value, "levels", 3..=8)
}

#[pyfunction(name = "_converge")]
#[pyo3(signature = (case, levels, threads))]
pub fn converge<'py>(
    #[pyo3(from_py_with = case_of)] case: Bound<'py, Case>,
    #[pyo3(from_py_with = levels_of)] levels: usize,
    #[pyo3(from_py_with = threads_of)] threads: Option<usize>,
) -> PyResult<(Bound<'py, PyList>, Bound<'py, PyList>)> {
    let (py, file) = (case.py(), Arc::clone(&case.get().file));
    let found = beside(py, threads, move |_| by_levels(&file, levels))?;
    let (found, tracks) = found.map_err(|error| errors::of_march(py, &error))?;
    let (rows, columns) = (PyList::empty(py), PyList::empty(py));
    for level in found {
        rows.append((1.0 / level.factor, level.cells, level.steps))?;
    }
    for track in tracks {
        let verdict = track.verdict;
        columns.append((track.name, track.values, verdict.order, verdict.extrapolated, verdict.index))?;
    }
    Ok((rows, columns))
}

/// The line in time: what the changes of a programme cost.
#[pyclass(frozen, module = "quenchway")]
pub struct Drive {
    case: Py<Case>,
    found: Answer,
}

/// The programme of a case, metre by metre, as `quenchway drive` does it.
///
/// `every` is the step over clock time, s (otherwise a 300th of the programme). Raises `NoAnswer` where the case has no
/// programme, `MarchError` where a metre has no answer.
#[pyfunction]
#[pyo3(signature = (case, *, every = None, band = false, threads = None))]
pub fn drive(
    #[pyo3(from_py_with = case_of)] case: Bound<'_, Case>,
    every: Option<f64>,
    band: bool,
    #[pyo3(from_py_with = threads_of)] threads: Option<usize>,
) -> PyResult<Drive> {
    let (py, file) = (case.py(), Arc::clone(&case.get().file));
    if let Some(every) = every.filter(|every| !(1e-3..=1e6).contains(every)) {
        return Err(PyValueError::new_err(format!("every is {every} s; it takes 0.001 s to 1000000 s")));
    }
    let work = move |_: &_| {
        let start = Instant::now();
        let mut found = drive_through(&file, every, band, &|_| ())?;
        found.numerics.wall = start.elapsed().as_secs_f64();
        Ok(found)
    };
    let found: Result<Answer, DriveError> = beside(py, threads, work)?;
    let found = found.map_err(|error| match error {
        DriveError::March(error) => errors::of_march(py, &error),
        other => errors::of_question(py, &other.to_string()),
    })?;
    Ok(Drive { case: case.clone().unbind(), found })
}

#[pymethods]
impl Drive {
    /// The case.
    #[getter]
    fn case(&self, py: Python) -> Py<Case> {
        self.case.clone_ref(py)
    }

    /// Product that leaves the die in the programme, m.
    #[getter]
    fn made(&self) -> f64 {
        self.found.made_m
    }

    /// Product out of limits, m, that on the line before included.
    #[getter]
    fn scrap(&self) -> f64 {
        self.found.scrap_m
    }

    /// The same were the stated error all on one side, or on the other, m.
    #[getter]
    fn scrap_range(&self) -> (f64, f64) {
        (self.found.scrap_low_m, self.found.scrap_high_m)
    }

    /// For how long some station sees product out of a limit, s.
    #[getter]
    fn out(&self) -> f64 {
        self.found.out_s
    }

    /// End of the programme, s.
    #[getter]
    fn ends(&self) -> f64 {
        self.found.ends_s
    }

    /// Stated error of every temperature, K.
    #[getter]
    fn error(&self) -> f64 {
        self.found.numerics.error
    }

    /// Whether every metre and every second is within every limit.
    #[getter]
    fn limits_met(&self) -> bool {
        self.found.limits_met()
    }

    /// What is doubtful: kind, message, key path.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, String, String)> {
        self.found.warnings.iter().map(|one| (one.kind, one.message.clone(), one.place.clone())).collect()
    }

    /// What must be kept in mind on the plant floor.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.found.cautions.clone()
    }

    /// What a station sees over clock time, each of one length: `time` s, `metre_seen` m, `seen_surface_temperature` and
    /// `seen_core_temperature` degC, `seen_diameter` m; not a number where nothing is seen.
    fn seen<'py>(&self, py: Python<'py>, station: &str) -> PyResult<Bound<'py, PyDict>> {
        let stations = &self.case.get().file.stations;
        let Some(index) = stations.iter().position(|known| known.name == station) else {
            let names: Vec<&str> = stations.iter().map(|station| station.name.as_str()).collect();
            return Err(PyValueError::new_err(format!(
                "there is no station {station:?}; there are {}",
                names.join(", ")
            )));
        };
        let seen = PyDict::new(py);
        seen.set_item("time", self.found.rows.time.clone().into_pyarray(py))?;
        let names = ["metre_seen", "seen_surface_temperature", "seen_core_temperature", "seen_diameter"];
        for (place, name) in names.into_iter().enumerate() {
            let values: Vec<f64> = self.found.rows.seen[index].iter().map(|seen| seen[place]).collect();
            seen.set_item(name, values.into_pyarray(py))?;
        }
        Ok(seen)
    }

    /// What the results file of `quenchway drive` holds: over clock time, over metres of product; needs xarray.
    fn to_xarray<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("quenchway._xarray")?.getattr("dataset")?.call1((slf, ""))
    }

    fn _labelled<'py>(&self, py: Python<'py>, group: &str) -> PyResult<(Bound<'py, PyDict>, Bound<'py, PyList>)> {
        let case = self.case.get();
        let heat = heat_over_time(&case.file, &self.found);
        let heat = heat.map_err(|error| PyRuntimeError::new_err(error.to_string()))?;
        let data = self.found.data(&case.file, &heat, None);
        Ok((table::facts(py, case, Some("drive"), &data)?, table::variables(py, &data, group)?))
    }

    /// What `quenchway drive --json` prints; `program` tells who computed it.
    fn to_json(&self) -> PyResult<String> {
        let case = self.case.get();
        let head = Head { title: &case.file.title, program: PROGRAM, case_sha256: &sha256(&case.text) };
        document(&head, &self.found).map_err(|error| PyRuntimeError::new_err(error.to_string()))
    }

    fn __repr__(&self) -> String {
        let file = &self.case.get().file;
        report::text(words::report(file, &self.found, Shown { system: file.units }))
    }

    fn _repr_html_(&self) -> String {
        let file = &self.case.get().file;
        report::page(words::report(file, &self.found, Shown { system: file.units }), String::new())
    }
}
