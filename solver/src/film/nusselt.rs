//! Published correlations for the Nusselt number, one row each with range, source and worked examples.

use super::boundary_layer::surface_gradient;
use crate::maths::exp_ln::{exp, ln};
use crate::maths::vector::Vector;
use libm::{cbrt, pow};

use crate::data::witness::Witness;

/// The dimensionless numbers of a film; a correlation reads those that its equation names.
///
/// Fluid properties are those at the film temperature, the mean of surface and medium.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Numbers {
    /// Re: in cross-flow U d / nu, along a moving surface U x / nu.
    pub reynolds: f64,
    /// Ra = g beta |T_s - T_m| d^3 Pr / nu^2.
    pub rayleigh: f64,
    /// Pr = mu c_p / k.
    pub prandtl: f64,
    /// xi = 2 sqrt(nu x / U) / a, thickness of the boundary layer over the radius a; 0 for a flat surface.
    pub curvature: f64,
    /// Speed of the air across a fibre over the fibre's own.
    pub cross_ratio: f64,
}

/// A published correlation: everything about it in one row.
#[derive(Debug)]
pub struct Correlation {
    /// The function's name.
    pub name: &'static str,
    /// What it describes, and the length in its Nusselt number.
    pub describes: &'static str,
    /// The Nusselt number.
    pub nusselt: fn(&Numbers) -> f64,
    /// Validity range in words.
    pub range: &'static str,
    /// Author, title, year, equation.
    pub source: &'static str,
    /// Worked examples; the tests run every one.
    pub examples: &'static [WorkedNusselt],
}

/// A worked example of a correlation.
#[derive(Clone, Copy, Debug)]
pub struct WorkedNusselt {
    /// What the correlation is asked for.
    pub numbers: Numbers,
    /// The Nusselt number that it must answer.
    pub nusselt: f64,
    /// How far the answer may be off, relative.
    pub within: f64,
    /// Where the answer comes from, and why it may be off by that much.
    pub source: &'static str,
    /// Its kind.
    pub witness: Witness,
}

/// Every correlation.
pub fn correlations() -> &'static [Correlation] {
    &CORRELATIONS
}

/// Free convection about a horizontal cylinder, Nu_d = h d / k.
///
/// Nu = {0.60 + 0.387 Ra^(1/6) / [1 + (0.559/Pr)^(9/16)]^(8/27)}^2
///
/// - Inputs: `rayleigh` on the diameter, `prandtl`.
/// - Range: Ra from 1e-5 to 1e12, every Pr; isothermal surface, still and unbounded fluid.
/// - Source: S. W. Churchill, H. H. S. Chu, Correlating equations for laminar and turbulent free convection from a
///   horizontal cylinder, Int. J. Heat Mass Transfer 18 (1975) 1049. doi:10.1016/0017-9310(75)90222-7 (the doi and the
///   lower limit from memory, not checked).
///
/// ```
/// use quenchway::film::{Numbers, nusselt_free_horizontal_churchill_chu};
/// let numbers = Numbers { rayleigh: 0.69 * 2.63e9, prandtl: 0.69, ..Numbers::default() };
/// assert!((nusselt_free_horizontal_churchill_chu(&numbers) - 139.1349397).abs() < 1e-6);
/// ```
pub fn nusselt_free_horizontal_churchill_chu(numbers: &Numbers) -> f64 {
    churchill_chu(ln(numbers.rayleigh), ln(numbers.prandtl))
}

/// ln 0.559.
const LN_0_559: f64 = -0.581_605_805_827_037_8;

/// As [`nusselt_free_horizontal_churchill_chu`], of the logarithms of Ra and Pr.
#[inline(always)]
pub(super) fn churchill_chu<V: Vector>(log_rayleigh: V, log_prandtl: V) -> V {
    let power = V::all(9.0 / 16.0).mul(V::all(LN_0_559).sub(log_prandtl));
    let y = V::all(1.0).add(exp(power));
    let power = V::all(1.0 / 6.0).mul_sub(log_rayleigh, V::all(8.0 / 27.0).mul(ln(y)));
    let root = V::all(0.387).mul_add(exp(power), V::all(0.60));
    root.mul(root)
}

