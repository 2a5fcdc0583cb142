//! The answer of `drive`: which metres are out of limits and why, for how long a station sees such product, and everything
//! that is told beside it.
//!
//! Two verdicts, never mixed. Metres: product that leaves the die during the programme, and what was on the line at its start,
//! judged when it arrives at a station. Seconds: how long a station sees product out of its limits; what stands there counts for
//! seconds and has no length.

use serde::Serialize;

use super::band::{Deciding, deciding};
use super::spans::{Spans, around_boundaries};
use super::{Driven, Measure, Method, Programme, Spoilt, drive};
use crate::case::error::Error;
use crate::case::programme::Output;
use crate::case::shrink::{Radii, radii};
use crate::case::{Case, CaseFile, Quantity, Station};
use crate::line::clock::Side;
use crate::line::programme::{Extruder, Motions, Phase, Residence, residence};
use crate::maths::shape::Shape;

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
    /// A metre has no answer.
    March(Error),
}

impl std::fmt::Display for DriveError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            DriveError::NothingChanges => out.write_str(
                "the line runs at one speed and no reel is changed, so there is nothing to drive; add a [[line.change]] or a \
                 [[reel_change]], or ask `quenchway run`",
            ),
            DriveError::TooManyRows(rows) => {
                write!(out, "{rows} rows over time are more than {MOST_ROWS}; give a longer step")
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
    /// The key of the case file: `surface_max`, `diameter_min`.
    pub name: String,
    /// In the words of a report.
    #[serde(skip)]
    pub words: String,
    /// Whether it is a diameter, m; else a temperature, degC.
    #[serde(skip)]
    pub diameter: bool,
    /// Whether values above it are out of it.
    #[serde(skip)]
    pub above: bool,
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
    /// Rounds of the water: none is searched.
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
    /// Water whose temperature follows the load: none in this version.
    pub water: Vec<()>,
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
}

impl Answer {
    /// Whether every metre and every second is within every limit.
    pub fn limits_met(&self) -> bool {
        self.scrap_m == 0.0 && self.out_s == 0.0
    }
}

/// Drives a case file; `every` is the step of the rows over clock time, s; `band` asks how far doubtful inputs move the metre that
/// decides.
///
/// `watch` is told how many metres are wanted by now.
///
/// # Errors
///
/// Nothing changes in the programme; a metre has no answer.
pub fn answer(
    case: &CaseFile,
    every: Option<f64>,
    band: bool,
    watch: &(dyn Fn(usize) + Sync),
) -> Result<Answer, DriveError> {
    if case.programme.is_empty() {
        return Err(DriveError::NothingChanges);
    }
    // The reader has checked that every change of reel has recovered.
    let motions = Motions::of(case).map_err(|_| DriveError::NothingChanges)?;
    let step = every.unwrap_or(motions.ends / ROWS as f64);
    let count = motions.ends / step;
    if count.is_nan() || count >= MOST_ROWS as f64 {
        return Err(DriveError::TooManyRows(count as usize));
    }
    let sizes = sizes(case)?;
    let extruders: Vec<Extruder> =
        case.layers.iter().map(|layer| Extruder::new(layer.feed.output, &motions.clock, case.line_speed)).collect();
    let driven = march(case, &motions, &extruders, &sizes, case.tolerance, Method::default(), watch)
        .map_err(DriveError::March)?;
    let mut found =
        Build { case, motions: &motions, extruders: &extruders, sizes: &sizes, driven: &driven }.answer(step);
    if band {
        found.band = deciding(case, &motions, &extruders, &sizes, &driven, &found.stations).into_iter().collect();
    }
    Ok(found)
}

/// A case on its programme.
pub(super) fn programme_of<'a>(
    case: &'a CaseFile,
    motions: &'a Motions,
    radii: &'a Radii,
    area: &'a (dyn Fn(usize, f64, Side) -> f64 + Sync),
    spoilt: &'a [([f64; 2], Spoilt)],
) -> Programme<'a> {
    let [first, last] = ends(case, motions);
    Programme {
        case,
        radii,
        clock: &motions.clock,
        area,
        spoilt,
        first,
        last,
        end: motions.ends,
        tolerance: case.tolerance,
    }
}

