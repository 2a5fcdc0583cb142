#![allow(clippy::unwrap_used)]

use std::path::PathBuf;

use quenchway::case::CaseFile;
use quenchway::study::fit::Trial;

use super::read;
use crate::diagnostic::{Failure, Look};

fn case() -> CaseFile {
    quenchway::file::read(include_str!("../../../cases/house-wire.toml")).unwrap()
}

/// Every number that a trial holds, in SI.
fn numbers(trials: &[Trial]) -> Vec<(Vec<f64>, Vec<[f64; 2]>)> {
    let of = |trial: &Trial| {
        let settings = trial.settings.iter().map(|(_, value)| *value).collect();
        (settings, trial.measurements.iter().map(|m| [m.value, m.uncertainty]).collect())
    };
    trials.iter().map(of).collect()
}

const PLAIN: &str = "\
# invented
line.speed [m/min],section.trough.temperature [degC],trough exit.surface [degC] ± 3 K,capstan.equalised [degC],hot gauge.diameter [mm]

±,,,1.5,
120,16.5,31.0,52.3,3.41
150,,34.5 ± 1,,\"3.42 mm\"
180,17,,,
";

#[test]
fn settings_values_and_uncertainties_are_read() {
    let data = read(PLAIN, &case(), &[]).unwrap();
    let expected = [
        (vec![2.0, 16.5], vec![[31.0, 3.0], [52.3, 1.5], [3.41e-3, 1e-5]]),
        (vec![2.5], vec![[34.5, 1.0], [3.42e-3, 1e-5]]),
    ];
    for (found, expected) in numbers(&data.trials).iter().zip(&expected) {
        assert_eq!(found.0, expected.0);
        let off = found.1.iter().flatten().zip(expected.1.iter().flatten()).map(|(a, b)| (a / b - 1.0).abs());
        assert!(found.1.len() == expected.1.len() && off.fold(0.0, f64::max) < 1e-12, "{found:?}");
    }
    assert_eq!((data.trials.len(), &data.lines[..]), (2, &[5, 6][..]), "a row without a measurement is none");
    assert_eq!(data.uncertainties[2], ["\"hot gauge\".diameter", "0.01 mm", "usual, common practice without a source"]);
    assert_eq!(data.uncertainties[1][1], "1.5 K");
}

#[test]
fn spreadsheets_of_other_countries_are_read() {
    let case = case();
    let plain = numbers(&read(PLAIN, &case, &[]).unwrap().trials);
    let semicolons = format!("\u{feff}{}", PLAIN.replace('.', "@").replace(',', ";").replace('@', ","));
    // Names keep their point, numbers have the comma.
    let semicolons =
        semicolons.replace("line,speed", "line.speed").replace("section,trough,temp", "section.trough.temp");
    let semicolons =
        semicolons.replace("exit,s", "exit.s").replace("capstan,e", "capstan.e").replace("gauge,d", "gauge.d");
    assert!(semicolons.contains("120;16,5;31,0;52,3;3,41"), "{semicolons}");
    assert_eq!(numbers(&read(&semicolons, &case, &[]).unwrap().trials), plain);
    let windows = PLAIN.replace('\n', "\r\n");
    assert_eq!(numbers(&read(&windows, &case, &[]).unwrap().trials), plain);
    let data = read("line.speed [ft/min],capstan.surface [°F]\n±,3.6\n500,95\n", &case, &[]).unwrap();
    let measured = &data.trials[0].measurements[0];
    assert!((measured.value - 35.0).abs() < 1e-9 && (measured.uncertainty - 2.0).abs() < 1e-9, "{measured:?}");
}

