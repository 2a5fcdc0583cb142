//! The unknowns that the flags name.

use quenchway::case::CaseFile;
use quenchway::study::fit::{Unknown, usual_unknowns};
use quenchway::units::{Dimension, parse};

use crate::commands::Failure;

/// The unknowns of `--unknown`, or the usual ones, with what `--prior` says of them.
pub(super) fn unknowns(case: &CaseFile, named: &[String], priors: &[String]) -> Result<Vec<Unknown>, Failure> {
    let of_flag = |paths: &String| Unknown::find(case, paths).map_err(|error| Failure::flag("--unknown", error));
    let mut unknowns = match named {
        [] => usual_unknowns(case),
        named => named.iter().map(of_flag).collect::<Result<_, _>>()?,
    };
    for text in priors {
        let fault = |reason: String| Failure::flag("--prior", reason);
        let form = || {
            fault(format!(
                "{text:?} is no prior; write \"KEYPATH = VALUE ± UNCERTAINTY\", for example \"layer.insulation.temperature = \
                 188 degC ± 3 K\" or \"section.trough.film_factor = 1 ± 0.3\""
            ))
        };
        let (path, rest) = text.rsplit_once('=').ok_or_else(form)?;
        let split = rest.split_once('±').or_else(|| rest.split_once("+-")).or_else(|| rest.split_once("+/-"));
        let (value, uncertainty) = split.map(|(a, b)| (a.trim(), b.trim())).ok_or_else(form)?;
        let name = Unknown::find(case, path.trim()).map_err(|error| fault(error.to_string()))?.name();
        let Some(place) = unknowns.iter().position(|unknown| unknown.name() == name) else {
            let known: Vec<String> = unknowns.iter().map(Unknown::name).collect();
            let known = if known.is_empty() { "nothing".to_string() } else { known.join("; ") };
            return Err(fault(format!("{name} is not fitted, {known} is; name it with --unknown")));
        };
        let unknown = unknowns.remove(place);
        let Some(variable) = unknown.variables.first() else { return Err(form()) };
        let value = variable.parse_value(value).map_err(|error| fault(error.to_string()))?;
        let uncertainty = match variable.dimension {
            None => uncertainty.parse().ok(),
            Some(dimension) => {
                let of = if dimension == Dimension::Temperature { Dimension::TemperatureDifference } else { dimension };
                Some(parse(uncertainty, of).map_err(|error| fault(format!("{name}: uncertainty: {error}")))?)
            }
        };
        match uncertainty.filter(|uncertainty: &f64| *uncertainty > 0.0 && value.is_finite()) {
            Some(uncertainty) => unknowns.insert(place, unknown.with_prior(value, uncertainty)),
            None => return Err(form()),
        }
    }
    Ok(unknowns)
}
