//! Many cases for their outputs: maps, spreads and sweeps come through here.
//!
//! Cases of equal structure march side by side (see `engine`), the others alone. What a case answers does not depend on its
//! neighbours, on the number of threads, or on the processor.

use std::borrow::Borrow;

use crate::case::Case;
use crate::case::check::checked_radii;
use crate::case::error::Error;
use crate::engine::{Path, Structure};
use crate::line::{self, Outcome, Prepared, Runner};
use crate::march::by_rate;
use crate::march::output::Output;
use crate::march::outputs::{Numbers, Wanted};
use crate::march::{self, ONCE};
use crate::maths::order::sort_by_number;
use crate::maths::parallel::each_chunk;

/// Cases that one thread takes at a time.
const CHUNK: usize = 512;
/// Structures that wait for more cases at a time; each holds some hundred kilobytes.
const MOST_RUNNERS: usize = 24;

/// What a case of a batch answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The value of each output, SI (temperatures degC, shares percent).
    pub values: Vec<f64>,
    /// How it was computed.
    pub path: Path,
}

/// How many cases were computed in each way, most frequent first.
///
/// ```
/// use quenchway::engine::Path;
/// let counted = quenchway::march::batch::counted([Path::Single, Path::Avx2, Path::Avx2]);
/// assert_eq!(counted, [(Path::Avx2, 2), (Path::Single, 1)]);
/// ```
pub fn counted(paths: impl IntoIterator<Item = Path>) -> Vec<(Path, usize)> {
    let mut counts: Vec<(Path, usize)> = Vec::new();
    for path in paths {
        match counts.iter_mut().find(|(known, _)| *known == path) {
            Some((_, count)) => *count += 1,
            None => counts.push((path, 1)),
        }
    }
    sort_by_number(&mut counts, |(_, count)| -(*count as f64));
    counts
}

/// How finely the cases of a batch are solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Care {
    /// As `march_by_rule` solves them.
    Rule,
    /// As `march_once` does.
    Once,
}

/// How a batch is computed.
#[derive(Clone, Copy, Debug)]
pub struct Batch {
    /// How finely.
    pub care: Care,
    /// The path of the cases that march side by side; `Single` takes every case alone.
    pub path: Path,
    /// Equal steps of this size without error control, s, for comparisons; none by the rule.
    pub fixed_step: Option<f64>,
}

impl Default for Batch {
    fn default() -> Batch {
        Batch { care: Care::Rule, path: Path::best(), fixed_step: None }
    }
}

/// The outputs of every case, in order, at each case's tolerance, on all threads of the present rayon pool.
///
/// An error belongs to its case alone and is that of `march_by_rule` (or `march_once`). Outputs must have been found in a case with the same
/// stations and sections.
///
/// ```
/// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
/// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
/// # temperature = \"20 degC\"\nfilm = \"1500 W/(m2 K)\"\n[[station]]\nname = \"gauge\"\nafter = \"trough\"";
/// use quenchway::march::batch;
/// use quenchway::march::output::Output;
/// let case = quenchway::file::read(text).unwrap();
/// let core = Output::find(&case, "gauge.core").unwrap();
/// let cases: Vec<_> = (1..20).map(|i| quenchway::study::speed::with_speed(&case, 0.2 * f64::from(i))).collect();
/// let answers = batch::answers(&cases, &[core.clone()], batch::Batch::default());
/// let alone = core.of(&quenchway::march::march_by_rule(&cases[7]).unwrap());
/// assert_eq!(answers[7].as_ref().unwrap().values[0], alone);
/// ```
///
/// # Errors
///
/// Those of [`march`](crate::march::march()), each at its case.
pub fn answers<C: Borrow<Case> + Sync>(cases: &[C], outputs: &[Output], batch: Batch) -> Vec<Result<Answer, Error>> {
    each_chunk(cases, CHUNK, |chunk| on_one_thread(chunk, outputs, batch))
}

/// As `answers`, of cases that are made as they are needed; some thousand are held at a time.
///
/// # Errors
///
/// Those of [`march`](crate::march::march()), each at its case.
pub fn stream<C: Borrow<Case> + Sync, I: Iterator<Item = C>>(
    cases: I,
    outputs: &[Output],
    batch: Batch,
) -> impl Iterator<Item = Result<Answer, Error>> {
    let mut cases = cases.fuse();
    let held = CHUNK * rayon::current_num_threads().max(4);
    std::iter::from_fn(move || {
        let block: Vec<C> = cases.by_ref().take(held).collect();
        (!block.is_empty()).then(|| answers(&block, outputs, batch))
    })
    .flatten()
}

/// As `answers`, on the calling thread.
///
/// # Errors
///
/// Those of [`march`](crate::march::march()), each at its case.
pub fn on_one_thread<C: Borrow<Case>>(cases: &[C], outputs: &[Output], batch: Batch) -> Vec<Result<Answer, Error>> {
    let cases: Vec<&Case> = cases.iter().map(Borrow::borrow).collect();
    of_cases(&cases, outputs, batch)
}

