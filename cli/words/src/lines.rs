//! What the report says in lines: shrink and set-point, where the plastic sets, the reel, throughput.

use quenchway::case::{CaseFile, Shape};
use quenchway::march::skins;
use quenchway::march::solution::Solution;
use quenchway::units::Dimension;

use super::blocks::{Block, Mark, Tone};
use super::clean;
use super::tables::across;
use crate::shown::Shown;

/// What the melt's shrink usually is; the numbers are those of the program's own cases.
const MELT_SHRINK_SCALE: &str = "What the melt has to lose in the cases of this program: soft PVC 1.3 to 3.3 %, polyethylene 8.6 to 13.4 %. \
     More than 10 % under a wall of more than 1.5 mm can leave voids (common practice, no source).";

/// The temperature at which a product counts as finished, degC.
const FINISHED: f64 = 23.0;

/// Diameters from the hot gauge to 23 degC, the set-point, the strain frozen in.
pub fn shrink(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let shrink = &solution.shrink;
    let what = if case.shape == Shape::Flat { "thickness" } else { "diameter" };
    let (hot, cold) = (clean(&shrink.hot_gauge_station), clean(&shrink.cold_gauge_station));
    let finished = format!("at {}", shown.limit(FINISHED));
    let hot_name = format!("hot gauge (\"{hot}\")");
    let cold_name = format!("cold gauge (\"{cold}\")");
    let row = |name: String, diameter: f64, percent: Option<f64>| {
        let mut row = vec![name, shown.with_unit(diameter, Dimension::Diameter)];
        row.extend(percent.map(|percent| format!("{:+.2} %", 0.0 - percent)));
        row
    };
    let rows = vec![
        row(hot_name, shrink.hot_gauge, None),
        row(cold_name, shrink.cold_gauge, Some(shrink.to_cold_gauge)),
        row(finished.clone(), shrink.finished, Some(shrink.to_finished)),
    ];
    let set_point = format!(
        "Set-point: the hot gauge must read {:.4} times, the cold gauge {:.4} times the {what} wanted {finished}.",
        shrink.hot_gauge / shrink.finished,
        shrink.cold_gauge / shrink.finished,
    );
    let mut blocks = vec![Block::Lines(rows), Block::words(Mark::Indent, set_point)];
    if shrink.frozen_axial > 0.0 {
        let strain = format!(
            "Axial strain frozen into the plastic: {:.2} %; draw-down adds to it, so shrink-back is at least this.",
            shrink.frozen_axial
        );
        blocks.push(Block::words(Mark::Indent, strain));
    }
    blocks
}

/// From where on the diameter of a thick layer is approximate.
pub fn skins(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let Ok(radii) = quenchway::case::shrink::radii(case) else { return Vec::new() };
    let mut blocks = Vec::new();
    for (index, layer) in case.layers.iter().enumerate() {
        let skin = solution.skins.iter().find(|skin| skin.layer == layer.name);
        let Some(metres) = skin.filter(|skin| skin.melt_shrink > Some(0.0)).and_then(|skin| skin.distance) else {
            continue;
        };
        if skins::is_thick(case, &radii, index) {
            let line = format!(
                "{}: thick. After {} its set skin does not follow all of the melt's shrink, so diameters are approximate.",
                clean(&layer.name),
                shown.with_unit(metres, Dimension::Length)
            );
            blocks.push(Block::words(Mark::Indent, line));
        }
    }
    if solution.skins.iter().any(|skin| skin.melt_shrink > Some(0.0)) {
        blocks.push(Block::words(Mark::Indent, MELT_SHRINK_SCALE));
    }
    blocks
}

/// Where each plastic is set through, how warm the reel becomes.
pub fn setting(solution: &Solution, shown: Shown) -> Vec<Block> {
    let mut blocks = Vec::new();
    for layer in &solution.set_through {
        let name = clean(&layer.layer);
        match layer.distance {
            Some(metres) => {
                let place = shown.with_unit(metres, Dimension::Length);
                blocks.push(Block::words(Mark::Indent, format!("{name}: set through at {place}.")));
            }
            None => {
                let words = "not set at the end of the line";
                let line = format!("{name}: {words}: it can still be deformed.");
                blocks.push(Block::stressed(Mark::Indent, line, Tone::Warn, words));
            }
        }
    }
    if solution.rebound > 0.0 {
        let rebound = shown.with_unit(solution.rebound, Dimension::TemperatureDifference);
        let line = format!("After the last water the surface warms again by {rebound}.");
        blocks.push(Block::words(Mark::Indent, line));
    }
    let equalised = shown.with_unit(solution.equalised, Dimension::Temperature);
    let line = format!("On the reel the product settles to {equalised} before it gives off more heat.");
    blocks.push(Block::words(Mark::Indent, line));
    blocks
}

/// Mass flow of each layer.
pub fn throughput(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    let flows: Vec<String> = solution
        .throughput
        .iter()
        .map(|flow| {
            let per_second = flow.kg_per_h / 3600.0;
            format!("{} {}", clean(&flow.layer), shown.with_unit(per_second, Dimension::MassFlow))
        })
        .collect();
    if flows.is_empty() {
        return Vec::new();
    }
    vec![Block::words(Mark::Indent, format!("{}{}.", flows.join(", "), across(case)))]
}
