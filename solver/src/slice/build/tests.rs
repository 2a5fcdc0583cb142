//! The lumped core against quadrature, and the mesh rule against its words in the numerics page.
#![allow(clippy::unwrap_used)]

use super::*;
use crate::case::shrink::Law;

/// A metal and two plastics, the outer one with a latent peak.
fn wire(shape: &str, bore: &str) -> Case {
    let text = format!(
        r#"
title = "wire"
[line]
speed = "1 m/s"
[solver]
shape = "{shape}"
[[layer]]
name = "core"
material = "metal"
diameter = "3 mm"
temperature = "60 degC"
bore = "{bore}"
[[layer]]
name = "inner"
material = "plain"
diameter = "5 mm"
temperature = "200 degC"
contact = "1500 W/(m2 K)"
[[layer]]
name = "outer"
material = "peaked"
diameter = "9 mm"
temperature = "190 degC"
contact = "perfect"
[[section]]
name = "bath"
medium = "water"
length = "100 m"
temperature = "20 degC"
film = "2000 W/(m2 K)"
[material.metal]
kind = "metal"
conductivity = "200 W/(m K)"
heat_capacity = "900 J/(kg K)"
density = "2700 kg/m3"
[material.plain]
kind = "plastic"
conductivity = "0.2 W/(m K)"
heat_capacity = "1600 J/(kg K)"
density = "1300 kg/m3"
[material.peaked]
kind = "plastic"
conductivity = "0.3 W/(m K)"
heat_capacity = [["20 degC", "2000 J/(kg K)"], ["100 degC", "9000 J/(kg K)"], ["120 degC", "2400 J/(kg K)"], ["200 degC", "2400 J/(kg K)"]]
density = "900 kg/m3"
"#
    );
    let text = if bore == "0 mm" { text.replace("bore = \"0 mm\"\n", "") } else { text };
    crate::file::read(&text).unwrap().case
}

/// A quasi-steady core loses q per volume everywhere: T' = -q (r - a^2/r)/(2k) (flat: -q (x - a)/k). Mean and axis above
/// the face by Simpson's rule in many steps.
fn quadrature(flat: bool, a: f64, b: f64) -> [f64; 2] {
    let n = 4000;
    let step = (b - a) / n as f64;
    // With q = k = 1.
    let slope = |r: f64| if flat { -(r - a) } else { -(r - if a > 0.0 { a * a / r } else { 0.0 }) / 2.0 };
    let weight = |r: f64| if flat { 1.0 } else { r };
    let (mut t, mut sum, mut all) = (0.0, 0.0, 0.0);
    for i in (0..n).rev() {
        let (inner, outer) = (a + i as f64 * step, a + (i + 1) as f64 * step);
        let middle = 0.5 * (inner + outer);
        let at_middle = t - (slope(outer) + 4.0 * slope(0.5 * (outer + middle)) + slope(middle)) * step / 12.0;
        let at_inner = t - (slope(outer) + 4.0 * slope(middle) + slope(inner)) * step / 6.0;
        sum += (weight(outer) * t + 4.0 * weight(middle) * at_middle + weight(inner) * at_inner) * step / 6.0;
        all += (weight(outer) + 4.0 * weight(middle) + weight(inner)) * step / 6.0;
        t = at_inner;
    }
    [sum / all, t]
}

#[test]
fn lumped_cores_follow_from_the_quasi_steady_profile() {
    for (shape, bore, a) in [("round", "0 mm", 0.0), ("round", "1.3 mm", 0.65e-3), ("flat", "0.8 mm", 0.4e-3)] {
        let case = wire(shape, bore);
        let core = core(&case, &shrink::radii(&case).unwrap());
        let (flat, b) = (shape == "flat", 1.5e-3);
        let [mean, axis] = quadrature(flat, a, b);
        let area = if flat { b - a } else { b * b - a * a };
        let per_radian = if flat { area } else { area / 2.0 };
        // Conductance from the mean to the face for a unit conductivity: the flow over the difference.
        let shape_factor = per_radian / mean;
        assert!((core.area / area - 1.0).abs() < 1e-12, "{shape} {bore}: {}", core.area);
        assert!((core.mass / (2700.0 * per_radian) - 1.0).abs() < 1e-12, "{shape} {bore}: {}", core.mass);
        // Simpson's rule in 4000 steps; the tube's closed form loses five digits to cancellation.
        assert!((core.shape / shape_factor - 1.0).abs() < 1e-9, "{shape} {bore}: {} {shape_factor}", core.shape);
        let beyond = (axis - mean) / mean;
        assert!((core.axis - beyond).abs() < 1e-9, "{shape} {bore}: {} {beyond}", core.axis);
        assert_eq!(core.contact, 1500.0);
    }
}

