//! The small words of every message: lists, quotations, names as keys, what may have been meant.

use toml::de::{DeTable, DeValue};

use super::excerpt;
use super::hidden;

/// "a, b or c".
pub(crate) fn listed(words: impl IntoIterator<Item = impl std::fmt::Display>, last: &str) -> String {
    let words: Vec<String> = words.into_iter().map(|word| word.to_string()).collect();
    match words.split_last() {
        Some((end, [])) => end.clone(),
        Some((end, rest)) => format!("{} {last} {end}", rest.join(", ")),
        None => String::new(),
    }
}

/// A piece of the user's text in quotation marks, cut short where it is long.
pub(crate) fn quoted(text: &str) -> String {
    format!("\"{}\"", excerpt(text))
}

/// A name as one step of a key path: quoted as in TOML where it is not a bare key.
pub fn key(name: &str) -> String {
    let bare = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if bare { name.to_string() } else { hidden::quoted(name) }
}

/// The steps of a dotted TOML key: the text is read as the key of a document with one value.
pub(crate) fn steps(text: &str) -> Option<Vec<String>> {
    const LONGEST: usize = 1000;
    if text.len() > LONGEST || text.contains(['\n', '\r']) {
        return None;
    }
    let document = format!("{text} = 0");
    let table = DeTable::parse(&document).ok()?;
    let mut steps = Vec::new();
    let mut entries = table.get_ref();
    loop {
        let mut iter = entries.iter();
        let (Some((step, value)), None) = (iter.next(), iter.next()) else { return None };
        steps.push(step.get_ref().to_string());
        match value.get_ref() {
            DeValue::Table(inner) => entries = inner,
            // A text with its own value and a comment would hide the value given to it here.
            _ if value.span().end == document.len() => return Some(steps),
            _ => return None,
        }
    }
}

/// The nearest of some names, if one is near enough to have been meant.
pub fn nearest<'a>(wrong: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A name is never as long as this; comparing a whole paragraph with every key would only take time.
    if wrong.len() > 100 {
        return None;
    }
    let wrong = wrong.to_lowercase();
    let begins = |name: &str| wrong.len() >= 3 && (name.starts_with(&wrong) || wrong.starts_with(name));
    names
        .into_iter()
        .map(|name| {
            let likeness = strsim::normalized_damerau_levenshtein(&wrong, &name.to_lowercase());
            (if begins(name) { likeness.max(0.61) } else { likeness }, name)
        })
        .filter(|(likeness, _)| *likeness > 0.6)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}
