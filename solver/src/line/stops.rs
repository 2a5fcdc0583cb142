//! Where the clock must stop in a section: stations, kinks of film tables, the end.

use crate::case::Case;
use crate::discretise::Times;

/// What the clock stops for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Stop {
    /// A station, by index.
    Station(usize),
    /// A point of a film table.
    Kink,
    /// The section's end.
    End,
}

/// Two stops closer than this share of their section are one: their distances differ by rounding only.
pub(super) const SAME: f64 = 1e-11;

/// Every stop of a section with its distance from the entry, in order; the end last.
pub(super) fn stops(case: &Case, section: usize) -> Vec<(f64, Stop)> {
    let length = case.sections[section].length;
    let mut stops: Vec<(f64, Stop)> = Vec::new();
    for (index, station) in case.stations.iter().enumerate() {
        let (stands_in, within) = case.station_place(station);
        if stands_in == section {
            stops.push((within, Stop::Station(index)));
        }
    }
    for kink in case.sections[section].film.kinks_in_distance() {
        if kink > 0.0 && kink < length {
            stops.push((kink, Stop::Kink));
        }
    }
    stops.push((length, Stop::End));
    stops.sort_by(|a, b| a.0.total_cmp(&b.0));
    stops
}

/// The times that the mesh rule asks for.
pub fn times(case: &Case) -> Times {
    let first_asked = |section: usize| {
        let reported = |stop: &&(f64, Stop)| stop.1 != Stop::Kink && stop.0 > 0.0;
        stops(case, section).iter().find(reported).map_or(f64::INFINITY, |stop| stop.0 / case.line_speed)
    };
    Times {
        earliest: (0..case.sections.len()).map(first_asked).fold(f64::INFINITY, f64::min),
        first_report: first_asked(0),
    }
}
