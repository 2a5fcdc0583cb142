//! Answers on a line whose speed changes as JSON: SI with the unit in the key; absent numbers are null.

use serde_json::{Map, Value, json};

use super::doubt::{Doubt, Within};
use super::intervals::{Edge, Interval, Point, Scanned};
use super::ramp::{Course, OfCourse, Ramping};
use super::ramps::{From, Ramps};
use super::reel::Reel;
use super::stop::Stops;
use super::{Outcome, Reach};
use crate::study::drive::answer::Remark;
use crate::study::search::told::{finite, print};

/// An answer under its name, with warnings and cautions beside it.
fn beside(name: &str, answer: Value, warnings: &[Remark], cautions: &[String]) -> Value {
    let mut told = json!({ "warnings": warnings, "cautions": cautions });
    told[name] = answer;
    told
}

impl Stops {
    /// The answer to `stop`; `wall` s were taken.
    pub fn told(&self, wall: f64, warnings: &[Remark], cautions: &[String]) -> Value {
        let scanned = |scanned: &Scanned, unit: &str| {
            json!({
                "intervals": intervals(scanned, unit),
                "samples": samples(scanned, &format!("at_{unit}")),
            })
        };
        let lowest = |scanned: &Scanned| {
            scanned.last().map(|interval| {
                let edge = interval.from.as_ref();
                edge.map_or(scanned.points.first().map(|point| point.at), |edge| Some(edge.within))
            })
        };
        let answer = json!({
            "to_m_s": self.to,
            "longest_s": self.longest,
            "ramps": ramps(&self.ramps),
            "steady": outcome(&self.steady),
            "intervals": intervals(&self.durations, "s"),
            "samples": samples(&self.durations, "at_s"),
            "lowest": self.lowest.as_ref().map(|both| json!({
                "slowed_m_s": lowest(&both.slowed),
                "steady_m_s": lowest(&both.steady),
                "slowed": scanned(&both.slowed, "m_s"),
                "steady": scanned(&both.steady, "m_s"),
            })),
            "drives": self.drives,
            "wall_s": wall,
        });
        beside("stop", answer, warnings, cautions)
    }
}

impl Ramping {
    /// The answer to `ramp`; `wall` s were taken.
    pub fn told(&self, wall: f64, warnings: &[Remark], cautions: &[String]) -> Value {
        let course = |of: &OfCourse| {
            let fastest = of.fastest();
            json!({
                "course": match of.course { Course::Even => "even", Course::Percent => "percent" },
                "looked_at_s": of.looked_at,
                "fastest_s": fastest.map(|edge| edge.map_or(of.looked_at[0], |edge| edge.within)),
                "fastest_printed": fastest.flatten().and_then(|edge| edge.printed.as_ref()).map(print),
                "least": of.least.as_ref().map(|least| {
                    let mut fields = outcome(&least.outcome);
                    fields.insert("at_s".to_string(), json!(of.times.points[least.index].at));
                    fields
                }),
                "intervals": intervals(&of.times, "s"),
                "samples": samples(&of.times, "at_s"),
            })
        };
        let answer = json!({
            "from_m_s": self.from,
            "to_m_s": self.to,
            "steady_before": outcome(&self.steady[0]),
            "steady_behind": outcome(&self.steady[1]),
            "courses": self.courses.iter().map(course).collect::<Value>(),
            "drives": self.drives,
            "wall_s": wall,
        });
        beside("ramp", answer, warnings, cautions)
    }
}

impl Doubt {
    /// As JSON.
    pub fn told(&self) -> Value {
        let within = |of: &Within| {
            let interval = |[from, to]: &[Option<f64>; 2]| json!({ "from_s": from, "to_s": to });
            json!({
                "line_within": of.line,
                "intervals": of.intervals.iter().map(interval).collect::<Value>(),
            })
        };
        json!({
            "station": self.station,
            "limit": self.limit,
            "largest": self.largest,
            "lag_without_band": self.lag_without_band,
            "worse": self.moves.then(|| within(&self.worse)),
            "better": self.moves.then(|| within(&self.better)),
        })
    }
}

