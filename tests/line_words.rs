//! What the program says of a line whose speed changes: short sentences, numbers with their units, words that are true at the
//! digits that are printed, cautions of what gives off acid, how sure an answer is.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use quenchway::case::cautions::cautions;
use quenchway::case::{CaseFile, InputBand, Varied};
use quenchway::material::Hazard;
use quenchway::study::drive::answer::answer;
use quenchway::study::moves::doubt::Doubt;
use quenchway::study::moves::ramp::{Asked as Ramp, Course, Ramping, ramps};
use quenchway::study::moves::reel::{Asked as ForReel, reel};
use quenchway::study::moves::stop::{Asked as Stop, Stops, stops};
use quenchway::units::{Celsius, Dimension, System, show};
use quenchway_cli::report::text;
use quenchway_words::blocks::{Block, Report};
use quenchway_words::{Shown, drive as drive_words, moves as words};

const MINUTE: f64 = 60.0;
const SI: Shown = Shown { system: System::Si };

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn case(name: &str) -> CaseFile {
    let text = std::fs::read_to_string(root().join(format!("cases/drive/{name}.toml"))).unwrap();
    // The words are those of the tolerance of the case; the numbers of this one.
    quenchway::file::read(&text).unwrap().to(0.1)
}

fn ramp_to() -> Ramp {
    Ramp { from: 20.0 / MINUTE, to: 150.0 / MINUTE, print: System::Si }
}

fn stopped(case: &CaseFile) -> (Stops, Option<Doubt>) {
    let found = stops(case, Stop { slow_to: None, longest: 600.0, print: System::Si }, &|_| {}).unwrap();
    let doubt = found.doubt(case, &|_| {}).unwrap();
    (found, doubt)
}

fn ramped(case: &CaseFile) -> (Ramping, Vec<Option<Doubt>>) {
    let found = ramps(case, ramp_to(), &|_| {}).unwrap();
    let doubts = found.courses.iter().map(|of| found.doubt(case, of, &|_| {}).unwrap()).collect();
    (found, doubts)
}

/// The reports of all four commands on the cases of the project, and the card.
fn reports() -> &'static [(String, Report)] {
    static ALL: OnceLock<Vec<(String, Report)>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut all = Vec::new();
        for name in ["house-wire-stop", "house-wire-ramp", "house-wire-reel-change", "thick-core-slow-down"] {
            let case = case(name);
            let found = answer(&case, None, true, &|_| {}).unwrap();
            all.push((format!("drive {name}"), drive_words::report(&case, &found, SI)));
        }
        let (line, ramp, change) = (case("house-wire-stop"), case("house-wire-ramp"), case("house-wire-reel-change"));
        let (stop, doubt) = stopped(&line);
        all.push(("stop".to_string(), words::stop::report(&line, &stop, doubt.as_ref(), SI)));
        let (ramping, doubts) = ramped(&ramp);
        all.push(("ramp".to_string(), words::ramp::report(&ramp, &ramping, &doubts, SI)));
        let asked = ForReel { standstill: Some(60.0), speed: None, accumulator: None, print: System::Si };
        let changed = reel(&change, &asked).unwrap();
        all.push(("reel".to_string(), words::reel::report(&change, &changed, SI)));
        all.push(("card".to_string(), words::card::report(&change, Some(&ramping), &stop, Some(&changed), SI)));
        all
    })
}

/// What a report says in sentences.
fn paragraphs(report: &Report) -> Vec<String> {
    let blocks = report.parts.iter().flat_map(|part| &part.blocks);
    let said = blocks.filter_map(|block| match block {
        Block::Paragraph(words) => Some(words.text.clone()),
        _ => None,
    });
    std::iter::once(report.about.clone()).chain(said).collect()
}

/// Words of a sentence, at most.
const LONGEST: usize = 25;

