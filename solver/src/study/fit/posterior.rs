//! What a trial leaves of a case's doubts: the numbers at their best values, and how sure they are together.
//!
//! The covariance of the coordinates at the minimum splits into groups that are not correlated with each other. A group of
//! one is a band; a larger one becomes its principal axes, each a mode that moves its numbers together: with the covariance
//! C = V diag(l) V', mode k moves coordinate i by sqrt(l_k) V_ik for one standard value.

use nalgebra::{DMatrix, SymmetricEigen};

use super::model::Model;
use crate::case::{CaseFile, InputBand, Mode, Move, Section, Varied};
use crate::maths::order::{sort_by_number, sort_by_text};
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;
use crate::study::band::usual::{alike, doubt_of_film};
use crate::units::words::key;

/// Correlation below which two coordinates count as independent.
const APART: f64 = 0.03;
/// Part of a coordinate's standard uncertainty, or of a band's standard value, that is not worth a line.
const SMALL: f64 = 0.02;
/// Largest relative standard uncertainty that a band takes; beyond it a mode says it better, up and down by one factor.
const LARGEST_BAND: f64 = 0.3;
/// What the bands are based on.
const BASIS: &str = "given by the case";

/// What a trial says of the numbers of a case.
#[derive(Clone, Debug, Default)]
pub struct Posterior {
    /// The numbers that the trial moved, with their values, SI; none of a bound.
    pub values: Vec<(Variable, f64)>,
    /// Doubts that stand alone.
    pub bands: Vec<InputBand>,
    /// Doubts that move several numbers together.
    pub modes: Vec<Mode>,
    /// Key paths whose band of before no longer holds.
    pub replaced: Vec<String>,
}

impl Posterior {
    /// The posterior at a minimum; `covariance` is that of the free coordinates.
    pub(super) fn new(
        case: &CaseFile,
        model: &Model,
        at: &[f64],
        free: &[usize],
        covariance: Option<&DMatrix<f64>>,
    ) -> Posterior {
        let mut there = case.clone();
        if model.put(&mut there, at).is_err() {
            return Posterior::default();
        }
        let mut posterior = Posterior { values: values(case, &there, model, at), ..Posterior::default() };
        // A number that is held at a bound has no doubt that could be told.
        let paths = |index: usize| -> Vec<String> { variables(model, index).map(|v| v.path.clone()).collect() };
        posterior.replaced.extend((0..model.unknowns.len()).flat_map(paths));
        let Some(covariance) = covariance else { return posterior };
        let directions: Vec<Vec<Move>> = free.iter().map(|&index| direction(case, model, at, index)).collect();
        for group in groups(covariance) {
            if let [alone] = group[..]
                && untouched(model, at, free[alone], covariance[(alone, alone)])
            {
                continue;
            }
            posterior.replaced.extend(group.iter().flat_map(|&position| paths(free[position])));
            posterior.take(&there, &group, covariance, &directions);
        }
        let same: Vec<String> = posterior.replaced.iter().flat_map(|path| alike(case, path)).collect();
        posterior.replaced = same;
        posterior.replaced.sort_unstable();
        posterior.replaced.dedup();
        posterior
    }

    /// Turns a group of positions into a band or into modes.
    fn take(&mut self, case: &CaseFile, group: &[usize], covariance: &DMatrix<f64>, directions: &[Vec<Move>]) {
        let own = covariance.select_rows(group).select_columns(group);
        if let [alone] = group
            && let [one] = &directions[*alone][..]
            && let Some(band) = band(case, &one.input, own[(0, 0)].sqrt() * one.amount)
        {
            self.bands.push(band);
            return;
        }
        let axes = SymmetricEigen::new(own);
        let mut order: Vec<usize> = (0..group.len()).collect();
        sort_by_number(&mut order, |&axis| -axes.eigenvalues[axis]);
        for axis in order {
            let length = axes.eigenvalues[axis].max(0.0).sqrt();
            let mut moves: Vec<Move> = Vec::new();
            for (place, &position) in group.iter().enumerate() {
                let step = length * axes.eigenvectors[(place, axis)];
                if step.abs() < SMALL * covariance[(position, position)].sqrt() {
                    continue;
                }
                for one in &directions[position] {
                    match moves.iter_mut().find(|known| known.input == one.input) {
                        Some(known) => known.amount += step * one.amount,
                        None => moves.push(Move { input: one.input.clone(), amount: step * one.amount }),
                    }
                }
            }
            // Until here a relative amount is a logarithm.
            for one in &mut moves {
                if !is_temperature(case, &one.input) {
                    one.amount = libm::exp(one.amount.clamp(-4.0, 4.0)) - 1.0;
                }
            }
            sort_by_text(&mut moves, |one| &one.input);
            if !moves.is_empty() {
                self.modes.push(Mode { moves });
            }
        }
    }
}

/// The numbers that a coordinate moves.
fn variables<'a>(model: &'a Model, index: usize) -> impl Iterator<Item = &'a Variable> {
    let of_other = index.checked_sub(model.unknowns.len()).map(|other| model.others[other].variables());
    let of_unknown = model.unknowns.get(index).map(|unknown| &unknown.variables[..]);
    of_unknown.or(of_other).unwrap_or_default().iter()
}

fn is_temperature(case: &CaseFile, path: &str) -> bool {
    KeyPath::find(case, path).is_ok_and(|variable| variable.is_temperature())
}

/// Whether the trial says nothing of an input: its usual band holds on. What the case says itself is always written anew,
/// for modes are replaced as a whole.
fn untouched(model: &Model, at: &[f64], index: usize, variance: f64) -> bool {
    let other = index.checked_sub(model.unknowns.len()).map(|other| &model.others[other]);
    other.is_some_and(|other| {
        let is_mode = other.measures == crate::study::spread::Measures::Mode;
        !is_mode && at[index].abs() < SMALL && (variance.sqrt() - 1.0).abs() < SMALL
    })
}

