//! The join: block after block into one results file, with the memory of a few blocks.

use std::collections::BTreeSet;
use std::fmt;
use std::path::Path;

use quenchway::case::cautions::cautions;
use quenchway::march::output::Output;
use quenchway::study::sweep::{Axis, Check, Method, Status};

use super::ready::{Ready, find, in_order};
use super::{Folder, FolderError, Part, Plan, Stop};
use crate::store::study::{Layout, Rows, StudyFile};
use crate::store::{StoreError, write_beside};

/// What the joined file holds, in numbers.
#[derive(Clone, Debug)]
pub struct Joined {
    /// Samples by status, in the order of [`Status::ALL`].
    pub by_status: [u64; Status::ALL.len()],
    /// The first few reasons of samples that are not good, with their index.
    pub reasons: Vec<(u64, String)>,
    /// Lowest, mean and highest of each output over the samples that have it.
    pub outputs: Vec<Extent>,
    /// What the careful way found.
    pub checks: Checks,
    /// How many parts made it.
    pub parts: usize,
    /// Bytes of the file.
    pub bytes: u64,
}

/// Where the numbers of an output lie.
#[derive(Clone, Copy, Debug)]
pub struct Extent {
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
    /// Sum.
    sum: f64,
    /// How many samples have it.
    pub count: u64,
}

impl Extent {
    const NOTHING: Extent = Extent { low: f64::INFINITY, high: f64::NEG_INFINITY, sum: 0.0, count: 0 };

    fn add(&mut self, value: f64) {
        if !value.is_nan() {
            self.low = self.low.min(value);
            self.high = self.high.max(value);
            self.sum += value;
            self.count += 1;
        }
    }

    /// The mean; not a number where no sample has the output.
    pub fn mean(&self) -> f64 {
        self.sum / self.count as f64
    }
}

/// The samples that were solved again the careful way.
#[derive(Clone, Copy, Debug, Default)]
pub struct Checks {
    /// How many.
    pub count: u64,
    /// Those without a careful solution.
    pub failed: u64,
    /// Largest error found, K.
    pub largest: f64,
    /// The sample that has it.
    pub worst: u64,
    /// Those whose error is above the tolerance.
    pub above: u64,
    squares: f64,
}

impl Checks {
    fn add(&mut self, index: u64, check: Check, tolerance: f64) {
        self.count += 1;
        match check {
            Check::Failed => self.failed += 1,
            Check::Error(error) => {
                if error > self.largest {
                    (self.largest, self.worst) = (error, index);
                }
                self.above += u64::from(error > tolerance);
                self.squares += error * error;
            }
        }
    }

    /// Root mean square of the errors found, K.
    pub fn rms(&self) -> f64 {
        (self.squares / (self.count - self.failed).max(1) as f64).sqrt()
    }
}

/// Why parts could not be joined.
#[derive(Debug)]
pub enum JoinError {
    /// Blocks are missing or damaged.
    Missing {
        /// Their numbers.
        blocks: Vec<u64>,
        /// How many of them are damaged.
        damaged: usize,
    },
    /// Two directories hold different numbers for one block.
    Differs {
        /// The block.
        number: u64,
        /// Where the other one lies.
        other: std::path::PathBuf,
    },
    /// A directory of blocks is wrong.
    Folder(FolderError),
    /// The results file could not be written; the blocks are as they were.
    Write(StoreError),
    /// A signal came.
    Stopped,
}

impl fmt::Display for JoinError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            JoinError::Missing { blocks, damaged } => {
                write!(out, "{} missing: {}", counted(blocks.len()), ranges(blocks))?;
                if *damaged > 0 { write!(out, " ({damaged} of them there, but damaged)") } else { Ok(()) }
            }
            JoinError::Differs { number, other } => {
                write!(
                    out,
                    "block {number} holds other numbers in {}: one of the two machines computes wrongly",
                    other.display()
                )
            }
            JoinError::Folder(error) => error.fmt(out),
            JoinError::Write(error) => error.fmt(out),
            JoinError::Stopped => out.write_str("interrupted"),
        }
    }
}

