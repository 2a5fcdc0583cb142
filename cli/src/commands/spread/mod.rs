//! `quenchway spread`: what varies, many samples on all cores, what they say.

mod table;

use std::path::Path;
use std::time::Instant;

use quenchway::case::cautions::cautions;
use quenchway::case::{CaseFile, Varying};
use quenchway::file;
use quenchway::study::spread::{Index, Plan, SHARES, Spread, SpreadError, spread as solve};
use quenchway_words::spread::Told;
use serde_json::{Map, Value, json};

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::SpreadArgs;
use crate::diagnostic;
use crate::plot::spread::Picture;

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn spread(args: &SpreadArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("spread", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &SpreadArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let given = args.vary.as_deref().map(|path| load(path, asked.case)).transpose()?;
    let vary_text = given.as_ref().map(|(text, _)| text.clone());
    let vary = given.map_or_else(|| asked.case.vary.clone(), |(_, vary)| vary);
    let case = CaseFile { vary, ..asked.case.clone() };
    let plan = Plan {
        samples: args.samples,
        seed: args.seed,
        method: args.method.into(),
        indices: args.indices,
        lengths: !args.no_length,
    };
    let start = Instant::now();
    let spread = super::study::on_threads(args.threads, || solve(&case, &plan))?;
    let wall = start.elapsed().as_secs_f64();
    let spread = spread.map_err(|error| match error {
        SpreadError::March(error) => Failure::March(args.study.case.clone(), error),
        SpreadError::Sample(_) => Failure::flag("--method", error),
        error => Failure::Question(args.study.case.clone(), error.to_string()),
    })?;
    let cautions = cautions(&case);
    let told = Told { case: &case, spread: &spread, plan: &plan, wall, cautions: &cautions };
    let picture = Picture::new(&case, &spread, &plan, asked.shown);
    Ok(Found {
        report: told.report(asked.shown),
        json: json(&spread, &plan, wall, &cautions),
        table: table::table(&spread, &plan, vary_text, cautions),
        description: picture.description.clone(),
        draw: Box::new(move |sheet| picture.draw(sheet)),
        status: 0,
    })
}

/// The text of a file with `[vary]`, and what it says varies.
fn load(path: &Path, case: &CaseFile) -> Result<(String, Vec<Varying>), Failure> {
    let text = diagnostic::read(path, "file with [vary]").map_err(Failure::Input)?;
    match file::vary(&text, case) {
        Ok(vary) => Ok((text, vary)),
        Err(problems) => Err(Failure::Input(diagnostic::Failure::Case { path: path.to_path_buf(), text, problems })),
    }
}

/// The answer for `--json`; a length that there is none of is null.
fn json(spread: &Spread, plan: &Plan, wall: f64, cautions: &[String]) -> Value {
    let inputs: Vec<Value> = spread
        .inputs
        .iter()
        .map(|drawn| {
            json!({
                "input": drawn.input, "distribution": drawn.distribution, "measures": drawn.measures,
                "units": drawn.units(), "basis": drawn.basis,
            })
        })
        .collect();
    let outputs: Vec<Value> = spread
        .outputs
        .iter()
        .zip(&spread.summaries)
        .map(|(output, summary)| {
            let mut row = Map::new();
            row.insert("output".to_string(), json!(output.name));
            row.insert("units".to_string(), json!(output.units));
            for (share, value) in SHARES.iter().zip(summary.percentiles) {
                row.insert(format!("p{:02.0}", 100.0 * share), json!(value));
            }
            row.insert("mean".to_string(), json!(summary.mean));
            row.insert("standard_deviation".to_string(), json!(summary.deviation));
            Value::Object(row)
        })
        .collect();
    let indices: Vec<Value> = spread
        .indices
        .iter()
        .map(|(output, indices)| {
            let one = |(drawn, index): (&quenchway::study::spread::Drawn, &Index)| {
                let mut row = serde_json::to_value(index).unwrap_or(Value::Null);
                row["input"] = json!(drawn.input);
                row
            };
            let rows: Vec<Value> = spread.inputs.iter().zip(indices).map(one).collect();
            json!({ "output": spread.outputs[*output].name, "inputs": rows })
        })
        .collect();
    let computed: Vec<Value> =
        spread.computed.iter().map(|(path, count)| json!({ "path": path, "cases": count })).collect();
    let failures: Vec<Value> =
        spread.failures.iter().map(|(reason, count)| json!({ "reason": reason, "samples": count })).collect();
    json!({
        "samples": plan.samples, "seed": plan.seed, "method": plan.method, "usual_bands": spread.usual,
        "inputs": inputs, "outputs": outputs, "limits": spread.limits, "all_limits": spread.all,
        "length": spread.lengths.as_ref().ok(),
        "no_length": spread.lengths.as_ref().err().map(|reason| reason.to_string()),
        "indices": indices, "checked": spread.checked, "failed": failures,
        "computed": computed, "solves": spread.solves, "wall_s": wall, "cautions": cautions,
    })
}
