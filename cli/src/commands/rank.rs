//! `quenchway rank`: what every input does to the limited temperatures and to the needed trough.

use std::time::Instant;

use quenchway::case::cautions::cautions;
use quenchway::study::length::{LengthError, needed_as};
use quenchway::study::rank::{Effect, Rank, RankError, Target, rank as solve};
use quenchway::study::search::confirm::Asked as Question;
use quenchway::units::Dimension;
use quenchway_words::rank::Told;
use serde_json::{Value, json};

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::RankArgs;
use crate::plot::rank::Picture;
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
        report: told.report(asked.shown),
        json: json(&rank, wall, &cautions),
        table: table(&rank, cautions),
        description: picture.description.clone(),
        draw: Box::new(move |sheet| picture.draw(sheet)),
        status: 0,
    })
}

/// Changes of those targets that measure this; not numbers for the others.
fn changes_of(rank: &Rank, effect: &Effect, kind: Dimension) -> Vec<f64> {
    let targets = rank.targets.iter().zip(&effect.changes);
    targets.map(|(target, &change)| if target.dimension == kind { change } else { f64::NAN }).collect()
}

/// Unit of what a tenth more does to the deciding target.
fn per_tenth(rank: &Rank) -> &'static str {
    match rank.targets.get(rank.deciding) {
        Some(target) if target.dimension == Dimension::Share => "percent",
        _ => "K",
    }
}

/// Whether a melt shrink is among the targets.
fn has_shares(rank: &Rank) -> bool {
    rank.targets.iter().any(|target| target.dimension == Dimension::Share)
}

fn json(rank: &Rank, wall: f64, cautions: &[String]) -> Value {
    let [film, plastic] = rank.film_and_plastic;
    let effects = |effects: &[Effect]| -> Value {
        let one = |effect: &Effect| {
            let mut fields = serde_json::to_value(effect).unwrap_or_default();
            fields["changes_K"] = json!(changes_of(rank, effect, Dimension::Temperature));
            if has_shares(rank) {
                fields["changes_percent"] = json!(changes_of(rank, effect, Dimension::Share));
            }
            fields
        };
        effects.iter().map(one).collect()
    };
    let per_tenth = per_tenth(rank);
    let mut answer = json!({
        "targets": rank.targets, "deciding": rank.targets.get(rank.deciding).map(|target| &target.name),
        "needed_length_m": rank.length.as_ref().ok(), "no_length": rank.length.as_ref().err(),
        "growing_sections": rank.sections, "coldest_medium_degC": rank.coldest,
        "limited_by": rank.cooling.as_ref().map(|cooling| cooling.now.limited_by), "cooling": rank.cooling,
        "numbers": effects(&rank.numbers), "uncertain": effects(&rank.uncertain), "usual_bands": rank.usual,
        "noise_K": rank.noise, "solves": rank.solves, "wall_s": wall, "cautions": cautions,
    });
    answer[format!("film_per_tenth_{per_tenth}")] = json!(film);
    answer[format!("plastic_per_tenth_{per_tenth}")] = json!(plastic);
    answer
}

/// The answer as a results file.
fn table(rank: &Rank, cautions: Vec<String>) -> Table {
    const TARGET: usize = 0;
    let targets = rank.targets.iter().map(|target| target.name.clone()).collect();
    let of_targets = |name: &str, units: &str, words: &str, kind: Dimension, value: fn(&Target) -> f64| {
        let one = |target: &Target| if target.dimension == kind { value(target) } else { f64::NAN };
        Variable::numbers(name, units, words, &[TARGET], rank.targets.iter().map(one).collect())
    };
    let limit = |target: &Target| target.limit.unwrap_or(f64::NAN);
    let mut axes = vec![Axis::names("target", "what is looked at", targets)];
    let mut variables = vec![
        of_targets("target_value", "degC", "its value", Dimension::Temperature, |target| target.value),
        of_targets("target_limit", "degC", "its limit", Dimension::Temperature, limit),
    ];
    if has_shares(rank) {
        let kind = Dimension::Share;
        variables.push(of_targets("target_melt_shrink", "percent", "its melt shrink", kind, |target| target.value));
        variables.push(of_targets("target_melt_shrink_limit", "percent", "its limit", kind, limit));
    }
    for (kind, words, effects, per) in [
        ("number", "number of the case", &rank.numbers, "per 10 % or 10 K more"),
        ("uncertain", "uncertain input", &rank.uncertain, "per standard value more"),
    ] {
        if effects.is_empty() {
            continue;
        }
        let axis = axes.len();
        axes.push(Axis::names(kind, words, effects.iter().map(|effect| effect.input.clone()).collect()));
        let changes = |kind| effects.iter().flat_map(|effect| changes_of(rank, effect, kind)).collect();
        let of = |name: &str, units: &str, words: &str, value: &dyn Fn(&Effect) -> f64| {
            let values = effects.iter().map(value).collect();
            Variable::numbers(&format!("{kind}_{name}"), units, &format!("{words} {per}"), &[axis], values)
        };
        let length = of("length_change", "m", "change of the needed trough", &|e| e.length.unwrap_or(f64::NAN));
        variables.push(length);
        let words = format!("change of the temperature {per}");
        let changes_in_kelvin = changes(Dimension::Temperature);
        variables.push(Variable::numbers(&format!("{kind}_change"), "K", &words, &[axis, TARGET], changes_in_kelvin));
        if has_shares(rank) {
            let words = format!("change of the melt shrink {per}");
            let name = format!("{kind}_melt_shrink_change");
            variables.push(Variable::numbers(&name, "percent", &words, &[axis, TARGET], changes(Dimension::Share)));
        }
        if kind == "number" {
            let elasticity =
                |effect: &Effect| effect.elasticity.iter().map(|value| value.unwrap_or(f64::NAN)).collect::<Vec<f64>>();
            let values = effects.iter().flat_map(elasticity).collect();
            let words = "relative change of the temperature above the coldest medium over that of the number";
            variables.push(Variable::numbers("number_elasticity", "1", words, &[axis, TARGET], values));
        }
    }
    let ([film, plastic], per_tenth) = (rank.film_and_plastic, per_tenth(rank));
    let mut numbers = vec![
        ("coldest_medium_degC".to_string(), rank.coldest),
        (format!("film_per_tenth_{per_tenth}"), film),
        (format!("plastic_per_tenth_{per_tenth}"), plastic),
    ];
    numbers.extend(rank.length.as_ref().ok().map(|length| ("needed_length_m".to_string(), *length)));
    let mut texts = vec![(
        "deciding".to_string(),
        rank.targets.get(rank.deciding).map_or(String::new(), |target| target.name.clone()),
    )];
    texts.extend(rank.length.as_ref().err().map(|reason| ("no_length".to_string(), reason.clone())));
    Table { cautions, texts, numbers, axes, variables, ..Table::default() }
}
