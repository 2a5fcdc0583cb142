//! Accumulators and changes of reel: how fast the reels run, what the accumulators hold, where they slow the line.
//!
//! The reel follows the line. At a change it brakes, stands, starts to (1 + e) times the speed that the programme asks of
//! the line, and keeps that until the content is back. With A the length that the line has run more than the reel,
//! L = L0 + A at the exit and L0 - A at the entry. A line that shall not fill it up brakes as late as is possible, so that A
//! is at most what room there is when line and reel are equally fast.

use super::speeds::{Speeds, crossing};
use crate::case::programme::{Accumulator, End, Full, ReelChange};
use crate::line::clock::{Clock, Piece};

/// An accumulator over the programme.
#[derive(Clone, Debug)]
pub struct Store {
    /// Its reel: take-up or pay-off.
    pub reel: Clock,
    line: Clock,
    place: End,
    start: f64,
    /// When the content is back behind each change of its reel, s; infinite where it never is.
    pub back: Vec<f64>,
    /// When each change of its reel begins, s.
    pub begins: Vec<f64>,
}

/// The content of an accumulator at a moment.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Content {
    /// s.
    #[serde(rename = "time_s")]
    pub time: f64,
    /// m.
    #[serde(rename = "content_m")]
    pub content: f64,
}

impl Store {
    /// An accumulator with this content at t = 0 between a line and a reel.
    pub fn new(place: End, content: f64, line: Clock, reel: Clock) -> Store {
        Store { reel, line, place, start: content, back: Vec::new(), begins: Vec::new() }
    }

    /// Its content, m: dL/dt is the line's speed less the take-up's at the exit, the pay-off's less the line's at the entry.
    pub fn content(&self, time: f64) -> f64 {
        let more = self.line.travelled(time) - self.reel.travelled(time);
        match self.place {
            End::Exit => self.start + more,
            End::Entry => self.start - more,
        }
    }

    /// The lowest and the highest content between two moments, each where it is first reached.
    pub fn extremes(&self, from: f64, to: f64) -> [Content; 2] {
        let mut times = vec![from, to];
        times.extend(self.corners(from, to));
        let faster = |time: f64| self.line.speed(time) - self.reel.speed(time);
        let mut turns = Vec::new();
        for pair in self.corners(from, to).windows(2) {
            // Within a corner's reach both are one motion; a hair inside, for at a jump the speed is that behind it.
            let inside = [pair[0], pair[1] - 1e-12 * pair[1].abs()];
            turns.extend(crossing(faster, inside[0], inside[1]));
        }
        times.extend(turns);
        times.sort_by(f64::total_cmp);
        let at = |time: f64| Content { time, content: self.content(time) };
        let mut found = [at(from); 2];
        for content in times.into_iter().map(at) {
            // A content that only rounding tells from one before it is that one.
            let hair = 1e-12 * content.content.abs().max(1.0);
            if content.content < found[0].content - hair {
                found[0] = content;
            }
            if content.content > found[1].content + hair {
                found[1] = content;
            }
        }
        found
    }

    /// When the content first comes to an amount between two moments, s.
    pub fn when(&self, amount: f64, from: f64, to: f64) -> Option<f64> {
        let mut times = self.corners(from, to);
        times.extend(self.extremes(from, to).map(|content| content.time));
        times.sort_by(f64::total_cmp);
        times.windows(2).find_map(|pair| crossing(|time| self.content(time) - amount, pair[0], pair[1]))
    }

    fn corners(&self, from: f64, to: f64) -> Vec<f64> {
        let mut corners: Vec<f64> = [&self.line, &self.reel]
            .iter()
            .flat_map(|clock| clock.corners().iter().copied())
            .filter(|&time| time > from && time < to)
            .chain([from, to])
            .collect();
        corners.sort_by(f64::total_cmp);
        corners.dedup();
        corners
    }
}

/// A change of reel that begins before the last one at its accumulator has recovered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NotRecovered {
    /// Index of the change in the programme.
    pub change: usize,
    /// When the content is back, s; infinite: never.
    pub back: f64,
}

/// The line as it runs, and its accumulators.
pub(super) struct Run {
    pub(super) line: Speeds,
    pub(super) stores: Vec<Store>,
    /// When the last content is back and the line at the speed asked for, s.
    pub(super) recovered: Option<f64>,
    /// Whether an accumulator has slowed the line.
    pub(super) slowed: bool,
}

