//! A number that the search may set: its range as a share, and the values that it can be printed with or built in.

use crate::case::{CaseFile, Ranged};
use crate::names::error::KeyPathError;
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;
use crate::units::{self, Dimension, System};

/// Digits of a number that has no step of its own.
const DIGITS: i32 = 4;
/// Steps that a range has at least.
const FEW: f64 = 100.0;
/// A millionth of a step over a whole number of them is that number, but for rounding.
const EVEN: f64 = 1e-6;

/// A number that the search may set.
#[derive(Clone, Debug)]
pub struct Number {
    /// The number.
    pub variable: Variable,
    /// Lowest and highest value, SI.
    pub bounds: [f64; 2],
    /// What it goes in steps of, SI; none: it takes any value.
    pub step: Option<f64>,
    /// What an answer is rounded to, in the unit in which it is shown, and its decimals.
    rounded: (f64, usize),
    system: System,
}

impl Number {
    /// The number that a case may set, in the steps that it gives; a section grows by whole modules of the plant.
    pub(super) fn new(case: &CaseFile, ranged: &Ranged, system: System) -> Result<Number, KeyPathError> {
        let variable = KeyPath::find(case, &ranged.input)?;
        let bounds = [ranged.low, ranged.high];
        let of_section = variable.dimension == Some(Dimension::Length) && variable.path.ends_with(".length");
        let step = ranged.step.or(case.plant.module.filter(|_| of_section));
        let rounded = rounding(&variable, bounds, system);
        Ok(Number { variable, bounds, step, rounded, system })
    }

    /// The value at a share of its range, SI.
    pub(super) fn at(&self, share: f64) -> f64 {
        let [low, high] = self.bounds;
        // Both ends are met to the last bit.
        if share >= 1.0 { high } else { (low + share * (high - low)).clamp(low, high) }
    }

    /// The share of its range at which a value lies, kept within it.
    pub(super) fn share(&self, value: f64) -> f64 {
        let [low, high] = self.bounds;
        ((value - low) / (high - low)).clamp(0.0, 1.0)
    }

    /// Where its steps are counted from, and the first and last of them within the bounds.
    fn steps(&self) -> Option<(f64, f64, [i64; 2])> {
        let step = self.step?;
        let zero = if self.variable.dimension == Some(Dimension::Length) { 0.0 } else { self.bounds[0] };
        let of = |value: f64| (value - zero) / step;
        let ends = [(of(self.bounds[0]) - EVEN).ceil(), (of(self.bounds[1]) + EVEN).floor()];
        Some((zero, step, ends.map(|end| end as i64)))
    }

    /// The place of its lattice at or below a share, and the first and last within the bounds: of its steps, or of what an answer is
    /// rounded to.
    pub(super) fn lattice(&self, share: f64) -> (i64, [i64; 2]) {
        let value = self.at(share);
        match self.steps() {
            Some((zero, step, ends)) => ((((value - zero) / step + EVEN).floor()) as i64, ends),
            None => {
                let (step, _) = self.rounded;
                let [low, high] = self.bounds.map(|bound| self.shown(bound));
                let ends = [(low / step - EVEN).ceil() as i64, (high / step + EVEN).floor() as i64];
                ((self.shown(value) / step + EVEN).floor() as i64, ends)
            }
        }
    }

    /// The place of its lattice at or below a share, kept within the bounds.
    pub(super) fn lattice_at(&self, share: f64) -> i64 {
        let (place, [first, last]) = self.lattice(share);
        place.clamp(first, last.max(first))
    }

    /// Whether its lattice has no place within the bounds.
    pub(super) fn is_empty(&self) -> bool {
        let (_, [first, last]) = self.lattice(0.0);
        first > last
    }

    /// The places of its lattice.
    pub(super) fn places(&self) -> std::ops::RangeInclusive<i64> {
        let (_, [first, last]) = self.lattice(0.0);
        first..=last
    }

