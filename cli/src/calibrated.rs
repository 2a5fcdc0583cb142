//! A calibrated case file: the user's own text with fitted numbers in it and what the trial leaves unsure, its comments and
//! layout kept.

use std::fmt;

use quenchway::case::{CaseFile, Varied};
use quenchway::file;
use quenchway::names::key_path::KeyPath;
use quenchway::names::variable::Variable;
use quenchway::study::fit::Posterior;
use quenchway::units::System;
use quenchway_page::edit;
use quenchway_words::clean;
use toml_edit::{ArrayOfTables, DocumentMut, Item, Key, Table, Value};

/// What the first line of our calibrated files begins with.
const BANNER: &str = "# Calibrated by quenchway fit";
/// What a comment over a fitted number begins with.
const FITTED: &str = "# fitted to";

/// A number to be written and what is to be said of it.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Which number.
    pub variable: Variable,
    /// Its value, SI.
    pub value: f64,
    /// The comment over it, after "fitted to".
    pub comment: String,
    /// A number that the trial moved besides; where it cannot be written it stays as it is.
    pub beside: bool,
}

/// A calibrated case.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibrated {
    /// The text of the file.
    pub text: String,
    /// Key paths of what the trial moved besides and the file could not take.
    pub left: Vec<String>,
}

/// A number that cannot be written into the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Unwritable {
    /// Its key path.
    pub path: String,
    /// The value that was to be written.
    pub value: String,
    /// Why not.
    pub reason: String,
}

impl fmt::Display for Unwritable {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} = {} cannot be written into the case: {}", self.path, self.value, self.reason)
    }
}

impl std::error::Error for Unwritable {}

/// The text of a case with these numbers in it, and with the bands and modes of a posterior; `made_from` ends the line that is
/// put before it.
///
/// A key that is there gets the new value and keeps what stands around it; one that is not is added at the end of its table.
/// The new text is read back: it is a case, and its numbers are those of the entries to six digits.
///
/// Errors: a number that is a table or a curve in the file, or belongs to no table of it; a text that is no longer a case.
pub fn calibrated(
    text: &str,
    entries: &[Entry],
    posterior: &Posterior,
    made_from: &str,
) -> Result<Calibrated, Unwritable> {
    let fault = |entry: &Entry, reason: &str| Unwritable {
        path: entry.variable.path.clone(),
        value: entry.variable.show(entry.value, System::Si),
        reason: reason.to_string(),
    };
    let body = match text.strip_prefix(BANNER).and_then(|rest| rest.split_once('\n')) {
        Some((_, rest)) => rest.trim_start_matches('\n'),
        None => text,
    };
    let (fitted, beside): (Vec<&Entry>, Vec<&Entry>) = entries.iter().partition(|entry| !entry.beside);
    let nothing = |text: String| Calibrated { text, left: Vec::new() };
    let mut document: DocumentMut = match body.parse() {
        Ok(document) => document,
        Err(error) => {
            let reason = format!("the case file does not read as TOML: {error}");
            return fitted.first().map_or(Ok(nothing(text.to_string())), |entry| Err(fault(entry, &reason)));
        }
    };
    for entry in &fitted {
        put(&mut document, entry).map_err(|reason| fault(entry, &reason))?;
    }
    put_doubts(&mut document, posterior, made_from);
    let read = |document: &DocumentMut, entries: &[&Entry]| match file::read(&document.to_string()) {
        Ok(case) => check(&case, entries, fault),
        Err(problems) => {
            let reason = problems.first().map_or(String::new(), |problem| problem.to_string());
            entries.first().map_or(Ok(()), |entry| Err(fault(entry, &format!("then {reason}"))))
        }
    };
    read(&document, &fitted)?;
    let mut left = Vec::new();
    for entry in beside {
        let mut with = document.clone();
        match put(&mut with, entry).is_ok() && read(&with, &[entry]).is_ok() {
            true => document = with,
            false => left.push(entry.variable.path.clone()),
        }
    }
    Ok(Calibrated { text: format!("{BANNER} {}\n\n{document}", clean(made_from)), left })
}

