//! Shrink beyond the melt: the bonded solid against the radial equation of elasticity, sizes there and back, the march.

use crate::fixture;
use quenchway::case::shrink::{self, area_ratio, bonded_factor};
use quenchway::case::{Case, Contraction, Geometry, Medium, Shape, Size};
use quenchway::film::Film;
use quenchway::march::march;
use quenchway::material::Curve;
use quenchway::material::FINISHED;
use quenchway::slice::enthalpy::{Enthalpy, polynomial};
use quenchway::units::Celsius;

/// Outward displacement of the outer radius of a ring from `a` to `b` with Young's modulus 1, stuck to a rigid core
/// (u(a) = 0), free outside (sigma_r(b) = 0), its length held, under the stress-free strain e(r).
///
/// Equilibrium d sigma_r/dr = (sigma_theta - sigma_r)/r with Hooke's law in plane strain,
/// sigma_r = (lambda + 2 mu) u' + lambda u/r - (3 lambda + 2 mu) e and sigma_theta with u' and u/r exchanged (any text on
/// elasticity), by Runge and Kutta's fourth-order steps and two shots, since the problem is linear in sigma_r(a).
fn displacement(poisson_ratio: f64, a: f64, b: f64, strain: impl Fn(f64) -> f64) -> f64 {
    let nu = poisson_ratio;
    let (lambda, mu) = (nu / ((1.0 + nu) * (1.0 - 2.0 * nu)), 0.5 / (1.0 + nu));
    let slope = |r: f64, [u, sigma]: [f64; 2]| {
        let thermal = (3.0 * lambda + 2.0 * mu) * strain(r);
        let (hoop, radial) = (u / r, (sigma + thermal - lambda * u / r) / (lambda + 2.0 * mu));
        [radial, ((lambda + 2.0 * mu) * hoop + lambda * radial - thermal - sigma) / r]
    };
    let shoot = |first: f64| {
        const STEPS: u32 = 2000;
        let h = (b - a) / f64::from(STEPS);
        let mut y = [0.0, first];
        for step in 0..STEPS {
            let r = a + f64::from(step) * h;
            let ahead = |k: [f64; 2], share: f64| [y[0] + share * h * k[0], y[1] + share * h * k[1]];
            let k1 = slope(r, y);
            let k2 = slope(r + 0.5 * h, ahead(k1, 0.5));
            let k3 = slope(r + 0.5 * h, ahead(k2, 0.5));
            let k4 = slope(r + h, ahead(k3, 1.0));
            y = [0, 1].map(|i| y[i] + h * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]) / 6.0);
        }
        y
    };
    let (low, high) = (shoot(0.0), shoot(1.0));
    let share = -low[1] / (high[1] - low[1]);
    low[0] + share * (high[0] - low[0])
}

/// The change of a ring's area over its area, for a small displacement of its outer radius.
fn area_strain(a: f64, b: f64, displacement: f64) -> f64 {
    2.0 * b * displacement / ((b - a) * (b + a))
}

#[test]
fn the_factor_of_a_bonded_ring_solves_the_radial_equation() {
    for poisson_ratio in [0.0, 0.2, 0.35, 0.42, 0.48] {
        for ratio in [0.1, 0.3, 0.6, 0.9] {
            let strain = area_strain(ratio, 1.0, displacement(poisson_ratio, ratio, 1.0, |_| 1.0));
            let factor = bonded_factor(poisson_ratio, ratio * ratio);
            // Fourth-order steps of a two-thousandth: 1e-13 of the scale, times the stiffness near nu = 1/2.
            assert!((strain / factor - 1.0).abs() < 1e-9, "nu {poisson_ratio}, a/b {ratio}: {strain} and {factor}");
        }
    }
}

/// However uneven the contraction, the outer radius follows its area mean with the same factor: what lets every ring of a
/// layer shrink by its own temperature.
#[test]
fn the_outer_radius_follows_the_area_mean_of_the_contraction() {
    let (a, b, poisson_ratio) = (0.4, 1.0, 0.4);
    let uneven = |r: f64| 1.0 - 0.8 * (r * r - a * a) / (b * b - a * a);
    // Linear in the area: the mean of its ends.
    let mean = 0.5 * (uneven(a) + uneven(b));
    let strain = area_strain(a, b, displacement(poisson_ratio, a, b, uneven));
    let factor = bonded_factor(poisson_ratio, a * a) * mean;
    // As above.
    assert!((strain / factor - 1.0).abs() < 1e-9, "{strain} and {factor}");
}

