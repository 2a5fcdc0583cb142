//! `quenchway rank`: what every input does to the limited temperatures and to the needed trough.

use std::time::Instant;

use quenchway::case::cautions::cautions;
use quenchway::study::length::{LengthError, needed_as};
use quenchway::study::rank::{Effect, Rank, RankError, rank as solve};
use quenchway::study::search::confirm::Asked as Question;
use serde_json::{Value, json};

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::RankArgs;
use crate::plot::rank::Picture;
use crate::report::rank::Told;
use crate::store::{Axis, Table, Variable};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn rank(args: &RankArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("rank", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &RankArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let start = Instant::now();
    let rank = solve(asked.case).map_err(|error| match error {
        RankError::March(error) => Failure::March(args.study.case.clone(), error),
        error => Failure::Question(args.study.case.clone(), error.to_string()),
    })?;
    // A rank needs no careful march of the trough; what is printed of it does.
    let wish = Question { range: false, print: Some(asked.shown.system) };
    let needed = match rank.length.is_ok().then(|| needed_as(asked.case, wish)) {
        Some(Ok(needed)) => needed.printed,
        Some(Err(LengthError::OverCeiling(needed))) => needed.printed,
        _ => None,
    };
    let wall = start.elapsed().as_secs_f64();
    let cautions = cautions(asked.case);
    let told = Told { case: asked.case, rank: &rank, needed: needed.as_ref(), wall, cautions: &cautions };
    let picture = Picture::new(asked.case, &rank, asked.shown);
    Ok(Found {
        report: told.report(asked.shown, asked.width),
        json: json(&rank, wall, &cautions),
        table: table(&rank, cautions),
        description: picture.description.clone(),
        draw: Box::new(move |sheet| picture.draw(sheet)),
        status: 0,
    })
}

fn json(rank: &Rank, wall: f64, cautions: &[String]) -> Value {
    let [film, plastic] = rank.film_and_plastic;
    json!({
        "targets": rank.targets, "deciding": rank.targets.get(rank.deciding).map(|target| &target.name),
        "needed_length_m": rank.length.as_ref().ok(), "no_length": rank.length.as_ref().err(),
        "growing_sections": rank.sections, "coldest_medium_degC": rank.coldest,
        "limited_by": rank.cooling.as_ref().map(|cooling| cooling.now.limited_by), "cooling": rank.cooling, "film_per_tenth_K": film, "plastic_per_tenth_K": plastic,
        "numbers": rank.numbers, "uncertain": rank.uncertain, "usual_bands": rank.usual, "noise_K": rank.noise,
        "solves": rank.solves, "wall_s": wall, "cautions": cautions,
    })
}

/// The answer as a results file.
fn table(rank: &Rank, cautions: Vec<String>) -> Table {
    const TARGET: usize = 0;
    let targets = rank.targets.iter().map(|target| target.name.clone()).collect();
    let of_targets =
        |name: &str, words: &str, values: Vec<f64>| Variable::numbers(name, "degC", words, &[TARGET], values);
    let mut axes = vec![Axis::names("target", "temperature that is looked at", targets)];
    let mut variables = vec![
        of_targets("target_value", "its value", rank.targets.iter().map(|target| target.value).collect()),
        of_targets(
            "target_limit",
            "its limit",
            rank.targets.iter().map(|target| target.limit.unwrap_or(f64::NAN)).collect(),
        ),
    ];
    for (kind, words, effects, per) in [
        ("number", "number of the case", &rank.numbers, "per 10 % or 10 K more"),
        ("uncertain", "uncertain input", &rank.uncertain, "per standard value more"),
    ] {
        if effects.is_empty() {
            continue;
        }
        let axis = axes.len();
        axes.push(Axis::names(kind, words, effects.iter().map(|effect| effect.input.clone()).collect()));
        let changes = effects.iter().flat_map(|effect| effect.changes.clone()).collect();
        let of = |name: &str, units: &str, words: &str, value: &dyn Fn(&Effect) -> f64| {
            let values = effects.iter().map(value).collect();
            Variable::numbers(&format!("{kind}_{name}"), units, &format!("{words} {per}"), &[axis], values)
        };
        let length = of("length_change", "m", "change of the needed trough", &|e| e.length.unwrap_or(f64::NAN));
        variables.push(length);
        let words = format!("change of the temperature {per}");
        variables.push(Variable::numbers(&format!("{kind}_change"), "K", &words, &[axis, TARGET], changes));
        if kind == "number" {
            let elasticity =
                |effect: &Effect| effect.elasticity.iter().map(|value| value.unwrap_or(f64::NAN)).collect::<Vec<f64>>();
            let values = effects.iter().flat_map(elasticity).collect();
            let words = "relative change of the temperature above the coldest medium over that of the number";
            variables.push(Variable::numbers("number_elasticity", "1", words, &[axis, TARGET], values));
        }
    }
    let [film, plastic] = rank.film_and_plastic;
    let mut numbers = vec![
        ("coldest_medium_degC".to_string(), rank.coldest),
        ("film_per_tenth_K".to_string(), film),
        ("plastic_per_tenth_K".to_string(), plastic),
    ];
    numbers.extend(rank.length.as_ref().ok().map(|length| ("needed_length_m".to_string(), *length)));
    let mut texts = vec![(
        "deciding".to_string(),
        rank.targets.get(rank.deciding).map_or(String::new(), |target| target.name.clone()),
    )];
    texts.extend(rank.length.as_ref().err().map(|reason| ("no_length".to_string(), reason.clone())));
    Table { cautions, texts, numbers, axes, variables, ..Table::default() }
}
