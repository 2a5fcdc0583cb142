//! The page's file: where it may go, whether one is ours, written in one piece.

use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::time::SystemTime;

use quenchway_words::blocks::Report;

use super::Page;
use crate::store::{StoreError, prepare_beside, write_beside};

/// How the page names its program; pages that carry this may be replaced.
const GENERATOR: &str = "<meta name=\"generator\" content=\"quenchway ";
/// The generator stands within the first bytes of a page of ours.
const HEAD: u64 = 2048;

/// Checks, before anything is computed, that a page can be written to `path`; otherwise says why not and what would help.
pub fn prepare(path: &Path, overwrite: bool) -> Result<(), String> {
    let shown = path.display();
    let ends = path.extension().and_then(|end| end.to_str()).map(str::to_ascii_lowercase);
    if !matches!(ends.as_deref(), Some("html" | "htm")) {
        return Err(format!("\"{shown}\" is no name of a page: it must end in .html"));
    }
    prepare_beside(path).map_err(|error| match error {
        StoreError::Directory { directory, reason, .. } => {
            format!("cannot make {shown} in {}: {reason}; make the directory or give another file", directory.display())
        }
        StoreError::Occupied { .. } => format!("cannot write {shown}: a directory has that name; give another file"),
        other => other.to_string(),
    })?;
    if path.exists() && !overwrite && !is_ours(path) {
        return Err(format!(
            "{shown} exists and is no page of quenchway, so it was left as it is; give --overwrite to replace it, or \
             another file"
        ));
    }
    Ok(())
}

/// Writes the page in one piece: readers see the old file or the new one.
pub fn write(path: &Path, page: &Page) -> Result<(), StoreError> {
    write_text(path, &page.html())
}

/// The same of a page's text.
pub fn write_text(path: &Path, html: &str) -> Result<(), StoreError> {
    write_beside(path, |temporary| std::fs::write(temporary, html))
}

/// Writes a card in one piece.
pub fn write_card(path: &Path, words: &Report, case_text: &str, time: SystemTime) -> Result<(), StoreError> {
    write_beside(path, |temporary| std::fs::write(temporary, super::card(words, case_text, time)))
}

/// Whether the file at `path` is a page that this program wrote.
fn is_ours(path: &Path) -> bool {
    let mut head = Vec::new();
    let read = File::open(path).and_then(|file| file.take(HEAD).read_to_end(&mut head));
    read.is_ok() && String::from_utf8_lossy(&head).contains(GENERATOR)
}
