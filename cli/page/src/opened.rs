//! A case that is open on the page, and its answers.

use std::fmt::Display;

use maud::{Markup, html};
use quenchway::case::CaseFile;
use quenchway::march::solution::Solution;
use quenchway::march::{march_once, told};
use quenchway::study::answer::answered;
use quenchway::study::length::{Told as LengthTold, needed_as, trough};
use quenchway::study::search::ceilings::of_plant;
use quenchway::study::search::confirm::Asked;
use quenchway::study::speed::{Told as SpeedTold, top_speed_as};
use quenchway::units::System;
use quenchway_words::blocks::{Block, Part, Report};
use quenchway_words::html::{blocks, part};
use quenchway_words::{Shown, clean, design, length, run, speed};

use crate::controls::groups;
use crate::pictures::Seen;
use crate::saved::Opening;
use crate::wish::{self, Ask, Moved, Told, Wish};

/// An open case.
pub struct Opened {
    opening: Opening,
    /// The answer that is kept as before: what was asked for, and the answer.
    before: Option<(Kept, Box<Solution>)>,
}

/// Which answer is kept: its moved numbers, and the tolerance of a quick one.
#[derive(Clone, Debug, PartialEq)]
struct Kept {
    moved: Moved,
    quick: Option<f64>,
}

impl Opened {
    /// Opens a case file; none where it cannot be read. What is said is JSON: nothing, or what is wrong.
    pub fn open(text: &str) -> (Option<Opened>, String) {
        match Opening::read(text) {
            Ok(opening) => (Some(Opened { opening, before: None }), Told::default().json()),
            Err(problems) => {
                let first = problems.first().map_or_else(|| "the case does not read".to_string(), ToString::to_string);
                (None, Told::wrong(first, "").json())
            }
        }
    }

    /// Answers a wish, JSON on both sides.
    pub fn answer(&mut self, wish: &str) -> String {
        match serde_json::from_str::<Wish>(wish) {
            Ok(wish) => self.told(&wish).json(),
            Err(error) => wish::wrong(&format!("the page sent what the engine does not know: {error}")),
        }
    }

    /// Answers a wish.
    pub fn told(&mut self, wish: &Wish) -> Told {
        let case = match self.opening.tried(&wish.moved) {
            Ok(case) => case,
            Err(wrong) => {
                // The controls stay those of the numbers that can be read.
                let mut moved = wish.moved.clone();
                moved.remove(&wrong.path);
                let controls = self.opening.tried(&moved).map(|case| self.controls(&case, wish)).unwrap_or_default();
                return Told { controls, wrong: Some(wrong), ..Told::default() };
            }
        };
        let told = match wish.ask {
            Ask::Controls => Ok(Told::default()),
            Ask::Quick | Ask::Careful => self.answered(&case, wish),
            Ask::Design => Ok(Told { design: Some(design(&case, wish.system()).into_string()), ..Told::default() }),
            Ask::Drive => crate::drive::told(&case, wish),
            Ask::Json => numbers(&case),
            Ask::Save => {
                let text = self.opening.saved(&wish.moved, &wish.stamp, wish.system());
                text.map(|text| Told { text: Some(text), ..Told::default() })
            }
        };
        let told = told.unwrap_or_else(|reason| Told::wrong(reason, ""));
        match wish.ask {
            Ask::Controls | Ask::Quick | Ask::Careful => Told {
                controls: self.controls(&case, wish),
                stations: self.opening.file.stations.iter().map(|station| clean(&station.name)).collect(),
                programme: !self.opening.file.programme.is_empty(),
                ..told
            },
            _ => told,
        }
    }

    fn controls(&self, case: &CaseFile, wish: &Wish) -> Vec<crate::controls::Group> {
        groups(&self.opening.file, case, &wish.moved, wish.system())
    }

