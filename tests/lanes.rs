//! Cases in lanes against the engine that marches them one at a time, and against themselves on every path.

use quenchway::case::Case;
use quenchway::lanes::{self, Path};
use quenchway::line::{self, Settings};
use quenchway::march::{march_by_rule, march_with};
use quenchway::solution::Solution;
use quenchway::study::batch::{self, Answer};
use quenchway::study::output::{self, Output};
use quenchway::units::Dimension;
use quenchway_validation::random;
use rayon::prelude::*;

const P2: &str = include_str!("benchmarks/P2.toml");
const P3: &str = include_str!("benchmarks/P3.toml");
const HOUSE_WIRE: &str = include_str!("../cases/house-wire.toml");

fn read(text: &str) -> Case {
    quenchway::input::read(text).unwrap()
}

/// The outputs of one case in lanes, with equal steps where they are given.
fn alone(case: &Case, outputs: &[Output], fixed_step: Option<f64>) -> Answer {
    let settings = batch::Settings { fixed_step, ..batch::Settings::default() };
    batch::on_one_thread(std::slice::from_ref(case), outputs, settings).remove(0).unwrap()
}

/// Largest difference of a temperature, K, and of anything else, relative, between a solution and an answer.
fn differences(outputs: &[Output], solution: &Solution, answer: &Answer) -> [f64; 2] {
    let mut worst = [0.0_f64; 2];
    for (output, &value) in outputs.iter().zip(&answer.values) {
        let expected = output.of(solution);
        if expected.is_nan() && value.is_nan() {
            continue;
        }
        let kelvin = matches!(output.dimension, Some(Dimension::Temperature | Dimension::TemperatureDifference));
        // Heat near zero is a difference of large numbers: it is measured by a thousandth of all that was given off.
        let scale = match output.dimension {
            Some(Dimension::Power) => solution.balance.heat_to_media.abs().max(expected.abs()),
            _ => expected.abs(),
        };
        // A share in percent is a difference of sizes already.
        let scale = if output.dimension.is_none() { 100.0 } else { scale };
        let place = usize::from(!kelvin);
        let difference = (value - expected).abs() / if kelvin { 1.0 } else { scale };
        assert!(!difference.is_nan() || value == expected, "{}: {value}, expected {expected}", output.name);
        worst[place] = worst[place].max(difference);
    }
    worst
}

/// Steps for a comparison: a fortieth of the shortest section, and no more than a thousand in all.
fn equal_steps(case: &Case) -> f64 {
    let shortest = case.sections.iter().map(|section| section.length).fold(f64::INFINITY, f64::min);
    (shortest / 40.0).max(case.line_length() / 1000.0) / case.line_speed
}

/// At equal steps the two do the same arithmetic in another order: nothing but rounding lies between them. Equal steps are
/// far too long for some sections, where layers with latent peaks then swing by hundreds of kelvin and multiply any rounding:
/// cases that equal steps do not solve to half a kelvin are left out.
#[test]
fn lanes_agree_with_the_engine_at_equal_steps() {
    let compared: Vec<_> = (40_000..40_600)
        .into_par_iter()
        .filter_map(|seed| {
            let case = random::case(seed);
            if !lanes::fits(&case) {
                return None;
            }
            let step = equal_steps(&case);
            let settings = Settings { fixed_step: Some(step), ..Settings::rule(case.tolerance) };
            let (solution, _) = march_with(&case, &settings).ok()?;
            let sound = solution.largest_difference(&march_by_rule(&case).ok()?) < 0.5;
            if !sound {
                return None;
            }
            let outputs = output::all(&case);
            let answer = alone(&case, &outputs, Some(step));
            // A slice of hundreds of nodes marches alone, by its own steps.
            (answer.path != Path::Single).then(|| (seed, differences(&outputs, &solution, &answer)))
        })
        .collect();
    let apart: Vec<_> =
        compared.iter().filter(|(_, [kelvin, relative])| !(*kelvin < 1e-9 && *relative < 1e-10)).collect();
    assert!(apart.is_empty(), "of {}: seed, K, relative {apart:?}", compared.len());
    assert!(compared.len() > 250, "{}", compared.len());
}

/// By the rule steps follow the error estimate, which jumps where a node crosses a kink of a latent peak: there rounding can
/// send the two along different steps, and they differ by a small part of what the rule aims at.
#[test]
fn lanes_answer_what_march_by_rule_answers() {
    let compared: Vec<_> = (41_000..41_300)
        .into_par_iter()
        .map(|seed| {
            let case = random::case(seed);
            let outputs = output::all(&case);
            let solution = march_by_rule(&case);
            let answer = batch::answers(std::slice::from_ref(&case), &outputs, batch::Settings::default()).remove(0);
            match (solution, answer) {
                (Ok(solution), Ok(answer)) => (seed, answer.path, differences(&outputs, &solution, &answer)),
                (Err(expected), Err(error)) => {
                    assert_eq!(expected.to_string(), error.to_string(), "seed {seed}");
                    (seed, Path::Single, [0.0; 2])
                }
                (solution, answer) => panic!("seed {seed}: {:?}, {answer:?}", solution.err()),
            }
        })
        .collect();
    let apart: Vec<_> = compared.iter().filter(|(_, _, [kelvin, _])| *kelvin > 1e-9).collect();
    assert!(apart.len() <= compared.len() / 20, "{apart:?} took other steps");
    for (seed, _, [kelvin, relative]) in &compared {
        assert!(*kelvin < 1e-3 && *relative < 1e-6, "seed {seed}: {kelvin} K, {relative}");
    }
    let in_lanes = compared.iter().filter(|(_, path, _)| *path != Path::Single).count();
    // Random lines have water against the product or stirred in every tenth section.
    assert!(10 * in_lanes > 6 * compared.len(), "{in_lanes} of {}", compared.len());
}

