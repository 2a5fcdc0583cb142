//! Sweeps that are killed, run twice at the same time, or run out of disk: nothing is lost but the block in work, and the
//! file that comes out in the end is that of an undisturbed run, bit for bit.

use std::fs;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use rand::{RngExt, SeedableRng};
use serde_json::Value;

use crate::sweep::{Place, done, outcome, project, quenchway, same};

/// 1200 samples in 60 blocks, some of them refused.
const STUDY: &str = "outputs = [\"capstan.core\", \"capstan.surface\", \"line.equalised\"]\nblock = 20\n[vary]\n\
     \"layer.insulation.diameter\" = { from = \"1.6 mm\", to = \"4 mm\", points = 10 }\n\
     \"line.speed\" = { from = \"100 m/min\", to = \"300 m/min\", points = 12 }\n\
     \"section.trough.length\" = { from = \"10 m\", to = \"28 m\", step = \"2 m\" }\n";
const SAMPLES: u64 = 1200;
const BLOCK: u64 = 20;
const THREADS: u64 = 2;
/// Enough for some in the join, after those that some five blocks lie between.
const KILLS_OF_A_ROUND: u32 = 17;

fn start(place: &Place, out: &str) -> Child {
    let threads = THREADS.to_string();
    let study = place.path("study.toml");
    let mut command =
        quenchway(&["sweep", &study, "--out", &place.path(out), "--resume", "--json", "--threads", &threads]);
    command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Blocks that were begun and not finished: no more than one a worker.
///
/// Workers take blocks in rising order, and each writes the one it has before it takes the next. So whatever lies below the highest
/// finished block was begun, and what is missing there was in the hands of the other workers.
fn holes(place: &Place, out: &str) -> u64 {
    let number = |path: &std::path::PathBuf| path.file_stem().unwrap().to_str().unwrap().parse::<u64>().unwrap();
    let there: Vec<u64> = place.blocks(out).iter().map(number).collect();
    there.last().map_or(0, |highest| highest + 1 - there.len() as u64)
}

/// The whole number before a word of a message.
fn number_before(text: &str, word: &str) -> Option<u64> {
    text.split(word).next().filter(|before| before.len() < text.len())?.split_whitespace().last()?.parse().ok()
}

fn signal(child: &Child, name: &str) {
    let sent = Command::new("kill").args([name, &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
}

/// Waits until a sweep has finished so many blocks (beyond all of them: until it writes the results file), and a little longer;
/// whether it is then still running.
///
/// What it has done tells when, never the clock: a slow machine is no other test.
fn reaches(child: &mut Child, place: &Place, out: &str, blocks: u64, longer: u32) -> bool {
    let joining = || {
        let names = fs::read_dir(place.path(out)).into_iter().flatten().flatten().map(|entry| entry.file_name());
        names.into_iter().any(|name| name.to_string_lossy().starts_with(".study.quenchway-part-"))
    };
    loop {
        if child.try_wait().unwrap().is_some() {
            return false;
        }
        let there = place.blocks(out).len() as u64;
        // The file's temporary is there from the start, to keep its place.
        if there >= blocks || (there == SAMPLES / BLOCK && joining()) {
            break;
        }
        sleep(Duration::from_micros(100));
    }
    // Anywhere within a block, or within the writing of one.
    (0..longer).for_each(|_| std::hint::spin_loop());
    child.try_wait().unwrap().is_none()
}

#[test]
fn fifty_kills_at_random_moments_change_nothing() {
    let place = Place::new(STUDY);
    place.sweep("undisturbed", &[]);
    let seed = 20_260;
    let mut random = rand::rngs::ChaCha8Rng::seed_from_u64(seed);
    let (mut kills, mut rounds, mut early, mut counted) = (0, 0, 0, 0);
    while kills < 50 {
        let out = format!("round-{rounds}");
        rounds += 1;
        let mut of_round = 0;
        loop {
            let there = place.blocks(&out).len() as u64;
            let mut child = start(&place, &out);
            let how = ["-KILL", "-KILL", "-TERM", "-INT"][random.random_range(0..4)];
            let (more, longer) = (random.random_range(0..9), random.random_range(0..30_000));
            // A quick machine is killed in every join: after some kills a round may come to its end.
            let running = of_round < KILLS_OF_A_ROUND && reaches(&mut child, &place, &out, there + more, longer);
            if running {
                signal(&child, how);
                kills += 1;
                of_round += 1;
            }
            let ended = child.wait_with_output().unwrap();
            let err = String::from_utf8(ended.stderr).unwrap();
            let after = place.blocks(&out).len() as u64;
            if running && !place.results(&out).exists() {
                let holes = holes(&place, &out);
                assert!(holes < THREADS, "{how} cost {holes} blocks below the highest, of {THREADS} workers");
                assert!(
                    after >= there + more.min(SAMPLES / BLOCK - there),
                    "a finished block is lost: {how}, {there} then {more} more, {after} after\n{err}"
                );
            }
            match ended.status.code() {
                // It came to its end before the signal did, or while it was joining.
                Some(0) => {
                    let report: Value = serde_json::from_slice(&ended.stdout).unwrap();
                    // One that was complete before tells what was told of it then.
                    if !err.contains("already") {
                        let computed = report["computed_now"].as_u64().unwrap();
                        assert_eq!(computed, SAMPLES - there * BLOCK, "finished blocks are not computed again");
                    }
                    break;
                }
                Some(status @ (130 | 143)) => {
                    assert_eq!(status, if how == "-TERM" { 143 } else { 130 }, "{how}");
                    assert!(err.contains("--resume"), "{err}");
                    // What was computed and is not on the disk is computed again: at most a block a worker.
                    if let Some(computed) = number_before(&err, " samples computed in this run") {
                        let kept = (after - there) * BLOCK;
                        assert_eq!(
                            computed - kept,
                            number_before(&err, " will be computed again").unwrap_or(0),
                            "{err}"
                        );
                        assert!(computed - kept <= THREADS * BLOCK, "{err}");
                        counted += 1;
                    }
                    early += u64::from(after < SAMPLES / BLOCK);
                }
                Some(status) => panic!("exit status {status}: {err}"),
                None => early += u64::from(after < SAMPLES / BLOCK),
            }
        }
        assert!(same(&place.results("undisturbed"), &place.results(&out)), "round {rounds} of seed {seed}");
        let mut names: Vec<_> =
            fs::read_dir(place.path(&out)).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        assert_eq!(names, ["study.h5", "study.png"], "round {rounds} left something behind");
    }
    assert!(counted > 3, "{counted} interruptions said what they cost");
    assert!(early > 10, "{early} of {kills} signals came while samples were computed");
}

#[test]
fn the_second_process_on_one_study_is_refused_and_on_one_part_is_harmless() {
    let place = Place::new(&STUDY.replace("points = 12", "points = 120"));
    let study = place.path("study.toml");
    let mut first = start(&place, "whole");
    assert!(reaches(&mut first, &place, "whole", 1, 0), "the first is at work");
    // It stands still, however long the second takes.
    signal(&first, "-STOP");
    let (status, _, err) = outcome(&["sweep", &study, "--out", &place.path("whole"), "--resume"]);
    assert!(status == 2 && err.contains("another quenchway is computing this study"), "{err}");
    signal(&first, "-TERM");
    signal(&first, "-CONT");
    assert_eq!(first.wait_with_output().unwrap().status.code(), Some(143));

    let place = Place::new(STUDY);
    let study = place.path("study.toml");
    place.sweep("undisturbed", &[]);
    let out = place.path("parts");
    let twice: Vec<Child> = ["1/2", "1/2", "2/2", "2/2"]
        .iter()
        .map(|part| {
            let args = ["sweep", &study, "--out", &out, "--part", part, "--resume", "--threads", "1", "-q"];
            quenchway(&args).stderr(Stdio::piped()).spawn().unwrap()
        })
        .collect();
    for child in twice {
        let ended = child.wait_with_output().unwrap();
        assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    }
    done(&["join", &study, "--out", &out, "-q"]);
    assert!(same(&place.results("undisturbed"), &place.results("parts")));
}

/// What a programme does to the product, sample by sample: every block here is a drive, and what was driven is not driven again.
#[test]
fn a_sweep_of_a_programme_goes_on_where_it_was_killed() {
    const DRIVES: u64 = 24;
    const MORE: u64 = 3;
    let place = Place::new("");
    let case = fs::read_to_string(project("cases/drive/house-wire-stop.toml")).unwrap();
    let case = case.replace("[solver]\n", "[solver]\ntolerance = \"0.1 K\"\n");
    fs::write(place.path("stop.toml"), case).unwrap();
    let study = "case = \"stop.toml\"\noutputs = [\"capstan.surface_highest\", \"drive.scrap\", \"capstan.core\"]\nblock = 1\n[vary]\n\
         \"line.change.stop.hold\" = { from = \"2 s\", to = \"60 s\", points = 8 }\n\
         \"section.trough.temperature\" = { from = \"12 degC\", to = \"22 degC\", points = 3 }\n";
    fs::write(place.path("study.toml"), study).unwrap();
    place.sweep("undisturbed", &[]);
    let mut there = 0;
    for how in ["-KILL", "-TERM", "-KILL", "-INT", "-KILL"] {
        let mut child = start(&place, "killed");
        assert!(
            reaches(&mut child, &place, "killed", there + MORE, 0),
            "{how}: it came to its end before {there} + {MORE}"
        );
        signal(&child, how);
        child.wait_with_output().unwrap();
        let after = place.blocks("killed").len() as u64;
        assert!(after >= there + MORE, "{how}: {after} after {there} and {MORE} more");
        there = after;
    }
    let report: Value = serde_json::from_str(&place.sweep("killed", &["--resume"])).unwrap();
    assert_eq!(report["computed_now"], DRIVES - there);
    assert!(same(&place.results("undisturbed"), &place.results("killed")));
    // The outputs are those of a drive, not empty columns.
    assert_eq!(report["by_status"]["good"], DRIVES);
    assert!(
        report["outputs"][1]["name"] == "drive.scrap" && report["outputs"][1]["high"].as_f64().unwrap() > 1.0,
        "{report}"
    );
}

/// A file system of its own with little room, where the system lets an ordinary user mount one.
fn on_a_small_disk(size: &str, disk: &str, script: &str) -> Option<std::process::Output> {
    let mount = format!("mount -t tmpfs -o size={size} tmpfs '{disk}' || exit 99\n");
    let shell = ["--user", "--map-root-user", "--mount", "sh", "-c"];
    let output = Command::new("unshare").args(shell).arg(mount + script).output().ok()?;
    let mounted = output.status.code() != Some(99) && !String::from_utf8_lossy(&output.stderr).contains("unshare");
    mounted.then_some(output)
}

#[test]
fn a_full_disk_costs_the_block_in_work_and_no_more() {
    let place = Place::new(STUDY);
    place.sweep("undisturbed", &[]);
    let disk = place.path("disk");
    fs::create_dir(&disk).unwrap();
    let program = env!("CARGO_BIN_EXE_quenchway");
    let study = place.path("study.toml");
    // Room for some blocks at first; then for all of them and not for the file; then enough.
    let sweep = format!("'{program}' sweep '{study}' --out '{disk}' --resume --threads 2 -q; echo status $?");
    let script = format!(
        "{sweep}; ls '{disk}/study.blocks' | grep -c 'block$'; ls -A '{disk}/study.blocks' | grep -c quenchway-part
mount -o remount,size=290k '{disk}'; {sweep}; ls '{disk}/study.blocks' | grep -c 'block$'
mount -o remount,size=4m '{disk}'; {sweep}; ls -A '{disk}'; cp '{disk}/study.h5' '{}'",
        place.path("rescued.h5")
    );
    let Some(output) = on_a_small_disk("100k", &disk, &script) else {
        eprintln!("no small disk can be mounted here: NOTHING WAS TRIED");
        return;
    };
    let (out, err) = (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines[0], "status 1", "{out}\n{err}");
    let some: u64 = lines[1].parse().unwrap();
    assert!((2..60).contains(&some), "{some} blocks found room\n{err}");
    assert_eq!(lines[2], "0", "temporaries without room are removed");
    assert!(err.contains("the disk is full") && err.contains("make room and go on with"), "{err}");
    assert_eq!(lines[3..5], ["status 1", "60"], "all blocks found room, the file did not\n{out}\n{err}");
    assert!(err.contains("every block is computed and kept"), "{err}");
    assert_eq!(lines[5..], ["status 0", "study.h5", "study.png"], "{out}\n{err}");
    assert!(same(&place.results("undisturbed"), std::path::Path::new(&place.path("rescued.h5"))));
}
