//! Speeds as chains of pieces: cut, joined, scaled, the lower of two.

use crate::line::clock::{Clock, Course, Motion, Piece};

/// A chain of pieces that begins at t = 0; behind the last it goes on for ever at the speed with which that ends.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Speeds(Vec<Piece>);

impl Speeds {
    pub(super) fn new(pieces: Vec<Piece>) -> Speeds {
        Speeds(pieces)
    }

    /// Always one speed.
    pub(super) fn constant(speed: f64) -> Speeds {
        Speeds(vec![Piece::hold(0.0, speed)])
    }

    /// When the last piece ends, s.
    pub(super) fn ends(&self) -> f64 {
        self.0.iter().map(|piece| piece.duration).sum()
    }

    fn last(&self) -> f64 {
        self.0.last().map_or(0.0, |piece| piece.to)
    }

    /// The speed at a moment, m/s; at a jump that behind it.
    pub(super) fn at(&self, time: f64) -> f64 {
        let (_, behind) = self.cut(time);
        behind.0.first().map_or(0.0, |piece| piece.from)
    }

    /// What is before a moment and what is behind it.
    pub(super) fn cut(&self, time: f64) -> (Speeds, Speeds) {
        let (mut before, mut behind) = (Vec::new(), Vec::new());
        let mut begins = 0.0;
        for piece in &self.0 {
            let ends = begins + piece.duration;
            if ends <= time {
                before.push(*piece);
            } else if begins >= time {
                behind.push(*piece);
            } else {
                let (left, right) = halves(piece, time - begins);
                before.push(left);
                behind.push(right);
            }
            begins = ends;
        }
        if time > begins {
            before.push(Piece::hold(time - begins, self.last()));
        }
        if behind.is_empty() {
            behind.push(Piece::hold(0.0, self.last()));
        }
        (Speeds(before), Speeds(behind))
    }

    /// The pieces from one moment to another.
    pub(super) fn between(&self, from: f64, to: f64) -> Speeds {
        let (_, behind) = self.cut(from);
        behind.cut(to - from).0
    }

    /// What follows put behind this.
    pub(super) fn then(mut self, next: Speeds) -> Speeds {
        self.0.extend(next.0);
        self
    }

    /// A piece put behind this.
    pub(super) fn and(mut self, piece: Piece) -> Speeds {
        self.0.push(piece);
        self
    }

    /// The same, so many times as fast.
    pub(super) fn times(&self, factor: f64) -> Speeds {
        let scaled = |piece: &Piece| Piece { from: factor * piece.from, to: factor * piece.to, ..*piece };
        Speeds(self.0.iter().map(scaled).collect())
    }

    /// The lower of two at every moment.
    pub(super) fn lower(&self, other: &Speeds) -> Speeds {
        let mut times: Vec<f64> = [self, other].iter().flat_map(|speeds| speeds.moments()).collect();
        times.sort_by(f64::total_cmp);
        times.dedup();
        let mut lower = Speeds(Vec::new());
        let mut from = 0.0;
        for to in times {
            lower.0.extend(lower_piece(&self.piece(from, to), &other.piece(from, to)));
            from = to;
        }
        lower.and(Piece::hold(0.0, self.last().min(other.last())))
    }

    /// The last moment until which it is not as fast as another, s; 0 where it always is.
    pub(super) fn differs_until(&self, other: &Speeds) -> f64 {
        let mut times: Vec<f64> = [self, other].iter().flat_map(|speeds| speeds.moments()).chain([0.0]).collect();
        times.sort_by(f64::total_cmp);
        let apart = |time: f64| (self.at(time) - other.at(time)).abs() > 1e-9 * other.at(time);
        let last = times.windows(2).rev().find(|pair| apart(0.5 * (pair[0] + pair[1])));
        last.map_or(0.0, |pair| pair[1])
    }

    /// What holds from one moment to another, where that is one piece.
    fn piece(&self, from: f64, to: f64) -> Piece {
        let (duration, middle) = (to - from, 0.5 * (from + to));
        let mut begins = 0.0;
        for piece in &self.0 {
            let ends = begins + piece.duration;
            if middle < ends {
                let [first, last] = [from, to].map(|time| speed(piece, time - begins));
                return Piece { duration, from: first, to: last, ..*piece };
            }
            begins = ends;
        }
        Piece::hold(duration, self.last())
    }

