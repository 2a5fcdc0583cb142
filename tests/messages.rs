//! What a wrong case file is answered: the exact text of every message.

use std::fs;
use std::path::{Path, PathBuf};

use quenchway_cli::diagnostic::{Look, load};

fn directory() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/bad_cases")
}

/// Every wrong case beside its message. `BLESS=1 cargo test messages` writes the messages; read them before committing.
#[test]
fn every_bad_case_gets_its_message() {
    let mut cases: Vec<PathBuf> = fs::read_dir(directory())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    cases.sort();
    assert!(cases.len() >= 30, "{} bad cases", cases.len());
    let mut wrong = Vec::new();
    for case in &cases {
        let name = case.file_stem().unwrap().to_str().unwrap();
        let failure = load(case).err().unwrap_or_else(|| panic!("{name} has no problem"));
        // The directory differs from machine to machine, the file name does not.
        let prefix = format!("{}/", directory().display());
        let report = failure.render(Look::PLAIN).replace(&prefix, "");
        let expected = case.with_extension("txt");
        if std::env::var_os("BLESS").is_some() {
            fs::write(&expected, &report).unwrap();
        }
        if fs::read_to_string(&expected).unwrap_or_default() != report {
            wrong.push(format!("{name}:\n{report}"));
        }
    }
    assert!(wrong.is_empty(), "messages that differ from their .txt:\n\n{}", wrong.join("\n"));
}
