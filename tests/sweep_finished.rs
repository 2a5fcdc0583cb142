//! Finished work: never replaced without a word, known again at once, kept apart from that of other builds; what a kill left
//! behind is cleaned up, what is damaged is named.

use std::fs;
use std::path::Path;

use hdf5_metno::File;
use hdf5_metno::types::VarLenUnicode;
use quenchway_cli::build::PROGRAM;
use quenchway_cli::sweep::{self, Folder, Held};

use crate::sweep::{Place, done, outcome, same};

/// Six samples in three blocks.
const STUDY: &str = "outputs = [\"capstan.core\"]\nblock = 2\n[vary]\n\
     \"line.speed\" = { from = \"100 m/min\", to = \"200 m/min\", points = 6 }\n";

/// The exit status and what is said of a sweep or a join into `out`.
fn told(place: &Place, command: &str, out: &str, more: &[&str]) -> (i32, String, String) {
    outcome(&[&[command, &place.path("study.toml"), "--out", &place.path(out)], more].concat())
}

fn edit(place: &Place, file: &str, from: &str, to: &str) {
    let text = fs::read_to_string(place.path(file)).unwrap();
    assert!(text.contains(from), "{from} in\n{text}");
    fs::write(place.path(file), text.replacen(from, to, 1)).unwrap();
}

#[test]
fn a_finished_study_is_known_at_once_and_tells_the_same() {
    let place = Place::new(STUDY);
    let first = place.sweep("whole", &["--threads", "2"]);
    place.sweep("parts", &["--part", "1/1"]);
    let (status, joined, err) = told(&place, "join", "parts", &["--json"]);
    assert_eq!(status, 0, "{err}");
    assert!(joined.contains("\"parts\": 1") && first.contains("\"wall_s\""));
    let bytes = fs::metadata(place.results("whole")).unwrap().len();
    assert!(first.contains(&format!("\"bytes\": {bytes},")), "{first}");
    let written = fs::metadata(place.results("whole")).unwrap().modified().unwrap();
    for (out, computed) in [("whole", &first), ("parts", &joined)] {
        for command in ["sweep", "join"] {
            let (status, json, err) = told(&place, command, out, &["--json"]);
            assert!(status == 0 && err.contains("holds all samples of this study already"), "{command} {out}: {err}");
            assert_eq!(json, *computed, "{command} {out}");
        }
        let (status, report, err) = told(&place, "sweep", out, &[]);
        assert!(status == 0 && report.is_empty() && err.contains("nothing was computed"), "{err}");
        let (status, report, err) = told(&place, "sweep", out, &["-q"]);
        assert_eq!((status, report.as_str(), err.as_str()), (0, "", ""));
    }
    assert_eq!(fs::metadata(place.results("whole")).unwrap().modified().unwrap(), written, "nothing was written");
    assert!(told(&place, "sweep", "whole", &["--overwrite"]).2.contains("wrote"), "begun anew where it is asked for");
}

