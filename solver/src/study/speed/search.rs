//! A line that runs faster and slower: the excess over every ceiling against its speed.

use super::{CeilingSpeed, SpeedError, Speeds, with_speed};
use crate::case::error::Error;
use crate::case::{CaseFile, DieTemperature};
use crate::march::solution::Solution;
use crate::march::{march, march_by_rule};
use crate::maths::order::sort_by_numbers;
use crate::study::search::ceilings::{self, Ceiling, What};
use crate::study::search::confirm::{
    Asked, Confirmation, FARTHER, Range, SEARCH, confirm, half_widths, range, search_tolerance,
};
use crate::study::search::scan::{Crossing, FACTOR, Sample, Scan, Side};
use crate::units::{Dimension, Printed, System, Toward, printed};

/// Slowest and fastest line that a case may have, m/s.
const BOUNDS: [f64; 2] = [1e-4, 100.0];
/// How much slower than the case a search goes, as a factor.
const FAR: f64 = 64.0;

/// What is asked, and what was sampled of it.
struct Search<'a> {
    case: &'a CaseFile,
    ceilings: &'a [Ceiling],
    scan: Scan<'a>,
    /// Why no faster line was looked at.
    ended: Option<Error>,
}

/// The fastest speed of a case.
pub(crate) fn search(case: &CaseFile, asked: Asked) -> Result<Speeds, SpeedError> {
    // The floor that the line stands on does not follow from its speed.
    let ceilings: Vec<Ceiling> = ceilings::all(case).into_iter().filter(|ceiling| ceiling.what != What::Hall).collect();
    if ceilings.is_empty() {
        return Err(SpeedError::NoCeilings);
    }
    let tolerance = search_tolerance(case, &ceilings);
    let solve = |speed: f64| {
        let case = with_speed(case, speed).to(tolerance);
        let solution = march_by_rule(&case)?;
        Ok(ceilings.iter().map(|ceiling| ceiling.excess(&case, &solution)).collect())
    };
    let mut search = Search { case, ceilings: &ceilings, scan: Scan::new(Box::new(solve)), ended: None };
    search.explore(&vec![0.0; ceilings.len()])?;
    search.found(asked)
}

