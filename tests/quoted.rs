//! Numbers and outputs that the book quotes are those of the program. `BLESS=1 cargo test quoted` writes them anew: read the diff.
//!
//! A page names its runs and marks what it quotes, in comments that nobody sees:
//!
//! ```text
//! <!-- run wire: run cases/house-wire.toml with section.trough.film = "1500 W/(m2 K)" -->
//! the core is at 61.9 °C<!-- = wire/stations/name=capstan/core_degC -->
//! <!-- output: length cases/house-wire.toml lines 1-4 -->       (before a code block)
//! ```
//!
//! `with` changes a copy of the case. A value is a path into the JSON of a run, or several joined by + - * / from left to right;
//! `~3` at its end rounds to three digits, `up` and `down` round so. It must be the last number before the mark, to its decimals.

use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use rayon::prelude::*;
use serde_json::Value;

/// Directory of the project.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every page that a reader sees: path and text.
pub fn pages() -> Vec<(PathBuf, String)> {
    let in_book = fs::read_dir(root().join("docs")).unwrap().map(|entry| entry.unwrap().path());
    let mut paths: Vec<PathBuf> = in_book.filter(|path| path.extension().is_some_and(|end| end == "md")).collect();
    paths.extend(["README.md", "cases/README.md"].map(|path| root().join(path)));
    paths.sort();
    paths.into_iter().map(|path| (path.clone(), fs::read_to_string(path).unwrap())).collect()
}

/// Words as a shell takes them: quotes hold blanks together and are left out.
pub fn words(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quote) = (Vec::new(), None::<String>, None);
    for char in line.chars() {
        match (quote, char) {
            (Some(open), _) if char == open => quote = None,
            (None, '"' | '\'') => {
                quote = Some(char);
                word.get_or_insert_default();
            }
            (None, ' ') => words.extend(word.take()),
            _ => word.get_or_insert_default().push(char),
        }
    }
    words.extend(word);
    words
}

/// What stands between two texts, and what follows.
fn between<'a>(text: &'a str, open: &str, close: &str) -> Option<(&'a str, &'a str)> {
    let (inside, after) = text.split_once(open)?.1.split_once(close)?;
    Some((inside.trim(), after))
}

/// The table of a case that a path leads to: a key, or the name of one of several tables.
fn table<'a>(item: &'a mut toml_edit::Item, path: &[&str]) -> &'a mut toml_edit::Table {
    let Some((part, rest)) = path.split_first() else { return item.as_table_mut().unwrap() };
    if item.is_array_of_tables() {
        let named = |table: &&mut toml_edit::Table| table["name"].as_str() == Some(part);
        let found = item.as_array_of_tables_mut().unwrap().iter_mut().find(named);
        return found.unwrap_or_else(|| panic!("the case has no {part}"));
    }
    table(item.as_table_mut().unwrap().entry(part).or_insert_with(toml_edit::table), rest)
}

/// A case with one key changed, written as TOML: `section.trough.film = "1500 W/(m2 K)"`; `none` takes the key out.
fn change(case: &mut toml_edit::DocumentMut, change: &str) {
    let (path, value) = change.split_once('=').unwrap_or_else(|| panic!("no = in {change}"));
    let parts: Vec<&str> = path.trim().split('.').collect();
    let (key, tables) = parts.split_last().unwrap();
    let table = table(case.as_item_mut(), tables);
    if value.trim() == "none" {
        assert!(table.remove(key).is_some(), "no {key} for {change}");
    } else {
        let value: toml_edit::Value = value.trim().parse().unwrap_or_else(|error| panic!("{change}: {error}"));
        table.insert(key, toml_edit::value(value));
    }
}

/// What the program prints for a command, on a copy of the case where ` with ` changes it.
fn program(asked: &str) -> String {
    let mut parts = asked.split(" with ");
    let mut arguments = words(parts.next().unwrap());
    let place = tempfile::tempdir().unwrap();
    let changes: Vec<&str> = parts.collect();
    if !changes.is_empty() {
        let path = Path::new(&arguments[1]).to_path_buf();
        let mut case = fs::read_to_string(root().join(&path)).unwrap().parse().unwrap();
        changes.iter().for_each(|text| change(&mut case, text));
        let copy = place.path().join(path.file_name().unwrap());
        fs::write(&copy, case.to_string()).unwrap();
        arguments[1] = copy.to_str().unwrap().to_string();
    }
    let output = Command::cargo_bin("quenchway").unwrap().current_dir(root()).args(&arguments).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let notes = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.code() != Some(2) && !text.is_empty(), "{asked}: {notes}");
    text
}

/// The same for the answer as JSON.
fn as_json(asked: &str) -> String {
    match asked.split_once(" with ") {
        Some((command, changes)) => format!("{command} --json with {changes}"),
        None => format!("{asked} --json"),
    }
}

/// A run that a line names, and an output that a line quotes: name or lines, command.
fn named<'a>(line: &'a str, mark: &str) -> Option<(&'a str, &'a str)> {
    let (inside, _) = between(line, mark, "-->")?;
    Some(if mark == RUN { inside.split_once(": ").unwrap() } else { inside.rsplit_once(" lines ").unwrap() })
}

