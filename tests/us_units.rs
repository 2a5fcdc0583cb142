//! A case that says its units: every command follows it, `--units` comes before it, and the numbers stay the same.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use clap::CommandFactory;
use quenchway::units::System;
use quenchway_cli::args::Args;
use serde_json::Value;

/// The house wire with a line of its own for the units and gauges as they are spelt where inches are read.
fn place(units: &str) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../cases/house-wire.toml");
    let text = fs::read_to_string(path).unwrap().replace("hot gauge", "Hot Gage").replace("trough exit", "cold gage");
    assert!(text.contains("Hot Gage"));
    fs::write(dir.path().join("wire.toml"), format!("{units}\n{text}")).unwrap();
    let study =
        "case = \"wire.toml\"\noutputs = [\"capstan.core\"]\n[vary]\n\"line.speed\" = [\"140 m/min\", \"160 m/min\"]\n";
    fs::write(dir.path().join("study.toml"), study).unwrap();
    dir
}

fn said(dir: &Path, args: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_quenchway")).current_dir(dir).args(args).output().unwrap();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{args:?}: {errors}");
    String::from_utf8(output.stdout).unwrap()
}

/// The numbers with their units: what is read before the texts that quote their sources.
fn numbers(report: &str) -> &str {
    report.split("Warnings\n").next().unwrap().split("Cautions\n").next().unwrap()
}

#[test]
fn every_command_follows_the_case_and_the_flag_comes_first() {
    let (us, si) = (place("units = \"us\""), place(""));
    for args in [
        &["run", "wire.toml"][..],
        &["check", "wire.toml"],
        &["converge", "wire.toml"],
        &["gauges", "wire.toml"],
        &["water", "wire.toml", "--points", "2"],
        &["length", "wire.toml", "--no-band"],
        &["speed", "wire.toml", "--no-band"],
        &[
            "map",
            "wire.toml",
            "--points",
            "2",
            "--x=line.speed=120 m/min..160 m/min",
            "--y=section.trough.length=12 m..18 m",
        ],
        &["sweep", "study.toml", "--out", "out"],
    ] {
        let report = said(us.path(), args);
        let asked = said(si.path(), &[args, &["--units", "us"]].concat());
        let numbers = numbers(&report);
        assert!(numbers.contains("degF") && !numbers.contains("degC"), "{args:?}:\n{report}");
        assert!(!report.contains("delta deg"), "{args:?}:\n{report}");
        let bare = |word: &str| word.trim_matches(|c: char| !c.is_alphanumeric()) == "K";
        assert!(!numbers.split_whitespace().any(bare), "kelvins in {args:?}:\n{report}");
        let words = |text: &str| text.split_whitespace().filter(|word| word.ends_with("degF")).count();
        assert_eq!(words(&report), words(&asked), "{args:?}:\n{report}\n{asked}");
    }
    let report = said(us.path(), &["run", "wire.toml", "--no-band", "--units", "si"]);
    let numbers = numbers(&report);
    assert!(numbers.contains("degC") && !numbers.contains("degF"), "{report}");
}

#[test]
fn no_command_decides_for_the_case() {
    let mut asked = 0;
    for command in Args::command().get_subcommands() {
        for flag in command.get_arguments().filter(|flag| flag.get_id() == "units") {
            asked += 1;
            assert!(flag.get_default_values().is_empty(), "{}", command.get_name());
        }
    }
    assert!(asked >= 12, "{asked} commands take --units");
}

#[test]
fn rises_are_round_and_differences_have_the_plain_unit() {
    let dir = place("units = \"us\"");
    let run = said(dir.path(), &["run", "wire.toml"]);
    for words in ["flow for 2 degF", "flow for 5 degF", "flow for 10 degF"] {
        assert!(run.split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{words} in\n{run}");
    }
    let water = said(dir.path(), &["water", "wire.toml", "--points", "2"]);
    assert!(["flow, 2 degF", "flow, 5 degF", "flow, 10 degF"].iter().all(|words| water.contains(words)), "{water}");
    // The flow for 10 degF takes the heat with 10/1.8 K.
    let json: Value = serde_json::from_str(&said(dir.path(), &["run", "wire.toml", "--json"])).unwrap();
    let section =
        json["sections"].as_array().unwrap().iter().find(|s| s["heat_to_water_W"].as_f64() > Some(0.0)).unwrap();
    let for_one = section["flow_for_rise_kg_s"]["1_K"].as_f64().unwrap();
    let supply = section["water_in_degC"].as_f64().unwrap_or(16.0);
    let gpm = for_one / (10.0 / 1.8) / quenchway::material::water::at(supply).density / 3.785411784e-3 * 60.0;
    assert!(run.contains(&format!(" {gpm:.1}\n")), "{gpm} in\n{run}");
}

#[test]
fn a_gage_is_a_gauge_and_what_is_computed_is_the_same() {
    let answer = |units: &str| -> Value {
        let dir = place(units);
        let mut json: Value =
            serde_json::from_str(&said(dir.path(), &["run", "wire.toml", "--no-band", "--json"])).unwrap();
        json["case_sha256"].take();
        json["numerics"]["wall_s"].take();
        json
    };
    let us = answer("units = \"us\"");
    assert_eq!(us["shrink"]["hot_gauge_station"], "Hot Gage");
    assert_eq!(us["shrink"]["cold_gauge_station"], "cold gage");
    assert_eq!(us, answer("units = \"si\""));
    assert_eq!(us, answer(""));
}

#[test]
fn the_units_come_back_from_the_case_that_is_written_out() {
    for (units, system) in [("units = \"us\"", System::Us), ("units = \"si\"", System::Si), ("", System::Si)] {
        let text = fs::read_to_string(place(units).path().join("wire.toml")).unwrap();
        let case = quenchway::file::read(&text).unwrap();
        let again = quenchway::file::read(&quenchway::file::resolved::resolved(&case)).unwrap();
        assert_eq!((case.units, again.units), (system, system));
    }
}
