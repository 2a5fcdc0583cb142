//! What a case must meet and what it aims at, of any values of the numbers that may be set.

use super::number::Number;
use crate::case::shrink;
use crate::case::{Aim, CaseFile, DieTemperature, Margin, Maximum, ROOM, Rest, Shape, Stages};
use crate::march::batch::{self, Batch};
use crate::march::output::Output;
use crate::march::solution::Solution;
use crate::material::Kind;
use crate::names::error::KeyPathError;
use crate::study::length::trough::at_the_die;
use crate::study::search::ceilings::{self, Ceiling, What};
use crate::study::search::values::Values;
use crate::units::words::key;
use crate::units::{Dimension, System};

/// Shortest section that takes a rest, m: what is less makes the line too long instead.
const LEAST_REST: f64 = 0.1;
/// A layer that does not set through counts as one that does so much beyond the end of the line, or beyond its limit.
const NOT_SET: f64 = 1.1;

/// What must hold.
#[derive(Clone, Debug)]
pub struct Requirement {
    /// Its name: an output, a key path of the plant, or `stages.line_length`.
    pub name: String,
    /// What it is of.
    pub of: Of,
    /// The most that is allowed, SI (temperatures degC).
    pub max: f64,
    /// What must stay to spare below that, K.
    pub margin: f64,
}

/// What a requirement is of.
#[derive(Clone, Debug)]
pub enum Of {
    /// A ceiling of the case.
    Ceiling(Ceiling),
    /// An output that `[stages.limits]` names.
    Output(Output),
    /// The length of the line, where a section takes the rest of it.
    Line,
}

impl Requirement {
    /// What it measures.
    pub fn dimension(&self) -> Dimension {
        match &self.of {
            Of::Ceiling(ceiling) => ceiling.dimension(),
            Of::Output(output) => output.dimension.unwrap_or(Dimension::Share),
            Of::Line => Dimension::Length,
        }
    }

    /// The layer whose melt under a set skin it limits.
    pub fn melt(&self, case: &CaseFile) -> Option<usize> {
        match &self.of {
            Of::Ceiling(Ceiling { what: What::MeltShrink(layer), .. }) => Some(*layer),
            Of::Output(output) if output.name.ends_with(".melt_shrink") => {
                case.layers.iter().position(|layer| output.name == format!("{}.melt_shrink", key(&layer.name)))
            }
            _ => None,
        }
    }
}

/// What a case tells.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// The aim, SI: m/s, m, percent, or money a second. Of a speed the search looks for the highest, of all others the lowest.
    pub aim: f64,
    /// The value of each requirement, SI.
    pub values: Vec<f64>,
}

/// The numbers, what must hold, and the marches that tell it.
pub(super) struct Problem<'a> {
    pub(super) case: &'a CaseFile,
    pub(super) stages: &'a Stages,
    pub(super) numbers: Vec<Number>,
    pub(super) requirements: Vec<Requirement>,
    /// What the marches are asked for.
    outputs: Values,
    /// Places of the melts under set skins among the outputs.
    melts: Vec<usize>,
    /// Of the heat that all water takes up.
    chiller: Option<usize>,
    /// Of what the water of each section takes up.
    heats: Vec<usize>,
    /// Of each requirement that is an output.
    of_limit: Vec<Option<usize>>,
    /// How exact the marches are, K.
    tolerance: f64,
}

fn place(outputs: &mut Vec<Output>, output: Output) -> usize {
    outputs.push(output);
    outputs.len() - 1
}

