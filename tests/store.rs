//! The results file: written whole or not at all, the same twice, and read back as it was.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use hdf5_metno as hdf5;
use quenchway::case::Shape;
use quenchway::data::Data;
use quenchway::march::solution::{Fields, Solution};
use quenchway_cli::store::{Header, StoreError, prepare, write_beside, write_data};

pub mod read;
mod sample;
use read::{Stored, read};
use sample::{bare, layer_names, sample};

const CASE: &str = "title = \"sample – 2.5 mm²\"\n[line]\nspeed = \"150 m/min\"\n";
const RESOLVED: &str = "title = \"sample – 2.5 mm²\"\n[line]\nspeed = \"2.5 m/s\"\n";

/// When the files of these tests are written.
const TIME: Duration = Duration::from_secs(1_735_689_599);

fn header(solution: &Solution) -> Header<'_> {
    let time = UNIX_EPOCH + TIME;
    Header { title: &solution.title, question: "run", case_text: CASE, resolved_case: RESOLVED, time }
}

/// The numbers of a solution with layers of these names.
fn data(solution: &Solution, shape: Shape, layer_names: &[String]) -> Data {
    solution.labelled(shape, &layer_names.iter().map(String::as_str).collect::<Vec<_>>())
}

/// Writes a solution of a round product.
fn write(path: &Path, solution: &Solution, layer_names: &[String], overwrite: bool) -> Result<(), StoreError> {
    write_data(path, &header(solution), &data(solution, Shape::Round, layer_names), overwrite)
}

/// Writes a solution to a file of its own below the build directory, where the Python tests find it too.
fn written(name: &str, solution: &Solution) -> PathBuf {
    let directory = Path::new(env!("CARGO_TARGET_TMPDIR")).join("store");
    fs::create_dir_all(&directory).unwrap();
    let path = directory.join(name);
    let layers = solution.throughput.len();
    write(&path, solution, &layer_names(layers), true).unwrap();
    path
}

/// Every number of two reports is the same: their debug texts print all digits of every number.
#[track_caller]
fn assert_same(left: &impl std::fmt::Debug, right: &impl std::fmt::Debug) {
    assert_eq!(format!("{left:#?}"), format!("{right:#?}"));
}

fn assert_round_trip(solution: &Solution, stored: &Stored) {
    let bits = |values: &[f64]| values.iter().map(|value| value.to_bits()).collect::<Vec<_>>();
    assert_same(&stored.stations, &solution.stations);
    assert_same(&stored.sections, &solution.sections);
    assert_same(&stored.set_through, &solution.set_through);
    assert_same(&stored.skins, &solution.skins);
    assert_same(&stored.throughput, &solution.throughput);
    assert_same(&stored.shrink, &solution.shrink);
    assert_same(&stored.band, &solution.band);
    assert_same(&stored.band_inputs, &solution.band_inputs);
    assert_eq!(stored.fields.band, solution.fields.band);
    assert_same(&stored.cautions, &solution.cautions);
    assert_eq!(stored.title, solution.title);
    assert_eq!(stored.cooling, solution.cooling);
    let numbers =
        [stored.equalised, stored.rebound, stored.chiller_duty, stored.peclet, stored.tolerance, stored.error];
    let numerics = &solution.numerics;
    let expected = [
        solution.equalised,
        solution.rebound,
        solution.chiller_duty,
        solution.peclet,
        numerics.tolerance,
        numerics.error,
    ];
    assert_eq!(bits(&numbers), bits(&expected));
    assert_eq!(stored.balance_relative_error.to_bits(), solution.balance.relative_error.to_bits());
    // Arrays print abridged, so fields are compared as bits.
    let fields = |fields: &Fields| {
        let columns = [
            &fields.distance,
            &fields.time,
            &fields.node_mass,
            &fields.surface,
            &fields.core,
            &fields.mean,
            &fields.hottest,
            &fields.diameter,
            &fields.medium,
            &fields.film,
            &fields.heat_flux,
            &fields.heat_per_length,
        ];
        let tables =
            [&fields.radius, &fields.temperature, &fields.enthalpy, &fields.interface_inner, &fields.interface_outer];
        let columns: Vec<_> = columns.iter().map(|column| bits(&column.to_vec())).collect();
        let tables: Vec<_> =
            tables.iter().map(|table| (table.dim(), bits(&table.iter().copied().collect::<Vec<_>>()))).collect();
        (columns, tables, fields.section_of_point.clone(), fields.layer_of_node.clone())
    };
    assert_eq!(fields(&stored.fields), fields(&solution.fields));
}

