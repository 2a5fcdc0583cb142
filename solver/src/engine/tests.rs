//! One lane and eight, on every path, and the looks at their states.
#![allow(clippy::unwrap_used)]

use super::bundle::Structure;
use super::{Bundle, Eight, Field, One, Path, Row, View, accept, attempt, fields, surround};
use crate::case::Case;
use crate::case::shrink;
use crate::slice::Slice;
use crate::slice::build::{self, Fineness, Times};
use crate::units::Celsius;

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
    cable_of(CABLE, flat)
}

fn cable_of(text: &str, flat: bool) -> (Case, Slice, Vec<f64>) {
    let shape = if flat { "\n[solver]\nshape = \"flat\"\n" } else { "" };
    let case = crate::file::read(&format!("{text}{shape}")).unwrap();
    let radii = shrink::radii(&case).unwrap();
    let times = Times { earliest: 0.5, first_report: 2.0, front: f64::INFINITY };
    let fineness = Fineness { accuracy: 0.01, factor: 1.0, alone: false };
    let (slice, mut state) = build::slice(&case, &radii, times, fineness).unwrap();
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
    (case.case, slice, state)
}

/// A lane's numbers in steps that grow from microseconds to a second, so that nodes cross their segments.
fn march<R: Row>(path: Path, lane: usize, flat: bool) -> Vec<u64> {
    let (case, slice, state) = cable(flat);
    let surface = case.sections[0].surface(case.shape, case.line_speed, 8e-3);
    let mut bundle: Bundle<R> = Bundle::new(path, Structure::of(&slice));
    for lane in 0..R::LANES {
        bundle.fill(lane, &slice, &state);
        bundle.surround(lane, surface);
    }
    let (mut distance, mut dt) = (0.0, 1e-5);
    let mut bits = Vec::new();
    for _ in 0..40 {
        // The neighbours take other steps, and keep none of them.
        let mut taken = R::all(0.0);
        taken[lane] = 1.0;
        bundle.ends.step = R::all(0.4 * dt);
        bundle.ends.step[lane] = dt;
        bundle.ends.distance[lane] = distance;
        fields(&mut bundle);
        surround(&mut bundle);
        attempt(&mut bundle);
        bits.push(bundle.ends.error[lane].to_bits());
        accept(&mut bundle, &taken);
        let view = View::new(&bundle, lane);
        bits.extend(view.state().iter().map(|x| x.to_bits()));
        bits.push(view.inside(3, 0.3).to_bits());
        (distance, dt) = (distance + dt * case.line_speed, 1.3 * dt);
    }
    bits
}

#[test]
fn alone_and_in_any_lane_on_every_path_the_same_bits() {
    for flat in [false, true] {
        let alone = march::<One>(Path::Scalar, 0, flat);
        assert!(march::<One>(Path::Single, 0, flat) == alone, "alone");
        for path in [Path::Avx512, Path::Avx2, Path::Scalar].into_iter().filter(|path| path.runs_here()) {
            for lane in [0, 5] {
                assert!(march::<Eight>(path, lane, flat) == alone, "{path:?}, lane {lane}");
            }
        }
    }
}

/// Forty steps of eight times the same case; `before` sees the bundle before each attempt. Errors and states.
fn eight_marched(case: &Case, slice: &Slice, state: &[f64], mut before: impl FnMut(&mut Bundle<Eight>)) -> Vec<u64> {
    let mut bundle: Bundle<Eight> = Bundle::new(Path::best(), Structure::of(slice));
    (0..8).for_each(|lane| bundle.fill(lane, slice, state));
    (0..8).for_each(|lane| bundle.surround(lane, case.sections[0].surface(case.shape, case.line_speed, 8e-3)));
    bundle.ends.reach = Eight::all(1.3);
    let mut bits = Vec::new();
    for step in 0..40 {
        bundle.ends.step = Eight::all(1e-4 * 1.3f64.powi(step));
        fields(&mut bundle);
        surround(&mut bundle);
        before(&mut bundle);
        attempt(&mut bundle);
        bits.push(bundle.ends.error[3].to_bits());
        accept(&mut bundle, &Eight::all(1.0));
        bits.extend(View::new(&bundle, 3).state().iter().map(|x| x.to_bits()));
    }
    bits
}

