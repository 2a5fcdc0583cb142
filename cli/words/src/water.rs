//! The water's card in words: duty and flows over speed, every section, along and counter compared.

use quenchway::case::CaseFile;
use quenchway::study::water::{ASSUMED_RISE, OfSection, Taken, Water};
use quenchway::units::Dimension;

use super::blocks::{Block, Cell, Grid, Mark, Part, Report, Tone};
use super::tables::{across, head};
use super::{clean, notes};
use crate::shown::Shown;

/// The report, with colours as ANSI codes.
pub fn report(case: &CaseFile, found: &Water, shown: Shown) -> Report {
    let speed = |index: usize| shown.with_unit(found.at_speeds[index].speed, Dimension::Speed);
    let about = format!(
        "{} line speeds from {} to {}. Sizes stay as the case has them, so the output follows the speed{}",
        found.at_speeds.len(),
        speed(0),
        speed(found.at_speeds.len() - 1),
        if across(case).is_empty() { "" } else { ". Heat and flow are per m of width" },
    );
    let mut all = vec![Block::Table(duties(case, found, shown))];
    all.extend(ceilings(case, found, shown));
    let of_product = format!("Duty of the chiller, and the product at {}.", clean(&found.place));
    let mut compared = vec![Block::Table(compared(found, shown)), Block::words(Mark::Indent, of_product)];
    compared.extend(assumptions(found, shown));
    if !found.directed {
        let words = "All water stands in tanks at one temperature, so that it has no direction.";
        compared = vec![Block::words(Mark::Indent, words)];
    }
    let first = found.first.as_ref();
    let parts = vec![
        Part::new("All water", all),
        Part::new("Sections", sections(found, shown)),
        Part::new("Water along the product and against it", compared),
        Part::new("No answer", reasons(found, shown)),
        Part::new("Warnings", first.map(|solution| notes::warnings(solution, shown)).unwrap_or_default()),
        Part::new("Accuracy", accuracy(found, shown)),
        Part::new("Cautions", first.map(notes::cautions).unwrap_or_default()),
    ];
    Report::new(&case.title, about, parts)
}

/// m3/s of the water of a section that flows with so many kg/s.
fn volume(section: &OfSection, mass: f64) -> f64 {
    mass / quenchway::material::water::at(section.inlet).density
}

/// The flow of all water that holds the rise of each section, or of each series of sections as a whole, to so many K; m3/s.
pub fn flow_of_all(taken: &Taken, rise: f64) -> f64 {
    taken.sections.iter().filter_map(|section| Some(volume(section, section.for_rise?.of_rise(rise)))).sum()
}

/// A temperature difference without idle zeros: "1 K".
pub fn kelvin(value: f64, shown: Shown) -> String {
    let number = shown.number(value, Dimension::TemperatureDifference);
    format!("{} {}", number.trim_end_matches('0').trim_end_matches('.'), shown.unit(Dimension::TemperatureDifference))
}

fn rise(value: f64, shown: Shown) -> String {
    format!("flow, {}\n{}", kelvin(value, shown), shown.unit(Dimension::VolumeFlow))
}

/// Chiller duty and flows of all water, as the case has it.
fn duties(case: &CaseFile, found: &Water, shown: Shown) -> Grid {
    let mut header = vec![head("line speed", shown, Dimension::Speed), head("chiller duty", shown, Dimension::Power)];
    header.extend(shown.rises().map(|kelvin| rise(kelvin, shown)));
    let mut table = Grid::new(header);
    for row in &found.at_speeds {
        let mut cells = vec![Cell::from(shown.number(row.speed, Dimension::Speed))];
        match &row.ways[0].taken {
            None => cells.extend(["-"; 4].map(Cell::from)),
            Some(taken) => {
                let text = shown.number(taken.chiller_duty, Dimension::Power);
                let over = case.plant.chiller_max.is_some_and(|most| taken.chiller_duty > most);
                cells.push(Cell { text, tone: over.then_some(Tone::Bad) });
                let number = |rise| shown.number(flow_of_all(taken, rise), Dimension::VolumeFlow);
                cells.extend(shown.rises().map(|rise| Cell::from(number(rise))));
            }
        }
        table.row(cells);
    }
    table
}

/// From which speed on the plant's ceilings are passed.
fn ceilings(case: &CaseFile, found: &Water, shown: Shown) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut passed = |words: String, over: &dyn Fn(&Taken) -> bool| {
        let first = found.at_speeds.iter().find(|row| row.ways[0].taken.as_ref().is_some_and(over));
        let verdict = match first {
            Some(row) => {
                format!("{words} is passed, first at {}.", shown.with_unit(row.speed, Dimension::Speed))
            }
            None => format!("{words} holds at every speed shown."),
        };
        blocks.push(Block::words(Mark::Indent, verdict));
    };
    if let Some(most) = case.plant.chiller_max {
        let words = format!("The chiller's ceiling of {}", shown.with_unit(most, Dimension::Power));
        passed(words, &|taken| taken.chiller_duty > most);
    }
    if let Some(most) = case.plant.water_out_max {
        let words = format!("The ceiling of {} on water that leaves a section", shown.limit(most.0));
        passed(words, &|taken| taken.sections.iter().any(|section| section.outlet > Some(most.0)));
    }
    blocks
}

