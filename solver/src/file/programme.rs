//! What the line does over time: `[[line.change]]`, `[[accumulator]]`, `[[reel_change]]`.

use super::entry::Entry;
use super::entry::Written;
use super::problem::Problems;
use super::table::Table;
use super::words::shown;
use crate::case::CaseFile;
use crate::case::programme::{Accumulator, Change, End, Full, Programme, Ramp, ReelChange};
use crate::line::programme::{Motions, NotRecovered};
use crate::maths::order::sort_by_number;
use crate::names::keys::{self, Place};
use crate::units::Dimension;
use crate::units::words::{listed, nearest, quoted};

/// Most changes of speed, and of reel.
const MOST: usize = 1000;
/// The words of `place` in the order of the key table.
const ENDS: [End; 2] = [End::Exit, End::Entry];
const _: () = assert!(ENDS.len() == keys::ENDS.len());

/// The programme as read.
pub(super) struct Read {
    pub(super) programme: Programme,
    /// Where each reel change begins.
    pub(super) reel_changes: Vec<Written>,
}

/// Reads the programme; `length` is that of the line, m, where it is known.
pub(super) fn read(
    root: &Table<'_>,
    line: Option<&Table<'_>>,
    line_speed: Option<f64>,
    length: Option<f64>,
    problems: &mut Problems,
) -> Option<Read> {
    let of_line = line.map(|line| read_line(line, line_speed, length, problems));
    let accumulators = read_accumulators(root, problems);
    let reels = read_reels(root, accumulators.as_deref(), problems);
    let (reel_changes, written): (Vec<ReelChange>, Vec<Written>) = reels?.into_iter().unzip();
    let programme = Programme { accumulators: accumulators?, reel_changes, ..of_line.unwrap_or_default()? };
    Some(Read { programme, reel_changes: written })
}

/// What stands in `[line]`.
fn read_line(
    line: &Table<'_>,
    line_speed: Option<f64>,
    length: Option<f64>,
    problems: &mut Problems,
) -> Option<Programme> {
    let starts_empty = match line.get("starts_empty") {
        Some(entry) => entry.flag(problems),
        None => Some(false),
    };
    let starts_at = match line.get("starts_at") {
        Some(entry) => entry.value(problems).filter(|speed| started(&entry, *speed, starts_empty, problems)).map(Some),
        None => Some(None),
    };
    let crosshead = line.value_or("crosshead", 0.0, problems);
    let first = starts_at.and_then(|speed| speed.or(line_speed));
    let changes = read_changes(line, first, problems);
    let programme = Programme {
        starts_at: starts_at?,
        starts_empty: starts_empty?,
        crosshead: crosshead?,
        changes: changes?,
        ..Programme::default()
    };
    check_that_something_crosses(line, &programme, first?, length?, problems).then_some(programme)
}

/// A line that has always stood holds product that has always stood.
fn started(entry: &Entry<'_>, speed: f64, starts_empty: Option<bool>, problems: &mut Problems) -> bool {
    let right = speed > 0.0 || starts_empty != Some(false);
    if !right {
        let help = "give the speed at which the line has run, or starts_empty = true for a string-up";
        entry.wrong(problems, "before the programme the line would have stood for ever", "a standstill", help);
    }
    right
}

fn read_changes(line: &Table<'_>, first: Option<f64>, problems: &mut Problems) -> Option<Vec<Change>> {
    let tables = super::tables(line, "change", Place::Change, MOST, problems)?;
    super::check_unique(&tables, problems);
    let mut from = first;
    let mut changes = Vec::new();
    for table in &tables {
        let change = table.as_ref().map(|table| (read_change(table, from, problems), to_of(table)));
        from = change.as_ref().and_then(|(_, to)| *to);
        changes.push(change.and_then(|(change, _)| change));
    }
    changes.into_iter().collect()
}

/// The speed that a change leads to, so that the next one is checked even where this one is wrong.
fn to_of(table: &Table<'_>) -> Option<f64> {
    table.get("to")?.value(&mut Problems::default())
}

fn read_change(table: &Table<'_>, from: Option<f64>, problems: &mut Problems) -> Option<Change> {
    let name = table.name(problems);
    let after = table.value_or("after", 0.0, problems);
    let to = table.need("to", problems).and_then(|entry| entry.value(problems));
    let ramp = read_ramp(table, from.zip(to), problems);
    let hold = match table.get("hold") {
        Some(entry) => entry.value(problems).map(Some),
        None => Some(None),
    };
    if to == Some(0.0) && !table.has("hold") {
        table.note_missing(
            "hold of a standstill",
            "hold = \"60 s\": of itself nothing leaves a line that stands",
            problems,
        );
        return None;
    }
    Some(Change { name: name?, after: after?, to: to?, ramp: ramp?, hold: hold? })
}

