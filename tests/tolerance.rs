//! The tolerance: it is reached where the first pairs of runs disagree, and where it is missed the first lines say so.

use quenchway::case::Quantity;
use quenchway::case::warning::Warning;
use quenchway::line::Settings;
use quenchway::march::told::Told;
use quenchway::march::{march, march_with};
use quenchway::units::System;
use quenchway_cli::commands::study::document;

use crate::fixture::{self, page, report};

/// A fine wire at 6 m/s whose insulation crystallises within 5 K, under films with kinks.
const NARROW: &str = r#"
title = "Fine wire, narrow latent peak, film tables"

[line]
speed = "6 m/s"

[[layer]]
name = "conductor"
material = "copper"
diameter = "0.31 mm"
temperature = "80 degC"

[[layer]]
name = "insulation"
material = "narrow"
diameter = "0.8 mm"
temperature = "200 degC"
contact = "perfect"

[[section]]
name = "first trough"
medium = "water"
length = "0.4 m"
temperature = "60 degC"
film = { surface = [["20 degC", "4000 W/(m2 K)"], ["65 degC", "2500 W/(m2 K)"], ["110 degC", "8000 W/(m2 K)"], ["155 degC", "4000 W/(m2 K)"]] }

[[section]]
name = "second trough"
medium = "water"
length = "1.5 m"
temperature = "20 degC"
film = { distance = [["0 m", "2500 W/(m2 K)"], ["0.375 m", "4000 W/(m2 K)"], ["0.75 m", "1000 W/(m2 K)"], ["1.125 m", "8000 W/(m2 K)"], ["1.5 m", "1500 W/(m2 K)"]] }

[[station]]
name = "early"
after = "first trough"
offset = "-0.1 m"

[material.narrow]
kind = "plastic"
conductivity = "0.25 W/(m K)"
heat_capacity = [["0 degC", "2000 J/(kg K)"], ["82.5 degC", "2200 J/(kg K)"], ["85 degC", "50000 J/(kg K)"], ["87.5 degC", "2200 J/(kg K)"], ["220 degC", "2500 J/(kg K)"]]
density = [["0 degC", "930 kg/m3"], ["87.5 degC", "850 kg/m3"], ["220 degC", "760 kg/m3"]]

[solver]
tolerance = "0.01 K"
"#;

#[test]
fn a_narrow_latent_peak_reaches_its_tolerance() {
    let case = quenchway::file::read(NARROW).unwrap_or_else(|problems| panic!("{problems:?}"));
    let solution = march(&case).unwrap();
    let missed = |warning: &Warning| matches!(warning, Warning::ToleranceMissed { .. });
    assert!(!solution.warnings.iter().any(missed), "stated {} K", solution.numerics.error);
    assert!(solution.numerics.tolerance_met());
    let (reference, _) = march_with(&case, &Settings::tightened(case.tolerance, 8f64.powi(7))).unwrap();
    let truth = solution.largest_difference(&reference);
    assert!(truth <= solution.numerics.error, "true {truth} K, stated {} K", solution.numerics.error);
}

#[test]
fn a_missed_tolerance_is_said_in_the_first_lines() {
    const WORDS: &str = "LESS EXACT THAN WANTED";
    let mut case = fixture::house_wire();
    case.stations[1] = fixture::station("capstan", 2, 0.0, &[(Quantity::Core, 60.0)]);
    let mut solution = fixture::solution(&case);
    let said = |solution: &quenchway::march::solution::Solution, system| {
        let json = document("", "", &Told::of(&case, solution)).unwrap();
        [report(&case, solution, system, 100), page(&case, solution, system, &[]), json.lines().take(6).collect()]
    };
    let [terminal, page, json] = said(&solution, System::Si);
    assert!(!terminal.contains(WORDS) && !page.contains(WORDS) && json.contains("\"tolerance_met\": true"), "{json}");

    solution.numerics.error = 0.14;
    let [terminal, page, json] = said(&solution, System::Si);
    let first = terminal.lines().take(5).collect::<Vec<_>>().join(" ");
    assert!(first.contains("LESS EXACT THAN WANTED: the temperatures below may be off by 0.14 K;"), "{terminal}");
    assert!(terminal.find(WORDS) < terminal.find("NOT MET: core"), "{terminal}");
    assert!(page.find(WORDS).unwrap() < page.find("<h2>Key numbers").unwrap());
    assert!(json.contains("\"tolerance_met\": false"), "{json}");
    let [terminal, ..] = said(&solution, System::Us);
    assert!(terminal.contains("may be off by 0.25 degF; solver.tolerance is"), "{terminal}");
}
