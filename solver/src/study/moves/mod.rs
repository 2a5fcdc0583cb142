//! Questions on a line whose speed changes: which stops stay within limits, how to ramp, how large an accumulator must be.
//!
//! Each drives many programmes of one case. What is within limits need not be one interval, nor scrap monotone, so every
//! question scans by factors sqrt(2), encloses every change between neighbours, and drives the answer once more with care.

mod data;
pub mod doubt;
pub mod intervals;
pub mod ramp;
pub mod ramps;
pub mod reel;
pub mod stop;
mod told;

use serde::Serialize;

use super::drive::Limited;
use super::drive::answer::{Cause, DriveError, judged};
use super::drive::spans::Spans;
use crate::case::programme::{Output, Programme};
use crate::case::{CaseFile, Station};
use crate::line::programme::Motions;

pub use told::Notes;

/// A search is no more exact than this, K: what it finds is driven again with care.
pub const SEARCH: f64 = 0.1;
/// Ten times that, K: so far from a limit the search is trusted.
const CLEAR: f64 = 10.0 * SEARCH;
/// Times of the slowest output's lag after which a change of speed no longer shows in the product: e^-12 of it is left.
const LAGS: f64 = 12.0;

/// How far the product comes towards a limit, or beyond it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reach {
    /// The station.
    pub station: String,
    /// What is limited there.
    pub limit: Limited,
    /// degC or m.
    pub allowed: f64,
    /// The farthest value among the metres that arrive.
    pub farthest: f64,
    /// The same of product that stands at the station; none where nothing stands.
    pub standing: Option<f64>,
    /// For how long the station sees product out of the limit, s.
    pub out_s: f64,
    /// Product out of it, m.
    pub out_m: f64,
}

impl Reach {
    /// By how much it is beyond the limit; met at or below zero.
    pub fn excess(&self) -> f64 {
        if self.limit.above { self.farthest - self.allowed } else { self.allowed - self.farthest }
    }
}

/// What becomes of the product in one programme.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Product that leaves the die, m.
    pub made_m: f64,
    /// Scrap, each metre once, m.
    pub scrap_m: f64,
    /// By cause, where there is any; a metre with two causes counts for both.
    pub by_cause: Vec<(Cause, f64)>,
    /// For how long some station sees product out of a limit, s.
    pub out_s: f64,
    /// Every limit at every station.
    pub reaches: Vec<Reach>,
    /// Stated error of the temperatures, K; of a drive of a search what that aims at.
    pub error: f64,
}

impl Outcome {
    /// Whether no metre is out of limits. Conductor that stood in the crosshead is scrap of every stop: it does not count here.
    pub fn within(&self) -> bool {
        self.by_cause.iter().all(|(cause, _)| *cause == Cause::Crosshead)
    }

    /// How near it is to being out of limits, or how far out: by the kelvins of its temperatures and the shares of its diameters, a
    /// thousandth as a kelvin; infinite where something else is out.
    fn nearness(&self) -> f64 {
        let of = |reach: &Reach| {
            if reach.limit.is_diameter() { reach.excess() / (1e-3 * reach.allowed) } else { reach.excess() }
        };
        let nearest = self.reaches.iter().map(of).filter(|near| near.is_finite()).fold(f64::NEG_INFINITY, f64::max);
        if self.within() || nearest > 0.0 { nearest } else { f64::INFINITY }
    }

    /// Whether no error of a search may hide that it is out of limits.
    fn is_clear(&self) -> bool {
        self.within() && self.nearness() < -CLEAR
    }

    /// Scrap but for what stood in the crosshead, m, at most: causes may overlap.
    pub fn avoidable(&self) -> f64 {
        let all = self.by_cause.iter().filter(|(cause, _)| *cause != Cause::Crosshead);
        all.map(|(_, length)| length).sum::<f64>().min(self.scrap_m)
    }

    /// The limit that is passed farthest or is nearest: temperatures by kelvins, then diameters.
    pub fn deciding(&self) -> Option<&Reach> {
        let of = |diameter: bool| {
            let those = self.reaches.iter().filter(move |reach| reach.limit.is_diameter() == diameter);
            those.filter(|reach| reach.excess().is_finite()).max_by(|a, b| a.excess().total_cmp(&b.excess()))
        };
        let out = |reach: &&Reach| reach.out_m > 0.0;
        of(false).filter(out).or_else(|| of(true).filter(out)).or_else(|| of(false)).or_else(|| of(true))
    }
}

/// Why a question has no answer.
#[derive(Clone, Debug)]
pub enum MoveError {
    /// Nothing in the case can be out of limits.
    NoLimit,
    /// A programme has no answer.
    Drive(DriveError),
    /// What is within limits by the search is not so by careful drives near it: around here.
    Unsteady(f64),
    /// The line is to slow down to a speed that is not below its own.
    NotSlower,
    /// A ramp from a speed to itself.
    SameSpeeds,
    /// There is no accumulator of that name.
    NoAccumulator {
        /// The name.
        name: String,
        /// Those that there are.
        known: Vec<String>,
    },
    /// Neither the case nor the question says for how long a reel stands.
    NoStandstill,
    /// The accumulator of that name has no room for what the line makes ahead.
    NoRoom(String),
}

