//! The line in time: problems R1 to R5 and R7 through their case files, R6 by the accumulator alone.

use quenchway::case::Quantity;
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::line::clock::{Clock, Piece, Side};
use quenchway::line::programme::Store;
use quenchway::study::drive::Measure;
use quenchway::study::drive::answer::{Answer, answer};
use serde_json::Value;

use crate::build::{PROMISE, TOLERANCE};
use crate::page::{Kind, Page, lost};

const FAMILY: &str = "line in time";
const PROGRAM: &str = "finite volumes with Richardson extrapolation, SDIRK4(3) in time, computed for this project";
const TWO_PROGRAMS: &str = "method of steps, and parcels of product, computed for this project";
const CLOSED: &str = "closed form, computed for this project";
const EXACT: &str = "1e-9 of the value: a closed form";

macro_rules! problem {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../reference/line_in_time/", $name, ".toml")),
            include_str!(concat!("../reference/line_in_time/", $name, ".txt")),
        )
    };
}

/// Name, case text and figures of each problem whose temperatures are known.
const PROBLEMS: [(&str, &str, &str); 4] = [problem!("R1"), problem!("R2"), problem!("R3"), problem!("R4")];

/// The stations of the figures by problem: the section at whose end each stands, and how far from that.
const STATIONS: [&[(&str, &str)]; 4] = [
    &[("trough", "0 m"), ("to capstan", "0 m")],
    &HOUSE_WIRE,
    &HOUSE_WIRE,
    &[("air gap", "-0.1 m"), ("middle trough", "-6 m"), ("cold trough", "-0.1 m"), ("to capstan", "-0.5 m")],
];
const HOUSE_WIRE: [(&str, &str); 4] =
    [("air gap", "-0.2 m"), ("trough", "-9 m"), ("trough", "-0.1 m"), ("to capstan", "-0.3 m")];

/// All problems: temperatures at 0.001 K, closed forms to 1e-9.
pub fn page() -> Page {
    let mut rows = Vec::new();
    for ((name, case, figures), stations) in PROBLEMS.into_iter().zip(STATIONS) {
        match driven(case, stations) {
            Ok(found) => rows.extend(figures.lines().filter_map(|line| compared(name, &found, line)).flatten()),
            Err(why) => rows.push(lost(FAMILY, name.to_string(), &why)),
        }
    }
    rows.extend(draw().unwrap_or_else(|| vec![lost(FAMILY, "R5".to_string(), &"the figures cannot be read")]));
    rows.extend(accumulator().unwrap_or_else(|| vec![lost(FAMILY, "R6".to_string(), &"the figures cannot be read")]));
    rows.extend(tank().unwrap_or_else(|why| vec![lost(FAMILY, "R7".to_string(), &why)]));
    Page {
        title: "The line in time, R1 to R7",
        kind: Kind::Published,
        question: "Ramps, jumps, stops, slow-downs: does an independent program see the same temperature on every metre, at every moment?",
        set_up: "R1 is a bare wire with a ramp, a jump and a slow-down below the film's floor. R2 is the house wire from 20 \
                 to 150 m/min, R3 the same wire stopped for 60 s. R4 is a thick core slowed down for 90 s. R5 is the \
                 diameter after a lagging extruder, R6 an accumulator. R7 is a bare wire in a stirred tank that has a mass \
                 of its own, with a ramp and a stop. The cases are in validation/reference/line_in_time.",
        reference: "Second programs in Python give it, good to 3e-5 K. They have no line of the engine. R5 and R6 are \
                    closed forms.",
        bound: "0.001 K, the tolerance, for metres, moments, both sides of jumps and the water; 1e-9 for closed forms.",
        doubts: "Films are given and densities constant: this checks the clock, not the laws. Both leave out \
                 conduction along the line.",
        rows,
    }
}

