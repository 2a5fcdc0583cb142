//! Heat that a section takes from the product while the load of the line changes: at a moment a sum over metres that are there,
//! between moments a polynomial.

use std::collections::HashMap;

use super::metre::Request;
use super::pieces::{self, Origin};
use super::{Programme, Spoilt, pool};
use crate::case::error::Error;
use crate::engine::Path;
use crate::line::Settings;
use crate::line::clock::{PARKED, Side};
use crate::line::itinerary::{Leg, legs};
use crate::maths::order::sort_by_number;

/// Share of the tolerance to which metres are marched for their heat.
pub(super) const MARCHED: f64 = 0.1;
/// The same where nothing is checked: a sum needs some thousandths of itself.
const ROUGHLY: f64 = 0.5;
/// Points along a piece of the section, and as many more that check them.
pub(super) const POINTS: [usize; 2] = [6, 12];
/// How often a piece of the section is halved at most.
const HALVINGS: usize = 8;
/// Moments of a piece of the time.
const MOMENTS: usize = 8;
/// A piece of the time is not halved below this, s.
const SHORTEST: f64 = 0.02;

/// Heat that a section takes at the moments of a piece of the time, W.
#[derive(Clone, Debug)]
pub(super) struct Loads {
    pub(super) span: [f64; 2],
    values: Vec<f64>,
}

/// Chebyshev points without the ends, rising in the span.
pub(super) fn moments([from, to]: [f64; 2]) -> Vec<f64> {
    let place = |k: usize| 0.5 * (1.0 - libm::cos(std::f64::consts::PI * (k as f64 + 0.5) / MOMENTS as f64));
    (0..MOMENTS).map(|k| from + (to - from) * place(k)).collect()
}

impl Loads {
    /// The same heat all the time, W.
    #[cfg(test)]
    pub(super) fn steady(span: [f64; 2], heat: f64) -> Loads {
        Loads { span, values: vec![heat; MOMENTS] }
    }

    /// The polynomial at a moment, by the second barycentric form.
    pub(super) fn at(&self, time: f64) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (k, (moment, value)) in moments(self.span).into_iter().zip(&self.values).enumerate() {
            if time == moment {
                return *value;
            }
            let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
            let weight = sign * libm::sin(std::f64::consts::PI * (k as f64 + 0.5) / MOMENTS as f64) / (time - moment);
            (sum, weights) = (sum + weight * value, weights + weight);
        }
        sum / weights
    }

    /// Size of the last two coefficients of its Chebyshev series: what it may be off by.
    fn open(&self) -> f64 {
        let coefficient = |order: usize| {
            let angle = |k: usize| std::f64::consts::PI * order as f64 * (k as f64 + 0.5) / MOMENTS as f64;
            let sum: f64 = self.values.iter().enumerate().map(|(k, value)| value * libm::cos(angle(k))).sum();
            (2.0 * sum / MOMENTS as f64).abs()
        };
        coefficient(MOMENTS - 1) + coefficient(MOMENTS - 2)
    }
}

/// The heat of a section over pieces of the time, each halved until its polynomial is off by no more than `close`, W, over what takes
/// it up within `memory`, s.
///
/// Without `checked` no sum is compared with one of more points: for searches.
pub(super) fn loads(
    programme: &Programme,
    section: usize,
    spans: Vec<[f64; 2]>,
    (close, memory, checked): (f64, f64, bool),
) -> Result<Vec<Loads>, Error> {
    let mut settled = Vec::new();
    let mut open = spans;
    while !open.is_empty() {
        let times: Vec<f64> = open.iter().flat_map(|&span| moments(span)).collect();
        let heat = heat(programme, section, &times, (close, checked))?;
        let mut next = Vec::new();
        for (&span, values) in open.iter().zip(heat.chunks(MOMENTS)) {
            let loads = Loads { span, values: values.to_vec() };
            let length = span[1] - span[0];
            // A piece that is short beside the memory of the water moves it by little, however rough it is; and what a polynomial is
            // off by goes up and down.
            if loads.open() * (length / (length + memory)) <= close || length < SHORTEST {
                settled.push(loads);
            } else {
                let middle = 0.5 * (span[0] + span[1]);
                next.extend([[span[0], middle], [middle, span[1]]]);
            }
        }
        open = next;
    }
    sort_by_number(&mut settled, |loads| loads.span[0]);
    Ok(settled)
}

