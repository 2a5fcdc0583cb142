//! A spread as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};

use super::{Chance, Checked, Drawn, Index, LengthAt, Lengths, LimitChance, Measures, SHARES, Spread, Summary};
use crate::data::{ByName, Column, Data, InUnit, column, plain};
use crate::engine::Path;
use crate::march::output::Output;
use crate::march::table::word;
use crate::maths::distribution::Distribution;
use crate::maths::sample::Method;
use crate::units::Dimension;

static LIMIT: [Column<LimitChance>; 4] = [
    column("limit_temperature", "degC", "the limit", |limit| limit.max(Dimension::Temperature)),
    column("probability", "1", "probability that it is met", |limit| limit.chance.probability),
    column("probability_low", "1", "low end of its 95 % interval", |limit| limit.chance.interval[0]),
    column("probability_high", "1", "high end of its 95 % interval", |limit| limit.chance.interval[1]),
];

static OF_MELT: [Column<LimitChance>; 1] =
    [column("limit_melt_shrink", "percent", "the limit", |limit| limit.max(Dimension::Share))];

static AT_CHANCE: [Column<LengthAt>; 3] = [
    column("length_at_chance", "m", "trough that meets all limits with the chance; infinite: none", |at| at.length),
    column("length_at_chance_low", "m", "low end of its 95 % interval", |at| at.interval[0]),
    column("length_at_chance_high", "m", "high end of its 95 % interval", |at| at.interval[1]),
];

static INDEX: [Column<Index>; 6] = [
    column("first_order", "1", "first-order Sobol index", |index| index.first),
    column("first_order_low", "1", "low end of its 95 % interval", |index| index.first_interval[0]),
    column("first_order_high", "1", "high end of its 95 % interval", |index| index.first_interval[1]),
    column("total_order", "1", "total-order Sobol index", |index| index.total),
    column("total_order_low", "1", "low end of its 95 % interval", |index| index.total_interval[0]),
    column("total_order_high", "1", "high end of its 95 % interval", |index| index.total_interval[1]),
];

impl LimitChance {
    /// The limit, where it is of this kind.
    fn max(&self, kind: Dimension) -> f64 {
        if self.ceiling.dimension() == kind { self.ceiling.max } else { f64::NAN }
    }

    fn is_of_melt(&self) -> bool {
        self.ceiling.dimension() == Dimension::Share
    }
}

impl Spread {
    /// Every sample with its inputs and outputs, and what is said of them.
    pub fn data(&self) -> Data {
        let mut data = Data::with_cautions(&self.cautions);
        data.text("method", self.plan.method.name().to_string())
            .text("varies", if self.usual { "usual bands" } else { "[vary]" }.to_string())
            .text("no_length", self.lengths.as_ref().err().map(ToString::to_string))
            .number("seed", self.plan.seed as f64)
            .number("checked_samples", self.checked.samples as f64)
            .number("checked_largest_K", self.checked.largest)
            .number("solves", self.solves as f64);
        let all = |value: fn(&Chance) -> f64| self.all.as_ref().map(value);
        data.number("all_limits_probability", all(|all| all.probability))
            .number("all_limits_probability_low", all(|all| all.interval[0]))
            .number("all_limits_probability_high", all(|all| all.interval[1]));

        let numbered = (0..self.samples.len()).map(|index| index as f64).collect();
        let sample = data.scale("sample", "1", "number of the sample", numbered);
        let input = data.names("input", "what varies, by key path", self.inputs.iter().map(|input| &input.input));
        self.drawn(&mut data, sample, input);
        self.summed(&mut data);
        // A dimension without anything along it says nothing.
        if !self.limits.is_empty() {
            let limit = data.names("limit", "what has a limit", self.limits.iter().map(|limit| &limit.ceiling.name));
            data.along(limit, &self.limits, &LIMIT);
            if self.limits.iter().any(LimitChance::is_of_melt) {
                data.along(limit, &self.limits, &OF_MELT);
            }
        }
        if let Some(lengths) = self.lengths.as_ref().ok().filter(|lengths| !lengths.at.is_empty()) {
            let chances = lengths.at.iter().map(|at| at.chance).collect();
            let chance = data.scale("chance", "1", "chance of meeting all limits", chances);
            data.along(chance, &lengths.at, &AT_CHANCE);
        }
        if !self.indices.is_empty() {
            let targets = self.indices.iter().map(|(output, _)| &self.outputs[*output].name);
            let target = data.names("target", "output whose variance is shared out", targets);
            for Column { label, value } in &INDEX {
                let values = self.indices.iter().flat_map(|(_, indices)| indices.iter().map(value)).collect();
                data.numbers(label.name, label.units, label.long_name, &[target, input], values);
            }
        }
        data
    }

