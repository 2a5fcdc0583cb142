//! The page on general integrators: what it says follows from its own figures, from the peers' sources that are here, and from
//! the engine of today.

use std::fs;
use std::path::{Path, PathBuf};

use quenchway::case::Case;
use quenchway::line::Settings;
use quenchway::march::march_with;
use sha2::{Digest, Sha256};

use crate::benchmarks::{SectionEnd, problem};

const PROBLEMS: [&str; 4] = ["P1", "P2", "P3", "P4"];
/// What the figures of the peers come from, and how those of the engine are taken.
const SOURCES: [&str; 6] = [
    "solver/examples/work_precision.rs",
    "validation/peers/problems.py",
    "validation/peers/requirements.txt",
    "validation/peers/rings.c",
    "validation/peers/rings.py",
    "validation/peers/run.py",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn page() -> String {
    read("docs/peers.md")
}

/// Cells of the rows below the header that begins so.
fn rows(page: &str, header: &str) -> Vec<Vec<String>> {
    let (_, table) = page.split_once(header).unwrap_or_else(|| panic!("no table {header}"));
    let rows = table.lines().skip(2).take_while(|line| line.starts_with('|'));
    rows.map(|row| row.trim_matches('|').split('|').map(|cell| cell.trim().to_string()).collect()).collect()
}

/// The number that a cell begins with.
fn number(cell: &str) -> f64 {
    let word = cell.split_whitespace().next().unwrap_or_default();
    word.replace(',', "").parse().unwrap_or_else(|_| panic!("no number: {cell:?}"))
}

/// Whether a quotient of two numbers of four decimals may be printed so with one.
fn is_ratio(printed: f64, [over, under]: [f64; 2]) -> bool {
    let (low, high) = ((over - 5.1e-5) / (under + 5.1e-5), (over + 5.1e-5) / (under - 5.1e-5));
    (low - 0.0501..=high + 0.0501).contains(&printed)
}

/// Errors and steps of the engine at every tolerance of the page are those of the engine that is here: when its steps or its mesh
/// change, the page is stale. `make peers` writes it anew.
#[test]
fn the_engine_does_what_the_page_says() {
    let page = page();
    let rows = rows(&page, "| asked | P1 | P2 | P3 | P4 |");
    assert_eq!(rows.len(), 9);
    for (column, name) in PROBLEMS.iter().enumerate() {
        let (case, expected) = problem(name);
        for row in &rows {
            let tolerance = number(row[0].strip_prefix("tolerance ").unwrap());
            let case = Case { tolerance, ..case.clone() };
            let (solution, run) = march_with(&case, &Settings::rule(tolerance)).unwrap();
            let error =
                ends(&solution.sections.iter().map(|section| &section.exit).collect::<Vec<_>>(), &expected.sections);
            let steps = run.steps[0] + run.steps[1];
            let [said, said_steps] = row[column + 1].split(" K in ").collect::<Vec<_>>()[..] else { panic!("{row:?}") };
            let rounded: f64 = format!("{error:.0e}").parse().unwrap();
            assert!((number(said) / rounded - 1.0).abs() < 1e-9, "{name}, {row:?}: {error:.2e} K; run `make peers`");
            assert_eq!(said_steps, format!("{steps} steps"), "{name}, {row:?}; run `make peers`");
        }
    }
}

/// The largest difference at the ends of the sections, K.
fn ends(found: &[&quenchway::march::solution::PointReport], wanted: &[SectionEnd]) -> f64 {
    assert_eq!(found.len(), wanted.len());
    let mut worst: f64 = 0.0;
    for (exit, wanted) in found.iter().zip(wanted) {
        let mean = exit.layer_means.last().unwrap();
        let joints = exit.interfaces.iter().zip(&wanted.interfaces);
        let joints = joints.flat_map(|(joint, [inner, outer])| [joint.inner - inner, joint.outer - outer]);
        let all = [exit.core - wanted.axis, exit.surface - wanted.surface, mean - wanted.outer_layer_mean];
        worst = all.into_iter().chain(joints).fold(worst, |worst, difference| worst.max(difference.abs()));
    }
    worst
}

/// The page was written from the peers' sources that are here, with the versions that `make peers` installs.
#[test]
fn the_peers_are_those_that_the_page_names() {
    let (page, setup) = (page(), read("tests/tools/setup.sh"));
    let mut sum = Sha256::new();
    for name in SOURCES {
        let text = read(name);
        sum.update(format!("{name} {}\n", text.len()));
        sum.update(text);
    }
    let hash: String = sum.finalize().iter().take(6).map(|byte| format!("{byte:02x}")).collect();
    assert!(page.contains(&format!("peers' sources are {hash}")), "now {hash}: run `make peers`");

    let carried = "# a crate that carries the sources of SUNDIALS ";
    let version = setup.lines().find_map(|line| line.split_once(carried).map(|(_, version)| version)).unwrap();
    assert!(page.contains(&format!("SUNDIALS CVODE {version}, built from source")), "{version}");
    for (package, words) in [("scipy", "- scipy "), ("numba", "compiled by numba ")] {
        let pin = format!("{package}==");
        let requirements = read("validation/peers/requirements.txt");
        let version = requirements.lines().find_map(|line| line.strip_prefix(&pin)).unwrap();
        assert!(page.contains(&format!("{words}{version}")), "{package} {version}");
    }

    // Its sentences are those of the template, in order.
    let mut rest = page.as_str();
    for part in read("validation/peers/page.md").split('{') {
        let sentence = part.split_once('}').map_or(part, |(_, sentence)| sentence);
        let (_, after) = rest.split_once(sentence).unwrap_or_else(|| panic!("not on the page: {sentence:?}"));
        rest = after;
    }
    assert_eq!(rest, "");
}

/// Every ratio of the page is that of its times, and the sentence above the table that of its ratios.
#[test]
fn ratios_follow_from_the_times_beside_them() {
    let page = page();
    let table = rows(&page, "| problem | true error at most | engine, asked for it |");
    assert_eq!(table.len(), 12);
    let mut ranges = [[f64::INFINITY, 0.0_f64]; 2];
    for row in &table {
        let peer = if row[4].starts_with("not") { continue } else { number(&row[4]) };
        for (which, own) in [(0, &row[2]), (1, &row[3])] {
            let said = number(&row[5 + which]);
            assert!(is_ratio(said, [peer, number(own)]), "{row:?}");
            if row[1] == "0.01 K" {
                ranges[which] = [ranges[which][0].min(said), ranges[which][1].max(said)];
            }
        }
        // What the strongest setting took is told twice.
        let strongest = rows(&page, "| problem | true error at most | CVODE's fastest setting |");
        let same = strongest.iter().find(|other| other[..2] == row[..2]).unwrap();
        assert!(same[3].starts_with("not") || number(&same[3]) >= peer, "{row:?} {same:?}");
    }
    let others = rows(&page, "| problem | true error at most | trapezoidal rule");
    assert_eq!(others.len(), 12);
    for (row, of_engine) in others.iter().zip(&table) {
        assert_eq!(row[..2], of_engine[..2]);
        for cell in row[2..].iter().filter(|cell| !cell.starts_with("not")) {
            let [time, said] = cell.split(" ms, ").collect::<Vec<_>>()[..] else { panic!("{row:?}") };
            assert!(is_ratio(number(said), [number(time), number(&of_engine[3])]), "{row:?} {of_engine:?}");
        }
    }
    let [[a, b], [c, d]] = ranges;
    let sentence = format!(
        "At 0.01 K CVODE takes {a:.1} to {b:.1} times as long as the engine as asked. It takes {c:.1} to {d:.1} times as long as the \
         engine with hindsight."
    );
    assert!(page.contains(&sentence), "{sentence}");
}

/// The planning page: what it says of 16 cores, its rate and its predictions follow from its own figures.
#[test]
fn the_planning_page_adds_up() {
    let page = read("docs/planning.md");
    let near = |a: f64, b: f64, share: f64| (a / b - 1.0).abs() <= share;

    // Times on 1, 2, 4, 8, 16 cores of one node, and how many times faster.
    let table = rows(&page, "| samples | 1 core | 2 | 4 | 8 | 16 |");
    let [times, faster] = &table[..] else { panic!("{table:?}") };
    let seconds: Vec<f64> = times[1..].iter().map(|cell| number(cell)).collect();
    assert_eq!(seconds, [58.3, 29.5, 14.4, 8.6, 5.2]);
    for (time, said) in seconds.iter().zip(&faster[1..]) {
        let ratio = seconds[0] / time;
        assert!((ratio - number(said)).abs() <= 0.051, "{ratio} {said}");
    }
    let (rate, all) = (number(&times[0]) / seconds[0], 4_194_304.0 / 71.0);
    assert!(page.contains("4,194,304 samples took 71 s on its 16 cores"));
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = |before: &str| {
        let (_, after) = flat.split_once(before).unwrap_or_else(|| panic!("not on the page: {before}"));
        number(after)
    };
    assert!(near(said("join and picture included: "), all, 0.01), "{all}");
    assert!(near(said("a second, "), all / rate, 0.05), "{}", all / rate);
    assert!(near(said("That node computes "), rate, 0.02), "{rate}");

    // The model and its predictions.
    let model = rows(&page, "| | what | measured | how |");
    let of = |row: usize| model[row][2].split(", ").collect::<Vec<&str>>();
    let (r, j, bytes) = (number(of(0)[0]), 1e-6 * number(of(1)[0]), number(of(2)[0]));
    let (start, task) = (number(of(3)[0]), number(of(3)[1]));
    let told = said("took ");
    assert!(flat.contains("10⁵ samples took"), "the rate says what was measured");
    assert!(near(1e5 / told, r, 0.05), "10⁵ samples in {told} s are no rate of {r}");
    let read_time = |cell: &str| {
        let factor = match cell.split_whitespace().nth(1).unwrap_or_default().trim_end_matches([':', ',']) {
            "s" => 1.0,
            "min" => 60.0,
            "h" => 3600.0,
            other => panic!("{other}: {cell}"),
        };
        factor * number(cell)
    };
    let predictions = rows(&page, "| samples | 1 core | 64 cores, one task each |");
    assert_eq!(predictions.len(), 3);
    for (row, samples) in predictions.iter().zip([1e6, 1e8, 1e9]) {
        for (cell, cores, tasks) in [(&row[1], 1.0, 0.0), (&row[2], 64.0, 64.0), (&row[3], 4096.0, 64.0)] {
            let slurm = if tasks > 0.0 { start + task * tasks } else { 0.0 };
            let wall = samples / (r * cores) + samples * j + slurm;
            // Two digits are told.
            assert!(near(read_time(cell), wall, 0.08), "{row:?}: {wall} s on {cores}");
        }
        assert!(
            near(number(&row[4]) * if row[4].ends_with("GB") { 1e9 } else { 1e6 }, samples * bytes, 0.05),
            "{row:?}"
        );
    }
    let join = flat.split_once("It is one process that takes ").map(|(_, after)| 1e6 * number(after));
    assert!(near(join.unwrap(), 1.0 / j, 0.03) && near(said("**The join**, from about "), 1.0 / (j * r), 0.03));
    assert!(read("docs/sweep.md").contains(&format!("take {told:.1} s of one core")));

    // The same model beside measurements, with the numbers of the build that was measured.
    assert!(flat.contains("with a build whose own r is 4000 and whose j is 2.2 µs."));
    let beside = rows(&page, "| samples | cores | predicted | measured |");
    let cases = [(1e4, 1.0, 0.0), (1e4, 2.0, 0.0), (1e5, 1.0, 0.0), (1e5, 2.0, 0.0), (1e5, 2.0, 6.0), (1e6, 2.0, 0.0)];
    assert_eq!(beside.len(), cases.len());
    for (row, (samples, cores, tasks)) in beside.iter().zip(cases) {
        let slurm = if tasks > 0.0 { start + task * tasks } else { 0.0 };
        let wall = samples / (4000.0 * cores) + samples * 2.2e-6 + slurm;
        assert!((number(&row[2]) - wall).abs() <= if wall < 100.0 { 0.051 } else { 0.51 }, "{row:?}: {wall}");
    }
}
