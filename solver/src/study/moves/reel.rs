//! How large must an accumulator be for a change of reel, and what can the one that is built bridge?
//!
//! The reel brakes in t_b, stands t_n, starts in t_a to (1 + e) times the line speed v and keeps that until the content is back. At
//! a constant v the line runs ahead of it by
//!
//! dL = v (t_n + t_b/2 + t_a/(2(1 + e))),
//!
//! so the room of an accumulator gives the longest t_n, or the speed at which it suffices. A line that brakes with a only when the
//! reel begins to brake comes to u by  u^2/(2a) + u (t_n + t_b + t_a/(2(1+e)) - v/a) + v^2/(2a) - v t_b/2 = room.

use serde::Serialize;

use super::ramps::change;
use super::{MoveError, Outcome, tail, with_motions};
use crate::case::CaseFile;
use crate::case::programme::{Accumulator, End, Full, Programme, ReelChange};
use crate::line::programme::Motions;
use crate::study::search::told::as_printed;
use crate::units::{Dimension, Printed, System, Toward, printed};

/// Where a case has no change of reel: the reel brakes in so many s. Common practice, no source.
const BRAKES: f64 = 6.0;
/// It starts in so many s. Common practice, no source.
const STARTS: f64 = 10.0;
/// It then runs so much faster. Common practice, no source.
const CATCHES_UP: f64 = 0.15;
/// Where a case does not say how the line brakes, m/s2: 6 m/min in a second. Common practice, no source.
const LINE_BRAKES: f64 = 0.1;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Asked {
    /// For how long the reel stands, s; none: as the case's change of reel says.
    pub standstill: Option<f64>,
    /// The line speed, m/s; none: that of the case.
    pub speed: Option<f64>,
    /// The accumulator by its name; none: that of the case's change of reel, or the first.
    pub accumulator: Option<String>,
    /// Units in which answers are printed.
    pub print: System,
}

/// A change of reel at a constant line speed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Turn {
    /// The reel brakes in so many s.
    #[serde(rename = "brake_s")]
    pub brake: f64,
    /// It stands for so many s.
    #[serde(rename = "standstill_s")]
    pub standstill: f64,
    /// It starts in so many s.
    #[serde(rename = "start_s")]
    pub start: f64,
    /// By what share it then runs faster.
    pub catch_up: f64,
}

impl Turn {
    /// Time at full line speed that makes as much product as the reel leaves behind, s.
    pub fn waits(self) -> f64 {
        self.standstill + 0.5 * self.brake + 0.5 * self.start / (1.0 + self.catch_up)
    }

    /// From the moment at which the reel brakes until it has caught up, s, at a constant line speed.
    pub fn recovers(self) -> f64 {
        let e = self.catch_up;
        // While the reel goes from the line's speed to its own it already gains.
        let gained = 0.5 * e * e * self.start / (1.0 + e);
        self.brake + self.standstill + self.start + (self.waits() - gained) / e
    }

    /// The speed, m/s, that a line at `speed` comes to which brakes with `rate` only when the reel does, so that it runs ahead by
    /// `room`, m; none where it cannot: it has to brake before.
    pub fn braked_with_the_reel(self, speed: f64, rate: f64, room: f64) -> Option<f64> {
        let linear = self.waits() + 0.5 * self.brake - speed / rate;
        let rest = 0.5 * speed * (speed / rate - self.brake) - room;
        let square = linear * linear - 2.0 * rest / rate;
        let to = rate * (square.max(0.0).sqrt() - linear);
        // It has come to that speed before the reel is as fast.
        let meets = self.brake + self.standstill + self.start / (1.0 + self.catch_up);
        (square >= 0.0 && to > 0.0 && to < speed && (speed - to) / rate <= meets).then_some(to)
    }
}

/// What the accumulator that is built can do.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Built {
    /// Its name.
    pub name: String,
    /// What it holds, m.
    #[serde(rename = "capacity_m")]
    pub capacity: f64,
    /// What it holds at the start, m.
    #[serde(rename = "content_m")]
    pub content: f64,
    /// What is never used, m.
    #[serde(rename = "reserve_m")]
    pub reserve: f64,
    /// Length that the line may run ahead of the reel, m.
    #[serde(rename = "room_m")]
    pub room: f64,
    /// How long the reel may stand at the line speed, s; below zero: not even a change without a standstill.
    #[serde(rename = "longest_standstill_s")]
    pub longest: f64,
    /// How the line has to slow down; none where it need not.
    pub slow: Option<Slow>,
}

