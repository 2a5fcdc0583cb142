//! The trough that every sample needs, and the one that meets all limits with a given chance.

use std::fmt;

use serde::Serialize;

use super::reach::{Reach, Reached};
use super::solving::at_a_time;
use super::summary::{percentile, percentile_ends};
use super::{Sample, Study};
use crate::case::CaseFile;
use crate::march::batch;
use crate::march::march_by_rule;
use crate::march::output::Output;
use crate::maths::parallel::{each, each_chunk};
use crate::study::length::LengthError;
use crate::study::length::search::{Growing, longest};
use crate::study::length::trough::{self, bounds, scaled};
use crate::study::search::ceilings::{self, of_product};

/// The chances at which a length is told.
pub const CHANCES: [f64; 5] = [0.5, 0.75, 0.9, 0.95, 0.99];

/// The needed trough over the samples.
#[derive(Clone, Debug, Serialize)]
pub struct Lengths {
    /// Names of the sections that grow.
    pub sections: Vec<String>,
    /// Length of the trough that the case has, m.
    #[serde(rename = "given_m")]
    pub given: f64,
    /// Chances of meeting all limits, each with the length that has it.
    pub at: Vec<LengthAt>,
    /// Share of the samples that no length helps.
    pub never: f64,
    /// Share of the samples whose search found no answer.
    pub failed: f64,
    /// How many samples were searched on a grid of all lengths as well.
    pub checked: usize,
    /// Largest difference of those, relative; not a number where none was checked.
    pub checked_largest: f64,
}

/// A length and its chance.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct LengthAt {
    /// Chance that all limits are met.
    pub chance: f64,
    /// The length, m; infinite where no length has the chance.
    #[serde(rename = "length_m")]
    pub length: f64,
    /// Its 95 % interval by the number of samples, m.
    #[serde(rename = "interval_m")]
    pub interval: [f64; 2],
}

/// Why no lengths were sought.
#[derive(Clone, Debug)]
pub enum NoLengths {
    /// They were not asked for.
    NotAsked,
    /// The case has no limit, or does not say which section may grow.
    Length(LengthError),
}

impl fmt::Display for NoLengths {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoLengths::NotAsked => write!(out, "not asked for"),
            NoLengths::Length(error) => error.fmt(out),
        }
    }
}

/// Finds the trough that every sample needs.
pub(super) fn lengths(
    study: &Study<'_>,
    seed: u64,
    samples: &mut [Sample],
    solves: &mut usize,
) -> Result<Lengths, NoLengths> {
    let sections = trough::sections(study.case).map_err(NoLengths::Length)?;
    if of_product(study.case).is_empty() {
        return Err(NoLengths::Length(LengthError::NoLimits));
    }
    let some = |samples: &[Sample]| needed(study, &sections, samples);
    let found = each_chunk(samples, at_a_time(samples.len()), some);
    for (sample, (length, asked)) in samples.iter_mut().zip(found) {
        sample.length = length;
        *solves += asked;
    }
    let mut sorted: Vec<f64> = samples.iter().map(|sample| sample.length).filter(|length| !length.is_nan()).collect();
    sorted.sort_by(f64::total_cmp);
    let answered = samples.iter().filter(|sample| sample.outputs.is_ok()).count();
    let share = |count: usize| count as f64 / answered.max(1) as f64;
    let at = |chance: f64| LengthAt {
        chance,
        length: percentile(&sorted, chance),
        interval: percentile_ends(&sorted, chance),
    };

    let checked = study.checked(samples, seed);
    let difference = |&index: &usize| {
        let case = study.apply(&samples[index].drawn).ok()?;
        let (quick, scanned) = (samples[index].length, scanned(&case, &sections)?);
        Some(if quick == scanned { 0.0 } else { (quick / scanned - 1.0).abs() })
    };
    let differences: Vec<f64> = each(&checked, difference).into_iter().flatten().collect();
    Ok(Lengths {
        given: sections.iter().map(|&index| study.case.sections[index].length).sum(),
        sections: sections.iter().map(|&index| study.case.sections[index].name.clone()).collect(),
        at: CHANCES.map(at).to_vec(),
        never: share(sorted.iter().filter(|length| length.is_infinite()).count()),
        failed: share(answered - sorted.len().min(answered)),
        checked: differences.len(),
        checked_largest: differences.into_iter().fold(f64::NAN, f64::max),
    })
}