/// The line with the reels at its ends; the changes are in order.
pub(super) fn run(accumulators: &[Accumulator], changes: &[ReelChange], asked: &Speeds) -> Result<Run, NotRecovered> {
    let mut line = asked.clone();
    let (mut slowed, mut recovered) = (false, None);
    for change in changes {
        let accumulator = &accumulators[change.accumulator];
        if let Some(slower) = slower(accumulator, change, asked, &line) {
            recovered = later(recovered, slower.differs_until(asked));
            (line, slowed) = (slower, true);
        }
    }
    let clock = line.clock();
    let mut stores = Vec::new();
    for (index, accumulator) in accumulators.iter().enumerate() {
        let (mut reel, mut back, mut begins) = (line.clone(), Vec::new(), Vec::new());
        for (number, change) in changes.iter().enumerate().filter(|(_, change)| change.accumulator == index) {
            if let Some(&before) = back.last()
                && before > change.at
            {
                return Err(NotRecovered { change: number, back: before });
            }
            let turn = Turn::of(change, asked, &line);
            let when = turn.back(&clock);
            begins.push(change.at);
            back.push(when);
            recovered = later(recovered, if when.is_finite() { when } else { turn.ends() });
            reel = turn.reel(&reel, &line, when);
        }
        let store = Store::new(accumulator.place, accumulator.content, clock.clone(), reel.clock());
        stores.push(Store { back, begins, ..store });
    }
    Ok(Run { line, stores, recovered, slowed })
}

fn later(known: Option<f64>, time: f64) -> Option<f64> {
    Some(known.map_or(time, |known| known.max(time)))
}

/// A change of reel on a line of known speeds: the reel until it catches up, and what it then does.
struct Turn {
    at: f64,
    /// Before it, and through braking, standstill and start.
    until: Speeds,
    /// As fast as it catches up, at every moment.
    catching: Speeds,
}

impl Turn {
    fn of(change: &ReelChange, asked: &Speeds, line: &Speeds) -> Turn {
        let ReelChange { at, brake, standstill, start, catch_up, .. } = *change;
        let catching = asked.times(1.0 + catch_up);
        let fast = catching.at(at + brake + standstill + start);
        let until = line
            .cut(at)
            .0
            .and(Piece::even(brake, line.at(at), 0.0))
            .and(Piece::hold(standstill, 0.0))
            .and(Piece::even(start, 0.0, fast));
        Turn { at, until, catching }
    }

    /// When the reel has started, s.
    fn ends(&self) -> f64 {
        self.until.ends()
    }

    /// The reel, catching up for ever.
    fn speeds(&self) -> Speeds {
        self.until.clone().then(self.catching.cut(self.ends()).1)
    }

    /// When the content is back, s; infinite where it never is.
    fn back(&self, line: &Clock) -> f64 {
        let reel = self.speeds().clock();
        let before = line.travelled(self.at) - reel.travelled(self.at);
        let more = |time: f64| line.travelled(time) - reel.travelled(time) - before;
        let started = self.ends();
        if more(started) <= 0.0 {
            return started;
        }
        let mut corners: Vec<f64> =
            line.corners().iter().chain(reel.corners()).copied().filter(|&time| time > started).collect();
        corners.sort_by(f64::total_cmp);
        let mut from = started;
        for to in corners {
            if let Some(back) = crossing(more, from, to) {
                return back;
            }
            from = to;
        }
        let gain = reel.last_speed() - line.last_speed();
        if gain > 0.0 { from + more(from) / gain } else { f64::INFINITY }
    }

    /// The reel of the whole programme: as before it, then this, then behind the line.
    fn reel(&self, before: &Speeds, line: &Speeds, back: f64) -> Speeds {
        let (before, _) = before.cut(self.at);
        let turning = self.speeds().cut(self.at).1;
        if back.is_finite() {
            before.then(turning.cut(back - self.at).0).then(line.cut(back).1)
        } else {
            before.then(turning)
        }
    }
}

