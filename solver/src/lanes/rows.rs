//! Rows of eight: what the lanes hold of a node, of a link, of both ends of the product.

use crate::table::{self, Side};
use crate::vector::{LANES, Row};

/// Coefficients of the segment that a node's enthalpy is in.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Segment {
    /// Enthalpies at which the segment begins and ends.
    pub low: Row,
    /// See `low`.
    pub high: Row,
    /// Enthalpy and temperature at delta = 0.
    pub enthalpy: Row,
    /// See `enthalpy`.
    pub temperature: Row,
    /// Heat capacity there, and twice its slope.
    pub capacity: Row,
    /// See `capacity`.
    pub twice_slope: Row,
    /// The polynomials; at a joint of the outer side.
    pub side: Sides,
    /// Which segment of its table it is.
    pub index: [usize; LANES],
}

/// Polynomials of delta, lowest order first.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Sides {
    /// Conduction potential.
    pub potential: [Row; 5],
    /// Area ratio.
    pub area: [Row; 4],
}

/// An unknown: the enthalpy of a node or of the lumped core, or the heat given off.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Unknown {
    /// The accepted state y_n.
    pub state: Row,
    /// Increments of the first five stages.
    pub u: [Row; 5],
    /// The state of the last stage, which the new state builds on.
    pub stage: Row,
    /// The state that the last attempt reached.
    pub fresh: Row,
    /// Mass per radian, and over the step.
    pub mass: Row,
    /// See `mass`.
    pub mass_per_step: Row,
    /// m dh/dt at y_n, and its change by geometry and film.
    pub rate: Row,
    /// See `rate`.
    pub drift: Row,
}

/// A node.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Node {
    /// Its enthalpy.
    pub unknown: Unknown,
    /// In the stage at hand: its enthalpy, and the part of its right side that the sweep does not make.
    pub h: Row,
    /// See `h`.
    pub side: Row,
    /// The segment that it is in.
    pub segment: Segment,
    /// At y_n: T - T_segment, temperature, heat capacity, kappa, potential.
    pub delta: Row,
    /// See `delta`.
    pub temperature: Row,
    /// See `delta`.
    pub capacity: Row,
    /// See `delta`.
    pub kappa: Row,
    /// See `delta`.
    pub phi: Row,
}

/// A link between two vertices.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Cell {
    /// Whether the link is a contact: its middle is idle then.
    pub contact: bool,
    /// Whether the outer vertex is a joint with one temperature.
    pub joint: bool,
    /// The inner side of the joint.
    pub inside: Sides,
    /// 1/(3 L), 1/(9 rho0) and L/(3 rho0); zero for a contact and, the last two, for a flat product.
    pub i3: Row,
    /// See `i3`.
    pub j: Row,
    /// See `i3`.
    pub w: Row,
    /// Contact conductance, W/(m2 K).
    pub conductance: Row,
    /// At y_n: K_AB, -K_AC, -K_CB, s at the outer vertex, kappa and potential on its inner side.
    pub k_ab: Row,
    /// See `k_ab`.
    pub k_ac: Row,
    /// See `k_ab`.
    pub k_cb: Row,
    /// See `k_ab`.
    pub square: Row,
    /// See `k_ab`.
    pub kappa_in: Row,
    /// See `k_ab`.
    pub phi_in: Row,
    /// Of the attempt: how the middle's right side enters its vertices, and how its temperature follows.
    pub into_a: Row,
    /// See `into_a`.
    pub into_b: Row,
    /// See `into_a`.
    pub own: Row,
    /// See `into_a`.
    pub from_a: Row,
    /// See `into_a`.
    pub from_b: Row,
    /// Right side of the middle.
    pub right: Row,
    /// The factorised row of the inner vertex.
    pub row: Vertex,
}

/// A row of the factorised tridiagonal matrix and its right side.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Vertex {
    /// Multiplier of the row above.
    pub lower: Row,
    /// Inverse pivot.
    pub inverse: Row,
    /// Entry of the next column over the pivot.
    pub upper: Row,
    /// Eliminated right side.
    pub right: Row,
}