/// How a line slows down for a change of reel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Slow {
    /// The highest speed at which the room suffices, m/s.
    #[serde(rename = "to_m_s")]
    pub to: f64,
    /// As it is printed, rounded down: this is driven.
    #[serde(serialize_with = "as_printed")]
    pub printed: Printed,
    /// How long before the change the line has to begin to brake, s, to the printed speed.
    #[serde(rename = "before_s")]
    pub before: f64,
    /// How the line brakes, m/s2.
    #[serde(rename = "brake_m_s2")]
    pub rate: f64,
    /// The speed where it brakes only when the reel does, m/s; none where that is too late.
    #[serde(rename = "to_if_late_m_s")]
    pub late: Option<f64>,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Reel {
    /// Line speed, m/s.
    pub speed: f64,
    /// At which end of the line.
    pub place: End,
    /// The change.
    pub turn: Turn,
    /// Whether the change is the case's; else what is usual was taken but for the standstill.
    pub turn_of_case: bool,
    /// Whether the case says how the line brakes.
    pub brake_of_case: bool,
    /// By how much the line runs ahead of the reel at its speed, m.
    pub ahead: f64,
    /// Capacity that bridges it, m: with the content at the start and the reserve of the one that is built.
    pub needed: f64,
    /// The one that is built.
    pub built: Option<Built>,
    /// When the content is back, s after the reel begins to brake; none where it never is.
    pub back: Option<f64>,
    /// From when the reel has started until then, s.
    pub refill: Option<f64>,
    /// The shortest reel, m: behind its change the content is back just when the next one begins.
    pub shortest_reel: Option<f64>,
    /// Lowest and highest content in the programme that was driven, m.
    pub contents: [f64; 2],
    /// The programme that was driven: slowed where that is needed.
    pub case: CaseFile,
    /// Its motions.
    pub motions: Motions,
    /// What becomes of its product, at the case's tolerance.
    pub outcome: Outcome,
}

/// Answers for a case.
///
/// # Errors
///
/// No accumulator of that name; no standstill; a metre has no answer.
pub fn reel(case: &CaseFile, asked: &Asked) -> Result<Reel, MoveError> {
    let programme = &case.programme;
    let of_change = programme.reel_changes.first().map(|change| change.accumulator);
    let index = match &asked.accumulator {
        Some(name) => Some(programme.accumulators.iter().position(|one| one.name == *name).ok_or_else(|| {
            let known = programme.accumulators.iter().map(|one| one.name.clone()).collect();
            MoveError::NoAccumulator { name: name.clone(), known }
        })?),
        None => of_change.or_else(|| (!programme.accumulators.is_empty()).then_some(0)),
    };
    let change = programme.reel_changes.iter().find(|change| Some(change.accumulator) == index);
    let Some(standstill) = asked.standstill.or(change.map(|change| change.standstill)) else {
        return Err(MoveError::NoStandstill);
    };
    let turn = change.map_or(Turn { brake: BRAKES, standstill, start: STARTS, catch_up: CATCHES_UP }, |change| Turn {
        brake: change.brake,
        standstill,
        start: change.start,
        catch_up: change.catch_up,
    });
    let built = index.map(|index| &programme.accumulators[index]);
    let speed = asked.speed.unwrap_or(programme.starts_at.unwrap_or(case.line_speed));
    let ahead = speed * turn.waits();
    let rate = built.and_then(|one| match one.full {
        Full::Slow(rate) | Full::Stop(rate) => Some(rate),
        Full::Report => None,
    });
    let (rate, brake_of_case) = match rate.or(case.plant.ramp_max) {
        Some(rate) => (rate, true),
        None => (LINE_BRAKES, false),
    };
    let place = built.map_or(End::Exit, |one| one.place);
    let [content, reserve] = built.map_or([0.0; 2], |one| [one.content, one.reserve]);
    let needed = match place {
        End::Exit => content + ahead + reserve,
        End::Entry => ahead + reserve,
    };
    let built = built.map(|one| bridged(one, speed, turn, rate, asked.print));
    if let Some(built) = built.as_ref().filter(|built| built.room <= 0.0) {
        return Err(MoveError::NoRoom(built.name.clone()));
    }
    let slow = built.as_ref().and_then(|built| built.slow.as_ref());
    let capacity = built.as_ref().map_or(needed, |built| built.capacity);
    let content = match place {
        _ if built.is_some() => content,
        End::Exit => 0.0,
        End::Entry => needed,
    };
    let name = built.as_ref().map_or(place.name().to_string(), |built| built.name.clone());
    let accumulator = Accumulator { name, place, capacity, content, reserve, full: Full::Report };
    let turned = turned(case, accumulator, turn, speed, slow);
    let (outcome, motions) = with_motions(&turned, true)?;
    let store = &motions.stores[0];
    let begins = store.begins.first().copied().unwrap_or(0.0);
    let back = store.back.first().map(|time| time - begins).filter(|time| time.is_finite());
    let refill = back.map(|back| back - turn.brake - turn.standstill - turn.start);
    let shortest_reel = back.map(|back| motions.clock.travelled(begins + back) - motions.clock.travelled(begins));
    let [lowest, highest] = store.extremes(0.0, motions.ends);
    Ok(Reel {
        speed,
        place,
        turn,
        turn_of_case: change.is_some(),
        brake_of_case,
        ahead,
        needed,
        built,
        back,
        refill,
        shortest_reel,
        contents: [lowest.content, highest.content],
        case: turned,
        motions,
        outcome,
    })
}