#[test]
fn another_study_case_or_build_replaces_nothing_without_a_word() {
    let place = Place::new(STUDY);
    let edits: [(&str, &dyn Fn()); 3] = [
        ("another study file's text", &|| edit(&place, "study.toml", "200 m/min", "210 m/min")),
        ("another base case", &|| edit(&place, "house-wire.toml", "16 degC", "17 degC")),
        ("another build, quenchway of yesterday; this is quenchway 0.", &|| {
            // In a copy: programs that other tests start meanwhile would hold on to the lock of a file that is open here.
            let copy = place.path("copy.h5");
            fs::copy(place.results("out"), &copy).unwrap();
            let file = File::open_rw(&copy).unwrap();
            for (name, value) in [("program_sha256", "0"), ("source", "quenchway of yesterday")] {
                let value: VarLenUnicode = value.parse().unwrap();
                file.attr(name).unwrap().write_scalar(&value).unwrap();
            }
            file.close().unwrap();
            fs::copy(&copy, place.results("out")).unwrap();
            fs::remove_file(&copy).unwrap();
        }),
    ];
    for (difference, change) in edits {
        place.sweep("out", &["--overwrite"]);
        change();
        let before = fs::read(place.results("out")).unwrap();
        let ways: [(&str, &[&str]); 6] = [
            ("sweep", &[]),
            ("sweep", &["--resume"]),
            ("sweep", &["--part", "1/2"]),
            ("sweep", &["--part", "2/2", "--resume"]),
            ("sweep", &["--slurm", "2"]),
            ("join", &[]),
        ];
        for (command, flags) in ways {
            let (status, out, err) = told(&place, command, "out", flags);
            assert!(status == 2 && out.is_empty(), "{command} {flags:?}: {err}");
            let words = err.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.contains(difference) && words.contains("give --overwrite"), "{command} {flags:?}: {err}");
            assert!(!err.contains("--resume"), "{err}");
        }
        assert!(fs::read(place.results("out")).unwrap() == before, "the file is as it was: {difference}");
    }
    // Said once, it holds for the parts and the join that go on with it, and for no other study.
    let before = fs::read(place.results("out")).unwrap();
    place.sweep("out", &["--part", "1/2", "--overwrite"]);
    place.sweep("out", &["--part", "2/2", "--resume"]);
    assert!(fs::read(place.results("out")).unwrap() == before, "it is there until the new one is");
    done(&["join", &place.path("study.toml"), "--out", &place.path("out")]);
    place.sweep("alone", &[]);
    assert!(same(&place.results("alone"), &place.results("out")));
    edit(&place, "study.toml", "210 m/min", "220 m/min");
    assert_eq!(told(&place, "join", "out", &[]).0, 2);
    // What is no sweep is not replaced either.
    fs::create_dir(place.path("other")).unwrap();
    fs::copy(place.path("house-wire.toml"), place.path("study-run.toml")).unwrap();
    done(&["run", &place.path("study-run.toml"), "--no-band", "--out", &place.path("other"), "-q"]);
    fs::rename(place.path("other/study-run.h5"), place.results("other")).unwrap();
    let (status, _, err) = told(&place, "sweep", "other", &[]);
    assert!(status == 2 && err.contains("holds no sweep"), "{err}");
}

#[test]
fn blocks_of_another_build_are_refused_by_name() {
    let place = Place::new(STUDY);
    place.sweep("out", &["--part", "1/1"]);
    let out = place.path("out");
    let mut plan = sweep::load(Path::new(&place.path("study.toml"))).unwrap();
    let Held::Block(block) = Folder::new(Path::new(&out), &plan).read(1).unwrap() else { panic!("block 1 is there") };
    // As a build would write it whose sources differ in one constant.
    plan.identity.program.replace_range(..1, "x");
    plan.identity.build = "quenchway 0.1.0 (sources x)".to_string();
    Folder::new(Path::new(&out), &plan).write(&block).unwrap();
    for (command, flags) in [("join", &[][..]), ("sweep", &["--resume"])] {
        let (status, _, err) = told(&place, command, "out", flags);
        let words = err.split_whitespace().collect::<Vec<_>>().join(" ");
        let names =
            format!("000000001.block was made by another build, quenchway 0.1.0 (sources x); this is {PROGRAM}");
        assert!(status == 2 && words.contains(&names), "{err}");
    }
    assert!(!place.results("out").exists());
}

#[test]
fn a_join_after_an_edit_says_so() {
    for (file, from, to, words) in [
        ("study.toml", "points = 6", "points = 9", "another study file's text: the study was edited since"),
        ("study.toml", "points = 6", "points = 5", "another study file's text: the study was edited since"),
        ("house-wire.toml", "16 degC", "17 degC", "another base case: the case was edited since"),
    ] {
        let place = Place::new(STUDY);
        place.sweep("out", &["--part", "1/1"]);
        edit(&place, file, from, to);
        let (status, _, err) = told(&place, "join", "out", &[]);
        let told = err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(status == 2 && told.contains(words), "{to}: {err}");
        assert!(!told.contains("--resume") && !told.contains("missing"), "{to}: {err}");
    }
}

