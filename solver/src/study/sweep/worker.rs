//! One worker of a sweep: a case of its own that becomes sample after sample.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::{FieldsOf, Sweep};
use crate::case::error::Error;
use crate::case::{CaseFile, DieTemperature};
use crate::engine::Path;
use crate::march::batch::{self, Batch, Care};
use crate::march::output::Output;
use crate::march::solution::Solution;
use crate::march::{march, march_once};
use crate::maths::order::sort_by_number;
use crate::study::searched::Searched;

/// What became of a sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Status {
    /// Every output has its number.
    Good = 0,
    /// The inputs make no case: a value out of range, a layer without a wall.
    Refused = 1,
    /// The march found no solution.
    NoSolution = 2,
    /// There is a solution, and an output that has no number in it.
    Incomplete = 3,
    /// A fault of the program.
    Fault = 4,
}

impl Status {
    /// All of them, in the order of their numbers.
    pub const ALL: [Status; 5] = [Status::Good, Status::Refused, Status::NoSolution, Status::Incomplete, Status::Fault];

    /// That of a sample whose march ended in an error.
    fn of(error: &Error) -> Status {
        match error {
            Error::Unphysical { .. } => Status::Refused,
            Error::BalanceOpen { .. } => Status::Fault,
            _ => Status::NoSolution,
        }
    }

    /// The word in results files.
    pub fn name(self) -> &'static str {
        match self {
            Status::Good => "good",
            Status::Refused => "refused",
            Status::NoSolution => "no_solution",
            Status::Incomplete => "incomplete",
            Status::Fault => "fault",
        }
    }
}

/// What is told of a sample besides its outputs.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// What became of it.
    pub status: Status,
    /// Why it is not good; empty for a good one.
    pub reason: String,
    /// What the careful way found, where the sample was solved again.
    pub check: Option<Check>,
    /// The fields along the line, where they are kept and there is a solution.
    pub fields: Option<FieldsOf>,
}

/// A sample solved again the careful way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Check {
    /// Largest difference of any temperature reported at a station or a section's end, K.
    Error(f64),
    /// The careful way found no solution.
    Failed,
}

/// A worker: what it computes for a sample depends on nothing that it did before.
#[derive(Debug)]
pub struct Worker<'a> {
    sweep: &'a Sweep,
    base: &'a CaseFile,
    case: CaseFile,
    /// Axes in the order in which they are set.
    order: Vec<usize>,
    /// Whether a value set before leaves traces.
    traces: bool,
    inputs: Vec<f64>,
    field_bytes: u64,
    side_by_side: u64,
}

