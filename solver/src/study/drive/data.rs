//! The answer of `drive` as labelled numbers: over clock time, over metres of product, over the line.

use super::answer::{Answer, Cause, OverPlaces};
use super::{Measure, Metre, Seen};
use crate::case::{CaseFile, Quantity};
use crate::data::Data;
use crate::line::clock::Side;

const TIME: usize = 0;
const METRE: usize = 1;
const STATION: usize = 2;
const SECTION: usize = 3;

/// What a station sees of a metre: the variable's name, its unit and words.
const SEEN: [(&str, &str, &str, Measure); 6] = [
    ("surface_temperature", "degC", "surface temperature on arrival", Measure::Temperature(Quantity::Surface)),
    ("core_temperature", "degC", "temperature of the axis on arrival", Measure::Temperature(Quantity::Core)),
    ("mean_temperature", "degC", "mean temperature of the plastic on arrival", Measure::Temperature(Quantity::Mean)),
    ("hottest_plastic_temperature", "degC", "hottest plastic on arrival", Measure::Temperature(Quantity::Hottest)),
    ("equalised_temperature", "degC", "adiabatic mix on arrival", Measure::Temperature(Quantity::Equalised)),
    ("diameter", "m", "outer diameter on arrival", Measure::Diameter),
];

impl Answer {
    /// Over clock time, over metres of product, and where asked for over the line.
    ///
    /// `heat` is that of each section at the moments of the rows, W.
    pub fn data(&self, case: &CaseFile, heat: &[Vec<f64>], field: Option<&OverPlaces>) -> Data {
        let metres = &self.driven.metres;
        let mut data = Data::with_cautions(&self.cautions);
        let causes: Vec<String> =
            Cause::ALL.iter().enumerate().map(|(bit, cause)| format!("{} {}", 1 << bit, cause.words())).collect();
        data.text("scrap_cause_bits", causes.join(", "))
            .number("made_m", self.made_m)
            .number("scrap_m", self.scrap_m)
            .number("scrap_low_m", self.scrap_low_m)
            .number("scrap_high_m", self.scrap_high_m)
            .number("out_s", self.out_s)
            .number("approximate_m", self.approximate_m)
            .number("error_K", self.numerics.error);
        data.scale("time", "s", "clock time since the programme began", self.rows.time.clone());
        let numbers = (0..metres.len()).map(|index| index as f64).collect();
        data.scale("metre", "1", "number of the metre, in the order of the product", numbers);
        data.names("station", "station", case.stations.iter().map(|station| &station.name));
        data.names("section", "section", case.sections.iter().map(|section| &section.name));
        over_time(&mut data, case, self);
        let words = "heat that the section takes: to some percent, for pictures";
        data.numbers("heat", "W", words, &[SECTION, TIME], heat.concat());
        if !self.accumulators.is_empty() {
            let names = self.accumulators.iter().map(|one| &one.name);
            let accumulator = data.names("accumulator", "accumulator", names);
            contents(&mut data, case, self, accumulator);
        }
        over_metres(&mut data, case, self);
        over_both(&mut data, case, self);
        if let Some(field) = field {
            let distance = data.scale("distance", "m", "distance from the die", field.distance.clone());
            let (name, words) = ("field_surface_temperature", "surface temperature, for pictures: no stated error");
            data.numbers(name, "degC", words, &[TIME, distance], field.surface.clone());
            let (name, words) = ("field_core_temperature", "temperature of the axis, for pictures: no stated error");
            data.numbers(name, "degC", words, &[TIME, distance], field.core.clone());
        }
        data
    }
}

/// Speeds, contents, what stations see.
fn over_time(data: &mut Data, case: &CaseFile, driven: &Answer) {
    let (times, motions) = (&driven.rows.time, &driven.motions);
    let each = |value: &dyn Fn(f64) -> f64| times.iter().map(|&time| value(time)).collect::<Vec<f64>>();
    let reel = |place: &str| driven.accumulators.iter().position(|one| one.place == place);
    let speed = |place: &str| {
        let clock = reel(place).map_or(&motions.clock, |index| &motions.stores[index].reel);
        each(&|time| clock.speed(time))
    };
    let line = each(&|time| motions.clock.speed(time));
    let travelled = each(&|time| motions.clock.travelled(time));
    data.numbers("line_speed", "m s-1", "line speed", &[TIME], line);
    let words = "product that has left the die since the beginning";
    data.numbers("travelled_length", "m", words, &[TIME], travelled);
    data.numbers("takeup_speed", "m s-1", "speed of the take-up", &[TIME], speed("exit"));
    data.numbers("payoff_speed", "m s-1", "speed of the pay-off", &[TIME], speed("entry"));
    for (place, name, units, words) in [
        (0, "metre_seen", "m", "product length of the metre that the station sees"),
        (1, "seen_surface_temperature", "degC", "surface temperature that the station sees"),
        (2, "seen_core_temperature", "degC", "temperature of the axis of what the station sees"),
        (3, "seen_diameter", "m", "diameter that the station sees"),
    ] {
        let values = driven.rows.seen.iter().flatten().map(|seen| seen[place]).collect();
        data.numbers(name, units, words, &[STATION, TIME], values);
    }
    let water: Vec<f64> = case
        .sections
        .iter()
        .enumerate()
        .flat_map(|(index, section)| {
            let held = if section.medium.is_water() { section.temperature.0 } else { f64::NAN };
            let over = driven.waters.as_ref().and_then(|waters| waters.of(index));
            times.iter().map(move |&time| over.map_or(held, |over| over.at(time))).collect::<Vec<f64>>()
        })
        .collect();
    let words = "temperature of the water: held, or that of its stirred tank; not a number in air";
    data.numbers("water_temperature", "degC", words, &[SECTION, TIME], water);
}