/// The sentences of a text have at most 25 words; a number is one word with its unit.
pub fn short_sentences(text: &str) -> Result<(), String> {
    let held = quenchway_words::blocks::with_units(text);
    for sentence in held.split_inclusive(['.', '!', '?', '\n']).scan(String::new(), joined).flatten() {
        let words = sentence.split(' ').filter(|word| word.contains(char::is_alphanumeric)).count();
        if words > LONGEST {
            return Err(format!("{words} words: {sentence}"));
        }
    }
    Ok(())
}

/// Pieces up to a stop that a space follows: "1.18 m" and "a.b" are none.
fn joined(open: &mut String, piece: &str) -> Option<Option<String>> {
    let ends = open.ends_with(['.', '!', '?', '\n']) && piece.starts_with([' ', '\u{a0}', '\n']);
    let done = if ends { Some(std::mem::take(open)) } else { None };
    open.push_str(piece);
    Some(done)
}

#[test]
fn a_gauge_and_a_stop_are_told_in_whole_sentences() {
    let of = |name: &str| {
        let (_, report) = reports().iter().find(|(of, _)| of == name).unwrap();
        paragraphs(report).join(" ").replace('\u{a0}', " ")
    };
    // What is shown as nothing is told as less than half of the last digit.
    let (stop, ramp) = (of("drive house-wire-stop"), of("drive house-wire-ramp"));
    let finished = "Its reading differs from the finished size of the same metre by less than 0.0005 mm.";
    let at_the_die = "From what leaves the die at that moment it differs by";
    assert!(stop.contains(&format!("{finished} {at_the_die} less than 0.0005 mm.")), "{stop}");
    assert!(ramp.contains(&format!("{finished} {at_the_die} -0.00")) && ramp.contains(" mm to +0.06"), "{ramp}");
    let stops = of("stop");
    assert!(stops.contains(" on, tried up to 600.00 s. No stop that is shorter than 44."), "{stops}");
    assert!(stops.contains(" s is within limits. "), "{stops}");
}

#[test]
fn sentences_are_counted() {
    let words = |count: usize| vec!["word"; count].join(" ");
    assert_eq!(short_sentences(&format!("{}. {}.", words(25), words(25))), Ok(()));
    assert!(short_sentences(&format!("{}. {}. No.", words(3), words(26))).is_err());
    // The last one counts, too, and a number is one word with its unit.
    assert!(short_sentences(&format!("Yes. {}. End.", words(26))).is_err());
    assert_eq!(short_sentences(&format!("{} 3.5 m/min. And", words(24))), Ok(()));
    assert!(short_sentences(&format!("{} 3.5 metres. And", words(24))).is_err());
}

#[test]
fn what_is_said_of_a_line_in_time_has_short_sentences() {
    let mut long = Vec::new();
    for (name, report) in reports() {
        let said = paragraphs(report);
        assert!(said.len() > 3, "{name}");
        // What follows the text ends its last sentence.
        let wrong = said.iter().filter_map(|text| short_sentences(&format!("{text} End.")).err());
        long.extend(wrong.map(|wrong| format!("{name}: {wrong}")));
    }
    assert!(long.is_empty(), "{long:#?}");
}

/// Lines that begin with the unit of a number that ends the one before.
fn torn(shown: &str) -> Vec<String> {
    let of = |system: System| Dimension::ALL.into_iter().map(move |dimension| show(0.0, dimension, system).1);
    let units: Vec<&str> = of(System::Si).chain(of(System::Us)).filter(|unit| !unit.is_empty()).collect();
    let lines: Vec<&str> = shown.lines().collect();
    let is_torn = |pair: &&[&str]| {
        let first = pair[1].trim_start().split([' ', ',', ';', '.', ':', ')']).next().unwrap_or_default();
        // A line of a table begins with a space and holds several.
        pair[0].ends_with(|last: char| last.is_ascii_digit())
            && units.contains(&first)
            && !pair[1].trim().contains("  ")
    };
    lines.windows(2).filter(is_torn).map(|pair| format!("{}|{}", pair[0], pair[1])).collect()
}

