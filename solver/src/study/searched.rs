//! Outputs that no single march tells: answers of searches, and numbers of the programme of a line, driven.

use super::drive::answer::{Answer, answer};
use super::drive::spans::Spans;
use super::length::needed;
use super::moves::ramp::{Asked, ramps};
use super::speed::top_speed;
use crate::case::CaseFile;
use crate::march::output::{OfDrive, Search};
use crate::units::System;

/// Answers about one case: what is driven for one output serves the others.
#[derive(Debug, Default)]
pub(crate) struct Searched {
    driven: Option<Result<Box<Answer>, String>>,
}

impl Searched {
    /// The number of an output of the case, or why it has none.
    pub(crate) fn number(&mut self, case: &CaseFile, search: Search) -> Result<f64, String> {
        match search {
            Search::Length => Ok(needed(case).map_err(|error| error.to_string())?.length),
            Search::Speed => Ok(top_speed(case).map_err(|error| error.to_string())?.top),
            Search::Ramp => fastest_ramp(case),
            Search::Drive(of) => {
                // Rows over time are for reports.
                let drive = || answer(case, Some(f64::MAX), false, &|_| {}).map(Box::new);
                let driven = self.driven.get_or_insert_with(|| drive().map_err(|error| error.to_string()));
                driven.as_ref().map(|found| of_drive(found, of)).map_err(String::clone)
            }
        }
    }
}

fn of_drive(found: &Answer, of: OfDrive) -> f64 {
    let station = |index: usize| found.stations.get(index);
    let highest = |range: Option<[[f64; 2]; 2]>| range.map_or(f64::NAN, |[_, [highest, _]]| highest);
    match of {
        OfDrive::SurfaceHighest(index) => station(index).map_or(f64::NAN, |station| highest(station.surface)),
        OfDrive::CoreHighest(index) => station(index).map_or(f64::NAN, |station| highest(station.core)),
        OfDrive::ScrapAt(index) => station(index).map_or(f64::NAN, |station| {
            let those = found.spans.iter().filter(|span| span.station.as_ref() == Some(&station.name));
            Spans::new(those.map(|span| [span.from, span.to])).length()
        }),
        OfDrive::SecondsAt(index) => station(index).map_or(f64::NAN, |station| {
            Spans::new(station.limits.iter().flat_map(|limit| limit.out_times_s.iter().copied())).length()
        }),
        OfDrive::Scrap => found.scrap_m,
        OfDrive::Seconds => found.out_s,
        OfDrive::Highest(index) => found.accumulators.get(index).map_or(f64::NAN, |one| one.highest_m),
        OfDrive::Lowest(index) => found.accumulators.get(index).map_or(f64::NAN, |one| one.lowest_m),
    }
}

/// The fastest even ramp from the first speed of the programme to the line speed, s.
fn fastest_ramp(case: &CaseFile) -> Result<f64, String> {
    let from = case.programme.starts_at.ok_or("the case does not say starts_at, from which the line ramps")?;
    let asked = Asked { from, to: case.line_speed, print: System::Si };
    let found = ramps(case, asked, &|_| {}).map_err(|error| error.to_string())?;
    let even = found.courses.first().ok_or("the end speed is out of limits in the steady line, so no ramp helps")?;
    let fastest = even.fastest().ok_or("no even ramp is within limits")?;
    Ok(fastest.map_or(even.looked_at[0], |edge| edge.within))
}
