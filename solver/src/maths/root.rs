//! The root of a function between two points where its sign differs.

/// Two points that enclose a root, each with the function's value there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bracket {
    /// The lower point: place and value.
    pub low: [f64; 2],
    /// The upper point: place and value.
    pub high: [f64; 2],
}

/// Why a root was not found.
#[derive(Clone, Debug, PartialEq)]
pub enum RootError<E> {
    /// The function has one sign at both ends: nothing says that there is a root between them.
    SameSign(Bracket),
    /// The function or an end is not a number.
    NotANumber {
        /// Where.
        at: f64,
    },
    /// The root is enclosed, but more evaluations than halving would need thrice did not bring the ends together.
    Unfinished(Bracket),
    /// The function has no value somewhere in between.
    Function(E),
}

/// Most evaluations for one root: thrice as many as halving the range of numbers would need.
const MOST: usize = 200;

/// Draws the ends of a bracket together until they are no more than `width` apart, or two units in the last place.
///
/// Inverse quadratic interpolation where it is safe, halving elsewhere, and halving whenever three steps together did not halve
/// the bracket: never more than thrice the evaluations of halving alone. The sign of the function differs at the ends that
/// come back (or is zero at both, which are then one point), so that either side of the root may be relied on. Source: T. R.
/// Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function without using
/// derivatives", Advances in Engineering Software 28 (1997) 145 (from memory, not checked); the rule of three steps is added.
///
/// # Errors
///
/// The same sign at both ends; a value that is not a number; an error of the function.
///
/// ```
/// use quenchway::maths::root::{Bracket, enclose};
/// let f = |x: f64| Ok::<f64, ()>(x * x - 2.0);
/// let root = enclose(f, Bracket { low: [1.0, -1.0], high: [2.0, 2.0] }, 1e-6).unwrap();
/// assert!(root.low[0] <= 2f64.sqrt() && 2f64.sqrt() <= root.high[0] && root.width() <= 1e-6);
/// ```
pub fn enclose<E>(
    mut f: impl FnMut(f64) -> Result<f64, E>,
    ends: Bracket,
    width: f64,
) -> Result<Bracket, RootError<E>> {
    for [at, value] in [ends.low, ends.high] {
        if at.is_nan() || value.is_nan() {
            return Err(RootError::NotANumber { at });
        }
    }
    if let Some(&[at, _]) = [ends.low, ends.high].iter().find(|end| end[1] == 0.0) {
        return Ok(Bracket { low: [at, 0.0], high: [at, 0.0] });
    }
    if (ends.low[1] > 0.0) == (ends.high[1] > 0.0) {
        return Err(RootError::SameSign(ends));
    }
    // `a` is the newest point, `b` the other end of the bracket, `c` the point before.
    let ([mut a, mut at_a], [mut b, mut at_b]) = (ends.high, ends.low);
    let mut share = 0.5;
    // Widths of the bracket, the newest last.
    let mut widths = [f64::INFINITY; 3];
    for _ in 0..MOST {
        let newest = a + share * (b - a);
        let at_newest = f(newest).map_err(RootError::Function)?;
        if at_newest.is_nan() {
            return Err(RootError::NotANumber { at: newest });
        }
        if at_newest == 0.0 {
            return Ok(Bracket { low: [newest, 0.0], high: [newest, 0.0] });
        }
        let (c, at_c);
        if (at_newest > 0.0) == (at_a > 0.0) {
            (c, at_c) = (a, at_a);
        } else {
            (c, at_c) = (b, at_b);
            (b, at_b) = (a, at_a);
        }
        (a, at_a) = (newest, at_newest);
        let best = if at_b.abs() < at_a.abs() { b } else { a };
        let smallest_share = (2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE + 0.5 * width) / (b - a).abs();
        if smallest_share > 0.5 {
            return Ok(sorted([a, at_a], [b, at_b]));
        }
        let place = (a - b) / (c - b);
        let height = (at_a - at_b) / (at_c - at_b);
        let slow = (b - a).abs() > 0.5 * widths[0];
        widths = [widths[1], widths[2], (b - a).abs()];
        share = if !slow && height * height < place && (1.0 - height) * (1.0 - height) < 1.0 - place {
            at_a / (at_b - at_a) * at_c / (at_b - at_c)
                + (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
        } else {
            0.5
        };
        share = share.max(smallest_share).min(1.0 - smallest_share);
    }
    Err(RootError::Unfinished(sorted([a, at_a], [b, at_b])))
}

/// Two points, place and value each, whose newest draws near to a root by false position: the line between them, with the value of an
/// end that stays halved (the Illinois rule: Dowell & Jarratt, A modified regula falsi method for computing the root of an
/// equation, BIT 11, 1971).
///
/// ```
/// use quenchway::maths::root::FalsePosition;
/// let mut ends = FalsePosition { far: [1.0, -1.0], newest: [2.0, 2.0] };
/// assert!(ends.encloses());
/// while ends.newest[1].abs() > 1e-12 {
///     let x = ends.guess();
///     ends.take([x, x * x - 2.0]);
/// }
/// assert!((ends.newest[0] - 2f64.sqrt()).abs() < 1e-12);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FalsePosition {
    /// The point on the other side of the root.
    pub far: [f64; 2],
    /// The point found last.
    pub newest: [f64; 2],
}

