//! Film laws and media against worked examples and published values.

use quenchway::exact::{Check, Status};
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
                status: match law.status {
                    film::Status::Memory(_) => Status::Memory,
                    film::Status::Read | film::Status::Derived => Status::Computed,
                },
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
                what: format!("{}: {:?}", correlation.name, example.numbers),
                source: example.source,
                status: Status::Computed,
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
        set_up: "Each law and each correlation of the tables at the state of its examples.",
        reference: "The source beside each example.",
        bound: "The digits of each example.",
        doubts: "A worked example sees a typing error, not whether the law describes a trough. Film laws are estimates, good to a \
                 factor of two.",
        rows,
    }
}

/// ", velocity 2, water_flux 5": the keys that the law takes, SI.
fn inputs(law: &film::Law, state: &film::FilmState) -> String {
    law.takes.iter().map(|input| format!(", {} {}", input.key(), input.of(&state.inputs))).collect()
}

/// Density, heat capacity, viscosity, conductivity half-way between the tables' points: degC and SI. At the points
/// themselves a table would be compared with its own copy.
const WATER: [[f64; 5]; 5] = [
    [2.5, 999.95717, 4211.5653, 1.6459008e-3, 0.5618821],
    [12.5, 999.44177, 4191.476, 1.2170693e-3, 0.58389931],
    [22.5, 997.65869, 4182.5043, 0.943155e-3, 0.60234708],
    [42.5, 991.23713, 4179.7142, 0.62318801e-3, 0.63169366],
    [77.5, 973.33269, 4194.925, 0.36541253e-3, 0.66532337],
];
const AIR: [[f64; 5]; 3] = [
    [25.0, 1.1843185, 1006.3081, 1.8448082e-5, 0.026246931],
    [95.0, 0.95873247, 1010.7579, 2.1676599e-5, 0.031273647],
    [195.0, 0.75377914, 1024.1025, 2.584873e-5, 0.037929239],
];
/// What the splines may leave, relative, as `water::at` and `air::at` state it; same order.
const WATER_BOUNDS: [f64; 4] = [2e-7, 2e-6, 6e-5, 2e-6];
const AIR_BOUNDS: [f64; 4] = [5e-6, 7e-6, 3e-6, 2e-6];

/// Water and air.
pub fn water_and_air() -> Page {
    let mut rows = Vec::new();
    let mut compare = |medium: &str,
                       source: &'static str,
                       at: fn(f64) -> quenchway::fluid::Fluid,
                       table: &[[f64; 5]],
                       bounds: [f64; 4]| {
        for &[t, density, heat_capacity, viscosity, conductivity] in table {
            let found = at(t);
            for ((name, unit, expected, computed), within) in [
                ("density", "kg/m3", density, found.density),
                ("heat capacity", "J/(kg K)", heat_capacity, found.heat_capacity),
                ("viscosity", "Pa s", viscosity, found.viscosity),
                ("conductivity", "W/(m K)", conductivity, found.conductivity),
            ]
            .into_iter()
            .zip(bounds)
            {
                rows.push(Check {
                    family: "water and air",
                    what: format!("{medium} at {t} degC, {name}"),
                    source,
                    status: Status::Computed,
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
    compare("water", water, quenchway::water::at, &WATER, WATER_BOUNDS);
    compare("air", air, quenchway::air::at, &AIR, AIR_BOUNDS);
    Page {
        title: "Water and air",
        kind: Kind::Library,
        question: "Are the properties of the media those of the reference equations?",
        set_up: "Splines through tabulated values, half-way between their points: 2.5 to 77.5 degC in water, 25 to 195 degC in air.",
        reference: "IAPWS formulations for water; Lemmon's for air; computed with two independent libraries.",
        bound: "What the functions state: in water 2e-7 to 6e-5 of the value for the spline, in air 2e-6 to 7e-6 for the six digits of \
                its table. tests/films.rs compares over the whole range.",
        doubts: "Trough water carries air and dirt.",
        rows,
    }
}

/// American Wire Gauge by its formula, d = 0.127 mm 92^((36 - n)/39).
const AWG: [(i32, f64); 6] = [(24, 0.51056), (18, 1.02369), (14, 1.62773), (12, 2.05253), (10, 2.58819), (4, 5.18940)];

/// Wire gauges.
pub fn gauges() -> Page {
    let rows = AWG
        .map(|(gauge, expected)| Check {
            family: "AWG",
            what: format!("{gauge} AWG"),
            source: "ASTM B258, d = 0.127 mm 92^((36 - n)/39), formula read on a public page",
            status: Status::Computed,
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
        set_up: "Gauges from 24 to 4 as a case file writes them.",
        reference: "ASTM B258.",
        bound: "Half a unit of the last digit.",
        doubts: "None.",
        rows,
    }
}
