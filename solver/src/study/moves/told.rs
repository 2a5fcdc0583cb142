//! Answers on a line whose speed changes as JSON: SI with the unit in the key; absent numbers are null.

use serde::Serialize;

use super::doubt::{Doubt, Within};
use super::intervals::{Edge, Interval, Point, Scanned};
use super::ramp::{Course, Least, OfCourse, Ramping};
use super::ramps::Ramps;
use super::reel::{Built, Reel, Turn};
use super::stop::Stops;
use super::{Outcome, Reach};
use crate::case::programme::End;
use crate::data::{ByName, InUnit};
use crate::march::table::word;
use crate::study::drive::Limited;
use crate::study::drive::answer::Remark;
use crate::study::search::told::{Print, named, print};

/// What an answer is read with.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Notes<'a> {
    /// What is doubtful.
    pub warnings: &'a [Remark],
    /// What to keep in mind on the plant floor.
    pub cautions: &'a [String],
}

/// What becomes of the product in one programme.
#[derive(Debug, Serialize)]
struct Driven<'a> {
    within: bool,
    made_m: f64,
    scrap_m: f64,
    by_cause: ByName<String, f64>,
    out_s: f64,
    limits: &'a [Reach],
    #[serde(rename = "error_K")]
    error: f64,
}

/// The same at a place of a scan.
#[derive(Debug, Serialize)]
struct Sample<'a> {
    #[serde(flatten)]
    at: InUnit,
    #[serde(flatten)]
    driven: Driven<'a>,
}

/// What is within limits: an end that is null goes as far as was looked.
#[derive(Debug, Serialize)]
struct Span {
    #[serde(flatten)]
    ends: InUnit,
    from_printed: Option<Print>,
    to_printed: Option<Print>,
}

#[derive(Debug, Serialize)]
struct Scan<'a> {
    intervals: Vec<Span>,
    samples: Vec<Sample<'a>>,
}

#[derive(Debug, Serialize)]
struct Stop<'a> {
    to_m_s: f64,
    longest_s: f64,
    ramps: &'a Ramps,
    steady: Driven<'a>,
    #[serde(flatten)]
    durations: Scan<'a>,
    lowest: Option<Lowest<'a>>,
    band: Option<Band<'a>>,
    drives: usize,
    wall_s: f64,
}

#[derive(Debug, Serialize)]
struct Lowest<'a> {
    slowed_m_s: Option<f64>,
    steady_m_s: Option<f64>,
    slowed: Scan<'a>,
    steady: Scan<'a>,
}

#[derive(Debug, Serialize)]
struct Ramp<'a> {
    from_m_s: f64,
    to_m_s: f64,
    steady_before: Driven<'a>,
    steady_behind: Driven<'a>,
    courses: Vec<Rising<'a>>,
    drives: usize,
    wall_s: f64,
}

#[derive(Debug, Serialize)]
struct Rising<'a> {
    course: Course,
    looked_at_s: [f64; 2],
    fastest_s: Option<f64>,
    fastest_printed: Option<Print>,
    least: Option<Sample<'a>>,
    #[serde(flatten)]
    times: Scan<'a>,
    /// None outside where nobody asked for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    band: Option<Option<Band<'a>>>,
}

#[derive(Debug, Serialize)]
struct Band<'a> {
    station: &'a str,
    limit: &'a Limited,
    largest: &'a str,
    lag_without_band: bool,
    worse: Option<Moved>,
    better: Option<Moved>,
}

#[derive(Debug, Serialize)]
struct Moved {
    line_within: bool,
    intervals: Vec<Times>,
}

#[derive(Debug, Serialize)]
struct Times {
    from_s: Option<f64>,
    to_s: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Change<'a> {
    place: End,
    speed_m_s: f64,
    #[serde(flatten)]
    turn: Turn,
    ahead_m: f64,
    needed_m: f64,
    built: Option<Bridge<'a>>,
    back_s: Option<f64>,
    refill_s: Option<f64>,
    shortest_reel_m: Option<f64>,
    lowest_m: f64,
    highest_m: f64,
    driven: Driven<'a>,
}

#[derive(Debug, Serialize)]
struct Bridge<'a> {
    #[serde(flatten)]
    built: &'a Built,
    bridges: bool,
}

impl Stops {
    /// The answer to `stop`; `wall` s were taken.
    pub fn told<'a>(&'a self, wall: f64, doubt: Option<&'a Doubt>, notes: Notes<'a>) -> impl Serialize + use<'a> {
        let lowest = |scanned: &Scanned| {
            let from = scanned.last()?.from.as_ref();
            from.map_or(scanned.points.first().map(|point| point.at), |edge| Some(edge.within))
        };
        let stop = Stop {
            to_m_s: self.to,
            longest_s: self.longest,
            ramps: &self.ramps,
            steady: self.steady.told(),
            durations: self.durations.told("s"),
            lowest: self.lowest.as_ref().map(|both| Lowest {
                slowed_m_s: lowest(&both.slowed),
                steady_m_s: lowest(&both.steady),
                slowed: both.slowed.told("m_s"),
                steady: both.steady.told("m_s"),
            }),
            band: doubt.map(Doubt::told),
            drives: self.drives,
            wall_s: wall,
        };
        named(notes, "stop", stop)
    }
}

