//! Answers as they are printed: a line that runs at the printed speed, or has the printed trough, meets every limit.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use quenchway::case::{Case, Limit, Quantity};
use quenchway::march::march;
use quenchway::study::ceilings::{limits, of_plant};
use quenchway::study::design::Asked;
use quenchway::study::key_path::KeyPath;
use quenchway::study::length::{LengthError, needed_as, with_length};
use quenchway::study::speed::{SpeedError, top_speed_as, with_speed};
use quenchway::units::{Celsius, Dimension, Printed, System, parse};
use quenchway_validation::random;
use rayon::prelude::*;

/// Names of all limits and ceilings that a careful march of a case exceeds.
fn exceeded(case: &Case) -> Vec<String> {
    let solution = march(case).unwrap();
    let all = limits(case).into_iter().chain(of_plant(case));
    all.filter(|ceiling| ceiling.excess(case, &solution) > 0.0).map(|ceiling| ceiling.name).collect()
}

/// Printed on its side of the answer itself, no farther than a hundredth or two last digits of a short length.
fn is_safe(printed: &Printed, exact: f64, dimension: Dimension, sign: f64) {
    assert_eq!(parse(&printed.to_string(), dimension), Ok(printed.si), "{printed}");
    let off = sign * (printed.si - exact);
    assert!(off >= -1e-8 * exact && off <= 0.0101 * exact + 0.04, "{printed} of {exact}");
    let digits = printed.number.trim_start_matches(['0', '.']).replace('.', "").len();
    assert!(digits >= 3, "{printed}");
}

/// A random case with a limit that it just meets: the core at its last station is as warm as it is. Its longest section grows.
fn limited(seed: u64) -> Case {
    let mut case = random::case(seed);
    let solution = march(&case).unwrap();
    let last = case.stations.len() - 1;
    case.stations.iter_mut().for_each(|station| station.limits.clear());
    let core = Celsius(solution.stations[last].point.core);
    case.stations[last].limits = vec![Limit { quantity: Quantity::Core, max: core }];
    let longest = (0..case.sections.len()).max_by(|&a, &b| case.sections[a].length.total_cmp(&case.sections[b].length));
    case.plant.adjustable = longest.into_iter().collect();
    case
}

#[test]
fn fifty_random_cases_meet_their_limits_at_what_is_printed() {
    let outcomes: Vec<[bool; 2]> = (5000..5050_u64)
        .into_par_iter()
        .map(|seed| {
            let case = limited(seed);
            let system = if seed % 2 == 0 { System::Si } else { System::Us };
            let asked = Asked { range: false, print: Some(system) };
            let fast = match top_speed_as(&case, asked) {
                Ok(found) => {
                    let printed = found.printed.unwrap();
                    is_safe(&printed, found.top, Dimension::Speed, -1.0);
                    assert_eq!(exceeded(&with_speed(&case, printed.si)), [""; 0], "seed {seed}: {printed}");
                    assert_eq!(found.case.line_speed, printed.si);
                    true
                }
                Err(SpeedError::NoSpeed { .. } | SpeedError::NoCeilingReached { .. }) => false,
                Err(error) => panic!("seed {seed}: {error}"),
            };
            let long = match needed_as(&case, asked) {
                Ok(found) => {
                    let printed = found.printed.unwrap();
                    is_safe(&printed, found.length, Dimension::Length, 1.0);
                    let trough = with_length(&case, printed.si).unwrap();
                    assert_eq!(exceeded(&trough), [""; 0], "seed {seed}: {printed}");
                    assert_eq!(found.built.lengths, [printed.si], "seed {seed}");
                    true
                }
                Err(LengthError::NoLength { .. }) => false,
                Err(error) => panic!("seed {seed}: {error}"),
            };
            [fast, long]
        })
        .collect();
    // Few have no answer: a cold product in warm air, a station before what grows.
    for which in [0, 1] {
        let answered = outcomes.iter().filter(|outcome| outcome[which]).count();
        assert!(answered >= 35, "{answered} of 50 have an answer {which}");
    }
}

/// What the program says of a case, without the breaks of its lines; nothing where it has no answer.
fn said(command: &str, file: &Path, units: &str) -> Option<String> {
    let mut program = Command::cargo_bin("quenchway").unwrap();
    let output = program.arg(command).arg(file).args(["--no-band", "--units", units]).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    output.status.success().then(|| text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// The number and the unit that end a text: "7 passes of 8.42 m" says 8.42 m.
fn amount(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words[words.len() - 2..].join(" ")
}

/// What stands in a report between two texts.
fn between<'a>(report: &'a str, from: &str, to: &str) -> &'a str {
    let (_, rest) = report.split_once(from).unwrap_or_else(|| panic!("no {from:?} in {report}"));
    rest.split_once(to).unwrap_or_else(|| panic!("no {to:?} in {rest}")).0
}

fn set(case: &mut Case, path: &str, text: &str) {
    let variable = KeyPath::find(case, path).unwrap();
    let value = variable.parse_value(text).unwrap();
    variable.set(case, value).unwrap();
}

/// The text of every report, typed back into its case.
#[test]
fn every_case_file_meets_its_limits_at_what_its_report_says() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let files: Vec<PathBuf> = files.filter(|path| path.extension().is_some_and(|end| end == "toml")).collect();
    let found: Vec<[usize; 2]> = files
        .par_iter()
        .map(|file| {
            let case = quenchway::input::read(&std::fs::read_to_string(file).unwrap()).unwrap();
            let mut counts = [0; 2];
            for units in ["si", "us"] {
                if let Some(report) = said("speed", file, units) {
                    let speed = amount(between(&report, "Verdict", " IS THE FASTEST"));
                    let mut case = case.clone();
                    set(&mut case, "line.speed", &speed);
                    assert_eq!(exceeded(&case), [""; 0], "{}: {speed}", file.display());
                    counts[0] += 1;
                }
                if let Some(report) = said("length", file, units) {
                    let length = amount(between(&report, "Verdict", " OF TROUGH ARE NEEDED"));
                    let trough = with_length(&case, parse(&length, Dimension::Length).unwrap()).unwrap();
                    assert_eq!(exceeded(&trough), [""; 0], "{}: {length}", file.display());
                    let mut built = case.clone();
                    let sections = between(&report, " Build: ", ". The line is then ");
                    // A name in quotation marks, then its length.
                    let parts: Vec<&str> = sections.split('"').skip(1).collect();
                    for part in parts.chunks(2) {
                        set(
                            &mut built,
                            &format!("section.{:?}.length", part[0]),
                            &amount(part[1].trim_end_matches([',', ' '])),
                        );
                    }
                    assert_eq!(exceeded(&built), [""; 0], "{}: {sections}", file.display());
                    counts[1] += 1;
                }
            }
            counts
        })
        .collect();
    let total = |which: usize| found.iter().map(|counts| counts[which]).sum::<usize>();
    assert!(total(0) >= 12 && total(1) >= 8, "{} speeds, {} lengths of {} files", total(0), total(1), files.len());
}