#[test]
fn a_number_stays_with_its_unit_at_every_width() {
    assert_eq!(torn("it takes 3.5\nm of it").len(), 1);
    let house_wire = std::fs::read_to_string(root().join("cases/house-wire.toml")).unwrap();
    let house_wire = quenchway::file::read(&house_wire).unwrap().to(0.1);
    let solution = quenchway::march::march(&house_wire).unwrap();
    for columns in [40, 60, 80] {
        for (name, report) in reports() {
            let shown = text(report, columns);
            assert_eq!(torn(&shown), [""; 0], "{name} at {columns}");
        }
        for system in [System::Si, System::Us] {
            let shown = crate::fixture::report(&house_wire, &solution, system, columns);
            assert_eq!(torn(&shown), [""; 0], "run at {columns}");
        }
    }
}

/// Every case of the project with a PVC says what it gives off.
#[test]
fn every_case_with_a_pvc_says_that_it_gives_off_acid() {
    let mut count = 0;
    for folder in ["cases", "cases/drive", "validation/reference/line_in_time"] {
        let files = std::fs::read_dir(root().join(folder)).unwrap().map(|entry| entry.unwrap().path());
        for file in files.filter(|file| file.extension().is_some_and(|end| end == "toml")) {
            let Ok(case) = quenchway::file::read(&std::fs::read_to_string(&file).unwrap()) else { continue };
            let has_pvc = case.layers.iter().any(|layer| layer.material.name.contains("pvc"));
            if !has_pvc {
                continue;
            }
            count += 1;
            let said = |all: Vec<String>| all.iter().any(|caution| caution.contains("hydrogen chloride"));
            assert!(said(cautions(&case)), "{}", file.display());
            assert!(said(quenchway::study::drive::cautions::cautions(&case, true)), "{}", file.display());
            let acid = case.layers.iter().any(|layer| layer.material.hazards.contains(&Hazard::HydrogenChloride));
            assert!(acid, "{}", file.display());
        }
    }
    assert!(count >= 8, "{count} cases");
}

/// A limit at a hair from what the product reaches: what is printed is true at its digits.
#[test]
fn at_the_edge_the_words_are_true_at_the_printed_digits() {
    let mut case = case("house-wire-stop");
    let surface = |case: &CaseFile| {
        let found = answer(case, None, false, &|_| {}).unwrap();
        let largest = found.stations[1].limits.iter().find(|limit| limit.of.key == "surface_max").unwrap().largest;
        (found, largest)
    };
    let (_, largest) = surface(&case);
    for (over, says, never) in [
        (0.002, &["NO METRE IS OUT OF LIMITS", "less than 0.1 K below its limit"][..], &["0.0 K"][..]),
        (-0.0004, &["LESS THAN 0.01 m IS OUT OF LIMITS", "just above"], &["0.00 m ARE", " 0.00 m"]),
    ] {
        let limits = &mut case.stations[1].limits;
        limits.iter_mut().find(|limit| limit.quantity == quenchway::case::Quantity::Surface).unwrap().max =
            Celsius(largest + over);
        let (found, _) = surface(&case);
        let report = drive_words::report(&case, &found, SI);
        let verdict = paragraphs(&report)[1].replace('\u{a0}', " ");
        for words in says {
            assert!(verdict.contains(words) || words == &"just above", "{words}: {verdict}");
        }
        for words in never {
            assert!(!verdict.contains(words), "{words}: {verdict}");
        }
        // What it reached is told from what is allowed.
        if over < 0.0 {
            let numbers = verdict.split("reached ").nth(1).unwrap();
            let (reached, allowed) = numbers.split_once(", ").unwrap();
            assert!(allowed.starts_with(|digit: char| digit.is_ascii_digit()), "{verdict}");
            let degrees = |words: &str| words.split(' ').find_map(|word| word.parse::<f64>().ok()).unwrap();
            assert!(reached.starts_with("just above") || degrees(reached) > degrees(allowed), "{verdict}");
        }
    }
}

