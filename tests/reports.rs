//! The report's words: what is decided, what helps, and lines that fit the terminal.

use crate::fixture;
use quenchway::case::{CaseFile, Quantity};
use quenchway::march::solution::{Band, Cooling, Doubled, LimitedBy, Solution};
use quenchway::units::System;
use quenchway_cli::report::width;

/// The report without colours.
fn plain(case: &CaseFile, solution: &Solution, columns: usize) -> String {
    fixture::report(case, solution, System::Si, columns)
}

/// The report on one line, so that wrapping does not matter.
fn unwrapped(case: &CaseFile, solution: &Solution) -> String {
    plain(case, solution, 120).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn with_limits(limits: &[(Quantity, f64)]) -> (CaseFile, Solution) {
    let mut case = fixture::house_wire();
    case.stations[1] = fixture::station("capstan", 2, 0.0, limits);
    let solution = fixture::solution(&case);
    (case, solution)
}

#[test]
fn the_worst_limit_is_named_first_and_decides() {
    let (case, solution) = with_limits(&[(Quantity::Surface, 30.0), (Quantity::Core, 40.0), (Quantity::Mean, 90.0)]);
    let text = unwrapped(&case, &solution);
    let core = text.find("NOT MET: core at \"capstan\"").unwrap();
    let surface = text.find("NOT MET: surface at \"capstan\"").unwrap();
    assert!(core < surface, "{text}");
    assert_eq!(text.matches("this one decides").count(), 1);
    assert!(text[core..surface].contains("above its limit of 40 degC; this one decides"), "{text}");
    assert!(text.contains("1 other limit is met"), "{text}");
}

#[test]
fn limits_that_are_met_say_by_how_much() {
    let (case, solution) = with_limits(&[(Quantity::Surface, 60.0), (Quantity::Core, 90.0)]);
    let margins: Vec<f64> = solution.stations[1].limits.iter().map(|limit| limit.margin).collect();
    let least = margins.iter().copied().fold(f64::INFINITY, f64::min);
    let text = unwrapped(&case, &solution);
    assert!(text.contains("ALL LIMITS ARE MET"), "{text}");
    assert!(text.contains(&format!("{least:.1} K below its limit")), "{least}: {text}");
}

#[test]
fn a_case_without_limits_is_not_judged() {
    let (case, solution) = with_limits(&[]);
    let text = unwrapped(&case, &solution);
    assert!(text.contains("no limit is set") && !text.contains("MET"), "{text}");
    assert!(!text.contains("Limits station"), "an empty table is left out");
}

#[test]
fn a_margin_within_the_numerical_error_is_said() {
    let (case, mut solution) = with_limits(&[(Quantity::Core, 60.0)]);
    solution.stations[1].limits[0].margin = 0.001;
    solution.numerics.error = 0.004;
    assert!(unwrapped(&case, &solution).contains("within the numerical error of 0.0040 K"));
    solution.stations[1].limits[0].margin = 0.005;
    assert!(!unwrapped(&case, &solution).contains("within the numerical error"));
}

#[test]
fn what_limits_the_cooling_says_what_helps() {
    let (case, mut solution) = with_limits(&[]);
    for (by, worth, words) in [
        (LimitedBy::Plastic, 0.04, "The plastic limits the cooling: doubling the film is worth 4 % more trough."),
        (LimitedBy::MostlyPlastic, 0.21, "more flow or spray helps some: doubling the film is worth 21 % more trough."),
        (LimitedBy::Both, 0.4, "Film and plastic share the cooling: doubling the film is worth 40 % more trough."),
        (LimitedBy::Film, 1.0, "spray helps first: doubling the film is worth at least 100 % more trough."),
        (LimitedBy::Plastic, 0.004, "doubling the film is worth less than 1 % more trough."),
        (LimitedBy::Neither, f64::NAN, "Neither the film nor more trough changes the temperature that decides."),
    ] {
        let doubled = |limited_by, worth: f64| {
            let worth = Some(worth).filter(|worth| !worth.is_nan());
            Doubled { value: 60.0, film_doubled: 59.0, longer: 58.0, worth, film_share: worth, limited_by }
        };
        let temperature = "capstan.core".to_string();
        solution.cooling = Some(Cooling { temperature, now: doubled(by, worth), low: None });
        let text = unwrapped(&case, &solution);
        assert!(text.contains(words) && !text.contains("low end of its band"), "{words}\n{text}");
        // More flow is no lost cause anywhere.
        assert!(!text.contains("more flow hardly") && !text.contains("more flow does not"), "{text}");
        solution.cooling.as_mut().unwrap().low = Some(doubled(LimitedBy::Film, 0.7));
        let words =
            "With the film at the low end of its band the film limits it, doubling it is worth 70 % more trough.";
        assert!(unwrapped(&case, &solution).contains(words));
    }
    solution.cooling = None;
    assert!(!unwrapped(&case, &solution).contains("limits the cooling"));
}

#[test]
fn the_band_of_the_deciding_limit_follows_the_verdict() {
    let (case, mut solution) = with_limits(&[(Quantity::Core, 60.0)]);
    let largest = "layer.insulation.conductivity_factor".to_string();
    let (station, quantity) = ("capstan".to_string(), "core".to_string());
    solution.band = vec![Band { station, quantity, low: 57.04, high: 71.96, largest, changes: Vec::new() }];
    let text = unwrapped(&case, &solution);
    assert!(
        text.contains("between 57.0 degC and 72.0 degC, and the limit of 60 degC lies inside this range."),
        "{text}"
    );
    assert!(
        text.contains("Least sure is the conductivity of \"insulation\": a value measured on the compound"),
        "{text}"
    );
    for (limit, words) in [(50.0, "above its limit all the same"), (80.0, "below its limit all the same")] {
        solution.stations[1].limits[0].limit = limit;
        assert!(unwrapped(&case, &solution).contains(words), "{words}");
    }
}

#[test]
fn a_limit_that_is_met_within_its_range_only_is_said() {
    let (case, mut solution) = with_limits(&[(Quantity::Core, 60.0), (Quantity::Surface, 60.0)]);
    let row = |quantity: &str, high: f64| Band {
        station: "capstan".to_string(),
        quantity: quantity.to_string(),
        low: 20.0,
        high,
        largest: String::new(),
        changes: Vec::new(),
    };
    solution.band = vec![row("core", 80.0), row("surface", 62.0)];
    let text = unwrapped(&case, &solution);
    assert!(
        text.contains("Not sure either: surface at \"capstan\" is ") && text.contains("but up to 62.0 degC"),
        "{text}"
    );
    solution.band[1].high = 59.0;
    assert!(!unwrapped(&case, &solution).contains("Not sure either"));
}

#[test]
fn a_plastic_that_is_not_set_is_said() {
    let (case, mut solution) = with_limits(&[]);
    assert!(unwrapped(&case, &solution).contains("insulation: set through at "));
    solution.set_through[0].distance = None;
    assert!(unwrapped(&case, &solution).contains("insulation: not set at the end of the line"));
}

#[test]
fn skins_and_the_melt_under_them_are_told() {
    let (case, mut solution) = with_limits(&[]);
    let skin = &mut solution.skins[0];
    (skin.distance, skin.melt_shrink) = (Some(1.25), Some(6.04));
    (skin.surface_rate, skin.resolved, skin.mid_wall_rate) = (Some(1532.0), 1600.0, None);
    let text = unwrapped(&case, &solution);
    assert!(text.contains("insulation 1.25 6.0 1532 -"), "{text}");
    assert!(!text.contains("diameters are approximate"), "a thin wall: {text}");
    let skin = &mut solution.skins[0];
    (skin.surface_rate, skin.set_in, skin.mid_wall_rate) = (Some(1600.0), Some("trough".to_string()), Some(14.0));
    let text = unwrapped(&case, &solution);
    assert!(text.contains("insulation 1.25 6.0 at the entry of trough 14"), "{text}");
    let mut thick = case.clone();
    thick.layers[1].size = quenchway::case::Size::Wall(2e-3);
    let text = unwrapped(&thick, &solution);
    assert!(text.contains("insulation: thick. After 1.25 m"), "{text}");
    solution.skins[0].melt_shrink = Some(0.0);
    assert!(!unwrapped(&thick, &solution).contains("diameters are approximate"), "no melt under the skin");
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    let (case, solution) = with_limits(&[(Quantity::Surface, 45.0), (Quantity::Core, 60.0)]);
    for columns in [40, 60, 80, 100, 120] {
        for line in plain(&case, &solution, columns).lines() {
            assert!(line.chars().count() <= columns, "{columns} columns: {line}");
        }
    }
}

#[test]
fn the_width_follows_the_terminal_within_reason() {
    assert_eq!([Some(20), Some(90), Some(300), None].map(width), [40, 90, 120, 100]);
}

#[test]
fn names_cannot_steer_the_terminal() {
    let mut case = fixture::house_wire();
    case.title = "red \u{1b}[31m".to_string();
    case.stations[1].name = "cap\u{7}stan\nline".to_string();
    let text = plain(&case, &fixture::solution(&case), 100);
    assert!(!text.contains(['\u{1b}', '\u{7}']), "{text:?}");
    assert!(text.contains("cap stan line"), "{text}");
}

#[test]
fn what_is_said_of_several_sections_is_said_once() {
    let case = quenchway::file::read(include_str!("../cases/house-wire.toml")).unwrap();
    let solution = fixture::solution(&case);
    let kinds: Vec<&str> = solution.warnings.iter().map(|warning| warning.kind()).collect();
    assert_eq!(kinds.iter().filter(|kind| **kind == "film_estimated").count(), 3, "{kinds:?}");
    let text = unwrapped(&case, &solution);
    assert!(
        text.contains("film coefficient in \"air gap\" and \"to capstan\" is estimated by the law \"moving-air\""),
        "{text}"
    );
    assert_eq!(text.matches("is estimated by the law").count(), 2, "{text}");
}