/// What one unit of a coordinate does to each of its numbers: K of a temperature, the logarithm of everything else.
fn direction(case: &CaseFile, model: &Model, at: &[f64], index: usize) -> Vec<Move> {
    let step = model.step(index);
    let [low, high] = model.bounds(index);
    let ends = [(at[index] - step).max(low), (at[index] + step).min(high)];
    let cases: Vec<CaseFile> = ends
        .iter()
        .filter_map(|&end| {
            let (mut there, mut at) = (case.clone(), at.to_vec());
            at[index] = end;
            model.put(&mut there, &at).ok().map(|()| there)
        })
        .collect();
    let [below, above] = &cases[..] else { return Vec::new() };
    let amount = |variable: &Variable| {
        let [a, b] = [below, above].map(|case| variable.get(case));
        let lean = leaning(case, variable);
        let rise = match &lean {
            Some((_, doubt)) => (b - a) * doubt,
            None if variable.is_temperature() => b - a,
            None => libm::log(b / a),
        };
        let amount = rise / (ends[1] - ends[0]);
        let input = lean.map_or(variable.path.clone(), |(factor, _)| factor);
        (amount.is_finite() && amount != 0.0).then_some(Move { input, amount })
    };
    variables(model, index).filter_map(amount).collect()
}

/// Of a place in the band of a film law the factor that says the same doubt, and the logarithm of it that one standard value is.
fn leaning(case: &CaseFile, variable: &Variable) -> Option<(String, f64)> {
    let factor = format!("{}film_factor", variable.path.strip_suffix("film_lean")?);
    let of = |section: &Section| factor == format!("section.{}.film_factor", key(&section.name));
    let section = case.sections.iter().position(of)?;
    Some((factor, doubt_of_film(case, section)))
}

/// Positions that hang together by their correlations.
fn groups(covariance: &DMatrix<f64>) -> Vec<Vec<usize>> {
    let count = covariance.nrows();
    let tied = |a: usize, b: usize| {
        let correlation = covariance[(a, b)] / (covariance[(a, a)] * covariance[(b, b)]).sqrt();
        correlation.abs() > APART
    };
    let mut left: Vec<usize> = (0..count).collect();
    let mut groups = Vec::new();
    while let Some(&first) = left.first() {
        let mut group = vec![first];
        left.remove(0);
        let mut place = 0;
        while place < group.len() {
            let (more, rest): (Vec<usize>, Vec<usize>) = left.iter().partition(|&&other| tied(group[place], other));
            group.extend(more);
            left = rest;
            place += 1;
        }
        group.sort_unstable();
        groups.push(group);
    }
    groups
}

/// A band of one standard value, K or the logarithm of a factor; none where a mode says it better.
fn band(case: &CaseFile, path: &str, amount: f64) -> Option<InputBand> {
    let amount = amount.abs();
    let (varied, ends) = match is_temperature(case, path) {
        true => (Varied::Kelvin, [-amount, amount]),
        false => (Varied::Factor, [1.0 - amount, 1.0 + amount]),
    };
    let fits = varied == Varied::Kelvin || amount < LARGEST_BAND;
    let [low_end, high_end] = ends;
    fits.then(|| InputBand { input: path.to_string(), varied, low_end, high_end, basis: BASIS.to_string() })
}

/// The numbers that the trial moved, as a case file can hold them.
///
/// A library material has no line in the file: its layers' factors take what it moved. More density is as much more heat
/// capacity, for only their product is felt by the temperatures.
fn values(case: &CaseFile, there: &CaseFile, model: &Model, at: &[f64]) -> Vec<(Variable, f64)> {
    let mut values: Vec<(Variable, f64)> = Vec::new();
    let mut factors: Vec<(Variable, f64)> = Vec::new();
    for (index, coordinate) in at.iter().enumerate() {
        if index >= model.unknowns.len() && coordinate.abs() < SMALL && !is_assumed(model, index) {
            continue;
        }
        for variable in variables(model, index) {
            let now = variable.get(there);
            let Ok(path) = KeyPath::parse(&variable.path) else { continue };
            let (true, Some(name)) = (index >= model.unknowns.len() && path.table == "material", &path.name) else {
                if values.iter().all(|(known, _)| known.path != variable.path) {
                    values.push((variable.clone(), now));
                }
                continue;
            };
            let property = if path.key == "density" { "heat_capacity" } else { path.key.as_str() };
            for layer in case.layers.iter().filter(|layer| layer.material.name == *name) {
                let factor = format!("layer.{}.{property}_factor", key(&layer.name));
                let Ok(factor) = KeyPath::find(case, &factor) else { continue };
                let change = now / variable.get(case);
                match factors.iter_mut().find(|(known, _)| known.path == factor.path) {
                    Some((_, value)) => *value *= change,
                    None => {
                        let value = factor.get(there) * change;
                        factors.push((factor, value));
                    }
                }
            }
        }
    }
    // What is a factor of an input itself has been moved already.
    for (factor, value) in factors {
        values.retain(|(known, _)| known.path != factor.path);
        values.push((factor, value));
    }
    values.retain(|(_, value)| value.is_finite());
    values
}

/// Whether the middle of an input's band is not what the case has: something that was assumed.
fn is_assumed(model: &Model, index: usize) -> bool {
    let other = index.checked_sub(model.unknowns.len()).map(|other| &model.others[other]);
    other.is_some_and(|other| other.measures == crate::study::spread::Measures::Resistance)
}
