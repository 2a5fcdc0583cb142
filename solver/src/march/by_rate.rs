//! A setting point that follows the cooling rate: the case is marched, each plastic that crystallises is moved down by what the
//! rate in the middle of its wall says, and marched again, until the rate stays.

use std::borrow::Cow;

use crate::case::check::checked_radii;
use crate::case::error::Error;
use crate::case::warning::Warning;
use crate::case::{Case, SettingPoint};
use crate::line::{self, Settings};
use crate::march::output::{Output, mid_wall_rate};
use crate::march::solution::Solution;
use crate::material::Kind;
use crate::material::setting::{self, SettingShift};

/// Marches that close the loop, at most: the rate changes little with the shift.
const ROUNDS: usize = 16;
/// Change of a shift that is none, K: a rate by the rule is known to about half a percent, which is as much.
const CONSISTENT: f64 = 0.03;

/// A case with its setting points where they belong, and what is to be told of that.
pub(crate) struct Settled<'a> {
    pub(crate) case: Cow<'a, Case>,
    warnings: Vec<Warning>,
}

/// The shifts of a case's layers, under way.
#[derive(Clone, Debug)]
pub(crate) struct Loop {
    /// How much lower each layer sets, K.
    shifts: Vec<f64>,
    /// Between which shifts that of each layer lies, K: a shift below asks for more, one above for less.
    between: Vec<[f64; 2]>,
    /// What the last march said, K/s.
    rates: Vec<Option<f64>>,
    rounds: usize,
    pub(crate) closed: bool,
}

/// Whether a case sets elsewhere than its curves say.
pub(crate) fn moves(case: &Case) -> bool {
    case.setting == SettingPoint::ByRate || case.layers.iter().any(|layer| layer.setting_shift != 0.0)
}

/// How the setting of a layer follows the rate in a case that asks for it; none where nothing is known of it.
fn follows(case: &Case, layer: usize) -> Option<&'static SettingShift> {
    let material = &case.layers[layer].material;
    let asked = case.setting == SettingPoint::ByRate && material.kind == Kind::Plastic && material.crystallises();
    setting::of(&material.name).filter(|_| asked && material.set_temperature.is_some())
}

/// Whether the setting of some layer of a case follows its rate.
pub(crate) fn any_follows(case: &Case) -> bool {
    (0..case.layers.len()).any(|layer| follows(case, layer).is_some())
}

/// The rates that a case is asked for, each with its layer.
pub(crate) fn rates_of(case: &Case) -> (Vec<usize>, Vec<Output>) {
    let following = (0..case.layers.len()).filter(|&layer| follows(case, layer).is_some());
    following.map(|layer| (layer, mid_wall_rate(&case.layers[layer]))).unzip()
}

impl Loop {
    /// At the curves, moved by what the case gives.
    pub(crate) fn new(case: &Case) -> Loop {
        let shifts: Vec<f64> = case.layers.iter().map(|layer| layer.setting_shift).collect();
        let closed = !any_follows(case);
        let layers = shifts.len();
        let between = vec![[f64::NEG_INFINITY, f64::INFINITY]; layers];
        Loop { shifts, between, rates: vec![None; layers], rounds: 0, closed }
    }

    /// The case as it is marched now.
    pub(crate) fn case(&self, case: &Case) -> Case {
        let mut moved = case.clone();
        moved.setting = SettingPoint::Equilibrium;
        for (layer, shift) in moved.layers.iter_mut().zip(&self.shifts) {
            layer.setting_shift = 0.0;
            if *shift != 0.0 {
                layer.material = layer.material.setting_lower(*shift);
            }
        }
        moved
    }

    /// Takes what a march says of the rates of the layers that follow them.
    pub(crate) fn take(&mut self, case: &Case, rates: impl Iterator<Item = (usize, Option<f64>)>) {
        let mut change: f64 = 0.0;
        self.rounds += 1;
        for (layer, rate) in rates {
            let own = self.shifts[layer];
            let asked =
                follows(case, layer).zip(rate).map(|(shift, rate)| shift.at(rate) + case.layers[layer].setting_shift);
            let [low, high] = &mut self.between[layer];
            let next = match asked {
                Some(asked) => {
                    *(if asked >= own { &mut *low } else { &mut *high }) = own;
                    asked.clamp(*low, *high)
                }
                // So low it does not set on this line: it sets higher, as low as the line just lets it.
                None if low.is_finite() => {
                    *high = own;
                    0.5 * (*low + own)
                }
                // It does not set on this line at all.
                None => own,
            };
            // What is told last is a rate that is known.
            self.rates[layer] = rate.or(self.rates[layer]);
            change = change.max((next - own).abs());
            if (next - own).abs() > CONSISTENT {
                self.shifts[layer] = next;
            }
        }
        self.closed = change <= CONSISTENT || self.rounds == ROUNDS;
    }

    fn warnings(&self, case: &Case) -> Vec<Warning> {
        let mut warnings = Vec::new();
        for (index, layer) in case.layers.iter().enumerate() {
            let (name, material) = (layer.name.clone(), layer.material.name.clone());
            let Some(shift) = follows(case, index) else {
                let unknown = case.setting == SettingPoint::ByRate && layer.material.kind == Kind::Plastic;
                if unknown && layer.material.crystallises() {
                    warnings.push(Warning::RateUnknown { layer: name, material });
                }
                continue;
            };
            let Some(rate) = self.rates[index] else { continue };
            if rate > shift.covered {
                let covered = shift.covered;
                warnings.push(Warning::RateNotCovered { layer: name.clone(), material, rate, covered });
            }
            warnings.push(Warning::SetsByRate { layer: name, rate, shift: self.shifts[index], unsure: shift.unsure });
        }
        warnings
    }
}

/// A case with its setting points where the cooling rate, and what the case gives, put them.
///
/// # Errors
///
/// Those of a march.
pub(crate) fn settled(case: &Case) -> Result<Settled<'_>, Error> {
    if !moves(case) {
        return Ok(Settled { case: Cow::Borrowed(case), warnings: Vec::new() });
    }
    let (layers, _) = rates_of(case);
    let mut closing = Loop::new(case);
    while !closing.closed {
        let moved = closing.case(case);
        let radii = checked_radii(&moved)?;
        let run = line::run(&moved, &radii, &Settings::rule(case.tolerance))?;
        closing.take(case, layers.iter().map(|&layer| (layer, run.skins[layer].mid_wall_rate)));
    }
    Ok(Settled { case: Cow::Owned(closing.case(case)), warnings: closing.warnings(case) })
}

impl Settled<'_> {
    /// A solution of its case, with what is told of the setting.
    pub(crate) fn tell(self, mut solution: Solution) -> Solution {
        solution.warnings.extend(self.warnings);
        solution
    }
}
