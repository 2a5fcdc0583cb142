//! The page of `run --report`: content, escaping, nothing from elsewhere, which files it replaces.

use std::collections::HashSet;
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use quenchway::case::{CaseFile, Quantity};
use quenchway::march::solution::Solution;
use quenchway::units::System;
use quenchway_pictures::Picture;
use quenchway_words::Shown;
use quenchway_words::blocks::Block;

use crate::{fixture, stages};

/// Stands for the drawn pictures, which tests/pictures.rs sees to.
fn pictures() -> Vec<Picture> {
    vec![Picture { description: "A picture".to_string(), png: b"not drawn".to_vec() }]
}

fn page(case: &CaseFile, solution: &Solution, system: System) -> String {
    fixture::page(case, solution, system, &pictures())
}

fn with_limit(max: f64) -> (CaseFile, Solution) {
    let mut case = fixture::house_wire();
    case.stations[1] = fixture::station("capstan", 2, 0.0, &[(Quantity::Core, max)]);
    let solution = fixture::solution(&case);
    (case, solution)
}

/// Text as it stands in HTML.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[test]
fn the_verdict_comes_first_and_is_true() {
    for (max, words, other) in [(500.0, "THE LIMIT IS MET", "NOT MET"), (30.0, "NOT MET", "LIMIT IS MET")] {
        let (case, solution) = with_limit(max);
        let html = page(&case, &solution, System::Si);
        assert!(html.contains(words) && !html.contains(other), "{max}");
        let sections =
            ["Verdict", "Key numbers", "Stations", "Pictures", "Inputs: layers", "Accuracy", "Cautions", "Where"];
        let places: Vec<usize> = sections.iter().map(|name| html.find(&format!("<h2>{name}")).expect(name)).collect();
        assert!(places.is_sorted(), "{places:?}");
        assert!(html.find(words) < html.find("<h2>Key numbers"));
    }
}

#[test]
fn the_page_says_all_that_the_terminal_says() {
    for system in [System::Si, System::Us] {
        let (case, solution) = with_limit(30.0);
        let html = page(&case, &solution, system);
        let report = quenchway_words::run::report(&case, &solution, Shown { system });
        for block in report.parts.iter().flat_map(|part| &part.blocks) {
            let texts: Vec<String> = match block {
                Block::Paragraph(words) if words.stressed.is_some() => Vec::new(),
                Block::Paragraph(words) => vec![words.text.clone()],
                Block::Table(grid) => grid.rows.iter().flatten().map(|cell| cell.text.clone()).collect(),
                Block::Lines(rows) => rows.concat(),
                Block::Gap => Vec::new(),
            };
            for text in texts {
                assert!(html.contains(&format!(">{}<", escaped(&text))), "{text}");
            }
        }
        // Further down film laws and cautions quote their sources.
        let numbers = html.split("<h2>Accuracy").next().unwrap();
        assert_eq!(numbers.contains("degC"), system == System::Si, "{system:?}");
        assert!(html.contains(if system == System::Us { "<br>degF" } else { "<br>degC" }));
    }
}

#[test]
fn names_of_the_user_are_text_and_nothing_else() {
    let (mut case, _) = with_limit(60.0);
    let nasty = "<script>alert('x')</script> & \"q\" <img src=http://a.invalid/x>";
    case.title = nasty.to_string();
    case.layers[1].name = format!("layer {nasty}");
    case.sections[1].name = format!("section {nasty}");
    case.stations[1].name = format!("station {nasty}");
    let html = page(&case, &fixture::solution(&case), System::Si);
    assert!(!html.contains("<script") && !html.contains("<img src=http"));
    for what in [
        "<h1>",
        "<title>",
        "<td class=\"words\">layer ",
        "<td class=\"words\">section ",
        "<td class=\"words\">station ",
    ] {
        assert!(html.contains(&format!("{what}{}", escaped(nasty))), "{what}");
    }
}

#[test]
fn the_page_needs_nothing_from_elsewhere() {
    let (case, solution) = with_limit(60.0);
    let html = page(&case, &solution, System::Si);
    for word in ["http:", "https:", "<script", "<link", "<iframe", "@import", "url(", "href="] {
        assert!(!html.contains(word), "{word}");
    }
    let sources: Vec<&str> = html.split(" src=\"").skip(1).collect();
    assert_eq!(sources.len(), 1);
    assert!(sources.iter().all(|source| source.starts_with("data:image/png;base64,bm90IGRyYXdu\"")));
    assert!(html.contains("content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\""));
}

fn run(dir: &Path, args: &[&str]) -> assert_cmd::assert::Assert {
    let case = concat!(env!("CARGO_MANIFEST_DIR"), "/../cases/house-wire.toml");
    Command::new(env!("CARGO_BIN_EXE_quenchway")).current_dir(dir).args(["run", case, "--no-band"]).args(args).assert()
}