/// Where a heat capacity changes little, the forecast needs no secant: the bits are those with one.
#[test]
fn calm_segments_have_the_bits_of_secants() {
    let (start, end) = (CABLE.find("[material.one]").unwrap(), CABLE.find("[material.two]").unwrap());
    let peak = "[material.one]\nkind = \"plastic\"\nconductivity = \"0.2 W/(m K)\"\ndensity = \"1300 kg/m3\"\n\
                heat_capacity = [[\"20 degC\", \"1500 J/(kg K)\"], [\"80 degC\", \"1600 J/(kg K)\"], [\"90 degC\", \"2600 J/(kg K)\"], \
                [\"105 degC\", \"9000 J/(kg K)\"], [\"115 degC\", \"2000 J/(kg K)\"], [\"220 degC\", \"2300 J/(kg K)\"]]\n";
    let text = [&CABLE[..start], peak, &CABLE[end..]].concat();
    let (case, slice, state) = cable_of(&text, false);
    let march = |secants: bool| {
        let mut short = [0; 2];
        let bits = eight_marched(&case, &slice, &state, |bundle| {
            let forecasts = bundle.forecasts.iter_mut().filter(|forecast| forecast.any);
            forecasts.for_each(|forecast| {
                if secants {
                    forecast.calm = 0;
                }
                short[usize::from(forecast.calm != 0)] += 1;
            });
        });
        (bits, short)
    };
    let ((short_way, [steep, calm]), (long_way, [_, none])) = (march(false), march(true));
    assert!(steep > 30 && calm > 30 && none == 0, "{steep} {calm} {none}");
    assert!(short_way == long_way);
}

/// Where the properties of a layer are constant, the short way through them gives the bits of the long one.
#[test]
fn constant_properties_have_the_bits_of_curves() {
    let (start, end) = (CABLE.find("[material.one]").unwrap(), CABLE.find("[material.two]").unwrap());
    let constant = "[material.one]\nkind = \"plastic\"\nconductivity = \"0.2 W/(m K)\"\nheat_capacity = \"1500 J/(kg K)\"\n\
                    density = \"1300 kg/m3\"\n";
    let text = [&CABLE[..start], constant, &CABLE[end..]].concat();
    let (case, slice, state) = cable_of(&text, false);
    let march = |long: bool| {
        let mut short = 0;
        let bits = eight_marched(&case, &slice, &state, |bundle| {
            if long {
                bundle.lanes.curved = [u8::MAX; 2];
                bundle.cells.iter_mut().for_each(|cell| cell.curved = [u8::MAX; 2]);
            }
            short += bundle.cells.iter().flat_map(|cell| cell.curved).filter(|&curved| curved == 0).count();
        });
        (bits, short)
    };
    let ((short_way, constant), (long_way, none)) = (march(false), march(true));
    // The two layers of the material, but for their joint with the middle one and the vertex at the core.
    let nodes = slice.table_of.iter().filter(|&&table| table == 1 || table == 3).count();
    assert!(constant >= 40 * (nodes - 1) && nodes > 4 && none == 0, "{constant} {nodes} {none}");
    assert!(short_way == long_way);
}

