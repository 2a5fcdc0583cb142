//! The rooms of `solver/src` stand in one order, lowest first: a file imports its own room and those before it.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms, lowest first.
const ROOMS: [&str; 14] = [
    "maths", "units", "data", "material", "film", "case", "exact", "slice", "engine", "line", "march", "names", "file",
    "study",
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            sources(&entry, found);
        } else if entry.extension().is_some_and(|end| end == "rs") {
            found.push(entry);
        }
    }
}

/// Names right after `crate::` in a text; `crate::{` and a re-export of the crate's root are no room, and told as they stand.
fn used(code: &str) -> impl Iterator<Item = &str> {
    let end = |rest: &str| rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
    code.split("crate::").skip(1).map(move |rest| if rest.starts_with('{') { "{" } else { &rest[..end(rest)] })
}

/// `file imports room` of everything that imports a room above its own, or what is no room, sorted, each once.
fn upward(src: &Path) -> Vec<String> {
    let floor = |room: &str| ROOMS.iter().position(|known| *known == room);
    let mut files = Vec::new();
    sources(src, &mut files);
    let mut wrong = Vec::new();
    for file in &files {
        let inside = file.strip_prefix(src).unwrap();
        let is_test = inside.file_stem().is_some_and(|stem| stem.to_string_lossy().ends_with("tests"));
        if inside == Path::new("lib.rs") || is_test {
            continue;
        }
        let room = inside.iter().next().unwrap().to_str().unwrap().trim_end_matches(".rs");
        let text = fs::read_to_string(file).unwrap();
        for line in text.split("\nmod tests {").next().unwrap().lines() {
            for used in used(line.split("//").next().unwrap()) {
                if floor(used).is_none() || floor(used) > floor(room) {
                    wrong.push(format!("{} imports {used}", inside.display()));
                }
            }
        }
    }
    wrong.sort();
    wrong.dedup();
    wrong
}

#[test]
fn no_room_imports_one_above_it() {
    assert_eq!(upward(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src")), [""; 0]);
}

#[test]
fn the_map_of_the_developers_is_the_list_of_rooms() {
    let map = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../DEVELOPERS.md")).unwrap();
    let rooms = map.lines().filter_map(|line| line.strip_prefix("    ")?.split_once('/').map(|(name, _)| name));
    let rooms: Vec<&str> = rooms.filter(|name| name.chars().all(|c| c.is_ascii_lowercase())).collect();
    assert_eq!(&rooms[..ROOMS.len()], ROOMS);
}
