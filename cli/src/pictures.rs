//! Pictures as files: each is written beside and renamed, and what is no picture of ours is not replaced unasked.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use quenchway_pictures::{Picture, png};

use crate::store::{StoreError, prepare_beside, write_beside};

/// Checks, before anything is computed, that a picture can be written: a file of that name that is no picture of ours is
/// replaced only when `overwrite` says so.
///
/// # Errors
///
/// What keeps it from being written.
pub fn prepare(path: &Path, overwrite: bool) -> Result<(), StoreError> {
    prepare_beside(path)?;
    if path.exists() && !overwrite && !is_ours(path) {
        return Err(StoreError::NotOurs { path: path.to_path_buf() });
    }
    Ok(())
}

/// Whether the file at `path` is a picture that this program wrote.
pub fn is_ours(path: &Path) -> bool {
    File::open(path).is_ok_and(|file| png::is_ours(BufReader::new(file)))
}

/// Writes a picture in one piece: readers see the old file or the new one.
///
/// # Errors
///
/// The file cannot be written.
pub fn write(path: &Path, png: &[u8]) -> Result<(), StoreError> {
    write_beside(path, |temporary| std::fs::write(temporary, png))
}

/// Writes drawn pictures to `paths`.
///
/// # Errors
///
/// A file cannot be written; those before it stay.
pub fn write_all(paths: &[PathBuf], pictures: &[Picture]) -> Result<(), StoreError> {
    paths.iter().zip(pictures).try_for_each(|(path, picture)| write(path, &picture.png))
}