/// The drive of a case at 0.001 K, with the stations of the figures.
fn driven(text: &str, stations: &[(&str, &str)]) -> Result<Answer, String> {
    // Own stations in place of the case's: only the text before them and behind them is kept.
    let mut kept = String::new();
    let mut skipping = false;
    for line in text.lines() {
        if line.starts_with('[') {
            skipping = line.starts_with("[[station]]") || line.starts_with("[solver]");
        }
        if !skipping {
            kept += line;
            kept += "\n";
        }
    }
    for (index, (after, offset)) in stations.iter().enumerate() {
        kept += &format!("[[station]]\nname = \"{index}\"\nafter = \"{after}\"\noffset = \"{offset}\"\n");
    }
    kept += &format!("[solver]\ngeometry = \"fixed\"\ntolerance = \"{TOLERANCE} K\"\n");
    // The figures know one size of product.
    let kept = kept.replace("output = { lag = \"4 s\" }", "");
    let case = quenchway::file::read(&kept).map_err(|problems| format!("{problems:?}"))?;
    answer(&case, None, false, &|_| {}).map_err(|error| error.to_string())
}

/// A line of the figures: kind, place, station, another number, surface, core, mean; none of metres that were gone before.
fn compared(name: &'static str, found: &Answer, line: &str) -> Option<[Check; 2]> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let number = |place: usize| words.get(place).and_then(|word| word.parse::<f64>().ok());
    let (kind, station) = (*words.first()?, words.get(2)?.parse::<usize>().ok()?);
    let (at, surface, core) = (number(1)?, number(4)?, number(5)?);
    let driven = &found.driven;
    let sight = match kind {
        "metre" if at < -found.on_line_m => return None,
        "metre" => driven.at(station, at, Side::At),
        "before" => driven.at(station, at, Side::Before),
        "behind" => driven.at(station, at, Side::Behind),
        "clock" => driven.seen(station, at).map(|(_, sight)| sight),
        _ => return None,
    };
    let unit = if kind == "clock" { "s" } else { "m" };
    let check = |what: &str, quantity, expected| Check {
        family: FAMILY,
        what: format!("{name}, {kind} {at} {unit} at station {station}, {what}"),
        source: PROGRAM,
        subject: Subject::Engine,
        witness: Witness::SecondProgram,
        unit: "degC",
        expected,
        computed: sight.as_ref().map_or(f64::NAN, |sight| sight.of(Measure::Temperature(quantity))),
        bound: TOLERANCE,
        reason: PROMISE,
    };
    Some([check("surface", Quantity::Surface, surface), check("core", Quantity::Core, core)])
}

fn exact(what: String, unit: &'static str, expected: f64, computed: f64) -> Check {
    Check {
        family: FAMILY,
        what,
        source: CLOSED,
        // Clocks and sizes: nothing of it is marched.
        subject: Subject::Part,
        witness: Witness::Equation,
        unit,
        expected,
        computed,
        bound: 1e-9 * expected.abs().max(1e-3),
        reason: EXACT,
    }
}

/// R5: diameters at the die of the ramp's case.
fn draw() -> Option<Vec<Check>> {
    let figures: Value = serde_json::from_str(include_str!("../reference/line_in_time/draw.json")).ok()?;
    let case = quenchway::file::read(PROBLEMS[1].1).ok()?;
    let case = case.to(1.0);
    let found = answer(&case, None, false, &|_| {}).ok()?;
    let [inner, outer] = ["inner_m", "outer_m"].map(|key| figures[key].as_f64().unwrap_or(f64::NAN));
    let mut rows = Vec::new();
    for row in figures["rows"].as_array()? {
        let (time, expected) = (row["t_die_s"].as_f64()?, row["diameter_at_die_lag_m"].as_f64()?);
        let share = found.extruders.last()?.share(time);
        let diameter = (inner * inner + (outer * outer - inner * inner) * share).sqrt();
        rows.push(exact(format!("R5, diameter at the die at {time} s"), "m", expected, diameter));
    }
    for row in figures["cold_gauge_delay"].as_array()? {
        let (time, distance, expected) = (row["t_s"].as_f64()?, row["distance_m"].as_f64()?, row["delay_s"].as_f64()?);
        let [_, delay] = found.motions.delay(time, distance);
        rows.push(exact(format!("R5, delay to the cold gauge at {time} s"), "s", expected, delay));
    }
    Some(rows)
}

