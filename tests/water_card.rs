//! `quenchway water` as its user meets it: report, JSON, results file, card, refusals.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

use crate::picture::Picture;

fn water(directory: &Path, case: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases").join(case);
    let mut command = Command::cargo_bin("quenchway").unwrap();
    let output = command.current_dir(directory).arg("water").arg(case).args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

#[test]
fn the_card_is_printed_written_and_drawn() {
    let place = tempfile::tempdir().unwrap();
    let asked = ["--speeds", "100 m/min..400 m/min", "--points", "3"];
    let (status, stdout, stderr) =
        water(place.path(), "house-wire.toml", &[&asked[..], &["--json", "--out", "out"]].concat());
    assert_eq!(status, Some(0), "{stderr}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let number = |pointer: &str| json.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer}"));
    assert_eq!(json["sections"][0], "trough");
    assert_eq!(
        (number("/at_speeds/0/line_speed_m_s"), number("/at_speeds/2/line_speed_m_s")),
        (100.0 / 60.0, 400.0 / 60.0)
    );
    let duty = number("/at_speeds/1/ways/0/taken/chiller_duty_W");
    let section = "/at_speeds/1/ways/0/taken/sections/0";
    assert_eq!(number(&format!("{section}/heat_W")), duty);
    // The flow that takes this heat with 1 K: heat over capacity.
    let flow = number(&format!("{section}/flow_for_rise_kg_s/1_K"));
    assert!((flow * quenchway::material::water::at(16.0).heat_capacity / duty - 1.0).abs() < 1e-12);
    assert!(json["at_speeds"][1]["ways"][1]["reason"].is_null() && json["at_speeds"][1]["ways"][1]["way"] == "along");

    let file = hdf5_metno::File::open(place.path().join("out/house-wire-water.h5")).unwrap();
    let dataset = |name: &str| file.dataset(name).unwrap();
    assert_eq!((dataset("chiller_duty").shape(), dataset("water_out").shape()), (vec![3, 3], vec![3, 3, 1]));
    let duties = dataset("chiller_duty").read_raw::<f64>().unwrap();
    assert!((duties[3] / duty - 1.0).abs() < 1e-14, "{duties:?}");
    let outlets = dataset("water_out").read_raw::<f64>().unwrap();
    assert!(outlets[3].is_nan() && outlets[4] > 20.0 && outlets[5] > outlets[4], "held, along, counter: {outlets:?}");
    assert_eq!(dataset("status").read_raw::<f64>().unwrap(), [0.0; 9]);
    let card = Picture::open(place.path().join("out/house-wire-water.png"));
    assert_eq!(card.size, [1600, 1000]);

    let (_, report, _) = water(place.path(), "house-wire.toml", &asked);
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in
        ["3 line speeds from 100 m/min to 400 m/min", "gives no flow for \"trough\"", "flow, 5 K", "Legionella"]
    {
        assert!(flat.contains(words), "{words}\n{report}");
    }
    assert!(report.contains(&format!("{:.2}", 1e-3 * duty)), "{report}");
}

#[test]
fn ceilings_of_the_plant_and_speeds_without_an_answer_are_told() {
    let place = tempfile::tempdir().unwrap();
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    let text = fs::read_to_string(cases.join("pe-core-series-water.toml")).unwrap();
    let ceilings = "[plant]\nchiller_max = \"9 kW\"\nwater_out_max = \"90 degC\"\n";
    let case = place.path().join("small.toml");
    fs::write(&case, format!("{text}\n{ceilings}")).unwrap();
    let case = case.to_str().unwrap();
    let asked = ["--speeds", "15 m/min..40 m/min", "--points", "2"];
    let (status, report, _) = water(place.path(), case, &asked);
    assert_eq!(status, Some(0));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in
        ["ceiling of 9.00 kW is passed, first at 40.0 m/min", "ceiling of 90 degC on water that leaves a section holds"]
    {
        assert!(flat.contains(words), "{words}\n{report}");
    }
    // A slow product boils less water than a fast one.
    fs::write(case, text.replace("\"12 L/min\"", "\"1 L/min\"")).unwrap();
    let (status, report, _) = water(place.path(), case, &["--speeds", "25 m/min..55 m/min", "--points", "4"]);
    assert_eq!(status, Some(0));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "water as given, at 35.0 m/min and 2 more speeds: the water of section \"first trough\"",
        "water along, at 45.0 m/min and 1 more speed: ",
    ] {
        assert!(flat.contains(words), "{words}\n{report}");
    }
    // Tanks have no direction.
    let (_, report, _) = water(place.path(), "multi-pass-wire.toml", &["--points", "2"]);
    assert!(report.contains("All water stands in tanks") && !report.contains("core, along"), "{report}");
    // So little water boils.
    fs::write(case, text.replace("\"12 L/min\"", "\"0.3 L/min\"")).unwrap();
    let (status, stdout, stderr) = water(place.path(), case, &asked);
    assert_eq!((status, stdout.as_str()), (Some(1), ""));
    assert!(stderr.starts_with("no answer: ") && stderr.contains("no speed has an answer"), "{stderr}");
}

#[test]
fn wrong_speeds_and_a_line_without_water_are_refused() {
    let place = tempfile::tempdir().unwrap();
    for (case, flags, status, words) in [
        (
            "house-wire.toml",
            &["--speeds", "100 m/min-400 m/min"][..],
            2,
            "--speeds: \"100 m/min-400 m/min\" is no range",
        ),
        ("house-wire.toml", &["--speeds", "400 m/min..100 m/min"], 2, "its low end must lie below its high end"),
        ("house-wire.toml", &["--speeds", "100..400 m/min"], 2, "100 has no unit"),
        ("house-wire.toml", &["--points", "1"], 2, "--points"),
        ("flat-slab.toml", &["--speeds", "1 mm..2 mm"], 2, "a speed was expected"),
    ] {
        let (code, stdout, stderr) = water(place.path(), case, &[flags, &["--out", "new"]].concat());
        assert_eq!((code, stdout.as_str()), (Some(status), ""), "{flags:?}: {stderr}");
        assert!(stderr.contains(words), "{flags:?}: {stderr}");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "{flags:?} leaves nothing behind");
    }
    let dry = place.path().join("dry.toml");
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/house-wire.toml")).unwrap();
    fs::write(&dry, text.replace("medium = \"water\"", "medium = \"air\"")).unwrap();
    let (code, _, stderr) = water(place.path(), dry.to_str().unwrap(), &[]);
    assert_eq!(code, Some(1));
    assert!(stderr.contains("no section is in water"), "{stderr}");
}
