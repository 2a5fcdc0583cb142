//! Film laws and media against worked examples and published values.

use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::film;

use crate::page::{Kind, Page};

/// Every row of the table of film laws against its worked example.
pub fn films() -> Page {
    let mut rows = Vec::new();
    for law in film::laws() {
        for example in law.examples {
            let s = example.state;
            rows.push(Check {
                family: "film laws",
                what: format!(
                    "{}: {} m/s, {} mm, at {} m, surface {} degC, medium {} degC{}",
                    law.name,
                    s.speed,
                    s.diameter * 1e3,
                    s.distance,
                    s.surface,
                    s.medium,
                    inputs(law, &s)
                ),
                source: example.source,
                subject: Subject::Part,
                witness: example.witness,
                unit: "W/(m2 K)",
                expected: example.coefficient,
                computed: (law.coefficient)(&s),
                bound: example.within * example.coefficient,
                reason: "the digits of the worked example",
            });
        }
    }
    for correlation in film::correlations() {
        for example in correlation.examples {
            rows.push(Check {
                family: "correlations",
                what: format!("{}: {}", correlation.name, numbers(&example.numbers)),
                source: example.source,
                subject: Subject::Part,
                witness: example.witness,
                unit: "",
                expected: example.nusselt,
                computed: (correlation.nusselt)(&example.numbers),
                bound: example.within * example.nusselt,
                reason: "the digits of the worked example",
            });
        }
    }
    Page {
        title: "Film laws against their worked examples",
        kind: Kind::Published,
        question: "Does each law give the number of its worked example?",
        set_up: "The check takes each law and each correlation of the tables at the state of its examples.",
        reference: "It is in the source beside each example.",
        bound: "The digits of each example.",
        doubts: "A worked example sees a typing error, not whether the law describes a trough. Film laws are \
                 estimates.",
        rows,
    }
}

/// "Re 100, Pr 0.7": the numbers that an example has.
fn numbers(of: &film::Numbers) -> String {
    let named = [
        ("Re", of.reynolds),
        ("Ra", of.rayleigh),
        ("Pr", of.prandtl),
        ("xi", of.curvature),
        ("across over along", of.cross_ratio),
    ];
    let given = named.iter().filter(|(_, value)| *value != 0.0);
    given.map(|(name, value)| format!("{name} {value}")).collect::<Vec<_>>().join(", ")
}

/// ", velocity 2, water_flux 5": the keys that the law takes, SI.
fn inputs(law: &film::Law, state: &film::FilmState) -> String {
    law.takes.iter().map(|input| format!(", {} {}", input.key(), input.of(&state.inputs))).collect()
}

/// Density, heat capacity, viscosity, conductivity half-way between the tables' points (at the points themselves a table
/// would be compared with its own copy); the tests and tests/python read the same files.
const WATER: &str = include_str!("../reference/water.csv");
const AIR: &str = include_str!("../reference/air.csv");

/// Rows of numbers of a table, without its comments and its head; what is no number fails its comparison.
pub fn table(text: &str) -> impl Iterator<Item = Vec<f64>> + '_ {
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines.map(|line| line.split(',').map(|word| word.parse().unwrap_or(f64::NAN)).collect())
}

/// What the splines may leave, relative, as `water::at` and `air::at` state it; same order.
const WATER_BOUNDS: [f64; 4] = [2e-7, 2e-6, 6e-5, 2e-6];
const AIR_BOUNDS: [f64; 4] = [5e-6, 7e-6, 3e-6, 2e-6];

