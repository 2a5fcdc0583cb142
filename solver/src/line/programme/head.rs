//! How long the melt stays between screw and die: what leaves at t went in when V less had been given (plug flow; the real spread is
//! wider).

use super::extruder::Extruder;
use super::speeds::crossing;
use crate::line::clock::Clock;

/// Samples of each piece of the programme among which a longest time is looked for.
const SAMPLES: usize = 64;

/// The melt's time in the head over a programme.
#[derive(Clone, Debug, PartialEq)]
pub struct Residence {
    /// In the line as it runs before the programme, s.
    pub before: f64,
    /// The longest, s, of what leaves the die on a metre of product.
    pub longest: f64,
    /// When that leaves the die, s.
    pub at: f64,
    /// When what leaves has stayed longer than is allowed, s.
    pub over: Vec<[f64; 2]>,
}

/// The time in a head that holds `length` of output, m at the case's line speed, until the programme's end.
///
/// At a standstill nothing leaves the die on product; what waits there counts when the line moves again.
pub fn residence(extruder: &Extruder, line: &Clock, length: f64, most: Option<f64>, ends: f64) -> Residence {
    let stayed = |time: f64| time - entered(extruder, length, time);
    let mut edges: Vec<f64> =
        line.corners().iter().copied().filter(|&time| time > 0.0 && time < ends).chain([0.0, ends]).collect();
    edges.sort_by(f64::total_cmp);
    let mut times = Vec::new();
    for pair in edges.windows(2) {
        let step = (pair[1] - pair[0]) / SAMPLES as f64;
        times.extend((0..SAMPLES).map(|number| pair[0] + step * number as f64));
    }
    times.push(ends);
    // Just behind a standstill its last moment counts: that is a sample, the end of its piece.
    let moves = |time: &f64| line.speed(*time) > 0.0;
    let mut found = Residence { before: stayed(-1.0), longest: stayed(0.0), at: 0.0, over: Vec::new() };
    for time in times.iter().copied().filter(moves) {
        let one = stayed(time);
        if one > found.longest {
            (found.longest, found.at) = (one, time);
        }
    }
    if let Some(most) = most {
        let mut cuts = times.clone();
        for pair in times.windows(2) {
            cuts.extend(crossing(|time| stayed(time) - most, pair[0], pair[1]));
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2).filter(|pair| pair[1] > pair[0] && stayed(0.5 * (pair[0] + pair[1])) > most) {
            match found.over.last_mut() {
                Some(last) if last[1] == pair[0] => last[1] = pair[1],
                _ => found.over.push([pair[0], pair[1]]),
            }
        }
    }
    found
}

/// When what leaves at a moment went into the head, s.
fn entered(extruder: &Extruder, length: f64, time: f64) -> f64 {
    let wanted = extruder.given(time) - length;
    let mut early = time.min(0.0);
    // Before the programme it has always run at one output.
    let first = extruder.output(f64::NEG_INFINITY);
    if wanted < extruder.given(early) {
        return if first > 0.0 { early - (extruder.given(early) - wanted) / first } else { f64::NEG_INFINITY };
    }
    let mut late = time;
    loop {
        let middle = 0.5 * (early + late);
        if middle <= early || middle >= late {
            return middle;
        }
        if extruder.given(middle) < wanted { early = middle } else { late = middle }
    }
}
