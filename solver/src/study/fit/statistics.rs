//! Statistics of a fit: covariance, intervals, leverage, condition.
//!
//! With J the sensitivities of the measurements over their uncertainties at the minimum, the covariance of the estimates is
//! s^2 (J'J)^-1 (G. A. F. Seber, C. J. Wild, Nonlinear Regression, Wiley 2003, section 2.1.2; D. M. Bates, D. G. Watts,
//! Nonlinear Regression Analysis and Its Applications, Wiley 1988, section 2.3; from memory, not checked). By default s = 1
//! and an interval reaches to 1.96 standard errors. Where the residuals scatter more than chance allows once in twenty
//! trials, s^2 is the residual variance chi^2/(n - p) and Student's t(n - p; 0.975) stands for 1.96: stated uncertainties
//! that are too small widen the intervals. [`Spread::Stated`] takes them at their word. The ends are found on the profile of
//! chi-square (see `profile`); how often they hold the truth is measured on synthetic trials, see the page on fitting in the
//! documentation.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal, StudentsT};

/// Share of the intervals that hold the true value.
pub const CONFIDENCE: f64 = 0.95;

/// Chance below which the scatter is taken for larger than stated.
pub const SELDOM: f64 = 0.05;

/// Smallest singular value, relative to the largest, that is not the noise of the differences.
pub const NOISE: f64 = 1e-4;

/// What the intervals are scaled by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Spread {
    /// The scatter of the residuals, with Student's t, where it is larger than chance allows.
    #[default]
    Residuals,
    /// The stated uncertainties, with the normal distribution.
    Stated,
}

/// What the sensitivities at the minimum say, before any scaling by the scatter.
#[derive(Clone, Debug)]
pub struct Linear {
    /// (J'J)^-1, directions that the data do not tell kept at the noise.
    pub covariance: DMatrix<f64>,
    /// Correlation of the estimates.
    pub correlation: DMatrix<f64>,
    /// Diagonal of J (J'J)^-1 J', of the directions that the data tell.
    pub leverage: Vec<f64>,
    /// Largest over smallest singular value of J with columns of unit length.
    pub condition: f64,
    /// Of each direction that is the noise of the differences: the unknowns that make it up.
    pub untold: Vec<Vec<usize>>,
    /// Of each condition index above 30: the unknowns with more than half of their variance in it (D. A. Belsley, E. Kuh,
    /// R. E. Welsch, Regression Diagnostics, Wiley 1980; both thresholds as quoted by others, the book was not read).
    pub collinear: Vec<Vec<usize>>,
}

impl Linear {
    /// Of sensitivities with a row for every measurement and a column for every unknown; none where a column is zero or a
    /// number is not finite.
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use quenchway::study::fit::statistics::Linear;
    /// // A straight line through x = -1, 0, 1: intercept and slope are independent.
    /// let line = Linear::new(&DMatrix::from_row_slice(3, 2, &[1.0, -1.0, 1.0, 0.0, 1.0, 1.0])).unwrap();
    /// assert!((line.covariance[(0, 0)] - 1.0 / 3.0).abs() < 1e-14 && (line.covariance[(1, 1)] - 0.5).abs() < 1e-14);
    /// assert!(line.correlation[(0, 1)].abs() < 1e-14);
    /// assert!((line.leverage[0] - 5.0 / 6.0).abs() < 1e-14);
    /// ```
    pub fn new(sensitivities: &DMatrix<f64>) -> Option<Linear> {
        let (rows, columns) = sensitivities.shape();
        let lengths: Vec<f64> = sensitivities.column_iter().map(|column| column.norm()).collect();
        if rows < columns || columns == 0 || lengths.iter().any(|length| !(*length > 0.0 && length.is_finite())) {
            return None;
        }
        let scaled = DMatrix::from_fn(rows, columns, |row, column| sensitivities[(row, column)] / lengths[column]);
        let svd = scaled.svd(true, true);
        let (u, values, v) = (svd.u?, svd.singular_values, svd.v_t?.transpose());
        let largest = values.max();
        // A direction that only noise tells has no length of its own.
        let kept: DVector<f64> = values.map(|value| value.max(NOISE * largest));
        let covariance = DMatrix::from_fn(columns, columns, |i, j| {
            let sum: f64 = (0..columns).map(|k| v[(i, k)] * v[(j, k)] / (kept[k] * kept[k])).sum();
            sum / (lengths[i] * lengths[j])
        });
        let correlation = DMatrix::from_fn(columns, columns, |i, j| {
            if i == j { 1.0 } else { covariance[(i, j)] / (covariance[(i, i)] * covariance[(j, j)]).sqrt() }
        });
        let weak = |k: &usize| values[*k] < NOISE * largest;
        let told: Vec<usize> = (0..columns).filter(|k| !weak(k)).collect();
        let leverage = u.row_iter().map(|row| told.iter().map(|&k| row[k] * row[k]).sum::<f64>().min(1.0)).collect();
        let part = |k: usize| (0..columns).filter(|&i| v[(i, k)].abs() > 0.3).collect();
        let untold = (0..columns).filter(weak).map(part).collect();
        let share = |i: usize, k: usize| {
            let all: f64 = (0..columns).map(|k| libm::pow(v[(i, k)] / kept[k], 2.0)).sum();
            libm::pow(v[(i, k)] / kept[k], 2.0) / all
        };
        let loaded = |k: usize| (0..columns).filter(|&i| share(i, k) > 0.5).collect::<Vec<usize>>();
        let collinear = (0..columns).filter(|&k| largest / values[k] > 30.0).map(loaded).filter(|of| of.len() > 1);
        let condition = largest / values.min();
        Some(Linear { covariance, correlation, leverage, condition, untold, collinear: collinear.collect() })
    }

