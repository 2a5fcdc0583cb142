//! The figures of the validation page: engine points on exact lines, a freezing wall, the promise kept, the stated error.

use quenchway::case::Shape;
use quenchway::exact::{BodyProblem, Properties};
use quenchway::material::Kind as MaterialKind;

use crate::build::{STEP, at, bath, case, constant, layer, marched, material};
use crate::honesty::Outcome;
use crate::picture::{Axis, COLOURS, Panel, picture};
use crate::{benchmarks, freezing};

/// Tolerances at which the benchmark problems are run, K.
const TOLERANCES: [f64; 7] = [1.0, 0.3, 0.1, 0.03, 0.01, 0.003, 0.001];

/// Plane wall and cylinder: centre and surface over Fourier numbers at four Biot numbers.
pub fn cooling() -> String {
    let (size, k, rho, c) = (2e-3, 0.2, 1400.0, 1500.0);
    let unit = size * size * rho * c / k;
    let panels = [(Shape::Flat, "Plane wall"), (Shape::Round, "Cylinder")].map(|(shape, title)| {
        let mut panel = Panel::new(
            &format!("{title}: exact lines, computed squares"),
            Axis { label: "Fourier number", low: 1e-2, high: 10.0, tick: None },
            Axis { label: "temperature, degC", low: 20.0, high: 200.0, tick: Some(30.0) },
        );
        for (biot, colour) in [0.1, 1.0, 5.0, f64::INFINITY].into_iter().zip(COLOURS) {
            let film = if biot.is_finite() { biot * k / size } else { STEP };
            let problem =
                BodyProblem { shape, size, properties: Properties::new(k, rho, c), film, start: 190.0, medium: 20.0 };
            let Ok(exact) = problem.solve() else { continue };
            let fouriers = || (0..=90).map(|i| 1e-2 * 10f64.powf(f64::from(i) / 30.0));
            panel.line(fouriers().map(|fo| [fo, exact.centre(fo * unit)]), colour, "");
            panel.line(fouriers().map(|fo| [fo, exact.surface(fo * unit)]), colour, "6 4");
            let looked_at = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0];
            let ages = looked_at.map(|fo| fo * unit);
            let plastic = material(MaterialKind::Plastic, constant(k), constant(c), rho);
            let layers = vec![layer(plastic, 2.0 * size, 190.0)];
            let solution = marched(&case(shape, layers, vec![bath(5.0 * unit, 20.0, film)], &ages));
            let of = |value: fn(&quenchway::march::solution::PointReport) -> f64| {
                let solution = solution.as_ref();
                looked_at.into_iter().enumerate().map(move |(i, fo)| [fo, at(solution, i, value)])
            };
            panel.squares(of(|p| p.core).chain(of(|p| p.surface)), 7.0, colour, 1.0);
        }
        for (index, (text, colour)) in ["Bi 0.1", "Bi 1", "Bi 5", "Bi infinite"].into_iter().zip(COLOURS).enumerate() {
            panel.label([10.0, 200.0], [-10.0, 22.0 + 20.0 * index as f64], "end", colour, text);
        }
        panel.label([1e-2, 20.0], [8.0, -10.0], "start", "black", "solid: centre, dashed: surface");
        panel
    });
    picture(&panels)
}

/// Profiles of a wall that freezes between 90 and 110 degC, engine on the similarity solution.
pub fn front() -> String {
    let mut panel = Panel::new(
        "A wall freezing between 90 and 110 degC",
        Axis { label: "depth below the surface, mm", low: 0.0, high: 4.0, tick: Some(1.0) },
        Axis { label: "temperature, degC", low: 20.0, high: 200.0, tick: Some(30.0) },
    );
    for limit in [90.0, 110.0] {
        panel.line([[0.0, limit], [4.0, limit]], "#888", "2 3");
    }
    panel.label([4.0, 100.0], [-6.0, 5.0], "end", "#666", "freezing");
    let (exact, profiles) = freezing::profiles(&[0.25, 1.0, 4.0]);
    for (index, ((time, nodes), colour)) in profiles.iter().zip(COLOURS).enumerate() {
        if let Some(exact) = &exact {
            let depths = (0..=200).map(|i| f64::from(i) * 0.02e-3);
            panel.line(depths.map(|depth| [depth * 1e3, exact.temperature(depth, *time)]), colour, "");
        }
        let shown = nodes.iter().filter(|node| node[0] <= 4e-3).map(|[depth, t]| [depth * 1e3, *t]);
        panel.squares(shown, 5.0, colour, 1.0);
        panel.label([4.0, 20.0], [-10.0, -56.0 + 20.0 * index as f64], "end", colour, &format!("after {time} s"));
    }
    picture(&[panel])
}

/// True error and work of the benchmark problems against the tolerance asked for.
pub fn promise() -> String {
    let tolerance = Axis { label: "tolerance asked for, K", low: 1e-3, high: 1.0, tick: None };
    let mut errors = Panel::new(
        "True error: below the line the promise is kept",
        tolerance,
        Axis { label: "true error, K", low: 1e-6, high: 1.0, tick: None },
    );
    let mut work = Panel::new(
        "Work: intervals times steps of the reported run",
        tolerance,
        Axis { label: "interval-steps", low: 1e2, high: 1e6, tick: None },
    );
    errors.line([[1e-3, 1e-3], [1.0, 1.0]], "black", "");
    for (index, (name, colour)) in benchmarks::names().zip(COLOURS).enumerate() {
        let runs = TOLERANCES.map(|tolerance| (tolerance, benchmarks::run(name, tolerance)));
        let points =
            |value: fn(&benchmarks::Cost) -> f64| runs.iter().map(move |(tolerance, run)| [*tolerance, value(run)]);
        errors.line(points(|run| run.error), colour, "2 3");
        errors.squares(points(|run| run.error), 7.0, colour, 1.0);
        work.line(points(|run| run.work), colour, "2 3");
        work.squares(points(|run| run.work), 7.0, colour, 1.0);
        for (panel, corner) in [(&mut errors, [1.0, 1e-6]), (&mut work, [1.0, 1e6])] {
            let down = if corner[1] < 1.0 { -92.0 } else { 22.0 };
            panel.label(corner, [-10.0, down + 20.0 * index as f64], "end", colour, name);
        }
    }
    picture(&[errors, work])
}

/// Stated against true error: dots above the diagonal are cases whose stated error covers the true one.
pub fn honesty(outcomes: &[Outcome]) -> String {
    let axis = |label| Axis { label, low: 1e-6, high: 1e-1, tick: None };
    let mut panel =
        Panel::new("Above the line the stated error covers", axis("true error, K"), axis("stated error, K"));
    panel.squares(outcomes.iter().map(|o| [o.careful, o.stated]), 3.0, COLOURS[0], 0.45);
    panel.line([[1e-6, 1e-6], [1e-1, 1e-1]], "black", "");
    panel.line([[0.01, 1e-6], [0.01, 1e-1]], COLOURS[1], "6 5");
    panel.label([0.01, 1e-6], [-8.0, -10.0], "end", COLOURS[1], "tolerance");
    picture(&[panel])
}
