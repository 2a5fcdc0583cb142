//! The set skin of a layer: its place, its rates and the melt under it against the exact series, and when it is warned of.

use crate::fixture;
use quenchway::case::warning::Warning;
use quenchway::case::{Case, Geometry, Medium, Shape, Size};
use quenchway::exact::{BodyCooling, BodyProblem, Properties};
use quenchway::film::Film;
use quenchway::march::march;
use quenchway::march::skins::{MOST_MELT_SHRINK, THICK_WALL};
use quenchway::march::solution::Skin;
use quenchway::march::solution::Solution;
use quenchway::material::Curve;
use quenchway::units::Celsius;
use quenchway_validation::random;

/// Half thickness or radius, m; die, medium and set temperature, degC.
const SIZE: f64 = 2e-3;
const DIE: f64 = 190.0;
const MEDIUM: f64 = 20.0;
const SET: f64 = 90.0;
/// Density at 0 degC and at 200 degC, kg/m3: what the melt loses is not small.
const DENSITIES: [f64; 2] = [1000.0, 800.0];

/// One plastic of constant conductivity, heat capacity and size in a bath, and its exact series.
fn body(shape: Shape) -> (Case, BodyCooling, Curve) {
    let density = Curve::new(vec![[0.0, DENSITIES[0]], [200.0, DENSITIES[1]]]).unwrap();
    let mut case = fixture::house_wire();
    (case.shape, case.geometry, case.line_speed, case.tolerance) = (shape, Geometry::Fixed, 0.5, 0.001);
    let mut layer = fixture::layer("slab", fixture::pvc(), 2.0 * SIZE, DIE);
    (layer.material.density, layer.material.set_temperature) = (density.clone(), Some(Celsius(SET)));
    case.layers = vec![layer];
    case.sections = vec![fixture::section("bath", Medium::Water, 20.0, MEDIUM)];
    case.sections[0].film = Film::Given(1500.0);
    // The mesh is made for the first place that is reported: one before anything sets.
    case.stations = vec![fixture::station("early", 0, -19.95, &[])];
    // Mass is what the scheme keeps: with fixed radii the diffusivity is that of the density at the die.
    let properties = Properties::new(0.17, density.at(Celsius(DIE)), 1500.0);
    let problem = BodyProblem { shape, size: SIZE, properties, film: 1500.0, start: DIE, medium: MEDIUM };
    (case.case, problem.solve().unwrap(), density)
}

/// When a place first cools to a temperature, s, by halving.
fn passes(exact: &BodyCooling, place: f64, level: f64) -> f64 {
    let (mut early, mut late) = (0.0, 100.0);
    for _ in 0..100 {
        let middle = 0.5 * (early + late);
        if exact.temperature(place, middle) > level { early = middle } else { late = middle }
    }
    early
}

#[test]
fn skins_agree_with_the_series_of_a_plate_and_a_rod() {
    for shape in [Shape::Flat, Shape::Round] {
        let (case, exact, density) = body(shape);
        let solution = march(&case).unwrap();
        let skin = &solution.skins[0];
        let closes = passes(&exact, 0.9 * SIZE, SET);
        let distance = closes * case.line_speed;
        let rate = |time: f64| {
            let h = 1e-4 * time;
            (exact.temperature(0.9 * SIZE, time - h) - exact.temperature(0.9 * SIZE, time + h)) / (2.0 * h)
        };
        // The error of the run, 0.001 K, over the cooling rate is the error of a time; twice that for the places between
        // nodes.
        let allowed = 0.002 / rate(closes) * case.line_speed;
        assert!((skin.distance.unwrap() - distance).abs() < allowed, "{shape:?}: {skin:?}, {distance} m, {allowed}");
        for (got, place) in [(skin.surface_rate, SIZE), (skin.mid_wall_rate, 0.5 * SIZE)] {
            // From 5 K above to 5 K below: 10 K, each end known to the error of the run and of a place between nodes, 0.002 K.
            let ends = [SET + 5.0, SET - 5.0].map(|level| passes(&exact, place, level));
            let expected = 10.0 / (ends[1] - ends[0]);
            assert!((got.unwrap() / expected - 1.0).abs() < 4e-4, "{shape:?} at {place}: {got:?} and {expected}");
        }
        // What is above the set temperature, ring by ring.
        const RINGS: usize = 20_000;
        let (mut lost, mut volume) = (0.0, 0.0);
        for ring in 0..RINGS {
            let place = (ring as f64 + 0.5) / RINGS as f64;
            let mass = if shape == Shape::Flat { 1.0 } else { place };
            let temperature = exact.temperature(place * SIZE, closes);
            let specific = 1.0 / density.at(Celsius(temperature));
            volume += mass * specific;
            lost += mass * (specific - 1.0 / density.at(Celsius(SET))).max(0.0);
        }
        let percent = 100.0 * lost / volume;
        // The kink at the edge of the melt lies within a sixteenth of an interval: measured 4e-6.
        assert!((skin.melt_shrink.unwrap() / percent - 1.0).abs() < 2e-5, "{shape:?}: {skin:?} and {percent} %");
    }
}