/// Points that the IAPWS releases print for checking a program.
fn printed() -> Vec<Check> {
    let (warm, room) = (quenchway::material::water::at(300.0 - 273.15), quenchway::material::water::at(25.0));
    let row = |what: &str, source, unit, expected: f64, computed, bound, reason| Check {
        family: "water and air",
        what: what.to_string(),
        source,
        subject: Subject::Part,
        witness: Witness::Printed,
        unit,
        expected,
        computed,
        bound,
        reason,
    };
    vec![
        row(
            "water at 300 K, density, printed",
            "IAPWS R6-95(2018) table 7, 996.556 kg/m3 at 0.0992418352 MPa",
            "kg/m3",
            996.556,
            warm.density,
            1.2e-3,
            "0.00094 kg/m3 from the printed pressure to 0.101325 MPa, and the spline's 2e-7",
        ),
        row(
            "water at 298.15 K, viscosity, printed",
            "IAPWS R12-08 table 4, 889.735100 uPa s at 998 kg/m3",
            "Pa s",
            889.735100e-6,
            room.viscosity,
            5e-4 * 889.7351e-6,
            "998 kg/m3 takes 2.2 MPa: a third of a thousandth from 0.101325 MPa",
        ),
        row(
            "water at 298.15 K, conductivity, printed",
            "IAPWS R15-11 table 4, 607.712868 mW/(m K) at 998 kg/m3",
            "W/(m K)",
            607.712868e-3,
            room.conductivity,
            3e-3 * 0.607712868,
            "998 kg/m3 takes 2.2 MPa: two thousandths from 0.101325 MPa",
        ),
    ]
}

/// Water and air.
pub fn water_and_air() -> Page {
    let mut rows = Vec::new();
    let mut compare = |medium: &str,
                       source: &'static str,
                       at: fn(f64) -> quenchway::material::fluid::Fluid,
                       text: &str,
                       bounds: [f64; 4]| {
        for row in table(text) {
            let value = |column: usize| row.get(column).copied().unwrap_or(f64::NAN);
            let (t, found) = (value(0), at(value(0)));
            for ((name, unit, expected, computed), within) in [
                ("density", "kg/m3", value(1), found.density),
                ("heat capacity", "J/(kg K)", value(2), found.heat_capacity),
                ("viscosity", "Pa s", value(3), found.viscosity),
                ("conductivity", "W/(m K)", value(4), found.conductivity),
            ]
            .into_iter()
            .zip(bounds)
            {
                rows.push(Check {
                    family: "water and air",
                    what: format!("{medium} at {t} degC, {name}"),
                    source,
                    subject: Subject::Part,
                    witness: Witness::Library,
                    unit,
                    expected,
                    computed,
                    bound: within * expected,
                    reason: "what the function states between its table's points",
                });
            }
        }
    };
    let water = "IAPWS R6-95(2018), R12-08, R15-11 at 0.101325 MPa, iapws 1.5.5 and CoolProp 8.0.0 agree";
    let air = "Lemmon et al., J. Phys. Chem. Ref. Data 29, 2000, 331; Lemmon & Jacobsen, Int. J. Thermophys. 25, 2004, 21, by CoolProp 8.0.0";
    compare("water", water, quenchway::material::water::at, WATER, WATER_BOUNDS);
    compare("air", air, quenchway::material::air::at, AIR, AIR_BOUNDS);
    rows.extend(printed());
    Page {
        title: "Water and air",
        kind: Kind::Library,
        question: "Are the properties of the media those of the reference equations?",
        set_up: "The check takes splines through tabulated values half-way between their points: 2.5 to 97.5 degC in \
                 water, -15 to 245 degC in air.",
        reference: "Two independent libraries compute the IAPWS formulations for water and Lemmon's for air. The IAPWS \
                    releases print three of the points.",
        bound: "What the functions state. In water that is 2e-7 to 6e-5 of the value for the spline, in air 2e-6 to 7e-6 for \
                the six digits of the table. The Python tests compute the figures anew with the libraries.",
        doubts: "Trough water carries air and dirt.",
        rows,
    }
}

