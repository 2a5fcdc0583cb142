//! The needed length against closed form, against marches on both sides of it, and where there is none.
#![allow(clippy::unwrap_used)]

use super::{LengthError, Needed, Reason, displaced, needed, needed_as, needed_near, trough_length, with_length};
use crate::case::{CaseFile, Limit, Plant, Quantity};
use crate::march::march;
use crate::study::search::confirm::Asked;
use crate::units::Celsius;

fn case(name: &str) -> CaseFile {
    let path = format!("{}/../cases/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let case = crate::file::read(&std::fs::read_to_string(path).unwrap()).unwrap();
    // What the plant allows is each test's own.
    CaseFile { plant: Plant::default(), ..case }
}

fn limited(mut case: CaseFile, station: &str, quantity: Quantity, max: f64) -> CaseFile {
    for station in case.stations.iter_mut().filter(|known| known.name == station) {
        station.limits.push(Limit { quantity, max: Celsius(max) });
    }
    case
}

/// Largest excess over any limit with a trough of this length.
fn excess(case: &CaseFile, length: f64) -> f64 {
    let solution = march(&with_length(case, length).unwrap()).unwrap();
    let margins = solution.stations.iter().flat_map(|station| &station.limits);
    margins.map(|limit| -limit.margin).fold(f64::NEG_INFINITY, f64::max)
}

/// It is met there and not a little before.
fn is_shortest(case: &CaseFile, needed: &Needed) {
    assert!(excess(case, needed.length) <= 0.0, "{}", needed.length);
    // The search is as exact as a solve by the rule: its tolerance over the slope, and its own width.
    let before = 0.995 * needed.length;
    assert!(excess(case, before) > 0.0, "{} does as well as {}", before, needed.length);
    let solution = &needed.built.solution;
    assert!(solution.stations.iter().flat_map(|s| &s.limits).all(|limit| limit.met));
}

/// A metal bar in water cools as one body: L = v rho c R/(2 h) ln((T0 - Tw)/(T - Tw)).
#[test]
fn a_lumped_body_needs_the_length_of_the_exponential() {
    let text = r#"
        line.speed = "60 m/min"
        [[layer]]
        name = "bar"
        material = "metal"
        diameter = "2 mm"
        temperature = "120 degC"
        [[section]]
        name = "trough"
        medium = "water"
        length = "3 m"
        temperature = "20 degC"
        film = "1000 W/(m2 K)"
        [[station]]
        name = "end"
        after = "trough"
        core_max = "45 degC"
        surface_max = "60 degC"
        [material.metal]
        kind = "metal"
        conductivity = "2000 W/(m K)"
        heat_capacity = "400 J/(kg K)"
        density = "9 g/cm3"
        [solver]
        geometry = "fixed"
    "#;
    let case = crate::file::read(text).unwrap();
    let answer = needed(&case).unwrap();
    for (limit, exact) in answer.limits.iter().zip([60f64, 45.0].map(|max| 1.8 * libm::log(100.0 / (max - 20.0)))) {
        let found = limit.length.unwrap();
        // Biot number h R/k = 5e-4: the core lags and the rate falls by less than half of it; the solver adds 1e-4 of 100 K.
        assert!((found / exact - 1.0).abs() < 6e-4, "{}: {found} for {exact}", limit.ceiling.name);
        assert!((limit.asymptote - 20.0).abs() < 0.05);
    }
    assert_eq!(answer.limits[answer.deciding.unwrap()].ceiling.name, "end.core");
    is_shortest(&case, &answer);
}

#[test]
fn the_answer_is_met_there_and_not_before() {
    for (name, deciding) in [("house-wire", "capstan.core"), ("thick-pe-core", ""), ("multi-pass-wire", "capstan.core")]
    {
        let mut case = case(name);
        let wet = (0..case.sections.len()).filter(|&index| case.sections[index].medium.is_water());
        case.plant.adjustable = wet.collect();
        let answer = needed(&case).unwrap();
        is_shortest(&case, &answer);
        let found = &answer.limits[answer.deciding.unwrap()];
        assert!(deciding.is_empty() || found.ceiling.name == deciding, "{name}: {}", found.ceiling.name);
        assert_eq!(answer.limits.iter().filter_map(|limit| limit.length).fold(0.0, f64::max), answer.length);
    }
}

/// A station without limits, three passes from the end, is no part of the question: a shorter trough puts it at the die.
#[test]
fn a_station_without_limits_does_not_hold_a_trough_long() {
    let mut case = case("multi-pass-wire");
    case.line_speed = 4.0;
    let answer = needed(&case).unwrap();
    assert!(answer.length < 4.0 && answer.deciding.is_some(), "{}", answer.length);
    assert_eq!(displaced(&case, &answer.built.case), ["after the third pass"]);
    assert_eq!(answer.built.solution.stations[1].distance, 0.0);
}

/// A cold laid-up core first warms, so that a short trough meets a limit that longer ones violate: the last crossing counts.
#[test]
fn a_limit_that_short_troughs_meet_by_chance_does_not_count() {
    let case = limited(case("three-core-jacket"), "capstan", Quantity::Core, 32.0);
    let given = trough_length(&case).unwrap();
    let answer = needed(&case).unwrap();
    assert!(excess(&case, given) > 0.0 && excess(&case, given / 8.0).is_finite());
    let core = answer.limits.iter().find(|limit| limit.ceiling.name == "capstan.core").unwrap();
    let short = march(&with_length(&case, given / 8.0).unwrap()).unwrap();
    let at_capstan = short.stations.iter().find(|station| station.name == "capstan").unwrap();
    assert!(at_capstan.point.core < 32.0, "the short trough was meant to meet it: {}", at_capstan.point.core);
    assert!(core.length.unwrap() > given, "{core:?}");
    is_shortest(&case, &answer);
}

#[test]
fn no_length_is_said_with_limit_and_asymptote() {
    let no_length = |case: &CaseFile| match needed(case).unwrap_err() {
        LengthError::NoLength { worst, limits, .. } => limits[worst].clone(),
        other => panic!("{other}"),
    };
    let cold = no_length(&limited(case("house-wire"), "capstan", Quantity::Equalised, 15.0));
    assert_eq!(
        (cold.ceiling.name.as_str(), &cold.reason, cold.length),
        ("capstan.equalised", &Reason::Asymptote, None)
    );
    // The wire leaves endless water at 16 degC and warms a little in the air behind it.
    let endless = march(&with_length(&case("house-wire"), 2000.0).unwrap()).unwrap().stations[2].point.equalised;
    assert!(endless > 16.0 && (cold.asymptote - endless).abs() < 0.02, "{} for {endless}", cold.asymptote);
    let before = no_length(&limited(case("house-wire"), "hot gauge", Quantity::Surface, 120.0));
    assert_eq!((before.ceiling.name.as_str(), &before.reason), ("\"hot gauge\".surface", &Reason::Untouched));
    let always = limited(case("house-wire"), "hot gauge", Quantity::Surface, 190.0);
    let answer = needed(&always).unwrap();
    assert_eq!((answer.limits[0].length, &answer.limits[0].reason), (Some(0.0), &Reason::Untouched));
}

#[test]
fn whole_modules_and_what_the_plant_allows() {
    let mut case = case("house-wire");
    let bare = needed(&case).unwrap();
    assert!(bare.built.trough == bare.length && bare.built.plant.is_empty());
    case.plant.module = Some(3.0);
    case.plant.hall_max = Some(40.0);
    case.plant.chiller_max = Some(1e5);
    case.plant.compound_max = Some(1.0);
    let built = needed(&case).unwrap().built;
    assert_eq!(built.trough, 3.0 * (bare.length / 3.0).ceil());
    assert_eq!(built.case.sections[1].length, built.trough);
    let value = |name: &str| built.plant.iter().find(|(ceiling, _)| ceiling.name == name).unwrap().1;
    assert!((value("plant.hall_max") - (built.trough + 1.9)).abs() < 1e-9);
    assert_eq!(value("plant.chiller_max"), built.solution.chiller_duty);
    assert_eq!(value("plant.compound_max"), built.solution.throughput[1].kg_per_h / 3600.0);
    for (name, set) in [
        ("plant.hall_max", (|case: &mut CaseFile| case.plant.hall_max = Some(20.0)) as fn(&mut CaseFile)),
        ("plant.chiller_max", |case| case.plant.chiller_max = Some(100.0)),
        ("plant.compound_max", |case| case.plant.compound_max = Some(1e-3)),
    ] {
        let mut tight = case.clone();
        set(&mut tight);
        let LengthError::OverCeiling(refused) = needed(&tight).unwrap_err() else { panic!("{name} was not refused") };
        let over: Vec<&str> = refused.built.over().iter().map(|(ceiling, _)| ceiling.name.as_str()).collect();
        assert_eq!(over, [name]);
    }
}

#[test]
fn several_sections_share_the_growth_in_proportion() {
    let mut case = case("house-wire");
    let mut second = case.sections[1].clone();
    second.name = "second trough".to_string();
    second.length = 6.0;
    case.sections.insert(2, second);
    for station in &mut case.stations {
        station.after += usize::from(station.after == 2);
    }
    assert!(matches!(needed(&case).unwrap_err(), LengthError::NothingGrows { known } if known.len() == 2));
    case.plant.adjustable = vec![1, 2];
    let answer = needed(&case).unwrap();
    let [first, second] = answer.built.lengths[..] else { panic!() };
    assert!((first / second - 3.0).abs() < 1e-12 && (first + second - answer.length).abs() < 1e-12);
    is_shortest(&case, &answer);
    case.plant.adjustable = vec![2];
    let alone = needed(&case).unwrap();
    assert_eq!(alone.built.case.sections[1].length, 18.0);
}

#[test]
fn from_a_neighbour_the_same_is_found_with_less_work() {
    let mut case = case("house-wire");
    let far = needed(&case).unwrap();
    for guess in [0.9 * far.length, far.length, 1.2 * far.length] {
        let near = needed_near(&case, guess).unwrap();
        assert!((near.length / far.length - 1.0).abs() < 1e-3, "{} {}", near.length, far.length);
        assert_eq!(near.deciding, far.deciding);
        assert!(2 * near.solves <= far.solves, "{} of {} solves", near.solves, far.solves);
    }
    // A guess that is no use costs work, not truth.
    for guess in [0.5, 500.0, f64::NAN] {
        assert!((needed_near(&case, guess).unwrap().length / far.length - 1.0).abs() < 1e-3);
    }
    case.stations.iter_mut().for_each(|station| station.limits.clear());
    assert!(matches!(needed(&case).unwrap_err(), LengthError::NoLimits));
}

/// A longer warm trough leaves less melt under the skin that closes: the length whose melt shrink is the limit is found again.
#[test]
fn the_melt_under_the_skin_may_decide() {
    let mut case = crate::file::read(include_str!("../../../../cases/thick-pe-core.toml")).unwrap();
    case.sections[1].temperature = Celsius(90.0);
    case.plant.adjustable = vec![1];
    let at = |length: f64| march(&with_length(&case, length).unwrap()).unwrap().skins[0].melt_shrink.unwrap();
    let (allowed, shorter) = (at(4.0), at(3.0));
    assert!(shorter > allowed + 0.1, "{shorter} {allowed}");
    let needed = needed(&bearing(&case, allowed)).unwrap();
    let decides = &needed.limits[needed.deciding.unwrap()];
    assert_eq!((decides.ceiling.name.as_str(), &decides.reason), ("insulation.melt_shrink", &Reason::Crossing));
    // 0.3 percent for a metre, known to a hundredth of a percent.
    assert!((needed.length - 4.0).abs() < 0.05, "{}", needed.length);
    assert!(needed.built.solution.skins[0].melt_shrink.unwrap() <= allowed && needed.built.plant.is_empty());
    // The uncertainty of the inputs moves it to both sides, or leaves no length on one.
    let asked = Asked { range: true, ..Asked::default() };
    let range = needed_as(&bearing(&case, allowed), asked).unwrap().range.unwrap();
    assert!(range.favourable.is_none_or(|length| length < needed.length - 0.1), "{range:?}");
    assert!(range.unfavourable.is_none_or(|length| length > needed.length + 0.1), "{range:?}");
    assert!(!range.largest.is_empty(), "{range:?}");
    // Less than any length of it leaves.
    let error = super::needed(&bearing(&case, 1.0)).unwrap_err();
    let LengthError::NoLength { worst, limits, .. } = error else { panic!("{error:?}") };
    assert_eq!(limits[worst].ceiling.name, "insulation.melt_shrink");
}

fn bearing(case: &CaseFile, percent: f64) -> CaseFile {
    let mut case = case.clone();
    case.layers[1].melt_shrink_max = Some(percent);
    case
}
