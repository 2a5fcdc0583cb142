//! Many answers on all threads of the present rayon pool: in order, and to the same bits on any number of threads.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use rayon::prelude::*;

/// The answers of so many indices.
///
/// A question may ask others in this way: a thread that waits for answers works on them.
pub fn of_each<R: Send>(count: usize, answer: impl Fn(usize) -> R + Sync) -> Vec<R> {
    let answers: Vec<Mutex<Option<R>>> = (0..count).map(|_| Mutex::new(None)).collect();
    run(count, &|index| {
        let known = answer(index);
        *answers[index].lock().unwrap_or_else(PoisonError::into_inner) = Some(known);
    });
    answers.into_iter().filter_map(|answer| answer.into_inner().unwrap_or_else(PoisonError::into_inner)).collect()
}

/// The answer of each item.
pub fn each<T: Sync, R: Send>(items: &[T], answer: impl Fn(&T) -> R + Sync) -> Vec<R> {
    of_each(items.len(), |index| answer(&items[index]))
}

/// The answers of each item, where one thread takes `size` items at a time, one at least.
pub fn each_chunk<T: Sync, R: Send>(items: &[T], size: usize, answers: impl Fn(&[T]) -> Vec<R> + Sync) -> Vec<R> {
    let chunks: Vec<&[T]> = items.chunks(size.max(1)).collect();
    each(&chunks, |chunk| answers(chunk)).into_iter().flatten().collect()
}

/// The answer of each item, where all have one.
///
/// # Errors
///
/// That of the first item which has one, on any number of threads; items after one that failed may be left out.
pub fn try_each<T: Sync, R: Send, E: Send>(
    items: &[T],
    answer: impl Fn(&T) -> Result<R, E> + Sync,
) -> Result<Vec<R>, E> {
    let failed = AtomicUsize::new(usize::MAX);
    let answers = of_each(items.len(), |index| {
        // What stands before the first that fails is asked in any case.
        let wanted = index < failed.load(Ordering::Relaxed);
        let answer = wanted.then(|| answer(&items[index]))?;
        if answer.is_err() {
            failed.fetch_min(index, Ordering::Relaxed);
        }
        Some(answer)
    });
    answers.into_iter().flatten().collect()
}

/// Does every task. It knows no answer, so that rayon is not compiled for every kind of them.
fn run(count: usize, task: &(dyn Fn(usize) + Sync)) {
    (0..count).into_par_iter().for_each(task);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on_threads<R: Send>(threads: usize, asked: impl FnOnce() -> R + Send) -> R {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(asked)
    }

    #[test]
    fn answers_come_in_order() {
        let items: Vec<usize> = (0..1000).collect();
        let doubled: Vec<usize> = items.iter().map(|item| 2 * item).collect();
        for threads in [1, 3, 8] {
            on_threads(threads, || {
                assert_eq!(of_each(1000, |index| 2 * index), doubled);
                assert_eq!(each(&items, |item| 2 * item), doubled);
                assert_eq!(try_each(&items, |item| Ok::<usize, ()>(2 * item)), Ok(doubled.clone()));
                for size in [0, 1, 7, 1000, 2000] {
                    let twice = |chunk: &[usize]| {
                        assert!((1..=size.max(1)).contains(&chunk.len()));
                        chunk.iter().map(|item| 2 * item).collect()
                    };
                    assert_eq!(each_chunk(&items, size, twice), doubled);
                }
            });
        }
        assert_eq!(each(&[0; 0], |item| *item), [0; 0]);
        assert_eq!(each_chunk(&[0; 0], 3, <[i32]>::to_vec), [0; 0]);
    }

    #[test]
    fn the_first_error_is_told_on_any_number_of_threads() {
        let items: Vec<usize> = (0..1000).collect();
        let fails = |item: &usize| if item % 100 == 37 { Err(*item) } else { Ok(()) };
        for threads in [1, 2, 8] {
            for _ in 0..20 {
                assert_eq!(on_threads(threads, || try_each(&items, fails)), Err(37));
            }
        }
    }

    #[test]
    fn questions_may_ask_questions() {
        let sum = |row: usize| of_each(50, |column| row * column).iter().sum::<usize>();
        for threads in [1, 4] {
            let sums = on_threads(threads, || of_each(50, sum));
            assert_eq!(sums, (0..50).map(|row| 1225 * row).collect::<Vec<usize>>());
        }
    }
}
