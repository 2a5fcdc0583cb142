//! What doubtful inputs make of the durations that stay within limits.
//!
//! Of the limit that decides, each input adds or takes away something; together that is their root sum of squares. The inputs are
//! moved together to the place where they add that much, each by its share of it: x = end * share for differences, end^share for
//! factors, share = (what it adds)/(root sum of squares). The durations are then scanned once more, on either side, by factors of two
//! and to the tolerance of a search.

use super::intervals::{Count, Edge, Scanned};
use super::ramp::{OfCourse, Ramping, ramped};
use super::stop::Stops;
use super::{MoveError, Outcome, SEARCH, outcome, steady, tail};
use crate::case::programme::Output;
use crate::case::{CaseFile, Varied};
use crate::maths::parallel::each;
use crate::study::band::usual::Input;
use crate::study::drive::answer::swayed;
use crate::study::drive::{Limited, doubtful};

/// Factor between neighbouring samples.
const FACTOR: f64 = 2.0;
/// The shortest duration above 0 that is looked at, s.
const SHORTEST: f64 = 1.0;
/// Width to which an end is enclosed, relative to its place; no closer than `LEAST`, s.
const NEAR: f64 = 0.01;
/// See `NEAR`.
const LEAST: f64 = 0.05;

/// Changes below the last digits that a report shows, K and m, are none.
const SHOWN_K: f64 = 0.1;
/// See `SHOWN_K`.
const SHOWN_M: f64 = 1e-6;

/// What doubtful inputs make of an answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// The station of the limit that decides.
    pub station: String,
    /// What is limited there.
    pub limit: Limited,
    /// Key path of the input that moves it most.
    pub largest: String,
    /// Whether the inputs move it by as much as a report shows.
    pub moves: bool,
    /// Whether an output lags by a time that has no band.
    pub lag_without_band: bool,
    /// With the inputs moved together toward the limit.
    pub worse: Within,
    /// With the inputs moved together away from it.
    pub better: Within,
}

/// What is within limits, to the tolerance of a search.
#[derive(Clone, Debug, PartialEq)]
pub struct Within {
    /// Whether the line itself is, at a steady speed; nothing else was looked at where it is not.
    pub line: bool,
    /// From and to, s, in rising order; an end that is none goes as far as was looked.
    pub intervals: Vec<[Option<f64>; 2]>,
}

impl Within {
    /// Whether all that was looked at is within limits.
    pub fn all(&self) -> bool {
        self.intervals == [[None, None]]
    }
}

impl Stops {
    /// What the doubtful inputs of the case make of the durations; none where no limit of a temperature or a diameter decides.
    ///
    /// # Errors
    ///
    /// The case itself has no answer. An end without one is taken as out of limits.
    pub fn doubt(&self, case: &CaseFile, told: &(dyn Fn(usize) + Sync)) -> Result<Option<Doubt>, MoveError> {
        let Some(at) = place(&self.durations) else { return Ok(None) };
        let tail = tail(case, self.ramps.back);
        let looked_at = [0.0, self.longest];
        let line = |case: &CaseFile| vec![steady(case, self.ramps.speed), steady(case, self.ramps.back)];
        let there = |case: &CaseFile, lasts: f64| self.ramps.slowed(case, self.to, lasts, tail);
        doubt(case, at, looked_at, (&line, &there), &Count::new(told))
    }
}

impl Ramping {
    /// What the doubtful inputs of the case make of the ramps of a course; none where no limit of a temperature or a diameter
    /// decides.
    ///
    /// # Errors
    ///
    /// As of [`Stops::doubt`].
    pub fn doubt(
        &self,
        case: &CaseFile,
        of: &OfCourse,
        told: &(dyn Fn(usize) + Sync),
    ) -> Result<Option<Doubt>, MoveError> {
        let Some(at) = place(&of.times) else { return Ok(None) };
        let ends = [self.from, self.to];
        let line = |case: &CaseFile| vec![steady(case, self.to)];
        let there = |case: &CaseFile, time: f64| ramped(case, ends, of.course, time);
        doubt(case, at, of.looked_at, (&line, &there), &Count::new(told))
    }
}

