//! What many samples say of one number: percentiles, mean, deviation; and of a limit: how often it is met.

use serde::Serialize;

/// The shares below the percentiles of a summary.
pub const SHARES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];

/// Of one number.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// The values below which 5, 25, 50, 75 and 95 % of the samples lie.
    pub percentiles: [f64; 5],
    /// Mean.
    pub mean: f64,
    /// Standard deviation, of the samples' scatter (n - 1).
    pub deviation: f64,
}

impl Summary {
    /// Of some values; none where there are none.
    pub fn of(values: &[f64]) -> Option<Summary> {
        if values.is_empty() {
            return None;
        }
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
        let deviation = if values.len() > 1 { (squares / (count - 1.0)).sqrt() } else { 0.0 };
        Some(Summary { percentiles: SHARES.map(|share| percentile(&sorted, share)), mean, deviation })
    }
}

/// The value below which a share of some sorted values lies: linear between neighbours, the first and last at 0 and 1.
///
/// Definition 7 of R. J. Hyndman, Y. Fan, Sample quantiles in statistical packages, The American Statistician 50 (1996)
/// 361-365, doi 10.1080/00031305.1996.10473566. Not a number without values.
///
/// ```
/// use quenchway::study::spread::percentile;
/// assert_eq!(percentile(&[1.0, 2.0, 4.0], 0.75), 3.0);
/// ```
pub fn percentile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let place = share.clamp(0.0, 1.0) * last as f64;
    let below = place.floor();
    let (low, high) = (sorted[below as usize], sorted[place.ceil() as usize]);
    // Infinities have no difference.
    if low == high { low } else { low + (place - below) * (high - low) }
}

/// Ends of the interval that holds a percentile with 95 % chance, were the samples independent: two of the sorted values,
/// s n -+ 1.96 sqrt(n s (1 - s)) places from the first. Infinite where so few values tell no end.
///
/// ```
/// use quenchway::study::spread::percentile_ends;
/// let sorted: Vec<f64> = (0..100).map(f64::from).collect();
/// assert_eq!(percentile_ends(&sorted, 0.5), [40.0, 60.0]);
/// assert_eq!(percentile_ends(&sorted, 0.99), [97.0, f64::INFINITY]);
/// ```
pub fn percentile_ends(sorted: &[f64], share: f64) -> [f64; 2] {
    let count = sorted.len() as f64;
    let half = TWO_SIDED * (count * share * (1.0 - share)).sqrt();
    let low = (count * share - half).floor();
    let high = (count * share + half).ceil();
    let at = |place: f64| if place < 0.0 { None } else { sorted.get(place as usize).copied() };
    [at(low).unwrap_or(f64::NEG_INFINITY), at(high).unwrap_or(f64::INFINITY)]
}

/// 97.5 % of a standard normal distribution lie below.
const TWO_SIDED: f64 = 1.959_963_984_540_054;

/// How often something holds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Chance {
    /// Samples in which it holds.
    pub holds: usize,
    /// Samples that have an answer.
    pub of: usize,
    /// Their ratio; not a number without samples.
    pub probability: f64,
    /// The 95 % interval of the probability, were the samples independent. Even samples do better.
    pub interval: [f64; 2],
}

impl Chance {
    /// Of counts.
    ///
    /// The interval is Wilson's score interval, which says something at 0 and 1 too: E. B. Wilson, Probable inference, the law of
    /// succession, and statistical inference, Journal of the American Statistical Association 22 (1927) 209-212,
    /// doi 10.1080/01621459.1927.10502953.
    ///
    /// ```
    /// use quenchway::study::spread::Chance;
    /// let chance = Chance::of(81, 263);
    /// assert!((chance.interval[0] - 0.2553).abs() < 1e-4 && (chance.interval[1] - 0.3662).abs() < 1e-4);
    /// ```
    pub fn of(holds: usize, of: usize) -> Chance {
        let (n, z2) = (of as f64, TWO_SIDED * TWO_SIDED);
        let p = holds as f64 / n;
        let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
        let half = TWO_SIDED / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
        Chance { holds, of, probability: p, interval: [(middle - half).max(0.0), (middle + half).min(1.0)] }
    }
}
