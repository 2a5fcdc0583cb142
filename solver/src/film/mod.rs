//! Film coefficients: given ones, tables, and published surface laws.
//!
//! `film/laws.rs` holds one row a law, `film/formulas.rs` what each computes for a product in a section,
//! `film/moving.rs` the layer that starts at an entry, `film/nusselt.rs` the published correlations behind them, `film/range.rs` where a law holds, `film/boundary_layer.rs`
//! the boundary layer on a moving cylinder, `film/layers/` the laws of a moving product for one lane and for eight,
//! `film/end.rs` how far they can be off, `film/around.rs` water that does not touch all round.

mod around;
pub(crate) mod boundary_layer;
mod end;
mod formulas;
mod laws;
pub(crate) mod layers;
mod moving;
mod nusselt;
mod range;
pub mod surface;
#[cfg(test)]
pub(crate) mod tests;
mod thickness;

pub use around::{Inward, Pattern, Ring, Wetting};
pub use end::{AIR_DRAGGED_IN, UNSAID_STIR};
pub use laws::{NAMES, default_law, find, laws, nearest};
pub use moving::{BoundaryLayer, ENTRY_OFFSET, TRANSITION, TURBULENT_IN_WATER};
pub use nusselt::*;
pub use range::{Bound, RangeQuantity};

use crate::data::witness::Witness;
use crate::material::linear;
use crate::material::medium::Medium;
use crate::maths::shape::Shape;
use crate::units::Dimension;

/// The film coefficient of a section.
#[derive(Clone, Debug)]
pub enum Film {
    /// A published law, and what its section tells it.
    Law(&'static Law, Inputs),
    /// A given coefficient, W/(m2 K).
    Given(f64),
    /// Linear between (surface temperature degC, W/(m2 K)) points, constant outside.
    OfSurface(Vec<[f64; 2]>),
    /// Linear between (distance from the section's entry m, W/(m2 K)) points, constant outside.
    OfDistance(Vec<[f64; 2]>),
}

/// What a section tells its law by keys of the law's own, SI; zero where the law does not take the key.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Inputs {
    /// Speed of the air or water across the product or against its travel, m/s.
    pub velocity: f64,
    /// Water that arrives at the product's surface, kg/(m2 s).
    pub water_flux: f64,
    /// Speed at which the water of a trough moves past or across the product, besides the line's, m/s.
    pub stirred: f64,
    /// Where in the band of the law the film lies: 0 the law itself, -1 the low end, 1 the high end, by powers between and beyond.
    pub lean: f64,
}

/// A key that a law takes beside those of every section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Input {
    /// `velocity`.
    Velocity,
    /// `water_flux`.
    WaterFlux,
    /// `stirred`.
    Stirred,
    /// `film_lean`.
    Lean,
}

impl Input {
    /// All of them.
    pub const ALL: [Input; 4] = [Input::Velocity, Input::WaterFlux, Input::Stirred, Input::Lean];

    /// Its key in the case file.
    pub fn key(self) -> &'static str {
        match self {
            Input::Velocity => "velocity",
            Input::WaterFlux => "water_flux",
            Input::Stirred => "stirred",
            Input::Lean => "film_lean",
        }
    }

    /// What it measures; none for a bare number.
    pub fn dimension(self) -> Option<Dimension> {
        match self {
            Input::Velocity | Input::Stirred => Some(Dimension::Speed),
            Input::WaterFlux => Some(Dimension::WaterFlux),
            Input::Lean => None,
        }
    }

    /// Its value among the inputs.
    pub fn of(self, inputs: &Inputs) -> f64 {
        match self {
            Input::Velocity => inputs.velocity,
            Input::WaterFlux => inputs.water_flux,
            Input::Stirred => inputs.stirred,
            Input::Lean => inputs.lean,
        }
    }

    /// The inputs with this one set.
    pub fn set(self, inputs: Inputs, value: f64) -> Inputs {
        match self {
            Input::Velocity => Inputs { velocity: value, ..inputs },
            Input::WaterFlux => Inputs { water_flux: value, ..inputs },
            Input::Stirred => Inputs { stirred: value, ..inputs },
            Input::Lean => Inputs { lean: value, ..inputs },
        }
    }
}

/// How well a law's equation and constants are known to be the published ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Read in print or in a library that quotes the source.
    Read,
    /// Solved or combined for this program from equations in print.
    Derived,
    /// What is named is quoted from memory and was not checked.
    Memory(&'static str),
}

