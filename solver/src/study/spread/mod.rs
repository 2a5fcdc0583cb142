//! How far the answer spreads when the inputs do: many samples of a case, each solved by the rule.
//!
//! What varies is what `[vary]` of the case says, or else its uncertain inputs with their usual bands. Every sample depends on
//! the seed and its number alone, and sums run in the order of the samples: the same bits on any number of threads.

mod data;
mod drawn;
mod indices;
mod lengths;
mod reach;
mod solving;
mod summary;
#[cfg(test)]
mod tests;

use std::fmt;

use serde::Serialize;

use crate::case::cautions::cautions;
use crate::case::error::Error;
use crate::case::{CaseFile, Quantity};
use crate::march::output::{self, Output};
use crate::march::{march, march_by_rule};
use crate::maths::order::sort_by_number;
use crate::maths::parallel::{each, of_each};
use crate::maths::sample::{Method, SampleError, Sampler, key, output as random};
use crate::study::search::ceilings::{Ceiling, of_layers, of_product};
use crate::units::words::key as quoted;

pub(super) use drawn::drawn_of_bands;
pub use drawn::{Drawn, Measures, drawn};
pub use indices::{Index, indices};
pub(super) use lengths::reached;
pub use lengths::{LengthAt, Lengths, NoLengths};
pub use solving::Computed;
pub use summary::{Chance, SHARES, Summary, percentile, percentile_ends};

/// One sample in so many is solved again the careful way.
const CHECKED: u64 = 100;
/// What the generator's keys are for, apart from the methods of the samples.
const CHECK: u64 = 100;
/// Most samples: their outputs are held in memory.
pub const MOST_SAMPLES: u64 = 1_000_000;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    /// How many samples.
    pub samples: u64,
    /// What the samples are drawn from.
    pub seed: u64,
    /// How they are laid out.
    pub method: Method,
    /// Whether Sobol' indices are wanted: as many more solves for each input, and once more.
    pub indices: bool,
    /// Whether the trough that each sample needs is wanted: some six more solves a sample.
    pub lengths: bool,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Spread {
    /// What was drawn.
    pub inputs: Vec<Drawn>,
    /// Whether the usual bands stand in for `[vary]`.
    pub usual: bool,
    /// What was computed of every sample.
    pub outputs: Vec<Output>,
    /// The samples, in order.
    pub samples: Vec<Sample>,
    /// Of every output over the samples that have an answer.
    pub summaries: Vec<Summary>,
    /// How often each limit is met.
    pub limits: Vec<LimitChance>,
    /// How often all limits are met; none without limits.
    pub all: Option<Chance>,
    /// The trough that the samples need, or why none was sought.
    pub lengths: Result<Lengths, NoLengths>,
    /// Of every limited temperature the indices of every input; empty where they were not asked for.
    pub indices: Vec<(usize, Vec<Index>)>,
    /// The samples that were solved again the careful way.
    pub checked: Checked,
    /// Why samples have no answer, and how many each.
    pub failures: Vec<(String, usize)>,
    /// Why samples have no number for what a search or a drive tells, and how many each.
    pub absent: Vec<(String, usize)>,
    /// How many cases were solved.
    pub solves: usize,
    /// In which way the samples were computed, those of the indices included.
    pub computed: Computed,
    /// What was asked.
    pub plan: Plan,
    /// How long it took, s; not a number where nobody looked.
    pub wall: f64,
    /// Cautions for the plant floor.
    pub cautions: Vec<String>,
}

/// One sample.
#[derive(Clone, Debug)]
pub struct Sample {
    /// The drawn numbers.
    pub drawn: Vec<f64>,
    /// The outputs, or why there are none; not a number where a search or a drive has none.
    pub outputs: Result<Vec<f64>, String>,
    /// Why single outputs have no number.
    pub absent: Vec<String>,
    /// The trough that it needs, m; infinite where none meets the limits, not a number where none was found.
    pub length: f64,
}

/// How often a limit is met.
#[derive(Clone, Debug)]
pub struct LimitChance {
    /// The limit: of a temperature, or of the melt shrink of a layer.
    pub ceiling: Ceiling,
    /// Which of the outputs.
    pub output: usize,
    /// How often.
    pub chance: Chance,
}