#[test]
fn what_a_killed_join_left_behind_is_cleaned_up_and_nothing_else() {
    let place = Place::new(STUDY);
    place.sweep("out", &["--part", "1/1"]);
    let path = |name: &str| place.path(&format!("out/{name}"));
    let ours = [".study.quenchway-part-aB3dE6.h5", ".study.quenchway-part-gH9.png", ".study.quenchway-part-k.csv"];
    let others = [".other.quenchway-part-aB3dE6.h5", ".study.notes.h5", "study.quenchway-part-a.h5", "mine.h5"];
    let leave = || ours.iter().chain(&others).for_each(|name| fs::write(path(name), "half of a file").unwrap());
    let there = |names: &[&str]| names.iter().filter(|name| Path::new(&path(name)).exists()).count();

    // Another process has the blocks: it may be joining.
    leave();
    let plan = sweep::load(Path::new(&place.path("study.toml"))).unwrap();
    let lock = Folder::new(Path::new(&place.path("out")), &plan).lock().unwrap();
    for command in ["join", "sweep"] {
        let (status, _, err) = told(&place, command, "out", if command == "join" { &[] } else { &["--resume"] });
        assert!(status == 2 && err.contains("another quenchway is computing this study"), "{command}: {err}");
    }
    assert_eq!(there(&ours), 3, "another process may be writing them");
    drop(lock);
    // However young they are.
    for (command, flags) in [("join", &[][..]), ("sweep", &["--resume"]), ("sweep", &["--overwrite"])] {
        leave();
        let _ = fs::remove_file(place.results("out"));
        assert_eq!(told(&place, command, "out", flags).0, 0);
        assert_eq!((there(&ours), there(&others)), (0, 4), "{command}");
    }
    assert!(place.results("out").exists());
}

/// A part cleans up what a killed task of the same part left, old enough that nobody writes it any more; a whole run all of it.
#[test]
fn what_a_killed_part_left_behind_is_cleaned_up_by_the_next() {
    let place = Place::new(STUDY);
    place.sweep("out", &["--part", "1/3"]);
    let path = |name: &str| place.path(&format!("out/study.blocks/{name}"));
    let leave = |name: &str, seconds: u64| {
        let file = fs::File::create(path(name)).unwrap();
        let then = std::time::SystemTime::now() - std::time::Duration::from_secs(seconds);
        file.set_modified(then).unwrap();
        assert!(Path::new(&path(name)).exists());
    };
    let [ours, young, of_another, of_nobody] = [
        ".000000001.quenchway-part-aB3dE6.block",
        ".000000001.quenchway-part-young.block",
        ".000000002.quenchway-part-aB3dE6.block",
        ".notes.quenchway-part-aB3dE6.block",
    ];
    for name in [ours, of_another, of_nobody] {
        leave(name, 3600);
    }
    leave(young, 10);
    // The second of three parts has block 1.
    place.sweep("out", &["--part", "2/3"]);
    let there = |name: &&str| Path::new(&path(name)).exists();
    assert_eq!([ours, young, of_another, of_nobody].each_ref().map(there), [false, true, true, true]);
    place.sweep("out", &["--part", "3/3", "--resume"]);
    assert_eq!([ours, young, of_another, of_nobody].each_ref().map(there), [false, true, false, true]);
    assert_eq!(told(&place, "sweep", "out", &["--resume"]).0, 0);
    assert!(!Path::new(&place.path("out/study.blocks")).exists(), "a whole run leaves nothing");
}

#[test]
fn the_damaged_file_is_named() {
    let place = Place::new(&STUDY.replace("points = 6", "points = 600").replace("block = 2", "block = 100"));
    place.sweep("whole", &[]);
    place.sweep("damaged", &[]);
    let (whole, damaged) = (place.results("whole"), place.results("damaged"));
    let bytes = fs::read(&damaged).unwrap();
    let told = |first: &Path, second: &Path| {
        let (status, _, err) = outcome(&["same", first.to_str().unwrap(), second.to_str().unwrap()]);
        (status, err.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let mut seen = 0;
    // A piece of the disk gone bad, anywhere: in numbers, or in what says where they are.
    for place in (0..bytes.len() - 64).step_by(bytes.len() / 60) {
        let mut bad = bytes.clone();
        bad[place..place + 64].iter_mut().for_each(|byte| *byte ^= 0x55);
        fs::write(&damaged, &bad).unwrap();
        for (first, second) in [(&whole, &damaged), (&damaged, &whole)] {
            let (status, err) = told(first, second);
            assert!([0, 1, 2].contains(&status), "byte {place}: {err}");
            if status == 2 {
                assert!(err.contains(damaged.to_str().unwrap()), "byte {place}: {err}");
                assert!(!err.contains(whole.to_str().unwrap()), "byte {place}: {err}");
                seen += 1;
            }
        }
    }
    assert!(seen > 10, "{seen} times a file could not be read");
    fs::write(&damaged, &bytes[..bytes.len() / 2]).unwrap();
    let (status, err) = told(&whole, &damaged);
    assert!(status == 2 && err.contains(damaged.to_str().unwrap()), "{err}");
}
