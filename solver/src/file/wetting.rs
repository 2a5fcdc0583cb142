//! How the water of a section meets the circumference.

use super::entry::Entry;
use super::problem::Problems;
use super::table::Table;
use crate::case::{Medium, Shape};
use crate::film::{Pattern, Wetting};
use crate::units::words::listed;

/// The keys that say it, the three patterns first.
const KEYS: [&str; 5] = ["wetted", "poured", "one_sided", "turning", "dry_film"];
const PATTERNS: usize = 3;

/// The wetting of one section; none where something is wrong.
pub(super) fn read(
    table: &Table<'_>,
    medium: Option<Medium>,
    shape: Option<Shape>,
    problems: &mut Problems,
) -> Option<Wetting> {
    let given: Vec<Entry<'_>> = KEYS.iter().filter_map(|key| table.get(key)).collect();
    let Some(first) = given.first() else { return Some(Wetting::default()) };
    if medium == Some(Medium::Air) {
        let help = format!("take {} away here, or say medium = \"water\" or \"spray\"", first.key.name);
        first.wrong(problems, "air touches the product all round", "in air", help);
        return None;
    }
    if shape == Some(Shape::Flat) {
        let help = format!("take {} away: a flat product is cooled on both faces alike", first.key.name);
        first.wrong(problems, "a flat product has no circumference to wet in part", "flat product", help);
        return None;
    }
    let flag = |key: &str, problems: &mut Problems| match table.get(key) {
        Some(entry) => entry.flag(problems),
        None => Some(false),
    };
    let (poured, turning) = (flag("poured", problems)?, flag("turning", problems)?);
    let stands = |entry: &&Entry<'_>| entry.key.name != "poured" || poured;
    let patterns: Vec<&Entry<'_>> =
        given.iter().filter(|entry| KEYS[..PATTERNS].contains(&entry.key.name)).filter(stands).collect();
    if let [first, second, ..] = patterns[..] {
        let names = listed(patterns.iter().map(|entry| entry.key.name), "and");
        let message = format!("{names} are given together, water meets the product in one of these ways");
        second.wrong(problems, message, format!("beside {}", first.key.name), format!("keep one of {names}"));
        return None;
    }
    let dry_film = match table.get("dry_film") {
        Some(entry) if patterns.first().is_none_or(|pattern| pattern.key.name == "one_sided") => {
            let help = "say which part is wet, wetted = 0.5 or poured = true, or take dry_film away";
            entry.wrong(problems, "no part of the circumference is dry here", "nothing is dry", help);
            return None;
        }
        Some(entry) => Some(entry.value(problems)?),
        None => None,
    };
    let pattern = match patterns.first() {
        Some(entry) if entry.key.name == "wetted" => Pattern::Part(entry.number(problems)?),
        Some(entry) if entry.key.name == "one_sided" => Pattern::OneSided(entry.number(problems)?),
        Some(_) => Pattern::Poured,
        None => Pattern::AllRound,
    };
    Some(Wetting { pattern, turning, dry_film })
}
