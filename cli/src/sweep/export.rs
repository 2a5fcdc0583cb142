//! A finished results file read again: as CSV, a row a sample; and how often its outputs take which values.

use std::path::Path;

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
    header.extend(sweep.axes.iter().map(|axis| match axis.variable.dimension {
        Some(dimension) => headed(&axis.variable.path, quenchway::study::output::udunits(dimension)),
        None => axis.variable.path.clone(),
    }));
    header.extend(sweep.outputs.iter().map(|output| headed(&output.name, output.units)));
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

fn headed(name: &str, units: &str) -> String {
    format!("{name} [{units}]")
}

/// How often an output takes which values.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Histogram {
    /// Samples in equal parts of the output's range.
    pub counts: Vec<u64>,
}

/// The histograms of the first `count` outputs of a plan's results file, over the ranges that the join found.
///
/// Errors: the results file cannot be read.
pub fn histograms(plan: &Plan, joined: &Joined, results: &Path, count: usize) -> Result<Vec<Histogram>, StoreError> {
    const PARTS: usize = 40;
    let failed = |reason: String| StoreError::Read { path: results.to_path_buf(), reason };
    let names: Vec<String> = plan.sweep.outputs.iter().take(count).map(|output| output.name.clone()).collect();
    let rows = StudyRows::open(results, &names).map_err(|error| failed(error.to_string()))?;
    let mut histograms = vec![Histogram { counts: vec![0; PARTS] }; names.len()];
    let samples = plan.sweep.samples();
    let mut first = 0;
    while first < samples {
        let end = (first + AT_A_TIME).min(samples);
        let (from, to) = (usize::try_from(first), usize::try_from(end));
        let (Ok(from), Ok(to)) = (from, to) else { return Err(failed("too many samples".to_string())) };
        let (outputs, _, _) = rows.read(from..to).map_err(|error| failed(error.to_string()))?;
        for ((values, extent), histogram) in outputs.iter().zip(&joined.outputs).zip(&mut histograms) {
            let width = extent.high - extent.low;
            for value in values.iter().filter(|value| !value.is_nan()) {
                let share = if width > 0.0 { (value - extent.low) / width } else { 0.5 };
                histogram.counts[((share * PARTS as f64) as usize).min(PARTS - 1)] += 1;
            }
        }
        first = end;
    }
    Ok(histograms)
}
