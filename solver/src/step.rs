//! One time step of a slice: Rodas4P2, a stiffly accurate Rosenbrock-Wanner method of order 4 with one factorisation.
//!
//! Stages u_i of (I/(gamma dt) - J) u_i = f(t + c_i dt, y + sum A_ij u_j) + sum (C_ij/dt) u_j + d_i dt df/dt;
//! y_new = y + sum A_6j u_j + u_6, and u_6 is the error estimate (Steinebach, Improvement of Rosenbrock-Wanner method
//! RODASP, in: Progress in Differential-Algebraic Equations II, 2020; coefficients of Rodas4P2).
//! The geometry is evaluated in every stage; its derivative is left out of J and enters through df/dt along f(y_n).

use crate::conduction::{Drift, Field, Slice};
use crate::surface::Surface;
use crate::tridiagonal::Tridiagonal;

/// gamma of Rodas4P2.
pub const GAMMA: f64 = 0.25;
/// A_ij of Rodas4P2; row 6 is the row of the new state without its own u_6.
pub const A: [[f64; 5]; 6] = [
    [0.0, 0.0, 0.0, 0.0, 0.0],
    [3.0, 0.0, 0.0, 0.0, 0.0],
    [0.906377755268814, -0.189707390391685, 0.0, 0.0, 0.0],
    [3.758617027739064, 1.161741776019525, -0.849258085312803, 0.0, 0.0],
    [7.089566927282776, 4.573591406461604, -8.423496976860259, -0.959280113459775, 0.0],
    [7.089566927282776, 4.573591406461604, -8.423496976860259, -0.959280113459775, 1.0],
];
/// C_ij of Rodas4P2, as printed.
#[allow(clippy::excessive_precision)]
pub const C: [[f64; 5]; 6] = [
    [0.0, 0.0, 0.0, 0.0, 0.0],
    [-12.0, 0.0, 0.0, 0.0, 0.0],
    [-6.354581592719008, 0.338972550544623, 0.0, 0.0, 0.0],
    [-8.575016317114033, -7.606483992117508, 12.22499765012482, 0.0, 0.0],
    [-5.888975457523102, -8.157396617841821, 24.805546872612922, 12.790401512796979, 0.0],
    [-4.408651676063871, -6.692003137674639, 24.625568527593117, 16.627521966636085, -5.714285714285718],
];
/// Stage abscissae of Rodas4P2.
pub const ABSCISSAE: [f64; 6] = [0.0, 0.75, 0.321448134013046, 0.519745732277726, 1.0, 1.0];
/// d_i of Rodas4P2.
pub const D: [f64; 6] = [0.25, -0.5, -0.189532918363016, 0.085612108792769, 0.0, 0.0];
/// Dense output of order 3: y(theta) = (1-theta) y_n + theta (y_new + (1-theta)(g1 + theta g2)), g1 = sum H1_j u_j.
pub(crate) const H1: [f64; 5] =
    [-5.323528268423303, -10.042123754867493, 17.175254928256965, -5.079931171878093, -0.016185991706112];
/// As `H1`, for g2.
pub(crate) const H2: [f64; 5] =
    [6.984505741529879, 6.914061169603662, -0.849178943070653, 18.104410789349338, -3.516963011559032];

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
    stage: Vec<f64>,
    history: Vec<f64>,
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
}

impl Stepper {
    /// A slice with its first state.
    pub fn new(slice: Slice, state: Vec<f64>) -> Stepper {
        let (n, nv, nl) = (slice.unknowns(), slice.vertices(), slice.links());
        let mut field = Field::new(&slice);
        field.update(&slice, &state);
        let zeros = |n: usize| vec![0.0; n];
        Stepper {
            previous: state.clone(),
            stage_field: field.clone(),
            stage: zeros(n),
            history: zeros(n),
            increments: std::array::from_fn(|_| zeros(n)),
            rates: zeros(n),
            first_rates: zeros(n),
            drift: zeros(n),
            drift_room: Drift::new(&slice),
            right: zeros(nv),
            matrix: Tridiagonal::new(nv),
            kappa: zeros(nv + nl),
            kappa_in: zeros(nv),
            inverse_middle: zeros(nl),
            film_slope: 0.0,
            water_slope: 0.0,
            warming: 0.0,
            has_drift: false,
            field,
            slice,
            state,
        }
    }

