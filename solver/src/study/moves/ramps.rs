//! How a line brakes and starts again: as its programme says, or as the drives allow, or as is usual.

use serde::Serialize;

use crate::case::CaseFile;
use crate::case::programme::{Change, Programme, Ramp};

/// Where a case says nothing: from full speed to a standstill, s. Common practice, no source.
const BRAKES: f64 = 5.0;
/// And back, s. Common practice, no source.
const STARTS: f64 = 20.0;

/// Where the ramps of a stop come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum From {
    /// The case's own stop or slow-down.
    Programme,
    /// `plant.ramp_max`.
    Plant,
    /// Neither says any: what is usual was taken.
    Usual,
}

/// How a line slows down and comes back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ramps {
    /// Line speed before, m/s.
    #[serde(rename = "speed_m_s")]
    pub speed: f64,
    /// How fast it brakes, m/s2.
    #[serde(rename = "brake_m_s2")]
    pub brake: f64,
    /// How fast it starts again, m/s2.
    #[serde(rename = "start_m_s2")]
    pub start: f64,
    /// Line speed behind, m/s.
    #[serde(rename = "back_to_m_s")]
    pub back: f64,
    /// Which of the case's words say so.
    pub from: From,
}

impl Ramps {
    /// Of the case's first stop or slow-down and what follows it.
    pub fn of(case: &CaseFile) -> Ramps {
        let mut speed = case.programme.starts_at.unwrap_or(case.line_speed);
        let usual = |speed: f64| {
            let (rates, from) = match case.plant.ramp_max {
                Some(most) => ([most; 2], From::Plant),
                None => ([speed / BRAKES, speed / STARTS], From::Usual),
            };
            Ramps { speed, brake: rates[0], start: rates[1], back: speed, from }
        };
        let changes = &case.programme.changes;
        for (index, change) in changes.iter().enumerate() {
            if change.to < speed {
                let Some(brake) = rate(change, speed) else { return usual(speed) };
                let after = changes[index + 1..].iter().find(|after| after.to > change.to);
                let again = after.and_then(|after| Some((rate(after, change.to)?, after.to)));
                let (start, back) = again.unwrap_or((brake, speed));
                return Ramps { speed, brake, start, back, from: From::Programme };
            }
            speed = change.to;
        }
        usual(case.line_speed)
    }

    /// The programme of a slow-down to `to`, m/s, for so many s, and back; the line is held for `tail` s at the end.
    pub(super) fn slowed(&self, case: &CaseFile, to: f64, lasts: f64, tail: f64) -> CaseFile {
        let down = if to > 0.0 { "slow-down" } else { "stop" };
        let programme = Programme {
            starts_at: Some(self.speed),
            crosshead: case.programme.crosshead,
            changes: vec![change(down, to, self.brake, lasts), change("restart", self.back, self.start, tail)],
            ..Programme::default()
        };
        CaseFile { programme, ..case.clone() }
    }
}

/// How fast the speed changes, m/s2; a percent ramp as fast as where it is fastest. None of a jump.
fn rate(change: &Change, from: f64) -> Option<f64> {
    let rate = match change.ramp {
        Ramp::Even(rate) => rate,
        Ramp::Percent(share) => share * from.max(change.to),
        Ramp::Within(time) => (change.to - from).abs() / time,
    };
    (rate > 0.0 && rate.is_finite()).then_some(rate)
}

/// An even change of speed to `to`, m/s, at `rate`, m/s2, right after the one before it, and held for `hold` s.
pub(super) fn change(name: &str, to: f64, rate: f64, hold: f64) -> Change {
    Change { name: name.to_string(), after: 0.0, to, ramp: Ramp::Even(rate), hold: Some(hold) }
}
