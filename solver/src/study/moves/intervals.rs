//! Where a quantity keeps a programme within limits: a set of intervals, scanned, enclosed, driven again with care.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::{MoveError, Outcome};
use crate::maths::order::sort_by_number;
use crate::maths::parallel::try_each;
use crate::units::{Dimension, Printed, System, Toward, printed};

/// Factor between neighbouring samples.
pub(super) const FACTOR: f64 = std::f64::consts::SQRT_2;
/// Width to which an end is enclosed by the search, relative to its place.
const NEAR: f64 = 0.01;
/// Width to which it is then enclosed with care.
const CLOSE: f64 = 3e-4;
/// Steps, each twice the last, by which the search may be off.
const STEPS: usize = 8;
/// Digits by which a printed end goes farther where it is not within limits.
const FARTHER: usize = 20;

/// An end of an interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// Within limits here, by a careful drive.
    pub within: f64,
    /// Not within limits here, by a careful drive.
    pub beyond: f64,
    /// As it is printed, rounded into the interval, and within limits by a careful drive; none where the interval is too short.
    pub printed: Option<Printed>,
}

/// What is within limits; an end that is none goes as far as was looked.
#[derive(Clone, Debug, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub from: Option<Edge>,
    /// Its upper end.
    pub to: Option<Edge>,
}

/// A sample of the scan.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Its place: a duration, s, or a speed, m/s.
    pub at: f64,
    /// What becomes of the product.
    pub outcome: Outcome,
}

/// What a scan found.
#[derive(Clone, Debug, PartialEq)]
pub struct Scanned {
    /// The samples in rising order.
    pub points: Vec<Point>,
    /// What is within limits, in rising order.
    pub intervals: Vec<Interval>,
}

/// What is asked of a place: the case's programme there, driven by the search and with care.
pub(super) struct Question<'a> {
    /// By the search, or with care.
    pub(super) drive: &'a (dyn Fn(f64, bool) -> Result<Outcome, MoveError> + Sync),
    pub(super) dimension: Dimension,
    pub(super) print: System,
    /// Ends of intervals are enclosed no closer than this.
    pub(super) least: f64,
}

/// Counts drives.
pub struct Count<'a> {
    done: AtomicUsize,
    told: &'a (dyn Fn(usize) + Sync),
}

