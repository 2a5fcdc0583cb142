//! The two verdicts on a limit at a station: metres of product beyond it on arrival, and seconds for which the station sees
//! product beyond it.

use super::pieces::{looks, spans_beyond};
use super::{Driven, Measure, Piece};
use crate::line::clock::Side;
use crate::maths::order::sort_by_number;

/// A span of product beyond a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// From which metre, m.
    pub from: f64,
    /// To which.
    pub to: f64,
    /// The farthest value, degC or m.
    pub farthest: f64,
    /// Its metre, m.
    pub metre: f64,
    /// When that comes to the station, s.
    pub time: f64,
}

/// What is beyond a limit at a station.
#[derive(Clone, Debug, PartialEq)]
pub struct Beyond {
    /// Spans of product in order.
    pub spans: Vec<Span>,
    /// Their length together, m.
    pub length: f64,
    /// The same where the limit is farther by the stated error, and nearer by it.
    pub least: f64,
    /// See `least`.
    pub most: f64,
    /// Spans of time for which the station sees such product, s, in order.
    pub times: Vec<[f64; 2]>,
    /// Their sum, s.
    pub seconds: f64,
}

impl Driven {
    /// What is above a limit at a station, or below it.
    pub fn beyond(&self, station: usize, measure: Measure, limit: f64, above: bool) -> Beyond {
        let error = if measure == Measure::Diameter { 0.0 } else { self.error };
        let farther = if above { limit + error } else { limit - error };
        let nearer = if above { limit - error } else { limit + error };
        let length = |spans: &[Span]| spans.iter().map(|span| span.to - span.from).sum::<f64>();
        let spans = self.spans(station, measure, limit, above);
        let least = length(&self.spans(station, measure, farther, above));
        let most = length(&self.spans(station, measure, nearer, above));
        let times = self.times(station, measure, limit, above, &spans);
        let seconds = times.iter().map(|[from, to]| to - from).sum();
        Beyond { length: length(&spans), spans, least, most, times, seconds }
    }

    fn spans(&self, station: usize, measure: Measure, limit: f64, above: bool) -> Vec<Span> {
        let place = (station, measure);
        let mut spans: Vec<Span> = Vec::new();
        for piece in &self.pieces {
            for part in spans_beyond(piece, &self.metres, place, limit, above) {
                let [farthest, u] = self.farthest(piece, place, part, above);
                let [from, to, metre] = [part[0], part[1], u].map(|u| piece.length(u));
                let time = self.clock.arrives(metre + self.stations[station], Side::At);
                let span = Span { from, to, farthest, metre, time };
                match spans.last_mut() {
                    // Neighbouring pieces share their break.
                    Some(before) if before.to == from => {
                        before.to = to;
                        if (farthest > before.farthest) == above {
                            (before.farthest, before.metre, before.time) = (farthest, metre, time);
                        }
                    }
                    _ => spans.push(span),
                }
            }
        }
        spans
    }

    /// The farthest value of a part of a piece and where it is, in u.
    fn farthest(&self, piece: &Piece, place: (usize, Measure), [low, high]: [f64; 2], above: bool) -> [f64; 2] {
        let column = piece.column(&self.metres, place, above);
        let value = |u: f64| piece.value(column.as_deref(), u);
        let better = |a: f64, b: f64| if above { a > b } else { a < b };
        let inside = looks(piece).into_iter().filter(|&u| u > low && u < high);
        let all: Vec<f64> = std::iter::once(low).chain(inside).chain([high]).collect();
        let values: Vec<f64> = all.iter().map(|&u| value(u)).collect();
        let best = (0..all.len()).fold(0, |best, i| if better(values[i], values[best]) { i } else { best });
        let (mut a, mut b) = (all[best.saturating_sub(1)], all[(best + 1).min(all.len() - 1)]);
        for _ in 0..40 {
            let [c, d] = [a + (b - a) / 3.0, b - (b - a) / 3.0];
            if better(value(c), value(d)) { b = d } else { a = c }
        }
        let at = 0.5 * (a + b);
        let refined = value(at);
        if better(refined, values[best]) { [refined, at] } else { [values[best], all[best]] }
    }

    /// The largest and the smallest value of a measure at a station over all metres, with its metre, m.
    pub fn extremes(&self, station: usize, measure: Measure) -> Option<[[f64; 2]; 2]> {
        let place = (station, measure);
        let mut found: Option<[[f64; 2]; 2]> = None;
        for piece in &self.pieces {
            let whole = piece.part();
            let [high, low] = [true, false].map(|above| {
                let [value, u] = self.farthest(piece, place, whole, above);
                [value, piece.length(u)]
            });
            if high[0].is_nan() {
                continue;
            }
            found = Some(found.map_or([high, low], |[highest, lowest]| {
                [if high[0] > highest[0] { high } else { highest }, if low[0] < lowest[0] { low } else { lowest }]
            }));
        }
        found
    }

    /// Spans of time for which a station sees product beyond a limit: while it moves by, and what stands there.
    fn times(&self, station: usize, measure: Measure, limit: f64, above: bool, spans: &[Span]) -> Vec<[f64; 2]> {
        let mut times: Vec<[f64; 2]> = Vec::new();
        let stands = self.parked.iter().filter(|parked| parked.station == station);
        for span in spans {
            // Up to a standstill, and on behind it: what stands is looked at by itself.
            let mut from = self.clock.arrives(span.from + self.stations[station], Side::Behind);
            let to = self.clock.arrives(span.to + self.stations[station], Side::Before);
            for stand in stands.clone().filter(|parked| span.from < parked.length && parked.length < span.to) {
                times.push([from, stand.from]);
                from = stand.to;
            }
            times.push([from, to]);
        }
        times.extend(stands.flat_map(|parked| parked.beyond(measure, limit, above)));
        times.retain(|[from, to]| to > from);
        sort_by_number(&mut times, |span| span[0]);
        let mut merged: Vec<[f64; 2]> = Vec::new();
        for [from, to] in times {
            match merged.last_mut() {
                Some(before) if from <= before[1] => before[1] = before[1].max(to),
                _ => merged.push([from, to]),
            }
        }
        merged
    }
}
