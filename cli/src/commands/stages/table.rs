//! The best trough as JSON and as a results file.

use quenchway::case::cautions::cautions;
use quenchway::march::output::udunits;
use quenchway::study::stages::{FrontPoint, Neighbour, Number, Requirement, Setting};
use quenchway_words::stages::{Told, aim_unit};
use serde_json::{Map, Value, json};

use crate::commands::Failure;
use crate::commands::design::{beside_solution, finite};
use crate::store::{Axis, Table, Variable};

fn unit(number: &Number) -> &'static str {
    number.variable.dimension.map_or("1", udunits)
}

/// The answer for `--json`: that of `run` at the best setting, and under `stages` what was asked.
pub(super) fn json(told: &Told<'_>) -> Result<Value, Failure> {
    let staged = told.staged;
    let numbers = |values: &[f64]| -> Map<String, Value> {
        staged.numbers.iter().zip(values).map(|(number, value)| (number.variable.path.clone(), json!(value))).collect()
    };
    let requirement = |(index, requirement): (usize, &Requirement)| {
        let before = staged.before.as_ref().map(|before| before.told.values[index]);
        json!({
            "name": requirement.name,
            "unit": udunits(requirement.dimension()),
            "max": requirement.max,
            "margin": requirement.margin,
            "band": staged.band[index],
            "before": before.and_then(finite),
            "after": finite(staged.after.told.values[index]),
        })
    };
    let setting = |setting: &Setting| {
        json!({
            "aim": setting.told.aim,
            "numbers": numbers(&setting.values),
            "holds": staged.holds(setting),
            "chiller_duty_W": setting.solution.chiller_duty,
            "heating_W": setting.heating(),
            "skins": setting.solution.skins,
            "set_through": setting.solution.set_through,
        })
    };
    let mut after = setting(&staged.after);
    after["printed"] =
        staged.numbers.iter().zip(&staged.printed).map(|(n, text)| (n.variable.path.clone(), json!(text))).collect();
    let neighbour = |neighbour: &Neighbour| {
        json!({
            "number": staged.numbers[neighbour.number].variable.path,
            "by": neighbour.by,
            "aim_change": neighbour.change.aim,
            "changes": staged.requirements.iter().zip(&neighbour.change.values)
                .map(|(requirement, change)| (requirement.name.clone(), json!(finite(*change)))).collect::<Map<String, Value>>(),
            "holds": neighbour.holds,
            "missed": neighbour.missed.map(|which| &staged.requirements[which].name),
        })
    };
    let point =
        |point: &FrontPoint| json!({ "limit": point.limit, "aim": point.aim, "numbers": numbers(&point.values) });
    let checked = staged.grid.as_ref().map(|grid| {
        json!({
            "places": grid.places,
            "held": grid.held,
            "best": grid.best,
            "numbers": numbers(&grid.values),
            "better_by": finite(grid.by),
            "withdrawn": grid.better(),
        })
    });
    let fields = json!({
        "aim": staged.aim.word(),
        "unit": aim_unit(staged.aim),
        "units": staged.numbers.iter().map(|n| (n.variable.path.clone(), json!(unit(n)))).collect::<Map<String, Value>>(),
        "bounds": staged.numbers.iter().map(|n| (n.variable.path.clone(), json!(n.bounds))).collect::<Map<String, Value>>(),
        "before": staged.before.as_ref().map(setting),
        "after": after,
        "unfavourable": staged.unfavourable,
        "today_as_good": staged.as_good(),
        "requirements": staged.requirements.iter().enumerate().map(requirement).collect::<Value>(),
        "binding": staged.binding.iter().map(|&which| &staged.requirements[which].name).collect::<Vec<_>>(),
        "on_bound": staged.on_bound.iter().map(|&(number, high)| json!({
            "number": staged.numbers[number].variable.path,
            "bound": if high { "high" } else { "low" },
        })).collect::<Value>(),
        "neighbours": staged.neighbours.iter().map(neighbour).collect::<Value>(),
        "front": staged.front.as_ref().map(|front| json!({
            "requirement": staged.requirements[front.requirement].name,
            "points": front.points.iter().map(point).collect::<Value>(),
            "today": front.today,
            "answer": front.answer,
        })),
        "evaluations": staged.evaluations,
        "checked": checked,
    });
    let fields: Map<String, Value> = fields.as_object().cloned().unwrap_or_default();
    beside_solution(told.case, Some(&staged.after.solution), "stages", fields)
}