impl Reel {
    /// The answer to `reel`.
    pub fn told(&self, warnings: &[Remark], cautions: &[String]) -> Value {
        let built = self.built.as_ref().map(|built| {
            json!({
                "name": built.name,
                "capacity_m": built.capacity,
                "content_m": built.content,
                "reserve_m": built.reserve,
                "room_m": built.room,
                "longest_standstill_s": built.longest,
                "bridges": built.slow.is_none(),
                "slow": built.slow.as_ref().map(|slow| json!({
                    "to_m_s": slow.to,
                    "printed": print(&slow.printed),
                    "before_s": slow.before,
                    "brake_m_s2": slow.rate,
                    "to_if_late_m_s": slow.late,
                })),
            })
        });
        let answer = json!({
            "place": self.place,
            "speed_m_s": self.speed,
            "standstill_s": self.turn.standstill,
            "brake_s": self.turn.brake,
            "start_s": self.turn.start,
            "catch_up": self.turn.catch_up,
            "ahead_m": self.ahead,
            "needed_m": self.needed,
            "built": built,
            "back_s": self.back,
            "refill_s": self.refill,
            "shortest_reel_m": self.shortest_reel,
            "lowest_m": self.contents[0],
            "highest_m": self.contents[1],
            "driven": outcome(&self.outcome),
        });
        beside("reel", answer, warnings, cautions)
    }
}

fn ramps(ramps: &Ramps) -> Value {
    let from = match ramps.from {
        From::Programme => "programme",
        From::Plant => "plant",
        From::Usual => "usual",
    };
    json!({
        "speed_m_s": ramps.speed,
        "brake_m_s2": ramps.brake,
        "start_m_s2": ramps.start,
        "back_to_m_s": ramps.back,
        "from": from,
    })
}

fn reach(reach: &Reach) -> Value {
    json!({
        "station": reach.station,
        "limit": reach.limit,
        "allowed": reach.allowed,
        "farthest": finite(reach.farthest),
        "standing": reach.standing,
        "out_m": reach.out_m,
        "out_s": reach.out_s,
    })
}

fn outcome(outcome: &Outcome) -> Map<String, Value> {
    let causes: Map<String, Value> = outcome
        .by_cause
        .iter()
        .filter_map(|(cause, length)| Some((json!(cause).as_str()?.to_string() + "_m", json!(length))))
        .collect();
    let fields = json!({
        "within": outcome.within(),
        "made_m": outcome.made_m,
        "scrap_m": outcome.scrap_m,
        "by_cause": causes,
        "out_s": outcome.out_s,
        "limits": outcome.reaches.iter().map(reach).collect::<Value>(),
        "error_K": outcome.error,
    });
    fields.as_object().cloned().unwrap_or_default()
}

/// The samples of a scan; `name` is that of the place: `at_s`.
fn samples(scanned: &Scanned, name: &str) -> Value {
    let one = |point: &Point| {
        let mut fields = Map::new();
        fields.insert(name.to_string(), json!(point.at));
        fields.extend(outcome(&point.outcome));
        Value::Object(fields)
    };
    scanned.points.iter().map(one).collect()
}

/// What is within limits: an end that is null goes as far as was looked.
fn intervals(scanned: &Scanned, unit: &str) -> Value {
    let end = |fields: &mut Map<String, Value>, name: &str, edge: Option<&Edge>| {
        fields.insert(format!("{name}_{unit}"), json!(edge.map(|edge| edge.within)));
        fields.insert(format!("{name}_beyond_{unit}"), json!(edge.map(|edge| edge.beyond)));
        let printed = edge.and_then(|edge| edge.printed.as_ref()).map(print);
        fields.insert(format!("{name}_printed"), json!(printed));
    };
    let one = |interval: &Interval| {
        let mut fields = Map::new();
        end(&mut fields, "from", interval.from.as_ref());
        end(&mut fields, "to", interval.to.as_ref());
        Value::Object(fields)
    };
    scanned.intervals.iter().map(one).collect()
}
