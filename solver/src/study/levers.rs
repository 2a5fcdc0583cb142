//! What would help where a length or a speed has no answer: each lever is tried on the case, alone.

use rayon::prelude::*;

use super::ceilings::{Ceiling, What, limits, of_plant};
use super::key_path::KeyPath;
use super::variable::Variable;
use crate::case::{Case, Medium};
use crate::error::key;
use crate::march::march_by_rule;
use crate::material::Kind;
use crate::root::{Bracket, enclose};

/// Accuracy of the solves, K.
const ACCURACY: f64 = 0.05;
/// Coldest water that a chiller is taken to give, degC. Common practice, no source.
const COLDEST: f64 = 5.0;
/// Least preheat, degC.
const ROOM: f64 = 20.0;
/// How finely the least change that does is enclosed, as a share of the largest one tried.
const SHARE: f64 = 0.01;

/// A number of the case, how far it was moved, and what came of it.
#[derive(Clone, Debug)]
pub struct Lever {
    /// Key paths of what was moved, together.
    pub paths: Vec<String>,
    /// What it is, in words: "colder water".
    pub words: &'static str,
    /// The first of them as the case has it, SI.
    pub from: f64,
    /// The first of them where all ceilings are met, or as far as it was moved, SI.
    pub to: f64,
    /// Whether every ceiling is met there.
    pub meets: bool,
    /// What remains the worst ceiling there, and its value.
    pub worst: (Ceiling, f64),
    /// How the first number is written.
    pub variable: Variable,
}

/// How a lever's numbers are moved.
#[derive(Clone, Copy)]
enum Move {
    /// Down to this value at the most, all by the same difference.
    DownTo(f64),
    /// By this factor at the most.
    By(f64),
}

/// What would bring every limit and ceiling of a case to be met, the most helpful first; of the others those that bring the
/// worst ceiling nearer.
///
/// Tried are: colder water down to 5 degC, a cooler conductor down to 20 degC, twice the water flow, a quarter and four times the
/// length of each air section, a slower line down to a quarter. Ceilings other than temperatures count in percent of
/// themselves, one percent as one kelvin.
pub fn levers(case: &Case) -> Vec<Lever> {
    let case = Case { tolerance: case.tolerance.max(ACCURACY), ..case.clone() };
    let Some((before, _)) = worst(&case) else { return Vec::new() };
    let tried: Vec<Option<(Lever, f64)>> =
        candidates(&case).into_par_iter().map(|(words, paths, how)| try_one(&case, words, &paths, how)).collect();
    let mut helpful: Vec<(Lever, f64)> =
        tried.into_iter().flatten().filter(|(lever, after)| lever.meets || *after < before - 2.0 * ACCURACY).collect();
    // Those that do, by how little they move; then those that do not, by what they leave.
    let moved = |lever: &Lever| (lever.to - lever.from).abs() / lever.from.abs().max(f64::MIN_POSITIVE);
    helpful.sort_by(|(a, left_a), (b, left_b)| {
        let by_amount = moved(a).total_cmp(&moved(b));
        b.meets.cmp(&a.meets).then(if a.meets { by_amount } else { left_a.total_cmp(left_b) })
    });
    helpful.into_iter().map(|(lever, _)| lever).collect()
}

/// What is tried on a case: words, what is moved together, how.
fn candidates(case: &Case) -> Vec<(&'static str, Vec<String>, Move)> {
    let section = |index: usize, name: &str| format!("section.{}.{name}", key(&case.sections[index].name));
    let indices = |wanted: &dyn Fn(&crate::case::Section) -> bool| -> Vec<usize> {
        (0..case.sections.len()).filter(|&index| wanted(&case.sections[index])).collect()
    };
    let of =
        |name: &str, indices: Vec<usize>| indices.into_iter().map(|index| section(index, name)).collect::<Vec<_>>();
    let wet = indices(&|section| section.medium.is_water() && section.supply.is_none());
    let flowing = indices(&|section| section.circulation.is_some() && section.supply.is_none());
    let mut tried = vec![
        ("colder water", of("temperature", wet), Move::DownTo(COLDEST)),
        ("more water", of("flow", flowing), Move::By(2.0)),
        ("a slower line", vec!["line.speed".to_string()], Move::By(0.25)),
    ];
    let metals = case.layers.iter().filter(|layer| layer.material.kind != Kind::Plastic);
    let metals = metals.map(|layer| format!("layer.{}.temperature", key(&layer.name))).collect();
    tried.push(("a cooler conductor at the die", metals, Move::DownTo(ROOM)));
    for index in indices(&|section| section.medium == Medium::Air) {
        tried.push(("a shorter air section", vec![section(index, "length")], Move::By(0.25)));
        tried.push(("a longer air section", vec![section(index, "length")], Move::By(4.0)));
    }
    tried
}

fn try_one(case: &Case, words: &'static str, paths: &[String], how: Move) -> Option<(Lever, f64)> {
    let variables: Vec<Variable> = paths.iter().filter_map(|path| KeyPath::find(case, path).ok()).collect();
    let first = variables.first()?.clone();
    let values: Vec<f64> = variables.iter().map(|variable| variable.get(case)).collect();
    // The warmest of several decides how far all may go down together.
    let room = |floor: f64| values.iter().map(|value| value - floor).fold(f64::INFINITY, f64::min);
    if matches!(how, Move::DownTo(floor) if room(floor) <= 0.0) {
        return None;
    }
    let moved = |share: f64| -> Option<Case> {
        let mut case = case.clone();
        for (variable, value) in variables.iter().zip(&values) {
            let to = match how {
                Move::DownTo(floor) => value - share * room(floor),
                Move::By(factor) => value * libm::pow(factor, share),
            };
            variable.set(&mut case, to).ok()?;
        }
        Some(case)
    };
    let left = |share: f64| worst(&moved(share)?);
    let (at_most, _) = left(1.0)?;
    let share = if at_most <= 0.0 {
        let ends = Bracket { low: [0.0, left(0.0)?.0], high: [1.0, at_most] };
        let root = enclose(|share| left(share).map(|(left, _)| left).ok_or(()), ends, SHARE).ok()?;
        root.below()
    } else {
        1.0
    };
    let case = moved(share)?;
    let (left, worst) = worst(&case)?;
    let (from, to) = (values[0], first.get(&case));
    Some((
        Lever {
            paths: variables.iter().map(|variable| variable.path.clone()).collect(),
            words,
            from,
            to,
            meets: left <= 0.0,
            worst,
            variable: first,
        },
        left,
    ))
}

/// The worst ceiling of a case, by how much it is exceeded (K, or percent of a ceiling that is no temperature), its value;
/// none where the case has no answer or no ceiling.
fn worst(case: &Case) -> Option<(f64, (Ceiling, f64))> {
    let solution = march_by_rule(case).ok()?;
    let judged = limits(case).into_iter().chain(of_plant(case)).map(|ceiling| {
        let value = ceiling.value(case, &solution);
        let left = match ceiling.what {
            What::Temperature(..) | What::WaterOut(_) => value - ceiling.max,
            What::Compound | What::Chiller => 100.0 * (value / ceiling.max - 1.0),
            // A line that just fits has nothing to spare, and is met all the same.
            What::Hall if value <= ceiling.max => f64::NEG_INFINITY,
            What::Hall => 100.0 * (value / ceiling.max - 1.0),
        };
        (left, (ceiling, value))
    });
    judged.max_by(|a, b| a.0.total_cmp(&b.0))
}