#[test]
fn the_factor_has_its_limits() {
    for x in [0.0, 0.25, 1.0] {
        assert_eq!(bonded_factor(0.5, x), 3.0, "all of the volume change shows in the cross-section");
        assert!((bonded_factor(0.0, x) - 2.0 / (1.0 + x)).abs() < 1e-15);
    }
    for poisson_ratio in [0.0, 0.3, 0.45] {
        let thin = (1.0 + poisson_ratio) / (1.0 - poisson_ratio);
        assert!((bonded_factor(poisson_ratio, 1.0) - thin).abs() < 1e-14);
        assert!((bonded_factor(poisson_ratio, 0.0) - 2.0 * (1.0 + poisson_ratio)).abs() < 1e-15);
        let factors: Vec<f64> = (0..=20).map(|i| bonded_factor(poisson_ratio, f64::from(i) / 20.0)).collect();
        assert!(factors.windows(2).all(|pair| pair[1] < pair[0]), "a thick ring shrinks more than a thin one");
        assert!(factors.iter().all(|&factor| factor < 3.0));
    }
}

/// The house wire with a stiff insulation of Poisson's ratio `poisson_ratio`.
fn stiff(poisson_ratio: f64) -> Case {
    let mut case = fixture::house_wire();
    case.layers[1].poisson_ratio = poisson_ratio;
    case.layers[1].material.density =
        Curve::new(vec![[20.0, 950.0], [80.0, 925.0], [109.5, 905.0], [123.5, 799.0], [200.0, 753.0]]).unwrap();
    case.layers[1].material.set_temperature = Some(Celsius(105.0));
    case.case
}

#[test]
fn above_its_set_temperature_a_stiff_layer_is_a_melt_and_below_it_shrinks_less() {
    let case = stiff(0.4);
    let radii = shrink::radii(&case).unwrap();
    let law = shrink::laws(&case, &radii)[1];
    let density = &case.layers[1].material.density;
    let ratio = |t: f64| area_ratio(density, &law, Celsius(188.0), Celsius(t));
    let melt = |t: f64| density.at(Celsius(188.0)) / density.at(Celsius(t));
    for t in [188.0, 130.0, 105.0] {
        assert!((ratio(t) / melt(t) - 1.0).abs() < 1e-15, "{t}");
    }
    // No jump at the set temperature, and a third of the factor for the rest, x being that of the ring as it sets.
    assert!((ratio(105.0 - 1e-9) / ratio(105.0) - 1.0).abs() < 1e-11);
    let inner = radii.hot[0].powi(2);
    let as_it_sets = (radii.hot[1].powi(2) - inner) * melt(105.0);
    let factor = bonded_factor(0.4, inner / (inner + as_it_sets));
    let below = (density.at(Celsius(105.0)) / density.at(Celsius(20.0))).powf(factor / 3.0);
    assert!((ratio(20.0) / (melt(105.0) * below) - 1.0).abs() < 1e-14);
    assert!(ratio(20.0) > 1.005 * melt(20.0), "{} and {}", ratio(20.0), melt(20.0));
}

#[test]
fn a_layer_that_is_solid_at_the_die_follows_the_solid_law_from_there() {
    let mut case = stiff(0.3);
    case.layers[1].temperature = quenchway::case::DieTemperature::Fixed(Celsius(80.0));
    let radii = shrink::radii(&case).unwrap();
    let law = shrink::laws(&case, &radii)[1];
    let factor = bonded_factor(0.3, (radii.hot[0] / radii.hot[1]).powi(2));
    let got = area_ratio(&case.layers[1].material.density, &law, Celsius(80.0), Celsius(20.0));
    assert!((got - (925.0f64 / 950.0).powf(factor / 3.0)).abs() < 1e-14);
}

#[test]
fn incompressible_free_and_fixed_layers_keep_their_one_law() {
    for (poisson_ratio, contraction, geometry, exponent) in [
        (0.5, Contraction::Held, Geometry::Shrinking, 1.0),
        (0.3, Contraction::Free, Geometry::Shrinking, 2.0 / 3.0),
        (0.3, Contraction::Held, Geometry::Fixed, 0.0),
    ] {
        let mut case = Case { geometry, ..stiff(poisson_ratio) };
        case.layers[1].contraction = contraction;
        let law = shrink::laws(&case, &shrink::radii(&case).unwrap())[1];
        assert_eq!((law.melt, law.set), (exponent, exponent));
    }
    // A flat layer is a thin one.
    let case = Case { shape: Shape::Flat, ..stiff(0.3) };
    let law = shrink::laws(&case, &shrink::radii(&case).unwrap())[1];
    assert!((law.set - 1.3 / 0.7 / 3.0).abs() < 1e-15);
}

