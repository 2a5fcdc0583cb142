//! The programme of a case as motion: speeds of line and reels, contents of accumulators, outputs of the extruders.
//!
//! Nothing here depends on a temperature. Speeds are chains of even and percent ramps, so every length and every moment is in
//! closed form, but for the moments at which two of them meet: those are found to the last digit.

mod extruder;
mod head;
mod reels;
mod speeds;

pub use extruder::{BARE, Extruder, LUMP};
pub use head::{Residence, residence};
pub use reels::{Content, NotRecovered, Store};

use speeds::Speeds;

use crate::case::CaseFile;
use crate::case::programme::{Change, Programme, Ramp};
use crate::line::clock::{Clock, Piece, Side};

/// A stretch of the programme: from the beginning of a change to the beginning of the next.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Phase {
    /// The change's name; "start" before the first.
    pub name: String,
    /// s.
    #[serde(rename = "from_s")]
    pub from: f64,
    /// s.
    #[serde(rename = "to_s")]
    pub to: f64,
    /// The speed that it leads to, m/s.
    #[serde(rename = "speed_m_s")]
    pub speed: f64,
}

/// What the line does.
#[derive(Clone, Debug)]
pub struct Motions {
    /// The line.
    pub clock: Clock,
    /// Its changes, in order.
    pub phases: Vec<Phase>,
    /// End of the programme, s.
    pub ends: f64,
    /// The accumulators, in the order of the case file.
    pub stores: Vec<Store>,
}

impl Motions {
    /// Of a case. A line that an accumulator slows down or stops runs below the speed that its programme says.
    ///
    /// # Errors
    ///
    /// A change of reel that begins before the last one at its accumulator has recovered.
    pub fn of(case: &CaseFile) -> Result<Motions, NotRecovered> {
        motions(&case.programme, case.line_speed, case.line_length())
    }

    /// Product that leaves the die during the programme, m: so much passes any place of a line that was full at its start.
    pub fn made(&self) -> f64 {
        self.clock.travelled(self.ends)
    }

    /// When what is at `distance` from the die at a moment left the die, and how long ago, s.
    ///
    /// The delay in metres of product is the distance at every speed.
    pub fn delay(&self, time: f64, distance: f64) -> [f64; 2] {
        let left = self.clock.arrives(self.clock.travelled(time) - distance, Side::At);
        [left, time - left]
    }

    /// Stretches of conductor that stood between preheater and die, by product length, m: scrap of every standstill.
    pub fn crossheads(&self, crosshead: f64) -> Vec<[f64; 2]> {
        let stops = self.clock.standstills().iter().filter(|stop| stop.to > stop.from && stop.from.is_finite());
        stops.map(|stop| [stop.travelled, stop.travelled + crosshead]).filter(|_| crosshead > 0.0).collect()
    }
}

/// The motions of a programme on a line of this speed and length, m.
pub(crate) fn motions(programme: &Programme, line_speed: f64, length: f64) -> Result<Motions, NotRecovered> {
    let first = programme.starts_at.unwrap_or(line_speed);
    let (asked, phases) = asked(&programme.changes, first, length);
    let run = reels::run(&programme.accumulators, &programme.reel_changes, &asked)?;
    let clock = run.line.clock();
    // Where the reels are back later than the line's last change, until what left the die then has left the line.
    let last = clock.last_speed();
    let late = run.recovered.filter(|_| last > 0.0).map(|time| {
        let out = clock.arrives(clock.travelled(time) + length, Side::At);
        if programme.changes.is_empty() || run.slowed { out } else { time }
    });
    let ends = asked.ends().max(late.unwrap_or(0.0));
    let phases = close(phases, ends, &programme.changes, first);
    Ok(Motions { clock, phases, ends, stores: run.stores })
}

/// The speeds that the changes ask for, and when each of them begins.
fn asked(changes: &[Change], first: f64, length: f64) -> (Speeds, Vec<f64>) {
    let (mut pieces, mut begins) = (Vec::new(), Vec::new());
    let (mut speed, mut time) = (first, 0.0);
    for change in changes {
        let ramp = change.ramp.duration(speed, change.to);
        let ramped = match change.ramp {
            Ramp::Percent(_) => Piece::percent(ramp, speed, change.to),
            Ramp::Within(_) | Ramp::Even(_) => Piece::even(ramp, speed, change.to),
        };
        let hold = change.hold.unwrap_or(if change.to > 0.0 { length / change.to } else { 0.0 });
        begins.push(time + change.after);
        pieces.extend([Piece::hold(change.after, speed), ramped, Piece::hold(hold, change.to)]);
        time += change.after + ramp + hold;
        speed = change.to;
    }
    if pieces.is_empty() {
        return (Speeds::constant(first), begins);
    }
    (Speeds::new(pieces), begins)
}

/// The phases with their ends.
fn close(begins: Vec<f64>, ends: f64, changes: &[Change], first: f64) -> Vec<Phase> {
    let mut phases = Vec::new();
    let until = begins.first().copied().unwrap_or(ends);
    if until > 0.0 {
        phases.push(Phase { name: "start".to_string(), from: 0.0, to: until, speed: first });
    }
    for (index, change) in changes.iter().enumerate() {
        let to = begins.get(index + 1).copied().unwrap_or(ends);
        phases.push(Phase { name: change.name.clone(), from: begins[index], to, speed: change.to });
    }
    phases
}

#[cfg(test)]
mod tests;