impl Status {
    /// The word for lists.
    pub fn word(self) -> &'static str {
        match self {
            Status::Read => "read",
            Status::Derived => "derived",
            Status::Memory(_) => "memory",
        }
    }
}

/// What a film law is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilmState {
    /// Round or flat product.
    pub shape: Shape,
    /// Line speed, m/s.
    pub speed: f64,
    /// Outer diameter, m (flat: full thickness).
    pub diameter: f64,
    /// Distance from the section's entry, m.
    pub distance: f64,
    /// Surface temperature, degC.
    pub surface: f64,
    /// Temperature of the medium, degC.
    pub medium: f64,
    /// What the section tells the law.
    pub inputs: Inputs,
}

/// A surface law: everything about it in one row.
#[derive(Debug)]
pub struct Law {
    /// Name in case files and lists.
    pub name: &'static str,
    /// The medium that it holds in.
    pub medium: Medium,
    /// One line on what it describes.
    pub describes: &'static str,
    /// The keys of its own that it takes, every one required.
    pub takes: &'static [Input],
    /// Those that it takes where they are given, zero where they are not.
    pub may_take: &'static [Input],
    /// Convective film coefficient, W/(m2 K), without radiation.
    pub coefficient: fn(&FilmState) -> f64,
    /// The boundary layer that it is, where it is one.
    pub layer: Option<&'static BoundaryLayer>,
    /// Validity range in words.
    pub range: &'static str,
    /// The part of the range that a run checks.
    pub bounds: &'static [Bound],
    /// Author, title, year, equation.
    pub source: &'static str,
    /// How far the source was seen.
    pub status: Status,
    /// What is not known about it.
    pub doubt: &'static str,
    /// Worked examples; the tests run every one.
    pub examples: &'static [WorkedFilm],
}

/// What a law of a moving product is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// The laminar layer, W/(m2 K).
    pub laminar: f64,
    /// The turbulent layer as the law counts it, W/(m2 K).
    pub turbulent: f64,
    /// Weight of the turbulent layer, 0 to 1.
    pub weight: f64,
}

/// A worked example of a law.
#[derive(Clone, Copy, Debug)]
pub struct WorkedFilm {
    /// What the law is asked for.
    pub state: FilmState,
    /// What it must answer, W/(m2 K).
    pub coefficient: f64,
    /// How far the answer may be off, relative.
    pub within: f64,
    /// Where the answer comes from, and why it may be off by that much.
    pub source: &'static str,
    /// Its kind.
    pub witness: Witness,
}

/// What differences of a law span: K, and of the distance from the virtual entry. A film is known to some 1e-15, its slopes
/// by forward differences over so little to 1e-6.
pub(crate) const KELVIN: f64 = 1e-5;
/// See `KELVIN`.
pub(crate) const OF_DISTANCE: f64 = 1e-6;
/// Half of what central differences of a law span, of the line speed.
pub(crate) const OF_SPEED: f64 = 1e-4;

impl Film {
    /// The convective film coefficient, W/(m2 K), before the section's `film_factor` and without radiation.
    ///
    /// ```
    /// use quenchway::film::{Film, FilmState, Inputs};
    /// use quenchway::case::Shape;
    /// let film = Film::OfDistance(vec![[0.0, 3800.0], [4.0, 1500.0]]);
    /// let (shape, inputs) = (Shape::Round, Inputs::default());
    /// let state = FilmState { shape, speed: 2.5, diameter: 3e-3, distance: 2.0, surface: 60.0, medium: 16.0, inputs };
    /// assert_eq!(film.coefficient(&state), 2650.0);
    /// ```
    pub fn coefficient(&self, state: &FilmState) -> f64 {
        match self {
            Film::Law(law, inputs) => (law.coefficient)(&FilmState { inputs: *inputs, ..*state }),
            Film::Given(coefficient) => *coefficient,
            Film::OfSurface(points) => linear(points, state.surface),
            Film::OfDistance(points) => linear(points, state.distance),
        }
    }

