//! The line in time: the cases in `cases/drive`, the findings of its page, the command with everything that it writes.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use quenchway::case::CaseFile;
use quenchway::case::programme::Ramp;
use quenchway::line::clock::Side;
use quenchway::march::march;
use quenchway::study::drive::Measure;
use quenchway::study::drive::answer::{Answer, Cause, answer};
use serde_json::Value;

fn path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../cases/drive/{name}.toml"))
}

fn case(name: &str) -> CaseFile {
    let text = std::fs::read_to_string(path(name)).unwrap();
    quenchway::file::read(&text).unwrap_or_else(|problems| panic!("{name}: {problems:#?}"))
}

fn driven(case: &CaseFile) -> Answer {
    answer(case, None, false, &|_| {}).unwrap()
}

/// The house wire stopped for so long, s.
fn stopped(standstill: f64, tolerance: f64) -> Answer {
    let mut case = case("house-wire-stop").to(tolerance);
    case.programme.changes[0].hold = Some(standstill);
    driven(&case)
}

const CAPSTAN: usize = 1;
const SURFACE: usize = 0;

#[test]
fn a_short_stop_is_worse_than_a_long_one() {
    // Metres above 45 degC on arrival, by an independent program: accuracy 1e-4 m.
    let figures = [(0.0, 1.164), (5.0, 1.183), (10.0, 1.149), (20.0, 0.990), (40.0, 0.211), (60.0, 0.0)];
    for (standstill, metres) in figures {
        let found = stopped(standstill, 0.001);
        let limit = &found.stations[CAPSTAN].limits[SURFACE];
        assert!((limit.out_m - metres).abs() < 1e-3, "{standstill} s: {} m for {metres} m", limit.out_m);
        assert!(limit.out_low_m <= limit.out_m && limit.out_m <= limit.out_high_m);
        assert!((found.scrap_m - limit.out_m).abs() < 1e-12 && found.scrap_low_m <= found.scrap_high_m);
        // The metre that stood at the capstan is 31.25 - 19.6 m: what stood behind it is out of limits at once.
        let from = found.spans.first().map(|span| span.from);
        if standstill > 0.0 && metres > 0.0 {
            assert!((from.unwrap() - 11.65).abs() < 1e-6, "{from:?}");
        }
        // Where the line turns at once nothing jumps: the surface passes 45 degC a moment later.
        if standstill == 0.0 {
            let seen = found.driven.at(CAPSTAN, from.unwrap(), Side::At).unwrap();
            let surface = seen.of(Measure::Temperature(quenchway::case::Quantity::Surface));
            assert!(from.unwrap() > 11.65 && (surface - 45.0).abs() < 1e-3, "{from:?} {surface}");
        }
    }
}

#[test]
fn a_stop_endangers_the_surface_and_not_the_core() {
    let found = stopped(60.0, 0.001);
    let steady = march(&case("house-wire-stop")).unwrap();
    let [_, [hottest, _]] = found.stations[CAPSTAN].core.unwrap();
    let core = steady.stations[CAPSTAN].point.core;
    assert!((core - 67.7).abs() < 0.05 && hottest <= core + 0.01, "{hottest} {core}");
    // Seconds and metres are two verdicts: no metre is out, the capstan sees product that is.
    let limit = &found.stations[CAPSTAN].limits[SURFACE];
    assert_eq!((found.scrap_m, limit.out_m), (0.0, 0.0));
    assert!(!found.limits_met());
    let [highest, _] = limit.standing.unwrap();
    assert!((highest - 49.9).abs() < 0.05, "{highest}");
    let [[from, to]] = limit.out_times_s[..] else { panic!("{:?}", limit.out_times_s) };
    assert!((from - 15.0).abs() < 0.05 && (to - 59.7).abs() < 0.05, "{from} {to}");
    assert!((limit.out_s - (to - from)).abs() < 1e-12 && (found.out_s - limit.out_s).abs() < 1e-12);
    // Five seconds after standstill the surface of the wire that stood a little before the capstan is there.
    let just_behind = found.driven.at(CAPSTAN, 11.65, Side::Behind).unwrap();
    assert!(just_behind.of(Measure::Temperature(quenchway::case::Quantity::Surface)) < 45.0);
}

