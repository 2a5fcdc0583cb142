//! The samples of a spread through batches: every thread draws, makes and solves some cases side by side.

use rayon::prelude::*;

use super::Study;
use crate::case::Case;
use crate::engine::Path;
use crate::march::batch::{self, Batch};
use crate::march::output::Output;

/// How many cases were computed in which way, most frequent first.
pub type Computed = Vec<(Path, usize)>;

/// Numbers of the outputs of a sample, or why there are none.
pub(super) type Outputs = Result<Vec<f64>, String>;

impl Study<'_> {
    /// Some outputs of drawn numbers, in order; `drawn` gives those of a task.
    pub(super) fn solve(
        &self,
        tasks: usize,
        drawn: impl Fn(usize) -> Vec<f64> + Sync,
        outputs: &[Output],
        computed: &mut Computed,
    ) -> Vec<Outputs> {
        let numbers: Vec<usize> = (0..tasks).collect();
        let solved: Vec<(Outputs, Option<Path>)> = numbers
            .par_chunks(at_a_time(tasks))
            .flat_map_iter(|numbers| self.side_by_side(numbers, &drawn, outputs))
            .collect();
        solved.iter().filter_map(|(_, path)| *path).for_each(|path| note(computed, path));
        computed.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        solved.into_iter().map(|(outputs, _)| outputs).collect()
    }

    /// Some tasks on the calling thread, each with the way in which it was computed.
    fn side_by_side(
        &self,
        tasks: &[usize],
        drawn: &impl Fn(usize) -> Vec<f64>,
        outputs: &[Output],
    ) -> Vec<(Outputs, Option<Path>)> {
        let mut cases = Vec::with_capacity(tasks.len());
        let refused: Vec<Option<String>> =
            tasks.iter().map(|&task| self.apply(&drawn(task)).map(|case| cases.push(case)).err()).collect();
        let mut answers = batch::on_one_thread(&cases, outputs, Batch::default()).into_iter().zip(&cases);
        let judged = |case: &Case, values: Vec<f64>| -> Vec<f64> {
            outputs.iter().zip(values).map(|(output, value)| output.against_limit(case, value)).collect()
        };
        let mut next = || match answers.next() {
            Some((Ok(answer), case)) => (Ok(judged(case, answer.values)), Some(answer.path)),
            Some((Err(error), _)) => (Err(error.to_string()), None),
            None => (Err("the batch ended early: a fault of the program".to_string()), None),
        };
        refused.into_iter().map(|refused| refused.map_or_else(&mut next, |reason| (Err(reason), None))).collect()
    }
}

/// Cases that one thread takes at a time: enough to fill the lanes, few enough that every thread has some.
pub(super) fn at_a_time(cases: usize) -> usize {
    (cases / (4 * rayon::current_num_threads())).clamp(16, 256)
}

fn note(computed: &mut Computed, path: Path) {
    match computed.iter_mut().find(|(known, _)| *known == path) {
        Some((_, count)) => *count += 1,
        None => computed.push((path, 1)),
    }
}
