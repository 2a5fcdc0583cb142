//! The study file: a base case, what varies in it, and what is kept of every sample.

mod axis;

#[cfg(test)]
mod tests;

use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use super::keys::{Key, Kind, Place, may, must};
use super::problem::{Problem, Problems};
use super::table::Table;
use super::words::kind_of;
use super::{finish, parse};
use crate::case::Case;
use crate::study::output::Output;
use crate::study::sweep::{MOST_SAMPLES, Method, Sweep};

/// Ways to combine the axes.
const METHODS: &[&str] = &["grid"];

/// The keys of a study file.
#[rustfmt::skip]
pub(super) const KEYS: &[Key] = &[
    may(Place::Study, "title", Kind::Text, "\"speed and length of the house wire\"", "what you call this study"),
    must(Place::Study, "case", Kind::Text, "\"../house-wire.toml\"", "the base case: a path from the study file's directory"),
    may(Place::Study, "method", Kind::Choice(METHODS), "\"grid\"", "how the axes are combined; absent: grid"),
    must(Place::Study, "outputs", Kind::Texts, "[\"capstan.core\", \"shrink.to_finished\"]", "numbers to keep of every sample, by name"),
    may(Place::Study, "block", Kind::Count(1, 1_000_000), "1000", "samples in a block: what an interrupted sweep loses at most, a worker; absent: by the number of samples"),
    must(Place::Study, "vary", Kind::Axes, "{ \"line.speed\" = { from = \"100 m/min\", to = \"300 m/min\", points = 20 } }", "the numbers of the case that vary, by key path"),
];

/// The base case's path as a study file has it, and where in its text.
///
/// Errors: the text is no TOML, or has no such path.
pub fn base_case(text: &str) -> Result<(String, Range<usize>), Vec<Problem>> {
    let document = parse(text).map_err(|problem| vec![problem])?;
    let mut problems = Problems::default();
    let root = Table::new(document.get_ref(), 0..0, Place::Study, String::new(), &mut Problems::default());
    let found = need(&root, "case", &mut problems)
        .and_then(|entry| Some((entry.text(&mut problems)?.to_string(), entry.value.span())));
    finish(found, problems)
}

/// Reads a study file; its base case was read before.
///
/// Errors: all problems of the text in its order; a text that is not TOML gives the first only.
///
/// ```
/// # let case = quenchway::input::read("line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\n\
/// # diameter = \"2 mm\"\ntemperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
/// # temperature = \"20 degC\"\n[[station]]\nname = \"capstan\"\nafter = \"trough\"").unwrap();
/// let text = r#"
/// case = "wire.toml"
/// outputs = ["capstan.core"]
/// [vary]
/// "line.speed" = { from = "100 m/min", to = "300 m/min", points = 5 }
/// "section.trough.length" = ["5 m", "10 m"]
/// "#;
/// let sweep = quenchway::input::study::read(text, &case).unwrap();
/// assert_eq!(sweep.shape(), [5, 2]);
/// let mut inputs = [0.0; 2];
/// sweep.inputs(3, &mut inputs);
/// assert_eq!(inputs, [2.5, 10.0]);
/// ```
pub fn read(text: &str, case: &Case) -> Result<Sweep, Vec<Problem>> {
    let document = parse(text).map_err(|problem| vec![problem])?;
    let mut problems = Problems::default();
    let root = Table::new(document.get_ref(), 0..0, Place::Study, String::new(), &mut problems);
    let sweep = read_root(&root, case, &mut problems);
    finish(sweep, problems)
}

fn read_root(root: &Table<'_>, case: &Case, problems: &mut Problems) -> Option<Sweep> {
    let title = match root.get("title") {
        Some(entry) => entry.text(problems).filter(|title| entry.check_name(title, problems)).map(str::to_string),
        None => Some(case.title.clone()),
    };
    need(root, "case", problems);
    let block = match root.get("block") {
        Some(entry) => entry.count(problems).map(|count| Some(count as u64)),
        None => Some(None),
    };
    let method = root.choice_or("method", 0, problems).map(|_| Method::Grid);
    let outputs = need(root, "outputs", problems).and_then(|entry| {
        let array = entry.array(problems)?;
        if array.is_empty() {
            entry.wrong(problems, "no outputs: nothing would be kept", "empty", entry.example());
        }
        let mut outputs: Vec<Output> = Vec::new();
        for item in array {
            if let Some(output) = read_output(item, case, problems) {
                if outputs.iter().any(|other| other.name == output.name) {
                    let message = format!("{} is asked for twice", output.name);
                    problems.add(&item.span(), "outputs", message, "second time", "keep one of them");
                }
                outputs.push(output);
            }
        }
        Some(outputs)
    });
    let axes = need(root, "vary", problems).and_then(|entry| axis::read_all(&entry, case, problems));
    let sweep = Sweep { title: title?, method: method?, axes: axes?, outputs: outputs?, block: block? };
    let samples = sweep.shape().iter().try_fold(1_u64, |product, &length| product.checked_mul(length as u64));
    if samples.is_none_or(|samples| samples > MOST_SAMPLES) {
        let message = format!("the grid has more than {MOST_SAMPLES} samples");
        problems.add_missing("vary", message, "give fewer points, or vary fewer numbers");
        return None;
    }
    Some(sweep)
}

/// A key that must be there; its absence is noted.
fn need<'a>(root: &Table<'a>, name: &str, problems: &mut Problems) -> Option<super::entry::Entry<'a>> {
    let entry = root.get(name);
    if entry.is_none()
        && !root.has(name)
        && let Some(key) = KEYS.iter().find(|key| key.name == name)
    {
        let message = format!("not given: {}", key.describes);
        problems.add_missing(name, message, format!("add {name} = {}", key.example));
    }
    entry
}

fn read_output(item: &Spanned<DeValue<'_>>, case: &Case, problems: &mut Problems) -> Option<Output> {
    let Some(name) = item.get_ref().as_str() else {
        let message = format!("{}, the name of an output was expected", kind_of(item.get_ref()));
        problems.add(&item.span(), "outputs", message, "not a text", "\"capstan.core\"");
        return None;
    };
    match Output::find(case, name) {
        Ok(output) => Some(output),
        Err(error) => {
            let help = match &error.near {
                Some(near) => format!("did you mean {near}?"),
                None => format!("there are {}", super::listed(error.known.iter(), "and")),
            };
            let message = format!("{} is no output of this case", super::quoted(name));
            problems.add(&item.span(), "outputs", message, "no such output", help);
            None
        }
    }
}
