//! `quenchway map` as its user meets it: report, JSON, results file, picture, threads, refusals.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

use crate::picture::Picture;

const SPEED: [&str; 2] = ["--x", "line.speed=\"100 m/min..400 m/min\""];
const LENGTH: [&str; 2] = ["--y", "section.trough.length=5 m..40 m"];

fn map(directory: &Path, case: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases").join(case);
    let mut command = Command::cargo_bin("quenchway").unwrap();
    let output = command.current_dir(directory).arg("map").arg(case).args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn axes(more: &[&'static str]) -> Vec<&'static str> {
    [&SPEED[..], &LENGTH[..], more].concat()
}

#[test]
fn the_map_is_printed_written_and_drawn() {
    let place = tempfile::tempdir().unwrap();
    let flags = axes(&["--show", "capstan.core", "--points", "7x6", "--json", "--out", "out"]);
    let (status, stdout, stderr) = map(place.path(), "house-wire.toml", &flags);
    assert_eq!(status, Some(0), "{stderr}");
    // No terminal, no bar.
    assert_eq!(stderr.lines().filter(|line| !line.starts_with("wrote ")).count(), 0, "{stderr}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!((&json["x"]["key"], &json["x"]["unit"]), (&Value::from("line.speed"), &Value::from("m s-1")));
    let row = |name: &str, y: usize| -> Vec<f64> {
        json[name][y].as_array().unwrap().iter().map(|value| value.as_f64().unwrap()).collect()
    };
    // Faster is hotter where the trough is long, longer is colder.
    assert!(row("values", 5).windows(2).all(|pair| pair[0] < pair[1]) && row("values", 5)[3] < row("values", 0)[3]);
    let core = &json["limits"][1];
    assert_eq!((core["name"].as_str(), core["max"].as_f64()), (Some("capstan.core"), Some(60.0)));
    let excess = core["excess"][5][3].as_f64().unwrap();
    assert!((excess - (row("values", 5)[3] - 60.0)).abs() < 1e-12);
    assert_eq!((json["points"].as_u64(), json["points_failed"].as_u64()), (Some(42), Some(0)));
    let path = serde_json::to_value(quenchway::engine::Path::best()).unwrap();
    assert_eq!(json["computed"], serde_json::json!([{ "path": path, "points": 42 }]));
    let base = json["base"]["value"].as_f64().unwrap();
    assert!((61.0..63.0).contains(&base) && json["base"]["on_map"] == true, "{base}");
    let error = json["check"]["error"].as_f64().unwrap();
    assert!(error > 0.0 && error < 0.01 && json["check"]["points"] == 9, "{error}");

    let file = hdf5_metno::File::open(place.path().join("out/house-wire-map.h5")).unwrap();
    let core = file.dataset("capstan_core").unwrap();
    assert_eq!(core.shape(), [6, 7]);
    assert!((core.read_raw::<f64>().unwrap()[5 * 7 + 3] / row("values", 5)[3] - 1.0).abs() < 1e-14);
    assert_eq!(file.dataset("line_speed").unwrap().read_raw::<f64>().unwrap()[6], 400.0 / 60.0);
    assert_eq!(file.dataset("status").unwrap().read_raw::<f64>().unwrap(), [0.0; 42]);

    let (_, report, _) = map(place.path(), "house-wire.toml", &axes(&["--points", "7x6"]));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "core temperature at capstan over line speed from 100 m/min to 400 m/min and",
        "The map has 7 by 6 points.",
        "capstan.core 60 degC 61.9 degC, NOT MET",
        "9 points, computed again with care, differ by at most",
        "nip points",
        // Columns and rows are round whatever the map's own points are.
        "100 150 200 250 300 350 400",
    ] {
        assert!(flat.contains(words), "{words}\n{report}");
    }
    let (_, report, _) = map(place.path(), "house-wire.toml", &axes(&["--points", "7x6", "--units", "us"]));
    let rows: Vec<&str> = report.lines().filter_map(|line| line.split_whitespace().next()).collect();
    for row in ["120", "100", "80", "60", "40", "20"] {
        assert!(rows.contains(&row), "{row}\n{report}");
    }
    assert!(report.contains("400") && report.contains("1200"), "{report}");
}

/// The melt's shrink is shown, its limit drawn, and a table of it holds what `run` says.
#[test]
fn the_melt_shrink_is_an_output_and_a_limit() {
    let place = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/thick-pe-core.toml")).unwrap();
    let limited = place.path().join("limited.toml");
    fs::write(&limited, text.replacen("material = \"hdpe\"", "material = \"hdpe\"\nmelt_shrink_max = \"10 %\"", 1))
        .unwrap();
    assert!(fs::read_to_string(&limited).unwrap().contains("melt_shrink_max"));
    let axes = ["--x", "section.\"warm trough\".temperature=20 degC..95 degC", "--y", "line.speed=20 m/min..50 m/min"];
    let flags = [&axes[..], &["--points", "4x3", "--show", "insulation.melt_shrink", "--json"]].concat();
    let (status, stdout, stderr) = map(place.path(), limited.to_str().unwrap(), &flags);
    assert_eq!(status, Some(0), "{stderr}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let number = |value: &Value| value.as_f64().unwrap();
    assert_eq!(json["show"]["unit"], "percent");
    let limit =
        json["limits"].as_array().unwrap().iter().find(|limit| limit["name"] == "insulation.melt_shrink").unwrap();
    assert_eq!((number(&limit["max"]), &limit["unit"]), (10.0, &Value::from("percent")));
    let run = Command::cargo_bin("quenchway")
        .unwrap()
        .arg("run")
        .arg(&limited)
        .args(["--no-band", "--json"])
        .output()
        .unwrap();
    let solution: Value = serde_json::from_slice(&run.stdout).unwrap();
    let melt = number(&solution["skins"][0]["melt_shrink_percent"]);
    assert!((number(&json["base"]["value"]) - melt).abs() < 1e-9);
    assert!((number(&limit["base_excess"]) - (melt - 10.0)).abs() < 1e-9);
    // Warmer first water leaves less to lose.
    let row: Vec<f64> = json["values"][1].as_array().unwrap().iter().map(number).collect();
    assert!(row.first() > row.last(), "{row:?}");
    let run = Command::cargo_bin("quenchway")
        .unwrap()
        .arg("run")
        .arg(&limited)
        .args(["--no-band", "--enforce"])
        .output()
        .unwrap();
    let words = String::from_utf8(run.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    let says = format!("melt shrink under the skin of \"insulation\" is {melt:.1} %, its limit 10 %");
    assert!(words.contains(&says), "{words}");
    assert_eq!(words.contains("ALL LIMITS ARE MET"), melt <= 10.0 && run.status.success(), "{words}");
    assert!(melt > 10.0 && words.contains(&format!("NOT MET: {says}")) && !run.status.success(), "{melt}");
}

/// Pixels of one colour in a rectangle of the picture.
fn count(picture: &Picture, [left, top, right, bottom]: [u32; 4], is: impl Fn(&[u8; 3]) -> bool) -> usize {
    (left..right).flat_map(|x| (top..bottom).map(move |y| (x, y))).filter(|&(x, y)| is(&picture.at(x, y))).count()
}

#[test]
fn what_is_not_allowed_is_hatched_and_blank_points_are_paper() {
    let place = tempfile::tempdir().unwrap();
    let flags = axes(&["--show", "capstan.core", "--points", "30", "--out", "out", "--quiet"]);
    assert_eq!(map(place.path(), "house-wire.toml", &flags).0, Some(0));
    let drawn = Picture::open(place.path().join("out/house-wire-map.png"));
    assert_eq!(drawn.size, [1600, 1000]);
    // Long and slow at the upper left: one full colour. Short and fast at the lower right: that of the band and a paler one.
    let colors = |corner: [u32; 4]| {
        let mut seen = std::collections::BTreeMap::new();
        for x in corner[0]..corner[2] {
            for y in corner[1]..corner[3] {
                // The edge of a hatch is a blend of both colours, one pixel wide: not between two of its own.
                let [before, here, behind] = [x - 1, x, x + 1].map(|x| drawn.at(x, y));
                if before == here && here == behind {
                    *seen.entry(here).or_insert(0_usize) += 1;
                }
            }
        }
        seen.into_values().filter(|count| *count > 200).count()
    };
    assert_eq!(colors([170, 180, 210, 220]), 1);
    assert_eq!(colors([1320, 700, 1360, 740]), 2);
    // The insulation has no wall at the left: nothing is drawn there, and the reason is counted.
    let blank = ["--x", "layer.insulation.diameter=1 mm..4 mm", LENGTH[0], LENGTH[1], "--points", "13x4"];
    let (status, report, _) = map(place.path(), "house-wire.toml", &[&blank[..], &["--out", "out"]].concat());
    assert_eq!(status, Some(0));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("16 points: layer \"insulation\" has no wall"), "{report}");
    let drawn = Picture::open(place.path().join("out/house-wire-map.png"));
    let paper = count(&drawn, [170, 300, 400, 700], |pixel| *pixel == [255; 3]);
    assert!(paper > 90_000, "{paper} of 92000 pixels");
    let file = hdf5_metno::File::open(place.path().join("out/house-wire-map.h5")).unwrap();
    let status = file.dataset("status").unwrap().read_raw::<f64>().unwrap();
    let core = file.dataset("capstan_core").unwrap().read_raw::<f64>().unwrap();
    assert!(status[..4] == [1.0; 4] && status[4] == 0.0 && core[3].is_nan() && core[4].is_finite());
}

#[test]
fn any_number_of_threads_prints_the_same() {
    let place = tempfile::tempdir().unwrap();
    let on = |threads: &'static str| {
        let flags = axes(&["--points", "8", "--threads", threads, "--json"]);
        let (status, stdout, stderr) = map(place.path(), "house-wire.toml", &flags);
        assert_eq!(status, Some(0), "{stderr}");
        stdout
    };
    let one = on("1");
    assert!(one.len() > 2000);
    assert_eq!(one, on("2"));
    assert_eq!(one, on("5"));
}

#[test]
fn wrong_axes_and_outputs_are_refused_before_anything_is_computed() {
    let place = tempfile::tempdir().unwrap();
    let length = LENGTH[1];
    for (x, y, more, status, words) in [
        ("line.speed", length, &[][..], 2, "--x: \"line.speed\" is no axis; write KEYPATH=LOW..HIGH"),
        ("line.sped=1 m/s..2 m/s", length, &[], 2, "did you mean line.speed?"),
        ("line.speed=1..2 m/s", length, &[], 2, "--x: line.speed: 1 has no unit"),
        ("line.speed=2 m/s..1 m/s", length, &[], 2, "its low end must lie below its high end"),
        ("line.speed=-1 m/s..1 m/s", length, &[], 2, "is outside what is possible there"),
        (length, length, &[], 2, "both axes are section.trough.length"),
        ("line.speed=1 m/s..2 m/s", length, &["--show", "capstan.cor"], 2, "did you mean capstan.core?"),
        ("line.speed=1 m/s..2 m/s", length, &["--points", "201"], 2, "each from 2 to 200"),
        ("line.speed=1 m/s..2 m/s", length, &["--threads", "0"], 2, "--threads"),
        ("layer.insulation.contact=100 W/(m2 K)..perfect", length, &[], 2, "a perfect contact is no end"),
        ("layer.insulation.diameter=1 mm..1.5 mm", length, &["--points", "3"], 1, "no point of the map has an answer"),
    ] {
        let flags = [&["--x", x, "--y", y][..], more, &["--out", "new"]].concat();
        let (code, stdout, stderr) = map(place.path(), "house-wire.toml", &flags);
        assert_eq!((code, stdout.as_str()), (Some(status), ""), "{x}: {stderr}");
        assert!(stderr.contains(words), "{x}: {stderr}");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "{x} leaves nothing behind");
    }
}

/// Ends that were typed in metres per minute are not told to six digits of feet.
#[test]
fn places_on_the_axes_are_told_in_four_digits() {
    let place = tempfile::tempdir().unwrap();
    let flags = axes(&["--points", "3", "--units", "us"]);
    let (_, report, _) = map(place.path(), "house-wire.toml", &flags);
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("line speed from 328.1 ft/min to 1312 ft/min and length of trough"), "{report}");
    assert!(flat.contains("At line speed 492.1 ft/min and length of trough 59.06 ft:"), "{report}");
}