/// R7: the water of a stirred tank, and the wire that leaves it.
fn tank() -> Result<Vec<Check>, String> {
    const UNREADABLE: &str = "the figures cannot be read";
    let figures: Value =
        serde_json::from_str(include_str!("../reference/line_in_time/tank.json")).map_err(|error| error.to_string())?;
    let case = quenchway::file::read(include_str!("../reference/line_in_time/R7.toml"));
    let mut case = case.map_err(|problems| format!("{problems:?}"))?.to(TOLERANCE);
    // So much water at the temperature of the supply.
    let mass = figures["inputs"]["M"].as_f64().ok_or(UNREADABLE)?;
    case.sections[0].volume = Some(mass / quenchway::material::water::at(case.sections[0].temperature.0).density);
    let found = answer(&case, None, false, &|_| {}).map_err(|error| error.to_string())?;
    let over = found.waters.as_ref().and_then(|waters| waters.0[0].as_ref()).ok_or("no water was followed")?;
    let mut rows = Vec::new();
    for row in figures["rows"].as_array().ok_or(UNREADABLE)? {
        let number = |key: &str| row[key].as_f64().ok_or(UNREADABLE);
        let time = number("t_s")?;
        let wire = found.driven.seen(0, time).map(|(_, sight)| sight.of(Measure::Temperature(Quantity::Mean)));
        let told = [
            ("water", "water_degC", over.at(time)),
            ("wire that leaves the tank", "wire_at_trough_exit_degC", wire.unwrap_or(f64::NAN)),
        ];
        for (what, key, computed) in told {
            rows.push(Check {
                family: FAMILY,
                what: format!("R7, {what} at {time} s"),
                source: TWO_PROGRAMS,
                subject: Subject::Engine,
                witness: Witness::SecondProgram,
                unit: "degC",
                expected: number(key)?,
                computed,
                bound: TOLERANCE,
                reason: PROMISE,
            });
        }
    }
    Ok(rows)
}

/// R6: the content over the slow-down of R4.
fn accumulator() -> Option<Vec<Check>> {
    let figures: Value = serde_json::from_str(include_str!("../reference/line_in_time/accumulator.json")).ok()?;
    let pieces = |key: &str| -> Option<Vec<Piece>> {
        let points: Vec<[f64; 2]> = serde_json::from_value(figures[key].clone()).ok()?;
        let even = |pair: &[[f64; 2]]| Piece::even(pair[1][0] - pair[0][0], pair[0][1], pair[1][1]);
        Some(points.windows(2).map(even).collect())
    };
    let line = Clock::new(&pieces("line")?).ok()?;
    let store = Store::new(quenchway::case::programme::End::Exit, 4.0, line, Clock::new(&pieces("takeup")?).ok()?);
    let back = store.when(4.0, 127.0, 400.0)?;
    let mut rows = vec![exact("R6, content back at".to_string(), "s", figures["back_to_4_m_at_s"].as_f64()?, back)];
    for row in figures["content_m"].as_array()? {
        let (time, expected) = (row["t_s"].as_f64()?, row["content_m"].as_f64()?);
        // Behind it the take-up runs with the line.
        if time < back {
            rows.push(exact(format!("R6, content at {time} s"), "m", expected, store.content(time)));
        }
    }
    let largest = store.extremes(0.0, back)[1];
    rows.push(exact(
        "R6, largest content".to_string(),
        "m",
        figures["largest"]["content_m"].as_f64()?,
        largest.content,
    ));
    rows.push(exact("R6, when".to_string(), "s", figures["largest"]["t_s"].as_f64()?, largest.time));
    Some(rows)
}