/// All melt but the skin: with a skin that is closed at once the fraction is that of the densities, by hand.
#[test]
fn melt_that_has_hardly_cooled_loses_the_whole_difference_of_densities() {
    let (mut case, _, density) = body(Shape::Flat);
    case.sections[0].film = Film::Given(1e5);
    let hot = 1.0 / density.at(Celsius(DIE));
    let most = 100.0 * (hot - 1.0 / density.at(Celsius(SET))) / hot;
    let got = march(&case).unwrap().skins[0].melt_shrink.unwrap();
    assert!(got < most && got > 0.6 * most, "{got} of {most} percent");
}

/// A face that is plunged far below its set temperature passes it sooner than any mesh made for a later report resolves.
#[test]
fn a_face_that_sets_as_it_enters_has_the_rate_that_is_resolved() {
    let (mut case, ..) = body(Shape::Round);
    case.sections.insert(0, fixture::section("air gap", Medium::Air, 1.0, 25.0));
    case.sections[1].film = Film::Given(2e4);
    case.stations = vec![fixture::station("late", 1, 0.0, &[])];
    let plunged = march(&case).unwrap().skins[0].clone();
    assert_eq!((plunged.surface_rate, plunged.set_at_entry()), (Some(plunged.resolved), Some("bath")), "{plunged:?}");
    assert!(plunged.mid_wall_rate.is_some());
    // 10 K in 0.42 of the second that the air gap takes: what is told is that, whatever the tolerance makes of the plunge.
    let gap = 1.0 / case.line_speed;
    assert!((plunged.resolved - 10.0 / (0.42 * gap)).abs() < 1e-9 * plunged.resolved, "{plunged:?} {gap}");
    // Cooled slowly, it has a rate and no such place.
    case.sections[1].film = Film::Given(100.0);
    let gentle = march(&case).unwrap().skins[0].clone();
    assert!(gentle.surface_rate.unwrap() < gentle.resolved && gentle.set_at_entry().is_none(), "{gentle:?}");
    assert_eq!(gentle.set_in.as_deref(), Some("bath"));
    // Between 5 K above and where the line ends there is no 10 K to take a mean over.
    let (mut short, ..) = body(Shape::Round);
    short.layers[0].material.set_temperature = Some(Celsius(short.sections[0].temperature.0 + 1.0));
    assert!(march(&short).unwrap().skins[0].surface_rate.is_none());
}

#[test]
fn a_layer_that_enters_solid_or_never_sets_has_no_skin() {
    let (mut case, ..) = body(Shape::Flat);
    let nothing = |solution: &Solution| solution.skins[0].distance.is_none() && solution.skins[0].melt_shrink.is_none();
    case.layers[0].material.set_temperature = Some(Celsius(195.0));
    assert!(nothing(&march(&case).unwrap()), "solid at the die");
    case.layers[0].material.set_temperature = Some(Celsius(15.0));
    assert!(nothing(&march(&case).unwrap()), "still melt");
    case.layers[0].material.set_temperature = None;
    assert!(march(&case).unwrap().skins.is_empty());
}

