//! What the lanes hold of a node, of a link, of both ends of the product: rows with one number for each lane.

use crate::maths::vector::Row;
use crate::slice::enthalpy::{self, Side};

/// Coefficients of the segment that a node's enthalpy is in.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Segment<R: Row> {
    /// Enthalpies at which the segment begins and ends.
    pub low: R,
    /// See `low`.
    pub high: R,
    /// Enthalpy and temperature at delta = 0.
    pub enthalpy: R,
    /// See `enthalpy`.
    pub temperature: R,
    /// Half of the heat capacity there, and of its slope.
    pub half_capacity: R,
    /// See `half_capacity`.
    pub half_slope: R,
    /// The polynomials; at a joint of the outer side.
    pub side: Sides<R>,
    /// Which segment of its table it is.
    pub index: R::Indices,
}

/// Polynomials of delta, lowest order first.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Sides<R> {
    /// Conduction potential.
    pub potential: [R; 5],
    /// Area ratio.
    pub area: [R; 4],
}

/// An unknown: the enthalpy of a node or of the lumped core, or the heat given off.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Unknown<R> {
    /// The accepted state y_n.
    pub state: R,
    /// Increments of the first five stages.
    pub u: [R; 5],
    /// The state of the last stage, which the new state builds on.
    pub stage: R,
    /// The state that the last attempt reached; once it is taken, the one before it.
    pub fresh: R,
    /// Mass per radian, and over the step.
    pub mass: R,
    /// See `mass`.
    pub mass_per_step: R,
    /// m dh/dt at y_n, and its change by geometry and film.
    pub rate: R,
    /// See `rate`.
    pub drift: R,
}

/// A node.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Node<R: Row> {
    /// Its enthalpy.
    pub unknown: Unknown<R>,
    /// In the stage at hand: its enthalpy, then delta, and the part of its right side that the sweep does not make.
    pub h: R,
    /// See `h`.
    pub side: R,
    /// The segment that it is in.
    pub segment: Segment<R>,
    /// At y_n: T - T_segment, temperature, heat capacity (in a slice with a steep table an attempt puts the secant here),
    /// kappa, potential.
    pub delta: R,
    /// See `delta`.
    pub temperature: R,
    /// See `delta`.
    pub capacity: R,
    /// See `delta`.
    pub kappa: R,
    /// See `delta`.
    pub phi: R,
}

/// Of a node, in a slice with a steep table: what foresees where the step takes it.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Forecast<R> {
    /// Whether the node's table is steep in any lane.
    pub any: bool,
    /// The lanes in a calm segment.
    pub calm: u8,
    /// Change of its enthalpy in the last accepted step.
    pub change: R,
    /// Its heat capacity at y_n.
    pub capacity: R,
    /// Share of it that the matrix takes.
    pub share: R,
    /// Least share that it may take: none where the table is steep, all of it elsewhere.
    pub least: R,
}

/// A link between two vertices.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Cell<R> {
    /// Whether the link is a contact: its middle is idle then.
    pub contact: bool,
    /// Whether the outer vertex is a joint with one temperature.
    pub joint: bool,
    /// Of the middle and of the outer vertex: the lanes in whose segment properties change.
    pub curved: [u8; 2],
    /// The inner side of the joint.
    pub inside: Sides<R>,
    /// 1/(3 L), 1/(9 rho0) and L/(3 rho0); zero for a contact and, the last two, for a flat product.
    pub i3: R,
    /// See `i3`.
    pub j: R,
    /// See `i3`.
    pub w: R,
    /// Contact conductance, W/(m2 K).
    pub conductance: R,
    /// At y_n: K_AB, -K_AC, -K_CB, s at the outer vertex, kappa and potential on its inner side.
    pub k_ab: R,
    /// See `k_ab`.
    pub k_ac: R,
    /// See `k_ab`.
    pub k_cb: R,
    /// See `k_ab`.
    pub square: R,
    /// See `k_ab`.
    pub kappa_in: R,
    /// See `k_ab`.
    pub phi_in: R,
    /// Of the attempt: how the middle's right side enters its vertices, and how its temperature follows.
    pub into_a: R,
    /// See `into_a`.
    pub into_b: R,
    /// See `into_a`.
    pub own: R,
    /// See `into_a`.
    pub from_a: R,
    /// See `into_a`.
    pub from_b: R,
    /// Right side of the middle.
    pub right: R,
    /// The factorised row of the inner vertex.
    pub row: Vertex<R>,
}