#[test]
fn what_was_written_is_read_back() {
    let solution = sample(2);
    let stored = read(&written("sample.h5", &solution));
    assert_round_trip(&solution, &stored);
    assert_eq!(stored.layer_names, layer_names(2));
    assert_eq!((stored.case_text.as_str(), stored.resolved_case.as_str()), (CASE, RESOLVED));
    // From `printf 'title = "sample – 2.5 mm²"\n[line]\nspeed = "150 m/min"\n' | sha256sum` of GNU coreutils.
    assert_eq!(stored.case_sha256, "fd3cd3122efc4cf6abd567629c13e4f708d5189adc535b9343f4b6f829ee3964");
    assert_eq!(stored.resolved_case_sha256, "855e3381101ecd29dcc1c6902bf72fd79cf6b4caba9d3c8a5deaed05ef119b42");
    let version = env!("CARGO_PKG_VERSION");
    assert!(stored.source.starts_with(&format!("quenchway {version}")), "{}", stored.source);
    assert_eq!(stored.history, format!("2024-12-31T23:59:59Z quenchway {version} run"));
    assert_eq!(stored.warnings.len(), 1);
    let (warning, expected) = (&stored.warnings[0], &solution.warnings[0]);
    assert_eq!((warning.kind.as_str(), &warning.message), ("contact_assumed", &expected.to_string()));
    assert_eq!(warning.place, expected.place());
}

#[test]
fn a_bare_wire_without_stations_is_read_back() {
    let solution = bare();
    let stored = read(&written("bare.h5", &solution));
    assert_round_trip(&solution, &stored);
    assert!(stored.stations.is_empty() && stored.warnings.is_empty() && stored.band.is_empty());
}

#[test]
fn two_runs_differ_in_history_only() {
    let directory = tempfile::tempdir().unwrap();
    let path = |name: &str| directory.path().join(name);
    let (solution, names) = (sample(2), layer_names(2));
    let first = header(&solution);
    let later = Header { time: first.time + Duration::from_secs(1), ..first };
    let data = data(&solution, Shape::Round, &names);
    for (name, header) in [("first.h5", &first), ("again.h5", &first), ("later.h5", &later)] {
        write_data(&path(name), header, &data, false).unwrap();
        std::thread::sleep(Duration::from_millis(1001)); // HDF5 keeps times, where it does, in whole seconds
    }
    let bytes = |name: &str| fs::read(path(name)).unwrap();
    assert!(bytes("first.h5") == bytes("again.h5"), "the same answer gave other bytes");
    assert!(bytes("first.h5") != bytes("later.h5"), "the time of writing is not in the file");
    let (before, after) = (b"2024-12-31T23:59:59Z", b"2025-01-01T00:00:00Z");
    let mut later = bytes("later.h5");
    let at = later.windows(after.len()).position(|window| window == after).unwrap();
    later[at..at + after.len()].copy_from_slice(before);
    assert!(bytes("first.h5") == later, "more than the time differs");
}

#[test]
fn flat_masses_are_per_metre_of_width() {
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("tape.h5");
    let (solution, names) = (sample(2), layer_names(2));
    write_data(&path, &header(&solution), &data(&solution, Shape::Flat, &names), false).unwrap();
    let units = |path: &Path, name: &str| {
        let file = hdf5::File::open(path).unwrap();
        let units: hdf5::types::VarLenUnicode =
            file.dataset(name).unwrap().attr("units").unwrap().read_scalar().unwrap();
        units.to_string()
    };
    assert_eq!((units(&path, "node_mass"), units(&path, "heat_per_length")), ("kg m-2".into(), "J m-2".into()));
    let round = written("sample-round.h5", &solution);
    assert_eq!((units(&round, "node_mass"), units(&round, "heat_per_length")), ("kg m-1".into(), "J m-1".into()));
}

#[test]
fn fields_are_chunked_shuffled_and_deflated() {
    use hdf5::filters::Filter;
    let path = written("sample-filters.h5", &sample(2));
    for name in ["temperature", "radius", "enthalpy"] {
        let dataset = hdf5::File::open(&path).unwrap().dataset(name).unwrap();
        assert!(dataset.is_chunked(), "{name}");
        assert_eq!(dataset.filters(), [Filter::Shuffle, Filter::Deflate(6)], "{name}");
        let plain = dataset.size() as u64 * 8;
        assert!(dataset.storage_size() < plain, "{name}: {} of {plain} bytes", dataset.storage_size());
    }
}

