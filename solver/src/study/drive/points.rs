//! Points of a span, and the polynomials through values at them.

use std::sync::LazyLock;

/// Intervals between the Chebyshev points of any span at most.
const LARGEST: usize = 64;

/// Ends of the parts of a standstill: the i-th of n ends at (i/n)^4 of it, since the film has just come to rest.
pub(super) fn graded([from, to]: [f64; 2], parts: usize) -> Vec<f64> {
    let share = |i: usize| {
        let square = (i as f64 / parts as f64) * (i as f64 / parts as f64);
        square * square
    };
    (0..=parts).map(|i| if i == parts { to } else { from + (to - from) * share(i) }).collect()
}

/// Of a span from 0 to 1, its ends among them, by the number of intervals between them.
static CHEBYSHEV: LazyLock<[Vec<f64>; LARGEST + 1]> = LazyLock::new(|| {
    let place = |j: usize, count: usize| 0.5 * (1.0 - libm::cos(std::f64::consts::PI * j as f64 / count as f64));
    std::array::from_fn(|count| (0..=count).map(|j| if j == count { 1.0 } else { place(j, count) }).collect())
});

/// Chebyshev points of a span, its ends among them; at most [`LARGEST`] intervals.
pub(super) fn chebyshev([from, to]: [f64; 2], intervals: usize) -> Vec<f64> {
    let places = CHEBYSHEV[intervals].iter().enumerate();
    places.map(|(j, place)| if j == intervals { to } else { from + (to - from) * place }).collect()
}

/// Weights of the values at Chebyshev points of a span from 0 to 1 at a place of it, and their sum; at a point itself which it is.
fn weights(count: usize, place: f64, mut take: impl FnMut(usize, f64)) -> Result<f64, usize> {
    let mut sum = 0.0;
    for (j, point) in CHEBYSHEV[count].iter().enumerate() {
        let apart = place - point;
        if apart == 0.0 {
            return Err(j);
        }
        let half = if j == 0 || j == count { 0.5 } else { 1.0 };
        let weight = if j % 2 == 0 { half } else { -half } / apart;
        sum += weight;
        take(j, weight);
    }
    Ok(sum)
}

/// Rows at Chebyshev points of a span from 0 to 1, interpolated at a place of it.
pub(super) fn interpolated(rows: &[&[f64]], place: f64) -> Vec<f64> {
    let width = rows.first().map_or(0, |row| row.len());
    let mut sums = vec![0.0; width];
    let take = |j: usize, weight: f64| sums.iter_mut().zip(rows[j]).for_each(|(sum, value)| *sum += weight * value);
    match weights(rows.len() - 1, place, take) {
        Ok(weight) => sums.iter().map(|sum| sum / weight).collect(),
        Err(j) => rows[j].to_vec(),
    }
}

/// One value of such rows, to the same bits.
pub(super) fn interpolated_one(intervals: usize, value: impl Fn(usize) -> f64, place: f64) -> f64 {
    let mut sum = 0.0;
    match weights(intervals, place, |j, weight| sum += weight * value(j)) {
        Ok(weight) => sum / weight,
        Err(j) => value(j),
    }
}
