//! What a sweep will take, said before it begins: samples, time, bytes, files.

use std::time::{Duration, Instant};

use quenchway::study::sweep::{Status, Worker};
use quenchway_words::{clean, significant};
use serde_json::json;

use super::super::{Answer, Failure};
use crate::args::SweepArgs;
use crate::report::terminal;
use crate::sweep::{Plan, duration};

/// Longest time that is spent on finding out.
const LONGEST: Duration = Duration::from_secs(2);
/// Most samples that are solved for it.
const MOST: u64 = 200;

/// Solves some samples from all over the study and says what the whole will take.
pub fn estimate(plan: &Plan, args: &SweepArgs, threads: usize, width: usize) -> Result<Answer, Failure> {
    let sweep = &plan.sweep;
    let samples = sweep.samples();
    let mut worker = Worker::new(sweep, &plan.case);
    let (mut tried, mut failed) = (0_u64, 0_u64);
    let start = Instant::now();
    // All over the study, in an order without pattern, so that breaking off early leaves no corner out.
    let place = |number: u64| (number as f64 * 0.618_033_988_749_895).fract();
    let tries: Vec<u64> =
        (0..samples.min(MOST)).map(|number| ((place(number) * samples as f64) as u64).min(samples - 1)).collect();
    // Some at a time, as the sweep itself does.
    for indices in tries.chunks(50) {
        worker.solve_many(indices, |sample, _| failed += u64::from(sample.status != Status::Good));
        tried += indices.len() as u64;
        if start.elapsed() > LONGEST {
            break;
        }
    }
    let each = start.elapsed().as_secs_f64() / tried.max(1) as f64;
    let seconds = each * samples as f64 / threads as f64;
    let fields = worker.field_bytes() * samples;
    let columns = (sweep.outputs.len() + if sweep.is_grid() { 0 } else { sweep.axes.len() }) as u64;
    let results = samples * (1 + 8 * columns) + fields;
    let blocks = results + sweep.blocks() * 500;
    if args.json {
        let object = json!({
            "title": sweep.title,
            "samples": samples,
            "method": sweep.method.name(),
            "samples_tried": tried,
            "tried_without_answer": failed,
            "seconds_per_sample": each,
            "threads": threads,
            "expected_wall_s": seconds,
            "results_bytes_at_most": results,
            "block_bytes": blocks,
            "blocks": sweep.blocks(),
            "samples_per_block": sweep.block_size(),
        });
        let text = serde_json::to_string_pretty(&object).map_err(|error| Failure::Write(error.to_string()))?;
        return Ok(Answer::report(text + "\n"));
    }
    let rows = [
        ("samples", format!("{samples} ({}: {})", sweep.method.name(), axes(plan))),
        (
            "time",
            format!(
                "about {} on {threads} threads: {tried} samples tried, {} a second and thread",
                duration(seconds),
                significant(1.0 / each)
            ),
        ),
        ("without answer", format!("{failed} of the {tried} tried")),
        ("results file", format!("{}.h5, about {} before compression", plan.stem, bytes(results))),
        (
            "meanwhile",
            match sweep.blocks() {
                1 => format!("1 block, {}", bytes(blocks)),
                many => format!("{many} blocks of {} samples, {}", sweep.block_size(), bytes(blocks)),
            },
        ),
    ];
    let mut report = terminal::heading(&terminal::fill(&clean(&sweep.title), width)) + "\n";
    for (name, value) in rows {
        report += &terminal::hanging(&format!("  {name:16}"), &value, width);
    }
    Ok(Answer::report(report + "Nothing was written.\n"))
}

/// The axes and how many values each has.
fn axes(plan: &Plan) -> String {
    let axes = plan.sweep.axes.iter().map(|axis| match plan.sweep.is_grid() {
        true => format!("{} values of {}", axis.list().len(), clean(&axis.variable.path)),
        false => clean(&axis.variable.path),
    });
    axes.collect::<Vec<_>>().join(", ")
}

/// A size in words.
pub(super) fn bytes(bytes: u64) -> String {
    match bytes as f64 {
        b if b < 1e4 => format!("{b:.0} bytes"),
        b if b < 1e7 => format!("{:.0} kB", b / 1e3),
        b if b < 1e10 => format!("{:.0} MB", b / 1e6),
        b => format!("{:.0} GB", b / 1e9),
    }
}