/// Hot sizes to finished ones and back, also through a stiff layer inside another, by diameter and by wall.
#[test]
fn finished_sizes_give_back_the_hot_ones() {
    for shape in [Shape::Round, Shape::Flat] {
        for poisson_ratio in [0.0, 0.3, 0.45, 0.5] {
            let mut case = Case { shape, ..stiff(poisson_ratio) };
            let mut jacket = case.layers[1].clone();
            (jacket.name, jacket.size) = ("jacket".into(), Size::Diameter(6e-3));
            case.layers.push(jacket);
            let there = shrink::radii(&case).unwrap();
            let mut by_wall = case.clone();
            let mut by_diameter = case;
            for index in 1..3 {
                by_diameter.layers[index].size = Size::FinishedDiameter(2.0 * there.finished[index]);
                by_wall.layers[index].size = Size::FinishedWall(there.finished[index] - there.finished[index - 1]);
            }
            for back in [by_diameter, by_wall].map(|case| shrink::radii(&case).unwrap()) {
                for index in 0..3 {
                    // Rounding of squares and their differences only.
                    assert!((back.hot[index] / there.hot[index] - 1.0).abs() < 1e-14, "nu {poisson_ratio}: {back:?}");
                    assert!((back.finished[index] / there.finished[index] - 1.0).abs() < 1e-14);
                }
            }
        }
    }
}

/// Down the line to 23 degC the march arrives at the finished size, in the books' full closure (it withholds otherwise);
/// the frozen strain knows nothing of the cross-section.
#[test]
fn the_march_arrives_at_the_finished_size() {
    let ends = [0.5, 0.42, 0.3].map(|poisson_ratio| {
        let mut case = stiff(poisson_ratio);
        case.sections = vec![fixture::section("bath", Medium::Water, 200.0, FINISHED.0)];
        case.sections[0].film = Film::Given(5000.0);
        case.stations = vec![fixture::station("end", 0, 0.0, &[])];
        let solution = march(&case).unwrap();
        let diameter = solution.stations[0].point.diameter;
        // 80 s are ten times what the wall needs; the tables fit areas to 1e-8.
        assert!((diameter / solution.shrink.finished - 1.0).abs() < 1e-7, "nu {poisson_ratio}: {diameter}");
        (diameter, solution.shrink.frozen_axial)
    });
    assert!(ends[0].0 < ends[1].0 && ends[1].0 < ends[2].0, "the stiffer shrinks less: {ends:?}");
    assert!(ends.iter().all(|end| end.1 == ends[0].1));
}

#[test]
fn a_poisson_ratio_is_read_and_written_back() {
    let text = include_str!("../cases/thick-pe-core.toml")
        .replace("contact = \"perfect\"", "contact = \"perfect\"\npoisson_ratio = 0.42");
    let case = quenchway::file::read(&text).unwrap();
    assert_eq!((case.layers[0].poisson_ratio, case.layers[1].poisson_ratio), (0.5, 0.42));
    let written = quenchway::file::resolved::resolved(&case);
    assert!(written.contains("poisson_ratio = 0.42"), "{written}");
    assert_eq!(quenchway::file::read(&written).unwrap().layers[1].poisson_ratio, 0.42);
}

/// What the march takes for the area between the points of the curves is the law, kink at the set temperature included.
#[test]
fn property_tables_follow_the_law_through_its_kink() {
    let case = stiff(0.3);
    let (layer, die) = (&case.layers[1], Celsius(188.0));
    let law = shrink::laws(&case, &shrink::radii(&case).unwrap())[1];
    let table = Enthalpy::of_layer(layer, &law, die);
    for step in 0..=700 {
        let at = Celsius(20.0 + 0.25 * f64::from(step));
        let segment = &table.segments[table.find(table.enthalpy(at))];
        let got = polynomial(&segment.side.area, at.0 - segment.temperature);
        // The remainder of the cubics for 1/rho in pieces of at most 6 % of it: ln(1.06)^4/64 = 1.8e-7 at their middle.
        let expected = area_ratio(&layer.material.density, &law, die, at);
        assert!((got / expected - 1.0).abs() < 1.8e-7, "{at:?}: {got} and {expected}");
    }
}

/// Held where something solid lies inside, whatever the contact; free where nothing does.
#[test]
fn what_lies_inside_decides_the_default_contraction() {
    let contraction = |inner: &str, contact: &str| {
        let text = format!(
            "line.speed = \"1 m/s\"\n[[layer]]\nname = \"inside\"\n{inner}\ndiameter = \"5 mm\"\n[[layer]]\nname = \"jacket\"\n\
             material = \"pvc-jacket\"\nwall = \"1 mm\"\ntemperature = \"175 degC\"\ncontact = \"{contact}\"\n[[section]]\n\
             name = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\ntemperature = \"20 degC\""
        );
        quenchway::file::read(&text).unwrap().layers[1].contraction
    };
    let copper = "material = \"copper\"\ntemperature = \"20 degC\"";
    let [cold, melt] = ["24", "175"].map(|t| format!("material = \"pvc-insulation\"\ntemperature = \"{t} degC\""));
    for contact in ["perfect", "pressed", "talc", "tubed"] {
        assert_eq!(contraction(copper, contact), Contraction::Held, "{contact} on copper");
        assert_eq!(contraction(&cold, contact), Contraction::Held, "{contact} on a cable that comes cold");
        assert_eq!(contraction(&melt, contact), Contraction::Free, "{contact} on a melt");
    }
}
