//! How far the film of a moving product can be off: the ends of its band, place by place.
//!
//! Each part of the law has a doubt of its own, so that the band is wide where the water's own movement or the transition
//! decides, and narrow where one well-known part does. A judgement put together from the doubts of the parts, no source.

use super::Inputs;
use super::moving::{BoundaryLayer, TRANSITION};

/// Speed at which the water of a trough may move across the product though nobody stirs it, m/s. A judgement, no source.
pub const UNSAID_STIR: f64 = 0.1;

/// Speed in water at which air that is dragged in takes half of what it can, m/s: a dry surface drags air into a liquid at
/// capillary numbers 0.2 to 1.26 and above (Burley, Jolly, Chem. Eng. Sci. 39 (1984) 1357, abstract), in water at 20 degC
/// 15 m/s and more; below that it is a judgement, no source.
pub const AIR_DRAGGED_IN: f64 = 5.0;

/// Rounds the corner where an end's turbulent layer passes its laminar one, as a share of the laminar: there it adds half of that
/// to the layer, where one is twice the other 1.6e-4.
pub(super) const ROUNDED: f64 = 0.025;

/// One end of the band: what the parts of the law are multiplied with there.
///
/// ```text
/// h = {[l h_l + w m]^3 + (n h_n)^3 + (s h_s)^3}^(1/3),   m = {D + [D^2 + (0.025 l h_l)^2]^(1/2)}/2,   D = t h_t - l h_l
/// ```
///
/// m is max(0, D) without its corner.
///
///
/// | | low | high |
/// |---|---|---|
/// | l, laminar layer | 0.8 | 1.2 |
/// | t, of the whole turbulent layer | water 0.4 + 0.2/[1 + (U/5 m/s)^4], air 0.7 | 1.3 |
/// | n, free convection | 0.75 | 1.25 |
/// | s, stirred water | 0.75 | 1.25; where nothing is said of it, h_s at 0.1 m/s |
/// | w, transition | as the law | at Re_x 5e4 and Re_a 300 |
///
/// 0.85 to 1.3 is what two turbulence closures give of h_t; water dragged along takes 0.85 of it (a momentum balance of an open
/// trough), air, steam and guides the rest.
#[derive(Clone, Copy, Debug)]
pub(super) struct End {
    pub(super) laminar: f64,
    pub(super) turbulent: f64,
    pub(super) free: f64,
    pub(super) stir: f64,
    /// Speed of the stirred water, m/s.
    pub(super) stirred: f64,
    /// As [`TRANSITION`].
    pub(super) transition: [f64; 2],
}

impl End {
    /// The low end, for a layer at a speed through the medium, m/s.
    fn low(layer: &BoundaryLayer, speed: f64, stirred: f64) -> End {
        let fourth = libm::pow(speed / AIR_DRAGGED_IN, 4.0);
        let turbulent = if layer.medium.is_water() { 0.4 + 0.2 / (1.0 + fourth) } else { 0.7 };
        End { laminar: 0.8, turbulent, free: 0.75, stir: 0.75, stirred, transition: TRANSITION }
    }

    /// The high end.
    fn high(layer: &BoundaryLayer, stirred: f64) -> End {
        let (stir, stirred) = match (layer.medium.is_water(), stirred > 0.0) {
            (true, true) => (1.25, stirred),
            (true, false) => (1.0, UNSAID_STIR),
            (false, _) => (0.0, 0.0),
        };
        End { laminar: 1.2, turbulent: 1.3, free: 1.25, stir, stirred, transition: [5e4, 300.0] }
    }

    /// The end that a section leans to: the low one for a negative lean.
    pub(super) fn of(layer: &BoundaryLayer, speed: f64, inputs: &Inputs) -> End {
        if inputs.lean < 0.0 { End::low(layer, speed, inputs.stirred) } else { End::high(layer, inputs.stirred) }
    }
}