impl<'a> Worker<'a> {
    /// A worker on a sweep of a base case.
    pub fn new(sweep: &'a Sweep, base: &'a CaseFile) -> Worker<'a> {
        let mut order: Vec<usize> = (0..sweep.axes.len()).collect();
        // Die temperatures that follow the speed are shifted at the speed that the sample has.
        sort_by_number(&mut order, |&axis| f64::from(sweep.axes[axis].variable.path != "line.speed"));
        // A table of die temperatures is shifted by a difference, whose rounding depends on where it was before.
        let traces = base.layers.iter().any(|layer| !matches!(layer.temperature, DieTemperature::Fixed(_)));
        Worker {
            sweep,
            base,
            case: base.clone(),
            order,
            traces,
            inputs: vec![0.0; sweep.axes.len()],
            field_bytes: 0,
            side_by_side: 0,
        }
    }

    /// Solves samples, in order, side by side where that is possible; `told` is told of each, with the number of every
    /// output.
    ///
    /// A sample gives the same numbers whatever others are solved with it.
    pub fn solve_many(&mut self, indices: &[u64], mut told: impl FnMut(Sample, &[f64])) {
        let mut row = vec![f64::NAN; self.sweep.outputs.len()];
        let mut answers = self.in_a_batch(indices).into_iter();
        for &index in indices {
            // What was not computed beside others is solved alone.
            let sample = match answers.next().flatten() {
                Some((sample, numbers)) => {
                    row.copy_from_slice(&numbers);
                    sample
                }
                None => self.solve(index, &mut row),
            };
            told(sample, &row);
        }
    }

    /// Samples in a batch: none for those that are solved alone, since they are checked, keep fields, are searched for, or
    /// make no case.
    fn in_a_batch(&mut self, indices: &[u64]) -> Vec<Option<(Sample, Vec<f64>)>> {
        let outputs = &self.sweep.outputs;
        if !self.sweep.fields.is_empty() || outputs.iter().any(|output| output.searched().is_some()) {
            return Vec::new();
        }
        let mut cases = Vec::with_capacity(indices.len());
        let taken: Vec<bool> = indices
            .iter()
            .map(|&index| {
                let taken = !Sweep::is_checked(index) && self.set(index).is_ok();
                if taken {
                    cases.push(self.case.clone());
                }
                taken
            })
            .collect();
        let settings = Batch { care: Care::Once, ..Batch::default() };
        let Ok(answers) = guarded(|| batch::on_one_thread(&cases, outputs, settings)) else { return Vec::new() };
        let in_lanes =
            |answer: &&Result<batch::Answer, Error>| answer.as_ref().is_ok_and(|answer| answer.path != Path::Single);
        self.side_by_side += answers.iter().filter(in_lanes).count() as u64;
        let mut answers = answers.into_iter();
        let told = |answer: Result<batch::Answer, Error>| {
            let (status, reason, numbers) = match answer {
                Err(error) => (Status::of(&error), error.to_string(), vec![f64::NAN; outputs.len()]),
                Ok(answer) => {
                    let absent = outputs.iter().zip(&answer.values).filter(|(_, number)| !number.is_finite());
                    let reasons: Vec<String> = absent.map(|(output, _)| no_number(output)).collect();
                    let status = if reasons.is_empty() { Status::Good } else { Status::Incomplete };
                    let finite = |number: f64| if number.is_finite() { number } else { f64::NAN };
                    (status, reasons.join("; "), answer.values.into_iter().map(finite).collect())
                }
            };
            (Sample { status, reason, check: None, fields: None }, numbers)
        };
        taken.into_iter().map(|taken| if taken { answers.next().map(told) } else { None }).collect()
    }

    /// Solves a sample; `outputs` gets the number of every output, not a number where there is none.
    pub fn solve(&mut self, index: u64, outputs: &mut [f64]) -> Sample {
        outputs.fill(f64::NAN);
        let failed = |status, reason: String| Sample { status, reason, check: None, fields: None };
        if let Err(reason) = self.set(index) {
            return failed(Status::Refused, reason);
        }
        let solved = match guarded(|| march_once(&self.case, !self.sweep.fields.is_empty())) {
            Ok(solved) => solved,
            Err(fault) => return failed(Status::Fault, fault),
        };
        let solution = match solved {
            Ok(solution) => solution,
            Err(error) => return failed(Status::of(&error), error.to_string()),
        };
        let mut absent = Vec::new();
        let mut searched = Searched::default();
        for (output, number) in self.sweep.outputs.iter().zip(outputs.iter_mut()) {
            match guarded(|| self.number(output, &solution, &mut searched)).and_then(|found| found) {
                Ok(found) => *number = found,
                Err(reason) if reason.is_empty() => absent.push(no_number(output)),
                Err(reason) => absent.push(format!("{}: {reason}", output.name)),
            }
        }
        let check = Sweep::is_checked(index).then(|| match guarded(|| march(&self.case)) {
            Ok(Ok(careful)) => Check::Error(solution.largest_difference(&careful)),
            _ => Check::Failed,
        });
        let status = if absent.is_empty() { Status::Good } else { Status::Incomplete };
        let fields = (!self.sweep.fields.is_empty()).then(|| FieldsOf::new(&self.sweep.fields, &solution.fields));
        if let Some(fields) = &fields {
            self.field_bytes = 8 * fields.values.iter().map(|values| values.len() as u64).sum::<u64>();
        }
        Sample { status, reason: absent.join("; "), check, fields }
    }

    /// An output of the case as it is, or why it has no number; an empty word where the solution just has none.
    fn number(&self, output: &Output, solution: &Solution, searched: &mut Searched) -> Result<f64, String> {
        let found = match output.searched() {
            None => output.of(solution),
            Some(search) => searched.number(&self.case, search)?,
        };
        if found.is_finite() { Ok(found) } else { Err(String::new()) }
    }

    /// How many samples it solved side by side.
    pub fn side_by_side(&self) -> u64 {
        self.side_by_side
    }

    /// Bytes that the fields of a sample take, as the last one that was solved.
    pub fn field_bytes(&self) -> u64 {
        self.field_bytes
    }

    /// Makes the case that of a sample.
    fn set(&mut self, index: u64) -> Result<(), String> {
        if self.traces {
            self.case = self.base.clone();
        }
        self.sweep.inputs(index, &mut self.inputs);
        for &axis in &self.order {
            let set = self.sweep.axes[axis].variable.set(&mut self.case, self.inputs[axis]);
            set.map_err(|error| error.to_string())?;
        }
        Ok(())
    }
}

/// That a solution has no number for an output.
fn no_number(output: &Output) -> String {
    format!("{}: there is no number", output.name)
}

/// What a computation gives, or that it broke off: a fault must not take the other samples with it.
fn guarded<T>(compute: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(compute))
        .map_err(|_| "the program broke off here: a fault of the program".to_string())
}
