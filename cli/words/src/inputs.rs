//! What only the page shows: key numbers, the inputs, and where the answer holds.

use quenchway::case::{CaseFile, Contact, DieTemperature, Layer, Section, Shape};
use quenchway::film::{Film, Pattern};
use quenchway::march::solution::Solution;
use quenchway::units::Dimension;

use crate::blocks::{Block, Grid, Mark, Part};
use crate::shown::Shown;
use crate::{clean, significant};

/// The numbers that are asked for first.
pub fn key_numbers(case: &CaseFile, solution: &Solution, shown: Shown) -> Part {
    let water: f64 = case.sections.iter().filter(|section| section.medium.is_water()).map(Section::span).sum();
    let size = if case.shape == Shape::Flat { "Thickness" } else { "Diameter" };
    let line = |name: &str, value: f64, dimension| vec![name.to_string(), shown.with_unit(value, dimension)];
    let mut rows = vec![
        line("Line speed", case.line_speed, Dimension::Speed),
        line("Way of the product from the die", case.line_length(), Dimension::Length),
        line("of that in water", water, Dimension::Length),
    ];
    if case.sections.iter().any(|section| section.passes > 1) {
        rows.push(line("Floor length of the line", case.floor_length(), Dimension::Length));
    }
    if let Some(last) = solution.stations.iter().max_by(|a, b| a.distance.total_cmp(&b.distance)) {
        for (what, value) in [("Surface", last.point.surface), ("Core", last.point.core)] {
            rows.push(line(&format!("{what} at \"{}\"", clean(&last.name)), value, Dimension::Temperature));
        }
    }
    rows.push(line("Settles on the reel to", solution.equalised, Dimension::Temperature));
    rows.push(line(&format!("{size} at {}", shown.limit(23.0)), solution.shrink.finished, Dimension::Diameter));
    rows.push(line("Heat into the water", solution.chiller_duty, Dimension::Power));
    let across = if case.shape == Shape::Flat { " per m of width" } else { "" };
    if let Some(last) = rows.last_mut().and_then(|row| row.last_mut()) {
        last.push_str(across);
    }
    Part::new("Key numbers", vec![Block::Lines(rows)])
}

/// What went in: layers, sections, stations.
pub fn inputs(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Part> {
    let part = |heading, grid| Part::new(heading, vec![Block::Table(grid)]);
    vec![
        part("Inputs: layers", layers(case, shown)),
        part("Inputs: sections", sections(case, shown)),
        part("Inputs: stations", stations(case, solution, shown)),
    ]
}

fn head(name: &str, shown: Shown, dimension: Dimension) -> String {
    format!("{name}\n{}", shown.unit(dimension))
}

fn layers(case: &CaseFile, shown: Shown) -> Grid {
    let size = if case.shape == Shape::Flat { "thickness" } else { "outer diameter" };
    let radii = quenchway::case::shrink::radii(case).ok();
    let mut grid = Grid::new(vec![
        "layer, from the inside".to_string(),
        "material".to_string(),
        head(&format!("{size} at the die"), shown, Dimension::Diameter),
        head("at the die", shown, Dimension::Temperature),
        head("contact with the layer inside", shown, Dimension::FilmCoefficient),
    ])
    .with_words(&[1]);
    for (index, layer) in case.layers.iter().enumerate() {
        let outer = radii.as_ref().and_then(|radii| radii.hot.get(index)).map_or(f64::NAN, |radius| 2.0 * radius);
        grid.row(vec![
            clean(&layer.name),
            clean(&layer.material.name),
            shown.number(outer, Dimension::Diameter),
            shown.number(case.die_temperature(index).0, Dimension::Temperature) + of_speed(layer),
            match layer.contact {
                _ if index == 0 => "-".to_string(),
                Contact::Perfect => "perfect".to_string(),
                Contact::Conductance(value) => shown.number(value, Dimension::FilmCoefficient),
            },
        ]);
    }
    grid
}

fn of_speed(layer: &Layer) -> &'static str {
    match layer.temperature {
        DieTemperature::Fixed(_) => "",
        DieTemperature::OfSpeed(_) => " at this speed",
        DieTemperature::Preheated(_) => " from the preheater",
    }
}

fn sections(case: &CaseFile, shown: Shown) -> Grid {
    let mut grid = Grid::new(vec![
        "section, from the die".to_string(),
        "medium".to_string(),
        head("length of a pass", shown, Dimension::Length),
        "passes".to_string(),
        head("temperature", shown, Dimension::Temperature),
        "film".to_string(),
        "water".to_string(),
    ])
    .with_words(&[1, 5, 6]);
    for section in &case.sections {
        let supplied = section.supply.and_then(|supply| case.sections.get(supply));
        let film = match &section.film {
            Film::Law(law, _) => format!("law {}", law.name),
            Film::Given(value) => shown.with_unit(*value, Dimension::FilmCoefficient),
            Film::OfSurface(_) => "table over surface temperature".to_string(),
            Film::OfDistance(_) => "table over distance".to_string(),
        };
        let factor = if section.film_factor == 1.0 { String::new() } else { format!(" times {}", section.film_factor) };
        let temperature = shown.number(section.temperature.0, Dimension::Temperature);
        grid.row(vec![
            clean(&section.name),
            section.medium.name().to_string(),
            shown.number(section.length, Dimension::Length),
            section.passes.to_string(),
            if supplied.is_some() { "-".to_string() } else { temperature },
            film + &factor + &touches(section),
            water(section, supplied, shown),
        ]);
    }
    grid
}