/// Where the answer hangs: just outside of the first end; without an end where the product is nearest to its limits.
fn place(scanned: &Scanned) -> Option<f64> {
    let mut ends = scanned.intervals.iter().flat_map(|interval| [&interval.from, &interval.to]).flatten();
    if let Some(Edge { beyond, .. }) = ends.next() {
        return Some(*beyond);
    }
    if scanned.intervals.is_empty() {
        return scanned.least().map(|index| scanned.points[index].at);
    }
    let excess = |outcome: &Outcome| outcome.deciding().map_or(f64::NEG_INFINITY, super::Reach::excess);
    let nearest = scanned.points.iter().max_by(|a, b| excess(&a.outcome).total_cmp(&excess(&b.outcome)))?;
    Some(nearest.at)
}

/// A case's steady lines, and its programme of a duration.
type Lines<'a> = (&'a (dyn Fn(&CaseFile) -> Vec<CaseFile> + Sync), &'a (dyn Fn(&CaseFile, f64) -> CaseFile + Sync));

fn doubt(
    case: &CaseFile,
    at: f64,
    looked_at: [f64; 2],
    (line, there): Lines<'_>,
    count: &Count<'_>,
) -> Result<Option<Doubt>, MoveError> {
    let Some(deciding) = swayed(&there(case, at))? else { return Ok(None) };
    count.one();
    let inputs = doubtful(case);
    let rough = case.clone().to(case.tolerance.max(SEARCH));
    let toward = if deciding.limit.above { 1.0 } else { -1.0 };
    let moves = deciding.high - deciding.low > if deciding.limit.is_diameter() { SHOWN_M } else { SHOWN_K };
    let within = |sign: f64| -> Within {
        let moved = moved(&rough, &inputs, &deciding.changes, sign * toward);
        let is_within = |case: &CaseFile| {
            let within = outcome(case).is_ok_and(|outcome| outcome.within());
            count.one();
            within
        };
        let line = line(&moved).iter().all(is_within);
        let scan = || scan(looked_at, sign < 0.0, &|lasts| is_within(&there(&moved, lasts)));
        let intervals = if line { scan() } else { Vec::new() };
        Within { line, intervals }
    };
    // Where nothing moves, both are the answer itself: nobody asks for them.
    let nothing = Within { line: true, intervals: Vec::new() };
    let [worse, better] = if moves { [within(1.0), within(-1.0)] } else { [nothing.clone(), nothing] };
    let lags = |index: usize| {
        let layer = &case.layers[index];
        let path = format!("layer.{}.output", crate::units::words::key(&layer.name));
        matches!(layer.feed.output, Output::Lag(_)) && inputs.iter().all(|input| input.band.input != path)
    };
    Ok(Some(Doubt {
        station: deciding.station,
        limit: deciding.limit,
        largest: deciding.largest,
        moves,
        lag_without_band: (0..case.layers.len()).any(lags),
        worse,
        better,
    }))
}

/// The case with its inputs moved together, each by its share of the root sum of squares of what they add, times `sign`.
fn moved(case: &CaseFile, inputs: &[Input], changes: &[[Option<f64>; 2]], sign: f64) -> CaseFile {
    // The end of each input that adds, and what it adds.
    let adds = |pair: &[Option<f64>; 2]| {
        let of = pair.map(|change| change.map_or(0.0, |change| (sign * change).max(0.0)));
        if of[1] > of[0] { (1, of[1]) } else { (0, of[0]) }
    };
    let all: Vec<(usize, f64)> = changes.iter().map(adds).collect();
    let together = all.iter().map(|(_, adds)| adds * adds).sum::<f64>().sqrt();
    let mut moved = case.clone();
    for (input, (end, adds)) in inputs.iter().zip(all).filter(|(_, (_, adds))| *adds > 0.0) {
        let share = adds / together;
        let end = [input.band.low_end, input.band.high_end][end];
        let there = match input.band.varied {
            Varied::Kelvin | Varied::Lean | Varied::Mode => share * end,
            Varied::Factor => libm::pow(end, share),
            // A resistance from none.
            Varied::Conductance => end / share,
        };
        moved = input.at(&moved, there);
    }
    moved
}