/// What the accumulator that is built can do.
fn bridged(one: &Accumulator, speed: f64, turn: Turn, rate: f64, print: System) -> Built {
    let room = match one.place {
        End::Exit => one.capacity - one.content - one.reserve,
        End::Entry => one.content - one.reserve,
    };
    let longest = room / speed - (turn.waits() - turn.standstill);
    let slow = (speed * turn.waits() > room).then(|| {
        let to = room.max(0.0) / turn.waits();
        let printed = printed(to, Dimension::Speed, print, Toward::Less, 0);
        let before = (speed - printed.si) / rate;
        Slow { to, printed, before, rate, late: turn.braked_with_the_reel(speed, rate, room) }
    });
    Built {
        name: one.name.clone(),
        capacity: one.capacity,
        content: one.content,
        reserve: one.reserve,
        room,
        longest,
        slow,
    }
}

/// The programme of the change: slowed before it where that is needed, and back to speed when the reel has started.
fn turned(case: &CaseFile, accumulator: Accumulator, turn: Turn, speed: f64, slow: Option<&Slow>) -> CaseFile {
    // A room of nothing lets nothing run: such a line stands.
    let (changes, at) = slow.map_or((Vec::new(), 0.0), |slow| {
        let started = turn.brake + turn.standstill + turn.start;
        let changes = vec![
            change("slow for the reel", slow.printed.si, slow.rate, started),
            change("back to speed", speed, slow.rate, tail(case, speed)),
        ];
        (changes, slow.before)
    });
    let Turn { brake, standstill, start, catch_up } = turn;
    let programme = Programme {
        starts_at: Some(speed),
        crosshead: case.programme.crosshead,
        changes,
        accumulators: vec![accumulator],
        reel_changes: vec![ReelChange { accumulator: 0, at, brake, standstill, start, catch_up }],
        ..Programme::default()
    };
    CaseFile { programme, ..case.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::programme::{Change, Ramp};

    /// The figures of a line at 240 m/min with 150 m at its exit, braking with 6 m/min in a second: computed independently for this
    /// project.
    #[test]
    fn a_line_slows_down_before_the_change_or_with_it() {
        let turn = Turn { brake: 0.0, standstill: 60.0, start: 0.0, catch_up: 0.15 };
        let slow = |speed: f64| 150.0 / turn.waits() < speed / 60.0;
        // 150 m are 60 s at 150 m/min, 37.5 s at 240.
        assert!((150.0 / (150.0 / 60.0) - turn.waits()).abs() < 1e-12 && !slow(150.0) && slow(240.0));
        assert!((150.0 / (240.0 / 60.0) - 37.5f64).abs() < 1e-12);
        // 150 m/min before the change, which is 15 s of braking.
        let to = 150.0 / turn.waits();
        assert!((to * 60.0 - 150.0).abs() < 1e-9 && ((240.0 / 60.0 - to) / 0.1 - 15.0).abs() < 1e-9);
        let late = turn.braked_with_the_reel(4.0, 0.1, 150.0);
        assert!(late.is_some_and(|late| (late * 60.0 - 134.6).abs() < 0.05), "{late:?}");
    }

    /// The closed forms against the motions of the same change, which know nothing of them.
    #[test]
    fn the_closed_forms_are_those_of_the_motions() {
        use crate::line::programme::{Store, motions};
        for (brake, standstill, start, catch_up, speed) in
            [(6.0, 40.0, 10.0, 0.15, 2.5), (0.0, 60.0, 0.0, 0.05, 4.0), (3.0, 5.0, 20.0, 1.0, 0.2)]
        {
            let turn = Turn { brake, standstill, start, catch_up };
            let of = |changes: Vec<Change>, at: f64| {
                let accumulator = Accumulator {
                    name: String::new(),
                    place: End::Exit,
                    capacity: 1e9,
                    content: 0.0,
                    reserve: 0.0,
                    full: Full::Report,
                };
                let reel_changes = vec![ReelChange { accumulator: 0, at, brake, standstill, start, catch_up }];
                let programme = Programme {
                    starts_at: Some(speed),
                    changes,
                    accumulators: vec![accumulator],
                    reel_changes,
                    ..Programme::default()
                };
                motions(&programme, speed, 20.0).map(|motions| motions.stores[0].clone()).ok()
            };
            let highest = |store: &Store| store.extremes(0.0, 1e4)[1].content;
            let store = of(Vec::new(), 7.0);
            let found = store.as_ref().map(|store| [highest(store), store.back[0] - 7.0]);
            let expected = [speed * turn.waits(), turn.recovers()];
            assert!(
                found.is_some_and(|found| (0..2).all(|i| (found[i] / expected[i] - 1.0).abs() < 1e-9)),
                "{found:?} {expected:?}"
            );
            // Braked with the reel to the speed that leaves three quarters of that.
            let room = 0.75 * expected[0];
            let Some(to) = turn.braked_with_the_reel(speed, 0.1, room) else { continue };
            let change = Change { name: String::new(), after: 7.0, to, ramp: Ramp::Even(0.1), hold: Some(1e4) };
            let found = of(vec![change], 7.0).map(|store| highest(&store));
            // The reel starts to more than the speed asked for at its end, which is `to` by then.
            assert!(found.is_some_and(|found| (found / room - 1.0).abs() < 1e-9), "{found:?} {room}");
        }
    }
}