/// Puts bands and modes into the document, in place of those that no longer hold.
fn put_doubts(document: &mut DocumentMut, posterior: &Posterior, made_from: &str) {
    if posterior.replaced.is_empty() {
        return;
    }
    let mut table = match document.remove("band") {
        Some(Item::Table(table)) => table,
        Some(other) => other.into_table().unwrap_or_default(),
        None => Table::new(),
    };
    table.remove("mode");
    prune(&mut table, "", &posterior.replaced);
    let said = format!("\n# What is left unsure after the trial, {}\n", clean(made_from));
    let kelvin = |amount: f64| Value::from(format!("{} K", digits(amount)));
    for band in &posterior.bands {
        let value = match band.varied {
            Varied::Kelvin => kelvin(band.high_end),
            _ => Value::from(digits(band.high_end - 1.0)),
        };
        table.insert_formatted(&Key::new(&band.input), Item::Value(value));
    }
    let own = table.iter().any(|(_, item)| !item.is_none());
    table.set_implicit(!own);
    if own && table.decor().prefix().is_none() {
        table.decor_mut().set_prefix(said.clone());
    }
    let mut modes = ArrayOfTables::new();
    for mode in &posterior.modes {
        let mut moves = Table::new();
        for one in &mode.moves {
            let is_temperature = one.input.ends_with(".temperature") || one.input.ends_with(".turn_temperature");
            let value = if is_temperature { kelvin(one.amount) } else { Value::from(digits(one.amount)) };
            moves.insert_formatted(&Key::new(&one.input), Item::Value(value));
        }
        if modes.is_empty() {
            let all = "# together: each block moves its numbers by one standard value of its own\n";
            moves.decor_mut().set_prefix(if own { format!("\n{all}") } else { format!("{said}{all}") });
        }
        modes.push(moves);
    }
    if !modes.is_empty() {
        table.insert("mode", Item::ArrayOfTables(modes));
    }
    if !table.is_empty() {
        document.insert("band", Item::Table(table));
    }
}

/// Takes key paths out of the table of bands, however they are written.
fn prune(table: &mut Table, before: &str, replaced: &[String]) {
    let keys: Vec<String> = table.iter().map(|(key, _)| key.to_string()).collect();
    for key in keys {
        let step = quenchway::units::words::key(&key);
        let path = match (before, table.get(&key)) {
            ("", Some(Item::Table(_))) => step,
            ("", _) => key.clone(),
            _ => format!("{before}.{step}"),
        };
        if let Some(Item::Table(inner)) = table.get_mut(&key) {
            prune(inner, &path, replaced);
            if inner.is_empty() {
                table.remove(&key);
            }
            continue;
        }
        let path = KeyPath::parse(&path).map_or(path, |path| path.to_string());
        if replaced.contains(&path) {
            table.remove(&key);
        }
    }
}

/// To four digits.
fn digits(value: f64) -> f64 {
    format!("{value:.3e}").parse().unwrap_or(value)
}

/// Whether a text is a calibrated case of ours.
pub fn is_ours(text: &str) -> bool {
    text.starts_with(BANNER)
}

/// The numbers of the case that was read back are those that were written.
fn check(case: &CaseFile, entries: &[&Entry], fault: impl Fn(&Entry, &str) -> Unwritable) -> Result<(), Unwritable> {
    for entry in entries {
        let read = KeyPath::find(case, &entry.variable.path).map(|variable| variable.get(case));
        let same = |read: f64| read == entry.value || (read - entry.value).abs() <= 1e-5 * entry.value.abs().max(1e-3);
        if !read.as_ref().is_ok_and(|read| same(*read)) {
            return Err(fault(entry, "the file would read back with another value; write it by hand"));
        }
    }
    Ok(())
}