fn counted(blocks: usize) -> String {
    if blocks == 1 { "1 block is".to_string() } else { format!("{blocks} blocks are") }
}

/// Rising numbers as ranges, the first few of them.
fn ranges(numbers: &[u64]) -> String {
    const MOST: usize = 12;
    let mut ranges: Vec<[u64; 2]> = Vec::new();
    for &number in numbers {
        match ranges.last_mut() {
            Some(last) if last[1] + 1 == number => last[1] = number,
            _ => ranges.push([number, number]),
        }
    }
    let shown = ranges.iter().take(MOST).map(|[a, b]| if a == b { a.to_string() } else { format!("{a}-{b}") });
    let mut shown = shown.collect::<Vec<_>>().join(", ");
    if ranges.len() > MOST {
        shown += &format!(" and {} more ranges", ranges.len() - MOST);
    }
    shown
}

/// Joins the blocks of folders (the first comes first) into a results file at `path`, whole or not at all; `report` makes what
/// the file is to keep of the report.
///
/// Errors: blocks missing, damaged or different; a file that cannot be written.
pub fn join(
    plan: &Plan,
    folders: &[Folder],
    path: &Path,
    stop: &Stop,
    report: impl FnOnce(&Joined) -> String,
) -> Result<Joined, JoinError> {
    complete(plan, folders)?;
    let mut joined = Joined {
        by_status: [0; Status::ALL.len()],
        reasons: Vec::new(),
        outputs: vec![Extent::NOTHING; plan.sweep.outputs.len()],
        checks: Checks::default(),
        parts: 0,
        bytes: 0,
    };
    // What went wrong with a block, where that is why nothing was written.
    let mut wrong = None;
    let written = write_beside(path, |temporary| -> Result<(), String> {
        let filled = fill(plan, folders, temporary, stop, &mut joined).and_then(|file| {
            file.finish(&texts(plan, report(&joined)), &numbers(plan, &joined))?;
            Ok(())
        });
        filled.map_err(|error| match error {
            FillError::Hdf5(error) => error,
            FillError::Join(error) => {
                wrong = Some(error);
                String::new()
            }
        })
    });
    match (written, wrong) {
        (_, Some(error)) => Err(error),
        (Err(error), None) => Err(JoinError::Write(error)),
        (Ok(()), None) => {
            joined.bytes = std::fs::metadata(path).map_or(0, |about| about.len());
            Ok(joined)
        }
    }
}

enum FillError {
    Hdf5(String),
    Join(JoinError),
}

impl From<hdf5_metno::Error> for FillError {
    fn from(error: hdf5_metno::Error) -> FillError {
        FillError::Hdf5(error.to_string())
    }
}

/// Names every block that is not there, before anything is written.
fn complete(plan: &Plan, folders: &[Folder]) -> Result<(), JoinError> {
    let missing: Vec<u64> =
        (0..plan.sweep.blocks()).filter(|&number| !folders.iter().any(|folder| folder.has(number))).collect();
    if missing.is_empty() {
        return Ok(());
    }
    // After an edit of study or base case there may be other numbers of blocks: the edit is then what is to be told.
    match folders.iter().find_map(Folder::foreign) {
        Some(foreign) => Err(JoinError::Folder(foreign)),
        None => Err(JoinError::Missing { blocks: missing, damaged: 0 }),
    }
}

