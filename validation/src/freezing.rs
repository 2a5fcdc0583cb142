//! Freezing: latent heat in the heat capacity curve against similarity solutions.

use quenchway::case::Shape;
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::{Check, FreezingProblem, MeltingRange, MeltingRangeProblem, Properties};
use quenchway::material::{Curve, Kind as MaterialKind};

use crate::build::{PROMISE, STEP, TOLERANCE, at, bath, case, curve, cut, marched, material};
use crate::page::{Kind, Page};

const DENSITY: f64 = 900.0;
const LATENT: f64 = 130e3;
const SOLID: (f64, f64) = (0.35, 2300.0);
const LIQUID: (f64, f64) = (0.25, 2400.0);
/// Accuracy asked for where the heat capacity is a needle, K.
const NARROW_TOLERANCE: f64 = 0.02;
/// What it must reach there, K.
const NARROW_BOUND: f64 = 0.01;
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

/// Temperatures at the depths after 1 and 4 s, of a wall with these curves.
fn wall(conductivity: Curve, heat_capacity: Curve, tolerance: f64) -> Vec<[f64; 5]> {
    let body = material(MaterialKind::Plastic, conductivity, heat_capacity, DENSITY);
    let half = 12e-3;
    let places: Vec<f64> = DEPTHS.iter().map(|depth| half - depth).chain([half]).collect();
    let mut case = case(Shape::Flat, cut(&body, &places, 200.0), vec![bath(4.0, 20.0, STEP)], &[1.0, 4.0]);
    case.tolerance = tolerance;
    let solution = marched(&case);
    (0..2)
        .map(|station| std::array::from_fn(|joint| at(solution.as_ref(), station, |p| p.interfaces[joint].inner)))
        .collect()
}

/// Solid, freezing between two temperatures, liquid.
fn range(from: f64, to: f64) -> MeltingRangeProblem {
    MeltingRangeProblem {
        solid: properties(SOLID),
        between: properties(between(to - from)),
        liquid: properties(LIQUID),
        solidus: from,
        liquidus: to,
        surface: 20.0,
        start: 200.0,
    }
}

fn properties((k, c): (f64, f64)) -> Properties {
    Properties::new(k, DENSITY, c)
}

/// Conductivity and heat capacity while freezing over a range of `width` kelvin.
fn between(width: f64) -> (f64, f64) {
    (0.30, 2350.0 + LATENT / width)
}

/// Time, s, with (depth m, degC) of every node.
pub type Profile = (f64, Vec<[f64; 2]>);

/// The exact solution of a wall that freezes between 90 and 110 degC, and the engine's nodes at these times.
pub fn profiles(times: &[f64]) -> (Option<MeltingRange>, Vec<Profile>) {
    let (from, to, half) = (90.0, 110.0, 12e-3);
    let (k, c) = between(to - from);
    let conductivity = stepped([SOLID.0, k, LIQUID.0], from, to, 0.02);
    let heat_capacity = stepped([SOLID.1, c, LIQUID.1], from, to, 0.02);
    let body = material(MaterialKind::Plastic, conductivity, heat_capacity, DENSITY);
    let duration = times.iter().copied().fold(0.0, f64::max);
    let mut case = case(Shape::Flat, cut(&body, &[half], 200.0), vec![bath(duration, 20.0, STEP)], times);
    case.tolerance = 0.1;
    let fields = marched(&case).map(|solution| solution.fields).unwrap_or_default();
    let nodes = |time: f64| {
        let row = fields.time.iter().position(|t| (t - time).abs() < 1e-9 * time);
        let node = |row: usize, node: usize| [half - fields.radius[[row, node]], fields.temperature[[row, node]]];
        row.map_or(Vec::new(), |row| (0..fields.layer_of_node.len()).map(|of| node(row, of)).collect())
    };
    (range(from, to).solve().ok(), times.iter().map(|&time| (time, nodes(time))).collect())
}

