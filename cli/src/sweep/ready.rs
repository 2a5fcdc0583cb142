//! Blocks made ready for the results file by a few threads, and handed over in their order.

use std::sync::mpsc::sync_channel;
use std::thread;

use super::{Block, Folder, Held, JoinError, Plan};

/// Most threads that read ahead: a few keep the one busy that writes.
const READERS: usize = 4;

/// A block with all that is written of it.
pub(super) struct Ready {
    pub block: Block,
    /// The bytes of its inputs, outputs, statuses and fields, variable by variable.
    pub values: Vec<Vec<u8>>,
}

/// Hands every block of a study to `told`, in order; each thread holds one block, with fields there is one thread.
///
/// Ends with the first error of `told`.
pub(super) fn in_order<E>(
    plan: &Plan,
    folders: &[Folder],
    extent: [usize; 2],
    mut told: impl FnMut(u64, Result<Ready, JoinError>) -> Result<(), E>,
) -> Result<(), E> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let readers = if plan.sweep.fields.is_empty() { cores.min(READERS) } else { 1 };
    thread::scope(|scope| {
        let waiting: Vec<_> = (0..readers)
            .map(|reader| {
                let (give, take) = sync_channel(0);
                scope.spawn(move || {
                    for number in (reader as u64..plan.sweep.blocks()).step_by(readers) {
                        let ready = make_ready(plan, folders, number, extent);
                        let last = ready.is_err();
                        // Nobody waits any more after an error.
                        if give.send(ready).is_err() || last {
                            return;
                        }
                    }
                });
                take
            })
            .collect();
        for (number, take) in (0..plan.sweep.blocks()).zip(waiting.iter().cycle()) {
            let damaged = |_| Err(JoinError::Missing { blocks: vec![number], damaged: 1 });
            told(number, take.recv().unwrap_or_else(damaged))?;
        }
        Ok(())
    })
}

fn make_ready(plan: &Plan, folders: &[Folder], number: u64, extent: [usize; 2]) -> Result<Ready, JoinError> {
    let sweep = &plan.sweep;
    let block = find(folders, number)?;
    let range = sweep.block(number);
    let fits = block.first == range.start
        && block.samples.len() as u64 == range.end - range.start
        && block.inputs.len() == if sweep.is_grid() { 0 } else { sweep.axes.len() }
        && block.outputs.len() == sweep.outputs.len();
    if !fits {
        return Err(JoinError::Missing { blocks: vec![number], damaged: 1 });
    }
    let mut values: Vec<Vec<u8>> = block.inputs.iter().chain(&block.outputs).map(|values| bytes(values)).collect();
    values.push(block.samples.iter().map(|sample| sample.status as u8).collect());
    values.extend(filled(plan, &block, extent).iter().map(|values| bytes(values)));
    Ok(Ready { block, values })
}

/// The bytes of numbers, as the machine has them.
fn bytes(values: &[f64]) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(8 * values.len());
    values.iter().for_each(|value| bytes.extend_from_slice(&value.to_ne_bytes()));
    bytes
}

/// A block from the first folder that has it whole; the others must hold the same.
pub(super) fn find(folders: &[Folder], number: u64) -> Result<Block, JoinError> {
    let mut found: Option<Block> = None;
    for folder in folders {
        match (folder.read(number).map_err(JoinError::Folder)?, &found) {
            (Held::Block(block), None) => found = Some(block),
            (Held::Block(block), Some(first)) if !block.same(first) => {
                return Err(JoinError::Differs { number, other: folder.path().to_path_buf() });
            }
            _ => {}
        }
    }
    found.ok_or(JoinError::Missing { blocks: vec![number], damaged: 1 })
}

/// The fields of a block, every sample filled up to the largest of the study.
fn filled(plan: &Plan, block: &Block, [points, nodes]: [usize; 2]) -> Vec<Vec<f64>> {
    let one = |place: usize, across: bool| {
        let width = if across { nodes } else { 1 };
        let mut all = vec![f64::NAN; block.samples.len() * points * width];
        for (sample, room) in block.samples.iter().zip(all.chunks_mut((points * width).max(1))) {
            let Some(fields) = &sample.fields else { continue };
            let own = if across { fields.nodes } else { 1 };
            let Some(values) = fields.values.get(place) else { continue };
            for (row, room) in values.chunks(own.max(1)).zip(room.chunks_mut(width.max(1))) {
                room.iter_mut().zip(row).for_each(|(room, value)| *room = *value);
            }
        }
        all
    };
    plan.sweep.fields.iter().enumerate().map(|(place, field)| one(place, field.is_across())).collect()
}
