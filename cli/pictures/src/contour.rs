//! Values on a grid: between its points, and the lines along which they have one value.

use std::collections::BTreeMap;

/// Values over two axes that rise; the x axis runs fastest. Not a number where there is none.
#[derive(Clone, Copy, Debug)]
pub struct Field<'a> {
    /// Places along x.
    pub x: &'a [f64],
    /// Places along y.
    pub y: &'a [f64],
    /// One value for each pair.
    pub values: &'a [f64],
}

/// A place in a cell of the grid.
#[derive(Clone, Copy, Debug)]
pub struct Spot {
    /// Index of the cell's corner of lowest x and y.
    corner: usize,
    /// How far along x and y, shares of the cell.
    share: [f64; 2],
}

impl Field<'_> {
    /// Where a place lies; none outside the grid.
    pub fn spot(&self, x: f64, y: f64) -> Option<Spot> {
        let along = |axis: &[f64], at: f64| {
            let inside = axis.first().is_some_and(|low| *low <= at) && axis.last().is_some_and(|high| at <= *high);
            let after = axis.partition_point(|&place| place <= at).clamp(1, axis.len().max(2) - 1);
            inside.then(|| (after - 1, (at - axis[after - 1]) / (axis[after] - axis[after - 1])))
        };
        let ((column, right), (row, up)) = (along(self.x, x)?, along(self.y, y)?);
        Some(Spot { corner: row * self.x.len() + column, share: [right, up] })
    }

    /// The value there, linear along both axes; not a number beside a point without one.
    pub fn at(&self, spot: Spot) -> f64 {
        let [right, up] = spot.share;
        let [a, b, c, d] = self.corners(spot.corner);
        (1.0 - up) * ((1.0 - right) * a + right * b) + up * ((1.0 - right) * c + right * d)
    }

    /// Lower left, lower right, upper left, upper right.
    fn corners(&self, corner: usize) -> [f64; 4] {
        let above = corner + self.x.len();
        [corner, corner + 1, above, above + 1].map(|index| self.values[index])
    }

    /// Lines along which the value is `level`, each through neighbouring cells; a closed one ends where it begins.
    pub fn lines(&self, level: f64) -> Vec<Vec<[f64; 2]>> {
        let mut pieces: Vec<[usize; 2]> = Vec::new();
        for row in 0..self.y.len().saturating_sub(1) {
            for column in 0..self.x.len().saturating_sub(1) {
                self.cross(row * self.x.len() + column, level, &mut pieces);
            }
        }
        let place = |edge: usize| self.place(edge, level);
        chained(&pieces).into_iter().map(|chain| chain.into_iter().map(place).collect()).collect()
    }

    /// The pieces of the line in one cell, as pairs of edges. An edge is twice its first point's index, plus one if it runs
    /// upward.
    fn cross(&self, corner: usize, level: f64, pieces: &mut Vec<[usize; 2]>) {
        let [a, b, c, d] = self.corners(corner);
        if !(a + b + c + d).is_finite() {
            return;
        }
        let (bottom, left) = (2 * corner, 2 * corner + 1);
        let (right, top) = (2 * (corner + 1) + 1, 2 * (corner + self.x.len()));
        let crossed = |from: f64, to: f64| (from > level) != (to > level);
        let sides = [(bottom, crossed(a, b)), (right, crossed(b, d)), (top, crossed(c, d)), (left, crossed(a, c))];
        let edges: Vec<usize> = sides.into_iter().filter(|(_, crossed)| *crossed).map(|(edge, _)| edge).collect();
        match edges[..] {
            [one, other] => pieces.push([one, other]),
            [..] if edges.len() == 4 => {
                // A saddle: its middle says which corners belong together.
                let joined = ((a + b + c + d) / 4.0 > level) == (a > level);
                pieces.extend(if joined { [[bottom, right], [top, left]] } else { [[bottom, left], [right, top]] });
            }
            _ => {}
        }
    }

    /// Where the level is met on an edge.
    fn place(&self, edge: usize, level: f64) -> [f64; 2] {
        let first = edge / 2;
        let second = if edge.is_multiple_of(2) { first + 1 } else { first + self.x.len() };
        let point = |index: usize| [self.x[index % self.x.len()], self.y[index / self.x.len()]];
        let (from, to) = (self.values[first], self.values[second]);
        let share = (level - from) / (to - from);
        let (p, q) = (point(first), point(second));
        [0, 1].map(|axis| p[axis] + share * (q[axis] - p[axis]))
    }
}

/// Pieces joined at their ends into chains, those with loose ends first.
fn chained(pieces: &[[usize; 2]]) -> Vec<Vec<usize>> {
    let mut at: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, piece) in pieces.iter().enumerate() {
        piece.iter().for_each(|end| at.entry(*end).or_default().push(index));
    }
    let mut used = vec![false; pieces.len()];
    let loose = at.iter().filter(|(_, there)| there.len() == 1).map(|(end, _)| *end);
    let starts: Vec<usize> = loose.chain(pieces.iter().map(|piece| piece[0])).collect();
    let mut chains = Vec::new();
    for start in starts {
        let (mut chain, mut end) = (vec![start], start);
        while let Some(&next) = at.get(&end).and_then(|there| there.iter().find(|&&piece| !used[piece])) {
            used[next] = true;
            end = if pieces[next][0] == end { pieces[next][1] } else { pieces[next][0] };
            chain.push(end);
        }
        if chain.len() > 1 {
            chains.push(chain);
        }
    }
    chains
}

