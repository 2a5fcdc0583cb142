//! Values that stay where they are while more of them come, from any thread.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Blocks of 1, 2, 4, ... values: more than there is memory for.
const BLOCKS: usize = 40;

/// Values that stay where they are while more of them come, from any thread.
pub(super) struct Kept<T> {
    count: AtomicUsize,
    blocks: [OnceLock<Box<[OnceLock<T>]>>; BLOCKS],
}

impl<T> Default for Kept<T> {
    fn default() -> Kept<T> {
        Kept { count: AtomicUsize::new(0), blocks: std::array::from_fn(|_| OnceLock::new()) }
    }
}

impl<T> Kept<T> {
    /// Keeps a value.
    pub(super) fn keep(&self, value: T) -> &T {
        let number = self.count.fetch_add(1, Ordering::Relaxed) + 1;
        let block = number.ilog2();
        let room = || (0..1usize << block).map(|_| OnceLock::new()).collect();
        // Its number is its own: nobody else has put a value there.
        self.blocks[block as usize].get_or_init(room)[number - (1 << block)].get_or_init(|| value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_is_kept_once() {
        let kept = Kept::default();
        let from = |start: usize| (start..start + 500).map(|value| kept.keep(value)).collect::<Vec<&usize>>();
        let (a, b) = rayon::join(|| from(0), || from(500));
        assert!(a.into_iter().chain(b).enumerate().all(|(number, value)| number == *value));
    }
}