    /// The correlation of two unknowns, and their variances, once a measurement of these sensitivities is added
    /// (J. Sherman, W. J. Morrison, Ann. Math. Stat. 21, 1950, 124: the inverse after a change of rank one).
    pub fn with_another(&self, sensitivities: &DVector<f64>, pair: [usize; 2]) -> (f64, [f64; 2]) {
        let reach = &self.covariance * sensitivities;
        let gain = 1.0 + sensitivities.dot(&reach);
        let after = |i: usize, j: usize| self.covariance[(i, j)] - reach[i] * reach[j] / gain;
        let [a, b] = pair;
        let variances = [after(a, a), after(b, b)];
        (after(a, b) / (variances[0] * variances[1]).sqrt(), variances)
    }
}

/// Half width of an interval in standard errors: Student's t with so many degrees of freedom, or the normal distribution's.
///
/// ```
/// use quenchway::study::fit::statistics::coverage_factor;
/// // B. N. Taylor, C. E. Kuyatt, NIST Technical Note 1297, 1994, table B.1, column 95 (read); two decimals are printed.
/// for (freedom, factor) in [(1, 12.71), (2, 4.30), (5, 2.57), (10, 2.23), (30, 2.04), (100, 1.984)] {
///     assert!((coverage_factor(Some(freedom)) - factor).abs() <= 0.005, "{freedom}");
/// }
/// assert!((coverage_factor(None) - 1.960).abs() < 5e-4);
/// ```
pub fn coverage_factor(freedom: Option<usize>) -> f64 {
    two_sided(1.0 - CONFIDENCE, freedom)
}

/// The value that Student's t (without freedom: a normal variable) exceeds in size with this probability.
pub(super) fn two_sided(probability: f64, freedom: Option<usize>) -> f64 {
    let quantile = 1.0 - 0.5 * probability;
    let of_student = freedom.and_then(|freedom| StudentsT::new(0.0, 1.0, freedom as f64).ok());
    match of_student {
        Some(student) => student.inverse_cdf(quantile),
        None => Normal::standard().inverse_cdf(quantile),
    }
}

/// Chance that chi-square with so many degrees of freedom is larger.
pub(super) fn chi_square_chance(value: f64, freedom: usize) -> Option<f64> {
    ChiSquared::new(freedom as f64).ok().map(|distribution| distribution.sf(value))
}

/// Chance that a normal variable is larger in size.
pub(super) fn normal_chance(size: f64) -> f64 {
    2.0 * Normal::standard().sf(size.abs())
}

/// Externally studentised residual from the internally studentised one: the residual over its standard deviation with the
/// scatter judged without it (Belsley, Kuh, Welsch 1980, section 2.1; from memory, not checked); none without freedom left.
pub(super) fn without_itself(standardised: f64, freedom: usize) -> Option<f64> {
    let left = freedom as f64 - standardised * standardised;
    // All of the scatter is this one residual.
    (freedom > 1)
        .then(|| if left > 0.0 { standardised * ((freedom as f64 - 1.0) / left).sqrt() } else { f64::INFINITY })
}

/// Kendall's test of a trend: the two-sided chance that a series this ordered comes from no trend (H. B. Mann, Econometrica
/// 13, 1945, 245; normal approximation with the continuity correction, equal abscissae left out of the variance); none for
/// fewer than six values.
///
/// ```
/// use quenchway::study::fit::statistics::trend_chance;
/// let rising: Vec<[f64; 2]> = (0..8).map(|i| [f64::from(i), f64::from(i * i)]).collect();
/// assert!(trend_chance(&rising).unwrap() < 0.001);
/// let turning: Vec<[f64; 2]> = (0..9).map(|i| [f64::from(i), f64::from((i - 4) * (i - 4))]).collect();
/// assert!(trend_chance(&turning).unwrap() > 0.5);
/// ```
pub fn trend_chance(points: &[[f64; 2]]) -> Option<f64> {
    let n = points.len();
    if n < 6 {
        return None;
    }
    let ties = |axis: usize| {
        let mut values: Vec<f64> = points.iter().map(|point| point[axis]).collect();
        values.sort_by(f64::total_cmp);
        let groups = values.chunk_by(|a, b| a == b).map(|group| group.len() as f64);
        groups.map(|t| t * (t - 1.0) * (2.0 * t + 5.0)).sum::<f64>()
    };
    let mut score = 0.0;
    for (i, a) in points.iter().enumerate() {
        for b in &points[..i] {
            let sign = |d: f64| if d == 0.0 { 0.0 } else { d.signum() };
            score += sign(a[0] - b[0]) * sign(a[1] - b[1]);
        }
    }
    let n = n as f64;
    let variance = (n * (n - 1.0) * (2.0 * n + 5.0) - ties(0) - ties(1)) / 18.0;
    (variance > 0.0).then(|| normal_chance((score.abs() - 1.0).max(0.0) / variance.sqrt()))
}

/// The two-sided chance that of so many values so few, or fewer, have the rarer sign (sign test, W. J. Dixon,
/// A. M. Mood, J. Am. Stat. Assoc. 41, 1946, 557).
///
/// ```
/// use quenchway::study::fit::statistics::sign_chance;
/// assert_eq!(sign_chance(0, 6), 2.0 / 64.0);
/// assert_eq!(sign_chance(3, 6), 1.0);
/// ```
pub fn sign_chance(rarer: usize, count: usize) -> f64 {
    let mut term = libm::pow(0.5, count as f64);
    let mut sum = 0.0;
    for k in 0..=rarer.min(count) {
        sum += term;
        term *= (count - k) as f64 / (k + 1) as f64;
    }
    (2.0 * sum).min(1.0)
}
