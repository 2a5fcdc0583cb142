//! Intervals by profile: how far an unknown can go until the best fit of everything else is worse by what the interval allows.
//!
//! The ends are where min over the others of chi-square(x, others) - minimum = (k s)^2, k the normal distribution's or
//! Student's factor and s the scale of the uncertainties (G. A. F. Seber, C. J. Wild, Nonlinear Regression, Wiley 2003,
//! section 5.4; from memory, not checked). The others follow along by steps of Gauss and Newton: first with the sensitivities at
//! the minimum, then with those at the end that was found, until it stays. A model that is as straight up to there as its
//! sensitivities at the minimum say has none of its own.

use nalgebra::{DMatrix, DVector};

use super::model::Model;

/// Chi-square that a further step of the others must win to be taken.
const GAIN: f64 = 0.003;
/// Most steps of the others.
const STEPS: usize = 8;
/// How near an end is found, as a share of its distance.
const NEAR: f64 = 2e-3;
/// Most places that are looked at for an end.
const PLACES: usize = 30;
/// Most searches for an end, each with sensitivities of its own.
const ROUNDS: usize = 4;
/// An end that moves by less than this share of its distance, with new sensitivities, stays.
const STAYS: f64 = 0.02;
/// Residuals that are as the sensitivities at the minimum say but for this share of the rise: the model is straight.
const STRAIGHT: f64 = 0.02;

/// The minimum that ends are sought from.
pub(super) struct Profile<'a> {
    model: &'a Model<'a>,
    at: &'a [f64],
    chi_square: f64,
    free: &'a [usize],
    /// Sensitivities of the weighted residuals to the free coordinates.
    jacobian: &'a DMatrix<f64>,
}

impl<'a> Profile<'a> {
    pub fn new(
        model: &'a Model<'a>,
        at: &'a [f64],
        chi_square: f64,
        free: &'a [usize],
        jacobian: &'a DMatrix<f64>,
    ) -> Profile<'a> {
        Profile { model, at, chi_square, free, jacobian }
    }

    /// The end of the interval of the free coordinate at a position, to one side (-1 or 1), where the root of the rise is
    /// `reach`; `error` is the standard error that the linear model has. The bound where the rise is smaller up to there.
    pub fn end(&self, position: usize, side: f64, reach: f64, error: f64) -> f64 {
        let index = self.free[position];
        let most = (self.model.bounds(index)[usize::from(side > 0.0)] - self.at[index]).abs();
        if most == 0.0 {
            return self.at[index];
        }
        let mut follower = Follower::new(self, position);
        let mut distance = (reach * error).min(most);
        for round in 0..ROUNDS {
            let (found, others) = self.search(&follower, side, reach, [distance, most]);
            let stays = round > 0 && (found - distance).abs() < STAYS * found;
            distance = found;
            if stays || self.free.len() == 1 || (round == 0 && self.is_straight(&others, reach)) {
                break;
            }
            let Some(again) = follower.again(others) else { break };
            follower = again;
        }
        self.at[index] + side * distance
    }

    /// Whether the residuals at some coordinates are those that the sensitivities at the minimum make of them.
    fn is_straight(&self, there: &[f64], reach: f64) -> bool {
        let (Some(here), Some(residuals)) = (self.residuals(self.at), self.residuals(there)) else { return false };
        let way = DVector::from_iterator(self.free.len(), self.free.iter().map(|&i| there[i] - self.at[i]));
        (residuals - here - self.jacobian * way).norm() < STRAIGHT * reach
    }

    /// Weighted residuals with some coordinates; none where a case has no answer.
    fn residuals(&self, at: &[f64]) -> Option<DVector<f64>> {
        let computed = self.model.computed(at).ok()?;
        let known = computed.iter().all(|value| value.is_finite());
        known.then(|| DVector::from_vec(self.model.residuals(at, &computed)))
    }

    /// How far the end is from the minimum, at most `most`, and all coordinates there; `first` is where it is looked for first.
    fn search(&self, follower: &Follower, side: f64, reach: f64, [first, most]: [f64; 2]) -> (f64, Vec<f64>) {
        let mut below = [0.0, -reach];
        let (mut next, mut above) = (first, None);
        let mut there = self.at.to_vec();
        for _ in 0..PLACES {
            let (root, others) = follower.root_of_rise(self.at[follower.index] + side * next);
            let here = [next, root - reach];
            if root.is_finite() {
                there = others;
            }
            if here[1].abs() < NEAR * reach {
                return (here[0], there);
            }
            if here[1] > 0.0 {
                above = Some(here)
            } else {
                below = here
            }
            next = match above {
                None if next >= most => return (most, there),
                // A little beyond where a straight line from the minimum ends.
                None => (1.1 * next * (reach / (here[1] + reach)).clamp(1.05, 3.0)).min(most),
                Some(above) if above[0] - below[0] <= NEAR * above[0] => break,
                // What has no answer is infinitely far off: halve.
                Some(above) => {
                    let share = -below[1] / (above[1] - below[1]);
                    let share = if share.is_finite() && share > 0.0 { share.clamp(0.05, 0.95) } else { 0.5 };
                    below[0] + share * (above[0] - below[0])
                }
            };
        }
        (above.unwrap_or(below)[0], there)
    }
}

