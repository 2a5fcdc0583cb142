//! The line in time: what every metre of the product sees at every station while the line speeds up, slows down, stops.
//!
//! Each metre is the slice of the theory page on a clock of its own: its film sees the line speed and the place of the moment, and no
//! slice knows of another. Metres are marched where `pieces` says, by the rule at a quarter of the tolerance; what lies between
//! them is interpolated. The stated error is 1.5 times the largest difference of that march and one eight times tighter, on every
//! eighth metre and at both ends of every piece, and the last difference of new metres from the interpolant of the old ones.

pub mod answer;
mod asked;
mod attempt;
pub mod cautions;
mod data;
mod field;
mod kept;
mod load;
mod measure;
mod metre;
mod parked;
mod pieces;
mod points;
mod pool;
mod range;
mod settle;
pub(in crate::study) mod spans;
mod tank;
mod verdict;
mod wheel;

pub use field::{Field, field};
pub use measure::{Limited, Measure};
pub use metre::{Metre, Seen, Sight};
pub use parked::Parked;
pub use pieces::Piece;
pub(in crate::study) use range::doubtful;
pub use range::{Range, range};
pub use verdict::{Beyond, Span};

use metre::Request;
use pieces::Break;

use crate::case::check::checked_radii;
use crate::case::error::Error;
use crate::case::shrink::Radii;
use crate::case::{Case, DieTemperature};
use crate::engine::Path;
use crate::line::clock::{Clock, PARKED, Side};
use crate::line::waters::Waters;
use crate::line::{Settings, is_searched};
use crate::march::by_rate;
use crate::maths::order::{sort_by_number, sort_by_numbers};

/// Share of the tolerance at which metres are marched.
const MARCHED: f64 = 0.25;
/// Times that everything is marched, each four times tighter, before the tolerance is given up.
const ATTEMPTS: usize = 4;
/// Product between two spoilt spans that is shorter than this, m, is spoilt too.
const NOTHING: f64 = 1e-6;
/// Temperature of a conductor above which its metre is scrap and not marched, degC.
pub const OVERHEATED: f64 = crate::case::preheat::HIGHEST.0;

/// What is wrong with a metre that is not marched.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spoilt {
    /// Much more melt than the line takes along.
    Lump,
    /// Much less.
    Bare,
    /// Its conductor came out of the preheater above [`OVERHEATED`].
    Overheated,
}

/// A line whose speed changes: the case and what its programme makes of it.
#[derive(Clone, Copy)]
pub struct Programme<'a> {
    /// Product, sections, stations; its line speed is that for which sizes and given films hold.
    pub case: &'a Case,
    /// Sizes at that speed.
    pub radii: &'a Radii,
    /// Of the line.
    pub clock: &'a Clock,
    /// Output of a layer over what the line takes along, y/v, by layer and moment, before a jump with [`Side::Before`].
    pub area: &'a (dyn Fn(usize, f64, Side) -> f64 + Sync),
    /// Product that is not marched, by its lengths, m, in order and apart from each other.
    pub spoilt: &'a [([f64; 2], Spoilt)],
    /// The first and the last metre looked at, m.
    pub first: f64,
    /// See `first`.
    pub last: f64,
    /// When the programme ends, s: a line that stands at last is followed until then.
    pub end: f64,
    /// K.
    pub tolerance: f64,
    /// Water that changes over time; none where every medium is held.
    pub waters: Option<&'a Waters>,
}

/// How a drive is computed: for tests of the method.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Method {
    /// Instruction set and lanes.
    pub path: Path,
    /// Equal steps of this size, s, without error control; none by the rule.
    pub fixed_step: Option<f64>,
    /// Whether to settle for the first attempt whatever its error.
    pub once: bool,
    /// Whether only what has a limit is settled: for verdicts.
    pub limits_alone: bool,
    /// Whether the march is checked against a tighter one; a drive that is not states what it aims at.
    pub checked: bool,
}

impl Method {
    /// For a verdict: with care, or as a search needs it.
    pub fn of_verdict(care: bool) -> Method {
        Method { limits_alone: true, checked: care, once: !care, ..Method::default() }
    }
}

impl Default for Method {
    fn default() -> Method {
        Method { path: Path::best(), fixed_step: None, once: false, limits_alone: false, checked: true }
    }
}

/// What a line in time did to its product.
#[derive(Clone, Debug)]
pub struct Driven {
    /// Every metre that was marched, by its length and side.
    pub metres: Vec<Metre>,
    /// The pieces on which what stations see is smooth, in order.
    pub pieces: Vec<Piece>,
    /// Metres that stood at a station.
    pub parked: Vec<Parked>,
    /// Product that was not marched, and why.
    pub spoilt: Vec<([f64; 2], Spoilt)>,
    /// Stated error of every temperature, K.
    pub error: f64,
    /// Whether that is within the tolerance.
    pub met: bool,
    /// Time steps of all metres that are kept, accepted and refused.
    pub steps: [usize; 2],
    clock: Clock,
    /// Distance of each station from the die, m.
    stations: Vec<f64>,
}

/// Drives a case.
///
/// `watch` is told how many metres are wanted by now.
///
/// # Errors
///
/// Those of a run; a film law without an answer at a standstill; water whose temperature is searched or follows the heat.
pub fn drive(programme: &Programme, method: Method, watch: &(dyn Fn(usize) + Sync)) -> Result<Driven, Error> {
    check(programme)?;
    let mut accuracy = MARCHED * programme.tolerance;
    let mut attempt = 1;
    loop {
        let driven = attempt::at(programme, accuracy, method, watch)?;
        if driven.met || attempt == ATTEMPTS || method.once {
            return Ok(driven);
        }
        (accuracy, attempt) = (0.25 * accuracy, attempt + 1);
    }
}

