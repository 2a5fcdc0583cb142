//! One engine: a case gives the same bits alone and side by side with others, on every path.

use quenchway::case::Case;
use quenchway::case::error::Error;
use quenchway::engine::Path;
use quenchway::line;
use quenchway::march::batch::{self, Answer, Batch};
use quenchway::march::march_by_rule;
use quenchway::march::output::{self, Output};
use quenchway_validation::random;
use rayon::prelude::*;

const P2: &str = include_str!("../validation/benchmarks/P2.toml");
const P3: &str = include_str!("../validation/benchmarks/P3.toml");
const HOUSE_WIRE: &str = include_str!("../cases/house-wire.toml");

fn read(text: &str) -> Case {
    quenchway::file::read(text).unwrap().case
}

/// Every output of a case, those of its layers, too.
fn every_output(case: &Case) -> Vec<Output> {
    output::all(case).into_iter().chain(output::of_layers(case)).collect()
}

/// The answer of one case.
fn answer(case: &Case, outputs: &[Output], settings: Batch) -> Result<Answer, Error> {
    batch::on_one_thread(std::slice::from_ref(case), outputs, settings).remove(0)
}

/// Bits of an answer, or what went wrong.
fn told(answer: &Result<Answer, Error>) -> Result<Vec<u64>, String> {
    let bits = |answer: &Answer| answer.values.iter().map(|value| value.to_bits()).collect();
    answer.as_ref().map(bits).map_err(ToString::to_string)
}

/// Every output of random cases by the rule: of `run`, of a batch one at a time, and of a batch side by side.
#[test]
fn run_and_sweep_give_the_same_bits() {
    let side_by_side: usize = (41_000..41_300)
        .into_par_iter()
        .map(|seed| {
            let case = random::case(seed);
            let outputs = every_output(&case);
            let solution = march_by_rule(&case);
            let expected: Result<Vec<u64>, String> = match &solution {
                Ok(solution) => Ok(outputs.iter().map(|output| output.of(solution).to_bits()).collect()),
                Err(error) => Err(error.to_string()),
            };
            let single = Batch { path: Path::Single, ..Batch::default() };
            let [alone, beside] = [single, Batch::default()].map(|way| answer(&case, &outputs, way));
            for (found, way) in [(&alone, "alone"), (&beside, "beside")] {
                let found = told(found);
                if let (Ok(found), Ok(expected)) = (&found, &expected) {
                    for ((output, found), expected) in outputs.iter().zip(found).zip(expected) {
                        let numbers = [*found, *expected].map(f64::from_bits);
                        assert!(found == expected, "seed {seed}, {way}, {}: {numbers:?}", output.name);
                    }
                }
                assert!(found == expected, "seed {seed}, {way}: {found:?}");
            }
            usize::from(beside.is_ok_and(|answer| answer.path != Path::Single))
        })
        .sum();
    assert!(side_by_side > 290, "{side_by_side} of 300");
}

