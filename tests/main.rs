//! Tests of the whole program, one module a subject.
#![allow(clippy::unwrap_used, missing_docs)]

mod allocation;
#[path = "fuzz/properties.rs"]
mod any_text;
mod around;
mod benchmarks;
mod book;
mod build;
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
mod scalar;
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
mod units;
mod us_units;
mod warnings;
mod water;
mod water_card;

use quenchway_cli::diagnostic; // where any_text looks for it

#[global_allocator]
static ALLOCATOR: allocation::Counting = allocation::Counting;
