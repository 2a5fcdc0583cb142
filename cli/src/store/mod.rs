//! The results file: one answer as HDF5 that netCDF-4 readers label, written whole or not at all.

use std::fmt;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use hdf5_metno as hdf5;
use hdf5_metno::types::VarLenUnicode;
use quenchway::data::Data;

mod beside;
mod chunks;
pub mod same;
mod scale;
mod slabs;
pub mod study;
mod utc;
mod write;

pub(crate) use beside::reason_of;
pub(crate) use beside::{is_temporary, remove_left_behind, remove_stale};
pub use beside::{prepare_beside, write_beside};
pub(crate) use utc::stamp;
pub use utc::today;
pub(crate) use write::sha256;

/// What the root attribute `source` of our files begins with.
const PROGRAM: &str = "quenchway";

/// What a results file says of itself, beside its numbers.
#[derive(Clone, Copy, Debug)]
pub struct Header<'a> {
    /// The case's title.
    pub title: &'a str,
    /// The question that was asked, by the command's name: `length`.
    pub question: &'a str,
    /// The case file's text, whole.
    pub case_text: &'a str,
    /// The case with library materials and defaults written out.
    pub resolved_case: &'a str,
    /// When it was computed.
    pub time: SystemTime,
}

/// A results file that could not be written or read.
#[derive(Clone, Debug, PartialEq)]
pub enum StoreError {
    /// The directory is missing or takes no file.
    Directory {
        /// The directory.
        directory: PathBuf,
        /// The file that was to be made in it.
        file: PathBuf,
        /// Why not.
        reason: String,
    },
    /// A directory has the file's name.
    Occupied {
        /// The name.
        path: PathBuf,
    },
    /// A file of that name exists and is not one of ours.
    NotOurs {
        /// The file.
        path: PathBuf,
    },
    /// A file of that name exists, and another program holds it open to write, so that nobody can look whose it is.
    Held {
        /// The file.
        path: PathBuf,
    },
    /// Writing failed; an earlier file of that name is untouched.
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        reason: String,
    },
    /// Reading failed.
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        reason: String,
    },
}

impl fmt::Display for StoreError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StoreError::Directory { directory, file, reason } => write!(
                out,
                "cannot make {} in {}: {reason}; make the directory or give another one with --out",
                file.display(),
                directory.display()
            ),
            StoreError::Occupied { path } => write!(
                out,
                "cannot write {}: a directory has that name; rename it or give another directory with --out",
                path.display()
            ),
            StoreError::NotOurs { path } => write!(
                out,
                "{} exists and was not written by {PROGRAM}, so it was left as it is; give --overwrite to replace it, or \
                 another directory with --out",
                path.display()
            ),
            StoreError::Held { path } => write!(
                out,
                "{} exists, and another program holds it open to write, so {PROGRAM} cannot see whose it is; close it there, \
                 give --overwrite to replace it, or another directory with --out",
                path.display()
            ),
            StoreError::Write { path, reason } => {
                write!(out, "cannot write {}: {reason}; an earlier file of that name is untouched", path.display())
            }
            StoreError::Read { path, reason } => {
                write!(out, "cannot read {} as a results file of {PROGRAM}: {reason}", path.display())
            }
        }
    }
}

impl std::error::Error for StoreError {}

/// Checks, before anything is computed, that [`write_data`] will be able to make `path`.
///
/// # Errors
/// When the directory takes no file, or when a file of that name exists that is not a results file of ours, or is held by another
/// program, and `overwrite` is false.
pub fn prepare(path: &Path, overwrite: bool) -> Result<(), StoreError> {
    prepare_beside(path)?;
    if path.exists() && !overwrite && !is_ours(path) {
        return Err(not_ours(path));
    }
    Ok(())
}

/// Why a file in which [`is_ours`] sees nothing of ours is left as it is.
pub(crate) fn not_ours(path: &Path) -> StoreError {
    let held = |file: File| matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock));
    let path = path.to_path_buf();
    if File::open(&path).is_ok_and(held) { StoreError::Held { path } } else { StoreError::NotOurs { path } }
}

/// Whether a file was written by this program.
pub(crate) fn is_ours(path: &Path) -> bool {
    let source = || hdf5::File::open(path)?.attr("source")?.read_scalar::<VarLenUnicode>();
    source().is_ok_and(|source| String::from_utf8_lossy(source.as_bytes()).starts_with(PROGRAM))
}

/// Writes the answer to a question to `path`, whole or not at all: two that differ only in `time` give files that differ only
/// in the attribute `history`.
///
/// # Errors
/// As [`prepare`]; [`StoreError::Write`] when a variable does not fit its dimensions or writing fails.
pub fn write_data(path: &Path, header: &Header, data: &Data, overwrite: bool) -> Result<(), StoreError> {
    prepare(path, overwrite)?;
    write_beside(path, |temporary| write::fill(temporary, header, data))
}