/// Each wrong file with what is said of it.
#[test]
fn what_is_wrong_is_said_with_its_line_and_column() {
    let head = "line.speed [m/min],capstan.surface [degC]\n";
    let rows = [
        ("", "the file holds no header"),
        (head, "no row holds a measured value"),
        ("line.speed [m/min]\n120\n", "no column is a measurement"),
        (
            "line.sped [m/min],capstan.surface [degC]\n120,40\n",
            "line 1, column A: line.sped is neither a number of the case nor one of its outputs",
        ),
        ("line.speed [m/min],capstan.surfaces [degC]\n120,40\n", "help: did you mean capstan.surface?"),
        (
            "line.speed [mm],capstan.surface [degC]\n120,40\n",
            "line 1, column A (line.speed): mm is a length, a speed was expected",
        ),
        (
            &format!("{head}120,40\n130,about 40\n"),
            "line 3, column B (capstan.surface): \"about 40\" does not begin with a number",
        ),
        (&format!("{head}120 rpm,40\n"), "line 2, column A (line.speed): "),
        (&format!("{head}1e9,40\n"), "is outside what is possible there"),
        (&format!("{head}120,40,41\n"), "line 2, column C: this cell has no column: the header has 2 columns"),
        (&format!("{head}±,0\n120,40\n"), "line 2, column B (capstan.surface): an uncertainty is larger than zero"),
        (&format!("{head}±,2 degC\n120,40\n"), "line 2, column B (capstan.surface): "),
        (&format!("{head}120 ± 1,40\n"), "a setting is taken as exact"),
        ("line.speed ± 1 [m/min],capstan.surface [degC]\n120,40\n", "a setting is taken as exact"),
        (
            "line.speed,capstan.surface [degC]\n120,40\n",
            "m/min, m/s or ft/min; or write the unit once, in the header: line.speed [m/min]",
        ),
        (
            "line.speed [m/min],line.speed [m/s],capstan.surface [degC]\n120,2,40\n",
            "line 1, column B (line.speed): column A gives this setting already",
        ),
        ("trough.heat [kW]\n3\n", "line 1, column A (trough.heat): this has no usual uncertainty"),
        ("[degC],capstan.surface [degC]\n120,40\n", "line 1, column A: this column has no name"),
    ];
    let case = case();
    for (text, expected) in rows {
        let problems = read(text, &case, &[]).unwrap_err();
        let failure = Failure::Case { path: PathBuf::from("trial.csv"), text: text.to_string(), problems };
        let shown = failure.render(Look { width: 200, ..Look::PLAIN });
        println!("{shown}");
        assert!(shown.contains(expected), "{text}\ngives\n{shown}");
        assert!(shown.contains("1 problem in trial.csv; nothing was computed"), "{text}\ngives\n{shown}");
    }
}

#[test]
fn the_caret_is_under_the_cell() {
    let text = "line.speed [m/min],\"hot gauge\".diameter [mm]\n120,3.41\n# a comment\n\n130,\"wide\"\n";
    let problems = read(text, &case(), &[]).unwrap_err();
    assert_eq!(&text[problems[0].span.clone().unwrap()], "\"wide\"");
    assert!(problems[0].key.starts_with("line 5, column B"));
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(300))]

    /// Whatever a spreadsheet writes, there is an answer or problems whose places lie in the text.
    #[test]
    fn no_text_is_too_strange(
        cells in proptest::collection::vec(
            proptest::sample::select(vec![
                "line.speed [m/min]", "capstan.surface [degC]", "hot gauge.diameter", "\"hot gauge\".diameter [mm] ± 1", "±", "+-",
                "120", "3,4", "34.5 ± 1", "\"", "\"\"", "[", "]", "#", "é", "\u{feff}", " ", "\t", "1e999", "-0", "perfect", ",", ";",
                "\n", "\r", "\r\n",
            ]),
            0..40,
        ),
        separator in proptest::sample::select(vec![",", ";", "\t", ""]),
    ) {
        let text = cells.join(separator);
        if let Err(problems) = read(&text, &case(), &[]) {
            proptest::prop_assert!(!problems.is_empty());
            for span in problems.iter().filter_map(|problem| problem.span.clone()) {
                proptest::prop_assert!(text.get(span.clone()).is_some(), "{span:?} of {text:?}");
            }
        }
    }
}
