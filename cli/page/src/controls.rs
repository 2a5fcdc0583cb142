//! The numbers that can be moved: their words, their texts, the range of each slider.

use quenchway::case::{CaseFile, DieTemperature, Medium, Size};
use quenchway::material::Kind;
use quenchway::names::key_path::{KeyPath, all};
use quenchway::names::variable::Variable;
use quenchway::units::{System, show};
use quenchway_words::clean;
use serde::Serialize;

use crate::wish::Moved;

/// A slider goes so far to either side of a temperature of the file, K.
const AROUND: f64 = 20.0;
/// A slider has about so many steps at most.
const STEPS: f64 = 250.0;

/// Numbers of one kind.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Group {
    /// Its name.
    pub name: &'static str,
    /// Its numbers, in the order of the case.
    pub controls: Vec<Control>,
}

/// A number that can be moved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Control {
    /// Its key path.
    pub path: String,
    /// What it is.
    pub label: String,
    /// Its value with its unit.
    pub text: String,
    /// The file's value with its unit, where it was moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Its value in the unit that is shown.
    pub value: f64,
    /// That unit; empty for a bare number.
    pub unit: &'static str,
    /// Lowest value of the slider.
    pub low: f64,
    /// Highest value of the slider.
    pub high: f64,
    /// Step of the slider.
    pub step: f64,
    /// Decimals of a step.
    pub decimals: usize,
}

/// What a number is, for the group that it stands in; none for numbers that the page does not move.
fn words(case: &CaseFile, path: &KeyPath) -> Option<(&'static str, String)> {
    let name = path.name.as_deref().unwrap_or_default();
    let (shown, limit) = (clean(name), path.key.strip_suffix("_max"));
    Some(match (path.table.as_str(), path.key.as_str()) {
        ("line", "speed") => ("Line", "Line speed".to_string()),
        ("section", key) => {
            let section = case.sections.iter().find(|section| section.name == name)?;
            let wet = section.medium != Medium::Air;
            let what = match key {
                "length" if section.passes > 1 => "length of one pass",
                "length" => "length",
                "temperature" if wet && section.supply.is_none() => "water temperature",
                "flow" => "water flow",
                _ => return None,
            };
            ("Sections", format!("{shown}: {what}"))
        }
        ("layer", key) => {
            let layer = case.layers.iter().find(|layer| layer.name == name)?;
            let plastic = layer.material.kind == Kind::Plastic;
            let flat = case.shape == quenchway::case::Shape::Flat;
            let what = match (key, plastic) {
                ("temperature", true) => "melt temperature",
                ("temperature", false) if matches!(layer.temperature, DieTemperature::Preheated(_)) => return None,
                ("temperature", false) => "temperature at the die",
                ("diameter", true) if flat => "hot thickness",
                ("diameter", true) => "hot diameter",
                ("finished_diameter", true) if flat => "finished thickness",
                ("finished_diameter", true) => "finished diameter",
                ("wall", true) if matches!(layer.size, Size::Wall(_)) => "hot wall",
                ("finished_wall", true) => "finished wall",
                ("melt_shrink_max", _) => return Some(("Limits", format!("{shown}: most melt shrink"))),
                _ => return None,
            };
            ("Product", format!("{shown}: {what}"))
        }
        ("station", "layer_max") => {
            ("Limits", format!("{shown}: hottest point of {}", clean(path.of.as_deref().unwrap_or_default())))
        }
        ("station", _) => match limit? {
            "hottest" => ("Limits", format!("{shown}: hottest plastic")),
            limited => ("Limits", format!("{shown}: {limited}")),
        },
        ("plant", "hall_max") => ("Plant", "Floor length of the hall".to_string()),
        ("plant", "compound_max") => ("Plant", "Plastic from the extruders".to_string()),
        ("plant", "chiller_max") => ("Plant", "Heat that the chiller takes".to_string()),
        ("plant", "water_out_max") => ("Plant", "Water out of a section".to_string()),
        _ => return None,
    })
}

