//! What limits the cooling, in words with their number, and water that does not touch all round.

use quenchway::case::{CaseFile, Section};
use quenchway::film::Pattern;
use quenchway::march::solution::{Cooling, Doubled, LimitedBy, SectionReport, Solution};
use quenchway::units::Dimension;

use super::blocks::{Block, Mark};
use super::clean;
use crate::shown::Shown;

/// What limits the cooling and what would therefore help; nothing where nobody looked.
pub fn advice(case: &CaseFile, cooling: Option<&Cooling>) -> Option<String> {
    let cooling = cooling?;
    let wet = case.sections.iter().any(|section| section.medium.is_water());
    let mut text = sentence(&cooling.now, wet);
    if let Some(low) = &cooling.low {
        let worth =
            worth(low).map_or(String::new(), |worth| format!(", doubling it is worth {worth} more {}", way(wet)));
        text += &format!(" With the film at the low end of its band {}{worth}.", clause(low.limited_by));
    }
    Some(text)
}

/// The judgement with its number, and what helps.
fn sentence(doubled: &Doubled, wet: bool) -> String {
    let flow = if wet { "flow or spray" } else { "air" };
    let colder = if wet { "colder water" } else { "colder air" };
    let worth = worth(doubled).unwrap_or_default();
    let worth = format!("doubling the film is worth {worth} more {}", way(wet));
    let others = format!("Length, lower speed and {colder} help");
    let opening = opening(doubled.limited_by);
    match doubled.limited_by {
        LimitedBy::Plastic => format!("{opening}: {worth}. {others} more."),
        LimitedBy::MostlyPlastic => format!("{opening}; more {flow} helps some: {worth}. {others} more."),
        LimitedBy::Both => format!("{opening}: {worth}. {others}, too."),
        LimitedBy::Film => {
            let flow = if wet { "flow, cross-flow or spray" } else { flow };
            format!("{opening}: more {flow} helps first: {worth}. {others}, too.")
        }
        LimitedBy::Neither => format!("{opening} {} changes the temperature that decides.", way(wet)),
    }
}

/// The judgement as a clause.
fn clause(by: LimitedBy) -> &'static str {
    match by {
        LimitedBy::Plastic => "the plastic limits it",
        LimitedBy::MostlyPlastic => "it is mostly the plastic",
        LimitedBy::Both => "film and plastic share it",
        LimitedBy::Film => "the film limits it",
        LimitedBy::Neither => "neither changes anything",
    }
}

/// The words with which the judgement begins, which a report may stress.
pub fn opening(by: LimitedBy) -> &'static str {
    match by {
        LimitedBy::Plastic => "The plastic limits the cooling",
        LimitedBy::MostlyPlastic => "Mostly the plastic limits the cooling",
        LimitedBy::Both => "Film and plastic share the cooling",
        LimitedBy::Film => "The film limits the cooling",
        LimitedBy::Neither => "Neither the film nor more",
    }
}

fn way(wet: bool) -> &'static str {
    if wet { "trough" } else { "line" }
}

/// "4 %", "less than 1 %", "at least 100 %".
fn worth(doubled: &Doubled) -> Option<String> {
    let percent = 100.0 * doubled.worth?;
    Some(match percent {
        percent if percent < 1.0 => "less than 1 %".to_string(),
        percent if percent >= 99.5 => "at least 100 %".to_string(),
        percent => format!("{percent:.0} %"),
    })
}

/// What water that does not touch all round does, section by section.
pub fn around(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let sections = case.sections.iter().zip(&solution.sections);
    sections
        .filter_map(|(section, report)| of_section(section, report, shown))
        .map(|text| Block::words(Mark::None, text))
        .collect()
}

fn of_section(section: &Section, report: &SectionReport, shown: Shown) -> Option<String> {
    let (around, hot_side) = (report.around?, report.exit.hot_side?);
    let name = clean(&section.name);
    let film = |value: f64| shown.with_unit(value, Dimension::FilmCoefficient);
    let celsius = |value: f64| {
        let (value, unit) = (shown.value(value, Dimension::Temperature), shown.unit(Dimension::Temperature));
        format!("{value:.0} {unit}")
    };
    let (touches, where_wet, side) = match section.wetting.pattern {
        Pattern::AllRound => return None,
        Pattern::Part(part) => (
            format!("Water touches {:.0} % of the circumference in \"{name}\"", 100.0 * part),
            "on the wet part",
            "dry side",
        ),
        Pattern::Poured => {
            (format!("Streams from above run down the product in \"{name}\""), "in the mean around", "under side")
        }
        Pattern::OneSided(ratio) => (
            format!("One side of the product has {ratio} times the film of the other in \"{name}\""),
            "in the mean around",
            "far side",
        ),
    };
    let mut text = format!(
        "{touches}: at its end it cools like a film of {} all round. The film {where_wet} is {}. The {side} leaves it at about \
         {}, the mean surface at {}.",
        film(around.all_round),
        film(around.film),
        celsius(hot_side),
        celsius(report.exit.surface),
    );
    // Half of what the water could do all round is lost: no film on the wet side brings it back.
    if around.all_round < 0.5 * around.film {
        text += " What the water misses cools through the plastic of its wet side: wetting it all round or turning it helps.";
    }
    text += " The places where a layer sets are those of the mean; the hot side sets later.";
    Some(text)
}
