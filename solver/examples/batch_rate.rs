//! Prints how many variants of the example a batch answers in a second of processor time, on one thread; Linux alone tells that
//! time. The tests of the Python module compare their own rate with it.

use quenchway::march::batch::{Batch, on_one_thread};
use quenchway::march::output::Output;
use quenchway::study::speed::with_speed;

/// Cases in all, and at a time.
const CASES: usize = 50_000;
const PART: usize = 512;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let case = quenchway::read(quenchway::file::EXAMPLE).map_err(|problems| problems[0].to_string())?;
    let core = Output::find(&case, "capstan.core")?;
    let speed = |index: usize| 1.0 + 3.0 * index as f64 / (CASES - 1) as f64;
    let begun = processor_time()?;
    for start in (0..CASES).step_by(PART) {
        let cases: Vec<_> = (start..(start + PART).min(CASES)).map(|index| with_speed(&case, speed(index))).collect();
        for answer in on_one_thread(&cases, std::slice::from_ref(&core), Batch::default()) {
            answer?;
        }
    }
    println!("{:.0}", CASES as f64 / (processor_time()? - begun));
    Ok(())
}

/// Processor time of this thread, s: the first number of `schedstat`, nanoseconds.
fn processor_time() -> Result<f64, Box<dyn std::error::Error>> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat")?;
    let nanoseconds: f64 = text.split(' ').next().unwrap_or_default().parse()?;
    Ok(nanoseconds / 1e9)
}
