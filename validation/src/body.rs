//! One material: plane wall, cylinder, half space, and the temperature-dependent body of Kirchhoff.

use quenchway::case::Shape;
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::{Body, Check, HalfSpace, KirchhoffStepProblem, Properties};
use quenchway::film::Film;
use quenchway::material::Kind as MaterialKind;
use quenchway::units::Celsius;

use crate::build::{PROMISE, STEP, TOLERANCE, at, bath, case, constant, curve, cut, layer, marched, material};
use crate::page::{Kind, Page, lost};

const SIZE: f64 = 2e-3;
const K: f64 = 0.2;
const C: f64 = 1500.0;
const RHO: f64 = 1400.0;
const START: f64 = 190.0;
const MEDIUM: f64 = 20.0;

/// Plane wall and cylinder over Biot and Fourier numbers.
pub fn wall_and_cylinder() -> Page {
    let fouriers = [0.02, 0.05, 0.1, 0.5, 1.0, 2.0];
    let mut rows = Vec::new();
    for (shape, word) in [(Shape::Flat, "plane wall"), (Shape::Round, "cylinder")] {
        for biot in [0.1, 1.0, 5.0, f64::INFINITY] {
            let exact = match Body::new(shape, biot) {
                Ok(exact) => exact,
                Err(error) => {
                    rows.push(lost("plane wall and cylinder", format!("{word}, Bi {biot}"), &error));
                    continue;
                }
            };
            let unit = SIZE * SIZE * RHO * C / K;
            let film = if biot.is_finite() { biot * K / SIZE } else { STEP };
            let plastic = material(MaterialKind::Plastic, constant(K), constant(C), RHO);
            let ages = fouriers.map(|fo| fo * unit);
            let case =
                case(shape, vec![layer(plastic, 2.0 * SIZE, START)], vec![bath(2.0 * unit, MEDIUM, film)], &ages);
            let solution = marched(&case);
            for (index, fo) in fouriers.into_iter().enumerate() {
                let here =
                    |value: fn(&quenchway::march::solution::PointReport) -> f64| at(solution.as_ref(), index, value);
                for (name, theta, computed) in [
                    ("centre", exact.centre(fo), here(|p| p.core)),
                    ("surface", exact.surface(fo), here(|p| p.surface)),
                    ("mean", exact.mean(fo), here(|p| p.mean)),
                ] {
                    rows.push(Check {
                        family: "plane wall and cylinder",
                        what: format!("{word}, Bi {biot}, Fo {fo}, {name}"),
                        source: "Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, 3.11 and 7.7, full series",
                        subject: Subject::Engine,
                        witness: Witness::Equation,
                        unit: "degC",
                        expected: MEDIUM + (START - MEDIUM) * theta,
                        computed,
                        bound: TOLERANCE,
reason: PROMISE,
                    });
                }
            }
        }
    }
    Page {
        title: "Plane wall and cylinder with a surface film",
        kind: Kind::Analytic,
        question: "Does one homogeneous body cool as the series says, from the first moments to the end? The film is weak, \
                   strong, or holds the surface at the water's temperature (the Heisler line 1/Bi = 0).",
        set_up: "The half thickness or radius is 2 mm, with k 0.2 W/(m K), 1400 kg/m3, 1500 J/(kg K). It goes from 190 \
                 degC into 20 degC, with fixed geometry and solver.tolerance 0.001 K. Bi infinite is a film of 1e9 \
                 W/(m2 K).",
        reference: "The full series of quenchway::exact::Body gives it. The table above compares that series, \
                    and its first term, with 704 values that mpmath computed.",
        bound: "0.001 K: the tolerance asked for is the promise made. Where Bi is infinite the film of 1e9 leaves the surface up to 7e-5 K too hot, at Fo 0.02.",
        doubts: "There are none: the problem and its solution are the textbook's.",
        rows,
    }
}