    /// The answer, quick or careful, with everything that is shown of it.
    fn answered(&mut self, case: &CaseFile, wish: &Wish) -> Result<Told, String> {
        let shown = Shown { system: wish.system() };
        let quick = (wish.ask == Ask::Quick).then_some(wish.tolerance);
        let solution = solved(case, quick).map_err(|error| clean(&error.to_string()))?;
        if let Some(moved) = &wish.before {
            self.keep(Kept { moved: moved.clone(), quick });
        }
        let kept = self.before.as_ref().filter(|(kept, _)| Some(&kept.moved) == wish.before.as_ref());
        let before = kept.map(|(_, solution)| &**solution);
        let report = run::report(case, &solution, shown);
        let seen = Seen { case, solution: &solution, before, shown, width: wish.width };
        let verdict = match quick {
            Some(_) => Part::new("Verdict", run::moving(case, &solution, shown)),
            None => named(&report, "Verdict"),
        };
        let stations = Part::new("Stations", vec![Block::Table(run::stations(case, &solution, before, shown))]);
        let plant: Vec<_> = of_plant(case)
            .into_iter()
            .map(|ceiling| {
                let value = ceiling.value(case, &solution);
                (ceiling, value)
            })
            .collect();
        let plant = Part::new("Plant", vec![Block::Table(design::plant(case, &plant, shown))]);
        let more = ["How sure", "Between the layers", "Sections", "Water", "Shrink", "Setting and reel"];
        let more = more.into_iter().chain(["Skin and melt", "Throughput"]).map(|name| named(&report, name));
        let text = |parts: Vec<Part>| Some(html! { @for one in &parts { (part(one)) } }.into_string());
        let told = Told {
            verdict: Some(blocks(&verdict.blocks).into_string()),
            about: Some(report.about.clone()),
            line: Some(seen.line()),
            profile: Some(seen.profile(wish.station.unwrap_or(case.stations.len().saturating_sub(1)))),
            tables: text(vec![stations, named(&report, "Limits"), plant]),
            ..Told::default()
        };
        // While a number moves, no more is drawn than somebody sees.
        if quick.is_some() {
            return Ok(told);
        }
        Ok(Told {
            more: text(more.collect()),
            notes: text(vec![named(&report, "Warnings"), named(&report, "Accuracy")]),
            cautions: Some(blocks(&named(&report, "Cautions").blocks).into_string()),
            ..told
        })
    }

    /// Keeps an answer as before, unless it is there.
    fn keep(&mut self, kept: Kept) {
        if self.before.as_ref().is_some_and(|(there, _)| *there == kept) {
            return;
        }
        // It had an answer when it was kept; without one nothing is drawn behind.
        let case = self.opening.tried(&kept.moved).ok();
        let solution = case.and_then(|case| solved(&case, kept.quick).ok());
        self.before = solution.map(|solution| (kept, Box::new(solution)));
    }
}

/// An answer with fields: in one run to a tolerance, or as `quenchway run` gives it.
fn solved(case: &CaseFile, quick: Option<f64>) -> Result<Solution, quenchway::case::error::Error> {
    match quick {
        Some(tolerance) => march_once(&case.clone().to(tolerance.max(case.tolerance)), true),
        None => answered(case, true),
    }
}

/// The part of a report that has this name; empty where there is none.
fn named(report: &Report, name: &'static str) -> Part {
    report.parts.iter().find(|part| part.heading == name).cloned().unwrap_or_else(|| Part::new(name, Vec::new()))
}

/// The fastest line and the shortest trough, one line each.
fn design(case: &CaseFile, system: System) -> Markup {
    let (shown, asked) = (Shown { system }, Asked { print: Some(system), ..Asked::default() });
    let speeds = top_speed_as(case, asked);
    let speeds = SpeedTold { case, answer: &speeds, levers: &[], passes: &[] };
    let speeds = speed::report(&speeds, shown);
    let needed = needed_as(case, asked);
    let sections = trough::sections(case).unwrap_or_default();
    let needed = LengthTold { case, sections: &sections, chosen: false, answer: &needed, levers: &[], lengths: None };
    let needed = length::report(&needed, shown);
    let first = |report: &Report| report.parts.first().and_then(|part| part.blocks.first().cloned());
    html! {
        dl {
            dt { "Fastest line" } dd { (blocks(first(&speeds).as_slice())) }
            dt { "Shortest trough" } dd { (blocks(first(&needed).as_slice())) }
        }
    }
}

