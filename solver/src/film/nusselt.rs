//! Published correlations for the Nusselt number, one row each with range, source and worked examples.

use super::boundary_layer::surface_gradient;
use super::thickness::fourth_root;
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
    churchill_bernstein(numbers.reynolds, ln(numbers.prandtl))
}

/// ln 0.4.
const LN_0_4: f64 = -0.916_290_731_874_155;
/// ln 282000.
const LN_282_000: f64 = 12.549_662_349_920_25;

/// As [`nusselt_crossflow_churchill_bernstein`], of Re and of the logarithm of Pr; 0.3 at Re = 0.
#[inline(always)]
pub(super) fn churchill_bernstein<V: Vector>(reynolds: V, log_prandtl: V) -> V {
    let one = V::all(1.0);
    let of_prandtl = one.add(exp(V::all(2.0 / 3.0).mul(V::all(LN_0_4).sub(log_prandtl))));
    let third = exp(V::all(1.0 / 3.0).mul(log_prandtl));
    let log_reynolds = ln(reynolds.add(V::all(NEXT_TO_NOTHING)));
    let of_reynolds = one.add(exp(V::all(5.0 / 8.0).mul(log_reynolds.sub(V::all(LN_282_000)))));
    let turbulent = exp(V::all(4.0 / 5.0).mul(ln(of_reynolds)));
    let laminar = V::all(0.62).mul(reynolds.sqrt()).mul(third).div(of_prandtl.sqrt().sqrt());
    laminar.mul_add(turbulent, V::all(0.3))
}

/// Added to what vanishes with the speed and whose logarithm or inverse is taken: it changes no bit of what a line does.
pub(super) const NEXT_TO_NOTHING: f64 = 1e-100;

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

/// Turbulent boundary layer on a surface that moves through still fluid, flat or cylindrical, Nu_x = h x / k.
///
/// Nu = St Re_x Pr, St = f/[1 + 12.7 f^(1/2) (Pr^(2/3) - 1)], f = c_f/2:
///
/// - round: f = 0.0228 (Re_a L)^(-1/4), Re_a = U a/nu, X = (x/a) Re_a^(-1/4),
///   L = ln(1 + delta/a) = {(1.0207 X^0.8)^(-1.4) + [1.951 ln(1 + 1.681 X^0.3263)]^(-1.4)}^(-1/1.4);
/// - flat: f = 0.0227 Re_x^(-1/5).
///
/// L is the momentum integral of the moving cylinder, d/dx int u^2 r dr = a f U^2, with the friction of Ali and Dey and the
/// profile u/U = 1 - [ln(r/a)/L]^(1/7): it depends on X alone, and the fit is within 2 % of it, 0.3 % in f, for X from
/// 1e-3 to 1e5.
///
/// - Inputs: `reynolds` on the distance from the entry, `prandtl`, `curvature`.
/// - Range: Re_a from 1000 to 30,000 and x/a from 30 to 10,000 compared with two turbulence closures: for Pr 4 to 10 they give
///   0.86 to 1.32 of it, for Pr 0.7 0.95 to 1.43. Unlimited fluid at rest.
/// - Source: friction: Ali, Dey, J. Fluid Mech., 31 October 2023 (abstract, formula read); heat from friction: White's form, see
///   Lienhard, J. Heat Transfer 142 (2020) 061805 (formula from memory, paper in the abstract); integral and fit: this
///   program, in no publication; `docs/film-laws.md` gives the check.
///
/// ```
/// use quenchway::film::{Numbers, nusselt_moving_turbulent_ali_dey_white};
/// // Re_a = 5000 at x = 1000 a: Re_x = 5e6, xi = 2 (1000/5000)^(1/2).
/// let numbers = Numbers { reynolds: 5e6, prandtl: 0.7, curvature: 2.0 * 0.2f64.sqrt(), ..Numbers::default() };
/// let stanton = nusselt_moving_turbulent_ali_dey_white(&numbers) / 5e6 / 0.7;
/// assert!((stanton / 0.002147559322990121 - 1.0).abs() < 1e-9);
/// ```
pub fn nusselt_moving_turbulent_ali_dey_white(numbers: &Numbers) -> f64 {
    let Numbers { reynolds, prandtl, curvature, .. } = *numbers;
    let along = reynolds.sqrt();
    let (round, over_radius) = (curvature > 0.0, 0.5 * curvature * along);
    let around = if round { 2.0 * along / curvature } else { 0.0 };
    let friction = turbulent_friction(Some(round), [reynolds, around, over_radius]);
    white(friction, sublayer(ln(prandtl))) * reynolds * prandtl
}

