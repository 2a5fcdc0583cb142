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
                    "{}: {} m/s, {} mm, at {} m, surface {} degC, medium {} degC",
                    law.name,
                    s.speed,
                    s.diameter * 1e3,
                    s.distance,
                    s.surface,
                    s.medium
                ),
                source: example.source,
                status: Status::Computed,
                unit: "W/(m2 K)",
                expected: example.coefficient,
                computed: (law.coefficient)(&s),
                bound: example.within * example.coefficient,
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

/// Density, heat capacity, viscosity, conductivity at temperatures between the tables' points: degC and SI.
const WATER: [[f64; 5]; 5] = [
    [10.0, 999.7025, 4195.159, 1.305900e-3, 0.5787774],
    [20.0, 998.2072, 4184.051, 1.001596e-3, 0.5980124],
    [40.0, 992.2164, 4179.415, 0.6527287e-3, 0.6284857],
    [60.0, 983.1958, 4184.953, 0.4660351e-3, 0.6510003],
    [80.0, 971.7904, 4196.753, 0.3540507e-3, 0.6669943],
];
const AIR: [[f64; 5]; 3] = [
    [20.0, 1.20458, 1006.14, 1.82057e-5, 0.0258738],
    [100.0, 0.945869, 1011.23, 2.18965e-5, 0.0316199],
    [200.0, 0.745810, 1024.97, 2.60461e-5, 0.0382486],
];

/// Water and air.
pub fn water_and_air() -> Page {
    let mut rows = Vec::new();
    let mut compare =
        |medium: &str, source: &'static str, at: fn(f64) -> quenchway::fluid::Fluid, table: &[[f64; 5]]| {
            for &[t, density, heat_capacity, viscosity, conductivity] in table {
                let found = at(t);
                for (name, unit, expected, computed) in [
                    ("density", "kg/m3", density, found.density),
                    ("heat capacity", "J/(kg K)", heat_capacity, found.heat_capacity),
                    ("viscosity", "Pa s", viscosity, found.viscosity),
                    ("conductivity", "W/(m K)", conductivity, found.conductivity),
                ] {
                    rows.push(Check {
                        family: "water and air",
                        what: format!("{medium} at {t} degC, {name}"),
                        source,
                        status: Status::Computed,
                        unit,
                        expected,
                        computed,
                        bound: 1e-5 * expected,
                    });
                }
            }
        };
    let water = "IAPWS R6-95(2018), R12-08, R15-11 at 0.101325 MPa, iapws 1.5.5 and CoolProp 8.0.0 agree";
    let air = "Lemmon et al., J. Phys. Chem. Ref. Data 29, 2000, 331; Lemmon & Jacobsen, Int. J. Thermophys. 25, 2004, 21, by CoolProp 8.0.0";
    compare("water", water, quenchway::water::at, &WATER);
    compare("air", air, quenchway::air::at, &AIR);
    Page {
        title: "Water and air",
        kind: Kind::Library,
        question: "Are the properties of the media those of the reference equations?",
        set_up: "Splines through tabulated values, at 10 to 80 degC in water and 20 to 200 degC in air.",
        reference: "IAPWS formulations for water; Lemmon's for air; computed with two independent libraries.",
        bound: "1e-5 of the value: the digits printed. tests/films.rs compares between the tables' points.",
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
        })
        .to_vec();
    Page {
        title: "Wire gauges",
        kind: Kind::Published,
        question: "Is a diameter given by gauge the right one?",
        set_up: "Gauges from 24 to 4 as a case file writes them.",
        reference: "ASTM B258.",
        bound: "Half a unit of the last digit.",
        doubts: "None. Conductor classes enter with their tables.",
        rows,
    }
}
