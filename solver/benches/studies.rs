//! Studies of the house wire: a rank, and a spread of 256 samples with and without the trough that each needs.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use quenchway::march::march_by_rule;
use quenchway::maths::sample::{Method, Sampler};
use quenchway::study::rank::rank;
use quenchway::study::spread::{Plan, spread};

fn studies(criterion: &mut Criterion) {
    let text = include_str!("../../cases/house-wire.toml");
    let case = quenchway::file::read(text).expect("the house wire is a valid case");
    let mut group = criterion.benchmark_group("house wire");
    group.sample_size(20);
    group.bench_function("one solve by the rule", |bencher| bencher.iter(|| march_by_rule(black_box(&case))));
    group.bench_function("rank", |bencher| bencher.iter(|| rank(black_box(&case))));
    for (name, lengths) in [("spread, 256 samples", false), ("spread, 256 samples, with lengths", true)] {
        let plan = Plan { samples: 256, seed: 1, method: Method::Sobol, indices: false, lengths };
        group.bench_function(name, |bencher| bencher.iter(|| spread(black_box(&case), &plan)));
    }
    for method in Method::ALL {
        let sampler = Sampler::new(method, 1, 1 << 20, 13).expect("a million samples can be laid out");
        let name = format!("13 coordinates of a sample, {}", method.name());
        group.bench_function(name, |bencher| bencher.iter(|| sampler.point(black_box(123_456))));
    }
    group.finish();
}

criterion_group!(benches, studies);
criterion_main!(benches);
