//! The study file: a base case, what varies in it, and what is kept of every sample.

mod axis;

#[cfg(test)]
mod tests;

use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use crate::case::CaseFile;
use crate::file::problem::{Problem, Problems};
use crate::file::table::Table;
use crate::file::words::kind_of;
use crate::file::{finish, parse};
use crate::march::output::{Output, SEARCHES, of_drive};
use crate::maths::sample::{self, Sampler};
use crate::names::keys::{self, METHODS, Place};
use crate::study::sweep::fields::kept;
use crate::study::sweep::{MOST_SAMPLES, Method, Sweep};
use crate::units::words::nearest;

/// Tables that every case file has and no study file.
const OF_A_CASE: [&str; 2] = ["layer", "section"];
/// Most blocks of a study.
const MOST_BLOCKS: u64 = 1_000_000;

/// The base case's path as a study file has it, and where in its text.
///
/// # Errors
///
/// The text is no TOML, or has no such path.
pub fn base_case(text: &str) -> Result<(String, Range<usize>), Vec<Problem>> {
    let document = parse(text).map_err(|problem| vec![problem])?;
    let (mut problems, mut unknown) = (Problems::default(), Problems::default());
    let root = Table::new(document.get_ref(), 0..0, Place::Study, String::new(), &mut unknown);
    if !root.has("case")
        && let Some((table, _)) = document.get_ref().iter().find(|(key, _)| OF_A_CASE.contains(&key.get_ref().as_ref()))
    {
        let help = "write a study file with case, outputs and [vary], or use run, which computes one case";
        problems.add(&table.span(), "", "this is a case file, no study", "this stands in a case file", help);
        return Err(problems.sorted());
    }
    let found = need(&root, "case", &mut problems)
        .and_then(|entry| Some((entry.text(&mut problems)?.to_string(), entry.value.span())));
    // A misspelt key is not missing: the keys that are unknown tell it.
    let misspelt = found.is_none() && problems.is_empty();
    finish(found, if misspelt { unknown } else { problems })
}

/// Reads a study file; its base case was read before.
///
/// # Errors
///
/// All problems of the text in its order; a text that is not TOML gives the first only.
///
/// ```
/// # let case = quenchway::file::read("line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\n\
/// # diameter = \"2 mm\"\ntemperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
/// # temperature = \"20 degC\"\n[[station]]\nname = \"capstan\"\nafter = \"trough\"").unwrap();
/// let text = r#"
/// case = "wire.toml"
/// outputs = ["capstan.core"]
/// [vary]
/// "line.speed" = { from = "100 m/min", to = "300 m/min", points = 5 }
/// "section.trough.length" = ["5 m", "10 m"]
/// "#;
/// let sweep = quenchway::study::sweep::file::read(text, &case).unwrap();
/// assert_eq!(sweep.shape(), [5, 2]);
/// let mut inputs = [0.0; 2];
/// sweep.inputs(3, &mut inputs);
/// assert_eq!(inputs, [2.5, 10.0]);
/// ```
pub fn read(text: &str, case: &CaseFile) -> Result<Sweep, Vec<Problem>> {
    let document = parse(text).map_err(|problem| vec![problem])?;
    let mut problems = Problems::default();
    let root = Table::new(document.get_ref(), 0..0, Place::Study, String::new(), &mut problems);
    let sweep = read_root(&root, case, &mut problems);
    finish(sweep, problems)
}

