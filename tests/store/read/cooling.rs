//! What limits the cooling, in a results file: attributes of its root, read back.

use hdf5_metno as hdf5;
use hdf5_metno::File;
use quenchway::march::solution::Cooling;

use super::attribute;

/// As it was written.
pub(super) fn read(file: &File) -> hdf5::Result<Option<Cooling>> {
    serde_json::from_str(&attribute(file, "cooling")?).map_err(|error| hdf5::Error::from(error.to_string()))
}