#[test]
fn scrap_of_a_ramp_comes_from_the_lag_of_the_extruder() {
    let ramp = |within: f64, lag: bool| {
        let mut case = case("house-wire-ramp").to(0.2);
        case.programme.changes[0].ramp = Ramp::Within(within);
        if !lag {
            case.layers[1].feed.output = quenchway::case::programme::Output::Follows;
        }
        driven(&case)
    };
    // Lengths outside +-0.05 mm: closed forms, to a metre; of the ramp of 60 s to a millimetre.
    for (within, metres, close) in [(5.0, 32.0, 0.5), (60.0, 88.588, 1e-3), (240.0, 39.0, 0.5), (960.0, 0.0, 1e-9)] {
        let found = ramp(within, true);
        // All scrap is of the size: the metres that the gauge sees, and the bare ones, which are not marched.
        let of_size = [Cause::Diameter, Cause::BareSpot];
        assert!(found.spans.iter().all(|span| of_size.contains(&span.cause)), "{:?}", found.spans);
        let out = found.scrap_m;
        assert!((out - metres).abs() < close, "{within} s: {out} m for {metres} m");
        // Behind the shortest ramp the melt of 4 s ago is less than half of what the speed needs.
        assert_eq!(found.spans.iter().any(|span| span.cause == Cause::BareSpot), within == 5.0, "{within} s");
    }
    let smallest = ramp(60.0, true).stations[0].limits[0].largest;
    assert!((smallest - 3.15509e-3).abs() < 1e-8, "{smallest}");
    assert_eq!(ramp(60.0, false).scrap_m, 0.0);
}

#[test]
fn an_accumulator_slows_the_line_and_keeps_its_reserve() {
    let found = driven(&case("house-wire-reel-change").to(0.1));
    let bridge = &found.accumulators[0];
    assert!((bridge.highest_m - 95.0).abs() < 1e-6 && bridge.left_m.abs() < 1e-6, "{bridge:?}");
    assert!(found.motions.clock.always().is_none() && bridge.back_s[0].unwrap() > 86.0);
    // Without the line's help it would not hold.
    let mut alone = case("house-wire-reel-change").to(0.1);
    alone.programme.accumulators[0].full = quenchway::case::programme::Full::Report;
    let alone = driven(&alone);
    let needed = 2.5 * (40.0 + 3.0 + 10.0 / 2.3);
    assert!((alone.accumulators[0].highest_m - 10.0 - needed).abs() < 1e-6, "{:?}", alone.accumulators[0]);
    assert!(alone.warnings.iter().any(|warning| warning.kind == "accumulator"));
    assert!(alone.motions.clock.always().is_some());
}

#[test]
fn the_thick_core_is_that_of_an_independent_program() {
    let found = driven(&case("thick-core-slow-down"));
    // Metre -30 at the middle of the middle trough; metre 28 before the wipe.
    for (station, metre, surface, core) in [(1, -30.0, 46.246, 145.131), (2, 28.0, 18.322, 23.791)] {
        let seen = found.driven.at(station, metre, Side::At).unwrap();
        let of = |quantity| seen.of(Measure::Temperature(quantity));
        let error = found.numerics.error + 1e-3;
        assert!((of(quenchway::case::Quantity::Surface) - surface).abs() < error, "{metre}: {seen:?}");
        assert!((of(quenchway::case::Quantity::Core) - core).abs() < error, "{metre}: {seen:?}");
    }
    assert!(found.numerics.tolerance_met && found.scrap_m == 0.0);
}

