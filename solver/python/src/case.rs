//! A case: the text that it came from, what was changed since, and what both make.

use std::borrow::Cow;
use std::sync::Arc;

use pyo3::exceptions::{PyOverflowError, PyTypeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyFloat, PyInt, PyMapping, PyString};
use quenchway::case::CaseFile;
use quenchway::case::cautions::cautions;
use quenchway::file::resolved::resolved;
use quenchway::file::{self, LARGEST};
use quenchway::march::output;
use quenchway::maths::order::sort_by_number;
use quenchway::names::key_path::{self, KeyPath};
use quenchway::names::variable::Variable;

use crate::errors;

/// What a text is called that came from no file.
const NO_FILE: &str = "the case";
/// What a pickle keeps of a case: its name, its text, what was changed.
type Kept = (String, String, Vec<(String, f64)>);
/// Die temperatures follow it: it is set before all others.
const SPEED: &str = "line.speed";

/// One product on one line, read from a case file; it does not change.
///
/// A number without a unit is in SI, a temperature in degC.
#[pyclass(frozen, module = "quenchway")]
pub struct Case {
    /// The file's name, for messages.
    pub name: Arc<str>,
    pub text: Arc<str>,
    /// Path and value in SI, in the order in which they were set.
    pub changes: Vec<(String, f64)>,
    pub file: Arc<CaseFile>,
}

impl Case {
    fn read(py: Python, name: &str, text: &str) -> PyResult<Case> {
        let file = file::read(text).map_err(|problems| errors::of_problems(py, name, text, &problems))?;
        Ok(Case { name: name.into(), text: text.into(), changes: Vec::new(), file: Arc::new(file) })
    }

    /// The same with other values in SI, `line.speed` first.
    pub fn with(&self, py: Python, mut values: Vec<(Variable, f64)>) -> PyResult<Case> {
        sort_by_number(&mut values, |(variable, _)| f64::from(variable.path != SPEED));
        let mut file = CaseFile::clone(&self.file);
        let mut changes = self.changes.clone();
        for (variable, value) in values {
            variable.set(&mut file, value).map_err(|error| errors::of_path(py, &error))?;
            changes.push((variable.path, value));
        }
        Ok(Case { name: Arc::clone(&self.name), text: Arc::clone(&self.text), changes, file: Arc::new(file) })
    }

    pub fn variable(&self, py: Python, path: &str) -> PyResult<Variable> {
        KeyPath::find(&self.file, path).map_err(|error| errors::of_path(py, &error))
    }
}

/// The argument of every question.
pub fn case_of<'py>(value: &Bound<'py, PyAny>) -> PyResult<Bound<'py, Case>> {
    value.cast::<Case>().cloned().map_err(|_| {
        let kind = errors::kind(value);
        PyTypeError::new_err(format!("a {kind} is no Case; write Case.from_toml(path) or Case.from_text(text)"))
    })
}

/// A number in SI, or a text with its unit.
fn value(variable: &Variable, value: &Bound<PyAny>) -> PyResult<f64> {
    if let Ok(text) = value.cast::<PyString>() {
        let text: Cow<str> = text.to_cow()?;
        return variable.parse_value(&text).map_err(|error| errors::of_path(value.py(), &error));
    }
    let truth = value.is_instance_of::<PyBool>();
    let plain = value.is_instance_of::<PyFloat>() || value.is_instance_of::<PyInt>() && !truth;
    // One number in an array would pass for a number.
    let several = !plain && value.len().is_ok();
    let number = if several || truth { None } else { Some(value.extract::<f64>()) };
    match number {
        Some(Ok(number)) => Ok(number),
        // An integer beyond every number is beyond what is possible.
        Some(Err(error)) if error.is_instance_of::<PyOverflowError>(value.py()) => Ok(f64::INFINITY),
        _ => {
            let kind = errors::kind(value);
            let batch = if several && kind != "bytes" { "; `batch` takes arrays" } else { "" };
            let path = &variable.path;
            Err(PyTypeError::new_err(format!(
                "{path}: a {kind} is neither a number in SI nor a text with a unit{batch}"
            )))
        }
    }
}