/// Both similarity solutions.
pub fn page() -> Page {
    let sharp = FreezingProblem {
        solid: properties(SOLID),
        liquid: properties(LIQUID),
        latent_heat: DENSITY * LATENT,
        melting: 110.0,
        surface: 20.0,
        start: 200.0,
    };
    let found = |from: f64, to: f64, tolerance: f64| {
        let (k, c) = between(to - from);
        let conductivity = stepped([SOLID.0, k, LIQUID.0], from, to, 0.02);
        wall(conductivity, stepped([SOLID.1, c, LIQUID.1], from, to, 0.02), tolerance)
    };
    // The melting point as a range of half a kelvin about it; tighter than 0.02 K takes more steps than are allowed.
    let (broad, narrow) =
        rayon::join(|| found(90.0, 110.0, TOLERANCE), || found(110.0 - 0.25, 110.0 + 0.25, NARROW_TOLERANCE));
    let wide = range(90.0, 110.0).solve().ok();
    let (spread, sharp) = (range(110.0 - 0.25, 110.0 + 0.25).solve().ok(), sharp.solve().ok());
    let wide = |x: f64, t: f64| wide.map_or(f64::NAN, |exact| exact.temperature(x, t));
    let spread = |x: f64, t: f64| spread.map_or(f64::NAN, |exact| exact.temperature(x, t));
    let sharp = |x: f64, t: f64| sharp.map_or(f64::NAN, |exact| exact.temperature(x, t));
    let mut rows = Vec::new();
    push(
        &mut rows,
        "freezing over a range",
        "three-zone similarity solution derived after Carslaw & Jaeger, ch. XI",
        &broad,
        wide,
        (|_, _| TOLERANCE, PROMISE),
    );
    push(
        &mut rows,
        "freezing at one temperature",
        "Neumann's solution, Carslaw & Jaeger, 2nd ed. 1959, 11.2",
        &narrow,
        sharp,
        (
            |x, t| NARROW_BOUND + (spread(x, t) - sharp(x, t)).abs(),
            "half the tolerance there, 0.01 K, and the exact effect of a melting point spread over 0.5 K",
        ),
    );
    Page {
        title: "Freezing: latent heat as a peak of the heat capacity",
        kind: Kind::Analytic,
        question: "Is latent heat given up in full and at the right place, although it is only a curve?",
        set_up: "The wall is PE-like and 24 mm thick, with k 0.35/0.25 W/(m K) solid/liquid, 2300/2400 J/(kg K), 900 \
                 kg/m3, 130 kJ/kg. It starts at 200 degC with the surface held at 20 degC. It freezes between 90 and \
                 110 degC, and at 110 degC (as a range of 0.5 K). Jumps of the curves are spread over 0.02 K.",
        reference: "The similarity solutions of quenchway::exact give it. The table above compares them with values that mpmath computed.",
        bound: "Range: 0.001 K, the tolerance; the spread jumps keep the heat content and count for less than a tenth of it. \
                One temperature: 0.01 K, half the tolerance there, and what spreading the melting point over 0.5 K changes \
                at that place. That is the difference of the two exact solutions, at most 0.0042 K.",
        doubts: "Latent heat enters as one curve for heating and cooling: supercooling and its dependence on the cooling \
                 rate are not in what is checked here.",
        rows,
    }
}

fn push(
    rows: &mut Vec<Check>,
    family: &'static str,
    source: &'static str,
    found: &[[f64; 5]],
    exact: impl Fn(f64, f64) -> f64,
    (bound, reason): (impl Fn(f64, f64) -> f64, &'static str),
) {
    for (values, time) in found.iter().zip([1.0, 4.0]) {
        for (computed, depth) in values.iter().zip(DEPTHS) {
            rows.push(Check {
                family,
                what: format!("{time} s, {:.2} mm", depth * 1e3),
                source,
                subject: Subject::Engine,
                witness: Witness::Equation,
                unit: "degC",
                expected: exact(depth, time),
                computed: *computed,
                bound: bound(depth, time),
                reason,
            });
        }
    }
}