#[test]
fn what_cannot_be_written_is_said_before_computing() {
    let directory = tempfile::tempdir().unwrap();
    let path = |name: &str| directory.path().join(name);
    let missing = prepare(&path("no/such/wire.h5"), false).unwrap_err();
    assert!(missing.to_string().contains("wire.h5") && missing.to_string().contains("no such directory"), "{missing}");
    fs::write(path("plain"), "").unwrap();
    let file = prepare(&path("plain/wire.h5"), false).unwrap_err();
    assert!(file.to_string().contains("not a directory"), "{file}");
    fs::create_dir(path("wire.h5")).unwrap();
    assert_eq!(prepare(&path("wire.h5"), true), Err(StoreError::Occupied { path: path("wire.h5") }));
    assert_eq!(prepare(&path("free.h5"), false), Ok(()));
    let mut names: Vec<_> = fs::read_dir(directory.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["plain", "wire.h5"], "preparing left something behind");
}

#[test]
fn only_our_own_files_are_replaced() {
    let directory = tempfile::tempdir().unwrap();
    let path = |name: &str| directory.path().join(name);
    let (solution, names) = (sample(2), layer_names(2));
    fs::write(path("text.h5"), "somebody's notes").unwrap();
    let other = hdf5::File::create(path("other.h5")).unwrap();
    let source: hdf5::types::VarLenUnicode = "another program 1.0".parse().unwrap();
    other.new_attr::<hdf5::types::VarLenUnicode>().create("source").unwrap().write_scalar(&source).unwrap();
    drop(other);
    for name in ["text.h5", "other.h5"] {
        let before = fs::read(path(name)).unwrap();
        let refused = StoreError::NotOurs { path: path(name) };
        assert_eq!(prepare(&path(name), false), Err(refused.clone()));
        assert_eq!(write(&path(name), &solution, &names, false), Err(refused));
        assert!(fs::read(path(name)).unwrap() == before, "{name} was touched");
        write(&path(name), &solution, &names, true).unwrap();
        write(&path(name), &solution, &names, false).unwrap();
        assert_round_trip(&solution, &read(&path(name)));
    }
}

#[test]
fn a_failed_write_leaves_the_earlier_file_and_nothing_else() {
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("wire.h5");
    let (solution, names) = (sample(2), layer_names(2));
    write(&path, &solution, &names, false).unwrap();
    let before = fs::read(&path).unwrap();
    let full = write_beside(&path, |temporary| {
        fs::write(temporary, "half").unwrap();
        Err("the disk is full")
    });
    let full = full.unwrap_err();
    assert!(full.to_string().contains("the disk is full") && full.to_string().contains("untouched"), "{full}");
    // HDF5 has no text with NUL in it, TOML has.
    let nul = ["a\0b".to_string(), "c".to_string()];
    let nul = write(&path, &solution, &nul, false).unwrap_err();
    assert!(matches!(&nul, StoreError::Write { reason, .. } if reason.contains("a\\0b")), "{nul}");
    let mut short = data(&solution, Shape::Round, &names);
    short.numbers("short", "m", "one value for two layers", &[0], vec![1.0]);
    let short = write_data(&path, &header(&solution), &short, false).unwrap_err();
    assert!(matches!(&short, StoreError::Write { reason, .. } if reason.contains("short")), "{short}");
    assert!(fs::read(&path).unwrap() == before, "the earlier file was touched");
    assert_eq!(fs::read_dir(directory.path()).unwrap().count(), 1, "a temporary was left behind");
}

#[test]
fn temporaries_of_killed_runs_are_removed() {
    let directory = tempfile::tempdir().unwrap();
    let path = |name: &str| directory.path().join(name);
    let make = |name: &str, age: u64| {
        let file = fs::File::create(path(name)).unwrap();
        file.set_modified(SystemTime::now() - Duration::from_secs(age)).unwrap();
    };
    make(".wire.quenchway-part-aB3xY9.h5", 3600);
    make(".wire.quenchway-part-zzzzzz.h5", 5); // of a run that is under way
    make(".other.quenchway-part-aB3xY9.h5", 3600); // of another case
    make("wire.h5.notes", 3600);
    prepare(&path("wire.h5"), false).unwrap();
    let mut names: Vec<_> = fs::read_dir(directory.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    names.sort();
    let kept = [".other.quenchway-part-aB3xY9.h5", ".wire.quenchway-part-zzzzzz.h5", "wire.h5.notes"];
    assert_eq!(names, kept);
}

#[test]
fn the_temporary_keeps_the_extension_and_the_result_its_permissions() {
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("picture.png");
    write_beside(&path, |temporary| {
        assert_eq!(temporary.extension().unwrap(), "png");
        fs::write(temporary, "x")
    })
    .unwrap();
    fs::write(directory.path().join("plain"), "x").unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions();
    assert_eq!(mode(&path), mode(&directory.path().join("plain")));
}
