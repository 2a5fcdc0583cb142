//! What a command writes: a results file and pictures in a directory, and a page. Checked before anything is computed.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use quenchway::data::Data;
use quenchway::file::resolved::resolved;
use quenchway_pictures::Picture;
use quenchway_words::blocks::Report;

use super::study::Asked;
use super::{Answer, Failure};
use crate::html::{self, Page};
use crate::pictures;
use crate::report::{text, width};
use crate::store::{self, Header, StoreError, write_data};

/// The files that a command will write.
#[derive(Debug)]
pub struct Outputs {
    /// The directories that were made for this run, the innermost first.
    made: Vec<PathBuf>,
    /// Whether files that are not ours may be replaced.
    overwrite: bool,
    /// The results file and the pictures, where a directory is given.
    files: Option<(PathBuf, Vec<PathBuf>)>,
    page: Option<PathBuf>,
    written: Vec<PathBuf>,
}

impl Outputs {
    /// Makes the directory, with those above it that are missing, and checks that every file can be made.
    ///
    /// Errors: the directory cannot be made, or one of the files exists and is not ours.
    pub fn reserve(
        dir: Option<&Path>,
        page: Option<&Path>,
        overwrite: bool,
        results: &str,
        pictures: &[String],
    ) -> Result<Outputs, Failure> {
        let page = page.map(Path::to_path_buf);
        let mut outputs = Outputs { made: Vec::new(), overwrite, files: None, page, written: Vec::new() };
        if let Some(dir) = dir {
            outputs.made = made(dir)?;
            outputs.files = Some((dir.join(results), pictures.iter().map(|name| dir.join(name)).collect()));
        }
        outputs.check().inspect_err(|_| outputs.give_back())?;
        Ok(outputs)
    }

    fn check(&self) -> Result<(), Failure> {
        if let Some((results, pictures)) = &self.files {
            store::prepare(results, self.overwrite).map_err(Failure::Reserve)?;
            pictures.iter().try_for_each(|path| pictures::prepare(path, self.overwrite)).map_err(Failure::Reserve)?;
        }
        let Some(page) = &self.page else { return Ok(()) };
        html::prepare(page, self.overwrite).map_err(|reason| Failure::flag("--report", reason))
    }

    /// Removes the directories that were made for this run; they are still empty.
    pub fn give_back(&self) {
        give_back(&self.made);
    }

    /// Writes nothing.
    pub fn withhold(&mut self) {
        self.give_back();
        (self.files, self.page) = (None, None);
    }

    /// Whether pictures are wanted.
    pub fn draws(&self) -> bool {
        self.files.is_some() || self.page.is_some()
    }

    /// Writes the results file, where one is wanted.
    pub fn results(
        &mut self,
        asked: &Asked<'_>,
        question: &str,
        data: impl FnOnce() -> Result<Data, Failure>,
    ) -> Result<(), Failure> {
        let Some((path, _)) = &self.files else { return Ok(()) };
        let header = Header {
            title: &asked.case.title,
            question,
            case_text: asked.text,
            resolved_case: &resolved(asked.case),
            time: SystemTime::now(),
        };
        write_data(path, &header, &data()?, self.overwrite).map_err(|error| Failure::Write(error.to_string()))?;
        self.written.push(path.clone());
        Ok(())
    }

    /// Writes the pictures, where they are wanted in a directory; the last may be missing.
    pub fn pictures(&mut self, drawn: &[Picture]) -> Result<(), Failure> {
        let Some((_, paths)) = &self.files else { return Ok(()) };
        pictures::write_all(paths, drawn).map_err(|error| Failure::Write(error.to_string()))?;
        self.written.extend(paths.iter().take(drawn.len()).cloned());
        Ok(())
    }

    /// Writes the page, where one is wanted: a report, and before which of its parts the pictures stand.
    pub fn page(
        &mut self,
        asked: &Asked<'_>,
        pictures: &[Picture],
        told: impl FnOnce() -> (Report, usize),
    ) -> Result<(), Failure> {
        let Some(path) = &self.page else { return Ok(()) };
        let (report, place) = told();
        let page = Page {
            report: &report,
            place,
            pictures,
            case_text: asked.text,
            case: asked.case,
            system: asked.shown.system,
            time: SystemTime::now(),
        };
        html::write(path, &page).map_err(|error| Failure::Write(error.to_string()))?;
        self.written.push(path.clone());
        Ok(())
    }

    /// The answer as it is printed, and what was written.
    pub fn answer(
        &self,
        how: Print,
        document: impl FnOnce() -> Result<String, Failure>,
        told: impl FnOnce() -> Report,
        status: u8,
    ) -> Result<Answer, Failure> {
        let Print { quiet, json, columns } = how;
        let notes = self.written.iter().map(|path| format!("wrote {}\n", path.display())).collect();
        match (quiet, json) {
            (true, _) => Ok(Answer { status, ..Answer::default() }),
            (false, true) => Ok(Answer { report: document()?, notes, status }),
            (false, false) => Ok(Answer { report: text(&told(), width(columns)), notes, status }),
        }
    }
}

/// How an answer is printed.
#[derive(Clone, Copy, Debug)]
pub struct Print {
    /// Nothing but errors.
    pub quiet: bool,
    /// As one JSON object.
    pub json: bool,
    /// The terminal's width, where there is one.
    pub columns: Option<usize>,
}

/// Makes a directory; answers what was missing of it, the innermost first.
fn made(dir: &Path) -> Result<Vec<PathBuf>, Failure> {
    let missing = dir.ancestors().take_while(|part| !part.as_os_str().is_empty() && !part.exists());
    let made: Vec<PathBuf> = missing.map(Path::to_path_buf).collect();
    fs::create_dir_all(dir).map_err(|error| {
        give_back(&made);
        Failure::Reserve(StoreError::Directory {
            directory: dir.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")).into(),
            file: dir.file_name().unwrap_or_default().into(),
            reason: store::reason_of(&error),
        })
    })?;
    Ok(made)
}

fn give_back(made: &[PathBuf]) {
    for dir in made {
        let _ = fs::remove_dir(dir);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn reserve(dir: &Path) -> Result<Outputs, Failure> {
        Outputs::reserve(Some(dir), None, false, "wire.h5", &[])
    }

    #[test]
    fn a_directory_that_cannot_be_made_is_said_in_plain_words() {
        let place = tempfile::tempdir().unwrap();
        fs::write(place.path().join("file"), "").unwrap();
        for (path, words) in [("file", "a file of that name is there"), ("file/dir", "it is not a directory")] {
            let error = reserve(&place.path().join(path)).unwrap_err().to_string();
            assert!(error.contains(words) && !error.contains("os error"), "{path}: {error}");
        }
    }

    #[test]
    fn a_directory_made_for_a_run_without_an_answer_goes_again() {
        let place = tempfile::tempdir().unwrap();
        let new = place.path().join("new");
        let outputs = reserve(&new).unwrap();
        assert!(new.is_dir());
        outputs.give_back();
        assert!(!new.exists());
        let deep = place.path().join("no").join("such").join("dir");
        let outputs = reserve(&deep).unwrap();
        assert!(deep.is_dir());
        outputs.give_back();
        assert!(!place.path().join("no").exists());
        reserve(place.path()).unwrap().give_back();
        assert!(place.path().exists(), "a directory of the user's stays");
    }
}
