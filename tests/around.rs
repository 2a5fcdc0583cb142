//! Water that does not touch all round, as its user meets it: report, limits, doubts, studies, files.

use std::fs;
use std::path::Path;
use std::process::Command;

use quenchway::case::CaseFile;
use quenchway::file::resolved::resolved;
use quenchway::march::march_by_rule;
use quenchway::march::output::Output;
use quenchway::names::key_path::KeyPath;
use serde_json::Value;

/// The house wire with these keys in its trough.
fn text(keys: &str) -> String {
    let text = include_str!("../cases/house-wire.toml");
    text.replace("medium = \"water\"", &format!("medium = \"water\"\n{keys}"))
}

fn read(keys: &str) -> CaseFile {
    quenchway::file::read(&text(keys)).unwrap()
}

/// What the program says to a question on a case file.
fn said(text: &str, question: &[&str]) -> String {
    let place = tempfile::tempdir().unwrap();
    let case = place.path().join("case.toml");
    fs::write(&case, text).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_quenchway"));
    let output = command.current_dir(place.path()).arg(question[0]).arg(&case).args(&question[1..]).output().unwrap();
    let words = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!words.is_empty(), "{question:?}: {}", String::from_utf8_lossy(&output.stderr));
    words
}

fn json(text: &str, question: &[&str]) -> Value {
    serde_json::from_str(&said(text, &[question, &["--json"]].concat())).unwrap()
}

/// What the report says are the numbers of the solution, and the limit of the surface judges the hot side.
#[test]
fn the_report_says_what_the_dry_side_does() {
    let text = text("film = \"5000 W/(m2 K)\"\nwetted = 0.5\ndry_film = \"10 W/(m2 K)\"");
    let solution = json(&text, &["run"]);
    let (trough, capstan) = (&solution["sections"][1], &solution["stations"][2]);
    let of = |value: &Value| value.as_f64().unwrap();
    assert_eq!(of(&trough["around"]["film_W_m2K"]), 5000.0);
    let (all_round, dry) = (of(&trough["around"]["film_all_round_W_m2K"]), of(&trough["exit"]["hot_side_degC"]));
    // What the rule gives by hand at 7.2 s: G = 198 W/(m2 K); the mean film would be 2505.
    assert!((195.0..215.0).contains(&all_round), "{all_round}");
    let report = said(&text, &["run"]);
    for words in [
        "Water touches 50 % of the circumference in \"trough\": at its end it cools like a film of".to_string(),
        format!(
            "The dry side leaves it at about {dry:.0} degC, the mean surface at {:.0} degC.",
            of(&trough["exit"]["surface_degC"])
        ),
        "wetting it all round or turning it helps".to_string(),
        "hot side of the surface at \"capstan\" is".to_string(),
        "part of the circumference that water touches in \"trough\"".to_string(),
    ] {
        assert!(report.contains(&words), "{words}\n{report}");
    }
    let limit = &capstan["limits"][0];
    assert_eq!((&limit["name"], &limit["value_degC"]), (&Value::from("surface_max"), &capstan["hot_side_degC"]));
    assert!(of(&capstan["hot_side_degC"]) > of(&capstan["surface_degC"]) + 30.0, "{capstan}");
    assert!(of(&capstan["hottest_degC"]) >= of(&capstan["hot_side_degC"]));
    // Core and adiabatic mix are judged as they are.
    assert_eq!(capstan["limits"][1]["value_degC"], capstan["core_degC"]);
    let input =
        solution["band_inputs"].as_array().unwrap().iter().find(|input| input["input"] == "section.trough.wetted");
    let ends = input.map(|input| [of(&input["low_end"]), of(&input["high_end"])]).unwrap();
    assert!((ends[0] - 0.8).abs() < 1e-12 && (ends[1] - 1.2).abs() < 1e-12, "{ends:?}");
    // All round nothing of it is said.
    let plain = json(include_str!("../cases/house-wire.toml"), &["run"]);
    let keys = plain["stations"][2].as_object().unwrap();
    assert!(!keys.contains_key("hot_side_degC") && plain["sections"][1].get("around").is_none());
}

/// A half-wetted wire cools through half its wall whatever the film is; wetted all round it does not.
#[test]
fn more_film_on_a_wet_half_is_worth_little() {
    let core = |keys: &str| march_by_rule(&read(keys)).unwrap().stations[2].point.core;
    let with = |film: u32, wetted: f64| core(&format!("film = \"{film} W/(m2 K)\"\nwetted = {wetted}"));
    let (half, gained) = (with(3000, 0.5), with(3000, 0.5) - with(3000, 1.0));
    assert!(gained > 25.0 && half - with(12_000, 0.5) < 0.2 * gained, "{half} {gained}");
    let turning = core("film = \"3000 W/(m2 K)\"\nwetted = 0.5\nturning = true");
    assert!(with(3000, 0.5) - turning > 25.0, "turning helps");
}

