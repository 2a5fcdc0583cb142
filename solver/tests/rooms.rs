//! The rooms of `solver/src` stand in one order, lowest first: a file imports its own room and those before it; and nowhere do
//! imports go in a circle.
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

/// A tree of a `use`, or a path in the code, as paths of names.
fn expand(tree: &str, before: &[String], found: &mut Vec<Vec<String>>) {
    let tree = tree.trim();
    let Some(open) = tree.find('{') else {
        let names = tree.split(" as ").next().unwrap().split("::").map(str::trim).filter(|name| !name.is_empty());
        return found.push(before.iter().cloned().chain(names.map(str::to_string)).collect());
    };
    let names = tree[..open].split("::").map(str::trim).filter(|name| !name.is_empty()).map(str::to_string);
    let before: Vec<String> = before.iter().cloned().chain(names).collect();
    let (mut depth, mut from) = (0, 0);
    let inside = &tree[open + 1..tree.rfind('}').unwrap()];
    for (place, sign) in inside.char_indices().chain([(inside.len(), ',')]) {
        match sign {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                if !inside[from..place].trim().is_empty() {
                    expand(&inside[from..place], &before, found);
                }
                from = place + 1;
            }
            _ => {}
        }
    }
}

/// A file as a module: its path of names, what it imports or names, and what of that it hands on.
struct Module {
    file: PathBuf,
    path: Vec<String>,
    uses: Vec<Vec<String>>,
    handed_on: Vec<Vec<String>>,
}

impl Module {
    fn read(src: &Path, file: &Path) -> Module {
        let inside = file.strip_prefix(src).unwrap().with_extension("");
        let mut path: Vec<String> = inside.iter().map(|name| name.to_str().unwrap().to_string()).collect();
        if ["mod", "lib"].contains(&path.last().unwrap().as_str()) {
            path.pop();
        }
        let text = fs::read_to_string(file).unwrap();
        let lines = text.split("\nmod tests {").next().unwrap().lines();
        let code: String = lines.map(|line| line.split("//").next().unwrap().to_string() + "\n").collect();
        let (mut uses, mut handed_on) = (Vec::new(), Vec::new());
        for statement in code.split(';') {
            let last = statement.lines().position(|line| {
                let line = line.trim_start();
                line.starts_with("use ") || line.starts_with("pub") && line.contains(" use ")
            });
            if let Some(first) = last {
                let statement: Vec<&str> = statement.lines().skip(first).collect();
                let (visible, tree) =
                    statement.join(" ").split_once("use ").map(|(a, b)| (a.trim().to_string(), b.to_string())).unwrap();
                let mut paths = Vec::new();
                expand(&tree, &[], &mut paths);
                if visible.starts_with("pub") {
                    handed_on.extend(paths.clone());
                }
                uses.extend(paths);
            }
            for root in ["crate::", "super::", "self::"] {
                for (at, _) in statement.match_indices(root) {
                    let end = |c: char| !c.is_alphanumeric() && c != '_' && c != ':';
                    let path = statement[at..].split(end).next().unwrap().trim_end_matches(':');
                    expand(path, &[], &mut uses);
                }
            }
        }
        Module { file: inside, path, uses, handed_on }
    }
}

/// The module that a path leads to, re-exports followed.
fn target<'m>(modules: &'m [Module], from: &Module, path: &[String], hops: usize) -> Option<&'m Module> {
    let known = |path: &[String]| modules.iter().find(|module| module.path == path);
    let mut at = from.path.clone();
    let mut rest = path;
    match rest.first()?.as_str() {
        "crate" => (at, rest) = (Vec::new(), &rest[1..]),
        "self" => rest = &rest[1..],
        "super" => {
            while rest.first().is_some_and(|name| name == "super") {
                at.pop();
                rest = &rest[1..];
            }
        }
        name => {
            known(&[at.as_slice(), &[name.to_string()]].concat())?;
        }
    }
    while let Some(next) = rest.first().and_then(|name| known(&[at.as_slice(), std::slice::from_ref(name)].concat())) {
        (at, rest) = (next.path.clone(), &rest[1..]);
    }
    let module = known(&at)?;
    let handed = rest.first().and_then(|name| module.handed_on.iter().find(|path| path.last() == Some(name)));
    match handed.filter(|_| hops > 0) {
        Some(path) => target(modules, module, path, hops - 1).or(Some(module)),
        None => Some(module),
    }
}

/// Files that lead back to themselves by their imports, sorted. That a file uses types of the folder that it lies in is no circle.
fn in_circles(src: &Path) -> Vec<String> {
    let mut files = Vec::new();
    sources(src, &mut files);
    files.retain(|file| !file.file_stem().is_some_and(|stem| stem.to_string_lossy().ends_with("tests")));
    let modules: Vec<Module> = files.iter().map(|file| Module::read(src, file)).collect();
    let place = |module: &Module| modules.iter().position(|known| known.file == module.file).unwrap();
    let next = |module: &Module| -> Vec<usize> {
        let targets = module.uses.iter().filter_map(|path| target(&modules, module, path, 4));
        targets.filter(|of| !module.path.starts_with(&of.path)).map(place).collect()
    };
    let arrows: Vec<Vec<usize>> = modules.iter().map(next).collect();
    assert!(arrows.iter().flatten().count() > 500, "the imports are found");
    let leads_back = |start: usize| {
        let (mut seen, mut open) = (vec![false; arrows.len()], arrows[start].clone());
        while let Some(at) = open.pop() {
            if !std::mem::replace(&mut seen[at], true) {
                open.extend(&arrows[at]);
            }
        }
        seen[start]
    };
    let mut found: Vec<String> = (0..modules.len())
        .filter(|&start| leads_back(start))
        .map(|start| modules[start].file.display().to_string())
        .collect();
    found.sort();
    found
}

#[test]
fn no_imports_go_in_a_circle() {
    assert_eq!(in_circles(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src")), [""; 0]);
}
