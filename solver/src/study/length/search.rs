//! A trough that grows and shrinks: the limits' excess against its length, from the shortest trough to one that cools no further.

use super::trough::{bounds, scaled};
use super::{LengthError, LimitNeed, Reason};
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::case::shrink;
use crate::march::solution::Solution;
use crate::march::{march, march_by_rule};
use crate::material::FINISHED;
use crate::material::Kind;
use crate::study::search::ceilings::Ceiling;
use crate::study::search::confirm::{Confirmation, Range, SEARCH, confirm, half_widths, range, search_tolerance};
use crate::study::search::scan::{Crossing, FACTOR, Sample, Scan, ScanError, Side};

/// Most halvings of the length below that of the case.
const SHORTER: f64 = 1.0 / 512.0;

/// The search for the lengths that the limits of one case need.
pub(crate) struct Growing<'a> {
    case: &'a CaseFile,
    sections: &'a [usize],
    limits: &'a [Ceiling],
    scan: Scan<'a>,
    /// Why no longer trough was looked at, where the scan ended before its cooling did.
    ended: Option<Error>,
}

/// What was found, and marched with care.
pub(crate) struct Confirmed {
    /// What each limit alone needs.
    pub needs: Vec<LimitNeed>,
    /// The shortest length that meets all, m, and its solution; none where one of them has no length.
    pub at: Option<(f64, Solution)>,
}

