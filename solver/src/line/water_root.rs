//! The temperature of searched water where the product enters: which marches through its section find it.
//!
//! F(x) = x - T_supply - beta Q(x) is known where the section was marched. The search says where it wants F next, from what it
//! knows: it holds no lane, and what it asks depends on the marches before alone.

use crate::maths::root::FalsePosition;

/// Most marches through one section, or through the line, in the search of a root.
pub(super) const MARCHES: usize = 60;
/// The root's residual, relative to the water's rise; and the rounding of a temperature, K.
pub(super) const RESIDUAL: [f64; 2] = [1e-11, 2e-13];

/// A root found before: where, and the slope of F there.
pub(super) type Known = Option<[f64; 2]>;

/// What a search says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Ask {
    /// It wants F there; `frozen`: with steps as they were.
    March { x: f64, frozen: bool },
    /// The root is there, the last march its own; the slope of F there.
    Found([f64; 2]),
    /// There is none to be found: what is left of F.
    Open(f64),
}

/// The search for a root.
#[derive(Debug)]
pub(super) struct Root {
    /// Temperature of the supply, degC.
    pub(super) supply: f64,
    /// The root of nearly the same problem.
    pub(super) known: Known,
    /// Whether steps are repeated from the start.
    pub(super) frozen: bool,
    /// How near the root must be, K, before steps are repeated.
    pub(super) close: f64,
    /// Where F was asked for, and what it is there.
    pub(super) marches: Vec<[f64; 2]>,
}

/// The marches of a search, gone through again from the first.
struct Again<'r> {
    marches: std::slice::Iter<'r, [f64; 2]>,
    frozen: bool,
}

impl Again<'_> {
    /// F there; where it is not known yet, the wish to know it.
    fn at(&mut self, x: f64) -> Result<f64, Ask> {
        let known = self.marches.next().map(|&[there, value]| {
            debug_assert!(there.to_bits() == x.to_bits(), "{there} {x}");
            value
        });
        known.ok_or(Ask::March { x, frozen: self.frozen })
    }
}

impl Root {
    /// Takes the rise of the water by a march where it entered at `x`.
    pub(super) fn take(&mut self, x: f64, rise: f64) {
        self.marches.push([x, x - self.supply - rise]);
    }

    /// What comes next; `product`: its hottest and coldest temperature at the entry, and the supply among them.
    pub(super) fn ask(&self, product: impl Fn() -> [f64; 2]) -> Ask {
        let mut again = Again { marches: self.marches.iter(), frozen: self.frozen };
        match self.search(&mut again, product) {
            Ok(found) => Ask::Found(found),
            Err(ask) => ask,
        }
    }

    fn search(&self, again: &mut Again, product: impl Fn() -> [f64; 2]) -> Result<[f64; 2], Ask> {
        let near = match self.known {
            Some(known) if !self.frozen => self.after_known(again, known)?,
            known => known,
        };
        let [mut x, mut slope] = match near {
            Some(near) => near,
            None => self.bracketed(again, product())?,
        };
        again.frozen = true;
        let mut residual = f64::INFINITY;
        let mut last: Option<[f64; 2]> = None;
        for _ in 0..MARCHES {
            residual = again.at(x)?;
            if let Some([x0, f0]) = last
                && (x - x0).abs() > 1e-9
            {
                slope = ((residual - f0) / (x - x0)).max(1.0);
            }
            if residual.abs() <= RESIDUAL[0] * (x - self.supply - residual).abs() + RESIDUAL[1] {
                return Ok([x, slope]);
            }
            last = Some([x, residual]);
            x -= residual / slope;
        }
        Err(Ask::Open(residual))
    }

    /// The root to within `close` K from one of nearly the same problem; none where it is not near.
    fn after_known(&self, again: &mut Again, [mut x, slope]: [f64; 2]) -> Result<Known, Ask> {
        for _ in 0..4 {
            let step = again.at(x)? / slope;
            if step.abs() <= self.close {
                return Ok(Some([x, slope]));
            }
            x -= step;
        }
        Ok(None)
    }

    /// The root to within `close` K by false position between the supply and the product's temperatures (Illinois rule), and
    /// the slope of F there; steps are chosen anew in every march.
    fn bracketed(&self, again: &mut Again, [hottest, coldest]: [f64; 2]) -> Result<[f64; 2], Ask> {
        let supply = self.supply;
        let far = [supply, again.at(supply)?];
        let mut ends = FalsePosition { far, newest: [(supply - far[1]).clamp(coldest, hottest), far[1]] };
        let mut slope: f64 = 1.0;
        if ends.newest[0] != supply {
            ends.newest[1] = again.at(ends.newest[0])?;
        }
        for _ in 0..MARCHES {
            let [b, fb] = ends.newest;
            if (b - ends.far[0]).abs() <= self.close || fb == 0.0 {
                return Ok([b, slope.max(1.0)]);
            }
            if !ends.encloses() {
                // The product's extremes do.
                let extreme = if fb < 0.0 { hottest } else { coldest };
                ends = FalsePosition { far: ends.newest, newest: [extreme, again.at(extreme)?] };
                if !ends.encloses() {
                    break;
                }
            }
            let x = ends.guess();
            let fx = again.at(x)?;
            slope = (fx - ends.newest[1]) / (x - ends.newest[0]);
            if ends.take([x, fx]) <= self.close || fx.abs() <= self.close {
                return Ok([x, slope.max(1.0)]);
            }
        }
        Err(Ask::Open(ends.newest[1].abs()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Goes through a search of F(x) = x - supply - rise(x); returns where it ends, and where it asked.
    fn gone(known: Known, frozen: bool, rise: impl Fn(f64) -> f64) -> (Ask, Vec<(f64, bool)>) {
        let mut root = Root { supply: 15.0, known, frozen, close: 1e-3, marches: Vec::new() };
        let mut asked = Vec::new();
        loop {
            match root.ask(|| [200.0, 15.0]) {
                Ask::March { x, frozen } => {
                    asked.push((x, frozen));
                    root.take(x, rise(x));
                }
                end => return (end, asked),
            }
        }
    }

    #[test]
    fn the_root_is_found_and_marched_last() {
        // x = 15 + 0.3 (180 - x) by hand: 69/1.3.
        let (end, asked) = gone(None, false, |x| 0.3 * (180.0 - x));
        let Ask::Found([x, slope]) = end else { panic!("{end:?}") };
        assert!((x - 69.0 / 1.3).abs() < 1e-11 && (slope - 1.3).abs() < 1e-9, "{x} {slope}");
        assert_eq!(asked.last(), Some(&(x, true)));
        assert_eq!(asked[0], (15.0, false));
        // A curved one, from a neighbour's root, with steps that are repeated from the start and that are not.
        let curved = |x: f64| 4e-4 * (180.0 - x) * (180.0 - x);
        for frozen in [false, true] {
            let (end, asked) = gone(Some([24.0, 1.1]), frozen, curved);
            let Ask::Found([x, _]) = end else { panic!("{end:?}") };
            assert!((x - 15.0 - curved(x)).abs() < 1e-10, "{x}");
            assert_eq!(asked[0], (24.0, frozen));
            assert_eq!(asked.last(), Some(&(x, true)));
        }
    }

    #[test]
    fn what_has_no_root_stays_open() {
        let (end, asked) = gone(None, false, |_| 1e4);
        assert!(matches!(end, Ask::Open(left) if left > 9e3), "{end:?}");
        assert!(asked.len() <= MARCHES + 3);
    }
}
