//! Start-ups, stops and changes of reel: the figures of an independent program, closed forms, and the commands with all they write.

use std::path::{Path, PathBuf};

use quenchway::case::CaseFile;
use quenchway::study::moves::intervals::{Edge, Interval};
use quenchway::study::moves::ramp::{Asked as Ramp, Course, at as ramped, ramps};
use quenchway::study::moves::reel::{Asked as ForReel, reel};
use quenchway::study::moves::stop::{Asked as Stop, at as stopped, stops};
use quenchway::units::System;
use serde_json::Value;

const MINUTE: f64 = 60.0;

fn path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../cases/drive/{name}.toml"))
}

fn case(name: &str) -> CaseFile {
    let text = std::fs::read_to_string(path(name)).unwrap();
    quenchway::file::read(&text).unwrap_or_else(|problems| panic!("{name}: {problems:#?}"))
}

fn program(args: &[&str]) -> (String, String, i32) {
    let output = assert_cmd::Command::new(env!("CARGO_BIN_EXE_quenchway")).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

fn asked(slow_to: Option<f64>, longest: f64) -> Stop {
    Stop { slow_to, longest, print: System::Si }
}

/// Metres above 45 degC by the duration of a stop, by an independent program computed for this project: to 1e-4 m.
#[test]
fn stops_of_the_house_wire_have_the_scrap_of_an_independent_program() {
    let case = case("house-wire-stop").to(0.001);
    for (lasts, metres) in [(0.0, 1.164), (5.0, 1.183), (10.0, 1.149), (20.0, 0.990), (40.0, 0.211), (60.0, 0.0)] {
        let found = stopped(&case, 0.0, lasts).unwrap();
        assert!((found.scrap_m - metres).abs() < 1e-3, "{lasts} s: {} for {metres}", found.scrap_m);
        assert_eq!(found.within(), metres == 0.0);
    }
    // A slow-down for 60 s: 47.0 degC at 15 m/min, 44.0 at 30, by the same program.
    for (to, surface) in [(15.0, 47.0), (30.0, 44.0)] {
        let found = stopped(&case, to / MINUTE, 60.0).unwrap();
        let farthest = found.reaches.iter().find(|reach| reach.limit.key == "surface_max").unwrap().farthest;
        assert!((farthest - surface).abs() < 0.05, "{to} m/min: {farthest}");
    }
}

/// None below 44.64 s by the same program, all above.
#[test]
fn the_stops_within_limits_are_one_interval_that_does_not_begin_at_nothing() {
    let found = stops(&case("house-wire-stop").to(0.002), asked(None, 600.0), &|_| {}).unwrap();
    let [Interval { from: Some(Edge { within, beyond, printed }), to: None }] = &found.durations.intervals[..] else {
        panic!("{:?}", found.durations.intervals)
    };
    // The figure is of a metre 0.1 mm behind the one that stood at the capstan, which arrives 0.04 s later; that one itself falls
    // through 45 degC after 44.68 s. 0.02 s are the width of the end, 0.02 s the tolerance (the surface falls 0.1 K a second).
    assert!(*beyond < *within && (beyond - 44.68).abs() < 0.04 && (within - 44.68).abs() < 0.04, "{beyond} {within}");
    assert!((within - 44.64).abs() < 0.08, "{within}");
    // What is printed is within limits, driven once more.
    let printed = printed.as_ref().unwrap();
    assert!(printed.si >= *within && printed.si < within + 0.1, "{printed}");
    assert!(stopped(&case("house-wire-stop"), 0.0, printed.si).unwrap().within());
    // The worst is a short one, and seconds are told beside.
    let worst = &found.durations.points[found.durations.worst().unwrap()];
    assert!(worst.at > 1.0 && worst.at < 6.0 && worst.outcome.scrap_m > 1.18, "{} {}", worst.at, worst.outcome.scrap_m);
    let longest = found.durations.points.last().unwrap();
    assert!(longest.outcome.within() && longest.outcome.out_s > 40.0, "{}", longest.outcome.out_s);
    // Slow-downs: 15 m/min is out of limits, 30 m/min for a minute is not; a short one to 30 may be.
    let lowest = found.lowest.unwrap();
    let from = lowest.slowed.last().and_then(|interval| interval.from.as_ref()).unwrap();
    assert!(from.within * MINUTE > 15.0 && from.within * MINUTE < 75.0, "{}", from.within * MINUTE);
    // The steady line cools longer the slower it runs.
    assert!(lowest.steady.all());
}

/// Scrap of ramps from 20 to 150 m/min, 4 s of lag, within 0.05 mm: closed forms computed independently for this project.
#[test]
fn ramps_of_the_house_wire_have_the_scrap_of_the_closed_forms() {
    let case = case("house-wire-ramp").to(0.1);
    let ends = [20.0 / MINUTE, 150.0 / MINUTE];
    for (time, even, percent) in [(5.0, 32.0, 32.0), (60.0, 88.588, 75.0), (240.0, 39.0, 0.0), (960.0, 0.0, 0.0)] {
        for (course, metres) in [(Course::Even, even), (Course::Percent, percent)] {
            let found = ramped(&case, ends, course, time).unwrap();
            assert!((found.scrap_m - metres).abs() < 0.5, "{course:?} {time} s: {} for {metres}", found.scrap_m);
        }
    }
    let found = ramped(&case, ends, Course::Even, 60.0).unwrap();
    assert!((found.scrap_m - 88.58751962).abs() < 1e-3, "{}", found.scrap_m);
}

#[test]
fn the_fastest_ramp_within_limits_is_driven_again_as_it_is_printed() {
    let case = case("house-wire-ramp");
    let asked = Ramp { from: 20.0 / MINUTE, to: 150.0 / MINUTE, print: System::Si };
    let found = ramps(&case, asked, &|_| {}).unwrap();
    let fastest: Vec<f64> = found
        .courses
        .iter()
        .map(|of| {
            let edge = of.fastest().unwrap().unwrap();
            let printed = edge.printed.as_ref().unwrap().si;
            assert!(ramped(&case, [asked.from, asked.to], of.course, printed).unwrap().within());
            assert!(!ramped(&case, [asked.from, asked.to], of.course, 0.99 * edge.within).unwrap().within());
            printed
        })
        .collect();
    // Behind a ramp in percent the relative error is r tau/(1 + r tau) all the way: 4.014 % of the area are 0.05 mm.
    let share = 1.0 - ((3.37e-3f64.powi(2) - 1.78e-3f64.powi(2)) / (3.42e-3f64.powi(2) - 1.78e-3f64.powi(2)));
    let by_hand = (150.0f64 / 20.0).ln() * 4.0 * (1.0 - share) / share;
    assert!((fastest[1] / by_hand - 1.0).abs() < 5e-3, "{} {by_hand}", fastest[1]);
    // An even one is worst where it begins: a tau/v of its first speed.
    assert!(fastest[0] > 240.0 && fastest[0] < 960.0, "{fastest:?}");
    // Scrap is not monotone.
    let scrap: Vec<f64> = found.courses[0].times.points.iter().map(|point| point.outcome.scrap_m).collect();
    assert!(scrap.windows(2).any(|pair| pair[1] > pair[0]) && scrap.windows(2).any(|pair| pair[1] < pair[0]));
    // The drives allow no steeper ramp than that.
    let mut slow = case.clone();
    slow.plant.ramp_max = Some(2.0 / MINUTE);
    let found = ramps(&slow, asked, &|_| {}).unwrap();
    assert!((found.courses[0].looked_at[0] - 65.0).abs() < 1e-9, "{:?}", found.courses[0].looked_at);
    // An end that is out of limits itself is said first, and nothing else is looked at.
    let found = ramps(&case, Ramp { to: 200.0 / MINUTE, ..asked }, &|_| {}).unwrap();
    assert!(found.courses.is_empty() && !found.steady[1].within() && found.drives == 2);
}

/// The product of a constant programme is that of the steady line.
#[test]
fn where_no_ramp_is_within_limits_least_scrap_is_told() {
    let mut case = case("house-wire-ramp").to(0.1);
    // The hot gauge allows a hair: even an hour is too fast.
    case.stations[0].diameter_min = Some(3.4199e-3);
    case.stations[0].diameter_max = None;
    let asked = Ramp { from: 20.0 / MINUTE, to: 150.0 / MINUTE, print: System::Si };
    let found = ramps(&case, asked, &|_| {}).unwrap();
    let even = &found.courses[0];
    assert!(even.fastest().is_none() && even.times.intervals.is_empty());
    let least = even.least.as_ref().unwrap();
    let scrap = |index: usize| even.times.points[index].outcome.scrap_m;
    assert!((0..even.times.points.len()).all(|index| scrap(index) >= scrap(least.index)));
    assert!((least.outcome.scrap_m - scrap(least.index)).abs() < 0.02 * least.outcome.scrap_m);
}

#[test]
fn a_reel_change_needs_an_accumulator_or_a_slower_line() {
    // 150 m at the exit bridge 60 s at 150 m/min; at 240 the line slows down to that, 15 s ahead, or to 134.6 with the reel.
    let mut case = case("house-wire-reel-change").to(0.1);
    let accumulator = &mut case.programme.accumulators[0];
    (accumulator.capacity, accumulator.content, accumulator.reserve) = (150.0, 0.0, 0.0);
    let change = &mut case.programme.reel_changes[0];
    (change.brake, change.start) = (0.0, 0.0);
    let ask = |speed: f64| ForReel {
        standstill: Some(60.0),
        speed: Some(speed / MINUTE),
        accumulator: None,
        print: System::Si,
    };
    let found = reel(&case, &ask(150.0)).unwrap();
    let built = found.built.as_ref().unwrap();
    assert!((found.needed - 150.0).abs() < 1e-9 && built.slow.is_none(), "{found:?}");
    assert!((built.longest - 60.0).abs() < 1e-9);
    let found = reel(&case, &ask(240.0)).unwrap();
    let built = found.built.as_ref().unwrap();
    let slow = built.slow.as_ref().unwrap();
    assert!((found.needed - 240.0).abs() < 1e-9 && (built.longest - 37.5).abs() < 1e-9);
    assert!((slow.to * MINUTE - 150.0).abs() < 1e-9 && (slow.before - 15.0).abs() < 1e-9, "{slow:?}");
    assert!((slow.late.unwrap() * MINUTE - 134.6).abs() < 0.05, "{slow:?}");
    // The slowed programme just fills it.
    assert!((found.contents[1] - 150.0).abs() < 1e-6 && found.contents[0].abs() < 1e-9, "{:?}", found.contents);
    // The shortest reel: what the line makes until the content is back.
    let reel_holds = found.shortest_reel.unwrap();
    let (clock, back) = (&found.motions.clock, found.back.unwrap());
    assert!((reel_holds - (clock.travelled(15.0 + back) - clock.travelled(15.0))).abs() < 1e-9);
    // At the entry the content has to last.
    case.programme.accumulators[0].place = quenchway::case::programme::End::Entry;
    case.programme.accumulators[0].capacity = 400.0;
    case.programme.accumulators[0].content = 300.0;
    let found = reel(&case, &ask(240.0)).unwrap();
    let built = found.built.as_ref().unwrap();
    assert!((found.needed - 240.0).abs() < 1e-9 && built.slow.is_none());
    assert!((built.longest - 75.0).abs() < 1e-9 && (found.contents[0] - 60.0).abs() < 1e-9, "{built:?}");
}

fn json(args: &[&str]) -> Value {
    let (text, notes, status) = program(args);
    assert!(status == 0 || status == 1, "{notes}");
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}: {text} {notes}"))
}

