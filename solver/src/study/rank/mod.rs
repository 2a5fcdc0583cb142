//! Which inputs matter: what each number of a case does to the limited temperatures and to the trough that they need.
//!
//! Every number a tenth up and down (temperatures 10 K), everything else as it is: half the difference, a central difference, per
//! tenth. Then every uncertain input to one standard value either way.

mod data;
#[cfg(test)]
mod tests;

use std::fmt;

use serde::Serialize;

use super::cooling::cooling;
use super::length::LengthError;
use super::length::trough::{self, scaled};
use super::search::ceilings::{self, of_product};
use super::searched::Searched;
use super::spread::{Drawn, drawn, reached};
use crate::case::cautions::cautions;
use crate::case::error::Error;
use crate::case::{CaseFile, Quantity};
use crate::march::march_by_rule;
use crate::march::output::{Output, Search};
use crate::march::solution::{Cooling, Solution};
use crate::maths::distribution::cumulative;
use crate::maths::order::sort_by_number;
use crate::maths::parallel::each;
use crate::names::key_path;
use crate::names::variable::Variable;
use crate::units::Dimension;
use crate::units::words::key;

/// Relative step of a number that is no temperature.
pub const TENTH: f64 = 0.1;
/// Step of a temperature, K.
pub const KELVIN: f64 = 10.0;
/// Changes of a temperature that cannot be told from the error of two solves, in tolerances.
const NOISE: f64 = 2.0;

/// Changes of a length, m, a time, s, or a speed, m/s, of a drive or a search that nobody asks for.
const NOTHING: f64 = 0.01;

/// The answer.
#[derive(Clone, Debug)]
pub struct Rank {
    /// What is looked at: everything of the product that has a limit, or surface and core at the last station.
    pub targets: Vec<Target>,
    /// Index of the target that decides: the one with the least margin, or the first that was asked for besides.
    pub deciding: usize,
    /// The trough that the case needs, m, or why there is none.
    pub length: Result<f64, String>,
    /// Names of the sections that grow.
    pub sections: Vec<String>,
    /// The coldest medium, degC: elasticities are of temperatures above it.
    pub coldest: f64,
    /// What each number does, the one that moves the deciding temperature most first.
    pub numbers: Vec<Effect>,
    /// What one standard value of each uncertain input does, the largest first.
    pub uncertain: Vec<Effect>,
    /// Whether the uncertain inputs are the usual bands, and not `[vary]`.
    pub usual: bool,
    /// What limits the cooling; none where the line has no answer with a doubled film or more water.
    pub cooling: Option<Cooling>,
    /// What a tenth more of all film coefficients in water, and of all conductivities of plastics, does to the deciding
    /// temperature, K.
    pub film_and_plastic: [f64; 2],
    /// Changes below this are noise, K.
    pub noise: f64,
    /// How many cases were solved.
    pub solves: usize,
    /// How long it took, s; not a number where nobody looked.
    pub wall: f64,
    /// Cautions for the plant floor.
    pub cautions: Vec<String>,
}

/// What is looked at: a temperature, a melt shrink, the answer of a search or a number of a programme.
#[derive(Clone, Debug)]
pub struct Target {
    /// `capstan.core`.
    pub name: String,
    /// What it measures.
    pub dimension: Dimension,
    /// Its value, degC, percent or SI.
    pub value: f64,
    /// Its limit, likewise; none where the case has none.
    pub limit: Option<f64>,
}