/// Cross-flow about a cylinder, Nu_d = h d / k.
///
/// Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3) / [1 + (0.4/Pr)^(2/3)]^(1/4) [1 + (Re/282000)^(5/8)]^(4/5)
///
/// - Inputs: `reynolds` on the diameter, `prandtl`.
/// - Range: Re Pr above 0.2, Re up to 4e6; isothermal surface, flow at right angles to the axis.
/// - Source: S. W. Churchill, M. Bernstein, A correlating equation for forced convection from gases and liquids to a
///   circular cylinder in crossflow, J. Heat Transfer 99 (1977) 300. doi:10.1115/1.3450685 (the doi from memory, not
///   checked).
///
/// ```
/// use quenchway::film::{Numbers, nusselt_crossflow_churchill_bernstein};
/// let numbers = Numbers { reynolds: 6071.0, prandtl: 0.70, ..Numbers::default() };
/// assert!((nusselt_crossflow_churchill_bernstein(&numbers) - 40.63708594).abs() < 1e-7);
/// ```
pub fn nusselt_crossflow_churchill_bernstein(numbers: &Numbers) -> f64 {
    let Numbers { reynolds, prandtl, .. } = *numbers;
    let prandtl_part = cbrt(prandtl) / pow(1.0 + pow(0.4 / prandtl, 2.0 / 3.0), 0.25);
    let turbulent_part = pow(1.0 + pow(reynolds / 282_000.0, 5.0 / 8.0), 4.0 / 5.0);
    0.3 + 0.62 * reynolds.sqrt() * prandtl_part * turbulent_part
}

/// Laminar boundary layer on a continuous surface that moves through still fluid, flat or cylindrical, Nu_x = h x / k.
///
/// Nu = -theta'(0; xi, Pr) Re^(1/2), theta' from the boundary-layer equations of the moving cylinder (those of the moving
/// sheet at xi = 0), read from a table: see [`Numbers::curvature`] for xi.
///
/// - Inputs: `reynolds` on the distance from the entry, `prandtl`, `curvature`.
/// - Range: laminar, Re up to about 5e5; Pr from 0.35 to 22.4, held constant outside; every xi (beyond 1.5e4 by the limit
///   of a long cylinder, whose resistance to heat grows with the logarithm of xi).
/// - Accuracy: 1e-4 relative of the equations for Pr from 0.7 to 16.
/// - Source: the equations and the flat case: B. C. Sakiadis, Boundary-layer behavior on continuous solid surfaces, AIChE
///   J. 7 (1961) 26, 221, 467; F. K. Tsou, E. M. Sparrow, R. J. Goldstein, Flow and heat transfer in the boundary layer
///   on a continuous moving surface, Int. J. Heat Mass Transfer 10 (1967) 219. The table: solved for this program, in no
///   publication; `docs/film-laws.md` gives the method.
///
/// ```
/// use quenchway::film::{Numbers, nusselt_moving_laminar_sakiadis};
/// let sheet = Numbers { reynolds: 1e4, prandtl: 10.0, ..Numbers::default() };
/// assert!((nusselt_moving_laminar_sakiadis(&sheet) / 100.0 - 1.680293).abs() < 1.7e-4);
/// ```
pub fn nusselt_moving_laminar_sakiadis(numbers: &Numbers) -> f64 {
    surface_gradient(numbers.curvature, ln(numbers.prandtl)) * numbers.reynolds.sqrt()
}

