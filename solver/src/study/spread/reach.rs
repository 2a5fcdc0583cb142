//! The trough that one sample needs: asked for a length, told by how much the worst limit is exceeded there, until it knows.
//!
//! As questions and answers, so that the searches of many samples go on side by side. The search takes the excess to fall with the
//! length; the samples that are checked with care are searched on a grid of all lengths as well.

/// Lengths are found to this share of themselves.
pub(super) const WIDTH: f64 = 1e-3;
/// Longest and shortest trough that are looked at, in lengths of the trough that the case has.
pub(super) const RANGE: [f64; 2] = [1.0 / 512.0, 64.0];
/// First step, in the logarithm of the length for each kelvin: a limit some 20 K above the coldest medium.
const STEP: f64 = 0.05;
/// Largest step in the logarithm.
const LONGEST_STEP: f64 = 0.7;

/// What a search found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::study) enum Reached {
    /// The shortest length that meets all limits.
    Length(f64),
    /// Even the longest trough leaves a limit exceeded.
    Never,
}

/// A search under way, in the logarithm of the length.
#[derive(Clone, Debug)]
pub(in crate::study) struct Reach {
    /// Shortest and longest.
    ends: [f64; 2],
    /// Farthest place where a limit is exceeded, and by how much.
    unmet: Option<[f64; 2]>,
    /// Nearest place where all are met, and by how much.
    met: Option<[f64; 2]>,
    /// Where the excess is to be told.
    at: f64,
    step: f64,
    /// How often the two places were drawn together.
    halved: u32,
    found: Option<Reached>,
}

impl Reach {
    /// A search that begins with a trough of `given` m, between the ends that the case allows, m.
    pub(super) fn new(given: f64, [shortest, longest]: [f64; 2]) -> Reach {
        let ends = [shortest.max(given * RANGE[0]), longest.min(given * RANGE[1])].map(libm::log);
        Reach { ends, unmet: None, met: None, at: libm::log(given), step: 0.0, halved: 0, found: None }
    }

    /// The length at which the excess is wanted, m; none when the search is over.
    pub(super) fn asks(&self) -> Option<f64> {
        self.found.is_none().then(|| libm::exp(self.at))
    }

    /// What was found.
    pub(in crate::study) fn found(&self) -> Option<Reached> {
        self.found
    }

    /// Where a straight line between the two nearest places has the worst limit just met, m: closer than they are to each other,
    /// for differences. What was found where there is no such line; not a number before the end.
    pub(in crate::study) fn between(&self) -> f64 {
        match (self.found, self.unmet, self.met) {
            (Some(Reached::Length(_)), Some([from, unmet]), Some([to, met])) => {
                libm::exp(from + (to - from) * unmet / (unmet - met))
            }
            (Some(Reached::Length(length)), ..) => length,
            (Some(Reached::Never), ..) => f64::INFINITY,
            (None, ..) => f64::NAN,
        }
    }

    /// Takes the largest excess over a limit at the length asked for, K.
    pub(super) fn tell(&mut self, excess: f64) {
        let exceeded = excess > 0.0;
        let end = Some([self.at, excess]);
        if exceeded {
            self.unmet = end
        } else {
            self.met = end
        }
        match (self.unmet, self.met) {
            (Some(unmet), Some(met)) => self.narrow(unmet, met),
            (Some(_), None) if self.at >= self.ends[1] => self.found = Some(Reached::Never),
            (None, Some(_)) if self.at <= self.ends[0] => self.found = Some(Reached::Length(libm::exp(self.at))),
            _ => {
                // A little beyond where a straight line ends, then twice as far.
                let first = (1.2 * STEP * excess.abs()).clamp(0.02, LONGEST_STEP);
                self.step = if self.step == 0.0 { first } else { (2.0 * self.step).min(LONGEST_STEP) };
                let next = if exceeded { self.at + self.step } else { self.at - self.step };
                self.at = next.clamp(self.ends[0], self.ends[1]);
            }
        }
    }

    /// Where a straight line ends, and halving every fourth time, for where it is slow.
    fn narrow(&mut self, unmet: [f64; 2], met: [f64; 2]) {
        let width = met[0] - unmet[0];
        if width <= WIDTH {
            self.found = Some(Reached::Length(libm::exp(met[0])));
            return;
        }
        self.halved += 1;
        let share = unmet[1] / (unmet[1] - met[1]);
        // Half a width from the ends, so that the next answer closes the bracket where the line was right.
        let margin = (0.45 * WIDTH / width).min(0.5);
        let share =
            if self.halved.is_multiple_of(4) || !share.is_finite() { 0.5 } else { share.clamp(margin, 1.0 - margin) };
        self.at = unmet[0] + share * width;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn search(given: f64, ends: [f64; 2], excess: impl Fn(f64) -> f64) -> (Reached, usize) {
        let (mut reach, mut asked) = (Reach::new(given, ends), 0);
        while let Some(length) = reach.asks() {
            asked += 1;
            assert!(asked < 60, "no end near {length}");
            reach.tell(excess(length));
        }
        (reach.found().expect("it is over"), asked)
    }

    #[test]
    fn a_length_is_met_and_no_longer_than_it_must_be() {
        let mut work = 0;
        for root in [2.0, 9.0, 17.999, 18.0, 21.3, 55.0, 400.0] {
            for shape in [0.3, 1.0, 3.0] {
                let excess = |length: f64| 44.0 * ((-shape * length / root).exp() - (-shape).exp());
                let (found, asked) = search(18.0, [1e-3, 1e4], excess);
                let Reached::Length(length) = found else { panic!("{found:?}") };
                assert!(excess(length) <= 0.0 && length < root * (1.0 + 1.1 * WIDTH), "{length} for {root}");
                assert!(asked <= 16, "{asked} lengths for {root}, {shape}");
                work += asked;
            }
        }
        // 151 when it was written: a search that grows slow shows here.
        assert!(work < 157, "{work} lengths in all");
    }

    #[test]
    fn ends_are_ends() {
        assert_eq!(search(18.0, [1e-3, 1e4], |_| 5.0).0, Reached::Never);
        let (found, _) = search(18.0, [1.0, 1e4], |_| -5.0);
        let Reached::Length(length) = found else { panic!("{found:?}") };
        assert!((length - 1.0).abs() < 1e-9);
        assert_eq!(search(18.0, [1e-3, 30.0], |length| 40.0 - length).0, Reached::Never);
    }

    #[test]
    fn what_falls_in_a_step_is_enclosed() {
        let (found, asked) = search(18.0, [1e-3, 1e4], |length| if length < 23.0 { 30.0 } else { -1e-9 });
        let Reached::Length(length) = found else { panic!("{found:?}") };
        assert!((23.0..23.03).contains(&length) && asked < 50, "{length} after {asked}");
    }
}
