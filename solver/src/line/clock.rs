//! The clock of a line: when a length has passed, how far the line has come, how fast it runs.
//!
//! The speed v(t) is a chain of pieces: even ramps (holds among them) and percent ramps, with jumps between them. Before the
//! first the line has always run at the speed with which that begins, behind the last it goes on for ever at the speed with
//! which that ends. The travelled length S(t) is the integral of v, 0 at t = 0. With the acceleration a, or the growth r of a percent
//! ramp, and d the time since the piece began:
//!
//! S = S1 + v1 d + a d^2/2,  d = 2 dS/(v1 + sqrt(v1^2 + 2 a dS));   S = S1 + v1 (e^(r d) - 1)/r,  d = ln(1 + r dS/v1)/r,
//!
//! never by the difference of two roots. Metre s of the product leaves the die when S = s and is at x when S = s + x. While the
//! line stands S is flat: a metre that is parked at x comes there when the standstill begins and leaves when it ends.

/// Two lengths that differ by less are one, m: a metre parked so near a place is parked there.
pub const PARKED: f64 = 1e-9;

/// How the speed goes from one end of a piece to the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Course {
    /// Linear in time; a hold where both ends are the same.
    Even,
    /// By the same share in every second: v1 e^(r d). Neither end may be 0.
    Percent,
}

/// A piece of a programme of speeds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// s; a piece of 0 s is left away, and what lies on both sides of it is a jump.
    pub duration: f64,
    /// Speed with which it begins, m/s.
    pub from: f64,
    /// Speed with which it ends, m/s.
    pub to: f64,
    /// How it gets there.
    pub course: Course,
}

impl Piece {
    /// So long at one speed.
    pub fn hold(duration: f64, speed: f64) -> Piece {
        Piece { duration, from: speed, to: speed, course: Course::Even }
    }

    /// From one speed to another, linear in time.
    pub fn even(duration: f64, from: f64, to: f64) -> Piece {
        Piece { duration, from, to, course: Course::Even }
    }

    /// From one speed to another by the same share in every second.
    pub fn percent(duration: f64, from: f64, to: f64) -> Piece {
        Piece { duration, from, to, course: Course::Percent }
    }
}

/// A standstill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standstill {
    /// Travelled length at which the line stands, m.
    pub travelled: f64,
    /// When it begins, s.
    pub from: f64,
    /// When it ends, s; infinite where the line stands at the end of the programme. The same as `from` where the speed only
    /// touches 0.
    pub to: f64,
}

/// On which side of a standstill a metre is that is parked exactly at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// Just before it in the product, s - 0: it passed the place just before the line stood.
    Before,
    /// Exactly there: it came to the place, and is in what ends there until the line moves.
    At,
    /// Just behind it in the product, s + 0: it comes to the place when the line moves again.
    Behind,
}

/// A motion that does not change its law: since when, from where, how fast, with what acceleration or growth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// When it began, s.
    pub since: f64,
    /// Where it was then, m.
    pub from: f64,
    /// Its speed then, m/s.
    pub speed: f64,
    /// m/s2; 0 in a percent ramp.
    pub acceleration: f64,
    /// 1/s; 0 but in a percent ramp.
    pub growth: f64,
}

impl Motion {
    /// Always at one speed, from place 0 at time 0.
    pub fn steady(speed: f64) -> Motion {
        Motion { since: 0.0, from: 0.0, speed, acceleration: 0.0, growth: 0.0 }
    }

    /// Whether the speed changes.
    pub fn changes(&self) -> bool {
        self.acceleration != 0.0 || self.growth != 0.0
    }

    /// Where it is, m.
    pub fn place(&self, time: f64) -> f64 {
        let late = time - self.since;
        if self.growth != 0.0 {
            return self.from + self.speed * libm::expm1(self.growth * late) / self.growth;
        }
        self.from + late * (self.speed + 0.5 * self.acceleration * late)
    }

