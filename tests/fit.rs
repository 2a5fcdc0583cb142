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

/// The trial was made with a film of 1700 W/(m2 K) in the mean, 0.289 of the 5880 W/(m2 K) of the law, and a preheat of 103 degC: both lie in their intervals, and the calibrated
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
    for (index, (truth, unit)) in [(0.289, "1"), (103.0, "degC")].into_iter().enumerate() {
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
    let case = quenchway::file::read(&text).unwrap();
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
        "28 measurements of 6 trials in house-wire-trial.csv; 1 unknown fitted. The program chose what to fit:",
        "section.trough.film_factor is ",
        "with 95 % confidence between",
        "The model fits the trial: the readings scatter ",
        "Measure next: ",
        "Intervals: the uncertainties as stated, times 1.96.",
        "capstan.surface: 1 K, given in the data",
        "\"hot gauge\".diameter: 0.01 mm, usual, common practice without a source",
        "nip points of wheels",
    ] {
        let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(words.trim_end()), "{words}\n{report}");
    }
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0, "nothing is written without being asked for");
    // The answer stands before every table.
    let place_of = |words: &str| report.find(words).unwrap();
    assert!(place_of("Measure next: ") < place_of("Unknowns") && place_of("with 95 %") < place_of("The model fits"));
    let alike = ["layer.insulation.conductivity_factor", "material.pvc-insulation.conductivity"];
    let flags = ["--unknown", alike[0], "--unknown", alike[1], "--bands", "ignore"];
    let (report, _) = texts(&fit(place.path(), &flags));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = format!("the data cannot tell {} and {} apart", alike[0], alike[1]);
    assert!(flat.contains(&words) && flat.contains("No single surface, water, mixed"), "{report}");
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

fn fit_of(directory: &Path, csv: &str, more: &[&str]) -> std::process::Output {
    fs::write(directory.join("data.csv"), csv).unwrap();
    let mut command = Command::cargo_bin("quenchway").unwrap();
    command
        .current_dir(directory)
        .arg("fit")
        .arg(cases().join("house-wire.toml"))
        .args(["--data", "data.csv"])
        .args(more);
    command.output().unwrap()
}

/// A wrong gauge, and a film that runs away: said even if quiet, exit status 1, and no file unless it is asked for.
#[test]
fn a_doubtful_fit_writes_nothing_and_says_so() {
    let head =
        "line.speed [m/min],trough exit.surface [degC] ± 1 K,capstan.equalised [degC] ± 1 K,hot gauge.diameter [mm]\n";
    let wrong_gauge = format!("{head}100,23.0,45.0,3.62\n150,25.0,60.0,3.62\n180,26.0,66.0,3.62\n");
    let runs_away = "line.speed [m/min],trough exit.surface [degC] ± 0.1 K\n60,16.0\n70,16.0\n80,16.0\n";
    let place = tempfile::tempdir().unwrap();
    for (csv, flags, words) in [
        (wrong_gauge.as_str(), &[][..], "the fit is doubtful: \"hot gauge\".diameter is off by "),
        (
            runs_away,
            &["--bands", "ignore"],
            "the fit is doubtful: section.trough.film_factor ended at its bound of 100",
        ),
    ] {
        let all = [flags, &["--out", "out", "--write", "new.toml", "--quiet"]].concat();
        let output = fit_of(place.path(), csv, &all);
        let (stdout, stderr) = texts(&output);
        assert_eq!((output.status.code(), stdout.as_str()), (Some(1), ""), "{stderr}");
        assert!(stderr.contains(words) && stderr.contains("nothing was written"), "{stderr}");
        assert!(!place.path().join("out").exists() && !place.path().join("new.toml").exists());
        let output = fit_of(place.path(), csv, &[&all[..], &["--write-doubtful"]].concat());
        assert_eq!(output.status.code(), Some(1));
        assert!(place.path().join("out/house-wire-fit.h5").is_file() && place.path().join("new.toml").is_file());
        fs::remove_dir_all(place.path().join("out")).unwrap();
        fs::remove_file(place.path().join("new.toml")).unwrap();
        assert!(texts(&fit_of(place.path(), csv, flags)).0.contains("DOUBTFUL"));
    }
}

