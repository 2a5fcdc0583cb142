//! A case with other numbers, by key path: what somebody asks for who tries numbers.

use super::error::KeyPathError;
use super::key_path::KeyPath;
use super::variable::Variable;
use crate::case::CaseFile;
use crate::maths::order::sort_by_number;

/// A new value of a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value<'a> {
    /// As a case file has it, with its unit: "180 m/min".
    Text(&'a str),
    /// SI, temperatures in degC.
    Si(f64),
}

/// The case with these numbers changed; the line speed first, for a die temperature may follow it.
///
/// ```
/// use quenchway::names::changes::{Value, changed};
/// let case = quenchway::read(quenchway::file::EXAMPLE).unwrap();
/// let changes = [("section.trough.temperature", Value::Si(12.0)), ("line.speed", Value::Text("180 m/min"))];
/// let faster = changed(&case, changes).unwrap();
/// assert_eq!((faster.line_speed, faster.sections[1].temperature.0), (3.0, 12.0));
/// let error = changed(&case, [("line.sped", Value::Si(3.0))]).unwrap_err();
/// assert!(error.to_string().ends_with("did you mean line.speed?"));
/// ```
///
/// # Errors
///
/// A path that leads to no number, a text that is no value of its kind, a value outside what the case file allows. Sizes are not
/// compared with each other here: the march refuses a layer without a wall and a station off the line.
pub fn changed<'a>(
    case: &CaseFile,
    changes: impl IntoIterator<Item = (&'a str, Value<'a>)>,
) -> Result<CaseFile, KeyPathError> {
    let found = |(path, value): (&str, Value)| {
        let variable = KeyPath::find(case, path)?;
        let value = match value {
            Value::Text(text) => variable.parse_value(text)?,
            Value::Si(value) => value,
        };
        Ok((variable, value))
    };
    let mut found: Vec<(Variable, f64)> = changes.into_iter().map(found).collect::<Result<_, _>>()?;
    sort_by_number(&mut found, |(variable, _)| f64::from(variable.path != "line.speed"));
    let mut case = case.clone();
    for (variable, value) in &found {
        variable.set(&mut case, *value)?;
    }
    Ok(case)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// A melt whose temperature follows the speed is told at the new speed, whatever comes first.
    #[test]
    fn the_speed_is_set_before_what_follows_it() {
        let table = "temperature = { speed = [[\"100 m/min\", \"180 degC\"], [\"200 m/min\", \"200 degC\"]] }";
        let case = crate::read(&crate::file::EXAMPLE.replace("temperature = \"188 degC\"", table)).unwrap();
        let changes = [("layer.insulation.temperature", Value::Si(195.0)), ("line.speed", Value::Text("200 m/min"))];
        let changed = changed(&case, changes).unwrap();
        assert_eq!((case.die_temperature(1).0, changed.die_temperature(1).0), (190.0, 195.0));
    }
}