/// Turbulent boundary layer on a flat moving surface, Nu_x = h x / k.
///
/// Nu = 0.0296 Re^(4/5) Pr^(1/3): Colburn's analogy with the friction of a flat plate, c_f = 0.0592 Re^(-1/5).
///
/// - Inputs: `reynolds` on the distance from the entry, `prandtl`.
/// - Range: Re from 5e5 to 1e8, Pr from 0.6 to 60, flat: nothing is claimed for a thin wire.
/// - Source: A. P. Colburn, A method of correlating forced convection heat transfer data and a comparison with fluid
///   friction, Trans. AIChE 29 (1933) 174 (not seen); form and range as the Mechanical Engineers' Handbook, vol. 4, chapter
///   Heat-Transfer Fundamentals, p. 170 prints them, there with 0.0292; that a moving surface does much the same as a plate
///   in a stream: Tsou, Sparrow and Goldstein 1967 (from memory, not checked).
///
/// ```
/// use quenchway::film::{Numbers, nusselt_moving_turbulent_colburn};
/// let numbers = Numbers { reynolds: 7.6005e5, prandtl: 4.341, ..Numbers::default() };
/// assert!((nusselt_moving_turbulent_colburn(&numbers) - 2446.16).abs() < 0.2);
/// ```
pub fn nusselt_moving_turbulent_colburn(numbers: &Numbers) -> f64 {
    colburn(ln(numbers.reynolds), ln(numbers.prandtl))
}

/// As [`nusselt_moving_turbulent_colburn`], of the logarithms of Re and Pr.
#[inline(always)]
pub(super) fn colburn<V: Vector>(log_reynolds: V, log_prandtl: V) -> V {
    let power = V::all(0.8).mul_add(log_reynolds, V::all(1.0 / 3.0).mul(log_prandtl));
    V::all(0.0296).mul(exp(power))
}

/// Laminar boundary layer on a plate at rest in a stream, Nu_x = h x / k.
///
/// Nu = 0.332 Re^(1/2) Pr^(1/3)
///
/// - Inputs: `reynolds` on the distance from the leading edge, `prandtl`.
/// - Range: Re up to 5e5, Pr from 0.6. For comparison only: the layer on a moving product is thinner.
/// - Source: E. Pohlhausen, Z. angew. Math. Mech. 1 (1921) 115 (not seen), as the Mechanical Engineers' Handbook, vol. 4,
///   chapter Heat-Transfer Fundamentals, p. 170 prints it.
///
/// ```
/// use quenchway::film::{Numbers, nusselt_plate_laminar_pohlhausen};
/// let numbers = Numbers { reynolds: 7.6005e5, prandtl: 4.341, ..Numbers::default() };
/// assert!((nusselt_plate_laminar_pohlhausen(&numbers) - 472.147).abs() < 0.02);
/// ```
pub fn nusselt_plate_laminar_pohlhausen(numbers: &Numbers) -> f64 {
    0.332 * numbers.reynolds.sqrt() * cbrt(numbers.prandtl)
}

/// Water spray on a small hot disc without boiling, Nu = h D / k on the disc's diameter D = 20 mm.
///
/// Nu = 20.344 Re^0.659, Re = water flux D / mu
///
/// - Inputs: `reynolds`.
/// - Range: Re from 65 to 285, water flux from 2.6 to 9.9 kg/(m2 s), surface below 95 degC, one full-cone nozzle from above.
/// - Source: N. Karwa, S. R. Kale, P. M. V. Subbarao, Experimental study of non-boiling heat transfer from a horizontal
///   surface by water sprays, Experimental Thermal and Fluid Science 32 (2007) 571. Range and the measured 9000 to 24,000
///   W/(m2 K) read in its abstract, which the equation gives; the two constants from memory, not checked.
///
/// ```
/// use quenchway::film::{Numbers, nusselt_spray_karwa};
/// let numbers = Numbers { reynolds: 100.0, ..Numbers::default() };
/// assert!((nusselt_spray_karwa(&numbers) - 423.1).abs() < 0.1);
/// ```
pub fn nusselt_spray_karwa(numbers: &Numbers) -> f64 {
    20.344 * pow(numbers.reynolds, 0.659)
}

