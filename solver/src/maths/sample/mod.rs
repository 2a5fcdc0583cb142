//! Samples of the unit cube by index: sample i depends on nothing but the seed, i and, for a Latin hypercube, the count.
//!
//! So any sample can be computed anywhere, in any order, on any number of threads or machines, and again.

mod hash;
mod joe_kuo;
mod permutation;
mod sobol;
#[cfg(test)]
mod tests;

use std::fmt;

pub(crate) use hash::{key, output, unit};

/// How samples are laid out in the unit cube.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// Sobol' sequence with Owen's scrambling: the most even, best with a power of two of samples. At most
    /// [`Sampler::SOBOL_DIMENSIONS`] dimensions and 2^52 samples.
    #[default]
    Sobol,
    /// Latin hypercube: in every dimension one sample in each of `count` equal parts.
    LatinHypercube,
    /// Independent random samples.
    Random,
}

impl Method {
    /// All of them.
    pub const ALL: [Method; 3] = [Method::Sobol, Method::LatinHypercube, Method::Random];

    /// The word that files and flags use.
    pub fn name(self) -> &'static str {
        match self {
            Method::Sobol => "sobol",
            Method::LatinHypercube => "latin-hypercube",
            Method::Random => "random",
        }
    }

    /// The method of a word.
    ///
    /// ```
    /// use quenchway::maths::sample::Method;
    /// assert_eq!(Method::named("latin-hypercube"), Some(Method::LatinHypercube));
    /// assert_eq!(Method::named("latin"), None);
    /// ```
    pub fn named(word: &str) -> Option<Method> {
        Method::ALL.into_iter().find(|method| method.name() == word)
    }
}

/// Samples that cannot be laid out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SampleError {
    /// More dimensions than the sequence has.
    TooManyDimensions {
        /// How many were asked for.
        dimensions: usize,
    },
    /// No samples, or more than there are.
    Count {
        /// How many were asked for.
        count: u64,
    },
}

impl fmt::Display for SampleError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SampleError::TooManyDimensions { dimensions } => write!(
                out,
                "the samples need {dimensions} dimensions, and the Sobol' sequence has {}; take the method latin-hypercube or \
                 random, or vary fewer inputs",
                Sampler::SOBOL_DIMENSIONS
            ),
            SampleError::Count { count } => {
                write!(out, "{count} samples cannot be laid out; 1 to {} can", Sampler::MOST_SAMPLES)
            }
        }
    }
}

impl std::error::Error for SampleError {}

/// Lays samples out in the unit cube.
///
/// ```
/// use quenchway::maths::sample::{Method, Sampler};
/// let sampler = Sampler::new(Method::Sobol, 1, 1024, 3).unwrap();
/// let mean = (0..1024).map(|i| sampler.coordinate(i, 2)).sum::<f64>() / 1024.0;
/// assert!((mean - 0.5).abs() < 1e-4);
/// assert_eq!(sampler.point(7), Sampler::new(Method::Sobol, 1, 8, 3).unwrap().point(7));
/// ```
#[derive(Clone, Debug)]
pub struct Sampler {
    method: Method,
    count: u64,
    keys: Vec<u64>,
    columns: Vec<sobol::Column>,
}

impl Sampler {
    /// Dimensions that a Sobol' sequence has here.
    pub const SOBOL_DIMENSIONS: usize = sobol::DIMENSIONS;
    /// Samples that can be told apart.
    pub const MOST_SAMPLES: u64 = 1 << 52;

    /// A sampler of `count` samples in so many dimensions.
    ///
    /// # Errors
    ///
    /// No samples or more than [`Sampler::MOST_SAMPLES`]; more dimensions than the method has.
    pub fn new(method: Method, seed: u64, count: u64, dimensions: usize) -> Result<Sampler, SampleError> {
        if !(1..=Sampler::MOST_SAMPLES).contains(&count) {
            return Err(SampleError::Count { count });
        }
        if method == Method::Sobol && dimensions > Sampler::SOBOL_DIMENSIONS {
            return Err(SampleError::TooManyDimensions { dimensions });
        }
        let keys = (0..dimensions).map(|dimension| key(seed, method as u64, dimension as u64)).collect();
        let columns = if method == Method::Sobol { (0..dimensions).map(sobol::column).collect() } else { Vec::new() };
        Ok(Sampler { method, count, keys, columns })
    }

    /// How many dimensions a sample has.
    pub fn dimensions(&self) -> usize {
        self.keys.len()
    }

    /// How many samples there are.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// How they are laid out.
    pub fn method(&self) -> Method {
        self.method
    }

    /// Coordinate of a sample in one dimension, above 0 and below 1; not a number in a dimension that there is not.
    pub fn coordinate(&self, index: u64, dimension: usize) -> f64 {
        let Some(&key) = self.keys.get(dimension) else { return f64::NAN };
        match self.method {
            Method::Sobol => unit(sobol::scrambled(sobol::digits(index, &self.columns[dimension]), key)),
            Method::LatinHypercube => {
                let part = permutation::place(index, self.count, key) as f64;
                let within = unit(output(!key, index));
                // Rounding must not reach the far end of the cube.
                ((part + within) / self.count as f64).min(1.0 - f64::EPSILON / 2.0)
            }
            Method::Random => unit(output(key, index)),
        }
    }

    /// A sample: a coordinate above 0 and below 1 in every dimension.
    pub fn point(&self, index: u64) -> Vec<f64> {
        (0..self.dimensions()).map(|dimension| self.coordinate(index, dimension)).collect()
    }
}
