//! Labelled numbers as Python has them: what `to_xarray` is made of.

use numpy::{IntoPyArray, PyArrayMethods};
use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use quenchway::data::{Data, Fact, Values, Variable, split};
use quenchway::file::resolved::resolved;
use sha2::{Digest, Sha256};

/// The CF version whose rules the attributes follow (Climate and Forecast metadata conventions, 2022).
const CONVENTIONS: &str = "CF-1.10";
/// What answers, as files and JSON name it.
pub const PROGRAM: &str = concat!("quenchway-python ", env!("CARGO_PKG_VERSION"));

/// A text's SHA-256 in hexadecimal digits.
pub fn sha256(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The attributes of a results file's root but the time; the file of a question names its command.
pub fn facts<'py>(
    py: Python<'py>,
    case: &crate::case::Case,
    command: Option<&str>,
    data: &Data,
) -> PyResult<Bound<'py, PyDict>> {
    let facts = PyDict::new(py);
    let resolved = resolved(&case.file);
    for (name, value) in [
        ("title", case.file.title.as_str()),
        ("Conventions", CONVENTIONS),
        ("source", PROGRAM),
        ("case_toml", &case.text),
        ("case_sha256", &sha256(&case.text)),
        ("resolved_case", &resolved),
        ("resolved_case_sha256", &sha256(&resolved)),
    ] {
        facts.set_item(name, value)?;
    }
    if let Some(command) = command {
        facts.set_item("command", command)?;
    }
    if !case.changes.is_empty() {
        let changes =
            serde_json::to_string(&case.changes).map_err(|error| PyRuntimeError::new_err(error.to_string()))?;
        facts.set_item("case_changes", changes)?;
    }
    for (name, fact) in &data.facts {
        match fact {
            Fact::Number(number) => facts.set_item(name, number)?,
            Fact::Whole(count) => facts.set_item(name, count)?,
            Fact::Text(text) => facts.set_item(name, text)?,
        }
    }
    Ok(facts)
}

/// The variables of a group: name, names of its dimensions, units, words, whether values may be absent, coordinates, values.
pub fn variables<'py>(py: Python<'py>, data: &Data, group: &str) -> PyResult<Bound<'py, PyList>> {
    let list = PyList::empty(py);
    for variable in data.variables.iter().filter(|variable| split(&variable.name).0 == group) {
        let dims: Vec<&str> = variable.axes.iter().map(|&axis| split(&data.axes[axis].name).1).collect();
        let Variable { units, long_name, may_miss, coordinates, .. } = variable;
        let name = split(&variable.name).1;
        list.append((name, dims, units, long_name, *may_miss, coordinates, values(py, data, variable)?))?;
    }
    Ok(list)
}

fn values<'py>(py: Python<'py>, data: &Data, variable: &Variable) -> PyResult<Bound<'py, PyAny>> {
    let misfit = || PyRuntimeError::new_err(format!("{} does not fit its dimensions", variable.name));
    let shape = data.shape(variable).ok_or_else(misfit)?;
    Ok(match &variable.values {
        Values::Numbers(values) => values.clone().into_pyarray(py).reshape(shape)?.into_any(),
        Values::Wholes(values) => values.clone().into_pyarray(py).reshape(shape)?.into_any(),
        Values::Texts(texts) => texts.clone().into_pyobject(py)?.into_any(),
    })
}
