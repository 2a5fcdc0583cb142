//! Conductors of the standards, laid-up cores, and conductivities across round members.

use std::f64::consts::FRAC_PI_4;

use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::material::conductor::iec::{self, Class};
use quenchway::material::conductor::layup::layup;
use quenchway::material::conductor::{Conductor, mixture};

use crate::page::{Kind, Page};

/// Nominal size, copper section 17.241/R_max and its solid diameter: mm2, mm2, mm.
const SECTIONS: [[f64; 3]; 9] = [
    [0.5, 0.4789, 0.7809],
    [0.75, 0.7037, 0.9466],
    [1.0, 0.9525, 1.1013],
    [1.5, 1.4249, 1.3469],
    [2.5, 2.3267, 1.7212],
    [4.0, 3.7399, 2.1822],
    [6.0, 5.5977, 2.6697],
    [10.0, 9.4213, 3.4635],
    [16.0, 14.9922, 4.3691],
];
/// Nominal size, wires and wire diameter (mm) of usual conductors of class 2.
const USUAL: [(f64, f64, f64); 7] = [
    (1.5, 7.0, 0.52),
    (2.5, 7.0, 0.67),
    (4.0, 7.0, 0.85),
    (6.0, 7.0, 1.04),
    (10.0, 7.0, 1.35),
    (16.0, 7.0, 1.70),
    (25.0, 7.0, 2.14),
];
/// Greatest diameters of class 1, 2 and 5, mm.
const GREATEST: [(f64, [f64; 3]); 4] =
    [(1.5, [1.5, 1.7, 1.8]), (2.5, [1.9, 2.2, 2.4]), (6.0, [2.9, 3.3, 3.9]), (16.0, [4.6, 5.3, 6.3])];
/// Diameter over all over that of one, by number of cores.
const COEFFICIENTS: [(usize, f64); 11] = [
    (2, 2.0),
    (3, 2.16),
    (4, 2.42),
    (5, 2.7),
    (6, 3.0),
    (10, 4.0),
    (12, 4.16),
    (14, 4.41),
    (16, 4.7),
    (19, 5.0),
    (27, 6.15),
];

const IEC: &str =
    "IEC 60228:2004, Tables 1 and 2, resistances read in three public reproductions; 17.241 ohm mm2/km of IEC 60028";
const IEC_USUAL: &str = "usual constructions beside IEC 60228:2004, Tables 1 to 3, read on a public page";
const IEC_GREATEST: &str = "IEC 60228:2004, Annex C, greatest diameters, from memory, not checked";
const LAID_UP: &str = "IEC 60502-1, Table A.2, read on a public page";
const ASTM: &str =
    "ASTM B258, the sections of the wires add up to that of the gauge; lay 14 times the diameter over all";

fn row(what: String, source: &'static str, witness: Witness, unit: &'static str) -> Check {
    Check {
        family: "conductors",
        what,
        source,
        subject: Subject::Part,
        witness,
        unit,
        expected: 0.0,
        computed: f64::NAN,
        bound: 0.0,
        reason: "",
    }
}

fn diameter(nominal: f64, class: Class) -> f64 {
    iec::conductor(nominal, class).map_or(f64::NAN, |conductor| conductor.diameter() * 1e3)
}

