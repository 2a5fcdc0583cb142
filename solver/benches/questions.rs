//! The design questions on the house wire at 0.01 K: needed length and fastest speed, alone and with their ranges.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use quenchway::study::length::{needed, needed_as, needed_near};
use quenchway::study::search::confirm::Asked;
use quenchway::study::speed::{top_speed, top_speed_as};

const RANGE: Asked = Asked { range: true, print: None };
const HOUSE_WIRE: &str = include_str!("../../cases/house-wire.toml");

fn questions(criterion: &mut Criterion) {
    let case = quenchway::file::read(HOUSE_WIRE).expect("the case is valid");
    let near = needed(&case).expect("the house wire has a needed length").length;
    let mut group = criterion.benchmark_group("house wire");
    group.sample_size(20);
    group.bench_function("length", |bencher| bencher.iter(|| needed(black_box(&case))));
    group.bench_function("length from a neighbour", |bencher| {
        bencher.iter(|| needed_near(black_box(&case), 1.05 * near))
    });
    group.bench_function("length with its range", |bencher| bencher.iter(|| needed_as(black_box(&case), RANGE)));
    group.bench_function("speed", |bencher| bencher.iter(|| top_speed(black_box(&case))));
    group.bench_function("speed with its range", |bencher| bencher.iter(|| top_speed_as(black_box(&case), RANGE)));
    group.finish();
}

criterion_group!(benches, questions);
criterion_main!(benches);