/// How its water meets the product, where that is not all round.
fn touches(section: &Section) -> String {
    let where_wet = match section.wetting.pattern {
        Pattern::AllRound | Pattern::Part(1.0) => String::new(),
        Pattern::Part(part) => format!(", on {:.0} % of the circumference", 100.0 * part),
        Pattern::Poured => ", streams from above".to_string(),
        Pattern::OneSided(ratio) => format!(", {ratio} times as much on one side"),
    };
    where_wet + if section.wetting.turning { ", turning" } else { "" }
}

/// Where a section's water comes from, how much, which way.
fn water(section: &Section, supplied: Option<&Section>, shown: Shown) -> String {
    use quenchway::case::{Direction, Flow};
    let way = |direction| match direction {
        Direction::Along => "with the product",
        Direction::Counter => "against the product",
        Direction::Mixed => "mixed",
    };
    match (section.medium.is_water(), section.circulation, supplied) {
        (false, ..) => "-".to_string(),
        (true, None, _) => "held at its temperature".to_string(),
        (true, Some(water), Some(from)) => format!("from \"{}\", {}", clean(&from.name), way(water.direction)),
        (true, Some(water), None) => {
            let flow = match water.flow {
                Flow::Mass(flow) => shown.with_unit(flow, Dimension::MassFlow),
                Flow::Volume(flow) => shown.with_unit(flow, Dimension::VolumeFlow),
            };
            format!("{flow}, {}", way(water.direction))
        }
    }
}

fn stations(case: &CaseFile, solution: &Solution, shown: Shown) -> Grid {
    let mut grid = Grid::new(vec![
        "station".to_string(),
        head("from the die", shown, Dimension::Length),
        "after".to_string(),
        "limits".to_string(),
    ])
    .with_words(&[2, 3]);
    for (station, found) in case.stations.iter().zip(&solution.stations) {
        let limits: Vec<String> = station
            .limits
            .iter()
            .map(|limit| format!("{} at most {}", clean(&limit.quantity.words(case)), shown.limit(limit.max.0)))
            .collect();
        grid.row(vec![
            clean(&station.name),
            shown.number(found.distance, Dimension::Length),
            case.sections.get(station.after).map_or(String::new(), |section| clean(&section.name)),
            if limits.is_empty() { "none".to_string() } else { limits.join("; ") },
        ]);
    }
    grid
}

/// How exact the numbers are, and the ranges in which curves and laws hold.
pub fn validity(case: &CaseFile, solution: &Solution, accuracy: Vec<Block>, shown: Shown) -> Part {
    let mut blocks = accuracy;
    let peclet = format!(
        "Heat conducted along the line is neglected, which is fair at Peclet numbers above 100; the lowest of a section \
         here is {}.",
        two_digits(solution.peclet)
    );
    blocks.push(Block::words(Mark::Indent, peclet));
    let celsius = |name: &str| head(name, shown, Dimension::Temperature);
    let mut curves = Grid::new(vec!["curves of the material".to_string(), celsius("hold from"), celsius("hold up to")]);
    let mut seen: Vec<&str> = Vec::new();
    for material in case.layers.iter().map(|layer| &layer.material) {
        if !seen.contains(&material.name.as_str()) {
            seen.push(&material.name);
            let mut row = vec![clean(&material.name)];
            row.extend(material.range.map(|end| shown.number(end.0, Dimension::Temperature)));
            curves.row(row);
        }
    }
    let mut laws =
        Grid::new(vec!["film law".to_string(), "holds for".to_string(), "doubt".to_string()]).with_words(&[1, 2]);
    let mut named: Vec<&str> = Vec::new();
    for section in &case.sections {
        if let Film::Law(law, _) = &section.film
            && !named.contains(&law.name)
        {
            named.push(law.name);
            laws.row(vec![law.name, law.range, law.doubt]);
        }
    }
    blocks.extend([Block::Table(curves), Block::Table(laws)]);
    Part::new("Accuracy and where the answer holds", blocks)
}

/// Two significant digits of a number of any size: "4800000", "0.43".
fn two_digits(value: f64) -> String {
    let scale = 10f64.powf(value.abs().log10().floor() - 1.0);
    significant(if scale > 1.0 && scale.is_finite() { (value / scale).round() * scale } else { value })
}
