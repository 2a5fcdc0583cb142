//! Bakes into the program which build it is: a hash of its sources and the engine's, and the commit where git is there.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs, io};

use sha2::{Digest, Sha256};

/// What a build depends on, from the workspace's root.
pub const IN_THE_WORKSPACE: [&str; 22] = [
    "Cargo.toml",
    "Cargo.lock",
    "cli/Cargo.toml",
    "cli/build.rs",
    "cli/page/Cargo.toml",
    "cli/page/src",
    "cli/pictures/Cargo.toml",
    "cli/pictures/src",
    "cli/press/Cargo.toml",
    "cli/press/src",
    "cli/src",
    "cli/terminal/Cargo.toml",
    "cli/terminal/src",
    "cli/words/Cargo.toml",
    "cli/words/src",
    "solver/Cargo.toml",
    "solver/materials",
    "solver/src",
    "validation/Cargo.toml",
    "validation/benchmarks",
    "validation/reference",
    "validation/src",
];
/// The same in a package of the program alone: its lock file says which engine it takes.
const IN_A_PACKAGE: [&str; 4] = ["Cargo.toml", "Cargo.lock", "build.rs", "src"];
/// Hexadecimal digits that are shown of a hash.
const SHOWN: usize = 12;

fn main() -> io::Result<()> {
    let package = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let (root, parts) = match package.parent() {
        Some(root) if root.join("solver/src").is_dir() => (root, &IN_THE_WORKSPACE[..]),
        _ => (package.as_path(), &IN_A_PACKAGE[..]),
    };
    let sources = hash(root, parts)?;
    let commit = Commit::of(root, parts);
    let seen = parts.iter().map(|part| root.join(part)).filter(|path| path.exists());
    for path in seen.chain(commit.iter().flat_map(|commit| commit.seen.clone())) {
        println!("cargo::rerun-if-changed={}", path.display());
    }
    let version = env::var("CARGO_PKG_VERSION").unwrap_or_default();
    let commit = commit.map_or(String::new(), |commit| format!("commit {}, ", commit.words));
    println!("cargo::rustc-env=QUENCHWAY_VERSION={version} ({commit}sources {})", &sources[..SHOWN]);
    println!("cargo::rustc-env=QUENCHWAY_SOURCES={sources}");
    // The page's engine, where make has built one before.
    println!("cargo::rustc-check-cfg=cfg(page_engine)");
    println!("cargo::rerun-if-env-changed=QUENCHWAY_PAGE_ENGINE");
    if let Some(engine) = env::var_os("QUENCHWAY_PAGE_ENGINE").map(PathBuf::from) {
        println!("cargo::rerun-if-changed={}", engine.display());
        if engine.is_file() {
            println!("cargo::rustc-cfg=page_engine");
        }
    }
    Ok(())
}

/// SHA-256 over the names and contents of all files in parts of a directory, in hexadecimal digits.
pub fn hash(root: &Path, parts: &[&str]) -> io::Result<String> {
    let mut files = Vec::new();
    for part in parts.iter().filter(|part| root.join(part).exists()) {
        collect(&root.join(part), (*part).to_string(), &mut files)?;
    }
    files.sort();
    let mut sum = Sha256::new();
    for (name, path) in files {
        let bytes = fs::read(path)?;
        // Lengths: no byte may go over from one file to the next unseen.
        for length in [name.len(), bytes.len()] {
            sum.update((length as u64).to_le_bytes());
        }
        sum.update(name);
        sum.update(bytes);
    }
    Ok(sum.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
}

/// The files of a path, each with its name from the root; hidden files are those of editors.
fn collect(path: &Path, name: String, files: &mut Vec<(String, PathBuf)>) -> io::Result<()> {
    if !path.is_dir() {
        files.push((name, path.to_path_buf()));
        return Ok(());
    }
    for entry in fs::read_dir(path)? {
        let entry = entry?;
        let last = entry.file_name().to_string_lossy().into_owned();
        if !last.starts_with('.') {
            collect(&entry.path(), format!("{name}/{last}"), files)?;
        }
    }
    Ok(())
}

/// What git says.
struct Commit {
    /// The commit, and whether the sources were changed since.
    words: String,
    /// Files that change with every commit.
    seen: Vec<PathBuf>,
}

impl Commit {
    /// The commit that the sources in `root` were taken from; none without git, or where git keeps something around them.
    fn of(root: &Path, parts: &[&str]) -> Option<Commit> {
        let git = |args: &[&str]| {
            let done = Command::new("git").arg("--no-optional-locks").arg("-C").arg(root).args(args).output().ok()?;
            let text = String::from_utf8(done.stdout).ok()?;
            done.status.success().then(|| text.trim().to_string())
        };
        let top = git(&["rev-parse", "--show-toplevel"])?;
        if fs::canonicalize(top).ok()? != fs::canonicalize(root).ok()? {
            return None;
        }
        let commit = git(&["rev-parse", &format!("--short={SHOWN}"), "HEAD"])?;
        let changed = !git(&[&["status", "--porcelain", "--"], parts].concat())?.is_empty();
        let seen =
            ["HEAD", "logs/HEAD"].map(|name| git(&["rev-parse", "--git-path", name]).map(|path| root.join(path)));
        Some(Commit {
            words: if changed { format!("{commit} with changes") } else { commit },
            seen: seen.into_iter().flatten().filter(|path| path.exists()).collect(),
        })
    }
}