/// What the accumulators hold.
fn contents(data: &mut Data, case: &CaseFile, driven: &Answer, accumulator: usize) {
    let contents = driven.motions.stores.iter();
    let contents = contents.flat_map(|store| driven.rows.time.iter().map(|&time| store.content(time))).collect();
    let capacities = case.programme.accumulators.iter().map(|accumulator| accumulator.capacity).collect();
    data.numbers("content", "m", "content of the accumulator", &[accumulator, TIME], contents);
    data.numbers("capacity", "m", "capacity of the accumulator", &[accumulator], capacities);
}

/// What belongs to a metre.
fn over_metres(data: &mut Data, case: &CaseFile, driven: &Answer) {
    let metres = &driven.driven.metres;
    let outer = case.layers.iter().rposition(|layer| layer.material.kind != crate::material::Kind::Metal);
    let output = |metre: &Metre| outer.map_or(f64::NAN, |layer| driven.extruders[layer].output(metre.time_at_die));
    let causes = |metre: &Metre| {
        let those = driven.spans.iter().filter(|span| {
            let after = if metre.side == Side::Before { span.from < metre.length } else { span.from <= metre.length };
            let before = if metre.side == Side::Behind { metre.length < span.to } else { metre.length <= span.to };
            after && before
        });
        those.fold(0_u32, |bits, span| {
            bits | 1 << Cause::ALL.iter().position(|cause| *cause == span.cause).unwrap_or(31)
        })
    };
    let mut row = |name, units, words, value: &dyn Fn(&Metre) -> f64| {
        data.numbers(name, units, words, &[METRE], metres.iter().map(value).collect());
    };
    row("product_length", "m", "product length; two metres have the same at a jump", &|metre| metre.length);
    row("side", "1", "-1 just before a jump of the product, 1 just after it, 0 elsewhere", &side);
    row("time_at_die", "s", "when the metre leaves the die", &|metre| metre.time_at_die);
    row("output", "m s-1", "output of the outermost melt as a speed, when the metre leaves the die", &output);
    row("diameter_at_die", "m", "outer diameter at the die", &|metre| metre.diameter_at_die);
    row("scrap", "1", "whether the metre is scrap", &|metre| f64::from(u8::from(causes(metre) > 0)));
    row("scrap_cause", "1", "why, as bits: see the attribute scrap_cause_bits", &|metre| f64::from(causes(metre)));
    let mut times = Vec::with_capacity(case.sections.len() * metres.len());
    for section in 0..case.sections.len() {
        times.extend(metres.iter().map(|metre| {
            let entered = if section == 0 { metre.time_at_die } else { metre.sections[section - 1] };
            finite(metre.sections[section] - entered)
        }));
    }
    let words = "time of the metre in the section";
    data.numbers("time_in_section", "s", words, &[SECTION, METRE], times);
}

fn side(metre: &Metre) -> f64 {
    match metre.side {
        Side::Before => -1.0,
        Side::At => 0.0,
        Side::Behind => 1.0,
    }
}

fn finite(value: f64) -> f64 {
    if value.is_finite() { value } else { f64::NAN }
}

/// What a station sees of a metre.
fn over_both(data: &mut Data, case: &CaseFile, driven: &Answer) {
    let stations = 0..case.stations.len();
    let metres = &driven.driven.metres;
    let each = |value: &dyn Fn(&Seen) -> f64| -> Vec<f64> {
        let one =
            |station: usize, metre: &Metre| metre.seen[station].as_ref().map_or(f64::NAN, |seen| finite(value(seen)));
        stations
            .clone()
            .flat_map(|station| metres.iter().map(move |metre| (station, metre)))
            .map(|(station, metre)| one(station, metre))
            .collect()
    };
    let along = [STATION, METRE];
    data.numbers("arrival_time", "s", "when the metre comes to the station", &along, each(&|seen| seen.arrives));
    data.numbers("departure_time", "s", "when it leaves the station", &along, each(&|seen| seen.leaves));
    for (name, units, words, measure) in SEEN {
        data.numbers(name, units, words, &along, each(&|seen| seen.sight.of(measure)));
    }
}
