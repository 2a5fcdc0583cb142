//! How sure the answer is: the range of the deciding temperature, and what would narrow it.

use quenchway::case::{InputBand, Varied};
use quenchway::march::solution::{Band, LimitReport, Solution, StationReport};
use quenchway::maths::order::sort_by_number;
use quenchway::names::key_path::KeyPath;
use quenchway::units::Dimension;

use super::blocks::{Block, Grid, Mark};
use super::clean;
use crate::shown::Shown;

/// Inputs that change the temperature by less, K, are only counted.
const SMALL: f64 = 0.1;
/// Rows of the table at most.
const MOST: usize = 8;

/// The band of a limited temperature, where there is one.
pub fn of<'a>(solution: &'a Solution, station: &StationReport, limit: &LimitReport) -> Option<&'a Band> {
    let quantity = limit.quantity();
    // A limit of the surface judges its hot side, where there is a row of it.
    let names = if quantity == "surface" { vec!["hot_side".to_string(), quantity] } else { vec![quantity] };
    let row = |name: &String| solution.band.iter().find(|band| band.station == station.name && band.quantity == *name);
    names.iter().find_map(row)
}

/// The range of the deciding value, and what would narrow it most.
pub fn sentences(band: &Band, limit: f64, shown: Shown) -> String {
    let celsius = |value| shown.with_unit(value, Dimension::Temperature);
    let side = match limit {
        limit if limit < band.low => "above its limit all the same".to_string(),
        limit if limit > band.high => "below its limit all the same".to_string(),
        _ => format!("and the limit of {} lies inside this range", shown.limit(limit)),
    };
    let text = format!(
        "With the uncertainty of the inputs it lies between {} and {}, {side}.",
        celsius(band.low),
        celsius(band.high)
    );
    let (what, narrow) = words(&band.largest);
    if what.is_empty() { text } else { format!("{text} Least sure is {what}: {narrow} would narrow the range most.") }
}

/// What a key path stands for in words, and what would make it surer; empty for no path.
pub fn words(path: &str) -> (String, &'static str) {
    if path.starts_with("mode ") {
        let what = format!("{} of the case: numbers that its trial left unsure together", clean(path));
        return (what, "a further measurement on the line");
    }
    let paths = KeyPath::parse_list(path);
    let Some(first) = paths.first() else { return (String::new(), "") };
    let names: Vec<String> =
        paths.iter().filter_map(|path| path.name.as_ref()).map(|name| format!("\"{}\"", clean(name))).collect();
    let names = match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    };
    let measured = "a value measured on the compound";
    match (first.table.as_str(), first.key.as_str()) {
        ("layer", "temperature") => (format!("the temperature of {names} at the die"), "a thermometer there"),
        ("layer", "output") => {
            (format!("the lag of the output of {names}"), "a step of the speed, weighed metre by metre")
        }
        ("layer", "contact") => {
            (format!("the contact of {names} with the layer inside it"), "a conductance fitted to a line trial")
        }
        ("layer", "conductivity_factor") | ("material", "conductivity") => {
            (format!("the conductivity of {names}"), measured)
        }
        ("layer", "heat_capacity_factor") | ("material", "heat_capacity") => {
            (format!("the heat capacity of {names}"), measured)
        }
        ("material", "density") => (format!("the density of {names}"), measured),
        ("section", "film" | "film_factor" | "film_lean") => {
            (format!("the film coefficient in {names}"), "a film_factor fitted to temperatures measured on the line")
        }
        ("section", "wetted") => (
            format!("the part of the circumference that water touches in {names}"),
            "a look at the product under the jets or at the water line",
        ),
        ("section", "temperature") => (format!("the temperature of the medium in {names}"), "a thermometer there"),
        _ => (clean(path), "a better figure for it"),
    }
}