/// Every section at every speed.
fn sections(found: &Water, shown: Shown) -> Vec<Block> {
    let of_section = |(index, name): (usize, &String)| {
        let heading = Block::words(Mark::Indent, format!("{}:", clean(name)));
        [heading, Block::Table(section(found, index, shown))]
    };
    found.sections.iter().enumerate().flat_map(of_section).collect()
}

fn section(found: &Water, index: usize, shown: Shown) -> Grid {
    let celsius = |name: &str| head(name, shown, Dimension::Temperature);
    let mut header = vec![head("speed", shown, Dimension::Speed), head("heat", shown, Dimension::Power)];
    header.extend(shown.rises().map(|kelvin| rise(kelvin, shown)));
    header.push(head("flow", shown, Dimension::VolumeFlow));
    header.extend(["in", "out", "along", "counter"].map(celsius));
    let mut table = Grid::new(header);
    let temperature = |value: Option<f64>| shown.number(value.unwrap_or(f64::NAN), Dimension::Temperature);
    for row in &found.at_speeds {
        let of = |way: usize| row.ways[way].taken.as_ref().map(|taken| &taken.sections[index]);
        let given = of(0);
        let flow = |rise: f64| {
            let value = given.and_then(|section| Some(volume(section, section.for_rise?.of_rise(rise))));
            shown.number(value.unwrap_or(f64::NAN), Dimension::VolumeFlow)
        };
        let own = given.and_then(|section| Some(volume(section, section.flow?)));
        let out = match given {
            Some(section) if section.outlet.is_none() => "held".to_string(),
            section => temperature(section.and_then(|section| section.outlet)),
        };
        let mut cells = vec![
            shown.number(row.speed, Dimension::Speed),
            shown.number(given.map_or(f64::NAN, |section| section.heat), Dimension::Power),
        ];
        cells.extend(shown.rises().map(flow));
        cells.extend([
            shown.number(own.unwrap_or(f64::NAN), Dimension::VolumeFlow),
            temperature(given.map(|section| section.inlet)),
            out,
            temperature(of(1).and_then(|section| section.outlet)),
            temperature(of(2).and_then(|section| section.outlet)),
        ]);
        table.row(cells);
    }
    table
}

/// What the direction does to the chiller and to the product.
fn compared(found: &Water, shown: Shown) -> Grid {
    let celsius = |name: &str| head(name, shown, Dimension::Temperature);
    let duty = |name: &str| head(name, shown, Dimension::Power);
    let mut table = Grid::new(vec![
        head("speed", shown, Dimension::Speed),
        duty("duty, along"),
        duty("counter"),
        celsius("core, along"),
        celsius("counter"),
        celsius("surface, along"),
        celsius("counter"),
        celsius("equalised, along"),
        celsius("counter"),
    ]);
    for row in &found.at_speeds {
        let pair = |dimension: Dimension, value: fn(&Taken) -> f64| {
            [1, 2].map(|way| shown.number(row.ways[way].taken.as_ref().map_or(f64::NAN, value), dimension))
        };
        let mut cells = vec![shown.number(row.speed, Dimension::Speed)];
        cells.extend(pair(Dimension::Power, |taken| taken.chiller_duty));
        cells.extend(pair(Dimension::Temperature, |taken| taken.core));
        cells.extend(pair(Dimension::Temperature, |taken| taken.surface));
        cells.extend(pair(Dimension::Temperature, |taken| taken.equalised));
        table.row(cells);
    }
    table
}

/// Which flows were assumed.
fn assumptions(found: &Water, shown: Shown) -> Vec<Block> {
    let names: Vec<String> = (found.sections.iter().zip(&found.assumed))
        .filter(|(_, assumed)| **assumed)
        .map(|(name, _)| format!("\"{}\"", clean(name)))
        .collect();
    if names.is_empty() {
        return Vec::new();
    }
    let words = format!(
        "The case gives no flow for {}. The program holds the water there at its temperature. It compares with the flow for \
         {} of rise at each speed. Give flow = \"... L/min\" to compare at yours.",
        names.join(" and "),
        kelvin(ASSUMED_RISE, shown),
    );
    vec![Block::words(Mark::Indent, words)]
}

/// Ways without an answer: the first speed with its reason, and how many more there are.
fn reasons(found: &Water, shown: Shown) -> Vec<Block> {
    let of_way = |(way, name): (usize, &str)| {
        let mut failed = found.at_speeds.iter().filter_map(|row| Some((row.speed, row.ways[way].reason.as_ref()?)));
        let (speed, reason) = failed.next()?;
        let more = match failed.count() {
            0 => String::new(),
            1 => " and 1 more speed".to_string(),
            more => format!(" and {more} more speeds"),
        };
        let speed = shown.with_unit(speed, Dimension::Speed);
        Some(Block::words(Mark::Warning, clean(&format!("water {name}, at {speed}{more}: {reason}"))))
    };
    ["as given", "along", "counter"].into_iter().enumerate().filter_map(of_way).collect()
}

fn accuracy(found: &Water, shown: Shown) -> Vec<Block> {
    let ways = found.at_speeds.iter().flat_map(|row| &row.ways);
    let error = ways.filter_map(|told| Some(told.taken.as_ref()?.error)).fold(0.0, f64::max);
    let words = format!(
        "Every number is from a careful march; the largest stated error of a temperature is {} {}.",
        super::significant(shown.value(error, Dimension::TemperatureDifference)),
        shown.unit(Dimension::TemperatureDifference),
    );
    vec![Block::words(Mark::Indent, words)]
}
