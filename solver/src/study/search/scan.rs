//! Excesses over ceilings against one quantity: sampled first, since they need not be monotone, then each crossing enclosed.

use crate::case::error::Error;
use crate::maths::root::{Bracket, RootError, enclose};

/// Factor between neighbouring samples.
pub(crate) const FACTOR: f64 = std::f64::consts::SQRT_2;
/// Width to which a crossing is enclosed, relative to its place.
const WIDTH: f64 = 1e-4;
/// Crossings enclosed before a search is given up: each is followed by one farther out that was hidden between samples.
const ATTEMPTS: usize = 20;

/// By how much every ceiling is exceeded at one place; met at or below zero.
#[derive(Clone, Debug)]
pub(crate) struct Sample {
    /// The length or speed.
    pub at: f64,
    /// One number for each ceiling.
    pub excess: Vec<f64>,
}

/// What computes the excesses at a place.
pub(crate) type March<'a> = Box<dyn Fn(f64) -> Result<Vec<f64>, Error> + 'a>;

/// Samples in rising order.
pub(crate) struct Scan<'a> {
    march: March<'a>,
    samples: Vec<Sample>,
    /// How many cases were solved.
    pub solves: usize,
}

/// On which side of its crossing a ceiling is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// A ceiling is met from the crossing on: a length.
    Above,
    /// A ceiling is met up to the crossing: a speed.
    Below,
}

/// Where a ceiling is crossed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Crossing {
    /// The place nearest to the crossing at which it is met, and one at which it is not.
    Between {
        /// Met here.
        met: f64,
        /// Not met here.
        unmet: f64,
    },
    /// Met at every sample.
    Always,
    /// Not met where it should be: at the far end (from above), or anywhere (from below).
    Never,
}

/// Why a crossing was not enclosed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum ScanError {
    /// A case has no answer.
    March(Error),
    /// The excess is not a number somewhere, or jumps about.
    Unsteady {
        /// Where.
        at: f64,
    },
}