/// What one input does.
#[derive(Clone, Debug, Serialize)]
pub struct Effect {
    /// Key path, or several that move together.
    pub input: String,
    /// What the case has, SI; none for an input of several numbers.
    pub value: Option<f64>,
    /// The two ends that it was moved to, in the input's own measure: SI, a difference in K, a factor.
    pub ends: [f64; 2],
    /// Unit of the ends in UDUNITS spelling.
    pub units: &'static str,
    /// Change of each target, K, percent or SI: per tenth or 10 K of a number; for an uncertain input half of what lies between its ends.
    #[serde(skip)]
    pub changes: Vec<f64>,
    /// Change of the needed trough likewise, m; none where one of the ends has none.
    #[serde(rename = "length_m")]
    pub length: Option<f64>,
    /// Relative change of each target above the coldest medium over that of the input; none where either has no meaning.
    pub elasticity: Vec<Option<f64>>,
    /// Why one of the ends has no answer; the change is then that of the other end.
    pub failed: Option<String>,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum RankError {
    /// There is no station.
    NoStations,
    /// The case itself has no answer.
    March(Error),
}

impl Rank {
    /// A change of a target below this is noise, in its own unit.
    pub fn noise_of(&self, target: &Target) -> f64 {
        match target.dimension {
            Dimension::Temperature | Dimension::Share => self.noise,
            _ => NOTHING,
        }
    }

    /// Whether an input changes a target by more than noise.
    pub fn is_felt(&self, effect: &Effect) -> bool {
        self.targets.iter().zip(&effect.changes).any(|(target, change)| change.abs() > self.noise_of(target))
    }
}

impl fmt::Display for RankError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            RankError::NoStations => write!(
                out,
                "the case has no station, and inputs are ranked by temperatures at stations; add [[station]] with name and after"
            ),
            RankError::March(error) => error.fmt(out),
        }
    }
}

impl std::error::Error for RankError {}

/// Ranks the inputs of a case, on all threads of the present rayon pool.
///
/// ```
/// let case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
/// let rank = quenchway::study::rank::rank(&case).unwrap();
/// assert_eq!(rank.targets[rank.deciding].name, "capstan.core");
/// // A tenth more wall or speed does more than a tenth more film: the plastic limits.
/// let of = |path: &str| rank.numbers.iter().find(|effect| effect.input == path).unwrap().changes[rank.deciding];
/// assert!(of("line.speed") > 3.0 && of("section.trough.film_factor").abs() < 1.0);
/// ```
///
/// # Errors
///
/// No station, the case itself has no answer.
pub fn rank(case: &CaseFile) -> Result<Rank, RankError> {
    rank_also(case, &[])
}

