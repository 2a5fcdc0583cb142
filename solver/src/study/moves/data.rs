//! Answers on a line whose speed changes as labelled numbers.

use super::intervals::Scanned;
use super::ramp::{Course, Ramping};
use super::reel::Reel;
use super::stop::Stops;
use super::{Outcome, Reach};
use crate::data::Data;
use crate::study::drive::answer::Cause;
use crate::units::words::key;

/// The causes and the limits as the first two dimensions.
const CAUSE: usize = 0;
/// See `CAUSE`.
const LIMIT: usize = 1;

fn begin(cautions: &[String], scanned: Option<&Scanned>) -> Data {
    let mut data = Data::with_cautions(cautions);
    let first = scanned.and_then(|scanned| scanned.points.first());
    let reaches = first.map(|point| point.outcome.reaches.as_slice()).unwrap_or_default();
    let limits = reaches.iter().map(|reach| format!("{}.{}", key(&reach.station), reach.limit.key));
    if first.is_some() {
        data.names("cause", "cause of scrap", Cause::ALL.iter().map(|cause| cause.words()));
        data.names("limit", "limit at a station", limits);
    }
    data
}

/// The samples of a scan along their own dimension; names begin with `prefix`.
fn samples(data: &mut Data, scanned: &Scanned, prefix: &str, (name, units, words): (&str, &str, &str)) {
    let points = &scanned.points;
    let along = data.scale(name, units, words, points.iter().map(|point| point.at).collect());
    let mut each = |name: &str, units: &str, words: &str, value: &dyn Fn(&Outcome) -> f64| {
        let values = points.iter().map(|point| value(&point.outcome)).collect();
        data.numbers(&format!("{prefix}{name}"), units, words, &[along], values);
    };
    each("scrap", "m", "scrap, each metre once", &|outcome| outcome.scrap_m);
    each("within", "1", "whether no metre is out of limits", &|outcome| f64::from(u8::from(outcome.within())));
    each("out_time", "s", "for how long some station sees product out of limits", &|outcome| outcome.out_s);
    let of_cause = |cause: Cause, outcome: &Outcome| {
        outcome.by_cause.iter().find(|(one, _)| *one == cause).map_or(0.0, |(_, length)| *length)
    };
    let by_cause = Cause::ALL.iter().flat_map(|cause| points.iter().map(|point| of_cause(*cause, &point.outcome)));
    data.numbers(&format!("{prefix}scrap_by_cause"), "m", "scrap by cause", &[CAUSE, along], by_cause.collect());
    let limits = points.first().map_or(0, |point| point.outcome.reaches.len());
    let mut of_limits = |name: &str, units: &str, words: &str, value: &dyn Fn(&Reach) -> f64| {
        let values = (0..limits).flat_map(|limit| points.iter().map(move |point| (limit, point)));
        let values = values.map(|(limit, point)| value(&point.outcome.reaches[limit])).collect();
        data.numbers(&format!("{prefix}{name}"), units, words, &[LIMIT, along], values);
    };
    of_limits("farthest", "1", "farthest value on arrival: degC, or m of a diameter", &|reach| reach.farthest);
    of_limits("standing", "1", "farthest value of product that stands at the station", &|reach| {
        reach.standing.unwrap_or(f64::NAN)
    });
    of_limits("out_length", "m", "product out of the limit", &|reach| reach.out_m);
}

impl Stops {
    /// By duration, and where they were asked for by speed.
    pub fn data(&self, cautions: &[String]) -> Data {
        let mut data = begin(cautions, Some(&self.durations));
        data.number("to_m_s", self.to)
            .number("longest_s", self.longest)
            .number("brake_m_s2", self.ramps.brake)
            .number("start_m_s2", self.ramps.start);
        if !self.durations.points.is_empty() {
            let axis = ("duration", "s", "time for which the line stands or runs slowly");
            samples(&mut data, &self.durations, "", axis);
        }
        if let Some(lowest) = &self.lowest {
            let axis = ("slow_speed", "m s-1", "speed that the line slows down to");
            samples(&mut data, &lowest.slowed, "slowed_", axis);
            samples(&mut data, &lowest.steady, "steady_", ("steady_speed", "m s-1", "speed of the steady line"));
        }
        data
    }
}

impl Ramping {
    /// By the time of a ramp, even and in percent.
    pub fn data(&self, cautions: &[String]) -> Data {
        let mut data = begin(cautions, self.courses.first().map(|course| &course.times));
        data.number("from_m_s", self.from).number("to_m_s", self.to);
        for course in &self.courses {
            let (prefix, axis) = match course.course {
                Course::Even => ("even_", "even_time"),
                Course::Percent => ("percent_", "percent_time"),
            };
            samples(&mut data, &course.times, prefix, (axis, "s", "time of the ramp"));
        }
        data
    }
}

/// Rows over clock time of a change of reel.
const ROWS: usize = 600;
/// Of the time until the content is back, this is shown behind.
const BEHIND: f64 = 0.06;

impl Reel {
    /// The moments of pictures and results files, s: even ones, and both sides of every corner.
    pub fn times(&self) -> Vec<f64> {
        let store = &self.motions.stores[0];
        let begins = store.begins.first().copied().unwrap_or(0.0);
        let ends = self.back.map_or(self.motions.ends, |back| (begins + back) * (1.0 + BEHIND));
        let mut times: Vec<f64> = (0..=ROWS).map(|row| ends * row as f64 / ROWS as f64).collect();
        let corners = self.motions.clock.corners().iter().chain(store.reel.corners());
        let inside = corners.copied().filter(|&time| time > 0.0 && time < ends);
        times.extend(inside.flat_map(|time| [time - 1e-9 * ends, time]));
        times.sort_by(f64::total_cmp);
        times.dedup();
        times
    }

    /// Over clock time.
    pub fn data(&self, cautions: &[String]) -> Data {
        let mut data = Data::with_cautions(cautions);
        let built = self.built.as_ref();
        data.number("speed_m_s", self.speed)
            .number("standstill_s", self.turn.standstill)
            .number("ahead_m", self.ahead)
            .number("needed_m", self.needed)
            .number("scrap_m", self.outcome.scrap_m)
            .number("shortest_reel_m", self.shortest_reel)
            .number("longest_standstill_s", built.map(|built| built.longest))
            .number("slow_to_m_s", built.and_then(|built| Some(built.slow.as_ref()?.to)));
        let (times, store) = (self.times(), &self.motions.stores[0]);
        let of = |value: &dyn Fn(f64) -> f64| times.iter().map(|&time| value(time)).collect::<Vec<f64>>();
        let (line, reel) = (of(&|time| self.motions.clock.speed(time)), of(&|time| store.reel.speed(time)));
        let content = of(&|time| store.content(time));
        let time = data.scale("time", "s", "clock time since the programme began", times);
        data.numbers("line_speed", "m s-1", "line speed", &[time], line);
        data.numbers("reel_speed", "m s-1", "speed of the reel", &[time], reel);
        data.numbers("content", "m", "content of the accumulator", &[time], content);
        data
    }
}
