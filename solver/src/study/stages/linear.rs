//! One linear model in a box: the step that violates least, and of those the one with the lowest aim.

/// What two reduced costs may differ by and count as equal.
const EQUAL: f64 = 1e-10;
/// Exchanges of a basis before a step is taken as it is.
const MOST: usize = 1000;

/// A function that must be at or below zero: its value here, and its slope in each direction.
#[derive(Clone, Debug)]
pub(super) struct Line {
    pub(super) value: f64,
    pub(super) slope: Vec<f64>,
}

/// The step s within `low` and `high` that first has the least sum of violations, sum of max(0, value + slope s), and then the
/// lowest aim, slope s.
///
/// A simplex method by the least index (R. G. Bland, Mathematics of Operations Research 2, 1977, 103), which ends; two rows of
/// cost, the second looked at where the first is zero.
pub(super) fn step(aim: &[f64], lines: &[Line], [low, high]: [&[f64]; 2]) -> Vec<f64> {
    let (dims, count) = (aim.len(), lines.len());
    // Columns: the step from its low end, a violation and a slack of each line, a slack of each high end, the right side.
    let (violation, slack, upper) = (dims, dims + count, dims + 2 * count);
    let columns = upper + dims;
    let mut rows = Vec::with_capacity(count + dims);
    let mut basis = Vec::with_capacity(count + dims);
    for (index, line) in lines.iter().enumerate() {
        let mut row = vec![0.0; columns + 1];
        row[..dims].copy_from_slice(&line.slope);
        let at_low: f64 = line.slope.iter().zip(low).map(|(slope, low)| slope * low).sum();
        (row[violation + index], row[slack + index], row[columns]) = (-1.0, 1.0, -line.value - at_low);
        let met = row[columns] >= 0.0;
        if !met {
            row.iter_mut().for_each(|entry| *entry = 0.0 - *entry);
        }
        basis.push(if met { slack + index } else { violation + index });
        rows.push(row);
    }
    for direction in 0..dims {
        let mut row = vec![0.0; columns + 1];
        (row[direction], row[upper + direction], row[columns]) = (1.0, 1.0, high[direction] - low[direction]);
        basis.push(upper + direction);
        rows.push(row);
    }
    let mut costs = [vec![0.0; columns + 1], vec![0.0; columns + 1]];
    costs[0][violation..slack].iter_mut().for_each(|cost| *cost = 1.0);
    let steepest = aim.iter().fold(f64::MIN_POSITIVE, |most, slope| most.max(slope.abs()));
    costs[1].iter_mut().zip(aim).for_each(|(cost, slope)| *cost = slope / steepest);
    for (row, &basic) in rows.iter().zip(&basis) {
        if costs[0][basic] != 0.0 {
            costs[0].iter_mut().zip(row).for_each(|(cost, entry)| *cost -= entry);
        }
    }
    for _ in 0..MOST {
        let gains = |column: &usize| {
            let [first, second] = [costs[0][*column], costs[1][*column]];
            first < -EQUAL || (first <= EQUAL && second < -EQUAL)
        };
        let Some(entering) = (0..columns).find(gains) else { break };
        let ratio = |row: &Vec<f64>| row[columns] / row[entering];
        let leaving = (0..rows.len()).filter(|&row| rows[row][entering] > EQUAL).min_by(|&a, &b| {
            let order = ratio(&rows[a]).total_cmp(&ratio(&rows[b]));
            order.then(basis[a].cmp(&basis[b]))
        });
        let Some(leaving) = leaving else { break };
        exchange(&mut rows, &mut costs, leaving, entering);
        basis[leaving] = entering;
    }
    let mut step = low.to_vec();
    for (row, &basic) in rows.iter().zip(&basis).filter(|(_, basic)| **basic < dims) {
        step[basic] = (low[basic] + row[columns]).clamp(low[basic], high[basic]);
    }
    step
}

/// Brings a column into the basis in place of that of a row.
fn exchange(rows: &mut [Vec<f64>], costs: &mut [Vec<f64>; 2], leaving: usize, entering: usize) {
    let pivot = rows[leaving][entering];
    rows[leaving].iter_mut().for_each(|entry| *entry /= pivot);
    let own = rows[leaving].clone();
    let others = rows.iter_mut().enumerate().filter(|(row, _)| *row != leaving).map(|(_, row)| row);
    for row in others.chain(costs.iter_mut()) {
        let factor = row[entering];
        if factor != 0.0 {
            row.iter_mut().zip(&own).for_each(|(entry, own)| *entry -= factor * own);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(value: f64, slope: [f64; 2]) -> Line {
        Line { value, slope: slope.to_vec() }
    }

    fn near(step: &[f64], expected: [f64; 2]) {
        assert!(step.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-12), "{step:?} for {expected:?}");
    }

    #[test]
    fn the_corner_of_two_lines_and_that_of_the_box() {
        let within: [&[f64]; 2] = [&[-1.0, -1.0], &[1.0, 1.0]];
        // x + 2 y <= 1 and 3 x + y <= 1: least -x - y at (0.2, 0.4).
        let lines = [line(-1.0, [1.0, 2.0]), line(-1.0, [3.0, 1.0])];
        near(&step(&[-1.0, -1.0], &lines, within), [0.2, 0.4]);
        near(&step(&[1.0, -1e-6], &[], within), [-1.0, 1.0]);
        // Where the box does not hold the lines, the nearest to them comes before the aim.
        near(&step(&[1.0, 0.0], &[line(5.0, [-1.0, 0.0])], within), [1.0, -1.0]);
    }

    #[test]
    fn of_two_lines_that_exclude_each_other_the_least_sum_is_violated() {
        let within: [&[f64]; 2] = [&[-1.0, -1.0], &[1.0, 1.0]];
        // x <= -0.5 and x >= 0.5 twice as steep: the steeper one is met.
        let lines = [line(0.5, [1.0, 0.0]), line(1.0, [-2.0, 0.0])];
        near(&step(&[0.0, 1.0], &lines, within), [0.5, -1.0]);
    }
}
