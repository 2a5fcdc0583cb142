//! Work beside the interpreter: on threads of our own, without its lock, and an interrupt is answered at once.

use std::ops::RangeInclusive;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use pyo3::exceptions::{PyOverflowError, PyRuntimeError, PyValueError};
use pyo3::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};

/// How often the interpreter is asked whether somebody interrupts.
const LOOK: Duration = Duration::from_millis(50);
/// Most threads that may be asked for.
const MOST_THREADS: usize = 4096;

/// Pools by process and number of threads. A process that was forked has none of its parent's threads.
static POOLS: Mutex<Vec<(u32, usize, Arc<ThreadPool>)>> = Mutex::new(Vec::new());

/// Says that the answer is wanted no more.
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Whether it was said.
    pub fn is_said(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// The argument `threads`: none for as many as there are cores.
pub fn threads_of(value: &Bound<PyAny>) -> PyResult<Option<usize>> {
    if value.is_none() {
        return Ok(None);
    }
    whole(value, "threads", 1..=MOST_THREADS).map(Some)
}

/// A whole number within its range.
pub fn whole(value: &Bound<PyAny>, name: &str, range: RangeInclusive<usize>) -> PyResult<usize> {
    let number = match value.extract::<usize>() {
        Ok(number) => Some(number).filter(|number| range.contains(number)),
        // Negative, or too large for any range.
        Err(error) if error.is_instance_of::<PyOverflowError>(value.py()) => None,
        Err(error) => return Err(error),
    };
    let (low, high) = (range.start(), range.end());
    number.ok_or_else(|| PyValueError::new_err(format!("{name} is {value}; it takes {low} to {high}")))
}

/// The pool of so many threads, or of as many as there are cores.
///
/// The lock of the pools is taken and left while this thread holds the interpreter's: no fork comes between.
fn pool(threads: Option<usize>) -> PyResult<Arc<ThreadPool>> {
    let cores = || std::thread::available_parallelism().map_or(1, usize::from);
    let count = threads.unwrap_or_else(cores);
    let process = std::process::id();
    let mut pools = POOLS.lock().unwrap_or_else(PoisonError::into_inner);
    if pools.iter().any(|(of, ..)| *of != process) {
        // Dropping a pool waits for its threads, which are the parent's.
        pools.drain(..).for_each(std::mem::forget);
    }
    if let Some((_, _, pool)) = pools.iter().find(|(_, known, _)| *known == count) {
        return Ok(Arc::clone(pool));
    }
    // A panic ends its work and nothing else: whoever waits for it is told.
    let builder = ThreadPoolBuilder::new().num_threads(count).thread_name(|index| format!("quenchway-{index}"));
    let built = builder.panic_handler(|_| ()).build();
    let pool = built.map_err(|error| PyOverflowError::new_err(format!("{count} threads cannot be had: {error}")))?;
    let pool = Arc::new(pool);
    pools.push((process, count, Arc::clone(&pool)));
    Ok(pool)
}

/// Forgets a pool whose work nobody waits for: the next question gets another.
fn leave(pool: &Arc<ThreadPool>) {
    POOLS.lock().unwrap_or_else(PoisonError::into_inner).retain(|(_, _, known)| !Arc::ptr_eq(known, pool));
}

/// Does work on a pool while other threads of the interpreter run. An interrupt is raised within some 50 ms; what still works
/// then is told to stop and left alone.
pub fn beside<T: Send + 'static>(
    py: Python<'_>,
    threads: Option<usize>,
    work: impl FnOnce(&Stop) -> T + Send + 'static,
) -> PyResult<T> {
    let pool = pool(threads)?;
    let stop = Stop::default();
    let (sender, receiver) = channel();
    let told = stop.clone();
    pool.spawn(move || {
        // Nobody waits for the answer any more where this fails.
        let _ = sender.send(work(&told));
    });
    let receiver = Mutex::new(receiver);
    loop {
        let got = py.detach(|| receiver.lock().unwrap_or_else(PoisonError::into_inner).recv_timeout(LOOK));
        match got {
            Ok(answer) => return Ok(answer),
            Err(RecvTimeoutError::Timeout) => {
                if let Err(interrupt) = py.check_signals() {
                    stop.0.store(true, Ordering::Relaxed);
                    leave(&pool);
                    return Err(interrupt);
                }
            }
            Err(RecvTimeoutError::Disconnected) => {
                return Err(PyRuntimeError::new_err(
                    "a fault of the engine ended the work; please report it with the case",
                ));
            }
        }
    }
}
