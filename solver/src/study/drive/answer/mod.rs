//! The answer of `drive`: which metres are out of limits and why, for how long a station sees such product, and everything
//! that is told beside it.
//!
//! Two verdicts, never mixed. Metres: product that leaves the die during the programme, and what was on the line at its start,
//! judged when it arrives at a station. Seconds: how long a station sees product out of its limits; what stands there counts for
//! seconds and has no length.

mod band;
mod beside;
mod judged;
mod making;
mod posed;

pub use band::Deciding;
pub use beside::doubts;
pub use making::{OverPlaces, answer, heat_over_time, over_places};
pub(in crate::study) use making::{judged, swayed};

use serde::Serialize;

use super::{Driven, Limited};
use crate::case::error::Error;
use crate::line::programme::{Extruder, Motions, NotRecovered, Phase};
use crate::line::waters::Waters;

/// Rows over clock time where nobody asks for others.
pub const ROWS: usize = 300;
/// Most rows over clock time.
const MOST_ROWS: usize = 100_000;

/// Why a drive has no answer.
#[derive(Clone, Debug)]
pub enum DriveError {
    /// The case has no change of speed and none of a reel.
    NothingChanges,
    /// So many rows over time are too many.
    TooManyRows(usize),
    /// A change of reel begins before the last one at its accumulator has recovered.
    NotRecovered(NotRecovered),
    /// A metre has no answer.
    March(Error),
}

impl std::fmt::Display for DriveError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            DriveError::NothingChanges => out.write_str(
                "the line runs at one speed and no reel is changed, so there is nothing to drive. Add a [[line.change]] or a \
                 [[reel_change]], or ask `quenchway run`",
            ),
            DriveError::TooManyRows(rows) => {
                write!(out, "{rows} rows over time are more than {MOST_ROWS}; give a longer step")
            }
            DriveError::NotRecovered(NotRecovered { change, back }) if back.is_finite() => {
                write!(
                    out,
                    "change of reel {} begins before the accumulator has recovered from the one before, at {back:.1} s",
                    change + 1
                )
            }
            DriveError::NotRecovered(NotRecovered { change, .. }) => {
                write!(out, "the accumulator never recovers before change of reel {}; give a larger catch_up", change + 1)
            }
            DriveError::March(error) => error.fmt(out),
        }
    }
}

impl std::error::Error for DriveError {}

/// Why product is scrap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// A temperature beyond its limit at a station.
    Temperature,
    /// A diameter beyond its limit at a station.
    Diameter,
    /// More than one and a half times the melt that belongs there: not marched.
    Lump,
    /// Less than half of it: not marched.
    BareSpot,
    /// Conductor that stood between preheater and die.
    Crosshead,
    /// A conductor that the preheater made too hot: not marched.
    Overheated,
    /// Too long in a section.
    TimeInSection,
    /// Melt that was too long in the head.
    TimeInHead,
}

impl Cause {
    /// All of them; in results files each is the bit of its place.
    pub const ALL: [Cause; 8] = [
        Cause::Temperature,
        Cause::Diameter,
        Cause::Lump,
        Cause::BareSpot,
        Cause::Crosshead,
        Cause::Overheated,
        Cause::TimeInSection,
        Cause::TimeInHead,
    ];

    /// In the words of a report.
    pub fn words(self) -> &'static str {
        match self {
            Cause::Temperature => "temperature",
            Cause::Diameter => "diameter",
            Cause::Lump => "lump",
            Cause::BareSpot => "bare spot",
            Cause::Crosshead => "crosshead",
            Cause::Overheated => "conductor overheated",
            Cause::TimeInSection => "time in a section",
            Cause::TimeInHead => "time in the head",
        }
    }
}

/// A length of scrap.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scrap {
    /// Product length at which it begins, m.
    #[serde(rename = "from_m")]
    pub from: f64,
    /// m.
    #[serde(rename = "to_m")]
    pub to: f64,
    /// Why.
    pub cause: Cause,
    /// The station that sees it; none where it does not take one.
    pub station: Option<String>,
    /// What is beyond its limit: `surface`, `diameter`; a section's or a layer's name for a time.
    pub quantity: Option<String>,
    /// The farthest value, degC, m or s; none of product that is not marched.
    pub largest: Option<f64>,
}

