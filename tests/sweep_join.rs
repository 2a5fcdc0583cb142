//! The join of many samples: what the blocks held comes back bit for bit, and a million take half a second on two cores.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use quenchway::study::sweep::{Sample, Status};
use quenchway_cli::sweep::{self, Block, Folder, Part, Stop};

/// A study of so many samples whose blocks hold made-up numbers, joined so many times; the least time, and the last file.
fn joined(place: &Path, samples: u64, times: usize) -> (Duration, std::path::PathBuf) {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    let study = fs::read_to_string(cases.join("studies/four-inputs.toml")).unwrap();
    let study = study.replace("samples = 512", &format!("samples = {samples}\nblock = 1000"));
    let base = format!("case = {:?}", cases.join("house-wire.toml"));
    fs::write(place.join("study.toml"), study.replace("case = \"../house-wire.toml\"", &base)).unwrap();
    let plan = sweep::load(&place.join("study.toml")).unwrap();
    let folder = Folder::new(place, &plan);
    folder.make().unwrap();
    for number in 0..plan.sweep.blocks() {
        let range = plan.sweep.block(number);
        let good = Sample { status: Status::Good, reason: String::new(), check: None, fields: None };
        let mut inputs = vec![Vec::new(); plan.sweep.axes.len()];
        let mut row = vec![0.0; plan.sweep.axes.len()];
        for index in range.clone() {
            plan.sweep.inputs(index, &mut row);
            inputs.iter_mut().zip(&row).for_each(|(column, value)| column.push(*value));
        }
        let outputs = (0..4).map(|output| range.clone().map(|index| made_up(index, output)).collect()).collect();
        let samples = vec![good; (range.end - range.start) as usize];
        folder.write(&Block { number, part: Part::WHOLE, first: range.start, samples, inputs, outputs }).unwrap();
    }
    let results = place.join("study.h5");
    let mut least = Duration::MAX;
    for _ in 0..times {
        let start = Instant::now();
        let report = |_: &sweep::Joined| "{}".to_string();
        sweep::join(&plan, std::slice::from_ref(&folder), &results, &Stop::default(), report).unwrap();
        least = least.min(start.elapsed());
    }
    (least, results)
}

/// Numbers that look like temperatures: every bit of them differs from one sample to the next.
fn made_up(index: u64, output: u64) -> f64 {
    let scattered = (index * 4 + output).wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 12;
    40.0 + 10.0 * output as f64 + scattered as f64 / (1_u64 << 52) as f64
}

#[test]
fn every_number_of_the_blocks_is_in_the_file() {
    let place = tempfile::tempdir().unwrap();
    let (_, results) = joined(place.path(), 50_000, 1);
    // The library locks what it writes, and a program that another test started meanwhile has inherited that lock until it
    // ends: a copy has none.
    let copy = place.path().join("copy.h5");
    fs::copy(results, &copy).unwrap();
    let file = hdf5_metno::File::open(copy).unwrap();
    for (output, name) in (0..).zip(["capstan.core", "capstan.surface", "capstan.equalised", "shrink.to_finished"]) {
        let values: Vec<f64> = file.dataset(name).unwrap().read_raw().unwrap();
        assert_eq!(values.len(), 50_000);
        let same = (0..).zip(&values).all(|(index, value)| value.to_bits() == made_up(index, output).to_bits());
        assert!(same, "{name}");
    }
}

#[test]
#[ignore = "times a million samples on two cores that are free: 20 s"]
fn a_million_samples_are_joined_in_half_a_second() {
    let place = tempfile::tempdir().unwrap();
    let (least, _) = joined(place.path(), 1_000_000, 5);
    println!("{least:?}");
    assert!(least <= Duration::from_millis(500), "{least:?}");
}
