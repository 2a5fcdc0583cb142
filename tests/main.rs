//! Tests of the whole program, one module a subject.
#![allow(clippy::unwrap_used, missing_docs)]
#![allow(clippy::duplicate_mod)] // each fuzz target has the properties

mod allocation;
mod around;
mod benchmarks;
mod book;
mod build;
#[path = "fuzz/targets/case_text.rs"]
#[allow(unused_attributes)] // `no_main` is meant for a program
mod case_text;
mod cases;
mod cli;
mod conductors;
mod converged;
mod definitions;
mod drive;
mod films;
mod fit;
mod fixture;
mod gauges;
mod json_errors;
mod labelled;
mod lanes;
mod layer_limit;
mod length;
mod line_words;
mod map;
mod materials;
mod materials_run;
mod materials_shown;
mod melt_limit;
mod messages;
mod moves;
mod order;
mod packages;
mod page;
mod peers;
mod picture;
mod pictures;
mod printed;
mod properties;
mod quoted;
mod reference;
mod refusals;
mod reports;
mod said;
mod shrink;
mod skins;
mod smoothness;
mod speed;
mod spread;
mod stages;
mod store;
mod sweep;
mod sweep_finished;
mod sweep_join;
mod sweep_killed;
mod sweep_picture;
mod tank;
mod terminal;
mod texts;
mod tolerance;
mod try_out;
#[path = "fuzz/targets/unit_text.rs"]
#[allow(unused_attributes)]
mod unit_text;
mod units;
mod us_units;
mod warnings;
mod water;
mod water_card;

// The targets of `make fuzz`, each a function here: a run of the tests sees when one no longer compiles.
extern crate self as libfuzzer_sys; // stands in for the library of that name, of which the targets use one macro
#[macro_export]
macro_rules! fuzz_target {
    (|$bytes:ident: &[u8]| $property:expr) => {
        pub fn run($bytes: &[u8]) {
            $property
        }
    };
}

#[global_allocator]
static ALLOCATOR: allocation::Counting = allocation::Counting;