/// The two ends of the product, of each lane.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Ends {
    /// s at the inner edge, without the lumped core; s at the first vertex at y_n.
    pub inner: Row,
    /// See `inner`.
    pub square: Row,
    /// Lumped core: s that it takes at the die, G_i/k, 1/density, 1/contact conductance.
    pub core_square: Row,
    /// See `core_square`.
    pub core_shape: Row,
    /// See `core_square`.
    pub core_per_density: Row,
    /// See `core_square`.
    pub core_resistance: Row,
    /// At y_n: conductance to the first vertex, the part of it inside the core; of the attempt: inverse pivot.
    pub core_conductance: Row,
    /// See `core_conductance`.
    pub core_inside: Row,
    /// See `core_conductance`.
    pub core_inverse: Row,
    /// Given film coefficient, emissivity times the Stefan-Boltzmann constant, medium where the product enters, degC and K.
    pub film: Row,
    /// See `film`.
    pub radiance: Row,
    /// See `film`.
    pub entry: Row,
    /// See `film`.
    pub entry_kelvin: Row,
    /// K per J/m, and the heat given off before the entry.
    pub warming: Row,
    /// See `warming`.
    pub entry_heat: Row,
    /// Line speed, and distance from the leg's entry.
    pub speed: Row,
    /// See `speed`.
    pub distance: Row,
    /// At y_n: R dq''/dT_s, -R dq''/dQ.
    pub film_slope: Row,
    /// See `film_slope`.
    pub water_slope: Row,
    /// Fastest rate of the outermost interval, 1/s, and rate of the surface temperature, K/s.
    pub stiffness: Row,
    /// See `stiffness`.
    pub surface_rate: Row,
    /// Of the attempt: the factorised row of the surface, and the inverse pivot of the heat.
    pub row: Vertex,
    /// See `row`.
    pub heat_inverse: Row,
    /// The step to try, s, and the error that it may have, K.
    pub step: Row,
    /// See `step`.
    pub allowed: Row,
    /// Of the attempt: error over what is allowed, and the factor that the next step takes by it.
    pub error: Row,
    /// See `error`.
    pub factor: Row,
    /// Highest enthalpy that the surface had inside the attempt, at eighths of it.
    pub peak: Row,
}

const ZERO: Row = Row::all(0.0);

pub(super) fn unknown() -> Unknown {
    Unknown {
        state: ZERO,
        u: [ZERO; 5],
        stage: ZERO,
        fresh: ZERO,
        mass: Row::all(1.0),
        mass_per_step: ZERO,
        rate: ZERO,
        drift: ZERO,
    }
}

pub(super) fn node() -> Node {
    let segment = Segment {
        low: ZERO,
        high: ZERO,
        enthalpy: ZERO,
        temperature: ZERO,
        capacity: Row::all(1.0),
        twice_slope: ZERO,
        side: sides(),
        index: [0; LANES],
    };
    Node {
        unknown: unknown(),
        h: ZERO,
        side: ZERO,
        segment,
        delta: ZERO,
        temperature: ZERO,
        capacity: ZERO,
        kappa: ZERO,
        phi: ZERO,
    }
}

fn sides() -> Sides {
    Sides { potential: [ZERO; 5], area: [Row::all(1.0), ZERO, ZERO, ZERO] }
}

fn vertex() -> Vertex {
    Vertex { lower: ZERO, inverse: ZERO, upper: ZERO, right: ZERO }
}

pub(super) fn cell(contact: bool, joint: bool) -> Cell {
    Cell {
        contact,
        joint,
        inside: sides(),
        i3: ZERO,
        j: ZERO,
        w: ZERO,
        conductance: ZERO,
        k_ab: ZERO,
        k_ac: ZERO,
        k_cb: ZERO,
        square: ZERO,
        kappa_in: ZERO,
        phi_in: ZERO,
        into_a: ZERO,
        into_b: ZERO,
        own: ZERO,
        from_a: ZERO,
        from_b: ZERO,
        right: ZERO,
        row: vertex(),
    }
}

pub(super) fn ends() -> Ends {
    Ends {
        inner: Row::all(1.0),
        square: ZERO,
        core_square: ZERO,
        core_shape: ZERO,
        core_per_density: ZERO,
        core_resistance: ZERO,
        core_conductance: ZERO,
        core_inside: ZERO,
        core_inverse: ZERO,
        film: ZERO,
        radiance: ZERO,
        entry: ZERO,
        entry_kelvin: ZERO,
        warming: ZERO,
        entry_heat: ZERO,
        speed: ZERO,
        distance: ZERO,
        film_slope: ZERO,
        water_slope: ZERO,
        stiffness: ZERO,
        surface_rate: ZERO,
        row: vertex(),
        heat_inverse: ZERO,
        step: Row::all(1.0),
        allowed: Row::all(1.0),
        error: ZERO,
        factor: ZERO,
        peak: ZERO,
    }
}

impl Segment {
    /// No enthalpy is inside: the next look loads the segment.
    pub(super) fn forget(&mut self, lane: usize) {
        (self.low.0[lane], self.high.0[lane]) = (f64::INFINITY, f64::NEG_INFINITY);
    }

    pub(super) fn load(&mut self, lane: usize, index: usize, from: &table::Segment) {
        self.index[lane] = index;
        self.low.0[lane] = from.low;
        self.high.0[lane] = from.high;
        self.enthalpy.0[lane] = from.enthalpy;
        self.temperature.0[lane] = from.temperature;
        self.capacity.0[lane] = from.heat_capacity;
        self.twice_slope.0[lane] = 2.0 * from.heat_capacity_slope;
        self.side.load(lane, &from.side);
    }
}

impl Sides {
    pub(super) fn load(&mut self, lane: usize, side: &Side) {
        for (row, value) in self.potential.iter_mut().zip(side.potential) {
            row.0[lane] = value;
        }
        for (row, value) in self.area.iter_mut().zip(side.area) {
            row.0[lane] = value;
        }
    }
}