/// Puts one number into the document.
fn put(document: &mut DocumentMut, entry: &Entry) -> Result<(), String> {
    let path = KeyPath::parse(&entry.variable.path).map_err(|error| error.to_string())?;
    let shown = entry.variable.show(entry.value, System::Si);
    let value = match entry.variable.dimension {
        None => Value::from(shown.parse::<f64>().unwrap_or(entry.value)),
        Some(_) => Value::from(shown),
    };
    edit::put(document, &path, value, [FITTED, &entry.comment])
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn written(text: &str, entries: &[Entry], made_from: &str) -> Result<String, Unwritable> {
        calibrated(text, entries, &Posterior::default(), made_from).map(|calibrated| calibrated.text)
    }

    const WIRE: &str = include_str!("../../cases/house-wire.toml");

    fn entries(text: &str, values: &[(&str, f64)]) -> Vec<Entry> {
        let case = file::read(text).unwrap();
        let entry = |(path, value): &(&str, f64)| Entry {
            variable: KeyPath::find(&case, path).unwrap(),
            value: *value,
            comment: "trial.csv".to_string(),
            beside: false,
        };
        values.iter().map(entry).collect()
    }

    #[test]
    fn comments_and_layout_are_kept() {
        let values = [("section.trough.film_factor", 0.612345678), ("layer.conductor.temperature", 97.25)];
        let new = written(WIRE, &entries(WIRE, &values), "from house-wire.toml").unwrap();
        let old: Vec<&str> = WIRE.lines().collect();
        let added: Vec<&str> = new.lines().filter(|line| !old.contains(line)).collect();
        let expected = [
            "# Calibrated by quenchway fit from house-wire.toml",
            "# fitted to trial.csv",
            "temperature = \"97.25 degC\"            # preheated",
            "# fitted to trial.csv",
            "film_factor = 0.612346",
        ];
        assert_eq!(added, expected);
        let kept = old.iter().filter(|line| new.lines().any(|new| new == **line)).count();
        assert_eq!(kept, old.len() - 1, "only the line of the preheat changed");
        assert!(
            new.contains("temperature = \"16 degC\"\n# fitted to trial.csv\nfilm_factor = 0.612346\n\n[[section]]")
        );
        let case = file::read(&new).unwrap();
        assert_eq!((case.sections[1].film_factor, case.die_temperature(0).0), (0.612346, 97.25));
    }

    #[test]
    fn a_second_calibration_replaces_the_first() {
        let first = written(WIRE, &entries(WIRE, &[("section.trough.film_factor", 0.6)]), "from a").unwrap();
        let again = written(&first, &entries(&first, &[("section.trough.film_factor", 0.7)]), "from b").unwrap();
        assert_eq!(again, first.replace("0.6\n", "0.7\n").replace("from a", "from b"));
        assert!(is_ours(&again) && !is_ours(WIRE));
    }

    #[test]
    fn a_contact_keeps_its_comment_and_may_become_perfect() {
        let values = [("layer.insulation.contact", f64::INFINITY)];
        let text = WIRE.replace("\"perfect\"  ", "\"700 W/(m2 K)\"");
        let new = written(&text, &entries(&text, &values), "").unwrap();
        let expected =
            "# fitted to trial.csv\ncontact = \"perfect\"              # extruded under pressure on a preheated wire\n";
        assert!(new.contains(expected), "{new}");
    }

    #[test]
    fn what_is_a_curve_or_a_table_is_refused() {
        let curve = written(WIRE, &entries(WIRE, &[("material.copper.density", 8000.0)]), "").unwrap_err();
        assert!(curve.to_string().contains("fit the layer's conductivity_factor"), "{curve}");
        let table = "temperature = { speed = [[\"100 m/min\", \"80 degC\"], [\"200 m/min\", \"100 degC\"]] }";
        let text = WIRE.replace("temperature = \"90 degC\" ", table);
        let table = written(&text, &entries(&text, &[("layer.conductor.temperature", 95.0)]), "").unwrap_err();
        assert_eq!(
            table.to_string(),
            "layer.conductor.temperature = 95 degC cannot be written into the case: it is a table or a list there; change its \
             values by hand"
        );
        let preheat = "preheat_power = \"2 kW\"\nefficiency = 0.8\nentry_temperature = \"25 degC\"";
        let text = WIRE.replace("temperature = \"90 degC\"            # preheated", preheat);
        let both = written(&text, &entries(&text, &[("layer.conductor.temperature", 95.0)]), "").unwrap_err();
        assert!(both.reason.starts_with("then layer.conductor"), "{both}");
    }

    /// What the trial moved besides is left where the file cannot take it; what was unsure before is replaced.
    #[test]
    fn doubts_are_written_and_replaced() {
        let preheat = "preheat_power = \"2 kW\"\nefficiency = 0.8\nentry_temperature = \"25 degC\"";
        let text = WIRE.replace("temperature = \"90 degC\"            # preheated", preheat);
        let text = format!(
            "{text}\n# mine\n[band]\n\"line.speed\" = 0.01 # kept\nsection.trough.film_factor = 0.4\n\n[[band.mode]]\n\
             \"layer.insulation.temperature\" = \"9 K\"\n"
        );
        let of = |input: &str, amount: f64| quenchway::case::Move { input: input.to_string(), amount };
        let mode = vec![of("layer.insulation.temperature", -1.5), of("section.trough.film_factor", 0.123456)];
        let posterior = Posterior {
            modes: vec![quenchway::case::Mode { moves: mode }],
            replaced: vec!["section.trough.film_factor".to_string(), "layer.insulation.temperature".to_string()],
            ..Posterior::default()
        };
        let mut entries = entries(&text, &[("section.trough.film_factor", 0.6), ("layer.conductor.temperature", 99.0)]);
        entries[1].beside = true;
        let new = calibrated(&text, &entries, &posterior, "from a").unwrap();
        assert_eq!(new.left, ["layer.conductor.temperature"]);
        let expected = "[band]\n\"line.speed\" = 0.01 # kept\n\n\
                        # together: each block moves its numbers by one standard value of its own\n[[band.mode]]\n\
                        \"layer.insulation.temperature\" = \"-1.5 K\"\n\"section.trough.film_factor\" = 0.1235\n";
        assert!(new.text.contains(expected), "{}", new.text);
        let case = file::read(&new.text).unwrap();
        assert_eq!((case.modes.len(), case.bands.len(), case.modes[0].moves[1].amount), (1, 1, 0.1235));
    }
}
