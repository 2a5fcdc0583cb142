//! The samples of a spread through a batch.

use super::Study;
use crate::lanes::Path;
use crate::study::batch::{self, Settings};

/// Cases made at a time.
const BLOCK: usize = 8192;

/// How many cases were computed in which way, most frequent first.
pub type Computed = Vec<(Path, usize)>;

/// Numbers of the outputs of a sample, or why there are none.
pub(super) type Outputs = Result<Vec<f64>, String>;

impl Study<'_> {
    /// The outputs of drawn numbers, in order; `drawn` gives those of a task.
    pub(super) fn solve(
        &self,
        tasks: usize,
        drawn: impl Fn(usize) -> Vec<f64>,
        computed: &mut Computed,
    ) -> Vec<Outputs> {
        let mut outputs = Vec::with_capacity(tasks);
        for start in (0..tasks).step_by(BLOCK) {
            let block = start..(start + BLOCK).min(tasks);
            let mut whole = Vec::with_capacity(block.len());
            let refused: Vec<Option<String>> =
                block.map(|task| self.apply(&drawn(task)).map(|case| whole.push(case)).err()).collect();
            let mut answers = batch::answers(&whole, self.outputs, Settings::default()).into_iter();
            for refused in refused {
                let answer = match refused {
                    Some(reason) => Err(reason),
                    None => answers.next().map_or_else(
                        || Err("the batch ended early: a fault of the program".to_string()),
                        |answer| answer.map_err(|error| error.to_string()),
                    ),
                };
                outputs.push(answer.map(|answer| {
                    note(computed, answer.path);
                    answer.values
                }));
            }
        }
        computed.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        outputs
    }
}

fn note(computed: &mut Computed, path: Path) {
    match computed.iter_mut().find(|(known, _)| *known == path) {
        Some((_, count)) => *count += 1,
        None => computed.push((path, 1)),
    }
}
