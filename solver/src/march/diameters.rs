//! The limits of the diameter at the stations of a run.

use serde::Serialize;

use crate::case::Case;
use crate::march::solution::Solution;

/// A limit of the diameter and whether it is met.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DiameterLimit {
    /// The station.
    pub station: String,
    /// `diameter_min` or `diameter_max`: the key of the case file.
    pub name: &'static str,
    /// The limit, m.
    #[serde(rename = "limit_m")]
    pub limit: f64,
    /// The outer diameter (flat: thickness), hot as the station sees it, m.
    #[serde(rename = "value_m")]
    pub value: f64,
    /// How far it is within the limit, m; negative where it is beyond it.
    #[serde(rename = "margin_m")]
    pub margin: f64,
    /// Whether it is within.
    pub met: bool,
}

/// Every limit of the diameter of a case, in the order of its stations.
///
/// ```
/// let text = quenchway::file::EXAMPLE.replace("offset = \"-0.2 m\"", "offset = \"-0.2 m\"\ndiameter_max = \"3.4 mm\"");
/// let case = quenchway::file::read(&text).unwrap();
/// let solution = quenchway::march::march(&case).unwrap();
/// let [limit] = &quenchway::march::diameters::diameter_limits(&case, &solution)[..] else { panic!() };
/// assert!(!limit.met && limit.margin == 3.4e-3 - solution.stations[0].point.diameter);
/// ```
pub fn diameter_limits(case: &Case, solution: &Solution) -> Vec<DiameterLimit> {
    let pairs = case.stations.iter().zip(&solution.stations);
    let of_station = pairs.flat_map(|(station, report)| {
        let value = report.point.diameter;
        let least = station.diameter_min.map(|limit| ("diameter_min", limit, value - limit));
        let most = station.diameter_max.map(|limit| ("diameter_max", limit, limit - value));
        least.into_iter().chain(most).map(move |(name, limit, margin)| {
            let station = station.name.clone();
            DiameterLimit { station, name, limit, value, margin, met: margin >= 0.0 }
        })
    });
    of_station.collect()
}
