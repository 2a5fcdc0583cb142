//! What would help where a length or a speed has no answer: each lever is tried on the case, alone.

use super::ceilings::{self, Ceiling, What};
use crate::case::{CaseFile, Medium};
use crate::march::solution::Solution;
use crate::march::{march, march_by_rule};
use crate::material::Kind;
use crate::maths::order::sort_by_numbers;
use crate::maths::parallel::each;
use crate::maths::root::{Bracket, enclose};
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;
use crate::units::words::key;
use crate::units::{System, show};

/// Accuracy of the solves, K.
const ACCURACY: f64 = 0.05;
/// Coldest water that a chiller is taken to give, degC. Common practice, no source.
const COLDEST: f64 = 5.0;
/// Least preheat, degC.
const ROOM: f64 = 20.0;
/// How finely the least change that does is enclosed, as a share of the largest one tried.
const SHARE: f64 = 0.01;
/// Last digits by which a printed change goes farther where a careful march does not meet all ceilings.
const FARTHER: u32 = 8;

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
    /// The same as it is printed, rounded to the side that does and marched with care as it is printed.
    pub printed: String,
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
/// themselves, one percent as one kelvin, and so does a percent of melt shrink. What is printed is so in the units of `system`.
pub fn levers(case: &CaseFile, system: System) -> Vec<Lever> {
    let tolerance = case.tolerance;
    let case = case.clone().to(tolerance.max(ACCURACY));
    let Some((before, _)) = worst(&case) else { return Vec::new() };
    let one = |(words, paths, how): &(&'static str, Vec<String>, Move)| {
        let tried = Tried::new(&case, paths, *how)?;
        tried.lever(words, tolerance, system)
    };
    let tried = each(&candidates(&case), one);
    let mut helpful: Vec<(Lever, f64)> =
        tried.into_iter().flatten().filter(|(lever, after)| lever.meets || *after < before - 2.0 * ACCURACY).collect();
    // Those that do, by how little they move; then those that do not, by what they leave.
    let moved = |lever: &Lever| (lever.to - lever.from).abs() / lever.from.abs().max(f64::MIN_POSITIVE);
    sort_by_numbers(&mut helpful, |(lever, after)| {
        [f64::from(!lever.meets), if lever.meets { moved(lever) } else { *after }]
    });
    helpful.into_iter().map(|(lever, _)| lever).collect()
}

/// What is tried on a case: words, what is moved together, how.
fn candidates(case: &CaseFile) -> Vec<(&'static str, Vec<String>, Move)> {
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

/// Numbers of a case that are moved together, as a share of the largest change that is tried.
struct Tried<'a> {
    case: &'a CaseFile,
    variables: Vec<Variable>,
    /// As the case has them.
    values: Vec<f64>,
    how: Move,
}

