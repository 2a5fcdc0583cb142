//! Answers as they are printed: a line that runs at the printed speed, or has the printed trough, meets every limit.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use quenchway::case::{CaseFile, Limit, Quantity};
use quenchway::march::march;
use quenchway::names::key_path::KeyPath;
use quenchway::study::length::{LengthError, needed_as, with_length};
use quenchway::study::search::ceilings::{limits, of_plant};
use quenchway::study::search::confirm::Asked;
use quenchway::study::speed::{SpeedError, top_speed_as, with_speed};
use quenchway::units::{Celsius, Dimension, Printed, System, parse};
use quenchway_validation::random;
use rayon::prelude::*;

/// Names of all limits and ceilings that a careful march of a case exceeds.
fn exceeded(case: &CaseFile) -> Vec<String> {
    let solution = march(case).unwrap();
    let all = limits(case).into_iter().chain(of_plant(case));
    all.filter(|ceiling| ceiling.excess(case, &solution) > 0.0).map(|ceiling| ceiling.name).collect()
}

/// Printed on its side of the answer itself, no farther than a hundredth or two last digits of a short length.
fn is_safe(printed: &Printed, exact: f64, dimension: Dimension, sign: f64) -> Result<(), String> {
    let off = sign * (printed.si - exact);
    let digits = printed.number.trim_start_matches(['0', '.']).replace('.', "").len();
    let read = parse(&printed.to_string(), dimension) == Ok(printed.si);
    let near = off >= -1e-8 * exact && off <= 0.0101 * exact + 0.04;
    if read && near && digits >= 3 { Ok(()) } else { Err(format!("{printed} of {exact}")) }
}

/// A random case with a limit that a faster line reaches: the core at its last station 2 K warmer than it is. Its longest
/// section grows.
fn limited(seed: u64) -> CaseFile {
    let mut case = CaseFile::from(random::case(seed));
    let solution = march(&case).unwrap();
    let last = case.stations.len() - 1;
    case.stations.iter_mut().for_each(|station| station.limits.clear());
    // At its own temperature a core that has come to that of the water would leave no speed to tell from another.
    let core = Celsius(solution.stations[last].point.core + 2.0);
    case.stations[last].limits = vec![Limit { quantity: Quantity::Core, max: core }];
    let longest = (0..case.sections.len()).max_by(|&a, &b| case.sections[a].length.total_cmp(&case.sections[b].length));
    case.plant.adjustable = longest.into_iter().collect();
    case
}

/// Whether a random case has a fastest speed and a needed length; what is wrong with them as they are printed.
fn outcome(seed: u64) -> Result<[bool; 2], String> {
    let case = limited(seed);
    let system = if seed.is_multiple_of(2) { System::Si } else { System::Us };
    let asked = Asked { range: false, print: Some(system) };
    let meets = |case: &CaseFile, printed: &Printed| match &exceeded(case)[..] {
        [] => Ok(true),
        names => Err(format!("seed {seed}: {names:?} at {printed}")),
    };
    let fast = match top_speed_as(&case, asked) {
        Ok(found) => {
            let printed = found.printed.ok_or("no speed was printed")?;
            is_safe(&printed, found.top, Dimension::Speed, -1.0)?;
            meets(&with_speed(&case, printed.si), &printed)?
        }
        Err(SpeedError::NoSpeed { .. } | SpeedError::NoCeilingReached { .. }) => false,
        Err(error) => return Err(format!("seed {seed}: {error}")),
    };
    let long = match needed_as(&case, asked) {
        Ok(found) => {
            let printed = found.printed.ok_or("no length was printed")?;
            is_safe(&printed, found.length, Dimension::Length, 1.0)?;
            if found.built.lengths != [printed.si] {
                return Err(format!("seed {seed}: {:?} are built where {printed} are needed", found.built.lengths));
            }
            meets(&with_length(&case, printed.si).unwrap(), &printed)?
        }
        Err(LengthError::NoLength { .. }) => false,
        Err(error) => return Err(format!("seed {seed}: {error}")),
    };
    Ok([fast, long])
}

#[test]
fn fifty_random_cases_meet_their_limits_at_what_is_printed() {
    let outcomes: Vec<Result<[bool; 2], String>> = (5000..5050_u64).into_par_iter().map(outcome).collect();
    let wrong: Vec<&String> = outcomes.iter().filter_map(|outcome| outcome.as_ref().err()).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    // Few have no answer: a cold product in warm air, a station before what grows.
    for which in [0, 1] {
        let answered = outcomes.iter().flatten().filter(|outcome| outcome[which]).count();
        assert!(answered >= 30, "{answered} of 50 have an answer {which}: {outcomes:?}");
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

fn set(case: &mut CaseFile, path: &str, text: &str) {
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
            let case = quenchway::file::read(&std::fs::read_to_string(file).unwrap()).unwrap();
            let mut counts = [0; 2];
            for units in ["si", "us"] {
                if let Some(report) = said("speed", file, units) {
                    let speed = amount(between(&report, "FASTEST SPEED: ", "; "));
                    let mut case = case.clone();
                    set(&mut case, "line.speed", &speed);
                    assert_eq!(exceeded(&case), [""; 0], "{}: {speed}", file.display());
                    counts[0] += 1;
                }
                if let Some(report) = said("length", file, units) {
                    let length = amount(between(&report, "TROUGH NEEDED: ", "; "));
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