impl Ramping {
    /// The answer to `ramp`; `wall` s were taken; `doubts` are those of its courses, or none where nobody asked for them.
    pub fn told<'a>(&'a self, wall: f64, doubts: &'a [Option<Doubt>], notes: Notes<'a>) -> impl Serialize + use<'a> {
        let course = |(index, of): (usize, &'a OfCourse)| {
            let fastest = of.fastest();
            let least = |least: &'a Least| Sample {
                at: InUnit::of("s", &[("at", of.times.points[least.index].at)]),
                driven: least.outcome.told(),
            };
            Rising {
                course: of.course,
                looked_at_s: of.looked_at,
                fastest_s: fastest.map(|edge| edge.map_or(of.looked_at[0], |edge| edge.within)),
                fastest_printed: fastest.flatten().and_then(Edge::told),
                least: of.least.as_ref().map(least),
                times: of.times.told("s"),
                band: doubts.get(index).map(|doubt| doubt.as_ref().map(Doubt::told)),
            }
        };
        let [before, behind] = &self.steady;
        let ramp = Ramp {
            from_m_s: self.from,
            to_m_s: self.to,
            steady_before: before.told(),
            steady_behind: behind.told(),
            courses: self.courses.iter().enumerate().map(course).collect(),
            drives: self.drives,
            wall_s: wall,
        };
        named(notes, "ramp", ramp)
    }
}

impl Reel {
    /// The answer to `reel`.
    pub fn told<'a>(&'a self, notes: Notes<'a>) -> impl Serialize + use<'a> {
        let [lowest_m, highest_m] = self.contents;
        let change = Change {
            place: self.place,
            speed_m_s: self.speed,
            turn: self.turn,
            ahead_m: self.ahead,
            needed_m: self.needed,
            built: self.built.as_ref().map(|built| Bridge { built, bridges: built.slow.is_none() }),
            back_s: self.back,
            refill_s: self.refill,
            shortest_reel_m: self.shortest_reel,
            lowest_m,
            highest_m,
            driven: self.outcome.told(),
        };
        named(notes, "reel", change)
    }
}

impl Doubt {
    /// Where nothing moves, nobody looked at either side.
    fn told(&self) -> Band<'_> {
        let moved = |of: &Within| Moved {
            line_within: of.line,
            intervals: of.intervals.iter().map(|&[from_s, to_s]| Times { from_s, to_s }).collect(),
        };
        Band {
            station: &self.station,
            limit: &self.limit,
            largest: &self.largest,
            lag_without_band: self.lag_without_band,
            worse: self.moves.then(|| moved(&self.worse)),
            better: self.moves.then(|| moved(&self.better)),
        }
    }
}

impl Outcome {
    fn told(&self) -> Driven<'_> {
        Driven {
            within: self.within(),
            made_m: self.made_m,
            scrap_m: self.scrap_m,
            by_cause: self.by_cause.iter().map(|(cause, length)| (word(cause) + "_m", *length)).collect(),
            out_s: self.out_s,
            limits: &self.reaches,
            error: self.error,
        }
    }
}

impl Scanned {
    /// `unit` ends the keys of places.
    fn told(&self, unit: &str) -> Scan<'_> {
        Scan {
            intervals: self.intervals.iter().map(|interval| interval.told(unit)).collect(),
            samples: self.points.iter().map(|point| point.told(unit)).collect(),
        }
    }
}

impl Point {
    fn told(&self, unit: &str) -> Sample<'_> {
        Sample { at: InUnit::of(unit, &[("at", self.at)]), driven: self.outcome.told() }
    }
}

impl Edge {
    fn told(&self) -> Option<Print> {
        self.printed.as_ref().map(print)
    }
}

impl Interval {
    fn told(&self, unit: &str) -> Span {
        let [from, to] = [&self.from, &self.to].map(Option::as_ref);
        let within = |edge: Option<&Edge>| edge.map_or(f64::NAN, |edge| edge.within);
        let beyond = |edge: Option<&Edge>| edge.map_or(f64::NAN, |edge| edge.beyond);
        let ends =
            [("from", within(from)), ("from_beyond", beyond(from)), ("to", within(to)), ("to_beyond", beyond(to))];
        Span {
            ends: InUnit::of(unit, &ends),
            from_printed: from.and_then(Edge::told),
            to_printed: to.and_then(Edge::told),
        }
    }
}
