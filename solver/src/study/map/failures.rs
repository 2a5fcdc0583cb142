//! Points without an answer, counted by their cause.

use crate::case::error::Error;

/// Causes, each with the number of its points.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Failures {
    /// In the order in which they were met.
    pub causes: Vec<(String, usize)>,
}

impl Failures {
    /// Counts a point; returns the number of its cause, from 1.
    pub fn add(&mut self, cause: String) -> u16 {
        let place = self.causes.iter().position(|(known, _)| *known == cause).unwrap_or_else(|| {
            self.causes.push((cause, 0));
            self.causes.len() - 1
        });
        self.causes[place].1 += 1;
        u16::try_from(place + 1).unwrap_or(u16::MAX)
    }

    /// How many points have no answer.
    pub fn total(&self) -> usize {
        self.causes.iter().map(|(_, count)| count).sum()
    }

    /// The cause of most of them.
    pub fn most_frequent(&self) -> String {
        let most = self.causes.iter().max_by_key(|(_, count)| *count);
        most.map_or(String::new(), |(cause, _)| cause.clone())
    }
}

/// Why a march has no answer, without the numbers that differ from point to point.
pub fn cause(error: &Error) -> String {
    match error {
        Error::BalanceOpen { .. } => "the energy balance does not close: a fault of the program".to_string(),
        Error::StepVanished { section, .. } => format!("the time step vanished in section \"{section}\""),
        Error::NotFinite { section, .. } => {
            format!("a temperature left the range of numbers in section \"{section}\"")
        }
        Error::TooLarge { what, allowed, .. } => format!("more than {allowed} {what} would be needed"),
        Error::WaterOpen { section, .. } => format!("the water temperature in section \"{section}\" was not found"),
        Error::WaterTrickles { section, .. } => {
            format!("the water of section \"{section}\" is too little to run against the product")
        }
        Error::WaterNotLiquid { section, .. } => format!("the water of section \"{section}\" would boil or freeze"),
        Error::Unphysical { place, reason } => format!("{place} {reason}"),
    }
}
