//! A table of the case file under the reader's finger: its keys looked up, unknown and missing ones noted.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::entry::Entry;
use super::problem::Problems;
use super::words::kind_of;
use crate::case::Section;
use crate::names::keys::{self, Key, Place};
use crate::units;
use crate::units::words::key as key_step;
use crate::units::words::{listed, nearest, quoted};

/// A table of the case file.
pub(crate) struct Table<'a> {
    pub(crate) place: Place,
    /// Key path of the table.
    pub(crate) path: String,
    /// Where it begins in the text.
    pub(crate) span: Range<usize>,
    entries: &'a DeTable<'a>,
    /// Known keys that a misspelt key was probably meant to be: not reported as missing.
    excused: Vec<&'static str>,
}

impl<'a> Table<'a> {
    /// Takes up a table and notes its unknown keys.
    pub(crate) fn new(
        entries: &'a DeTable<'a>,
        span: Range<usize>,
        place: Place,
        path: String,
        problems: &mut Problems,
    ) -> Table<'a> {
        let mut table = Table { place, path, span, entries, excused: Vec::new() };
        for (key, _) in entries {
            let name = key.get_ref().as_ref();
            if keys::find(place, name).is_none() {
                table.note_unknown(name, &key.span(), problems);
            }
        }
        table
    }

    /// Takes up a value that must be a table.
    pub(crate) fn open(
        value: &'a Spanned<DeValue<'a>>,
        place: Place,
        path: String,
        problems: &mut Problems,
    ) -> Option<Table<'a>> {
        match value.get_ref() {
            DeValue::Table(entries) => Some(Table::new(entries, value.span(), place, path, problems)),
            other => {
                problems.add(
                    &value.span(),
                    &path,
                    format!("{}, a table was expected", kind_of(other)),
                    "not a table",
                    format!("give it its keys: {}", listed(keys::of(place).map(|key| key.name), "and")),
                );
                None
            }
        }
    }

    fn note_unknown(&mut self, name: &str, span: &Range<usize>, problems: &mut Problems) {
        let names = || keys::of(self.place).map(|key| key.name);
        let elsewhere = Place::ALL.into_iter().find(|place| keys::find(*place, name).is_some());
        let help = if let Some(near) = nearest(name, names()) {
            self.excused.push(near);
            let head = keys::find(self.place, near).map_or(String::new(), keys::head);
            format!("did you mean {head}?")
        } else if let Some(place) = elsewhere {
            format!("{name} is a key of {}", place.name())
        } else {
            format!("the keys of {} are {}", self.place.name(), listed(names(), "and"))
        };
        let path = self.path_of(&key_step(units::excerpt(name).as_ref()));
        problems.add(
            span,
            &path,
            format!("{} is not a key of {}", quoted(name), self.place.name()),
            "unknown key",
            help,
        );
    }

    /// Key path of what is in it.
    pub(super) fn path_of(&self, step: &str) -> String {
        if self.path.is_empty() { step.to_string() } else { format!("{}.{step}", self.path) }
    }

    /// A key that may be absent.
    pub(crate) fn get(&self, name: &str) -> Option<Entry<'a>> {
        let key = keys::find(self.place, name)?;
        let value = self.entries.get(name)?;
        Some(Entry { key, path: self.path_of(name), value })
    }

    /// Whether the key is there, or a misspelling of it.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.entries.contains_key(name) || self.excused.contains(&name)
    }

    /// A key that must be there; its absence is noted.
    pub(crate) fn need(&self, name: &str, problems: &mut Problems) -> Option<Entry<'a>> {
        let entry = self.get(name);
        if entry.is_none() && !self.has(name) {
            let example = keys::find(self.place, name).map_or("", |key| key.example);
            self.note_missing(name, &format!("{name} = {example}"), problems);
        }
        entry
    }

    /// Notes that something is missing from this table.
    pub(crate) fn note_missing(&self, what: &str, to_paste: &str, problems: &mut Problems) {
        problems.add(
            &self.span,
            &self.path,
            format!("the {what} is missing"),
            format!("no {what}"),
            format!("add {to_paste}"),
        );
    }

    /// A bare number, or its default.
    pub(crate) fn number_or(&self, name: &str, default: f64, problems: &mut Problems) -> Option<f64> {
        match self.get(name) {
            Some(entry) => entry.number(problems),
            None => Some(default),
        }
    }

    /// A value with its unit, or its default.
    pub(super) fn value_or(&self, name: &str, default: f64, problems: &mut Problems) -> Option<f64> {
        match self.get(name) {
            Some(entry) => entry.value(problems),
            None => Some(default),
        }
    }

    /// A value with its unit that may be absent: none where it is wrong.
    pub(super) fn value_if_any(&self, name: &str, problems: &mut Problems) -> Option<Option<f64>> {
        match self.get(name) {
            Some(entry) => entry.value(problems).map(Some),
            None => Some(None),
        }
    }

    /// Position of a word in its key's list, or the default.
    pub(crate) fn choice_or(&self, name: &str, default: usize, problems: &mut Problems) -> Option<usize> {
        match self.get(name) {
            Some(entry) => entry.choice(problems),
            None => Some(default),
        }
    }

    /// A name: any text that can stand on one line.
    pub(crate) fn name(&self, problems: &mut Problems) -> Option<String> {
        let entry = self.need("name", problems)?;
        let name = entry.text(problems)?;
        entry.check_name(name, problems).then(|| name.to_string())
    }
}

/// A table to paste: its head and the keys that it needs.
pub(crate) fn table_to_paste(key: &Key, place: Place) -> String {
    let body = keys::of(place)
        .filter(|key| key.required || key.name == "diameter" || (place == Place::Section && key.name == "temperature"));
    let lines = body.map(|key| format!("\n{} = {}", key.name, key.example));
    keys::head(key) + &lines.collect::<String>()
}

/// A section as far as it could be read: stations need names and lengths even where the rest is wrong.
pub(super) struct ReadSection {
    pub(super) name: Option<String>,
    /// m, of all passes and turn-rounds.
    pub(super) span: Option<f64>,
    pub(super) section: Option<Section>,
}
