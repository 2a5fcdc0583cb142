//! What reaches a terminal or a page: nothing that steers it, lines that fit, words in one piece, plain words for a full disk;
//! and files without an end.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use quenchway::units::hidden::is_hidden;
use serde_json::Value;

const HOUSE_WIRE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../cases/house-wire.toml");
const PROGRAM: &str = env!("CARGO_BIN_EXE_quenchway");
/// What may not come out: escape, carriage return, direction of writing, no width.
const NASTY: &str = "x\u{202e}y\u{200b}z\u{2066}\u{feff}";

fn run(dir: &Path, columns: &str, args: &[&str]) -> Output {
    Command::new(PROGRAM).current_dir(dir).env("COLUMNS", columns).args(args).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// All that was printed, and that nothing in it is hidden.
fn clean(output: &Output) -> String {
    let all = text(&output.stdout) + &text(&output.stderr);
    let hidden = all.chars().find(|&c| is_hidden(c) && !matches!(c, '\n' | '\t'));
    assert_eq!(hidden, None, "{all:?}");
    all
}

/// The house wire with names that would steer a terminal, where the reader takes them.
fn nasty_case() -> String {
    let text = fs::read_to_string(HOUSE_WIRE).unwrap();
    let title = text.lines().find(|line| line.starts_with("title")).unwrap().to_string();
    let text = text.replace(&title, &format!("title = \"t{NASTY}\""));
    ["trough", "insulation", "capstan"]
        .iter()
        .fold(text, |text, name| text.replace(&format!("\"{name}\""), &format!("\"{name}{NASTY}\"")))
}

#[test]
fn names_cannot_steer_what_is_printed() {
    let place = tempfile::tempdir().unwrap();
    let case = nasty_case();
    fs::write(place.path().join("wire.toml"), &case).unwrap();
    for args in [
        &["run", "wire.toml", "--out", "out", "--report", "page.html"][..],
        &["check", "wire.toml"],
        &["gauges", "wire.toml"],
        &["water", "wire.toml", "--points", "2"],
        &["length", "wire.toml", "--no-band"],
        &["rank", "wire.toml"],
        &["run", "wire.toml", "--no-band", "--json"],
    ] {
        let output = run(place.path(), "100", args);
        assert_eq!(output.status.code(), Some(0), "{args:?}: {}", text(&output.stderr));
        let all = clean(&output);
        assert!(all.contains("x?y?z??") || all.contains("\\u202e") || all.contains("\\U0000202e"), "{args:?}: {all}");
    }
    let page = fs::read_to_string(place.path().join("page.html")).unwrap();
    assert_eq!(page.chars().find(|&c| is_hidden(c) && !matches!(c, '\n' | '\t')), None);
    // JSON escapes them: the value is the same. So does the case that is written out.
    let json = run(place.path(), "100", &["run", "wire.toml", "--no-band", "--json"]).stdout;
    assert_eq!(serde_json::from_slice::<Value>(&json).unwrap()["title"], format!("t{NASTY}"));
    let checked = text(&run(place.path(), "100", &["check", "wire.toml"]).stdout);
    assert_eq!(quenchway::file::read(&checked).unwrap().title, format!("t{NASTY}"));
}

#[test]
fn wrong_files_flags_and_paths_cannot_either() {
    let place = tempfile::tempdir().unwrap();
    let name = "a\u{1b}[2Jb\r\u{202e}c.toml";
    fs::write(
        place.path().join(name),
        "[line]\nspeed = 1 # \u{1b}]0;x\u{7} \r\r \u{202e}\u{200b}\n\u{2028}x = \u{202e}\n",
    )
    .unwrap();
    for args in [
        &["run", name][..],
        &["run", name, "--json"],
        &["check", name],
        &["run", "b\u{1b}[31m\u{200b}.toml"],
        &["run", HOUSE_WIRE, "--no-band", "--out", "o\u{1b}[31m\u{202e}"],
        &["run", HOUSE_WIRE, "--colour\u{1b}[2J\u{202e}"],
        &["films", "x\u{1b}[2J\u{200b}"],
        &["materials", "x\u{1b}[2J\u{200b}"],
        &["length", HOUSE_WIRE, "--adjust", "\u{202e}"],
        &["map", HOUSE_WIRE, "--x", "\u{1b}[2J=1..2", "--y", "\u{202e}=1..2"],
    ] {
        let all = clean(&run(place.path(), "100", args));
        assert!(!all.is_empty(), "{args:?}");
    }
}

#[test]
fn forty_columns_are_enough_and_no_word_is_broken() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("bad.toml"), "[line]\nspeeed = \"150 m/min\"\n").unwrap();
    for args in [
        &["run", HOUSE_WIRE][..],
        &["run", HOUSE_WIRE, "--units", "us"],
        &["water", HOUSE_WIRE, "--points", "2"],
        &["gauges", HOUSE_WIRE],
        &["length", HOUSE_WIRE, "--speeds", "120 m/min..160 m/min", "--points", "2"],
        &["speed", HOUSE_WIRE],
        &["rank", HOUSE_WIRE],
        &["converge", HOUSE_WIRE],
        &["films"],
        &["films", "spray"],
        &["materials"],
        &["materials", "pvc-insulation"],
        &["run", "bad.toml"],
    ] {
        let wide = clean(&run(place.path(), "120", args));
        let narrow = clean(&run(place.path(), "40", args));
        // What is wider than that is one word that may not be broken.
        let too_wide = narrow.lines().filter(|line| line.chars().count() > 40);
        let too_wide: Vec<&str> = too_wide.filter(|line| line.split_whitespace().count() > 2).collect();
        assert!(too_wide.is_empty(), "{args:?}: {too_wide:#?}");
        let words: Vec<&str> = narrow.split_whitespace().collect();
        for path in wide.split_whitespace().filter(|word| word.contains(['.', '_']) && word.len() > 8) {
            assert!(words.contains(&path), "{args:?}: {path} is broken in\n{narrow}");
        }
    }
    // A terminal that is narrower is no reason for more.
    let sliver = run(place.path(), "10", &["materials", "pvc-insulation"]).stdout;
    assert_eq!(text(&sliver), text(&run(place.path(), "40", &["materials", "pvc-insulation"]).stdout));
}