/// The other free coordinates as they follow one that is moved.
struct Follower<'a, 'b> {
    profile: &'b Profile<'a>,
    index: usize,
    others: Vec<usize>,
    /// Coordinates where the sensitivities are from.
    base: Vec<f64>,
    /// Sensitivities to the others.
    sensitivities: DMatrix<f64>,
    /// From weighted residuals to the step of the others that makes them smallest.
    inverse: Option<DMatrix<f64>>,
    /// How far the others go for one of the moved one.
    slope: DVector<f64>,
}

impl<'a, 'b> Follower<'a, 'b> {
    /// With the sensitivities at the minimum.
    fn new(profile: &'b Profile<'a>, position: usize) -> Follower<'a, 'b> {
        let columns: Vec<usize> = (0..profile.free.len()).filter(|&other| other != position).collect();
        let others: Vec<usize> = columns.iter().map(|&column| profile.free[column]).collect();
        let sensitivities = profile.jacobian.select_columns(&columns);
        let inverse = inverse(&sensitivities);
        let slope = match &inverse {
            Some(inverse) => -(inverse * profile.jacobian.column(position)),
            None => DVector::zeros(others.len()),
        };
        Follower {
            profile,
            index: profile.free[position],
            others,
            base: profile.at.to_vec(),
            sensitivities,
            inverse,
            slope,
        }
    }

    /// With the sensitivities at the best coordinates of an end that was found.
    fn again(&self, there: Vec<f64>) -> Option<Follower<'a, 'b>> {
        // The others go the way that they went up to there.
        let way = there[self.index] - self.profile.at[self.index];
        if way == 0.0 {
            return None;
        }
        let sensitivities = self.profile.model.jacobian(&there, &self.others).ok()?;
        let slope = self.others.iter().map(|&other| (there[other] - self.profile.at[other]) / way);
        Some(Follower {
            profile: self.profile,
            index: self.index,
            others: self.others.clone(),
            slope: DVector::from_iterator(self.others.len(), slope),
            inverse: inverse(&sensitivities),
            sensitivities,
            base: there,
        })
    }

    /// The coordinates with the others moved by a step, within their bounds.
    fn moved(&self, at: &[f64], step: &DVector<f64>) -> Vec<f64> {
        let mut at = at.to_vec();
        for (&index, step) in self.others.iter().zip(step.iter()) {
            let [low, high] = self.profile.model.bounds(index);
            at[index] = (at[index] + step).clamp(low, high);
        }
        at
    }

    /// The root of how much chi-square rises with the coordinate there and the others at their best, and all coordinates then.
    fn root_of_rise(&self, coordinate: f64) -> (f64, Vec<f64>) {
        let mut at = self.base.clone();
        let distance = coordinate - at[self.index];
        at[self.index] = coordinate;
        let mut best = self.moved(&at, &(distance * &self.slope));
        let Some(mut residuals) = self.profile.residuals(&best) else { return (f64::INFINITY, best) };
        let mut sum = residuals.norm_squared();
        for _ in 0..STEPS {
            let Some(inverse) = &self.inverse else { break };
            let step = -(inverse * &residuals);
            // What the sensitivities promise of it.
            if (&self.sensitivities * &step).norm_squared() < GAIN {
                break;
            }
            let mut won = 0.0;
            for share in [1.0, 0.4, 0.1] {
                let there = self.moved(&best, &(share * &step));
                if let Some(new) = self.profile.residuals(&there)
                    && new.norm_squared() < sum
                {
                    won = sum - new.norm_squared();
                    (best, sum, residuals) = (there, new.norm_squared(), new);
                    break;
                }
            }
            if won < GAIN {
                break;
            }
        }
        ((sum - self.profile.chi_square).max(0.0).sqrt(), best)
    }
}

/// From weighted residuals to the step that makes them smallest; none where nothing can be moved.
fn inverse(sensitivities: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    if sensitivities.ncols() == 0 { None } else { sensitivities.clone().pseudo_inverse(1e-9).ok() }
}
