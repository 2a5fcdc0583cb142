//! The four benchmark problems at 0.01 K by the rule, set-up included: time a solve, and its work.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use quenchway::case::Case;
use quenchway::line::Settings;
use quenchway::march::{march, march_by_rule, march_with};

const PROBLEMS: [(&str, &str); 5] = [
    ("P1", include_str!("../../validation/benchmarks/P1.toml")),
    ("P2", include_str!("../../validation/benchmarks/P2.toml")),
    ("P3", include_str!("../../validation/benchmarks/P3.toml")),
    ("P4", include_str!("../../validation/benchmarks/P4.toml")),
    ("P6", include_str!("../../validation/benchmarks/P6.toml")),
];

fn case(text: &str) -> Case {
    let case = quenchway::file::read(text).expect("the benchmark files are valid cases");
    case.to(0.01).case
}

fn problems(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("rule at 0.01 K");
    for (name, text) in PROBLEMS {
        let case = case(text);
        group.bench_function(name, |bencher| bencher.iter(|| march_by_rule(black_box(&case))));
    }
    group.finish();
    let mut group = criterion.benchmark_group("careful at 0.01 K, with fields");
    for (name, text) in PROBLEMS {
        let case = case(text);
        group.bench_function(name, |bencher| bencher.iter(|| march(black_box(&case))));
    }
    group.finish();
    work();
}

/// Nodes, steps and nanoseconds per node and step, from one timed batch each.
fn work() {
    println!("\n| problem | nodes | steps + rejected | us a solve | ns per node and step |\n|---|---|---|---|---|");
    for (name, text) in PROBLEMS {
        let case = case(text);
        let (_, run) = march_with(&case, &Settings::rule(case.tolerance)).expect("the benchmark problems march");
        let solves = 200;
        let clock = std::time::Instant::now();
        for _ in 0..solves {
            black_box(march_by_rule(black_box(&case))).expect("the benchmark problems march");
        }
        let time = clock.elapsed().as_secs_f64() / f64::from(solves);
        let (nodes, steps) = (run.slice.nodes(), run.steps[0] + run.steps[1]);
        println!(
            "| {name} | {nodes} | {} + {} | {:.0} | {:.0} |",
            run.steps[0],
            run.steps[1],
            time * 1e6,
            time * 1e9 / (nodes * steps) as f64
        );
    }
}

criterion_group!(benches, problems);
criterion_main!(benches);