/// The bytes of a file, at most one more than a case file may have: that byte tells one that does not end from one that fits.
/// Python opens it, so that errors name the file.
fn bytes(path: &Bound<PyString>) -> PyResult<Vec<u8>> {
    let file = path.py().import("builtins")?.getattr("open")?.call1((path, "rb"))?;
    let read = file.call_method1("read", (LARGEST + 1,)).and_then(|bytes| bytes.extract());
    file.call_method0("close")?;
    read
}

#[pymethods]
impl Case {
    /// Reads a case file. Raises `CaseError` with every problem of its text, `OSError` where it cannot be read.
    #[staticmethod]
    fn from_toml(py: Python, path: &Bound<PyAny>) -> PyResult<Case> {
        let path = py.import("os")?.getattr("fsdecode")?.call1((path,))?.cast_into::<PyString>()?;
        let name = path.to_string_lossy().into_owned();
        if name.contains('\n') {
            return Err(PyValueError::new_err("this is no path but a text; Case.from_text reads the text of a case"));
        }
        let bytes = bytes(&path)?;
        if bytes.len() > LARGEST {
            let message = format!("it has more than {LARGEST} bytes");
            return Err(errors::of_text(py, &name, &message, "a file of this size is probably no case file", None));
        }
        let text = String::from_utf8(bytes).map_err(|error| {
            let before = &error.as_bytes()[..error.utf8_error().valid_up_to()];
            let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
            let message = format!("line {line} is not UTF-8 text");
            errors::of_text(py, &name, &message, "save it as UTF-8 in your editor", Some(line))
        })?;
        Case::read(py, &name, &text)
    }

    /// Reads the text of a case file. Raises `CaseError` with every problem of it.
    #[staticmethod]
    fn from_text(py: Python, text: &str) -> PyResult<Case> {
        if text.ends_with(".toml") && !text.contains(['\n', '=']) {
            return Err(errors::of_text(
                py,
                NO_FILE,
                "this is no text but a path",
                "Case.from_toml reads a file",
                None,
            ));
        }
        Case::read(py, NO_FILE, text)
    }

    /// Reads tables as a case file has them: texts with units, lists of tables for `layer`, `section`, `station`.
    ///
    /// They are written as TOML text and read from that, so that messages are those of a file; `text` is that text.
    ///
    /// >>> case = qw.Case.from_dict({
    /// ...     "title": "a bare wire",
    /// ...     "line": {"speed": "120 m/min"},
    /// ...     "layer": [{"name": "wire", "material": "copper", "diameter": "2 mm", "temperature": "90 degC"}],
    /// ...     "section": [{"name": "trough", "medium": "water", "length": "5 m", "temperature": "20 degC"}],
    /// ... })
    /// >>> case.get("section.trough.length")
    /// 5.0
    #[staticmethod]
    fn from_dict(py: Python, tables: &Bound<PyMapping>) -> PyResult<Case> {
        let text: String = py.import("quenchway._tables")?.getattr("written")?.call1((tables,))?.extract()?;
        Case::read(py, NO_FILE, &text)
    }

    /// The same with other numbers, each in SI or as text with its unit; `line.speed` is set first.
    ///
    /// Raises `UnknownName` for a path that leads to no number, `CaseError` for a value outside what a case file allows.
    /// Sizes are not compared with each other here: the march refuses a layer without a wall.
    ///
    /// >>> case = qw.Case.from_text(qw.EXAMPLE)
    /// >>> faster = case.with_values({"line.speed": "180 m/min", "section.trough.temperature": 12})
    /// >>> faster.get("line.speed"), faster.changes
    /// (3.0, [('line.speed', 3.0), ('section.trough.temperature', 12.0)])
    fn with_values(&self, py: Python, values: &Bound<PyMapping>) -> PyResult<Case> {
        let mut found = Vec::with_capacity(values.len().unwrap_or(0));
        for item in values.items()? {
            let (path, number): (Bound<PyAny>, Bound<PyAny>) = item.extract()?;
            let Ok(path) = path.cast::<PyString>() else {
                let kind = errors::kind(&path);
                return Err(PyTypeError::new_err(format!("a {kind} is no key path; write one such as \"line.speed\"")));
            };
            let variable = self.variable(py, &path.to_cow()?)?;
            if found.iter().any(|(known, _): &(Variable, f64)| known.path == variable.path) {
                return Err(PyValueError::new_err(format!("{} is given twice", variable.path)));
            }
            let number = value(&variable, &number)?;
            found.push((variable, number));
        }
        self.with(py, found)
    }