/// Every number of the answer again, from what is told beside it.
#[test]
fn lengths_and_times_of_the_answer_fit_together() {
    let mut case = case("house-wire-ramp").to(0.2);
    case.programme.crosshead = 0.6;
    let mut stop = case.programme.changes[0].clone();
    (stop.name, stop.to, stop.ramp, stop.hold) = ("stop".to_string(), 0.0, Ramp::Within(5.0), Some(20.0));
    let mut restart = stop.clone();
    (restart.name, restart.to, restart.ramp, restart.hold) = ("restart".to_string(), 2.5, Ramp::Within(20.0), None);
    (stop.after, restart.after) = (0.0, 0.0);
    case.programme.changes.extend([stop, restart]);
    case.sections[0].time_max = Some(10.0);
    let found = driven(&case);
    let made: f64 = found.made.iter().map(|row| row.made_m).sum();
    assert!((made - found.made_m - found.on_line_m).abs() < 1e-9);
    let scrap: f64 = found.made.iter().map(|row| row.scrap_m).sum();
    assert!((scrap - found.scrap_m).abs() < 1e-9, "{scrap} {}", found.scrap_m);
    // The union of all spans, counted on a grid of 1 mm.
    let inside = |metre: f64| found.spans.iter().any(|span| span.from < metre && metre < span.to);
    let steps = ((found.made_m + found.on_line_m) * 1e3) as usize;
    let counted = (0..steps).filter(|step| inside(*step as f64 * 1e-3 - found.on_line_m + 5e-4)).count() as f64 * 1e-3;
    assert!((counted - found.scrap_m).abs() < 1e-3 * (2 * found.spans.len() + 1) as f64, "{counted} {}", found.scrap_m);
    use quenchway::study::drive::answer::Cause;
    let of = |cause: Cause| {
        found.spans.iter().filter(|span| span.cause == cause).map(|span| span.to - span.from).sum::<f64>()
    };
    assert!((of(Cause::Crosshead) - 0.6).abs() < 1e-9);
    assert!(of(Cause::Lump) > 0.0, "{:?}", found.spans);
    // Product of the air gap that stood for 20 s of its 10 allowed: all of the 0.4 m, and none that did not stand.
    assert!((of(Cause::TimeInSection) - 0.4).abs() < 0.05, "{}", of(Cause::TimeInSection));
    // What leaves the die in a change does so between its ends.
    for phase in &found.programme {
        let row = found.made.iter().find(|row| row.name == phase.name).unwrap();
        let length = found.motions.clock.travelled(phase.to) - found.motions.clock.travelled(phase.from);
        assert!((row.made_m - length).abs() < 1e-9);
    }
    // At rest the free product of 20 s reaches 4.5 sqrt(4.7e-5 20) to either side of die and three ends of sections.
    let reach = 4.5 * f64::sqrt(4.7e-5 * 20.0);
    // The curves at 23 degC make alpha a sixth larger.
    let eight = found.approximate_m / (8.0 * reach);
    assert!(eight > 1.0 && eight < 1.15, "{eight}");
}

#[test]
fn a_case_with_everything_of_a_drive_is_written_out_and_read_back() {
    let text = std::fs::read_to_string(path("house-wire-reel-change")).unwrap();
    let text = text
        .replace("speed = \"150 m/min\"", "speed = \"150 m/min\"\nstarts_at = \"20 m/min\"\nstarts_empty = true\ncrosshead = \"0.6 m\"\n[[line.change]]\nname = \"up\"\nafter = \"3 s\"\nto = \"100 m/min\"\nrate = \"1.5 %/s\"\n[[line.change]]\nname = \"on\"\nto = \"150 m/min\"\nrate = \"2 m/min/s\"\nhold = \"5 min\"")
        .replace("output = { lag = \"4 s\" }", "output = \"constant\"\nhead_volume = \"0.5 L\"\nresidence_max = \"8 min\"")
        .replace("offset = \"-0.3 m\"", "offset = \"-0.3 m\"\ncontact = \"0.2 m\"")
        .replacen("film_exponent = 0.5", "film_exponent = 0.5\ntime_max = \"30 s\"", 1);
    let case = quenchway::file::read(&text).unwrap();
    for system in [quenchway::units::System::Si, quenchway::units::System::Us] {
        let written = quenchway::file::resolved::resolved_in(&case, system);
        let again = quenchway::file::read(&written).unwrap_or_else(|problems| panic!("{problems:#?}\n{written}"));
        let stations = |case: &CaseFile| {
            case.stations.iter().map(|one| (one.diameter_min, one.diameter_max, one.contact)).collect::<Vec<_>>()
        };
        let sections = |case: &CaseFile| {
            case.sections.iter().map(|one| (one.film_exponent, one.film_floor, one.time_max)).collect::<Vec<_>>()
        };
        if system == quenchway::units::System::Si {
            assert_eq!(again.programme, case.programme);
            assert_eq!((stations(&again), sections(&again)), (stations(&case), sections(&case)));
            assert_eq!(again.layers[1].feed, case.layers[1].feed);
        } else {
            // Six digits in US units.
            assert_eq!(again.programme.changes.len(), 2);
            assert!((again.programme.reel_changes[0].at - 30.0).abs() < 1e-9);
            assert!((again.layers[1].feed.head_volume.unwrap() / 5e-4 - 1.0).abs() < 1e-5);
        }
    }
}