    /// Inputs, outputs, needed trough and status of every sample.
    fn drawn(&self, data: &mut Data, sample: usize, input: usize) {
        let samples = &self.samples;
        for (place, drawn) in self.inputs.iter().enumerate() {
            let words = format!("drawn for {}: {}", drawn.input, word(&drawn.measures));
            let values = samples.iter().map(|sample| sample.drawn[place]).collect();
            data.numbers(&format!("vary_{}", plain(&drawn.input)), drawn.units(), &words, &[sample], values);
        }
        for (place, output) in self.outputs.iter().enumerate() {
            let value = |sample: &super::Sample| sample.outputs.as_ref().map_or(f64::NAN, |outputs| outputs[place]);
            let values = samples.iter().map(value).collect();
            data.numbers(&plain(&output.name), output.units, &output.describes, &[sample], values);
        }
        if self.lengths.is_ok() {
            let words = "trough that the sample needs; infinite: none meets the limits";
            data.numbers("needed_length", "m", words, &[sample], samples.iter().map(|sample| sample.length).collect());
        }
        let failed = samples.iter().map(|sample| f64::from(u8::from(sample.outputs.is_err()))).collect();
        data.numbers("status", "1", "0: good, 1: no answer", &[sample], failed);
        if !self.failures.is_empty() {
            let reason = |sample: &super::Sample| sample.outputs.as_ref().err().cloned().unwrap_or_default();
            data.texts("status_reason", "why the sample has no answer", sample, samples.iter().map(reason));
        }
        let distribution = |drawn: &Drawn| serde_json::to_string(&drawn.distribution).unwrap_or_default();
        let words = "distribution of the input, SI";
        data.texts("distribution", words, input, self.inputs.iter().map(distribution));
        data.texts("basis", "where it comes from", input, self.inputs.iter().map(|drawn| drawn.basis.clone()));
    }

    /// Of every output its percentiles, mean and standard deviation, each in the output's unit.
    fn summed(&self, data: &mut Data) {
        if self.summaries.is_empty() {
            return;
        }
        let percentile = data.scale("percentile", "1", "share of the samples below", SHARES.to_vec());
        for (output, summary) in self.outputs.iter().zip(&self.summaries) {
            let name = |what: &str| format!("{}_{what}", plain(&output.name));
            let words = |what: &str| format!("{}, {what} of the samples", output.describes);
            let difference = if output.units == "degC" { "K" } else { output.units };
            let percentiles = summary.percentiles.to_vec();
            data.numbers(&name("percentiles"), output.units, &words("percentiles"), &[percentile], percentiles);
            data.numbers(&name("mean"), output.units, &words("mean"), &[], vec![summary.mean]);
            let deviation = vec![summary.deviation];
            data.numbers(&name("standard_deviation"), difference, &words("standard deviation"), &[], deviation);
        }
    }
}

/// SI; a length that there is none of is null.
#[derive(Serialize)]
struct Told<'a> {
    samples: u64,
    seed: u64,
    method: Method,
    usual_bands: bool,
    inputs: Vec<Input<'a>>,
    outputs: Vec<Summed<'a>>,
    limits: &'a [LimitChance],
    all_limits: Option<&'a Chance>,
    length: Option<&'a Lengths>,
    no_length: Option<String>,
    indices: Vec<OfOutput<'a>>,
    checked: &'a Checked,
    failed: Vec<Failed<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    without_a_number: Option<Vec<Failed<'a>>>,
    computed: Vec<Way>,
    solves: usize,
    wall_s: f64,
    cautions: &'a [String],
}