/// A piece of a section at a moment: which moment, from where to where it is mapped, and which part of it, in u.
#[derive(Clone, Copy)]
struct Along {
    moment: usize,
    ends: [f64; 2],
    part: [f64; 2],
    halved: usize,
}

/// Breaks of the product that matter in a section: of metres that came to a leg ahead of its end then.
fn breaks_in(programme: &Programme, section: usize) -> Vec<Origin> {
    let case = programme.case;
    let ahead = |leg: &Leg| leg.start < case.section_start(section) + case.sections[section].span() - PARKED;
    let entries: Vec<f64> = legs(case).filter(ahead).map(|leg| leg.start).collect();
    pieces::origins(programme, &entries)
}

/// Heat that the product gives to a section at each of the moments, W, to within `close`; see [`loads`].
pub(super) fn heat(
    programme: &Programme,
    section: usize,
    times: &[f64],
    (close, checked): (f64, bool),
) -> Result<Vec<f64>, Error> {
    let Programme { case, clock, tolerance, first, last, .. } = *programme;
    let spoilt = super::spoilt(programme);
    let mut breaks: Vec<(f64, f64)> =
        breaks_in(programme, section).into_iter().map(|origin| (origin.at.length, origin.since)).collect();
    breaks.extend(spoilt.iter().flat_map(|(span, _)| span.map(|length| (length, f64::NEG_INFINITY))));
    breaks.extend([first, last].map(|length| (length, f64::NEG_INFINITY)));
    let settings = Settings::rule(if checked { MARCHED } else { ROUGHLY } * tolerance);
    let (mut open, mut heat) = (Vec::new(), vec![0.0; times.len()]);
    let mut pieces_at = vec![0usize; times.len()];
    for (moment, &time) in times.iter().enumerate() {
        let travelled = clock.travelled(time);
        for leg in legs(case).filter(|leg| leg.section == section && !leg.turn) {
            // A line that starts empty holds nothing ahead of its first metre.
            let full = if case_starts_empty(programme) { travelled - first } else { f64::INFINITY };
            let [from, to] = [leg.start, (leg.start + leg.length).min(full)];
            // A metre is like its neighbours until what sets it apart has happened.
            let there = breaks.iter().filter(|(_, since)| *since < time).map(|(length, _)| travelled - length);
            let mut cuts: Vec<f64> = there.filter(|x| *x > from && *x < to).collect();
            cuts.extend([from, to]);
            cuts.sort_by(f64::total_cmp);
            cuts.dedup_by(|b, a| *b - *a < 1e-9);
            for pair in cuts.windows(2).filter(|pair| pair[1] > pair[0]) {
                let middle = travelled - 0.5 * (pair[0] + pair[1]);
                let overheated = |(span, why): &([f64; 2], Spoilt)| {
                    *why == Spoilt::Overheated && span[0] < middle && middle < span[1]
                };
                if !spoilt.iter().any(overheated) {
                    open.push(Along { moment, ends: [pair[0], pair[1]], part: [0.0, 1.0], halved: 0 });
                    pieces_at[moment] += 1;
                }
            }
        }
    }
    let rules: Vec<Vec<(f64, f64)>> = if checked { POINTS.map(gauss).to_vec() } else { vec![gauss(POINTS[0])] };
    while !open.is_empty() {
        // Metres that stand at several of the moments are marched once.
        let mut requests: Vec<Request> = Vec::new();
        let mut known: HashMap<u64, usize> = HashMap::new();
        let mut wanted = Vec::new();
        for along in &open {
            let (time, travelled) = (times[along.moment], clock.travelled(times[along.moment]));
            for &(point, _) in rules.iter().flatten() {
                let length = travelled - along.place(point).0;
                let number = *known.entry(length.to_bits()).or_insert_with(|| {
                    requests.push(Request::new(length, Side::At));
                    requests.len() - 1
                });
                let request = &mut requests[number];
                request.looks.push(time);
                request.until = request.looks.iter().copied().fold(time, f64::max);
                wanted.push((number, request.looks.len() - 1));
            }
        }
        let metres = pool::all(programme, requests, settings, Path::best())?;
        let mut wanted = wanted.into_iter();
        let mut next = Vec::new();
        for along in open {
            let mut sum = |rule: &Vec<(f64, f64)>| {
                let sum = rule.iter().fold(0.0, |sum, &(point, weight)| {
                    let given = wanted.next().and_then(|(number, look)| metres[number].looks.get(look)?.as_ref());
                    let given = given.map_or(f64::NAN, |sight| sight.given);
                    sum + weight * (along.part[1] - along.part[0]) * along.place(point).1 * given
                });
                case.shape.around() * sum
            };
            let first = sum(&rules[0]);
            let watts = [first, rules.get(1).map_or(first, sum)];
            let share = close / pieces_at[along.moment].max(1) as f64;
            if watts[1].is_nan() {
                return Err(Error::Unphysical {
                    place: "drive".to_string(),
                    reason: "a metre in a tank was lost".to_string(),
                });
            }
            // The checking rule has twice the order: what it is off by is far less than their difference.
            if 0.1 * (watts[0] - watts[1]).abs() <= share || along.halved == HALVINGS {
                heat[along.moment] += watts[1];
            } else {
                let middle = 0.5 * (along.part[0] + along.part[1]);
                for part in [[along.part[0], middle], [middle, along.part[1]]] {
                    next.push(Along { part, halved: along.halved + 1, ..along });
                }
            }
        }
        open = next;
    }
    Ok(heat)
}