#[test]
fn limits_of_the_diameter_hold_in_a_run_too() {
    let text = std::fs::read_to_string(path("house-wire-ramp")).unwrap();
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("wire.toml");
    std::fs::write(&file, text.replace("diameter_min = \"3.37 mm\"", "diameter_min = \"3.45 mm\"")).unwrap();
    let (report, _, status) = output(&["run", file.to_str().unwrap(), "--enforce", "--no-band"]);
    let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(status, 1);
    assert!(
        words.contains(
            "NOT MET: diameter at \"hot gauge\" is 3.420 mm, 0.030 mm below the 3.450 mm that it may have at least."
        ),
        "{report}"
    );
    assert!(
        words.contains(
            "Met: diameter at \"hot gauge\" is 3.420 mm, 0.050 mm below the 3.470 mm that it may have at most."
        ),
        "{report}"
    );
    let (json, _, _) = output(&["run", file.to_str().unwrap(), "--json", "--no-band"]);
    let found: Value = serde_json::from_str(&json).unwrap();
    let limit = &found["diameter_limits"][0];
    assert_eq!((limit["name"].as_str(), limit["met"].as_bool()), (Some("diameter_min"), Some(false)));
    assert!((limit["margin_m"].as_f64().unwrap() + 0.03e-3).abs() < 1e-8, "{limit}");
}

fn quenchway() -> Command {
    Command::cargo_bin("quenchway").unwrap()
}

fn output(args: &[&str]) -> (String, String, i32) {
    let out = quenchway().args(args).env("COLUMNS", "100").output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(out.stdout), text(out.stderr), out.status.code().unwrap())
}

#[test]
fn the_first_lines_answer() {
    let name = path("house-wire-stop");
    let short = tempfile::tempdir().unwrap();
    let short = short.path().join("short.toml");
    let text = std::fs::read_to_string(&name).unwrap().replace("hold = \"60 s\"", "hold = \"5 s\"");
    std::fs::write(&short, text).unwrap();
    let (report, notes, status) = output(&["drive", short.to_str().unwrap(), "--no-band"]);
    assert_eq!((notes.as_str(), status), ("", 0));
    let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("1.18 m ARE OUT OF LIMITS of "), "{report}");
    assert!(words.contains("Surface at \"capstan\" reached 49.9 degC, 45 degC allowed."), "{report}");
    assert!(
        words.contains("They left the die at 11.65 to 12.83 m of product, in \"stop\", and stood in \"to capstan\"."),
        "{report}"
    );
    assert!(words.contains("Core at \"capstan\": at most 67.7 degC."), "{report}");
    let (report, _, status) = output(&["drive", name.to_str().unwrap(), "--enforce", "--no-band"]);
    let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("NO METRE IS OUT OF LIMITS of "), "{report}");
    assert!(words.contains("\"capstan\" sees product out of its limits for 44.68 s,"), "{report}");
    assert!(words.contains("while the line stands (surface at up to 49.9 degC)"), "{report}");
    // Seconds are a verdict, too.
    assert_eq!(status, 1);
    let (us, _, _) = output(&["drive", name.to_str().unwrap(), "--units", "us", "--no-band"]);
    assert!(us.contains("degF") && !us.contains("degC,"), "{us}");
    let (quiet, notes, status) = output(&["drive", name.to_str().unwrap(), "--quiet", "--enforce", "--no-band"]);
    assert_eq!((quiet.as_str(), notes.as_str(), status), ("", "", 1));
}