/// One metre by itself, looked at at these moments, s.
///
/// # Errors
///
/// As [`drive`].
pub fn one(programme: &Programme, length: f64, side: Side, looks: &[f64], settings: &Settings) -> Result<Metre, Error> {
    check(programme)?;
    let request = Request { looks: looks.to_vec(), ..Request::followed(length, side, 0) };
    metre::one(programme, &request, *settings)
}

/// What a programme cannot be driven for.
fn check(programme: &Programme) -> Result<(), Error> {
    let case = programme.case;
    checked_radii(case)?;
    let refused = |place: String, reason: &str| Err(Error::Unphysical { place, reason: reason.to_string() });
    if by_rate::moves(case) {
        let reason =
            "a line whose speed changes has no one cooling rate: leave `setting` and every `setting_shift` away";
        return refused("solver".to_string(), reason);
    }
    for section in &case.sections {
        let place = format!("section {:?}", section.name);
        if section.circulation.is_some() {
            let reason = "a line whose speed changes holds its water at one temperature: leave `flow` away";
            return refused(place, reason);
        }
        let stands = !programme.clock.standstills().is_empty();
        let turn = (section.passes > 1).then_some(&section.turn.film);
        for film in std::iter::once(&section.film).chain(turn) {
            if stands && !film.has_an_answer_at_rest() {
                let reason = "its film law divides by the line speed, so it has no answer at a standstill: give a `film`, or slow down instead";
                return refused(place, reason);
            }
        }
    }
    debug_assert!(!is_searched(case));
    Ok(())
}

/// Spoilt product: what the programme says, and where the preheater overheats a slow conductor.
fn spoilt(programme: &Programme) -> Vec<([f64; 2], Spoilt)> {
    let Programme { case, clock, first, last, .. } = *programme;
    let mut spans: Vec<([f64; 2], Spoilt)> = programme.spoilt.to_vec();
    let at = |speed: f64| Case { line_speed: speed, ..case.clone() }.die_temperature(0).0;
    if matches!(case.layers[0].temperature, DieTemperature::Preheated(_)) {
        // The temperature falls with the speed: bisect for where it is too high.
        let (mut low, mut high) = (0.0, case.line_speed);
        while 0.5 * (low + high) > low && 0.5 * (low + high) < high {
            let middle = 0.5 * (low + high);
            if at(middle) > OVERHEATED { low = middle } else { high = middle }
        }
        spans
            .extend(clock.slower_than(high).map(|times| (times.map(|time| clock.travelled(time)), Spoilt::Overheated)));
    }
    spans.retain(|([from, to], _)| to > from && *to > first && *from < last);
    sort_by_numbers(&mut spans, |(span, spoilt)| [span[0], f64::from(*spoilt as u8)]);
    // Behind a standstill a lump turns into a bare spot within some millionths of a millimetre: no product is between them.
    for index in 1..spans.len() {
        let before = spans[index - 1].0[1];
        if (0.0..=NOTHING).contains(&(spans[index].0[0] - before)) {
            spans[index].0[0] = before;
        }
    }
    spans
}

/// The spans of the product that are marched, between neighbouring breaks.
fn spans(programme: &Programme, spoilt: &[([f64; 2], Spoilt)]) -> Vec<[Break; 2]> {
    let mut breaks = pieces::breaks(programme);
    for length in spoilt.iter().flat_map(|(span, _)| *span) {
        if length > programme.first && length < programme.last {
            breaks.push(Break { length, jump: true });
        }
    }
    sort_by_number(&mut breaks, |at| at.length);
    breaks.dedup_by(|b, a| {
        // An end of spoilt product and the break it comes from differ by rounding.
        let same = b.length - a.length <= PARKED;
        a.jump |= same && b.jump;
        same
    });
    let is_spoilt = |length: f64| spoilt.iter().any(|([from, to], _)| *from < length && length < *to);
    let pairs = breaks.windows(2).map(|pair| [pair[0], pair[1]]);
    pairs.filter(|[a, b]| !is_spoilt(0.5 * (a.length + b.length))).collect()
}

impl Driven {
    /// What a station sees of a metre; none of spoilt product, and of what never gets there.
    ///
    /// At a jump of what stations see, `side` says of which side; a metre that is parked exactly at the station has come there,
    /// one that is parked at the end of a section is in that section.
    pub fn at(&self, station: usize, length: f64, side: Side) -> Option<Sight> {
        let here = || self.clock.parked(length + self.stations[station]).is_some();
        let before = side == Side::Before || (side == Side::At && here());
        let covers = |piece: &&Piece| {
            let [from, to] = piece.span();
            if before {
                from + PARKED < length && length <= to + PARKED
            } else {
                from - PARKED <= length && length < to - PARKED
            }
        };
        // Only the last piece has a metre at its end that no other begins with.
        let whole = |piece: &&Piece| (piece.span()[0] - PARKED..=piece.span()[1] + PARKED).contains(&length);
        let piece = self.pieces.iter().find(covers).or_else(|| self.pieces.iter().find(whole))?;
        piece.sight_at(&self.metres, station, length)
    }

    /// The metre that a station sees at a moment, m, and what is seen of it; none before the product comes and of spoilt product.
    pub fn seen(&self, station: usize, time: f64) -> Option<(f64, Sight)> {
        let parked =
            self.parked.iter().find(|parked| parked.station == station && parked.from <= time && time <= parked.to);
        if let Some(parked) = parked {
            return Some((parked.length, parked.at(time)));
        }
        let length = self.clock.travelled(time) - self.stations[station];
        Some((length, self.at(station, length, Side::At)?))
    }
}