/// The first moments of a thick wall.
pub fn half_space() -> Page {
    let depths = [0.5e-3, 0.2e-3];
    let half = 20e-3;
    let places: Vec<f64> = depths.iter().map(|depth| half - depth).chain([half]).collect();
    let plastic = material(MaterialKind::Plastic, constant(0.17), constant(1500.0), RHO);
    let ages = [0.02, 0.05, 0.2, 1.0];
    let case = case(Shape::Flat, cut(&plastic, &places, START), vec![bath(1.0, MEDIUM, 3000.0)], &ages);
    let solution = marched(&case);
    let mut rows = Vec::new();
    if let Ok(exact) = HalfSpace::new(Properties::new(0.17, RHO, 1500.0), START) {
        for (index, age) in ages.into_iter().enumerate() {
            let mut push = |name: String, depth: f64, computed: f64| {
                rows.push(Check {
                    family: "half space",
                    what: format!("{age} s, {name}"),
                    source: "Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, 2.7, surface film",
                    subject: Subject::Engine,
                    witness: Witness::Equation,
                    unit: "degC",
                    expected: exact.under_film(3000.0, MEDIUM, depth, age),
                    computed,
                    bound: TOLERANCE,
                    reason: PROMISE,
                });
            };
            push("surface".into(), 0.0, at(solution.as_ref(), index, |p| p.surface));
            for (joint, depth) in depths.into_iter().enumerate() {
                let computed = at(solution.as_ref(), index, |p| p.interfaces[joint].inner);
                push(format!("{} mm below it", depth * 1e3), depth, computed);
            }
        }
    }
    Page {
        title: "The first moments after the plunge",
        kind: Kind::Analytic,
        question: "Is the surface right hundredths of a second after it meets the water, when a thin skin carries all?",
        set_up: "A PVC-like wall of 40 mm goes from 190 into 20 degC under a film of 3000 W/(m2 K). It is cut in \
                 layers at the depths that are compared.",
        reference: "It is the half space under a film: 1 - theta = erfc(x/2sqrt(at)) - exp(hx/k + h2at/k2) \
                    erfc(x/2sqrt(at) + h sqrt(at)/k).",
        bound: "0.001 K, the tolerance; the far face is 20 mm away and feels nothing within 1 s.",
        doubts: "There are none.",
        rows,
    }
}

/// k and rho c both proportional to 1 + b (T - T_surface).
pub fn kirchhoff() -> Page {
    let (b, start, surface) = (0.002, 190.0, 20.0);
    let scaled = |value: f64| curve(vec![[surface, value], [surface + 300.0, value * (1.0 + 300.0 * b)]]);
    let unit = SIZE * SIZE * RHO * C / K;
    let fouriers = [0.05, 0.1, 0.3, 0.5];
    let mut rows = Vec::new();
    for (shape, word) in [(Shape::Round, "cylinder"), (Shape::Flat, "plane wall")] {
        let properties = Properties::new(K, RHO, C);
        let problem = KirchhoffStepProblem { shape, size: SIZE, properties, slope: b, start, surface };
        let exact = match problem.solve() {
            Ok(exact) => exact,
            Err(error) => {
                rows.push(lost("Kirchhoff", word.to_string(), &error));
                continue;
            }
        };
        let plastic = material(MaterialKind::Plastic, scaled(K), scaled(C), RHO);
        let places = [0.5 * SIZE, SIZE];
        let ages = fouriers.map(|fo| fo * unit);
        let case = case(shape, cut(&plastic, &places, start), vec![bath(0.5 * unit, surface, STEP)], &ages);
        let solution = marched(&case);
        for (index, fo) in fouriers.into_iter().enumerate() {
            let centre = at(solution.as_ref(), index, |p| p.core);
            let middle = at(solution.as_ref(), index, |p| p.interfaces[0].inner);
            for (name, place, computed) in [("centre", 0.0, centre), ("half way", 0.5 * SIZE, middle)] {
                rows.push(Check {
                    family: "Kirchhoff",
                    what: format!("{word}, Fo {fo}, {name}"),
                    source: "Kirchhoff transformation (Carslaw & Jaeger, 2nd ed. 1959, 1.6) of the series",
                    subject: Subject::Engine,
                    witness: Witness::Equation,
                    unit: "degC",
                    expected: exact.temperature(place, fo * unit),
                    computed,
                    bound: TOLERANCE,
                    reason: PROMISE,
                });
            }
        }
    }
    rows.extend(segal_praagman());
    Page {
        title: "Conductivity and heat capacity that change with temperature",
        kind: Kind::Analytic,
        question: "Is the non-linear problem solved, not its linearisation?",
        set_up: "One problem is a surface step, with k and c_p both 34 percent larger at the start than at the end. \
                 The others are Segal & Praagman's half space, heated by a constant flux, and their slab of 2 m. Here \
                 k = rho c = 1 + T/2, and the half space is 10 m thick. A film of 1e-6 W/(m2 K) before 1e6 degC makes \
                 the flux.",
        reference: "Kirchhoff's transformation makes it exact. Half space and slab are those of Segal & Praagman, A \
                    fast implementation of explicit time-stepping algorithms, Int. J. Numer. Methods Eng. 23, 1986, \
                    155: the public copy prints a plus before x erfc, which breaks the flux condition; with the minus \
                    it holds.",
        bound: "0.001 K, the tolerance; for Segal & Praagman 1e-5 K plus what the film falls short of the flux, T/1e6.",
        doubts: "The sign in the printed formula was derived, not seen in the journal.",
        rows,
    }
}