/// The same, and by what inputs do to these answers of searches and numbers of the programme of the line: the first of them
/// decides the order.
///
/// # Errors
///
/// As of [`rank`].
pub fn rank_also(case: &CaseFile, also: &[Output]) -> Result<Rank, RankError> {
    if case.stations.is_empty() {
        return Err(RankError::NoStations);
    }
    let base = march_by_rule(case).map_err(RankError::March)?;
    let mut outputs = targets(case);
    let own = outputs.len();
    outputs.extend(also.iter().map(|output| (output.clone(), None)));
    let values = values(case, &outputs, &base);
    let targets: Vec<Target> = outputs
        .iter()
        .zip(values)
        .map(|((output, limit), value)| Target {
            name: output.name.clone(),
            dimension: output.dimension.unwrap_or(Dimension::Share),
            value,
            limit: *limit,
        })
        .collect();
    let margin = |target: &Target| target.limit.map_or(-target.value, |limit| limit - target.value);
    let nearest = (0..own).min_by(|&a, &b| margin(&targets[a]).total_cmp(&margin(&targets[b]))).unwrap_or(0);
    let deciding = if also.is_empty() { nearest } else { own };

    let sections = if of_product(case).is_empty() { Err(LengthError::NoLimits) } else { trough::sections(case) };
    let known: Vec<f64> = targets.iter().map(|target| target.value).collect();
    let growing = sections.as_deref().unwrap_or_default();
    let mut probe = Probe { outputs: &outputs, sections: growing, start: None, known: Some(&known) };
    let whole = probe.look(case, Some(&base));
    let length = match &sections {
        Err(error) => Err(error.to_string()),
        Ok(_) if whole.length.is_finite() => Ok(whole.length),
        Ok(_) => Err("no length of the trough meets every limit".to_string()),
    };
    // The searches of the neighbours begin where this one ended.
    probe.start = length.as_ref().ok().copied();

    let coldest = case.sections.iter().map(|section| section.temperature.0).fold(f64::INFINITY, f64::min);
    let frame = Frame { case, whole: &whole, coldest, targets: &targets };
    let in_time = also.iter().any(|output| matches!(output.searched(), Some(Search::Drive(_) | Search::Ramp)));
    let numbers: Vec<Variable> =
        key_path::all(case).into_iter().filter(|number| is_ranked(case, number, in_time)).collect();
    let (inputs, usual) = drawn(case);
    let solved = each(&numbers, |number| frame.of_number(&probe, number));
    let solved: Vec<(Effect, usize)> = solved.into_iter().flatten().collect();
    let unsure = each(&inputs, |input| frame.of_drawn(&probe, input));
    let solves = 1 + whole.solves + solved.iter().chain(&unsure).map(|(_, solves)| solves).sum::<usize>();
    let film_and_plastic = [film_effect(case, &solved, deciding), plastic_effect(case, &solved, deciding)];
    let sorted = |effects: Vec<(Effect, usize)>| {
        let mut effects: Vec<Effect> = effects.into_iter().map(|(effect, _)| effect).collect();
        // What has no number stands last.
        let size = |effect: &Effect| {
            effect.changes.get(deciding).filter(|change| !change.is_nan()).map_or(-1.0, |change| change.abs())
        };
        sort_by_number(&mut effects, |effect| -size(effect));
        effects
    };
    Ok(Rank {
        targets,
        deciding,
        length,
        sections: probe.sections.iter().map(|&index| case.sections[index].name.clone()).collect(),
        coldest,
        numbers: sorted(solved),
        uncertain: sorted(unsure),
        usual,
        cooling: cooling(case, &base, false).ok(),
        film_and_plastic,
        noise: NOISE * case.tolerance,
        solves,
        wall: f64::NAN,
        cautions: cautions(case),
    })
}

/// Everything of the product that has a limit, with it; surface and core at the last station where nothing has.
fn targets(case: &CaseFile) -> Vec<(Output, Option<f64>)> {
    let find = |name: &str| Output::find(case, name).ok();
    let limited = of_product(case).into_iter().filter_map(|limit| Some((find(&limit.name)?, Some(limit.max))));
    let mut targets: Vec<(Output, Option<f64>)> = limited.collect();
    if let (true, Some(last)) = (targets.is_empty(), case.stations.last()) {
        let name = |quantity: Quantity| format!("{}.{}", key(&last.name), quantity.name(case));
        let both = [Quantity::Surface, Quantity::Core].into_iter().filter_map(|quantity| find(&name(quantity)));
        targets.extend(both.map(|output| (output, None)));
    }
    targets
}

/// Every output's number, as it is held against a limit; of a search or a drive, too.
fn values(case: &CaseFile, outputs: &[(Output, Option<f64>)], solution: &Solution) -> Vec<f64> {
    let mut searched = Searched::default();
    let value = |(output, _): &(Output, Option<f64>)| match output.searched() {
        None => output.against_limit(case, output.of(solution)),
        Some(search) => searched.number(case, search).unwrap_or(f64::NAN),
    };
    outputs.iter().map(value).collect()
}

