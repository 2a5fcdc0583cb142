//! `quenchway stages` as its user meets it: report, JSON, results file, pictures, refusals; a setting point by the rate.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;

fn case(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../cases/{name}.toml"))
}

/// The house wire with a question.
pub fn wire(place: &Path, name: &str, question: &str) -> PathBuf {
    let path = place.join(name).with_extension("toml");
    fs::write(&path, fs::read_to_string(case("house-wire")).unwrap() + question).unwrap();
    path
}

/// Exit status, report, notes.
fn stages(directory: &Path, case: &Path, more: &[&str]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("quenchway").unwrap();
    let output = command.current_dir(directory).arg("stages").arg(case).args(more).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

fn flat(report: &str) -> String {
    report.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// Speed and preheat of the house wire.
pub const TWO: &str = "\n[stages]\naim = \"fastest\"\nmargin = \"5 K\"\n[stages.vary]\nline.speed = [\"50 m/min\", \"300 m/min\"]\n\
                   layer.conductor.temperature = [\"40 degC\", \"150 degC\"]\n";

#[test]
fn the_answer_in_every_form() {
    let place = tempfile::tempdir().unwrap();
    let path = wire(place.path(), "two", TWO);
    let (status, report, notes) = stages(place.path(), &path, &["--out", "out", "--check", "grid"]);
    assert_eq!(status, 0, "{notes}");
    let words = flat(&report);
    for part in [
        "FASTEST SPEED WITHIN THE BOUNDS: ",
        " m/min (150.0 m/min today). \"conductor\" at the die: 40.0 degC instead of 90 degC.",
        "One thing holds it: core at \"capstan\" (55.0 degC of 60.0 degC, 5.0 K kept).",
        "Today's line does not meet every limit: core at \"capstan\" is 61.9 degC where 55.0 degC are allowed.",
        "\"conductor\" at the die lies on its bound: 40 degC is the lowest value that the case allows.",
        "Today and the best",
        "What one step of each number does",
        "left to set of \"insulation\" at the end",
        "What the aim costs",
        "places over the bounds and about the answer. The best of them is",
        "nip points",
    ] {
        assert!(words.contains(part), "{part}\n{report}");
    }
    let (_, stdout, _) = stages(place.path(), &path, &["--json"]);
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let answer = &json["stages"];
    assert_eq!((&answer["aim"], &answer["unit"]), (&Value::from("fastest"), &Value::from("m s-1")));
    let speed = number(&answer["after"]["numbers"]["line.speed"]);
    assert_eq!(number(&answer["after"]["aim"]), speed);
    assert_eq!(answer["binding"], serde_json::json!(["capstan.core"]));
    assert_eq!(answer["on_bound"][0]["bound"], "low");
    for setting in ["before", "after"] {
        assert_eq!(answer[setting]["left_to_set"], serde_json::json!([{ "layer": "insulation", "percent": 0.0 }]));
        assert!(answer[setting]["set_through"][0]["distance_m"].is_number());
    }
    assert!(number(&answer["unfavourable"]) < speed && answer["checked"].is_null());
    // The rest is what `run` says of the line as it is printed.
    let printed = answer["after"]["printed"]["line.speed"].as_str().unwrap();
    let text = fs::read_to_string(&path).unwrap();
    let text = text.replacen("speed = \"150 m/min\"", &format!("speed = \"{printed}\""), 1);
    let text = text.replacen("temperature = \"90 degC\"", "temperature = \"40.0 degC\"", 1);
    let again = place.path().join("again.toml");
    fs::write(&again, text).unwrap();
    let run = Command::cargo_bin("quenchway").unwrap().arg("run").arg(&again).arg("--json").arg("--no-band").output();
    let run: Value = serde_json::from_slice(&run.unwrap().stdout).unwrap();
    assert_eq!(run["stations"][2]["core_degC"], json["stations"][2]["core_degC"]);
    assert!(number(&run["stations"][2]["core_degC"]) <= 55.0);
    let file = hdf5_metno::File::open(place.path().join("out/two-stages.h5")).unwrap();
    let read = |name: &str| file.dataset(name).unwrap().read_raw::<f64>().unwrap();
    assert_eq!(read("after"), [speed, 40.0]);
    let front = answer["front"]["points"].as_array().unwrap();
    let aims: Vec<f64> = front.iter().map(|point| number(&point["aim"])).collect();
    // To the last digit, which the reader of JSON here may miss: by the text.
    let mut text = stdout.split_once("\"front\"").unwrap().1;
    for aim in read("front_aim") {
        text = text.split_once(&format!("\"aim\": {aim}")).unwrap_or_else(|| panic!("{aim} in {aims:?}")).1;
    }
    assert!(
        aims.len() > 6 && read("front_aim").len() == aims.len() && read("front_number").len() == 2 * aims.len(),
        "{aims:?}"
    );
    // The lower the limit, the slower the line.
    assert!(aims.windows(2).all(|pair| pair[1] <= pair[0] * 1.001), "{aims:?}");
    for picture in ["two-stages.png", "two-stages-front.png"] {
        assert!(place.path().join("out").join(picture).is_file(), "{picture}");
    }
}

#[test]
fn an_answer_in_us_units_is_round_in_them() {
    let place = tempfile::tempdir().unwrap();
    let path = wire(place.path(), "us", TWO);
    let (status, report, _) = stages(place.path(), &path, &["--units", "us", "--no-band"]);
    let words = flat(&report);
    assert!(
        status == 0
            && words.contains(" ft/min (492.1 ft/min today)")
            && words.contains("104.0 degF instead of 194 degF"),
        "{report}"
    );
    assert!(!words.contains("allows for the uncertainty of the inputs"), "{report}");
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1, "nothing is written without being asked for");
}

#[test]
fn questions_without_an_answer_leave_nothing() {
    let place = tempfile::tempdir().unwrap();
    let hard = TWO.replace("5 K", "45 K");
    let four = TWO.to_string()
        + "section.trough.temperature = [\"8 degC\", \"30 degC\"]\nsection.trough.length = [\"10 m\", \"30 m\"]\n";
    let idle = "\n[stages]\naim = \"least-void\"\nvary.\"section.to capstan.length\" = [\"1 m\", \"3 m\"]\n";
    for (name, question, flags, status, words) in [
        ("plain", "", &[][..], 2, "the case has no [stages]"),
        (
            "hard",
            hard.as_str(),
            &[],
            1,
            "nothing within the bounds meets everything: with line speed 50 m/min, \"conductor\" at the die 40 degC, the \
             surface at \"capstan\" is ",
        ),
        ("four", four.as_str(), &["--check", "grid"], 2, "a full grid takes up to 3 numbers, the case may set 4"),
        ("idle", idle, &[], 1, "none of the numbers that may be set moves what \"least-void\" asks for"),
    ] {
        let path = wire(place.path(), name, question);
        let (code, report, notes) = stages(place.path(), &path, &[flags, &["--out", "new"]].concat());
        assert_eq!((code, report.as_str()), (status, ""), "{name}: {notes}");
        assert!(flat(&notes).contains(words), "{name}: {notes}");
        let ends = name != "hard" || flat(&notes).contains("the most that is allowed is 45.0 degC less 45.0 K;");
        assert!(ends, "{notes}");
        assert!(!place.path().join("new").exists(), "{name} leaves nothing behind");
    }
}

#[test]
fn a_setting_point_by_the_rate_is_told() {
    let place = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(case("thick-pe-core")).unwrap() + "\n[solver]\nsetting = \"by-rate\"\n";
    let path = place.path().join("rate.toml");
    fs::write(&path, text).unwrap();
    let output = Command::cargo_bin("quenchway").unwrap().arg("run").arg(&path).arg("--json").output().unwrap();
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let warnings = json["warnings"].as_array().unwrap();
    let told =
        warnings.iter().find(|warning| warning["kind"] == "sets_by_rate").unwrap_or_else(|| panic!("{warnings:?}"));
    let message = told["message"].as_str().unwrap();
    assert!(message.contains("K/s as it sets") && message.contains("lower than at 10 K/min"), "{message}");
    // The doubt about it is one of the uncertain inputs.
    let inputs = json["band_inputs"].as_array().unwrap();
    assert!(inputs.iter().any(|input| input["input"] == "layer.insulation.setting_shift"), "{inputs:?}");
    // `drive` has no one rate to go by.
    let ramp = fs::read_to_string(case("drive/house-wire-ramp")).unwrap();
    let ramp = ramp.replace("[solver]\n", "[solver]\nsetting = \"by-rate\"\n");
    let path = place.path().join("ramp.toml");
    fs::write(&path, ramp).unwrap();
    let output = Command::cargo_bin("quenchway").unwrap().arg("drive").arg(&path).output().unwrap();
    let notes = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.code() == Some(2) && notes.contains("has no one cooling rate"), "{notes}");
}