impl<'a> Scan<'a> {
    pub(crate) fn new(march: March<'a>) -> Scan<'a> {
        Scan { march, samples: Vec::new(), solves: 0 }
    }

    /// The excesses at a place; solved once.
    pub(crate) fn sample(&mut self, at: f64) -> Result<&Sample, Error> {
        let place = self.samples.partition_point(|sample| sample.at < at);
        if self.samples.get(place).is_none_or(|sample| sample.at != at) {
            self.solves += 1;
            let excess = (self.march)(at)?;
            self.samples.insert(place, Sample { at, excess });
        }
        Ok(&self.samples[place])
    }

    pub(crate) fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// The neighbouring samples around the crossing of one ceiling, lowered by `shift`.
    pub(crate) fn crossing(&self, which: usize, shift: f64, side: Side) -> Crossing {
        let met = |sample: &Sample| sample.excess[which] + shift <= 0.0;
        let samples = &self.samples;
        let (met_at, unmet_at) = match side {
            Side::Above => match samples.iter().rposition(|sample| !met(sample)) {
                None => return Crossing::Always,
                Some(last) if last + 1 == samples.len() => return Crossing::Never,
                Some(last) => (last + 1, last),
            },
            Side::Below => {
                let Some(first) = samples.iter().position(met) else { return Crossing::Never };
                match samples[first..].iter().position(|sample| !met(sample)) {
                    None => return Crossing::Always,
                    Some(beyond) => (first + beyond - 1, first + beyond),
                }
            }
        };
        Crossing::Between { met: samples[met_at].at, unmet: samples[unmet_at].at }
    }

    /// Encloses the crossing of one ceiling, lowered by `shift`; what comes back is met, and unmet no farther than a ten
    /// thousandth away.
    pub(crate) fn refine(&mut self, which: usize, shift: f64, side: Side) -> Result<Crossing, ScanError> {
        for _ in 0..ATTEMPTS {
            let crossing = self.crossing(which, shift, side);
            let Crossing::Between { met, unmet } = crossing else { return Ok(crossing) };
            let width = WIDTH * met.max(unmet);
            if (met - unmet).abs() <= width * (1.0 + 1e-9) {
                return Ok(crossing);
            }
            let [low, high] = [met.min(unmet), met.max(unmet)];
            let mut value = |at: f64| self.sample(at).map(|sample| sample.excess[which] + shift);
            let mut end = |at: f64| value(at).map(|value| [at, value]).map_err(ScanError::March);
            let mut ends = Bracket { low: end(low)?, high: end(high)? };
            // A ceiling met exactly counts as met, and there is still a crossing beyond.
            for end in [&mut ends.low, &mut ends.high] {
                if end[1] == 0.0 {
                    end[1] = -f64::MIN_POSITIVE;
                }
            }
            match enclose(&mut value, ends, width) {
                Ok(root) if root.width() == 0.0 => {
                    // Met exactly: the far side of the width is looked at too.
                    let beyond = if met > unmet { -width } else { width };
                    self.sample(root.low[0] + beyond).map_err(ScanError::March)?;
                }
                Ok(_) => {}
                Err(RootError::Function(error)) => return Err(ScanError::March(error)),
                Err(RootError::NotANumber { at }) => return Err(ScanError::Unsteady { at }),
                Err(RootError::SameSign(at) | RootError::Unfinished(at)) => {
                    return Err(ScanError::Unsteady { at: at.low[0] });
                }
            }
        }
        Err(ScanError::Unsteady { at: self.samples.last().map_or(f64::NAN, |sample| sample.at) })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// Samples of some functions on the grid.
    fn scan(functions: &'static [fn(f64) -> f64], low: f64, high: f64) -> Scan<'static> {
        let mut scan = Scan::new(Box::new(|at| Ok(functions.iter().map(|f| f(at)).collect())));
        let mut at = low;
        while at < high {
            scan.sample(at).unwrap();
            at *= FACTOR;
        }
        scan
    }

    fn between(crossing: Crossing) -> [f64; 2] {
        match crossing {
            Crossing::Between { met, unmet } => [met, unmet],
            other => panic!("{other:?}"),
        }
    }

    /// A hump: met below 2 and beyond 30.
    const HUMP: fn(f64) -> f64 = |x| (x - 2.0) * (30.0 - x);

    #[test]
    fn the_last_crossing_counts_from_above_and_the_first_from_below() {
        let mut scan = scan(&[HUMP, |x| 7.0 - x, |x| x - 7.0], 1.0, 100.0);
        for (which, side, root) in
            [(0, Side::Above, 30.0), (0, Side::Below, 2.0), (1, Side::Above, 7.0), (2, Side::Below, 7.0)]
        {
            let [met, unmet] = between(scan.refine(which, 0.0, side).unwrap());
            assert!((met - unmet).abs() <= 1.001e-4 * root, "{met} {unmet}");
            assert!((met - root) * (unmet - root) <= 0.0, "{root} lies between {met} and {unmet}");
            assert!(scan.sample(met).unwrap().excess[which] <= 0.0);
        }
        // Lowered by 1, the second is crossed at 8.
        let [met, _] = between(scan.refine(1, 1.0, Side::Above).unwrap());
        assert!((met - 8.0).abs() < 1e-3);
    }

    #[test]
    fn no_crossing_is_said_to_be_none() {
        let scan = scan(&[|_| -1.0, |x| x, |x| x - 7.0, |x| 7.0 - x], 1.0, 100.0);
        assert_eq!(scan.crossing(0, 0.0, Side::Above), Crossing::Always);
        assert_eq!(scan.crossing(0, 0.0, Side::Below), Crossing::Always);
        assert_eq!(scan.crossing(1, 0.0, Side::Below), Crossing::Never);
        assert_eq!(scan.crossing(2, 0.0, Side::Above), Crossing::Never);
        // Met from 7 on to the end: from below, nothing is unmet beyond.
        assert_eq!(scan.crossing(3, 0.0, Side::Below), Crossing::Always);
    }

    #[test]
    fn what_cannot_be_enclosed_is_an_error() {
        let mut jump = scan(
            &[|x| {
                if x < 3.0 {
                    1.0
                } else if x < 3.5 {
                    f64::NAN
                } else {
                    -1.0
                }
            }],
            1.0,
            10.0,
        );
        assert!(matches!(jump.refine(0, 0.0, Side::Above), Err(ScanError::Unsteady { .. })));
        let mut broken = Scan::new(Box::new(|at| {
            if !(4.0..=6.0).contains(&at) { Ok(vec![5.0 - at]) } else { Err(Error::BalanceOpen { relative: 1.0 }) }
        }));
        broken.sample(1.0).unwrap();
        broken.sample(10.0).unwrap();
        assert!(matches!(broken.refine(0, 0.0, Side::Above), Err(ScanError::March(_))));
    }

    #[test]
    fn a_ceiling_that_is_met_exactly_is_met() {
        let mut scan = scan(&[|x| 4.0 - x], 1.0, 10.0);
        let [met, unmet] = between(scan.refine(0, 0.0, Side::Above).unwrap());
        assert!(met >= 4.0 && unmet < 4.0 && met - unmet <= 4.1e-4, "{met} {unmet}");
    }
}