#[test]
fn the_first_lines_answer_and_the_files_hold_the_rest() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().to_str().unwrap();
    let (stop, ramp, change) = (path("house-wire-stop"), path("house-wire-ramp"), path("house-wire-reel-change"));
    let questions: [(&str, &Path, &[&str], &str); 3] = [
        ("stop", &stop, &["--longest", "2 min"], "STOPS WITHIN LIMITS: from 44.7"),
        ("ramp", &ramp, &["--from", "20 m/min", "--to", "150 m/min"], "EVEN: "),
        ("reel", &change, &["--standstill", "60 s"], "THE EXIT ACCUMULATOR NEEDS "),
    ];
    for (command, case, flags, answer) in questions {
        let base = [&[command, case.to_str().unwrap(), "--out", out], flags].concat();
        let (report, notes, status) = program(&base);
        assert_eq!(status, 0, "{notes}");
        // Behind title, what was asked and a blank line.
        let verdict = report.lines().skip_while(|line| !line.is_empty()).nth(1).unwrap();
        assert!(verdict.contains(answer), "{report}");
        let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
        for word in ["Cautions", "raise a ramp in steps", "the line restarts"] {
            assert!(words.contains(word), "{command}: {word} in\n{report}");
        }
        // No line begins with the unit of a number that stands on the one before it.
        let wraps = |pair: &[&str]| {
            let units = ["s", "m", "m/min", "degC", "mm", "K"];
            let first = pair[1].split([' ', ',', ';', '.']).find(|word| !word.is_empty()).unwrap_or_default();
            pair[0].ends_with(|last: char| last.is_ascii_digit()) && units.contains(&first) && !pair[0].contains("  ")
        };
        assert!(!report.lines().collect::<Vec<_>>().windows(2).any(wraps), "{report}");
        let stem = case.file_stem().unwrap().to_str().unwrap();
        for end in ["h5", "png"] {
            assert!(dir.path().join(format!("{stem}-{command}.{end}")).exists(), "{command} {end}: {notes}");
        }
        // The numbers of a shorter scan are others, and their units the same.
        let flags = if command == "stop" { &["--longest", "10 s"] } else { flags };
        let us = program(&[&[command, case.to_str().unwrap(), "--units", "us"], flags].concat()).0;
        assert!(us.contains("ft/min") && !us.contains("m/min,"), "{us}");
    }
}

