//! Derivatives that the step uses, against differences of what they are derivatives of.
#![allow(clippy::unwrap_used)]

use super::{Drift, Field, Slice};
use crate::case::Case;
use crate::discretise::{self, Fineness, Times};
use crate::shrink;
use crate::step::Stepper;
use crate::surface::Surface;
use crate::units::Celsius;
use crate::vector::{Path, Plain};

/// A copper-like core that expands far more than a metal, a joint, a contact, curves that bend, a film against distance.
const CABLE: &str = r#"
title = "everything moves"
[line]
speed = "2 m/s"
[[layer]]
name = "core"
material = "metal"
diameter = "2 mm"
temperature = "90 degC"
contraction = "free"
[[layer]]
name = "inner"
material = "one"
diameter = "4 mm"
temperature = "180 degC"
contact = "900 W/(m2 K)"
contraction = "free"
[[layer]]
name = "middle"
material = "two"
diameter = "6 mm"
temperature = "180 degC"
contact = "perfect"
contraction = "held"
[[layer]]
name = "outer"
material = "one"
diameter = "8 mm"
temperature = "180 degC"
contact = "500 W/(m2 K)"
contraction = "free"
[[section]]
name = "bath"
medium = "water"
length = "10 m"
temperature = "16 degC"
film = { distance = [["0 m", "900 W/(m2 K)"], ["5 m", "3400 W/(m2 K)"]] }
[material.metal]
kind = "metal"
conductivity = "390 W/(m K)"
heat_capacity = "386 J/(kg K)"
density = [["0 degC", "9000 kg/m3"], ["200 degC", "7500 kg/m3"]]
[material.one]
kind = "plastic"
conductivity = [["0 degC", "0.2 W/(m K)"], ["200 degC", "0.35 W/(m K)"]]
heat_capacity = [["0 degC", "1000 J/(kg K)"], ["200 degC", "2500 J/(kg K)"]]
density = [["0 degC", "1400 kg/m3"], ["200 degC", "1000 kg/m3"]]
[material.two]
kind = "plastic"
conductivity = [["0 degC", "0.4 W/(m K)"], ["90 degC", "0.25 W/(m K)"], ["200 degC", "0.3 W/(m K)"]]
heat_capacity = [["0 degC", "1800 J/(kg K)"], ["90 degC", "3000 J/(kg K)"], ["200 degC", "2300 J/(kg K)"]]
density = [["0 degC", "950 kg/m3"], ["200 degC", "720 kg/m3"]]
"#;

/// The cable's slice with a bent profile, hot inside and half cooled at the surface.
fn cable(flat: bool) -> (Case, Slice, Vec<f64>) {
    let shape = if flat { "\n[solver]\nshape = \"flat\"\n" } else { "" };
    let case = crate::input::read(&format!("{CABLE}{shape}")).unwrap();
    let radii = shrink::radii(&case).unwrap();
    let times = Times { earliest: 0.5, first_report: 2.0 };
    let (slice, mut state) = discretise::slice(&case, &radii, times, Fineness { accuracy: 0.01, factor: 1.0 }).unwrap();
    let all = slice.coordinate.iter().copied().fold(0.0, f64::max);
    for (node, inside) in slice.coordinate.iter().enumerate() {
        let share = inside / all;
        // The contact's outer side is cooler by a jump.
        let outside = slice
            .contacts
            .iter()
            .any(|&(link, _)| if node < slice.vertices() { node > link } else { node >= slice.vertices() + link });
        let temperature = 130.0 - 20.0 * share - 53.0 * share.powi(3) - if outside { 13.0 } else { 0.0 };
        state[node] = slice.tables[slice.table_of[node]].enthalpy(Celsius(temperature));
    }
    state[slice.core_index()] = slice.tables[0].enthalpy(Celsius(140.0));
    assert!(slice.core.is_some() && slice.joints.len() == 1 && slice.contacts.len() == 1);
    (case, slice, state)
}

fn fields(slice: &Slice, state: &[f64]) -> Field {
    let mut field = Field::new(slice);
    field.update(slice, state);
    field
}