/// Conductors by class and gauge, and cores laid up.
pub fn classes() -> Page {
    let mut rows = Vec::new();
    for [nominal, section, solid] in SECTIONS {
        let found = iec::conductor(nominal, Class::Solid).map_or(f64::NAN, |conductor| conductor.metal_area() * 1e6);
        let reason = "half of the last digit, and 17.2414 for 17.241 ohm mm2/km";
        rows.push(Check {
            expected: section,
            computed: found,
            bound: 0.5e-4 + 3e-5 * section,
            reason,
            ..row(format!("{nominal} mm2 class 1, copper"), IEC, Witness::Equation, "mm2")
        });
        rows.push(Check {
            expected: solid,
            computed: diameter(nominal, Class::Solid),
            bound: 0.5e-4 + 1.5e-5 * solid,
            reason,
            ..row(format!("{nominal} mm2 class 1, diameter"), IEC, Witness::Equation, "mm")
        });
    }
    for (nominal, wires, wire) in USUAL {
        rows.push(Check {
            // Of seven wires three lie across.
            expected: 3.0 * wire,
            computed: if wires == 7.0 { diameter(nominal, Class::Stranded) } else { f64::NAN },
            bound: 0.035 * 3.0 * wire,
            reason: "the least metal that meets the resistance; real conductors have up to 7 % more",
            ..row(format!("{nominal} mm2 class 2, {wires} x {wire} mm"), IEC_USUAL, Witness::Printed, "mm")
        });
    }
    for (nominal, greatest) in GREATEST {
        for (class, greatest) in [Class::Solid, Class::Stranded, Class::Flexible].into_iter().zip(greatest) {
            let named = format!("{class:?}").to_lowercase();
            rows.push(Check {
                // Below the greatest diameter and at most a fifth smaller.
                expected: 0.89 * greatest,
                computed: diameter(nominal, class),
                bound: 0.11 * greatest,
                reason: "between 78 % and all of the greatest diameter: tolerances, compacting and coarser lays lie between",
                ..row(format!("{nominal} mm2 {named}, diameter"), IEC_GREATEST, Witness::Memory, "mm")
            });
        }
    }
    for (gauge, wires, solid, across) in [(14, 7, 1.62773, 3.0), (12, 19, 2.05253, 5.0)] {
        let metres = quenchway::units::parse(&format!("{gauge} AWG"), quenchway::units::Dimension::Diameter);
        let strand = metres.map(|metres| Conductor::of_area(wires, FRAC_PI_4 * metres * metres).diameter() * 1e3);
        // The sections of N wires make that of the gauge: each is 1/sqrt(N) of it across.
        let share = across / (wires as f64).sqrt();
        rows.push(Check {
            expected: share * solid,
            computed: strand.unwrap_or(f64::NAN),
            bound: share * 0.5e-5,
            reason: "half of the last digit of the gauge's diameter",
            ..row(format!("{gauge} AWG, {wires} strands, diameter"), ASTM, Witness::Equation, "mm")
        });
    }
    for (cores, coefficient) in COEFFICIENTS {
        rows.push(Check {
            expected: coefficient,
            computed: layup(cores).map_or(f64::NAN, |found| found.overall),
            bound: 0.0075,
            reason: "two decimals, some of them rounded up",
            ..row(format!("{cores} cores laid up, over all"), LAID_UP, Witness::Printed, "diameters")
        });
    }
    Page {
        title: "Conductors and laid-up cores",
        kind: Kind::Published,
        question: "Does a class, a gauge or a number of cores give the section and the diameter that the standards have?",
        set_up: "These are solid, stranded and flexible copper from 0.5 to 25 mm2; 7 and 19 strands by gauge; 2 to 27 \
                 cores.",
        reference: "IEC 60228 and IEC 60502-1 give it through public pages, and ASTM B258.",
        bound: "The digits of each; for usual constructions 3.5 % of the diameter, for greatest diameters the fifth below them.",
        doubts: "The standards themselves were not at hand. IEC 60502-1 has its own, looser, coefficients for 7, 8, 9 and for \
                 numbers that leave places empty.",
        rows,
    }
}

/// Conductivity across round members.
pub fn mixtures() -> Page {
    let mut rows = Vec::new();
    // Computed with another program from the equations of their sources.
    for (kappa, fraction, expected) in
        [(10.0, 0.6, 3.642726060371148), (100.0, 0.6, 8.886955605455523), (1000.0, 0.74, 29.016825169101)]
    {
        rows.push(Check {
            expected,
            computed: mixture::touching(kappa, 1.0, fraction),
            bound: 1e-12 * expected,
            reason: "rounding",
            ..row(
                format!("touching members, {kappa} times better than between, filling {fraction}"),
                "P. Zehner, E. U. Schluender, Chem.-Ing.-Tech. 42, 1970, 933, equation from memory",
                Witness::Memory,
                "",
            )
        });
    }
    for (fraction, inside) in [(0.1, 50.0), (0.2, 50.0), (0.3, 10.0)] {
        let expected = perrins_hexagonal(inside, fraction);
        rows.push(Check {
            expected,
            computed: mixture::cylinders_in_matrix(inside, 1.0, fraction),
            bound: 1e-3 * expected,
            reason: "higher multipoles of neighbours, of sixth order in the filling",
            ..row(
                format!("cylinders in a hexagonal array, {inside} times better, filling {fraction}"),
                "W. T. Perrins, D. R. McKenzie, R. C. McPhedran, Proc. R. Soc. Lond. A 369, 1979, 207, from memory",
                Witness::Memory,
                "",
            )
        });
    }
    Page {
        title: "Conductivity across round members",
        kind: Kind::Published,
        question: "Do the relations for strands and laid-up cores give the figures of their equations?",
        set_up: "Members touch in what lies between them, and cylinders lie in a matrix.",
        reference: "Another program evaluates Zehner and Schluender's unit cell. The hexagonal array is that of \
                    Perrins and others.",
        bound: "Rounding; a thousandth where the reference has terms that the relation leaves out.",
        doubts: "That the relations describe a strand is an estimate within wide bounds, and each result that uses it says \
                 so. Overhead conductors are known to conduct some watts per metre and kelvin across (from memory, not \
                 checked).",
        rows,
    }
}

/// The hexagonal array of cylinders of conductivity `inside` in a matrix of 1, three multipoles.
fn perrins_hexagonal(inside: f64, f: f64) -> f64 {
    let t = (1.0 + inside) / (1.0 - inside);
    let (f6, f12) = (f.powi(6), f.powi(12));
    1.0 - 2.0 * f / (t + f - 0.075_422 * f6 * t / (t * t - 1.060_283 * f12) - 0.000_076 * f12 / t)
}
