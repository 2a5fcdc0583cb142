//! The program as its user meets it: help, exit status, what goes to which stream, what is written.

use std::fs;
use std::path::Path;
use std::process::Stdio;

use assert_cmd::Command;
use serde_json::{Value, json};

/// A house wire whose core limit is not met; own materials, given films.
const CASE: &str = r#"
title = "2.5 mm² wire"

[line]
speed = "150 m/min"

[[layer]]
name = "conductor"
material = "metal A"
diameter = "1.78 mm"
temperature = "90 degC"

[[layer]]
name = "insulation"
material = "plastic A"
diameter = "3.42 mm"
temperature = "188 degC"
contact = "perfect"

[[section]]
name = "air gap"
medium = "air"
length = "0.4 m"
temperature = "28 degC"
film = "22 W/(m2 K)"

[[section]]
name = "trough"
medium = "water"
length = "18 m"
temperature = "16 degC"
film = "2500 W/(m2 K)"

[[station]]
name = "hot gauge"
after = "air gap"
offset = "-0.2 m"

[[station]]
name = "end"
after = "trough"
surface_max = "45 degC"
core_max = "60 degC"

[material."metal A"]
kind = "metal"
conductivity = "390 W/(m K)"
heat_capacity = "385 J/(kg K)"
density = "8900 kg/m3"

[material."plastic A"]
kind = "plastic"
conductivity = "0.17 W/(m K)"
heat_capacity = "1500 J/(kg K)"
density = [["0 degC", "1400 kg/m3"], ["75 degC", "1374 kg/m3"], ["200 degC", "1290 kg/m3"]]
set_temperature = "80 degC"
"#;

/// A directory with the case in it as `wire.toml`.
fn place(case: &str) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("wire.toml"), case).unwrap();
    dir
}

/// The program, started in a directory.
fn quenchway(dir: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_quenchway"));
    command.current_dir(dir).args(args);
    command
}

