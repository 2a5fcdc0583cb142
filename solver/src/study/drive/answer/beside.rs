//! What is told beside the verdict: change by change, jumps, accumulators, gauges, rows over time, remarks.

use super::judged::{Build, Judged, ends};
use super::{Answer, Bridge, Cause, GaugeOverTime, Jump, Made, Numerics, Remark, Rows, Scrap};
use crate::case::programme::Output;
use crate::case::{CaseFile, Quantity};
use crate::line::clock::Side;
use crate::maths::order::sort_by_number;
use crate::study::drive::Measure;
use crate::study::drive::cautions::cautions;
use crate::study::drive::spans::{Spans, around_boundaries};

impl Build<'_> {
    /// Everything that is told; rows over time every so many s.
    pub(super) fn answer(&self, step: f64) -> Answer {
        let Build { case, motions, driven, .. } = *self;
        let [first, last] = ends(case, motions);
        let Judged { stations, heads, scrap, scrap_m, scrap_low_m, scrap_high_m, out_s } = self.judged(true);
        let approximate = around_boundaries(case, motions, [first, last]);
        Answer {
            programme: motions.phases.clone(),
            ends_s: motions.ends,
            made_m: motions.made(),
            on_line_m: -first,
            scrap_m,
            scrap_low_m,
            scrap_high_m,
            out_s,
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
            cautions: cautions(case, !motions.clock.standstills().is_empty()),
            approximate: approximate.list().to_vec(),
            rows: self.rows(step),
            motions: motions.clone(),
            extruders: self.extruders.to_vec(),
            driven: driven.clone(),
            waters: None,
        }
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
        sort_by_number(&mut jumps, |jump| jump.metre_m);
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
        let mut remarks = doubts(case);
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
                    "{approximate:.2} m of product stood near a boundary between sections or at the die. The program leaves out conduction \
                     along the line, so the numbers of these metres are approximate"
                ),
                place: "line.change".to_string(),
            });
        }
        if !driven.met {
            remarks.push(Remark {
                kind: "tolerance",
                message: format!(
                    "the stated error is {:.2e} K, the case allows {:.2e} K",
                    driven.error, case.tolerance
                ),
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

/// What is doubtful about the inputs of a line whose speed changes.
pub fn doubts(case: &CaseFile) -> Vec<Remark> {
    let mut remarks = Vec::new();
    for (index, layer) in case.layers.iter().enumerate() {
        let comes_as_melt = layer.material.is_melt(case.die_temperature(index));
        if comes_as_melt && layer.feed.output == Output::Follows {
            remarks.push(Remark {
                kind: "output follows",
                message: format!(
                    "the program takes the output of \"{}\" to follow the line speed at once. A real extruder lags, and its lag makes \
                     most of the scrap of a ramp. Measure it and give output = {{ lag = \"4 s\" }}",
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
                    "the program takes the given film of \"{}\" to be the same at every speed and at a standstill; give film_exponent \
                     and film_floor",
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
                "water does not touch the product all round in \"{}\". The program follows the mean around it over time and \
                 judges that. Only run judges the hot side, at one steady speed",
                section.name
            ),
            place: format!("section.{}", crate::units::words::key(&section.name)),
        });
    }
    remarks
}
