//! Values by their names as one JSON object.

use serde::{Serialize, Serializer};

use crate::maths::order::sort_by_text;

/// Values by name, in the order of the names; of several values of one name the last counts. In JSON an object.
///
/// ```
/// use quenchway::data::ByName;
/// let told: ByName<&str, i32> = [("core", 3), ("air", 1), ("core", 2)].into_iter().collect();
/// assert_eq!(serde_json::to_string(&told)?, r#"{"air":1,"core":2}"#);
/// assert_eq!((told.get("air"), told.get("water")), (Some(&1), None));
/// # Ok::<(), serde_json::Error>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ByName<K, T>(Vec<(K, T)>);

impl<K: AsRef<str>, T> ByName<K, T> {
    /// One value.
    pub fn one(name: K, value: T) -> ByName<K, T> {
        ByName(vec![(name, value)])
    }

    /// The value of a name.
    pub fn get(&self, name: &str) -> Option<&T> {
        self.0.iter().find(|(known, _)| known.as_ref() == name).map(|(_, value)| value)
    }
}

impl<K: AsRef<str>, T> FromIterator<(K, T)> for ByName<K, T> {
    fn from_iter<I: IntoIterator<Item = (K, T)>>(values: I) -> ByName<K, T> {
        let mut values: Vec<(K, T)> = values.into_iter().collect();
        sort_by_text(&mut values, |(name, _)| name.as_ref());
        values.dedup_by(|next, kept| {
            let same = next.0.as_ref() == kept.0.as_ref();
            if same {
                std::mem::swap(next, kept);
            }
            same
        });
        ByName(values)
    }
}

impl<K: AsRef<str>, T: Serialize> Serialize for ByName<K, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(name, value)| (name.as_ref(), value)))
    }
}
