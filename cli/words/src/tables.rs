//! The tables of the report: stations, limits, joints, sections.

use quenchway::case::{CaseFile, Quantity, Shape};
use quenchway::march::solution::{Interface, SectionReport, Solution, StationReport};
use quenchway::units::Dimension;

use super::blocks::{Cell, Grid, Tone};
use super::clean;
use super::design::passes_of;
use super::verdict::significant;
use crate::shown::Shown;

/// Two faces of a joint that differ by less, K, are shown as one temperature.
const ONE_FACE: f64 = 0.05;

/// A column's name over its unit.
pub(crate) fn head(name: &str, shown: Shown, dimension: Dimension) -> String {
    format!("{name}\n{}", shown.unit(dimension))
}

/// What the flows of a flat product are counted for.
pub(crate) fn across(case: &CaseFile) -> &'static str {
    if case.shape == Shape::Flat { " per m of width" } else { "" }
}

/// Every number at every station; beside an answer before, how far each has changed from it in brackets.
pub fn stations(case: &CaseFile, solution: &Solution, before: Option<&Solution>, shown: Shown) -> Grid {
    let celsius = |name: &str| head(name, shown, Dimension::Temperature);
    let size = if case.shape == Shape::Flat { "thickness" } else { "diameter" };
    let of_hot_side = case.is_uneven().then_some(Quantity::HotSide);
    let hottest = Quantity::Hottest.words(case);
    let named = [(Quantity::Core, "core"), (Quantity::Mean, "mean"), (Quantity::Hottest, hottest.as_str())];
    let mut columns = vec![(Quantity::Surface, "surface")];
    columns.extend(of_hot_side.map(|quantity| (quantity, "hot side")));
    columns.extend(named);
    columns.push((Quantity::Equalised, "equalised"));
    let mut header =
        vec!["station".to_string(), head("distance", shown, Dimension::Length), head("time", shown, Dimension::Time)];
    header.extend(columns.iter().map(|(_, name)| celsius(name)));
    header.push(head(size, shown, Dimension::Diameter));
    let mut table = Grid::new(header);
    let told = |station: &StationReport| {
        let point = &station.point;
        let temperatures = columns.iter().map(|(quantity, _)| (point.quantity(*quantity), Dimension::Temperature));
        let mut told = vec![(station.distance, Dimension::Length), (station.time, Dimension::Time)];
        told.extend(temperatures);
        told.push((point.diameter, Dimension::Diameter));
        told
    };
    for (index, station) in solution.stations.iter().enumerate() {
        let before = before.and_then(|before| before.stations.get(index)).map(told);
        let mut row = vec![clean(&station.name)];
        row.extend(told(station).into_iter().enumerate().map(|(column, (value, dimension))| {
            let number = shown.number(value, dimension);
            let change = before.as_ref().map(|before| changed(value - before[column].0, dimension, shown));
            number + &change.map_or(String::new(), |change| format!(" ({change})"))
        }));
        table.row(row);
    }
    table
}

/// A change with its sign; "0" where it is none that is shown.
fn changed(change: f64, dimension: Dimension, shown: Shown) -> String {
    let dimension = if dimension == Dimension::Temperature { Dimension::TemperatureDifference } else { dimension };
    let text = shown.number(change, dimension);
    match text.contains(|c: char| ('1'..='9').contains(&c)) {
        true if change > 0.0 => format!("+{text}"),
        true => text,
        false => "0".to_string(),
    }
}

/// Every limit with its margin.
pub fn limits(case: &CaseFile, solution: &Solution, shown: Shown) -> Grid {
    let mut table = Grid::new(vec![
        "station".to_string(),
        "quantity".to_string(),
        head("value", shown, Dimension::Temperature),
        head("limit", shown, Dimension::Temperature),
        head("margin", shown, Dimension::TemperatureDifference),
        "verdict".to_string(),
    ])
    .with_words(&[1]);
    for station in &solution.stations {
        for limit in &station.limits {
            let verdict =
                if limit.met { Cell::from("met") } else { Cell { text: "NOT MET".to_string(), tone: Some(Tone::Bad) } };
            let margin = shown.number(limit.margin, Dimension::TemperatureDifference);
            let sign = if margin.starts_with('-') { "" } else { "+" };
            table.row(vec![
                Cell::from(clean(&station.name)),
                Cell::from(super::run::limited(case, limit)),
                Cell::from(shown.number(limit.value, Dimension::Temperature)),
                Cell::from(shown.number(limit.limit, Dimension::Temperature)),
                Cell::from(format!("{sign}{margin}")),
                verdict,
            ]);
        }
    }
    table
}

/// Where each plastic's skin sets, over how much melt, and how fast it sets.
pub fn skins(solution: &Solution, shown: Shown) -> Grid {
    let rate = format!("{}/s", shown.unit(Dimension::TemperatureDifference));
    let mut table = Grid::new(vec![
        "layer".to_string(),
        head("skin set at", shown, Dimension::Length),
        "melt has to lose\n% of volume".to_string(),
        format!("surface sets at\n{rate}"),
        format!("mid-wall sets at\n{rate}"),
    ]);
    for skin in &solution.skins {
        let number = |value: Option<f64>, dimension| shown.number(value.unwrap_or(f64::NAN), dimension);
        let rate = |value: Option<f64>| {
            let kelvin = shown.value(value.unwrap_or(f64::NAN), Dimension::TemperatureDifference);
            if kelvin.is_finite() { significant(kelvin) } else { "-".to_string() }
        };
        table.row(vec![
            clean(&skin.layer),
            number(skin.distance, Dimension::Length),
            skin.melt_shrink.map_or("-".to_string(), |percent| format!("{percent:.1}")),
            match skin.set_at_entry() {
                Some(section) => format!("at the entry of {}", clean(section)),
                None => rate(skin.surface_rate),
            },
            rate(skin.mid_wall_rate),
        ]);
    }
    table
}

