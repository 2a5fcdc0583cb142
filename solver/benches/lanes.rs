//! Batches of cases like the benchmark problems at 0.01 K by the rule, set-up included, on one thread: cases a second on
//! every path that this processor has, and one solve through lanes of which seven stay empty.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use quenchway::case::{Case, DieTemperature};
use quenchway::engine::Path;
use quenchway::march::batch::{Batch, on_one_thread};
use quenchway::march::output::{self, Output};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

const PROBLEMS: [(&str, &str); 5] = [
    ("P1", include_str!("../../validation/benchmarks/P1.toml")),
    ("P2", include_str!("../../validation/benchmarks/P2.toml")),
    ("P3", include_str!("../../validation/benchmarks/P3.toml")),
    ("P4", include_str!("../../validation/benchmarks/P4.toml")),
    ("P6", include_str!("../../validation/benchmarks/P6.toml")),
];

/// Cases about one of the problems, as a spread draws them: speed, films, die temperature, conductivity, heat capacity.
fn about(text: &str, count: usize) -> Vec<Case> {
    let case = quenchway::file::read(text).expect("the benchmark files are valid cases");
    let base = case.to(0.01).case;
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let mut near = |width: f64| 1.0 + width * (2.0 * random.random::<f64>() - 1.0);
    let mut cases = vec![base; count];
    for case in &mut cases {
        case.line_speed *= near(0.1);
        for section in &mut case.sections {
            section.film_factor = near(0.2);
        }
        let outer = case.layers.len() - 1;
        let layer = &mut case.layers[outer];
        layer.conductivity_factor = near(0.1);
        layer.heat_capacity_factor = near(0.1);
        if let DieTemperature::Fixed(temperature) = &mut layer.temperature {
            temperature.0 *= near(0.01);
        }
    }
    cases
}

/// Surface and core at every station and the heat of every section: what is known of the benchmark problems.
fn outputs(case: &Case) -> Vec<Output> {
    let known = |output: &Output| [".surface", ".core", ".heat"].iter().any(|end| output.name.ends_with(end));
    output::all(case).into_iter().filter(known).collect()
}

fn lanes(criterion: &mut Criterion) {
    let paths = [Path::Avx512, Path::Avx2, Path::Single];
    for (name, text) in PROBLEMS {
        let cases = about(text, 512);
        let outputs = outputs(&cases[0]);
        let mut group = criterion.benchmark_group(format!("{name} at 0.01 K"));
        for path in paths.into_iter().filter(|path| path.runs_here()) {
            // One at a time a batch of so many takes a tenth of a second and more.
            let count = if path == Path::Single { 32 } else { cases.len() };
            let settings = Batch { path, ..Batch::default() };
            group.throughput(Throughput::Elements(count as u64)).sample_size(20);
            group.bench_function(path.name(), |bencher| {
                bencher.iter(|| on_one_thread(black_box(&cases[..count]), &outputs, settings));
            });
        }
        group.throughput(Throughput::Elements(1));
        group.bench_function("one case in eight lanes", |bencher| {
            bencher.iter(|| on_one_thread(black_box(&cases[..1]), &outputs, Batch::default()));
        });
        group.finish();
    }
    table();
}

/// Cases a second of processor time, the best of three batches: what a shared machine leaves of criterion's wall times.
fn table() {
    println!("\n| cases like | AVX-512 | AVX2 | one at a time |\n|---|---|---|---|");
    for (name, text) in PROBLEMS {
        let cases = about(text, 8192);
        let outputs = outputs(&cases[0]);
        let rate = |path: Path| {
            let count = match (path, name) {
                (Path::Single, "P4" | "P6") => 256,
                (Path::Single, _) | (_, "P4" | "P6") => 1024,
                _ => cases.len(),
            };
            let settings = Batch { path, ..Batch::default() };
            let once = || {
                let start = processor_time();
                black_box(on_one_thread(black_box(&cases[..count]), &outputs, settings));
                processor_time() - start
            };
            let best = (0..3).map(|_| once()).fold(f64::INFINITY, f64::min);
            if path.runs_here() { format!("{:.0}", count as f64 / best) } else { String::new() }
        };
        let rates = [Path::Avx512, Path::Avx2, Path::Single].map(rate);
        println!("| {name} | {} |", rates.join(" | "));
    }
}

/// Processor time of this thread, s (Linux; elsewhere the clock's).
fn processor_time() -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(
        || std::time::SystemTime::UNIX_EPOCH.elapsed().map_or(0.0, |since| since.as_secs_f64()),
        |nanoseconds| nanoseconds * 1e-9,
    )
}

criterion_group!(benches, lanes);
criterion_main!(benches);
