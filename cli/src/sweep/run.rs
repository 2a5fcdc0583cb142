//! Workers on blocks: each takes the next block, solves its samples and writes it; what a sample gives depends on the study
//! and its index alone.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use quenchway::study::sweep::{Status, Worker};

use super::progress::Display;
use super::{Block, Folder, FolderError, Part, Plan, Progress, Stop};

/// Samples that a worker solves between two looks at whether to go on, at first and at most: enough to fill its lanes.
const AT_FIRST: usize = 16;
const AT_MOST: usize = 256;
/// How long that may take.
const HEEDED: Duration = Duration::from_millis(200);
/// Time between two looks at the workers.
const LOOK: Duration = Duration::from_millis(100);

/// What a run did.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    /// Samples computed.
    pub samples: u64,
    /// Those of them that are in blocks on the disk.
    pub kept: u64,
    /// Those that are not good.
    pub failed: u64,
    /// Those that were solved side by side.
    pub side_by_side: u64,
    /// Whether a signal ended it early.
    pub stopped: bool,
}

/// Why a run ended before its work was done.
#[derive(Debug)]
pub enum RunError {
    /// A block could not be written.
    Folder(FolderError),
}

/// Computes blocks; `before` samples of the part are there already.
///
/// Ends early when `stop` says so: the blocks in work are then given up, those written stay.
///
/// Errors: a block cannot be written; blocks that were written stay.
pub fn run(
    plan: &Plan,
    folder: &Folder,
    (part, blocks): (Part, &[u64]),
    threads: usize,
    before: u64,
    stop: &Stop,
    quiet: bool,
) -> Result<Tally, RunError> {
    let progress = Progress::default();
    let kept = AtomicU64::new(0);
    let next = AtomicUsize::new(0);
    let halt = AtomicBool::new(false);
    let wrong: Mutex<Option<FolderError>> = Mutex::new(None);
    let work: u64 = blocks.iter().map(|&number| length(plan, number)).sum();
    let mut display = Display::new(before + work, before, quiet);
    let ended = || halt.load(Ordering::Relaxed) || stop.signal().is_some();
    let worker = || {
        let mut worker = Worker::new(&plan.sweep, &plan.case);
        let mut together = AT_FIRST;
        while let Some(&number) = blocks.get(next.fetch_add(1, Ordering::Relaxed)) {
            let Some(block) = solve(plan, (&mut worker, &mut together), (part, number), &progress, &ended) else {
                return;
            };
            if let Err(error) = folder.write(&block) {
                halt.store(true, Ordering::Relaxed);
                if let Ok(mut wrong) = wrong.lock() {
                    wrong.get_or_insert(error);
                }
                return;
            }
            kept.fetch_add(block.samples.len() as u64, Ordering::Relaxed);
        }
        progress.side_by_side.fetch_add(worker.side_by_side(), Ordering::Relaxed);
    };
    thread::scope(|scope| {
        let workers: Vec<_> = (0..threads.min(blocks.len())).map(|_| scope.spawn(worker)).collect();
        while workers.iter().any(|worker| !worker.is_finished()) {
            // Short sweeps are not made to wait for a look.
            thread::park_timeout(if work < 10_000 { LOOK / 20 } else { LOOK });
            display.show(&progress);
        }
    });
    display.finish();
    if let Some(error) = wrong.into_inner().ok().flatten() {
        return Err(RunError::Folder(error));
    }
    let (samples, failed) = (progress.done.into_inner(), progress.failed.into_inner());
    let side_by_side = progress.side_by_side.into_inner();
    Ok(Tally { samples, kept: kept.into_inner(), failed, side_by_side, stopped: stop.signal().is_some() })
}

fn length(plan: &Plan, number: u64) -> u64 {
    let samples = plan.sweep.block(number);
    samples.end - samples.start
}

/// Input by input, the values of samples; none for a grid.
fn inputs(plan: &Plan, indices: &[u64]) -> Vec<Vec<f64>> {
    let sweep = &plan.sweep;
    let mut columns = vec![Vec::with_capacity(indices.len()); if sweep.is_grid() { 0 } else { sweep.axes.len() }];
    let mut row = vec![0.0; sweep.axes.len()];
    for &index in indices {
        sweep.inputs(index, &mut row);
        columns.iter_mut().zip(&row).for_each(|(column, value)| column.push(*value));
    }
    columns
}

/// The samples of a block; none when the run ended meanwhile.
fn solve(
    plan: &Plan,
    (worker, together): (&mut Worker<'_>, &mut usize),
    (part, number): (Part, u64),
    progress: &Progress,
    ended: &impl Fn() -> bool,
) -> Option<Block> {
    let range = plan.sweep.block(number);
    let count = usize::try_from(range.end - range.start).ok()?;
    let mut outputs = vec![vec![f64::NAN; count]; plan.sweep.outputs.len()];
    let mut samples = Vec::with_capacity(count);
    let indices: Vec<u64> = range.clone().collect();
    let mut rest = &indices[..];
    while !rest.is_empty() {
        if ended() {
            return None;
        }
        let (now, later) = rest.split_at((*together).min(rest.len()));
        rest = later;
        let start = Instant::now();
        worker.solve_many(now, |sample, row| {
            for (column, value) in outputs.iter_mut().zip(row) {
                column[samples.len()] = *value;
            }
            progress.done.fetch_add(1, Ordering::Relaxed);
            if sample.status != Status::Good {
                progress.failed.fetch_add(1, Ordering::Relaxed);
            }
            samples.push(sample);
        });
        // Slow cases are solved few at a time, so that a signal is heeded soon; what a sample gives does not depend on it.
        *together = match start.elapsed() {
            short if short < HEEDED / 2 => (2 * *together).min(AT_MOST),
            long if long > HEEDED => (*together / 2).max(1),
            _ => *together,
        };
    }
    Some(Block { number, part, first: range.start, samples, inputs: inputs(plan, &indices), outputs })
}