/// Exit status, standard output, standard error.
fn outcome(dir: &Path, args: &[&str]) -> (i32, String, String) {
    let output = quenchway(dir, args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn names(dir: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn help_names_every_command_and_shows_examples() {
    let dir = place(CASE);
    let (status, out, err) = outcome(dir.path(), &["--help"]);
    assert_eq!((status, err.as_str()), (0, ""));
    for word in ["run", "check", "films", "schema", "materials", "Examples:", "Exit status", "planning"] {
        assert!(out.contains(word), "{word} in\n{out}");
    }
    let (status, out, _) = outcome(dir.path(), &["run", "--help"]);
    assert_eq!(status, 0);
    for word in ["--out", "--json", "--units", "--enforce", "--overwrite", "--quiet", "Examples:"] {
        assert!(out.contains(word), "{word} in\n{out}");
    }
}

#[test]
fn a_wrong_command_line_is_wrong_input() {
    let dir = place(CASE);
    for args in
        [&["walk"][..], &[], &["run"], &["run", "wire.toml", "--units", "cgs"], &["run", "wire.toml", "--overwrite"]]
    {
        let (status, out, err) = outcome(dir.path(), args);
        assert_eq!((status, out.as_str()), (2, ""), "{args:?}");
        assert!(err.contains("--help"), "{args:?}: {err}");
    }
}

#[test]
fn a_run_prints_its_report_and_writes_nothing() {
    let dir = place(CASE);
    let (status, out, err) = outcome(dir.path(), &["run", "wire.toml"]);
    assert_eq!((status, err.as_str()), (0, ""));
    for word in ["2.5 mm² wire", "NOT MET: core at \"end\"", "limit of 60 degC", "insulation: set through", "kg/h"] {
        assert!(out.contains(word), "{word} in\n{out}");
    }
    assert!(!out.contains('\u{1b}'), "colours in a pipe");
    assert_eq!(names(dir.path()), ["wire.toml"]);
}

#[test]
fn enforce_turns_a_limit_that_is_not_met_into_status_1() {
    let dir = place(CASE);
    assert_eq!(outcome(dir.path(), &["run", "wire.toml", "--enforce", "--quiet"]), (1, String::new(), String::new()));
    let met = place(&CASE.replace("60 degC", "90 degC"));
    let (status, out, _) = outcome(met.path(), &["run", "wire.toml", "--enforce"]);
    assert_eq!(status, 0);
    assert!(out.contains("ALL LIMITS ARE MET"), "{out}");
}

#[test]
fn json_has_the_agreed_keys() {
    let dir = place(CASE);
    let (status, out, err) = outcome(dir.path(), &["run", "wire.toml", "--json"]);
    assert_eq!((status, err.as_str()), (0, ""));
    let run: Value = serde_json::from_str(&out).unwrap();
    let point = [
        "surface_degC",
        "core_degC",
        "mean_degC",
        "hottest_degC",
        "equalised_degC",
        "interfaces",
        "layer_means_degC",
        "layer_hottest_degC",
        "diameter_m",
    ];
    let with = |more: &[&'static str]| [more, &point[..]].concat();
    let keys = |value: &Value, expected: &[&str]| {
        let mut found: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
        let mut expected = expected.to_vec();
        found.sort_unstable();
        expected.sort_unstable();
        assert_eq!(found, expected);
    };
    keys(
        &run,
        &[
            "title",
            "version",
            "program",
            "tolerance_met",
            "case_sha256",
            "stations",
            "sections",
            "equalised_degC",
            "rebound_K",
            "set_through",
            "skins",
            "shrink",
            "throughput",
            "limited_by",
            "diameter_limits",
            "cooling",
            "chiller_duty_W",
            "peclet",
            "band",
            "band_inputs",
            "balance",
            "numerics",
            "warnings",
            "cautions",
        ],
    );
    let station = &run["stations"][1];
    keys(station, &with(&["name", "distance_m", "time_s", "limits"]));
    keys(&station["interfaces"][0], &["inner_layer", "outer_layer", "inner_degC", "outer_degC"]);
    keys(&station["limits"][0], &["name", "limit_degC", "value_degC", "margin_K", "met"]);
    let section = &run["sections"][1];
    keys(
        section,
        &[
            "name",
            "medium",
            "start_m",
            "end_m",
            "exit",
            "heat_W",
            "water_in_degC",
            "water_out_degC",
            "water_flow_kg_s",
            "heat_to_water_W",
            "flow_for_rise_kg_s",
            "film_mean_W_m2K",
            "biot",
            "above_boiling_s",
        ],
    );
    keys(&section["exit"], &point);
    keys(&run["set_through"][0], &["layer", "distance_m"]);
    let skin = [
        "layer",
        "distance_m",
        "melt_shrink_percent",
        "surface_rate_K_per_s",
        "surface_rate_resolved_K_per_s",
        "surface_sets_in",
        "mid_wall_rate_K_per_s",
    ];
    keys(&run["skins"][0], &skin);
    keys(
        &run["shrink"],
        &[
            "hot_gauge_m",
            "cold_gauge_m",
            "finished_m",
            "to_cold_gauge_percent",
            "to_finished_percent",
            "frozen_axial_percent",
            "hot_gauge_station",
            "cold_gauge_station",
        ],
    );
    keys(&run["throughput"][0], &["layer", "kg_per_h"]);
    keys(&run["band"][0], &["station", "quantity", "low_degC", "high_degC", "largest", "changes_K"]);
    keys(&run["band_inputs"][0], &["input", "varied", "low_end", "high_end", "basis"]);
    let (band, core) = (&run["band"][3], &run["stations"][1]["core_degC"]);
    assert_eq!((&band["station"], &band["quantity"]), (&"end".into(), &"core".into()));
    assert!(band["low_degC"].as_f64() < core.as_f64() && core.as_f64() < band["high_degC"].as_f64());
    assert_eq!(band["changes_K"].as_array().map(Vec::len), run["band_inputs"].as_array().map(Vec::len));
    keys(&run["balance"], &["heat_to_media_W", "enthalpy_drop_W", "relative_error"]);
    keys(&run["numerics"], &["cells", "steps", "tolerance_K", "error_K", "boiling_error_s", "wall_s"]);

    assert_eq!(run["title"], "2.5 mm² wire");
    assert_eq!(run["version"], env!("CARGO_PKG_VERSION"));
    assert_eq!((&section["medium"], &section["water_in_degC"]), (&Value::from("water"), &Value::Null));
    assert_eq!(station["limits"][0]["name"], "surface_max");
    let cooling = &run["cooling"];
    let doubled = ["value_degC", "film_doubled_degC", "longer_degC", "doubling_worth", "film_share", "limited_by"];
    let of_cooling: Vec<&str> = cooling.as_object().unwrap().keys().map(String::as_str).collect();
    assert!(doubled.iter().all(|key| of_cooling.contains(key)) && of_cooling.contains(&"temperature"), "{cooling}");
    let words = ["plastic", "mostly_plastic", "both", "film", "neither"];
    assert!(words.contains(&cooling["limited_by"].as_str().unwrap()));
    assert_eq!(run["limited_by"], cooling["limited_by"]);
    assert!(run["numerics"]["wall_s"].as_f64().unwrap() > 0.0);
    assert!(run["cautions"].as_array().unwrap().len() > 4);
    // SHA-256 of the text above by Python's hashlib.
    assert_eq!(run["case_sha256"], "c42e878a19c1ce6a9b0847697bb690ec293b9b23ce22dde49fea058159cbbb24");
    let other = place(&CASE.replace("2.5 mm²", "2.6 mm²"));
    let (_, again, _) = outcome(other.path(), &["run", "wire.toml", "--json"]);
    let again: Value = serde_json::from_str(&again).unwrap();
    assert_ne!(run["case_sha256"], again["case_sha256"]);
    assert_eq!(run["stations"], again["stations"]);
}

#[test]
fn a_run_without_bands_says_nothing_of_them() {
    let dir = place(CASE);
    let (_, with, _) = outcome(dir.path(), &["run", "wire.toml"]);
    assert!(with.contains("How sure") && with.contains("With the uncertainty of the inputs"), "{with}");
    let (_, without, _) = outcome(dir.path(), &["run", "wire.toml", "--no-band"]);
    assert!(!without.contains("How sure") && !without.contains("With the uncertainty"), "{without}");
    let (_, json, _) = outcome(dir.path(), &["run", "wire.toml", "--no-band", "--json"]);
    let run: Value = serde_json::from_str(&json).unwrap();
    assert_eq!((&run["band"], &run["band_inputs"]), (&Value::Array(vec![]), &Value::Array(vec![])));
}

#[test]
fn every_warning_has_kind_message_and_place() {
    let dir = place(&CASE.replace("contact = \"perfect\"\n", ""));
    let (_, out, _) = outcome(dir.path(), &["run", "wire.toml", "--json"]);
    let run: Value = serde_json::from_str(&out).unwrap();
    let warning = &run["warnings"][0];
    assert_eq!((&warning["kind"], &warning["where"]), (&"contact_assumed".into(), &"layer.insulation".into()));
    assert!(warning["message"].as_str().unwrap().contains("perfect contact assumed"));
}

#[test]
fn a_wrong_case_is_status_2_and_writes_nothing() {
    let wrong = CASE.replace("\"18 m\"", "18").replace("\"150 m/min\"", "\"150 mm\"");
    let dir = place(&wrong);
    let (status, out, err) = outcome(dir.path(), &["run", "wire.toml", "--out", "results"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(err.contains("line.speed") && err.contains("section.trough.length"), "both problems in\n{err}");
    assert_eq!(names(dir.path()), ["wire.toml"]);
    let (status, _, err) = outcome(dir.path(), &["run", "no-such.toml"]);
    assert_eq!(status, 2);
    assert!(err.contains("no-such.toml"), "{err}");
}

#[test]
fn out_makes_the_directory_and_writes_numbers_and_pictures() {
    let dir = place(CASE);
    let (status, out, err) = outcome(dir.path(), &["run", "wire.toml", "--out", "results"]);
    assert_eq!(status, 0, "{err}");
    assert!(out.contains("NOT MET"));
    let results = dir.path().join("results");
    let expected = ["wire-diameter.png", "wire-field.png", "wire-profiles.png", "wire-temperature.png", "wire.h5"]
        .map(String::from);
    assert_eq!(names(&results), expected);
    for name in &expected {
        assert!(err.contains(&format!("wrote results/{name}")), "{err}");
    }
    // Ours may be replaced; a quiet run says nothing.
    let again = outcome(dir.path(), &["run", "wire.toml", "--out", "results", "--quiet"]);
    assert_eq!(again, (0, String::new(), String::new()));
    assert_eq!(names(&results), expected);
}

#[test]
fn a_file_of_somebody_else_is_replaced_only_when_asked_to() {
    for name in ["wire.h5", "wire-field.png"] {
        let dir = place(CASE);
        fs::create_dir(dir.path().join("results")).unwrap();
        let foreign = dir.path().join("results").join(name);
        fs::write(&foreign, "precious").unwrap();
        let (status, out, err) = outcome(dir.path(), &["run", "wire.toml", "--out", "results"]);
        assert_eq!((status, out.as_str()), (2, ""), "{name}");
        assert!(err.contains(name) && err.contains("--overwrite"), "{err}");
        assert_eq!(fs::read_to_string(&foreign).unwrap(), "precious");
        assert_eq!(names(&dir.path().join("results")), [name], "nothing else is written");
        let (status, _, _) = outcome(dir.path(), &["run", "wire.toml", "--out", "results", "--overwrite"]);
        assert_eq!(status, 0);
        assert_ne!(fs::read(&foreign).unwrap(), b"precious");
    }
}

/// As a viewer does that has it open to write.
#[test]
fn a_results_file_that_another_program_holds_is_not_said_to_be_somebody_elses() {
    let dir = place(CASE);
    let run = |flags: &[&str]| {
        let arguments = [&["run", "wire.toml", "--out", "results", "--quiet"], flags].concat();
        let output = quenchway(dir.path(), &arguments).env("HDF5_USE_FILE_LOCKING", "TRUE").output().unwrap();
        (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
    };
    assert_eq!(run(&[]), (0, String::new()));
    let held = fs::File::options().read(true).write(true).open(dir.path().join("results/wire.h5")).unwrap();
    held.lock().unwrap();
    let (status, err) = run(&[]);
    assert_eq!(status, 2, "{err}");
    assert!(
        err.contains("wire.h5 exists, and another program holds it open") && err.contains("close it there"),
        "{err}"
    );
    assert!(!err.contains("was not written by"), "{err}");
    assert_eq!(run(&["--overwrite"]), (0, String::new()));
    held.unlock().unwrap();
    assert_eq!(run(&[]), (0, String::new()));
}

#[test]
fn a_directory_that_cannot_be_made_is_said_before_anything_is_computed() {
    let dir = place(CASE);
    // A file stands in its way.
    let (status, out, err) = outcome(dir.path(), &["run", "wire.toml", "--out", "wire.toml/such/place"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(err.contains("cannot make") && err.contains("nothing was computed"), "{err}");
    assert!(err.contains("it is not a directory") && !err.contains("os error"), "{err}");
    let (status, _, err) = outcome(dir.path(), &["run", "wire.toml", "--out", "wire.toml"]);
    assert_eq!(status, 2, "a file is no directory: {err}");
}

#[test]
fn us_units_change_the_report_and_not_the_json() {
    let dir = place(CASE);
    let (_, out, _) = outcome(dir.path(), &["run", "wire.toml", "--units", "us"]);
    for word in ["492 ft/min", "limit of 140 degF", "lb/h", "0.13", "BTU/h", "at 73.4 degF"] {
        assert!(out.contains(word), "{word} in\n{out}");
    }
    let report = out.split("Cautions").next().unwrap();
    for word in ["degC", " mm\n", "kg/h", "m/min,", "kW"] {
        assert!(!report.contains(word), "{word} in\n{report}");
    }
    let wall = |text: &str| -> Value {
        let mut run: Value = serde_json::from_str(text).unwrap();
        run["numerics"]["wall_s"] = Value::Null;
        run
    };
    let (_, us, _) = outcome(dir.path(), &["run", "wire.toml", "--units", "us", "--json"]);
    let (_, si, _) = outcome(dir.path(), &["run", "wire.toml", "--json"]);
    assert_eq!(wall(&us), wall(&si));
}

#[test]
fn colours_are_for_those_who_want_them() {
    let dir = place(CASE);
    let out = |key: &str| {
        let output = quenchway(dir.path(), &["run", "wire.toml"]).env(key, "1").output().unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    assert!(out("CLICOLOR_FORCE").contains("\u{1b}["), "forced colours are missing");
    assert!(!out("NO_COLOR").contains('\u{1b}'));
}

#[test]
fn a_reader_that_leaves_early_is_no_error() {
    let dir = place(CASE);
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_quenchway"))
        .current_dir(dir.path())
        .args(["run", "wire.toml"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(0), ""));
}

#[test]
fn check_writes_the_case_out_and_schema_is_json() {
    let dir = place(CASE);
    let (status, out, _) = outcome(dir.path(), &["check", "wire.toml"]);
    assert_eq!(status, 0);
    assert!(out.contains("no problems found") && out.contains("[material.\"plastic A\"]"), "{out}");
    let (status, _, err) = outcome(dir.path(), &["check", "no-such.toml"]);
    assert_eq!(status, 2, "{err}");
    let (status, out, _) = outcome(dir.path(), &["schema"]);
    assert_eq!(status, 0);
    let schema: Value = serde_json::from_str(&out).unwrap();
    assert!(schema["properties"]["line"].is_object());
}

#[test]
fn materials_lists_the_library_and_knows_no_other() {
    let dir = place(CASE);
    let (status, out, _) = outcome(dir.path(), &["materials"]);
    assert_eq!(status, 0);
    for name in quenchway::file::library::names() {
        assert!(out.contains(name), "{name} in\n{out}");
        assert_eq!(outcome(dir.path(), &["materials", name]).0, 0, "{name}");
    }
    let (status, out, err) = outcome(dir.path(), &["materials", "unobtainium"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(err.contains("unobtainium") && err.contains("copper"), "{err}");
}

#[test]
fn films_lists_every_law_and_knows_no_other() {
    let dir = place(CASE);
    let (status, out, err) = outcome(dir.path(), &["films"]);
    assert_eq!((status, err.as_str()), (0, ""));
    for law in quenchway::film::laws() {
        assert!(out.contains(law.name), "{} in\n{out}", law.name);
        let (status, one, _) = outcome(dir.path(), &["films", law.name]);
        assert!(status == 0 && one.contains("Worked examples") && one.contains("doubt:"), "{one}");
    }
    assert!(
        out.contains("from memory, not checked") && out.contains("here outside: spray Reynolds number 15"),
        "{out}"
    );
    let (status, out, err) = outcome(dir.path(), &["films", "cros-air"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(err.contains("did you mean cross-air?") && err.contains("still-water"), "{err}");
    for args in [["films", "--speed", "150"], ["films", "--speed", "0 m/s"], ["films", "--water", "120 degC"]] {
        let (status, out, err) = outcome(dir.path(), &args);
        assert_eq!((status, out.as_str()), (2, ""), "{args:?}");
        assert!(err.contains("m/min") || err.contains("100 degC"), "{err}");
    }
}

#[test]
fn films_answers_for_the_conditions_asked_for() {
    let dir = place(CASE);
    let args = ["films", "cross-air", "--velocity", "2 m/s", "--surface", "150 degC", "--json"];
    let (status, out, _) = outcome(dir.path(), &args);
    assert_eq!(status, 0);
    let found: Value = serde_json::from_str(&out).unwrap();
    let law = &found["laws"][0];
    // The worked example of the law: 3 mm and air at 25 degC are the defaults.
    assert!((law["film_W_m2K"].as_f64().unwrap() / 86.0948 - 1.0).abs() < 3e-5, "{law}");
    assert_eq!((&law["name"], &law["medium"], &law["status"]), (&json!("cross-air"), &json!("air"), &json!("read")));
    assert_eq!((&law["takes"], &law["from_memory"], &law["outside"]), (&json!(["velocity"]), &Value::Null, &json!([])));
    let args = ["films", "--json", "--speed", "2000 m/min", "--distance", "60 m"];
    let found: Value = serde_json::from_str(&outcome(dir.path(), &args).1).unwrap();
    let laws = found["laws"].as_array().unwrap();
    assert_eq!(laws.len(), quenchway::film::laws().len());
    let air = laws.iter().find(|law| law["name"] == "moving-air").unwrap();
    // 60 m are 40,000 radii of the 3 mm, the law was looked at up to 30,000.
    assert_eq!(air["outside"].as_array().unwrap().len(), 1);
    assert_eq!((&air["outside"][0]["value"], &air["outside"][0]["high"]), (&json!(4e4), &json!(3e4)));
}

#[test]
fn films_draws_a_picture_and_replaces_no_other() {
    let dir = place(CASE);
    for _ in 0..2 {
        assert_eq!(outcome(dir.path(), &["films", "--picture", "films.png"]).0, 0);
    }
    assert!(fs::read(dir.path().join("films.png")).unwrap().starts_with(b"\x89PNG"));
    let (status, out, err) = outcome(dir.path(), &["films", "--picture", "wire.toml"]);
    assert_eq!((status, out.as_str()), (1, ""));
    assert!(err.contains("wire.toml"), "{err}");
    assert_eq!(fs::read_to_string(dir.path().join("wire.toml")).unwrap(), CASE);
}

/// Half of a minute: `make test-all` runs it. Its pages are computed in the tests of the validation package, and what the command
/// makes of them is tested beside it (cli/src/commands/verify.rs).
#[test]
#[ignore = "computes anew what the validation package's tests compute"]
fn verify_passes_on_this_machine() {
    let dir = place(CASE);
    let (status, out, err) = outcome(dir.path(), &["verify"]);
    assert_eq!((status, err.as_str()), (0, ""), "{out}");
    assert!(out.contains("comparisons agree within their bounds"), "{out}");
    for part in ["check", "expected", "computed", "error", "bound", "pass", "NAFEMS", "Carslaw"] {
        assert!(out.contains(part), "{part} in\n{out}");
    }
}

#[test]
fn converge_shows_levels_and_orders() {
    let dir = place(CASE);
    let (status, out, _) = outcome(dir.path(), &["converge", "wire.toml"]);
    assert_eq!(status, 0, "{out}");
    for part in ["intervals", "order", "extrapolated", "Largest grid convergence index", "Roache"] {
        assert!(out.contains(part), "{part} in\n{out}");
    }
    assert_eq!(outcome(dir.path(), &["converge", "no-such.toml"]).0, 2);
}
