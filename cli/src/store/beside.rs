//! Writing a file beside its final name, so that no reader ever sees half of it.

use std::ffi::OsString;
use std::fmt::Display;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use tempfile::NamedTempFile;

use super::StoreError;

/// What a temporary name has after the final name's stem; no file of a user is called like this.
const MARK: &str = ".quenchway-part-";

/// A temporary that nobody has written to for this long was left by a program that was killed.
const STALE: Duration = Duration::from_secs(600);

/// Writes `path` through a temporary file in the same directory: `fill` writes the temporary (same extension), which is
/// then flushed to the disk and renamed.
///
/// Whatever goes wrong, `path` is left as it was.
///
/// # Errors
/// [`StoreError::Directory`] when the directory takes no file, [`StoreError::Write`] when `fill`, the flush or the
/// rename fails.
///
/// ```
/// let directory = tempfile::tempdir()?;
/// let path = directory.path().join("answer.txt");
/// quenchway_cli::store::write_beside(&path, |temporary| std::fs::write(temporary, "42"))?;
/// assert_eq!(std::fs::read_to_string(&path)?, "42");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn write_beside<E: Display>(path: &Path, fill: impl FnOnce(&Path) -> Result<(), E>) -> Result<(), StoreError> {
    let failed = |reason: String| StoreError::Write { path: path.to_path_buf(), reason };
    let temporary = open_temporary(path)?;
    // A library's words for a full disk are many lines that do not name it.
    fill(temporary.path()).map_err(|error| failed(full(path).unwrap_or_else(|| error.to_string())))?;
    temporary.as_file().sync_all().map_err(|error| failed(reason_of(&error)))?;
    temporary.persist(path).map_err(|error| failed(reason_of(&error.error)))?;
    sync_directory(directory_of(path)).map_err(|error| failed(reason_of(&error)))
}

/// Why nothing more can be written beside `path`; none where some more can be.
fn full(path: &Path) -> Option<String> {
    // More than is left in what a file system keeps back for itself.
    const PROBE: usize = 1 << 22;
    let probe = tempfile::Builder::new().prefix(MARK).tempfile_in(directory_of(path));
    let written =
        probe.and_then(|mut probe| probe.write_all(&vec![0; PROBE]).and_then(|()| probe.as_file().sync_all()));
    let error = written.err()?;
    let of_room = [io::ErrorKind::FileTooLarge, io::ErrorKind::QuotaExceeded, io::ErrorKind::StorageFull];
    of_room.contains(&error.kind()).then(|| reason_of(&error))
}

/// Checks, before anything is computed, that a file can be made at `path`, and removes temporaries of killed runs.
///
/// # Errors
/// [`StoreError::Directory`] when the directory is missing or takes no file, [`StoreError::Occupied`] when `path` is a
/// directory itself.
pub fn prepare_beside(path: &Path) -> Result<(), StoreError> {
    if path.is_dir() {
        return Err(StoreError::Occupied { path: path.to_path_buf() });
    }
    remove_temporaries(path, is_stale);
    open_temporary(path).map(drop)
}

/// Makes the temporary; dropped, it is removed again.
fn open_temporary(path: &Path) -> Result<NamedTempFile, StoreError> {
    let mut builder = tempfile::Builder::new();
    let (prefix, suffix) = temporary_name(path);
    builder.prefix(&prefix).suffix(&suffix);
    // A temporary is private by default; the result is to have the permissions of any other new file.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(directory_of(path)).map_err(|error| StoreError::Directory {
        directory: directory_of(path).to_path_buf(),
        file: path.file_name().map(PathBuf::from).unwrap_or_default(),
        reason: reason_of(&error),
    })
}

/// What a temporary's name begins and ends with; the extension is kept for writers that go by it.
fn temporary_name(path: &Path) -> (OsString, OsString) {
    let mut prefix = OsString::from(".");
    prefix.push(path.file_stem().unwrap_or_default());
    prefix.push(MARK);
    let mut suffix = OsString::new();
    if let Some(extension) = path.extension() {
        suffix.push(".");
        suffix.push(extension);
    }
    (prefix, suffix)
}

/// Whether a name is one of our temporaries.
pub(crate) fn is_temporary(name: &std::ffi::OsStr) -> bool {
    name.to_string_lossy().contains(MARK)
}

/// Whether what was last written to then was left by a program that was killed.
fn is_stale(written: SystemTime) -> bool {
    SystemTime::now().duration_since(written).is_ok_and(|age| age > STALE)
}

/// Removes the temporaries of killed programs in a directory, those of final names whose stems are `ours`.
pub(crate) fn remove_stale(directory: &Path, ours: impl Fn(&str) -> bool) {
    let Ok(entries) = fs::read_dir(directory) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let stem = name.to_str().and_then(|name| Some(name.strip_prefix('.')?.split_once(MARK)?.0));
        if stem.is_some_and(&ours) && entry.metadata().and_then(|about| about.modified()).is_ok_and(is_stale) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Removes all temporaries of a final name; whoever calls this knows that no other process writes that file.
pub(crate) fn remove_left_behind(path: &Path) {
    remove_temporaries(path, |_| true);
}

/// Removes temporaries of a final name by when they were last written to; that one cannot be removed harms nothing.
fn remove_temporaries(path: &Path, stale: impl Fn(SystemTime) -> bool) {
    let (prefix, suffix) = temporary_name(path);
    let Ok(entries) = fs::read_dir(directory_of(path)) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let (name, prefix, suffix) = (name.as_encoded_bytes(), prefix.as_encoded_bytes(), suffix.as_encoded_bytes());
        let ours = name.starts_with(prefix) && name.ends_with(suffix);
        if ours && entry.metadata().and_then(|about| about.modified()).is_ok_and(&stale) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// The directory that a path lies in; of a bare name, the current one.
fn directory_of(path: &Path) -> &Path {
    match path.parent() {
        Some(directory) if !directory.as_os_str().is_empty() => directory,
        _ => Path::new("."),
    }
}

/// Makes a rename durable; where a directory cannot be opened as a file, the system sees to that itself.
fn sync_directory(directory: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(directory)?.sync_all() } else { Ok(()) }
}

/// The system's words without the temporary's name, which means nothing to the user.
pub fn reason_of(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such directory".to_string(),
        io::ErrorKind::PermissionDenied => "no permission to write there".to_string(),
        io::ErrorKind::NotADirectory => "it is not a directory".to_string(),
        io::ErrorKind::AlreadyExists => "a file of that name is there".to_string(),
        io::ErrorKind::StorageFull => "the disk is full".to_string(),
        io::ErrorKind::QuotaExceeded => "the disk quota is used up".to_string(),
        io::ErrorKind::FileTooLarge => "the system allows no file of that size".to_string(),
        _ => error.to_string(),
    }
}