#[test]
fn json_says_what_the_report_says() {
    let name = path("house-wire-stop");
    let found = json(&["stop", name.to_str().unwrap(), "--slow-to", "15 m/min", "--longest", "100 s", "--json"]);
    let stop = &found["stop"];
    assert!(stop["lowest"].is_null() && stop["ramps"]["from"] == "programme", "{stop}");
    let samples = stop["samples"].as_array().unwrap();
    assert_eq!((samples[0]["at_s"].as_f64(), samples.last().unwrap()["at_s"].as_f64()), (Some(0.0), Some(100.0)));
    let of_minute = samples.iter().filter(|sample| sample["within"] == false).count();
    assert!(of_minute > 0 && found["cautions"].as_array().is_some_and(|all| all.len() > 5));
    let reel = json(&[
        "reel",
        path("house-wire-reel-change").to_str().unwrap(),
        "--standstill",
        "60 s",
        "--speed",
        "240 m/min",
        "--json",
    ]);
    let reel = &reel["reel"];
    // v (t_n + t_b/2 + t_a/(2 (1 + e))), with 10 m in it and 5 m in reserve.
    let ahead = 4.0 * (60.0 + 3.0 + 5.0 / 1.15);
    assert!((reel["ahead_m"].as_f64().unwrap() - ahead).abs() < 1e-9, "{reel}");
    assert!((reel["needed_m"].as_f64().unwrap() - ahead - 15.0).abs() < 1e-9);
    let slow = reel["built"]["slow"]["to_m_s"].as_f64().unwrap();
    assert!((slow - 85.0 / (60.0 + 3.0 + 5.0 / 1.15)).abs() < 1e-9);
    assert!(reel["highest_m"].as_f64().unwrap() <= 95.0 + 1e-9);
}

