//! Shrink: mass conservation with the bore held, from hot to cold and along the way.

use quenchway::case::shrink;
use quenchway::case::{Contraction, Geometry, Shape, Size};
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::material::{Kind as MaterialKind, Material};

use crate::build::{at, bath, case, constant, curve, layer, marched, material};
use crate::page::{Kind, Page};

/// Hot diameter, cold diameter, conductor, density ratio hot over cold, all lengths in mm.
const UNIFORM: [(&str, f64, f64, f64, f64); 4] = [
    ("S1, LDPE 190 to 20 degC", 2.0, 1.862824, 1.0, 0.823371),
    ("S2, HDPE 199 to 20 degC", 2.0, 1.838662, 1.0, 0.793559),
    ("S3, PVC, 6e-4 1/K, 190 to 20 degC", 3.0, 2.889357, 1.4, 0.907441),
    ("S4, PP 220 to 20 degC", 2.0, 1.860438, 1.0, 0.820410),
];
/// S5: age, s, and diameter, mm, of the wire C1 with an expansion of 6e-4 1/K, 3 mm at 20 degC.
const ALONG: [(f64, f64); 4] = [(0.5, 3.083640), (1.0, 3.068628), (2.0, 3.052493), (5.0, 3.031043)];

fn conductor() -> Material {
    material(MaterialKind::Metal, constant(390.0), constant(385.0), 8960.0)
}

/// Uniform shrink, and the wire C1 on its way.
pub fn page() -> Page {
    let mut rows = Vec::new();
    let row = |what: String, subject: Subject, expected: f64, computed: f64, bound: f64| Check {
        family: "shrink",
        what,
        source: "mass conservation D2 = d2 + (Dh2 - d2) rho_h/rho_c with the layer held by its conductor, derived",
        subject,
        witness: Witness::Equation,
        unit: "mm",
        expected,
        computed,
        bound,
        reason: if bound < 1e-3 {
            "the digits of the figures"
        } else {
            "a shrinking wall cools faster than the fixed one of the figures"
        },
    };
    for (name, hot, cold, core, ratio) in UNIFORM {
        // Hot at 200 degC, cold at 23 degC: only the ratio of the densities matters.
        let mut plastic = material(MaterialKind::Plastic, constant(0.2), constant(2000.0), 900.0);
        plastic.density = curve(vec![[23.0, 900.0], [200.0, 900.0 * ratio]]);
        let layers = vec![layer(conductor(), core * 1e-3, 200.0), layer(plastic, hot * 1e-3, 200.0)];
        let mut case = case(Shape::Round, layers, vec![bath(1.0, 20.0, 3000.0)], &[1.0]);
        case.geometry = Geometry::Shrinking;
        let finished = shrink::radii(&case).map_or(f64::NAN, |radii| 2e3 * radii.finished[1]);
        rows.push(row(format!("{name}, finished from hot"), Subject::Part, cold, finished, 1e-6));
        case.layers[1].size = Size::FinishedDiameter(cold * 1e-3);
        let back = shrink::radii(&case).map_or(f64::NAN, |radii| 2e3 * radii.hot[1]);
        rows.push(row(format!("{name}, hot from finished"), Subject::Part, hot, back, 2e-6));
    }
    // v linear in T: the points are dense enough for 1/v to be linear between them to 1e-7.
    let expansion = |t: f64| 1400.0 / (1.0 + 6e-4 * (t - 20.0));
    let mut plastic = material(MaterialKind::Plastic, constant(0.17), constant(1500.0), 1400.0);
    plastic.density = curve((0..=200).map(|t| [f64::from(t), expansion(f64::from(t))]).collect());
    let hot = (1.4f64.powi(2) + (9.0 - 1.4f64.powi(2)) * (1.0 + 6e-4 * 170.0)).sqrt();
    let layers = vec![layer(conductor(), 1.4e-3, 190.0), layer(plastic, hot * 1e-3, 190.0)];
    let mut wire = case(Shape::Round, layers, vec![bath(5.0, 20.0, 3000.0)], &ALONG.map(|(age, _)| age));
    wire.geometry = Geometry::Shrinking;
    wire.layers[0].contraction = Contraction::Held;
    let solution = marched(&wire);
    for (index, (age, expected)) in ALONG.into_iter().enumerate() {
        let computed = at(solution.as_ref(), index, |p| p.diameter * 1e3);
        rows.push(row(format!("S5, {age} s"), Subject::Engine, expected, computed, 0.01));
    }
    Page {
        title: "Shrink of the diameter",
        kind: Kind::Analytic,
        question: "Does the diameter follow from the densities, and is a finished size turned into the right hot one?",
        set_up: "S1 to S4 are uniform, with melt densities by Tait fits. S5 is the wire C1 with an expansion of 6e-4 \
                 1/K on its way through water.",
        reference: "Arithmetic gives S1 to S4. For S5 the exact mean temperature of the fixed wire C1 enters the same \
                    law.",
        bound: "S1 to S4: 1e-6 mm, the digits of the figures. S5: 0.01 mm, a tenth of the shrink. Its temperatures are those \
                of a wire that does not shrink, and a thinner wall cools faster.",
        doubts: "Below the set temperature a stiff bonded solid shrinks less through its wall than its volume does; see the theory.",
        rows,
    }
}
