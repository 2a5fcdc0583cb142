//! The user's own case file with moved numbers in it: comments, order and layout kept.

use quenchway::case::CaseFile;
use quenchway::file::Problem;
use quenchway::names::changes::{self, Value as New};
use quenchway::names::key_path::KeyPath;
use quenchway::units::System;
use quenchway_words::clean;
use toml_edit::{DocumentMut, Value};

use crate::edit::put;
use crate::wish::{Moved, Wrong};

/// What the first line of a saved file begins with.
const BANNER: &str = "# Tried";
/// What a comment over a moved number begins with.
const BEFORE: &str = "# tried; before:";

/// A case file as it was opened.
pub struct Opening {
    /// Its case.
    pub file: CaseFile,
    /// Its text, without the first line of a saved one; none where it cannot be edited.
    document: Option<DocumentMut>,
}

impl Opening {
    /// Reads a case file; errors as of the reader.
    pub fn read(text: &str) -> Result<Opening, Vec<Problem>> {
        let file = quenchway::read(text)?;
        let body = match text.strip_prefix(BANNER).and_then(|rest| rest.split_once('\n')) {
            Some((_, rest)) => rest.trim_start_matches('\n'),
            None => text,
        };
        Ok(Opening { file, document: body.parse().ok() })
    }

    /// The case with moved numbers: that of the saved file, to the last bit, with everything that the reader makes of a number.
    /// A number that the file has in another form is set by itself.
    ///
    /// # Errors
    ///
    /// A path or a text that is wrong; numbers that do not go together.
    pub fn tried(&self, moved: &Moved) -> Result<CaseFile, Wrong> {
        let changes = || moved.iter().map(|(path, text)| (path.as_str(), New::Text(text)));
        let case = changes::changed(&self.file, changes()).map_err(|error| {
            let alone = |change: &(&str, New)| changes::changed(&self.file, [*change]).is_err();
            let path = changes().find(alone).map_or("", |(path, _)| path);
            Wrong { message: clean(&error.to_string()), path: path.to_string() }
        })?;
        let Ok(document) = self.edited(moved, System::Si) else { return Ok(case) };
        quenchway::read(&document.to_string()).map_err(|problems| {
            let wrong = |problem: &Problem| Wrong { message: clean(&problem.to_string()), path: problem.key.clone() };
            problems.first().map_or_else(Wrong::default, wrong)
        })
    }

    /// The text with moved numbers; a first line tells of the page, and `stamp` ends it. `system`: the units of what is said of a
    /// number before.
    ///
    /// # Errors
    ///
    /// A number that the file has in another form: which, why, and what to do.
    pub fn saved(&self, moved: &Moved, stamp: &str, system: System) -> Result<String, String> {
        Ok(format!("{BANNER} {}\n\n{}", clean(stamp), self.edited(moved, system)?))
    }

    fn edited(&self, moved: &Moved, system: System) -> Result<DocumentMut, String> {
        let mut document = self.document.clone().ok_or("the case file cannot be edited; change it by hand")?;
        for (path, value) in moved {
            let unwritable = |reason| format!("{} cannot be written into the case: {reason}", clean(path));
            let variable = KeyPath::find(&self.file, path).map_err(|error| error.to_string())?;
            let before = variable.show(variable.get(&self.file), system);
            let path = KeyPath::parse(path).map_err(|error| error.to_string())?;
            put(&mut document, &path, Value::from(value.as_str()), [BEFORE, &before]).map_err(unwritable)?;
        }
        Ok(document)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use quenchway::file::EXAMPLE;

    fn tried(text: &str, moved: &[(&str, &str)]) -> Result<String, String> {
        let moved: Moved = moved.iter().map(|(path, text)| (path.to_string(), text.to_string())).collect();
        Opening::read(text).unwrap().saved(&moved, "on the page", System::Us)
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

    /// What the reader makes of a number moves with it: fed sections have the temperature and the mass flow of the first.
    #[test]
    fn a_tried_case_is_that_of_its_file() {
        let text = format!(
            "{EXAMPLE}\n[[section]]\nname = \"fed\"\nmedium = \"water\"\nlength = \"2 m\"\nsupply = \"trough\"\n"
        );
        let text = text.replace("temperature = \"16 degC\"", "temperature = \"16 degC\"\nflow = \"20 L/min\"");
        let opening = Opening::read(&text).unwrap();
        let moved = Moved::from([("section.trough.temperature".to_string(), "40 degC".to_string())]);
        let case = opening.tried(&moved).unwrap();
        let read = quenchway::read(&opening.saved(&moved, "", System::Si).unwrap()).unwrap();
        assert_eq!(case.sections[3].temperature.0, 40.0);
        assert_eq!(format!("{case:?}"), format!("{read:?}"));
        assert_ne!(format!("{:?}", case.sections[3]), format!("{:?}", opening.file.sections[3]));
    }
}
