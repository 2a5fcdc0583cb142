//! What a wrong case file is answered: the exact text of every message.

use std::fs;
use std::path::{Path, PathBuf};

use quenchway_cli::args::Units;
use quenchway_cli::commands::check::check;
use quenchway_cli::commands::schema::schema;
use quenchway_cli::diagnostic::{Failure, Look, load};
use quenchway_cli::sweep;

fn directory() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/bad_cases")
}

fn studies() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/bad_studies")
}

/// Every wrong case beside its message. `BLESS=1 cargo test messages` writes the messages; read them before committing.
#[test]
fn every_bad_case_gets_its_message() {
    every_file_gets_its_message(&directory(), 30, |path| load(path).err());
}

#[test]
fn every_bad_study_gets_its_message() {
    every_file_gets_its_message(&studies(), 10, |path| sweep::load(path).err());
}

fn every_file_gets_its_message(directory: &Path, least: usize, load: impl Fn(&Path) -> Option<Failure>) {
    let mut files: Vec<PathBuf> = fs::read_dir(directory)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    files.sort();
    assert!(files.len() >= least, "{} wrong files", files.len());
    let mut wrong = Vec::new();
    for file in &files {
        let name = file.file_stem().unwrap().to_str().unwrap();
        let failure = load(file).unwrap_or_else(|| panic!("{name} has no problem"));
        // The directory differs from machine to machine, the file name does not.
        let prefix = format!("{}/", directory.display());
        let report = failure.render(Look::PLAIN).replace(&prefix, "");
        let expected = file.with_extension("txt");
        if std::env::var_os("BLESS").is_some() {
            fs::write(&expected, &report).unwrap();
        }
        if fs::read_to_string(&expected).unwrap_or_default() != report {
            wrong.push(format!("{name}:\n{report}"));
        }
    }
    assert!(wrong.is_empty(), "messages that differ from their .txt:\n\n{}", wrong.join("\n"));
}

/// The plain report on a file that holds these bytes, with the directory taken away.
fn report_on(name: &str, bytes: &[u8]) -> String {
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join(name);
    fs::write(&path, bytes).unwrap();
    load(&path).unwrap_err().to_string().replace(&format!("{}/", directory.path().display()), "")
}

#[test]
fn a_file_that_is_no_text_is_refused() {
    assert_eq!(
        report_on("latin1.toml", b"[line]\nspeed = \"150 m/min\"\ntitle = \"caf\xe9\"\n"),
        "  x latin1.toml: line 3 is not UTF-8 text\n  help: save it as UTF-8 in your editor\n\n\
         latin1.toml was not read; nothing was computed, nothing was written\n"
    );
    assert_eq!(
        report_on("huge.toml", &vec![b'#'; 1_000_001]),
        "  x huge.toml: it has 1000001 bytes, 1000000 are possible\n  \
         help: a file of this size is probably no case file\n\n\
         huge.toml was not read; nothing was computed, nothing was written\n"
    );
}

#[test]
fn a_path_that_is_no_file_is_refused() {
    let report = |path: &str| load(Path::new(path)).unwrap_err().to_string();
    assert_eq!(
        report("no/such/case.toml"),
        "  x no/such/case.toml: there is no such file\n  help: give the path of a case file\n\n\
         no/such/case.toml was not read; nothing was computed, nothing was written\n"
    );
    assert_eq!(
        report("."),
        "  x .: it is a directory\n  help: give the path of a case file in it\n\n\
         . was not read; nothing was computed, nothing was written\n"
    );
}

#[test]
fn a_flood_of_problems_is_counted() {
    let keys: String = (0..25).map(|i| format!("colour{i} = 1\n")).collect();
    let report = report_on("flood.toml", keys.as_bytes());
    assert_eq!(report.matches("unknown key").count(), 20);
    // 25 unknown keys, and no line, layer and section.
    assert!(report.ends_with(
        "and 8 more problems, not shown\n\n28 problems in flood.toml; nothing was computed, nothing was written\n"
    ));
}

#[test]
fn lines_of_another_system_are_shown_alike() {
    let unix = report_on("case.toml", b"[line]\nspeed = 150\n");
    let dos = report_on("case.toml", b"[line]\r\nspeed = 150\r\n");
    assert_eq!(unix, dos.replace('\r', ""));
    assert!(unix.contains("2 | speed = 150\n"));
}

#[test]
fn a_terminal_gets_unicode_and_colour() {
    let failure = load(&directory().join("bare-number.toml")).unwrap_err();
    let report = failure.render(Look { width: 60, unicode: true, colour: true });
    assert!(report.contains("╭─[") && report.contains("\u{1b}[31m"));
    let plain = failure.render(Look { width: 60, unicode: true, colour: false });
    assert!(plain.contains("╭─[") && !plain.contains('\u{1b}'));
}

const OWN_MATERIAL: &str = r#"
title = "a wire"
[line]
speed = "150 m/min"
[[layer]]
name = "wire"
material = "steel"
diameter = "2 mm"
[[section]]
name = "trough"
medium = "water"
length = "5 m"
temperature = "20 degC"
[material.steel]
kind = "metal"
conductivity = "50 W/(m K)"
heat_capacity = "480 J/(kg K)"
density = "7.85 g/cm3"
"#;

#[test]
fn check_writes_the_case_out() {
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("wire.toml");
    fs::write(&path, OWN_MATERIAL).unwrap();
    let checked = check(&path, None).unwrap().replace(&format!("{}/", directory.path().display()), "");
    let film = checked.lines().find(|line| line.starts_with("# film")).unwrap();
    assert_eq!(
        checked,
        format!(
            r#"# wire.toml: no problems found.
# The case as it is computed: defaults and library materials written out.
# Assumed: no temperature given for "wire": 25 degC at the die assumed. A preheated conductor makes the core much hotter at the capstan
title = "a wire"
units = "si"

[line]
speed = "150 m/min"

[[layer]]
name = "wire"
material = "steel"
diameter = "2 mm"
temperature = "25 degC"
contraction = "free"
conductivity_factor = 1
heat_capacity_factor = 1

[[section]]
name = "trough"
medium = "water"
length = "5 m"
temperature = "20 degC"
{film}
film_factor = 1

[material.steel]
kind = "metal"
conductivity = "50 W/(m K)"
heat_capacity = "480 J/(kg K)"
density = "7850 kg/m3"
range = ["-50 degC", "300 degC"]
uncertainty = {{ conductivity = 0.03, heat_capacity = 0.02, density = 0.01 }}

[solver]
tolerance = "0.01 K"
geometry = "shrinking"
shape = "round"
"#
        )
    );
    let us = check(&path, Some(Units::Us)).unwrap();
    assert!(us.contains("speed = \"492.126 ft/min\"") && us.contains("temperature = \"68 degF\""), "{us}");
}

#[test]
fn the_schema_is_json() {
    let parsed: serde_json::Value = serde_json::from_str(&schema(false)).unwrap();
    assert_eq!(parsed, quenchway::file::schema());
    assert_eq!(
        parsed["$defs"]["section"]["properties"]["medium"]["enum"],
        serde_json::json!(["air", "water", "spray"])
    );
}
