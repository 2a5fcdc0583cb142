//! One worker of a sweep: a case of its own that becomes sample after sample.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::Sweep;
use crate::case::{Case, DieTemperature};
use crate::error::Error;
use crate::march::{march, march_by_rule};
use crate::solution::{PointReport, Solution};

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
    base: &'a Case,
    case: Case,
    /// Axes in the order in which they are set.
    order: Vec<usize>,
    /// Whether a value set before leaves traces.
    traces: bool,
    inputs: Vec<f64>,
}

impl<'a> Worker<'a> {
    /// A worker on a sweep of a base case.
    pub fn new(sweep: &'a Sweep, base: &'a Case) -> Worker<'a> {
        let mut order: Vec<usize> = (0..sweep.axes.len()).collect();
        // Die temperatures that follow the speed are shifted at the speed that the sample has.
        order.sort_by_key(|&axis| sweep.axes[axis].variable.path != "line.speed");
        // A table of die temperatures is shifted by a difference, whose rounding depends on where it was before.
        let traces = base.layers.iter().any(|layer| !matches!(layer.temperature, DieTemperature::Fixed(_)));
        Worker { sweep, base, case: base.clone(), order, traces, inputs: vec![0.0; sweep.axes.len()] }
    }

    /// Solves a sample; `outputs` gets the number of every output, not a number where there is none.
    pub fn solve(&mut self, index: u64, outputs: &mut [f64]) -> Sample {
        outputs.fill(f64::NAN);
        let failed = |status, reason: String| Sample { status, reason, check: None };
        if let Err(reason) = self.set(index) {
            return failed(Status::Refused, reason);
        }
        let solved = match guarded(|| march_by_rule(&self.case)) {
            Ok(solved) => solved,
            Err(fault) => return failed(Status::Fault, fault),
        };
        let solution = match solved {
            Ok(solution) => solution,
            Err(error) => {
                let status = match error {
                    Error::Unphysical { .. } => Status::Refused,
                    Error::BalanceOpen { .. } => Status::Fault,
                    _ => Status::NoSolution,
                };
                return failed(status, error.to_string());
            }
        };
        let mut absent = Vec::new();
        for (output, number) in self.sweep.outputs.iter().zip(outputs.iter_mut()) {
            let found = output.of(&solution);
            if found.is_finite() {
                *number = found;
            } else {
                absent.push(output.name.as_str());
            }
        }
        let check = Sweep::is_checked(index).then(|| match guarded(|| march(&self.case)) {
            Ok(Ok(careful)) => Check::Error(difference(&solution, &careful)),
            _ => Check::Failed,
        });
        match absent[..] {
            [] => Sample { status: Status::Good, reason: String::new(), check },
            _ => Sample {
                status: Status::Incomplete,
                reason: format!("there is no number for {}", absent.join(", ")),
                check,
            },
        }
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

/// What a computation gives, or that it broke off: a fault must not take the other samples with it.
fn guarded<T>(compute: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(compute))
        .map_err(|_| "the program broke off here: a fault of the program".to_string())
}

/// Largest difference of any temperature that two solutions of one case report, K.
fn difference(a: &Solution, b: &Solution) -> f64 {
    let stations = a.stations.iter().zip(&b.stations).map(|(a, b)| of_points(&a.point, &b.point));
    let sections = a.sections.iter().zip(&b.sections).map(|(a, b)| {
        let water = [(a.water_in, b.water_in), (a.water_out, b.water_out)];
        let water = water.into_iter().filter_map(|(a, b)| Some((a? - b?).abs()));
        water.fold(of_points(&a.exit, &b.exit), f64::max)
    });
    stations.chain(sections).fold(0.0, f64::max)
}

fn of_points(a: &PointReport, b: &PointReport) -> f64 {
    let joints = a.interfaces.iter().zip(&b.interfaces).flat_map(|(a, b)| [a.inner - b.inner, a.outer - b.outer]);
    let means = a.layer_means.iter().zip(&b.layer_means).map(|(a, b)| a - b);
    let named =
        [a.surface - b.surface, a.core - b.core, a.mean - b.mean, a.hottest - b.hottest, a.equalised - b.equalised];
    named.into_iter().chain(joints).chain(means).fold(0.0, |worst: f64, d| worst.max(d.abs()))
}
