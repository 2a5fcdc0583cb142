//! `quenchway check`: the case as it would be computed, or everything that is wrong with it.

use std::path::Path;

use quenchway::resolved::resolved_in;
use quenchway::units::System;

use crate::diagnostic::{Failure, load};

/// The case written back as a case file, library materials and defaults filled in, under a header of what was assumed.
///
/// In SI it reads back as the same case; in US units it is rounded to six digits. Errors: those of [`load`].
pub fn check(path: &Path, system: System) -> Result<String, Failure> {
    let (_, case) = load(path)?;
    let name: String = path.display().to_string().chars().filter(|c| !c.is_control()).collect();
    Ok(format!("# {name}: no problems found.\n{}", resolved_in(&case, system)))
}
