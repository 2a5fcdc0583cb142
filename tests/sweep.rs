//! Sweeps as their user meets them: the results file against single runs, failed samples, parts, the join, sameness.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use hdf5_metno::File;
use hdf5_metno::types::VarLenUnicode;
use quenchway::engine;
use quenchway::march::batch::{self, Batch, Care};
use quenchway::march::march_once;
use quenchway::march::output::Output;
use quenchway::names::key_path::KeyPath;
use quenchway::study::sweep::Sweep;
use quenchway_cli::store::same::{Compared, compare};
use quenchway_cli::sweep::{self, Folder, Held};
use serde_json::Value;

pub fn project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)
}

/// The program with arguments, none of them from the surroundings.
pub fn quenchway(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_quenchway"));
    command.args(args);
    command
}

/// Exit status, standard output, standard error.
pub fn outcome(args: &[&str]) -> (i32, String, String) {
    let output = quenchway(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// Runs what must succeed; its standard output.
pub fn done(args: &[&str]) -> String {
    let (status, out, err) = outcome(args);
    assert_eq!(status, 0, "{args:?}\n{err}");
    out
}

/// A study of the house wire in a directory of its own.
pub struct Place {
    dir: tempfile::TempDir,
}

impl Place {
    pub fn new(study: &str) -> Place {
        let dir = tempfile::tempdir().unwrap();
        fs::copy(project("cases/house-wire.toml"), dir.path().join("house-wire.toml")).unwrap();
        fs::write(dir.path().join("study.toml"), format!("case = \"house-wire.toml\"\n{study}")).unwrap();
        Place { dir }
    }

    pub fn path(&self, name: &str) -> String {
        self.dir.path().join(name).to_str().unwrap().to_string()
    }

    /// A sweep of the study into a directory of the place.
    pub fn sweep(&self, out: &str, more: &[&str]) -> String {
        done(&[&["sweep", &self.path("study.toml"), "--out", &self.path(out), "--json"], more].concat())
    }

    pub fn results(&self, out: &str) -> PathBuf {
        self.dir.path().join(out).join("study.h5")
    }

    pub fn blocks(&self, out: &str) -> Vec<PathBuf> {
        let Ok(entries) = fs::read_dir(self.dir.path().join(out).join("study.blocks")) else { return Vec::new() };
        let paths = entries.map(|entry| entry.unwrap().path());
        // A temporary is hidden, and no block.
        let whole = |path: &PathBuf| {
            let name = path.file_name().unwrap().to_str().unwrap();
            name.ends_with(".block") && !name.starts_with('.')
        };
        let mut blocks: Vec<PathBuf> = paths.filter(whole).collect();
        blocks.sort();
        blocks
    }
}

pub fn same(a: &Path, b: &Path) -> bool {
    matches!(compare(a, b).unwrap(), Compared::Same { .. })
}

/// Twelve samples, three of them refused.
const SMALL: &str = "outputs = [\"capstan.core\", \"hot gauge.diameter\"]\nblock = 2\n[vary]\n\
     \"layer.insulation.diameter\" = [\"1.5 mm\", \"3.2 mm\", \"3.42 mm\", \"3.6 mm\"]\n\
     \"line.speed\" = { from = \"100 m/min\", to = \"200 m/min\", points = 3 }\n";

fn numbers(file: &File, name: &str) -> Vec<f64> {
    file.dataset(name).unwrap().read_raw::<f64>().unwrap()
}

fn texts(file: &File, name: &str) -> Vec<String> {
    file.dataset(name).unwrap().read_raw::<VarLenUnicode>().unwrap().iter().map(|text| text.to_string()).collect()
}

#[test]
fn every_sample_is_the_single_run_with_its_inputs() {
    let out = tempfile::tempdir().unwrap();
    let study = project("cases/studies/speed-and-length.toml");
    let told = done(&["sweep", study.to_str().unwrap(), "--out", out.path().to_str().unwrap(), "--threads", "2"]);
    let in_lanes = (0..400).filter(|&index| !Sweep::is_checked(index)).count();
    // Words may be wrapped anywhere.
    let words = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(&format!("{in_lanes} of them were computed {}", engine::Path::best().name())), "{told}");
    let file = File::open(out.path().join("speed-and-length.h5")).unwrap();
    let (speeds, lengths) = (numbers(&file, "line.speed"), numbers(&file, "section.trough.length"));
    assert_eq!((speeds.len(), lengths.len()), (20, 20));
    assert_eq!(file.dataset("capstan.core").unwrap().shape(), [20, 20]);
    let (core, shrink) = (numbers(&file, "capstan.core"), numbers(&file, "shrink.to_finished"));
    let base = quenchway::file::read(&fs::read_to_string(project("cases/house-wire.toml")).unwrap()).unwrap();
    for place in [0, 7, 19, 20, 133, 399] {
        let mut case = base.clone();
        for (path, value) in [("line.speed", speeds[place / 20]), ("section.trough.length", lengths[place % 20])] {
            KeyPath::find(&case, path).unwrap().set(&mut case, value).unwrap();
        }
        let solution = march_once(&case, false).unwrap();
        let alone = [solution.stations[2].point.core, solution.shrink.to_finished];
        let found = [core[place], shrink[place]];
        // Checked samples are solved alone; the others side by side, in another order of the same arithmetic.
        let outputs = ["capstan.core", "shrink.to_finished"].map(|name| Output::find(&case, name).unwrap());
        let settings = Batch { care: Care::Once, ..Batch::default() };
        let lanes = batch::answers(std::slice::from_ref(&case), &outputs, settings).remove(0).unwrap().values;
        let expected = if Sweep::is_checked(place as u64) { &alone[..] } else { &lanes[..] };
        for ((found, expected), alone) in found.iter().zip(expected).zip(&alone) {
            assert_eq!(found.to_bits(), expected.to_bits(), "sample {place}");
            assert!((found - alone).abs() < 1e-9, "sample {place}");
        }
    }
    assert_eq!(file.dataset("status").unwrap().read_raw::<i8>().unwrap(), vec![0; 400]);
    let mut names: Vec<String> =
        fs::read_dir(out.path()).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(names, ["speed-and-length.h5", "speed-and-length.png"], "blocks and temporaries are gone");
}

#[test]
fn a_failed_sample_has_a_status_and_a_reason_and_stops_no_other() {
    let place = Place::new(SMALL);
    let report: Value = serde_json::from_str(&place.sweep("out", &[])).unwrap();
    assert_eq!((report["by_status"]["refused"].as_u64(), report["by_status"]["good"].as_u64()), (Some(3), Some(9)));
    let file = File::open(place.results("out")).unwrap();
    assert_eq!(file.dataset("status").unwrap().read_raw::<i8>().unwrap(), [1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    let core = numbers(&file, "capstan.core");
    assert!(core[..3].iter().all(|core| core.is_nan()) && core[3..].iter().all(|core| core.is_finite()));
    let reasons = texts(&file, "status_reason");
    assert!(reasons[..3].iter().all(|why| why.contains("\"insulation\": has no wall")), "{reasons:?}");
    assert!(reasons[3..].iter().all(String::is_empty), "{reasons:?}");
    let fill = file.dataset("hot_gauge.diameter").unwrap().attr("_FillValue").unwrap().read_raw::<f64>().unwrap();
    assert!(fill[0].is_nan());
    let exact = file.dataset("hot_gauge.diameter").unwrap().attr("output").unwrap().read_scalar::<VarLenUnicode>();
    assert_eq!(exact.unwrap().as_str(), "\"hot gauge\".diameter");
}

#[test]
fn threads_and_parts_make_no_difference() {
    let place = Place::new(SMALL);
    for threads in ["1", "2", "64"] {
        place.sweep(threads, &["--threads", threads]);
    }
    for of in [2, 5, 9] {
        let out = format!("parts-{of}");
        for index in (1..=of).rev() {
            place.sweep(&out, &["--part", &format!("{index}/{of}"), "--resume", "--threads", "2"]);
        }
        done(&["join", &place.path("study.toml"), "--out", &place.path(&out), "--remove-blocks"]);
        assert!(place.blocks(&out).is_empty());
    }
    for other in ["2", "64", "parts-2", "parts-5", "parts-9"] {
        let report = done(&["same", place.results("1").to_str().unwrap(), place.results(other).to_str().unwrap()]);
        assert!(report.starts_with("the same content: 6 variables"), "{report}");
    }
}

#[test]
fn the_first_difference_is_named() {
    let place = Place::new(SMALL);
    place.sweep("a", &[]);
    place.sweep("b", &[]);
    let (a, b) = (place.results("a"), place.results("b"));
    let told = |b: &Path| match compare(&a, b).unwrap() {
        Compared::Different(what) => what,
        Compared::Same { .. } => panic!("not the same"),
    };
    {
        let file = File::open_rw(&b).unwrap();
        let mut core = file.dataset("capstan.core").unwrap().read_2d::<f64>().unwrap();
        core[[1, 2]] = f64::from_bits(core[[1, 2]].to_bits() + 1);
        file.dataset("capstan.core").unwrap().write(&core).unwrap();
    }
    assert!(told(&b).starts_with("capstan.core[1, 2] is "), "{}", told(&b));
    let (status, out, _) = outcome(&["same", a.to_str().unwrap(), b.to_str().unwrap()]);
    assert!(status == 1 && out.starts_with("not the same: capstan.core[1, 2]"), "{out}");
    let other = Place::new(&SMALL.replace("1.5 mm", "1.6 mm"));
    other.sweep("a", &[]);
    assert!(told(&other.results("a")).contains("attribute study_sha256"), "{}", told(&other.results("a")));
    fs::write(&b, "no results").unwrap();
    assert_eq!(outcome(&["same", a.to_str().unwrap(), b.to_str().unwrap()]).0, 2);
    assert_eq!(outcome(&["same", a.to_str().unwrap(), "nowhere.h5"]).0, 2);
}

#[test]
fn the_join_names_what_is_missing_and_takes_nothing_foreign() {
    let place = Place::new(SMALL);
    let study = place.path("study.toml");
    let join = |out: &str, more: &[&str]| outcome(&[&["join", &study, "--out", &place.path(out)], more].concat());
    let (status, _, err) = join("parts", &[]);
    assert_eq!(status, 2, "{err}");
    place.sweep("whole", &[]);
    for index in ["1/3", "3/3"] {
        place.sweep("parts", &["--part", index]);
    }
    let (status, _, err) = join("parts", &[]);
    assert!(status == 1 && err.contains("2 blocks are missing: 1, 4, of 6 in all"), "{err}");
    assert!(!place.results("parts").exists());

    // Computed elsewhere, some of it twice.
    place.sweep("elsewhere", &["--part", "2/3"]);
    place.sweep("elsewhere", &["--part", "1/2", "--resume"]);
    let elsewhere = place.path("elsewhere");
    let (status, out, err) = join("parts", &["--from", &elsewhere, "--json"]);
    assert_eq!(status, 0, "{err}");
    assert_eq!(serde_json::from_str::<Value>(&out).unwrap()["parts"], 3);
    assert!(same(&place.results("whole"), &place.results("parts")));

    // The same block with another number in it: one of two machines is wrong.
    let other = Place::new(&SMALL.replace("100 m/min", "101 m/min"));
    other.sweep("parts", &["--part", "1/3"]);
    let foreign = fs::read(&other.blocks("parts")[0]).unwrap();
    let whole = fs::read(&place.blocks("parts")[0]).unwrap();
    let mut damaged = whole.clone();
    *damaged.last_mut().unwrap() ^= 1;
    fs::write(&place.blocks("parts")[0], &foreign).unwrap();
    let (status, _, err) = join("parts", &["--from", &elsewhere]);
    assert!(status == 0 && err.contains("all samples of this study already"), "a complete file needs no block: {err}");
    fs::remove_file(place.results("parts")).unwrap();
    let (status, _, err) = join("parts", &["--from", &elsewhere]);
    assert!(status == 2 && err.contains("was made from another study file's text"), "{err}");
    fs::write(&place.blocks("parts")[0], &damaged).unwrap();
    let (status, _, err) = join("parts", &["--from", &place.path("elsewhere")]);
    assert_eq!(status, 0, "the other directory has it whole: {err}");
    fs::remove_dir_all(place.path("elsewhere")).unwrap();
    assert_eq!(join("parts", &[]).0, 0, "the file is complete, whatever is left of the blocks");
    fs::remove_file(place.results("parts")).unwrap();
    let (status, _, err) = join("parts", &[]);
    assert!(status == 1 && err.contains("2 blocks are missing: 1, 4,"), "{err}");
    place.sweep("parts", &["--part", "1/1", "--resume"]);
    done(&["join", &study, "--out", &place.path("parts")]);
    assert!(same(&place.results("whole"), &place.results("parts")));
}

#[test]
fn two_blocks_that_differ_are_refused() {
    let place = Place::new(SMALL);
    let study = place.path("study.toml");
    for out in ["here", "there"] {
        place.sweep(out, &["--part", "1/1"]);
    }
    let plan = sweep::load(Path::new(&study)).unwrap();
    let folder = Folder::new(Path::new(&place.path("there")), &plan);
    let Held::Block(mut block) = folder.read(4).unwrap() else { panic!("block 4 is there") };
    let before = block.outputs[0][1];
    block.outputs[0][1] = f64::from_bits(before.to_bits() + 1);
    folder.write(&block).unwrap();
    let there = place.path("there");
    let (status, _, err) = outcome(&["join", &study, "--out", &place.path("here"), "--from", &there]);
    assert!(status == 1 && err.contains("block 4 holds other numbers in") && err.contains("there"), "{err}");
    assert!(!place.results("here").exists());
    block.outputs[0][1] = before;
    folder.write(&block).unwrap();
    done(&["join", &study, "--out", &place.path("here"), "--from", &there]);
}

#[test]
fn finished_work_is_neither_lost_nor_mixed() {
    let place = Place::new(SMALL);
    let study = place.path("study.toml");
    place.sweep("out", &["--part", "1/2"]);
    let (status, _, err) = outcome(&["sweep", &study, "--out", &place.path("out")]);
    assert!(status == 2 && err.contains("holds 3 finished blocks of this study: give --resume"), "{err}");
    let report: Value = serde_json::from_str(&place.sweep("out", &["--resume"])).unwrap();
    assert_eq!(report["computed_now"], 6);
    // Complete: nothing to do, however often.
    let (status, out, err) = outcome(&["sweep", &study, "--out", &place.path("out"), "--resume"]);
    assert!(status == 0 && out.is_empty() && err.contains("all samples of this study already"), "{err}");
    let (status, _, _) = outcome(&["sweep", &study, "--out", &place.path("out"), "--part", "2/2", "--resume"]);
    assert_eq!(status, 0);
    assert_eq!(outcome(&["join", &study, "--out", &place.path("out")]).0, 0);

    // Another text of the study: the blocks of the first are not taken for it.
    place.sweep("mixed", &["--part", "1/2"]);
    fs::write(&study, fs::read_to_string(&study).unwrap() + "# changed\n").unwrap();
    let (status, _, err) = outcome(&["sweep", &study, "--out", &place.path("mixed"), "--resume"]);
    assert!(status == 2 && err.contains("another study file's text") && err.contains("--overwrite"), "{err}");
    place.sweep("mixed", &["--overwrite"]);
    assert!(place.results("mixed").exists());

    // A file of the user's is not replaced.
    fs::create_dir(place.path("taken")).unwrap();
    fs::write(place.results("taken"), "mine").unwrap();
    let (status, _, err) = outcome(&["sweep", &study, "--out", &place.path("taken")]);
    assert!(status == 2 && err.contains("--overwrite"), "{err}");
    assert_eq!(fs::read_to_string(place.results("taken")).unwrap(), "mine");
}

#[test]
fn a_dry_run_says_what_will_be_and_writes_nothing() {
    let place = Place::new(SMALL);
    let out = done(&["sweep", &place.path("study.toml"), "--dry-run", "--json"]);
    let said: Value = serde_json::from_str(&out).unwrap();
    assert_eq!((said["samples"].as_u64(), said["blocks"].as_u64()), (Some(12), Some(6)));
    assert!(said["expected_wall_s"].as_f64().unwrap() > 0.0);
    let out = done(&["sweep", &place.path("study.toml"), "--dry-run"]);
    assert!(out.contains("4 values of layer.insulation.diameter") && out.contains("Nothing was written"), "{out}");
    let mut names: Vec<_> = fs::read_dir(place.path("")).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["house-wire.toml", "study.toml"]);
}

#[test]
fn wrong_flags_are_refused() {
    let place = Place::new(SMALL);
    let study = place.path("study.toml");
    let out = place.path("out");
    for (flags, words) in [
        (vec!["--part", "0/3", "--out", &out], "1/3 to 3/3"),
        (vec!["--part", "4/3", "--out", &out], "1/3 to 3/3"),
        (vec!["--part", "three", "--out", &out], "3/64"),
        (vec!["--threads", "0", "--out", &out], "1..=4096"),
        (vec!["--out", "/dev/null/x"], "cannot make"),
        (vec![], "--out"),
    ] {
        let (status, _, err) = outcome(&[&["sweep", study.as_str()], &flags[..]].concat());
        assert!(status == 2 && err.contains(words), "{flags:?}: {err}");
    }
    assert!(!Path::new(&out).exists());
}

/// 40 samples of a low-discrepancy sequence, with fields; some are refused.
const SAMPLED: &str = "outputs = [\"capstan.core\"]\nmethod = \"sobol\"\nsamples = 40\nblock = 7\n\
     fields = [\"temperature\", \"surface_temperature\"]\n[vary]\n\
     \"layer.insulation.diameter\" = { from = \"1.7 mm\", to = \"4 mm\" }\n\
     \"line.speed\" = { normal = [\"150 m/min\", \"10 m/min\"] }\n";

#[test]
fn samples_are_the_same_in_parts_and_their_inputs_are_in_the_file() {
    let place = Place::new(SAMPLED);
    place.sweep("whole", &["--threads", "2"]);
    for part in ["2/3", "3/3", "1/3"] {
        place.sweep("parts", &["--part", part, "--resume"]);
    }
    done(&["join", &place.path("study.toml"), "--out", &place.path("parts")]);
    assert!(same(&place.results("whole"), &place.results("parts")));
    let file = File::open(place.results("whole")).unwrap();
    let (diameters, speeds) = (numbers(&file, "layer.insulation.diameter"), numbers(&file, "line.speed"));
    let status = file.dataset("status").unwrap().read_raw::<i8>().unwrap();
    for (diameter, status) in diameters.iter().zip(&status) {
        assert_eq!(*status == 0, *diameter > 1.78e-3, "{diameter}");
    }
    assert!(status.contains(&1));
    let coordinates = file.dataset("capstan.core").unwrap().attr("coordinates").unwrap();
    assert_eq!(coordinates.read_scalar::<VarLenUnicode>().unwrap().as_str(), "layer.insulation.diameter line.speed");

    // A sample's fields are those of the same case alone, at its own points.
    let base = quenchway::file::read(&fs::read_to_string(project("cases/house-wire.toml")).unwrap()).unwrap();
    let (temperature, surface) = (file.dataset("temperature").unwrap(), file.dataset("surface_temperature").unwrap());
    let [samples, points, nodes] = temperature.shape()[..] else { panic!() };
    assert_eq!((samples, surface.shape()), (40, vec![40, points]));
    let (all, outside) = (temperature.read_raw::<f64>().unwrap(), surface.read_raw::<f64>().unwrap());
    for sample in [3, 17, 39] {
        let of_sample = &all[sample * points * nodes..(sample + 1) * points * nodes];
        if status[sample] != 0 {
            assert!(of_sample.iter().all(|value| value.is_nan()));
            continue;
        }
        let mut case = base.clone();
        for (path, value) in [("line.speed", speeds[sample]), ("layer.insulation.diameter", diameters[sample])] {
            KeyPath::find(&case, path).unwrap().set(&mut case, value).unwrap();
        }
        let fields = march_once(&case, true).unwrap().fields;
        let own = fields.temperature.ncols();
        assert!(fields.temperature.nrows() <= points && own <= nodes);
        for point in 0..points {
            for node in 0..nodes {
                let found = of_sample[point * nodes + node];
                match fields.temperature.get((point, node)) {
                    Some(expected) => assert_eq!(found.to_bits(), expected.to_bits(), "{sample} {point} {node}"),
                    None => assert!(found.is_nan()),
                }
            }
            let found = outside[sample * points + point];
            assert!(fields.surface.get(point).map_or(found.is_nan(), |expected| found == *expected));
        }
    }
}

#[test]
fn the_csv_file_has_what_the_results_file_has() {
    let place = Place::new(SMALL);
    place.sweep("out", &["--csv"]);
    let path = place.results("out").with_extension("csv");
    let text = fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(
        lines[0],
        "sample,layer.insulation.diameter [m],line.speed [m s-1],capstan.core [degC],\"\"\"hot gauge\"\".diameter [m]\",\
         status,status_reason"
    );
    assert_eq!(lines.len(), 13);
    assert!(
        lines[1].starts_with("0,0.0015,1.6666666666666667,,,1,") && lines[1].contains("has no wall"),
        "{}",
        lines[1]
    );
    let file = File::open(place.results("out")).unwrap();
    let core = numbers(&file, "capstan.core");
    for (line, core) in lines[4..].iter().zip(&core[3..]) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells[3].parse::<f64>().unwrap().to_bits(), core.to_bits());
        assert_eq!(&cells[5..], ["0", ""]);
    }
    // Later, from a finished file; and never over a file that may be the user's.
    fs::write(&path, "mine").unwrap();
    let study = place.path("study.toml");
    let (status, _, err) = outcome(&["sweep", &study, "--out", &place.path("out"), "--csv"]);
    assert!(status == 2 && err.contains("--csv") && err.contains("is there already"), "{err}");
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    fs::remove_file(&path).unwrap();
    done(&["sweep", &study, "--out", &place.path("out"), "--csv", "--resume"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
}

#[test]
fn the_slurm_script_runs_this_sweep() {
    let place = Place::new(SMALL);
    let study = place.path("study.toml");
    let flags =
        ["--slurm", "64", "--account", "process", "--partition", "short", "--time", "2:00:00", "--module", "hdf5"];
    let script = done(&[&["sweep", &study, "--out", &place.path("out"), "--cores", "4"], &flags[..]].concat());
    for words in [
        format!("study={study}\n"),
        "tasks=6\n".to_string(),
        "--account=process --partition=short".to_string(),
        "--time=2:00:00".to_string(),
        "--cpus-per-task=4".to_string(),
        "module load hdf5".to_string(),
        "--resume --threads".to_string(),
        format!("program={}\n", env!("CARGO_BIN_EXE_quenchway")),
    ] {
        assert!(script.contains(&words), "{words} in\n{script}");
    }
    assert_eq!(script.matches("--cpus-per-task=4").count(), 2, "tasks and join: both use the cores they get");
    assert!(!Path::new(&place.path("out")).exists(), "nothing is computed");
    for (flags, words) in [
        (vec!["--account", "process"], "--slurm"),
        (vec!["--slurm", "8", "--time", "two hours"], "1-12:00:00"),
        (vec!["--slurm", "8", "--resume"], "cannot be used with"),
        (vec!["--slurm", "0"], "1..=1000000"),
    ] {
        let (status, _, err) = outcome(&[&["sweep", &study, "--out", &place.path("out")], &flags[..]].concat());
        assert!(status == 2 && err.contains(words), "{flags:?}: {err}");
    }
}

#[test]
fn every_study_of_the_cases_runs() {
    let mut found = 0;
    for entry in fs::read_dir(project("cases/studies")).unwrap() {
        let path = entry.unwrap().path();
        let out = tempfile::tempdir().unwrap();
        let report = done(&["sweep", path.to_str().unwrap(), "--out", out.path().to_str().unwrap(), "--json"]);
        let report: Value = serde_json::from_str(&report).unwrap();
        assert_eq!(report["by_status"]["good"], report["samples"], "{path:?}");
        let checked = &report["checked"];
        assert!(checked["samples"].as_u64().unwrap() > 0 && checked["above_tolerance"] == 0, "{path:?}: {checked}");
        found += 1;
    }
    assert!(found >= 2);
}