/// The one way in which the new speed is reached.
fn read_ramp(table: &Table<'_>, ends: Option<(f64, f64)>, problems: &mut Problems) -> Option<Ramp> {
    let standstill = ends.is_some_and(|(from, to)| from != to && (from == 0.0 || to == 0.0));
    match (table.get("within"), table.get("rate")) {
        (Some(entry), None) => {
            let duration = entry.value(problems)?;
            if duration == 0.0 && standstill {
                let message = "a line does not jump to a standstill or from one";
                entry.wrong(problems, message, "no time", "give a braking time: within = \"5 s\"");
                return None;
            }
            Some(Ramp::Within(duration))
        }
        (None, Some(entry)) => match entry.either(problems)? {
            (0, acceleration) => Some(Ramp::Even(acceleration)),
            (_, rate) if !standstill => Some(Ramp::Percent(rate)),
            _ => {
                let message = "percents of a speed never lead to a standstill or from one";
                let help = "give an even rate: rate = \"30 m/min/s\", or a time: within = \"5 s\"";
                entry.wrong(problems, message, "a rate in percent", help);
                None
            }
        },
        (Some(_), Some(rate)) => {
            let message = "within and rate are both given, a change has one";
            rate.wrong(problems, message, "a second one", "keep one of within and rate");
            None
        }
        (None, None) => {
            if !table.has("within") && !table.has("rate") {
                let example = "within = \"60 s\", or rate = \"30 m/min/s\", or rate = \"1 %/s\"";
                table.note_missing("time or rate of the change", example, problems);
            }
            None
        }
    }
}

/// On a line that starts empty and ends at a standstill nothing may have come to its end.
fn check_that_something_crosses(
    line: &Table<'_>,
    programme: &Programme,
    first: f64,
    length: f64,
    problems: &mut Problems,
) -> bool {
    let Some(last) = programme.changes.last() else { return true };
    if !programme.starts_empty || last.to > 0.0 {
        return true;
    }
    let travelled = programme.travelled(first);
    let crosses = travelled >= length;
    if !crosses && let Some(entry) = line.get("change") {
        let metres = |value| shown(value, Dimension::Length);
        entry.wrong(
            problems,
            format!(
                "no metre crosses the line: it starts empty and stands after {}, and is {} long",
                metres(travelled),
                metres(length)
            ),
            "nothing arrives",
            "let the line run for longer, or end at a speed",
        );
    }
    crosses
}

/// Checks that each change of reel begins when the one before it has recovered: how fast the line runs says when.
pub(super) fn check(case: &CaseFile, reel_changes: &[Written], problems: &mut Problems) {
    let Err(NotRecovered { change, back }) = Motions::of(case) else { return };
    let Some(written) = reel_changes.get(change) else { return };
    let seconds = |value| shown(value, Dimension::Time);
    let (message, help) = if back.is_finite() {
        let when = format!("the content of the accumulator is back at {} only", seconds(back));
        (
            when,
            format!(
                "let this change begin later, or let the one before it catch up faster: at = \"{}\"",
                seconds((back + 1.0).ceil())
            ),
        )
    } else {
        ("the content of the accumulator never comes back from the change before".to_string(), {
            "let the line run on at a speed, or take this change away".to_string()
        })
    };
    problems.add(&written.span, &written.path, message, "too soon", help);
}

fn read_accumulators(root: &Table<'_>, problems: &mut Problems) -> Option<Vec<Accumulator>> {
    let tables = super::tables(root, "accumulator", Place::Accumulator, MOST, problems)?;
    super::check_unique(&tables, problems);
    let mut taken: Vec<End> = Vec::new();
    let accumulators: Vec<Option<Accumulator>> =
        tables.iter().map(|table| read_accumulator(table.as_ref()?, &mut taken, problems)).collect();
    accumulators.into_iter().collect()
}