/// Temperatures over clock time and distance, for pictures: no stated error; not a number where there is no product.
#[derive(Clone, Debug)]
pub struct OverPlaces {
    /// s.
    pub time: Vec<f64>,
    /// From the die, m.
    pub distance: Vec<f64>,
    /// Surface, degC, the distances of a time side by side.
    pub surface: Vec<f64>,
    /// Core.
    pub core: Vec<f64>,
}

/// The temperatures of a drive over the times of its rows and places along the line, closer behind the entry of each section.
///
/// # Errors
///
/// As of [`answer`].
pub fn over_places(case: &CaseFile, found: &Answer) -> Result<OverPlaces, DriveError> {
    const PLACES: usize = 60;
    let length = case.line_length();
    let mut distance: Vec<f64> = (0..=PLACES).map(|place| length * place as f64 / PLACES as f64).collect();
    for index in 0..case.sections.len() {
        let (start, span) = (case.section_start(index), case.sections[index].span());
        distance.extend([0.0, 0.02, 0.1, 0.3].map(|share| start + share * span));
    }
    distance.retain(|place| (0.0..=length).contains(place));
    distance.sort_by(f64::total_cmp);
    distance.dedup_by(|b, a| *b - *a < 1e-6 * length);
    let last = case.sections.len() - 1;
    let at = |place: &f64| Station { offset: (place - length).min(0.0), ..Station::behind(format!("{place} m"), last) };
    let stations = distance.iter().map(at).collect();
    let at_places = CaseFile { case: Case { stations, ..case.case.clone() }, ..case.clone() };
    // A shade of the picture.
    const TOLERANCE: f64 = 0.5;
    let method = Method { once: true, ..Method::default() };
    let driven = march(&at_places, &found.motions, &found.extruders, &sizes(case)?, TOLERANCE, method, &|_| {})
        .map_err(DriveError::March)?;
    let (mut surface, mut core) = (Vec::new(), Vec::new());
    for &time in &found.rows.time {
        for place in 0..distance.len() {
            let seen = driven.seen(place, time);
            let of = |quantity| seen.as_ref().map_or(f64::NAN, |(_, sight)| sight.of(Measure::Temperature(quantity)));
            surface.push(of(Quantity::Surface));
            core.push(of(Quantity::Core));
        }
    }
    Ok(OverPlaces { time: found.rows.time.clone(), distance, surface, core })
}

/// Sizes at the case's line speed.
fn sizes(case: &CaseFile) -> Result<Radii, DriveError> {
    radii(case).map_err(|index| {
        let place = format!("layer {:?}", case.layer_name(index));
        DriveError::March(Error::Unphysical { place, reason: "has no wall".to_string() })
    })
}

/// The first and the last metre looked at, m.
fn ends(case: &CaseFile, motions: &Motions) -> [f64; 2] {
    let first = if case.programme.starts_empty { 0.0 } else { -case.line_length() };
    [first, motions.made().max(first)]
}

/// Marches the metres of a case over its programme.
fn march(
    case: &CaseFile,
    motions: &Motions,
    extruders: &[Extruder],
    sizes: &Radii,
    tolerance: f64,
    method: Method,
    watch: &dyn Fn(usize),
) -> Result<Driven, Error> {
    let area = |layer: usize, time: f64, side: Side| extruders[layer].share_beside(time, side);
    let spoilt = spoilt(motions, extruders);
    let programme = Programme { tolerance, ..programme_of(case, motions, sizes, &area, &spoilt) };
    drive(&programme, method, watch)
}

/// Lumps and bare spots by product length, each length once: the first layer's word counts.
fn spoilt(motions: &Motions, extruders: &[Extruder]) -> Vec<([f64; 2], Spoilt)> {
    let mut found: Vec<([f64; 2], Spoilt)> = Vec::new();
    for extruder in extruders {
        for (times, lump) in extruder.spoilt(0.0, motions.ends) {
            let [from, to] = times.map(|time| motions.clock.travelled(time));
            let kind = if lump { Spoilt::Lump } else { Spoilt::Bare };
            // What another layer has spoilt already is left out.
            let mut from = from;
            let mut inside: Vec<[f64; 2]> = found.iter().map(|(span, _)| *span).collect();
            inside.sort_by(|a, b| a[0].total_cmp(&b[0]));
            for [low, high] in inside {
                if high <= from || low >= to {
                    continue;
                }
                if low > from {
                    found.push(([from, low], kind));
                }
                from = from.max(high);
            }
            if to > from {
                found.push(([from, to], kind));
            }
        }
    }
    found.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]));
    found
}