/// Writes every sample.
fn fill(
    plan: &Plan,
    folders: &[Folder],
    path: &Path,
    stop: &Stop,
    joined: &mut Joined,
) -> Result<StudyFile, FillError> {
    let sweep = &plan.sweep;
    let extent = extent(plan, folders, stop).map_err(FillError::Join)?;
    let mut file = StudyFile::create(path, &layout(plan, extent))?;
    let mut parts: BTreeSet<Part> = BTreeSet::new();
    in_order(plan, folders, extent, |number, ready| {
        if stop.signal().is_some() {
            return Err(FillError::Join(JoinError::Stopped));
        }
        let Ready { block, values } = ready.map_err(FillError::Join)?;
        parts.insert(block.part);
        let range = sweep.block(number);
        for (index, sample) in range.clone().zip(&block.samples) {
            joined.by_status[sample.status as usize] += 1;
            if sample.status != Status::Good && joined.reasons.len() < 3 {
                joined.reasons.push((index, sample.reason.clone()));
            }
            if let Some(check) = sample.check {
                joined.checks.add(index, check, plan.case.tolerance);
            }
        }
        for (extent, values) in joined.outputs.iter_mut().zip(&block.outputs) {
            values.iter().for_each(|value| extent.add(*value));
        }
        let reasons: Vec<&str> = block.samples.iter().map(|sample| sample.reason.as_str()).collect();
        file.rows(&Rows { first: range.start, values: &values, reasons: &reasons })?;
        Ok(())
    })?;
    joined.parts = parts.len();
    Ok(file)
}

/// Most points and nodes that a sample's fields have; without fields, nothing is read.
fn extent(plan: &Plan, folders: &[Folder], stop: &Stop) -> Result<[usize; 2], JoinError> {
    let mut extent = [0, 0];
    if plan.sweep.fields.is_empty() {
        return Ok(extent);
    }
    for number in 0..plan.sweep.blocks() {
        if stop.signal().is_some() {
            return Err(JoinError::Stopped);
        }
        for fields in find(folders, number)?.samples.iter().filter_map(|sample| sample.fields.as_ref()) {
            extent = [extent[0].max(fields.points), extent[1].max(fields.nodes)];
        }
    }
    Ok(extent)
}

fn layout(plan: &Plan, extent: [usize; 2]) -> Layout<'_> {
    let sweep = &plan.sweep;
    let coordinates = sweep.is_grid().then(|| sweep.axes.iter().map(|axis| axis.list().to_vec()).collect());
    Layout {
        axes: sweep.axes.iter().map(Axis::label).collect(),
        outputs: sweep.outputs.iter().map(Output::label).collect(),
        coordinates,
        samples: sweep.samples(),
        statuses: Status::ALL.map(|status| (status as i8, status.name())).to_vec(),
        fields: sweep.fields.iter().map(|field| (field.label, field.is_across())).collect(),
        extent,
    }
}

fn texts(plan: &Plan, report: String) -> Vec<(&'static str, String)> {
    vec![
        ("title", plan.sweep.title.clone()),
        ("command", "sweep".to_string()),
        ("method", plan.sweep.method.name().to_string()),
        ("study_toml", plan.study_text.clone()),
        ("study_sha256", plan.identity.study.clone()),
        ("case_toml", plan.case_text.clone()),
        ("case_sha256", crate::store::sha256(&plan.case_text)),
        ("resolved_case", plan.resolved_case.clone()),
        ("resolved_case_sha256", plan.identity.case.clone()),
        ("program_sha256", plan.identity.program.clone()),
        ("report_json", report),
        ("cautions", cautions(&plan.case).join("\n")),
    ]
}

fn numbers(plan: &Plan, joined: &Joined) -> Vec<(&'static str, f64)> {
    let checks = &joined.checks;
    let good = joined.by_status[Status::Good as usize];
    let mut numbers = vec![
        ("samples", plan.sweep.samples() as f64),
        ("good_samples", good as f64),
        ("tolerance_K", plan.case.tolerance),
        ("checked_samples", checks.count as f64),
        ("checked_without_solution", checks.failed as f64),
        ("checked_above_tolerance", checks.above as f64),
        ("error_measured_largest_K", checks.largest),
        ("error_measured_rms_K", checks.rms()),
        ("parts", joined.parts as f64),
    ];
    if let Method::Sampled { seed, .. } = plan.sweep.method {
        numbers.push(("seed", seed as f64));
    }
    numbers
}
