//! Dry air at 0.101325 MPa between -20 and 250 degC.

use crate::material::fluid::{Fluid, FluidTable};
use std::sync::LazyLock;

/// Where the table holds, degC; outside it the nearest end is used.
pub const RANGE: [f64; 2] = [-20.0, 250.0];

/// Properties of dry air at 0.101325 MPa and a temperature in degC.
///
/// Cubic splines through values every 10 K, so two derivatives are continuous; within 1e-5 (relative) of the source.
///
/// - Range: -20 to 250 degC; constant outside.
/// - Source: E. W. Lemmon, R. T. Jacobsen, S. G. Penoncello, D. G. Friend, Thermodynamic Properties of Air, J. Phys.
///   Chem. Ref. Data 29 (2000) 331 (density, heat capacity, expansion); E. W. Lemmon, R. T. Jacobsen, Viscosity and
///   Thermal Conductivity Equations for Nitrogen, Oxygen, Argon, and Air, Int. J. Thermophys. 25 (2004) 21; evaluated
///   with CoolProp 8.0.0, in agreement with the Python package `iapws` 1.5.5 to 4e-7.
///
/// ```
/// let air = quenchway::material::air::at(20.0);
/// assert!((air.density - 1.20458).abs() < 1e-5);
/// assert!((air.prandtl - 0.707956).abs() < 1e-5);
/// ```
pub fn at(celsius: f64) -> Fluid {
    TABLE.at(celsius)
}

/// The table itself.
pub(crate) fn table() -> &'static FluidTable {
    &TABLE
}

/// The splines, solved for their slopes once.
static TABLE: LazyLock<FluidTable> = LazyLock::new(|| FluidTable::new(-20.0, 10.0, &ROWS));

/// Every 10 K from -20 degC: kg/m3, J/(kg K), Pa s, W/(m K), 1/K.
const ROWS: [[f64; 5]; 28] = [
    [1.39565, 1005.54, 1.62012e-5, 0.0228117, 0.00396773],
    [1.34239, 1005.57, 1.67137e-5, 0.0235907, 0.00381515],
    [1.29307, 1005.68, 1.72184e-5, 0.0243605, 0.00367396],
    [1.24725, 1005.88, 1.77156e-5, 0.0251214, 0.00354293],
    [1.20458, 1006.14, 1.82057e-5, 0.0258738, 0.00342099],
    [1.16473, 1006.49, 1.86888e-5, 0.026618, 0.00330721],
    [1.12745, 1006.92, 1.91652e-5, 0.0273543, 0.0032008],
    [1.09248, 1007.43, 1.96352e-5, 0.0280829, 0.00310107],
    [1.05963, 1008.02, 2.00991e-5, 0.0288041, 0.00300739],
    [1.02869, 1008.7, 2.05569e-5, 0.0295181, 0.00291923],
    [0.999515, 1009.46, 2.10089e-5, 0.0302253, 0.00283611],
    [0.971951, 1010.3, 2.14554e-5, 0.0309258, 0.00275762],
    [0.945869, 1011.23, 2.18965e-5, 0.0316199, 0.00268337],
    [0.921152, 1012.25, 2.23323e-5, 0.0323077, 0.00261302],
    [0.897696, 1013.34, 2.27631e-5, 0.0329895, 0.00254629],
    [0.875407, 1014.52, 2.31891e-5, 0.0336655, 0.00248288],
    [0.854199, 1015.79, 2.36103e-5, 0.0343358, 0.00242257],
    [0.833995, 1017.13, 2.40269e-5, 0.0350007, 0.00236513],
    [0.814726, 1018.55, 2.44391e-5, 0.0356603, 0.00231035],
    [0.796329, 1020.05, 2.4847e-5, 0.0363147, 0.00225807],
    [0.778745, 1021.62, 2.52507e-5, 0.0369641, 0.0022081],
    [0.761921, 1023.26, 2.56504e-5, 0.0376087, 0.0021603],
    [0.74581, 1024.97, 2.60461e-5, 0.0382486, 0.00211453],
    [0.730366, 1026.74, 2.64381e-5, 0.0388840, 0.00207066],
    [0.715550, 1028.58, 2.68263e-5, 0.0395149, 0.00202858],
    [0.701323, 1030.47, 2.72109e-5, 0.0401416, 0.00198818],
    [0.687652, 1032.42, 2.75921e-5, 0.0407640, 0.00194936],
    [0.674503, 1034.43, 2.79698e-5, 0.0413825, 0.00191203],
];