#[test]
fn readings_that_no_physics_allows_are_wrong_input() {
    let place = tempfile::tempdir().unwrap();
    let head = "line.speed [m/min],section.trough.temperature [degC],trough exit.surface [degC] ± 1 K\n";
    for (rows, words) in [
        (
            "100,16,24\n120,16,9.5\n",
            "line 3, column C (\"trough exit\".surface): 9.5 degC is colder than everything that the",
        ),
        (
            "100,16,24\n120,16,204\n",
            "line 3, column C (\"trough exit\".surface): 204 degC is hotter than everything that the",
        ),
    ] {
        let output = fit_of(place.path(), &format!("{head}{rows}"), &[]);
        let flat = texts(&output).1.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(output.status.code(), Some(2), "{flat}");
        assert!(flat.contains(words), "{flat}");
    }
    // Within four uncertainties of the water it is scatter.
    assert_ne!(fit_of(place.path(), &format!("{head}100,16,24\n120,16,13\n150,16,27\n"), &[]).status.code(), Some(2));
}

/// A logger's file: its rows become steady states, and that is said.
#[test]
fn a_loggers_rows_are_merged() {
    let place = tempfile::tempdir().unwrap();
    let mut csv = "line.speed [m/min],trough exit.surface [degC],capstan.equalised [degC]\n".to_string();
    for (speed, exit, mixed) in [(100.0, 24.4, 45.1), (140.0, 22.0, 57.2), (180.0, 22.2, 65.4)] {
        for row in 0..6_700 {
            let off = f64::from((row * 37) % 11) / 10.0 - 0.5;
            csv += &format!("{:.2},{:.2},{:.2}\n", speed + 0.2 * off, exit + off, mixed - off);
        }
    }
    let start = std::time::Instant::now();
    let output = fit_of(place.path(), &csv, &["--json"]);
    assert!(start.elapsed().as_secs() < 10, "{:?}", start.elapsed());
    let (stdout, stderr) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{stderr}");
    assert!(stderr.contains("read 20100 rows, 3 steady states; fitting"), "{stderr}");
    let json: Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!((json["merged"]["rows"].as_u64(), json["trials"].as_array().unwrap().len()), (Some(20_100), 3));
    let residual = &json["residuals"][0];
    assert!((residual["measured"].as_f64().unwrap() - 24.4).abs() < 0.01, "{residual}");
    assert!(
        (residual["uncertainty"].as_f64().unwrap() - 2.0).abs() < 1e-9,
        "a mean keeps the uncertainty of one reading"
    );
    let report = texts(&fit_of(place.path(), &csv, &[])).0;
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("The program merged the 20100 rows of the file."), "{report}");
}

/// The calibrated case takes the trial into account: a narrower range, nothing that calls the film a guess.
#[test]
fn a_calibrated_case_is_surer_than_the_case_was() {
    let place = tempfile::tempdir().unwrap();
    let output = fit(place.path(), &["--write", "calibrated.toml", "--quiet"]);
    assert_eq!(output.status.code(), Some(0), "{}", texts(&output).1);
    let run = |case: &Path, command: &str| {
        let mut run = Command::cargo_bin("quenchway").unwrap();
        let output = run.current_dir(place.path()).arg(command).arg(case).arg("--json").output().unwrap();
        serde_json::from_slice::<Value>(&output.stdout).unwrap()
    };
    let width = |json: &Value| {
        let rows = json["band"].as_array().unwrap();
        let row = rows.iter().find(|row| row["station"] == "capstan" && row["quantity"] == "core").unwrap();
        row["high_degC"].as_f64().unwrap() - row["low_degC"].as_f64().unwrap()
    };
    let guesses = |json: &Value| {
        let warnings = json["warnings"].as_array().unwrap();
        let of = |w: &&Value| w["kind"] == "film_estimated" && w["where"] == "section.trough";
        warnings.iter().filter(of).count()
    };
    let calibrated = place.path().join("calibrated.toml");
    let (before, after) = (run(&cases().join("house-wire.toml"), "run"), run(&calibrated, "run"));
    assert!(width(&after) < 0.7 * width(&before), "{} then {}", width(&before), width(&after));
    assert_eq!((guesses(&before), guesses(&after)), (1, 0));
    // The trial says next to nothing of the air's.
    assert!(after["warnings"].to_string().contains("air gap"), "{}", after["warnings"]);
    let inputs = after["band_inputs"].as_array().unwrap();
    assert!(inputs.iter().any(|input| input["varied"] == "mode" && input["input"] == "mode 1"), "{inputs:?}");
    let rank = run(&calibrated, "rank");
    assert!(rank.to_string().contains("\"mode 1\""), "{rank}");
    // A second trial starts from what the first one left.
    let mut again = Command::cargo_bin("quenchway").unwrap();
    again.current_dir(place.path()).arg("fit").arg(&calibrated).arg("--data");
    let output =
        again.arg(cases().join("trials/house-wire-trial.csv")).args(["--write", "again.toml"]).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", texts(&output).1);
    assert!(width(&run(&place.path().join("again.toml"), "run")) < width(&after));
}
