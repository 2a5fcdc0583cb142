//! A search in the unit box for the best place of functions that are continuous, kinked, and flat in places: no gradients, no
//! single start, one order whatever number of threads.
//!
//! *Scan* over the box; *polish* of the best places side by side, by linear models in a box that shrinks (M. J. D. Powell, in
//! Advances in Optimization and Numerical Analysis, 1994, 51, has the idea; central differences stand in for his simplex);
//! *compass* of all directions from the winner, and another polish where it gained.

use std::cmp::Ordering;

use super::linear::{Line, step};
use crate::maths::order::sort_by_numbers;
use crate::maths::sample::{Method, Sampler};

/// Places of the scan, for each dimension and once more.
const SCANNED: u64 = 64;
/// What the samples of the scan start from.
const SEED: u64 = 1;
/// Places that are polished, beside those that are given.
const POLISHED: usize = 6;
/// How far apart they lie at least.
const APART: f64 = 0.08;
/// Half the side of the box of a linear model: first and last.
pub(super) const POLISH: [f64; 2] = [0.08, 5e-4];
/// The same where the place is nearly known.
pub(super) const AGAIN: [f64; 2] = [0.02, 5e-4];
/// The same for the last place of a search.
const FINE: [f64; 2] = [1e-3, 3e-5];
/// Steps of the compass: first and last.
const COMPASS: [f64; 2] = [0.05, 1e-3];
/// How far a box may grow.
const LARGEST: f64 = 0.1;
/// Models of one polish.
const MODELS: usize = 60;
/// Polishes after a compass that gained.
const ROUNDS: usize = 8;
/// By how much more than it was missed a line is corrected, so that the next step lies inside.
const CORRECTED: f64 = 1.2;
/// A lower aim than this share of its size is none.
const GAIN: f64 = 1e-7;

/// What is known of a place: the aim, which is to be low, and what must be at or below zero. Not a number: there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Point {
    pub(super) aim: f64,
    pub(super) excess: Vec<f64>,
}

/// A place with what is known of it.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub(super) x: Vec<f64>,
    pub(super) at: Point,
}

/// The functions, many places at a time.
pub(super) type Functions<'a> = &'a dyn Fn(&[Vec<f64>]) -> Vec<Point>;

/// The search; every place's violations are counted in `scales`.
pub(super) struct Search<'a> {
    functions: Functions<'a>,
    pub(super) scales: Vec<f64>,
}

impl Point {
    /// Sum of what is violated, in the scales; infinite without an answer.
    pub(super) fn violation(&self, scales: &[f64]) -> f64 {
        let sum: f64 = self.excess.iter().zip(scales).map(|(excess, scale)| excess.max(0.0) / scale).sum();
        // The larger of a number and none is the number.
        let known = self.aim.is_finite() && self.excess.iter().all(|excess| excess.is_finite());
        if known { sum } else { f64::INFINITY }
    }

    /// The lower the better: what is violated, then the aim.
    fn rank(&self, scales: &[f64]) -> [f64; 2] {
        [self.violation(scales), self.aim]
    }

    /// Better first.
    pub(super) fn order(&self, other: &Point, scales: &[f64]) -> Ordering {
        let [[violated, aim], [other_violated, other_aim]] = [self.rank(scales), other.rank(scales)];
        violated.total_cmp(&other_violated).then(aim.total_cmp(&other_aim))
    }

    /// Whether it is better by more than rounding.
    pub(super) fn gains(&self, on: &Point, scales: &[f64]) -> bool {
        match (self.violation(scales), on.violation(scales)) {
            (own, other) if own != other => own < other,
            (own, _) if own.is_infinite() => false,
            _ => self.aim < on.aim - GAIN * on.aim.abs(),
        }
    }

    pub(super) fn is_met(&self) -> bool {
        self.aim.is_finite() && self.excess.iter().all(|&excess| excess <= 0.0)
    }
}

