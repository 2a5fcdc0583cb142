//! What can go wrong in the physics: one closed family.

use std::fmt;

/// A march that cannot give an answer; every variant carries the numbers that its message prints.
#[derive(Clone, Debug, PartialEq)]
pub enum Error {
    /// The energy books do not close: a fault of the program, never of the case.
    BalanceOpen {
        /// Imbalance relative to the product's heat content above the coldest medium.
        relative: f64,
    },
    /// The time step fell below what the clock can resolve.
    StepVanished {
        /// The section's name.
        section: String,
        /// Time since the section's entry, s.
        time: f64,
        /// The step that was asked for, s.
        step: f64,
    },
    /// A temperature left the range of numbers.
    NotFinite {
        /// The section's name.
        section: String,
        /// Time since the section's entry, s.
        time: f64,
    },
    /// The case would need more nodes or steps than is reasonable.
    TooLarge {
        /// What is too large: "intervals" or "time steps".
        what: &'static str,
        /// How many were needed or reached.
        needed: usize,
        /// How many are allowed.
        allowed: usize,
    },
    /// The temperature of water that runs against the product, or of a tank, was not found.
    WaterOpen {
        /// The section's name.
        section: String,
        /// What is left open of the water's temperature, K.
        residual: f64,
    },
    /// Water that runs against the product is too little to be followed.
    WaterTrickles {
        /// The section's name.
        section: String,
        /// Its flow, kg/s.
        flow: f64,
        /// The least that can be followed, kg/s.
        needed: f64,
    },
    /// The heat would boil or freeze the water.
    WaterNotLiquid {
        /// The section's name.
        section: String,
        /// Temperature at which the water would leave, degC.
        outlet: f64,
        /// Its flow, kg/s.
        flow: f64,
    },
    /// A value of the case that no march can start from; the case file reader reports these with their line.
    Unphysical {
        /// Where: a layer, section or station by name.
        place: String,
        /// What is wrong and what would be right.
        reason: String,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::BalanceOpen { relative } => write!(
                out,
                "the energy balance does not close: {relative:.1e} of the product's heat content is missing; this is a \
                 fault of the program, the result is withheld"
            ),
            Error::StepVanished { section, time, step } => write!(
                out,
                "in section \"{section}\", {time:.4} s after its entry, the time step fell to {step:.1e} s. A film or \
                 property table there changes too abruptly to be followed"
            ),
            Error::NotFinite { section, time } => {
                write!(
                    out,
                    "in section \"{section}\", {time:.4} s after its entry, a temperature left the range of numbers"
                )
            }
            Error::TooLarge { what, needed, allowed } => write!(
                out,
                "this case needs {needed} {what}, {allowed} are allowed: a looser solver.tolerance would do with fewer"
            ),
            Error::WaterOpen { section, residual } => write!(
                out,
                "the water temperature in section \"{section}\" was not found, {residual:.1e} K are left open. Its flow is \
                 too small for the heat that it meets. Give more flow, or direction = \"mixed\""
            ),
            Error::WaterTrickles { section, flow, needed } => write!(
                out,
                "the {:.3} L/min of section \"{section}\" are too little to run against the product: give at least {:.3} \
                 L/min, or direction = \"mixed\"",
                flow * 60.0,
                needed * 60.0
            ),
            Error::WaterNotLiquid { section, outlet, flow } => write!(
                out,
                "the water of section \"{section}\" would leave at {outlet:.0} degC: {:.2} L/min cannot take up the heat; give \
                 more flow or colder water",
                flow * 60.0
            ),
            Error::Unphysical { place, reason } => write!(out, "{place}: {reason}"),
        }
    }
}

impl std::error::Error for Error {}
