//! The directory of a study's blocks: one file a block, whole or not there.

use std::fmt;
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

use super::block::{Block, BlockError};
use super::{Identity, Part, Plan};
use crate::store::{StoreError, is_temporary, remove_stale, write_beside};

/// Ending of a block's file.
const ENDING: &str = "block";
/// What a process locks that takes the whole directory for itself.
const LOCK: &str = "lock";
/// Says that the results file of these blocks may replace one of another study.
const REPLACES: &str = "replaces";

/// The blocks of one study in one directory.
#[derive(Debug)]
pub struct Folder {
    dir: PathBuf,
    identity: Identity,
}

/// What lies at a block's place.
#[derive(Debug)]
pub enum Held {
    /// Nothing.
    Nothing,
    /// The block.
    Block(Block),
    /// Something that is not whole: the block is to be computed anew.
    Damaged,
}

/// What is wrong with a directory of blocks.
#[derive(Debug)]
pub enum FolderError {
    /// It cannot be made or read.
    Io(PathBuf, io::Error),
    /// A block in it belongs to another study.
    Foreign {
        /// The block's file.
        path: PathBuf,
        /// In words, what it belongs to.
        difference: String,
    },
    /// Another process works on the whole of it.
    Busy(PathBuf),
    /// A block could not be written.
    Write(StoreError),
}

impl fmt::Display for FolderError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FolderError::Io(path, error) => write!(out, "{}: {error}", path.display()),
            FolderError::Foreign { path, difference } => write!(
                out,
                "{} was {difference}; give another directory with --out, or begin anew with `quenchway sweep --overwrite`",
                path.display()
            ),
            FolderError::Busy(path) => write!(
                out,
                "another quenchway is computing this study in {}, or joining it: wait for it, or give another directory with --out",
                path.display()
            ),
            FolderError::Write(error) => error.fmt(out),
        }
    }
}

impl Folder {
    /// The place of a plan's blocks in a directory; nothing is made.
    pub fn new(out: &Path, plan: &Plan) -> Folder {
        Folder { dir: out.join(format!("{}.blocks", plan.stem)), identity: plan.identity.clone() }
    }

    /// Where the blocks lie.
    pub fn path(&self) -> &Path {
        &self.dir
    }

    /// Makes the directory.
    pub fn make(&self) -> Result<(), FolderError> {
        fs::create_dir_all(&self.dir).map_err(|error| FolderError::Io(self.dir.clone(), error))
    }

    /// Takes the whole directory for this process, until the file that is returned is dropped; the system lets go of it when
    /// the process ends, however it ends.
    ///
    /// Errors: another process has it. On a file system without locks nobody is kept out, and the same block written twice is
    /// the same file.
    pub fn lock(&self) -> Result<Option<File>, FolderError> {
        let path = self.dir.join(LOCK);
        let file = File::create(&path).map_err(|error| FolderError::Io(path.clone(), error))?;
        match file.try_lock() {
            Ok(()) => Ok(Some(file)),
            Err(TryLockError::WouldBlock) => Err(FolderError::Busy(self.dir.clone())),
            Err(TryLockError::Error(_)) => Ok(None),
        }
    }

    fn file(&self, number: u64) -> PathBuf {
        self.dir.join(format!("{number:09}.{ENDING}"))
    }

    /// Whether something lies at a block's place.
    pub fn has(&self, number: u64) -> bool {
        self.file(number).exists()
    }

    /// The first block here that belongs to another study, base case or build, where the blocks do.
    ///
    /// One block speaks for all: a folder takes no block of another study beside those that are there.
    pub fn foreign(&self) -> Option<FolderError> {
        for entry in fs::read_dir(&self.dir).ok()?.flatten() {
            let name = entry.file_name().into_string().unwrap_or_default();
            let number = name.strip_suffix(ENDING).and_then(|name| name.strip_suffix('.')?.parse().ok());
            match number.map(|number| self.read(number)) {
                Some(Ok(Held::Block(_))) => return None,
                Some(Err(error @ FolderError::Foreign { .. })) => return Some(error),
                _ => {}
            }
        }
        None
    }

    /// What lies at a block's place.
    ///
    /// Errors: a file that cannot be read; a block of another study.
    pub fn read(&self, number: u64) -> Result<Held, FolderError> {
        let path = self.file(number);
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Held::Nothing),
            Err(error) => return Err(FolderError::Io(path, error)),
        };
        match Block::decode(&bytes, &self.identity) {
            Ok(block) if block.number == number => Ok(Held::Block(block)),
            Ok(_) | Err(BlockError::Damaged) => Ok(Held::Damaged),
            Err(BlockError::Foreign(found)) => {
                Err(FolderError::Foreign { path, difference: self.identity.difference(&found) })
            }
        }
    }

    /// Writes a block, whole or not at all.
    pub fn write(&self, block: &Block) -> Result<(), FolderError> {
        let bytes = block.encode(&self.identity);
        write_beside(&self.file(block.number), |temporary| fs::write(temporary, &bytes)).map_err(FolderError::Write)
    }

    /// Notes that a results file of another study may be replaced: the user said so when the blocks were begun.
    pub fn allow_replacing(&self) -> Result<(), FolderError> {
        let path = self.dir.join(REPLACES);
        File::create(&path).map(drop).map_err(|error| FolderError::Io(path, error))
    }

    /// The results file is there: what comes next is not to be replaced without a word.
    pub fn replaced(&self) {
        let _ = fs::remove_file(self.dir.join(REPLACES));
    }

    /// Whether it was noted that a results file may be replaced.
    pub fn may_replace(&self) -> bool {
        self.dir.join(REPLACES).exists()
    }

    /// Removes a block.
    pub fn remove(&self, number: u64) -> Result<(), FolderError> {
        let path = self.file(number);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(FolderError::Io(path, error)),
            _ => Ok(()),
        }
    }

    /// Removes what killed writers left behind; whoever calls this holds the lock.
    pub fn sweep_out(&self) {
        let Ok(entries) = fs::read_dir(&self.dir) else { return };
        for entry in entries.flatten().filter(|entry| is_temporary(&entry.file_name())) {
            let _ = fs::remove_file(entry.path());
        }
    }

    /// Removes what killed writers of a part's blocks left behind, where nobody has written to it for a while: the same part may
    /// be under way elsewhere.
    pub fn sweep_out_part(&self, part: Part) {
        remove_stale(&self.dir, |stem| stem.parse().is_ok_and(|number| part.has(number)));
    }

    /// Removes the blocks, the lock and the directory, where nothing else is in it; what cannot be removed stays.
    pub fn remove_all(&self) {
        let Ok(entries) = fs::read_dir(&self.dir) else { return };
        for entry in entries.flatten() {
            let path = entry.path();
            let ours = path.extension().is_some_and(|ending| ending == ENDING);
            if ours
                || is_temporary(&entry.file_name())
                || [LOCK, REPLACES].iter().any(|name| entry.file_name() == *name)
            {
                let _ = fs::remove_file(path);
            }
        }
        let _ = fs::remove_dir(&self.dir);
    }
}
