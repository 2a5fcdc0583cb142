//! How uncertain inputs are, by themselves and together, and what varies.

use super::Case;
use crate::maths::distribution::Distribution;
use crate::units::words::key;

/// How uncertain one input is: its two ends, one standard value away from what the case gives.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct InputBand {
    /// Key path; several, separated by a comma and a blank, where one cause moves them together; "mode 1" of a mode.
    pub input: String,
    /// What the ends are.
    pub varied: Varied,
    /// Low end.
    pub low_end: f64,
    /// High end.
    pub high_end: f64,
    /// Where the band comes from.
    pub basis: String,
}

/// A doubt that moves several inputs together: what each of them does for one standard value of it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Mode {
    /// The inputs in the order of their key paths.
    pub moves: Vec<Move>,
}

/// What a mode does to one input.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Move {
    /// Key path.
    pub input: String,
    /// For one standard value: a temperature by so many K, everything else to 1 + so much of itself, and divided by that for
    /// one standard value down.
    pub amount: f64,
}

/// A number of the case that varies.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Varying {
    /// Its key path.
    pub input: String,
    /// How its value is distributed, SI.
    pub distribution: Distribution,
}

/// How an uncertain input is changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Varied {
    /// By a difference, K: temperatures.
    Kelvin,
    /// By a factor: everything else; a curve as a whole.
    Factor,
    /// To a conductance, W/(m2 K), infinite for a perfect contact: contacts with a band of their own.
    Conductance,
    /// Along the band of its law, in standard values: films of a moving product, -1 the low end and 1 the high end.
    Lean,
    /// By so many standard values of a mode, which moves several inputs together.
    Mode,
}

impl Case {
    /// How unsure the film of a section is by what the case says of it itself, bands and modes together: the logarithm of its
    /// factor for one standard value; none where the case says nothing of it.
    pub fn told_film(&self, section: &str) -> Option<f64> {
        // Every march asks.
        if self.bands.is_empty() && self.modes.is_empty() {
            return None;
        }
        let paths = ["film", "film_factor"].map(|last| format!("section.{}.{last}", key(section)));
        let band = |band: &InputBand| 0.5 * (libm::log(band.high_end) - libm::log(band.low_end));
        let of_mode = |mode: &Mode| {
            let moves = |path: &String| mode.moves.iter().find(|one| one.input == *path);
            paths.iter().find_map(moves).map(|one| libm::log(1.0 + one.amount))
        };
        let bands = self.bands.iter().filter(|band| paths.contains(&band.input)).map(band);
        let doubts: Vec<f64> = bands.chain(self.modes.iter().filter_map(of_mode)).collect();
        (!doubts.is_empty()).then(|| doubts.iter().map(|doubt| doubt * doubt).sum::<f64>().sqrt())
    }
}