/// The trough that each of some samples needs, m, and how many cases were solved: side by side on the calling thread.
fn needed(study: &Study<'_>, sections: &[usize], samples: &[Sample]) -> Vec<(f64, usize)> {
    let limited: Vec<usize> = study.limited().into_iter().map(|(_, output)| output).collect();
    let outputs: Vec<Output> = limited.iter().map(|&output| study.outputs[output].clone()).collect();
    let excess = |case: &CaseFile, values: &mut dyn Iterator<Item = f64>| {
        let judged = values.zip(&outputs).map(|(value, output)| output.against_limit(case, value));
        judged.zip(of_product(case)).map(|(value, limit)| value - limit.max).fold(f64::NEG_INFINITY, f64::max)
    };
    // A sample as it is has been solved.
    let begin = |sample: &Sample| {
        let outputs = sample.outputs.as_ref().ok()?;
        let case = study.apply(&sample.drawn).ok()?;
        let given: f64 = sections.iter().map(|&index| case.sections[index].length).sum();
        let mut reach = Reach::new(given, bounds(&case, sections));
        reach.tell(excess(&case, &mut limited.iter().map(|&output| outputs[output])));
        Some((case, reach))
    };
    let mut searches: Vec<Option<(CaseFile, Reach)>> = samples.iter().map(begin).collect();
    let mut solves = vec![0; samples.len()];
    loop {
        let asks = |(place, search): (usize, &Option<(CaseFile, Reach)>)| {
            let (case, reach) = search.as_ref()?;
            Some((place, scaled(case, sections, reach.asks()?)))
        };
        let (places, cases): (Vec<usize>, Vec<CaseFile>) = searches.iter().enumerate().filter_map(asks).unzip();
        if places.is_empty() {
            break;
        }
        let answers = batch::on_one_thread(&cases, &outputs, batch::Batch::default());
        for ((place, case), answer) in places.into_iter().zip(&cases).zip(answers) {
            solves[place] += 1;
            let told = answer.ok().map(|answer| excess(case, &mut answer.values.into_iter()));
            match (&mut searches[place], told.filter(|excess| excess.is_finite())) {
                (Some((_, reach)), Some(excess)) => reach.tell(excess),
                // Without an answer on the way there is none at the end.
                (search, _) => *search = None,
            }
        }
    }
    let length = |search: &Option<(CaseFile, Reach)>| match search.as_ref().and_then(|(_, reach)| reach.found()) {
        Some(Reached::Length(length)) => length,
        Some(Reached::Never) => f64::INFINITY,
        None => f64::NAN,
    };
    searches.iter().map(length).zip(solves).collect()
}

/// The search for the trough that a case needs, and how many cases were solved; `excess` is that of the case as it is.
pub(in crate::study) fn reached(case: &CaseFile, sections: &[usize], excess: f64) -> (Reach, usize) {
    let given: f64 = sections.iter().map(|&index| case.sections[index].length).sum();
    let mut reach = Reach::new(given, bounds(case, sections));
    reach.tell(excess);
    let mut solves = 0;
    while let Some(length) = reach.asks() {
        solves += 1;
        match worst(&scaled(case, sections, length)) {
            Some(excess) if excess.is_finite() => reach.tell(excess),
            _ => break,
        }
    }
    (reach, solves)
}

/// The same by a search of all lengths, infinite where none meets the limits.
fn scanned(case: &CaseFile, sections: &[usize]) -> Option<f64> {
    let limits = of_product(case);
    let mut search = Growing::new(case, sections, &limits);
    search.explore(sections.iter().map(|&index| case.sections[index].length).sum()).ok()?;
    let needs = search.needs(&vec![0.0; limits.len()]).ok()?;
    let shortest = needs.first().map_or(0.0, |need| need.shortest_seen);
    Some(longest(&needs).map_or(f64::INFINITY, |length| length.max(shortest)))
}

/// By how much the worst limit is exceeded.
fn worst(case: &CaseFile) -> Option<f64> {
    ceilings::worst(case, &march_by_rule(case).ok()?)
}