/// The verdict on ramps names what decides: a limit, or what the drives allow.
#[test]
fn a_ramp_says_when_the_drives_decide() {
    let mut case = case("house-wire-ramp");
    let said = |case: &CaseFile| {
        let found = ramps(case, ramp_to(), &|_| {}).unwrap();
        let report = words::ramp::report(case, &found, &[], SI);
        (paragraphs(&report).join(" ").replace('\u{a0}', " "), found)
    };
    let (free, _) = said(&case);
    assert!(!free.contains("decides"), "{free}");
    // 130 m/min evenly in 600 s at least; in percent, where the end is steepest, in more.
    case.plant.ramp_max = Some(130.0 / MINUTE / 600.0);
    let (bound, found) = said(&case);
    assert!(bound.contains("EVEN: 600.00 s IS THE FASTEST RAMP WITHIN LIMITS"), "{bound}");
    assert_eq!(bound.matches("`ramp_max` decides").count(), 2, "{bound}");
    assert!(found.courses.iter().all(|of| of.steepest && matches!(of.fastest(), Some(None))));
    // Drives that take more than an hour: no steeper ramp is tried for all that.
    case.plant.ramp_max = Some(130.0 / MINUTE / 5000.0);
    let (slow, found) = said(&case);
    let even = &found.courses[0];
    assert!(even.times.points.iter().all(|point| point.at > 4999.9), "{:?}", even.looked_at);
    assert!(slow.contains("the program did not try a longer one"), "{slow}");
    // Without `ramp_max` the shortest that was tried is named as that.
    case.plant.ramp_max = None;
    case.stations[0].diameter_min = None;
    case.layers[1].feed.output = quenchway::case::programme::Output::Follows;
    let (any, _) = said(&case);
    assert!(any.contains("the shortest that the program tried"), "{any}");
}

/// Which slow-downs were tried stands beside the lowest speed.
#[test]
fn the_lowest_speed_says_how_long_the_slow_downs_were() {
    let (_, report) = reports().iter().find(|(name, _)| name == "stop").unwrap();
    let said = paragraphs(report).join(" ").replace('\u{a0}', " ");
    // One and a half times what the line of 19.9 m takes to fill at 24.9 m/min.
    assert!(said.contains("slow-downs of every duration tried, 0 s to 7"), "{said}");
}

/// The wider end of an answer that holds from some duration on.
fn from(within: &quenchway::study::moves::doubt::Within) -> f64 {
    match within.intervals.last() {
        Some([from, None]) => from.unwrap_or(0.0),
        _ => f64::INFINITY,
    }
}

/// How sure: the answer lies between what both ends of the inputs make of it, whatever the number of threads.
#[test]
fn the_range_of_stops_encloses_the_answer() {
    let mut case = case("house-wire-stop");
    // So far away that the core does not decide.
    for limit in case.stations[1].limits.iter_mut().filter(|limit| limit.quantity == quenchway::case::Quantity::Core) {
        limit.max = Celsius(95.0);
    }
    let (found, doubt) = stopped(&case);
    let doubt = doubt.unwrap();
    let base = found.durations.last().unwrap().from.as_ref().unwrap().within;
    assert_eq!((doubt.limit.key.as_str(), doubt.moves, doubt.limit.is_diameter()), ("surface_max", true, false));
    assert!(from(&doubt.better) < base && base < from(&doubt.worse), "{doubt:?} {base}");
    assert!(!doubt.largest.is_empty());
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(alone.install(|| found.doubt(&case, &|_| {}).unwrap()).unwrap(), doubt);
}