/// Boundary layers on a moving sheet and a moving cylinder, solved again by other methods.
pub fn moving() -> Page {
    let gradient = |curvature: f64, prandtl: f64| {
        film::nusselt_moving_laminar_sakiadis(&film::Numbers {
            reynolds: 1.0,
            curvature,
            prandtl,
            ..Default::default()
        })
    };
    let row = |what: String, source, expected: f64, computed, bound, reason| Check {
        family: "moving surfaces",
        what,
        source,
        subject: Subject::Part,
        witness: Witness::SecondProgram,
        unit: "",
        expected,
        computed,
        bound,
        reason,
    };
    let mut rows = Vec::new();
    for figure in table(include_str!("../reference/sheet.csv")) {
        let value = |column: usize| figure.get(column).copied().unwrap_or(f64::NAN);
        // The law holds up to Pr 22.4.
        if value(0) <= 22.4 {
            let what = format!("sheet, Pr {}", value(0));
            let reason = "the spline over the Prandtl number";
            rows.push(row(what, SHEET, value(1), gradient(0.0, value(0)), 1e-4 * value(1), reason));
        }
    }
    for figure in table(include_str!("../reference/cylinder.csv")) {
        let value = |column: usize| figure.get(column).copied().unwrap_or(f64::NAN);
        for (column, prandtl) in [0.7, 1.0, 2.0, 4.0, 7.0, 10.0].into_iter().enumerate() {
            let (what, expected) = (format!("cylinder, xi {}, Pr {prandtl}", value(0)), value(column + 1));
            let reason = "four decimals, the reference's own accuracy, the spline";
            rows.push(row(what, CYLINDER, expected, gradient(value(0), prandtl), 5e-5 + 2.5e-4 * expected, reason));
        }
    }
    Page {
        title: "Moving sheet and curved cylinder",
        kind: Kind::Published,
        question: "Is the boundary layer that a moving surface drags along the right one, flat and around a thin wire?",
        set_up: "The figures are the sheet's -theta'(0) for Pr 0.7 to 20, and the cylinder's for xi 0 to 20 and Pr 0.7 \
                 to 10. Both are taken at the knots of the program's table and between them.",
        reference: "The problem is that of Sakiadis, AIChE J. 7, 1961, and of Tsou, Sparrow & Goldstein, Int. J. Heat \
                    Mass Transfer 10, 1967, 219. It was solved by shooting (scipy 1.17.1) and by finite differences, \
                    which share nothing with the program's table.",
        bound: "Sheet: 1e-4 for the spline. Cylinder: four decimals, 2.5e-4 for the reference and the spline.",
        doubts: "Tsou, Sparrow & Goldstein's printed table was not seen; no published table of the cylinder was found.",
        rows,
    }
}

const SHEET: &str = "boundary-layer equations by shooting, scipy 1.17.1 DOP853, rtol 1e-13";
const CYLINDER: &str =
    "boundary-layer equations by finite differences and Richardson extrapolation, computed for this project";

/// American Wire Gauge by its formula, d = 0.127 mm 92^((36 - n)/39).
const AWG: [(i32, f64); 6] = [(24, 0.51056), (18, 1.02369), (14, 1.62773), (12, 2.05253), (10, 2.58819), (4, 5.18940)];

/// Wire gauges.
pub fn gauges() -> Page {
    let rows = AWG
        .map(|(gauge, expected)| Check {
            family: "AWG",
            what: format!("{gauge} AWG"),
            source: "ASTM B258, d = 0.127 mm 92^((36 - n)/39), formula read on a public page",
            subject: Subject::Part,
            witness: Witness::Equation,
            unit: "mm",
            expected,
            computed: quenchway::units::parse(&format!("{gauge} AWG"), quenchway::units::Dimension::Diameter)
                .map_or(f64::NAN, |metres| metres * 1e3),
            bound: 0.5e-5,
            reason: "half of the last digit",
        })
        .to_vec();
    Page {
        title: "Wire gauges",
        kind: Kind::Published,
        question: "Is a diameter given by gauge the right one?",
        set_up: "These are the gauges from 24 to 4 as a case file writes them.",
        reference: "ASTM B258 gives the diameters.",
        bound: "Half a unit of the last digit.",
        doubts: "There are none.",
        rows,
    }
}
