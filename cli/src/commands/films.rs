//! `quenchway films`: the film laws with what each gives under some conditions, its range, source and status.

use std::fmt::Display;

use quenchway::case::{Medium, Shape};
use quenchway::film::surface::radiation;
use quenchway::film::{self, FilmState, Input, Inputs, Law, RangeQuantity, Status};
use quenchway::units::{Dimension, System, write};
use quenchway_words::blocks::Grid;
use quenchway_words::clean;
use serde_json::json;

use super::Failure;
use super::listing::{number, paragraph};
use crate::args::FilmsArgs;
use crate::report::ruled;
use crate::{build, pictures};

/// Emissivity that the list adds radiation for: what a section takes that names none.
const EMISSIVITY: f64 = 0.94;

/// The laws, or the one that is named, `width` columns wide or as JSON; with a picture where one is asked for.
///
/// Errors: no law of that name, with the nearest; a picture that cannot be written.
pub fn films(args: &FilmsArgs, width: usize) -> Result<String, Failure> {
    let laws: Vec<&Law> = match args.name.as_deref() {
        None => film::laws().iter().collect(),
        Some(name) => vec![film::find(name).ok_or_else(|| unknown(name))?],
    };
    if let Some(path) = &args.picture {
        let failed = |error: &dyn Display| Failure::Write(error.to_string());
        pictures::prepare(path, false).map_err(|error| failed(&error))?;
        let drawn = quenchway_pictures::films::encoded(&laws, |law| condition(args, law), build::PROGRAM);
        pictures::write(path, &drawn.map_err(|error| failed(&error))?).map_err(|error| failed(&error))?;
    }
    let rows: Vec<Row> = laws.into_iter().map(|law| Row::new(law, condition(args, law))).collect();
    if args.json {
        return Ok(as_json(&rows));
    }
    let text = match args.name {
        None => list(&rows, args, width),
        Some(_) => rows.iter().map(|row| record(row, width)).collect(),
    };
    Ok(text)
}

fn unknown(name: &str) -> Failure {
    let meant = film::nearest(name).map_or(String::new(), |near| format!("did you mean {near}? "));
    Failure::Argument {
        what: format!("there is no film law \"{}\"", clean::line(name)),
        help: Some(format!("{meant}there are {}", film::NAMES.join(", "))),
    }
}

/// What a law is asked for by the command line.
fn condition(args: &FilmsArgs, law: &Law) -> FilmState {
    let water = law.medium.is_water();
    let velocity = args.velocity.unwrap_or(if water { 0.5 } else { 10.0 });
    let given = Inputs { velocity, water_flux: args.water_flux, stirred: args.stirred, lean: 0.0 };
    FilmState {
        shape: Shape::Round,
        speed: args.speed,
        diameter: args.diameter,
        distance: args.distance,
        surface: args.surface,
        medium: if water { args.water } else { args.air },
        inputs: law.keys().fold(Inputs::default(), |inputs, input| input.set(inputs, input.of(&given))),
    }
}

struct Row {
    law: &'static Law,
    state: FilmState,
    film: f64,
}

impl Row {
    fn new(law: &'static Law, state: FilmState) -> Row {
        Row { law, state, film: (law.coefficient)(&state) }
    }

    /// "velocity 0.5 m/s": the keys of its own that the law was given.
    fn told(&self) -> Vec<String> {
        let inputs = &self.state.inputs;
        let value = |input: Input| match input {
            Input::Velocity | Input::Stirred => format!("{} m/s", number(input.of(inputs))),
            Input::WaterFlux => write(inputs.water_flux, Dimension::WaterFlux, System::Si),
            Input::Lean => number(inputs.lean),
        };
        let told = self.law.keys().filter(|input| self.law.takes.contains(input) || input.of(inputs) != 0.0);
        told.map(|input| format!("{} {}", input.key(), value(input))).collect()
    }

    /// "low to high": the band of the law there, where it has one for each place.
    fn band(&self) -> String {
        let ends = self.law.ends(&self.state);
        ends.map_or(String::new(), |ends| ends.map(|end| rounded(end, 3)).join(" to "))
    }

    /// What lies outside the law's range, in words.
    fn outside(&self) -> Vec<String> {
        let told = |quantity: RangeQuantity, value: f64| match quantity.dimension() {
            Some(dimension) => write(value, dimension, System::Si),
            None => rounded(value, 2),
        };
        let broken = self.law.outside(&self.state);
        broken.map(|(bound, value)| format!("{} {}", bound.quantity.name(), told(bound.quantity, value))).collect()
    }
}