/// The answer as a results file: numbers, requirements, and the front.
pub(super) fn table(told: &Told<'_>) -> Table {
    const NUMBER: usize = 0;
    const REQUIREMENT: usize = 1;
    const FRONT: usize = 2;
    let (staged, none) = (told.staged, f64::NAN);
    let numbers = &staged.numbers;
    let paths = numbers.iter().map(|number| number.variable.path.clone()).collect();
    let names = staged.requirements.iter().map(|requirement| requirement.name.clone()).collect();
    let mut axes = vec![
        Axis::names("number", "numbers that were set, by key path", paths),
        Axis::names("requirement", "what must hold", names),
    ];
    let of_numbers = |name: &str, words: &str, values: Vec<f64>| Variable::numbers(name, "1", words, &[NUMBER], values);
    let of_requirements =
        |name: &str, words: &str, values: Vec<f64>| Variable::numbers(name, "1", words, &[REQUIREMENT], values);
    let before = |value: fn(&Setting) -> &Vec<f64>, count: usize| {
        staged.before.as_ref().map_or(vec![none; count], |before| value(before).clone())
    };
    let each = |value: &dyn Fn(&Requirement) -> f64| staged.requirements.iter().map(value).collect();
    let units = |units: Vec<&str>| units.into_iter().map(str::to_string).collect();
    let mut variables = vec![
        Variable::texts("number_units", "unit of the numbers", NUMBER, units(numbers.iter().map(unit).collect())),
        of_numbers(
            "lowest",
            "lowest value that may be set, in number_units",
            numbers.iter().map(|n| n.bounds[0]).collect(),
        ),
        of_numbers(
            "highest",
            "highest value that may be set, in number_units",
            numbers.iter().map(|n| n.bounds[1]).collect(),
        ),
        of_numbers("before", "as the case has it, in number_units", before(|s| &s.values, numbers.len())),
        of_numbers("after", "of the best setting, in number_units", staged.after.values.clone()),
        Variable::texts(
            "requirement_units",
            "unit of the requirements",
            REQUIREMENT,
            units(staged.requirements.iter().map(|requirement| udunits(requirement.dimension())).collect()),
        ),
        of_requirements("requirement_max", "the most that is allowed, in requirement_units", each(&|r| r.max)),
        of_requirements("requirement_margin", "what must be to spare below that", each(&|r| r.margin)),
        of_requirements(
            "requirement_before",
            "value as the case is, in requirement_units",
            before(|s| &s.told.values, staged.requirements.len()),
        ),
        of_requirements(
            "requirement_after",
            "value of the best setting, in requirement_units",
            staged.after.told.values.clone(),
        ),
    ];
    let mut texts = vec![
        ("aim".to_string(), staged.aim.word().to_string()),
        ("aim_unit".to_string(), aim_unit(staged.aim).to_string()),
    ];
    if let Some(front) = &staged.front {
        let traded = &staged.requirements[front.requirement];
        let limits: Vec<f64> = front.points.iter().map(|point| point.limit).collect();
        axes.push(Axis::numbers(
            "front",
            udunits(traded.dimension()),
            &format!("the most that {} may be", traded.name),
            limits,
        ));
        let aims = front.points.iter().map(|point| point.aim).collect();
        variables.push(Variable::numbers(
            "front_aim",
            aim_unit(staged.aim),
            "best aim with that limit",
            &[FRONT],
            aims,
        ));
        let values = front.points.iter().flat_map(|point| point.values.clone()).collect();
        variables.push(Variable::numbers(
            "front_number",
            "1",
            "the numbers there, in number_units",
            &[FRONT, NUMBER],
            values,
        ));
        texts.push(("front_requirement".to_string(), traded.name.clone()));
    }
    let mut attributes = vec![("aim_after".to_string(), staged.after.told.aim)];
    attributes.extend(staged.before.as_ref().map(|before| ("aim_before".to_string(), before.told.aim)));
    attributes.extend(staged.unfavourable.map(|aim| ("aim_unfavourable".to_string(), aim)));
    attributes.push(("evaluations".to_string(), staged.evaluations as f64));
    attributes.extend(
        staged.grid.as_ref().filter(|grid| grid.by.is_finite()).map(|grid| ("grid_better_by".to_string(), grid.by)),
    );
    Table { cautions: cautions(&staged.after.case), texts, numbers: attributes, axes, variables, ..Table::default() }
}
