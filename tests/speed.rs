//! `quenchway speed` as its user meets it: report, JSON, results file, picture, passes, no answer, refusals.

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
    let copy = std::env::temp_dir().join(format!("quenchway-speed-{}", std::process::id())).join("house-wire.toml");
    fs::create_dir_all(copy.parent().unwrap()).unwrap();
    // Written beside and renamed: another test may be reading it.
    let beside = copy.with_extension(format!("{:?}", std::thread::current().id()));
    fs::write(&beside, fs::read_to_string(path).unwrap() + PLANT).unwrap();
    fs::rename(&beside, &copy).unwrap();
    copy
}

/// Exit status, report, notes.
fn speed(directory: &Path, case: &Path, more: &[&str]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("quenchway").unwrap();
    let output = command.current_dir(directory).arg("speed").arg(case).args(more).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

fn flat(report: &str) -> String {
    report.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn the_lowest_ceiling_decides_in_every_form() {
    let place = tempfile::tempdir().unwrap();
    // 0.9 times the melt of the house wire at 138.6 m/min.
    let text = fs::read_to_string(case("house-wire")).unwrap();
    let tight = place.path().join("tight.toml");
    fs::write(&tight, text.replace("module = \"3 m\"", "module = \"3 m\"\ncompound_max = \"70 kg/h\"")).unwrap();
    let (status, stdout, notes) = speed(place.path(), &tight, &["--json", "--out", "out"]);
    assert_eq!(status, 0, "{notes}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let answer = &json["speed"];
    assert_eq!(answer["decides"], "plant.compound_max");
    // The rest is what `run` says at the speed that is printed: no faster, three digits of it.
    let printed = &answer["printed"];
    let share = number(&printed["si"]) / number(&answer["top_m_s"]);
    assert!(share <= 1.0 && share > 0.99, "{printed}");
    assert!((number(&json["throughput"][1]["kg_per_h"]) / 70.0 / share - 1.0).abs() < 2e-4);
    assert_eq!(printed["text"], format!("{} m/min", (60.0 * number(&printed["si"])).round()));
    let speeds: Vec<f64> = answer["ceilings"].as_array().unwrap().iter().map(|row| number(&row["speed_m_s"])).collect();
    assert!(speeds.len() == 3 && speeds.is_sorted() && speeds[0] == number(&answer["top_m_s"]), "{speeds:?}");
    // The extruder does not care how uncertain the inputs are, until the core is the lower ceiling.
    assert_eq!(number(&answer["range"]["favourable_m_s"]), speeds[0]);
    let file = hdf5_metno::File::open(place.path().join("out/tight-speed.h5")).unwrap();
    let stored = file.dataset("ceiling_speed").unwrap().read_raw::<f64>().unwrap();
    assert!(stored.iter().zip(&speeds).all(|(a, b)| (a / b - 1.0).abs() < 1e-14));
    assert!(place.path().join("out/tight-speed.png").is_file());
}

#[test]
fn the_report_lists_the_ceilings_in_order() {
    let place = tempfile::tempdir().unwrap();
    let (status, report, _) = speed(place.path(), &case("house-wire"), &[]);
    let words = flat(&report);
    assert_eq!(status, 0);
    for part in [
        "FASTEST SPEED: 144 m/min; core at \"capstan\" decides, 59.9 degC of the 60 degC allowed.",
        "it lies between 128 m/min and 164 m/min; 128 m/min allows for this uncertainty.",
        "core at \"capstan\" 60 degC 144 59.9 degC surface at \"capstan\" 45 degC 1879",
        "nip points",
    ] {
        assert!(words.contains(part), "{part}\n{report}");
    }
    let (_, report, _) = speed(place.path(), &case("house-wire"), &["--units", "us", "--no-band"]);
    assert!(
        flat(&report).contains("FASTEST SPEED: 473 ft/min;") && !report.contains("uncertainty of the inputs it lies")
    );
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "nothing is written without being asked for");
}

#[test]
fn passes_are_a_choice() {
    let place = tempfile::tempdir().unwrap();
    let flags = ["--passes", "1..3", "--turn", "1.2 m", "--no-band", "--json", "--out", "out"];
    let (status, stdout, notes) = speed(place.path(), &case("house-wire"), &flags);
    assert_eq!(status, 0, "{notes}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let passes = json["speed"]["passes"].as_array().unwrap();
    let tops: Vec<f64> = passes.iter().map(|row| number(&row["top_m_s"])).collect();
    assert!(tops.len() == 3 && tops.is_sorted() && tops[2] > 2.5 * tops[0], "{tops:?}");
    assert_eq!(tops[0], number(&json["speed"]["top_m_s"]));
    assert!((number(&passes[2]["line_length_m"]) - (1.9 + 3.0 * 18.0 + 2.0 * 1.2)).abs() < 1e-9);
    let file = hdf5_metno::File::open(place.path().join("out/house-wire-speed.h5")).unwrap();
    assert_eq!(file.dataset("passes").unwrap().read_raw::<f64>().unwrap(), [1.0, 2.0, 3.0]);
    // Passes side by side stand on the floor of one.
    assert!((number(&passes[2]["floor_length_m"]) - 19.9).abs() < 1e-9);
    assert_eq!(file.dataset("floor_length").unwrap().read_raw::<f64>().unwrap(), [19.9; 3]);
    let (_, report, _) = speed(place.path(), &case("house-wire"), &["--passes", "4", "--turn", "1.2 m", "--no-band"]);
    let words = flat(&report);
    assert!(words.contains("77.50 19.90 core at \"capstan\"") && !words.contains("The hall holds"), "{report}");
    let short = place.path().join("short.toml");
    fs::write(&short, fs::read_to_string(case("house-wire")).unwrap().replace("60 m", "15 m")).unwrap();
    let (_, report, _) = speed(place.path(), &short, &["--no-band"]);
    assert!(flat(&report).contains("The hall holds 15.00 m; the line stands on 19.90 m of floor."), "{report}");
}

#[test]
fn no_speed_says_why_and_what_would_help() {
    let place = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(case("house-wire")).unwrap();
    let cold = place.path().join("cold.toml");
    fs::write(&cold, text.replace("core_max = \"60 degC\"", "core_max = \"15 degC\"")).unwrap();
    let (status, report, _) = speed(place.path(), &cold, &[]);
    let words = flat(&report);
    assert_eq!(status, 1);
    assert!(words.contains("NO ANSWER: no speed meets capstan.core: it is exceeded even at 2.34 m/min"), "{report}");
    assert!(words.contains("colder water, 1") && words.contains("degC instead of 16 degC"), "{report}");
    let (status, stdout, _) = speed(place.path(), &cold, &["--json"]);
    let json: Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!((status, &json["speed"]["top_m_s"]), (1, &Value::Null));
}

#[test]
fn wrong_questions_are_refused_and_leave_nothing() {
    let place = tempfile::tempdir().unwrap();
    for (name, flags, status, words) in [
        ("house-wire", &["--passes", "0..3"][..], 2, "\"0\" is no number of passes; it takes 1 to 100"),
        ("house-wire", &["--passes", "3..1"], 2, "the fewest passes come first"),
        ("house-wire", &["--passes", "1..3"], 2, "gives no turn, the length of product in the air between two passes"),
        ("house-wire", &["--turn", "1 m"], 2, "--passes <FEWEST..MOST>"),
        ("house-wire", &["--passes", "2", "--turn", "1 m", "--adjust", "through"], 2, "did you mean \"trough\"?"),
        ("thick-pe-core", &["--passes", "2"], 2, "which section is passed several times? Name it"),
        ("flat-slab", &[], 1, "no station has a limit and the plant no ceiling"),
    ] {
        let (code, report, notes) = speed(place.path(), &case(name), &[flags, &["--out", "new"]].concat());
        assert_eq!((code, report.as_str()), (status, ""), "{flags:?}: {notes}");
        assert!(notes.contains(words), "{flags:?}: {notes}");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "{flags:?} leaves nothing behind");
    }
}