impl<'a> Problem<'a> {
    pub(super) fn new(
        case: &'a CaseFile,
        stages: &'a Stages,
        system: System,
        tolerance: f64,
    ) -> Result<Problem<'a>, KeyPathError> {
        let numbers = stages.vary.iter().map(|ranged| Number::new(case, ranged, system)).collect::<Result<_, _>>()?;
        let requirements = requirements(case, stages);
        let mut outputs = Vec::new();
        let find = |name: String| Output::find(case, &name).ok();
        let mut melts = Vec::new();
        if stages.aim == Aim::LeastVoid {
            let plastics = case.layers.iter().filter(|layer| layer.material.kind == Kind::Plastic);
            let found = plastics.filter_map(|layer| find(format!("{}.melt_shrink", key(&layer.name))));
            melts = found.map(|output| place(&mut outputs, output)).collect();
        }
        let (mut chiller, mut heats) = (None, Vec::new());
        if stages.aim == Aim::Cheapest {
            chiller = find("line.chiller_duty".to_string()).map(|output| place(&mut outputs, output));
            let wet = case.sections.iter().filter(|section| section.medium.is_water());
            let found = wet.filter_map(|section| find(format!("{}.heat_to_water", key(&section.name))));
            heats = found.map(|output| place(&mut outputs, output)).collect();
        }
        let of_limit = requirements.iter().map(|requirement| match &requirement.of {
            Of::Output(output) => Some(place(&mut outputs, output.clone())),
            _ => None,
        });
        let of_limit = of_limit.collect();
        let outputs = Values::new(case, outputs);
        Ok(Problem { case, stages, numbers, requirements, outputs, melts, chiller, heats, of_limit, tolerance })
    }

    /// Numbers that take any value.
    pub(super) fn smooth(&self) -> Vec<usize> {
        (0..self.numbers.len()).filter(|&index| self.numbers[index].step.is_none()).collect()
    }

    /// The case at some values of the numbers, SI.
    pub(super) fn case_at(&self, values: &[f64]) -> Result<CaseFile, KeyPathError> {
        let mut case = self.case.clone();
        for (number, value) in self.numbers.iter().zip(values) {
            number.variable.set(&mut case, *value)?;
        }
        if let Some(rest) = self.stages.rest {
            take_rest(&mut case, rest);
        }
        at_the_die(&mut case);
        Ok(case)
    }

    /// What places tell, each by the rule of its own case, on the calling thread.
    pub(super) fn solve(&self, places: &[&Vec<f64>]) -> Vec<Option<Told>> {
        let values = |x: &[f64]| -> Vec<f64> { self.numbers.iter().zip(x).map(|(number, x)| number.at(*x)).collect() };
        // Bounds were checked as they were read, so every value can be set.
        let cases: Result<Vec<CaseFile>, KeyPathError> =
            places.iter().map(|x| Ok(self.case_at(&values(x))?.to(self.tolerance))).collect();
        let Ok(cases) = cases else { return vec![None; places.len()] };
        let answers = batch::on_one_thread(&cases, &self.outputs.outputs, Batch::default());
        answers.into_iter().zip(&cases).map(|(answer, case)| Some(self.told(case, &answer.ok()?.values))).collect()
    }

    fn told(&self, case: &CaseFile, outputs: &[f64]) -> Told {
        let ceilings = self.outputs.of(case, outputs);
        let value = |(requirement, place): (&Requirement, &Option<usize>)| match (&requirement.of, place) {
            (Of::Ceiling(own), _) => {
                let found = ceilings.iter().find(|(ceiling, _)| ceiling.path == own.path && ceiling.name == own.name);
                found.map_or(f64::NAN, |(_, value)| *value)
            }
            (Of::Output(output), Some(place)) => of_output(case, requirement, output, outputs[*place]),
            (Of::Output(_), None) => f64::NAN,
            (Of::Line, _) => self.of_line(case),
        };
        let values = self.requirements.iter().zip(&self.of_limit).map(value).collect();
        Told { values, aim: self.aim(case, outputs) }
    }

    /// What a solution of a case tells.
    pub(super) fn of_solution(&self, case: &CaseFile, solution: &Solution) -> Told {
        let outputs: Vec<f64> = self.outputs.outputs.iter().map(|output| output.of(solution)).collect();
        let value = |requirement: &Requirement| match &requirement.of {
            Of::Ceiling(ceiling) => ceiling.value(case, solution),
            Of::Output(output) => of_output(case, requirement, output, output.of(solution)),
            Of::Line => self.of_line(case),
        };
        Told { aim: self.aim(case, &outputs), values: self.requirements.iter().map(value).collect() }
    }

    /// The length of the line: that which was given, to the last bit, where the rest has room.
    fn of_line(&self, case: &CaseFile) -> f64 {
        let rest = self.stages.rest.filter(|rest| case.sections[rest.section].length > LEAST_REST);
        rest.map_or(case.line_length(), |rest| rest.line_length)
    }

    /// Whether nothing is left for the section that takes the rest.
    pub(super) fn is_short(&self, case: &CaseFile) -> bool {
        self.stages.rest.is_some_and(|rest| case.sections[rest.section].length <= LEAST_REST)
    }

    fn aim(&self, case: &CaseFile, outputs: &[f64]) -> f64 {
        match self.stages.aim {
            Aim::Fastest => case.line_speed,
            Aim::Shortest => wet_length(case),
            Aim::LeastVoid => {
                let melt = |&place: &usize| self.outputs.outputs[place].against_limit(case, outputs[place]);
                self.melts.iter().map(melt).fold(f64::NEG_INFINITY, f64::max)
            }
            Aim::Cheapest => {
                let chiller = self.chiller.map_or(f64::NAN, |place| outputs[place]);
                let heats: Vec<f64> = self.heats.iter().map(|&place| outputs[place]).collect();
                let powers = [chiller, heating(case, &heats)];
                self.stages.prices.unwrap_or_default().cost(powers, wet_length(case), case.line_speed)
            }
        }
    }
}

