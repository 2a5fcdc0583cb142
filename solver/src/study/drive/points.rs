//! Points of a span, and the polynomials through values at them.

/// Ends of the parts of a standstill: the i-th of n ends at (i/n)^4 of it, since the film has just come to rest.
pub(super) fn graded([from, to]: [f64; 2], parts: usize) -> Vec<f64> {
    let share = |i: usize| {
        let square = (i as f64 / parts as f64) * (i as f64 / parts as f64);
        square * square
    };
    (0..=parts).map(|i| if i == parts { to } else { from + (to - from) * share(i) }).collect()
}

/// Chebyshev points of a span, its ends among them.
pub(super) fn chebyshev([from, to]: [f64; 2], intervals: usize) -> Vec<f64> {
    let place = |j: usize| 0.5 * (1.0 - libm::cos(std::f64::consts::PI * j as f64 / intervals as f64));
    (0..=intervals).map(|j| if j == intervals { to } else { from + (to - from) * place(j) }).collect()
}

/// Weights of the values at Chebyshev points of a span from 0 to 1 at a place of it, and their sum; at a point itself which it is.
fn weights(count: usize, place: f64, mut take: impl FnMut(usize, f64)) -> Result<f64, usize> {
    let mut sum = 0.0;
    for j in 0..=count {
        let point =
            if j == count { 1.0 } else { 0.5 * (1.0 - libm::cos(std::f64::consts::PI * j as f64 / count as f64)) };
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
