//! Distributions of uncertain inputs, by their quantiles.
//!
//! A sample of the unit cube becomes values through quantiles, so that even samples stay even. Every function here is IEEE
//! arithmetic and `libm`: the same bits on every machine.

mod normal;
#[cfg(test)]
mod tests;

use std::fmt;

pub use normal::{cumulative, quantile};

/// How an uncertain number is distributed; made by the functions of the same names, which check the numbers.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Distribution {
    /// Normal, cut off at its bounds (infinite: not cut).
    Normal {
        /// Mean of the whole normal distribution.
        mean: f64,
        /// Its standard deviation.
        sd: f64,
        /// Lowest and highest value.
        bounds: [f64; 2],
    },
    /// The logarithm is normal, cut off at the bounds.
    LogNormal {
        /// Median of the whole distribution.
        median: f64,
        /// One standard deviation up multiplies by this, one down divides.
        factor: f64,
        /// Lowest and highest value.
        bounds: [f64; 2],
    },
    /// Every value between two ends equally likely.
    Uniform {
        /// Low end.
        low: f64,
        /// High end.
        high: f64,
    },
    /// The logarithm is uniform.
    LogUniform {
        /// Low end.
        low: f64,
        /// High end.
        high: f64,
    },
    /// Density rising straight from the low end to the mode and falling straight to the high end.
    Triangular {
        /// Low end.
        low: f64,
        /// The likeliest value.
        mode: f64,
        /// High end.
        high: f64,
    },
    /// Half of a normal distribution below the median and half of another above it.
    TwoSided {
        /// Median.
        median: f64,
        /// Standard deviations of the normal distributions below and above.
        sd: [f64; 2],
        /// Lowest and highest value.
        bounds: [f64; 2],
    },
}

/// Numbers that make no distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DistributionError {
    /// A number is not finite.
    NotFinite,
    /// A standard deviation is not above zero.
    Spread,
    /// A factor of a log-normal distribution is not above one.
    Factor,
    /// The low end is not below the high end.
    Order,
    /// The mode is not between the ends.
    Mode,
    /// A logarithm needs numbers above zero.
    Logarithm,
    /// The mean or median is not within the bounds.
    Centre,
    /// An end is outside the bounds.
    Outside,
}

impl fmt::Display for DistributionError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            DistributionError::NotFinite => "a number is not finite",
            DistributionError::Spread => "the standard deviation is not above zero",
            DistributionError::Factor => "the factor is not above one",
            DistributionError::Order => "the low end is not below the high end",
            DistributionError::Mode => "the likeliest value is not between the ends",
            DistributionError::Logarithm => "a logarithm needs numbers above zero",
            DistributionError::Centre => "the middle is outside what is possible",
            DistributionError::Outside => "an end is outside what is possible",
        })
    }
}

impl std::error::Error for DistributionError {}

const UNBOUNDED: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];

impl Distribution {
    /// Normal with a mean and a standard deviation.
    ///
    /// ```
    /// use quenchway::maths::distribution::Distribution;
    /// let melt = Distribution::normal(188.0, 3.0).unwrap();
    /// assert_eq!(melt.quantile(0.5), 188.0);
    /// assert!((melt.quantile(0.841_344_746_068_543) - 191.0).abs() < 1e-12);
    /// ```
    ///
    /// # Errors
    ///
    /// A number that is not finite, a standard deviation that is not above zero.
    pub fn normal(mean: f64, sd: f64) -> Result<Distribution, DistributionError> {
        check(&[mean, sd], &[(sd > 0.0, DistributionError::Spread)])?;
        Ok(Distribution::Normal { mean, sd, bounds: UNBOUNDED })
    }

    /// Log-normal with a median and the factor of one standard deviation.
    ///
    /// # Errors
    ///
    /// A median that is not above zero, a factor that is not above one.
    pub fn log_normal(median: f64, factor: f64) -> Result<Distribution, DistributionError> {
        let checks = [(median > 0.0, DistributionError::Logarithm), (factor > 1.0, DistributionError::Factor)];
        check(&[median, factor], &checks)?;
        Ok(Distribution::LogNormal { median, factor, bounds: UNBOUNDED })
    }

    /// Uniform between two ends.
    ///
    /// # Errors
    ///
    /// Ends that are not finite or not in order.
    pub fn uniform(low: f64, high: f64) -> Result<Distribution, DistributionError> {
        check(&[low, high], &[(low < high, DistributionError::Order)])?;
        Ok(Distribution::Uniform { low, high })
    }

    /// Log-uniform between two ends.
    ///
    /// # Errors
    ///
    /// Ends that are not finite, not in order, or not above zero.
    ///
    /// ```
    /// use quenchway::maths::distribution::Distribution;
    /// assert!((Distribution::log_uniform(0.5, 2.0).unwrap().quantile(0.5) - 1.0).abs() < 1e-15);
    /// ```
    pub fn log_uniform(low: f64, high: f64) -> Result<Distribution, DistributionError> {
        let checks = [(low > 0.0, DistributionError::Logarithm), (low < high, DistributionError::Order)];
        check(&[low, high], &checks)?;
        Ok(Distribution::LogUniform { low, high })
    }

