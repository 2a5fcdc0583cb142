//! The flags of `spread`.

use std::path::PathBuf;

use clap::ValueEnum;
use quenchway::maths::sample;
use quenchway::study::spread::MOST_SAMPLES;

use super::StudyArgs;

/// What `spread` is told.
#[derive(Debug, clap::Args)]
pub struct SpreadArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// How many samples are solved; a power of two suits the method sobol best
    #[arg(long, value_name = "N", default_value_t = 1024, value_parser = clap::value_parser!(u64).range(1..=MOST_SAMPLES))]
    pub samples: u64,
    /// What the samples are drawn from: the same seed gives the same samples
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// How the samples are laid out
    #[arg(long, value_enum, default_value = "sobol")]
    pub method: Method,
    /// A file that holds [vary] alone, in place of the [vary] of the case
    #[arg(long, value_name = "FILE")]
    pub vary: Option<PathBuf>,
    /// Samples that are computed at the same time [default: the number of cores]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=4096))]
    pub threads: Option<u32>,
    /// Sobol' indices, too: how much of the spread comes from each input. They need the samples solved once more, and
    /// once more for each input
    #[arg(long)]
    pub indices: bool,
    /// Of every sample this, too: a number of the programme of the line such as capstan.scrap, or the answer of a search such as
    /// fastest_ramp. It may be given several times
    #[arg(long, value_name = "OUTPUT")]
    pub also: Vec<String>,
    /// Leave out the trough that each sample needs, which takes some six solves a sample
    #[arg(long)]
    pub no_length: bool,
}

/// How samples are laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Method {
    /// A scrambled Sobol' sequence: the most even
    Sobol,
    /// A Latin hypercube: one sample in each of N equal parts of every input
    LatinHypercube,
    /// Independent random samples
    Random,
}

impl From<Method> for sample::Method {
    fn from(method: Method) -> sample::Method {
        match method {
            Method::Sobol => sample::Method::Sobol,
            Method::LatinHypercube => sample::Method::LatinHypercube,
            Method::Random => sample::Method::Random,
        }
    }
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway spread house-wire.toml
  quenchway spread house-wire.toml --samples 4096 --indices --out results
  quenchway spread house-wire.toml --vary measured.toml --seed 7
  quenchway spread stop.toml --samples 64 --also capstan.scrap --no-length

What varies, in the case file or a file of its own:
  [vary]
  \"layer.insulation.temperature\" = { normal = [\"188 degC\", \"3 K\"] }
  \"section.trough.temperature\" = { uniform = [\"12 degC\", \"20 degC\"] }
  \"section.trough.film_factor\" = { log_uniform = [0.5, 2] }
Without it the program takes the usual bands of the inputs, and those of [band], as distributions.

Exit status:
  0  done
  1  there is no answer
  2  the input is wrong";
