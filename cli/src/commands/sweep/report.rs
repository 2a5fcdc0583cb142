//! What is said of a sweep when it is done.

use quenchway::case::cautions::cautions;
use quenchway::engine::Path;
use quenchway::study::sweep::Status;
use quenchway::units::{Dimension, System};
use quenchway_words::Shown;
use quenchway_words::blocks::{Block, Grid, Mark, Part as Words, Tone};
use quenchway_words::{clean, significant};
use serde_json::{Value, json};

use crate::build::PROGRAM;
use crate::report::terminal;
use crate::sweep::{Joined, Part, Plan, duration};

/// What happened.
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// The study.
    pub plan: &'a Plan,
    /// Samples computed now.
    pub samples: u64,
    /// Those that failed.
    pub failed: u64,
    /// Those that were solved side by side.
    pub side_by_side: u64,
    /// How long that took.
    pub seconds: f64,
    /// Samples at the same time.
    pub threads: usize,
    /// The part, and how many of its samples are there now.
    pub part: Option<(Part, u64)>,
    /// The joined file.
    pub joined: Option<&'a Joined>,
}

impl<'a> Told<'a> {
    /// Nothing computed yet.
    pub fn new(plan: &'a Plan) -> Told<'a> {
        Told { plan, samples: 0, failed: 0, side_by_side: 0, seconds: 0.0, threads: 0, part: None, joined: None }
    }

    /// One JSON object. Where it is kept in the file that it tells of, the file's size is not known yet: `bytes` is null.
    pub fn json(&self) -> String {
        let identity = &self.plan.identity;
        let mut object = json!({
            "title": self.plan.sweep.title,
            "version": env!("CARGO_PKG_VERSION"),
            "program": PROGRAM,
            "study_sha256": identity.study,
            "resolved_case_sha256": identity.case,
            "samples": self.plan.sweep.samples(),
            "computed_now": self.samples,
            "failed_now": self.failed,
            "side_by_side_now": self.side_by_side,
            "lanes": Path::best(),
            "wall_s": self.seconds,
            "threads": self.threads,
            "cautions": cautions(&self.plan.case),
        });
        if let Some((part, there)) = self.part {
            object["part"] = json!(part.to_string());
            object["samples_of_part"] = json!(there);
        }
        if let Some(joined) = self.joined {
            let statuses = Status::ALL.iter().zip(joined.by_status);
            object["by_status"] = Value::Object(statuses.map(|(s, n)| (s.name().to_string(), json!(n))).collect());
            let checks = &joined.checks;
            object["checked"] = json!({
                "samples": checks.count,
                "without_solution": checks.failed,
                "above_tolerance": checks.above,
                "error_largest_K": checks.largest,
                "error_rms_K": checks.rms(),
                "largest_at_sample": checks.worst,
            });
            let outputs = self.plan.sweep.outputs.iter().zip(&joined.outputs).map(|(output, extent)| {
                let number = |value: f64| if extent.count > 0 { json!(value) } else { Value::Null };
                json!({
                    "name": output.name,
                    "units": output.units,
                    "low": number(extent.low),
                    "mean": number(extent.mean()),
                    "high": number(extent.high),
                })
            });
            object["outputs"] = Value::Array(outputs.collect());
            object["bytes"] = Value::Null;
            object["parts"] = json!(joined.parts);
        }
        format!("{object:#}\n")
    }

    /// The report for a terminal.
    pub fn report(&self, system: System, width: usize) -> String {
        let mut blocks = vec![Block::words(Mark::None, self.done())];
        let mut parts = Vec::new();
        if let Some(joined) = self.joined {
            blocks.extend(self.failures(joined));
            blocks.push(Block::words(Mark::None, self.checked(joined, Shown { system })));
            parts.push(Words::new("Outputs", vec![Block::Table(self.outputs(joined, Shown { system }))]));
        }
        let cautions = cautions(&self.plan.case);
        parts.push(Words::new("Cautions", cautions.into_iter().map(|text| Block::words(Mark::Item, text)).collect()));
        let title = terminal::heading(&terminal::fill(&clean(&self.plan.sweep.title), width));
        let mut shown = vec![format!("{title}\n{}", terminal::blocks(&blocks, width))];
        shown.extend(parts.iter().map(|part| terminal::part(part, width)));
        shown.retain(|part| !part.is_empty());
        shown.join("\n")
    }

    fn done(&self) -> String {
        let samples = self.plan.sweep.samples();
        let how = if self.samples > 0 {
            let rate = self.samples as f64 / self.seconds.max(1e-9);
            let mut how = format!(
                "{} were computed in this run, in {} on {} threads, {} a second",
                self.samples,
                duration(self.seconds),
                self.threads,
                significant(rate)
            );
            if self.side_by_side > 0 {
                how += &format!(". {} of them were computed {}", self.side_by_side, Path::best().name());
            }
            how
        } else {
            "None were computed in this run".to_string()
        };
        match self.part {
            Some((part, there)) => {
                let failed =
                    if self.failed > 0 { format!("; {} have no full answer", self.failed) } else { String::new() };
                format!("Part {part}: {there} of {samples} samples are there. {how}{failed}.")
            }
            None => format!("The study has {samples} samples. {how}."),
        }
    }

    fn failures(&self, joined: &Joined) -> Vec<Block> {
        let bad: u64 = joined.by_status[1..].iter().sum();
        if bad == 0 {
            return vec![Block::stressed(Mark::None, "Every sample has its answer.", Tone::Good, "Every sample")];
        }
        let counts = Status::ALL.into_iter().zip(joined.by_status).skip(1).filter(|(_, count)| *count > 0);
        let counts: Vec<String> = counts.map(|(status, count)| format!("{count} {}", words(status))).collect();
        let many = format!("{bad} samples");
        let text = format!("{many} have no full answer: {}; status and status_reason say why.", counts.join(", "));
        let mut blocks = vec![Block::stressed(Mark::None, text, Tone::Warn, &many)];
        let reasons = joined.reasons.iter();
        blocks.extend(reasons.map(|(index, why)| Block::words(Mark::Item, format!("sample {index}: {}", clean(why)))));
        blocks
    }

    fn checked(&self, joined: &Joined, shown: Shown) -> String {
        let checks = &joined.checks;
        if checks.count == 0 {
            return "No sample could be solved again the careful way: the numerical error was not measured."
                .to_string();
        }
        let error = |kelvin: f64| {
            let of = Dimension::TemperatureDifference;
            format!("{} {}", significant(shown.value(kelvin, of)), shown.unit(of))
        };
        let mut text = format!(
            "{} samples solved again the careful way: largest error found {} (root mean square {}), the tolerance is {}",
            checks.count,
            error(checks.largest),
            error(checks.rms()),
            error(self.plan.case.tolerance)
        );
        if checks.above > 0 {
            text += &format!("; {} of them are above it, the largest at sample {}", checks.above, checks.worst);
        }
        if checks.failed > 0 {
            text += &format!("; {} have no careful solution", checks.failed);
        }
        text + "."
    }

    fn outputs(&self, joined: &Joined, shown: Shown) -> Grid {
        let header = ["output", "lowest", "mean", "highest", "unit"].map(str::to_string).to_vec();
        let mut grid = Grid::new(header).with_words(&[4]);
        for (output, extent) in self.plan.sweep.outputs.iter().zip(&joined.outputs) {
            let values = [extent.low, extent.mean(), extent.high];
            let unit = output.dimension.map_or("%", |dimension| shown.unit(dimension));
            let number = |value: f64| match output.dimension {
                Some(dimension) => shown.number(value, dimension),
                None if value.is_finite() => format!("{value:.2}"),
                None => "-".to_string(),
            };
            let mut row = vec![clean(&output.name)];
            row.extend(values.map(number));
            row.push(unit.to_string());
            grid.row(row);
        }
        grid
    }
}

/// The JSON that a results file keeps of its report, with the file's size.
pub fn sized(report: &str, bytes: u64) -> String {
    // Within a text the quotes would be escaped: there is one such place.
    report.replacen("\"bytes\": null", &format!("\"bytes\": {bytes}"), 1)
}

/// What became of a sample, in words.
fn words(status: Status) -> &'static str {
    match status {
        Status::Good => "good",
        Status::Refused => "with inputs that make no case",
        Status::NoSolution => "without a solution",
        Status::Incomplete => "with an output that has no number",
        Status::Fault => "with a fault of the program",
    }
}