/// Temperatures where layers meet, a row a joint, a column a station.
pub fn joints(solution: &Solution, shown: Shown) -> Grid {
    let mut header = vec![format!("inner / outer layer\n{}", shown.unit(Dimension::Temperature))];
    header.extend(solution.stations.iter().map(|station| clean(&station.name)));
    let mut table = Grid::new(header);
    let count = solution.stations.first().map_or(0, |station| station.point.interfaces.len());
    for joint in 0..count {
        let at = |index: usize| &solution.stations[index].point.interfaces[joint];
        let mut row = vec![format!("{} / {}", clean(&at(0).inner_layer), clean(&at(0).outer_layer))];
        row.extend((0..solution.stations.len()).map(|index| faces(at(index), shown)));
        table.row(row);
    }
    table
}

/// One temperature, or those of both faces.
fn faces(joint: &Interface, shown: Shown) -> String {
    let inner = shown.number(joint.inner, Dimension::Temperature);
    if (joint.inner - joint.outer).abs() < ONE_FACE {
        return inner;
    }
    format!("{inner} / {}", shown.number(joint.outer, Dimension::Temperature))
}

/// Heat and film in every section.
pub fn sections(case: &CaseFile, solution: &Solution, shown: Shown) -> Grid {
    let mut table = Grid::new(vec![
        "section".to_string(),
        head("from to", shown, Dimension::Length),
        head("medium", shown, Dimension::Temperature),
        head("heat", shown, Dimension::Power) + across(case),
        head("film", shown, Dimension::FilmCoefficient),
        "Biot\nnumber".to_string(),
    ]);
    for (index, section) in solution.sections.iter().enumerate() {
        let given = case.sections.get(index).filter(|given| given.passes > 1);
        let passes = given.map(|given| {
            let length = shown.with_unit(given.length, Dimension::Length);
            format!("\n{}", passes_of(given.passes, length))
        });
        table.row(vec![
            clean(&section.name) + &passes.unwrap_or_default(),
            format!(
                "{} {}",
                shown.number(section.start, Dimension::Length),
                shown.number(section.end, Dimension::Length)
            ),
            medium(section, shown),
            shown.number(section.heat, Dimension::Power),
            shown.number(section.film_mean, Dimension::FilmCoefficient),
            super::verdict::significant(section.biot),
        ]);
    }
    if solution.sections.len() > 1 {
        let heat = shown.number(solution.balance.heat_to_media, Dimension::Power);
        let empty = String::new;
        table.row(vec!["whole line".to_string(), empty(), empty(), heat, empty(), empty()]);
    }
    table
}

/// The water of every section in water: its heat, both ends, its flow, and the flows that would hold its rise.
pub fn water(solution: &Solution, shown: Shown) -> Grid {
    let rise = |kelvin: f64| {
        let rise = shown.number(kelvin, Dimension::TemperatureDifference);
        let rise = rise.trim_end_matches('0').trim_end_matches('.');
        format!(
            "flow for {rise} {}\n{}",
            shown.unit(Dimension::TemperatureDifference),
            shown.unit(Dimension::VolumeFlow)
        )
    };
    let mut header = vec![
        "section".to_string(),
        head("heat", shown, Dimension::Power),
        head("in", shown, Dimension::Temperature),
        head("out", shown, Dimension::Temperature),
        head("flow", shown, Dimension::VolumeFlow),
    ];
    header.extend(shown.rises().map(rise));
    let mut table = Grid::new(header);
    let wet: Vec<&SectionReport> = solution.sections.iter().filter(|section| section.heat_to_water != 0.0).collect();
    for section in &wet {
        let supply = section.medium_temperature;
        let volume =
            |mass: f64| shown.number(mass / quenchway::material::water::at(supply).density, Dimension::VolumeFlow);
        let celsius = |value: f64| shown.number(value, Dimension::Temperature);
        let flow = |rise: f64| section.flow_for_rise.map_or("-".to_string(), |flow| volume(flow.of_rise(rise)));
        let mut row = vec![
            clean(&section.name),
            shown.number(section.heat_to_water, Dimension::Power),
            celsius(section.water_in.unwrap_or(supply)),
            section.water_out.map_or("held".to_string(), celsius),
            section.water_flow.map_or("-".to_string(), volume),
        ];
        row.extend(shown.rises().map(flow));
        table.row(row);
    }
    if wet.len() > 1 {
        let mut row = vec!["all water".to_string(), shown.number(solution.chiller_duty, Dimension::Power)];
        row.resize(8, String::new());
        table.row(row);
    }
    table
}

fn medium(section: &SectionReport, shown: Shown) -> String {
    let name = section.medium.name();
    let celsius = |value| shown.number(value, Dimension::Temperature);
    match (section.water_in, section.water_out) {
        (Some(from), Some(to)) => format!("{name} {} to {}", celsius(from), celsius(to)),
        _ => format!("{name} {}", celsius(section.medium_temperature)),
    }
}