/// Fine fibre that runs through air blown across it, Nu_d = h d / k.
///
/// Nu = 0.42 Re^0.334 [1 + (8 v_across/v)^2]^0.167
///
/// - Inputs: `reynolds` of the fibre's own speed on its diameter, `cross_ratio`.
/// - Range: not known here; meant for fibres well below a millimetre.
/// - Source: S. Kase, T. Matsuo, Studies on melt spinning I, J. Polymer Science A 3 (1965) 2541 (equation, constants and
///   reference from memory, not checked).
///
/// ```
/// use quenchway::film::{Numbers, nusselt_fibre_kase_matsuo};
/// let numbers = Numbers { reynolds: 1.0, ..Numbers::default() };
/// assert_eq!(nusselt_fibre_kase_matsuo(&numbers), 0.42);
/// ```
pub fn nusselt_fibre_kase_matsuo(numbers: &Numbers) -> f64 {
    let ratio = 8.0 * numbers.cross_ratio;
    0.42 * pow(numbers.reynolds, 0.334) * pow(1.0 + ratio * ratio, 0.167)
}

const NOTHING: Numbers = Numbers { reynolds: 0.0, rayleigh: 0.0, prandtl: 0.0, curvature: 0.0, cross_ratio: 0.0 };

/// Worked by an independent implementation of the same equation.
const HT: &str = "computed with the Python package ht 1.2.0; the digits given";

/// Worked once more.
const COLBURN: &str = "0.0296 Re^0.8 Pr^(1/3), worked in Python with the Re and Pr of water at 40 degC; their rounding";

/// For a sheet, -theta'(0) by shooting. Tsou, Sparrow and Goldstein 1967 print 0.3492, 0.4438 and 1.6804 for Pr 0.7, 1 and
/// 10 (from memory, not checked).
const SHOOTING: &str = "ordinary differential equations of the sheet by shooting, scipy 1.17.1 DOP853, rtol 1e-13; the \
                        table's accuracy";

/// For a cylinder, -theta'(0) by a method that shares nothing with this program's table.
const DIFFERENCES: &str = "boundary-layer equations by finite differences and Richardson extrapolation, good to 2e-4 and \
                           printed to 1e-4; the table's accuracy on top";

const fn free(rayleigh: f64, prandtl: f64, nusselt: f64, source: &'static str) -> WorkedNusselt {
    WorkedNusselt {
        numbers: Numbers { rayleigh, prandtl, ..NOTHING },
        nusselt,
        within: 1e-9,
        source,
        witness: Witness::Library,
    }
}

const fn forced(reynolds: f64, prandtl: f64, nusselt: f64, source: &'static str) -> WorkedNusselt {
    WorkedNusselt {
        numbers: Numbers { reynolds, prandtl, ..NOTHING },
        nusselt,
        within: 1e-9,
        source,
        witness: Witness::Library,
    }
}

const fn turbulent(reynolds: f64, prandtl: f64, nusselt: f64) -> WorkedNusselt {
    WorkedNusselt {
        numbers: Numbers { reynolds, prandtl, ..NOTHING },
        nusselt,
        within: 5e-5,
        source: COLBURN,
        witness: Witness::Equation,
    }
}

/// The digits given of an equation worked in Python whose constants are from memory.
const fn worked(numbers: Numbers, nusselt: f64) -> WorkedNusselt {
    let source = "the equation worked in Python; the digits given";
    WorkedNusselt { numbers, nusselt, within: 1e-9, source, witness: Witness::Memory }
}

const fn plate(reynolds: f64, prandtl: f64, nusselt: f64) -> WorkedNusselt {
    let source = "0.332 Re^(1/2) Pr^(1/3), worked in Python with Re and Pr from CoolProp 8.0.0; their rounding";
    WorkedNusselt {
        numbers: Numbers { reynolds, prandtl, ..NOTHING },
        nusselt,
        within: 5e-5,
        source,
        witness: Witness::Equation,
    }
}

