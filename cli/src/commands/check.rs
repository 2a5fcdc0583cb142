//! `quenchway check`: the case as it would be computed, or everything that is wrong with it.

use std::path::Path;

use quenchway::file::resolved::resolved_in;
use quenchway_words::clean;
use serde_json::json;

use super::{Answer, Failure, study};
use crate::args::CheckArgs;
use crate::args::Units;
use crate::diagnostic::{self, load};

/// The answer in the form that was asked for.
pub fn answer(args: &CheckArgs) -> Result<Answer, Failure> {
    let report = if args.json { json(&args.case)? } else { check(&args.case, args.units).map_err(Failure::Input)? };
    Ok(Answer::report(report))
}

/// The case written back as a case file, library materials and defaults filled in, under a header of what was assumed.
///
/// In SI it reads back as the same case; in US units it is rounded to six digits. Errors: those of [`load`].
pub fn check(path: &Path, units: Option<Units>) -> Result<String, diagnostic::Failure> {
    let (_, case) = load(path)?;
    let name = clean::line(&path.display().to_string());
    Ok(format!("# {name}: no problems found.\n{}", resolved_in(&case, Units::of(units, &case))))
}

/// The same as one JSON object in SI.
fn json(path: &Path) -> Result<String, Failure> {
    let (text, case) = load(path).map_err(Failure::Input)?;
    let assumptions: Vec<_> = case
        .assumptions
        .iter()
        .map(|assumed| json!({ "kind": assumed.kind(), "message": assumed.to_string(), "where": assumed.place() }))
        .collect();
    let answer = json!({ "warnings": assumptions, "resolved_case": quenchway::file::resolved::resolved(&case) });
    study::document(&case.title, &text, &answer)
}