    /// How fast it is, m/s.
    pub fn speed(&self, time: f64) -> f64 {
        let late = time - self.since;
        if self.growth != 0.0 {
            return self.speed * libm::exp(self.growth * late);
        }
        (self.speed + self.acceleration * late).max(0.0)
    }

    /// How fast that changes, m/s2.
    pub fn acceleration(&self, time: f64) -> f64 {
        self.acceleration + self.growth * self.speed(time)
    }

    /// When it comes to a place, s; not before it began, infinite where it never does.
    pub fn when(&self, place: f64) -> f64 {
        let ahead = place - self.from;
        if ahead <= 0.0 && (self.changes() || self.speed == 0.0) {
            return self.since;
        }
        if self.growth != 0.0 {
            return self.since + libm::log1p(self.growth * ahead / self.speed) / self.growth;
        }
        if self.acceleration == 0.0 {
            return self.since + ahead / self.speed;
        }
        let square = (self.speed * self.speed + 2.0 * self.acceleration * ahead).max(0.0);
        self.since + 2.0 * ahead / (self.speed + square.sqrt())
    }

    /// When it is as fast as that, s; none where it never is or always.
    pub fn when_as_fast(&self, speed: f64) -> Option<f64> {
        let late = if self.growth != 0.0 {
            libm::log(speed / self.speed) / self.growth
        } else {
            (speed - self.speed) / self.acceleration
        };
        late.is_finite().then_some(self.since + late)
    }

    /// The same motion, its times counted from `since` and its places from `from`.
    fn seen_from(&self, since: f64, from: f64) -> Motion {
        Motion { since: self.since - since, from: self.from - from, ..*self }
    }
}

/// What is wrong with a chain of pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockError {
    /// There is no piece.
    Empty,
    /// A duration below 0, or no number; which piece.
    Duration(usize),
    /// A speed below 0, or no number; which piece.
    Speed(usize),
    /// A percent ramp from or to 0; which piece.
    PercentOfZero(usize),
}

/// The clock of a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Clock {
    /// Always at one speed: no piece, and the first motion is that.
    motions: Vec<Motion>,
    /// When each motion begins but for the first, which has always been; the last goes on for ever.
    corners: Vec<f64>,
    standstills: Vec<Standstill>,
}

impl Clock {
    /// A line that always runs at one speed.
    pub fn constant(speed: f64) -> Clock {
        Clock { motions: vec![Motion::steady(speed)], corners: Vec::new(), standstills: Vec::new() }
    }

    /// The clock of a chain of pieces, the first of which begins at t = 0.
    ///
    /// ```
    /// use quenchway::line::clock::{Clock, Piece, Side};
    /// // 2.5 m/s for 10 s, braked in 5 s, at rest for 60 s, started in 20 s.
    /// let pieces = [Piece::hold(10.0, 2.5), Piece::even(5.0, 2.5, 0.0), Piece::hold(60.0, 0.0), Piece::even(20.0, 0.0, 2.5)];
    /// let clock = Clock::new(&pieces).unwrap();
    /// assert_eq!(clock.travelled(15.0), 31.25);
    /// assert_eq!((clock.speed(12.5), clock.speed(40.0), clock.speed(200.0)), (1.25, 0.0, 2.5));
    /// assert_eq!([Side::Before, Side::At, Side::Behind].map(|side| clock.arrives(31.25, side)), [15.0, 15.0, 75.0]);
    /// assert_eq!(clock.leaves(31.25, Side::At), 75.0);
    /// ```
    ///
    /// # Errors
    ///
    /// No piece; a duration or speed below 0 or no number; a percent ramp from or to 0.
    pub fn new(pieces: &[Piece]) -> Result<Clock, ClockError> {
        let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else { return Err(ClockError::Empty) };
        let mut motions = vec![Motion::steady(first.from)];
        let mut corners: Vec<f64> = Vec::new();
        let (mut time, mut travelled) = (0.0, 0.0);
        let mut push = |motion: Motion| {
            // A motion that goes on as the one before it is no other one.
            let goes_on = motions
                .last()
                .is_some_and(|before| !before.changes() && !motion.changes() && before.speed == motion.speed);
            if !goes_on {
                corners.push(motion.since);
                motions.push(motion);
            }
        };
        for (index, piece) in pieces.iter().enumerate() {
            let Piece { duration, from, to, course } = *piece;
            if !(duration >= 0.0 && duration.is_finite()) {
                return Err(ClockError::Duration(index));
            }
            if !(from >= 0.0 && to >= 0.0 && from.is_finite() && to.is_finite()) {
                return Err(ClockError::Speed(index));
            }
            if course == Course::Percent && (from == 0.0 || to == 0.0) {
                return Err(ClockError::PercentOfZero(index));
            }
            if duration == 0.0 {
                continue;
            }
            let (acceleration, growth) = match course {
                Course::Even => ((to - from) / duration, 0.0),
                Course::Percent => (0.0, libm::log(to / from) / duration),
            };
            let motion = Motion { since: time, from: travelled, speed: from, acceleration, growth };
            push(motion);
            time += duration;
            travelled = match course {
                Course::Even => travelled + 0.5 * (from + to) * duration,
                Course::Percent => motion.place(time),
            };
        }
        push(Motion { since: time, from: travelled, ..Motion::steady(last.to) });
        let standstills = standstills(&motions, &corners);
        Ok(Clock { motions, corners, standstills })
    }

