//! Notes inside a plot, put where no curve and no other note is.

use quenchway::maths::order::sort_by_number;

use super::PlotError;
use super::frame::Frame;
use super::sheet::{Align, Lettering, Pen, Place, Sheet};
use super::theme::{PAPER, THIN};

/// Side of a cell of the map of what is taken, px.
const CELL: f64 = 6.0;

/// A map of what is where in a plot.
pub struct Callouts {
    frame: Frame,
    columns: usize,
    rows: usize,
    taken: Vec<Taken>,
}

/// What is in a cell, the least important first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Taken {
    Nothing,
    /// A line that a note may cross where there is no better place.
    Fine,
    /// A curve.
    Full,
    /// A note.
    Note,
}

/// A step between places that are tried for a name, px.
const STEP: f64 = 12.0;
/// A leader that crosses another line counts as so much longer, px.
const CROSSING: f64 = 60.0;
/// A name nearer to its line than this needs no leader where no other line is nearer to it, px.
const NEAR: f64 = 20.0;
/// Another line is nearer to a name where it is so by more than this, px: a reader sees less as the same.
const CLEARLY: f64 = 2.0;

impl Callouts {
    /// An empty plot.
    pub fn new(frame: Frame) -> Callouts {
        let columns = ((frame.right - frame.left) / CELL).ceil().max(1.0) as usize;
        let rows = ((frame.bottom - frame.top) / CELL).ceil().max(1.0) as usize;
        Callouts { frame, columns, rows, taken: vec![Taken::Nothing; columns * rows] }
    }

    /// Keeps notes off a curve.
    pub fn avoid_line(&mut self, places: &[Place]) {
        for pair in places.windows(2) {
            self.take_line(pair[0], pair[1], Taken::Full);
        }
    }

    /// Keeps notes off an upright line where there is a better place.
    pub fn avoid_upright(&mut self, x: f64) {
        self.take_line([x, self.frame.top], [x, self.frame.bottom], Taken::Fine);
    }

    /// Keeps notes off a rectangle between two corners.
    pub fn avoid_box(&mut self, from: Place, to: Place) {
        self.take_box(from, to, Taken::Note);
    }

