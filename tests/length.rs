//! `quenchway length` as its user meets it: report, JSON, results file, picture, no answer, refusals.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;

/// What the plant of these tests allows.
const PLANT: &str = "\n[plant]\nadjustable = [\"trough\"]\nmodule = \"3 m\"\nhall_max = \"60 m\"\n";

/// A case of the project by its name; the house wire in a plant.
fn case(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../cases/{name}.toml"));
    if name != "house-wire" {
        return path;
    }
    let copy = std::env::temp_dir().join(format!("quenchway-length-{}", std::process::id())).join("house-wire.toml");
    fs::create_dir_all(copy.parent().unwrap()).unwrap();
    // Written beside and renamed: another test may be reading it.
    let beside = copy.with_extension(format!("{:?}", std::thread::current().id()));
    fs::write(&beside, fs::read_to_string(path).unwrap() + PLANT).unwrap();
    fs::rename(&beside, &copy).unwrap();
    copy
}

/// Exit status, report, notes.
fn length(directory: &Path, case: &Path, more: &[&str]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("quenchway").unwrap();
    let output = command.current_dir(directory).arg("length").arg(case).args(more).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

fn flat(report: &str) -> String {
    report.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The house wire with some of its text replaced.
fn changed(directory: &Path, changes: &[(&str, &str)]) -> PathBuf {
    let mut text = fs::read_to_string(case("house-wire")).unwrap();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    let path = directory.join("changed.toml");
    fs::write(&path, text).unwrap();
    path
}

#[test]
fn one_speed_gets_one_length_in_every_form() {
    let place = tempfile::tempdir().unwrap();
    let asked = ["--speed", "240 m/min", "--json", "--out", "out", "--points", "3"];
    let (status, stdout, notes) = length(place.path(), &case("house-wire"), &asked);
    assert_eq!(status, 0, "{notes}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let answer = &json["length"];
    let number = |value: &Value| value.as_f64().unwrap();
    assert_eq!((number(&answer["line_speed_m_s"]), number(&answer["given_m"])), (4.0, 18.0));
    assert_eq!((&answer["decides"], &answer["sections"][0]), (&Value::from("capstan.core"), &Value::from("trough")));
    let needed = number(&answer["needed_m"]);
    assert_eq!(number(&answer["built_m"]), 3.0 * (needed / 3.0).ceil());
    let range = &answer["range"];
    assert!(number(&range["favourable_m"]) < needed && needed < number(&range["unfavourable_m"]));
    // The rest is what `run` says of the trough that is built.
    assert!((number(&json["stations"][2]["distance_m"]) - number(&answer["built_m"]) - 1.9).abs() < 1e-9);
    assert_eq!(json["stations"][2]["limits"][1]["met"], true);
    assert_eq!(number(&answer["floor_length_m"]), number(&answer["plant"][0]["value"]));
    let printed = number(&answer["printed"]["si"]);
    assert!(answer["printed"]["text"] == format!("{printed:.2} m") && (needed..needed + 0.01).contains(&printed));

    let file = hdf5_metno::File::open(place.path().join("out/house-wire-length.h5")).unwrap();
    let numbers = |name: &str| file.dataset(name).unwrap().read_raw::<f64>().unwrap();
    assert_eq!(numbers("line_speed"), [2.0, 4.0, 6.0]);
    let over: Vec<f64> = answer["over_speeds"].as_array().unwrap().iter().map(|row| number(&row["needed_m"])).collect();
    let close = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-12;
    assert!(numbers("needed_length").iter().zip(&over).all(|(&a, &b)| close(a, b)), "{over:?}");
    // The search begins at the case's length at every speed: the one asked for is found again.
    assert!(close(over[1], needed));
    assert!(numbers("limit_needed_length").iter().copied().fold(0.0, f64::max) <= needed * (1.0 + 1e-12));
    assert_eq!(numbers("needed_length_by_limit").len(), 6);
    assert!(place.path().join("out/house-wire-length.png").is_file());
}

#[test]
fn the_report_says_what_decides_and_what_to_build() {
    let place = tempfile::tempdir().unwrap();
    let (status, report, _) = length(place.path(), &case("house-wire"), &["--speed", "240 m/min"]);
    let report = flat(&report);
    assert_eq!(status, 0);
    for words in [
        "TROUGH NEEDED: 30.26 m; core at \"capstan\" decides, its limit is 60 degC.",
        "Build in whole modules of 3.00 m: \"trough\" 33.00 m. The line is then 34.90 m long.",
        "allows for this uncertainty. Least sure is the conductivity of \"pvc-insulation\"",
        "floor length 60.00 m 34.90 m",
        "Never use them for interlocks",
    ] {
        assert!(report.contains(words), "{words}\n{report}");
    }
    let (_, report, _) =
        length(place.path(), &case("house-wire"), &["--speeds", "100 m/min..400 m/min", "--units", "us"]);
    let report = flat(&report);
    assert!(report.contains("line speed needed built favourable unfavourable decides ft/min ft"), "{report}");
    assert!(report.contains(" ft; core at \"capstan\" decides, its limit is 140 degF"), "{report}");
    let adjust = ["--adjust", "middle trough", "--adjust", "cold trough", "--no-band"];
    let (status, report, _) = length(place.path(), &case("thick-pe-core"), &adjust);
    assert_eq!(status, 0);
    assert!(
        flat(&report).contains("How long must \"middle trough\" and \"cold trough\" be at 30.0 m/min?"),
        "{report}"
    );
    assert!(!report.contains("uncertainty of the inputs it lies"), "{report}");
}

/// A tank of three passes of 6 m with turns of 1 m stands on 6 m of floor, and that is what a hall must hold.
#[test]
fn passes_side_by_side_stand_on_the_floor_of_one() {
    let place = tempfile::tempdir().unwrap();
    let passes = "length = \"6 m\"\npasses = 3\nturn = \"1 m\"";
    let tank = |hall: &str| {
        changed(place.path(), &[("length = \"18 m\"", passes), ("module = \"3 m\"\n", ""), ("60 m", hall)])
    };
    let (status, stdout, _) = length(place.path(), &tank("10 m"), &["--no-band", "--json"]);
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let (answer, number) = (&json["length"], |value: &Value| value.as_f64().unwrap());
    let built = number(&answer["built_m"]);
    assert_eq!(status, 0, "{}", answer["no_answer"]);
    assert!((number(&answer["floor_length_m"]) - 1.9 - built).abs() < 1e-9);
    assert!((number(&answer["line_length_m"]) - 1.9 - 3.0 * built - 2.0).abs() < 1e-9);
    let (_, report, _) = length(place.path(), &tank("10 m"), &["--no-band"]);
    let words = flat(&report);
    for part in [
        "The case has 3 passes of 6.00 m.".to_string(),
        format!("TROUGH NEEDED: 3 passes of {built:.2} m;"),
        format!("Build: \"trough\" 3 passes of {built:.2} m. The line is then {:.2} m long on the floor", built + 1.9),
        format!("the way of the product {:.2} m", 3.0 * built + 3.9),
    ] {
        assert!(words.contains(&part), "{part}\n{report}");
    }
    // The longest trough that the hall holds is one pass of it.
    let hall = format!("{:.3} m", built + 1.9 - 0.05);
    let (status, report, _) = length(place.path(), &tank(&hall), &["--no-band"]);
    assert!(status == 1 && flat(&report).contains("take more than plant.hall_max allows"), "{report}");
    let run = Command::cargo_bin("quenchway").unwrap().arg("run").arg(tank("10 m")).arg("--no-band").output().unwrap();
    let words = flat(&String::from_utf8(run.stdout).unwrap());
    assert!(
        words.contains("21.90 m way of the product, 7.90 m floor length") && words.contains("3 passes of 6.00 m"),
        "{words}"
    );
}

/// No length, and what of the levers does: each is right when it is tried.
#[test]
fn no_answer_says_why_and_what_would_help() {
    let place = tempfile::tempdir().unwrap();
    let cold = changed(place.path(), &[("core_max = \"60 degC\"", "core_max = \"15 degC\"")]);
    let (status, report, _) = length(place.path(), &cold, &[]);
    let words = flat(&report);
    assert_eq!(status, 1);
    assert!(
        words
            .contains("NO ANSWER: no length meets the limit of 15.0 degC of capstan.core: even a trough that cools no")
    );
    assert!(words.contains("core at \"capstan\" 15.0 none does"), "{report}");
    assert!(words.contains("colder water, 1"), "{report}");
    let (status, stdout, _) = length(place.path(), &cold, &["--json", "--out", "out", "--points", "2"]);
    let json: Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!((status, &json["length"]["needed_m"]), (1, &Value::Null));
    assert!(
        place.path().join("out/changed-length.h5").is_file() && place.path().join("out/changed-length.png").is_file()
    );
    let lever = &json["length"]["levers"][0];
    assert_eq!((&lever["words"], &lever["meets"]), (&Value::from("colder water"), &Value::from(true)));
    let water = format!("temperature = \"{} degC\"", lever["to"].as_f64().unwrap() - 0.1);
    let colder = changed(
        place.path(),
        &[
            ("core_max = \"60 degC\"", "core_max = \"15 degC\""),
            ("temperature = \"16 degC\"", &water),
            ("60 m", "6 km"),
        ],
    );
    assert_eq!(length(place.path(), &colder, &["--no-band"]).0, 0);

    let (status, report, _) = length(place.path(), &case("house-wire"), &["--speed", "500 m/min", "--no-band"]);
    let words = flat(&report);
    assert_eq!(status, 1);
    assert!(words.contains("NO ANSWER: the 66.00 m of trough that are needed take more than plant.hall_max allows"));
    assert!(words.contains("a slower line, 449") && words.contains("each alone, on the longest trough"), "{report}");
    let early = changed(place.path(), &[("offset = \"-0.2 m\"", "offset = \"-0.2 m\"\nsurface_max = \"100 degC\"")]);
    let (status, report, _) = length(place.path(), &early, &[]);
    assert_eq!(status, 1);
    assert!(flat(&report).contains("whatever the trough's length: the station stands before it"), "{report}");
}

#[test]
fn wrong_questions_are_refused_and_leave_nothing() {
    let place = tempfile::tempdir().unwrap();
    for (name, flags, status, words) in [
        ("house-wire", &["--speed", "240"][..], 2, "240 has no unit, a speed was expected"),
        ("house-wire", &["--speed", "-240 m/min"], 2, "'-240 m/min' for '--speed <SPEED>': it takes 0.006 m/min to"),
        ("house-wire", &["--adjust", "trouhg"], 2, "there is no section \"trouhg\"; did you mean \"trough\"?"),
        ("house-wire", &["--adjust", "trough", "--adjust", "trough"], 2, "\"trough\" is named twice"),
        ("house-wire", &["--speeds", "100..200"], 2, "--speeds: 100 has no unit"),
        ("house-wire", &["--speeds", "200 m/min..100 m/min"], 2, "its low end must lie below its high end"),
        ("house-wire", &["--points", "1"], 2, "1 is not in 2..=200"),
        (
            "thick-pe-core",
            &[],
            2,
            "does not say which section may grow; name it, [plant] adjustable = [\"warm trough\"]",
        ),
        ("flat-slab", &[], 1, "no station has a limit, so that any length would do"),
    ] {
        let (code, report, notes) = length(place.path(), &case(name), &[flags, &["--out", "new"]].concat());
        assert_eq!((code, report.as_str()), (status, ""), "{flags:?}: {notes}");
        assert!(notes.contains(words), "{flags:?}: {notes}");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "{flags:?} leaves nothing behind");
    }
}
