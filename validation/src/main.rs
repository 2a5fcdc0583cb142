//! Runs every check, writes docs/validation.md and its figures; with `--check` compares instead, and fails when stale.
//!
//! Run in the project's top folder: `cargo run --release -p quenchway-validation [-- --check]`.

use std::process::ExitCode;

use quenchway_validation::count::Counts;
use quenchway_validation::honesty::{self, Outcome};
use quenchway_validation::report::Kept;
use quenchway_validation::{figures, pages, report};

const PAGE: &str = "docs/validation.md";
const FIGURES: &str = "docs/images";

fn main() -> ExitCode {
    let pages = pages();
    println!("{}", Counts::all(&pages).words());
    let mut sound = true;
    for page in pages.iter().filter(|page| !page.holds()) {
        sound = false;
        eprintln!("FAILS: {}", page.title);
        for row in page.rows.iter().filter(|row| !row.holds()) {
            eprintln!("  {row}");
        }
    }
    let mut good = |results: Vec<Result<Outcome, String>>| -> Vec<Outcome> {
        let told = results.into_iter().map(|result| result.inspect_err(|error| eprintln!("FAILS: {error}")));
        let kept: Vec<Result<Outcome, String>> = told.collect();
        sound &= kept.iter().all(Result::is_ok);
        kept.into_iter().filter_map(Result::ok).collect()
    };
    let outcomes = good(honesty::outcomes(honesty::MEASURED));
    let hard = good(honesty::hard_outcomes(honesty::HARD_MEASURED));
    let sure: Vec<Outcome> = hard.iter().filter(|outcome| outcome.is_sure()).copied().collect();
    let (of_random, of_hard) = (Kept::of(&outcomes), Kept::of(&sure));
    println!("stated error on {} random cases: {of_random:?}", outcomes.len());
    println!("stated error on {} hard cases: {of_hard:?}", sure.len());
    if !of_random.holds() || !of_hard.holds_on_hard() {
        sound = false;
        eprintln!("FAILS: the stated error is not honest enough");
    }
    let text = report::text(&pages, &outcomes, &hard);
    if std::env::args().any(|argument| argument == "--check") {
        let committed = std::fs::read_to_string(PAGE).unwrap_or_default();
        if let Some(difference) = stale(&committed, &text) {
            sound = false;
            eprintln!("{PAGE} is stale: {difference}\nwrite it anew with `make validation`");
        }
    } else if let Err((file, error)) = write(&text, &outcomes) {
        eprintln!("{file}: {error}");
        sound = false;
    }
    if sound { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Writes the page and its figures; on failure which file, and why.
fn write(text: &str, outcomes: &[honesty::Outcome]) -> Result<(), (String, std::io::Error)> {
    let files = [
        (PAGE.to_string(), text.to_string()),
        (format!("{FIGURES}/cooling.svg"), figures::cooling()),
        (format!("{FIGURES}/front.svg"), figures::front()),
        (format!("{FIGURES}/promise.svg"), figures::promise()),
        (format!("{FIGURES}/honesty.svg"), figures::honesty(outcomes)),
    ];
    files.into_iter().try_for_each(|(file, content)| std::fs::write(&file, content).map_err(|error| (file, error)))
}

/// The first line that differs in more than measured figures; a figure may move by a factor of two between machines.
fn stale(committed: &str, fresh: &str) -> Option<String> {
    let number =
        |word: &str| word.trim_matches(|c: char| !c.is_ascii_digit() && c != '-' && c != '.').parse::<f64>().ok();
    let same = |a: &str, b: &str| match (number(a), number(b)) {
        (Some(a), Some(b)) => a == b || (a / b > 0.5 && a / b < 2.01),
        _ => a == b,
    };
    let (mut old, mut new) = (committed.lines(), fresh.lines());
    loop {
        match (old.next(), new.next()) {
            (None, None) => return None,
            (Some(a), Some(b)) => {
                let (words_a, words_b): (Vec<_>, Vec<_>) = (a.split(' ').collect(), b.split(' ').collect());
                let alike = words_a.len() == words_b.len() && words_a.iter().zip(&words_b).all(|(a, b)| same(a, b));
                if !alike {
                    return Some(format!("\n  committed: {a}\n  now:       {b}"));
                }
            }
            (a, b) => return Some(format!("\n  committed: {a:?}\n  now:       {b:?}")),
        }
    }
}
