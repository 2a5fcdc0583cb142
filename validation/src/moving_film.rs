//! The film of a moving product: its turbulent layer against two closures, films and their bands against a second program.

use quenchway::case::{Medium, Shape};
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::film::{FilmState, Inputs, Numbers, default_law, nusselt_moving_turbulent_ali_dey_white};

use crate::media::table;
use crate::page::{Kind, Page};

const LAYER: &str = include_str!("../reference/turbulent_layer.csv");
const FILMS: &str = include_str!("../reference/film_table.csv");

/// A turbulence closure, its column in the figures, and of its St over the law's where Re_a is from 1000 and Pr from 4: the lowest, the
/// highest, the root mean square of that less one.
const CLOSURES: [(&str, usize, [f64; 3]); 2] =
    [("mixing length", 6, [1.018022, 1.316887, 0.123173]), ("Spalart and Allmaras", 8, [0.861200, 1.154558, 0.061312])];

/// The turbulent layer on a moving cylinder.
pub fn turbulent() -> Page {
    let (mut rows, mut ratios) = (Vec::new(), Vec::new());
    for figure in table(LAYER) {
        let value = |column: usize| figure.get(column).copied().unwrap_or(f64::NAN);
        let [around, long, prandtl] = [0, 1, 2].map(value);
        let reynolds = around * long;
        let numbers = Numbers { reynolds, prandtl, curvature: 2.0 * (long / around).sqrt(), ..Numbers::default() };
        let stanton = nusselt_moving_turbulent_ali_dey_white(&numbers) / (reynolds * prandtl);
        let what = format!("Re_a {around}, x/a {long}, Pr {prandtl}");
        rows.push(Check {
            family: "turbulent layer, the law",
            what: format!("St, {what}"),
            source: "the law's formulas worked in Python, computed independently for this project",
            subject: Subject::Part,
            witness: Witness::SecondProgram,
            unit: "",
            expected: value(4),
            computed: stanton,
            bound: 1e-6 * value(4),
            reason: "seven digits",
        });
        // At Re_a 600 half of the layer is laminar.
        if around >= 1000.0 && prandtl >= 4.0 {
            ratios.push(CLOSURES.map(|(_, column, _)| value(column) / stanton));
        }
    }
    for (place, (closure, _, expected)) in CLOSURES.into_iter().enumerate() {
        let of: Vec<f64> = ratios.iter().map(|of_both| of_both[place]).collect();
        let square = of.iter().map(|ratio| (ratio - 1.0).powi(2)).sum::<f64>() / of.len() as f64;
        let lowest = of.iter().copied().fold(f64::INFINITY, f64::min);
        let computed = [lowest, of.iter().copied().fold(0.0, f64::max), square.sqrt()];
        for (which, expected, computed) in [("lowest", 0), ("highest", 1), ("root mean square difference from one", 2)]
            .map(|(which, at)| (which, expected[at], computed[at]))
        {
            rows.push(Check {
                family: "turbulent layer, two closures",
                what: format!("St of the {closure} over the law's: {which}"),
                source: "boundary-layer equations by finite differences with this closure, computed independently for this project",
                subject: Subject::Part,
                witness: Witness::SecondProgram,
                unit: "",
                expected,
                computed,
                bound: 2e-6,
                reason: "seven digits of the law's St, six decimals of the figure",
            });
        }
    }
    Page {
        title: "Turbulent layer on a moving cylinder",
        kind: Kind::Published,
        question: "Is the turbulent layer that a moving wire drags along as two turbulence closures have it?",
        set_up: "The figures are Stanton numbers for Re_a from 600 to 30,000, x/a from 30 to 10,000 and Pr 0.7 to 10.",
        reference: "Finite differences solve the boundary-layer equations of the moving cylinder, independently for \
                    this project. Their turbulence is van Driest's mixing length, or Spalart and Allmaras, Pr_t 0.9. \
                    The law's friction is that of Ali, Dey, J. Fluid Mech., 31 October 2023 (abstract). Its heat \
                    follows from friction by White's form (Lienhard, J. Heat Transfer 142, 2020, 061805).",
        bound: "The law's own figures: seven digits. The closures leave 0.86 to 1.32 of the law open where Re_a is from 1000 \
                and Pr from 4. The lowest, the highest and the root mean square of 90 points each are compared.",
        doubts: "It compares theory with theory, in unlimited water at rest: no measurement of a wire in water was \
                 found.",
        rows,
    }
}

/// Films and bands of products along a section.
pub fn products() -> Page {
    let mut rows = Vec::new();
    let text = FILMS.replace("Water", "1").replace("Air", "0");
    for figure in table(&text) {
        let value = |column: usize| figure.get(column).copied().unwrap_or(f64::NAN);
        let wet = value(0) > 0.5;
        let law = default_law(if wet { Medium::Water } else { Medium::Air });
        let [diameter, speed, medium, surface, distance] = [1, 2, 3, 4, 5].map(value);
        let (shape, inputs) = (Shape::Round, Inputs::default());
        let state = FilmState { shape, speed, diameter: 1e-3 * diameter, distance, surface, medium, inputs };
        // The law takes three quarters of the turbulent layer in water; the table has all of it.
        let [laminar, turbulent, free, weight] = [8, 9, 12, 14].map(value);
        let part = if wet { 0.75 } else { 1.0 };
        let forced = laminar + weight * (part * turbulent - laminar);
        let expected = (forced.powi(3) + free.powi(3)).cbrt();
        let ends = law.ends(&state).unwrap_or([f64::NAN; 2]);
        for (which, computed, expected) in [
            ("film", (law.coefficient)(&state), expected),
            ("low end", ends[0], value(16)),
            ("high end", ends[1], value(17)),
        ] {
            rows.push(Check {
                family: "film of a moving product",
                what: format!("{}, {which}: {diameter} mm, {speed} m/s, {distance} m", law.name),
                source: "worked in Python from this program's laminar layer, computed independently for this project",
                subject: Subject::Part,
                witness: Witness::SecondProgram,
                unit: "W/(m2 K)",
                expected,
                computed,
                bound: 1e-3 * expected + 0.15,
                reason: "one decimal of each part, the property splines",
            });
        }
    }
    Page {
        title: "Films of moving products and their bands",
        kind: Kind::Published,
        question: "Are the laminar and turbulent layer, free convection and the ends of the band put together as the page says?",
        set_up: "These are eight products from 0.5 to 60 mm in water and air, from 0.1 to 40 m after the entry.",
        reference: "A program in Python works the same formulas, independently for this project.",
        bound: "A thousandth, and the decimals of the parts.",
        doubts: "The laminar layer is this program's own, which has its own page. Whether the formulas describe a trough nobody measured.",
        rows,
    }
}
