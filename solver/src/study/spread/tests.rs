//! Spreads against what is known: indices of a published function, percentiles that follow an input, chances that a length must
//! give, the same bits on any number of threads.

#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use approx::assert_relative_eq;

use super::*;
use crate::study::length::with_length;

const HOUSE_WIRE: &str = include_str!("../../../../cases/house-wire.toml");

fn varied(lines: &str) -> CaseFile {
    crate::file::read(&format!("{HOUSE_WIRE}\n[vary]\n{lines}")).unwrap()
}

fn plan(samples: u64) -> Plan {
    Plan { samples, seed: 1, method: Method::Sobol, indices: false, lengths: false }
}

/// sin x1 + a sin^2 x2 + b x3^4 sin x1 over [-pi, pi]^3, a = 7, b = 0.1.
fn ishigami(point: &[f64]) -> f64 {
    let x: Vec<f64> = point.iter().map(|share| PI * (2.0 * share - 1.0)).collect();
    x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()
}

/// A, B and AB_i of the function.
fn ishigami_samples(method: Method, count: u64) -> [Vec<Vec<f64>>; 2] {
    let sampler = Sampler::new(method, 5, count, 6).unwrap();
    let values = |take: &dyn Fn(&[f64]) -> Vec<f64>| {
        (0..count).map(|index| ishigami(&take(&sampler.point(index)))).collect::<Vec<f64>>()
    };
    let both = vec![values(&|point| point[..3].to_vec()), values(&|point| point[3..].to_vec())];
    let mixed =
        (0..3).map(|input| values(&|point| (0..3).map(|j| if j == input { point[j + 3] } else { point[j] }).collect()));
    [both, mixed.collect()]
}

#[test]
fn indices_of_the_ishigami_function_are_the_analytic_ones() {
    // T. Ishigami, T. Homma, An importance quantification technique in uncertainty analysis for computer models, ISUMA 1990,
    // 398-403; the variances from the integrals of its terms.
    let (a, b) = (7.0, 0.1);
    let [first, second] = [0.5 * (1.0 + b * PI.powi(4) / 5.0_f64).powi(2), a * a / 8.0];
    let third = b * b * PI.powi(8) * (1.0 / 18.0 - 1.0 / 50.0);
    let whole = first + second + third;
    let expected = [[first, first + third], [second, second], [0.0, third]].map(|pair| pair.map(|part| part / whole));
    assert_relative_eq!(expected[0][0], 0.3139, max_relative = 1e-3);
    for (method, within) in [(Method::Sobol, 5e-3), (Method::LatinHypercube, 0.05), (Method::Random, 0.05)] {
        let [both, mixed] = ishigami_samples(method, 8192);
        let found = indices(&both[0], &both[1], &mixed, 3);
        for (index, [s, t]) in found.iter().zip(expected) {
            assert!(
                (index.first - s).abs() < within && (index.total - t).abs() < within,
                "{method:?}: {index:?}: {s} {t}"
            );
            for ([low, high], value) in [(index.first_interval, s), (index.total_interval, t)] {
                // 95 % each: nine of them and a little room for the three methods.
                let room = 0.3 * (high - low);
                assert!(
                    (low - room..high + room).contains(&value) && high - low < 0.15,
                    "{method:?} {index:?} {value}"
                );
            }
        }
    }
}

#[test]
fn indices_leave_out_what_has_no_answer_and_say_nothing_of_what_does_not_vary() {
    let [mut both, mixed] = ishigami_samples(Method::Sobol, 2048);
    both[0][7] = f64::NAN;
    assert!((indices(&both[0], &both[1], &mixed, 3)[0].first - 0.3139).abs() < 0.02);
    let still = vec![4.0; 64];
    assert!(indices(&still, &still, std::slice::from_ref(&still), 3)[0].total.is_nan());
}

#[test]
fn percentiles_follow_an_input_that_decides_alone() {
    // A value that rises with the only input has its percentiles where the input has its own.
    let case = varied("section.trough.temperature = { uniform = [\"12 degC\", \"20 degC\"] }");
    let spread = spread(&case, &plan(1024)).unwrap();
    let core = spread.outputs.iter().position(|output| output.name == "capstan.core").unwrap();
    for (share, found) in SHARES.into_iter().zip(spread.summaries[core].percentiles) {
        let mut there = case.clone();
        there.sections[1].temperature = crate::units::Celsius(12.0 + 8.0 * share);
        let expected = march_by_rule(&there).unwrap().stations[2].point.core;
        // A sample in every part of 1/1024, and the error of two solves by the rule.
        assert!((found - expected).abs() < 0.03, "{found} {expected}");
    }
    assert_eq!(spread.inputs.len(), 1);
    assert!(!spread.usual && spread.failures.is_empty());
    assert!(spread.checked.samples >= 4 && spread.checked.largest < 0.05, "{:?}", spread.checked);
}

