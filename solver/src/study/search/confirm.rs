//! What answers on length and speed share: a careful march confirms them, and the uncertainty of the inputs moves them.

use super::ceilings::{Ceiling, What};
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::march::march_by_rule;
use crate::march::output::Output;
use crate::march::solution::Solution;
use crate::study::band::widths;
use crate::units::System;

/// A search is no more exact than this, K: what it finds is confirmed by a careful march.
pub(crate) const SEARCH: f64 = 0.01;
/// A melt shrink by the rule is off by some hundredths of a percent, which are a tenth of a metre: it is searched with a tolerance
/// so many times tighter.
const OF_MELT: f64 = 0.2;
/// Accuracy of the solves whose differences make a band, K.
const BAND: f64 = 0.05;
/// Careful marches before an answer is given up.
const CONFIRMATIONS: usize = 6;
/// Digits by which a printed answer goes farther where it does not meet all ceilings: they are met again farther on.
pub(crate) const FARTHER: usize = 20;
/// Rounds in which an answer and the band at it are made consistent.
const ROUNDS: usize = 8;
/// Relative change of an answer that is none.
const CONSISTENT: f64 = 2e-3;

/// The tolerance of the marches of a search for what these ceilings allow, K.
pub(crate) fn search_tolerance(case: &CaseFile, ceilings: &[Ceiling]) -> f64 {
    let melt = ceilings.iter().any(|ceiling| matches!(ceiling.what, What::MeltShrink(_)));
    if melt { OF_MELT * case.tolerance.max(SEARCH) } else { case.tolerance.max(SEARCH) }
}

/// What is asked beside a length or a speed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// How far the uncertainty of the inputs moves it: some hundred solves more.
    pub range: bool,
    /// The answer as it is printed in these units, rounded to the safe side and marched with care as it is printed.
    pub print: Option<System>,
}

/// How far the uncertainty of the inputs moves a length or a speed.
#[derive(Clone, Debug, PartialEq)]
pub struct Range {
    /// The answer that serves the favourable end: every limited temperature lower by its band. None: no length or speed does.
    pub favourable: Option<f64>,
    /// The answer that serves the unfavourable end as well; none: no length or speed does.
    pub unfavourable: Option<f64>,
    /// Key path of the input that moves the deciding limit most; empty where nothing is uncertain.
    pub largest: String,
}

/// What the uncertainty of the inputs does to one ceiling.
#[derive(Clone, Debug, Default)]
pub(crate) struct HalfWidth {
    /// Down and up, K.
    down_up: [f64; 2],
    /// By how much the ceiling is exceeded without it.
    excess: f64,
    /// Key path of the largest contributor.
    largest: String,
}

impl HalfWidth {
    /// What the uncertainty of the inputs may add.
    pub(crate) fn up(&self) -> f64 {
        self.down_up[1]
    }
}

/// What a careful march said.
pub(crate) enum Confirmation {
    /// All ceilings are met there.
    At(f64, Box<Solution>),
    /// There is no such place.
    Nowhere,
    /// Search and march do not agree.
    GivenUp,
}

/// Finds a place by `find`, which takes by how much each ceiling is lowered, and marches there with care; where a ceiling is
/// then exceeded, the search aims lower by as much and by `reserve`.
pub(crate) fn confirm<E>(
    ceilings: usize,
    reserve: f64,
    mut find: impl FnMut(&[f64]) -> Result<Option<f64>, E>,
    careful: impl Fn(f64) -> Result<(Vec<f64>, Solution), E>,
) -> Result<Confirmation, E> {
    let mut lowered = vec![0.0; ceilings];
    for _ in 0..CONFIRMATIONS {
        let Some(place) = find(&lowered)? else { return Ok(Confirmation::Nowhere) };
        let (excess, solution) = careful(place)?;
        if excess.iter().all(|&excess| excess <= 0.0) {
            return Ok(Confirmation::At(place, Box::new(solution)));
        }
        for (lowered, excess) in lowered.iter_mut().zip(excess).filter(|(_, excess)| *excess > 0.0) {
            *lowered += excess + reserve;
        }
    }
    Ok(Confirmation::GivenUp)
}

/// Half widths of the band of every limit of the product in a case; zero for what the plant allows.
pub(crate) fn half_widths(case: &CaseFile, ceilings: &[Ceiling]) -> Result<Vec<HalfWidth>, Error> {
    let case = case.clone().to(case.tolerance.max(BAND));
    let solution = march_by_rule(&case)?;
    let outputs: Vec<Option<Output>> = ceilings.iter().map(|ceiling| ceiling.output(&case)).collect();
    let mut widths = widths(&case, &outputs.iter().flatten().cloned().collect::<Vec<_>>())?.into_iter();
    let of_ceiling = |(ceiling, output): (&Ceiling, Option<Output>)| {
        let ([down, up], largest) = output.and_then(|_| widths.next()).unwrap_or_default();
        let value = ceiling.value(&case, &solution);
        let down_up = match ceiling.what {
            // As far as the ends of the band that a run prints, to the last bit.
            What::Temperature(..) => [value - (value - down), (value + up) - value],
            _ => [down, up],
        };
        HalfWidth { down_up, excess: ceiling.excess(&case, &solution), largest }
    };
    Ok(ceilings.iter().zip(outputs).map(of_ceiling).collect())
}

/// The answers for ceilings lowered and raised by the half widths of the band, each consistent with the band at itself.
///
/// `answer` is the answer without a band; `elsewhere` a place to begin anew where the half widths at the answer leave none, since
/// a band is narrower at a long trough or a slow line.
pub(crate) fn range<E>(
    answer: f64,
    elsewhere: f64,
    halves: impl Fn(f64) -> Result<Vec<HalfWidth>, E>,
    mut find: impl FnMut(&[f64]) -> Result<Option<f64>, E>,
) -> Result<Range, E> {
    let at_answer = halves(answer)?;
    let decides = at_answer.iter().max_by(|a, b| a.excess.total_cmp(&b.excess));
    let largest = decides.map(|half| half.largest.clone()).unwrap_or_default();
    let mut end = |sign: f64| -> Result<Option<f64>, E> {
        let which = usize::from(sign > 0.0);
        let (mut place, mut half) = (answer, at_answer.clone());
        // What is known to be met and not to be met with the band there.
        let (mut met, mut unmet): (Option<f64>, Option<f64>) = (None, None);
        for _ in 0..ROUNDS {
            let lowered: Vec<f64> = half.iter().map(|half| sign * half.down_up[which]).collect();
            let side = if half.iter().zip(&lowered).all(|(half, lowered)| half.excess + lowered <= 0.0) {
                &mut met
            } else {
                &mut unmet
            };
            *side = Some(place);
            let between = |next: f64| match (met, unmet) {
                (Some(met), Some(unmet)) => (next - met) * (next - unmet) < 0.0,
                _ => true,
            };
            place = match (find(&lowered)?, met, unmet) {
                (Some(next), ..) if (next / place - 1.0).abs() <= CONSISTENT => return Ok(Some(next)),
                (Some(next), ..) if between(next) => next,
                (_, Some(met), Some(unmet)) => (met * unmet).sqrt(),
                _ if place == elsewhere => return Ok(None),
                _ => elsewhere,
            };
            half = halves(place)?;
        }
        Ok(met.or(Some(place)))
    };
    let (favourable, unfavourable) = (end(-1.0)?, end(1.0)?);
    Ok(Range { favourable, unfavourable, largest })
}
