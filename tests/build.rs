//! Which build the program is: the hash of its sources is that of the sources, sees every change, and stands in every file.

use std::fs;
use std::path::Path;

use hdf5_metno::File;
use hdf5_metno::types::VarLenUnicode;
use quenchway_cli::build::{PROGRAM, SOURCES, VERSION};

use crate::sweep::{done, project};

#[allow(dead_code)]
#[path = "../cli/build.rs"]
mod script;

/// Copies a directory.
fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

#[test]
fn the_hash_is_that_of_the_sources_as_they_are() {
    let now = script::hash(&project("."), &script::IN_THE_WORKSPACE).unwrap();
    assert_eq!(SOURCES, now, "the program was not built anew after its sources changed");
    assert!(VERSION.starts_with(env!("CARGO_PKG_VERSION")) && VERSION.contains(&format!("sources {}", &SOURCES[..12])));
    for part in script::IN_THE_WORKSPACE {
        assert!(project(part).exists(), "{part} is hashed and is not there");
    }
}

#[test]
fn one_constant_makes_another_hash() {
    let place = tempfile::tempdir().unwrap();
    let parts = ["solver/src", "solver/materials", "Cargo.lock"];
    for part in ["solver/src", "solver/materials"] {
        copy(&project(part), &place.path().join(part));
    }
    fs::copy(project("Cargo.lock"), place.path().join("Cargo.lock")).unwrap();
    let hash = || script::hash(place.path(), &parts).unwrap();
    let first = hash();
    assert_eq!(first, script::hash(&project("."), &parts).unwrap(), "the place does not count");
    // A constant of the engine, a number of a material, the version of a library, a file more.
    for (file, from, to) in [
        ("solver/src/material/water.rs", "0.", "1."),
        ("solver/materials/ldpe.toml", "1", "2"),
        ("Cargo.lock", "version = \"0.", "version = \"1."),
    ] {
        let path = place.path().join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{file}");
        fs::write(&path, text.replacen(from, to, 1)).unwrap();
        assert_ne!(hash(), first, "{file}");
        fs::write(&path, text).unwrap();
        assert_eq!(hash(), first, "{file} is as it was");
    }
    fs::write(place.path().join("solver/src/more.rs"), "").unwrap();
    assert_ne!(hash(), first, "a file more");
    fs::rename(place.path().join("solver/src/more.rs"), place.path().join("solver/src/.more.rs.swp")).unwrap();
    assert_eq!(hash(), first, "an editor's file is no source");
}

#[test]
fn the_build_stands_in_what_the_program_says_and_writes() {
    assert_eq!(done(&["--version"]), format!("{PROGRAM}\n"));
    let out = tempfile::tempdir().unwrap();
    let case = project("cases/house-wire.toml");
    let page = out.path().join("page.html");
    let json = done(&[
        "run",
        case.to_str().unwrap(),
        "--no-band",
        "--json",
        "--out",
        out.path().to_str().unwrap(),
        "--report",
        page.to_str().unwrap(),
    ]);
    assert_eq!(serde_json::from_str::<serde_json::Value>(&json).unwrap()["program"], PROGRAM);
    assert!(fs::read_to_string(page).unwrap().contains(PROGRAM));
    let source = File::open(out.path().join("house-wire.h5")).unwrap().attr("source").unwrap();
    assert_eq!(source.read_scalar::<VarLenUnicode>().unwrap().as_str(), PROGRAM);
    let mut pictures = 0;
    for entry in fs::read_dir(out.path()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "png") {
            let bytes = fs::read(&path).unwrap();
            assert!(bytes.windows(PROGRAM.len()).any(|words| words == PROGRAM.as_bytes()), "{path:?}");
            pictures += 1;
        }
    }
    assert!(pictures > 0);
}
