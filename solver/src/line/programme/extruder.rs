//! What an extruder gives over the programme: its output as a speed, y(t), the output over that at the case's line speed, times that
//! speed.
//!
//! In proportion y = v; constant y = v0; behind a lag tau dy/dt = v - y. With d the time since a piece began:
//!
//! even ramp      y = v1 + a (d - tau) + (y1 - v1 + a tau) e^(-d/tau)
//! percent ramp   y = v1 e^(r d)/(1 + r tau) + (y1 - v1/(1 + r tau)) e^(-d/tau)
//!
//! The area of the melt at the die is A = A0 y/v by its mass.

use super::speeds::crossing;
use crate::case::programme::Output;
use crate::line::clock::{Clock, Motion, Side};

/// Above this share of its area a melt is a lump.
pub const LUMP: f64 = 1.5;
/// Below it, a bare spot.
pub const BARE: f64 = 0.5;

/// The output of one melt over a programme.
#[derive(Clone, Debug)]
pub struct Extruder {
    output: Output,
    /// The case's line speed, m/s.
    speed: f64,
    line: Clock,
    /// Of each motion of the line: y when it begins, m/s, and the integral of y until then, m.
    begins: Vec<[f64; 2]>,
}

impl Extruder {
    /// Of an output on a line whose sizes hold at `speed`, m/s.
    ///
    /// ```
    /// use quenchway::line::clock::{Clock, Piece};
    /// use quenchway::line::programme::Extruder;
    /// use quenchway::case::programme::Output;
    /// // From 1 m/s to 2 m/s within 10 s: behind a long ramp the output is a tau below the speed.
    /// let line = Clock::new(&[Piece::even(10.0, 1.0, 2.0), Piece::hold(60.0, 2.0)]).unwrap();
    /// let extruder = Extruder::new(Output::Lag(1.0), &line, 2.0);
    /// assert!((extruder.output(10.0) - (2.0 - 0.1 * (1.0 - libm::exp(-10.0)))).abs() < 1e-15);
    /// assert!((extruder.output(70.0) - 2.0).abs() < 1e-15);
    /// ```
    pub fn new(output: Output, line: &Clock, speed: f64) -> Extruder {
        let first = if output == Output::Constant { speed } else { line.first_speed() };
        let mut extruder = Extruder { output, speed, line: line.clone(), begins: vec![[first, 0.0]] };
        let mut from: Option<f64> = None;
        for &corner in line.corners() {
            // What was before the programme has always been.
            let [y, made] = from.map_or([first, 0.0], |from| {
                let motion = line.motion(from);
                extruder.within(motion, *extruder.begins.last().unwrap_or(&[first, 0.0]), corner - from)
            });
            // Counted from the beginning of the programme.
            let made = if from.is_none() { first * corner } else { made };
            extruder.begins.push([y, made]);
            from = Some(corner);
        }
        extruder
    }

    /// y and its integral after `late` seconds of a motion.
    fn within(&self, motion: &Motion, [y, made]: [f64; 2], late: f64) -> [f64; 2] {
        let (v, a, r) = (motion.speed, motion.acceleration, motion.growth);
        match self.output {
            Output::Constant => [self.speed, made + self.speed * late],
            Output::Follows => {
                let time = motion.since + late;
                [motion.speed(time), made + motion.place(time) - motion.from]
            }
            Output::Lag(lag) => {
                // (1 - e^(-d/tau)), exact where d is small.
                let gone = -libm::expm1(-late / lag);
                if r != 0.0 {
                    let share = v / (1.0 + r * lag);
                    let left = y - share;
                    let grown = libm::expm1(r * late);
                    return [share * (1.0 + grown) + left * (1.0 - gone), made + share * grown / r + left * lag * gone];
                }
                let left = y - v + a * lag;
                [
                    v + a * (late - lag) + left * (1.0 - gone),
                    made + late * (v + a * (0.5 * late - lag)) + left * lag * gone,
                ]
            }
        }
    }