/// Numbers that change how the product cools, and `in_time` what it sees of a programme; a second name of another number is left
/// out.
fn is_ranked(case: &CaseFile, number: &Variable, in_time: bool) -> bool {
    let value = number.get(case);
    let path = key_path::KeyPath::parse(&number.path).ok();
    let Some(path) = path.filter(|_| value.is_finite() && (value != 0.0 || number.is_temperature())) else {
        return false;
    };
    let other = matches!(path.table.as_str(), "station" | "plant" | "solver");
    // A line whose speed changes has no one cooling rate that would move a setting point.
    let other = other || (in_time && path.key == "setting_shift");
    // A lag of the output, too, is of a line whose speed changes.
    let of_programme = matches!(path.table.as_str(), "line.change" | "accumulator")
        || matches!(path.key.as_str(), "output" | "starts_at" | "crosshead");
    let other = other || (of_programme && !in_time);
    let second = matches!(path.key.as_str(), "conductivity_factor" | "heat_capacity_factor" | "film_lean");
    let whole = matches!(path.key.as_str(), "passes" | "set_temperature");
    let given_film =
        path.key == "film_factor" && key_path::KeyPath { key: "film".into(), ..path }.find_in(case).is_ok();
    !(other || second || whole || given_film)
}

/// What is looked at in every case.
struct Probe<'a> {
    outputs: &'a [(Output, Option<f64>)],
    sections: &'a [usize],
    /// Length at which the search for the needed trough begins, m.
    start: Option<f64>,
    /// What the case itself has.
    known: Option<&'a [f64]>,
}

/// What one case says.
struct Look {
    temperatures: Vec<f64>,
    /// Needed trough, m; infinite where none meets the limits, not a number where none was sought or found.
    length: f64,
    solves: usize,
    failed: Option<String>,
}

impl Probe<'_> {
    fn look(&self, case: &CaseFile, solved: Option<&Solution>) -> Look {
        let own = match solved {
            Some(solution) => Ok(solution.clone()),
            None => march_by_rule(case),
        };
        let solution = match own {
            Ok(solution) => solution,
            Err(error) => {
                let nothing = vec![f64::NAN; self.outputs.len()];
                return Look { temperatures: nothing, length: f64::NAN, solves: 1, failed: Some(error.to_string()) };
            }
        };
        let temperatures = match self.known {
            // The case itself: its drives and searches are done.
            Some(known) if solved.is_some() => known.to_vec(),
            _ => values(case, self.outputs, &solution),
        };
        let mut look = Look { temperatures, length: f64::NAN, solves: 1, failed: None };
        if !self.sections.is_empty() {
            let near = self.start.map(|start| scaled(case, self.sections, start));
            let there = match &near {
                Some(near) => {
                    look.solves += 1;
                    march_by_rule(near).ok().and_then(|solution| ceilings::worst(near, &solution))
                }
                None => ceilings::worst(case, &solution),
            };
            if let Some(excess) = there {
                let (reach, solves) = reached(near.as_ref().unwrap_or(case), self.sections, excess);
                look.length = reach.between();
                look.solves += solves;
            }
        }
        look
    }
}

/// What effects are measured against.
struct Frame<'a> {
    case: &'a CaseFile,
    whole: &'a Look,
    coldest: f64,
    targets: &'a [Target],
}

