//! Equal round members laid up around an axis: rings, diameter over all, and how much longer than the product they are.
//!
//! n members in a ring touch each other on a pitch diameter of 1/sin(pi/n) member diameters; each ring further out lies 2
//! member diameters further out and holds 6 members more: 1 + 6 + 12, 2 + 8 + 14, 3 + 9 + 15, 4 + 10 + 16, 5 + 11 + 17.

use std::f64::consts::PI;

/// Most members that are laid up.
pub const MOST: usize = 127;

/// Members in rings; lengths in member diameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Layup {
    /// Members and pitch diameter of each ring, from the axis outward.
    pub rings: Vec<(usize, f64)>,
    /// Diameter over all.
    pub overall: f64,
    /// Whether every place of the outermost ring is taken.
    pub full: bool,
}

/// Pitch diameter on which n members of diameter 1 touch: 1/sin(pi/n); 0 for one member.
fn pitch(n: usize) -> f64 {
    if n < 2 { 0.0 } else { 1.0 / libm::sin(PI / n as f64) }
}

/// How n members are laid up, 1 to [`MOST`]: the arrangement of least diameter over all.
///
/// Up to 6 members lie in one ring, 7 to 9 in a ring around one, more in rings of 6 more each; places that stay empty
/// are in the outermost ring.
///
/// Source: plane geometry; D/d = 1 + 1/sin(pi/n) for one ring. IEC 60502-1, Table A.2, has the same coefficients for 2 to
/// 5, 10, 12, 14, 16, 19, 24 and 27 cores, rounded up (read on a public page).
///
/// ```
/// use quenchway::material::conductor::layup::layup;
/// assert!((layup(3).unwrap().overall - 2.1547).abs() < 5e-5);
/// assert!((layup(7).unwrap().overall - 3.0).abs() < 1e-15);
/// assert!((layup(12).unwrap().overall - 4.1547).abs() < 5e-5);
/// assert!(layup(0).is_none());
/// ```
pub fn layup(n: usize) -> Option<Layup> {
    match n {
        1..=6 => Some(Layup { rings: vec![(n, pitch(n))], overall: pitch(n) + 1.0, full: true }),
        7..=9 => {
            let outer = pitch(n - 1);
            Some(Layup { rings: vec![(1, 0.0), (n - 1, outer)], overall: outer + 1.0, full: true })
        }
        10..=MOST => (1..).flat_map(|outer| (1..=5).map(move |centre| rings(centre, outer, n))).find_map(|found| found),
        _ => None,
    }
}

/// n members in `outer` rings around a ring of `centre`; none where they do not fit.
fn rings(centre: usize, outer: usize, n: usize) -> Option<Layup> {
    let inner = pitch(centre);
    // Around one member lie 6, not 7.
    let places = |ring: usize| if centre == 1 { (6 * ring).max(1) } else { centre + 6 * ring };
    let mut left = n;
    let mut rings = Vec::new();
    for ring in 0..=outer {
        let members = left.min(places(ring));
        rings.push((members, inner + 2.0 * ring as f64));
        left -= members;
    }
    let full = rings.last().is_some_and(|ring| ring.0 == places(outer));
    (left == 0).then_some(Layup { rings, overall: inner + 1.0 + 2.0 * outer as f64, full })
}

/// Length of a helix over the length of its axis: sqrt(1 + (pi D/L)^2), D the pitch diameter and L the lay length.
///
/// ```
/// use quenchway::material::conductor::layup::helix;
/// assert_eq!(helix(0.0, 0.1), 1.0);
/// assert!((helix(4e-3, 60e-3) - 1.0217).abs() < 5e-5);
/// ```
pub fn helix(pitch: f64, lay: f64) -> f64 {
    let turn = PI * pitch / lay;
    (1.0 + turn * turn).sqrt()
}

impl Layup {
    /// Mean length of the members over the length of the product, all of them with one lay length (in member diameters).
    pub fn lay_factor(&self, lay: f64) -> f64 {
        let members: usize = self.rings.iter().map(|ring| ring.0).sum();
        let length: f64 = self.rings.iter().map(|&(members, pitch)| members as f64 * helix(pitch, lay)).sum();
        length / members as f64
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn every_number_is_laid_up_and_more_members_never_take_less_room() {
        let mut last = 0.0;
        for n in 1..=MOST {
            let found = layup(n).unwrap();
            assert_eq!(found.rings.iter().map(|ring| ring.0).sum::<usize>(), n);
            assert!(found.overall >= last, "{n}");
            // Members in a ring do not overlap, nor do rings.
            for &(members, diameter) in &found.rings {
                assert!(diameter + 1e-12 >= pitch(members), "{n}: {members} on {diameter}");
            }
            for pair in found.rings.windows(2) {
                assert!(pair[1].1 - pair[0].1 >= 2.0 - 1e-12, "{n}");
            }
            // All of them lie within the circle around them.
            assert!(n as f64 <= found.overall * found.overall, "{n}");
            last = found.overall;
        }
        assert!(layup(MOST + 1).is_none());
    }

    #[test]
    fn concentric_strands_are_full() {
        let full: Vec<usize> = (10..=61).filter(|n| layup(*n).unwrap().full).collect();
        assert_eq!(full, [10, 12, 14, 16, 19, 24, 27, 30, 33, 37, 44, 48, 52, 56, 61]);
        assert_eq!(layup(19).unwrap().rings, [(1, 0.0), (6, 2.0), (12, 4.0)]);
    }
}
