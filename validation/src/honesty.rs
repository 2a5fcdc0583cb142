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

/// Seeds on which the stated error's factor and the mesh rule were chosen; nothing that is published is measured on them.
pub const TUNING: [std::ops::Range<u64>; 3] = [0..500, 100_000..100_500, 200_000..200_500];

/// Seeds on which the stated error is measured. They were first run after the numerics were frozen. Whoever changes the
/// mesh rule, the step control or the stated error with an eye on these results moves them to `TUNING` and takes new ones.
pub const MEASURED: std::ops::Range<u64> = 300_000..302_000;

/// Outcomes of these seeds, in order of seed.
pub fn outcomes(seeds: std::ops::Range<u64>) -> Vec<Result<Outcome, String>> {
    seeds.into_par_iter().map(outcome).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_measured_on_the_seeds_of_the_tuning() {
        assert!(TUNING.iter().all(|tuning| tuning.end <= MEASURED.start || tuning.start >= MEASURED.end));
    }
}
