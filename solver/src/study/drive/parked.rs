//! The metre that stands at a station while the line stands: what the station sees then, at every moment.

use super::asked::Asked;
use super::metre::{Metre, Request, Sight};
use super::points::{chebyshev, graded, interpolated};
use super::{Measure, Programme};
use crate::case::error::Error;
use crate::line::clock::{PARKED, Side};

/// Chebyshev intervals of a piece of the time; every other point checks the rest.
const INTERVALS: usize = 16;
/// Pieces of the standstill at first.
const PIECES: usize = 8;
/// How often a piece is halved at most: the hottest point goes from cell to cell of the mesh, which no polynomial follows.
const HALVINGS: usize = 10;

/// A metre that stood at a station.
#[derive(Clone, Debug, PartialEq)]
pub struct Parked {
    /// Index of the station.
    pub station: usize,
    /// Product length, m.
    pub length: f64,
    /// When it came, s.
    pub from: f64,
    /// When it left, or the programme ended, s.
    pub to: f64,
    /// Ends of the pieces of the time.
    ends: Vec<f64>,
    /// Of each piece what was seen at its Chebyshev points.
    sights: Vec<Vec<Sight>>,
}

impl Parked {
    /// What the station saw at a moment of the standstill.
    pub fn at(&self, time: f64) -> Sight {
        let piece = self.ends[1..].partition_point(|&end| end < time).min(self.sights.len() - 1);
        between(&self.sights[piece], [self.ends[piece], self.ends[piece + 1]], time, 1)
    }

    /// The largest and the smallest value of a measure, and when.
    pub fn extremes(&self, measure: Measure) -> [[f64; 2]; 2] {
        let looks = self.looks().into_iter().map(|time| [self.at(time).of(measure), time]);
        let start = [[f64::NEG_INFINITY, self.from], [f64::INFINITY, self.from]];
        looks.fold(start, |[high, low], look| {
            [if look[0] > high[0] { look } else { high }, if look[0] < low[0] { look } else { low }]
        })
    }

    /// The times for which a measure is above a limit, or below it, s.
    pub fn beyond(&self, measure: Measure, limit: f64, above: bool) -> Vec<[f64; 2]> {
        let beyond = |time: f64| (self.at(time).of(measure) - limit) * if above { 1.0 } else { -1.0 };
        let looks = self.looks();
        let mut spans = Vec::new();
        let mut from = (beyond(self.from) > 0.0).then_some(self.from);
        for pair in looks.windows(2) {
            let [mut a, mut b] = [pair[0], pair[1]];
            if (beyond(a) > 0.0) == (beyond(b) > 0.0) {
                continue;
            }
            let above_at_a = beyond(a) > 0.0;
            for _ in 0..60 {
                let middle = 0.5 * (a + b);
                if (beyond(middle) > 0.0) == above_at_a { a = middle } else { b = middle }
            }
            match from.take() {
                Some(from) => spans.push([from, b]),
                None => from = Some(b),
            }
        }
        spans.extend(from.map(|from| [from, self.to]));
        spans
    }

    /// Moments between which nothing turns twice.
    fn looks(&self) -> Vec<f64> {
        let mut looks: Vec<f64> =
            self.ends.windows(2).flat_map(|ends| chebyshev([ends[0], ends[1]], 4 * INTERVALS)).collect();
        looks.dedup();
        looks
    }
}

/// What was seen at a moment between the ends of a piece, from every `stride` of its sights.
fn between(sights: &[Sight], [from, to]: [f64; 2], time: f64, stride: usize) -> Sight {
    let rows: Vec<&[f64]> = sights.iter().step_by(stride).map(|sight| sight.values.as_slice()).collect();
    Sight { values: interpolated(&rows, (time - from) / (to - from)), on_wheel: Vec::new(), given: 0.0 }
}

/// Metres that stand at stations, on their way to be settled.
pub(super) struct Standing {
    pub(super) all: Vec<Parked>,
    /// Of each: how often it was marched, and its last march by the rule.
    marched: Vec<(usize, Option<Metre>)>,
}