impl std::fmt::Display for MoveError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            MoveError::NoLimit => out.write_str(
                "no metre can be out of limits, for the case gives none; give a station surface_max, core_max or diameter_max, or \
                 a section time_max",
            ),
            MoveError::Drive(error) => error.fmt(out),
            MoveError::Unsteady(at) => {
                write!(out, "around {at:.4} the search and careful drives do not agree; give a smaller solver.tolerance")
            }
            MoveError::NotSlower => {
                out.write_str("the line is to slow down to a speed that is not below its own")
            }
            MoveError::SameSpeeds => out.write_str("both speeds are the same, so there is no ramp"),
            MoveError::NoAccumulator { name, known } if known.is_empty() => {
                write!(out, "there is no accumulator {name:?}: the case has none")
            }
            MoveError::NoAccumulator { name, known } => {
                let known: Vec<String> = known.iter().map(|name| format!("{name:?}")).collect();
                write!(out, "there is no accumulator {name:?}; known: {}", known.join(", "))
            }
            MoveError::NoStandstill => {
                out.write_str("the case has no change of reel: give --standstill \"60 s\"")
            }
            MoveError::NoRoom(name) => write!(
                out,
                "accumulator {name:?}: its content and its reserve leave it no room, so it bridges nothing"
            ),
        }
    }
}

impl std::error::Error for MoveError {}

impl From<DriveError> for MoveError {
    fn from(error: DriveError) -> MoveError {
        MoveError::Drive(error)
    }
}

/// What becomes of the product of a case in its programme; with none, in the steady line.
///
/// # Errors
///
/// A metre has no answer.
pub fn outcome(case: &CaseFile) -> Result<Outcome, MoveError> {
    with_motions(case, true).map(|(outcome, _)| outcome)
}

/// The same with care, or as a search needs it: by an unchecked march.
fn outcome_by(case: &CaseFile, care: bool) -> Result<Outcome, MoveError> {
    with_motions(case, care).map(|(outcome, _)| outcome)
}

/// The same with the motions of line and reels.
fn with_motions(case: &CaseFile, care: bool) -> Result<(Outcome, Motions), MoveError> {
    // A station without a limit takes no part in a verdict.
    let mut case = case.clone();
    case.stations.retain(is_limited);
    let (judged, motions, error) = judged(&case, care, &|_| {})?;
    let of_cause = |cause: Cause| {
        let those = judged.scrap.iter().filter(|span| span.cause == cause);
        Spans::new(those.map(|span| [span.from, span.to])).length()
    };
    let by_cause = Cause::ALL.into_iter().map(|cause| (cause, of_cause(cause)));
    let mut reaches = Vec::new();
    for station in &judged.stations {
        for limit in &station.limits {
            reaches.push(Reach {
                station: station.name.clone(),
                limit: limit.of.clone(),
                allowed: limit.limit,
                farthest: limit.largest,
                standing: limit.standing.map(|[farthest, _]| farthest),
                out_s: limit.out_s,
                out_m: limit.out_m,
            });
        }
    }
    let outcome = Outcome {
        made_m: motions.made(),
        scrap_m: judged.scrap_m,
        by_cause: by_cause.filter(|(_, length)| *length > 0.0).collect(),
        out_s: judged.out_s,
        reaches,
        error,
    };
    Ok((outcome, motions))
}

/// The case at one speed for ever, m/s: its steady line.
pub fn steady(case: &CaseFile, speed: f64) -> CaseFile {
    let programme = Programme { starts_at: Some(speed), ..Programme::default() };
    CaseFile { programme, ..case.clone() }
}

/// Whether a station has a limit.
fn is_limited(station: &Station) -> bool {
    !station.limits.is_empty() || station.diameter_min.is_some() || station.diameter_max.is_some()
}

/// Refuses a case in which nothing can be out of limits.
fn limited(case: &CaseFile) -> Result<(), MoveError> {
    let stations = case.stations.iter().any(is_limited);
    let times = case.sections.iter().any(|section| section.time_max.is_some());
    let heads = case.layers.iter().any(|layer| layer.feed.residence_max.is_some() && layer.feed.head_volume.is_some());
    if stations || times || heads { Ok(()) } else { Err(MoveError::NoLimit) }
}

/// How long the line is held at a speed at the end, s: until all that was on it has left, and the slowest output has followed.
fn tail(case: &CaseFile, speed: f64) -> f64 {
    let lag = |output: Output| if let Output::Lag(lag) = output { lag } else { 0.0 };
    let slowest = case.layers.iter().map(|layer| lag(layer.feed.output)).fold(0.0, f64::max);
    case.line_length() / speed + LAGS * slowest
}