#[test]
fn what_cannot_be_asked_is_refused_with_a_remedy() {
    let (stop, ramp) = (path("house-wire-stop"), path("house-wire-ramp"));
    let (stop, ramp) = (stop.to_str().unwrap(), ramp.to_str().unwrap());
    let still = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/house-wire-given-films.toml");
    let still = still.to_str().unwrap();
    for (args, says) in [
        (&["stop", stop, "--slow-to", "150 m/min"][..], "not below its own"),
        (&["stop", stop, "--slow-to", "15"], "unit"),
        (&["stop", stop, "--longest", "0 s"], "it takes 1 s"),
        (&["ramp", ramp, "--from", "150 m/min", "--to", "150 m/min"], "there is no ramp"),
        (&["ramp", ramp, "--from", "0 m/min"], "it takes"),
        (&["ramp", still], "give --from"),
        (&["reel", still], "give --standstill"),
        (&["reel", stop, "--standstill", "60 s", "--accumulator", "exit"], "the case has none"),
        (&["reel", stop, "--standstill", "-1 s"], "it takes"),
    ] {
        let (report, notes, status) = program(args);
        assert_eq!((status, report.as_str()), (2, ""), "{args:?}: {notes}");
        assert!(notes.contains(says), "{args:?}: {notes}");
    }
    // A line that is out of limits itself has no stop that helps: status 1, and the report says why.
    let dir = tempfile::tempdir().unwrap();
    let hot = dir.path().join("hot.toml");
    let text = std::fs::read_to_string(stop).unwrap().replace("core_max = \"70 degC\"", "core_max = \"60 degC\"");
    std::fs::write(&hot, text).unwrap();
    let (report, _, status) = program(&["stop", hot.to_str().unwrap()]);
    assert!(status == 1 && report.contains("NO STOP HELPS"), "{report}");
    let (report, _, status) = program(&["ramp", hot.to_str().unwrap(), "--from", "20 m/min", "--to", "150 m/min"]);
    assert!(status == 1 && report.contains("NO RAMP HELPS"), "{report}");
    // Nothing can be out of limits where none is given.
    let free = dir.path().join("free.toml");
    let text = std::fs::read_to_string(stop).unwrap();
    std::fs::write(&free, text.replace("core_max = \"70 degC\"\n", "").replace("surface_max = \"45 degC\"\n", ""))
        .unwrap();
    let (_, notes, status) = program(&["stop", free.to_str().unwrap()]);
    assert!(status == 1 && notes.contains("core_max"), "{notes}");
    // --enforce: a stop that was looked at is out of limits.
    let (_, _, status) = program(&["stop", stop, "--longest", "10 s", "--enforce", "--quiet"]);
    assert_eq!(status, 1);
}

