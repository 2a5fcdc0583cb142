//! A limit on the melt's shrink under a set skin is heeded by every question, in its own unit.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

const LIMIT: &str = "insulation.melt_shrink";

/// A thick core whose warm trough, hotter than in the case, may grow.
fn case(place: &Path) -> std::path::PathBuf {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    let text = std::fs::read_to_string(cases.join("thick-pe-core.toml")).unwrap();
    let limited = text
        .replace("material = \"hdpe\"", "material = \"hdpe\"\nmelt_shrink_max = \"12 %\"")
        .replace("length = \"6 m\"\ntemperature = \"65 degC\"", "length = \"1 m\"\ntemperature = \"90 degC\"");
    // A tenth of a kelvin: what is heeded does not hang on the last digits, and the questions take seconds.
    let limited = limited + "\n[plant]\nadjustable = [\"warm trough\"]\n\n[solver]\ntolerance = \"0.1 K\"\n";
    let path = place.join("case.toml");
    std::fs::write(&path, limited).unwrap();
    path
}

/// Report and JSON of a question, and its results file in the same place.
fn answer(place: &Path, question: &[&str]) -> (String, Value) {
    let case = case(place);
    let run = |more: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_quenchway"));
        let output = command.current_dir(place).arg(question[0]).arg(&case).args(&question[1..]).args(more).output();
        String::from_utf8(output.unwrap().stdout).unwrap()
    };
    let report = run(&["--out", "out"]).split_whitespace().collect::<Vec<_>>().join(" ");
    let json = run(&["--json"]);
    (report, serde_json::from_str(&json).unwrap_or_else(|error| panic!("{question:?}: {error}: {json}")))
}

fn named(list: &Value) -> &Value {
    list.as_array().unwrap().iter().find(|row| row["name"] == LIMIT).unwrap_or_else(|| panic!("{list}"))
}

fn values(place: &Path, file: &str, variable: &str) -> Vec<f64> {
    hdf5_metno::File::open(place.join("out").join(file)).unwrap().dataset(variable).unwrap().read_raw().unwrap()
}

#[test]
fn it_decides_the_length() {
    let place = tempfile::tempdir().unwrap();
    let (report, json) = answer(place.path(), &["length"]);
    let length = &json["length"];
    assert_eq!(length["decides"], LIMIT, "{length}");
    let limit = named(&length["limits"]);
    assert_eq!((&limit["limit_percent"], limit.get("limit_degC")), (&Value::from(12.0), None), "{limit}");
    let reached = limit["value_percent"].as_f64().unwrap();
    assert!((11.9..=12.0).contains(&reached), "{limit}");
    assert!(report.contains("melt shrink under the skin of \"insulation\" decides, its limit is 12 %"), "{report}");
    // The uncertainty of the inputs moves it: the favourable end needs less, the unfavourable more, or finds none.
    let (range, needed) = (&length["range"], length["needed_m"].as_f64().unwrap());
    assert!(range["largest"].as_str().is_some_and(|largest| !largest.is_empty()), "{range}");
    assert!(range["favourable_m"].as_f64().is_none_or(|favourable| favourable < needed), "{range} {needed}");
    assert!(range["unfavourable_m"].as_f64().is_none_or(|unfavourable| unfavourable > needed), "{range} {needed}");
    // In a column of temperatures it has its own unit; its name takes two lines of the table.
    let row = format!("melt shrink under the 12 % {:.2} 12.0 % ", (needed * 100.0).ceil() / 100.0);
    assert!(report.contains(&row) && report.contains(" % skin of \"insulation\" Over line speeds"), "{row}: {report}");
    let shrink = values(place.path(), "case-length.h5", "limit_melt_shrink");
    let celsius = values(place.path(), "case-length.h5", "limit_temperature");
    assert!(shrink.iter().zip(&celsius).all(|(a, b)| a.is_nan() != b.is_nan()) && shrink.contains(&12.0), "{shrink:?}");
}

#[test]
fn its_chance_is_counted_and_its_inputs_ranked() {
    let place = tempfile::tempdir().unwrap();
    let (report, json) = answer(place.path(), &["spread", "--samples", "64"]);
    let limit = named(&json["limits"]);
    assert_eq!((&limit["limit_percent"], limit.get("limit_degC")), (&Value::from(12.0), None), "{limit}");
    let chance = limit["probability"].as_f64().unwrap();
    assert!(chance < 0.9 && report.contains("insulation.melt_shrink 12 %"), "{chance} {report}");
    assert!(values(place.path(), "case-spread.h5", "limit_melt_shrink").contains(&12.0));

    let (report, json) = answer(place.path(), &["rank"]);
    assert_eq!(json["deciding"], LIMIT, "{json}");
    let place_of = json["targets"].as_array().unwrap().iter().position(|target| target["name"] == LIMIT).unwrap();
    assert_eq!(json["targets"][place_of]["limit_percent"], 12.0);
    let change =
        |effect: &Value| [&effect["changes_percent"][place_of], &effect["changes_K"][place_of]].map(Value::as_f64);
    let changes: Vec<[Option<f64>; 2]> = json["numbers"].as_array().unwrap().iter().map(change).collect();
    assert!(changes.iter().any(|[percent, kelvin]| percent.is_some() && kelvin.is_none()), "{changes:?}");
    assert!(report.contains("12 % are allowed") || report.contains("12.0 % are allowed"), "{report}");
    assert!(values(place.path(), "case-rank.h5", "target_melt_shrink_limit").contains(&12.0));
}