/// Round values at an even step, 1, 2 or 5 times a power of ten: the ends of so many bands at most, around all values; and
/// the decimals that tell them apart.
pub fn levels(low: f64, high: f64, most: usize) -> (Vec<f64>, usize) {
    // What hardly changes is one colour, not a picture of its rounding.
    let span = (high - low).max(1e-3 * low.abs().max(high.abs())).max(1e-300);
    let rough = span / most as f64;
    let power = rough.log10().floor();
    let ten = 10f64.powf(power);
    // A band more may be needed at the ends than the span holds.
    let bands = |step: f64| ((high / step).ceil() - (low / step).floor()) as usize;
    let fits = |factor: &f64| factor * ten >= rough && bands(factor * ten) <= most;
    let factor = [1.0, 2.0, 5.0, 10.0, 20.0].into_iter().find(fits).unwrap_or(50.0);
    let step = factor * ten;
    let (first, last) = ((low / step).floor() as i64, (high / step).ceil() as i64);
    let last = last.max(first + 1);
    let decimals = (-(step.log10() + 1e-9).floor()).max(0.0) as usize;
    ((first..=last).map(|index| index as f64 * step).collect(), decimals)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const X: [f64; 3] = [0.0, 1.0, 3.0];
    const Y: [f64; 2] = [0.0, 2.0];

    #[test]
    fn values_are_linear_along_both_axes() {
        let field = Field { x: &X, y: &Y, values: &[0.0, 1.0, 3.0, 2.0, 3.0, 5.0] };
        for (x, y) in [(0.0, 0.0), (0.5, 1.0), (1.0, 2.0), (2.0, 0.5), (3.0, 2.0)] {
            assert!((field.at(field.spot(x, y).unwrap()) - (x + y)).abs() < 1e-15, "{x} {y}");
        }
        assert!(field.spot(3.1, 0.0).is_none() && field.spot(1.0, -0.1).is_none());
        let holed = Field { values: &[0.0, 1.0, f64::NAN, 2.0, 3.0, 5.0], ..field };
        assert!(holed.at(holed.spot(0.5, 1.0).unwrap()).is_finite());
        assert!(holed.at(holed.spot(2.0, 1.0).unwrap()).is_nan());
    }

    #[test]
    fn a_line_runs_through_all_cells_that_it_crosses() {
        let field = Field { x: &X, y: &Y, values: &[0.0, 1.0, 3.0, 2.0, 3.0, 5.0] };
        // x + y = 1.5: from the lower edge at 1.5 to the left edge at 1.5.
        let lines = field.lines(1.5);
        assert_eq!(lines.len(), 1);
        let mut ends = [lines[0][0], *lines[0].last().unwrap()];
        ends.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(ends, [[0.0, 1.5], [1.5, 0.0]]);
        assert!(lines[0].iter().all(|[x, y]| (x + y - 1.5).abs() < 1e-15));
        assert!(field.lines(9.0).is_empty());
    }

    #[test]
    fn a_hill_has_a_closed_line_and_a_saddle_two() {
        let places = [0.0, 1.0, 2.0];
        let hill = Field { x: &places, y: &places, values: &[0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0] };
        let lines = hill.lines(0.5);
        assert_eq!((lines.len(), lines[0].len()), (1, 5));
        assert_eq!(lines[0][0], lines[0][4]);
        let saddle = Field { x: &places[..2], y: &places[..2], values: &[1.0, 0.0, 0.0, 1.0] };
        // The middle, 0.5, is below 0.6: the high corners are cut off; above 0.4: the low ones are.
        let corner = |level: f64, at: [f64; 2]| {
            let near = |line: &Vec<[f64; 2]>| line.iter().all(|p| (p[0] - at[0]).abs() + (p[1] - at[1]).abs() < 0.5);
            saddle.lines(level).iter().filter(|line| near(line)).count()
        };
        assert_eq!((corner(0.6, [0.0, 0.0]), corner(0.6, [1.0, 1.0]), corner(0.6, [1.0, 0.0])), (1, 1, 0));
        assert_eq!((corner(0.4, [1.0, 0.0]), corner(0.4, [0.0, 1.0]), corner(0.4, [0.0, 0.0])), (1, 1, 0));
    }

    #[test]
    fn levels_are_round_and_around_all_values() {
        for (low, high, step, decimals) in
            [(33.1, 107.0, 10.0, 0), (0.0312, 0.0987, 0.01, 2), (-3.0, 2.9, 0.5, 1), (5.0, 5.0, 5e-4, 4)]
        {
            let (levels, told) = levels(low, high, 12);
            assert!(levels[0] <= low && *levels.last().unwrap() >= high && levels.len() <= 13, "{levels:?}");
            assert!((levels[1] - levels[0] - step).abs() < 1e-6 * step, "{low} to {high}: {levels:?}");
            assert_eq!(told, decimals, "{low} to {high}");
        }
    }
}