const RUN: &str = "<!-- run ";
const OUTPUT: &str = "<!-- output:";

/// What the program prints, each command once.
#[derive(Default)]
struct Runs {
    printed: HashMap<String, String>,
    parsed: HashMap<String, Value>,
}

impl Runs {
    /// Every command of these pages.
    fn of(pages: &[(PathBuf, String)]) -> Runs {
        let lines = pages.iter().flat_map(|(_, page)| page.lines());
        let runs = lines.clone().filter_map(|line| named(line, RUN)).map(|(_, asked)| as_json(asked));
        let outputs = lines.filter_map(|line| named(line, OUTPUT)).map(|(asked, _)| asked.to_string());
        let asked: std::collections::BTreeSet<String> = runs.chain(outputs).collect();
        Runs {
            printed: asked.into_par_iter().map(|asked| (asked.clone(), program(&asked))).collect(),
            ..Runs::default()
        }
    }

    /// A number of a run's JSON, by its path: keys, indices (negative from the end), `key=value,key=value` for the first element so.
    fn number(&mut self, asked: &str, path: &str) -> f64 {
        if !self.parsed.contains_key(asked) {
            self.parsed.insert(asked.to_string(), serde_json::from_str(&self.printed[&as_json(asked)]).unwrap());
        }
        let mut value = &self.parsed[asked];
        for part in path.split('/') {
            let found = match (value.as_array(), part.parse::<isize>()) {
                (Some(rows), Ok(index)) if index < 0 => {
                    rows.len().checked_add_signed(index).and_then(|at| rows.get(at))
                }
                (Some(rows), Ok(index)) => rows.get(index as usize),
                (Some(rows), Err(_)) => rows.iter().find(|row| {
                    let mut wanted = part.split(',').filter_map(|pair| pair.split_once('='));
                    wanted.all(|(key, text)| row[key].as_str() == Some(text))
                }),
                (None, _) => value.get(part),
            };
            value = found.unwrap_or_else(|| panic!("{asked}: no {part} of {path}"));
        }
        value.as_f64().unwrap_or_else(|| panic!("{asked}: {path} is {value}, no number"))
    }

    /// A marked value.
    fn value(&mut self, names: &HashMap<String, String>, marked: &str) -> (f64, Rounded) {
        let (mut value, mut operator, mut rounded) = (0.0, "+".to_string(), Rounded::Decimals);
        for word in words(marked) {
            match word.as_str() {
                "+" | "-" | "*" | "/" => operator = word,
                "up" => rounded = Rounded::Up,
                "down" => rounded = Rounded::Down,
                _ if word.starts_with('~') => rounded = Rounded::Digits(word[1..].parse().unwrap()),
                _ => {
                    let operand = word.parse().unwrap_or_else(|_| {
                        let (name, path) = word.split_once('/').unwrap_or_else(|| panic!("{word} is no path"));
                        let asked = names.get(name).unwrap_or_else(|| panic!("no run is called {name}"));
                        self.number(asked, path)
                    });
                    value = match operator.as_str() {
                        "+" => value + operand,
                        "-" => value - operand,
                        "*" => value * operand,
                        _ => value / operand,
                    };
                }
            }
        }
        (value, rounded)
    }
}

/// How a quoted number is rounded.
#[derive(Clone, Copy)]
enum Rounded {
    Decimals,
    Up,
    Down,
    Digits(i32),
}

/// The last number of a text that is no part of a word: where it stands.
fn last_number(text: &str) -> Option<std::ops::Range<usize>> {
    let mut end = text.len();
    loop {
        end = text[..end].rfind(|char: char| char.is_ascii_digit())? + 1;
        let kept = |char: char| char.is_ascii_digit() || char == '.' || char == ',';
        let start =
            text[..end].rfind(|char| !kept(char)).map_or(0, |at| at + text[at..].chars().next().unwrap().len_utf8());
        let start = start + text[start..end].find(|char: char| char.is_ascii_digit()).unwrap();
        match text[..start].chars().next_back() {
            Some(before) if before.is_alphanumeric() || before == '_' => end = start,
            Some(sign @ ('-' | '−' | '+')) => {
                let at = start - sign.len_utf8();
                let joins = text[..at].chars().next_back().is_some_and(|char| char.is_alphanumeric());
                return Some(if joins { start } else { at }..end);
            }
            _ => return Some(start..end),
        }
    }
}