/// Equal steps without error control go far wrong in some cases: those give the same bits, too, or the same refusal.
#[test]
fn equal_steps_give_the_same_bits() {
    (40_000..40_100).into_par_iter().for_each(|seed| {
        let case = random::case(seed);
        let shortest = case.sections.iter().map(|section| section.length).fold(f64::INFINITY, f64::min);
        let step = (shortest / 40.0).max(case.line_length() / 1000.0) / case.line_speed;
        let outputs = every_output(&case);
        let [alone, beside] = [Path::Single, Path::best()].map(|path| {
            let settings = Batch { path, fixed_step: Some(step), ..Batch::default() };
            told(&answer(&case, &outputs, settings))
        });
        assert!(alone == beside, "seed {seed}: {alone:?} and {beside:?}");
    });
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

fn bits(answers: &[Result<Answer, Error>]) -> Vec<Vec<u64>> {
    answers.iter().map(|answer| answer.as_ref().unwrap().values.iter().map(|value| value.to_bits()).collect()).collect()
}

#[test]
fn every_path_batch_and_order_gives_the_same_bits() {
    for text in [P2, P3, HOUSE_WIRE] {
        let cases = varied(text, 90);
        let outputs = every_output(&cases[0]);
        let on = |path: Path, cases: &[Case]| {
            let answers = batch::on_one_thread(cases, &outputs, Batch { path, ..Batch::default() });
            assert!(answers.iter().all(|answer| answer.as_ref().unwrap().path == path), "{path:?} did not run");
            bits(&answers)
        };
        let expected = on(Path::Scalar, &cases);
        for path in [Path::Single, Path::Avx2, Path::Avx512].into_iter().filter(|path| path.runs_here()) {
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
            let found = pool.install(|| bits(&batch::answers(&many, &outputs, Batch::default())));
            assert!(found.iter().zip(expected.iter().cycle()).all(|(a, b)| a == b), "{threads} threads");
            let streamed = batch::stream(many.into_iter(), &outputs, Batch::default());
            let streamed: Vec<_> = pool.install(|| streamed.collect());
            assert!(bits(&streamed) == found, "streamed");
        }
    }
}

/// Water that does not touch all round: the same bits alone and in lanes; what the hot side may decide is not told in lanes.
#[test]
fn water_that_does_not_touch_all_round_gives_the_same_bits() {
    for keys in ["wetted = 0.6", "poured = true", "one_sided = 3", "wetted = 0.4\nturning = true"] {
        let text = HOUSE_WIRE.replace("medium = \"water\"", &format!("medium = \"water\"\n{keys}"));
        let cases = varied(&text, 20);
        let all = output::all(&cases[0]);
        let in_lanes =
            |output: &&Output| ["core", "surface", "mean", "equalised"].iter().any(|step| output.name.ends_with(step));
        let some: Vec<Output> = all.iter().filter(in_lanes).cloned().collect();
        let on = |path: Path| batch::on_one_thread(&cases, &some, Batch { path, ..Batch::default() });
        let [alone, beside] = [Path::Single, Path::best()].map(on);
        assert!(bits(&alone) == bits(&beside), "{keys}");
        assert!(beside.iter().all(|answer| answer.as_ref().unwrap().path == Path::best()), "{keys}");
        let whole = answer(&cases[3], &all, Batch::default()).unwrap();
        let solution = march_by_rule(&cases[3]).unwrap();
        let expected: Vec<u64> = all.iter().map(|output| output.of(&solution).to_bits()).collect();
        assert_eq!(whole.values.iter().map(|value| value.to_bits()).collect::<Vec<_>>(), expected, "{keys}");
        assert_eq!(all.iter().any(|output| output.name == "capstan.hot_side"), !keys.contains("turning"), "{keys}");
    }
}

#[test]
fn a_case_without_an_answer_stands_in_its_place_alone() {
    let mut cases = varied(P2, 20);
    cases[7].line_speed = -1.0;
    cases[11].sections[1].temperature.0 = f64::NAN;
    let outputs = every_output(&cases[0]);
    let answers = batch::answers(&cases, &outputs, Batch::default());
    for (index, (case, answer)) in cases.iter().zip(&answers).enumerate() {
        let outputs_of = |solution| outputs.iter().map(|output: &Output| output.of(&solution).to_bits()).collect();
        let alone = march_by_rule(case).map(outputs_of).map_err(|error| error.to_string());
        assert!(told(answer) == alone, "case {index}");
    }
    assert!(answers[7].is_err() && answers[11].is_err() && answers[12].is_ok());
}

/// P2 with its water in two sections: the first one's runs in a direction of its own, or comes from the second, or is its own.
fn with_water(direction: &str, fed_by_the_second: bool) -> String {
    let given = "film = \"3500 W/(m2 K)\"";
    let (first, second) = match fed_by_the_second {
        true => (
            format!("supply = \"second\"\ndirection = \"{direction}\""),
            "flow = \"20 l/min\"\ndirection = \"counter\"",
        ),
        false => {
            (format!("flow = \"20 l/min\"\ndirection = \"{direction}\""), "flow = \"9 l/min\"\ndirection = \"mixed\"")
        }
    };
    let own = if fed_by_the_second { "" } else { "temperature = \"18 degC\"\n" };
    let second = format!(
        "[[section]]\nname = \"second\"\nmedium = \"water\"\nlength = \"5 m\"\ntemperature = \"14 degC\"\n{given}\n{second}\n"
    );
    P2.replacen(&format!("temperature = \"18 degC\"\n{given}\n"), &format!("{own}{given}\n{first}\n\n{second}"), 1)
}

/// Water against the product, in a tank, and fed by a later section is searched for: side by side with the bits of alone, in any
/// lane, beside any neighbours.
#[test]
fn searched_water_marches_side_by_side() {
    for (direction, fed) in [("counter", false), ("mixed", false), ("along", true), ("counter", true)] {
        let cases = varied(&with_water(direction, fed), 19);
        assert!(cases.iter().all(line::is_searched), "{direction}");
        let outputs = every_output(&cases[0]);
        let on = |path: Path, cases: &[Case]| {
            let settings = Batch { path, ..Batch::default() };
            let answers = batch::on_one_thread(cases, &outputs, settings);
            assert!(
                answers.iter().all(|answer| answer.as_ref().unwrap().path == path),
                "{direction}: {path:?} did not run"
            );
            bits(&answers)
        };
        let expected = on(Path::Single, &cases);
        for path in [Path::Scalar, Path::Avx2, Path::Avx512].into_iter().filter(|path| path.runs_here()) {
            assert!(on(path, &cases) == expected, "{direction}: {path:?} gives other bits");
        }
        let backwards: Vec<Case> = cases.iter().rev().cloned().collect();
        let found: Vec<Vec<u64>> = on(Path::best(), &backwards).into_iter().rev().collect();
        assert!(found == expected, "{direction}: backwards");
        let solution = march_by_rule(&cases[5]).unwrap();
        let run: Vec<u64> = outputs.iter().map(|output| output.of(&solution).to_bits()).collect();
        assert!(expected[5] == run, "{direction}: of the run");
    }
}

/// A trickle against the product has no answer: it says so beside searches that go on.
#[test]
fn a_search_that_fails_fails_alone() {
    let mut cases = varied(&with_water("counter", false), 12);
    for section in &mut cases[4].sections {
        if let Some(water) = &mut section.circulation {
            water.flow = quenchway::case::Flow::Mass(1e-5);
        }
    }
    let outputs = every_output(&cases[0]);
    let answers = batch::on_one_thread(&cases, &outputs, Batch::default());
    for (case, answer) in cases.iter().zip(&answers) {
        let alone = self::answer(case, &outputs, Batch { path: Path::Single, ..Batch::default() });
        assert!(told(answer) == told(&alone));
    }
    let failed: Vec<usize> = (0..cases.len()).filter(|&index| answers[index].is_err()).collect();
    assert_eq!(failed, [4], "{:?}", answers[4]);
}
