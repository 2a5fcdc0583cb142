//! Liquid water at 0.101325 MPa between 0 and 100 degC.

use crate::material::fluid::{Fluid, FluidTable};
use std::sync::LazyLock;

/// Where the table holds, degC; outside it the nearest end is used.
pub const RANGE: [f64; 2] = [0.0, 100.0];

/// Properties of liquid water at 0.101325 MPa and a temperature in degC.
///
/// Cubic splines through the values of the IAPWS releases every 5 K, so two derivatives are continuous. Against the
/// releases, between the knots: density within 2e-7, heat capacity 2e-6, viscosity 6e-5, conductivity 2e-6 (relative),
/// expansion within 2e-8 1/K.
///
/// - Range: 0 to 100 degC (99.97 to 100 degC is superheated liquid); constant outside.
/// - Source: IAPWS R6-95(2018), Formulation 1995 for the Thermodynamic Properties of Ordinary Water Substance; IAPWS
///   R12-08, Formulation 2008 for the Viscosity; IAPWS R15-11, Formulation 2011 for the Thermal Conductivity; evaluated
///   with the Python package `iapws` 1.5.5, in agreement with CoolProp 8.0.0 to 3e-10.
///
/// ```
/// let water = quenchway::material::water::at(20.0);
/// assert!((water.density - 998.2072).abs() < 1e-4);
/// assert!((water.prandtl - 7.007764).abs() < 1e-5);
/// ```
pub fn at(celsius: f64) -> Fluid {
    TABLE.at(celsius)
}

/// The table itself.
pub(crate) fn table() -> &'static FluidTable {
    &TABLE
}

/// The splines, solved for their slopes once.
static TABLE: LazyLock<FluidTable> = LazyLock::new(|| FluidTable::new(0.0, 5.0, &ROWS));

/// Every 5 K from 0 degC: kg/m3, J/(kg K), Pa s, W/(m K), 1/K. The row at 0 degC is supercooled by 0.002 K, the one at
/// 100 degC is the saturated liquid (0.101418 MPa).
const ROWS: [[f64; 5]; 21] = [
    [999.8431, 4219.445, 0.001791756, 0.5556497, -6.775940e-5],
    [999.9666, 4205.038, 0.001518173, 0.5677937, 1.604185e-5],
    [999.7025, 4195.159, 0.0013059, 0.5787774, 8.793374e-5],
    [999.1026, 4188.461, 0.001137568, 0.5888017, 0.0001508431],
    [998.2072, 4184.051, 0.001001596, 0.5980124, 0.0002068062],
    [997.0476, 4181.315, 0.0008900225, 0.6065161, 0.0002572889],
    [995.6495, 4179.82, 0.0007972218, 0.6143922, 0.0003033768],
    [994.0333, 4179.258, 0.0007191256, 0.6217003, 0.000345894],
    [992.2164, 4179.415, 0.0006527287, 0.6284857, 0.0003854793],
    [990.2129, 4180.142, 0.0005957693, 0.6347834, 0.0004226377],
    [988.035, 4181.342, 0.0005465163, 0.6406211, 0.0004577747],
    [985.6931, 4182.957, 0.0005036246, 0.6460207, 0.0004912215],
    [983.1958, 4184.953, 0.0004660351, 0.6510003, 0.0005232525],
    [980.5508, 4187.322, 0.0004329032, 0.6555751, 0.0005540984],
    [977.7646, 4190.067, 0.0004035482, 0.6597583, 0.0005839558],
    [974.8429, 4193.203, 0.0003774158, 0.6635612, 0.0006129947],
    [971.7904, 4196.753, 0.0003540507, 0.6669943, 0.0006413642],
    [968.6114, 4200.744, 0.0003330755, 0.6700671, 0.0006691968],
    [965.3096, 4205.206, 0.0003141753, 0.6727886, 0.0006966121],
    [961.8879, 4210.171, 0.0002970854, 0.675167, 0.0007237192],
    [958.3490, 4215.674, 0.000281582, 0.6772105, 0.0007506193],
];