/// Half of the friction coefficient of [`nusselt_moving_turbulent_ali_dey_white`], of the lanes that are round (none says: all),
/// Re_x, Re_a and x/a.
#[inline(always)]
pub(super) fn turbulent_friction<V: Vector>(round: Option<V::Mask>, [along, around, over_radius]: [V; 3]) -> V {
    let nothing = V::all(NEXT_TO_NOTHING);
    let fourth = around.add(nothing).sqrt().sqrt();
    let on_round = V::all(0.0228).div(fourth).mul(fourth_root(ln(over_radius.div(fourth))));
    let Some(round) = round else { return on_round };
    // A flat product has no X.
    let on_flat = V::all(0.0227).mul(exp(V::all(-0.2).mul(ln(along.add(nothing)))));
    V::select(round, on_round, on_flat)
}

/// The Stanton number of half a friction coefficient, by White's form for liquids, and of [`sublayer`].
#[inline(always)]
pub(super) fn white<V: Vector>(friction: V, sublayer: V) -> V {
    friction.div(sublayer.mul_add(friction.sqrt(), V::all(1.0)))
}

/// 12.7 (Pr^(2/3) - 1), of ln Pr.
#[inline(always)]
pub(super) fn sublayer<V: Vector>(log_prandtl: V) -> V {
    V::all(12.7).mul(exp(V::all(2.0 / 3.0).mul(log_prandtl)).sub(V::all(1.0)))
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

/// Worked by a second program.
const WORKED_TURBULENT: &str =
    "the formulas worked in Python, computed independently for this project; the digits given";

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

/// At Re_a and x/a, where Nu_x is half of Nu_d times x/a.
const fn turbulent(around: f64, over_radius: f64, prandtl: f64, nusselt_d: f64) -> WorkedNusselt {
    let (reynolds, curvature) = (around * over_radius, 2.0 * root(over_radius / around));
    WorkedNusselt {
        numbers: Numbers { reynolds, prandtl, curvature, ..NOTHING },
        nusselt: 0.5 * nusselt_d * over_radius,
        within: 1e-9,
        source: WORKED_TURBULENT,
        witness: Witness::SecondProgram,
    }
}

/// Square root by Newton's steps: the library's is not for constants.
const fn root(x: f64) -> f64 {
    let (mut root, mut step) = (if x > 1.0 { x } else { 1.0 }, 0);
    while step < 60 {
        (root, step) = (0.5 * (root + x / root), step + 1);
    }
    root
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
        name: "nusselt_moving_turbulent_ali_dey_white",
        describes: "turbulent layer on a surface moving through still fluid, flat or cylindrical, on the distance",
        nusselt: nusselt_moving_turbulent_ali_dey_white,
        range: "Re_a 1000 to 30,000, x/a 30 to 10,000, Pr 0.7 to 10; isothermal, unbounded fluid",
        source: "friction: Ali, Dey, J. Fluid Mech., 31 October 2023 (abstract); heat from friction: White's form, Lienhard, J. \
                 Heat Transfer 142 (2020) 061805 (formula from memory); momentum integral of the moving cylinder: this program",
        examples: &[
            turbulent(600.0, 100.0, 7.0, 9.834699653666664),
            turbulent(1000.0, 30.0, 5.5, 14.713119264880394),
            turbulent(1000.0, 3000.0, 5.5, 12.377539731122406),
            turbulent(5000.0, 100.0, 4.0, 45.336815082959966),
            turbulent(5000.0, 5000.0, 4.0, 39.521354689922944),
            turbulent(20000.0, 1000.0, 7.0, 169.5527164682026),
            turbulent(5000.0, 1000.0, 0.7, 15.032915260930846),
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
