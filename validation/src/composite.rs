//! Core and coating: the exact eigenfunction solutions, five spans, and two non-linear references.

use quenchway::case::{Case, Shape};
use quenchway::data::witness::{Subject, Witness};
use quenchway::exact::{Check, CompositeProblem, composite_reference};
use quenchway::material::{Kind as MaterialKind, Material};

use crate::build::{PROMISE, TOLERANCE, at, bath, case, constant, curve, layer, marched, material};
use crate::page::{Kind, Page, lost};

/// The case of a composite problem: heat capacity per volume as c_p with density 1000.
fn wire(problem: &CompositeProblem, ages: &[f64]) -> Case {
    let of = |kind, p: quenchway::exact::Properties| {
        material(kind, constant(p.conductivity), constant(p.capacity / 1000.0), 1000.0)
    };
    let mut layers = vec![
        layer(of(MaterialKind::Metal, problem.core), 2.0 * problem.interface, problem.core_start),
        layer(of(MaterialKind::Plastic, problem.coating), 2.0 * problem.outer, problem.coating_start),
    ];
    layers[1].contact = problem.contact;
    let last = ages.iter().copied().fold(0.0, f64::max);
    let mut sections: Vec<_> =
        problem.spans.iter().map(|span| bath(span.duration.min(last), span.medium, span.film)).collect();
    for (index, section) in sections.iter_mut().enumerate() {
        section.name = format!("span {}", index + 1);
    }
    case(Shape::Round, layers, sections, ages)
}