/// Every number that can be moved, by what `case`, the file's own numbers with those that were moved, has there.
pub fn groups(file: &CaseFile, case: &CaseFile, moved: &Moved, system: System) -> Vec<Group> {
    let mut groups: Vec<Group> =
        ["Line", "Sections", "Product", "Limits", "Plant"].map(|name| Group { name, controls: Vec::new() }).into();
    for variable in all(file) {
        let Some((group, label)) = KeyPath::parse(&variable.path).ok().and_then(|path| words(file, &path)) else {
            continue;
        };
        let control = control(&variable, label, [variable.get(file), variable.get(case)], moved, system);
        if let Some(group) = groups.iter_mut().find(|one| one.name == group) {
            group.controls.push(control);
        }
    }
    groups.retain(|group| !group.controls.is_empty());
    groups
}

fn control(variable: &Variable, label: String, [given, value]: [f64; 2], moved: &Moved, system: System) -> Control {
    let shown = |si: f64| variable.dimension.map_or((si, ""), |dimension| show(si, dimension, system));
    let [lowest, highest] = variable.bounds;
    let [least, most] = [shown(lowest).0, shown(highest).0];
    let [low, high] = match variable.is_temperature() {
        true => [given - AROUND, given + AROUND],
        false => [given / 2.0, given * 2.0],
    };
    let ends = [low, high].map(|end| shown(end.clamp(lowest, highest)).0);
    let step = round_step((ends[1] - ends[0]) / STEPS);
    let now = shown(value).0;
    let decimals = (-step.log10().floor()).max(0.0) as usize;
    // A value outside widens the slider; its ends are whole steps, inside what is possible.
    let whole = |end: f64, steps: f64| format!("{:.decimals$}", steps * step).parse().unwrap_or(end);
    let (below, above) = (ends[0].min(now) / step, ends[1].max(now) / step);
    let inside = |value: f64, else_: f64| if (least..=most).contains(&value) { value } else { else_ };
    let low = inside(whole(now, (below + 1e-9).floor()), whole(now, (below - 1e-9).ceil()));
    let high = inside(whole(now, (above - 1e-9).ceil()), whole(now, (above + 1e-9).floor()));
    Control {
        text: variable.show(value, system),
        from: moved.contains_key(&variable.path).then(|| variable.show(given, system)),
        value: now,
        unit: shown(value).1,
        low,
        high,
        step,
        decimals,
        path: variable.path.clone(),
        label,
    }
}

/// 1, 2 or 5 times a power of ten, at least as large.
pub fn round_step(least: f64) -> f64 {
    if !(least > 0.0 && least.is_finite()) {
        return 1.0;
    }
    let ten = 10f64.powi(least.log10().floor() as i32);
    [1.0, 2.0, 5.0, 10.0].map(|times| times * ten).into_iter().find(|step| *step >= 0.999 * least).unwrap_or(ten)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use quenchway::file::EXAMPLE;

    fn labels(text: &str) -> Vec<String> {
        let case = quenchway::read(text).unwrap();
        let groups = groups(&case, &case, &Moved::new(), System::Si);
        groups.iter().flat_map(|group| group.controls.iter().map(|one| one.label.clone())).collect()
    }

    #[test]
    fn the_numbers_of_a_line_are_there_in_its_order() {
        let found = labels(EXAMPLE);
        let expected = [
            "Line speed",
            "air gap: length",
            "trough: length",
            "trough: water temperature",
            "to capstan: length",
            "conductor: temperature at the die",
            "insulation: hot diameter",
            "insulation: melt temperature",
            "capstan: surface",
            "capstan: core",
        ];
        assert_eq!(found, expected);
    }

    /// From half to double the file's value, temperatures 20 K to either side, within what the case file allows.
    #[test]
    fn a_slider_goes_around_the_files_value() {
        let case = quenchway::read(EXAMPLE).unwrap();
        let of = |path: &str, system| {
            let groups = groups(&case, &case, &Moved::new(), system);
            groups.iter().flat_map(|group| &group.controls).find(|one| one.path == path).unwrap().clone()
        };
        let speed = of("line.speed", System::Si);
        assert_eq!((speed.low, speed.high, speed.step, speed.unit), (75.0, 300.0, 1.0, "m/min"));
        let water = of("section.trough.temperature", System::Si);
        assert_eq!((water.low, water.high, water.value), (0.0, 36.0, 16.0), "water does not freeze");
        let water = of("section.trough.temperature", System::Us);
        assert_eq!((water.low, water.high, water.step, water.text.as_str()), (32.0, 97.0, 0.5, "60.8 degF"));
    }
}
