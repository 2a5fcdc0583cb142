//! A results file that is there before a sweep or join begins: complete, or not to be replaced without a word.

use std::path::Path;

use quenchway::units::System;

use super::super::{Answer, Failure};
use super::report::sized;
use super::{export, redrawn};
use crate::store;
use crate::sweep::{Folder, Plan};

/// Whether the results file holds the whole of the plan's study already.
///
/// Errors: it holds something else, and nobody said that it may be replaced.
pub fn is_complete(plan: &Plan, folder: &Folder, results: &Path, overwrite: bool) -> Result<bool, Failure> {
    if overwrite || !results.is_file() {
        return Ok(false);
    }
    let difference = match store::study::identity(results) {
        Some(found) if found == plan.identity => return Ok(true),
        _ if folder.may_replace() => return Ok(false),
        Some(found) => format!("was {}", plan.identity.difference(&found)),
        None if store::is_ours(results) => "holds no sweep".to_string(),
        None => return Err(Failure::Reserve(store::not_ours(results))),
    };
    let reason = "give --overwrite to replace it, or another directory";
    Err(Failure::flag("--out", format!("{} {difference}; {reason}", results.display())))
}

/// What is asked of a complete results file.
pub struct Asked {
    pub csv: bool,
    pub json: bool,
    pub quiet: bool,
    pub system: System,
}

/// The answer of a results file that is complete; its picture is drawn where a kill left none.
pub fn complete(plan: &Plan, results: &Path, asked: &Asked) -> Result<Answer, Failure> {
    let mut notes = format!("{} holds all samples of this study already; nothing was computed\n", results.display());
    let mut wrote = |path: &Path| notes += &format!("wrote {}\n", path.display());
    if let Some(path) = redrawn(plan, results, asked.system)? {
        wrote(&path);
    }
    if asked.csv {
        wrote(&export(plan, results)?);
    }
    let report = match asked.json {
        true => sized(&store::study::report(results).map_err(Failure::Reserve)?, size(results)),
        false => String::new(),
    };
    if asked.quiet {
        notes.clear();
    }
    Ok(Answer { report, notes, status: 0 })
}

fn size(path: &Path) -> u64 {
    std::fs::metadata(path).map_or(0, |about| about.len())
}