impl<'a> Count<'a> {
    /// `told` hears the number after each drive.
    pub fn new(told: &'a (dyn Fn(usize) + Sync)) -> Count<'a> {
        Count { done: AtomicUsize::new(0), told }
    }

    pub(super) fn one(&self) {
        (self.told)(self.done.fetch_add(1, Ordering::Relaxed) + 1);
    }

    /// How many drives by now.
    pub fn done(&self) -> usize {
        self.done.load(Ordering::Relaxed)
    }
}

/// Places from `low` to `high` by factors sqrt(2), both among them.
pub(super) fn places(low: f64, high: f64) -> Vec<f64> {
    let count = (libm::log(high / low) / libm::log(FACTOR) - 1e-9).ceil().max(0.0) as usize;
    let mut places: Vec<f64> = (0..count).map(|number| low * libm::pow(FACTOR, number as f64)).collect();
    places.push(high);
    places
}

/// Scans the places, which rise, and encloses every end between neighbours.
pub(super) fn scan(places: &[f64], question: &Question<'_>) -> Result<Scanned, MoveError> {
    let look = |&at: &f64| Ok::<_, MoveError>(Point { at, outcome: (question.drive)(at, false)? });
    let mut points = try_each(places, look)?;
    let hidden: Vec<f64> = hidden(&points);
    points.extend(try_each(&hidden, look)?);
    sort_by_number(&mut points, |point| point.at);
    let changes: Vec<usize> = (1..points.len())
        .filter(|&index| points[index - 1].outcome.within() != points[index].outcome.within())
        .collect();
    let edges = try_each(&changes, |&index| {
        let [a, b] = [&points[index - 1], &points[index]];
        if a.outcome.within() { edge(a.at, b.at, question) } else { edge(b.at, a.at, question) }
    })?;
    let mut intervals = Vec::new();
    let mut open = points.first().is_some_and(|point| point.outcome.within()).then_some(None);
    for edge in edges {
        match open.take() {
            Some(from) => intervals.push(Interval { from, to: Some(edge) }),
            None => open = Some(Some(edge)),
        }
    }
    intervals.extend(open.map(|from| Interval { from, to: None }));
    Ok(Scanned { points, intervals })
}

/// Places between samples at which a limit may be crossed twice: where a parabola through three neighbours turns beyond it.
fn hidden(points: &[Point]) -> Vec<f64> {
    let place = |point: &Point| libm::log1p(point.at);
    let mut found = Vec::new();
    for three in points.windows(3) {
        let [x0, x1, x2] = [place(&three[0]), place(&three[1]), place(&three[2])];
        for limit in 0..three[1].outcome.reaches.len() {
            let excess = |point: &Point| point.outcome.reaches[limit].excess();
            let [y0, y1, y2] = [excess(&three[0]), excess(&three[1]), excess(&three[2])];
            let turns = (y1 > y0.max(y2) && y1 <= 0.0) || (y1 < y0.min(y2) && y1 > 0.0);
            if !turns {
                continue;
            }
            // y = y1 + b d + c d^2 with d from the middle.
            let [s0, s2] = [(y0 - y1) / (x0 - x1), (y2 - y1) / (x2 - x1)];
            let c = (s2 - s0) / (x2 - x0);
            let b = s0 - c * (x0 - x1);
            let top = -0.5 * b / c;
            let value = y1 + 0.5 * b * top;
            if (value > 0.0) != (y1 > 0.0) {
                found.push(libm::expm1(x1 + top));
            }
        }
    }
    found.sort_by(f64::total_cmp);
    found.dedup_by(|b, a| *b - *a <= NEAR * *b);
    found.retain(|at| points.iter().all(|point| (point.at - at).abs() > 1e-3 * NEAR * at.abs()));
    found
}

/// The end between a place within limits and one that is not.
fn edge(mut within: f64, mut beyond: f64, question: &Question<'_>) -> Result<Edge, MoveError> {
    let middle =
        |a: f64, b: f64| if a > 0.0 && b > 0.0 && b.max(a) > 2.0 * b.min(a) { (a * b).sqrt() } else { 0.5 * (a + b) };
    let wide = |a: f64, b: f64, share: f64| (a - b).abs() > (share * a.max(b)).max(question.least);
    let within_at = |at: f64, care: bool| (question.drive)(at, care).map(|outcome| outcome.within());
    let samples = [within, beyond];
    while wide(within, beyond, NEAR) {
        let at = middle(within, beyond);
        if within_at(at, false)? { within = at } else { beyond = at }
    }
    // The search may be off: with care both sides are sought again, outward from here.
    let mut away = within - beyond;
    let mut steps = 0;
    while !within_at(within, true)? {
        (beyond, steps) = (within, steps + 1);
        if within == samples[0] || steps > STEPS {
            return Err(MoveError::Unsteady(within));
        }
        let next = within + away;
        within = if (next - samples[0]) * away >= 0.0 { samples[0] } else { next };
        away *= 2.0;
    }
    if steps == 0 {
        let mut away = within - beyond;
        while within_at(beyond, true)? {
            (within, steps) = (beyond, steps + 1);
            if beyond == samples[1] || steps > STEPS {
                return Err(MoveError::Unsteady(beyond));
            }
            let next = beyond - away;
            beyond = if (next - samples[1]) * away <= 0.0 { samples[1] } else { next };
            away *= 2.0;
        }
    }
    while wide(within, beyond, CLOSE) {
        let at = middle(within, beyond);
        if within_at(at, true)? { within = at } else { beyond = at }
    }
    let toward = if within > beyond { Toward::More } else { Toward::Less };
    let mut confirmed = None;
    for further in 0..=FARTHER {
        let printed = printed(within, question.dimension, question.print, toward, further);
        if printed.si >= 0.0 && within_at(printed.si, true)? {
            confirmed = Some(printed);
            break;
        }
    }
    Ok(Edge { within, beyond, printed: confirmed })
}

impl Scanned {
    /// Whether all that was looked at is within limits.
    pub fn all(&self) -> bool {
        matches!(&self.intervals[..], [Interval { from: None, to: None }])
    }

    /// The interval that goes on as far as was looked.
    pub fn last(&self) -> Option<&Interval> {
        self.intervals.last().filter(|interval| interval.to.is_none())
    }

    /// The sample with least scrap that could be avoided; of equals the first.
    pub fn least(&self) -> Option<usize> {
        let scrap = |index: &usize| self.points[*index].outcome.avoidable();
        (0..self.points.len()).min_by(|a, b| scrap(a).total_cmp(&scrap(b)))
    }

    /// The sample with most scrap that could be avoided; of equals the first.
    pub fn worst(&self) -> Option<usize> {
        let scrap = |index: &usize| self.points[*index].outcome.avoidable();
        (0..self.points.len()).rev().max_by(|a, b| scrap(a).total_cmp(&scrap(b)))
    }
}