    fn take_line(&mut self, from: Place, to: Place, by: Taken) {
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        if !length.is_finite() {
            return;
        }
        let pieces = (length / CELL).ceil().min(4096.0) as usize;
        for piece in 0..=pieces {
            let share = piece as f64 / pieces.max(1) as f64;
            let (x, y) = (from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1]));
            self.take_box([x - CELL, y - CELL], [x + CELL, y + CELL], by);
        }
    }

    fn take_box(&mut self, from: Place, to: Place, by: Taken) {
        for cell in self.cells(from, to).unwrap_or_default() {
            self.taken[cell] = self.taken[cell].max(by);
        }
    }

    /// Cells of a rectangle, clipped to the plot; none when it lies outside.
    fn cells(&self, from: Place, to: Place) -> Option<Vec<usize>> {
        let index = |value: f64, start: f64, count: usize| {
            (((value - start) / CELL).floor().max(0.0) as usize).min(count.saturating_sub(1))
        };
        if !(from[0].is_finite() && from[1].is_finite() && to[0].is_finite() && to[1].is_finite()) {
            return None;
        }
        if to[0] < self.frame.left
            || from[0] > self.frame.right
            || to[1] < self.frame.top
            || from[1] > self.frame.bottom
        {
            return None;
        }
        let (left, right) =
            (index(from[0], self.frame.left, self.columns), index(to[0], self.frame.left, self.columns));
        let (top, bottom) = (index(from[1], self.frame.top, self.rows), index(to[1], self.frame.top, self.rows));
        let rows = (top..=bottom).map(|row| row * self.columns);
        Some(rows.flat_map(|row| (left..=right).map(move |column| row + column)).collect())
    }

    /// Writes `words` near `place`, `off` px beside it or above or below, joined to it by a fine line where it stands
    /// farther off; left out where all is taken.
    pub fn note(
        &mut self,
        sheet: &Sheet,
        words: &str,
        place: Place,
        off: f64,
        how: Lettering,
    ) -> Result<bool, PlotError> {
        let half = [how.width(words)? / 2.0 + 5.0, how.size * 0.62];
        let free = self.free(place, off, half, Taken::Nothing);
        let Some(centre) = free.or_else(|| self.free(place, off, half, Taken::Fine)) else { return Ok(false) };
        let (from, to) = ([centre[0] - half[0], centre[1] - half[1]], [centre[0] + half[0], centre[1] + half[1]]);
        let near = [place[0].clamp(from[0], to[0]), place[1].clamp(from[1], to[1])];
        let beside = (centre[1] - place[1]).abs() < half[1];
        let above = near[0] == place[0] && (near[1] - place[1]).abs() < off + 6.0;
        if !(beside || above) {
            sheet.line(&[place, near], Pen::solid(how.color, 0.8 * THIN))?;
        }
        // A halo keeps the words readable over grid lines.
        sheet.halo(words, centre, Align::Middle, how, PAPER)?;
        self.avoid_box(from, to);
        Ok(true)
    }

    /// Writes `words` as [`Callouts::note`] does, at that of several places which leaves it nearest.
    pub fn note_best(
        &mut self,
        sheet: &Sheet,
        words: &str,
        places: &[Place],
        off: f64,
        how: Lettering,
    ) -> Result<bool, PlotError> {
        let half = [how.width(words)? / 2.0 + 5.0, how.size * 0.62];
        let far = |place: &Place| {
            let centre = self.free(*place, off, half, Taken::Nothing)?;
            // From the rectangle's edge: a long note beside its place is near.
            let [dx, dy] = [0, 1].map(|axis| ((centre[axis] - place[axis]).abs() - half[axis]).max(0.0));
            Some(dx.hypot(dy))
        };
        let measured: Vec<(f64, Place)> =
            places.iter().map(|place| (far(place).unwrap_or(f64::INFINITY), *place)).collect();
        match measured.iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
            Some((_, place)) => self.note(sheet, words, *place, off, how),
            None => Ok(false),
        }
    }

    /// Writes the name of a line where it is nearest to it, with a leader and a dot where it stands off or nearer to a line of
    /// `others`; over curves where there is no other place, never over another name. A leader rather crosses no line of `others`.
    pub fn name_line(
        &mut self,
        sheet: &Sheet,
        words: &str,
        line: &[Place],
        others: &[&[Place]],
        how: Lettering,
    ) -> Result<bool, PlotError> {
        let half = [how.width(words)? / 2.0 + 5.0, how.size * 0.62];
        let Some((centre, anchor)) = self.beside_line(half, line, others) else { return Ok(false) };
        let own = gap(centre, half, anchor);
        let stands_off = own > NEAR || is_nearer(centre, half, own, others);
        let (from, to) = ([centre[0] - half[0], centre[1] - half[1]], [centre[0] + half[0], centre[1] + half[1]]);
        let near = [anchor[0].clamp(from[0], to[0]), anchor[1].clamp(from[1], to[1])];
        if stands_off {
            sheet.line(&[anchor, near], Pen::solid(PAPER, 3.0 * THIN))?;
            sheet.line(&[anchor, near], Pen::solid(how.color, THIN))?;
            sheet.disc(anchor, 4.5 * THIN, PAPER)?;
            sheet.disc(anchor, 3.0 * THIN, how.color)?;
            self.take_line(anchor, near, Taken::Full);
        }
        sheet.halo(words, centre, Align::Middle, how, PAPER)?;
        self.avoid_box(from, to);
        Ok(true)
    }

    /// Where a name of this half size stands best, and the place of its line that it belongs to.
    fn beside_line(&self, half: [f64; 2], line: &[Place], others: &[&[Place]]) -> Option<(Place, Place)> {
        let inside = |place: &&Place| {
            (self.frame.left..=self.frame.right).contains(&place[0])
                && (self.frame.top..=self.frame.bottom).contains(&place[1])
        };
        let anchors: Vec<Place> = line.iter().filter(inside).copied().collect();
        let count = |from: f64, to: f64| ((to - from) / STEP).floor().max(0.0) as usize;
        let (columns, rows) = (count(self.frame.left, self.frame.right), count(self.frame.top, self.frame.bottom));
        let grid = (0..=rows).flat_map(|row| (0..=columns).map(move |column| [column, row]));
        let centres: Vec<Place> =
            grid.map(|[x, y]| [self.frame.left + x as f64 * STEP, self.frame.top + y as f64 * STEP]).collect();
        // The nearest place of the line, and how far it is from the name's edge.
        let joined = |centre: &Place| {
            let off = |anchor: &Place| gap(*centre, half, *anchor);
            let anchor = anchors.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
            Some((off(anchor), *centre, *anchor))
        };
        let crossed = |(_, centre, anchor): &(f64, Place, Place)| {
            let cuts = |pair: &&[Place]| cross([*centre, *anchor], [pair[0], pair[1]]);
            others.iter().map(|other| other.windows(2).filter(cuts).count()).sum::<usize>() as f64
        };
        for most in [Taken::Nothing, Taken::Fine, Taken::Full] {
            let mut fitting: Vec<(f64, Place, Place)> =
                centres.iter().filter(|centre| self.fits(**centre, half, most)).filter_map(joined).collect();
            sort_by_number(&mut fitting, |(off, ..)| *off);
            let mut best: Option<(f64, Place, Place)> = None;
            for place in fitting {
                if best.is_some_and(|best| best.0 <= place.0) {
                    break;
                }
                let elsewhere = if is_nearer(place.1, half, place.0, others) { CROSSING } else { 0.0 };
                let cost = place.0 + CROSSING * crossed(&place) + elsewhere;
                if best.is_none_or(|best| cost < best.0) {
                    best = Some((cost, place.1, place.2));
                }
            }
            if let Some((_, centre, anchor)) = best {
                return Some((centre, anchor));
            }
        }
        None
    }

    /// Whether a rectangle of this half size about a place lies in the plot and on nothing.
    pub fn has_room(&self, centre: Place, half: [f64; 2]) -> bool {
        self.fits(centre, half, Taken::Nothing)
    }

    /// Whether it lies in the plot and covers no more than `most`.
    fn fits(&self, centre: Place, half: [f64; 2], most: Taken) -> bool {
        let (from, to) = ([centre[0] - half[0], centre[1] - half[1]], [centre[0] + half[0], centre[1] + half[1]]);
        let inside = from[0] > self.frame.left
            && to[0] < self.frame.right
            && from[1] > self.frame.top
            && to[1] < self.frame.bottom;
        let is_free = |cells: Vec<usize>| cells.iter().all(|&cell| self.taken[cell] <= most);
        inside && self.cells(from, to).is_some_and(is_free)
    }

    /// The nearest centre about `place` where a rectangle of this half size covers no more than `most`.
    fn free(&self, place: Place, off: f64, half: [f64; 2], most: Taken) -> Option<Place> {
        for ring in 0..14 {
            let down = f64::from(ring) * half[1];
            for dy in [-down, down] {
                for dx in [-(half[0] + off), half[0] + off, 0.0] {
                    if dx == 0.0 && down < half[1] + off {
                        continue;
                    }
                    let centre = [place[0] + dx, place[1] + dy];
                    if self.fits(centre, half, most) {
                        return Some(centre);
                    }
                }
            }
        }
        None
    }
}

