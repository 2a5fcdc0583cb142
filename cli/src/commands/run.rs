//! `quenchway run`: read the case, reserve the outputs, march, write, print.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Instant, SystemTime};

use quenchway::case::Case;
use quenchway::march::march;
use quenchway::resolved::resolved;
use quenchway::solution::Solution;
use quenchway::study::band::add_band;
use quenchway::units::System;
use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::args::RunArgs;
use crate::diagnostic;
use crate::plot::{self, PlotError};
use crate::report;
use crate::store::{self, Record, StoreError};

/// What a run says.
#[derive(Debug)]
pub struct Outcome {
    /// For standard output.
    pub report: String,
    /// For standard error.
    pub notes: String,
    /// Whether every limit is met.
    pub limits_met: bool,
}

/// Why a run gave no answer.
#[derive(Debug)]
pub enum Failure {
    /// The case file is wrong.
    Input(diagnostic::Failure),
    /// An output cannot be made: nothing was computed.
    Reserve(StoreError),
    /// The march found no answer.
    March(PathBuf, quenchway::error::Error),
    /// The answer could not be written.
    Write(String),
}

impl Failure {
    /// Exit status: 2 where the user's input is wrong, 1 otherwise.
    pub fn status(&self) -> u8 {
        match self {
            Failure::Input(_) | Failure::Reserve(_) => diagnostic::WRONG_INPUT,
            Failure::March(..) | Failure::Write(_) => 1,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Failure::Input(failure) => out.write_str(failure.report().trim_end()),
            Failure::Reserve(error) => write!(out, "error: {error}; nothing was computed, nothing was written"),
            Failure::March(path, error) => {
                write!(out, "error: {}: {error}; nothing was written", path.display())
            }
            Failure::Write(reason) => write!(out, "error: {reason}"),
        }
    }
}

impl std::error::Error for Failure {}

/// Runs a case; `columns` is the terminal's width, where there is one.
pub fn run(args: &RunArgs, columns: Option<usize>) -> Result<Outcome, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let stem = args.case.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let outputs = args.out.as_deref().map(|dir| Outputs::reserve(dir, &stem, args.overwrite)).transpose()?;
    let start = Instant::now();
    let mut solution = march(&case).map_err(|error| {
        outputs.iter().for_each(Outputs::give_back);
        Failure::March(args.case.clone(), error)
    })?;
    if !args.no_band {
        add_band(&case, &mut solution).map_err(|error| {
            outputs.iter().for_each(Outputs::give_back);
            Failure::March(args.case.clone(), error)
        })?;
    }
    solution.numerics.wall = start.elapsed().as_secs_f64();
    let mut notes = String::new();
    if let Some(outputs) = &outputs {
        for path in outputs.write(&text, &case, &solution, args.units.into())? {
            notes += &format!("wrote {}\n", path.display());
        }
    }
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => json(&text, &solution)?,
        (false, false) => report::report(&case, &solution, args.units.into(), report::width(columns)),
    };
    if args.quiet {
        notes.clear();
    }
    let limits_met = solution.stations.iter().flat_map(|station| &station.limits).all(|limit| limit.met);
    Ok(Outcome { report, notes, limits_met })
}

/// The solution as one JSON object in SI.
pub fn json(case_text: &str, solution: &Solution) -> Result<String, Failure> {
    #[derive(Serialize)]
    struct Document<'a> {
        title: &'a str,
        version: &'a str,
        case_sha256: String,
        #[serde(flatten)]
        solution: &'a Solution,
    }
    let case_sha256 = Sha256::digest(case_text).iter().map(|byte| format!("{byte:02x}")).collect();
    let document = Document { title: &solution.title, version: env!("CARGO_PKG_VERSION"), case_sha256, solution };
    let text = serde_json::to_string_pretty(&document).map_err(|error| Failure::Write(error.to_string()))?;
    Ok(text + "\n")
}

/// Where a run writes.
struct Outputs<'a> {
    dir: &'a Path,
    stem: &'a str,
    overwrite: bool,
    /// The directory was made for this run.
    made: bool,
}

impl<'a> Outputs<'a> {
    /// Makes the directory and checks that every file can be made, before anything is computed.
    fn reserve(dir: &'a Path, stem: &'a str, overwrite: bool) -> Result<Outputs<'a>, Failure> {
        let made = !dir.exists();
        if made {
            fs::create_dir(dir).map_err(|error| {
                Failure::Reserve(StoreError::Directory {
                    directory: dir.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")).into(),
                    file: dir.file_name().unwrap_or_default().into(),
                    reason: error.to_string(),
                })
            })?;
        }
        let outputs = Outputs { dir, stem, overwrite, made };
        let checked = store::prepare(&outputs.results(), overwrite).and_then(|()| plot::prepare(dir, stem, overwrite));
        checked.map_err(|error| {
            outputs.give_back();
            Failure::Reserve(error)
        })?;
        Ok(outputs)
    }

    fn results(&self) -> PathBuf {
        self.dir.join(format!("{}.h5", self.stem))
    }

    /// Removes the directory if it was made for this run; it is still empty.
    fn give_back(&self) {
        if self.made {
            let _ = fs::remove_dir(self.dir);
        }
    }

    /// The results file first: a picture that fails loses no number.
    fn write(&self, text: &str, case: &Case, solution: &Solution, system: System) -> Result<Vec<PathBuf>, Failure> {
        let layer_names: Vec<String> = case.layers.iter().map(|layer| layer.name.clone()).collect();
        let record = Record {
            case_text: text,
            resolved_case: &resolved(case),
            shape: case.shape,
            layer_names: &layer_names,
            solution,
            time: SystemTime::now(),
        };
        let results = self.results();
        store::write(&results, &record, self.overwrite).map_err(|error| Failure::Write(error.to_string()))?;
        let mut written = vec![results];
        let pictures = plot::draw_all(self.dir, self.stem, case, solution, system);
        written.extend(pictures.map_err(|error: PlotError| Failure::Write(error.to_string()))?);
        Ok(written)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_directory_made_for_a_run_without_an_answer_goes_again() {
        let place = tempfile::tempdir().unwrap();
        let new = place.path().join("new");
        let outputs = Outputs::reserve(&new, "wire", false).unwrap();
        assert!(new.is_dir());
        outputs.give_back();
        assert!(!new.exists());
        Outputs::reserve(place.path(), "wire", false).unwrap().give_back();
        assert!(place.path().exists(), "a directory of the user's stays");
    }
}