/// The line slowed down so that the accumulator does not fill up (at the entry: run empty); none where it need not or must not.
fn slower(accumulator: &Accumulator, change: &ReelChange, asked: &Speeds, line: &Speeds) -> Option<Speeds> {
    let (brake, stops) = match accumulator.full {
        Full::Report => return None,
        Full::Slow(brake) => (brake, false),
        Full::Stop(brake) => (brake, true),
    };
    let room = match accumulator.place {
        End::Exit => accumulator.capacity - accumulator.reserve - accumulator.content,
        End::Entry => accumulator.content - accumulator.reserve,
    };
    let over = |line: &Speeds| most(change, asked, line) - room;
    if over(line) <= 0.0 {
        return None;
    }
    // The latest moment to brake from: what then comes to lie in the accumulator grows with it.
    let turn = Turn::of(change, asked, line);
    let fastest = line.clock().highest_speed();
    let mut early = (change.at - fastest / brake).max(0.0);
    let mut late = turn.ends().max(line.ends());
    if over(&braked(line, early, brake)) <= 0.0 {
        loop {
            let middle = 0.5 * (early + late);
            if middle <= early || middle >= late {
                break;
            }
            if over(&braked(line, middle, brake)) <= 0.0 { early = middle } else { late = middle }
        }
    }
    let slow = braked(line, early, brake);
    Some(if stops {
        stopped(line, &slow, early, brake, change, asked)
    } else {
        followed(line, &slow, brake, change, asked)
    })
}

/// The most that the line runs ahead of the reel from the change on, m.
fn most(change: &ReelChange, asked: &Speeds, line: &Speeds) -> f64 {
    let turn = Turn::of(change, asked, line);
    let store = Store::new(End::Exit, 0.0, line.clock(), turn.speeds().clock());
    let before = store.content(change.at);
    let ends = turn.ends().max(line.ends()) + 1.0;
    store.extremes(change.at, ends)[1].content - before
}

/// The line braked evenly from a moment on, to a standstill that lasts.
fn braked(line: &Speeds, from: f64, brake: f64) -> Speeds {
    let speed = line.at(from);
    let (before, behind) = line.cut(from);
    let down = Speeds::new(vec![Piece::even(speed / brake, speed, 0.0), Piece::hold(0.0, 0.0)]);
    before.then(behind.lower(&down))
}

/// A line that has come to the reel's speed goes with it, and returns to the speed asked for no faster than it brakes.
fn followed(line: &Speeds, slow: &Speeds, brake: f64, change: &ReelChange, asked: &Speeds) -> Speeds {
    let turn = Turn::of(change, asked, slow);
    let reel = turn.speeds();
    let (slow_clock, reel_clock) = (slow.clock(), reel.clock());
    let store = Store::new(End::Exit, 0.0, slow_clock, reel_clock);
    let met = store.extremes(change.at, turn.ends().max(slow.ends()))[1].time;
    let starts = change.at + change.brake + change.standstill;
    let fast = asked.times(1.0 + change.catch_up).at(turn.ends());
    // As the reel starts, but no faster than the line may.
    let rise = if change.start > 0.0 { brake.min(fast / change.start) } else { brake };
    let before = slow.cut(met).0;
    let standing = if met < starts { reel.between(met, starts) } else { Speeds::new(Vec::new()) };
    let from = if met < starts { 0.0 } else { reel.at(met) };
    let top = line.clock().highest_speed();
    let up =
        standing.and(Piece::even((top - from).max(0.0) / rise, from, top.max(from))).and(Piece::hold(0.0, f64::MAX));
    before.then(line.cut(met).1.lower(&up))
}

/// A line that stands until the content is back, and then returns to the speed asked for.
fn stopped(line: &Speeds, slow: &Speeds, from: f64, brake: f64, change: &ReelChange, asked: &Speeds) -> Speeds {
    let turn = Turn::of(change, asked, slow);
    let back = turn.back(&slow.clock());
    let stands = slow.clock().standstills().iter().map(|stop| stop.from).find(|&time| time >= from);
    if !back.is_finite() {
        return slow.clone();
    }
    let restart = back.max(stands.unwrap_or(back));
    let top = line.clock().highest_speed();
    let up = Speeds::new(vec![Piece::even(top / brake, 0.0, top), Piece::hold(0.0, f64::MAX)]);
    slow.cut(restart).0.then(line.cut(restart).1.lower(&up))
}