impl Standing {
    /// Every metre that stands at a station.
    pub(super) fn new(programme: &Programme) -> Standing {
        let Programme { case, clock, first, last, end, .. } = *programme;
        let mut all = Vec::new();
        for stand in clock.standstills() {
            for (station, of) in case.stations.iter().enumerate() {
                let distance = case.station_distance(of);
                let length = stand.travelled - distance;
                let is_spoilt = programme.spoilt.iter().any(|([from, to], _)| *from <= length && length <= *to);
                let (from, to) = (stand.from, stand.to.min(end.max(stand.from)));
                // At the die stands what has not left it: as it enters.
                let out = distance > PARKED;
                if out && (first..=last).contains(&length) && !is_spoilt && from.is_finite() && to > from {
                    let ends = graded([from, to], PIECES);
                    all.push(Parked { station, length, from, to, ends, sights: Vec::new() });
                }
            }
        }
        let marched = all.iter().map(|_| (0, None)).collect();
        Standing { all, marched }
    }

    /// What is to be marched of one of them.
    pub(super) fn request(&self, index: usize) -> Request {
        self.all[index].request()
    }

    /// Takes a march by the rule; whether what is asked between its looks is off by more than `close`, K, so that another is wanted.
    pub(super) fn take(&mut self, index: usize, metre: Metre, asked: &[Asked], close: f64) -> Result<bool, Error> {
        let (parked, (times, last)) = (&mut self.all[index], &mut self.marched[index]);
        parked.take(&metre)?;
        (*times, *last) = (*times + 1, Some(metre));
        Ok(*times <= HALVINGS && parked.halve(&asked[parked.station].arrival, close))
    }

    /// What one of them is off by: its march, by a tighter one, K, and what lies between its looks, K.
    pub(super) fn errors(&self, index: usize, tight: &Metre, asked: &[Asked]) -> [f64; 2] {
        let (parked, rule) = (&self.all[index], &self.marched[index].1);
        let pairs = rule.iter().flat_map(|rule| rule.looks.iter().zip(&tight.looks));
        let apart = pairs.filter_map(|(a, b)| Some(a.as_ref()?.distance(b.as_ref()?))).fold(0.0, f64::max);
        let between = parked.differences(&asked[parked.station].arrival).into_iter().fold(0.0, f64::max);
        [apart, between]
    }
}

impl Parked {
    /// The looks at it: the points of every piece.
    fn request(&self) -> Request {
        let looks = self.ends.windows(2).flat_map(|ends| chebyshev([ends[0], ends[1]], INTERVALS).into_iter().skip(1));
        Request { looks: std::iter::once(self.from).chain(looks).collect(), ..Request::new(self.length, Side::At) }
    }

    /// Takes what was seen at the looks; at the first of them as it came.
    fn take(&mut self, metre: &Metre) -> Result<(), Error> {
        let lost = || Error::Unphysical { place: "drive".to_string(), reason: "a parked metre was lost".to_string() };
        let came = metre.seen[self.station].as_ref().map(|seen| seen.sight.clone());
        let mut all = vec![came.ok_or_else(lost)?];
        for look in metre.looks.iter().skip(1) {
            all.push(look.clone().ok_or_else(lost)?);
        }
        let pieces = self.ends.len() - 1;
        if all.len() != pieces * INTERVALS + 1 {
            return Err(lost());
        }
        self.sights = (0..pieces).map(|i| all[i * INTERVALS..=(i + 1) * INTERVALS].to_vec()).collect();
        Ok(())
    }

    /// Of each piece the largest difference of a look from the interpolant of every other one, K.
    fn differences(&self, places: &[usize]) -> Vec<f64> {
        let of_piece = |(sights, ends): (&Vec<Sight>, &[f64])| {
            let ends = [ends[0], ends[1]];
            let new = chebyshev(ends, INTERVALS).into_iter().enumerate().filter(|(j, _)| j % 2 == 1);
            new.fold(0.0f64, |worst, (j, time)| {
                worst.max(between(sights, ends, time, 2).distance_at(&sights[j], places))
            })
        };
        self.sights.iter().zip(self.ends.windows(2)).map(of_piece).collect()
    }

    /// Halves every piece in which a value that is asked for is off at a look by more than `close`, K; whether there is one.
    fn halve(&mut self, places: &[usize], close: f64) -> bool {
        let mut ends = vec![self.from];
        for (difference, piece) in self.differences(places).into_iter().zip(self.ends.windows(2)) {
            if difference > close {
                ends.push(0.5 * (piece[0] + piece[1]));
            }
            ends.push(piece[1]);
        }
        let halved = ends.len() > self.ends.len();
        self.ends = ends;
        halved
    }
}
