//! The separated solutions R(r) exp(-beta^2 t) of a core with one coating, all of them and no other.
//!
//! Core: R = J0(beta r/sqrt(alpha1)), so R = 1 on the axis. Coating: R = A J0 + B Y0 of beta r/sqrt(alpha2), with A and B
//! from the interface: the flux k R' is continuous, R jumps by flux over contact conductance. Surface: k2 R' + h R = 0
//! picks the eigenvalues. They are counted, not only searched: the n-th mode has n - 1 sign changes between the axis and
//! the surface (Sturm's oscillation theorem), and the sign changes of Bessel functions follow from their phase.

use std::f64::consts::{FRAC_PI_2, PI};

use super::root::bracketed;
use super::special::bessel_phase;
use super::{OutOfRange, Properties};

/// Modes beyond this number are not looked for.
pub(super) const MOST_MODES: usize = 1000;

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

        // k r R' from the axis outward is -beta^2 times the content; the contents hold for every beta.
        let core_content = -a * flux / (beta * beta);
        let coating_content = (a * flux - b * surface_flux) / (beta * beta);
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
            coating_content,
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

    /// Number of eigenvalues below beta under a film h.
    fn count(&self, film: f64, beta: f64) -> usize {
        let mode = self.mode(beta);
        let beyond = (mode.surface_flux + film * mode.surface < 0.0) == (mode.surface >= 0.0);
        mode.sign_changes + usize::from(beyond)
    }

    /// All eigenfunctions under a film h whose beta is below `limit`, in rising order.
    ///
    /// Errors: more than [`MOST_MODES`] of them.
    pub(super) fn modes(&self, film: f64, limit: f64) -> Result<Vec<Mode>, OutOfRange> {
        let total = self.count(film, limit);
        if total > MOST_MODES {
            let quantity = "number of eigenfunctions that this early time needs";
            return Err(OutOfRange { quantity, found: total as f64, expected: "at most 1000; take a later time" });
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
            // Under a strong film R(b) is a small difference; the condition gives it from the flux.
            if film * self.coating.diffusivity().sqrt() > self.coating.conductivity * mode.beta {
                mode.surface = -mode.surface_flux / film;
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
            for n in &modes[..6] {
                if m != n {
                    assert!(integral(m, n).abs() < 1e-9 * (m.norm * n.norm).sqrt());
                }
            }
        }
    }

    #[test]
    fn too_many_modes_are_refused() {
        assert!(wire(0.0).modes(3000.0, 1e4).is_err());
        assert!(wire(0.0).modes(3000.0, 1e-3).unwrap().is_empty());
    }
}