impl<'a> Search<'a> {
    /// Of functions whose scales are known.
    pub(super) fn new(functions: Functions<'a>, scales: Vec<f64>) -> Search<'a> {
        Search { functions, scales }
    }

    /// What is known of places, in their order.
    pub(super) fn places(&self, xs: Vec<Vec<f64>>) -> Vec<Place> {
        let known = if xs.is_empty() { Vec::new() } else { (self.functions)(&xs) };
        xs.into_iter().zip(known).map(|(x, at)| Place { x, at }).collect()
    }

    /// The best of some places; of equals the first.
    pub(super) fn best(&self, places: Vec<Place>) -> Option<Place> {
        places.into_iter().reduce(|a, b| if b.at.order(&a.at, &self.scales).is_lt() { b } else { a })
    }

    /// The best of the box: from the best of the scanned places that lie apart, and from those that are given.
    pub(super) fn whole(&self, scanned: &[Place], given: &[Vec<f64>]) -> Option<Place> {
        let dims = scanned.first().map_or(0, |place| place.x.len());
        let mut starts: Vec<Vec<f64>> = given.to_vec();
        starts.extend(apart(scanned, &self.scales, POLISHED));
        let all: Vec<usize> = (0..dims).collect();
        let best = self.best(self.polish(starts, &all, POLISH))?;
        Some(self.settle(best, &all))
    }

    /// Compass and polish in turn, until neither gains.
    pub(super) fn settle(&self, best: Place, free: &[usize]) -> Place {
        let polished = |place: Place, size: [f64; 2]| {
            let found = self.polish(vec![place.x.clone()], free, size);
            self.best(std::iter::once(place.clone()).chain(found).collect()).unwrap_or(place)
        };
        let mut best = polished(best, FINE);
        for _ in 0..ROUNDS {
            let moved = self.compass(best.clone(), free);
            if !moved.at.gains(&best.at, &self.scales) {
                break;
            }
            best = polished(polished(moved, AGAIN), FINE);
        }
        best
    }

    /// Goes from each start to a place that no linear model betters, all of them side by side; only the dimensions in `free` move.
    pub(super) fn polish(&self, starts: Vec<Vec<f64>>, free: &[usize], [first, last]: [f64; 2]) -> Vec<Place> {
        let mut walks: Vec<(Place, f64)> = self.places(starts).into_iter().map(|place| (place, first)).collect();
        if free.is_empty() {
            return walks.into_iter().map(|(place, _)| place).collect();
        }
        for _ in 0..MODELS {
            let active: Vec<usize> = (0..walks.len()).filter(|&walk| walks[walk].1 >= last).collect();
            if active.is_empty() {
                break;
            }
            let around = |walk: &usize| star(&walks[*walk].0.x, free, walks[*walk].1);
            let stars: Vec<Vec<Vec<f64>>> = active.iter().map(around).collect();
            let mut stars = self.by_walk(stars);
            let models: Vec<Option<Model>> = active
                .iter()
                .zip(&stars)
                .map(|(&walk, star)| Model::new(&walks[walk].0, star, free, walks[walk].1, &self.scales))
                .collect();
            // The step of the model, then one that knows by how much that was off.
            let steps = models.iter().map(|model| model.iter().map(|model| model.step(None)).collect()).collect();
            let tried = self.by_walk(steps);
            let corrected = models.iter().zip(&tried).map(|(model, tried)| match (model, tried.first()) {
                (Some(model), Some(tried)) if !tried.at.is_met() => vec![model.step(Some(tried))],
                _ => Vec::new(),
            });
            let corrected = self.by_walk(corrected.collect());
            for (place, ((star, tried), corrected)) in active.into_iter().zip(stars.drain(..).zip(tried).zip(corrected))
            {
                let (best, size) = &mut walks[place];
                let candidates = tried.into_iter().chain(corrected).chain(star).collect();
                match self.best(candidates).filter(|found| found.at.gains(&best.at, &self.scales)) {
                    Some(found) => {
                        let far = found.x.iter().zip(&best.x).any(|(to, from)| (to - from).abs() > 0.99 * *size);
                        *size = if far { (1.5 * *size).min(LARGEST) } else { *size };
                        *best = found;
                    }
                    None => *size *= 0.5,
                }
            }
        }
        walks.into_iter().map(|(place, _)| place).collect()
    }

    /// Places of several walks, looked at together.
    fn by_walk(&self, xs: Vec<Vec<Vec<f64>>>) -> Vec<Vec<Place>> {
        let counts: Vec<usize> = xs.iter().map(Vec::len).collect();
        let mut known = self.places(xs.into_iter().flatten().collect()).into_iter();
        counts.into_iter().map(|count| known.by_ref().take(count).collect()).collect()
    }

    /// Steps in all directions of `free`, halved where none gains.
    fn compass(&self, mut best: Place, free: &[usize]) -> Place {
        let directions = directions(free.len());
        let mut size = COMPASS[0];
        while size >= COMPASS[1] {
            let moved = |direction: &Vec<i32>| {
                let mut x = best.x.clone();
                for (&dimension, &sign) in free.iter().zip(direction) {
                    x[dimension] = (x[dimension] + f64::from(sign) * size).clamp(0.0, 1.0);
                }
                x
            };
            let tried = self.places(directions.iter().map(moved).filter(|x| *x != best.x).collect());
            match self.best(tried).filter(|found| found.at.gains(&best.at, &self.scales)) {
                Some(found) => best = found,
                None => size *= 0.5,
            }
        }
        best
    }
}

/// Places of a scan of so many dimensions.
pub(super) fn scan(dims: usize) -> Vec<Vec<f64>> {
    let count = SCANNED * (dims as u64 + 1);
    let Ok(sampler) = Sampler::new(Method::Sobol, SEED, count, dims) else { return Vec::new() };
    (0..count).map(|index| sampler.point(index)).collect()
}

/// Spans of the excesses over some places that have an answer; 1 where there is none.
pub(super) fn spans(places: &[Point]) -> Vec<f64> {
    let count = places.iter().map(|point| point.excess.len()).max().unwrap_or(0);
    let span = |which: usize| {
        let values =
            places.iter().filter_map(|point| point.excess.get(which).copied()).filter(|value| value.is_finite());
        let [low, high] = values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)]);
        if high > low { high - low } else { 1.0 }
    };
    (0..count).map(span).collect()
}