/// On random cases: a face sets before the skin under it closes, and that before the layer is set through.
#[test]
fn skins_close_before_layers_are_set_through() {
    let mut compared = 0;
    for seed in 1000..1030 {
        let mut case = random::case(seed);
        for index in 0..case.layers.len() {
            let die = case.die_temperature(index).0;
            let cold = case.sections.iter().map(|section| section.temperature.0).fold(die, f64::min);
            case.layers[index].material.set_temperature = Some(Celsius(0.4 * die + 0.6 * cold));
        }
        let solution = march(&case).unwrap();
        for skin in &solution.skins {
            let set_through = solution.set_through.iter().find(|set| set.layer == skin.layer).unwrap().distance;
            if let (Some(closes), Some(through)) = (skin.distance, set_through) {
                assert!(closes <= through * (1.0 + 1e-6), "seed {seed}: {closes} m and {through} m");
                assert!(skin.melt_shrink.unwrap() >= 0.0 && skin.melt_shrink.unwrap() < 50.0, "seed {seed}: {skin:?}");
                compared += 1;
            }
        }
    }
    assert!(compared > 15, "only {compared} skins");
}

fn thick_core(change: impl Fn(&mut Case)) -> (Skin, Option<f64>) {
    let mut case = quenchway::file::read(include_str!("../cases/thick-pe-core.toml")).unwrap();
    change(&mut case);
    let solution = march(&case).unwrap();
    let percent = solution.warnings.iter().find_map(|warning| match warning {
        Warning::VoidRisk { percent, layer, .. } => {
            assert_eq!((layer.as_str(), warning.kind()), ("insulation", "void_risk"));
            assert_eq!(warning.place(), "layer.insulation");
            Some(*percent)
        }
        _ => None,
    });
    (solution.skins[0].clone(), percent)
}

#[test]
fn a_thick_core_in_cold_water_is_warned_of_and_warm_water_helps() {
    let (cold, warned) = thick_core(|case| case.sections[1].temperature = Celsius(18.0));
    assert_eq!(warned, cold.melt_shrink);
    assert!(cold.melt_shrink.unwrap() > 100.0 * MOST_MELT_SHRINK, "{cold:?}");
    let (staged, _) = thick_core(|_| {});
    assert!(staged.melt_shrink < cold.melt_shrink && staged.distance > cold.distance, "{staged:?} {cold:?}");
    // A long first trough just below the set temperature keeps the skin open while the melt cools under it.
    let (gentle, warned) = thick_core(|case| {
        (case.sections[1].temperature, case.sections[1].length) = (Celsius(95.0), 40.0);
    });
    assert!(gentle.melt_shrink.unwrap() < 100.0 * MOST_MELT_SHRINK && warned.is_none(), "{gentle:?}");
    // A thin wall gives way however much it has to lose.
    let (thin, warned) = thick_core(|case| {
        case.layers[1].size = Size::Wall(0.9 * THICK_WALL);
        case.sections[1].temperature = Celsius(5.0);
    });
    assert!(thin.melt_shrink.unwrap() > 100.0 * MOST_MELT_SHRINK && warned.is_none(), "{thin:?}");
}

/// The scale that the report states: the cases of the program lie in it, and its ends are theirs to a tenth of a percent.
#[test]
fn the_scale_of_melt_shrink_is_that_of_the_cases() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    let scale = |pvc: bool| if pvc { [1.3, 3.3] } else { [8.6, 13.4] };
    let mut found: Vec<(bool, f64, String)> = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|end| end != "toml") {
            continue;
        }
        let case = quenchway::file::read(&std::fs::read_to_string(&path).unwrap()).unwrap();
        let solution = quenchway::march::march_by_rule(&case).unwrap();
        for layer in &case.layers {
            let melt = quenchway::march::skins::melt_shrink(&solution, &layer.name);
            found.extend(melt.map(|melt| (layer.material.name.starts_with("pvc"), melt, layer.material.name.clone())));
        }
    }
    assert!(found.len() >= 9, "{found:?}");
    for (pvc, melt, material) in &found {
        let [low, high] = scale(*pvc);
        assert!((low..=high).contains(melt), "{material}: {melt} %");
        assert!(*pvc || material.ends_with("pe"), "{material} is no polyethylene");
    }
    let ends = |pvc: bool| {
        let of = found.iter().filter(|(is, ..)| *is == pvc).map(|(_, melt, _)| *melt);
        of.fold([f64::INFINITY, 0.0_f64], |[low, high], melt| [low.min(melt), high.max(melt)])
    };
    for pvc in [true, false] {
        let ([low, high], [least, most]) = (scale(pvc), ends(pvc));
        assert!(least < low + 0.1 && most > high - 0.1, "{least} to {most} %, {low} to {high} % are stated");
    }
}
