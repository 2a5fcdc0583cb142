#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use super::{Check, Status, Sweep, Worker};
use crate::case::CaseFile;
use crate::march::{march, march_once};
use crate::names::key_path::KeyPath;
use crate::study::sweep::file;

const HOUSE_WIRE: &str = include_str!("../../../../cases/house-wire.toml");

fn house_wire() -> CaseFile {
    crate::file::read(HOUSE_WIRE).unwrap()
}

fn sweep(case: &CaseFile, text: &str) -> Sweep {
    file::read(&format!("case = \"x\"\n{text}"), case).unwrap()
}

/// All samples of a sweep: status and outputs.
fn solved(sweep: &Sweep, case: &CaseFile, order: impl Iterator<Item = u64>) -> Vec<(u64, Status, Vec<u64>)> {
    let mut worker = Worker::new(sweep, case);
    let mut outputs = vec![0.0; sweep.outputs.len()];
    let mut found: Vec<_> = order
        .map(|index| {
            let status = worker.solve(index, &mut outputs).status;
            (index, status, outputs.iter().map(|value| value.to_bits()).collect())
        })
        .collect();
    found.sort_by_key(|(index, _, _)| *index);
    found
}

#[test]
fn a_grid_has_every_value_with_every_other() {
    let case = house_wire();
    let sweep = sweep(
        &case,
        "outputs = [\"capstan.core\"]\n[vary]\n\"line.speed\" = [\"60 m/min\", \"120 m/min\"]\n\
         \"section.trough.length\" = { from = \"10 m\", to = \"30 m\", step = \"10 m\" }",
    );
    let mut seen = Vec::new();
    for index in 0..sweep.samples() {
        let mut inputs = [0.0; 2];
        sweep.inputs(index, &mut inputs);
        seen.push(inputs);
    }
    assert_eq!(seen, [[1.0, 10.0], [1.0, 20.0], [1.0, 30.0], [2.0, 10.0], [2.0, 20.0], [2.0, 30.0]]);
}

#[test]
fn a_sample_is_the_case_with_its_numbers() {
    let case = house_wire();
    let sweep = sweep(
        &case,
        "outputs = [\"capstan.core\", \"shrink.to_finished\"]\n[vary]\n\
         \"layer.insulation.temperature\" = [\"180 degC\", \"190 degC\"]\n\"line.speed\" = [\"100 m/min\", \"200 m/min\"]",
    );
    let mut other = case.clone();
    let set = |case: &mut CaseFile, path: &str, value: &str| {
        let variable = KeyPath::find(case, path).unwrap();
        variable.set(case, variable.parse_value(value).unwrap()).unwrap();
    };
    set(&mut other, "layer.insulation.temperature", "190 degC");
    set(&mut other, "line.speed", "100 m/min");
    let expected = march_once(&other, false).unwrap();
    let mut outputs = [0.0; 2];
    let sample = Worker::new(&sweep, &case).solve(2, &mut outputs);
    assert_eq!(sample.status, Status::Good);
    assert_eq!(outputs, [expected.stations[2].point.core, expected.shrink.to_finished]);
}

/// Die temperatures that follow the speed are shifted by differences, which leave rounding behind; a refused sample leaves a
/// half-changed case.
#[test]
fn what_came_before_leaves_no_trace() {
    let follows = HOUSE_WIRE.replacen(
        "temperature = \"188 degC\"",
        "temperature = { speed = [[\"100 m/min\", \"186.1 degC\"], [\"300 m/min\", \"194.3 degC\"]] }",
        1,
    );
    for text in [HOUSE_WIRE, &follows] {
        let case = crate::file::read(text).unwrap();
        let sweep = sweep(
            &case,
            "outputs = [\"capstan.core\", \"capstan.surface\", \"line.equalised\"]\n[vary]\n\
             \"layer.insulation.temperature\" = { from = \"180.3 degC\", to = \"191.7 degC\", points = 4 }\n\
             \"layer.insulation.diameter\" = [\"1.5 mm\", \"3.3 mm\", \"3.6 mm\"]\n\
             \"line.speed\" = { from = \"110 m/min\", to = \"290 m/min\", points = 5 }",
        );
        let count = sweep.samples();
        let forward = solved(&sweep, &case, 0..count);
        assert_eq!(forward, solved(&sweep, &case, (0..count).rev()));
        let refused = forward.iter().filter(|(_, status, _)| *status == Status::Refused).count();
        assert_eq!(refused, 20, "an insulation thinner than its conductor");
        assert!(forward.iter().all(|(_, status, _)| matches!(status, Status::Good | Status::Refused)));
    }
}