    /// Whether the line always runs at one speed, and which.
    pub fn always(&self) -> Option<f64> {
        self.corners.is_empty().then(|| self.motions[0].speed)
    }

    /// The moments at which the law of the motion changes, s: corners and jumps of the speed.
    pub fn corners(&self) -> &[f64] {
        &self.corners
    }

    /// The standstills in order.
    pub fn standstills(&self) -> &[Standstill] {
        &self.standstills
    }

    /// The speed before the programme, m/s.
    pub fn first_speed(&self) -> f64 {
        self.motions[0].speed
    }

    /// The speed behind the programme, m/s.
    pub fn last_speed(&self) -> f64 {
        self.motions[self.motions.len() - 1].speed
    }

    /// The highest speed of all times, m/s.
    pub fn highest_speed(&self) -> f64 {
        self.highest_speed_within(f64::NEG_INFINITY, f64::INFINITY)
    }

    /// The highest speed between two moments, m/s.
    pub fn highest_speed_within(&self, from: f64, to: f64) -> f64 {
        let (first, last) = (self.number_at(from), self.number_at(to));
        (first..=last).fold(0.0, |highest: f64, number| {
            let motion = &self.motions[number];
            let begins = if number == first && number > 0 { from } else { motion.since };
            let ends = self.corners.get(number).map_or(to, |&corner| corner.min(to));
            let ends = if motion.changes() { motion.speed(ends) } else { motion.speed };
            highest.max(motion.speed(begins.max(motion.since))).max(ends)
        })
    }

    /// Which motion holds at a moment; at a corner that which begins there.
    fn number_at(&self, time: f64) -> usize {
        self.corners.partition_point(|&corner| corner <= time)
    }

    /// The motion of a moment; at a corner that which begins there.
    pub fn motion(&self, time: f64) -> &Motion {
        &self.motions[self.number_at(time)]
    }

    /// Line speed at a moment, m/s; at a jump that behind it.
    pub fn speed(&self, time: f64) -> f64 {
        self.motion(time).speed(time)
    }

    /// As [`Clock::speed`], and with [`Side::Before`] that before a jump, m/s.
    pub fn speed_beside(&self, time: f64, side: Side) -> f64 {
        if side != Side::Before {
            return self.speed(time);
        }
        self.motions[self.corners.partition_point(|&corner| corner < time)].speed(time)
    }

    /// Travelled length at a moment, m.
    pub fn travelled(&self, time: f64) -> f64 {
        self.motion(time).place(time)
    }

