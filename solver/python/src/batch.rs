//! Many cases for their outputs, on threads of our own: what a row answers depends neither on its neighbours nor on the threads.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use numpy::{IntoPyArray, PyArray2, PyArrayMethods, PyReadonlyArray1};
use pyo3::exceptions::{PyMemoryError, PyValueError};
use pyo3::prelude::*;
use quenchway::case::CaseFile;
use quenchway::case::error::Error;
use quenchway::march::batch::{Batch, on_one_thread};
use quenchway::march::output::Output;
use quenchway::maths::order::sort_by_number;
use quenchway::names::error::KeyPathError;
use quenchway::names::variable::Variable;

use crate::case::{Case, case_of};
use crate::errors;
use crate::work::{Stop, beside, threads_of};

/// Fewest rows that a thread takes at a time: a row of lanes.
const FEWEST: usize = 8;
/// Most rows that a thread takes at a time; more go no faster.
const MOST: usize = 512;
/// A thread takes twice as many rows as before while they take less than this.
const SHORT: Duration = Duration::from_millis(20);

/// Rows and why they have no answer.
type Problems = Vec<(usize, String)>;

/// What to solve.
struct Rows {
    case: Arc<CaseFile>,
    /// Each with its values, `line.speed` first.
    columns: Vec<(Variable, Vec<f64>)>,
    outputs: Vec<Output>,
    count: usize,
}

/// The outputs of every row, row by row, and the rows that have no answer.
#[derive(Default)]
struct Found {
    values: Vec<f64>,
    problems: Problems,
}

impl Rows {
    fn case(&self, row: usize) -> Result<CaseFile, KeyPathError> {
        let mut case = CaseFile::clone(&self.case);
        for (variable, values) in &self.columns {
            variable.set(&mut case, values[row])?;
        }
        Ok(case)
    }

    /// The answers of some rows.
    fn part(&self, rows: std::ops::Range<usize>, into: &Mutex<Found>) {
        let width = self.outputs.len();
        let mut values = vec![f64::NAN; rows.len() * width];
        let (mut cases, mut places, mut problems) = (Vec::new(), Vec::new(), Vec::new());
        for row in rows.clone() {
            match self.case(row) {
                Ok(case) => {
                    cases.push(case);
                    places.push(row);
                }
                Err(error) => problems.push((row, error.to_string())),
            }
        }
        let answers: Vec<Result<_, Error>> = on_one_thread(&cases, &self.outputs, Batch::default());
        for (row, answer) in places.into_iter().zip(answers) {
            let place = (row - rows.start) * width;
            match answer {
                Ok(answer) => values[place..place + width].copy_from_slice(&answer.values),
                Err(error) => problems.push((row, error.to_string())),
            }
        }
        let mut found = into.lock().unwrap_or_else(PoisonError::into_inner);
        found.values[rows.start * width..rows.end * width].copy_from_slice(&values);
        found.problems.extend(problems);
    }

    /// All rows, on the threads of the present pool, as far as nobody says stop. `values` has room for their outputs.
    fn solve(&self, values: Vec<f64>, stop: &Stop) -> Found {
        let found = Mutex::new(Found { values, problems: Vec::new() });
        let next = AtomicUsize::new(0);
        let threads = rayon::current_num_threads();
        rayon::scope(|scope| {
            for _ in 0..threads.min(self.count.div_ceil(FEWEST)) {
                scope.spawn(|_| {
                    let mut size = FEWEST;
                    while !stop.is_said() {
                        // Towards the end no thread takes more than its share.
                        let left = self.count.saturating_sub(next.load(Ordering::Relaxed));
                        let share = left.div_ceil(threads).next_multiple_of(FEWEST);
                        let taken = size.min(share).max(FEWEST);
                        let start = next.fetch_add(taken, Ordering::Relaxed);
                        if start >= self.count {
                            break;
                        }
                        let began = Instant::now();
                        self.part(start..(start + taken).min(self.count), &found);
                        if began.elapsed() < SHORT {
                            size = (2 * size).min(MOST);
                        }
                    }
                });
            }
        });
        let mut found = found.into_inner().unwrap_or_else(PoisonError::into_inner);
        found.problems.sort();
        found
    }
}

/// So many values that are not numbers. Raises `MemoryError` where there is no room for them.
fn none(count: usize) -> PyResult<Vec<f64>> {
    let mut values = Vec::new();
    values.try_reserve_exact(count).map_err(|_| PyMemoryError::new_err(format!("no room for {count} outputs")))?;
    values.resize(count, f64::NAN);
    Ok(values)
}

#[pyfunction(name = "_batch")]
#[pyo3(signature = (case, paths, columns, count, outputs, threads))]
pub fn batch<'py>(
    #[pyo3(from_py_with = case_of)] case: Bound<'py, Case>,
    paths: Vec<String>,
    columns: Vec<PyReadonlyArray1<'py, f64>>,
    count: usize,
    outputs: Vec<String>,
    #[pyo3(from_py_with = threads_of)] threads: Option<usize>,
) -> PyResult<(Bound<'py, PyArray2<f64>>, Problems)> {
    let (py, own) = (case.py(), case.get());
    let mut found: Vec<(Variable, Vec<f64>)> = Vec::with_capacity(paths.len());
    for (path, column) in paths.iter().zip(&columns) {
        let variable = own.variable(py, path)?;
        // Copied: the arrays are the caller's, who may change them meanwhile.
        let values: Vec<f64> = column.as_array().iter().copied().collect();
        if values.len() != count {
            return Err(PyValueError::new_err(format!("{path} has {} values for {count} rows", values.len())));
        }
        if found.iter().any(|(known, _)| known.path == variable.path) {
            return Err(PyValueError::new_err(format!("{} is given twice", variable.path)));
        }
        found.push((variable, values));
    }
    sort_by_number(&mut found, |(variable, _)| f64::from(variable.path != "line.speed"));
    let named = |name: &String| Output::find(&own.file, name).map_err(|error| errors::of_output(py, &error));
    let outputs: Vec<Output> = outputs.iter().map(named).collect::<PyResult<_>>()?;
    let width = outputs.len();
    let room = none(count.saturating_mul(width))?;
    let rows = Rows { case: Arc::clone(&own.file), columns: found, outputs, count };
    let Found { values, problems } = beside(py, threads, move |stop| rows.solve(room, stop))?;
    Ok((values.into_pyarray(py).reshape([count, width])?, problems))
}