#[test]
fn json_has_the_keys_that_the_page_lists() {
    let (text, notes, status) = output(&["drive", path("house-wire-reel-change").to_str().unwrap(), "--json"]);
    assert_eq!((notes.as_str(), status), ("", 0));
    let found: Value = serde_json::from_str(&text).unwrap();
    for key in [
        "title",
        "version",
        "case_sha256",
        "programme",
        "made_m",
        "scrap_m",
        "scrap_low_m",
        "scrap_high_m",
        "spans",
        "stations",
        "jumps",
        "accumulators",
        "gauges",
        "water",
        "approximate_m",
        "numerics",
        "warnings",
        "cautions",
        "band",
        "heads",
        "made",
    ] {
        assert!(found.get(key).is_some(), "{key} is missing");
    }
    for key in ["slices", "pieces", "waves", "error_K", "wall_s"] {
        assert!(found["numerics"][key].is_number(), "{key}");
    }
    for key in ["largest", "metre_m", "time_s", "out_m", "out_s"] {
        assert!(found["stations"][CAPSTAN]["limits"][0][key].is_number(), "{key}");
    }
    let phase = &found["programme"][0];
    assert!(
        phase["name"].is_string()
            && phase["from_s"].is_number()
            && phase["to_s"].is_number()
            && phase["speed_m_s"].is_number()
    );
    // The uncertainty of the inputs widens what decides.
    let (text, ..) = output(&["drive", path("house-wire-stop").to_str().unwrap(), "--json"]);
    let band = &serde_json::from_str::<Value>(&text).unwrap()["band"][0];
    let number = |key: &str| band[key].as_f64().unwrap();
    assert!(number("low") + 1.0 < number("value") && number("value") + 1.0 < number("high"), "{band}");
    let page = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/drive.md")).unwrap();
    for key in found
        .as_object()
        .unwrap()
        .keys()
        .filter(|key| !["title", "version", "program", "case_sha256"].contains(&key.as_str()))
    {
        assert!(
            page.contains(&format!("`{key}`")) || page.contains(&format!("`{key}[]`")),
            "docs/drive.md does not name {key}"
        );
    }
}

#[test]
fn files_are_written_as_the_page_says() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let page = dir.path().join("page.html");
    let name = path("house-wire-stop");
    let args = [
        "drive",
        name.to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
        "--report",
        page.to_str().unwrap(),
        "--field",
    ];
    let (_, notes, status) = output(&[&args[..], &["--every", "1 s", "--no-band"]].concat());
    assert_eq!(status, 0, "{notes}");
    for end in ["drive.png", "metres.png", "field.png", "drive.h5"] {
        assert!(out.join(format!("house-wire-stop-{end}")).is_file(), "{end} is missing; {notes}");
    }
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(html.contains("NO METRE IS OUT OF LIMITS") && html.matches("data:image/png").count() == 3);
    let file = hdf5_metno::File::open(out.join("house-wire-stop-drive.h5")).unwrap();
    let read =
        |name: &str| file.dataset(name).unwrap_or_else(|_| panic!("{name} is missing")).read_raw::<f64>().unwrap();
    let (time, metres) = (read("time"), read("metre"));
    assert!(time.len() == 131 && time[1] - time[0] == 1.0, "{}", time.len());
    let [stations, sections] = [2, 3];
    let size = |name: &str| match name {
        "time" | "line_speed" | "travelled_length" | "takeup_speed" | "payoff_speed" => time.len(),
        "time_in_section" => sections * metres.len(),
        "water_temperature" | "heat" => sections * time.len(),
        name if name.starts_with("seen_") || name == "metre_seen" => stations * time.len(),
        "product_length" | "side" | "time_at_die" | "output" | "diameter_at_die" | "scrap" | "scrap_cause" => {
            metres.len()
        }
        name if name.starts_with("field_") => time.len() * read("distance").len(),
        _ => stations * metres.len(),
    };
    let docs = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/drive.md")).unwrap();
    let table = docs.split("| variable | dimensions |").nth(1).unwrap();
    let named: Vec<&str> = table
        .split('`')
        .skip(1)
        .step_by(2)
        .filter(|name| !["scrap_cause_bits", "--field", "distance", "content", "capacity"].contains(name))
        .collect();
    assert!(named.len() > 25);
    for name in named {
        assert_eq!(read(name).len(), size(name), "{name}");
    }
    // Product length never falls, and rises strictly but at jumps.
    let (lengths, sides) = (read("product_length"), read("side"));
    for index in 1..lengths.len() {
        let same = lengths[index] == lengths[index - 1];
        assert!(lengths[index] >= lengths[index - 1] && (!same || sides[index] > sides[index - 1]), "{index}");
    }
    // Speed, travelled length and what the capstan sees agree: S(t) = s + x.
    let (travelled, seen) = (read("travelled_length"), read("metre_seen"));
    for (index, travelled) in travelled.iter().enumerate() {
        let metre = seen[time.len() + index];
        assert!((travelled - metre - 19.6).abs() < 1e-9, "{index}: {travelled} {metre}");
    }
}