/// What is looked at in a kept state is what the march had there.
#[test]
fn a_look_at_a_state_shows_the_bits_of_the_march() {
    for flat in [false, true] {
        let (case, slice, state) = cable(flat);
        let mut bundle: Bundle<One> = Bundle::new(Path::Single, Structure::of(&slice));
        bundle.fill(0, &slice, &state);
        bundle.surround(0, case.sections[0].surface(case.shape, case.line_speed, 8e-3));
        fields(&mut bundle);
        let (view, field) = (View::new(&bundle, 0), Field::of(&slice, &state));
        for (node, temperature) in field.temperature.iter().enumerate() {
            let idle = slice.contacts.iter().any(|&(link, _)| node == slice.vertices() + link);
            assert!(idle || view.temperature(node) == *temperature, "node {node}");
        }
        assert_eq!(view.core(), field.core_temperature);
        assert_eq!(view.core_conductances(), [field.core_conductance, field.core_inside]);
        assert_eq!(view.surface_square().sqrt(), field.surface_radius());
        assert_eq!(view.state(), state);
    }
}

#[test]
fn a_core_conducts_by_its_conductivity_whatever_its_size() {
    let (_, slice, state) = cable(false);
    let field = Field::of(&slice, &state);
    // Solid and round: 4 k from the mean to the face; the cubics of the area leave 1e-9.
    assert!((field.core_inside / (4.0 * 390.0) - 1.0).abs() < 1e-7, "{}", field.core_inside);
    assert!((field.core_area() - 1.0).abs() > 1e-2, "the core must have moved");
    let series = 1.0 / (1.0 / field.core_inside + 1.0 / (field.vertex_radius(0) * 900.0));
    assert!((field.core_conductance / series - 1.0).abs() < 1e-14);
    assert_eq!(slice.core.unwrap().contact, 900.0);
}

#[test]
fn step_factors_follow_the_fourth_root() {
    let (case, slice, mut state) = cable(false);
    let mut factor = |share: f64, broken: bool| {
        state[3] = if broken { f64::NAN } else { state[3] };
        let mut bundle: Bundle<One> = Bundle::new(Path::Single, Structure::of(&slice));
        bundle.fill(0, &slice, &state);
        bundle.surround(0, case.sections[0].surface(case.shape, case.line_speed, 8e-3));
        fields(&mut bundle);
        surround(&mut bundle);
        bundle.ends.step[0] = 0.05;
        attempt(&mut bundle);
        let error = bundle.ends.error[0];
        bundle.ends.allowed[0] = error / share;
        attempt(&mut bundle);
        bundle.ends.factor[0]
    };
    assert!((factor(1.0, false) - 0.9).abs() < 1e-14);
    assert!((factor(1.0 / 16.0, false) - 1.8).abs() < 1e-14);
    assert_eq!([factor(1e9, false), factor(1e-9, false), factor(1.0, true)], [0.15, 6.0, 0.15]);
}

/// A product of one node cools as e^(-h A t/(m c)): nothing conducts, the surface is the node.
#[test]
fn a_product_of_one_node_cools_by_its_film_alone() {
    let (case, slice, _) = cable(false);
    let tables = slice.tables.clone();
    let one = Slice {
        flat: true,
        moving: false,
        inner: 1.0,
        table_of: vec![0],
        mass: vec![2.0],
        coordinate: vec![0.0],
        link_mass: Vec::new(),
        link_density: Vec::new(),
        contacts: Vec::new(),
        joints: Vec::new(),
        core: None,
        layers: vec![Some((0, 0))],
        ..slice
    };
    let mut section = case.sections[0].clone();
    section.film = crate::film::Film::Given(50.0);
    let mut stepper = super::Stepper::new(one, &[tables[0].enthalpy(Celsius(90.0)), 0.0, 0.0]);
    let surface = section.surface(case.shape, 1.0, 8e-3);
    for _ in 0..50 {
        stepper.step(&surface, 0.0, 0.2);
    }
    let expected = 16.0 + (90.0 - 16.0) * libm::exp(-50.0 * 10.0 / (2.0 * 386.0));
    let found = stepper.temperatures()[0];
    // Order four in steps of a hundredth of the decay.
    assert!((found - expected).abs() < 1e-8, "{found} {expected}");
}
