//! Freezing: latent heat in the heat capacity curve against similarity solutions.

use quenchway::case::Shape;
use quenchway::exact::{Check, FreezingProblem, MeltingRangeProblem, Properties, Status};
use quenchway::material::{Curve, Kind as MaterialKind};

use crate::build::{STEP, at, bath, case, curve, cut, marched, material};
use crate::page::{Kind, Page};

const DENSITY: f64 = 900.0;
const LATENT: f64 = 130e3;
const SOLID: (f64, f64) = (0.35, 2300.0);
const LIQUID: (f64, f64) = (0.25, 2400.0);
/// Depths looked at, m.
const DEPTHS: [f64; 5] = [2e-3, 1.5e-3, 1e-3, 0.5e-3, 0.25e-3];

/// A curve with jumps at `from` and `to`, spread over `ramp` kelvin each.
fn stepped(values: [f64; 3], from: f64, to: f64, ramp: f64) -> Curve {
    let [solid, between, liquid] = values;
    let half = 0.5 * ramp;
    curve(vec![
        [0.0, solid],
        [from - half, solid],
        [from + half, between],
        [to - half, between],
        [to + half, liquid],
        [250.0, liquid],
    ])
}

/// Temperatures at the depths and the mean flux's heat after 1 and 4 s, of a wall with these curves.
fn wall(conductivity: Curve, heat_capacity: Curve) -> Vec<[f64; 5]> {
    let body = material(MaterialKind::Plastic, conductivity, heat_capacity, DENSITY);
    let half = 12e-3;
    let places: Vec<f64> = DEPTHS.iter().map(|depth| half - depth).chain([half]).collect();
    let mut case = case(Shape::Flat, cut(&body, &places, 200.0), vec![bath(4.0, 20.0, STEP)], &[1.0, 4.0]);
    // Kinks of the curve pass through the mesh: the tolerance of a real run, not of a smooth check.
    case.tolerance = 0.01;
    let solution = marched(&case);
    (0..2)
        .map(|station| std::array::from_fn(|joint| at(solution.as_ref(), station, |p| p.interfaces[joint].inner)))
        .collect()
}

/// Both similarity solutions.
pub fn page() -> Page {
    let mut rows = Vec::new();
    let properties = |(k, c): (f64, f64)| Properties::new(k, DENSITY, c);
    let between = (0.30, 2350.0 + LATENT / 20.0);
    let range = MeltingRangeProblem {
        solid: properties(SOLID),
        between: properties(between),
        liquid: properties(LIQUID),
        solidus: 90.0,
        liquidus: 110.0,
        surface: 20.0,
        start: 200.0,
    };
    if let Ok(exact) = range.solve() {
        let ramp = 0.02;
        let found = wall(
            stepped([SOLID.0, between.0, LIQUID.0], 90.0, 110.0, ramp),
            stepped([SOLID.1, between.1, LIQUID.1], 90.0, 110.0, ramp),
        );
        push(
            &mut rows,
            "freezing over a range",
            "three-zone similarity solution derived after Carslaw & Jaeger, ch. XI",
            &found,
            0.02,
            |x, t| exact.temperature(x, t),
        );
    }
    let sharp = FreezingProblem {
        solid: properties(SOLID),
        liquid: properties(LIQUID),
        latent_heat: DENSITY * LATENT,
        melting: 110.0,
        surface: 20.0,
        start: 200.0,
    };
    if let Ok(exact) = sharp.solve() {
        // The melting point as a range of half a kelvin about it.
        let (width, ramp) = (0.5, 0.02);
        let (from, to) = (110.0 - 0.5 * width, 110.0 + 0.5 * width);
        let found = wall(
            stepped([SOLID.0, 0.30, LIQUID.0], from, to, ramp),
            stepped([SOLID.1, 2350.0 + LATENT / width, LIQUID.1], from, to, ramp),
        );
        push(
            &mut rows,
            "freezing at one temperature",
            "Neumann's solution, Carslaw & Jaeger, 2nd ed. 1959, 11.2",
            &found,
            0.3,
            |x, t| exact.temperature(x, t),
        );
    }
    Page {
        title: "Freezing: latent heat as a peak of the heat capacity",
        kind: Kind::Analytic,
        question: "Is latent heat given up in full and at the right place, although it is only a curve?",
        set_up: "PE-like wall of 24 mm, k 0.35/0.25 W/(m K) solid/liquid, 2300/2400 J/(kg K), 900 kg/m3, 130 kJ/kg, from \
                 200 degC with the surface held at 20 degC; freezing between 90 and 110 degC, and at 110 degC (as a range of \
                 0.5 K). Jumps of the curves are spread over 0.02 K.",
        reference: "Similarity solutions of quenchway::exact, checked against mpmath to 1e-9.",
        bound: "Range: 0.02 K, the tolerance of 0.01 K and as much for the spread jumps. One temperature: 0.3 K, about half of \
                the 0.5 K over which the melting point is spread.",
        doubts: "Latent heat enters as one curve for heating and cooling: supercooling and its dependence on the cooling \
                 rate are not in the model.",
        rows,
    }
}

fn push(
    rows: &mut Vec<Check>,
    family: &'static str,
    source: &'static str,
    found: &[[f64; 5]],
    bound: f64,
    exact: impl Fn(f64, f64) -> f64,
) {
    for (values, time) in found.iter().zip([1.0, 4.0]) {
        for (computed, depth) in values.iter().zip(DEPTHS) {
            rows.push(Check {
                family,
                what: format!("{time} s, {:.2} mm", depth * 1e3),
                source,
                status: Status::Computed,
                unit: "degC",
                expected: exact(depth, time),
                computed: *computed,
                bound,
            });
        }
    }
}