/// How far the rule is from the careful way, over all reported temperatures of the checked samples.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Checked {
    /// How many samples.
    pub samples: usize,
    /// The largest difference, K.
    #[serde(rename = "largest_K")]
    pub largest: f64,
    /// Half of the samples differ by less in the temperature that differs most, K.
    #[serde(rename = "median_K")]
    pub median: f64,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum SpreadError {
    /// Nothing varies.
    NothingVaries,
    /// There is no station to report at.
    NoStations,
    /// More samples than memory holds.
    TooMany {
        /// How many were asked for.
        samples: u64,
    },
    /// The samples cannot be laid out.
    Sample(SampleError),
    /// The case as it is has no answer.
    March(Error),
    /// No sample has an answer.
    AllFailed {
        /// The reason of most.
        reason: String,
    },
}

impl fmt::Display for SpreadError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SpreadError::NothingVaries => write!(
                out,
                "nothing varies: every band is zero; give [vary] in the case file, for example \"line.speed\" = {{ normal = \
                 [\"150 m/min\", \"1 m/min\"] }}"
            ),
            SpreadError::NoStations => {
                write!(out, "the case has no station, and a spread is of stations; add [[station]] with name and after")
            }
            SpreadError::TooMany { samples } => {
                write!(out, "{samples} samples are more than are held at a time; 1 to {MOST_SAMPLES} are possible")
            }
            SpreadError::Sample(error) => error.fmt(out),
            SpreadError::March(error) => write!(out, "the case itself has no answer: {error}"),
            SpreadError::AllFailed { reason } => write!(out, "no sample has an answer; most because: {reason}"),
        }
    }
}

impl std::error::Error for SpreadError {}

/// Solves many samples of a case, on all threads of the present rayon pool.
///
/// ```
/// use quenchway::maths::sample::Method;
/// use quenchway::study::spread::{Plan, spread};
/// let case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
/// let plan = Plan { samples: 64, seed: 1, method: Method::Sobol, indices: false, lengths: false };
/// let spread = spread(&case, &plan).unwrap();
/// let core = spread.limits.iter().find(|limit| limit.ceiling.name == "capstan.core").unwrap();
/// assert!(core.chance.probability < 0.5);
/// assert!(spread.checked.largest < 0.1);
/// ```
///
/// # Errors
///
/// Nothing varies, no station, samples that cannot be laid out, the case as it is or every sample without an answer.
pub fn spread(case: &CaseFile, plan: &Plan) -> Result<Spread, SpreadError> {
    spread_also(case, plan, &[])
}

/// The same, and of every sample also these answers of searches and numbers of the programme of the line.
///
/// # Errors
///
/// As of [`spread`].
pub fn spread_also(case: &CaseFile, plan: &Plan, also: &[Output]) -> Result<Spread, SpreadError> {
    if plan.samples > MOST_SAMPLES {
        return Err(SpreadError::TooMany { samples: plan.samples });
    }
    let (inputs, usual) = drawn(case);
    if inputs.is_empty() {
        return Err(SpreadError::NothingVaries);
    }
    let mut outputs = wanted(case);
    outputs.extend(also.iter().cloned());
    if outputs.is_empty() {
        return Err(SpreadError::NoStations);
    }
    let dimensions = inputs.len() * if plan.indices { 2 } else { 1 };
    let sampler = Sampler::new(plan.method, plan.seed, plan.samples, dimensions).map_err(SpreadError::Sample)?;
    march_by_rule(case).map_err(SpreadError::March)?;
    let study = Study { case, inputs: &inputs, outputs: &outputs, sampler: &sampler };

    let mut computed = Computed::new();
    let drawn = of_each(plan.samples as usize, |index| study.drawn(index as u64, None));
    let solved = study.solve(drawn.len(), |task| drawn[task].clone(), &outputs, &mut computed);
    let sample = |((outputs, absent), drawn)| Sample { outputs, absent, drawn, length: f64::NAN };
    let mut samples: Vec<Sample> = solved.into_iter().zip(drawn).map(sample).collect();
    let failures = counted(samples.iter().filter_map(|sample| sample.outputs.as_ref().err()));
    let absent = counted(samples.iter().flat_map(|sample| &sample.absent));
    let summaries = outputs.iter().enumerate().map(|(index, output)| Summary::of(&column(&samples, index, output)));
    let Some(summaries) = summaries.collect::<Option<Vec<Summary>>>() else {
        return Err(SpreadError::AllFailed { reason: failures.into_iter().chain(absent).next().unwrap_or_default().0 });
    };
    let (limits, all) = chances(case, &study, &samples);
    let mut solves = 1 + samples.len();
    let lengths = if plan.lengths {
        lengths::lengths(&study, plan.seed, &mut samples, &mut solves)
    } else {
        Err(NoLengths::NotAsked)
    };
    let indices =
        if plan.indices { study.indices(&samples, &limits, plan.seed, &mut solves, &mut computed) } else { Vec::new() };
    let checked = study.check(&samples, plan.seed, &mut solves);
    Ok(Spread {
        usual,
        samples,
        summaries,
        limits,
        all,
        lengths,
        indices,
        checked,
        failures,
        absent,
        solves,
        computed,
        inputs,
        outputs,
        plan: *plan,
        wall: f64::NAN,
        cautions: cautions(case),
    })
}