/// The value of an output that must not exceed a limit.
fn of_output(case: &CaseFile, requirement: &Requirement, output: &Output, value: f64) -> f64 {
    let value = output.against_limit(case, value);
    match value.is_nan() && output.name.ends_with(".set_through") {
        true => NOT_SET * case.line_length().max(requirement.max),
        false => value,
    }
}

/// Length of all sections with water, each counted once however often it is passed, m.
pub fn wet_length(case: &CaseFile) -> f64 {
    case.sections.iter().filter(|section| section.medium.is_water()).map(|section| section.length).sum()
}

/// Power that warms the product, W: what the water of a section gives it (`heats` is what it takes from the product, W), and what a
/// metal first layer has above 25 degC at the die, or the power of its preheater.
pub fn heating(case: &CaseFile, heats: &[f64]) -> f64 {
    let of_water: f64 = heats.iter().map(|heat| (-heat).max(0.0)).sum();
    of_water + preheat(case)
}

fn preheat(case: &CaseFile) -> f64 {
    let Some(layer) = case.layers.first().filter(|layer| layer.material.kind == Kind::Metal) else { return 0.0 };
    if let DieTemperature::Preheated(preheat) = &layer.temperature {
        return preheat.power;
    }
    let Ok(radii) = shrink::radii(case) else { return f64::NAN };
    let (die, inner) = (case.die_temperature(0), case.bore / 2.0);
    let area = match case.shape {
        Shape::Round => case.shape.area_between(inner, radii.hot[0]) / 2.0,
        Shape::Flat => case.shape.area_between(inner, radii.hot[0]),
    };
    let flow = layer.material.density.at(die) * area * case.shape.around() * case.line_speed;
    (flow * layer.heat_capacity_factor * layer.material.heat_capacity.integral(ROOM, die)).max(0.0)
}

/// Gives a section what the others leave of the length of the line: a short piece where they leave nothing.
fn take_rest(case: &mut CaseFile, rest: Rest) {
    let section = &mut case.sections[rest.section];
    section.length = 0.0;
    let passes = section.passes as f64;
    let others = case.line_length();
    case.sections[rest.section].length = ((rest.line_length - others) / passes).max(LEAST_REST);
}

/// What must hold of a case: its ceilings, what `[stages.limits]` names, the length of a line whose rest one section takes.
fn requirements(case: &CaseFile, stages: &Stages) -> Vec<Requirement> {
    let spare = match stages.margin {
        Margin::Kelvin(margin) => margin,
        // What the uncertainty of the inputs adds is known where an answer is.
        Margin::Band => 0.0,
    };
    let of_ceiling = |ceiling: Ceiling| {
        let margin = if matches!(ceiling.what, What::Temperature(..)) { spare } else { 0.0 };
        Requirement { name: ceiling.name.clone(), max: ceiling.max, margin, of: Of::Ceiling(ceiling) }
    };
    let of_limit = |limit: &Maximum| {
        let output = Output::find(case, &limit.output).ok()?;
        Some(Requirement { name: limit.output.clone(), max: limit.max, margin: 0.0, of: Of::Output(output) })
    };
    let of_rest = |rest: Rest| {
        let name = "stages.line_length".to_string();
        Requirement { name, of: Of::Line, max: rest.line_length, margin: 0.0 }
    };
    let ceilings = ceilings::all(case).into_iter().map(of_ceiling);
    ceilings.chain(stages.limits.iter().filter_map(of_limit)).chain(stages.rest.map(of_rest)).collect()
}
