//! Water that warms up: a thin product as one stream of a heat exchanger.

use std::f64::consts::PI;

use quenchway::case::{Circulation, Direction, Flow, Shape};
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::material::Kind as MaterialKind;

use crate::build::{PROMISE, TOLERANCE, at, bath, case, constant, layer, marched, material};
use crate::page::{Kind, Page};

/// Of the wire, m; of its passage, s; W/(m2 K).
const DIAMETER: f64 = 2e-3;
const DURATION: f64 = 4.0;
const FILM: f64 = 2000.0;
/// At the die and of the supply, degC.
const TEMPERATURES: [f64; 2] = [95.0, 15.0];
const SOURCE: &str = "Kays & London, Compact Heat Exchangers, 3rd ed. 1984, ch. 2, effectiveness of parallel flow, \
                      counterflow and one fluid mixed (numbering from memory, not checked)";

/// Effectiveness of the product's side: N = UA/C_product, R = C_product/C_water.
fn effectiveness(direction: Direction, n: f64, r: f64) -> f64 {
    match direction {
        Direction::Along => -(-n * (1.0 + r)).exp_m1() / (1.0 + r),
        Direction::Counter if r == 1.0 => n / (1.0 + n),
        Direction::Counter => {
            let e = (-n * (1.0 - r)).exp();
            (1.0 - e) / (1.0 - r * e)
        }
        Direction::Mixed => {
            let e = -(-n).exp_m1();
            e / (1.0 + r * e)
        }
    }
}

/// All three directions at four ratios of the heat capacity flows.
pub fn page() -> Page {
    let (density, capacity) = (1000.0, 2000.0);
    // A wire that has one temperature throughout: Bi is 2e-6.
    let wire = material(MaterialKind::Plastic, constant(1e6), constant(capacity), density);
    let product = density * capacity * PI / 4.0 * DIAMETER * DIAMETER;
    let n = FILM * PI * DIAMETER * DURATION / product;
    let [hot, cold] = TEMPERATURES;
    let mut rows = Vec::new();
    for (direction, word) in [(Direction::Along, "along"), (Direction::Counter, "counter"), (Direction::Mixed, "mixed")]
    {
        for r in [0.1, 0.5, 1.0, 2.0] {
            let mut one = case(
                Shape::Round,
                vec![layer(wire.clone(), DIAMETER, hot)],
                vec![bath(DURATION, cold, FILM)],
                &[DURATION],
            );
            let flow = Flow::Mass(product / r / quenchway::material::water::at(cold).heat_capacity);
            one.sections[0].circulation = Some(Circulation { flow, direction });
            let solution = marched(&one);
            let share = effectiveness(direction, n, r);
            let water = solution.as_ref().and_then(|solution| solution.sections[0].water_out).unwrap_or(f64::NAN);
            let mean = at(solution.as_ref(), 0, |point| point.mean);
            for (what, expected, computed) in
                [("product", hot - share * (hot - cold), mean), ("water", cold + r * share * (hot - cold), water)]
            {
                rows.push(Check {
                    family: "water that warms up",
                    what: format!("{word}, C_product/C_water {r}, {what} at its exit"),
                    source: SOURCE,
                    subject: Subject::Engine,
                    witness: Witness::Equation,
                    unit: "degC",
                    expected,
                    computed,
                    bound: TOLERANCE,
                    reason: PROMISE,
                });
            }
        }
    }
    Page {
        title: "Water that warms up: a thin wire as one stream of a heat exchanger",
        kind: Kind::Analytic,
        question: "Does the water take up what the product gives off, along it, against it and in a mixed tank?",
        set_up: "A wire of 2 mm has one temperature throughout (k 1e6 W/(m K)), 1000 kg/m3 and 2000 J/(kg K). It \
                 starts at 95 degC. It is 4 s under 2000 W/(m2 K) in water of 15 degC. The water's flow is 10, 2, 1 \
                 and 1/2 times the product's in W/K.",
        reference: "The effectiveness-NTU relations give it, with N = UA/C_product and R = C_product/C_water: along (1 \
                    - exp(-N(1+R)))/(1+R), counter (1 - exp(-N(1-R)))/(1 - R exp(-N(1-R))), mixed (1 - exp(-N))/(1 + \
                    R(1 - exp(-N))).",
        bound: "0.001 K, the tolerance.",
        doubts: "The water's heat capacity is held at its supply's value, as in the relations: 0.9 % between 15 and 95 degC.",
        rows,
    }
}