/// At Re = 1, where Nu is -theta'(0).
const fn sheet(prandtl: f64, nusselt: f64) -> WorkedNusselt {
    let numbers = Numbers { reynolds: 1.0, prandtl, ..NOTHING };
    WorkedNusselt { numbers, nusselt, within: 1e-4, source: SHOOTING, witness: Witness::SecondProgram }
}

/// At Re = 1, where Nu is -theta'(0).
const fn cylinder(curvature: f64, prandtl: f64, nusselt: f64) -> WorkedNusselt {
    let numbers = Numbers { reynolds: 1.0, prandtl, curvature, ..NOTHING };
    WorkedNusselt { numbers, nusselt, within: 3e-4, source: DIFFERENCES, witness: Witness::SecondProgram }
}

static CORRELATIONS: [Correlation; 7] = [
    Correlation {
        name: "nusselt_free_horizontal_churchill_chu",
        describes: "free convection about a horizontal cylinder, on the diameter",
        nusselt: nusselt_free_horizontal_churchill_chu,
        range: "Ra 1e-5 to 1e12, every Pr; isothermal, still and unbounded fluid",
        source: "S. W. Churchill, H. H. S. Chu, Correlating equations for laminar and turbulent free convection from a \
                 horizontal cylinder, Int. J. Heat Mass Transfer 18 (1975) 1049",
        examples: &[
            free(0.69 * 2.63e9, 0.69, 139.1349397, "example 9.2 of a textbook as quoted by the docstring of ht 1.2.0"),
            free(5.073e6, 0.697, 23.0910513962, HT),
            free(0.01, 0.7, 0.5609395887, HT),
            free(0.01, 6.0, 0.5892349688, HT),
            free(1.0, 0.7, 0.8480981482, HT),
            free(1.0, 6.0, 0.9237490222, HT),
            free(100.0, 0.7, 1.66773061, HT),
            free(100.0, 6.0, 1.898901928, HT),
            free(1e4, 0.7, 4.366386507, HT),
            free(1e4, 6.0, 5.180923482, HT),
            free(1e6, 0.7, 14.51019085, HT),
            free(1e6, 6.0, 17.73409011, HT),
        ],
    },
    Correlation {
        name: "nusselt_crossflow_churchill_bernstein",
        describes: "cross-flow about a cylinder, on the diameter",
        nusselt: nusselt_crossflow_churchill_bernstein,
        range: "Re Pr above 0.2, Re up to 4e6; isothermal",
        source: "S. W. Churchill, M. Bernstein, A correlating equation for forced convection from gases and liquids to a \
                 circular cylinder in crossflow, J. Heat Transfer 99 (1977) 300",
        examples: &[
            forced(
                6071.0,
                0.70,
                40.6370859412,
                "T. L. Bergman, A. S. Lavine, F. P. Incropera, D. P. DeWitt, Introduction to Heat Transfer, 6th ed., \
                 2011, example 7.3, as quoted by the docstring of ht 1.2.0",
            ),
            forced(1.0, 0.7, 0.7830715878, HT),
            forced(100.0, 0.7, 5.156131724, HT),
            forced(1e3, 0.7, 15.92961232, HT),
            forced(1e4, 0.7, 53.32778867, HT),
            forced(100.0, 6.0, 11.20595749, HT),
            forced(1e3, 6.0, 35.40116637, HT),
            forced(1e4, 6.0, 119.3904287, HT),
            forced(1e5, 6.0, 480.513031, HT),
            forced(4e5, 6.0, 1309.856048, HT),
        ],
    },
    Correlation {
        name: "nusselt_moving_laminar_sakiadis",
        describes: "laminar layer on a surface moving through still fluid, flat or cylindrical, on the distance",
        nusselt: nusselt_moving_laminar_sakiadis,
        range: "Re up to about 5e5, Pr 0.35 to 22.4, every xi; isothermal, unbounded fluid",
        source: "B. C. Sakiadis, Boundary-layer behavior on continuous solid surfaces, AIChE J. 7 (1961) 26, 221, 467; \
                 F. K. Tsou, E. M. Sparrow, R. J. Goldstein, Flow and heat transfer in the boundary layer on a \
                 continuous moving surface, Int. J. Heat Mass Transfer 10 (1967) 219; solved again for this program",
        examples: &[
            sheet(0.7, 0.3492358),
            sheet(1.0, 0.4437483),
            sheet(2.0, 0.6832586),
            sheet(4.0, 1.0191820),
            sheet(7.0, 1.3870333),
            sheet(10.0, 1.6802933),
            cylinder(1.0, 0.7, 0.5167),
            cylinder(1.0, 4.0, 1.2113),
            cylinder(5.0, 7.0, 2.2817),
            cylinder(10.0, 0.7, 1.6130),
            cylinder(10.0, 4.0, 2.5936),
            cylinder(20.0, 10.0, 4.7885),
        ],
    },
    Correlation {
        name: "nusselt_moving_turbulent_colburn",
        describes: "turbulent layer on a flat moving surface, on the distance",
        nusselt: nusselt_moving_turbulent_colburn,
        range: "Re 5e5 to 1e8, Pr 0.6 to 60; flat, isothermal",
        source: "A. P. Colburn, A method of correlating forced convection heat transfer data and a comparison with fluid \
                 friction, Trans. AIChE 29 (1933) 174 (not seen); form and range: Mechanical Engineers' Handbook, vol. 4, \
                 p. 170, there with 0.0292",
        examples: &[
            turbulent(7.6005e5, 4.341, 2446.16),
            turbulent(1.5201e7, 4.341, 26872.5),
            turbulent(7.6005e7, 4.341, 97383.2),
            turbulent(90602.0, 0.7009, 242.973),
        ],
    },
    Correlation {
        name: "nusselt_plate_laminar_pohlhausen",
        describes: "laminar layer on a plate at rest in a stream, on the distance; for comparison",
        nusselt: nusselt_plate_laminar_pohlhausen,
        range: "Re up to 5e5, Pr from 0.6; flat, isothermal",
        source: "E. Pohlhausen, Z. angew. Math. Mech. 1 (1921) 115 (not seen); as printed: Mechanical Engineers' Handbook, \
                 vol. 4, p. 170",
        examples: &[
            plate(7.6005e5, 4.341, 472.147),
            plate(1.5201e7, 4.341, 2111.51),
            plate(7.6005e7, 4.341, 4721.47),
            plate(90602.0, 0.7009, 88.7693),
        ],
    },
    Correlation {
        name: "nusselt_spray_karwa",
        describes: "water spray on a disc of 20 mm without boiling, on the disc's diameter",
        nusselt: nusselt_spray_karwa,
        range: "Re = water flux D/mu 65 to 285, surface below 95 degC",
        source: "N. Karwa, S. R. Kale, P. M. V. Subbarao, Experimental study of non-boiling heat transfer from a horizontal \
                 surface by water sprays, Experimental Thermal and Fluid Science 32 (2007) 571 (range read in the abstract, \
                 both constants from memory, not checked)",
        examples: &[
            worked(Numbers { reynolds: 65.0, ..NOTHING }, 318.5269985),
            worked(Numbers { reynolds: 285.0, ..NOTHING }, 843.6826341),
        ],
    },
    Correlation {
        name: "nusselt_fibre_kase_matsuo",
        describes: "fine fibre running through air that is blown across it, on the diameter",
        nusselt: nusselt_fibre_kase_matsuo,
        range: "not known here; fibres well below a millimetre",
        source: "S. Kase, T. Matsuo, Studies on melt spinning I, J. Polymer Science A 3 (1965) 2541 (equation, constants and \
                 reference from memory, not checked)",
        examples: &[
            worked(Numbers { reynolds: 50.0, ..NOTHING }, 1.551333861),
            worked(Numbers { reynolds: 10.0, cross_ratio: 0.05, ..NOTHING }, 0.9289958514),
        ],
    },
];
