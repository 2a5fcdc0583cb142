//! The film-limited end: a body that has one temperature throughout, but for what its own resistance takes off.

use quenchway::case::Shape;
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::material::Kind as MaterialKind;

use crate::build::{PROMISE, TOLERANCE, at, bath, case, constant, layer, marched, material};
use crate::page::{Kind, Page};

/// A cylinder under a weak film.
pub fn page() -> Page {
    let (radius, h, k, density, capacity) = (1e-3, 2.0, 0.2, 1400.0, 1500.0);
    let plastic = material(MaterialKind::Plastic, constant(k), constant(capacity), density);
    let ages = [100.0, 400.0];
    let one = case(Shape::Round, vec![layer(plastic, 2.0 * radius, 190.0)], vec![bath(400.0, 20.0, h)], &ages);
    let solution = marched(&one);
    let biot = h * radius / k;
    let rows = ages
        .into_iter()
        .enumerate()
        .map(|(station, age)| {
            // The first root of z J1(z) = Bi J0(z), and its share of the mean, as series in Bi; the other roots have died out.
            let rate = 2.0 * h / (radius * density * capacity) * (1.0 - biot / 4.0 + biot * biot / 24.0);
            Check {
                family: "lumped body",
                what: format!("{age} s, mean"),
                source: "lumped capacity with its correction for a small Bi, from the characteristic equation of the cylinder \
                         (Carslaw & Jaeger, 2nd ed. 1959, 7.7); here Bi = 0.01",
                subject: Subject::Engine,
                witness: Witness::Equation,
                unit: "degC",
                expected: 20.0 + 170.0 * (1.0 - biot * biot / 48.0) * (-age * rate).exp(),
                computed: at(solution.as_ref(), station, |p| p.mean),
                bound: TOLERANCE,
                reason: PROMISE,
            }
        })
        .collect();
    Page {
        title: "A weak film cools the body as one lump",
        kind: Kind::Analytic,
        question: "Is the film-limited end right, where the whole body has nearly one temperature?",
        set_up: "A cylinder of 1 mm radius cools under 2 W/(m2 K): Bi = 0.01.",
        reference: "T = T_m + (T_0 - T_m) (1 - Bi2/48) exp(-2 h t (1 - Bi/4 + Bi2/24)/(R rho c)).",
        bound: "0.001 K, the tolerance; the next terms of the series are of the order of 1e-6 K.",
        doubts: "There are none.",
        rows,
    }
}