    fn at(&self, time: f64) -> [f64; 2] {
        let corners = self.line.corners();
        let number = corners.partition_point(|&corner| corner <= time);
        if number == 0 {
            let first = self.begins[0][0];
            return [first, first * time];
        }
        self.within(self.line.motion(time), self.begins[number], time - corners[number - 1])
    }

    /// The output as a speed, m/s.
    pub fn output(&self, time: f64) -> f64 {
        self.at(time)[0]
    }

    /// What it has given since the beginning of the programme, as a length at the case's line speed, m; negative before it.
    pub fn given(&self, time: f64) -> f64 {
        self.at(time)[1]
    }

    /// The share of its area at the case's line speed that the melt has at the die, y/v; infinite at a standstill with an output.
    pub fn share(&self, time: f64) -> f64 {
        if self.output == Output::Follows {
            return 1.0;
        }
        let speed = self.line.speed(time);
        if speed > 0.0 { self.output(time) / speed } else { f64::INFINITY }
    }

    /// The same before a jump of the line speed with [`Side::Before`], behind it otherwise.
    pub fn share_beside(&self, time: f64, side: Side) -> f64 {
        if self.output == Output::Follows {
            return 1.0;
        }
        let speed = self.line.speed_beside(time, side);
        if speed > 0.0 { self.output(time) / speed } else { f64::INFINITY }
    }

    /// When between two moments what leaves the die is a lump (true) or a bare spot (false), s.
    pub fn spoilt(&self, from: f64, to: f64) -> Vec<([f64; 2], bool)> {
        if self.output == Output::Follows {
            return Vec::new();
        }
        let spoilt = |time: f64| !(BARE..=LUMP).contains(&self.share(time));
        let mut cuts = vec![from, to];
        let mut edges: Vec<f64> =
            self.line.corners().iter().copied().filter(|&time| time > from && time < to).chain([from, to]).collect();
        edges.sort_by(f64::total_cmp);
        for pair in edges.windows(2) {
            let motion = *self.line.motion(0.5 * (pair[0] + pair[1]));
            let mut within = vec![pair[0], pair[1]];
            // The share crosses a level one way while the speed is above, the other way while it is below this.
            if let Output::Lag(lag) = self.output {
                let turns = [LUMP, BARE].map(|level| level * lag * motion.acceleration / (1.0 - level));
                let turns = turns.into_iter().filter(|&speed| motion.acceleration != 0.0 && speed > 0.0);
                within.extend(
                    turns.filter_map(|speed| motion.when_as_fast(speed)).filter(|&t| t > pair[0] && t < pair[1]),
                );
                within.sort_by(f64::total_cmp);
            }
            for part in within.windows(2) {
                cuts.push(part[0]);
                for level in [LUMP, BARE] {
                    // y - level v has no pole at a standstill.
                    let over = |time: f64| self.output_of(&motion, time) - level * motion.speed(time);
                    cuts.extend(crossing(over, part[0], part[1]));
                }
            }
        }
        cuts.sort_by(f64::total_cmp);
        let mut found: Vec<([f64; 2], bool)> = Vec::new();
        for pair in cuts.windows(2).filter(|pair| pair[1] > pair[0] && spoilt(0.5 * (pair[0] + pair[1]))) {
            let lump = self.share(0.5 * (pair[0] + pair[1])) > LUMP;
            match found.last_mut() {
                Some((last, before)) if last[1] == pair[0] && *before == lump => last[1] = pair[1],
                _ => found.push(([pair[0], pair[1]], lump)),
            }
        }
        found
    }

    /// The output in one motion, its end included, where another begins.
    fn output_of(&self, motion: &Motion, time: f64) -> f64 {
        let corners = self.line.corners();
        match corners.iter().position(|&corner| corner == motion.since) {
            Some(number) => self.within(motion, self.begins[number + 1], time - motion.since)[0],
            None => self.begins[0][0],
        }
    }
}
