//! Time and temperatures of a case over accuracies, for comparison with other programs (`validation/peers`).
//!
//! `work_precision CASE.toml ACCURACY...` prints a line an accuracy in K: microseconds of one solve by the rule, set-up
//! included, steps, then axis, surface, mean of the outer layer and both sides of each joint at the end of every section.
#![allow(clippy::print_stdout, clippy::expect_used)]

use std::hint::black_box;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use quenchway::line::Settings;
use quenchway::march::{march_by_rule, march_with};

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let Some(path) = words.next() else { return ExitCode::from(2) };
    let Ok(text) = std::fs::read_to_string(&path) else { return ExitCode::from(2) };
    let Ok(case) = quenchway::file::read(&text) else { return ExitCode::from(2) };
    for accuracy in words.filter_map(|word| word.parse().ok()) {
        let case = case.clone().to(accuracy);
        let Ok((solution, run)) = march_with(&case, &Settings::rule(accuracy)) else { return ExitCode::from(1) };
        let (began, mut least) = (Instant::now(), Duration::MAX);
        // The least of several times: what else the machine does only adds.
        while began.elapsed() < Duration::from_millis(50) {
            let start = Instant::now();
            let _ = black_box(march_by_rule(black_box(&case)));
            least = least.min(start.elapsed());
        }
        print!("{:.3} {}", least.as_secs_f64() * 1e6, run.steps[0] + run.steps[1]);
        for section in &solution.sections {
            let exit = &section.exit;
            print!(" {:.9} {:.9}", exit.core, exit.surface);
            print!(" {:.9}", exit.layer_means.last().copied().unwrap_or(f64::NAN));
            exit.interfaces.iter().for_each(|joint| print!(" {:.9} {:.9}", joint.inner, joint.outer));
        }
        println!();
    }
    ExitCode::SUCCESS
}