#[test]
fn a_core_is_lumped_where_its_parabola_is_good_to_a_quarter_of_the_accuracy() {
    let case = wire("round", "0 mm");
    let radii = shrink::radii(&case).unwrap();
    let die: Vec<Celsius> = (0..3).map(|index| case.die_temperature(index)).collect();
    let tables: Vec<Enthalpy> =
        case.layers.iter().zip(&die).map(|(layer, &die)| Enthalpy::of_layer(layer, &Law::uniform(0.0), die)).collect();
    let times = Times { earliest: 1.0, first_report: 0.7, front: f64::INFINITY };
    // 0.008 dT x^1.5 with x = r^2/(14.7 alpha t): 180 K between 20 and 200 degC, alpha 200/(2700 x 900).
    let x = 1.5e-3f64.powi(2) / (14.7 * 200.0 / (2700.0 * 900.0) * 0.7);
    let error = 0.008 * 180.0 * x.powf(1.5);
    let lumped = |case: &Case, accuracy: f64| lump_core(case, &radii, &tables, &die, times, accuracy);
    assert!(lumped(&case, 4.0 * error * 1.01));
    assert!(!lumped(&case, 4.0 * error * 0.99));
    let mut plastic = case.clone();
    plastic.layers[0].material.kind = Kind::Plastic;
    assert!(!lumped(&plastic, 1.0));
    let mut bare = case.clone();
    bare.layers.truncate(1);
    assert!(!lumped(&bare, 1.0));
}