/// A row of the factorised tridiagonal matrix and its right side.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Vertex<R> {
    /// Multiplier of the row above.
    pub lower: R,
    /// Inverse pivot.
    pub inverse: R,
    /// Entry of the next column over the pivot.
    pub upper: R,
    /// Eliminated right side.
    pub right: R,
}

/// The two ends of the product, of each lane.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Ends<R> {
    /// s at the inner edge, without the lumped core; s at the first vertex at y_n.
    pub inner: R,
    /// See `inner`.
    pub square: R,
    /// Lumped core: s that it takes at the die, G_i/k, 1/density, 1/contact conductance.
    pub core_square: R,
    /// See `core_square`.
    pub core_shape: R,
    /// See `core_square`.
    pub core_per_density: R,
    /// See `core_square`.
    pub core_resistance: R,
    /// At y_n: conductance to the first vertex, the part of it inside the core; of the attempt: inverse pivot.
    pub core_conductance: R,
    /// See `core_conductance`.
    pub core_inside: R,
    /// See `core_conductance`.
    pub core_inverse: R,
    /// Given film coefficient, emissivity times the Stefan-Boltzmann constant, medium where the product enters, degC and K.
    pub film: R,
    /// See `film`.
    pub radiance: R,
    /// See `film`.
    pub entry: R,
    /// See `film`.
    pub entry_kelvin: R,
    /// K per J/m, and the heat given off before the entry.
    pub warming: R,
    /// See `warming`.
    pub entry_heat: R,
    /// Line speed, and distance from the leg's entry.
    pub speed: R,
    /// See `speed`.
    pub distance: R,
    /// Of lanes whose speed or medium changes in the step: 1; the change at its start, m/s2; distance and speed in its stages.
    pub ramp: R,
    /// See `ramp`.
    pub acceleration: R,
    /// See `ramp`.
    pub distances: [R; 6],
    /// See `ramp`.
    pub speeds: [R; 6],
    /// Of these lanes: the medium where the product enters, degC, in its stages, and its change at the start, K/s.
    pub media: [R; 6],
    /// See `media`.
    pub medium_rate: R,
    /// What a given film follows: `film_factor` times it at the rated speed, that speed, its exponent, and its floor times the factor.
    pub given: [R; 4],
    /// At y_n: the film coefficient, R dq''/dT_s, -R dq''/dQ.
    pub film_now: R,
    /// See `film_now`.
    pub film_slope: R,
    /// See `film_now`.
    pub water_slope: R,
    /// Fastest rate of the outermost interval, 1/s, and rate of the surface temperature, K/s.
    pub stiffness: R,
    /// See `stiffness`.
    pub surface_rate: R,
    /// Of the attempt: the factorised row of the surface, and the inverse pivot of the heat.
    pub row: Vertex<R>,
    /// See `row`.
    pub heat_inverse: R,
    /// The step to try, s, and the error that it may have, K; in a slice with a steep table that of what is reported, and
    /// the error of all other nodes.
    pub step: R,
    /// See `step`.
    pub allowed: R,
    /// See `step`.
    pub ordinary: R,
    /// Weight of the last step's change in the forecast.
    pub reach: R,
    /// Of the attempt: error over what is allowed, and the factor that the next step takes by it.
    pub error: R,
    /// See `error`.
    pub factor: R,
    /// Highest enthalpy that the surface had inside the attempt, at eighths of it.
    pub peak: R,
}

pub(super) fn unknown<R: Row>() -> Unknown<R> {
    let zero = R::all(0.0);
    Unknown {
        state: zero,
        u: [zero; 5],
        stage: zero,
        fresh: zero,
        mass: R::all(1.0),
        mass_per_step: zero,
        rate: zero,
        drift: zero,
    }
}

