//! A sweep: copies of a case that differ in some numbers, each sample known by its index alone.

pub mod fields;
pub mod file;
mod worker;

#[cfg(test)]
mod tests;

use std::ops::Range;

pub use fields::{Field, FieldsOf};
pub use worker::{Check, Sample, Status, Worker};

use crate::data::Label;
use crate::march::output::Output;
use crate::maths::distribution::Distribution;
use crate::maths::sample::Sampler;
use crate::names::variable::Variable;

pub use crate::names::keys::MOST_SAMPLES;

/// One in so many samples is solved again the careful way.
const CHECKED: u64 = 100;

/// A sweep, ready to be computed.
#[derive(Clone, Debug)]
pub struct Sweep {
    /// What the user calls it.
    pub title: String,
    /// How the axes are combined.
    pub method: Method,
    /// What varies, the first slowest.
    pub axes: Vec<Axis>,
    /// What is kept of every sample.
    pub outputs: Vec<Output>,
    /// Fields along the line that are kept of every sample.
    pub fields: Vec<&'static Field>,
    /// Samples in a block, where the study says so.
    pub block: Option<u64>,
}

/// How the axes are combined.
#[derive(Clone, Debug)]
pub enum Method {
    /// Every value with every other.
    Grid,
    /// Samples of the unit cube, each coordinate a share of an axis' distribution.
    Sampled {
        /// What lays them out.
        sampler: Sampler,
        /// What it starts from.
        seed: u64,
    },
}

/// A number of the case and the values that it takes.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The number.
    pub variable: Variable,
    /// Its values, SI.
    pub values: Values,
}

/// The values of an axis.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// One after the other; sampled, each as likely as the others.
    List(Vec<f64>),
    /// Distributed.
    Spread(Distribution),
}

impl Method {
    /// The word of the study file.
    pub fn name(&self) -> &'static str {
        match self {
            Method::Grid => "grid",
            Method::Sampled { sampler, .. } => sampler.method().name(),
        }
    }
}

impl Axis {
    /// How it is labelled: by its key path.
    pub fn label(&self) -> Label<'_> {
        Label::new(&self.variable.path, self.variable.units(), &self.variable.path)
    }

    /// The values that a grid takes along it.
    pub fn list(&self) -> &[f64] {
        match &self.values {
            Values::List(values) => values,
            Values::Spread(_) => &[],
        }
    }

    /// The value at a share of the distribution, above 0 and below 1.
    fn at(&self, share: f64) -> f64 {
        let value = match &self.values {
            Values::List(values) => {
                let place = (share * values.len() as f64) as usize;
                values.get(place.min(values.len().saturating_sub(1))).copied().unwrap_or(f64::NAN)
            }
            Values::Spread(distribution) => distribution.quantile(share),
        };
        if self.variable.is_whole() { value.round() } else { value }
    }
}

impl Sweep {
    /// Lengths of the results' dimensions: one per axis of a grid, otherwise the number of samples.
    pub fn shape(&self) -> Vec<usize> {
        match &self.method {
            Method::Grid => self.axes.iter().map(|axis| axis.list().len()).collect(),
            Method::Sampled { sampler, .. } => vec![usize::try_from(sampler.count()).unwrap_or(usize::MAX)],
        }
    }

    /// Whether the results have one dimension per axis.
    pub fn is_grid(&self) -> bool {
        matches!(self.method, Method::Grid)
    }

    /// How many samples there are.
    pub fn samples(&self) -> u64 {
        self.shape().iter().map(|&length| length as u64).product()
    }

    /// The inputs of a sample, in the order of the axes.
    pub fn inputs(&self, index: u64, inputs: &mut [f64]) {
        match &self.method {
            Method::Grid => {
                let mut rest = index;
                for (axis, input) in self.axes.iter().zip(inputs.iter_mut()).rev() {
                    let values = axis.list();
                    let points = (values.len() as u64).max(1);
                    *input = values.get((rest % points) as usize).copied().unwrap_or(f64::NAN);
                    rest /= points;
                }
            }
            Method::Sampled { sampler, .. } => {
                for (dimension, (axis, input)) in self.axes.iter().zip(inputs.iter_mut()).enumerate() {
                    *input = axis.at(sampler.coordinate(index, dimension));
                }
            }
        }
    }

    /// Samples in a block: as the study says, or so that there is work for many cores, and no more than some thousand files.
    pub fn block_size(&self) -> u64 {
        let samples = self.samples();
        // Fields of a sample take some hundred kilobytes: a worker holds a block of them.
        let most = if self.fields.is_empty() { 1000 } else { 32 };
        let usual = samples.div_ceil(256).clamp(16, most).max(samples.div_ceil(4000).min(most * 1000));
        self.block.unwrap_or(usual).max(1)
    }

    /// How many blocks there are.
    pub fn blocks(&self) -> u64 {
        self.samples().div_ceil(self.block_size())
    }

    /// The samples of a block.
    pub fn block(&self, number: u64) -> Range<u64> {
        let size = self.block_size();
        let first = number.saturating_mul(size).min(self.samples());
        first..first.saturating_add(size).min(self.samples())
    }

    /// Whether a sample is solved again the careful way: the first, and about one in a hundred by the hash of its index.
    pub fn is_checked(index: u64) -> bool {
        index == 0 || hash(index).is_multiple_of(CHECKED)
    }
}

/// A number without pattern from an index: the finaliser of SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, Fast splittable
/// pseudorandom number generators, OOPSLA 2014, figure 17 and section 5; constants from memory, any good mixer would do).
fn hash(index: u64) -> u64 {
    let mut z = index.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