impl Search<'_> {
    /// Samples slower until all ceilings, lowered by so much, are met, then faster until each has been met and exceeded.
    fn explore(&mut self, lowered: &[f64]) -> Result<(), SpeedError> {
        let given = self.case.line_speed;
        self.scan.sample(given).map_err(SpeedError::March)?;
        let (fastest, slowest) = (BOUNDS[1], (given / FAR).max(BOUNDS[0]));
        let exceeded =
            |sample: &Sample| sample.excess.iter().zip(lowered).any(|(excess, lowered)| excess + lowered > 0.0);
        let mut speed = self.scan.samples()[0].at;
        while speed > slowest && exceeded(&self.scan.samples()[0]) {
            speed = (speed / FACTOR).max(slowest);
            // A case that has no answer ends the scan.
            if self.scan.sample(speed).is_err() {
                break;
            }
        }
        let crossed = |scan: &Scan<'_>, which: usize| {
            matches!(scan.crossing(which, lowered[which], Side::Below), Crossing::Between { .. })
        };
        speed = self.scan.samples().last().map_or(given, |sample| sample.at);
        while speed < fastest && !(0..self.ceilings.len()).all(|which| crossed(&self.scan, which)) {
            speed = (speed * FACTOR).min(fastest);
            if let Err(error) = self.scan.sample(speed) {
                self.ended = Some(error);
                break;
            }
        }
        Ok(())
    }

    /// The speed that each ceiling allows, lowered by so much.
    fn speeds(&mut self, lowered: &[f64]) -> Result<Vec<CeilingSpeed>, SpeedError> {
        (0..self.ceilings.len()).map(|which| self.speed(which, lowered[which])).collect()
    }

    fn speed(&mut self, which: usize, lowered: f64) -> Result<CeilingSpeed, SpeedError> {
        let crossing = self.scan.refine(which, lowered, Side::Below)?;
        let samples = self.scan.samples();
        let ends = [samples.first(), samples.last()].map(|sample| sample.map_or(f64::NAN, |sample| sample.at));
        let (speed, open) = match crossing {
            Crossing::Between { met, .. } => (Some(met), false),
            Crossing::Always => (Some(ends[1]), true),
            Crossing::Never => (None, false),
        };
        let beyond = |at: f64| matches!(crossing, Crossing::Between { unmet, .. } if at > unmet);
        let again = samples.iter().find(|sample| beyond(sample.at) && sample.excess[which] + lowered <= 0.0);
        let ceiling = self.ceilings[which].clone();
        Ok(CeilingSpeed {
            speed,
            open,
            again: again.map(|sample| sample.at),
            slowest: ceiling.max + samples.first().map_or(f64::NAN, |sample| sample.excess[which]),
            value: f64::NAN,
            ceiling,
        })
    }

    fn found(&mut self, asked: Asked) -> Result<Speeds, SpeedError> {
        let (case, all) = (self.case, self.ceilings);
        let careful = |speed: f64| {
            let case = with_speed(case, speed);
            let solution = march(&case).map_err(SpeedError::March)?;
            let excess = all.iter().map(|ceiling| ceiling.excess(&case, &solution)).collect();
            Ok::<_, SpeedError>((excess, solution))
        };
        let mut ceilings = Vec::new();
        let find = |lowered: &[f64]| {
            ceilings = self.speeds(lowered)?;
            Ok(lowest(&ceilings))
        };
        let confirmation = confirm(all.len(), 0.1 * case.tolerance, find, careful)?;
        let samples = self.scan.samples();
        let looked_at = [samples.first(), samples.last()].map(|sample| sample.map_or(f64::NAN, |sample| sample.at));
        if ceilings.iter().all(|ceiling| ceiling.open) {
            return Err(SpeedError::NoCeilingReached { speed: looked_at[1], error: self.ended.clone() });
        }
        let Confirmation::At(top, solution) = confirmation else {
            // Without what the confirmation lowered: either a ceiling has no speed, or at the lowest of their speeds one is
            // exceeded that only faster lines meet.
            let ceilings = self.speeds(&vec![0.0; all.len()])?;
            return Err(match lowest(&ceilings).filter(|&speed| self.is_met(speed)) {
                Some(speed) => SpeedError::Unsteady { speed },
                None => self.no_speed(ceilings, looked_at),
            });
        };
        let (printed, solution) = match asked.print {
            Some(system) => self.as_printed(top, system).map(|(printed, solution)| (Some(printed), solution))?,
            None => (None, *solution),
        };
        let at_top = with_speed(case, printed.as_ref().map_or(top, |printed| printed.si));
        for ceiling in &mut ceilings {
            ceiling.value = ceiling.ceiling.value(&at_top, &solution);
        }
        lowest_first(&mut ceilings);
        let range = if asked.range { Some(self.range(top)?) } else { None };
        let beyond_table = beyond_table(&at_top);
        let (given, solves) = (case.line_speed, self.scan.solves);
        Ok(Speeds { given, top, printed, ceilings, case: at_top, solution, beyond_table, range, solves })
    }

    /// The fastest speed no faster than `top` that meets every ceiling as it is printed, with its solution.
    fn as_printed(&self, top: f64, system: System) -> Result<(Printed, Solution), SpeedError> {
        for further in 0..=FARTHER {
            let printed = printed(top, Dimension::Speed, system, Toward::Less, further);
            let case = with_speed(self.case, printed.si);
            let solution = march(&case).map_err(SpeedError::March)?;
            if self.ceilings.iter().all(|ceiling| ceiling.excess(&case, &solution) <= 0.0) {
                return Ok((printed, solution));
            }
        }
        Err(SpeedError::Unsteady { speed: top })
    }

    /// Whether all ceilings are met at a speed, but for what two solves differ by.
    fn is_met(&mut self, speed: f64) -> bool {
        let room = 2.0 * self.case.tolerance.max(SEARCH);
        self.scan.sample(speed).is_ok_and(|sample| sample.excess.iter().all(|&excess| excess <= room))
    }

    fn no_speed(&self, mut ceilings: Vec<CeilingSpeed>, looked_at: [f64; 2]) -> SpeedError {
        let samples = self.scan.samples();
        let never = (0..ceilings.len()).filter(|&which| ceilings[which].speed.is_none());
        let worst = never.max_by(|&a, &b| samples[0].excess[a].total_cmp(&samples[0].excess[b]));
        let worst = worst.map(|which| (which, ceilings[which].ceiling.clone()));
        let nearest = worst.as_ref().and_then(|&(which, _)| {
            samples.iter().min_by(|a, b| a.excess[which].total_cmp(&b.excess[which])).map(|sample| sample.at)
        });
        lowest_first(&mut ceilings);
        let position = worst.and_then(|(_, worst)| ceilings.iter().position(|ceiling| ceiling.ceiling == worst));
        let nearest = nearest.or_else(|| ceilings[0].speed).unwrap_or(looked_at[0]);
        SpeedError::NoSpeed { worst: position.unwrap_or(0), ceilings, looked_at, nearest }
    }

    fn range(&mut self, top: f64) -> Result<Range, SpeedError> {
        let (case, ceilings) = (self.case, self.ceilings);
        let halves = |speed: f64| half_widths(&with_speed(case, speed), ceilings).map_err(SpeedError::March);
        let slowest = self.scan.samples()[0].at;
        let find = |lowered: &[f64]| {
            // A ceiling moved by its band is crossed at slower and faster speeds than were looked at.
            self.explore(lowered)?;
            Ok(lowest(&self.speeds(lowered)?))
        };
        range(top, slowest, halves, find)
    }
}

/// The lowest of the speeds; none where one ceiling has none.
fn lowest(ceilings: &[CeilingSpeed]) -> Option<f64> {
    ceilings.iter().map(|ceiling| ceiling.speed).try_fold(f64::INFINITY, |lowest, speed| Some(lowest.min(speed?)))
}

fn lowest_first(ceilings: &mut [CeilingSpeed]) {
    sort_by_numbers(ceilings, |ceiling| [f64::from(ceiling.open), ceiling.speed.unwrap_or(0.0)]);
}

/// Layers whose table of temperature against speed ends before the speed of the case.
fn beyond_table(case: &CaseFile) -> Vec<String> {
    let outside = |points: &[[f64; 2]]| match points {
        [first, .., last] => !(first[0]..=last[0]).contains(&case.line_speed),
        _ => false,
    };
    let layers = case.layers.iter();
    let layers =
        layers.filter(|layer| matches!(&layer.temperature, DieTemperature::OfSpeed(points) if outside(points)));
    layers.map(|layer| layer.name.clone()).collect()
}
