//! The data of a line trial: a CSV file as a spreadsheet writes it, into settings and measurements.
//!
//! The header names the columns: numbers of the case by key path (settings), outputs by name (measured), the unit in square
//! brackets. A row is one setting of the line; an empty cell is the case's value, or not measured. Uncertainties stand
//! behind a sign "±" (or "+-"): in the header, in a row of their own whose first cell begins with the sign, or beside a
//! value. Lines that begin with `#` are comments.

mod cells;
mod columns;
mod possible;

use std::path::Path;

use quenchway::case::CaseFile;
use quenchway::file::Problem;
use quenchway::study::fit::{Measurement, Trial, Unknown, steady};
use quenchway::units::{Dimension, System, write};

use crate::diagnostic::{self, Failure};
use cells::{Cell, Sheet, split_sign};
use columns::{Column, Kind};

/// The data of a trial, read and checked.
#[derive(Clone, Debug)]
pub struct Data {
    /// The file's text.
    pub text: String,
    /// One for every row with a measurement, or for every steady state.
    pub trials: Vec<Trial>,
    /// The line of the file that each trial stands in; of a steady state its first.
    pub lines: Vec<usize>,
    /// What was merged; none where every row is a trial.
    pub merged: Option<Merged>,
    /// Name of each measured column, its uncertainty with its unit, and where that comes from.
    pub uncertainties: Vec<[String; 3]>,
}

/// A logger's rows, merged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Merged {
    /// How many rows with a measurement the file has.
    pub rows: usize,
    /// How near settings are within one state: K of a temperature, the share of everything else.
    pub near: [f64; 2],
}

/// More rows than these are a logger's, and so many steady states are fitted at most.
const MOST_TRIALS: usize = 100;

/// Where an uncertainty comes from that the file does not give.
const USUAL: &str = "usual, common practice without a source";

/// Reads the data of a trial of this case, of which `fitted` is not known.
///
/// Errors: a file that cannot be read; everything that is wrong in it, each with its line and column.
pub fn load(path: &Path, case: &CaseFile, fitted: &[Unknown]) -> Result<Data, Failure> {
    let text = diagnostic::read(path, "data file")?;
    match read(&text, case, fitted) {
        Ok(data) => Ok(data),
        Err(problems) => Err(Failure::Case { path: path.to_path_buf(), text, problems }),
    }
}

/// Reads the text of a data file.
pub fn read(text: &str, case: &CaseFile, fitted: &[Unknown]) -> Result<Data, Vec<Problem>> {
    let sheet = Sheet::read(text)?;
    let mut problems = Vec::new();
    let mut columns: Vec<Option<Column>> = Vec::new();
    for cell in &sheet.header {
        let column = Column::read(case, cell, &columns);
        columns.push(column.map_err(|problem| problems.push(problem)).ok());
    }
    let known: Vec<&Column> = columns.iter().flatten().collect();
    if problems.is_empty() && !known.iter().any(|column| matches!(column.kind, Kind::Measured(_))) {
        problems.push(missing(
            "no column is a measurement",
            "name one by station and quantity, with its unit: capstan.surface [degC], capstan.equalised [degC], \
             trough.water_out [degC], hot gauge.diameter [mm]",
        ));
    }
    let mut of_columns: Vec<Option<f64>> = columns.iter().map(|c| c.as_ref().and_then(|c| c.uncertainty)).collect();
    let (rows, signs): (Vec<_>, Vec<_>) = sheet.rows.iter().partition(|row| !row.is_uncertainty());
    for row in signs {
        for (index, cell) in row.cells.iter().enumerate().filter(|(_, cell)| !cell.text.trim().is_empty()) {
            let read = |column: &Column| column.uncertainty_of_row(cell);
            match columns.get(index).and_then(Option::as_ref).map(read).transpose() {
                Ok(Some(Some(uncertainty))) => of_columns[index] = Some(uncertainty),
                Ok(_) => {}
                Err(problem) => problems.push(problem),
            }
        }
    }
    let (mut trials, mut lines) = (Vec::new(), Vec::new());
    for row in rows {
        let mut trial = Trial::default();
        let mut cells: Vec<&Cell> = Vec::new();
        for (index, cell) in row.cells.iter().enumerate().filter(|(_, cell)| !cell.text.trim().is_empty()) {
            match columns.get(index) {
                Some(Some(column)) => {
                    if let Err(problem) = take(column, cell, of_columns[index], &mut trial) {
                        problems.push(problem);
                    }
                    if trial.measurements.len() > cells.len() {
                        cells.push(cell);
                    }
                }
                // A column that was not understood has been complained about in its header.
                Some(None) => {}
                None => problems.push(cell.problem(
                    "",
                    format!("this cell has no column: the header has {} columns", columns.len()),
                    "no column",
                    "a cell with a comma in it stands in quotation marks".to_string(),
                )),
            }
        }
        problems.extend(possible::check(case, &trial, &cells, fitted));
        if !trial.measurements.is_empty() {
            trials.push(trial);
            lines.push(row.line);
        }
    }
    if trials.is_empty() && problems.is_empty() {
        problems.push(missing("no row holds a measured value", "write one row below the header for each setting"));
    }
    let uncertainties = uncertainties(&columns, &of_columns);
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut merged = None;
    if trials.len() > MOST_TRIALS {
        let steady = steady(&trials, MOST_TRIALS);
        merged = Some(Merged { rows: trials.len(), near: steady.near });
        lines = steady.rows.iter().map(|rows| lines[rows[0]]).collect();
        trials = steady.trials;
    }
    Ok(Data { text: text.to_string(), trials, lines, merged, uncertainties })
}

/// Puts a filled cell into its trial.
fn take(column: &Column, cell: &Cell, uncertainty: Option<f64>, trial: &mut Trial) -> Result<(), Problem> {
    let (value, own) = split_sign(&cell.text);
    match &column.kind {
        Kind::Setting(variable) => {
            if own.is_some() {
                return Err(column.setting_with_uncertainty(cell));
            }
            trial.settings.push((variable.clone(), column.setting(cell, value)?));
        }
        Kind::Measured(output) => {
            let value = column.value(cell, value)?;
            let own = own.map(|text| column.uncertainty(cell, text)).transpose()?;
            let Some(uncertainty) = own.or(uncertainty).or(column.usual()) else {
                return Err(column.no_uncertainty());
            };
            trial.measurements.push(Measurement { output: output.clone(), value, uncertainty });
        }
    }
    Ok(())
}

/// What was taken as uncertain by how much, column by column.
fn uncertainties(columns: &[Option<Column>], of_columns: &[Option<f64>]) -> Vec<[String; 3]> {
    let one = |(column, given): (&Option<Column>, &Option<f64>)| {
        let column = column.as_ref()?;
        let Kind::Measured(output) = &column.kind else { return None };
        let (value, basis) = match given {
            Some(value) => (*value, "given in the data"),
            None => (column.usual()?, USUAL),
        };
        let shown = match output.dimension {
            Some(Dimension::Temperature) => write(value, Dimension::TemperatureDifference, System::Si),
            Some(dimension) => write(value, dimension, System::Si),
            None => value.to_string(),
        };
        Some([output.name.clone(), shown, basis.to_string()])
    };
    columns.iter().zip(of_columns).filter_map(one).collect()
}

/// Something that the whole file lacks.
fn missing(message: &str, help: &str) -> Problem {
    Problem {
        span: None,
        key: String::new(),
        message: message.to_string(),
        label: String::new(),
        help: Some(help.to_string()),
    }
}

#[cfg(test)]
mod tests;