#[test]
fn an_accumulator_is_written_and_drawn() {
    let dir = tempfile::tempdir().unwrap();
    let name = path("house-wire-reel-change");
    let (_, notes, status) =
        output(&["drive", name.to_str().unwrap(), "--out", dir.path().to_str().unwrap(), "--no-band"]);
    assert_eq!(status, 0, "{notes}");
    let file = hdf5_metno::File::open(dir.path().join("house-wire-reel-change-drive.h5")).unwrap();
    let read = |name: &str| file.dataset(name).unwrap().read_raw::<f64>().unwrap();
    let (time, content) = (read("time"), read("content"));
    assert_eq!((content.len(), read("capacity")), (time.len(), vec![100.0]));
    // The content is what the line has run more than the take-up: the trapezoid of speeds, which are linear but at their corners.
    let (line, takeup) = (read("line_speed"), read("takeup_speed"));
    let mut sum = content[0];
    for index in 1..time.len() {
        let mean = 0.5 * (line[index] + line[index - 1] - takeup[index] - takeup[index - 1]);
        sum += mean * (time[index] - time[index - 1]);
        assert!((sum - content[index]).abs() < 1.0, "{}: {sum} {}", time[index], content[index]);
    }
    assert_eq!(read("payoff_speed"), line);
}

/// Over time the mean surface is judged where water does not touch all round: the answer says so, in words and in the limit's name.
#[test]
fn that_the_mean_surface_is_judged_is_said() {
    let text = std::fs::read_to_string(path("house-wire-stop")).unwrap();
    let uneven = text.replacen("film_floor = \"900 W/(m2 K)\"", "film_floor = \"900 W/(m2 K)\"\nwetted = 0.9", 1);
    assert!(uneven != text);
    let told = |text: &str| {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("case.toml");
        std::fs::write(&file, text).unwrap();
        let (report, notes, status) = output(&["drive", file.to_str().unwrap()]);
        assert_eq!(status, 0, "{notes}");
        report.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let (all_round, one_side) = (told(&text), told(&uneven));
    // What an answer rests on most is told in words, not by its key path.
    assert!(
        all_round.contains("Most of it comes from the ") && !all_round.contains("Most of it comes from the ."),
        "{all_round}"
    );
    for words in ["The program follows the mean around it over time", "mean surface"] {
        assert!(one_side.contains(words) && !all_round.contains(words), "{words}: {one_side}");
    }
}

#[test]
fn what_cannot_be_driven_is_refused_with_a_remedy() {
    let still = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/house-wire.toml");
    let (_, notes, status) = output(&["drive", still.to_str().unwrap()]);
    assert_eq!(status, 2);
    assert!(notes.contains("Add a [[line.change]] or a [[reel_change]], or ask `quenchway run`"), "{notes}");
    let dir = tempfile::tempdir().unwrap();
    let refused = |from: &str, to: &str, words: &str| {
        let text = std::fs::read_to_string(path("house-wire-stop")).unwrap();
        assert!(text.contains(from));
        let file = dir.path().join("case.toml");
        std::fs::write(&file, text.replacen(from, to, 1)).unwrap();
        let (_, notes, status) = output(&["drive", file.to_str().unwrap()]);
        assert!(status != 0 && notes.contains(words), "{status} {notes}");
    };
    let water = "film = \"3500 W/(m2 K)\"\nfilm_exponent = 0.8\nfilm_floor = \"900 W/(m2 K)\"";
    refused(water, &format!("{water}\nflow = \"60 L/min\""), "flow");
    let air = "film = \"22 W/(m2 K)\"\nfilm_exponent = 0.5\nfilm_floor = \"12 W/(m2 K)\"";
    refused(air, "law = \"fibre-air\"\nvelocity = \"1 m/s\"", "no answer at a standstill");
    let (_, notes, status) = output(&["drive", path("house-wire-stop").to_str().unwrap(), "--every", "0.001 s"]);
    assert!(status == 2 && notes.contains("--every"), "{status} {notes}");
}
