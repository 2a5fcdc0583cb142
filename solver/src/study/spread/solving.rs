//! The samples of a spread through batches: every thread draws, makes and solves some cases side by side.

use super::Study;
use crate::case::CaseFile;
use crate::engine::Path;
use crate::march::batch::{self, Batch};
use crate::march::output::Output;
use crate::maths::order::sort_by_number;
use crate::maths::parallel::each_chunk;
use crate::study::searched::Searched;

/// How many cases were computed in which way, most frequent first.
pub type Computed = Vec<(Path, usize)>;

/// Numbers of the outputs of a sample, or why there are none; and why single ones of them have none.
pub(super) type Outputs = (Result<Vec<f64>, String>, Vec<String>);

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
        let some = |numbers: &[usize]| self.side_by_side(numbers, &drawn, outputs);
        let solved = each_chunk(&numbers, at_a_time(tasks), some);
        solved.iter().filter_map(|(_, path)| *path).for_each(|path| note(computed, path));
        sort_by_number(computed, |(_, count)| -(*count as f64));
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
        let judged = |case: &CaseFile, mut values: Vec<f64>| -> Outputs {
            let (mut searched, mut absent) = (Searched::default(), Vec::new());
            for (output, value) in outputs.iter().zip(&mut values) {
                *value = match output.searched() {
                    None => output.against_limit(case, *value),
                    // A march tells nothing of it.
                    Some(search) => searched.number(case, search).unwrap_or_else(|reason| {
                        absent.push(format!("{}: {reason}", output.name));
                        f64::NAN
                    }),
                };
            }
            (Ok(values), absent)
        };
        let none = |reason: String| -> Outputs { (Err(reason), Vec::new()) };
        let mut next = || match answers.next() {
            Some((Ok(answer), case)) => (judged(case, answer.values), Some(answer.path)),
            Some((Err(error), _)) => (none(error.to_string()), None),
            None => (none("the batch ended early: a fault of the program".to_string()), None),
        };
        refused.into_iter().map(|refused| refused.map_or_else(&mut next, |reason| (none(reason), None))).collect()
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
