//! What is out of limits: station by station, and what is scrap without a station; each metre once.

use super::{Cause, Head, LimitOverTime, Scrap, StationOverTime};
use crate::case::shrink::Radii;
use crate::case::{CaseFile, Quantity};
use crate::line::clock::Side;
use crate::line::programme::{Extruder, Motions, Residence, residence};
use crate::maths::order::sort_by_numbers;
use crate::maths::shape::Shape;
use crate::study::drive::spans::{self, Spans};
use crate::study::drive::{Driven, Limited, Measure, Spoilt};

/// What an answer is built of.
pub(super) struct Build<'a> {
    pub(super) case: &'a CaseFile,
    pub(super) motions: &'a Motions,
    pub(super) extruders: &'a [Extruder],
    pub(super) sizes: &'a Radii,
    pub(super) driven: &'a Driven,
}

/// What is out of limits.
pub(in crate::study) struct Judged {
    pub(in crate::study) stations: Vec<StationOverTime>,
    pub(super) heads: Vec<Head>,
    /// In the order of the product.
    pub(in crate::study) scrap: Vec<Scrap>,
    /// Each metre once, m.
    pub(in crate::study) scrap_m: f64,
    /// The same by the stated error at least, m.
    pub(super) scrap_low_m: f64,
    /// And at most, m.
    pub(super) scrap_high_m: f64,
    /// For how long some station sees product out of a limit, s.
    pub(in crate::study) out_s: f64,
}

/// The first and the last metre looked at, m.
pub(super) fn ends(case: &CaseFile, motions: &Motions) -> [f64; 2] {
    let first = if case.programme.starts_empty { 0.0 } else { -case.line_length() };
    [first, motions.made().max(first)]
}

impl Build<'_> {
    /// What is out of limits; where `whole`, also what stations see of product without limits.
    pub(super) fn judged(&self, whole: bool) -> Judged {
        let [first, last] = ends(self.case, self.motions);
        let (stations, mut scrap, slack) = self.stations(whole);
        scrap.extend(self.unmarched());
        scrap.extend(self.times_in_sections());
        let (heads, of_heads) = self.heads();
        scrap.extend(of_heads);
        scrap.retain_mut(|span| {
            (span.from, span.to) = (span.from.max(first), span.to.min(last));
            span.to > span.from
        });
        sort_by_numbers(&mut scrap, |span| [span.from, f64::from(span.cause as u8)]);
        let times = stations.iter().flat_map(|station| &station.limits).flat_map(|limit| limit.out_times_s.clone());
        let out_s = Spans::new(times).length();
        let scrap_m = Spans::new(scrap.iter().map(|span| [span.from, span.to])).length();
        let [scrap_low_m, scrap_high_m] = [(scrap_m - slack[0]).max(0.0), (scrap_m + slack[1]).min(last - first)];
        Judged { stations, heads, scrap, scrap_m, scrap_low_m, scrap_high_m, out_s }
    }

    /// Station by station; their scrap; how much less and more it may be by the stated error.
    fn stations(&self, whole: bool) -> (Vec<StationOverTime>, Vec<Scrap>, [f64; 2]) {
        let Build { case, driven, .. } = *self;
        let (mut scrap, mut slack) = (Vec::new(), [0.0; 2]);
        let stations = case.stations.iter().enumerate().map(|(index, station)| {
            let mut limits = Vec::new();
            let temperatures = station.limits.iter().map(|limit| {
                // The hot side is not followed over time.
                let of_mean = limit.quantity == Quantity::Surface && case.is_uneven();
                let words = if of_mean { "mean surface".to_string() } else { limit.quantity.words(case) };
                let measure = Measure::Temperature(limit.quantity);
                (Limited { key: limit.quantity.limit(case), words, measure, above: true }, limit.max.0)
            });
            let diameters =
                [("diameter_min", station.diameter_min, false), ("diameter_max", station.diameter_max, true)];
            let diameters = diameters.into_iter().filter_map(|(key, limit, above)| {
                let (key, words) = (key.to_string(), "diameter".to_string());
                Some((Limited { key, words, measure: Measure::Diameter, above }, limit?))
            });
            for (of, limit) in temperatures.chain(diameters) {
                let (over_time, spans, [less, more]) = self.limit(index, of, limit);
                (slack[0], slack[1]) = (slack[0] + less, slack[1] + more);
                scrap.extend(spans);
                limits.push(over_time);
            }
            let extremes = |quantity| {
                let [high, low] =
                    if whole { driven.extremes(index, Measure::Temperature(quantity))? } else { return None };
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

    fn limit(&self, station: usize, of: Limited, limit: f64) -> (LimitOverTime, Vec<Scrap>, [f64; 2]) {
        let Build { case, motions, driven, .. } = *self;
        let Limited { measure, above, .. } = of;
        let distance = case.station_distance(&case.stations[station]);
        let beyond = driven.beyond(station, measure, limit, above);
        // What had arrived before the programme began is not judged.
        let judged = |from: f64| from.max(-distance);
        let cause = if of.is_diameter() { Cause::Diameter } else { Cause::Temperature };
        let quantity = of.key.trim_end_matches("_max").trim_end_matches("_min").to_string();
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
            of,
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
            let time = |metre: f64| spans::time_between(&motions.clock, metre, start, end);
            for ([from, to], largest) in spans::above(&motions.clock, [first, last], &[start, end], time, most) {
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
}