#[test]
fn the_card_says_what_to_do_on_one_page() {
    let dir = tempfile::tempdir().unwrap();
    let card = dir.path().join("card.html");
    let (name, file) = (path("house-wire-reel-change"), card.to_str().unwrap());
    let ask = ["reel", name.to_str().unwrap(), "--standstill", "60 s", "--card", file];
    std::fs::write(&card, "somebody else's").unwrap();
    let (_, notes, status) = program(&ask);
    assert!(status == 2 && notes.contains("give --overwrite"), "{status} {notes}");
    let (_, notes, status) = program(&[&ask[..], &["--overwrite"]].concat());
    assert!(status == 0 && notes.contains("card.html"), "{notes}");
    // A number and its unit stay on a line: the blank between them is held.
    let page = std::fs::read_to_string(&card).unwrap().replace('\u{a0}', " ");
    for words in
        ["Slow to 75.7 m/min first", "When not to stop", "Do not stop", "Keep hands out", "Begin the next change"]
    {
        assert!(page.contains(words), "{words} in\n{page}");
    }
    // One page: no pictures, no appendix.
    assert!(!page.contains("<img") && !page.contains("Appendix") && page.len() < 20_000, "{}", page.len());
    let (_, notes, status) = program(&["stop", path("house-wire-stop").to_str().unwrap(), "--card", "card.txt"]);
    assert!(status == 2 && notes.contains("must end in .html"), "{notes}");
}