/// How far a place is from the edge of a rectangle of this half size about a centre.
fn gap(centre: Place, half: [f64; 2], place: Place) -> f64 {
    let [dx, dy] = [0, 1].map(|axis| ((centre[axis] - place[axis]).abs() - half[axis]).max(0.0));
    dx.hypot(dy)
}

/// Whether one of some lines is clearly nearer to a rectangle than `own`.
fn is_nearer(centre: Place, half: [f64; 2], own: f64, lines: &[&[Place]]) -> bool {
    lines.iter().flat_map(|line| line.windows(2)).any(|pair| {
        let [from, way] = [pair[0], [pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]]];
        let pieces = (way[0].hypot(way[1]) / STEP).ceil().clamp(1.0, 4096.0) as usize;
        (0..=pieces).any(|piece| {
            let share = piece as f64 / pieces as f64;
            gap(centre, half, [from[0] + share * way[0], from[1] + share * way[1]]) + CLEARLY < own
        })
    })
}

/// Whether two straight pieces cross.
fn cross([a, b]: [Place; 2], [c, d]: [Place; 2]) -> bool {
    let side = |p: Place, q: Place, r: Place| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::frame::Axis;
    use super::*;

    fn plot() -> Callouts {
        let axis = Axis::new(0.0, 1.0);
        Callouts::new(Frame { left: 0.0, top: 0.0, right: 600.0, bottom: 400.0, x: axis, y: axis })
    }

    #[test]
    fn a_note_stands_beside_its_place() {
        let centre = plot().free([300.0, 200.0], 16.0, [50.0, 15.0], Taken::Nothing).unwrap();
        assert_eq!(centre, [300.0 - 66.0, 200.0]);
    }

    #[test]
    fn a_note_moves_off_a_curve() {
        let mut callouts = plot();
        callouts.avoid_line(&[[0.0, 200.0], [600.0, 200.0]]);
        let centre = callouts.free([300.0, 200.0], 16.0, [50.0, 15.0], Taken::Nothing).unwrap();
        assert!((centre[1] - 200.0).abs() > 15.0, "{centre:?}");
    }

    #[test]
    fn a_note_crosses_a_fine_line_only_where_asked_to() {
        let mut callouts = plot();
        (0..60).for_each(|i| callouts.avoid_upright(10.0 * f64::from(i)));
        assert_eq!(callouts.free([300.0, 200.0], 16.0, [50.0, 15.0], Taken::Nothing), None);
        assert!(callouts.free([300.0, 200.0], 16.0, [50.0, 15.0], Taken::Fine).is_some());
    }

    #[test]
    fn a_full_plot_has_no_room_for_a_note() {
        let mut callouts = plot();
        callouts.avoid_box([0.0, 0.0], [600.0, 400.0]);
        assert_eq!(callouts.free([300.0, 200.0], 16.0, [50.0, 15.0], Taken::Nothing), None);
    }

    /// Steep lines close together, more than have room beside them: each has a name, no two names lie on each other, and no
    /// name lies on a line.
    #[test]
    fn every_steep_line_has_its_name() {
        for (lines, apart) in [(4, 9.0), (4, 30.0), (6, 5.0), (2, 300.0)] {
            let mut callouts = plot();
            let drawn: Vec<Vec<Place>> = (0..lines)
                .map(|line| {
                    (0..=40)
                        .map(|i| [200.0 + apart * f64::from(line) + 0.5 * f64::from(i), 10.0 * f64::from(i)])
                        .collect()
                })
                .collect();
            drawn.iter().for_each(|line| callouts.avoid_line(line));
            let half = [120.0, 16.0];
            let mut names: Vec<Place> = Vec::new();
            for (index, line) in drawn.iter().enumerate() {
                let others: Vec<&[Place]> = drawn
                    .iter()
                    .enumerate()
                    .filter(|(other, _)| *other != index)
                    .map(|(_, line)| line.as_slice())
                    .collect();
                let (centre, anchor) = callouts.beside_line(half, line, &others).unwrap();
                assert!(line.contains(&anchor), "{lines} {apart}: {anchor:?}");
                let apart_from =
                    |name: &Place| (name[0] - centre[0]).abs() >= half[0] || (name[1] - centre[1]).abs() >= half[1];
                assert!(callouts.has_room(centre, half), "{lines} {apart}: {centre:?} covers a line");
                assert!(names.iter().all(apart_from), "{lines} {apart}: {centre:?} {names:?}");
                callouts
                    .avoid_box([centre[0] - half[0], centre[1] - half[1]], [centre[0] + half[0], centre[1] + half[1]]);
                names.push(centre);
            }
        }
    }

    /// A name that stands nearer to another line says by a leader which one is its own; beside its own alone it needs none.
    #[test]
    fn a_name_between_lines_tells_which_is_its_own() {
        let level = |y: f64| -> Vec<Place> { (0..=40).map(|i| [15.0 * f64::from(i), y]).collect() };
        let (upper, lower) = (level(150.0), level(190.0));
        let half = [120.0, 16.0];
        assert!(is_nearer([300.0, 215.0], half, gap([300.0, 215.0], half, [300.0, 150.0]), &[&lower]));
        assert!(!is_nearer([300.0, 215.0], half, gap([300.0, 215.0], half, [300.0, 190.0]), &[&upper]));
        // Room below both lines only: the cheapest place is beside the line's own side where there is one.
        let mut callouts = plot();
        [&upper, &lower].into_iter().for_each(|line| callouts.avoid_line(line));
        let (centre, anchor) = callouts.beside_line(half, &lower, &[&upper]).unwrap();
        assert!(centre[1] > 190.0 && !is_nearer(centre, half, gap(centre, half, anchor), &[&upper]), "{centre:?}");
    }

    #[test]
    fn pieces_cross_or_do_not() {
        assert!(cross([[0.0, 0.0], [2.0, 2.0]], [[0.0, 2.0], [2.0, 0.0]]));
        assert!(!cross([[0.0, 0.0], [2.0, 2.0]], [[3.0, 0.0], [3.0, 9.0]]));
    }

    #[test]
    fn places_that_are_no_numbers_take_nothing() {
        let mut callouts = plot();
        callouts.avoid_line(&[[f64::NAN, 0.0], [10.0, f64::INFINITY]]);
        assert!(callouts.taken.iter().all(|&taken| taken == Taken::Nothing));
    }
}
