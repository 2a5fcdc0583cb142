//! Numbers in JSON whose keys end with their unit, where that is known only while the program runs.

use serde::Serialize;

use super::ByName;

/// Numbers by key, for a derived `Serialize` to flatten. One that is not finite is null.
///
/// ```
/// use quenchway::data::InUnit;
/// let told = InUnit::of("degC", &[("limit", 60.0), ("value", f64::NAN)]);
/// assert_eq!(told.number("limit_degC"), 60.0);
/// assert!(told.number("limit_percent").is_nan());
/// assert_eq!(serde_json::to_string(&told)?, r#"{"limit_degC":60.0,"value_degC":null}"#);
/// # Ok::<(), serde_json::Error>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[serde(transparent)]
pub struct InUnit(ByName<String, f64>);

impl InUnit {
    /// Numbers in one unit: the key of each is its name, an underscore and the unit.
    pub fn of(unit: &str, numbers: &[(&str, f64)]) -> InUnit {
        InUnit(numbers.iter().map(|(name, number)| (format!("{name}_{unit}"), *number)).collect())
    }

    /// The number of a key; not a number where there is none.
    pub fn number(&self, key: &str) -> f64 {
        self.0.get(key).copied().unwrap_or(f64::NAN)
    }
}