pub(super) fn node<R: Row>() -> Node<R> {
    let zero = R::all(0.0);
    let segment = Segment {
        low: zero,
        high: zero,
        enthalpy: zero,
        temperature: zero,
        half_capacity: R::all(0.5),
        half_slope: zero,
        side: sides(),
        index: R::Indices::default(),
    };
    Node {
        unknown: unknown(),
        h: zero,
        side: zero,
        segment,
        delta: zero,
        temperature: zero,
        capacity: zero,
        kappa: zero,
        phi: zero,
    }
}

pub(super) fn forecast<R: Row>() -> Forecast<R> {
    let one = R::all(1.0);
    Forecast { any: false, calm: 0, change: R::all(0.0), capacity: one, share: one, least: one }
}

fn sides<R: Row>() -> Sides<R> {
    let zero = R::all(0.0);
    Sides { potential: [zero; 5], area: [R::all(1.0), zero, zero, zero] }
}

fn vertex<R: Row>() -> Vertex<R> {
    let zero = R::all(0.0);
    Vertex { lower: zero, inverse: zero, upper: zero, right: zero }
}

pub(super) fn cell<R: Row>(contact: bool, joint: bool) -> Cell<R> {
    let zero = R::all(0.0);
    Cell {
        contact,
        joint,
        curved: [u8::MAX; 2],
        inside: sides(),
        i3: zero,
        j: zero,
        w: zero,
        conductance: zero,
        k_ab: zero,
        k_ac: zero,
        k_cb: zero,
        square: zero,
        kappa_in: zero,
        phi_in: zero,
        into_a: zero,
        into_b: zero,
        own: zero,
        from_a: zero,
        from_b: zero,
        right: zero,
        row: vertex(),
    }
}

pub(super) fn ends<R: Row>() -> Ends<R> {
    let zero = R::all(0.0);
    Ends {
        inner: R::all(1.0),
        square: zero,
        core_square: zero,
        core_shape: zero,
        core_per_density: zero,
        core_resistance: zero,
        core_conductance: zero,
        core_inside: zero,
        core_inverse: zero,
        film: zero,
        radiance: zero,
        entry: zero,
        entry_kelvin: zero,
        warming: zero,
        entry_heat: zero,
        speed: zero,
        distance: zero,
        ramp: zero,
        acceleration: zero,
        distances: [zero; 6],
        speeds: [zero; 6],
        media: [zero; 6],
        medium_rate: zero,
        given: [zero, R::all(1.0), zero, zero],
        film_now: zero,
        film_slope: zero,
        water_slope: zero,
        stiffness: zero,
        surface_rate: zero,
        row: vertex(),
        heat_inverse: zero,
        step: R::all(1.0),
        allowed: R::all(1.0),
        ordinary: R::all(1.0),
        reach: zero,
        error: zero,
        factor: zero,
        peak: zero,
    }
}

impl<R: Row> Segment<R> {
    /// No enthalpy is inside: the next look loads the segment.
    pub(super) fn forget(&mut self, lane: usize) {
        (self.low[lane], self.high[lane]) = (f64::INFINITY, f64::NEG_INFINITY);
    }

    pub(super) fn load(&mut self, lane: usize, index: usize, from: &enthalpy::Segment) {
        self.index[lane] = index;
        self.low[lane] = from.low;
        self.high[lane] = from.high;
        self.enthalpy[lane] = from.enthalpy;
        self.temperature[lane] = from.temperature;
        self.half_capacity[lane] = 0.5 * from.heat_capacity;
        self.half_slope[lane] = 0.5 * from.heat_capacity_slope;
        self.side.load(lane, &from.side);
    }
}

impl<R: Row> Sides<R> {
    pub(super) fn load(&mut self, lane: usize, side: &Side) {
        for (row, value) in self.potential.iter_mut().zip(side.potential) {
            row[lane] = value;
        }
        for (row, value) in self.area.iter_mut().zip(side.area) {
            row[lane] = value;
        }
    }
}
