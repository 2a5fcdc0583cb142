//! The benchmark problems P1 to P6 against converged answers of another program.

use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::march::solution::Solution;
use serde::Deserialize;

use crate::build::{PROMISE, TOLERANCE, marched};
use crate::page::{Kind, Page, lost};

#[derive(Deserialize)]
struct Expected {
    sections: Vec<End>,
}

#[derive(Deserialize)]
struct End {
    axis: f64,
    surface: f64,
    interfaces: Vec<[f64; 2]>,
    outer_layer_mean: f64,
    outer_radius: f64,
    surface_at: std::collections::BTreeMap<String, f64>,
    #[serde(default)]
    water_out: Option<f64>,
}

macro_rules! problem {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../benchmarks/", $name, ".toml")),
            include_str!(concat!("../benchmarks/", $name, ".json")),
        )
    };
}

/// Name, case text and expected figures of every problem; a new one is one line.
const PROBLEMS: [(&str, &str, &str); 6] =
    [problem!("P1"), problem!("P2"), problem!("P3"), problem!("P4"), problem!("P5"), problem!("P6")];

/// What a run of a problem cost and how far it was off.
#[derive(Clone, Copy, Debug)]
pub struct Cost {
    /// Largest error of a temperature, K.
    pub error: f64,
    /// Intervals times steps of the reported run.
    pub work: f64,
}

/// Names of the problems.
pub fn names() -> impl Iterator<Item = &'static str> {
    PROBLEMS.iter().map(|problem| problem.0)
}

/// A problem at a tolerance, K; no numbers where it cannot be read or marched.
pub fn run(name: &str, tolerance: f64) -> Cost {
    let none = Cost { error: f64::NAN, work: f64::NAN };
    let Some((name, case, expected)) = PROBLEMS.iter().find(|problem| problem.0 == name) else { return none };
    let (Ok(case), Ok(expected)) = (quenchway::file::read(case), serde_json::from_str::<Expected>(expected)) else {
        return none;
    };
    let case = case.to(tolerance);
    let Some(solution) = marched(&case) else { return none };
    let rows = compared(name, Some(&solution), &expected);
    let errors = rows.iter().filter(|row| row.unit == "degC").map(Check::error);
    let numerics = &solution.numerics;
    Cost { error: errors.fold(0.0, f64::max), work: (numerics.cells * numerics.steps) as f64 }
}

/// All problems at 0.001 K.
pub fn page() -> Page {
    let mut rows = Vec::new();
    for (name, case, expected) in PROBLEMS {
        match (quenchway::file::read(case), serde_json::from_str::<Expected>(expected)) {
            (Ok(case), Ok(expected)) => {
                rows.extend(compared(name, marched(&case.to(TOLERANCE)).as_ref(), &expected));
            }
            (Err(_), _) => rows.push(lost("benchmark problems", name.to_string(), &"the case cannot be read")),
            (_, Err(error)) => rows.push(lost("benchmark problems", name.to_string(), &error)),
        }
    }
    Page {
        title: "The benchmark problems P1 to P6",
        kind: Kind::Published,
        question: "Whole lines with shrink, radiation, contact, latent heat, warming water and film tables: does another program agree?",
        set_up: "P1 has constant properties. P2 is the house wire with curves and radiation. P3 is a jacket with a contact \
                 and free contraction. P4 is thick PE with a latent peak in three troughs. P5 has water that warms up, \
                 against the product and along it. P6 has film tables against surface temperature and distance. \
                 validation/benchmarks holds the cases.",
        reference: "Cell-centred finite volumes with CVODE-BDF give it, with Richardson over four meshes. They were \
                    computed for this project and are certain to 1e-5 K or better; two independent programs agree.",
        bound: "0.001 K, the tolerance; radii 1e-5 of themselves.",
        doubts: "The lines are invented: what agrees is the arithmetic, not the plant.",
        rows,
    }
}

fn compared(name: &str, solution: Option<&Solution>, expected: &Expected) -> Vec<Check> {
    let mut rows = Vec::new();
    let mut push = |what: String, unit: &'static str, expected: f64, computed: Option<f64>, bound: f64| {
        rows.push(Check {
            family: "benchmark problems",
            what: format!("{name}, {what}"),
            source: "finite volumes, CVODE-BDF, Richardson, computed for this project",
            subject: Subject::Engine,
            witness: Witness::SecondProgram,
            unit,
            expected,
            computed: computed.unwrap_or(f64::NAN),
            bound,
            reason: if unit == "m" { "1e-5 of a radius: the digits of the reference" } else { PROMISE },
        });
    };
    for (index, end) in expected.sections.iter().enumerate() {
        let exit = solution.and_then(|solution| solution.sections.get(index)).map(|section| &section.exit);
        let at = format!("end of section {}", index + 1);
        push(format!("{at}, axis"), "degC", end.axis, exit.map(|p| p.core), TOLERANCE);
        push(format!("{at}, surface"), "degC", end.surface, exit.map(|p| p.surface), TOLERANCE);
        let mean = exit.and_then(|p| p.layer_means.last().copied());
        push(format!("{at}, outer layer's mean"), "degC", end.outer_layer_mean, mean, TOLERANCE);
        push(format!("{at}, radius"), "m", end.outer_radius, exit.map(|p| 0.5 * p.diameter), 1e-5 * end.outer_radius);
        for (joint, [inner, outer]) in end.interfaces.iter().enumerate() {
            let face = exit.and_then(|p| p.interfaces.get(joint));
            push(format!("{at}, joint {} inside", joint + 1), "degC", *inner, face.map(|f| f.inner), TOLERANCE);
            push(format!("{at}, joint {} outside", joint + 1), "degC", *outer, face.map(|f| f.outer), TOLERANCE);
        }
        if let Some(water) = end.water_out {
            let computed = solution.and_then(|s| s.sections.get(index)?.water_out);
            push(format!("water that leaves section {}", index + 1), "degC", water, computed, TOLERANCE);
        }
        for (time, surface) in &end.surface_at {
            let name = format!("{time} s in section {}", index + 1);
            let station = solution.and_then(|s| s.stations.iter().find(|station| station.name == name));
            push(format!("surface {name}"), "degC", *surface, station.map(|s| s.point.surface), TOLERANCE);
        }
    }
    rows
}