/// The best of some places of which none lies close to a better one.
pub(super) fn apart(places: &[Place], scales: &[f64], most: usize) -> Vec<Vec<f64>> {
    let mut sorted: Vec<&Place> = places.iter().filter(|place| place.at.violation(scales).is_finite()).collect();
    sort_by_numbers(&mut sorted, |place| place.at.rank(scales));
    let mut chosen: Vec<Vec<f64>> = Vec::new();
    for place in sorted {
        let near = |other: &Vec<f64>| place.x.iter().zip(other).all(|(a, b)| (a - b).abs() < APART);
        if chosen.len() < most && !chosen.iter().any(near) {
            chosen.push(place.x.clone());
        }
    }
    chosen
}

/// Every direction but none: all of them up to three dimensions, then along the axes and between two of them.
pub(super) fn directions(dims: usize) -> Vec<Vec<i32>> {
    let mut all = vec![Vec::new()];
    for _ in 0..dims {
        all = all.into_iter().flat_map(|d: Vec<i32>| [-1, 0, 1].map(|sign| [&d[..], &[sign]].concat())).collect();
    }
    let moved = |direction: &Vec<i32>| direction.iter().filter(|sign| **sign != 0).count();
    all.retain(|direction| (1..=if dims > 3 { 2 } else { dims }).contains(&moved(direction)));
    all
}

/// A place to either side in each dimension, kept in the box: low then high.
fn star(x: &[f64], free: &[usize], size: f64) -> Vec<Vec<f64>> {
    let aside = |(dimension, sign): (usize, f64)| {
        let mut x = x.to_vec();
        x[dimension] = (x[dimension] + sign * size).clamp(0.0, 1.0);
        x
    };
    free.iter().flat_map(|&dimension| [(dimension, -1.0), (dimension, 1.0)]).map(aside).collect()
}

/// Linear models of all functions about a place.
struct Model<'a> {
    from: &'a Place,
    free: &'a [usize],
    aim: Vec<f64>,
    /// In their scales.
    lines: Vec<Line>,
    low: Vec<f64>,
    high: Vec<f64>,
    scales: &'a [f64],
}

