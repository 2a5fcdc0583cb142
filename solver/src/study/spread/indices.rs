//! Sobol' indices: how much of an output's variance comes from each input, alone and with what it does together with others.
//!
//! First order S_i = V(E(f | x_i)) / V, total T_i = 1 - V(E(f | all but x_i)) / V. From two independent samples A and B, and AB_i,
//! which is A with column i of B: S_i = mean(f_B (f_ABi - f_A)) / V, T_i = mean((f_A - f_ABi)^2) / (2 V), V the variance over
//! A and B together. Sources: A. Saltelli et al., Variance based sensitivity analysis of model output. Design and estimator for the
//! total sensitivity index, Computer Physics Communications 181 (2010) 259-270, doi 10.1016/j.cpc.2009.09.018, table 2 (b) and
//! (f); M. J. W. Jansen, Analysis of variance designs for model output, Computer Physics Communications 117 (1999) 35-43,
//! doi 10.1016/S0010-4655(98)00154-4.

use serde::Serialize;

use super::summary::percentile;
use crate::maths::parallel::of_each;
use crate::maths::sample::{key, output};

/// Samples drawn with replacement from the samples, for the intervals.
const RESAMPLED: u64 = 400;
/// What the generator's key is for.
const BOOTSTRAP: u64 = 101;

/// The share of one input in the variance of one output.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Index {
    /// First order: of the input alone.
    pub first: f64,
    /// Its 95 % interval by resampling.
    pub first_interval: [f64; 2],
    /// Total: with everything that it does together with others.
    pub total: f64,
    /// Its 95 % interval by resampling.
    pub total_interval: [f64; 2],
}

/// The indices of every input from the values of one output in A, in B, and in AB_i for each input.
///
/// Values that are not numbers are left out, sample by sample. Not a number where the output does not vary.
pub fn indices(a: &[f64], b: &[f64], ab: &[Vec<f64>], seed: u64) -> Vec<Index> {
    let good: Vec<usize> = (0..a.len()).filter(|&j| a[j].is_finite() && b[j].is_finite()).collect();
    // About the mean: the first-order estimator multiplies values, whose noise grows with their size.
    let mean = good.iter().map(|&j| a[j] + b[j]).sum::<f64>() / (2 * good.len()) as f64;
    let one = |input: usize| {
        let ab = &ab[input];
        let rows: Vec<[f64; 3]> =
            good.iter().filter(|&&j| ab[j].is_finite()).map(|&j| [a[j] - mean, b[j] - mean, ab[j] - mean]).collect();
        let [first, total] = estimate(rows.iter());
        let count = rows.len() as u64;
        let resampled = |round: u64| {
            let key = key(seed, BOOTSTRAP + input as u64, round);
            // The high half of a product of 128 bits: a place among the rows, evenly.
            let place = |i: u64| ((u128::from(output(key, i)) * u128::from(count)) >> 64) as usize;
            estimate((0..count).map(|i| &rows[place(i)]))
        };
        let rounds: Vec<[f64; 2]> = (0..RESAMPLED).map(resampled).collect();
        let interval = |which: usize| {
            let mut sorted: Vec<f64> = rounds.iter().map(|round| round[which]).collect();
            sorted.sort_by(f64::total_cmp);
            [percentile(&sorted, 0.025), percentile(&sorted, 0.975)]
        };
        Index { first, first_interval: interval(0), total, total_interval: interval(1) }
    };
    of_each(ab.len(), one)
}

/// First order and total from rows of f_A, f_B and f_AB.
fn estimate<'a>(rows: impl Iterator<Item = &'a [f64; 3]>) -> [f64; 2] {
    let (mut count, mut sum, mut squares, mut first, mut total) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for [a, b, ab] in rows {
        count += 1.0;
        sum += a + b;
        squares += a * a + b * b;
        first += b * (ab - a);
        total += (a - ab) * (a - ab);
    }
    let mean = sum / (2.0 * count);
    let variance = squares / (2.0 * count) - mean * mean;
    // An output that does not vary has shares of nothing, whatever rounding leaves of it.
    if variance.is_nan() || variance <= 1e-24 * (squares / count).max(f64::MIN_POSITIVE) {
        return [f64::NAN; 2];
    }
    [first / count / variance, total / (2.0 * count) / variance]
}
