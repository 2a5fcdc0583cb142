//! What `--json` prints when there is no answer: one object that says what and where, with the same exit status.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

const HOUSE_WIRE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../cases/house-wire.toml");

fn outcome(dir: &Path, args: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_quenchway")).current_dir(dir).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// The object, after the same command without `--json` was seen to end in the same way and with the same words.
fn error(dir: &Path, args: &[&str]) -> Value {
    let plain = outcome(dir, args);
    let with_json = outcome(dir, &[args, &["--json"]].concat());
    assert_eq!((plain.0, plain.1.as_str()), (with_json.0, ""), "{args:?}");
    // What follows on a wrong command line repeats its flags.
    assert_eq!(plain.2.split("\n\nUsage").next(), with_json.2.split("\n\nUsage").next(), "{args:?}");
    let told: Value =
        serde_json::from_str(&with_json.1).unwrap_or_else(|error| panic!("{args:?}: {error}: {with_json:?}"));
    assert_eq!(told["status"], with_json.0, "{args:?}");
    let fields: Vec<&String> = told["error"].as_object().unwrap().keys().collect();
    for field in ["kind", "message", "file", "line", "column", "key", "help"] {
        assert!(fields.iter().any(|known| *known == field), "{args:?}: {told}");
    }
    let message = told["error"]["message"].as_str().unwrap();
    assert!(!message.is_empty() && !message.contains('\u{1b}') && !message.starts_with("error"), "{told}");
    told["error"].clone()
}

#[test]
fn every_kind_of_failure_is_an_object() {
    let place = tempfile::tempdir().unwrap();
    let dir = place.path();
    let house_wire = fs::read_to_string(HOUSE_WIRE).unwrap();
    let write = |name: &str, text: &str| fs::write(dir.join(name), text).unwrap();
    write("bad.toml", &house_wire.replace("speed = \"150 m/min\"", "speed = 150"));
    write("boils.toml", &house_wire.replace("medium = \"water\"", "medium = \"water\"\nflow = \"0.05 L/min\""));
    write("file", "taken");
    write("study.toml", "case = \"bad.toml\"\noutputs = [\"capstan.core\"]\n");
    write("trial.csv", "line.speed [m/min],capstan.surface [degC]\n150,warm\n");
    let staged = |module: &str| {
        let vary = "aim = \"shortest\"\nvary.\"section.trough.length\" = [\"4 m\", \"5 m\"]\n";
        format!("{house_wire}\n[plant]\nmodule = \"{module}\"\n[stages]\n{vary}")
    };
    write("modules.toml", &staged("3 m"));
    write("dry.toml", &house_wire.replace("medium = \"water\"", "medium = \"air\""));
    for (kind, status, args) in [
        ("file", 2, &["run", "missing.toml"][..]),
        ("file", 2, &["spread", "missing.toml"]),
        ("input", 2, &["run", "bad.toml"]),
        ("input", 2, &["check", "bad.toml"]),
        ("input", 2, &["converge", "bad.toml"]),
        ("input", 2, &["length", "bad.toml"]),
        ("input", 2, &["sweep", "study.toml", "--out", "out"]),
        ("input", 2, &["join", "study.toml", "--out", "out"]),
        ("input", 2, &["fit", HOUSE_WIRE, "--data", "trial.csv"]),
        ("input", 2, &["stages", HOUSE_WIRE]),
        ("input", 2, &["stages", "modules.toml"]),
        ("input", 2, &["drive", HOUSE_WIRE]),
        ("flag", 2, &["length", HOUSE_WIRE, "--adjust", "nowhere"]),
        ("name", 2, &["films", "magic"]),
        ("output", 2, &["run", HOUSE_WIRE, "--out", "file"]),
        ("no_answer", 1, &["water", "dry.toml"]),
        ("no_solution", 1, &["run", "boils.toml"]),
        ("usage", 2, &["run", HOUSE_WIRE, "--colour"]),
        ("usage", 2, &["speed", HOUSE_WIRE, "--turn", "0.8"]),
        ("usage", 2, &["run"]),
        ("usage", 2, &["walk", HOUSE_WIRE]),
    ] {
        let told = error(dir, args);
        assert_eq!(told["kind"], kind, "{args:?}: {told}");
        assert_eq!(outcome(dir, args).0, status, "{args:?}");
    }
}

#[test]
fn a_wrong_case_says_where() {
    let place = tempfile::tempdir().unwrap();
    let text = "[line]\nspeed = 150\nspeeed = \"1 m/min\"\n";
    fs::write(place.path().join("bad.toml"), text).unwrap();
    let told = error(place.path(), &["run", "bad.toml"]);
    assert_eq!((&told["file"], &told["line"], &told["column"]), (&"bad.toml".into(), &2.into(), &9.into()));
    assert_eq!(told["key"], "line.speed");
    assert!(told["help"].as_str().unwrap().contains("speed = \"150 m/min\""), "{told}");
    let problems = told["problems"].as_array().unwrap();
    assert!(problems.len() > 2, "{told}");
    for (name, value) in problems[0].as_object().unwrap() {
        assert_eq!(told[name], *value, "the first stands at the top");
    }
    // What is missing from the whole file stands nowhere.
    assert!(problems.iter().any(|problem| problem["line"].is_null()));
}

/// A case that is right in itself and lacks what a question needs: the file and the key are known, a place is not.
#[test]
fn what_a_question_misses_in_a_case_has_its_file_and_key() {
    let place = tempfile::tempdir().unwrap();
    fs::copy(HOUSE_WIRE, place.path().join("wire.toml")).unwrap();
    for (command, key, words) in [("stages", "stages", "no [stages]"), ("drive", "line.change", "runs at one speed")] {
        let told = error(place.path(), &[command, "wire.toml"]);
        assert_eq!((&told["file"], &told["key"], &told["line"]), (&"wire.toml".into(), &key.into(), &Value::Null));
        assert!(told["message"].as_str().unwrap().contains(words), "{told}");
        assert_eq!(told["problems"].as_array().map(Vec::len), Some(1), "{told}");
    }
}

/// What is asked wrongly of a line in time: the flag is named, or the file and its key.
#[test]
fn what_a_line_in_time_is_asked_wrongly_has_its_flag_or_its_file_and_key() {
    let place = tempfile::tempdir().unwrap();
    let case = |name: &str| fs::read_to_string(Path::new(HOUSE_WIRE).with_file_name("drive").join(name)).unwrap();
    let reel = case("house-wire-reel-change.toml");
    for (name, text) in [
        ("stop.toml", case("house-wire-stop.toml")),
        ("reel.toml", reel.clone()),
        // All that the reserve leaves.
        ("full.toml", reel.replace("content = \"10 m\"", "content = \"95 m\"")),
    ] {
        fs::write(place.path().join(name), text).unwrap();
    }
    for (args, kind, file, key, words) in [
        (&["stop", "stop.toml", "--slow-to", "150 m/min"][..], "flag", None, "--slow-to", "not below its own"),
        (&["ramp", "stop.toml", "--from", "150 m/min"], "flag", None, "--from, --to", "both speeds are the same"),
        (&["reel", "reel.toml", "--accumulator", "nowhere"], "flag", None, "--accumulator", "known: \"exit\""),
        (&["reel", "stop.toml"], "input", Some("stop.toml"), "reel_change", "give --standstill"),
        (&["reel", "full.toml"], "input", Some("full.toml"), "accumulator.exit.content", "leave it no room"),
    ] {
        let told = error(place.path(), args);
        assert_eq!((&told["kind"], &told["key"]), (&kind.into(), &key.into()), "{args:?}: {told}");
        assert_eq!((&told["file"], &told["line"]), (&file.into(), &Value::Null), "{args:?}: {told}");
        assert!(told["message"].as_str().unwrap().contains(words), "{args:?}: {told}");
        assert_eq!(outcome(place.path(), args).0, 2, "{args:?}");
    }
}

#[test]
fn an_answer_is_no_error() {
    let place = tempfile::tempdir().unwrap();
    for args in [&["check", HOUSE_WIRE, "--json"][..], &["run", HOUSE_WIRE, "--no-band", "--enforce", "--json"]] {
        let (status, out, _) = outcome(place.path(), args);
        let told: Value = serde_json::from_str(&out).unwrap();
        assert!(told["error"].is_null() && told["title"].is_string() && status < 2, "{args:?}: {told}");
    }
    let (_, out, _) = outcome(place.path(), &["run", "--json", "--help"]);
    assert!(out.contains("Usage:"), "{out}");
}