fn segal_praagman() -> Vec<Check> {
    let lines = quenchway::exact::SEGAL_PRAAGMAN.lines().filter(|line| !line.starts_with('#')).skip(1);
    let figures: Vec<Vec<f64>> =
        lines.map(|line| line.split(',').map(|word| word.parse().unwrap_or(f64::NAN)).collect()).collect();
    let rising = curve(vec![[0.0, 1.0], [100.0, 51.0]]);
    let body = material(MaterialKind::Plastic, rising.clone(), rising, 1.0);
    let ages = [0.1, 0.3, 0.5, 0.7, 1.0];
    let mut rows = Vec::new();
    // A slab insulated at x = 2 is one of twice that thickness heated on both faces; ten metres are a half space.
    for (name, thickness, column) in [("half space", 10.0, 2), ("slab", 2.0, 3)] {
        let layers = cut(&body, &[thickness - 1.0, thickness], 0.0);
        let mut case = case(Shape::Flat, layers, vec![bath(1.0, 1e6, 1e-6)], &ages);
        case.tolerance = 1e-5;
        case.sections[0].film = Film::Given(1e-6);
        case.sections[0].temperature = Celsius(1e6);
        let solution = marched(&case);
        for figure in &figures {
            let value = |column: usize| figure.get(column).copied().unwrap_or(f64::NAN);
            let station = ages.iter().position(|age| *age == value(1)).unwrap_or(ages.len());
            rows.push(Check {
                family: "Segal & Praagman",
                what: format!("{name}, t = {}, x = {}", value(1), value(0)),
                source: "Segal & Praagman, Int. J. Numer. Methods Eng. 23, 1986, 155, sign corrected; 9 decimals by mpmath",
                subject: Subject::Engine,
                witness: Witness::Equation,
                unit: "degC",
                expected: value(column),
                computed: at(solution.as_ref(), station, |p| {
                    if value(0) == 0.0 { p.surface } else { p.interfaces[0].inner }
                }),
                bound: 1e-5 + 2e-6,
                reason: "the tolerance asked for, 1e-5 K, and what the film of 1e-6 W/(m2 K) falls short of the flux",
            });
        }
    }
    rows
}

/// Melt and water as two solids that touch: the temperature of their common face.
pub fn contact_on_entry() -> Page {
    let water = (0.5980124, 998.2072, 4184.051);
    let mut rows = Vec::new();
    for (name, (k, rho, c), start, printed) in
        [("PVC", (0.17, 1400.0, 1500.0), 190.0, 66.64), ("LDPE melt", (0.25, 760.0, 2500.0), 220.0, 80.73)]
    {
        let thickness = 20e-3;
        let body = |(k, rho, c): (f64, f64, f64), kind| material(kind, constant(k), constant(c), rho);
        let layers = vec![
            layer(body((k, rho, c), MaterialKind::Plastic), 2.0 * thickness, start),
            layer(body(water, MaterialKind::Plastic), 4.0 * thickness, MEDIUM),
        ];
        let ages = [0.05, 1.0];
        let solution = marched(&case(Shape::Flat, layers, vec![bath(1.0, MEDIUM, 1.0)], &ages));
        for (index, age) in ages.into_iter().enumerate() {
            rows.push(Check {
                family: "contact temperature",
                what: format!("{name} {start} degC on water 20 degC, common face after {age} s"),
                source: "(e1 T1 + e2 T2)/(e1 + e2), e = sqrt(k rho c): Carslaw & Jaeger, 2nd ed. 1959, 2.15 (numbering from memory, not checked)",
                subject: Subject::Engine,
                witness: Witness::Equation,
                unit: "degC",
                expected: printed,
                computed: at(solution.as_ref(), index, |p| p.interfaces[0].inner),
                bound: 0.005 + TOLERANCE,
                reason: "half of the last digit of the figure, and the tolerance",
            });
        }
    }
    Page {
        title: "Contact temperature on entry",
        kind: Kind::Analytic,
        question: "How hot is the face where melt and water meet, before either feels its far side?",
        set_up: "Two plates of 20 mm touch in perfect contact. One is PVC (0.17 W/(m K), 1400 kg/m3, 1500 J/(kg K)) at \
                 190 degC or LDPE melt (0.25, 760, 2500) at 220 degC. The other is water at 20 degC, held still like a \
                 solid.",
        reference: "The effusivities give (e1 T1 + e2 T2)/(e1 + e2), which is constant while both count as half \
                    spaces.",
        bound: "0.006 K: half of the second decimal of the figures, and the tolerance.",
        doubts: "Below 100 degC it says that these properties lead to no boiling on entry, not that splashing melt is safe.",
        rows,
    }
}
