//! The separated solutions R(r) exp(-beta^2 t) of a core with one coating, all of them and no other.
//!
//! Core: R = J0(beta r/sqrt(alpha1)), so R = 1 on the axis. Coating: R = A J0 + B Y0 of beta r/sqrt(alpha2), with A and
//! B from the interface: the flux k R' is continuous, R jumps by flux over contact conductance. Surface: k2 R' + h R =
//! 0 picks the eigenvalues. They are counted, not only searched: the n-th mode has n - 1 sign changes between the axis
//! and the surface (Sturm's oscillation theorem), and the sign changes of Bessel functions follow from their phase.

use std::f64::consts::{FRAC_PI_2, PI};

use super::root::bracketed;
use super::special::bessel_phase;
use super::{OutOfRange, Properties};

/// Modes beyond this number are not looked for.
pub(super) const MOST_MODES: usize = 1000;

/// Points and weights of Gauss's quadrature with ten points on (-1, 1), upper half. Source: Abramowitz & Stegun,
/// Handbook of Mathematical Functions, 1964, Table 25.4 (from memory; recomputed with mpmath).
const GAUSS: [(f64, f64); 5] = [
    (0.14887433898163122, 0.29552422471475287),
    (0.4333953941292472, 0.26926671930999635),
    (0.6794095682990244, 0.21908636251598204),
    (0.8650633666889845, 0.1494513491505806),
    (0.9739065285171717, 0.06667134430868814),
];

/// Core and coating with the contact between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stack {
    pub(super) core: Properties,
    pub(super) coating: Properties,
    /// Radius a of the interface, m.
    pub(super) interface: f64,
    /// Outer radius b, m.
    pub(super) outer: f64,
    /// Contact resistance, m2 K/W; 0 is perfect contact.
    pub(super) resistance: f64,
}

/// One separated solution, an eigenfunction where it meets the film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Mode {
    /// beta, s^-0.5: it decays with beta^2.
    pub(super) beta: f64,
    /// R on the core's side of the interface.
    pub(super) core_edge: f64,
    /// R on the coating's side.
    pub(super) coating_edge: f64,
    /// R at the outer radius.
    pub(super) surface: f64,
    /// Integral of rho c R r dr over the core, J/(m K).
    pub(super) core_content: f64,
    /// The same over the coating.
    pub(super) coating_content: f64,
    /// The same over both, which nearly cancels in a mode that the film hardly feels.
    pub(super) content: f64,
    /// Integral of rho c R^2 r dr over both.
    pub(super) norm: f64,
    j_part: f64,
    y_part: f64,
    /// k2 R' at the outer radius.
    surface_flux: f64,
    sign_changes: usize,
}

impl Stack {
    /// The separated solution of any beta, as it leaves the axis.
    fn mode(&self, beta: f64) -> Mode {
        let (a, b) = (self.interface, self.outer);
        let (core_root, coating_root) = (self.core.diffusivity().sqrt(), self.coating.diffusivity().sqrt());
        let in_core = beta * a / core_root;
        let core_edge = libm::j0(in_core);
        let core_slope = libm::j1(in_core);
        let flux = -self.core.conductivity * beta / core_root * core_slope;
        let coating_edge = core_edge + flux * self.resistance;
        let slope = flux * coating_root / (self.coating.conductivity * beta);

        let (near, far) = (beta * a / coating_root, beta * b / coating_root);
        let j_part = FRAC_PI_2 * near * (-libm::y1(near) * coating_edge - libm::y0(near) * slope);
        let y_part = FRAC_PI_2 * near * (libm::j1(near) * coating_edge + libm::j0(near) * slope);
        let surface = j_part * libm::j0(far) + y_part * libm::y0(far);
        let surface_slope = -(j_part * libm::j1(far) + y_part * libm::y1(far));
        let surface_flux = self.coating.conductivity * beta / coating_root * surface_slope;

        let tilt = libm::atan2(y_part, j_part);
        let in_core = cell(bessel_phase(in_core), core_edge);
        let jump = i64::from((core_edge >= 0.0) != (coating_edge >= 0.0));
        let in_coating = cell(bessel_phase(far) - tilt, surface) - cell(bessel_phase(near) - tilt, coating_edge);

        // k r R' is -beta^2 times the content within r.
        let core_content = -a * flux / (beta * beta);
        let content = -b * surface_flux / (beta * beta);
        let core_norm = self.core.capacity * a * a * (core_edge * core_edge + core_slope * core_slope);
        let coating_norm = self.coating.capacity
            * (b * b * (surface * surface + surface_slope * surface_slope)
                - a * a * (coating_edge * coating_edge + slope * slope));
        Mode {
            beta,
            core_edge,
            coating_edge,
            surface,
            core_content,
            coating_content: content - core_content,
            content,
            norm: 0.5 * (core_norm + coating_norm),
            j_part,
            y_part,
            surface_flux,
            sign_changes: usize::try_from(in_core + jump + in_coating).unwrap_or(0),
        }
    }

