#![allow(clippy::unwrap_used)]

use super::{base_case, read};
use crate::case::CaseFile;
use crate::study::sweep::Sweep;

fn case() -> CaseFile {
    crate::file::read(include_str!("../../../../../cases/house-wire.toml")).unwrap()
}

fn axes(vary: &str) -> Sweep {
    read(&format!("case = \"c\"\noutputs = [\"capstan.core\"]\n[vary]\n{vary}"), &case()).unwrap()
}

fn values(vary: &str) -> Vec<f64> {
    axes(vary).axes[0].list().to_vec()
}

#[test]
fn ranges_end_where_they_say() {
    let even = values("\"line.speed\" = { from = \"1 m/s\", to = \"2 m/s\", points = 11 }");
    assert_eq!((even.len(), even[0], even[10]), (11, 1.0, 2.0));
    assert!((even[3] - 1.3).abs() < 1e-15);
    // 0.1 is no number of the machine: ten steps of it do not make 1.0 by themselves.
    let steps = values("\"section.trough.length\" = { from = \"1 m\", to = \"2 m\", step = \"0.1 m\" }");
    assert_eq!((steps.len(), steps[10]), (11, 2.0));
    let short = values("\"section.trough.length\" = { from = \"1 m\", to = \"2 m\", step = \"0.3 m\" }");
    assert_eq!(short.len(), 4);
    assert!((short[3] - 1.9).abs() < 1e-15);
    let down = values("\"line.speed\" = { from = \"2 m/s\", to = \"1 m/s\", step = \"-0.5 m/s\" }");
    assert_eq!(down, [2.0, 1.5, 1.0]);
    let warm = values("\"section.trough.temperature\" = { from = \"10 degC\", to = \"20 degC\", step = \"5 K\" }");
    assert_eq!(warm, [10.0, 15.0, 20.0]);
    let factors =
        values("\"section.trough.film_factor\" = { from = 0.25, to = 4, points = 5, spacing = \"logarithmic\" }");
    for (found, expected) in factors.iter().zip([0.25, 0.5, 1.0, 2.0, 4.0]) {
        assert!((found / expected - 1.0).abs() < 1e-15, "{factors:?}");
    }
    assert_eq!(values("\"line.speed\" = [\"60 m/min\", \"30 m/min\"]"), [1.0, 0.5]);
}

#[test]
fn axes_keep_the_order_of_the_text_however_paths_are_written() {
    let sweep = axes(
        "section.trough.length = [\"10 m\"]\n\"line.speed\" = [\"1 m/s\"]\nlayer.insulation = { diameter = [\"3 mm\"] }\n\
         [vary.section.\"air gap\"]\nlength = { from = \"1 m\", to = \"2 m\", points = 2 }\n",
    );
    let paths: Vec<&str> = sweep.axes.iter().map(|axis| axis.variable.path.as_str()).collect();
    assert_eq!(
        paths,
        ["section.trough.length", "line.speed", "layer.insulation.diameter", "section.\"air gap\".length"]
    );
}

#[test]
fn the_base_case_is_found_before_the_study_is_read() {
    let (path, span) = base_case("outputs = 3\ncase = \"x.toml\"\nnonsense = 1").unwrap();
    assert_eq!((path.as_str(), span), ("x.toml", 19..27));
    assert_eq!(base_case("title = \"a\"").unwrap_err()[0].key, "case");
}

#[test]
fn a_grid_beyond_all_measure_is_refused() {
    let axis = "{ from = \"1 m/s\", to = \"2 m/s\", points = 1000000 }";
    let text = format!(
        "case = \"c\"\noutputs = [\"capstan.core\"]\n[vary]\n\"line.speed\" = {axis}\n\
         \"section.trough.length\" = {}\n\"section.'air gap'.length\" = {}",
        axis.replace("/s", ""),
        axis.replace("/s", "")
    );
    let problems = read(&text, &case()).unwrap_err();
    assert!(problems[0].message.contains("more than"), "{problems:?}");
}

#[test]
fn what_the_plant_allows_varies_where_an_output_asks_for_it() {
    let mut case = case();
    case.plant.hall_max = Some(40.0);
    case.plant.chiller_max = Some(2e4);
    let of = |outputs: &str, vary: &str| {
        let study = read(&format!("case = \"c\"\noutputs = [\"capstan.core\"{outputs}]\n[vary]\n{vary}"), &case);
        study.map_err(|problems| problems[0].message.clone())
    };
    let (hall, chiller) = ("\"plant.hall_max\" = [\"40 m\"]", "\"plant.chiller_max\" = [\"20 kW\"]");
    for (outputs, vary) in
        [(", \"needed_length\"", hall), (", \"needed_length\"", chiller), (", \"top_speed\"", chiller)]
    {
        assert!(of(outputs, vary).is_ok(), "{outputs} {vary}");
    }
    assert_eq!(of("", hall).unwrap_err(), "none of the outputs depends on plant.hall_max");
    assert_eq!(of(", \"top_speed\"", hall).unwrap_err(), "none of the outputs depends on plant.hall_max");
    assert_eq!(of("", chiller).unwrap_err(), "none of the outputs depends on plant.chiller_max");
    assert!(of(", \"needed_length\"", "\"solver.tolerance\" = [\"1 mK\"]").unwrap_err().contains("solver.tolerance"));
}
