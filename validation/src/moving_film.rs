//! The film of a moving product: its turbulent layer against two closures, films and their bands against a second program.

use quenchway::case::{Medium, Shape};
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::film::{FilmState, Inputs, Numbers, default_law, nusselt_moving_turbulent_ali_dey_white};

use crate::media::table;
use crate::page::{Kind, Page};

const LAYER: &str = include_str!("../reference/turbulent_layer.csv");
const FILMS: &str = include_str!("../reference/film_table.csv");

/// What two closures give of the law's heat transfer: their range, from -14 to +32 %.
const OF_CLOSURES: [f64; 2] = [0.86, 1.32];

/// The turbulent layer on a moving cylinder.
pub fn turbulent() -> Page {
    let mut rows = Vec::new();
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
        if around < 1000.0 || prandtl < 4.0 {
            continue;
        }
        for (closure, column) in [("mixing length", 6), ("Spalart and Allmaras", 8)] {
            let [low, high] = OF_CLOSURES;
            rows.push(Check {
                family: "turbulent layer, two closures",
                what: format!("St of the {closure} over the law's, {what}"),
                source: "boundary-layer equations by finite differences with this closure, computed independently for this project",
                subject: Subject::Part,
                witness: Witness::SecondProgram,
                unit: "",
                expected: 0.5 * (low + high),
                computed: value(column) / stanton,
                bound: 0.5 * (high - low),
                reason: "what the closures leave open, -14 to +32 %",
            });
        }
    }
    Page {
        title: "Turbulent layer on a moving cylinder",
        kind: Kind::Published,
        question: "Is the turbulent layer that a moving wire drags along as two turbulence closures have it?",
        set_up: "Stanton numbers for Re_a from 600 to 30,000, x/a from 30 to 10,000 and Pr 0.7 to 10.",
        reference: "Boundary-layer equations of the moving cylinder marched by finite differences with van Driest's mixing length and with \
                    Spalart and Allmaras, Pr_t 0.9, computed independently for this project; friction of the law: Ali, Dey, J. Fluid Mech., \
                    31 October 2023 (abstract), heat from friction: White's form (Lienhard, J. Heat Transfer 142, 2020, 061805).",
        bound: "The law's own figures: seven digits. The closures, Re_a from 1000 and Pr from 4: 0.86 to 1.32 of the law.",
        doubts: "Theory against theory, in unlimited water at rest: no measurement of a wire in water was found.",
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
        set_up: "Eight products from 0.5 to 60 mm in water and air, from 0.1 to 40 m behind the entry.",
        reference: "The same formulas worked in Python, computed independently for this project.",
        bound: "A thousandth, and the decimals of the parts.",
        doubts: "The laminar layer is this program's own, which has its own page. Whether the formulas describe a trough nobody measured.",
        rows,
    }
}
