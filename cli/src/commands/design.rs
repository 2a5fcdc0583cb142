//! What the commands on length and speed share: which sections grow, a range of speeds.

use quenchway::case::CaseFile;
use quenchway::names::key_path::KeyPath;
use quenchway::units::words::nearest;

use super::Failure;
use crate::args::range::{range, spaced};

/// The case with the sections of `--adjust` as those that may grow; as it is without any.
pub fn adjusted(case: &CaseFile, names: &[String]) -> Result<CaseFile, Failure> {
    let mut case = case.clone();
    if names.is_empty() {
        return Ok(case);
    }
    case.plant.adjustable.clear();
    for name in names {
        let known = || case.sections.iter().map(|section| section.name.as_str());
        let Some(index) = known().position(|known| known == name) else {
            let help = match nearest(name, known()) {
                Some(near) => format!("did you mean {near:?}?"),
                None => {
                    let names: Vec<String> = known().map(|known| format!("{known:?}")).collect();
                    format!("the sections are {}", names.join(", "))
                }
            };
            return Err(Failure::flag("--adjust", format!("there is no section {name:?}; {help}")));
        };
        if case.plant.adjustable.contains(&index) {
            return Err(Failure::flag("--adjust", format!("{name:?} is named twice; name each section once")));
        }
        case.plant.adjustable.push(index);
    }
    Ok(case)
}

/// The line speeds of `--speeds`, m/s.
pub fn speeds(case: &CaseFile, text: &str, points: u16) -> Result<Vec<f64>, Failure> {
    let wrong = |reason: String| Failure::flag("--speeds", reason);
    let speed = KeyPath::find(case, "line.speed").map_err(|error| wrong(error.to_string()))?;
    let read = |value: &str| {
        speed.parse_value(value).map_err(|error| {
            let (wrong, right) = error.parts();
            format!("{wrong}; {right}")
        })
    };
    Ok(spaced(range(text, read).map_err(wrong)?, usize::from(points)))
}
