//! Where a command writes: a directory and its files, checked before anything is computed.

use std::fs;
use std::path::{Path, PathBuf};

use super::Failure;
use crate::plot;
use crate::store::{self, StoreError};

/// The files that a command will write into a directory.
#[derive(Debug)]
pub struct Outputs {
    /// The directories that were made for this run, the innermost first.
    made: Vec<PathBuf>,
    /// Whether files that are not ours may be replaced.
    pub overwrite: bool,
    /// The results file.
    pub results: PathBuf,
    /// The pictures.
    pub pictures: Vec<PathBuf>,
}

impl Outputs {
    /// Makes the directory, with those above it that are missing, and checks that every file can be made.
    ///
    /// Errors: the directory cannot be made, or one of the files exists and is not ours.
    pub fn reserve(dir: &Path, results: &str, pictures: &[String], overwrite: bool) -> Result<Outputs, Failure> {
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
        let pictures = pictures.iter().map(|name| dir.join(name)).collect();
        let outputs = Outputs { made, overwrite, results: dir.join(results), pictures };
        let checked = store::prepare(&outputs.results, overwrite)
            .and_then(|()| outputs.pictures.iter().try_for_each(|path| plot::prepare(path, overwrite)));
        checked.map_err(|error| {
            outputs.give_back();
            Failure::Reserve(error)
        })?;
        Ok(outputs)
    }

    /// Removes the directories that were made for this run; they are still empty.
    pub fn give_back(&self) {
        give_back(&self.made);
    }
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

    #[test]
    fn a_directory_that_cannot_be_made_is_said_in_plain_words() {
        let place = tempfile::tempdir().unwrap();
        fs::write(place.path().join("file"), "").unwrap();
        for (path, words) in [("file", "a file of that name is there"), ("file/dir", "it is not a directory")] {
            let error = Outputs::reserve(&place.path().join(path), "wire.h5", &[], false).unwrap_err().to_string();
            assert!(error.contains(words) && !error.contains("os error"), "{path}: {error}");
        }
    }

    #[test]
    fn a_directory_made_for_a_run_without_an_answer_goes_again() {
        let place = tempfile::tempdir().unwrap();
        let new = place.path().join("new");
        let outputs = Outputs::reserve(&new, "wire.h5", &[], false).unwrap();
        assert!(new.is_dir());
        outputs.give_back();
        assert!(!new.exists());
        let deep = place.path().join("no").join("such").join("dir");
        let outputs = Outputs::reserve(&deep, "wire.h5", &[], false).unwrap();
        assert!(deep.is_dir());
        outputs.give_back();
        assert!(!place.path().join("no").exists());
        Outputs::reserve(place.path(), "wire.h5", &[], false).unwrap().give_back();
        assert!(place.path().exists(), "a directory of the user's stays");
    }
}