#[test]
fn interval_sizes_are_those_of_the_rule() {
    let case = wire("round", "1.3 mm");
    let radii = shrink::radii(&case).unwrap();
    let die: Vec<Celsius> = (0..3).map(|index| case.die_temperature(index)).collect();
    let tables: Vec<Enthalpy> =
        case.layers.iter().zip(&die).map(|(layer, &die)| Enthalpy::of_layer(layer, &Law::uniform(0.0), die)).collect();
    let times = Times { earliest: 0.3, first_report: 0.7, front: f64::INFINITY };
    let c = 1.2;
    let [metal, plain, peaked] = [0, 1, 2].map(|index| sizing(&case, &radii, &tables, &die, times, (c, false), index));
    let near = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-9, "{found} {expected}");
    // alpha t at the die and, beside a peak, at the smallest diffusivity of the curve.
    let (alpha_metal, alpha_plain): (f64, f64) = (200.0 / (2700.0 * 900.0), 0.2 / (1300.0 * 1600.0));
    let (alpha_die, alpha_peak): (f64, f64) = (0.3 / (900.0 * 2400.0), 0.3 / (900.0 * 9000.0));
    // A bore asks for half its radius, a quarter of its diameter.
    near(metal.inner, 0.5 * c * 0.65e-3);
    near(metal.outer, 0.45 * c * (alpha_metal * 0.7).sqrt());
    near(plain.inner, 0.45 * c * (alpha_plain * 0.7).sqrt());
    near(plain.outer, 0.45 * c * 0.35 * (alpha_plain * 0.7).sqrt());
    near(peaked.inner, 0.45 * c * 0.35 * (alpha_peak * 0.7).sqrt());
    near(peaked.outer, 0.65 * c * 0.5 * (alpha_die * 0.3).sqrt());
    near(plain.growth, 0.35 * c);
    near(peaked.growth, 0.35 * 0.35 * c);
    near(peaked.largest, 2e-3 * c / 18.0);
    assert!(plain.largest.is_infinite());
    // A run by the rule alone is coarser away from the faces of a peaked layer, and there only.
    let [plain_alone, alone] = [1, 2].map(|index| sizing(&case, &radii, &tables, &die, times, (c, true), index));
    assert_eq!((plain_alone, alone.inner, alone.outer), (plain, peaked.inner, peaked.outer));
    near(alone.growth, 0.35 * 0.5 * c);
    near(alone.largest, 2e-3 * c / 22.0);
    // A freezing front near the surface is resolved to a sixth of its depth, down to 0.35 of the size by time; nothing else changes.
    let by_time = peaked.outer;
    for (front, outer) in [(4.0, 4.0 / 6.0), (3.0, 0.5), (1.0, 0.35), (0.0, 0.35), (f64::INFINITY, 1.0)] {
        let times = Times { front: front * by_time / c, ..times };
        let [plain_too, found] = [1, 2].map(|index| sizing(&case, &radii, &tables, &die, times, (c, false), index));
        near(found.outer, outer * by_time);
        assert_eq!(
            (found.inner, found.growth, found.largest, plain_too),
            (peaked.inner, peaked.growth, peaked.largest, plain)
        );
    }
    // A peak counts on both sides of its joint, whichever layer it is in.
    let mut swapped = case.clone();
    let [inner, outer] = [1, 2].map(|index| case.layers[index].material.clone());
    (swapped.layers[1].material, swapped.layers[2].material) = (outer, inner);
    let tables_swapped: Vec<Enthalpy> = swapped
        .layers
        .iter()
        .zip(&die)
        .map(|(layer, &die)| Enthalpy::of_layer(layer, &Law::uniform(0.0), die))
        .collect();
    let outside = sizing(&swapped, &radii, &tables_swapped, &die, times, (c, false), 2);
    near(outside.inner, 0.45 * c * 0.35 * (alpha_plain * 0.7).sqrt());
    // An axis or a mid-plane asks for nothing, and neither does the gap of a flat product.
    for (shape, bore) in [("round", "0 mm"), ("flat", "0.8 mm")] {
        let case = wire(shape, bore);
        let sizing = sizing(&case, &shrink::radii(&case).unwrap(), &tables, &die, times, (c, false), 0);
        assert!(sizing.inner.is_infinite(), "{shape}");
    }
    // The width of a hollow product's first layer counts from the bore.
    let mut hose = case;
    hose.layers[0].material = hose.layers[2].material.clone();
    let largest = sizing(&hose, &radii, &tables, &die, times, (c, false), 0).largest;
    near(largest, (1.5e-3 - 0.65e-3) * c / 18.0);
}

#[test]
fn a_peak_rises_half_above_both_sides() {
    let peak = |values: &[f64]| {
        let points = values.iter().enumerate().map(|(i, &value)| [10.0 * i as f64, value]).collect();
        has_latent_peak(&Curve::new(points).unwrap())
    };
    assert!(peak(&[1.0, 1.6, 1.0]));
    assert!(peak(&[1.0, 1.2, 3.0, 1.9, 2.0]));
    assert!(!peak(&[1.0, 1.4, 1.0]));
    // A step, up or down, is no peak; nor is a first or last point.
    assert!(!peak(&[1.0, 2.0, 2.0, 2.1]));
    assert!(!peak(&[3.0, 1.0, 1.0]));
    assert!(!peak(&[1.0, 3.0]));
    assert!(!peak(&[1.0]));
    // Just the factor is not above it.
    assert!(!peak(&[2.0, 3.0, 2.0]));
}

#[test]
fn every_node_starts_as_its_layer() {
    let case = wire("round", "1.3 mm");
    let radii = shrink::radii(&case).unwrap();
    // An accuracy at which the core is meshed, so that its contact is a link.
    let times = Times { earliest: 0.3, first_report: 0.01, front: f64::INFINITY };
    let (slice, state) = slice(&case, &radii, times, Fineness { accuracy: 0.01, factor: 1.0, alone: false }).unwrap();
    let &(link, _) = slice.contacts.first().unwrap();
    assert_eq!(state[slice.vertices() + link], slice.tables[1].enthalpy(Celsius(200.0)));
    assert_eq!(state[link], slice.tables[0].enthalpy(Celsius(60.0)));
    assert_eq!(state[link + 1], slice.tables[1].enthalpy(Celsius(200.0)));
}
