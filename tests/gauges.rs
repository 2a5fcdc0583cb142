//! `quenchway gauges` as its user meets it: report, JSON, results file, card, refusals.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

use crate::picture::Picture;

fn gauges(directory: &Path, case: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases").join(case);
    let mut command = Command::cargo_bin("quenchway").unwrap();
    let output = command.current_dir(directory).arg("gauges").arg(case).args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

#[test]
fn the_card_is_printed_written_and_drawn() {
    let place = tempfile::tempdir().unwrap();
    let wish = ["--finished", "3.35 mm"];
    let (status, stdout, stderr) =
        gauges(place.path(), "house-wire.toml", &[&wish[..], &["--json", "--out", "out"]].concat());
    assert_eq!(status, Some(0), "{stderr}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let number = |pointer: &str| json.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer}"));
    assert_eq!((number("/wanted_m"), number("/line_speed_m_s")), (3.35e-3, 2.5));
    let over = number("/hot/reading_m") - number("/wanted_m");
    assert!(over > 5e-5 && over < 2e-4, "{over}");
    // The same difference, after reading JSON: rounding.
    assert!((number("/hot/over_finished_m") - over).abs() < 1e-15);
    // 19.7 m at 2.5 m/s.
    assert!((number("/delay_s") - 7.88).abs() < 1e-9);
    assert!(json["cautions"].as_array().unwrap().len() > 5 && json["warnings"][0]["kind"].is_string());

    let file = hdf5_metno::File::open(place.path().join("out/house-wire-gauges.h5")).unwrap();
    let numbers = |name: &str| file.dataset(name).unwrap().read_raw::<f64>().unwrap();
    let readings = numbers("reading");
    for (reading, gauge) in readings.iter().zip(["hot", "cold"]) {
        // Reading JSON may change the last digit.
        assert!((reading / number(&format!("/{gauge}/reading_m")) - 1.0).abs() < 1e-14);
    }
    let finished = numbers("finished_diameter");
    assert!(finished.len() == 3 && finished[0] > finished[1] && finished[1] > finished[2] && finished[1] == 3.35e-3);
    let card = Picture::open(place.path().join("out/house-wire-gauges.png"));
    assert_eq!(card.size, [1600, 1000]);

    let (_, report, _) = gauges(place.path(), "house-wire.toml", &wish);
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in ["hot gauge must read", "No station has \"cold gauge\" in its name", "7.88 s after that", "nip points"]
    {
        assert!(flat.contains(words), "{words}\n{report}");
    }
    assert!(report.contains(&format!("{:.3} mm", 1e3 * readings[0])), "{report}");
}

#[test]
fn what_has_no_answer_and_what_is_wrong_have_their_own_status() {
    let place = tempfile::tempdir().unwrap();
    for (case, flags, status, words) in [
        ("house-wire.toml", &["--finished", "1.5 mm"][..], 1, "no answer: "),
        ("house-wire.toml", &["--finished", "0.05 in", "--units", "us"], 1, "takes more than 0.070 in"),
        ("house-wire.toml", &["--finished", "3.35"], 2, "3.35 has no unit"),
        ("house-wire.toml", &["--finished", "3 m"], 2, "it takes 0.01 mm to 1000 mm"),
        ("no-such.toml", &[], 2, "there is no such file"),
    ] {
        let (code, stdout, stderr) = gauges(place.path(), case, &[flags, &["--out", "new"]].concat());
        assert_eq!((code, stdout.as_str()), (Some(status), ""), "{flags:?}: {stderr}");
        assert!(stderr.contains(words), "{flags:?}: {stderr}");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "{flags:?} leaves nothing behind");
    }
}