    /// Triangular between two ends about the likeliest value.
    ///
    /// # Errors
    ///
    /// Numbers that are not finite or not in order.
    pub fn triangular(low: f64, mode: f64, high: f64) -> Result<Distribution, DistributionError> {
        let between = (low..=high).contains(&mode);
        let checks = [(low < high, DistributionError::Order), (between, DistributionError::Mode)];
        check(&[low, mode, high], &checks)?;
        Ok(Distribution::Triangular { low, mode, high })
    }

    /// Half of a normal distribution to either side of the median; a side of zero ends there.
    ///
    /// # Errors
    ///
    /// Numbers that are not finite, a side below zero, both zero.
    pub fn two_sided(median: f64, below: f64, above: f64) -> Result<Distribution, DistributionError> {
        let spread = below >= 0.0 && above >= 0.0 && below + above > 0.0;
        check(&[median, below, above], &[(spread, DistributionError::Spread)])?;
        Ok(Distribution::TwoSided { median, sd: [below, above], bounds: UNBOUNDED })
    }

    /// The same where only values from `low` to `high` are possible: a normal one is cut off there.
    ///
    /// # Errors
    ///
    /// The middle of a normal one, or an end of another, is outside.
    ///
    /// ```
    /// use quenchway::maths::distribution::Distribution;
    /// let share = Distribution::normal(0.9, 0.2).unwrap().within([0.0, 1.0]).unwrap();
    /// assert!(share.quantile(0.999) < 1.0 && share.quantile(0.5) < 0.9);
    /// assert!(Distribution::uniform(0.5, 1.5).unwrap().within([0.0, 1.0]).is_err());
    /// ```
    pub fn within(self, [low, high]: [f64; 2]) -> Result<Distribution, DistributionError> {
        let inside = |value: f64| (low..=high).contains(&value);
        let centre = |value: f64| if inside(value) { Ok(()) } else { Err(DistributionError::Centre) };
        let narrowed = |[a, b]: [f64; 2]| [a.max(low), b.min(high)];
        match self {
            Distribution::Normal { mean, sd, bounds } => {
                centre(mean)?;
                Ok(Distribution::Normal { mean, sd, bounds: narrowed(bounds) })
            }
            Distribution::LogNormal { median, factor, bounds } => {
                centre(median)?;
                Ok(Distribution::LogNormal { median, factor, bounds: narrowed(bounds) })
            }
            Distribution::TwoSided { median, sd, bounds } => {
                centre(median)?;
                Ok(Distribution::TwoSided { median, sd, bounds: narrowed(bounds) })
            }
            Distribution::Uniform { low, high }
            | Distribution::LogUniform { low, high }
            | Distribution::Triangular { low, high, .. } => {
                if inside(low) && inside(high) {
                    Ok(self)
                } else {
                    Err(DistributionError::Outside)
                }
            }
        }
    }

    /// The value below which the share `p` of all values lies, 0 to 1; not a number for another `p`.
    pub fn quantile(&self, p: f64) -> f64 {
        if !(0.0..=1.0).contains(&p) {
            return f64::NAN;
        }
        match *self {
            Distribution::Normal { mean, sd, bounds } => cut(mean, [sd, sd], p, bounds),
            Distribution::TwoSided { median, sd, bounds } => cut(median, sd, p, bounds),
            Distribution::LogNormal { median, factor, bounds } => {
                let sd = libm::log(factor);
                // What is negative is impossible anyway.
                let logarithms = bounds.map(|bound| libm::log(bound.max(0.0)));
                libm::exp(cut(libm::log(median), [sd, sd], p, logarithms)).clamp(bounds[0], bounds[1])
            }
            Distribution::Uniform { low, high } => low + p * (high - low),
            Distribution::LogUniform { low, high } => (low * libm::exp(p * libm::log(high / low))).clamp(low, high),
            Distribution::Triangular { low, mode, high } => {
                let (width, left) = (high - low, mode - low);
                if p * width < left {
                    low + (p * width * left).sqrt()
                } else {
                    high - ((1.0 - p) * width * (high - mode)).sqrt()
                }
            }
        }
    }

    /// The word of the case file.
    pub fn name(&self) -> &'static str {
        match self {
            Distribution::Normal { .. } => "normal",
            Distribution::LogNormal { .. } => "log_normal",
            Distribution::Uniform { .. } => "uniform",
            Distribution::LogUniform { .. } => "log_uniform",
            Distribution::Triangular { .. } => "triangular",
            Distribution::TwoSided { .. } => "two_sided",
        }
    }
}

/// All finite, and every check good; the first that is not is the error.
fn check(numbers: &[f64], checks: &[(bool, DistributionError)]) -> Result<(), DistributionError> {
    if !numbers.iter().all(|number| number.is_finite()) {
        return Err(DistributionError::NotFinite);
    }
    checks.iter().find(|(good, _)| !good).map_or(Ok(()), |(_, error)| Err(*error))
}

/// Quantile of a normal distribution with a standard deviation for each side, cut off at bounds about its centre.
fn cut(centre: f64, sd: [f64; 2], p: f64, [low, high]: [f64; 2]) -> f64 {
    // A side without width holds nothing; otherwise each holds a half, less what is cut off.
    let reach = |side: usize, end: f64| if sd[side] > 0.0 { (end - centre) / sd[side] } else { 0.0 };
    let [from, to] = [cumulative(reach(0, low)), cumulative(reach(1, high))];
    let z = quantile(from + p * (to - from));
    let value = centre + z * sd[if z < 0.0 { 0 } else { 1 }];
    value.clamp(low, high)
}