    /// The number at a key path, SI. Raises `UnknownName`.
    fn get(&self, py: Python, path: &str) -> PyResult<f64> {
        Ok(self.variable(py, path)?.get(&self.file))
    }

    /// The number at a key path with its unit, in the units of the case. Raises `UnknownName`.
    ///
    /// >>> qw.Case.from_text(qw.EXAMPLE).show("section.trough.length")
    /// '18 m'
    fn show(&self, py: Python, path: &str) -> PyResult<String> {
        let variable = self.variable(py, path)?;
        Ok(variable.show(variable.get(&self.file), self.file.units))
    }

    /// The number in SI that a text with a unit means at a key path. Raises `UnknownName`, `CaseError`.
    fn parse(&self, py: Python, path: &str, text: &str) -> PyResult<f64> {
        self.variable(py, path)?.parse_value(text).map_err(|error| errors::of_path(py, &error))
    }

    /// Name, unit and words of a number: what `batch` labels an axis with.
    fn _label(&self, py: Python, path: &str) -> PyResult<(String, &'static str)> {
        let variable = self.variable(py, path)?;
        let units = variable.units();
        Ok((variable.path, units))
    }

    /// Unit and words of outputs.
    fn _output_labels(&self, py: Python, names: Vec<String>) -> PyResult<Vec<(String, &'static str, String)>> {
        let label = |name: &String| {
            let found = output::Output::find(&self.file, name).map_err(|error| errors::of_output(py, &error))?;
            Ok((found.name, found.units, found.describes))
        };
        names.iter().map(label).collect()
    }

    /// What the case calls itself.
    #[getter]
    fn title(&self) -> &str {
        &self.file.title
    }

    /// The text that it was read from, without the changes.
    #[getter]
    fn text(&self) -> &str {
        &self.text
    }

    /// Key paths and values in SI, in the order in which they were set.
    #[getter]
    fn changes(&self) -> Vec<(String, f64)> {
        self.changes.clone()
    }

    /// Key paths of all numbers.
    #[getter]
    fn paths(&self) -> Vec<String> {
        key_path::all(&self.file).into_iter().map(|variable| variable.path).collect()
    }

    /// Names of all outputs that `batch` and `Solution.get` know.
    #[getter]
    fn outputs(&self) -> Vec<String> {
        let all = output::all(&self.file).into_iter().chain(output::of_layers(&self.file));
        all.map(|output| output.name).collect()
    }

    /// What must be kept in mind on the plant floor.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        cautions(&self.file)
    }

    /// The case file with library materials, defaults and changed numbers written out.
    fn resolved(&self) -> String {
        resolved(&self.file)
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Kept)> {
        let case = slf.get();
        let remake = slf.py().import("quenchway._engine")?.getattr("_remake")?;
        Ok((remake, (case.name.to_string(), case.text.to_string(), case.changes.clone())))
    }

    fn __repr__(&self) -> String {
        let changes = match self.changes.len() {
            0 => String::new(),
            1 => ", 1 value changed".to_string(),
            count => format!(", {count} values changed"),
        };
        let (layers, sections) = (self.file.layers.len(), self.file.sections.len());
        let title = quenchway_words::clean(&self.file.title);
        format!("<Case \"{title}\": layers {layers}, sections {sections}{changes}>")
    }
}

/// A case again from what a pickle keeps of it.
#[pyfunction(name = "_remake")]
pub fn remake(py: Python, name: &str, text: &str, changes: Vec<(String, f64)>) -> PyResult<Case> {
    let fresh = Case::read(py, name, text)?;
    let mut file = CaseFile::clone(&fresh.file);
    for (path, value) in &changes {
        let variable = KeyPath::find(&file, path).map_err(|error| errors::of_path(py, &error))?;
        variable.set(&mut file, *value).map_err(|error| errors::of_path(py, &error))?;
    }
    Ok(Case { changes, file: Arc::new(file), ..fresh })
}
