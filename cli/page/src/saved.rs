//! The user's own case file with moved numbers in it: comments, order and layout kept.

use quenchway::case::CaseFile;
use quenchway::names::key_path::{KeyPath, all};
use quenchway::units::System;
use quenchway_words::clean;
use toml_edit::{DocumentMut, Value};

use crate::edit::put;
use crate::wish::Moved;

/// What the first line of a saved file begins with.
const BANNER: &str = "# Tried";
/// What a comment over a moved number begins with.
const BEFORE: &str = "# tried; before:";

/// The text of `file` with the numbers of `moved`; read back, it has the numbers of `case`, to the last bit.
///
/// A first line tells of the page: `stamp` ends it. `system`: the units of what is said of a number before.
///
/// # Errors
///
/// A number that the file has in another form: which, why, and what to do.
pub fn saved(
    text: &str,
    [file, case]: [&CaseFile; 2],
    moved: &Moved,
    stamp: &str,
    system: System,
) -> Result<String, String> {
    let body = match text.strip_prefix(BANNER).and_then(|rest| rest.split_once('\n')) {
        Some((_, rest)) => rest.trim_start_matches('\n'),
        None => text,
    };
    let mut document: DocumentMut = body.parse().map_err(|error| format!("the case file does not read: {error}"))?;
    for (path, value) in moved {
        let unwritable = |reason| format!("{} cannot be written into the case: {reason}", clean(path));
        let variable = KeyPath::find(file, path).map_err(|error| error.to_string())?;
        let before = variable.show(variable.get(file), system);
        let value = Value::from(value.as_str());
        let path = KeyPath::parse(path).map_err(|error| error.to_string())?;
        put(&mut document, &path, value, [BEFORE, &before]).map_err(unwritable)?;
    }
    let text = format!("{BANNER} {}\n\n{document}", clean(stamp));
    let read = quenchway::read(&text).map_err(|problems| {
        problems.first().map_or_else(|| "the file would not read".to_string(), |problem| problem.to_string())
    })?;
    for variable in all(case) {
        // Names are the same, so places are.
        if variable.get(&read).to_bits() != variable.get(case).to_bits() {
            let path = clean(&variable.path);
            return Err(format!("{path} would read back with another value: write it by hand"));
        }
    }
    Ok(text)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::opened::changed;
    use quenchway::file::EXAMPLE;

    fn tried(text: &str, moved: &[(&str, &str)]) -> Result<String, String> {
        let file = quenchway::read(text).unwrap();
        let moved: Moved = moved.iter().map(|(path, text)| (path.to_string(), text.to_string())).collect();
        let case = changed(&file, &moved).unwrap();
        saved(text, [&file, &case], &moved, "on the page", System::Us)
    }

    #[test]
    fn the_users_text_is_kept() {
        let new =
            tried(EXAMPLE, &[("line.speed", "500 ft/min"), ("layer.conductor.temperature", "95.5 degC")]).unwrap();
        let old: Vec<&str> = EXAMPLE.lines().collect();
        let added: Vec<&str> = new.lines().filter(|line| !old.contains(line)).collect();
        let expected = [
            "# Tried on the page",
            "# tried; before: 492.126 ft/min",
            "speed = \"500 ft/min\"",
            "# tried; before: 194 degF",
            "temperature = \"95.5 degC\"            # preheated",
        ];
        assert_eq!(added, expected);
        assert_eq!(old.iter().filter(|line| !new.contains(**line)).count(), 2);
        // What was tried twice says what the file had the second time.
        let again = tried(&new, &[("line.speed", "520 ft/min")]).unwrap();
        assert_eq!(again.matches("# Tried").count(), 1);
        assert!(again.contains("# tried; before: 500 ft/min\nspeed = \"520 ft/min\"") && !again.contains("492"));
    }

    #[test]
    fn a_limit_of_a_layer_is_written_where_it_stands() {
        let text = EXAMPLE.replace("core_max = \"60 degC\"", "layer_max = { insulation = \"70 degC\" } # mine");
        let new = tried(&text, &[("station.capstan.layer_max.insulation", "65 degC")]).unwrap();
        assert!(new.contains("layer_max = { insulation = \"65 degC\" } # mine"), "{new}");
    }

    #[test]
    fn what_is_a_table_is_refused() {
        let table = "temperature = { speed = [[\"100 m/min\", \"180 degC\"], [\"200 m/min\", \"200 degC\"]] }";
        let text = EXAMPLE.replace("temperature = \"188 degC\"", table);
        let error = tried(&text, &[("layer.insulation.temperature", "195 degC")]).unwrap_err();
        assert!(error.starts_with("layer.insulation.temperature cannot be written") && error.contains("by hand"));
    }
}