/// The inputs that move one temperature, the largest first.
pub fn contributors(solution: &Solution, band: &Band, what: &str, shown: Shown) -> Vec<Block> {
    let unit = shown.unit(Dimension::TemperatureDifference);
    let size = |changes: &[f64; 2]| changes.iter().copied().filter(|c| c.is_finite()).map(f64::abs).fold(0.0, f64::max);
    let mut inputs: Vec<(&InputBand, &[f64; 2])> = solution.band_inputs.iter().zip(&band.changes).collect();
    sort_by_number(&mut inputs, |(_, changes)| -size(changes));
    let listed = inputs.iter().take_while(|(_, changes)| size(changes) >= SMALL).count().min(MOST);
    let mut rows = Grid::new(vec![
        format!("{what} at \"{}\" changes with", clean(&band.station)),
        "from".to_string(),
        "to".to_string(),
        format!("by\n{unit}"),
        format!("and by\n{unit}"),
    ]);
    for (input, changes) in &inputs[..listed] {
        let what = words(&input.input).0;
        let mut row = vec![what.strip_prefix("the ").unwrap_or(&what).to_string()];
        row.extend([input.low_end, input.high_end].map(|end| ends(input.varied, end, shown)));
        row.extend(changes.map(|change| signed(change, shown)));
        rows.row(row);
    }
    let mut blocks = vec![Block::Table(rows)];
    let others = inputs.len() - listed;
    let below = size(inputs.get(listed).map_or(&[0.0, 0.0], |input| input.1));
    if others > 0 {
        let most = format!("{} {unit}", signed(below, shown).trim_start_matches('+'));
        let them = if others == 1 { "one other input" } else { "other inputs" };
        let count = if others == 1 { String::new() } else { format!("{others} ") };
        blocks.push(Block::words(Mark::Indent, format!("{count}{them}: at most {most} each.")));
    }
    blocks.push(Block::words(Mark::Indent,
        "One standard value to either side, one at a time; the range is the root sum of squares. [band] of the case file \
         sets them.",
    ));
    blocks
}

/// One end of an input: "-3.0 K", "+15 %", "1000 W/(m2 K)".
fn ends(varied: Varied, end: f64, shown: Shown) -> String {
    match varied {
        Varied::Kelvin => {
            format!("{} {}", signed(end, shown), shown.unit(Dimension::TemperatureDifference))
        }
        Varied::Factor => format!("{:+.0} %", 100.0 * (end - 1.0)),
        Varied::Conductance if end.is_infinite() => "perfect".to_string(),
        Varied::Conductance => shown.with_unit(end, Dimension::FilmCoefficient),
        Varied::Lean if end.abs() == 1.0 => (if end < 0.0 { "its low end" } else { "its high end" }).to_string(),
        Varied::Lean | Varied::Mode => format!("{end:+.0} standard value"),
    }
}

/// A temperature difference with its sign.
fn signed(change: f64, shown: Shown) -> String {
    let text = shown.number(change, Dimension::TemperatureDifference);
    let unsigned = !change.is_finite() || text.starts_with('-') || !text.contains(|c: char| ('1'..='9').contains(&c));
    if unsigned { text } else { format!("+{text}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn key_paths_are_put_into_words() {
        for (path, expected) in [
            ("material.pvc-insulation.conductivity", "the conductivity of \"pvc-insulation\""),
            (
                "section.\"warm, wet\".film_factor, section.b.film_factor",
                "the film coefficient in \"warm, wet\" and \"b\"",
            ),
            ("layer.conductor.temperature", "the temperature of \"conductor\" at the die"),
            ("line.speed", "line.speed"),
            ("mode 2", "mode 2 of the case: numbers that its trial left unsure together"),
            ("", ""),
        ] {
            assert_eq!(words(path).0, expected);
        }
    }

    #[test]
    fn ends_are_shown_in_the_units_of_the_report() {
        use quenchway::units::System;
        let [si, us] = [System::Si, System::Us].map(|system| Shown { system });
        assert_eq!(ends(Varied::Kelvin, -3.0, si), "-3.0 K");
        assert_eq!(ends(Varied::Kelvin, 3.0, us), "+5.4 degF");
        assert_eq!(ends(Varied::Factor, 0.5, si), "-50 %");
        assert_eq!(ends(Varied::Conductance, 1000.0, si), "1000 W/(m2 K)");
        assert_eq!(ends(Varied::Conductance, f64::INFINITY, us), "perfect");
    }
}
