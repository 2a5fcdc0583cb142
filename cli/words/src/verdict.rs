//! Whether the line does what it must, what decides that, and what would help.

use quenchway::case::CaseFile;
use quenchway::march::diameters::{DiameterLimit, diameter_limits};
use quenchway::march::solution::{LimitReport, Solution, StationReport};
use quenchway::maths::order::sort_by_number;
use quenchway::study::search::ceilings::{Ceiling, of_layers};
use quenchway::units::Dimension;

use super::blocks::{Block, Mark, Tone};
use super::design::{amount, words};
use super::{band, clean, cooling};
use crate::shown::Shown;

/// A limit with its station.
type Judged<'a> = (&'a StationReport, &'a LimitReport);

/// The verdict: whether its numbers are as exact as was asked for, then the limits, worst first.
pub fn verdict(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let mut blocks: Vec<Block> = inexact(solution, shown).into_iter().collect();
    blocks.extend(judged(case, solution, shown));
    blocks
}

/// That the tolerance was missed; nothing where it was met.
fn inexact(solution: &Solution, shown: Shown) -> Option<Block> {
    let numerics = &solution.numerics;
    if numerics.tolerance_met() {
        return None;
    }
    let kelvin = |value: f64| significant(shown.value(value, Dimension::TemperatureDifference));
    let (unit, stressed) = (shown.unit(Dimension::TemperatureDifference), "LESS EXACT THAN WANTED");
    let text = format!(
        "{stressed}: the temperatures below may be off by {} {unit}; solver.tolerance is {} {unit}.",
        kelvin(numerics.error),
        kelvin(numerics.tolerance),
    );
    Some(Block::stressed(Mark::None, text, Tone::Bad, stressed))
}

/// The limits, worst first.
fn judged(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let limits = worst_first(solution);
    let missed = limits.iter().filter(|(_, limit)| !limit.met).count();
    // Limits of something else than a temperature, in words, and whether they are met.
    let melt = |ceiling: Ceiling| {
        let [value, max] = [ceiling.value(case, solution), ceiling.max].map(|value| amount(&ceiling, value, shown));
        (ceiling.excess(case, solution) <= 0.0, format!("{} is {value}, its limit {max}", words(case, &ceiling)))
    };
    let sizes = diameter_limits(case, solution);
    let others =
        of_layers(case).into_iter().map(melt).chain(sizes.iter().map(|size| (size.met, diameter(size, shown))));
    let (others_met, others_missed): (Vec<_>, Vec<_>) = others.partition(|(met, _)| *met);
    let not_met =
        |(_, state): &(bool, String)| Block::stressed(Mark::None, format!("NOT MET: {state}."), Tone::Bad, "NOT MET");
    let is_met = |(_, state): &(bool, String)| plain(format!("Met: {state}."));
    let Some(&decisive) = limits.first() else {
        if !(others_met.is_empty() && others_missed.is_empty()) {
            let met = others_met.iter().map(is_met);
            return others_missed.iter().map(not_met).chain(met).chain(advice(case, solution, shown)).collect();
        }
        let text = "no limit is set, so there is nothing to judge: give a station surface_max, core_max, mean_max, \
                    hottest_max, equalised_max or layer_max.";
        return std::iter::once(plain(text)).chain(advice(case, solution, shown)).collect();
    };
    let mut blocks = Vec::new();
    let (all, all_missed) = (limits.len() + others_met.len() + others_missed.len(), missed + others_missed.len());
    if all_missed == 0 {
        let count = if all == 1 { "THE LIMIT IS MET" } else { "ALL LIMITS ARE MET" };
        let text = format!("{count}: {}; this one decides.", state(case, decisive, shown));
        blocks.push(Block::stressed(Mark::None, text, Tone::Good, count));
    }
    for (i, &judged) in limits[..missed].iter().enumerate() {
        let decides = if i == 0 && limits.len() > 1 { "; this one decides" } else { "" };
        let text = format!("NOT MET: {}{decides}.", state(case, judged, shown));
        blocks.push(Block::stressed(Mark::None, text, Tone::Bad, "NOT MET"));
    }
    blocks.extend(others_missed.iter().map(not_met));
    if all_missed > 0 && all_missed < all {
        let others = all - all_missed;
        let (noun, verb) = if others == 1 { ("limit", "is") } else { ("limits", "are") };
        blocks.push(plain(format!("{others} other {noun} {verb} met.")));
    }
    if decisive.1.margin.abs() < solution.numerics.error {
        let error = significant(shown.value(solution.numerics.error, Dimension::TemperatureDifference));
        let unit = shown.unit(Dimension::TemperatureDifference);
        blocks.push(plain(format!("That margin is within the numerical error of {error} {unit}.")));
    }
    if let Some(found) = band::of(solution, decisive.0, decisive.1) {
        blocks.push(plain(band::sentences(found, decisive.1.limit, shown)));
    }
    for &(station, limit) in limits[1..].iter().filter(|(_, limit)| limit.met) {
        let unsure = band::of(solution, station, limit).filter(|found| found.high > limit.limit);
        let doubt = unsure.map(|found| {
            let high = shown.with_unit(found.high, Dimension::Temperature);
            format!(
                "Not sure either: {}, but up to {high} within that uncertainty.",
                state(case, (station, limit), shown)
            )
        });
        blocks.extend(doubt.map(plain));
    }
    blocks.extend(others_met.iter().map(is_met));
    blocks.extend(advice(case, solution, shown));
    blocks
}