#[derive(Serialize)]
struct Input<'a> {
    input: &'a str,
    distribution: &'a Distribution,
    measures: Measures,
    units: &'static str,
    basis: &'a str,
}

#[derive(Serialize)]
struct Summed<'a> {
    output: &'a str,
    units: &'static str,
    #[serde(flatten)]
    percentiles: ByName<String, f64>,
    mean: f64,
    standard_deviation: f64,
}

#[derive(Serialize)]
struct OfOutput<'a> {
    output: &'a str,
    inputs: Vec<OfInput<'a>>,
}

#[derive(Serialize)]
struct OfInput<'a> {
    input: &'a str,
    #[serde(flatten)]
    index: &'a Index,
}

#[derive(Serialize)]
struct Failed<'a> {
    reason: &'a str,
    samples: usize,
}

#[derive(Serialize)]
struct Way {
    path: Path,
    cases: usize,
}

impl Serialize for LimitChance {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Told<'a> {
            name: &'a str,
            #[serde(flatten)]
            limit: InUnit,
            #[serde(flatten)]
            chance: &'a Chance,
        }
        let limit = InUnit::of(self.ceiling.dimension().udunits(), &[("limit", self.ceiling.max)]);
        Told { name: &self.ceiling.name, limit, chance: &self.chance }.serialize(serializer)
    }
}

impl<'a> Input<'a> {
    fn of(drawn: &'a Drawn) -> Input<'a> {
        let Drawn { input, distribution, measures, basis, .. } = drawn;
        Input { input, distribution, measures: *measures, units: drawn.units(), basis }
    }
}

impl<'a> Summed<'a> {
    fn of((output, summary): (&'a Output, &Summary)) -> Summed<'a> {
        let shares = SHARES.iter().map(|share| format!("p{:02.0}", 100.0 * share));
        Summed {
            output: &output.name,
            units: output.units,
            percentiles: shares.zip(summary.percentiles).collect(),
            mean: summary.mean,
            standard_deviation: summary.deviation,
        }
    }
}

/// Reasons with how many samples each.
fn reasons(counted: &[(String, usize)]) -> Vec<Failed<'_>> {
    counted.iter().map(|(reason, samples)| Failed { reason, samples: *samples }).collect()
}

impl Spread {
    fn shared_out<'a>(&'a self, (output, indices): &'a (usize, Vec<Index>)) -> OfOutput<'a> {
        let inputs = self.inputs.iter().zip(indices).map(|(drawn, index)| OfInput { input: &drawn.input, index });
        OfOutput { output: &self.outputs[*output].name, inputs: inputs.collect() }
    }
}

impl Serialize for Spread {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let beyond_a_march = self.outputs.iter().any(|output| output.searched().is_some());
        let told = Told {
            samples: self.plan.samples,
            seed: self.plan.seed,
            method: self.plan.method,
            usual_bands: self.usual,
            inputs: self.inputs.iter().map(Input::of).collect(),
            outputs: self.outputs.iter().zip(&self.summaries).map(Summed::of).collect(),
            limits: &self.limits,
            all_limits: self.all.as_ref(),
            length: self.lengths.as_ref().ok(),
            no_length: self.lengths.as_ref().err().map(ToString::to_string),
            indices: self.indices.iter().map(|one| self.shared_out(one)).collect(),
            checked: &self.checked,
            failed: reasons(&self.failures),
            without_a_number: beyond_a_march.then(|| reasons(&self.absent)),
            computed: self.computed.iter().map(|&(path, cases)| Way { path, cases }).collect(),
            solves: self.solves,
            wall_s: self.wall,
            cautions: &self.cautions,
        };
        told.serialize(serializer)
    }
}
