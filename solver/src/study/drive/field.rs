//! The product on the whole line over time, for pictures: temperatures of the metres that were marched, with straight lines between
//! them. No error is promised.

use super::metre::{self, Request, Sight};
use super::{Driven, MARCHED, Programme};
use crate::case::error::Error;
use crate::engine::Path;
use crate::line::Settings;

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
    let on_line: Vec<[usize; 2]> = driven
        .metres
        .iter()
        .map(|metre| span(metre.time_at_die, clock.leaves(metre.length + length, metre.side)))
        .collect();
    let requests: Vec<Request> = driven
        .metres
        .iter()
        .zip(&on_line)
        .map(|(metre, &[from, to])| Request {
            looks: times[from..to].to_vec(),
            ..Request::new(metre.length, metre.side)
        })
        .collect();
    let settings = Settings::rule(MARCHED * tolerance);
    let marched: Result<Vec<_>, Error> =
        metre::march(programme, &requests, settings, Path::best()).into_iter().collect();
    let marched = marched?;
    let mut field = Field { surface: Vec::new(), core: Vec::new() };
    for (number, &time) in times.iter().enumerate() {
        let travelled = clock.travelled(time);
        let look = |metre: usize| -> Option<&Sight> {
            let [from, to] = on_line[metre];
            (from..to).contains(&number).then(|| marched[metre].looks[number - from].as_ref())?
        };
        for &distance in distances {
            let here = travelled - distance;
            let right = driven.metres.partition_point(|metre| metre.length < here);
            let spoilt = driven.spoilt.iter().any(|([from, to], _)| *from < here && here < *to);
            let pair = right.checked_sub(1).filter(|_| !spoilt && right < driven.metres.len());
            let sights = pair.map(|left| [look(left), look(right)]);
            let values = match sights {
                Some([Some(a), Some(b)]) => {
                    let [from, to] = [right - 1, right].map(|metre| driven.metres[metre].length);
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
