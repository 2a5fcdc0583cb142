//! One time step of a slice: Rodas4P2, a stiffly accurate Rosenbrock-Wanner method of order 4 with one factorisation.
//!
//! Stages u_i of (I/(gamma dt) - J) u_i = f(t + c_i dt, y + sum A_ij u_j) + sum (C_ij/dt) u_j + d_i dt df/dt;
//! y_new = y + sum A_6j u_j + u_6, and u_6 is the error estimate (Steinebach, Improvement of Rosenbrock-Wanner method
//! RODASP, in: Progress in Differential-Algebraic Equations II, 2020; coefficients of Rodas4P2).
//! The geometry is evaluated in every stage; its derivative is left out of J and enters through df/dt along f(y_n).

mod coefficients;
mod linear;

pub use coefficients::{A, ABSCISSAE, C, D, GAMMA};
pub(crate) use coefficients::{H1, H2};

use crate::conduction::{Drift, Field, Slice};
use crate::surface::Surface;
use crate::tridiagonal::Tridiagonal;
use crate::vector::{self, LANES, Path, Plain, Row, Vector};

/// A method compiled for each instruction set: the same operations in the same order, so the same bits.
macro_rules! compiled {
    ($(#[$doc:meta])* $name:ident => $wide:ident($($argument:ident: $type:ty),*) -> $answer:ty) => {
        $(#[$doc])*
        pub fn $name(&mut self $(, $argument: $type)*) -> $answer {
            #[cfg(target_arch = "x86_64")]
            {
                #[target_feature(enable = "avx512f,avx2,fma")]
                fn avx512(stepper: &mut Stepper $(, $argument: $type)*) -> $answer {
                    stepper.$wide::<vector::Avx512>($($argument),*)
                }
                #[target_feature(enable = "avx2,fma")]
                fn avx2(stepper: &mut Stepper $(, $argument: $type)*) -> $answer {
                    stepper.$wide::<vector::Avx2>($($argument),*)
                }
                // SAFETY: a stepper takes a path only where `runs_here` found its instructions.
                match self.path {
                    Path::Avx512 => return unsafe { avx512(self $(, $argument)*) },
                    Path::Avx2 => return unsafe { avx2(self $(, $argument)*) },
                    Path::Scalar | Path::Single => {}
                }
            }
            self.$wide::<Plain>($($argument),*)
        }
    };
}

/// Steps a slice through a section.
#[derive(Clone, Debug)]
pub struct Stepper {
    /// The slice.
    pub slice: Slice,
    /// The accepted state: enthalpies of vertices and middles, lumped core, heat given off per radian.
    pub state: Vec<f64>,
    /// Its fields (valid after `begin` and after an accepted step).
    pub field: Field,
    /// The state before the last accepted step.
    previous: Vec<f64>,
    stage_field: Field,
    /// `state` with room for whole eights.
    base: Vec<f64>,
    stage: Vec<f64>,
    increments: [Vec<f64>; 6],
    rates: Vec<f64>,
    first_rates: Vec<f64>,
    drift: Vec<f64>,
    drift_room: Drift,
    right: Vec<f64>,
    matrix: Tridiagonal,
    kappa: Vec<f64>,
    kappa_in: Vec<f64>,
    inverse_middle: Vec<f64>,
    // Of y_n, times R: derivatives of the surface flux with the surface temperature and, negative, with the heat given off.
    film_slope: f64,
    water_slope: f64,
    /// K per J/m given off per radian by which the medium warms.
    warming: f64,
    has_drift: bool,
    /// Room: what each link adds to its outer vertex.
    passed: Vec<f64>,
    path: Path,
}

impl Stepper {
    /// A slice with its first state.
    pub fn new(slice: Slice, state: Vec<f64>) -> Stepper {
        let (n, links) = (slice.room(), slice.link_room());
        let mut field = Field::new(&slice);
        field.update(&slice, &state);
        let zeros = |n: usize| vec![0.0; n];
        Stepper {
            previous: state.clone(),
            stage_field: field.clone(),
            base: zeros(n),
            stage: zeros(n),
            increments: std::array::from_fn(|_| zeros(n)),
            rates: zeros(n),
            first_rates: zeros(n),
            drift: zeros(n),
            drift_room: Drift::new(&slice),
            right: zeros(links),
            matrix: Tridiagonal::new(links),
            // Behind the nodes kappa divides too.
            kappa: vec![1.0; n],
            kappa_in: vec![1.0; links],
            inverse_middle: zeros(links),
            passed: zeros(links),
            // Measured: twice four neighbours are 1 to 8 % faster here than eight at once.
            path: if Path::Avx2.runs_here() { Path::Avx2 } else { Path::Scalar },
            film_slope: 0.0,
            water_slope: 0.0,
            warming: 0.0,
            has_drift: false,
            field,
            slice,
            state,
        }
    }

    /// The same on another path, which this processor must have.
    #[cfg(test)]
    pub(crate) fn on(self, path: Path) -> Stepper {
        assert!(path.runs_here());
        Stepper { path, ..self }
    }

    compiled! {
        /// Prepares a step from the present state: rates, kappas and the film's slope there. `distance` from the section's
        /// entry, m.
        begin => begin_wide(surface: &Surface, distance: f64) -> ()
    }

    #[inline(always)]
    fn begin_wide<V: Vector>(&mut self, surface: &Surface, distance: f64) {
        let (slice, field) = (&self.slice, &mut self.field);
        self.base[..slice.unknowns()].copy_from_slice(&self.state);
        field.rates::<V>(slice, surface, distance, &mut self.first_rates);
        field.kappas::<V>(slice, &mut self.kappa, &mut self.kappa_in);
        let slopes = surface.slopes(field.surface_temperature(), field.heat, distance);
        self.film_slope = field.surface_radius() * slopes.per_kelvin;
        self.water_slope = -field.surface_radius() * slopes.per_heat;
        self.warming = surface.warming();
        self.has_drift = (slice.moving && !slice.flat) || slopes.per_metre != 0.0;
        if self.has_drift {
            let (room, out) = (&mut self.drift_room, &mut self.drift);
            field.drift::<V>(slice, surface, distance, &self.first_rates, room, out);
        }
    }

    /// Rate of the surface temperature at the start of the step, K/s.
    pub fn surface_rate(&self) -> f64 {
        let last = self.slice.vertices() - 1;
        self.first_rates[last] / (self.slice.mass[last] * self.field.capacity[last])
    }

    /// The fastest rate of the outermost interval, 1/s: kappa/c (K_BB + R h/kappa)/m of the surface vertex.
    pub fn surface_stiffness(&self) -> f64 {
        let last = self.slice.vertices() - 1;
        let link = last - 1;
        let conductance = -self.field.geometry.k_ab[link] - self.field.geometry.k_cb[link];
        (conductance * self.kappa_in[last] + self.film_slope.abs())
            / (self.slice.mass[last] * self.field.capacity[last])
    }

    /// The longest step that water running against the product allows, s: gamma dt |e| < 1/2 with e = -R dq''/dQ, so that the
    /// pivot of the heat stays positive.
    pub fn longest_step(&self) -> f64 {
        if self.water_slope < 0.0 { -0.5 / (GAMMA * self.water_slope) } else { f64::INFINITY }
    }

    compiled! {
        /// Tries a step of `dt` seconds after `begin`; returns the error estimate in K (largest over all nodes).
        ///
        /// The new state is in place only after `accept`.
        attempt => attempt_wide(surface: &Surface, distance: f64, dt: f64) -> f64
    }

    #[inline(always)]
    fn attempt_wide<V: Vector>(&mut self, surface: &Surface, distance: f64, dt: f64) -> f64 {
        self.assemble::<V>(dt);
        let mut i = 0;
        while i < 6 {
            if i == 0 {
                self.rates.copy_from_slice(&self.first_rates);
            } else {
                self.stage_state::<V>(i);
                self.stage_field.follow::<V>(&self.slice, &self.stage);
                let there = distance + ABSCISSAE[i] * dt * surface.speed();
                self.stage_field.rates::<V>(&self.slice, surface, there, &mut self.rates);
                self.add_history::<V>(i, dt);
            }
            if self.has_drift && D[i] != 0.0 {
                let weight = V::all(D[i] * dt);
                let mut j = 0;
                while j < self.slice.unknowns() {
                    let drift = weight.mul(V::read(&self.drift, j));
                    V::read(&self.rates, j).add(drift).write(&mut self.rates, j);
                    j += LANES;
                }
            }
            self.solve::<V>(i, dt);
            i += 1;
        }
        self.error::<V>()
    }

    compiled! {
        /// Takes the last attempt as the new state and brings its fields up to date.
        accept => accept_wide() -> ()
    }

    #[inline(always)]
    fn accept_wide<V: Vector>(&mut self) {
        std::mem::swap(&mut self.previous, &mut self.state);
        let n = self.slice.unknowns();
        let mut j = 0;
        while j < n {
            V::read(&self.stage, j).add(V::read(&self.increments[5], j)).write(&mut self.base, j);
            j += LANES;
        }
        self.state.copy_from_slice(&self.base[..n]);
        std::mem::swap(&mut self.field, &mut self.stage_field);
        self.field.follow::<V>(&self.slice, &self.base);
    }

    /// Dense output inside the last accepted step, `theta` from 0 to 1 (order 3).
    pub fn inside(&self, theta: f64, out: &mut [f64]) {
        let back = 1.0 - theta;
        for (j, out) in out.iter_mut().enumerate().take(self.state.len()) {
            let (mut g1, mut g2) = (0.0, 0.0);
            for ((h1, h2), u) in H1.iter().zip(&H2).zip(&self.increments) {
                g1 += h1 * u[j];
                g2 += h2 * u[j];
            }
            *out = back * self.previous[j] + theta * (self.state[j] + back * (g1 + theta * g2));
        }
    }

    /// Dense output of one unknown, as `inside`.
    pub fn inside_one(&self, theta: f64, index: usize) -> f64 {
        let back = 1.0 - theta;
        let sum = |h: &[f64; 5]| h.iter().zip(&self.increments).map(|(h, u)| h * u[index]).sum::<f64>();
        back * self.previous[index] + theta * (self.state[index] + back * (sum(&H1) + theta * sum(&H2)))
    }

    /// y + sum A_ij u_j.
    #[inline(always)]
    fn stage_state<V: Vector>(&mut self, i: usize) {
        let n = self.slice.unknowns();
        let u = &self.increments;
        let mut j = 0;
        while j < n {
            // The fifth stage's state and the new one differ by the fifth increment alone.
            let stage = if i == 5 {
                V::read(&self.stage, j).add(V::read(&u[4], j))
            } else {
                sum::<V>(V::read(&self.base, j), &A[i], u, i, j)
            };
            stage.write(&mut self.stage, j);
            j += LANES;
        }
    }

    /// rates += m sum C_ij u_j / dt.
    #[inline(always)]
    fn add_history<V: Vector>(&mut self, i: usize, dt: f64) {
        let n = self.slice.unknowns();
        let u = &self.increments;
        let c = C[i].map(|c| c / dt);
        let mut j = 0;
        while j < n {
            let history = sum::<V>(V::all(0.0), &c, u, i, j);
            let weighed = V::read(&self.field.mass, j).mul(history);
            V::read(&self.rates, j).add(weighed).write(&mut self.rates, j);
            j += LANES;
        }
    }

    /// Largest |u_6|/c_p, and of the warming medium |u_6| times its warming, K.
    #[inline(always)]
    fn error<V: Vector>(&self) -> f64 {
        let n = self.slice.nodes();
        let (u, c) = (&self.increments[5], &self.field.capacity);
        // Zero times every error is no number where one of them is none.
        let (mut worst, mut sound) = (V::all(0.0), V::all(0.0));
        let mut j = 0;
        while j + LANES <= n {
            let error = V::read(u, j).div(V::read(c, j)).abs();
            worst = error.max(worst);
            sound = sound.add(error.mul(V::all(0.0)));
            j += LANES;
        }
        let (mut row, mut sum) = (Row::all(0.0), Row::all(0.0));
        worst.store(&mut row);
        sound.store(&mut sum);
        let mut worst = row.0.iter().fold(0.0, |a: f64, &b| a.max(b));
        let mut sound = sum.0.iter().sum::<f64>();
        for j in j..n {
            let error = (u[j] / c[j]).abs();
            worst = worst.max(error);
            sound += error * 0.0;
        }
        if self.slice.core.is_some() {
            let error = (u[n] / self.field.core_capacity).abs();
            worst = worst.max(error);
            sound += error * 0.0;
        }
        worst = worst.max((u[self.slice.heat_index()] * self.warming).abs());
        if sound == 0.0 { worst } else { f64::INFINITY }
    }
}

/// `start` and the sum of the first `terms` increments with their weights, of eight unknowns.
#[inline(always)]
fn sum<V: Vector>(start: V, weights: &[f64; 5], increments: &[Vec<f64>; 6], terms: usize, at: usize) -> V {
    let mut sum = start;
    let mut j = 0;
    while j < terms {
        sum = sum.add(V::all(weights[j]).mul(V::read(&increments[j], at)));
        j += 1;
    }
    sum
}