/// Outputs of the programme in a sweep: the same bits on one thread and on two, and those of the command.
#[test]
fn a_sweep_varies_the_programme_and_keeps_what_it_does() {
    let dir = tempfile::tempdir().unwrap();
    let here = |name: &str| dir.path().join(name).to_str().unwrap().to_string();
    std::fs::copy(path("house-wire-ramp"), here("wire.toml")).unwrap();
    let study = "case = \"wire.toml\"\noutputs = [\"drive.scrap\", \"\\\"hot gauge\\\".scrap\", \"capstan.core_highest\", \
                 \"capstan.seconds\", \"capstan.core\"]\n[vary]\n\"line.change.ramp.within\" = [\"60 s\", \"240 s\"]\n\
                 \"layer.insulation.output\" = [\"2 s\", \"4 s\"]\n";
    std::fs::write(here("study.toml"), study).unwrap();
    for (out, threads) in [("one", "1"), ("two", "2")] {
        let (_, notes, status) = program(&["sweep", &here("study.toml"), "--out", &here(out), "--threads", threads]);
        assert_eq!(status, 0, "{notes}");
    }
    let results = |out: &str| {
        let mut found = std::fs::read_dir(here(out)).unwrap().map(|entry| entry.unwrap().path());
        found.find(|path| path.extension().is_some_and(|end| end == "h5")).unwrap()
    };
    let (_, notes, status) = program(&["same", results("one").to_str().unwrap(), results("two").to_str().unwrap()]);
    assert_eq!(status, 0, "{notes}");
    let file = hdf5_metno::File::open(results("one")).unwrap();
    let read = |name: &str| file.dataset(name).unwrap().read_raw::<f64>().unwrap();
    let scrap = read("drive.scrap");
    // Ramps of 60 s and of 240 s, each with 2 s and 4 s of lag.
    for (found, expected) in [(scrap[1], 88.588), (scrap[3], 39.0)] {
        assert!((found - expected).abs() < 0.5, "{scrap:?}");
    }
    assert!(scrap[0] < scrap[1] && scrap[2] < scrap[3], "{scrap:?}");
    assert!(read("capstan.core_highest").iter().all(|core| (core - 67.7).abs() < 0.1));
    assert!(read("capstan.seconds").iter().all(|seconds| *seconds == 0.0));
}

/// An accumulator's capacity, a stop's duration, and the fastest ramp among the outputs.
#[test]
fn paths_and_outputs_of_a_programme_are_found_by_their_names() {
    use quenchway::march::output::Output;
    use quenchway::names::key_path::KeyPath;
    let mut reel = case("house-wire-reel-change");
    let capacity = KeyPath::find(&reel, "accumulator.exit.capacity").unwrap();
    capacity.set(&mut reel, capacity.parse_value("120 m").unwrap()).unwrap();
    assert_eq!(reel.programme.accumulators[0].capacity, 120.0);
    let mut stop = case("house-wire-stop");
    for (name, value, given) in [("hold", "30 s", 30.0), ("to", "6 m/min", 0.1), ("within", "9 s", 9.0)] {
        let variable = KeyPath::find(&stop, &format!("line.change.stop.{name}")).unwrap();
        assert_eq!(variable.path, format!("line.change.stop.{name}"));
        variable.set(&mut stop, variable.parse_value(value).unwrap()).unwrap();
        assert!((variable.get(&stop) - given).abs() < 1e-12);
    }
    let wrong = KeyPath::find(&stop, "line.change.stopp.hold").unwrap_err();
    assert!(wrong.to_string().ends_with("did you mean line.change.stop.hold?"), "{wrong}");
    assert!(KeyPath::find(&stop, "line.change.stop.rate").is_err());
    for name in ["exit.highest", "exit.lowest", "drive.seconds", "capstan.surface_highest"] {
        assert!(Output::driven(&reel, name).is_some(), "{name}");
    }
    assert!(Output::driven(&reel, "exit.core").is_none() && Output::search("fastest_ramp").is_some());
    // Where nothing changes there is nothing to drive.
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/house-wire.toml")).unwrap();
    assert!(Output::driven(&quenchway::file::read(&text).unwrap(), "capstan.scrap").is_none());
}