fn read_root(root: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> Option<Sweep> {
    let title = match root.get("title") {
        Some(entry) => entry.text(problems).filter(|title| entry.check_name(title, problems)).map(str::to_string),
        None => Some(case.title.clone()),
    };
    need(root, "case", problems);
    let block = match root.get("block") {
        Some(entry) => entry.count(problems).map(|count| Some(count as u64)),
        None => Some(None),
    };
    let method = root.choice_or("method", 0, problems).map(|word| sample::Method::named(METHODS[word]));
    let fields = match root.get("fields") {
        Some(entry) => entry.choices(problems).map(|positions| kept(&positions)),
        None => Some(Vec::new()),
    };
    let outputs = need(root, "outputs", problems).and_then(|entry| {
        let array = entry.array(problems)?;
        if array.is_empty() {
            entry.wrong(problems, "no outputs: nothing would be kept", "empty", entry.example());
        }
        let mut outputs: Vec<Output> = Vec::new();
        for item in array {
            if let Some(output) = read_output(item, case, problems) {
                if outputs.iter().any(|other| other.name == output.name) {
                    let message = format!("{} stands twice", output.name);
                    problems.add(&item.span(), "outputs", message, "second time", "keep one of them");
                }
                outputs.push(output);
            }
        }
        Some(outputs)
    });
    let sampled = method.flatten();
    let axes = need(root, "vary", problems).and_then(|entry| {
        axis::read_all(&entry, case, outputs.as_deref().unwrap_or_default(), sampled.is_some(), problems)
    });
    let method = match sampled {
        Some(method) => sampler(root, method, axes.as_ref().map_or(1, Vec::len), problems),
        None => {
            for name in ["samples", "seed"] {
                if let Some(entry) = root.get(name) {
                    let message =
                        format!("{name} goes with a sampled study: a grid has as many samples as its axes give");
                    entry.wrong(problems, message, "not with a grid", "method = \"sobol\"");
                }
            }
            Some(Method::Grid)
        }
    };
    let sweep =
        Sweep { title: title?, method: method?, axes: axes?, outputs: outputs?, fields: fields?, block: block? };
    let samples = sweep.shape().iter().try_fold(1_u64, |product, &length| product.checked_mul(length as u64));
    if samples.is_none_or(|samples| samples > MOST_SAMPLES) {
        let message = format!("the grid has more than {MOST_SAMPLES} samples");
        problems.add_missing("vary", message, "give fewer points, or vary fewer numbers");
        return None;
    }
    if sweep.blocks() > MOST_BLOCKS {
        let least = sweep.samples().div_ceil(MOST_BLOCKS);
        let message = format!("{} blocks, {MOST_BLOCKS} are possible", sweep.blocks());
        problems.add_missing("block", message, format!("block = {}", least.next_power_of_two()));
    }
    Some(sweep)
}

/// What lays the samples out.
fn sampler(root: &Table<'_>, method: sample::Method, dimensions: usize, problems: &mut Problems) -> Option<Method> {
    let seed = match root.get("seed") {
        Some(entry) => entry.count(problems),
        None => Some(1),
    };
    let samples = match root.get("samples") {
        Some(entry) => entry.count(problems),
        None => {
            let help = "add samples = 65536 (for sobol best a power of two)";
            problems.add_missing("samples", "not given: how many samples are laid out", help);
            None
        }
    };
    let (seed, samples) = (seed? as u64, samples? as u64);
    match Sampler::new(method, seed, samples, dimensions) {
        Ok(sampler) => Some(Method::Sampled { sampler, seed }),
        Err(error) => {
            problems.add_missing("method", error.to_string(), "method = \"latin-hypercube\"");
            None
        }
    }
}

/// A key that must be there; its absence is noted.
fn need<'a>(root: &Table<'a>, name: &str, problems: &mut Problems) -> Option<crate::file::entry::Entry<'a>> {
    let entry = root.get(name);
    if entry.is_none()
        && !root.has(name)
        && let Some(key) = keys::find(Place::Study, name)
    {
        let message = format!("not given: {}", key.describes);
        problems.add_missing(name, message, format!("add {name} = {}", key.example));
    }
    entry
}

fn read_output(item: &Spanned<DeValue<'_>>, case: &CaseFile, problems: &mut Problems) -> Option<Output> {
    let Some(name) = item.get_ref().as_str() else {
        let message = format!("{}, the name of an output was expected", kind_of(item.get_ref()));
        problems.add(&item.span(), "outputs", message, "not a text", "\"capstan.core\"");
        return None;
    };
    if let Some(output) = Output::search(name).or_else(|| Output::driven(case, name)) {
        return Some(output);
    }
    match Output::find(case, name) {
        Ok(output) => Some(output),
        Err(error) => {
            let driven: Vec<String> = of_drive(case).into_iter().map(|output| output.name).collect();
            let searches = || SEARCHES.iter().map(|search| search.0).chain(driven.iter().map(String::as_str));
            let help = match error.near.as_deref().or_else(|| nearest(name, searches())) {
                Some(near) => format!("did you mean {near}?"),
                None => {
                    let known = error.known.iter().map(String::as_str).chain(searches());
                    format!("there are {}", crate::units::words::listed(known, "and"))
                }
            };
            let message = format!("{} is no output of this case", crate::units::words::quoted(name));
            problems.add(&item.span(), "outputs", message, "no such output", help);
            None
        }
    }
}
