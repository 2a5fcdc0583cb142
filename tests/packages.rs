//! What is packaged can be built from its package: no crate reads a file outside of it, none depends on what is not published.

use std::path::{Component, Path, PathBuf};

const CRATES: [&str; 9] = [
    "solver",
    "validation",
    "cli/words",
    "cli/terminal",
    "cli/pictures",
    "cli/press",
    "cli/page",
    "cli",
    "solver/python",
];

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            sources(&entry, found);
        } else if entry.extension().is_some_and(|end| end == "rs") {
            found.push(entry);
        }
    }
}

/// Whether a path from a folder this deep in its crate leaves the crate.
fn leaves(depth: usize, path: &str) -> bool {
    let ups = Path::new(path).components().filter(|part| *part == Component::ParentDir).count();
    ups > depth
}

#[test]
fn no_crate_reads_a_file_outside_of_it() {
    let mut wrong = Vec::new();
    for name in CRATES {
        let folder = top().join(name);
        let mut files = Vec::new();
        sources(&folder.join("src"), &mut files);
        for file in files {
            let inside = file.strip_prefix(&folder).unwrap();
            // Tests need the project around them; documentation is part of what is packaged.
            if inside.file_stem().is_some_and(|stem| stem.to_string_lossy().ends_with("tests")) {
                continue;
            }
            let text = std::fs::read_to_string(&file).unwrap();
            let code = text.split("\nmod tests {").next().unwrap();
            let read = ["include_str!(", "include_bytes!("].iter().flat_map(|call| code.split(call).skip(1));
            for path in read.filter_map(|rest| rest.split('"').nth(1)) {
                if leaves(inside.components().count() - 1, path) {
                    wrong.push(format!("{name}/{} reads {path}", inside.display()));
                }
            }
        }
    }
    assert_eq!(wrong, [""; 0]);
}

#[test]
fn cases_that_are_checked_from_inside_of_a_crate_are_those_of_the_project() {
    let pairs = [("R2", "house-wire-ramp"), ("R3", "house-wire-stop"), ("R4", "thick-core-slow-down")];
    for (inside, name) in pairs {
        let inside = top().join(format!("validation/reference/line_in_time/{inside}.toml"));
        let [copy, case] =
            [inside, top().join(format!("cases/drive/{name}.toml"))].map(|path| std::fs::read_to_string(path).unwrap());
        assert_eq!(copy, case, "{name}");
    }
}

#[test]
fn no_published_crate_depends_on_an_unpublished_one() {
    for name in CRATES {
        let text = std::fs::read_to_string(top().join(name).join("Cargo.toml")).unwrap();
        assert!(!text.contains("publish = false"), "{name}");
        for line in text.lines().filter(|line| line.contains("path = \"") && line.contains('{')) {
            assert!(line.contains("version = "), "{name}: {line}");
        }
    }
}

/// A browser shows the words, too: they are compiled where there are no files, no terminal and no C library.
#[test]
fn words_need_nothing_that_a_browser_has_not() {
    let text = std::fs::read_to_string(top().join("cli/words/Cargo.toml")).unwrap();
    let listed = text.split("[dependencies]").nth(1).unwrap();
    let names: Vec<&str> = listed.lines().filter_map(|line| line.split_once(" = ")).map(|(name, _)| name).collect();
    assert_eq!(names, ["maud", "quenchway"]);
    let mut files = Vec::new();
    sources(&top().join("cli/words/src"), &mut files);
    assert!(files.len() > 15);
    for file in files {
        let code = std::fs::read_to_string(&file).unwrap();
        for word in ["std::fs", "std::io", "std::env", "std::time", "println!"] {
            assert!(!code.contains(word), "{} uses {word}", file.display());
        }
    }
}
