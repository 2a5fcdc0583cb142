//! The product on the whole line over time, for pictures: temperatures of the metres that were marched, of more of them where those
//! lie far apart, and straight lines between them. No error is promised.

use super::metre::{Request, Sight};
use super::{Driven, MARCHED, Programme, pool};
use crate::case::error::Error;
use crate::engine::Path;
use crate::line::Settings;
use crate::line::clock::Side;

/// Between two metres of a field lies at most the line's length over this ...
const ON_THE_LINE: f64 = 120.0;
/// ... or all that was made over this, whichever is more.
const IN_ALL: f64 = 4000.0;

/// Temperatures over time and distance.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Of each moment and distance, distances of a moment side by side, degC; no number where there is no product or spoilt product.
    pub surface: Vec<f32>,
    /// As `surface`.
    pub core: Vec<f32>,
}

/// The field of a drive at moments, s, and distances from the die, m, both rising.
///
/// # Errors
///
/// As [`super::drive`].
pub fn field(programme: &Programme, driven: &Driven, times: &[f64], distances: &[f64]) -> Result<Field, Error> {
    let Programme { case, clock, tolerance, .. } = *programme;
    let length = case.line_length();
    // The looks at a metre are the moments at which it is on the line.
    let span = |from: f64, to: f64| {
        let first = times.partition_point(|&time| time <= from);
        [first, times.partition_point(|&time| time < to).max(first)]
    };
    let metres = metres(programme, driven);
    let on_line: Vec<[usize; 2]> = metres
        .iter()
        .map(|&(metre, side)| span(clock.arrives(metre, side), clock.leaves(metre + length, side)))
        .collect();
    let requests: Vec<Request> = metres
        .iter()
        .zip(&on_line)
        .map(|(&(metre, side), &[from, to])| Request { looks: times[from..to].to_vec(), ..Request::new(metre, side) })
        .collect();
    let settings = Settings::rule(MARCHED * tolerance);
    let marched = pool::all(programme, requests, settings, Path::best())?;
    let mut field = Field { surface: Vec::new(), core: Vec::new() };
    for (number, &time) in times.iter().enumerate() {
        let travelled = clock.travelled(time);
        let look = |metre: usize| -> Option<&Sight> {
            let [from, to] = on_line[metre];
            (from..to).contains(&number).then(|| marched[metre].looks[number - from].as_ref())?
        };
        for &distance in distances {
            let here = travelled - distance;
            let right = metres.partition_point(|&(metre, _)| metre < here);
            let spoilt = driven.spoilt.iter().any(|([from, to], _)| *from < here && here < *to);
            let pair = right.checked_sub(1).filter(|_| !spoilt && right < metres.len());
            let sights = pair.map(|left| [look(left), look(right)]);
            let values = match sights {
                Some([Some(a), Some(b)]) => {
                    let [from, to] = [right - 1, right].map(|metre| metres[metre].0);
                    let share = if to > from { (here - from) / (to - from) } else { 0.0 };
                    [0, 1].map(|value| a.values[value] + share * (b.values[value] - a.values[value]))
                }
                // At both ends of the line one of the two is not on it.
                Some([Some(only), None] | [None, Some(only)]) => [only.values[0], only.values[1]],
                _ => [f64::NAN; 2],
            };
            field.surface.push(values[0] as f32);
            field.core.push(values[1] as f32);
        }
    }
    Ok(field)
}

/// The metres that are looked at: all of the drive, and between them enough that the line looks smooth.
fn metres(programme: &Programme, driven: &Driven) -> Vec<(f64, Side)> {
    let widest = (programme.case.line_length() / ON_THE_LINE).max((programme.last - programme.first) / IN_ALL);
    let mut metres = Vec::new();
    for pair in driven.metres.windows(2) {
        let [from, to] = [0, 1].map(|end| pair[end].length);
        metres.push((from, pair[0].side));
        let spoilt = driven.spoilt.iter().any(|&([begin, end], _)| begin <= from && to <= end);
        let parts = if spoilt { 1.0 } else { ((to - from) / widest).ceil().max(1.0) };
        metres.extend((1..parts as usize).map(|part| (from + (to - from) * part as f64 / parts, Side::At)));
    }
    metres.extend(driven.metres.last().map(|metre| (metre.length, metre.side)));
    metres
}
