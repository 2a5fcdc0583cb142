//! The numbers of Rodas4P2 (Steinebach 2020).

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
/// How far ahead a node's enthalpy is foreseen, in steps: with the change of the last one, this part of the way.
const FORESEEN: f64 = 0.7;
/// Weight of the last accepted step's change, in whose `last` seconds it happened, in the forecast for a step; none in the
/// first step in a medium.
pub fn reach(step: f64, last: Option<f64>) -> f64 {
    last.map_or(0.0, |last| FORESEEN * step / last)
}
/// Dense output of order 3: y(theta) = (1-theta) y_n + theta (y_new + (1-theta)(g1 + theta g2)), g1 = sum H1_j u_j.
pub(crate) const H1: [f64; 5] =
    [-5.323528268423303, -10.042123754867493, 17.175254928256965, -5.079931171878093, -0.016185991706112];
/// As `H1`, for g2.
pub(crate) const H2: [f64; 5] =
    [6.984505741529879, 6.914061169603662, -0.849178943070653, 18.104410789349338, -3.516963011559032];