/// What is computed of every sample: all outputs but those that the line fixes and the solver's own; of melt shrink what has a
/// limit.
fn wanted(case: &CaseFile) -> Vec<Output> {
    if case.stations.is_empty() {
        return Vec::new();
    }
    let fixed = |name: &str| [".distance", ".time", "line.error"].iter().any(|end| name.ends_with(end));
    let lines = output::all(case).into_iter().filter(|output| !fixed(&output.name));
    let limited = of_layers(case).into_iter().filter_map(|limit| Output::find(case, &limit.name).ok());
    lines.chain(limited).collect()
}

/// The values of one output of the samples that have an answer, and a number for it where a search or a drive tells it.
fn column(samples: &[Sample], index: usize, output: &Output) -> Vec<f64> {
    let values = samples.iter().filter_map(|sample| sample.outputs.as_ref().ok().map(|outputs| outputs[index]));
    values.filter(|value| output.searched().is_none() || !value.is_nan()).collect()
}

/// Reasons, most frequent first.
fn counted<'a>(reasons: impl Iterator<Item = &'a String>) -> Vec<(String, usize)> {
    let mut counted: Vec<(String, usize)> = Vec::new();
    for reason in reasons {
        match counted.iter_mut().find(|(known, _)| known == reason) {
            Some((_, count)) => *count += 1,
            None => counted.push((reason.clone(), 1)),
        }
    }
    sort_by_number(&mut counted, |(_, count)| -(*count as f64));
    counted
}

/// How often each limit, and all of them, are met.
fn chances(case: &CaseFile, study: &Study<'_>, samples: &[Sample]) -> (Vec<LimitChance>, Option<Chance>) {
    let limited = study.limited();
    // A limit may itself vary: every sample is held against its own.
    let limits_of = |sample: &Sample| -> Vec<f64> {
        let varied = study.apply(&sample.drawn).unwrap_or_else(|_| case.clone());
        of_product(&varied).iter().map(|limit| limit.max).collect()
    };
    let vary = study.inputs.iter().any(|input| input.input.ends_with("_max"));
    let fixed: Vec<f64> = limited.iter().map(|(limit, _)| limit.max).collect();
    let good: Vec<&Sample> = samples.iter().filter(|sample| sample.outputs.is_ok()).collect();
    let met: Vec<Vec<bool>> = each(&good, |sample| {
        let limits = if vary { limits_of(sample) } else { fixed.clone() };
        let outputs = sample.outputs.as_ref().map(Vec::as_slice).unwrap_or_default();
        limited.iter().zip(limits).map(|((_, output), limit)| outputs[*output] <= limit).collect()
    });
    let chance = |which: usize| Chance::of(met.iter().filter(|met| met[which]).count(), good.len());
    let limits = limited
        .iter()
        .enumerate()
        .map(|(which, (limit, output))| LimitChance { ceiling: limit.clone(), output: *output, chance: chance(which) })
        .collect();
    let all = Chance::of(met.iter().filter(|met| met.iter().all(|&met| met)).count(), good.len());
    (limits, (!limited.is_empty()).then_some(all))
}

/// What all samples share.
struct Study<'a> {
    case: &'a CaseFile,
    inputs: &'a [Drawn],
    outputs: &'a [Output],
    sampler: &'a Sampler,
}