impl Frame<'_> {
    /// A number a tenth or 10 K either way, as far as its bounds allow; none where they allow nothing.
    fn of_number(&self, probe: &Probe<'_>, number: &Variable) -> Option<(Effect, usize)> {
        let here = number.get(self.case);
        let step = if number.is_temperature() { KELVIN } else { TENTH * here.abs() };
        let [low, high] = number.bounds;
        let ends = [(here - step).max(low), (here + step).min(high)];
        if ends[1] <= ends[0] {
            return None;
        }
        let looks = ends.map(|end| {
            let mut case = self.case.clone();
            match number.move_to(&mut case, end) {
                Ok(()) => probe.look(&case, None),
                Err(error) => self.nothing(error.to_string()),
            }
        });
        let (mut effect, solves) = self.effect(number.path.clone(), [here, ends[0], ends[1]], step, looks);
        effect.value = Some(here);
        effect.units = number.units();
        // Of a temperature only what it is above the coldest medium has a tenth.
        let base = if number.is_temperature() { here - self.coldest } else { here };
        let relative = |(target, change): (&Target, &f64)| {
            // A melt shrink begins at nothing.
            let above =
                if target.dimension == Dimension::Temperature { target.value - self.coldest } else { target.value };
            let good = base.abs() > 1e-9 && above > 1e-9 && change.is_finite();
            good.then(|| change / above / (step / base))
        };
        effect.elasticity = self.targets.iter().zip(&effect.changes).map(relative).collect();
        Some((effect, solves))
    }

    /// An uncertain input one standard value either way: the values below which 16 and 84 % of it lie.
    fn of_drawn(&self, probe: &Probe<'_>, input: &Drawn) -> (Effect, usize) {
        let [middle, low, high] = [0.0, -1.0, 1.0].map(|sd| input.distribution.quantile(cumulative(sd)));
        let looks = [low, high].map(|end| {
            let mut case = self.case.clone();
            match input.put(&mut case, end) {
                Ok(()) => probe.look(&case, None),
                Err(error) => self.nothing(error.to_string()),
            }
        });
        let (mut effect, solves) = self.effect(input.input.clone(), [middle, low, high], 0.5 * (high - low), looks);
        effect.value = input.variable().map(|variable| variable.get(self.case));
        effect.units = input.units();
        (effect, solves)
    }

    fn nothing(&self, reason: String) -> Look {
        let temperatures = vec![f64::NAN; self.targets.len()];
        Look { temperatures, length: f64::NAN, solves: 0, failed: Some(reason) }
    }

    /// The change per step from two ends, or from one end and the case itself where the other has no answer.
    fn effect(&self, input: String, at: [f64; 3], step: f64, looks: [Look; 2]) -> (Effect, usize) {
        let [here, low, high] = at;
        let [below, above] = &looks;
        let slope = |low_value: f64, value: f64, high_value: f64| {
            let (from, to) = match (low_value.is_finite(), high_value.is_finite()) {
                (true, true) => ([low, low_value], [high, high_value]),
                (true, false) => ([low, low_value], [here, value]),
                _ => ([here, value], [high, high_value]),
            };
            (to[1] - from[1]) / (to[0] - from[0]) * step
        };
        let changes = (0..self.targets.len())
            .map(|which| slope(below.temperatures[which], self.whole.temperatures[which], above.temperatures[which]))
            .collect();
        let length = slope(below.length, self.whole.length, above.length);
        let solves = below.solves + above.solves;
        let effect = Effect {
            input,
            value: None,
            ends: [low, high],
            units: "1",
            changes,
            length: Some(length).filter(|length| length.is_finite()),
            elasticity: Vec::new(),
            failed: looks.into_iter().find_map(|look| look.failed),
        };
        (effect, solves)
    }
}

/// What a tenth more of the films of all sections with water does to the deciding temperature, K.
fn film_effect(case: &CaseFile, effects: &[(Effect, usize)], deciding: usize) -> f64 {
    let wet = case.sections.iter().filter(|section| section.medium.is_water());
    let paths = wet
        .flat_map(|section| ["film_factor", "film"].map(|number| format!("section.{}.{number}", key(&section.name))));
    sum(effects, paths.collect(), deciding)
}

/// What a tenth more of the conductivities of all plastics does to the deciding temperature, K.
fn plastic_effect(case: &CaseFile, effects: &[(Effect, usize)], deciding: usize) -> f64 {
    let plastics = case.layers.iter().filter(|layer| layer.material.kind == crate::material::Kind::Plastic);
    sum(
        effects,
        plastics.map(|layer| format!("material.{}.conductivity", key(&layer.material.name))).collect(),
        deciding,
    )
}

fn sum(effects: &[(Effect, usize)], paths: Vec<String>, deciding: usize) -> f64 {
    let own = effects.iter().filter(|(effect, _)| paths.contains(&effect.input));
    own.filter_map(|(effect, _)| effect.changes.get(deciding)).filter(|change| change.is_finite()).sum()
}