/// What an answer is built of.
struct Build<'a> {
    case: &'a CaseFile,
    motions: &'a Motions,
    extruders: &'a [Extruder],
    sizes: &'a Radii,
    driven: &'a Driven,
}

impl Build<'_> {
    fn answer(&self, step: f64) -> Answer {
        let Build { case, motions, driven, .. } = *self;
        let [first, last] = ends(case, motions);
        let (stations, mut scrap, slack) = self.stations();
        scrap.extend(self.unmarched());
        scrap.extend(self.times_in_sections());
        let (heads, of_heads) = self.heads();
        scrap.extend(of_heads);
        scrap.retain_mut(|span| {
            (span.from, span.to) = (span.from.max(first), span.to.min(last));
            span.to > span.from
        });
        scrap.sort_by(|a, b| a.from.total_cmp(&b.from).then(a.cause.cmp(&b.cause)));
        let all = Spans::new(scrap.iter().map(|span| [span.from, span.to]));
        let approximate = around_boundaries(case, motions, [first, last]);
        let times = stations.iter().flat_map(|station| &station.limits).flat_map(|limit| limit.out_times_s.clone());
        let (scrap_m, judged) = (all.length(), last - first);
        Answer {
            programme: motions.phases.clone(),
            ends_s: motions.ends,
            made_m: motions.made(),
            on_line_m: -first,
            scrap_m,
            scrap_low_m: (scrap_m - slack[0]).max(0.0),
            scrap_high_m: (scrap_m + slack[1]).min(judged),
            out_s: Spans::new(times).length(),
            made: self.made(&scrap, first),
            spans: scrap,
            jumps: self.jumps([first, last]),
            stations,
            accumulators: self.bridges(),
            gauges: self.gauges(step),
            heads,
            water: Vec::new(),
            band: Vec::new(),
            approximate_m: approximate.length(),
            numerics: Numerics {
                slices: driven.metres.len(),
                pieces: driven.pieces.len(),
                waves: 0,
                tolerance: case.tolerance,
                error: driven.error,
                tolerance_met: driven.met,
                wall: 0.0,
            },
            warnings: self.remarks(approximate.length()),
            cautions: super::cautions::cautions(case, motions),
            approximate: approximate.list().to_vec(),
            rows: self.rows(step),
            motions: motions.clone(),
            extruders: self.extruders.to_vec(),
            driven: driven.clone(),
        }
    }

    /// Station by station; their scrap; how much less and more it may be by the stated error.
    fn stations(&self) -> (Vec<StationOverTime>, Vec<Scrap>, [f64; 2]) {
        let Build { case, driven, .. } = *self;
        let (mut scrap, mut slack) = (Vec::new(), [0.0; 2]);
        let stations = case.stations.iter().enumerate().map(|(index, station)| {
            let mut limits = Vec::new();
            let temperatures = station.limits.iter().map(|limit| {
                let name = limit.quantity.limit(case);
                // The hot side is not followed over time.
                let of_mean = limit.quantity == Quantity::Surface && case.is_uneven();
                let words = if of_mean { "mean surface".to_string() } else { limit.quantity.words(case) };
                (name, words, Measure::Temperature(limit.quantity), limit.max.0, true)
            });
            let diameters =
                [("diameter_min", station.diameter_min, false), ("diameter_max", station.diameter_max, true)];
            let diameters = diameters.into_iter().filter_map(|(name, limit, above)| {
                Some((name.to_string(), "diameter".to_string(), Measure::Diameter, limit?, above))
            });
            for (name, words, measure, limit, above) in temperatures.chain(diameters) {
                let (over_time, spans, [less, more]) = self.limit(index, (name, words), measure, limit, above);
                (slack[0], slack[1]) = (slack[0] + less, slack[1] + more);
                scrap.extend(spans);
                limits.push(over_time);
            }
            let extremes = |quantity| {
                let [high, low] = driven.extremes(index, Measure::Temperature(quantity))?;
                Some([low, high])
            };
            StationOverTime {
                name: station.name.clone(),
                distance_m: case.station_distance(station),
                surface: extremes(Quantity::Surface),
                core: extremes(Quantity::Core),
                limits,
            }
        });
        let stations = stations.collect();
        (stations, scrap, slack)
    }

    fn limit(
        &self,
        station: usize,
        (name, words): (String, String),
        measure: Measure,
        limit: f64,
        above: bool,
    ) -> (LimitOverTime, Vec<Scrap>, [f64; 2]) {
        let Build { case, motions, driven, .. } = *self;
        let distance = case.station_distance(&case.stations[station]);
        let beyond = driven.beyond(station, measure, limit, above);
        // What had arrived before the programme began is not judged.
        let judged = |from: f64| from.max(-distance);
        let cause = if measure == Measure::Diameter { Cause::Diameter } else { Cause::Temperature };
        let quantity = name.trim_end_matches("_max").trim_end_matches("_min").to_string();
        let spans: Vec<Scrap> = beyond
            .spans
            .iter()
            .filter(|span| span.to > judged(span.from))
            .map(|span| Scrap {
                from: judged(span.from),
                to: span.to,
                cause,
                station: Some(case.stations[station].name.clone()),
                quantity: Some(quantity.clone()),
                largest: Some(span.farthest),
            })
            .collect();
        let out_m = spans.iter().fold(0.0, |sum, span| sum + span.to - span.from);
        let [less, more] = [beyond.length - beyond.least, beyond.most - beyond.length].map(|slack| slack.max(0.0));
        let [largest, metre_m] =
            driven.extremes(station, measure).map_or([f64::NAN; 2], |[high, low]| if above { high } else { low });
        let times: Vec<[f64; 2]> = beyond
            .times
            .iter()
            .map(|[from, to]| [from.max(0.0), to.min(motions.ends)])
            .filter(|[from, to]| to > from)
            .collect();
        let standing = driven
            .parked
            .iter()
            .filter(|parked| parked.station == station)
            .map(|parked| {
                let [high, low] = parked.extremes(measure);
                if above { high } else { low }
            })
            .reduce(|a, b| if (b[0] > a[0]) == above { b } else { a });
        let over_time = LimitOverTime {
            name,
            words,
            diameter: measure == Measure::Diameter,
            above,
            limit,
            largest,
            metre_m,
            time_s: motions.clock.arrives(metre_m + distance, Side::At),
            out_m,
            out_low_m: (out_m - less).max(0.0),
            out_high_m: out_m + more,
            out_s: times.iter().fold(0.0, |sum, [from, to]| sum + to - from),
            out_times_s: times,
            standing,
        };
        (over_time, spans, [less.min(out_m), more])
    }

    /// Product that is not marched, and that in the crosshead.
    fn unmarched(&self) -> Vec<Scrap> {
        let plain =
            |[from, to]: [f64; 2], cause| Scrap { from, to, cause, station: None, quantity: None, largest: None };
        let spoilt = self.driven.spoilt.iter().map(|(span, spoilt)| {
            let cause = match spoilt {
                Spoilt::Lump => Cause::Lump,
                Spoilt::Bare => Cause::BareSpot,
                Spoilt::Overheated => Cause::Overheated,
            };
            plain(*span, cause)
        });
        let crossheads = self.motions.crossheads(self.case.programme.crosshead);
        spoilt.chain(crossheads.into_iter().map(|span| plain(span, Cause::Crosshead))).collect()
    }

    /// Product that spends too long in a section.
    fn times_in_sections(&self) -> Vec<Scrap> {
        let Build { case, motions, .. } = *self;
        let [first, last] = ends(case, motions);
        let mut scrap = Vec::new();
        for (index, section) in case.sections.iter().enumerate() {
            let Some(most) = section.time_max else { continue };
            let (start, end) = (case.section_start(index), case.section_start(index) + section.span());
            let time = |metre: f64| super::spans::time_between(&motions.clock, metre, start, end);
            for ([from, to], largest) in super::spans::above(&motions.clock, [first, last], &[start, end], time, most) {
                let quantity = Some(section.name.clone());
                let (cause, station) = (Cause::TimeInSection, None);
                scrap.push(Scrap { from, to, cause, station, quantity, largest: Some(largest) });
            }
        }
        scrap
    }

    fn heads(&self) -> (Vec<Head>, Vec<Scrap>) {
        let Build { case, motions, .. } = *self;
        let (mut heads, mut scrap) = (Vec::new(), Vec::new());
        for (index, layer) in case.layers.iter().enumerate() {
            let Some(volume) = layer.feed.head_volume else { continue };
            let inner = if index == 0 { case.bore / 2.0 } else { self.sizes.hot[index - 1] };
            // Per metre of width of a flat product.
            let faces = if case.shape == Shape::Round { std::f64::consts::PI } else { 2.0 };
            let area = faces * case.shape.area_between(inner, self.sizes.hot[index]);
            let Residence { before, longest, at, over } = residence(
                &self.extruders[index],
                &motions.clock,
                volume / area,
                layer.feed.residence_max,
                motions.ends,
            );
            let finite = |value: f64| value.is_finite().then_some(value);
            heads.push(Head {
                layer: layer.name.clone(),
                before_s: finite(before),
                longest_s: finite(longest),
                at_s: at,
                max_s: layer.feed.residence_max,
            });
            for span in over {
                let [from, to] = span.map(|time| motions.clock.travelled(time));
                let (cause, station, quantity) = (Cause::TimeInHead, None, Some(layer.name.clone()));
                scrap.push(Scrap { from, to, cause, station, quantity, largest: finite(longest) });
            }
        }
        (heads, scrap)
    }

    /// Product and scrap, change by change.
    fn made(&self, scrap: &[Scrap], first: f64) -> Vec<Made> {
        let Build { motions, .. } = *self;
        let row = |name: &str, [from_s, to_s]: [f64; 2], speed_m_s: f64, [from, to]: [f64; 2]| {
            let within = |cause: Option<Cause>| {
                let those = scrap.iter().filter(|span| cause.is_none_or(|cause| span.cause == cause));
                let spans = those.map(|span| [span.from.max(from), span.to.min(to)]);
                Spans::new(spans.filter(|[from, to]| to > from)).length()
            };
            let by_cause = Cause::ALL.into_iter().map(|cause| (cause, within(Some(cause))));
            Made {
                name: name.to_string(),
                from_s,
                to_s,
                speed_m_s,
                made_m: to - from,
                scrap_m: within(None),
                by_cause: by_cause.filter(|(_, length)| *length > 0.0).collect(),
            }
        };
        let speed = motions.clock.first_speed();
        let on_line = (first < 0.0).then(|| row("on the line", [0.0, 0.0], speed, [first, 0.0]));
        let phases = motions.phases.iter().map(|phase| {
            let lengths = [phase.from, phase.to].map(|time| motions.clock.travelled(time));
            row(&phase.name, [phase.from, phase.to], phase.speed, lengths)
        });
        on_line.into_iter().chain(phases).collect()
    }

    fn jumps(&self, [first, last]: [f64; 2]) -> Vec<Jump> {
        let Build { case, motions, driven, .. } = *self;
        let mut places: Vec<(String, f64)> = vec![("die".to_string(), 0.0)];
        for (index, section) in case.sections.iter().enumerate() {
            places.push((format!("end of {}", section.name), case.section_start(index) + section.span()));
        }
        places.extend(case.stations.iter().map(|station| (station.name.clone(), case.station_distance(station))));
        let seen_by = case.stations.len().checked_sub(1);
        let mut jumps = Vec::new();
        for stop in motions.clock.standstills().iter().filter(|stop| stop.to > stop.from && stop.from.is_finite()) {
            for (place, distance) in &places {
                let metre = stop.travelled - distance;
                if metre < first || metre > last {
                    continue;
                }
                let sight = |side| driven.at(seen_by?, metre, side);
                let sights = [sight(Side::Before), sight(Side::Behind)];
                let value = |quantity| {
                    sights.each_ref().map(|sight| sight.as_ref().map(|sight| sight.of(Measure::Temperature(quantity))))
                };
                jumps.push(Jump {
                    metre_m: metre,
                    place: place.clone(),
                    distance_m: *distance,
                    from_s: stop.from,
                    to_s: stop.to.min(motions.ends),
                    surface: value(Quantity::Surface),
                    core: value(Quantity::Core),
                });
            }
        }
        jumps.sort_by(|a, b| a.metre_m.total_cmp(&b.metre_m));
        jumps
    }

    fn bridges(&self) -> Vec<Bridge> {
        let Build { case, motions, .. } = *self;
        let pairs = case.programme.accumulators.iter().zip(&motions.stores);
        pairs
            .map(|(accumulator, store)| {
                let [lowest, highest] = store.extremes(0.0, motions.ends);
                let (left_m, at) = match accumulator.place {
                    crate::case::programme::End::Exit => {
                        (accumulator.capacity - accumulator.reserve - highest.content, highest.time)
                    }
                    crate::case::programme::End::Entry => (lowest.content - accumulator.reserve, lowest.time),
                };
                let speed = motions.clock.speed(at);
                Bridge {
                    name: accumulator.name.clone(),
                    place: accumulator.place.name(),
                    capacity_m: accumulator.capacity,
                    reserve_m: accumulator.reserve,
                    lowest_m: lowest.content,
                    lowest_at_s: lowest.time,
                    highest_m: highest.content,
                    highest_at_s: highest.time,
                    left_m,
                    left_s: (speed > 0.0).then(|| left_m / speed),
                    changes_s: store.begins.clone(),
                    back_s: store.back.iter().map(|time| time.is_finite().then_some(*time)).collect(),
                }
            })
            .collect()
    }

    fn gauges(&self, step: f64) -> Vec<GaugeOverTime> {
        let Build { case, motions, driven, .. } = *self;
        let mut found: Vec<usize> = ["hot", "cold"].iter().filter_map(|word| case.gauge(word)).collect();
        found.dedup();
        let times = self.times(step);
        found
            .into_iter()
            .map(|index| {
                let distance = case.station_distance(&case.stations[index]);
                let mut gauge = GaugeOverTime {
                    station: case.stations[index].name.clone(),
                    distance_m: distance,
                    delay_s: [f64::INFINITY, f64::NEG_INFINITY],
                    over_finished_m: [f64::INFINITY, f64::NEG_INFINITY],
                    over_die_m: [f64::INFINITY, f64::NEG_INFINITY],
                };
                let widen = |range: &mut [f64; 2], value: f64| {
                    if value.is_finite() {
                        (range[0], range[1]) = (range[0].min(value), range[1].max(value));
                    }
                };
                for &time in &times {
                    let [left, delay] = motions.delay(time, distance);
                    if case.programme.starts_empty && left < 0.0 {
                        continue;
                    }
                    widen(&mut gauge.delay_s, delay);
                    if let Some((metre, sight)) = driven.seen(index, time) {
                        let reading = sight.of(Measure::Diameter);
                        let at_die = motions.clock.leaves(metre, Side::At);
                        widen(&mut gauge.over_finished_m, reading - self.size(&self.sizes.finished, at_die));
                        widen(&mut gauge.over_die_m, reading - self.size(&self.sizes.hot, time));
                    }
                }
                for range in [&mut gauge.delay_s, &mut gauge.over_finished_m, &mut gauge.over_die_m] {
                    if range[0] > range[1] {
                        *range = [f64::NAN; 2];
                    }
                }
                gauge
            })
            .collect()
    }

    /// Outer diameter of what leaves the die at a moment, m: the sizes that hold at the case's line speed with each layer's share of
    /// its area.
    fn size(&self, sizes: &[f64], time: f64) -> f64 {
        let Build { case, extruders, .. } = *self;
        let (mut inner, mut nominal) = (case.bore / 2.0, case.bore / 2.0);
        for (index, &outer) in sizes.iter().enumerate() {
            let share = extruders[index].share(time);
            inner = case.shape.outer_radius(inner, share * case.shape.area_between(nominal, outer));
            nominal = outer;
        }
        2.0 * inner
    }

    /// The moments of the rows.
    fn times(&self, step: f64) -> Vec<f64> {
        let ends = self.motions.ends;
        let count = (ends / step).floor() as usize;
        let mut times: Vec<f64> = (0..=count).map(|row| (row as f64 * step).min(ends)).collect();
        if times.last().is_none_or(|last| *last < ends) {
            times.push(ends);
        }
        times
    }

    fn rows(&self, step: f64) -> Rows {
        let Build { case, driven, .. } = *self;
        let time = self.times(step);
        let seen = (0..case.stations.len())
            .map(|station| {
                time.iter()
                    .map(|&time| {
                        driven.seen(station, time).map_or([f64::NAN; 4], |(metre, sight)| {
                            let of = |measure| sight.of(measure);
                            let [surface, core] =
                                [Quantity::Surface, Quantity::Core].map(|quantity| of(Measure::Temperature(quantity)));
                            [metre, surface, core, of(Measure::Diameter)]
                        })
                    })
                    .collect()
            })
            .collect();
        Rows { time, seen }
    }

    /// What is doubtful about the inputs of a drive, and of its answer.
    fn remarks(&self, approximate: f64) -> Vec<Remark> {
        let Build { case, motions, driven, .. } = *self;
        let mut remarks = Vec::new();
        for (index, layer) in case.layers.iter().enumerate() {
            let comes_as_melt = layer.material.is_melt(case.die_temperature(index));
            if comes_as_melt && layer.feed.output == Output::Follows {
                remarks.push(Remark {
                    kind: "output follows",
                    message: format!(
                        "the output of \"{}\" is taken to follow the line speed at once; a real extruder lags, and its lag makes most \
                         of the scrap of a ramp: measure it and give output = {{ lag = \"4 s\" }}",
                        layer.name
                    ),
                    place: format!("layer.{}.output", crate::units::words::key(&layer.name)),
                });
            }
        }
        for section in case.sections.iter().filter(|section| !matches!(section.film, crate::film::Film::Law(..))) {
            if section.film_exponent == 0.0 {
                remarks.push(Remark {
                    kind: "film at every speed",
                    message: format!(
                        "the given film of \"{}\" is taken to be the same at every speed and at a standstill; give film_exponent and \
                         film_floor",
                        section.name
                    ),
                    place: format!("section.{}.film_exponent", crate::units::words::key(&section.name)),
                });
            }
        }
        if let Some(section) = case.sections.iter().find(|section| section.wetting.is_uneven()) {
            remarks.push(Remark {
                kind: "mean surface",
                message: format!(
                    "water does not touch the product all round in \"{}\": the program follows the mean around it over time and \
                     judges that; only run judges the hot side, at one steady speed",
                    section.name
                ),
                place: format!("section.{}", crate::units::words::key(&section.name)),
            });
        }
        for (accumulator, bridge) in case.programme.accumulators.iter().zip(self.bridges()) {
            if bridge.left_m < -1e-9 * accumulator.capacity {
                remarks.push(Remark {
                    kind: "accumulator",
                    message: format!(
                        "the accumulator \"{}\" lacks {:.1} m: a longer one, a slower line or a shorter change of reel is needed, or full \
                         = \"slow\"",
                        accumulator.name, -bridge.left_m
                    ),
                    place: format!("accumulator.{}", crate::units::words::key(&accumulator.name)),
                });
            }
        }
        if approximate > 0.0 {
            remarks.push(Remark {
                kind: "conduction along the line",
                message: format!(
                    "{approximate:.2} m of product stood near a boundary between sections or at the die: conduction along the line, which \
                     the program leaves out, makes its numbers approximate"
                ),
                place: "line.change".to_string(),
            });
        }
        if !driven.met {
            remarks.push(Remark {
                kind: "tolerance",
                message: format!("the stated error is {:.2e} K, {:.2e} K was asked for", driven.error, case.tolerance),
                place: "solver.tolerance".to_string(),
            });
        }
        if motions.clock.highest_speed() > 3.0 * case.line_speed {
            remarks.push(Remark {
                kind: "far from line.speed",
                message: "the line runs at more than three times the speed for which sizes and given films hold"
                    .to_string(),
                place: "line.speed".to_string(),
            });
        }
        remarks
    }
}