impl FalsePosition {
    /// Whether the function's sign differs at the two points.
    pub fn encloses(&self) -> bool {
        (self.far[1] > 0.0) != (self.newest[1] > 0.0)
    }

    /// Where to look next.
    pub fn guess(&self) -> f64 {
        let ([a, fa], [b, fb]) = (self.far, self.newest);
        (a * fb - b * fa) / (fb - fa)
    }

    /// Takes the point there; returns how far it lies from the one before.
    pub fn take(&mut self, found: [f64; 2]) -> f64 {
        if (found[1] > 0.0) == (self.newest[1] > 0.0) {
            self.far[1] *= 0.5;
        } else {
            self.far = self.newest;
        }
        let moved = (found[0] - self.newest[0]).abs();
        self.newest = found;
        moved
    }
}

fn sorted(a: [f64; 2], b: [f64; 2]) -> Bracket {
    if a[0] < b[0] { Bracket { low: a, high: b } } else { Bracket { low: b, high: a } }
}

impl Bracket {
    /// The end at which the function is nearer to zero.
    pub fn best(&self) -> f64 {
        if self.high[1].abs() < self.low[1].abs() { self.high[0] } else { self.low[0] }
    }

    /// The end at which the function is at or below zero.
    pub fn below(&self) -> f64 {
        if self.high[1] <= 0.0 { self.high[0] } else { self.low[0] }
    }

    /// Distance of the ends.
    pub fn width(&self) -> f64 {
        self.high[0] - self.low[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    fn over(f: impl Fn(f64) -> f64, low: f64, high: f64, width: f64) -> Result<Bracket, RootError<()>> {
        enclose(|x| Ok(f(x)), Bracket { low: [low, f(low)], high: [high, f(high)] }, width)
    }

    #[test]
    fn both_ends_stay_on_their_side_of_the_root() {
        for width in [0.1, 1e-3, 1e-9, 0.0] {
            for (f, low, high, root) in [
                (&(|x: f64| x * x - 2.0) as &dyn Fn(f64) -> f64, 0.0, 2.0, 2f64.sqrt()),
                (&|x: f64| libm::exp(-x) - 1e-3, 0.0, 100.0, -libm::log(1e-3)),
                (&|x: f64| 0.3 - libm::tanh(50.0 * (x - 7.0)), 0.0, 10.0, 7.0 + libm::atanh(0.3) / 50.0),
                (&|x: f64| if x < 1.2345 { 1.0 } else { -1e-9 }, 0.0, 10.0, 1.2345),
            ] {
                let found = over(f, low, high, width).unwrap();
                let room = width.max(4e-15 * root);
                assert!(found.width() <= room, "{found:?}");
                assert!(found.low[0] - room <= root && root <= found.high[0] + room, "{found:?} for {root}");
                assert!((f(found.low[0]) > 0.0) != (f(found.high[0]) > 0.0) || found.width() == 0.0, "{found:?}");
                assert!(f(found.below()) <= 0.0);
            }
        }
    }

    /// Thrice the evaluations of halving is the promise; smooth functions take far fewer.
    #[test]
    fn the_work_is_bounded_whatever_the_function() {
        for (power, most) in [(1, 4), (3, 24), (9, 120), (31, 120)] {
            let count = Cell::new(0);
            let f = |x: f64| {
                count.set(count.get() + 1);
                x.powi(power) - 1e-12
            };
            over(f, -1.0, 4.0, 1e-12).unwrap();
            // Halving: log2(5e12) = 42.2.
            assert!(count.get() <= most + 2, "x^{power}: {} evaluations", count.get());
        }
    }

    #[test]
    fn what_is_no_root_is_said() {
        assert!(matches!(over(|_| 1.0, 0.0, 1.0, 0.0), Err(RootError::SameSign(_))));
        assert_eq!(over(|_| f64::NAN, 0.0, 1.0, 0.0), Err(RootError::NotANumber { at: 0.0 }));
        let hole = |x: f64| {
            if x < 0.4 {
                -1.0
            } else if x > 0.6 {
                1.0
            } else {
                f64::NAN
            }
        };
        assert_eq!(over(hole, 0.0, 1.0, 0.0), Err(RootError::NotANumber { at: 0.5 }));
        let ends = Bracket { low: [0.0, -1.0], high: [1.0, 1.0] };
        assert_eq!(enclose(|_| Err("no water"), ends, 0.0), Err(RootError::Function("no water")));
        assert_eq!(over(|x| x, 0.0, 1.0, 0.0).unwrap().best(), 0.0);
    }
}