/// A value written as a quoted number is: its decimals, its sign, its commas.
fn written(value: f64, like: &str, rounded: Rounded) -> String {
    let decimals = like.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let step = match rounded {
        Rounded::Digits(digits) => 10f64.powi(value.abs().log10().floor() as i32 + 1 - digits),
        _ => 10f64.powi(-(decimals as i32)),
    };
    let value = match rounded {
        Rounded::Up => (value / step - 1e-9).ceil() * step,
        Rounded::Down => (value / step + 1e-9).floor() * step,
        Rounded::Digits(_) => (value / step).round() * step,
        Rounded::Decimals => value,
    };
    let mut text = format!("{:.decimals$}", value.abs());
    if like.contains(',') || text.len() > 5 && decimals == 0 {
        let whole = text.find('.').unwrap_or(text.len());
        (1..whole).rev().filter(|at| (whole - at) % 3 == 0).for_each(|at| text.insert(at, ','));
    }
    let zero = !text.contains(|char: char| ('1'..='9').contains(&char));
    match like.chars().next() {
        _ if value < 0.0 && !zero => format!("{}{text}", if like.starts_with('−') { '−' } else { '-' }),
        Some('+') => format!("+{text}"),
        _ => text,
    }
}

/// The page as the program would have it now.
fn renewed(page: &str, runs: &mut Runs) -> String {
    let (mut names, mut out) = (HashMap::new(), Vec::new());
    let mut lines = page.lines().peekable();
    while let Some(line) = lines.next() {
        if let Some((name, asked)) = named(line, RUN) {
            names.insert(name.to_string(), asked.trim().to_string());
        }
        if let Some((asked, which)) = named(line, OUTPUT) {
            let (first, last) = which.split_once('-').unwrap();
            let [first, last] = [first, last].map(|number| number.parse::<usize>().unwrap());
            out.push(line.to_string());
            while lines.peek().is_some_and(|line| line.trim().is_empty()) {
                out.push(lines.next().unwrap().to_string());
            }
            let fence = lines.peek().filter(|line| line.starts_with("```")).copied();
            if fence.is_some() {
                out.extend(lines.next().map(String::from));
            }
            let inside = |line: &str| match fence {
                Some(_) => !line.starts_with("```"),
                None => line.trim().is_empty() || line.starts_with("    "),
            };
            let mut block = 0;
            while lines.next_if(|line| inside(line)).is_some() {
                block += 1;
            }
            assert!(block > 0, "no block after {line}");
            let printed = runs.printed[asked].lines().skip(first - 1).take(last + 1 - first);
            let indent = if fence.is_some() { "" } else { "    " };
            out.extend(printed.map(|line| format!("{indent}{line}").trim_end().to_string()));
            if fence.is_none() {
                out.push(String::new());
            }
            continue;
        }
        let (mut done, mut rest) = (String::new(), line);
        while let Some((before, after)) = rest.split_once("<!-- =") {
            let (marked, after) = after.split_once("-->").unwrap_or_else(|| panic!("no end of the mark: {line}"));
            let at = last_number(before).unwrap_or_else(|| panic!("no number before the mark {marked}: {line}"));
            let (value, rounded) = runs.value(&names, marked);
            let number = written(value, &before[at.clone()], rounded);
            done += &format!("{}{number}{}<!-- ={marked}-->", &before[..at.start], &before[at.end..]);
            rest = after;
        }
        out.push(done + rest);
    }
    out.join("\n") + "\n"
}

#[test]
fn quoted_numbers_are_those_of_the_program() {
    let pages = pages();
    let mut runs = Runs::of(&pages);
    let (mut wrong, mut marks) = (String::new(), 0);
    for (path, page) in pages {
        marks += page.matches("<!-- =").count() + page.matches("<!-- output:").count();
        let renewed = renewed(&page, &mut runs);
        if std::env::var_os("BLESS").is_some() && renewed != page {
            fs::write(&path, &renewed).unwrap();
        } else if renewed != page {
            let pairs = page.lines().zip(renewed.lines()).filter(|(was, is)| was != is);
            let pairs: String = pairs.map(|(was, is)| format!("  {was}\n  {is}\n")).collect();
            wrong += &format!("{}:\n{pairs}", path.display());
        }
    }
    assert!(wrong.is_empty(), "the page, and what the program says now:\n{wrong}");
    assert!(marks >= 100, "only {marks} quoted numbers are marked");
}

#[test]
fn the_number_before_a_mark_is_found_and_written_alike() {
    let number = |text: &str| last_number(text).map(|at| text[at].to_string());
    for (text, found) in [
        ("core **61.9 °C**", "61.9"),
        ("film 5880 W/(m2 K)", "5880"),
        ("138 to 10,300 W/(m2 K) ", "10,300"),
        ("off by −3.2 K", "−3.2"),
        ("between 3-4 m", "4"),
        ("it ends in 7.", "7"),
    ] {
        assert_eq!(number(text).as_deref(), Some(found), "{text}");
    }
    assert_eq!(number("no P1 here"), None);
    for (value, like, rounded, is) in [
        (61.86, "61.9", Rounded::Decimals, "61.9"),
        (-3.16, "−3.1", Rounded::Decimals, "−3.2"),
        (10287.0, "10,100", Rounded::Digits(3), "10,300"),
        (144.62, "145", Rounded::Down, "144"),
        (30.251, "30.26", Rounded::Up, "30.26"),
        (0.6, "+0.5", Rounded::Decimals, "+0.6"),
        (-0.02, "0.1", Rounded::Decimals, "0.0"),
    ] {
        assert_eq!(written(value, like, rounded), is);
    }
}