#[test]
fn a_failed_sample_says_why_and_has_no_numbers() {
    let case = house_wire();
    let sweep =
        sweep(&case, "outputs = [\"capstan.core\"]\n[vary]\n\"layer.insulation.diameter\" = [\"1.5 mm\", \"3.42 mm\"]");
    let mut worker = Worker::new(&sweep, &case);
    let mut outputs = [1.0];
    let sample = worker.solve(0, &mut outputs);
    assert_eq!(sample.status, Status::Refused);
    assert!(sample.reason.contains("insulation") && sample.reason.contains("has no wall"), "{}", sample.reason);
    assert!(outputs[0].is_nan() && sample.check.is_none());
    assert_eq!(worker.solve(1, &mut outputs).status, Status::Good);
    assert_eq!(outputs[0], march_once(&case, false).unwrap().stations[2].point.core);
}

#[test]
fn one_in_a_hundred_is_solved_again() {
    let checked = (0..1_000_000).filter(|&index| Sweep::is_checked(index)).count();
    // Binomial: 10 000 with a standard deviation of 99.5.
    assert!((9_600..10_400).contains(&checked), "{checked}");
    let case = house_wire();
    let sweep = sweep(&case, "outputs = [\"capstan.core\"]\n[vary]\n\"line.speed\" = [\"150 m/min\", \"160 m/min\"]");
    let mut outputs = [0.0];
    let mut worker = Worker::new(&sweep, &case);
    let Some(Check::Error(error)) = worker.solve(0, &mut outputs).check else { panic!("the first is checked") };
    let (rule, careful) = (march_once(&case, false).unwrap(), march(&case).unwrap());
    let least = (rule.stations[2].point.core - careful.stations[2].point.core).abs();
    assert!(error >= least && error < case.tolerance, "{error} K; at the capstan's core {least} K");
    assert_eq!(worker.solve(1, &mut outputs).check, None);
}

#[test]
fn blocks_are_all_samples_once() {
    let case = house_wire();
    let mut sweep = sweep(
        &case,
        "outputs = [\"capstan.core\"]\n[vary]\n\"line.speed\" = { from = \"100 m/min\", to = \"200 m/min\", points = 1003 }",
    );
    for block in [None, Some(1), Some(7), Some(1003), Some(5000)] {
        sweep.block = block;
        let all: Vec<u64> = (0..sweep.blocks()).flat_map(|number| sweep.block(number)).collect();
        assert_eq!(all, (0..1003).collect::<Vec<_>>(), "{block:?}");
        assert!(sweep.block(sweep.blocks()).is_empty());
    }
    let numbers: BTreeSet<u64> = (0..1000).map(super::hash).collect();
    assert_eq!(numbers.len(), 1000, "a mixer loses no index");
}