impl<'a> Model<'a> {
    /// From the star about a place; none where it has no answer, or neither side of a dimension has.
    fn new(from: &'a Place, star: &[Place], free: &'a [usize], size: f64, scales: &'a [f64]) -> Option<Model<'a>> {
        if from.at.violation(scales).is_infinite() {
            return None;
        }
        let slopes = |function: &dyn Fn(&Point) -> f64| -> Option<Vec<f64>> {
            let of_dimension = |(&dimension, pair): (&usize, &[Place])| {
                let ends = [&pair[0], from, &pair[1]].map(|place| (place.x[dimension], function(&place.at)));
                let known: Vec<(f64, f64)> = ends.into_iter().filter(|(_, value)| value.is_finite()).collect();
                let (first, last) = (known.first()?, known.last()?);
                (last.0 > first.0).then(|| (last.1 - first.1) / (last.0 - first.0))
            };
            free.iter().zip(star.chunks(2)).map(of_dimension).collect()
        };
        let aim = slopes(&|point| point.aim)?;
        let of_line = |(which, scale): (usize, &f64)| {
            let slope = slopes(&|point| point.excess[which] / scale)?;
            Some(Line { value: from.at.excess[which] / scale, slope })
        };
        let lines = scales.iter().enumerate().map(of_line).collect::<Option<_>>()?;
        let low = free.iter().map(|&dimension| (-size).max(-from.x[dimension])).collect();
        let high = free.iter().map(|&dimension| size.min(1.0 - from.x[dimension])).collect();
        Some(Model { from, free, aim, lines, low, high, scales })
    }

    /// Where its step leads; `tried` is where it led before, whose lines are then met as they were found there.
    fn step(&self, tried: Option<&Place>) -> Vec<f64> {
        let mut lines = self.lines.clone();
        if let Some(tried) = tried {
            for ((line, excess), scale) in lines.iter_mut().zip(&tried.at.excess).zip(self.scales) {
                let moved = self.free.iter().map(|&dimension| tried.x[dimension] - self.from.x[dimension]);
                let predicted =
                    line.value + line.slope.iter().zip(moved).map(|(slope, moved)| slope * moved).sum::<f64>();
                let missed = excess / scale - predicted;
                line.value += if missed > 0.0 { CORRECTED * missed } else { missed };
            }
        }
        let step = step(&self.aim, &lines, [&self.low, &self.high]);
        let mut x = self.from.x.clone();
        for (&dimension, step) in self.free.iter().zip(step) {
            x[dimension] = (x[dimension] + step).clamp(0.0, 1.0);
        }
        x
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The best of a problem in a box of its own: its place, its aim and how often it was looked at.
    fn solved(low: &[f64], high: &[f64], point: &dyn Fn(&[f64]) -> Point) -> (Vec<f64>, f64, usize) {
        let looked = std::cell::Cell::new(0);
        let own = |x: &[f64]| -> Vec<f64> {
            x.iter().zip(low.iter().zip(high)).map(|(x, (low, high))| low + x * (high - low)).collect()
        };
        let functions = |xs: &[Vec<f64>]| {
            looked.set(looked.get() + xs.len());
            xs.iter().map(|x| point(&own(x))).collect::<Vec<Point>>()
        };
        let scanned = scan(low.len());
        let known = functions(&scanned);
        let search = Search::new(&functions, spans(&known));
        let scanned: Vec<Place> = scanned.into_iter().zip(known).map(|(x, at)| Place { x, at }).collect();
        let best = search.whole(&scanned, &[]).unwrap_or_else(|| panic!("nothing was scanned"));
        assert!(best.at.is_met(), "{best:?}");
        (own(&best.x), best.at.aim, looked.get())
    }

    /// Four numbers and three curved limits, two of them active: f = -44 at (0, 1, 2, -1), J. B. Rosen and S. Suzuki,
    /// Communications of the ACM 8, 1965, 113 (from memory; the limits and the optimality there are checked in place).
    #[test]
    fn a_smooth_problem_with_curved_limits() {
        let point = |x: &[f64]| {
            let [a, b, c, d] = x else { panic!("four numbers") };
            let aim = a * a + b * b + 2.0 * c * c + d * d - 5.0 * a - 5.0 * b - 21.0 * c + 7.0 * d;
            let excess = vec![
                a * a + b * b + c * c + d * d + a - b + c - d - 8.0,
                a * a + 2.0 * b * b + c * c + 2.0 * d * d - a - d - 10.0,
                2.0 * a * a + b * b + c * c + 2.0 * a - b - d - 5.0,
            ];
            Point { aim, excess }
        };
        let known = point(&[0.0, 1.0, 2.0, -1.0]);
        assert_eq!((known.aim, known.excess), (-44.0, vec![0.0, -1.0, 0.0]));
        let (x, aim, looked) = solved(&[-3.0; 4], &[3.0; 4], &point);
        assert!(aim > -44.0 - 1e-9 && aim < -44.0 + 2e-3, "{aim} at {x:?}");
        assert!(looked < 4000, "{looked} places");
    }

    /// A thin crescent between two circles, and an aim whose slope leads along it: g06 of Z. Michalewicz and M. Schoenauer,
    /// Evolutionary Computation 4, 1996, 1 (from memory): -6961.8138756 at (14.095, 0.8429608), both limits active, checked in place.
    #[test]
    fn a_crescent_between_two_circles() {
        let point = |x: &[f64]| {
            let [a, b] = x else { panic!("two numbers") };
            let cube = |x: f64| x * x * x;
            let circle = (a - 5.0) * (a - 5.0) + (b - 5.0) * (b - 5.0);
            let other = (a - 6.0) * (a - 6.0) + (b - 5.0) * (b - 5.0);
            Point { aim: cube(a - 10.0) + cube(b - 20.0), excess: vec![100.0 - circle, other - 82.81] }
        };
        // 82.81 - 100 = -2 x + 11, ..., from the difference of the circles: 2 a - 11 = 17.19.
        let a = 14.095;
        let known = point(&[a, 5.0 - (100.0 - (a - 5.0) * (a - 5.0_f64)).sqrt()]);
        assert!(
            known.excess.iter().all(|excess| excess.abs() < 1e-9) && (known.aim + 6_961.813_875_6).abs() < 1e-4,
            "{known:?}"
        );
        let (x, aim, looked) = solved(&[13.0, 0.0], &[100.0, 100.0], &point);
        assert!(aim >= known.aim - 1e-6 && aim < known.aim + 3.5, "{aim} at {x:?}, {looked} places");
    }

    /// A limit that is the larger of two slopes, and an aim that is flat on one side of a kink.
    #[test]
    fn kinks_and_flats() {
        let point = |x: &[f64]| {
            let [a, b] = x else { panic!("two numbers") };
            let void = (8.0 + 4.0 * (0.7 - a).max(0.0)).max(8.0 + 9.0 * (b - 0.31 * a - 0.2));
            Point { aim: -(10.0 * b - a), excess: vec![void - 9.0] }
        };
        // On the kink: 4 (0.7 - a) <= 1 from a = 0.45 on, b = 0.2 + 1/9 + 0.31 a, so a at its high end.
        let (x, aim, _) = solved(&[0.0; 2], &[1.0; 2], &point);
        let best = -(10.0 * (0.51 + 1.0 / 9.0) - 1.0);
        assert!((aim - best).abs() < 1e-3, "{aim} for {best} at {x:?}");
        // |x - 0.613| + 3 |y - 0.377| with no limit at all.
        let point = |x: &[f64]| Point { aim: (x[0] - 0.613).abs() + 3.0 * (x[1] - 0.377).abs(), excess: vec![-1.0] };
        let (x, aim, _) = solved(&[0.0; 2], &[1.0; 2], &point);
        assert!(aim < 5e-3, "{aim} at {x:?}");
    }

    /// Some places have no answer at all.
    #[test]
    fn holes_are_walked_around() {
        let point = |x: &[f64]| {
            let hole = x[0] > 0.4 && x[0] < 0.6;
            Point {
                aim: if hole { f64::NAN } else { (x[0] - 0.6).abs() + (x[1] - 0.2).abs() },
                excess: vec![x[1] - 0.9],
            }
        };
        let (x, aim, _) = solved(&[0.0; 2], &[1.0; 2], &point);
        assert!(aim < 5e-3, "{aim} at {x:?}");
    }
}