#[test]
fn kappas_are_the_slopes_of_the_potential() {
    let (_, slice, state) = cable(false);
    let field = fields(&slice, &state);
    let (mut outer, mut inner) = (vec![0.0; slice.room()], vec![0.0; slice.link_room()]);
    field.kappas::<Plain>(&slice, &mut outer, &mut inner);
    let shift = |share: f64| -> Field {
        let moved: Vec<f64> = state.iter().zip(&field.capacity).map(|(h, c)| h + share * c).collect();
        fields(&slice, &moved)
    };
    // Central differences over 0.02 K: the third derivative leaves less than 1e-9 of curves that bend over 100 K.
    let (up, down) = (shift(0.01), shift(-0.01));
    for (j, kappa) in outer.iter().take(slice.nodes()).enumerate() {
        let slope = (up.potential[j] - down.potential[j]) / (up.temperature[j] - down.temperature[j]);
        assert!((slope / kappa - 1.0).abs() < 3e-9, "node {j}: {slope} and {kappa}");
    }
    for (v, kappa) in inner.iter().take(slice.vertices()).enumerate() {
        let slope = (up.potential_in[v] - down.potential_in[v]) / (up.temperature[v] - down.temperature[v]);
        assert!((slope / kappa - 1.0).abs() < 3e-9, "vertex {v}: {slope} and {kappa}");
    }
}

#[test]
fn drift_is_the_change_of_the_rates_by_geometry_and_film() {
    // A flat product's conductances do not change: its nodes keep their mass, and the area its width.
    [false, true].into_iter().for_each(drift_by_differences);
}

fn drift_by_differences(flat: bool) {
    let (case, slice, state) = cable(flat);
    let surface = Surface::new(&case.sections[0], case.shape, case.line_speed, 8e-3);
    let (mut field, distance) = (fields(&slice, &state), 1.7);
    let mut rates = vec![0.0; slice.room()];
    field.rates::<Plain>(&slice, &surface, distance, &mut rates);
    let mut drift = vec![0.0; slice.room()];
    field.drift::<Plain>(&slice, &surface, distance, &rates, &mut Drift::new(&slice), &mut drift);
    // The rates of the old temperatures in the geometry and at the place of `dt` later; the core's shrink is left out.
    let later = |dt: f64| {
        let mut moved = state.clone();
        for (node, mass) in slice.mass.iter().enumerate() {
            moved[node] += dt * rates[node] / mass;
        }
        let mut there = fields(&slice, &moved);
        there.temperature.clone_from(&field.temperature);
        there.potential.clone_from(&field.potential);
        there.potential_in.clone_from(&field.potential_in);
        there.core_conductance = field.core_conductance;
        let mut out = vec![0.0; slice.room()];
        there.rates::<Plain>(&slice, &surface, distance + dt * surface.speed(), &mut out);
        out
    };
    let dt = 1e-4;
    let (after, before) = (later(dt), later(-dt));
    let differences: Vec<f64> = after.iter().zip(&before).map(|(a, b)| (a - b) / (2.0 * dt)).collect();
    for (j, (drift, difference)) in drift.iter().zip(&differences).take(slice.unknowns()).enumerate() {
        // Central differences over 0.1 ms of changes that take seconds.
        assert!((drift - difference).abs() < 5e-7 * drift.abs() + 1e-10, "unknown {j}: {drift} and {difference}");
    }
    assert!(drift[slice.heat_index()].abs() > 0.01 * rates[slice.heat_index()].abs(), "the film must move");
}

#[test]
fn every_path_gives_the_same_bits() {
    for flat in [false, true] {
        let (case, slice, state) = cable(flat);
        let surface = Surface::new(&case.sections[0], case.shape, case.line_speed, 8e-3);
        // Steps that grow from microseconds to a second, so that nodes cross their segments.
        let march = |path: Path| -> Vec<u64> {
            let mut stepper = Stepper::new(slice.clone(), state.clone()).on(path);
            let (mut distance, mut dt) = (0.0, 1e-5);
            let mut bits = Vec::new();
            for _ in 0..40 {
                stepper.begin(&surface, distance);
                bits.push(stepper.attempt(&surface, distance, dt).to_bits());
                stepper.accept();
                bits.extend(stepper.state.iter().map(|x| x.to_bits()));
                (distance, dt) = (distance + dt * case.line_speed, 1.3 * dt);
            }
            bits
        };
        let plain = march(Path::Scalar);
        for path in [Path::Avx512, Path::Avx2].into_iter().filter(|path| path.runs_here()) {
            assert!(march(path) == plain, "{path:?}");
        }
    }
}

#[test]
fn a_core_conducts_by_its_conductivity_whatever_its_size() {
    let (_, slice, state) = cable(false);
    let field = fields(&slice, &state);
    let core = slice.core.unwrap();
    // Solid and round: 4 k from the mean to the face; the cubics of the area leave 1e-9.
    assert!((field.core_inside / (4.0 * 390.0) - 1.0).abs() < 1e-7, "{}", field.core_inside);
    assert!((field.core_area() - 1.0).abs() > 1e-2, "the core must have moved");
    let series = 1.0 / (1.0 / field.core_inside + 1.0 / (field.vertex_radius(0) * 900.0));
    assert!((field.core_conductance / series - 1.0).abs() < 1e-14);
    assert_eq!(core.contact, 900.0);
}