    /// Prepares a step from the present state: rates, kappas and the film's slope there. `distance` from the section's
    /// entry, m.
    pub fn begin(&mut self, surface: &Surface, distance: f64) {
        let (slice, field) = (&self.slice, &self.field);
        field.rates(slice, surface, distance, &mut self.first_rates);
        field.kappas(slice, &mut self.kappa, &mut self.kappa_in);
        let slopes = surface.slopes(field.surface_temperature(), field.heat, distance);
        self.film_slope = field.surface_radius() * slopes.per_kelvin;
        self.water_slope = -field.surface_radius() * slopes.per_heat;
        self.warming = surface.warming();
        self.has_drift = (slice.moving && !slice.flat) || slopes.per_metre != 0.0;
        if self.has_drift {
            let (room, out) = (&mut self.drift_room, &mut self.drift);
            field.drift(slice, surface, distance, &self.first_rates, room, out);
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
        let conductance = -self.field.k_ab[link] - self.field.k_cb[link];
        (conductance * self.kappa_in[last] + self.film_slope.abs())
            / (self.slice.mass[last] * self.field.capacity[last])
    }

    /// The longest step that water running against the product allows, s: gamma dt |e| < 1/2 with e = -R dq''/dQ, so that the
    /// pivot of the heat stays positive.
    pub fn longest_step(&self) -> f64 {
        if self.water_slope < 0.0 { -0.5 / (GAMMA * self.water_slope) } else { f64::INFINITY }
    }

    /// Tries a step of `dt` seconds after `begin`; returns the error estimate in K (largest over all nodes).
    ///
    /// The new state is in place only after `accept`.
    pub fn attempt(&mut self, surface: &Surface, distance: f64, dt: f64) -> f64 {
        self.assemble(dt);
        let n = self.slice.unknowns();
        for i in 0..6 {
            if i == 0 {
                self.rates.copy_from_slice(&self.first_rates);
            } else {
                self.stage_state(i);
                self.stage_field.update(&self.slice, &self.stage);
                let there = distance + ABSCISSAE[i] * dt * surface.speed();
                self.stage_field.rates(&self.slice, surface, there, &mut self.rates);
                self.add_history(i, dt);
            }
            if self.has_drift && D[i] != 0.0 {
                let weight = D[i] * dt;
                for (rate, drift) in self.rates[..n].iter_mut().zip(&self.drift[..n]) {
                    *rate += weight * drift;
                }
            }
            self.solve(i, dt);
        }
        self.error()
    }

    /// Takes the last attempt as the new state and brings its fields up to date.
    pub fn accept(&mut self) {
        std::mem::swap(&mut self.previous, &mut self.state);
        let sixth = &self.increments[5];
        for ((new, stage), last) in self.state.iter_mut().zip(&self.stage).zip(sixth) {
            *new = stage + last;
        }
        std::mem::swap(&mut self.field, &mut self.stage_field);
        self.field.update(&self.slice, &self.state);
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
    fn stage_state(&mut self, i: usize) {
        let n = self.state.len();
        let [u0, u1, u2, u3, u4, _] = &self.increments;
        let (u0, u1, u2, u3, u4) = (&u0[..n], &u1[..n], &u2[..n], &u3[..n], &u4[..n]);
        let (y, stage) = (&self.state[..n], &mut self.stage[..n]);
        let a = A[i];
        match i {
            1 => (0..n).for_each(|j| stage[j] = y[j] + a[0] * u0[j]),
            2 => (0..n).for_each(|j| stage[j] = y[j] + a[0] * u0[j] + a[1] * u1[j]),
            3 => (0..n).for_each(|j| stage[j] = y[j] + a[0] * u0[j] + a[1] * u1[j] + a[2] * u2[j]),
            4 => (0..n).for_each(|j| stage[j] = y[j] + a[0] * u0[j] + a[1] * u1[j] + a[2] * u2[j] + a[3] * u3[j]),
            _ => (0..n).for_each(|j| stage[j] += u4[j]),
        }
    }

    /// rates += m sum C_ij u_j / dt.
    fn add_history(&mut self, i: usize, dt: f64) {
        let n = self.state.len();
        let [u0, u1, u2, u3, u4, _] = &self.increments;
        let u = [&u0[..n], &u1[..n], &u2[..n], &u3[..n], &u4[..n]];
        let c = C[i].map(|c| c / dt);
        let history = &mut self.history[..n];
        // One loop a stage, so that each becomes vector code.
        match i {
            1 => (0..n).for_each(|j| history[j] = c[0] * u[0][j]),
            2 => (0..n).for_each(|j| history[j] = c[0] * u[0][j] + c[1] * u[1][j]),
            3 => (0..n).for_each(|j| history[j] = c[0] * u[0][j] + c[1] * u[1][j] + c[2] * u[2][j]),
            4 => (0..n).for_each(|j| history[j] = c[0] * u[0][j] + c[1] * u[1][j] + c[2] * u[2][j] + c[3] * u[3][j]),
            _ => (0..n).for_each(|j| {
                history[j] = c[0] * u[0][j] + c[1] * u[1][j] + c[2] * u[2][j] + c[3] * u[3][j] + c[4] * u[4][j]
            }),
        }
        let nodes = self.slice.nodes();
        let (mass, rates) = (&self.slice.mass[..nodes], &mut self.rates[..n]);
        for j in 0..nodes {
            rates[j] += mass[j] * history[j];
        }
        let core_mass = self.slice.core.map_or(0.0, |core| core.mass);
        rates[nodes] += core_mass * history[nodes];
        rates[nodes + 1] += history[nodes + 1];
    }

    /// The matrix of temperature increments of the vertices; middles and lumped core eliminated.
    ///
    /// Row v: (m c/(gamma dt)) tau_v + sum_y K_vy kappa_y tau_y, and the film's slope at the surface.
    fn assemble(&mut self, dt: f64) {
        let (slice, field) = (&self.slice, &self.field);
        let (nv, nl) = (slice.vertices(), slice.links());
        let rate = 1.0 / (GAMMA * dt);
        let (capacity, kappa, kappa_in) = (&field.capacity[..nv + nl], &self.kappa[..nv + nl], &self.kappa_in[..nv]);
        let mass = &slice.mass[..nv + nl];
        let matrix = &mut self.matrix;
        let (lower, diagonal, upper) = (&mut matrix.lower[..nv], &mut matrix.diagonal[..nv], &mut matrix.upper[..nv]);
        let inverse_middle = &mut self.inverse_middle[..nl];
        let (k_ab, k_ac, k_cb) = (&field.k_ab[..nl], &field.k_ac[..nl], &field.k_cb[..nl]);
        let mut carry = 0.0;
        for i in 0..nl {
            let (ab, ac, cb) = (k_ab[i], k_ac[i], k_cb[i]);
            let inverse = 1.0 / (mass[nv + i] * capacity[nv + i] * rate / kappa[nv + i] - ac - cb);
            inverse_middle[i] = inverse;
            let off = ab - ac * cb * inverse;
            diagonal[i] = mass[i] * capacity[i] * rate + carry + (-ab - ac - ac * ac * inverse) * kappa[i];
            upper[i] = off * kappa_in[i + 1];
            lower[i + 1] = off * kappa[i];
            carry = (-ab - cb - cb * cb * inverse) * kappa_in[i + 1];
        }
        let pull = self.film_slope * (1.0 - self.water_slope / (rate + self.water_slope));
        diagonal[nl] = mass[nl] * capacity[nl] * rate + carry + pull;
        for &(link, conductance) in &slice.contacts {
            let conductance = field.vertex_radius(link) * conductance;
            diagonal[link] += conductance;
            upper[link] -= conductance;
            lower[link + 1] -= conductance;
            diagonal[link + 1] += conductance;
        }
        if let Some(core) = &slice.core {
            let g = field.core_conductance;
            diagonal[0] += g - g * g / (core.mass * field.core_capacity * rate + g);
        }
        matrix.factor();
    }

    /// Solves for the increments of stage `i` with `rates` as the right-hand side.
    fn solve(&mut self, i: usize, dt: f64) {
        let (slice, field) = (&self.slice, &self.field);
        let (nv, nl) = (slice.vertices(), slice.links());
        let rate = 1.0 / (GAMMA * dt);
        let (k_ac, k_cb) = (&field.k_ac[..nl], &field.k_cb[..nl]);
        let inverse_middle = &self.inverse_middle[..nl];
        let (b, b_middle) = self.rates[..nv + nl].split_at(nv);
        let right = &mut self.right[..nv];
        let mut carry = 0.0;
        for l in 0..nl {
            let scaled = b_middle[l] * inverse_middle[l];
            right[l] = b[l] - carry - k_ac[l] * scaled;
            carry = k_cb[l] * scaled;
        }
        let heat_index = slice.heat_index();
        let heat_pivot = rate + self.water_slope;
        right[nl] = b[nl] - carry + self.water_slope * self.rates[heat_index] / heat_pivot;
        let core_index = slice.core_index();
        let core_pivot = slice.core.map_or(1.0, |core| core.mass * field.core_capacity * rate + field.core_conductance);
        let core_right = self.rates[core_index];
        if slice.core.is_some() {
            right[0] += field.core_conductance * core_right / core_pivot;
        }
        self.matrix.solve(right);
        let u = &mut self.increments[i];
        if slice.core.is_some() {
            let tau = (core_right + field.core_conductance * right[0]) / core_pivot;
            u[core_index] = field.core_capacity * tau;
        }
        u[heat_index] = (self.rates[heat_index] + self.film_slope * right[nl]) / heat_pivot;
        let (u_vertex, u_middle) = u[..nv + nl].split_at_mut(nv);
        let (capacity, capacity_middle) = field.capacity[..nv + nl].split_at(nv);
        let (kappa, kappa_middle) = self.kappa[..nv + nl].split_at(nv);
        let kappa_in = &self.kappa_in[..nv];
        for v in 0..nv {
            u_vertex[v] = capacity[v] * right[v];
        }
        for l in 0..nl {
            let pull = k_ac[l] * kappa[l] * right[l] + k_cb[l] * kappa_in[l + 1] * right[l + 1];
            let w = (b_middle[l] - pull) * inverse_middle[l];
            u_middle[l] = w * capacity_middle[l] / kappa_middle[l];
        }
    }

    /// Largest |u_6|/c_p, and of the warming medium |u_6| times its warming, K.
    fn error(&self) -> f64 {
        let n = self.slice.nodes();
        let u = &self.increments[5];
        let mut worst: f64 = 0.0;
        let mut sound = true;
        for (u, c) in u[..n].iter().zip(&self.field.capacity[..n]) {
            let error = (u / c).abs();
            sound &= error.is_finite();
            worst = worst.max(error);
        }
        if self.slice.core.is_some() {
            let error = (u[n] / self.field.core_capacity).abs();
            sound &= error.is_finite();
            worst = worst.max(error);
        }
        worst = worst.max((u[self.slice.heat_index()] * self.warming).abs());
        if sound { worst } else { f64::INFINITY }
    }
}