/// The numbers of `run --json`.
fn numbers(case: &CaseFile) -> Result<Told, String> {
    let text = |error: &dyn Display| clean(&error.to_string());
    let solution = solved(case, None).map_err(|error| text(&error))?;
    let numbers = serde_json::to_value(told::Told::of(case, &solution));
    Ok(Told { numbers: Some(numbers.map_err(|error| text(&error))?), ..Told::default() })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use quenchway::file::EXAMPLE;

    fn asked(opened: &mut Opened, wish: serde_json::Value) -> serde_json::Value {
        serde_json::from_str(&opened.answer(&wish.to_string())).unwrap()
    }

    fn opened(text: &str) -> Opened {
        let (opened, said) = Opened::open(text);
        assert!(!said.contains("wrong"), "{said}");
        opened.unwrap()
    }

    #[test]
    fn a_quick_answer_judges_nothing_and_a_careful_one_does() {
        let mut wire = opened(EXAMPLE);
        let quick = asked(&mut wire, serde_json::json!({ "ask": "quick" }));
        let said = quick["verdict"].as_str().unwrap();
        assert!(
            said.contains("While the numbers move: core at &quot;capstan&quot; is 61.9 degC, 1.9 K above"),
            "{said}"
        );
        assert!(!said.contains("MET"));
        let careful = asked(&mut wire, serde_json::json!({ "ask": "careful" }));
        let said = careful["verdict"].as_str().unwrap();
        assert!(said.contains("NOT MET") && said.contains("With the uncertainty of the inputs"), "{said}");
        assert!(
            careful["line"].as_str().unwrap().contains("band core")
                && !quick["line"].as_str().unwrap().contains("band")
        );
        // Close to a limit nothing is told while a number moves.
        let moved = serde_json::json!({ "station.capstan.core_max": "62 degC" });
        let quick = asked(&mut wire, serde_json::json!({ "ask": "quick", "moved": moved }));
        assert!(quick["verdict"].as_str().unwrap().contains("too close to tell"));
    }

    #[test]
    fn the_fastest_line_and_the_shortest_trough_are_those_of_the_program() {
        let told = asked(&mut opened(EXAMPLE), serde_json::json!({ "ask": "design" }));
        let said = told["design"].as_str().unwrap();
        assert!(said.contains("FASTEST SPEED: 144 m/min") && said.contains("TROUGH NEEDED"), "{said}");
    }

    #[test]
    fn what_is_wrong_names_its_number_and_leaves_the_controls() {
        let mut wire = opened(EXAMPLE);
        let moved = serde_json::json!({ "line.speed": "150 m/s m", "section.trough.length": "20 m" });
        let told = asked(&mut wire, serde_json::json!({ "ask": "quick", "moved": moved }));
        assert_eq!(told["wrong"]["path"], "line.speed");
        assert!(told["controls"].to_string().contains("20 m") && told.get("verdict").is_none());
        let thin = serde_json::json!({ "layer.insulation.diameter": "1.5 mm" });
        let told = asked(&mut wire, serde_json::json!({ "ask": "careful", "moved": thin }));
        assert!(told["wrong"]["message"].as_str().unwrap().contains("is not larger than the 1.78 mm"), "{told}");
        assert_eq!(told["wrong"]["path"], "layer.insulation.diameter");
        let told = wire.answer("{}");
        assert!(told.contains("does not know"), "{told}");
        let (none, said) = Opened::open("title = 1");
        assert!(none.is_none() && said.contains("title"));
    }

    /// Half a kelvin, below which nothing is told while a number moves, is twice what a quick answer may be off by.
    #[test]
    fn a_quick_answer_is_within_its_tolerance_over_the_slider() {
        let opening = Opening::read(EXAMPLE).unwrap();
        for speed in ["75 m/min", "150 m/min", "300 m/min"] {
            let case = opening.tried(&Moved::from([("line.speed".to_string(), speed.to_string())])).unwrap();
            let careful = solved(&case, None).unwrap();
            for tolerance in [0.1, 0.25] {
                let off = solved(&case, Some(tolerance)).unwrap().largest_difference(&careful);
                assert!(off > 0.0 && off < tolerance, "{speed}: {off} K at {tolerance} K");
            }
        }
    }

    #[test]
    fn what_the_plant_allows_can_be_moved_and_is_judged() {
        let mut wire = opened(&format!("{EXAMPLE}\n[plant]\nchiller_max = \"5 kW\"\nhall_max = \"30 m\"\n"));
        let moved = serde_json::json!({ "plant.chiller_max": "1 kW" });
        let told = asked(&mut wire, serde_json::json!({ "ask": "quick", "moved": moved }));
        assert!(told["controls"].to_string().contains("Heat that the chiller takes"));
        let plant = told["tables"].as_str().unwrap().split("Plant").nth(1).unwrap();
        assert!(
            plant.contains("heat to the chiller") && plant.contains("1.00 kW") && plant.contains("class=\"bad\""),
            "{plant}"
        );
        assert_eq!(plant.matches("class=\"bad\"").count(), 1, "the hall holds the line: {plant}");
    }

    /// The answer before is the same whichever engine draws it: it is solved from its numbers.
    #[test]
    fn changes_from_an_answer_before_stand_in_brackets() {
        let mut wire = opened(EXAMPLE);
        let (before, moved) = (serde_json::json!({}), serde_json::json!({ "line.speed": "160 m/min" }));
        let told = asked(&mut wire, serde_json::json!({ "ask": "careful", "moved": moved, "before": before }));
        let tables = told["tables"].as_str().unwrap();
        let row = tables.split("capstan").nth(1).unwrap().split("</tr>").next().unwrap();
        assert_eq!(row.matches(" (0)").count(), 1, "the distance: {row}");
        assert_eq!(row.matches(" (+").count(), 6, "five temperatures and the diameter rise: {row}");
        assert!(row.contains("(-0.50)"), "the time falls: {row}");
        assert_eq!(told["line"].as_str().unwrap().matches("\"before ").count(), 4);
        let told = asked(&mut wire, serde_json::json!({ "ask": "careful", "moved": moved }));
        assert!(
            !told["tables"].as_str().unwrap().contains(" (") && !told["line"].as_str().unwrap().contains("\"before ")
        );
    }
}