    /// R at a radius, m.
    pub(super) fn shape(&self, mode: &Mode, radius: f64) -> f64 {
        if radius <= self.interface {
            return libm::j0(mode.beta * radius / self.core.diffusivity().sqrt());
        }
        let x = mode.beta * radius / self.coating.diffusivity().sqrt();
        mode.j_part * libm::j0(x) + mode.y_part * libm::y0(x)
    }

    /// Integral of rho c R S r dr over both layers for modes R under the film `of.0` and S under `of.1`.
    ///
    /// b R(b) S(b) (h - h')/(beta^2 - gamma^2); of modes so close that the quotient would lose its digits, by
    /// quadrature.
    pub(super) fn overlap(&self, r: &Mode, s: &Mode, of: (f64, f64)) -> f64 {
        if (r.beta - s.beta).abs() * self.soaking_root() > 0.01 {
            let squares = (r.beta - s.beta) * (r.beta + s.beta);
            return self.outer * r.surface * s.surface * (of.0 - of.1) / squares;
        }
        let mut sum = 0.0;
        for (inner, outer, layer) in [(0.0, self.interface, self.core), (self.interface, self.outer, self.coating)] {
            // Gauss's ten points in panels of 2 rad of either mode: below 1e-17 of the norms.
            let panels = libm::ceil(0.5 * r.beta.max(s.beta) * (outer - inner) / layer.diffusivity().sqrt()).max(1.0);
            let half = 0.5 * (outer - inner) / panels;
            for panel in 0..panels as usize {
                let middle = inner + (2.0 * panel as f64 + 1.0) * half;
                for (point, weight) in GAUSS.into_iter().flat_map(|(point, weight)| [(point, weight), (-point, weight)])
                {
                    let radius = middle + half * point;
                    sum += layer.capacity * weight * half * self.shape(r, radius) * self.shape(s, radius) * radius;
                }
            }
        }
        sum
    }

    /// Root of the time in which heat soaks through both layers, s^0.5; times beta it is the phase from axis to
    /// surface.
    pub(super) fn soaking_root(&self) -> f64 {
        self.interface / self.core.diffusivity().sqrt()
            + (self.outer - self.interface) / self.coating.diffusivity().sqrt()
    }

    /// Number of eigenvalues below beta under a film h.
    fn count(&self, film: f64, beta: f64) -> usize {
        let mode = self.mode(beta);
        let beyond = (mode.surface_flux + film * mode.surface < 0.0) == (mode.surface >= 0.0);
        mode.sign_changes + usize::from(beyond)
    }

    /// All eigenfunctions under a film h whose beta is below `limit`, in rising order.
    ///
    /// # Errors
    ///
    /// More than [`MOST_MODES`] of them.
    pub(super) fn modes(&self, film: f64, limit: f64) -> Result<Vec<Mode>, OutOfRange> {
        let refused = |found: f64| {
            let quantity = "number of eigenfunctions that this early time needs";
            Err(OutOfRange { quantity, found, expected: "at most 1000; take a later time" })
        };
        // Half waves from axis to surface: within a few of the count, and safe to ask of any limit.
        let half_waves = limit * self.soaking_root() / PI;
        if half_waves.is_nan() || half_waves > 2.0 * MOST_MODES as f64 {
            return refused(half_waves);
        }
        let total = self.count(film, limit);
        if total > MOST_MODES {
            return refused(total as f64);
        }
        let mut lowest = 1e-6 * limit;
        while self.count(film, lowest) > 0 && lowest > f64::MIN_POSITIVE {
            lowest *= 1e-3;
        }
        let mut modes = Vec::with_capacity(total);
        for before in 0..total {
            let (mut lo, mut hi) = (lowest, limit);
            // Halve until the interval holds this eigenvalue alone; the count, not the sign, says on which side it is.
            while self.count(film, hi) > before + 1 || self.count(film, lo) < before {
                let middle = 0.5 * (lo + hi);
                if middle <= lo || middle >= hi {
                    break;
                }
                if self.count(film, middle) > before {
                    hi = middle;
                } else {
                    lo = middle;
                }
            }
            let condition = |beta: f64| {
                let mode = self.mode(beta);
                mode.surface_flux + film * mode.surface
            };
            let mut mode = self.mode(bracketed(condition, lo, hi));
            lowest = lo;
            // The smaller of R(b) and its flux is a difference of large numbers: the film's condition gives it better.
            if film * self.coating.diffusivity().sqrt() > self.coating.conductivity * mode.beta {
                mode.surface = -mode.surface_flux / film;
            } else {
                mode.surface_flux = -film * mode.surface;
                mode.content = -self.outer * mode.surface_flux / (mode.beta * mode.beta);
                mode.coating_content = mode.content - mode.core_content;
            }
            modes.push(mode);
        }
        Ok(modes)
    }
}

