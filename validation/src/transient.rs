//! Published transient benchmarks: a swinging end temperature, and a rod that is heated and cooled again.

use quenchway::case::{Section, Shape};
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::Check;
use quenchway::material::{Kind as MaterialKind, Material};

use crate::build::{STEP, at, bath, case, constant, curve, cut, layer, marched, material};
use crate::page::{Kind, Page};

/// A body whose far end is held: its layer is followed inside by a plate of a heat capacity that nothing moves.
fn held_end(
    body: &Material,
    held: f64,
    places: &[f64],
    start: f64,
    sections: Vec<Section>,
    ages: &[f64],
) -> Vec<Vec<f64>> {
    // The plate is as thick as a hundredth of the body; places count from its face.
    let plate = 0.01 * places[places.len() - 1];
    let anchor = material(MaterialKind::Metal, constant(1e7), constant(1e12), 1e4);
    let shifted: Vec<f64> = places.iter().map(|place| place + plate).collect();
    let mut layers = vec![layer(anchor, 2.0 * plate, held)];
    layers.extend(cut(body, &shifted, start));
    let solution = marched(&case(Shape::Flat, layers, sections, ages));
    let joints = places.len() - 1;
    (0..ages.len())
        .map(|station| {
            (0..joints).map(|joint| at(solution.as_ref(), station, |p| p.interfaces[joint + 1].inner)).collect()
        })
        .collect()
}

/// NAFEMS T3 and Orivuori's rod.
pub fn page() -> Page {
    let mut rows = nafems_t3();
    rows.extend(orivuori());
    Page {
        title: "NAFEMS T3 and Orivuori's rod",
        kind: Kind::Published,
        question: "Are changing surface temperatures followed, and conductivities that rise with temperature?",
        set_up: "T3 is a bar of 0.1 m, k 35 W/(m K), 440.5 J/(kg K), 7200 kg/m3. One end is at 0 degC, the other at 100 \
                 sin(pi t/40) degC. Here these are 1600 sections of 0.02 s with the sine at their middles. Orivuori's rod \
                 has 0.2 m, k = 200 + T, rho c 8e6 J/(m3 K), 100 degC. One face is at 200 degC for 10 s, then at 100 degC. \
                 The held far end is a plate of immense heat capacity.",
        reference: "The Standard NAFEMS Benchmarks, Rev. 3, 1990, test T3, give 36.60 degC at 0.08 m after 32 s (the \
                    public verification document that was read prints 36.6). The exact series gives 36.60311596. The \
                    rod is that of Orivuori, Int. J. Numer. Methods Eng. 14, 1979, 1461. Its set-up was read, and \
                    finite volumes gave its values for this project (five digits).",
        bound: "T3: 0.005 K about the printed 36.60, and 0.003 K about the series for the staircase of 0.02 s. Orivuori: 0.003 K \
                for the five printed digits, the film of 1e9, and the tolerance of 0.001 K.",
        doubts: "Published finite-element answers for T3 with few elements scatter from 35.9 to 40.3. Orivuori's own printed \
                 values were not seen.",
        rows,
    }
}

fn nafems_t3() -> Vec<Check> {
    let body = material(MaterialKind::Plastic, constant(35.0), constant(440.5), 7200.0);
    let (step, duration) = (0.02, 32.0);
    let count = (duration / step) as usize;
    let sections = (0..count)
        .map(|index| {
            let time = (index as f64 + 0.5) * step;
            bath(step, 100.0 * (std::f64::consts::PI * time / 40.0).sin(), STEP)
        })
        .collect();
    let found = held_end(&body, 0.0, &[0.02, 0.04, 0.06, 0.08, 0.09, 0.1], 0.0, sections, &[duration]);
    let row = |what: String, source, witness, expected, place: usize, bound| Check {
        family: "NAFEMS T3",
        what,
        source,
        subject: Subject::Engine,
        witness,
        unit: "degC",
        expected,
        computed: found[0][place],
        bound,
        reason: "half of the printed digit where printed, and 0.003 K for the staircase of 0.02 s",
    };
    let mut rows = vec![row(
        "x 0.08 m, 32 s, printed".to_string(),
        "The Standard NAFEMS Benchmarks, Rev. 3, 1990, T3",
        Witness::Printed,
        36.60,
        3,
        0.005 + 0.003,
    )];
    let series = [(0.02, 0.09090702), (0.04, 1.15028097), (0.06, 8.66776925), (0.08, 36.60311596), (0.09, 56.05332451)];
    for (place, (x, expected)) in series.into_iter().enumerate() {
        let source = "series of the swinging bar (quenchway::exact::SineBarProblem), 40-digit arithmetic";
        rows.push(row(format!("x {x} m, 32 s, series"), source, Witness::Equation, expected, place, 0.003));
    }
    rows
}

fn orivuori() -> Vec<Check> {
    let rod = material(MaterialKind::Plastic, curve(vec![[0.0, 200.0], [300.0, 500.0]]), constant(1000.0), 8000.0);
    // Places count from the held end at x = 0.2 m.
    let depths = [0.1, 0.08, 0.06, 0.04, 0.02, 0.01];
    let places: Vec<f64> = depths.iter().map(|x| 0.2 - x).chain([0.2]).collect();
    let sections = vec![bath(10.0, 200.0, STEP), bath(3.0, 100.0, STEP)];
    let found = held_end(&rod, 100.0, &places, 100.0, sections, &[10.0, 13.0]);
    let expected = [
        (10.0, [100.0341, 100.4557, 103.6816, 117.8557, 152.2560, 175.6133]),
        (13.0, [100.1782, 101.3559, 106.9818, 122.9514, 136.0059, 125.4656]),
    ];
    let mut rows = Vec::new();
    for ((time, values), found) in expected.iter().zip(&found) {
        for ((expected, computed), depth) in values.iter().zip(found).zip(depths) {
            rows.push(Check {
                family: "Orivuori",
                what: format!("x {depth} m, {time} s"),
                source: "Orivuori, Int. J. Numer. Methods Eng. 14, 1979, 1461 (set-up); values by finite volumes",
                subject: Subject::Engine,
                witness: Witness::SecondProgram,
                unit: "degC",
                expected: *expected,
                computed: *computed,
                bound: 3e-3,
                reason: "the printed digits, the film of 1e9, and the tolerance",
            });
        }
    }
    rows
}
