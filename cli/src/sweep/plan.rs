//! A study file with its base case, and what identifies both.

use std::path::{Path, PathBuf};

use quenchway::case::CaseFile;
use quenchway::file::Problem;
use quenchway::file::resolved::resolved;
use quenchway::study::sweep::{Sweep, file};

use crate::build;
use crate::diagnostic::{self, Failure};
use crate::store::sha256;

/// A study, ready to be computed.
#[derive(Debug)]
pub struct Plan {
    /// The study file's name without ending: what its files are called.
    pub stem: String,
    /// The study file's text.
    pub study_text: String,
    /// The base case file's text.
    pub case_text: String,
    /// The base case with library materials and defaults written out.
    pub resolved_case: String,
    /// The base case.
    pub case: CaseFile,
    /// What varies in it, and what is kept.
    pub sweep: Sweep,
    /// What blocks and results of this study carry.
    pub identity: Identity,
}

/// What tells the work of one study from that of another.
#[derive(Clone, Debug)]
pub struct Identity {
    /// SHA-256 of the study file's text.
    pub study: String,
    /// SHA-256 of the resolved base case.
    pub case: String,
    /// SHA-256 of the program's sources.
    pub program: String,
    /// The program's build in words; a commit that changes no source makes another name for the same program.
    pub build: String,
}

impl PartialEq for Identity {
    fn eq(&self, other: &Identity) -> bool {
        (&self.study, &self.case, &self.program) == (&other.study, &other.case, &other.program)
    }
}

impl Identity {
    /// In words, in what another one differs from this one.
    pub fn difference(&self, other: &Identity) -> String {
        if self.program != other.program {
            return format!("made by another build, {}; this is {}", other.build, self.build);
        }
        let what = match (self.study != other.study, self.case != other.case) {
            (true, true) => "another study file's text and another base case: both were edited since, or are others",
            (true, false) => "another study file's text: the study was edited since, or is another one",
            _ => "another base case: the case was edited since, or is another one",
        };
        format!("made from {what}")
    }
}

/// Reads a study file and the case that it names.
///
/// Errors: a file that cannot be read; every problem of the study's text, or of the case's.
pub fn load(path: &Path) -> Result<Plan, Failure> {
    let study_text = diagnostic::read(path, "study file")?;
    let wrong = |problems: Vec<Problem>| Failure::Case { path: path.to_path_buf(), text: study_text.clone(), problems };
    let (name, span) = file::base_case(&study_text).map_err(wrong)?;
    let case_path = path.parent().map_or_else(|| PathBuf::from(&name), |directory| directory.join(&name));
    if !case_path.is_file() {
        return Err(wrong(vec![Problem {
            span: Some(span),
            key: "case".to_string(),
            message: format!("there is no file {}", case_path.display()),
            label: "no such file".to_string(),
            help: Some("give the path of the base case from the directory of the study file".to_string()),
        }]));
    }
    let (case_text, case) = diagnostic::load(&case_path)?;
    let sweep = file::read(&study_text, &case).map_err(wrong)?;
    let resolved_case = resolved(&case);
    let identity = Identity {
        study: sha256(&study_text),
        case: sha256(&resolved_case),
        program: build::SOURCES.to_string(),
        build: build::PROGRAM.to_string(),
    };
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    Ok(Plan { stem, study_text, case_text, resolved_case, case, sweep, identity })
}