#[test]
fn samples_depend_on_the_seed_and_their_index() {
    let case = house_wire();
    let text = |seed: u64, method: &str| {
        format!(
            "outputs = [\"capstan.core\"]\nmethod = \"{method}\"\nsamples = 100000\nseed = {seed}\n[vary]\n\
             \"line.speed\" = {{ from = \"100 m/min\", to = \"200 m/min\" }}\n\
             \"section.trough.film_factor\" = {{ from = 0.5, to = 2, spacing = \"logarithmic\" }}\n\
             \"layer.insulation.temperature\" = {{ normal = [\"188 degC\", \"4 K\"] }}\n\
             \"section.trough.length\" = [\"10 m\", \"20 m\", \"30 m\", \"40 m\"]"
        )
    };
    for method in ["sobol", "latin-hypercube", "random"] {
        let (sweep, other) = (sweep(&case, &text(7, method)), sweep(&case, &text(8, method)));
        assert_eq!((sweep.method.name(), sweep.shape()), (method, vec![100_000]));
        let (mut inputs, mut others) = ([0.0; 4], [0.0; 4]);
        let (mut sums, mut squares, mut tens) = ([0.0; 4], 0.0, 0);
        for index in 0..100_000 {
            sweep.inputs(index, &mut inputs);
            other.inputs(index, &mut others);
            assert_ne!(inputs, others);
            sums[0] += inputs[0];
            sums[1] += libm::log(inputs[1]);
            sums[2] += inputs[2];
            squares += (inputs[2] - 188.0).powi(2);
            tens += u64::from(inputs[3] == 10.0);
            assert!((100.0 / 60.0..=200.0 / 60.0).contains(&inputs[0]) && (0.5..=2.0).contains(&inputs[1]));
        }
        let count = 100_000.0;
        // Five standard errors of plain random samples; the others are far better.
        assert!((sums[0] / count - 2.5).abs() < 0.008, "{method}");
        assert!((sums[1] / count).abs() < 0.007, "{method}");
        assert!((sums[2] / count - 188.0).abs() < 0.064, "{method}");
        assert!(((squares / count).sqrt() - 4.0).abs() < 0.045, "{method}");
        assert!((tens as f64 / count - 0.25).abs() < 0.007, "{method}: {tens} of four equally likely values");
    }
}

#[test]
fn searches_are_outputs_like_others() {
    let case = house_wire();
    let sweep = sweep(
        &case,
        "outputs = [\"needed_length\", \"capstan.core\", \"top_speed\"]\n[vary]\n\
         \"station.capstan.core_max\" = [\"60 degC\", \"1 degC\"]",
    );
    let mut worker = Worker::new(&sweep, &case);
    let mut outputs = [0.0; 3];
    assert_eq!(worker.solve(0, &mut outputs).status, Status::Good);
    let (length, speed) =
        (crate::study::length::needed(&case).unwrap(), crate::study::speed::top_speed(&case).unwrap());
    assert_eq!((outputs[0], outputs[2]), (length.length, speed.top));
    // Colder than the water: no trough is long enough; the temperature at the capstan is there all the same.
    let sample = worker.solve(1, &mut outputs);
    assert_eq!(sample.status, Status::Incomplete);
    assert!(outputs[0].is_nan() && outputs[1] > 60.0 && outputs[2].is_nan(), "{outputs:?}");
    assert!(sample.reason.contains("needed_length: ") && sample.reason.contains("top_speed: "), "{}", sample.reason);
}

#[test]
fn the_names_of_fields_are_those_of_the_table() {
    let positions: Vec<usize> = (0..super::fields::NAMES.len()).collect();
    let kept = super::fields::kept(&positions);
    assert_eq!(kept.iter().map(|field| field.label.name).take(3).collect::<Vec<_>>(), ["distance", "time", "radius"]);
    assert_eq!(kept.iter().map(|field| field.label.name).skip(3).collect::<Vec<_>>(), super::fields::NAMES);
    assert!(super::fields::kept(&[]).is_empty());
    let names = |positions: &[usize]| super::fields::kept(positions).iter().map(|f| f.label.name).collect::<Vec<_>>();
    assert_eq!(names(&[1]), ["distance", "time", "surface_temperature"], "no radius where nothing lies across");
}