impl Tried<'_> {
    fn new<'a>(case: &'a CaseFile, paths: &[String], how: Move) -> Option<Tried<'a>> {
        let variables: Vec<Variable> = paths.iter().filter_map(|path| KeyPath::find(case, path).ok()).collect();
        variables.first()?;
        let values = variables.iter().map(|variable| variable.get(case)).collect();
        let tried = Tried { case, variables, values, how };
        (!matches!(how, Move::DownTo(floor) if tried.room(floor) <= 0.0)).then_some(tried)
    }

    /// The warmest of several decides how far all may go down together.
    fn room(&self, floor: f64) -> f64 {
        self.values.iter().map(|value| value - floor).fold(f64::INFINITY, f64::min)
    }

    fn moved(&self, share: f64) -> Option<CaseFile> {
        let mut case = self.case.clone();
        for (variable, value) in self.variables.iter().zip(&self.values) {
            let to = match self.how {
                Move::DownTo(floor) => value - share * self.room(floor),
                Move::By(factor) => value * libm::pow(factor, share),
            };
            variable.set(&mut case, to).ok()?;
        }
        Some(case)
    }

    /// The share with which the first of them becomes `to`.
    fn share_of(&self, to: f64) -> f64 {
        match self.how {
            Move::DownTo(floor) => (self.values[0] - to) / self.room(floor),
            Move::By(factor) => libm::log(to / self.values[0]) / libm::log(factor),
        }
    }

    fn left(&self, share: f64) -> Option<f64> {
        worst(&self.moved(share)?).map(|(left, _)| left)
    }

    /// What the change does, and by how much the worst ceiling is then exceeded.
    fn lever(&self, words: &'static str, tolerance: f64, system: System) -> Option<(Lever, f64)> {
        let first = &self.variables[0];
        let at_most = self.left(1.0)?;
        let mut share = 1.0;
        if at_most <= 0.0 {
            let ends = Bracket { low: [0.0, self.left(0.0)?], high: [1.0, at_most] };
            share = enclose(|share| self.left(share).ok_or(()), ends, SHARE).ok()?.below();
        }
        let printed = (at_most <= 0.0).then(|| self.printed(share, tolerance, system)).flatten();
        // What no careful march confirms is told as it stands at the largest change.
        let share = if printed.is_some() { share } else { 1.0 };
        let case = self.moved(share)?;
        let (left, worst) = worst(&case)?;
        let (from, to) = (self.values[0], first.get(&case));
        let meets = printed.is_some();
        let printed = printed.unwrap_or_else(|| first.show(to, system));
        let paths = self.variables.iter().map(|variable| variable.path.clone()).collect();
        Some((Lever { paths, words, from, to, printed, meets, worst, variable: first.clone() }, left))
    }

    /// The least printed change that a careful march confirms, from that of `share` on; none where even the largest does not.
    fn printed(&self, share: f64, tolerance: f64, system: System) -> Option<String> {
        let first = &self.variables[0];
        let value = |share: f64| self.moved(share).map(|case| first.get(&case));
        let (to, most) = (value(share)?, value(1.0)?);
        let rounded = (0..=FARTHER).map(|further| rounded(first, [self.values[0], to], system, further));
        let mut texts = rounded.chain([first.show(most, system)]);
        texts.find(|text| {
            let Ok(to) = first.parse_value(text) else { return false };
            let share = self.share_of(to);
            let case = self.moved(share).filter(|_| share <= 1.0 + 1e-5).map(|case| case.to(tolerance));
            let solved = case.and_then(|case| march(&case).ok().map(|solution| worst_of(&case, &solution)));
            solved.flatten().is_some_and(|(left, _)| left <= 0.0)
        })
    }
}

/// A number moved by a change in two digits, away from what the case has, `further` of the last digit beyond.
fn rounded(variable: &Variable, [from, to]: [f64; 2], system: System, further: u32) -> String {
    let (from, unit) = shown(variable, from, system);
    let change = shown(variable, to, system).0 - from;
    let exponent = format!("{:e}", change.abs());
    let exponent: i32 = exponent.rsplit_once('e').and_then(|(_, exponent)| exponent.parse().ok()).unwrap_or(0);
    let digit: f64 = format!("1e{}", exponent - 1).parse().unwrap_or(1.0);
    // A temperature of 9.43 degC becomes 9.4, a digit farther from what the case has rather than nearer.
    let number = from + ((change / digit).abs().ceil() + f64::from(further)) * digit * change.signum();
    let number: f64 = format!("{number:.5e}").parse().unwrap_or(number);
    format!("{number} {unit}").trim_end().to_string()
}

fn shown(variable: &Variable, value: f64, system: System) -> (f64, &'static str) {
    variable.dimension.map_or((value, ""), |dimension| show(value, dimension, system))
}

/// The worst ceiling of a case, by how much it is exceeded (K, or percent of a ceiling that is no temperature), its value;
/// none where the case has no answer or no ceiling.
fn worst(case: &CaseFile) -> Option<(f64, (Ceiling, f64))> {
    worst_of(case, &march_by_rule(case).ok()?)
}

fn worst_of(case: &CaseFile, solution: &Solution) -> Option<(f64, (Ceiling, f64))> {
    let judged = ceilings::all(case).into_iter().map(|ceiling| {
        let value = ceiling.value(case, solution);
        let left = match ceiling.what {
            What::Temperature(..) | What::WaterOut(_) | What::MeltShrink(_) => value - ceiling.max,
            What::Compound | What::Chiller => 100.0 * (value / ceiling.max - 1.0),
            // A line that just fits has nothing to spare, and is met all the same.
            What::Hall if value <= ceiling.max => f64::NEG_INFINITY,
            What::Hall => 100.0 * (value / ceiling.max - 1.0),
        };
        (left, (ceiling, value))
    });
    judged.max_by(|a, b| a.0.total_cmp(&b.0))
}