/// A margin below this, K, is not judged while a number moves: quick numbers are less exact.
const CLOSE: f64 = 0.5;

/// The limit that decides, while a number moves: a quick answer judges nothing.
pub fn moving(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let mut words = match worst_first(solution).first() {
        None => "While the numbers move: no station has a limit of a temperature.".to_string(),
        Some(&decisive) if decisive.1.margin.abs() < CLOSE => {
            format!("While the numbers move: {}, too close to tell.", state(case, decisive, shown))
        }
        Some(&decisive) => format!("While the numbers move: {}.", state(case, decisive, shown)),
    };
    words += " A careful answer follows.";
    vec![plain(words)]
}

/// "diameter at "hot gauge" is 3.388 mm, 0.012 mm below the 3.400 mm that it may have at most".
fn diameter(limit: &DiameterLimit, shown: Shown) -> String {
    let size = |metres: f64| shown.with_unit(metres, Dimension::Diameter);
    let most = limit.name == "diameter_max";
    let side = if most == limit.met { "below" } else { "above" };
    format!(
        "diameter at \"{}\" is {}, {} {side} the {} that it may have at {}",
        clean(&limit.station),
        size(limit.value),
        size(limit.margin.abs()),
        size(limit.limit),
        if most { "most" } else { "least" },
    )
}

/// Every limit, the one with the least margin first.
fn worst_first(solution: &Solution) -> Vec<Judged<'_>> {
    let mut limits: Vec<Judged> =
        solution.stations.iter().flat_map(|station| station.limits.iter().map(move |limit| (station, limit))).collect();
    sort_by_number(&mut limits, |(_, limit)| limit.margin);
    limits
}

/// What the deciding limit's temperature changes with; nothing without a limit or without bands.
pub fn contributors(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let decisive = worst_first(solution).into_iter().next();
    let found = decisive.and_then(|(station, limit)| Some((band::of(solution, station, limit)?, limit)));
    found.map_or(Vec::new(), |(found, limit)| {
        band::contributors(solution, found, &super::run::limited(case, limit), shown)
    })
}

/// "core at "capstan" is 64.2 degC, 4.2 K above its limit of 60 degC".
fn state(case: &CaseFile, (station, limit): Judged, shown: Shown) -> String {
    let side = if limit.met { "below" } else { "above" };
    format!(
        "{} at \"{}\" is {}, {} {side} its limit of {}",
        super::run::limited(case, limit),
        clean(&station.name),
        shown.with_unit(limit.value, Dimension::Temperature),
        shown.with_unit(limit.margin.abs(), Dimension::TemperatureDifference),
        shown.limit(limit.limit),
    )
}

/// What limits the cooling and what would therefore help, and what water does that does not touch all round.
fn advice(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let limiting = cooling::advice(case, solution.cooling.as_ref()).map(plain);
    limiting.into_iter().chain(cooling::around(case, solution, shown)).collect()
}

/// A paragraph of the verdict.
fn plain(text: impl Into<String>) -> Block {
    Block::words(Mark::None, text)
}

/// Two significant digits.
pub fn significant(value: f64) -> String {
    if !(value.is_finite() && value != 0.0) {
        return format!("{value}");
    }
    let decimals = (1 - value.abs().log10().floor() as i32).max(0) as usize;
    format!("{value:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::significant;

    #[test]
    fn two_digits_are_significant() {
        assert_eq!(significant(0.00432), "0.0043");
        assert_eq!(significant(0.01), "0.010");
        assert_eq!(significant(12.3), "12");
        assert_eq!(significant(0.0), "0");
    }
}
