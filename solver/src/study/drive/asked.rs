//! What is asked of a station: everything, or what has a limit.

use super::measure::{DIAMETER, Measure, place_of};
use super::wheel;
use crate::case::Case;

/// What is asked of a station: values of a sight by their places, on arrival and on the wheel.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Asked {
    pub(super) arrival: Vec<usize>,
    pub(super) on_wheel: Vec<usize>,
}

impl Asked {
    /// Of a station: everything, or only what has a limit.
    pub(super) fn of(case: &Case, station: usize, limits_alone: bool) -> Asked {
        let of = &case.stations[station];
        let mut limited: Vec<usize> =
            of.limits.iter().map(|limit| place_of(Measure::Temperature(limit.quantity))).collect();
        let all: Vec<usize> = (0..=DIAMETER + case.layers.len()).collect();
        let on_wheel = if of.contact == 0.0 {
            Vec::new()
        } else if limits_alone {
            limited.clone()
        } else {
            wheel::counted(of)
        };
        if of.diameter_min.is_some() || of.diameter_max.is_some() {
            limited.push(DIAMETER);
        }
        limited.sort_unstable();
        limited.dedup();
        Asked { arrival: if limits_alone { limited } else { all }, on_wheel }
    }
}