/// Number of sign changes that a phase has passed, M cos(phase) having the sign of `value`.
fn cell(phase: f64, value: f64) -> i64 {
    // Even cells are positive: the sign settles what rounding of the phase leaves open.
    let odd = if value >= 0.0 { 0.0 } else { 1.0 };
    (odd + 2.0 * libm::round(0.5 * (phase / PI - odd))) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wire(resistance: f64) -> Stack {
        let (core, coating) = (Properties::new(390.0, 8960.0, 385.0), Properties::new(0.17, 1400.0, 1500.0));
        Stack { core, coating, interface: 0.7e-3, outer: 1.5e-3, resistance }
    }

    #[test]
    fn the_count_rises_by_one_at_every_sign_change_of_the_condition() {
        for stack in [wire(0.0), wire(1.0 / 2000.0), wire(10.0), Stack { core: wire(0.0).coating, ..wire(0.0) }] {
            for film in [1.0, 3000.0, 1e8] {
                let (mut count, mut sign) = (0, true);
                for step in 1..200_000 {
                    let beta = f64::from(step) * 1e-4;
                    let (mode, found) = (stack.mode(beta), stack.count(film, beta));
                    let positive = mode.surface_flux + film * mode.surface >= 0.0;
                    assert_eq!(found - count, usize::from(positive != sign), "{film} {beta}");
                    (count, sign) = (found, positive);
                }
                assert!(count >= 15, "{count}");
            }
        }
    }

    #[test]
    fn modes_are_orthogonal_and_their_norm_is_the_integral() {
        let stack = wire(1.0 / 2000.0);
        let modes = stack.modes(3000.0, 20.0).unwrap();
        let integral = |m: &Mode, n: &Mode| {
            let mut sum = 0.0;
            for (inner, outer, capacity) in [
                (0.0, stack.interface, stack.core.capacity),
                (stack.interface * (1.0 + 1e-15), stack.outer, stack.coating.capacity),
            ] {
                let step = (outer - inner) / 2000.0;
                for i in 0..=2000 {
                    let weight = if i == 0 || i == 2000 { 1.0 } else { 2.0 + 2.0 * f64::from(i % 2) };
                    let r = inner + f64::from(i) * step;
                    sum += weight * step / 3.0 * capacity * stack.shape(m, r) * stack.shape(n, r) * r;
                }
            }
            sum
        };
        // Simpson's rule with 2000 intervals on at most 6 half waves: error of (6 pi/2000)^4/180, 4e-11.
        for m in &modes[..6] {
            assert!((integral(m, m) / m.norm - 1.0).abs() < 1e-9);
            // Two exact forms: rounding only.
            assert!((stack.overlap(m, m, (3000.0, 3000.0)) / m.norm - 1.0).abs() < 1e-13);
            for n in &modes[..6] {
                if m != n {
                    assert!(integral(m, n).abs() < 1e-9 * (m.norm * n.norm).sqrt());
                }
            }
        }
    }

    #[test]
    fn the_quotient_and_the_quadrature_of_an_overlap_agree() {
        let stack = wire(1.0 / 20.0);
        for (film, next) in [(3000.0, 3010.0), (3000.0, 30.0)] {
            let (old, new) = (stack.modes(film, 20.0).unwrap(), stack.modes(next, 20.0).unwrap());
            let mut near = 0;
            for (r, s) in old.iter().zip(&new) {
                let squares = (r.beta - s.beta) * (r.beta + s.beta);
                let quotient = stack.outer * r.surface * s.surface * (film - next) / squares;
                let rounding = 1e-14 / ((r.beta - s.beta).abs() * stack.soaking_root());
                let error = (stack.overlap(r, s, (film, next)) - quotient) / (r.norm * s.norm).sqrt();
                assert!(error.abs() < 10.0 * rounding, "{film} {next} {}: {error:e}", r.beta);
                near += usize::from((r.beta - s.beta).abs() * stack.soaking_root() <= 0.01);
            }
            assert_eq!(near > 0, next == 3010.0);
        }
    }

    #[test]
    fn too_many_modes_are_refused() {
        let half_wave = PI / wire(0.0).soaking_root();
        assert!(wire(0.0).modes(3000.0, 990.0 * half_wave).unwrap().len().abs_diff(990) <= 2);
        for many in [1010.0, 1990.0, 1e9, f64::INFINITY] {
            assert!(wire(0.0).modes(3000.0, many * half_wave).is_err(), "{many}");
        }
        assert!(wire(0.0).modes(3000.0, 1e-3).unwrap().is_empty());
    }
}