/// A limit at a station over the programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LimitOverTime {
    /// What is limited.
    #[serde(rename = "name")]
    pub of: Limited,
    /// degC or m.
    pub limit: f64,
    /// The value nearest to the limit or farthest beyond it among the metres that arrive, degC or m.
    pub largest: f64,
    /// Its metre.
    pub metre_m: f64,
    /// When that arrives.
    pub time_s: f64,
    /// Product out of the limit.
    pub out_m: f64,
    /// The same were the stated error all on one side, or on the other.
    pub out_low_m: f64,
    /// See `out_low_m`.
    pub out_high_m: f64,
    /// How long the station sees product out of the limit.
    pub out_s: f64,
    /// When: from and to, s.
    pub out_times_s: Vec<[f64; 2]>,
    /// The farthest value of product that stands at the station, and when; none where nothing stands.
    pub standing: Option<[f64; 2]>,
}

/// A station over the programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StationOverTime {
    /// Its name.
    pub name: String,
    /// From the die.
    pub distance_m: f64,
    /// Lowest and highest surface on arrival: value, degC, and metre, m.
    pub surface: Option<[[f64; 2]; 2]>,
    /// The same of the core.
    pub core: Option<[[f64; 2]; 2]>,
    /// Its limits.
    pub limits: Vec<LimitOverTime>,
}

/// A jump of what stations see: two metres that lay beside each other while the line stood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Jump {
    /// Product length.
    pub metre_m: f64,
    /// Where it stood: `die`, the end of a section, a station.
    pub place: String,
    /// Distance of that from the die.
    pub distance_m: f64,
    /// When the line stood.
    pub from_s: f64,
    /// See `from_s`.
    pub to_s: f64,
    /// What the last station sees of the metre just before and just behind: surface, degC.
    #[serde(rename = "surface_degC")]
    pub surface: [Option<f64>; 2],
    /// Core, degC.
    #[serde(rename = "core_degC")]
    pub core: [Option<f64>; 2],
}

/// An accumulator over the programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bridge {
    /// Its name.
    pub name: String,
    /// `exit` or `entry`.
    pub place: &'static str,
    /// What it holds at most.
    pub capacity_m: f64,
    /// What is never used.
    pub reserve_m: f64,
    /// Lowest content and when.
    pub lowest_m: f64,
    /// See `lowest_m`.
    pub lowest_at_s: f64,
    /// Highest content and when.
    pub highest_m: f64,
    /// See `highest_m`.
    pub highest_at_s: f64,
    /// Room (entry: content) beyond the reserve at the worst moment; negative: that much is missing.
    pub left_m: f64,
    /// For how long that lasts at the line speed of that moment with the reel at rest; none where the line stands.
    pub left_s: Option<f64>,
    /// When each change of its reel begins.
    pub changes_s: Vec<f64>,
    /// When the content is back behind it; none where it never is.
    pub back_s: Vec<Option<f64>>,
}

/// A gauge over the programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GaugeOverTime {
    /// The station.
    pub station: String,
    /// From the die: a correction is seen so many metres of product later, at every speed.
    pub distance_m: f64,
    /// Shortest and longest delay in seconds.
    pub delay_s: [f64; 2],
    /// Lowest and highest reading less the finished size of the same metre: thermal.
    pub over_finished_m: [f64; 2],
    /// Lowest and highest reading less what leaves the die at that moment: transport, and the shrink up to the gauge.
    pub over_die_m: [f64; 2],
}

/// A stirred tank with a flow over the programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Water {
    /// Its section.
    pub section: String,
    /// Temperature of the supply.
    #[serde(rename = "supply_degC")]
    pub supply: f64,
    /// Temperature in the line as it runs before the programme.
    #[serde(rename = "before_degC")]
    pub before: f64,
    /// How long the water stays in the tank, its mass over its flow; none where the volume is not known.
    pub residence_s: Option<f64>,
    /// Lowest temperature in the programme, degC, and when, s.
    #[serde(rename = "lowest_degC_s")]
    pub lowest: [f64; 2],
    /// The highest.
    #[serde(rename = "highest_degC_s")]
    pub highest: [f64; 2],
    /// What the change of the load alone would warm or cool the tank by at most, were its flow to carry no more than before.
    #[serde(rename = "load_rise_K")]
    pub load_rise: Option<f64>,
    /// How far the water's books are open, as a share of the heat that it took.
    pub books: Option<f64>,
    /// Without a volume: the water of the lowest and of the highest steady load of the programme, between which it stays.
    #[serde(rename = "ends_degC")]
    pub ends: Option<[f64; 2]>,
    /// Scrap of the programme with the one and with the other.
    pub scrap_at_ends_m: Option<[f64; 2]>,
}