    /// How many places its lattice has.
    pub(super) fn count(&self) -> i64 {
        let (_, [first, last]) = self.lattice(0.0);
        last - first + 1
    }

    /// Places of its lattice that make up a share of its range, one at least; one whole step of a number that goes in steps.
    pub(super) fn far(&self, share: f64) -> i64 {
        let (_, [first, last]) = self.lattice(0.0);
        if self.step.is_some() { 1 } else { ((share * (last - first) as f64) as i64).max(1) }
    }

    /// Places of its lattice to a neighbour about a share of its range away: 1, 2 or 5 times a power of ten, one whole step of a
    /// number that goes in steps.
    pub(super) fn neighbour(&self, share: f64) -> i64 {
        let most = self.far(share);
        let mut apart = 1;
        for factor in [2, 5, 10].iter().cycle().zip(0..) {
            let (factor, turn) = factor;
            let next = 10_i64.pow(turn / 3) * factor;
            if next > most {
                break;
            }
            apart = next;
        }
        apart
    }

    /// The share of a place of its lattice; none beyond its bounds.
    pub(super) fn of_lattice(&self, place: i64) -> Option<f64> {
        let (_, [first, last]) = self.lattice(0.0);
        if !(first..=last).contains(&place) {
            return None;
        }
        Some(self.share(self.value_of(place)))
    }

    /// The value of a place of its lattice, SI, as a case file reads what is printed.
    pub(super) fn value_of(&self, place: i64) -> f64 {
        let value = match self.steps() {
            Some((zero, step, _)) => {
                let value = zero + place as f64 * step;
                // As it is printed, where the bounds that the steps are counted from have more digits than that.
                self.variable.parse_value(&self.variable.show(value, self.system)).unwrap_or(value)
            }
            None => {
                let text = format!("{} {}", self.digits(place), self.unit());
                self.variable.parse_value(text.trim()).unwrap_or(f64::NAN)
            }
        };
        value.clamp(self.bounds[0], self.bounds[1])
    }

    /// A place of its lattice as it is printed.
    pub(super) fn printed(&self, place: i64) -> String {
        match self.step {
            Some(_) => self.variable.show(self.value_of(place), self.system),
            None => format!("{} {}", self.digits(place), self.unit()).trim().to_string(),
        }
    }

    fn digits(&self, place: i64) -> String {
        let (step, decimals) = self.rounded;
        format!("{:.decimals$}", place as f64 * step)
    }

    fn shown(&self, value: f64) -> f64 {
        self.variable.dimension.map_or(value, |dimension| units::show(value, dimension, self.system).0)
    }

    fn unit(&self) -> &'static str {
        self.variable.dimension.map_or("", |dimension| units::show(0.0, dimension, self.system).1)
    }
}

/// What an answer of a number is rounded to in its unit, and the decimals of that.
fn rounding(variable: &Variable, [low, high]: [f64; 2], system: System) -> (f64, usize) {
    let in_unit = |value: f64| variable.dimension.map_or(value, |dimension| units::show(value, dimension, system).0);
    let exponent = match variable.dimension {
        Some(Dimension::Temperature) => -1,
        Some(Dimension::Length) => -2,
        _ => {
            let largest = in_unit(low).abs().max(in_unit(high).abs());
            let text = format!("{largest:e}");
            let exponent: i32 = text.rsplit_once('e').and_then(|(_, exponent)| exponent.parse().ok()).unwrap_or(0);
            exponent + 1 - DIGITS
        }
    };
    let span = (in_unit(high) - in_unit(low)).abs();
    let of = |exponent: i32| format!("1e{exponent}").parse::<f64>().unwrap_or(1.0);
    // A narrow range is not walked through in a few steps.
    let exponent =
        (0..12).map(|finer| exponent - finer).find(|&exponent| span >= FEW * of(exponent)).unwrap_or(exponent);
    (of(exponent), usize::try_from(-exponent).unwrap_or(0))
}