/// C1 to C6 and the five spans M1.
pub fn eigenfunctions() -> Page {
    let mut rows = Vec::new();
    for name in ["C1", "C2", "C3", "C4", "C5", "C6", "M1"] {
        let problem = composite_reference(name);
        let ages: &[f64] = if name == "M1" { &[0.1, 2.1, 3.1, 5.1, 6.6] } else { &[0.2, 0.5, 1.0, 2.0, 5.0] };
        let solution = marched(&wire(&problem, ages));
        let exact = match problem.solve() {
            Ok(exact) => exact,
            Err(error) => {
                rows.push(lost("core and coating", name.to_string(), &error));
                continue;
            }
        };
        for (index, &age) in ages.iter().enumerate() {
            let wanted = match exact.at(age) {
                Ok(wanted) => wanted,
                Err(error) => {
                    rows.push(lost("core and coating", format!("{name}, {age} s"), &error));
                    continue;
                }
            };
            let here =
                |value: &dyn Fn(&quenchway::march::solution::PointReport) -> f64| at(solution.as_ref(), index, value);
            for (place, expected, computed) in [
                ("axis", wanted.axis, here(&|p| p.core)),
                ("core at the joint", wanted.core_interface, here(&|p| p.interfaces[0].inner)),
                ("coating at the joint", wanted.coating_interface, here(&|p| p.interfaces[0].outer)),
                ("surface", wanted.surface, here(&|p| p.surface)),
                ("coating mean", wanted.coating_mean, here(&|p| p.mean)),
                ("mixed", wanted.mixed, here(&|p| p.equalised)),
            ] {
                rows.push(Check {
                    family: "core and coating",
                    what: format!("{name}, {age} s, {place}"),
                    source: "eigenfunctions of the two-layer cylinder (Carslaw & Jaeger, 2nd ed. 1959, ch. XIII), spans by re-expansion",
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
        title: "Core and coating, and a wire through five spans",
        kind: Kind::Analytic,
        question: "Do two layers, a preheated core, a contact conductance, air and several changes of medium come out right?",
        set_up: "C1 is copper and PVC, 190 into 20 degC, h 3000. C2 has a core preheated to 100 degC, C3 a contact of \
                 2000 W/(m2 K), C4 air. C5 has a thin wall of PE, C6 an aluminium cable core. M1 goes through air, \
                 water, air, water, air. The geometry is fixed.",
        reference: "quenchway::exact::CompositeProblem gives it. The table above compares that with 247 values on which \
                    eigenfunctions (30 digits), numerical Laplace inversion and finite volumes agree.",
        bound: "0.001 K, the tolerance.",
        doubts: "There are none.",
        rows,
    }
}

/// N1 and N2: numerical references with strongly non-linear curves.
pub fn nonlinear() -> Page {
    let copper = || material(MaterialKind::Metal, constant(390.0), constant(385.0), 8960.0);
    let sampled = |f: &dyn Fn(f64) -> f64, step: f64| {
        curve((0..=(220.0 / step) as usize).map(|i| [i as f64 * step, f(i as f64 * step)]).collect())
    };
    let gauss = |t: f64| 2300.0 + 130e3 / (5.0 * std::f64::consts::TAU.sqrt()) * (-(t - 105.0f64).powi(2) / 50.0).exp();
    let knee = |t: f64| 1050.0 + 225.0 * (1.0 + ((t - 80.0) / 10.0).tanh());
    let pe = material(MaterialKind::Plastic, curve(vec![[20.0, 0.32], [220.0, 0.24]]), sampled(&gauss, 0.25), 900.0);
    let pvc = material(MaterialKind::Plastic, constant(0.17), sampled(&knee, 0.5), 1400.0);
    let mut rows = Vec::new();
    let mut compare = |name: &str,
                       radii: [f64; 2],
                       coating: Material,
                       starts: [f64; 2],
                       film: f64,
                       table: &[[f64; 5]]| {
        let layers = vec![layer(copper(), 2.0 * radii[0], starts[0]), layer(coating, 2.0 * radii[1], starts[1])];
        let ages: Vec<f64> = table.iter().map(|row| row[0]).collect();
        let solution = marched(&case(Shape::Round, layers, vec![bath(ages[ages.len() - 1], 20.0, film)], &ages));
        for (index, row) in table.iter().enumerate() {
            let here = |value: fn(&quenchway::march::solution::PointReport) -> f64| at(solution.as_ref(), index, value);
            let found = [here(|p| p.core), here(|p| p.interfaces[0].outer), here(|p| p.surface), here(|p| p.mean)];
            for ((place, expected), computed) in
                ["axis", "joint", "surface", "coating mean"].iter().zip(&row[1..]).zip(found)
            {
                rows.push(Check {
                    family: "non-linear core and coating",
                    what: format!("{name}, {} s, {place}", row[0]),
                    source: "finite volumes, scipy Radau rtol 1e-9, Richardson over three meshes, computed for this project",
                    subject: Subject::Engine,
                    witness: Witness::SecondProgram,
                    unit: "degC",
                    expected: *expected,
                    computed,
                    bound: 3e-3,
reason: "0.001 K each for the reference, the tolerance and the sampled curves",
                });
            }
        }
    };
    compare("N1", [0.5e-3, 1.0e-3], pe, [220.0, 220.0], 4000.0, &N1);
    compare("N2", [0.7e-3, 1.5e-3], pvc, [120.0, 190.0], 3000.0, &N2);
    Page {
        title: "A latent peak and a glass transition on copper",
        kind: Kind::Published,
        question: "Are strongly curved heat capacities followed?",
        set_up: "N1 is a PE-like coating from 0.5 to 1 mm with falling k. Its latent 130 kJ/kg are a Gaussian of 5 K \
                 about 105 degC. N2 is a PVC-like coating from 0.7 to 1.5 mm over a core of 120 degC. Its c_p has a \
                 step of 450 J/(kg K) about 80 degC. The curves are sampled every 0.25 and 0.5 K.",
        reference: "Another program, written independently, computes it by finite volumes and an implicit Runge-Kutta \
                    method.",
        bound: "0.003 K: the reference is certain to about 0.001 K, the tolerance is 0.001 K, sampling the curves leaves as much.",
        doubts: "The reference is numerical.",
        rows,
    }
}

const N1: [[f64; 5]; 5] = [
    [0.1, 219.9779, 219.9770, 82.0376, 180.2095],
    [0.2, 218.9555, 218.9434, 65.8970, 158.8077],
    [0.5, 203.0897, 203.0497, 48.4729, 124.0844],
    [1.0, 165.4341, 165.3947, 39.2293, 97.1361],
    [2.0, 113.0014, 112.9834, 31.6020, 68.1190],
];
const N2: [[f64; 5]; 5] = [
    [0.2, 135.5087, 135.5458, 56.9512, 154.4540],
    [0.5, 142.7061, 142.7240, 42.9106, 129.6559],
    [1.0, 146.3556, 146.3550, 34.5315, 104.8086],
    [2.0, 137.2180, 137.2026, 28.4514, 80.3081],
    [5.0, 93.3530, 93.3394, 24.2559, 53.5285],
];