    /// When each piece ends, s.
    fn moments(&self) -> Vec<f64> {
        let ends = self.0.iter().scan(0.0, |time, piece| {
            *time += piece.duration;
            Some(*time)
        });
        ends.filter(|&time| time > 0.0).collect()
    }

    /// The clock of these speeds.
    pub(super) fn clock(&self) -> Clock {
        // Built of bounded durations and speeds: no piece is refused.
        Clock::new(&self.0).unwrap_or_else(|_| Clock::constant(self.last()))
    }
}

/// The speed of a piece after a time.
fn speed(piece: &Piece, after: f64) -> f64 {
    motion(piece).speed(after)
}

fn motion(piece: &Piece) -> Motion {
    let Piece { duration, from, to, course } = *piece;
    let (acceleration, growth) = match course {
        Course::Even => ((to - from) / duration, 0.0),
        Course::Percent => (0.0, libm::log(to / from) / duration),
    };
    Motion { since: 0.0, from: 0.0, speed: from, acceleration, growth }
}

/// A piece up to a moment within it, and the rest.
fn halves(piece: &Piece, at: f64) -> (Piece, Piece) {
    let middle = speed(piece, at);
    (Piece { duration: at, to: middle, ..*piece }, Piece { duration: piece.duration - at, from: middle, ..*piece })
}

/// The lower of two pieces of one duration.
fn lower_piece(a: &Piece, b: &Piece) -> Vec<Piece> {
    let over = |time: f64| speed(a, time) - speed(b, time);
    let duration = a.duration;
    // The difference of two even or percent ramps turns at most once: it crosses 0 at most once on either side of that.
    let turn = turn(a, b).filter(|&time| time > 0.0 && time < duration);
    let mut cuts: Vec<f64> = Vec::new();
    let mut from = 0.0;
    for to in turn.into_iter().chain([duration]) {
        cuts.extend(crossing(over, from, to));
        from = to;
    }
    let mut pieces = Vec::new();
    let (mut rest_a, mut rest_b, mut begins) = (*a, *b, 0.0);
    for cut in cuts.into_iter().filter(|&cut| cut > 0.0 && cut < duration).chain([duration]) {
        let middle = 0.5 * (begins + cut);
        let lower = if over(middle) <= 0.0 { rest_a } else { rest_b };
        if cut < duration {
            pieces.push(halves(&lower, cut - begins).0);
            (rest_a, rest_b) = (halves(&rest_a, cut - begins).1, halves(&rest_b, cut - begins).1);
        } else {
            pieces.push(lower);
        }
        begins = cut;
    }
    pieces
}

/// Where the difference of two pieces turns, if it does: v_a' = v_b'.
fn turn(a: &Piece, b: &Piece) -> Option<f64> {
    let (a, b) = (motion(a), motion(b));
    let turned = |percent: &Motion, slope: f64| {
        let share = slope / (percent.speed * percent.growth);
        (share > 0.0).then(|| libm::log(share) / percent.growth)
    };
    match (a.growth != 0.0, b.growth != 0.0) {
        (false, false) => None,
        (true, false) => turned(&a, b.acceleration),
        (false, true) => turned(&b, a.acceleration),
        (true, true) => {
            let share = (b.speed * b.growth) / (a.speed * a.growth);
            (share > 0.0 && a.growth != b.growth).then(|| libm::log(share) / (a.growth - b.growth))
        }
    }
}

/// Where a function changes its sign between two moments, if it does there once; to the last digit.
pub(super) fn crossing(value: impl Fn(f64) -> f64, from: f64, to: f64) -> Option<f64> {
    let (mut low, mut high) = (from, to);
    let (first, last) = (value(low), value(high));
    if first == 0.0 {
        return Some(low);
    }
    if last == 0.0 {
        return Some(high);
    }
    if (first < 0.0) == (last < 0.0) {
        return None;
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return Some(middle);
        }
        if (value(middle) < 0.0) == (first < 0.0) {
            low = middle;
        } else {
            high = middle;
        }
    }
}