#[test]
fn a_length_gives_the_chance_that_is_told_of_it() {
    let case = crate::file::read(HOUSE_WIRE).unwrap();
    let with = Plan { lengths: true, ..plan(256) };
    let found = spread(&case, &with).unwrap();
    assert!(found.usual);
    let lengths = found.lengths.unwrap();
    assert!(lengths.checked >= 1 && lengths.checked_largest < 3e-3, "{lengths:?}");
    for at in lengths.at.iter().filter(|at| at.chance < 0.98) {
        let longer = with_length(&case, at.length).unwrap();
        let again = spread(&longer, &plan(256)).unwrap().all.unwrap();
        // A percentile between two samples, and lengths known to a thousandth.
        assert!((again.probability - at.chance).abs() < 0.012, "{at:?}: {again:?}");
        assert!(at.interval[0] <= at.length && at.length <= at.interval[1]);
    }
    assert!(found.all.unwrap().probability < 0.5);
}

#[test]
fn the_bits_do_not_depend_on_the_threads() {
    let case = crate::file::read(HOUSE_WIRE).unwrap();
    let asked = Plan { lengths: true, indices: true, ..plan(24) };
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let found = pool.install(|| spread(&case, &asked)).unwrap();
        let samples: Vec<u64> =
            found.samples.iter().flat_map(|s| s.outputs.clone().unwrap()).map(f64::to_bits).collect();
        let lengths: Vec<u64> = found.samples.iter().map(|s| s.length.to_bits()).collect();
        (samples, lengths, found.summaries, format!("{:?} {:?} {:?}", found.indices, found.checked, found.solves))
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn samples_without_an_answer_are_counted_with_their_reason() {
    // Below 1.78 mm the insulation has no wall.
    let case = varied("layer.insulation.diameter = { uniform = [\"1.68 mm\", \"3.68 mm\"] }");
    let found = spread(&case, &Plan { lengths: true, ..plan(128) }).unwrap();
    let [(reason, count)] = &found.failures[..] else { panic!("{:?}", found.failures) };
    assert!(reason.contains("no wall"), "{reason}");
    assert!((5..=8).contains(count), "{count} of 128");
    assert_eq!(found.all.unwrap().of, 128 - count);
    assert_eq!(found.samples.iter().filter(|sample| sample.length.is_nan()).count(), *count);
}

#[test]
fn a_limit_that_varies_is_held_against_its_own_value() {
    let core = march_by_rule(&crate::file::read(HOUSE_WIRE).unwrap()).unwrap().stations[2].point.core;
    let case = varied(&format!(
        "station.capstan.core_max = {{ uniform = [\"{} degC\", \"{} degC\"] }}",
        core - 1.0,
        core + 3.0
    ));
    let found = spread(&case, &plan(256)).unwrap();
    let chance = found.limits.iter().find(|limit| limit.ceiling.name == "capstan.core").unwrap().chance;
    assert!((chance.probability - 0.75).abs() < 0.01, "{chance:?}");
}

#[test]
fn bands_become_distributions_that_keep_their_ends() {
    let text = HOUSE_WIRE.replace("contact = \"perfect\"", "").replace("temperature = \"90 degC\"", "");
    let case = crate::file::read(&text).unwrap();
    let (inputs, usual) = drawn(&case);
    assert!(usual);
    let of = |name: &str| inputs.iter().find(|input| input.input == name).unwrap();
    let up = |drawn: &Drawn| drawn.distribution.quantile(crate::maths::distribution::cumulative(1.0));
    let preheat = of("layer.conductor.temperature");
    assert_relative_eq!(up(preheat), 65.0, max_relative = 1e-9);
    assert_eq!((preheat.measures, preheat.units()), (Measures::Difference, "K"));
    // Perfect contact is assumed, with an end at 1000 W/(m2 K): two thirds of the samples are better than that.
    let contact = of("layer.insulation.contact");
    assert_relative_eq!(contact.distribution.quantile(0.682_689_492_137_086), 1e-3, max_relative = 1e-9);
    let mut changed = case.clone();
    contact.put(&mut changed, 1e-3).unwrap();
    let crate::case::Contact::Conductance(conductance) = changed.layers[1].contact else { panic!() };
    assert_relative_eq!(conductance, 1000.0, max_relative = 1e-12);
    contact.put(&mut changed, 1e-9).unwrap();
    assert_eq!(changed.layers[1].contact, crate::case::Contact::Perfect);
    let films = of("section.\"air gap\".film_lean, section.\"to capstan\".film_lean");
    assert_relative_eq!(up(films), 1.0, max_relative = 1e-9);
    assert_eq!((films.distribution.quantile(0.5).abs() < 1e-12, films.measures), (true, Measures::Lean));
}

#[test]
fn questions_without_an_answer_say_why() {
    let case = crate::file::read(HOUSE_WIRE).unwrap();
    let error = |case: &CaseFile, plan: &Plan| spread(case, plan).unwrap_err();
    assert_eq!(error(&case, &plan(2_000_000)), SpreadError::TooMany { samples: 2_000_000 });
    assert_eq!(error(&case, &plan(0)), SpreadError::Sample(SampleError::Count { count: 0 }));
    let mut nowhere = case.clone();
    nowhere.stations.clear();
    assert_eq!(error(&nowhere, &plan(8)), SpreadError::NoStations);
    let mut wild = case.clone();
    wild.line_speed = f64::NAN;
    assert!(error(&wild, &plan(8)).to_string().contains("the case itself has no answer"));
    // Two troughs and no word on which may grow: the spread is told, the length is not.
    let mut two = case;
    two.sections[0].medium = crate::case::Medium::Water;
    let found = spread(&two, &Plan { lengths: true, ..plan(8) }).unwrap();
    assert!(found.lengths.unwrap_err().to_string().contains("adjustable"));
}

/// Every sample is held against the limit on its melt shrink; where a line is so fast that no skin sets, it has all of it to lose.
#[test]
fn the_melt_under_the_skin_is_a_limit() {
    let text = include_str!("../../../../cases/thick-pe-core.toml")
        .replace("material = \"hdpe\"", "material = \"hdpe\"\nmelt_shrink_max = \"12 %\"")
        .replace("length = \"6 m\"\ntemperature = \"65 degC\"", "length = \"6 m\"\ntemperature = \"90 degC\"")
        + "\n[plant]\nadjustable = [\"warm trough\"]\n[vary]\n\"line.speed\" = { log_uniform = [\"20 m/min\", \"6000 m/min\"] }\n";
    let case = crate::file::read(&text).unwrap();
    let found = spread(&case, &Plan { lengths: true, ..plan(48) }).unwrap();
    let limit = found.limits.iter().find(|limit| limit.ceiling.name == "insulation.melt_shrink").unwrap();
    let at = |sample: &Sample| {
        let mut line = case.clone();
        line.line_speed = sample.drawn[0];
        line
    };
    let (mut met, mut unset) = (0, 0);
    for sample in &found.samples {
        let line = at(sample);
        let solution = march_by_rule(&line).unwrap();
        let value = limit.ceiling.value(&line, &solution);
        assert_eq!(sample.outputs.as_ref().unwrap()[limit.output], value);
        met += usize::from(value <= 12.0);
        unset += usize::from(solution.skins[0].melt_shrink.is_none());
    }
    assert_eq!(limit.chance.probability, met as f64 / 48.0);
    assert!(met > 3 && unset > 3 && met + unset < 48, "{met} {unset}");
    // The needed trough counts it, too.
    let lengths = found.lengths.as_ref().unwrap();
    assert!(lengths.checked > 0 && lengths.checked_largest < 0.01, "{lengths:?}");
    let (sample, line) = found
        .samples
        .iter()
        .map(|sample| (sample, at(sample)))
        .find(|(sample, _)| sample.length.is_finite() && sample.length > 1.0)
        .unwrap();
    let shorter = crate::study::length::with_length(&line, 0.95 * sample.length).unwrap();
    assert!(limit.ceiling.excess(&shorter, &march_by_rule(&shorter).unwrap()) > 0.0, "{}", sample.length);
}