    /// How the coefficient changes: (dh/dT_s in W/(m2 K2), dh/dx in W/(m3 K)).
    ///
    /// Exact for given coefficients and tables, where a kink takes the slope of its hotter or farther side; differences for
    /// laws, with an error below 1e-6 of the slope wherever the surface differs from the medium by more than a kelvin.
    pub fn slopes(&self, state: &FilmState) -> (f64, f64) {
        match self {
            Film::Law(law, inputs) => law.slopes(&FilmState { inputs: *inputs, ..*state }),
            Film::Given(_) => (0.0, 0.0),
            Film::OfSurface(points) => (linear_slope(points, state.surface), 0.0),
            Film::OfDistance(points) => (0.0, linear_slope(points, state.distance)),
        }
    }

    /// Whether the film is a number where the product does not move.
    pub fn has_an_answer_at_rest(&self) -> bool {
        let (shape, inputs) = (Shape::Round, Inputs::default());
        let state = FilmState { shape, speed: 0.0, diameter: 3e-3, distance: 1.0, surface: 80.0, medium: 20.0, inputs };
        self.coefficient(&state).is_finite()
    }

    /// How the coefficient changes with the temperature of the medium, W/(m2 K2); central differences for laws.
    pub fn slope_with_medium(&self, state: &FilmState) -> f64 {
        match self {
            Film::Law(law, inputs) => {
                let at = |medium| (law.coefficient)(&FilmState { medium, inputs: *inputs, ..*state });
                (at(state.medium + KELVIN) - at(state.medium - KELVIN)) / (2.0 * KELVIN)
            }
            _ => 0.0,
        }
    }

    /// Distances from the section's entry, m, where the coefficient has a kink: a time step should end there.
    pub fn kinks_in_distance(&self) -> impl Iterator<Item = f64> + '_ {
        let points: &[[f64; 2]] = match self {
            Film::OfDistance(points) => points,
            _ => &[],
        };
        points.iter().map(|point| point[0])
    }
}

impl Law {
    /// All keys that it takes.
    pub fn keys(&self) -> impl Iterator<Item = Input> {
        self.takes.iter().chain(self.may_take).copied()
    }

    /// The ends of the law's band at a place, low and high, W/(m2 K); none of a law that is no boundary layer.
    pub fn ends(&self, state: &FilmState) -> Option<[f64; 2]> {
        let at = |lean| (self.coefficient)(&FilmState { inputs: Inputs { lean, ..state.inputs }, ..*state });
        self.layer.map(|_| [at(-1.0), at(1.0)])
    }

    /// How unsure the film is at a place, one standard value: the logarithm of a factor. That to the farther end of the law's band,
    /// so that the farther side is not claimed to be nearer than it is; without a band that of two.
    pub fn doubt_at(&self, state: &FilmState) -> f64 {
        let film = (self.coefficient)(state);
        self.ends(state).map_or(std::f64::consts::LN_2, |[low, high]| libm::log((film / low).max(high / film)))
    }

    /// Forward differences over `KELVIN` and over `OF_DISTANCE` of the distance from the virtual entry.
    fn slopes(&self, state: &FilmState) -> (f64, f64) {
        let metre = OF_DISTANCE * (state.distance + ENTRY_OFFSET);
        let at_surface = |surface| (self.coefficient)(&FilmState { surface, ..*state });
        let at_distance = |distance| (self.coefficient)(&FilmState { distance, ..*state });
        let here = (self.coefficient)(state);
        ((at_surface(state.surface + KELVIN) - here) / KELVIN, (at_distance(state.distance + metre) - here) / metre)
    }
}

impl BoundaryLayer {
    /// What it is made of at a place.
    pub fn parts(&self, state: &FilmState) -> Parts {
        let [laminar, turbulent, weight] = layers::parts_of_one(self, state);
        Parts { laminar, turbulent: self.turbulent * turbulent, weight }
    }

    /// The film of water that moves across the product at this speed, m/s, W/(m2 K).
    pub fn stirred(&self, state: &FilmState, speed: f64) -> f64 {
        formulas::cross_water(&FilmState { inputs: Inputs { velocity: speed, ..Inputs::default() }, ..*state })
    }
}

/// The slope of `linear` at `x`, to its right where `x` is one of the points.
fn linear_slope(points: &[[f64; 2]], x: f64) -> f64 {
    let after = points.partition_point(|point| point[0] <= x);
    if after == 0 || after == points.len() {
        return 0.0;
    }
    let ([x0, y0], [x1, y1]) = (points[after - 1], points[after]);
    (y1 - y0) / (x1 - x0)
}