/// Samples by factors of two, and every end between neighbours enclosed from both sides: the one out of limits is told where
/// `outside`, else the one within.
fn scan([low, high]: [f64; 2], outside: bool, is_within: &(dyn Fn(f64) -> bool + Sync)) -> Vec<[Option<f64>; 2]> {
    let first = if low > 0.0 { low } else { SHORTEST.min(high) };
    let rising = std::iter::successors(Some(first), |at| Some(FACTOR * at)).take_while(|at| *at < high);
    let mut places: Vec<f64> = (low < first).then_some(low).into_iter().chain(rising).chain([high]).collect();
    places.dedup();
    let samples: Vec<bool> = each(&places, |&at| is_within(at));
    let end = |index: usize| {
        let [mut a, mut b] = [places[index - 1], places[index]];
        while b - a > (NEAR * b).max(LEAST) {
            let middle = if a > 0.0 { (a * b).sqrt() } else { 0.5 * b };
            if is_within(middle) == samples[index - 1] { a = middle } else { b = middle }
        }
        if samples[index - 1] == outside { b } else { a }
    };
    let changes: Vec<usize> = (1..places.len()).filter(|&index| samples[index - 1] != samples[index]).collect();
    let ends: Vec<f64> = each(&changes, |&index| end(index));
    let mut intervals = Vec::new();
    let mut open = samples.first().copied().unwrap_or(false).then_some(None);
    for end in ends {
        match open.take() {
            Some(from) => intervals.push([from, Some(end)]),
            None => open = Some(Some(end)),
        }
    }
    intervals.extend(open.map(|from| [from, None]));
    intervals
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_scan_finds_every_end() {
        let is_within = |at: f64| (3.3..10.0).contains(&at) || at > 100.0;
        for outside in [false, true] {
            let found = scan([0.0, 600.0], outside, &is_within);
            let [[Some(a), Some(b)], [Some(c), None]] = found[..] else { panic!("{found:?}") };
            for (end, of) in [(a, 3.3), (b, 10.0), (c, 100.0)] {
                assert!((end - of).abs() <= (NEAR * of).max(LEAST), "{end} {of}");
                assert_eq!(is_within(end), !outside, "{end}");
            }
        }
        assert_eq!(scan([0.0, 600.0], true, &|_| true), [[None, None]]);
        assert_eq!(scan([5.0, 5.0], true, &|_| false), Vec::<[Option<f64>; 2]>::new());
    }

    /// One input alone is moved to its end, two by their shares of the root sum of squares.
    #[test]
    fn inputs_move_together_by_their_shares() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../cases/drive/house-wire-stop.toml");
        let case = crate::file::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        let inputs = doubtful(&case);
        let place = |name: &str| inputs.iter().position(|input| input.band.input.contains(name)).unwrap();
        let [water, film] = [place("section.trough.temperature"), place("section.trough.film")];
        assert_eq!((inputs[water].band.varied, inputs[film].band.varied), (Varied::Kelvin, Varied::Factor));
        let mut changes = vec![[Some(0.0); 2]; inputs.len()];
        changes[water] = [Some(-3.0), Some(2.0)];
        let trough = |case: &CaseFile| {
            let crate::film::Film::Given(film) = &case.sections[1].film else { panic!("a law") };
            (case.sections[1].temperature.0, film * case.sections[1].film_factor)
        };
        let (supply, base) = trough(&case);
        let alone = |sign: f64| trough(&moved(&case, &inputs, &changes, sign));
        assert_eq!((alone(1.0), alone(-1.0)), ((supply + 1.0, base), (supply - 1.0, base)));
        // A weaker film adds 4, warmer water 3: shares 0.8 and 0.6.
        (changes[water], changes[film]) = ([None, Some(3.0)], [Some(4.0), Some(-2.0)]);
        let (temperature, both) = trough(&moved(&case, &inputs, &changes, 1.0));
        assert!((temperature - supply - 0.6).abs() < 1e-12, "{temperature}");
        assert!((both / (base * (1.0f64 / 1.3).powf(0.8)) - 1.0).abs() < 1e-12, "{both}");
    }
}
