//! What limits the cooling, in a results file: attributes of its root, written and read back.

use hdf5_metno as hdf5;
use hdf5_metno::{File, Location};
use quenchway::march::solution::Cooling;

use super::read::attribute;
use super::scale::text_attribute;
use super::write::word;

/// Writes the word and, as the JSON of a run has it, the whole judgement; empty and `null` where nobody looked.
pub(super) fn write(root: &Location, cooling: Option<&Cooling>) -> hdf5::Result<()> {
    let word = cooling.map_or(String::new(), |cooling| word(&cooling.now.limited_by));
    text_attribute(root, "limited_by", &word)?;
    let whole = serde_json::to_string(&cooling).map_err(|error| hdf5::Error::from(error.to_string()))?;
    text_attribute(root, "cooling", &whole)
}

/// As it was written.
pub(super) fn read(file: &File) -> hdf5::Result<Option<Cooling>> {
    serde_json::from_str(&attribute(file, "cooling")?).map_err(|error| hdf5::Error::from(error.to_string()))
}
