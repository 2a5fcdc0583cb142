//! What the trade finds ordinary, and the scaling that it knows: sanity, not proof.

use quenchway::case::{Case, Contact, Medium, Shape, Size};
use quenchway::exact::{Check, Status, composite_reference};
use quenchway::film::{Film, FilmState};
use quenchway::march::{march, march_by_rule};

use crate::build::{TOLERANCE, at, bath, case, constant, layer, marched, material};
use crate::page::{Kind, Page};

/// Radii x 2 and film / 2: the same temperatures at four times the age.
pub fn scaling() -> Page {
    let wire = |scale: f64| {
        let problem = composite_reference("C1");
        let of = |kind, p: quenchway::exact::Properties| {
            material(kind, constant(p.conductivity), constant(p.capacity / 1e3), 1e3)
        };
        let layers = vec![
            layer(of(quenchway::material::Kind::Metal, problem.core), 2.0 * scale * problem.interface, 190.0),
            layer(of(quenchway::material::Kind::Plastic, problem.coating), 2.0 * scale * problem.outer, 190.0),
        ];
        let ages = [0.2, 1.0, 5.0].map(|age| age * scale * scale);
        case(Shape::Round, layers, vec![bath(ages[2], 20.0, 3000.0 / scale)], &ages)
    };
    let (small, large) = (marched(&wire(1.0)), marched(&wire(2.0)));
    let rows = (0..3)
        .flat_map(|station| {
            let pair = |value: fn(&quenchway::solution::PointReport) -> f64| {
                (at(small.as_ref(), station, value), at(large.as_ref(), station, value))
            };
            [("core", pair(|p| p.core)), ("surface", pair(|p| p.surface))].map(|(name, (expected, computed))| Check {
                family: "scaling",
                what: format!("station {}, {name}", station + 1),
                source: "similarity of the heat equation: times as the square of the size at equal Biot number",
                status: Status::Derived,
                unit: "degC",
                expected,
                computed,
                bound: 2.0 * TOLERANCE,
                reason: "two runs of 0.001 K each",
            })
        })
        .collect();
    Page {
        title: "Twice the size, half the film, four times as long",
        kind: Kind::Analytic,
        question: "Does the rule that cooling time grows with the square of the wall come out exactly at equal Biot number?",
        set_up: "The wire C1, and the same with radii doubled and the film halved.",
        reference: "Similarity of the equation.",
        bound: "0.002 K: two runs of 0.001 K each.",
        doubts: "None.",
        rows,
    }
}

/// Speeds that a trough of 14 m carries.
pub fn speeds() -> Page {
    let mut rows = Vec::new();
    for (name, conductor, outer) in [("1.5 mm2", 1.38e-3, 2.86e-3), ("2.5 mm2", 1.78e-3, 3.42e-3)] {
        let text = include_str!("../../cases/house-wire.toml");
        let speed = quenchway::input::read(text).map_or(f64::NAN, |mut case| {
            case.layers[0].size = Size::Diameter(conductor);
            case.layers[1].size = Size::Diameter(outer);
            case.layers[1].temperature = quenchway::case::DieTemperature::Fixed(quenchway::units::Celsius(200.0));
            case.sections[1].length = 14.0;
            fastest(&case, 65.0)
        });
        rows.push(Check {
            family: "practice",
            what: format!("{name} PVC wire, 14 m of water at 16 degC, melt 200 degC, core 65 degC at the capstan"),
            source: "common practice, no source: building wire runs at some hundred metres a minute through a single trough",
            status: Status::Memory,
            unit: "m/min",
            expected: 175.0,
            computed: speed * 60.0,
            bound: 125.0,
reason: "only absurdity would fall outside 50 to 300 m/min",
        });
    }
    Page {
        title: "What speed an ordinary trough carries",
        kind: Kind::Practice,
        question: "A trough of about 14 m and a melt near 200 degC are ordinary: what speed do they carry for 1.5 and 2.5 mm2 wire?",
        set_up: "The house wire with 14 m of water, melt at 200 degC, and a core of at most 65 degC at the capstan; the fastest speed \
                 by bisection.",
        reference: "Common practice, no source: single-pass troughs of 10 to 30 m; core below 60 to 70 degC before the reel.",
        bound: "50 to 300 m/min: only absurdity would fall outside.",
        doubts: "This is sanity, not validation: plants that run faster fold the product through the trough several times.",
        rows,
    }
}