#[test]
fn only_pages_of_ours_are_replaced() {
    let dir = tempfile::tempdir().unwrap();
    let page = dir.path().join("wire.html");
    fs::write(&page, "mine").unwrap();
    let refused = run(dir.path(), &["--report", "wire.html"]).code(2);
    let said = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(said.contains("--report: wire.html exists and is no page of quenchway"), "{said}");
    assert_eq!(fs::read_to_string(&page).unwrap(), "mine");
    run(dir.path(), &["--report", "wire.html", "--overwrite"]).success();
    assert!(fs::read_to_string(&page).unwrap().starts_with("<!DOCTYPE html>"));
    run(dir.path(), &["--report", "wire.html"]).success();
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1, "one page and nothing else");
}

#[test]
fn a_place_that_takes_no_page_is_refused_before_anything_is_made() {
    let dir = tempfile::tempdir().unwrap();
    for (file, words) in [("wire.png", "must end in .html"), ("no/such/wire.html", "there is no such directory")] {
        let refused = run(dir.path(), &["--out", "new", "--report", file]).code(2);
        let said = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
        assert!(said.contains(words) && said.contains("nothing was computed"), "{said}");
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0);
    }
    run(dir.path(), &["--out", "new", "--report", "new/wire.html"]).success();
    assert_eq!(fs::read_dir(dir.path().join("new")).unwrap().count(), 6);
}

/// What stands in a page to be read: text without marks; what stands out is no word of its own.
fn text_of(html: &str) -> String {
    let body = html.split("<body>").nth(1).unwrap().split("<pre>").next().unwrap();
    let mut all = String::new();
    for piece in body.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap();
        if !tag.trim_start_matches('/').starts_with("strong") {
            all.push(' ');
        }
        all += text;
    }
    all.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// Asks a question with `--report`: the page has the terminal's headings in their order, every word and number of the
/// terminal, one picture or more, and nothing from elsewhere.
fn the_page_is_what_is_printed(question: &str, case: &str, flags: &[&str]) {
    let dir = tempfile::tempdir().unwrap();
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    let done = Command::new(env!("CARGO_BIN_EXE_quenchway"))
        .current_dir(&cases)
        .env("COLUMNS", "120")
        .args([question, case])
        .args(flags)
        .arg("--report")
        .arg(dir.path().join("page.html"))
        .assert();
    let output = done.get_output();
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(matches!(output.status.code(), Some(0 | 1)) && !printed.is_empty(), "{output:?}");
    let html = fs::read_to_string(dir.path().join("page.html")).unwrap();
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1, "one page and nothing else");

    let text = text_of(&html);
    let words: HashSet<&str> = text.split_whitespace().collect();
    // A rule under a header, a mark of a list.
    let drawn = |word: &str| word.chars().all(|c| c == '─') || ["-", "!"].contains(&word);
    for word in printed.split_whitespace().filter(|word| !drawn(word)) {
        assert!(words.contains(word), "{question}: {word:?} is not on the page");
    }
    // Headings stand alone and are not set in; the title and the line below it come first.
    let headings: Vec<&str> = html.split("<h2>").skip(1).map(|rest| rest.split('<').next().unwrap()).collect();
    let told = printed.lines().skip(2).filter(|line| headings.contains(line));
    let places: Vec<usize> = told.map(|line| headings.iter().position(|heading| *heading == line).unwrap()).collect();
    assert!(places.len() > 2 && places.is_sorted(), "{question}: {places:?} of {headings:?}");
    assert!(printed.contains("\nCautions\n") && headings.contains(&"Pictures"), "{headings:?}");
    assert!(html.matches("src=\"data:image/png;base64,iVBOR").count() == html.matches("<img").count());
    assert!(html.contains("<img") && !html.contains("http:") && !html.contains("<script"));
}

#[test]
fn a_page_of_length() {
    the_page_is_what_is_printed("length", "house-wire.toml", &["--no-band", "--points", "2"]);
}

#[test]
fn a_page_of_speed() {
    the_page_is_what_is_printed("speed", "house-wire.toml", &["--no-band"]);
}

#[test]
fn a_page_of_gauges() {
    the_page_is_what_is_printed("gauges", "house-wire.toml", &[]);
}

#[test]
fn a_page_of_water() {
    the_page_is_what_is_printed("water", "thick-pe-core.toml", &["--points", "2"]);
}

#[test]
fn a_page_of_stages() {
    let place = tempfile::tempdir().unwrap();
    let case = stages::wire(place.path(), "two", stages::TWO);
    the_page_is_what_is_printed("stages", case.to_str().unwrap(), &["--no-band"]);
}

#[test]
fn a_page_of_map() {
    let axes = ["--x", "line.speed=100 m/min..200 m/min", "--y", "section.trough.length=5 m..40 m"];
    the_page_is_what_is_printed("map", "house-wire.toml", &[&axes[..], &["--points", "3x2"]].concat());
}

#[test]
fn a_page_of_rank() {
    the_page_is_what_is_printed("rank", "house-wire.toml", &[]);
}

#[test]
fn a_page_of_spread() {
    the_page_is_what_is_printed("spread", "house-wire.toml", &["--samples", "8", "--no-length"]);
}

#[test]
fn a_page_of_fit() {
    the_page_is_what_is_printed("fit", "house-wire.toml", &["--data", "trials/house-wire-trial.csv"]);
}

#[test]
fn a_page_of_drive() {
    the_page_is_what_is_printed("drive", "drive/house-wire-ramp.toml", &["--no-band"]);
}