fn list(rows: &[Row], args: &FilmsArgs, width: usize) -> String {
    let header = ["law", "medium", "film\nW/(m2 K)", "its band", "its own key", "range", "constants"];
    let mut table = Grid::new(header.map(str::to_string).to_vec());
    for row in rows {
        table.row(vec![
            row.law.name.to_string(),
            row.law.medium.name().to_string(),
            rounded(row.film, 3),
            row.band(),
            row.told().join(", "),
            if row.outside().is_empty() { "inside" } else { "outside" }.to_string(),
            row.law.status.word().to_string(),
        ]);
    }
    let si = |value: f64, dimension| write(value, dimension, System::Si);
    let mut text = ruled::text(&table, width) + "\n";
    text += &paragraph(
        "",
        &format!(
            "These films hold for a round product of {} at {}, {} after the section's entry. Its surface is at {}, the water \
             at {}, the air at {}. Radiation adds {} W/(m2 K) in air (emissivity {EMISSIVITY}). `quenchway films --help` has \
             the flags for other conditions.",
            si(args.diameter, Dimension::Diameter),
            si(args.speed, Dimension::Speed),
            si(args.distance, Dimension::Length),
            si(args.surface, Dimension::Temperature),
            si(args.water, Dimension::Temperature),
            si(args.air, Dimension::Temperature),
            rounded(radiation(EMISSIVITY, args.surface, args.air), 3),
        ),
        width,
    );
    let own = Medium::ALL.map(|medium| format!("{}: {}", medium.name(), film::default_law(medium).name)).join(", ");
    text += &paragraph(
        "",
        &format!(
            "A section that names no law gets that of its medium ({own}). A law is an estimate. Those of a moving product have a \
             band at each place, the others are good to a factor of two."
        ),
        width,
    );
    for row in rows {
        text += "\n";
        text += &paragraph("", &format!("{}: {}", row.law.name, row.law.describes), width);
        text += &provenance(row, width);
    }
    text
}

fn record(row: &Row, width: usize) -> String {
    let law = row.law;
    let mut text = paragraph(&format!("{}: ", law.name), law.describes, width);
    let keys = if row.told().is_empty() { "no key of its own".to_string() } else { row.told().join(", ") };
    let band = if row.band().is_empty() { String::new() } else { format!(" ({})", row.band()) };
    let (medium, film) = (law.medium.name(), rounded(row.film, 3));
    let here = format!("{medium}, {keys}; {film}{band} W/(m2 K) under these conditions");
    text += &paragraph("", &here, width);
    text += &provenance(row, width);
    text += &paragraph("  doubt:  ", law.doubt, width);
    text += "\nWorked examples\n";
    let header = ["m/s", "mm", "m", "surface\ndegC", "medium\ndegC", "keys", "expected\nW/(m2 K)", "this program"];
    let mut table = Grid::new(header.map(str::to_string).to_vec());
    for example in law.examples {
        let given = Row::new(law, example.state);
        let FilmState { speed, diameter, distance, surface, medium, .. } = example.state;
        let mut cells = [speed, diameter * 1e3, distance, surface, medium].map(number).to_vec();
        cells.extend([given.told().join(", "), number(example.coefficient), rounded(given.film, 7)]);
        table.row(cells);
    }
    text += &ruled::text(&table, width - 1).lines().map(|line| format!(" {line}\n")).collect::<String>();
    let mut sources: Vec<&str> = law.examples.iter().map(|example| example.source).collect();
    sources.dedup();
    text + &sources.iter().map(|source| paragraph("  source: ", source, width)).collect::<String>()
}

/// Range, source and status.
fn provenance(row: &Row, width: usize) -> String {
    let law = row.law;
    let outside = row.outside();
    let here = if outside.is_empty() { String::new() } else { format!("; here outside: {}", outside.join(", ")) };
    let status = match law.status {
        Status::Read => "read in print, or as a library quotes it".to_string(),
        Status::Derived => "solved or combined for this program".to_string(),
        Status::Memory(what) => format!("from memory, not checked: {what}"),
    };
    paragraph("  range:  ", &format!("{}{here}", law.range), width)
        + &paragraph("  source: ", &format!("{} ({status})", law.source), width)
}

fn as_json(rows: &[Row]) -> String {
    let laws: Vec<serde_json::Value> = rows
        .iter()
        .map(|row| {
            let (law, state) = (row.law, &row.state);
            let broken = law.outside(state).map(|(bound, value)| {
                // An open end has no number in JSON.
                let [low, high] = bound.range.map(|end| end.is_finite().then_some(end));
                json!({ "quantity": bound.quantity.name(), "value": value, "low": low, "high": high })
            });
            let from_memory = match law.status {
                Status::Memory(what) => Some(what),
                Status::Read | Status::Derived => None,
            };
            let takes: Vec<&str> = law.takes.iter().map(|input| input.key()).collect();
            let may_take: Vec<&str> = law.may_take.iter().map(|input| input.key()).collect();
            let ends = law.ends(state);
            json!({
                "name": law.name, "medium": law.medium, "describes": law.describes, "takes": takes,
                "may_take": may_take, "film_low_W_m2K": ends.map(|ends| ends[0]), "film_high_W_m2K": ends.map(|ends| ends[1]),
                "film_W_m2K": row.film, "outside": broken.collect::<Vec<_>>(),
                "range": law.range, "source": law.source, "status": law.status.word(), "from_memory": from_memory,
                "doubt": law.doubt,
                "conditions": {
                    "speed_m_s": state.speed, "diameter_m": state.diameter, "distance_m": state.distance,
                    "surface_degC": state.surface, "medium_degC": state.medium,
                    "velocity_m_s": state.inputs.velocity, "water_flux_kg_m2s": state.inputs.water_flux,
                    "stirred_m_s": state.inputs.stirred,
                },
            })
        })
        .collect();
    format!("{:#}\n", json!({ "laws": laws }))
}

/// A number to so many digits; powers of ten where it is long.
fn rounded(value: f64, digits: usize) -> String {
    let text = format!("{value:.*e}", digits - 1);
    match text.parse::<f64>() {
        Ok(short) if short.abs() < 1e7 && (short.abs() >= 1e-3 || short == 0.0) => short.to_string(),
        _ => text,
    }
}
