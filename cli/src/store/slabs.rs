//! Consecutive places of an array as boxes, which is what HDF5 writes and reads.

use std::ops::Range;

use hdf5::{Hyperslab, SliceOrIndex};
use hdf5_metno as hdf5;

/// A box within an array.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Slab {
    /// Its first place along every dimension.
    pub start: Vec<usize>,
    /// Its lengths.
    pub count: Vec<usize>,
}

impl Slab {
    /// The box as HDF5 selects it.
    pub fn selection(&self) -> Hyperslab {
        let along = self.start.iter().zip(&self.count);
        let along = along.map(|(&start, &count)| SliceOrIndex::SliceCount { start, step: 1, count, block: 1 });
        Hyperslab::from(along.collect::<Vec<_>>())
    }
}

/// The boxes that hold consecutive places, one after the other in their order; the last dimension runs fastest.
///
/// There are at most two fewer than twice the dimensions, and one more.
pub(super) fn slabs(places: Range<usize>, shape: &[usize]) -> Vec<Slab> {
    let mut found = Vec::new();
    let mut at = places.start;
    while at < places.end {
        // The longest run of whole rows that begins here and does not reach beyond the end.
        let mut dimension = shape.len();
        let mut row = 1; // places below one step along `dimension - 1`
        while dimension > 1 {
            let wider = row * shape[dimension - 1];
            if !at.is_multiple_of(wider) || at + wider > places.end {
                break;
            }
            row = wider;
            dimension -= 1;
        }
        let Some(along) = dimension.checked_sub(1) else { return found };
        let index = (at / row) % shape[along];
        let steps = ((places.end - at) / row).min(shape[along] - index);
        let mut start = vec![0; shape.len()];
        let mut rest = at / row;
        for axis in (0..=along).rev() {
            start[axis] = rest % shape[axis];
            rest /= shape[axis];
        }
        let mut count = vec![1; shape.len()];
        count[along] = steps;
        count[along + 1..].copy_from_slice(&shape[along + 1..]);
        found.push(Slab { start, count });
        at += steps * row;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_boxes_are_the_places_in_their_order(shape in prop::collection::vec(1_usize..6, 1..5), ends in (0.0..1.0, 0.0..1.0)) {
            let size: usize = shape.iter().product();
            let (a, b) = (((size + 1) as f64 * ends.0) as usize, ((size + 1) as f64 * ends.1) as usize);
            let places = a.min(b)..a.max(b);
            let found = slabs(places.clone(), &shape);
            prop_assert!(found.len() < 2 * shape.len(), "{} boxes in {} dimensions", found.len(), shape.len());
            let mut covered = Vec::new();
            for slab in &found {
                for step in 0..slab.count.iter().product::<usize>() {
                    let (mut rest, mut place, mut stride) = (step, 0, 1);
                    for axis in (0..shape.len()).rev() {
                        place += stride * (slab.start[axis] + rest % slab.count[axis]);
                        rest /= slab.count[axis];
                        stride *= shape[axis];
                    }
                    covered.push(place);
                }
            }
            prop_assert_eq!(covered, places.collect::<Vec<_>>());
        }
    }
}