fn of_cases(cases: &[&Case], outputs: &[Output], batch: Batch) -> Vec<Result<Answer, Error>> {
    if cases.iter().any(|case| by_rate::moves(case)) {
        return of_moving(cases, outputs, batch);
    }
    as_they_are(cases, outputs, batch)
}

/// Cases whose plastics set elsewhere than their curves say: the loop over the rate is closed side by side, too.
fn of_moving(cases: &[&Case], outputs: &[Output], batch: Batch) -> Vec<Result<Answer, Error>> {
    let mut loops: Vec<(by_rate::Loop, Option<Error>)> =
        cases.iter().map(|case| (by_rate::Loop::new(case), None)).collect();
    let open = |(closing, error): &(by_rate::Loop, Option<Error>)| !closing.closed && error.is_none();
    // Cases whose layers follow their rates alike are asked together.
    while let Some(first) = loops.iter().position(open) {
        let (layers, rates) = by_rate::rates_of(cases[first]);
        let names = |outputs: &[Output]| outputs.iter().map(|output| output.name.clone()).collect::<Vec<_>>();
        let alike = |index: &usize| {
            let (own, own_rates) = by_rate::rates_of(cases[*index]);
            own == layers && names(&own_rates) == names(&rates)
        };
        let asked: Vec<usize> = (0..cases.len()).filter(|&index| open(&loops[index])).filter(alike).collect();
        let moved: Vec<Case> = asked.iter().map(|&index| loops[index].0.case(cases[index])).collect();
        let moved: Vec<&Case> = moved.iter().collect();
        let by_rule = Batch { care: Care::Rule, fixed_step: None, ..batch };
        for (index, answer) in asked.into_iter().zip(as_they_are(&moved, &rates, by_rule)) {
            match answer {
                Ok(answer) => {
                    let known = answer.values.iter().map(|rate| Some(*rate).filter(|rate| rate.is_finite()));
                    loops[index].0.take(cases[index], layers.iter().copied().zip(known));
                }
                Err(error) => loops[index].1 = Some(error),
            }
        }
    }
    let moved: Vec<Case> = loops.iter().zip(cases).map(|((closing, _), case)| closing.case(case)).collect();
    let moved: Vec<&Case> = moved.iter().collect();
    let answers = as_they_are(&moved, outputs, batch).into_iter().zip(loops);
    answers.map(|(answer, (_, error))| error.map_or(answer, Err)).collect()
}

/// Cases whose plastics set as their curves say.
fn as_they_are(cases: &[&Case], outputs: &[Output], batch: Batch) -> Vec<Result<Answer, Error>> {
    let mut answers: Vec<Option<Result<Answer, Error>>> = vec![None; cases.len()];
    let settings = |case: &Case| {
        let of_care = match batch.care {
            Care::Rule => line::Settings::rule(case.tolerance),
            Care::Once => line::Settings::tightened(case.tolerance, ONCE),
        };
        line::Settings { fixed_step: batch.fixed_step, ..of_care }
    };
    let wanted = Wanted::by(outputs).filter(|_| batch.path != Path::Single);
    if let Some(wanted) = wanted {
        let mut runners: Vec<Runner<Numbers>> = Vec::new();
        let mut done = Vec::new();
        let hot_side = outputs.iter().any(Output::may_be_of_hot_side);
        let beside = |case: &Case| !(hot_side && case.is_uneven());
        for (index, case) in cases.iter().enumerate().filter(|(_, case)| beside(case)) {
            let prepared =
                checked_radii(case).and_then(|radii| Prepared::new(case, radii, settings(case), wanted.films));
            let prepared = match prepared {
                Ok(prepared) => prepared,
                Err(error) => {
                    answers[index] = Some(Err(error));
                    continue;
                }
            };
            if !prepared.has_room_beside() {
                continue;
            }
            let found = runners.iter().position(|runner| runner.structure().is_of(&prepared.slice));
            let place = found.unwrap_or_else(|| {
                if runners.len() == MOST_RUNNERS {
                    runners.iter_mut().for_each(|runner| runner.drain(&mut done));
                    runners.clear();
                }
                let structure = Structure::of(&prepared.slice);
                runners.push(Runner::new(batch.path, structure, || Numbers::new(&wanted)));
                runners.len() - 1
            });
            runners[place].feed(index, prepared, &mut done);
        }
        runners.iter_mut().for_each(|runner| runner.drain(&mut done));
        for Outcome { index, answer, path } in done {
            answers[index] = Some(answer.map(|values| Answer { values, path }));
        }
    }
    let alone = |case: &Case| -> Result<Answer, Error> {
        let (solution, _) = march::march_with(case, &settings(case))?;
        Ok(Answer { values: outputs.iter().map(|output| output.of(&solution)).collect(), path: Path::Single })
    };
    answers.into_iter().zip(cases).map(|(answer, case)| answer.unwrap_or_else(|| alone(case))).collect()
}