fn read_accumulator(table: &Table<'_>, taken: &mut Vec<End>, problems: &mut Problems) -> Option<Accumulator> {
    let name = table.name(problems);
    let place = table.need("place", problems).and_then(|entry| {
        let place = ENDS[entry.choice(problems)?];
        if taken.contains(&place) {
            let message = format!("there is an accumulator at the {} already", place.name());
            entry.wrong(problems, message, "a second one", "give both together as one: the sum of their capacities");
            return None;
        }
        taken.push(place);
        Some(place)
    });
    let capacity = table.need("capacity", problems).and_then(|entry| entry.value(problems));
    let reserve = table
        .value_or("reserve", 0.0, problems)
        .and_then(|reserve| at_most(table, "reserve", reserve, capacity, "the capacity", problems));
    let content = content(table, place, capacity, reserve, problems);
    let brake = match table.get("brake") {
        Some(entry) => entry.value(problems).map(Some),
        None => Some(None),
    };
    let full = match (table.choice_or("full", 0, problems)?, brake?) {
        (0, _) => Some(Full::Report),
        (1, Some(brake)) => Some(Full::Slow(brake)),
        (_, Some(brake)) => Some(Full::Stop(brake)),
        (_, None) => {
            table.need("brake", problems);
            None
        }
    };
    Some(Accumulator {
        name: name?,
        place: place?,
        capacity: capacity?,
        content: content?,
        reserve: reserve?,
        full: full?,
    })
}

/// The content, within what the reserve leaves.
fn content(
    table: &Table<'_>,
    place: Option<End>,
    capacity: Option<f64>,
    reserve: Option<f64>,
    problems: &mut Problems,
) -> Option<f64> {
    let (place, capacity) = (place?, capacity?);
    let Some(entry) = table.get("content") else {
        return Some(if place == End::Exit { 0.0 } else { capacity - reserve? });
    };
    let content = at_most(table, "content", entry.value(problems)?, Some(capacity), "the capacity", problems)?;
    let reserve = reserve?;
    let (wrong, what) = match place {
        End::Exit => (content > capacity - reserve, "room"),
        End::Entry => (content < reserve, "content"),
    };
    if wrong {
        let metres = |value| shown(value, Dimension::Length);
        let message = format!("a content of {} leaves less {what} than the reserve", metres(content));
        let [low, high] = if place == End::Exit { [0.0, capacity - reserve] } else { [reserve, capacity] };
        let help = format!("content takes {} to {} here", metres(low), metres(high));
        entry.wrong(problems, message, "no room", help);
        return None;
    }
    Some(content)
}

/// The value, if it is no more than what bounds it.
fn at_most(
    table: &Table<'_>,
    key: &str,
    value: f64,
    most: Option<f64>,
    whose: &str,
    problems: &mut Problems,
) -> Option<f64> {
    let most = most?;
    if value > most
        && let Some(entry) = table.get(key)
    {
        let metres = |value| shown(value, Dimension::Length);
        let message = format!("a {key} of {} is more than {whose} of {}", metres(value), metres(most));
        entry.wrong(problems, message, "too much", format!("{key} takes 0 m to {} here", metres(most)));
        return None;
    }
    Some(value)
}

fn read_reels(
    root: &Table<'_>,
    accumulators: Option<&[Accumulator]>,
    problems: &mut Problems,
) -> Option<Vec<(ReelChange, Written)>> {
    let tables = super::tables(root, "reel_change", Place::ReelChange, MOST, problems)?;
    let changes: Vec<Option<(ReelChange, Written)>> = tables
        .iter()
        .map(|table| {
            let table = table.as_ref()?;
            let accumulator =
                table.need("accumulator", problems).and_then(|entry| find(&entry, accumulators?, problems));
            let mut need = |name| table.need(name, problems).and_then(|entry| entry.value(problems));
            let (at, brake, standstill, start) = (need("at"), need("brake"), need("standstill"), need("start"));
            let catch_up = table.need("catch_up", problems).and_then(|entry| entry.number(problems));
            let change = ReelChange {
                accumulator: accumulator?,
                at: at?,
                brake: brake?,
                standstill: standstill?,
                start: start?,
                catch_up: catch_up?,
            };
            Some((change, Written::of(&table.get("at")?)))
        })
        .collect();
    let mut changes: Vec<(ReelChange, Written)> = changes.into_iter().collect::<Option<_>>()?;
    sort_by_number(&mut changes, |(change, _)| change.at);
    Some(changes)
}

fn find(entry: &Entry<'_>, accumulators: &[Accumulator], problems: &mut Problems) -> Option<usize> {
    let name = entry.text(problems)?;
    let names = || accumulators.iter().map(|accumulator| accumulator.name.as_str());
    let position = names().position(|known| known == name);
    if position.is_none() {
        let help = match nearest(name, names()) {
            Some(near) => format!("did you mean {}?", quoted(near)),
            None if accumulators.is_empty() => "describe it: [[accumulator]] with name, place, capacity".to_string(),
            None => format!("the accumulators are {}", listed(names().map(quoted), "and")),
        };
        entry.wrong(problems, format!("there is no accumulator {}", quoted(name)), "unknown accumulator", help);
    }
    position
}
