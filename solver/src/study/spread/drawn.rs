//! What is drawn for a sample: the numbers that the case says vary, or its uncertain inputs with their bands.
//!
//! A band's ends are one standard value away: a difference becomes a normal distribution, a side of its own width each where
//! they differ; a factor whose ends are each other's inverse a log-normal one, another factor a normal one; a contact's
//! conductance becomes a resistance, so that a perfect contact is its end. The film of a law with a band of its own leans to either
//! end by a standard normal number: by powers of the film, as a log-normal factor would.

use crate::case::{CaseFile, Varied};
use crate::maths::distribution::{Distribution, DistributionError};
use crate::maths::order::sort_by_number;
use crate::names::error::KeyPathError;
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;
use crate::study::band::usual::{Input, inputs};

/// Conductances above this cannot be told from a perfect contact: the most that a case file takes, W/(m2 K).
const PERFECT: f64 = 1e6;

/// One number that is drawn for every sample.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// Its key path; several, separated by a comma and a blank, that move together.
    pub input: String,
    /// How it is distributed.
    pub distribution: Distribution,
    /// What the drawn number is.
    pub measures: Measures,
    /// Where the distribution comes from.
    pub basis: String,
    how: How,
}

/// What a drawn number is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Measures {
    /// The value itself, SI.
    Value,
    /// A difference that is added, K.
    Difference,
    /// A factor that multiplies.
    Factor,
    /// The resistance of a contact, m2 K/W; zero is a perfect one.
    Resistance,
    /// Standard values along the band of a film law: -1 its low end, 1 its high end.
    Lean,
    /// Standard values of a mode, which moves several numbers together.
    Mode,
}

#[derive(Clone, Debug)]
enum How {
    Value(Variable),
    Band(Input),
}

impl Drawn {
    /// Gives a drawn value to a copy of the case.
    ///
    /// # Errors
    ///
    /// The value is outside what the case file allows.
    pub fn put(&self, case: &mut CaseFile, value: f64) -> Result<(), KeyPathError> {
        match &self.how {
            How::Value(variable) => variable.move_to(case, value)?,
            How::Band(input) if self.measures == Measures::Resistance => {
                input.put(case, if value * PERFECT > 1.0 { 1.0 / value } else { f64::INFINITY });
            }
            How::Band(input) => input.put(case, value),
        }
        Ok(())
    }

    /// Unit of the drawn number in UDUNITS spelling.
    pub fn units(&self) -> &'static str {
        match (self.measures, &self.how) {
            (Measures::Value, How::Value(variable)) => variable.units(),
            (Measures::Difference, _) => "K",
            (Measures::Resistance, _) => "m2 K W-1",
            _ => "1",
        }
    }

    /// The numbers of the case that it moves.
    pub(in crate::study) fn variables(&self) -> &[Variable] {
        match &self.how {
            How::Value(variable) => std::slice::from_ref(variable),
            How::Band(input) => input.variables(),
        }
    }

    /// The number of the case that it is, where it is one number.
    pub fn variable(&self) -> Option<&Variable> {
        match &self.how {
            How::Value(variable) => Some(variable),
            How::Band(_) => None,
        }
    }
}

/// What is drawn for a case, in the order in which it is applied, and whether the usual bands stand in for `[vary]`.
///
/// A path that leads to no number of the case is left out: the reader has refused it.
pub fn drawn(case: &CaseFile) -> (Vec<Drawn>, bool) {
    if case.vary.is_empty() {
        return (drawn_of_bands(case, &[]), true);
    }
    let of_case = |varying: &crate::case::Varying| {
        let variable = KeyPath::find(case, &varying.input).ok()?;
        Some(Drawn {
            input: varying.input.clone(),
            distribution: varying.distribution,
            measures: Measures::Value,
            basis: "given by the case".to_string(),
            how: How::Value(variable),
        })
    };
    (case.vary.iter().filter_map(of_case).collect(), false)
}

/// The uncertain inputs of a case with their bands as distributions, those at some key paths left out.
pub(in crate::study) fn drawn_of_bands(case: &CaseFile, without: &[String]) -> Vec<Drawn> {
    let of = |input: Input| of_band(case, input.without(without)?).ok();
    let mut drawn: Vec<Drawn> = inputs(case).into_iter().filter_map(of).collect();
    // A die temperature may follow the line speed.
    sort_by_number(&mut drawn, |drawn| f64::from(drawn.input != "line.speed"));
    drawn
}

/// The distribution that a band stands for.
fn of_band(case: &CaseFile, input: Input) -> Result<Drawn, DistributionError> {
    let [low, high] = [input.band.low_end, input.band.high_end];
    // All numbers that move together stay within their bounds.
    let within = |of: &dyn Fn(f64, f64) -> f64| {
        let ends = input.variables().iter().map(|variable| variable.bounds.map(|bound| of(bound, variable.get(case))));
        ends.fold([f64::NEG_INFINITY, f64::INFINITY], |all, ends| [all[0].max(ends[0]), all[1].min(ends[1])])
    };
    let (measures, distribution) = match input.band.varied {
        Varied::Kelvin => {
            let bounds = within(&|bound, value| bound - value);
            let whole =
                if -low == high { Distribution::normal(0.0, high)? } else { Distribution::two_sided(0.0, -low, high)? };
            (Measures::Difference, whole.within(bounds)?)
        }
        Varied::Factor => {
            let bounds = within(&|bound, value| if value > 0.0 { bound / value } else { 1.0 });
            let inverse = (low * high - 1.0).abs() < 1e-9;
            let equal = (low + high - 2.0).abs() < 1e-9;
            let whole = match (inverse, equal) {
                (true, _) => Distribution::log_normal(1.0, high)?,
                (_, true) => Distribution::normal(1.0, high - 1.0)?,
                _ => Distribution::two_sided(1.0, 1.0 - low, high - 1.0)?,
            };
            (Measures::Factor, whole.within([bounds[0].max(0.0), bounds[1]])?)
        }
        Varied::Conductance => {
            let here = input.variables().first().map_or(f64::INFINITY, |variable| variable.get(case));
            // An infinite conductance is no resistance.
            let (middle, low, high) = (1.0 / here, 1.0 / high, 1.0 / low);
            let whole = Distribution::two_sided(middle, (middle - low).max(0.0), (high - middle).max(0.0))?;
            (Measures::Resistance, whole.within([0.0, 1.0])?)
        }
        Varied::Lean => {
            let bounds = within(&|bound, value| bound - value);
            (Measures::Lean, Distribution::normal(0.0, 1.0)?.within(bounds)?)
        }
        Varied::Mode => (Measures::Mode, Distribution::normal(0.0, 1.0)?),
    };
    let (path, basis) = (input.band.input.clone(), input.band.basis.clone());
    Ok(Drawn { input: path, distribution, measures, basis, how: How::Band(input) })
}