/// The speed at which the core meets a limit at the last station, m/s, by bisection in the logarithm.
fn fastest(case: &Case, limit: f64) -> f64 {
    let core = |speed: f64| {
        let mut case = Case { line_speed: speed, ..case.clone() };
        case.layers[1].contact = Contact::Perfect;
        march_by_rule(&case).ok().and_then(|solution| solution.stations.last().map(|s| s.point.core))
    };
    let (mut low, mut high): (f64, f64) = (0.1, 50.0);
    for _ in 0..40 {
        let middle = (low * high).sqrt();
        match core(middle) {
            Some(core) if core <= limit => low = middle,
            Some(_) => high = middle,
            None => return f64::NAN,
        }
    }
    low
}

/// Shrink and film coefficients that the trade finds ordinary.
pub fn habits() -> Page {
    let row = |what: String, unit, [low, high]: [f64; 2], computed| Check {
        family: "practice",
        what,
        source: "common practice, no source",
        status: Status::Memory,
        unit,
        expected: 0.5 * (low + high),
        computed,
        bound: 0.5 * (high - low),
        reason: "the ends of what is called ordinary",
    };
    let mut rows = Vec::new();
    // The allowance on the outer diameter counts for the wall where the conductor fills most of the wire.
    let wire = quenchway::input::read(include_str!("../../cases/house-wire.toml")).ok();
    let shrink =
        wire.as_ref().and_then(|case| march(case).ok()).map_or(f64::NAN, |solution| solution.shrink.to_finished);
    rows.push(row("house wire, PVC, hot to finished diameter".to_string(), "percent", [2.0, 4.0], shrink));
    for (medium, word, range) in [
        (Medium::Water, "water, 80 degC in 20 degC", [1000.0, 6000.0]),
        (Medium::Air, "air, 150 degC in 25 degC", [15.0, 60.0]),
    ] {
        let law = quenchway::film::default_law(medium);
        let (surface, medium_temperature) = if medium == Medium::Water { (80.0, 20.0) } else { (150.0, 25.0) };
        for speed in [0.5, 2.5] {
            let state = FilmState {
                shape: Shape::Round,
                speed,
                diameter: 3.4e-3,
                distance: 2.0,
                surface,
                medium: medium_temperature,
                inputs: quenchway::film::Inputs::default(),
            };
            let what = format!("{}, 3.4 mm wire at {speed} m/s in {word}, 2 m from entry", law.name);
            rows.push(row(what, "W/(m2 K)", range, (law.coefficient)(&state)));
        }
    }
    Page {
        title: "Shrink and film coefficients of ordinary lines",
        kind: Kind::Practice,
        question: "Do the house wire's shrink and the default films lie where the trade expects them?",
        set_up: "The house wire as it is; the default laws of water and air at ordinary states.",
        reference: "Common practice, no source: PVC 2 to 4 percent from the hot to the cold gauge; 1000 to 6000 W/(m2 K) in a trough, 15 to \
                    60 W/(m2 K) in air with radiation.",
        bound: "The ends of those ranges.",
        doubts: "Sanity, not validation: nobody says for which wire and speed the ranges hold. The law for air leaves radiation out.",
        rows,
    }
}

/// Film limited and plastic limited ends of the same wall.
pub fn limits_of_biot() -> Page {
    // A weak film cools the body as one lump: exp(-t h 2/(R rho c)).
    let (radius, h) = (1e-3, 2.0);
    let plastic = material(quenchway::material::Kind::Plastic, constant(0.2), constant(1500.0), 1400.0);
    let mut one =
        case(Shape::Round, vec![layer(plastic, 2.0 * radius, 190.0)], vec![bath(400.0, 20.0, h)], &[100.0, 400.0]);
    one.sections[0].film = Film::Given(h);
    let solution = march(&one).ok();
    let rows = [(0, 100.0), (1, 400.0)]
        .map(|(station, age): (usize, f64)| {
            let lump = 20.0 + 170.0 * (-age * h * 2.0 / (radius * 1400.0 * 1500.0)).exp();
            Check {
                family: "lumped body",
                what: format!("{age} s, mean"),
                source: "lumped capacity, exact for Bi -> 0; here Bi = 0.01",
                status: Status::Derived,
                unit: "degC",
                expected: lump,
                computed: at(solution.as_ref(), station, |p| p.mean),
                bound: 170.0 * 0.01 / 4.0,
                reason: "the lump neglects the inner resistance, Bi/4 of the film's",
            }
        })
        .to_vec();
    Page {
        title: "A weak film cools the body as one lump",
        kind: Kind::Analytic,
        question: "Is the film-limited end right, where the whole body has one temperature?",
        set_up: "Cylinder of 1 mm radius under 2 W/(m2 K): Bi = 0.01.",
        reference: "T = T_m + (T_0 - T_m) exp(-2 h t/(R rho c)).",
        bound: "0.43 K: the lump neglects the inner resistance, a share of Bi/4 of the film's, hence Bi/4 of 170 K.",
        doubts: "None.",
        rows,
    }
}
