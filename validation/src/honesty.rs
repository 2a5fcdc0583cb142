//! Is the stated error honest? Random cases against themselves at a hundred times tighter tolerance.

use quenchway::case::Case;
use quenchway::march::{march, march_by_rule};
use rayon::prelude::*;

use crate::random;

/// What one random case showed; all errors in K.
#[derive(Clone, Copy, Debug)]
pub struct Outcome {
    /// The case's seed.
    pub seed: u64,
    /// Tolerance asked for.
    pub tolerance: f64,
    /// Error stated by the careful march.
    pub stated: f64,
    /// Its true error: largest difference of any reported temperature from the hundred times tighter march.
    pub careful: f64,
    /// True error of the rule alone, as studies use it.
    pub rule: f64,
}

/// Marches the case of a seed at its tolerance, by the rule, and a hundred times tighter.
pub fn outcome(seed: u64) -> Result<Outcome, String> {
    let case = random::case(seed);
    let said = |error: quenchway::error::Error| format!("seed {seed}: {error}");
    let reference = march(&Case { tolerance: case.tolerance / 100.0, ..case.clone() }).map_err(said)?;
    let careful = march(&case).map_err(said)?;
    let rule = march_by_rule(&case).map_err(said)?;
    Ok(Outcome {
        seed,
        tolerance: case.tolerance,
        stated: careful.numerics.error,
        careful: careful.largest_difference(&reference),
        rule: rule.largest_difference(&reference),
    })
}

/// Outcomes of seeds 0 to `count`, in order of seed.
pub fn outcomes(count: u64) -> Vec<Result<Outcome, String>> {
    (0..count).into_par_iter().map(outcome).collect()
}