impl<'a> Growing<'a> {
    pub(crate) fn new(case: &'a CaseFile, sections: &'a [usize], limits: &'a [Ceiling]) -> Growing<'a> {
        let tolerance = search_tolerance(case, limits);
        let march = move |length: f64| {
            let case = scaled(case, sections, length).to(tolerance);
            let solution = march_by_rule(&case)?;
            Ok(limits.iter().map(|limit| limit.excess(&case, &solution)).collect())
        };
        Growing { case, sections, limits, scan: Scan::new(Box::new(march)), ended: None }
    }

    /// Samples from `start`: longer until the limits change no more, shorter until each limit is violated once.
    pub(crate) fn explore(&mut self, start: f64) -> Result<(), LengthError> {
        self.scan.sample(start).map_err(LengthError::March)?;
        self.grow_until_settled(start);
        self.shorten_until_violated(start, &vec![0.0; self.limits.len()]);
        Ok(())
    }

    /// Samples shorter than `start` until each limit, lowered by so many kelvin, is violated once.
    fn shorten_until_violated(&mut self, start: f64, lowered: &[f64]) {
        let shortest = bounds(self.case, self.sections)[0].max(start * SHORTER);
        let mut length = self.scan.samples().first().map_or(start, |sample| sample.at);
        while !self.each_is_violated(lowered) && length > shortest {
            length = (length / FACTOR).max(shortest);
            // A case that has no answer ends the scan.
            if self.scan.sample(length).is_err() {
                break;
            }
        }
    }

    /// Samples around `guess`: far enough to enclose every crossing there, and the far end. Whether the guess was good.
    pub(crate) fn explore_near(&mut self, guess: f64) -> bool {
        const STEP: f64 = 1.1;
        const STEPS: i32 = 5;
        let enclosed = |scan: &Scan<'_>| scan.samples().iter().any(|s| s.excess.iter().any(|&e| e > 0.0));
        let met = |sample: &Sample| sample.excess.iter().all(|&excess| excess <= 0.0);
        for power in 0..STEPS {
            let Ok(sample) = self.scan.sample(guess * libm::pow(STEP, f64::from(power))) else { return false };
            if met(sample) {
                break;
            }
        }
        for power in 1..STEPS {
            if enclosed(&self.scan) {
                break;
            }
            if self.scan.sample(guess / libm::pow(STEP, f64::from(power))).is_err() {
                return false;
            }
        }
        if !enclosed(&self.scan) {
            return false;
        }
        let longest = bounds(self.case, self.sections)[1];
        let beyond = [2.0, 4.0, 16.0].map(|factor| (guess * factor).min(longest));
        beyond.into_iter().all(|length| self.scan.sample(length).is_ok_and(met))
    }

    fn grow_until_settled(&mut self, start: f64) {
        let longest = bounds(self.case, self.sections)[1];
        let mut length = start;
        while length < longest {
            length = (length * FACTOR).min(longest);
            if let Err(error) = self.scan.sample(length) {
                self.ended = Some(error);
                return;
            }
            if self.is_settled(length) {
                return;
            }
        }
    }

    /// Whether a longer trough would change nothing: the heat has had time to cross the product, and the limits' excess has
    /// not moved over the last two samples.
    fn is_settled(&self, length: f64) -> bool {
        let case = scaled(self.case, self.sections, length);
        let time = self.sections.iter().map(|&index| case.sections[index].span()).sum::<f64>() / case.line_speed;
        let [.., before, middle, last] = self.scan.samples() else { return false };
        let moved = |a: &Sample, b: &Sample| a.excess.iter().zip(&b.excess).any(|(a, b)| (a - b).abs() > self.still());
        time >= crossing_time(self.case) && !moved(before, middle) && !moved(middle, last)
    }

    /// Changes that are none, K: two solves differ by as much.
    fn still(&self) -> f64 {
        2.0 * self.case.tolerance.max(SEARCH)
    }

    fn each_is_violated(&self, lowered: &[f64]) -> bool {
        let violated =
            |which: usize| self.scan.samples().iter().any(|sample| sample.excess[which] + lowered[which] > 0.0);
        (0..self.limits.len()).all(violated)
    }

    /// What each limit alone needs, lowered by so many kelvin.
    pub(crate) fn needs(&mut self, lowered: &[f64]) -> Result<Vec<LimitNeed>, LengthError> {
        (0..self.limits.len()).map(|which| self.need(which, lowered[which])).collect()
    }

    fn need(&mut self, which: usize, lowered: f64) -> Result<LimitNeed, LengthError> {
        let crossing = self.scan.refine(which, lowered, Side::Above)?;
        let samples = self.scan.samples();
        let excesses = || samples.iter().map(|sample| sample.excess[which]);
        let spread = excesses().fold(f64::NEG_INFINITY, f64::max) - excesses().fold(f64::INFINITY, f64::min);
        let far = excesses().next_back().unwrap_or(f64::NAN);
        let fixed = samples.len() > 2 && spread <= self.still();
        let (length, reason) = match crossing {
            Crossing::Between { met, .. } => (Some(met), Reason::Crossing),
            Crossing::Always if fixed => (Some(0.0), Reason::Untouched),
            Crossing::Always => (Some(0.0), Reason::Always),
            Crossing::Never if fixed => (None, Reason::Untouched),
            Crossing::Never => match &self.ended {
                Some(error) => (None, Reason::Ended(error.clone())),
                None => (None, Reason::Asymptote),
            },
        };
        let limit = &self.limits[which];
        Ok(LimitNeed {
            ceiling: limit.clone(),
            length,
            reason,
            asymptote: limit.max + far,
            shortest_seen: samples.first().map_or(f64::NAN, |sample| sample.at),
        })
    }

    /// The length that so many needs have together, no less than the shortest that was looked at; none where one has none.
    pub(crate) fn length(&self, needs: &[LimitNeed]) -> Option<f64> {
        let shortest = self.scan.samples().first().map_or(0.0, |sample| sample.at);
        longest(needs).map(|length| length.max(shortest))
    }

    /// The shortest length that meets all limits, confirmed by a careful march.
    pub(crate) fn confirmed(&mut self) -> Result<Confirmed, LengthError> {
        let (case, sections, limits) = (self.case, self.sections, self.limits);
        let careful = |length: f64| {
            let case = scaled(case, sections, length);
            let solution = march(&case).map_err(LengthError::March)?;
            let excess = limits.iter().map(|limit| limit.excess(&case, &solution)).collect();
            Ok::<_, LengthError>((excess, solution))
        };
        let mut needs = Vec::new();
        let find = |lowered: &[f64]| {
            needs = self.needs(lowered)?;
            Ok(self.length(&needs))
        };
        let at = confirm(limits.len(), 0.1 * case.tolerance, find, careful)?;
        let unsteady = || LengthError::Unsteady { length: self.far_end() };
        match at {
            Confirmation::At(length, solution) => Ok(Confirmed { needs, at: Some((length, *solution)) }),
            Confirmation::Nowhere => Ok(Confirmed { needs, at: None }),
            Confirmation::GivenUp => Err(unsteady()),
        }
    }

    /// How far the uncertainty of the inputs moves the length.
    pub(crate) fn range(&mut self, length: f64) -> Result<Range, LengthError> {
        let (case, sections, limits) = (self.case, self.sections, self.limits);
        let halves = |length: f64| half_widths(&scaled(case, sections, length), limits).map_err(LengthError::March);
        let far_end = self.far_end();
        let find = |lowered: &[f64]| {
            // A raised limit is violated by a shorter trough than was looked at.
            self.shorten_until_violated(length, lowered);
            let needs = self.needs(lowered)?;
            Ok(self.length(&needs))
        };
        range(length, far_end, halves, find)
    }

    pub(crate) fn solves(&self) -> usize {
        self.scan.solves
    }

    /// The longest trough that was looked at, m.
    pub(crate) fn far_end(&self) -> f64 {
        self.scan.samples().last().map_or(f64::NAN, |sample| sample.at)
    }
}

impl From<ScanError> for LengthError {
    fn from(error: ScanError) -> LengthError {
        match error {
            ScanError::March(error) => LengthError::March(error),
            ScanError::Unsteady { at } => LengthError::Unsteady { length: at },
        }
    }
}

/// The longest of the lengths that limits need; none where one of them has none.
pub(crate) fn longest(needs: &[LimitNeed]) -> Option<f64> {
    needs.iter().map(|need| need.length).try_fold(0.0, |longest: f64, length| Some(longest.max(length?)))
}

/// Time that heat needs to cross the product, s: R^2/(4 alpha), alpha the lowest diffusivity of its plastics at 23 degC.
fn crossing_time(case: &CaseFile) -> f64 {
    let radius = shrink::radii(case).ok().and_then(|radii| radii.hot.last().copied()).unwrap_or(0.0);
    let plastics = case.layers.iter().filter(|layer| layer.material.kind == Kind::Plastic);
    let diffusivity = plastics
        .map(|layer| {
            let [k, rho, cp] = [&layer.material.conductivity, &layer.material.density, &layer.material.heat_capacity]
                .map(|curve| curve.at(FINISHED));
            layer.conductivity_factor * k / (layer.heat_capacity_factor * rho * cp)
        })
        .fold(f64::INFINITY, f64::min);
    radius * radius / (4.0 * diffusivity)
}