    /// The moments at which a changing speed is just so high, s.
    pub(crate) fn times_as_fast(&self, speed: f64) -> Vec<f64> {
        let mut times = Vec::new();
        for (number, motion) in self.motions.iter().enumerate().filter(|(_, motion)| motion.changes()) {
            let until = self.corners.get(number).copied().unwrap_or(f64::INFINITY);
            times.extend(motion.when_as_fast(speed).filter(|&time| motion.since <= time && time <= until));
        }
        times
    }

    /// The spans of time in which the line is slower than that, s, from the start of the programme to its last corner.
    pub(crate) fn slower_than(&self, speed: f64) -> impl Iterator<Item = [f64; 2]> {
        let mut moments: Vec<f64> = self.times_as_fast(speed);
        moments.extend(&self.corners);
        moments.sort_by(f64::total_cmp);
        let spans: Vec<[f64; 2]> = moments.windows(2).map(|pair| [pair[0], pair[1]]).collect();
        let slow = move |span: &[f64; 2]| self.speed(0.5 * (span[0] + span[1])) < speed;
        spans.into_iter().filter(slow).collect::<Vec<_>>().into_iter()
    }

    /// When a travelled length is reached, s; infinite where it never is.
    ///
    /// A length at which the line stands is reached when the standstill begins, and with [`Side::Behind`] when it ends.
    pub fn arrives(&self, travelled: f64, side: Side) -> f64 {
        match self.parked(travelled) {
            Some(standstill) if side == Side::Behind => standstill.to,
            Some(standstill) => standstill.from,
            None => self.when(travelled),
        }
    }

    /// When a travelled length is left behind, s: as [`Clock::arrives`], but a length at which the line stands is left when the
    /// standstill ends, and with [`Side::Before`] when it begins.
    pub fn leaves(&self, travelled: f64, side: Side) -> f64 {
        match self.parked(travelled) {
            Some(standstill) if side == Side::Before => standstill.from,
            Some(standstill) => standstill.to,
            None => self.when(travelled),
        }
    }

    /// The standstill in which a length is parked.
    pub fn parked(&self, travelled: f64) -> Option<&Standstill> {
        self.standstills.iter().find(|standstill| (travelled - standstill.travelled).abs() <= PARKED)
    }

    fn when(&self, travelled: f64) -> f64 {
        // The last motion that begins before that length; where several begin there, the first of them.
        let number = self.motions[1..].partition_point(|motion| motion.from < travelled);
        let when = self.motions[number].when(travelled);
        self.corners.get(number).map_or(when, |&corner| when.min(corner))
    }

    /// The motions from one moment to another, as they are seen with times counted from the first of them and places from `from`;
    /// the first holds from the start.
    pub(super) fn motions_within(&self, [start, end]: [f64; 2], from: f64) -> impl Iterator<Item = Motion> {
        let first = self.number_at(start);
        let last = if end > start { self.corners.partition_point(|&corner| corner < end) } else { first };
        (first..=last.max(first)).map(move |number| self.motions[number].seen_from(start, from))
    }
}

/// Where the motions of a clock stand; neighbours are one standstill.
fn standstills(motions: &[Motion], corners: &[f64]) -> Vec<Standstill> {
    let mut found: Vec<Standstill> = Vec::new();
    for (number, motion) in motions.iter().enumerate() {
        let ends = corners.get(number).copied().unwrap_or(f64::INFINITY);
        let travelled = motion.from;
        if !motion.changes() && motion.speed == 0.0 {
            let from = if number == 0 { f64::NEG_INFINITY } else { motion.since };
            found.push(Standstill { travelled, from, to: ends });
            continue;
        }
        // The speed comes to 0 and rises at once.
        let touches = motion.changes()
            && motion.speed == 0.0
            && number > 0
            && motions[number - 1].changes()
            && found.last().is_none_or(|last| last.to < motion.since);
        if touches {
            found.push(Standstill { travelled, from: motion.since, to: motion.since });
        }
    }
    found
}

#[cfg(test)]
mod tests;