/// Where the lag is the only doubt, both ends are the ramps of its own ends.
#[test]
fn the_range_of_ramps_is_that_of_the_lag_where_a_diameter_decides() {
    let mut case = case("house-wire-ramp");
    let (found, plain) = ramped(&case);
    for doubt in plain.iter().flatten() {
        assert!(doubt.limit.is_diameter() && doubt.lag_without_band && !doubt.moves, "{doubt:?}");
    }
    let fastest = |found: &Ramping, course: Course| {
        let of = found.courses.iter().find(|of| of.course == course).unwrap();
        of.fastest().unwrap().unwrap().within
    };
    case.bands.push(InputBand {
        input: "layer.insulation.output".to_string(),
        varied: Varied::Factor,
        low_end: 0.9,
        high_end: 1.1,
        basis: "a test".to_string(),
    });
    for of in &found.courses {
        let base = fastest(&found, of.course);
        let doubt = found.doubt(&case, of, &|_| {}).unwrap().unwrap();
        assert!(doubt.moves && !doubt.lag_without_band && doubt.largest == "layer.insulation.output", "{doubt:?}");
        // The ends are enclosed to a hundredth, outward.
        for (end, factor) in [(from(&doubt.better), 0.9), (from(&doubt.worse), 1.1)] {
            assert!((end / (factor * base) - 1.0).abs() < 0.015, "{:?}: {end} for {}", of.course, factor * base);
        }
    }
    // What the report says: a tenth more lag asks for a tenth more time.
    case.layers[1].feed.output = quenchway::case::programme::Output::Lag(4.4);
    let more = ramps(&case, ramp_to(), &|_| {}).unwrap();
    for course in [Course::Even, Course::Percent] {
        let ratio = fastest(&more, course) / fastest(&found, course);
        assert!((ratio - 1.1).abs() < 2e-3, "{course:?}: {ratio}");
    }
}

fn program(args: &[&str]) -> (String, String, i32) {
    let output = assert_cmd::Command::new(env!("CARGO_BIN_EXE_quenchway")).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

/// Water along the line in a programme is wrong input, not a verdict; so is a directory that cannot be one.
#[test]
fn what_is_refused_for_the_case_or_the_path_is_wrong_input() {
    let dir = tempfile::tempdir().unwrap();
    let place = |name: &str| dir.path().join(name).to_str().unwrap().to_string();
    let text = std::fs::read_to_string(root().join("cases/drive/house-wire-stop.toml")).unwrap();
    let counter =
        text.replace("length = \"18 m\"\n", "length = \"18 m\"\nflow = \"40 L/min\"\ndirection = \"counter\"\n");
    std::fs::write(place("counter.toml"), counter).unwrap();
    std::fs::write(place("file"), "").unwrap();
    for args in [
        &["drive", &place("counter.toml")][..],
        &["stop", &place("counter.toml")],
        &["ramp", &place("counter.toml"), "--from", "20 m/min"],
    ] {
        let (report, notes, status) = program(args);
        assert_eq!((status, report.as_str()), (2, ""), "{args:?}: {notes}");
        assert!(notes.contains("section \"trough\": its water travels along the line"), "{notes}");
        assert!(short_sentences(&notes).is_ok(), "{notes}");
    }
    let (told, _, status) = program(&["drive", &place("counter.toml"), "--json"]);
    let told: serde_json::Value = serde_json::from_str(&told).unwrap();
    assert_eq!((status, told["error"]["kind"].as_str(), &told["status"]), (2, Some("input"), &serde_json::json!(2)));
    assert!(told["error"]["problems"][0]["file"].as_str().unwrap().ends_with("counter.toml"), "{told}");
    let wire = root().join("cases/drive/house-wire-reel-change.toml");
    let wire = wire.to_str().unwrap();
    let (_, notes, status) = program(&["reel", wire, "--out", &place("file/dir")]);
    assert!(status == 2 && notes.contains("it is not a directory") && !notes.contains("os error"), "{notes}");
    // The help says that the directory is made if it is missing.
    let (_, notes, status) = program(&["reel", wire, "--out", &place("no/such/dir")]);
    assert!(status == 0 && dir.path().join("no/such/dir/house-wire-reel-change-reel.png").exists(), "{notes}");
}