impl Study<'_> {
    /// The drawn numbers of a sample; with `other`, that input's of the second sample, which is independent.
    fn drawn(&self, index: u64, other: Option<usize>) -> Vec<f64> {
        let count = self.inputs.len();
        let share =
            |input: usize| self.sampler.coordinate(index, if other == Some(input) { input + count } else { input });
        self.inputs.iter().enumerate().map(|(input, drawn)| drawn.distribution.quantile(share(input))).collect()
    }

    /// The case of some drawn numbers, or why it is none.
    fn apply(&self, drawn: &[f64]) -> Result<CaseFile, String> {
        let mut case = self.case.clone();
        for (input, &value) in self.inputs.iter().zip(drawn) {
            input.put(&mut case, value).map_err(|error| error.to_string())?;
        }
        Ok(case)
    }

    /// Every limit of the product with its output, in the order of the case.
    fn limited(&self) -> Vec<(Ceiling, usize)> {
        let place = |limit: &Ceiling| self.outputs.iter().position(|output| output.name == limit.name);
        of_product(self.case).into_iter().filter_map(|limit| place(&limit).map(|output| (limit, output))).collect()
    }

    /// Sobol' indices of the limited temperatures; where there is no limit, of surface and core at the last station; and of what
    /// searches and drives tell.
    fn indices(
        &self,
        samples: &[Sample],
        limits: &[LimitChance],
        seed: u64,
        solves: &mut usize,
        computed: &mut Computed,
    ) -> Vec<(usize, Vec<Index>)> {
        let mut asked: Vec<usize> = limits.iter().map(|limit| limit.output).collect();
        if asked.is_empty() {
            let last = self.case.stations.last().map_or(String::new(), |station| quoted(&station.name));
            let named = |quantity: Quantity| format!("{last}.{}", quantity.name(self.case));
            let position = |quantity| self.outputs.iter().position(|output| output.name == named(quantity));
            asked = [Quantity::Surface, Quantity::Core].into_iter().filter_map(position).collect();
        }
        asked.extend((0..self.outputs.len()).filter(|&output| self.outputs[output].searched().is_some()));
        asked.sort_unstable();
        asked.dedup();
        let count = self.inputs.len();
        // The second sample, then the first with one input of the second in turn.
        let drawn = |task: usize| {
            let (index, which) = ((task / (count + 1)) as u64, task % (count + 1));
            if which == count { self.second(index) } else { self.drawn(index, Some(which)) }
        };
        let outputs: Vec<Output> = asked.iter().map(|&output| self.outputs[output].clone()).collect();
        let nothing = || vec![f64::NAN; outputs.len()];
        let solved = self.solve(samples.len() * (count + 1), drawn, &outputs, computed);
        let solved: Vec<Vec<f64>> =
            solved.into_iter().map(|(values, _)| values.unwrap_or_else(|_| nothing())).collect();
        *solves += solved.len();
        let take = |which: usize, place: usize| {
            (0..samples.len()).map(|index| solved[index * (count + 1) + which][place]).collect::<Vec<f64>>()
        };
        let of = |(place, &output): (usize, &usize)| {
            let first = samples.iter().map(|sample| sample.outputs.as_ref().map_or(f64::NAN, |values| values[output]));
            let mixed: Vec<Vec<f64>> = (0..count).map(|input| take(input, place)).collect();
            (output, indices(&first.collect::<Vec<f64>>(), &take(count, place), &mixed, seed))
        };
        asked.iter().enumerate().map(of).collect()
    }

    /// The drawn numbers of the second sample.
    fn second(&self, index: u64) -> Vec<f64> {
        let count = self.inputs.len();
        let share = |input: usize| self.sampler.coordinate(index, input + count);
        self.inputs.iter().enumerate().map(|(input, drawn)| drawn.distribution.quantile(share(input))).collect()
    }

    /// Numbers of the samples that are checked: one in a hundred, drawn by the seed, and one at least.
    fn checked(&self, samples: &[Sample], seed: u64) -> Vec<usize> {
        let chosen = |index: &usize| random(key(seed, CHECK, 0), *index as u64).is_multiple_of(CHECKED);
        let good = || (0..samples.len()).filter(|&index| samples[index].outputs.is_ok());
        let chosen: Vec<usize> = good().filter(chosen).collect();
        if chosen.is_empty() { good().take(1).collect() } else { chosen }
    }

    /// Solves some samples again the careful way.
    fn check(&self, samples: &[Sample], seed: u64, solves: &mut usize) -> Checked {
        let chosen = self.checked(samples, seed);
        let temperature = |output: &Output| {
            output.searched().is_none() && output.dimension == Some(crate::units::Dimension::Temperature)
        };
        let difference = |&index: &usize| {
            let sample = &samples[index];
            let case = self.apply(&sample.drawn).ok()?;
            let careful = march(&case).ok()?;
            let outputs = sample.outputs.as_ref().ok()?;
            let pairs = self.outputs.iter().zip(outputs).filter(|(output, _)| temperature(output));
            Some(pairs.map(|(output, value)| (output.of(&careful) - value).abs()).fold(0.0, f64::max))
        };
        let mut differences: Vec<f64> = each(&chosen, difference).into_iter().flatten().collect();
        *solves += 2 * chosen.len();
        differences.sort_by(f64::total_cmp);
        let largest = differences.last().copied().unwrap_or(f64::NAN);
        Checked { samples: differences.len(), largest, median: percentile(&differences, 0.5) }
    }
}
