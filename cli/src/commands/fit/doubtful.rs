//! When a fit must not be used as it is: it found no minimum, ended at a bound, or does not fit the trial.

use quenchway::study::fit::{Fit, TOO_FAR, Unknown};
use quenchway::units::System;
use quenchway_words::fit::value;

/// Why the fit must not be used as it is, in words; none where it may.
pub(super) fn reason(fit: &Fit, unknowns: &[Unknown], system: System) -> Option<String> {
    let mut reasons: Vec<String> = Vec::new();
    if !fit.converged {
        reasons.push("it found no minimum".to_string());
    }
    for (estimate, unknown) in fit.unknowns.iter().zip(unknowns).filter(|(estimate, _)| estimate.at_bound) {
        reasons.push(format!("{} ended at its bound of {}", estimate.unknown, value(unknown, estimate.value, system)));
    }
    let whole = fit.residual_deviation.filter(|deviation| *deviation > TOO_FAR);
    let outputs = off(fit);
    if let (Some(deviation), true) = (whole, outputs.is_empty()) {
        reasons.push(format!("it is off by {deviation:.1} times the stated uncertainties"));
    }
    for (output, times) in outputs {
        reasons.push(format!("{output} is off by {times:.1} times its uncertainty"));
    }
    (!reasons.is_empty()).then(|| reasons.join(", and "))
}

/// Outputs that are off by more than four times their uncertainty, root mean square, and how much.
fn off(fit: &Fit) -> Vec<(&str, f64)> {
    let mut outputs: Vec<(&str, f64, f64)> = Vec::new();
    for residual in &fit.residuals {
        let share = residual.residual / residual.uncertainty;
        match outputs.iter_mut().find(|(name, ..)| *name == residual.output) {
            Some((_, sum, count)) => (*sum, *count) = (*sum + share * share, *count + 1.0),
            None => outputs.push((&residual.output, share * share, 1.0)),
        }
    }
    let mean = outputs.into_iter().map(|(name, sum, count)| (name, (sum / count).sqrt()));
    mean.filter(|(_, times)| *times > TOO_FAR).collect()
}
