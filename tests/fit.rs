//! `quenchway fit` as its user meets it: report, JSON, results file, picture, calibrated case, refusals.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;

const FILM: &str = "section.trough.film_factor";
const PREHEAT: &str = "layer.conductor.temperature";

fn cases() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases")
}

fn fit(directory: &Path, more: &[&str]) -> std::process::Output {
    let (case, data) = (cases().join("house-wire.toml"), cases().join("trials/house-wire-trial.csv"));
    let mut command = Command::cargo_bin("quenchway").unwrap();
    command.current_dir(directory).arg("fit").arg(case).arg("--data").arg(data).args(more);
    command.output().unwrap()
}

fn texts(output: &std::process::Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (text(&output.stdout), text(&output.stderr))
}

/// The trial was made with a film factor of 0.55 and a preheat of 103 degC: both lie in their intervals, and the calibrated
/// file holds what was fitted.
#[test]
fn the_demo_is_fitted_and_written() {
    let place = tempfile::tempdir().unwrap();
    let unknowns = ["--unknown", FILM, "--unknown", PREHEAT];
    let output =
        fit(place.path(), &[&unknowns[..], &["--json", "--out", "out", "--write", "calibrated.toml"]].concat());
    let (stdout, stderr) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{stderr}");
    for name in ["out/house-wire-fit.h5", "out/house-wire-fit.png", "calibrated.toml"] {
        assert!(place.path().join(name).is_file() && stderr.contains("wrote"), "{name}: {stderr}");
    }
    let json: Value = serde_json::from_str(&stdout).unwrap();
    let mut fitted = Vec::new();
    for (index, (truth, unit)) in [(0.55, "1"), (103.0, "degC")].into_iter().enumerate() {
        let unknown = &json["unknowns"][index];
        let end = |end: usize| unknown["interval"][end].as_f64().unwrap();
        assert!(end(0) < truth && truth < end(1), "{unknown}");
        assert_eq!(unknown["unit"], unit);
        fitted.push(unknown["value"].as_f64().unwrap());
    }
    assert_eq!(json["residuals"].as_array().unwrap().len(), 28);
    assert_eq!(json["trials"][0]["settings"]["line.speed"].as_f64(), Some(100.0 / 60.0));
    assert!(json["chi_square"].as_f64() < json["chi_square_before"].as_f64());

    let text = fs::read_to_string(place.path().join("calibrated.toml")).unwrap();
    let case = quenchway::input::read(&text).unwrap();
    assert!((case.sections[1].film_factor / fitted[0] - 1.0).abs() < 1e-5);
    assert!((case.die_temperature(0).0 / fitted[1] - 1.0).abs() < 1e-5);
    assert!(text.contains("# preheated\n") && text.contains("# fitted to house-wire-trial.csv on 20"), "{text}");

    let file = hdf5_metno::File::open(place.path().join("out/house-wire-fit.h5")).unwrap();
    let numbers = |name: &str| file.dataset(name).unwrap().read_raw::<f64>().unwrap();
    // Reading JSON may change the last digit.
    assert!(numbers("value").iter().zip(&fitted).all(|(a, b)| (a / b - 1.0).abs() < 1e-14));
    assert_eq!(numbers("correlation").len(), 4);
    assert_eq!(numbers("setting_line_speed")[0], 100.0 / 60.0);
    let measured = numbers("capstan_equalised_measured");
    assert!(measured[0] == 45.1 && measured[1].is_nan(), "an empty cell is absent: {measured:?}");
    // The first row of the data: 33.8 degC, 1 K.
    assert_eq!((numbers("capstan_surface_measured")[0], numbers("capstan_surface_uncertainty")[0]), (33.8, 1.0));
    let units = file.dataset("capstan_surface_uncertainty").unwrap().attr("units").unwrap();
    assert_eq!(units.read_scalar::<hdf5_metno::types::VarLenUnicode>().unwrap().as_str(), "K");

    // Its own calibrated case is replaced, a file of the user's is not.
    assert_eq!(fit(place.path(), &["--unknown", FILM, "--write", "calibrated.toml", "--quiet"]).status.code(), Some(0));
    fs::write(place.path().join("mine.toml"), "mine").unwrap();
    let refused = fit(place.path(), &["--unknown", FILM, "--write", "mine.toml"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        texts(&refused).1.contains("mine.toml exists and was not written by quenchway fit"),
        "{}",
        texts(&refused).1
    );
    assert_eq!(fs::read_to_string(place.path().join("mine.toml")).unwrap(), "mine");
    assert_eq!(fit(place.path(), &["--unknown", FILM, "--write", "mine.toml", "--overwrite"]).status.code(), Some(0));
}

#[test]
fn the_report_says_what_was_chosen_and_what_must_be_thought_of() {
    let place = tempfile::tempdir().unwrap();
    let (report, _) = texts(&fit(place.path(), &[]));
    for words in [
        "28 measurements of 6 trials in house-wire-trial.csv; 1 unknown fitted. What is fitted was",
        "Student's t 2.05 for 27 degrees of freedom",
        "capstan.surface: 1 K, given in the data",
        "\"hot gauge\".diameter: 0.01 mm, usual, common practice without a source",
        "nip points of wheels",
    ] {
        assert!(report.contains(words), "{words}\n{report}");
    }
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "nothing is written without being asked for");
    let alike = ["layer.insulation.conductivity_factor", "material.pvc-insulation.conductivity"];
    let (report, _) = texts(&fit(place.path(), &["--unknown", alike[0], "--unknown", alike[1]]));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = format!("the data cannot tell {} and {} apart", alike[0], alike[1]);
    assert!(flat.contains(&words) && flat.contains("no single surface, water, mixed"), "{report}");
}

#[test]
fn wrong_flags_are_named_before_anything_is_computed() {
    let place = tempfile::tempdir().unwrap();
    for (flags, status, words) in [
        (
            &["--unknown", "section.trouhg.film_factor"][..],
            2,
            "--unknown: section.trouhg.film_factor: there is no section",
        ),
        (&["--unknown", "line.speed"], 2, "line.speed is fitted and is a column of settings"),
        (&["--prior", "layer.insulation.temperature = 188 degC ± 3 K"], 2, "is not fitted"),
        (&["--unknown", FILM, "--prior", "section.trough.film_factor = 1"], 2, "is no prior; write"),
        (&["--unknown", PREHEAT, "--prior", "layer.conductor.temperature = 90 degC +- 3 degC"], 2, "write 3 K"),
        (&["--unknown", "material.copper.density", "--write", "x.toml"], 2, "the material is one of the library"),
        (&["--unknown", FILM, "--write", "no/such/x.toml"], 2, "x.toml"),
    ] {
        let output = fit(place.path(), &[flags, &["--out", "new"]].concat());
        let (stdout, stderr) = texts(&output);
        assert_eq!((output.status.code(), stdout.as_str()), (Some(status), ""), "{flags:?}: {stderr}");
        assert!(stderr.contains(words), "{flags:?}: {stderr}");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "{flags:?} leaves nothing behind");
    }
}
