//! Any text as a case file and as a value: the properties that `make fuzz` looks for exceptions of, on a few thousand texts
//! in every run of the tests, and on everything that was found.

use std::path::Path;

use proptest::prelude::*;

use crate::case_text::run as case_text;
use crate::unit_text::run as unit_text;

/// Cases to change, right and wrong ones.
fn cases() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut texts = Vec::new();
    for folder in ["cases", "cases/drive", "tests/bad_cases"] {
        let mut paths: Vec<_> =
            std::fs::read_dir(root.join(folder)).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        paths.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
        texts.extend(
            paths.iter().filter_map(|path| std::fs::read_to_string(path).ok()).filter(|text| text.len() < 20_000),
        );
    }
    assert!(texts.len() > 100, "{} cases", texts.len());
    texts
}

/// Pieces that steer TOML, units or a terminal.
const PIECES: [&str; 20] = [
    "",
    "\"",
    "'",
    "[",
    "]",
    "{",
    "}",
    "=",
    ".",
    ",",
    "\n",
    "\u{1b}[31m",
    "\u{0}",
    "é",
    "-",
    "e999",
    "nan",
    "inf",
    "\\u0007",
    "[[section]]\n",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_changed_case_is_the_same_case_again_or_problems(
        which in any::<prop::sample::Index>(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0..12usize, prop::sample::select(&PIECES)), 0..4),
    ) {
        let texts = cases();
        let mut text: Vec<char> = which.get(&texts).chars().collect();
        for (place, length, piece) in changes {
            let start = place.index(text.len() + 1);
            let end = (start + length).min(text.len());
            text.splice(start..end, piece.chars());
        }
        case_text(text.into_iter().collect::<String>().as_bytes());
    }

    #[test]
    fn a_value_in_every_dimension_is_written_and_read_or_refused(
        text in "[-+]?[0-9]{0,3}[.,]?[0-9]{0,3}(e-?[0-9]{1,3})? ?([mkgsKWJhCFuµ²³·/()^ 2-]|deg|ft|in|AWG|BTU|delta |gpm|L){0,10}",
    ) {
        unit_text(text.as_bytes());
    }
}

/// Every case of the project reads back from what is written of it, those that leave something to be assumed, too.
#[test]
fn every_case_of_the_project_reads_back_as_itself() {
    let texts = cases();
    assert!(texts.iter().any(|text| text.contains("\"spray\"") && !text.contains("wetted")));
    texts.iter().for_each(|text| case_text(text.as_bytes()));
}

/// What `make fuzz` found once, kept under tests/fuzz/found/TARGET.
#[test]
fn what_was_found_once_holds() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/fuzz/found");
    for (target, property) in [("case_text", case_text as fn(&[u8])), ("unit_text", unit_text)] {
        for entry in std::fs::read_dir(root.join(target)).into_iter().flatten().flatten() {
            property(&std::fs::read(entry.path()).unwrap());
        }
    }
}

/// The targets are a package of their own, which nothing else here builds.
#[test]
fn the_package_of_the_fuzz_targets_has_what_they_use() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/fuzz");
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let listed = read("Cargo.toml");
    let locked = read("Cargo.lock");
    for file in ["properties.rs", "targets/case_text.rs", "targets/unit_text.rs"] {
        for line in read(file).lines().map(str::trim) {
            let path = line.strip_prefix("use ").unwrap_or(line).split("::").next().unwrap();
            let of_package = |name: &str| name.starts_with("quenchway") || name == "libfuzzer_sys";
            let name = path.replace('_', "-");
            if of_package(path) {
                assert!(listed.contains(&format!("\n{name} = ")), "{file} uses {path}");
                assert!(locked.contains(&format!("name = \"{name}\"\n")), "{name} is not locked");
            } else {
                let of_project = ["std", "crate", "super"].contains(&path);
                assert!(!line.starts_with("use ") || of_project, "{file}: {line}");
            }
        }
    }
}