#[test]
fn a_spray_says_what_it_assumes() {
    let spray = include_str!("../cases/spray-jacket.toml");
    let case = quenchway::file::read(spray).unwrap();
    let kinds: Vec<&str> = case.assumptions.iter().map(|assumed| assumed.kind()).collect();
    assert!(kinds.contains(&"spray_all_round"), "{kinds:?}");
    let written = resolved(&case);
    assert!(written.contains("wetted = 1\n"), "{written}");
    let again = quenchway::file::read(&written).unwrap();
    assert!(again.assumptions.is_empty());
    let [before, after] = [case, again].map(|case| march_by_rule(&case).unwrap().stations[0].point.surface);
    // SI writes some numbers in another unit, to the last bit but one.
    assert!((before - after).abs() < 1e-6, "{before} {after}");
}

#[test]
fn the_keys_come_back_as_they_were() {
    for keys in ["wetted = 0.625\ndry_film = \"14 W/(m2 K)\"", "poured = true", "one_sided = 4\nturning = true"] {
        let case = read(keys);
        let again = quenchway::file::read(&resolved(&case)).unwrap();
        assert_eq!(again.sections[1].wetting, case.sections[1].wetting, "{keys}");
    }
}

/// Studies set the part that is wet and judge the hot side: less of it needs a longer trough.
#[test]
fn studies_vary_what_is_wet_and_judge_the_hot_side() {
    let mut case = read("wetted = 0.9");
    let wetted = KeyPath::find(&case, "section.trough.wetted").unwrap();
    assert_eq!((wetted.get(&case), wetted.bounds), (0.9, [0.01, 1.0]));
    assert!(wetted.set(&mut case, 1.2).is_err());
    let hot_side = Output::find(&case, "capstan.hot_side").unwrap();
    let at = |part: f64| {
        let mut case = case.clone();
        wetted.set(&mut case, part).unwrap();
        hot_side.of(&march_by_rule(&case).unwrap())
    };
    let parts = [0.5, 0.7, 0.9, 1.0].map(at);
    assert!(parts.windows(2).all(|pair| pair[0] > pair[1]), "{parts:?}");
    assert!(KeyPath::find(&read(""), "section.trough.wetted").is_err());
    let limit = "surface_max = \"45 degC\"";
    let lax = |part: f64| {
        text(&format!("film = \"4000 W/(m2 K)\"\nwetted = {part}")).replace(limit, "surface_max = \"60 degC\"")
    };
    let length = |part: f64| json(&lax(part), &["length"])["length"]["needed_m"].as_f64();
    let (all, most) = (length(1.0), length(0.9));
    assert!(all.is_some() && most > all, "{all:?} {most:?}");
}

/// A trial tells how much of the product is wet.
#[test]
fn a_trial_fits_what_is_wet() {
    let place = tempfile::tempdir().unwrap();
    let data = place.path().join("trial.csv");
    let rows: String = [100, 130, 160]
        .map(|speed| {
            let mut case = read("film = \"4000 W/(m2 K)\"\nwetted = 0.6");
            case.line_speed = f64::from(speed) / 60.0;
            let solution = march_by_rule(&case).unwrap();
            let point = &solution.stations[2].point;
            format!("{speed},{:.2},{:.2}\n", point.core, point.equalised)
        })
        .concat();
    fs::write(&data, format!("line.speed [m/min],capstan.core [degC],capstan.equalised [degC]\n{rows}")).unwrap();
    let guess = text("film = \"4000 W/(m2 K)\"\nwetted = 0.8");
    let fitted = json(&guess, &["fit", "--data", data.to_str().unwrap(), "--unknown", "section.trough.wetted"]);
    let of = |value: &Value| value.as_f64().unwrap_or_else(|| panic!("{fitted}"));
    let unknown = &fitted["unknowns"][0];
    // The other inputs take part with their bands.
    assert!((of(&unknown["value"]) - 0.6).abs() < 0.1, "{fitted}");
    assert!(of(&unknown["interval"][0]) < 0.6 && of(&unknown["interval"][1]) > 0.6, "{fitted}");
}

/// What a run writes, read back: the hot side along the line, at stations and ends.
#[test]
fn the_results_file_has_the_hot_side() {
    let place = tempfile::tempdir().unwrap();
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/poured-jacket.toml");
    let output = assert_cmd::Command::cargo_bin("quenchway").unwrap();
    let output = { output }.current_dir(place.path()).arg("run").arg(case).args(["--out", "out", "--no-band"]).output();
    assert!(output.unwrap().status.success());
    let stored = crate::store::read::read(&place.path().join("out/poured-jacket.h5"));
    let hot_side = stored.fields.hot_side.as_ref().unwrap();
    let capstan = &stored.stations[2].point;
    assert!((hot_side[hot_side.len() - 1] - capstan.hot_side.unwrap()).abs() < 1e-9);
    assert!(stored.stations[0].point.hot_side.is_none() && stored.sections[1].around.is_some());
    assert_eq!(stored.stations[2].limits[0].value, capstan.hot_side.unwrap());
    // Behind the first touch no side is cooler than the mean.
    assert!(hot_side.iter().zip(&stored.fields.surface).all(|(hot, mean)| hot >= mean));
}