/// A melt in its head over the programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Head {
    /// The layer.
    pub layer: String,
    /// At the first speed; none where nothing flows.
    pub before_s: Option<f64>,
    /// Longest of what leaves the die; none where it has always stood there.
    pub longest_s: Option<f64>,
    /// When that leaves the die.
    pub at_s: f64,
    /// The limit.
    pub max_s: Option<f64>,
}

/// Product made in a stretch of the programme, and its scrap.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Made {
    /// The change; `start` before the first, `on the line` for what had left the die before the programme.
    pub name: String,
    /// s.
    pub from_s: f64,
    /// s.
    pub to_s: f64,
    /// The speed that it leads to.
    pub speed_m_s: f64,
    /// What leaves the die in it.
    pub made_m: f64,
    /// Scrap of it, each metre once.
    pub scrap_m: f64,
    /// By cause, where there is any; a metre with two causes counts for both.
    pub by_cause: Vec<(Cause, f64)>,
}

/// A remark: its kind, its words, its place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Remark {
    /// One word a kind.
    pub kind: &'static str,
    /// What is doubtful, and what to do.
    pub message: String,
    /// Key path.
    #[serde(rename = "where")]
    pub place: String,
}

/// How the answer was computed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Numerics {
    /// Metres marched.
    pub slices: usize,
    /// Smooth pieces of the product.
    pub pieces: usize,
    /// Waves of the water that follows the load.
    pub waves: usize,
    /// What was asked for, K.
    #[serde(rename = "tolerance_K")]
    pub tolerance: f64,
    /// Stated error of every temperature, K.
    #[serde(rename = "error_K")]
    pub error: f64,
    /// Whether that is within the tolerance.
    pub tolerance_met: bool,
    /// Wall time, s; set by who has a clock.
    #[serde(rename = "wall_s")]
    pub wall: f64,
}

/// What is seen over clock time.
#[derive(Clone, Debug, Default)]
pub struct Rows {
    /// s.
    pub time: Vec<f64>,
    /// Of each station at each time: the metre that is seen and its surface, core, diameter; not a number where nothing is seen.
    pub seen: Vec<Vec<[f64; 4]>>,
}

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// The changes of the line.
    pub programme: Vec<Phase>,
    /// End of the programme.
    pub ends_s: f64,
    /// Product that leaves the die in it.
    pub made_m: f64,
    /// Product that had left the die before, and was on the line.
    pub on_line_m: f64,
    /// Scrap of both, each metre once.
    pub scrap_m: f64,
    /// The same, were the stated error all on one side, or on the other.
    pub scrap_low_m: f64,
    /// See `scrap_low_m`.
    pub scrap_high_m: f64,
    /// For how long some station sees product out of a limit.
    pub out_s: f64,
    /// Scrap, length by length.
    pub spans: Vec<Scrap>,
    /// Product and scrap, change by change.
    pub made: Vec<Made>,
    /// Station by station.
    pub stations: Vec<StationOverTime>,
    /// Jumps of what stations see.
    pub jumps: Vec<Jump>,
    /// Accumulators.
    pub accumulators: Vec<Bridge>,
    /// Gauges.
    pub gauges: Vec<GaugeOverTime>,
    /// Melts in their heads.
    pub heads: Vec<Head>,
    /// Stirred tanks with a flow.
    pub water: Vec<Water>,
    /// How far doubtful inputs move the metre that decides; empty where that was not asked.
    pub band: Vec<Deciding>,
    /// Product that stood near a boundary, where conduction along the line makes the numbers approximate.
    pub approximate_m: f64,
    /// How it was computed.
    pub numerics: Numerics,
    /// What is doubtful.
    pub warnings: Vec<Remark>,
    /// What to keep in mind on the plant floor.
    pub cautions: Vec<String>,
    /// Lengths of approximate product, m.
    #[serde(skip)]
    pub approximate: Vec<[f64; 2]>,
    /// What is seen over clock time.
    #[serde(skip)]
    pub rows: Rows,
    /// The motions of line and reels.
    #[serde(skip)]
    pub motions: Motions,
    /// Outputs of the layers.
    #[serde(skip)]
    pub extruders: Vec<Extruder>,
    /// The metres.
    #[serde(skip)]
    pub driven: Driven,
    /// Water that is not held, over time.
    #[serde(skip)]
    pub waters: Option<Waters>,
}

impl Answer {
    /// Whether every metre and every second is within every limit.
    pub fn limits_met(&self) -> bool {
        self.scrap_m == 0.0 && self.out_s == 0.0
    }
}