fn case_starts_empty(programme: &Programme) -> bool {
    // What is on a full line at the start lies ahead of the first metre that the programme makes.
    programme.first >= 0.0
}

impl Along {
    /// Distance from the die of a point from 0 to 1 of the part, m, and how it goes with u: fluxes next to the ends go with the
    /// square root of the distance from them.
    fn place(&self, point: f64) -> (f64, f64) {
        let u = self.part[0] + (self.part[1] - self.part[0]) * point;
        let [a, b] = self.ends;
        (a + (b - a) * u * u * (3.0 - 2.0 * u), 6.0 * (b - a) * u * (1.0 - u))
    }
}

/// Points and weights of Gauss on 0 to 1.
pub(super) fn gauss(count: usize) -> Vec<(f64, f64)> {
    let legendre = |x: f64| {
        let (mut before, mut now) = (1.0, x);
        for k in 1..count {
            let k = k as f64;
            (before, now) = (now, ((2.0 * k + 1.0) * x * now - k * before) / (k + 1.0));
        }
        let slope = count as f64 * (x * now - before) / (x * x - 1.0);
        (now, slope)
    };
    (0..count)
        .map(|k| {
            let mut x = -libm::cos(std::f64::consts::PI * (k as f64 + 0.75) / (count as f64 + 0.5));
            for _ in 0..20 {
                let (value, slope) = legendre(x);
                x -= value / slope;
            }
            let (_, slope) = legendre(x);
            (0.5 * (1.0 + x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gauss_is_exact_to_twice_its_points() {
        for count in POINTS {
            let power = 2 * count as i32 - 1;
            let rule = gauss(count);
            let sum: f64 = rule.iter().map(|(x, weight)| weight * libm::pow(*x, f64::from(power))).sum();
            assert!((sum * f64::from(power + 1) - 1.0).abs() < 1e-13, "{count}: {sum}");
            let next: f64 = rule.iter().map(|(x, weight)| weight * libm::pow(*x, f64::from(power + 1))).sum();
            assert!((next * f64::from(power + 2) - 1.0).abs() > 1e-13, "{count} is exact beyond its order");
        }
    }

    #[test]
    fn a_load_is_met_between_its_moments() {
        let span = [3.0, 5.0];
        let cubic = |t: f64| 7.0 + t * (2.0 - 0.3 * t * t);
        let loads = Loads { span, values: moments(span).into_iter().map(cubic).collect() };
        for time in [3.0, 3.7, 4.2, 5.0] {
            assert!((loads.at(time) - cubic(time)).abs() < 1e-12, "{time}");
        }
        assert!(loads.open() < 1e-12);
        let corner = |t: f64| (t - 4.1).abs();
        assert!(Loads { span, values: moments(span).into_iter().map(corner).collect() }.open() > 1e-2);
    }
}