/// Cases like one another, with meshes, steps and laws of their own.
fn varied(text: &str, count: usize) -> Vec<Case> {
    let base = read(text);
    let vary = |i: usize| {
        let share = |prime: usize| (i * prime % 101) as f64 / 101.0;
        let mut case = base.clone();
        case.line_speed *= 0.5 + share(37);
        for section in &mut case.sections {
            section.film_factor = 0.6 + share(53);
            section.temperature.0 += 9.0 * share(71);
        }
        if let Some(layer) = case.layers.last_mut() {
            layer.conductivity_factor = 0.7 + 0.6 * share(29);
        }
        case
    };
    (0..count).map(vary).collect()
}

fn bits(answers: &[Result<Answer, quenchway::error::Error>]) -> Vec<Vec<u64>> {
    answers.iter().map(|answer| answer.as_ref().unwrap().values.iter().map(|value| value.to_bits()).collect()).collect()
}

#[test]
fn every_path_batch_and_order_gives_the_same_bits() {
    for text in [P2, P3, HOUSE_WIRE] {
        let cases = varied(text, 90);
        let outputs = output::all(&cases[0]);
        let on = |path: Path, cases: &[Case]| {
            let answers = batch::on_one_thread(cases, &outputs, batch::Settings { path, ..batch::Settings::default() });
            assert!(answers.iter().all(|answer| answer.as_ref().unwrap().path == path), "{path:?} did not run");
            bits(&answers)
        };
        let expected = on(Path::Scalar, &cases);
        for path in [Path::Avx2, Path::Avx512].into_iter().filter(|path| path.runs_here()) {
            assert!(on(path, &cases) == expected, "{path:?} gives other bits");
        }
        let best = Path::best();
        let backwards: Vec<Case> = cases.iter().rev().cloned().collect();
        let found: Vec<Vec<u64>> = on(best, &backwards).into_iter().rev().collect();
        assert!(found == expected, "backwards");
        for size in [1, 3, 17] {
            let found: Vec<Vec<u64>> = cases.chunks(size).flat_map(|chunk| on(best, chunk)).collect();
            assert!(found == expected, "batches of {size}");
        }
        for threads in [1, 3] {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            let many: Vec<Case> = cases.iter().cycle().take(1300).cloned().collect();
            let found = pool.install(|| bits(&batch::answers(&many, &outputs, batch::Settings::default())));
            assert!(found.iter().zip(expected.iter().cycle()).all(|(a, b)| a == b), "{threads} threads");
            let streamed = batch::stream(many.into_iter(), &outputs, batch::Settings::default());
            let streamed: Vec<_> = pool.install(|| streamed.collect());
            assert!(bits(&streamed) == found, "streamed");
        }
    }
}

#[test]
fn a_case_without_an_answer_stands_in_its_place_alone() {
    let mut cases = varied(P2, 20);
    cases[7].line_speed = -1.0;
    cases[11].sections[1].temperature.0 = f64::NAN;
    let outputs = output::all(&cases[0]);
    let answers = batch::answers(&cases, &outputs, batch::Settings::default());
    for (index, (case, answer)) in cases.iter().zip(&answers).enumerate() {
        match march_by_rule(case) {
            Ok(solution) => {
                assert!(differences(&outputs, &solution, answer.as_ref().unwrap())[0] < 1e-9, "case {index}");
            }
            Err(error) => assert_eq!(answer.as_ref().unwrap_err().to_string(), error.to_string()),
        }
    }
    assert!(answers[7].is_err() && answers[11].is_err() && answers[12].is_ok());
}

/// Water against the product needs a root: its sections are marched again and again, so it marches alone.
#[test]
fn water_that_needs_a_root_marches_alone() {
    let with = |direction: &str| {
        let water = format!("film = \"3500 W/(m2 K)\"\nflow = \"20 l/min\"\ndirection = \"{direction}\"");
        let case = read(&P2.replacen("film = \"3500 W/(m2 K)\"", &water, 1));
        let outputs = output::all(&case);
        let answer = alone(&case, &outputs, None);
        let solution = march_by_rule(&case).unwrap();
        assert!(differences(&outputs, &solution, &answer)[0] < 1e-9, "{direction}");
        assert!(line::times(&case).earliest > 0.0);
        answer.path
    };
    assert_eq!(with("along"), Path::best());
    assert_eq!(with("counter"), Path::Single);
    assert_eq!(with("mixed"), Path::Single);
}