/// The shell does what the kernel is asked for: little memory, small files.
#[cfg(unix)]
fn limited(dir: &Path, limit: &str, args: &[&str]) -> Output {
    let mut command = Command::new("sh");
    command.current_dir(dir).args(["-c", &format!("{limit}; exec \"$0\" \"$@\""), PROGRAM]).args(args);
    command.output().unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn a_device_without_an_end_is_refused_at_the_limit() {
    let place = tempfile::tempdir().unwrap();
    for args in [
        &["run", "/dev/zero"][..],
        &["sweep", "/dev/zero", "--out", "out"],
        &["fit", HOUSE_WIRE, "--data", "/dev/zero"],
        &["spread", HOUSE_WIRE, "--vary", "/dev/zero"],
    ] {
        // 1.5 GB of address space: the program itself takes a part of that for its threads.
        let output = limited(place.path(), "ulimit -v 1500000", args);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {said}");
        assert!(said.contains("it has more than") && said.contains("are possible"), "{args:?}: {said}");
    }
}

#[cfg(unix)]
#[test]
fn a_full_disk_is_said_in_one_plain_line() {
    let place = tempfile::tempdir().unwrap();
    // Files of up to 20 kB or 40 kB, by the shell: the directory fills up as far as the program can see.
    let output = limited(place.path(), "trap '' XFSZ; ulimit -f 40", &["run", HOUSE_WIRE, "--no-band", "--out", "out"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(
        text(&output.stderr),
        "error: cannot write out/house-wire.h5: the system allows no file of that size; an earlier file of that name is \
         untouched\n"
    );
    assert_eq!(fs::read_dir(place.path().join("out")).unwrap().count(), 0, "nothing is left behind");
}
