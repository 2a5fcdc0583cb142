//! Where a command writes: a directory and its files, checked before anything is computed.

use std::fs;
use std::path::{Path, PathBuf};

use super::Failure;
use crate::plot;
use crate::store::{self, StoreError};

/// The files that a command will write into a directory.
#[derive(Debug)]
pub struct Outputs {
    dir: PathBuf,
    /// The directory was made for this run.
    made: bool,
    /// Whether files that are not ours may be replaced.
    pub overwrite: bool,
    /// The results file.
    pub results: PathBuf,
    /// The pictures.
    pub pictures: Vec<PathBuf>,
}

impl Outputs {
    /// Makes the directory and checks that every file can be made.
    ///
    /// Errors: the directory cannot be made, or one of the files exists and is not ours.
    pub fn reserve(dir: &Path, results: &str, pictures: &[String], overwrite: bool) -> Result<Outputs, Failure> {
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
        let pictures = pictures.iter().map(|name| dir.join(name)).collect();
        let outputs = Outputs { dir: dir.to_path_buf(), made, overwrite, results: dir.join(results), pictures };
        let checked = store::prepare(&outputs.results, overwrite)
            .and_then(|()| outputs.pictures.iter().try_for_each(|path| plot::prepare(path, overwrite)));
        checked.map_err(|error| {
            outputs.give_back();
            Failure::Reserve(error)
        })?;
        Ok(outputs)
    }

    /// Removes the directory if it was made for this run; it is still empty.
    pub fn give_back(&self) {
        if self.made {
            let _ = fs::remove_dir(&self.dir);
        }
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
        let outputs = Outputs::reserve(&new, "wire.h5", &[], false).unwrap();
        assert!(new.is_dir());
        outputs.give_back();
        assert!(!new.exists());
        Outputs::reserve(place.path(), "wire.h5", &[], false).unwrap().give_back();
        assert!(place.path().exists(), "a directory of the user's stays");
    }
}
