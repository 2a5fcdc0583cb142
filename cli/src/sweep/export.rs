//! A finished results file read again: as CSV, a row a sample; and how often its outputs take which values.

use std::path::Path;

use quenchway::data::Label;
use quenchway::march::output::Output;
use quenchway::study::sweep::{Axis, Status};

use super::{Joined, Plan};
use crate::store::study::StudyRows;
use crate::store::{StoreError, write_beside};

/// Samples that are read at a time.
const AT_A_TIME: u64 = 16_384;

/// Writes the samples of a plan's results file as CSV, whole or not at all.
///
/// The header has the exact names with their unit in square brackets, as the data of a trial have; a number that is not there is
/// an empty cell.
///
/// Errors: the results file cannot be read, the CSV file not be written.
pub fn csv(plan: &Plan, results: &Path, path: &Path) -> Result<(), StoreError> {
    write_beside(path, |temporary| fill(plan, results, temporary).map_err(|error| error.to_string()))
}

fn fill(plan: &Plan, results: &Path, path: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let sweep = &plan.sweep;
    let names: Vec<String> = sweep.outputs.iter().map(|output| output.name.clone()).collect();
    let rows = StudyRows::open(results, &names)?;
    let mut writer = csv::Writer::from_path(path)?;
    let mut header = vec!["sample".to_string()];
    header.extend(sweep.axes.iter().map(Axis::label).chain(sweep.outputs.iter().map(Output::label)).map(headed));
    header.extend(["status", "status_reason"].map(str::to_string));
    writer.write_record(&header)?;
    let mut inputs = vec![0.0; sweep.axes.len()];
    let samples = sweep.samples();
    let mut first = 0;
    while first < samples {
        let end = (first + AT_A_TIME).min(samples);
        let (outputs, status, reasons) = rows.read(usize::try_from(first)?..usize::try_from(end)?)?;
        for (place, index) in (first..end).enumerate() {
            sweep.inputs(index, &mut inputs);
            writer.write_field(index.to_string())?;
            for value in inputs.iter().copied().chain(outputs.iter().map(|column| column[place])) {
                // The shortest text that reads back as the same number.
                writer.write_field(if value.is_nan() { String::new() } else { format!("{value:?}") })?;
            }
            writer.write_field(status[place].to_string())?;
            writer.write_field(&reasons[place])?;
            writer.write_record(None::<&[u8]>)?;
        }
        first = end;
    }
    writer.flush()?;
    Ok(())
}

/// A bare number has no brackets.
fn headed(label: Label<'_>) -> String {
    if label.units == "1" { label.name.to_string() } else { format!("{} [{}]", label.name, label.units) }
}

/// Where the outputs of a results file lie, and how many of its samples are good.
#[derive(Clone, Debug, PartialEq)]
pub struct Overview {
    /// Lowest and highest value of each output; infinite, the wrong way round, where no sample has it.
    pub ends: Vec<[f64; 2]>,
    /// Samples that are good.
    pub good: u64,
}

impl Overview {
    /// What the join found.
    pub fn of(joined: &Joined) -> Overview {
        let ends = joined.outputs.iter().map(|extent| [extent.low, extent.high]).collect();
        Overview { ends, good: joined.by_status[Status::Good as usize] }
    }

    /// The same from the results file of a plan.
    ///
    /// Errors: the results file cannot be read.
    pub fn read(plan: &Plan, results: &Path) -> Result<Overview, StoreError> {
        let none = [f64::INFINITY, f64::NEG_INFINITY];
        let mut found = Overview { ends: vec![none; plan.sweep.outputs.len()], good: 0 };
        pieces(plan, results, plan.sweep.outputs.len(), |outputs, status| {
            for (values, [low, high]) in outputs.iter().zip(&mut found.ends) {
                for value in values.iter().filter(|value| !value.is_nan()) {
                    (*low, *high) = (low.min(*value), high.max(*value));
                }
            }
            found.good += status.iter().filter(|status| **status == Status::Good as i8).count() as u64;
        })?;
        Ok(found)
    }
}

/// Samples in equal parts of the ranges that the first `count` outputs of a plan's results file have.
///
/// Errors: the results file cannot be read.
pub fn histograms(plan: &Plan, ends: &[[f64; 2]], results: &Path, count: usize) -> Result<Vec<Vec<u64>>, StoreError> {
    const PARTS: usize = 40;
    let count = count.min(plan.sweep.outputs.len());
    let mut histograms = vec![vec![0; PARTS]; count];
    pieces(plan, results, count, |outputs, _| {
        for ((values, [low, high]), counts) in outputs.iter().zip(ends).zip(&mut histograms) {
            let width = high - low;
            for value in values.iter().filter(|value| !value.is_nan()) {
                let share = if width > 0.0 { (value - low) / width } else { 0.5 };
                counts[((share * PARTS as f64) as usize).min(PARTS - 1)] += 1;
            }
        }
    })?;
    Ok(histograms)
}

/// Reads the first `count` outputs and the statuses of a results file, some samples at a time.
fn pieces(
    plan: &Plan,
    results: &Path,
    count: usize,
    mut told: impl FnMut(&[Vec<f64>], &[i8]),
) -> Result<(), StoreError> {
    let failed = |reason: String| StoreError::Read { path: results.to_path_buf(), reason };
    let names: Vec<String> = plan.sweep.outputs.iter().take(count).map(|output| output.name.clone()).collect();
    let rows = StudyRows::open(results, &names).map_err(|error| failed(error.to_string()))?;
    let Ok(samples) = usize::try_from(plan.sweep.samples()) else { return Err(failed("too many samples".to_string())) };
    for first in (0..samples).step_by(AT_A_TIME as usize) {
        let end = (first + AT_A_TIME as usize).min(samples);
        let (outputs, status) = rows.numbers(first..end).map_err(|error| failed(error.to_string()))?;
        told(&outputs, &status);
    }
    Ok(())
}
