//! The answer of `drive` as a results file: over clock time, over metres of product, over the line.

use quenchway::case::{CaseFile, Quantity};
use quenchway::study::drive::answer::{Answer, Cause, OverPlaces};
use quenchway::study::drive::{Measure, Metre};

use crate::store::{Axis, Table, Variable};

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

/// The results file; the caller fills in title, command, case text and resolved case.
pub fn table(case: &CaseFile, driven: &Answer, field: Option<&OverPlaces>) -> Table {
    let metres = &driven.driven.metres;
    let mut axes = vec![
        Axis::numbers("time", "s", "clock time since the programme began", driven.rows.time.clone()),
        Axis::numbers(
            "metre",
            "1",
            "number of the metre, in the order of the product",
            (0..metres.len()).map(|index| index as f64).collect(),
        ),
        Axis::names("station", "station", case.stations.iter().map(|station| station.name.clone()).collect()),
        Axis::names("section", "section", case.sections.iter().map(|section| section.name.clone()).collect()),
    ];
    let mut variables = over_time(case, driven);
    if !driven.accumulators.is_empty() {
        let accumulator = axes.len();
        axes.push(Axis::names(
            "accumulator",
            "accumulator",
            driven.accumulators.iter().map(|one| one.name.clone()).collect(),
        ));
        variables.extend(contents(case, driven, accumulator));
    }
    variables.extend(over_metres(case, driven));
    variables.extend(over_both(case, driven));
    if let Some(field) = field {
        let distance = axes.len();
        axes.push(Axis::numbers("distance", "m", "distance from the die", field.distance.clone()));
        for (name, words, values) in [
            ("field_surface_temperature", "surface temperature, for pictures: no stated error", &field.surface),
            ("field_core_temperature", "temperature of the axis, for pictures: no stated error", &field.core),
        ] {
            variables.push(Variable::numbers(name, "degC", words, &[TIME, distance], values.clone()));
        }
    }
    let numbers = [
        ("made_m", driven.made_m),
        ("scrap_m", driven.scrap_m),
        ("scrap_low_m", driven.scrap_low_m),
        ("scrap_high_m", driven.scrap_high_m),
        ("out_s", driven.out_s),
        ("approximate_m", driven.approximate_m),
        ("error_K", driven.numerics.error),
    ];
    let causes: Vec<String> =
        Cause::ALL.iter().enumerate().map(|(bit, cause)| format!("{} {}", 1 << bit, cause.words())).collect();
    Table {
        cautions: driven.cautions.clone(),
        texts: vec![("scrap_cause_bits".to_string(), causes.join(", "))],
        numbers: numbers.map(|(name, value)| (name.to_string(), value)).to_vec(),
        axes,
        variables,
        ..Table::default()
    }
}

/// Speeds, contents, what stations see.
fn over_time(case: &CaseFile, driven: &Answer) -> Vec<Variable> {
    let (times, motions) = (&driven.rows.time, &driven.motions);
    let each = |value: &dyn Fn(f64) -> f64| times.iter().map(|&time| value(time)).collect::<Vec<f64>>();
    let reel = |place: &str| driven.accumulators.iter().position(|one| one.place == place);
    let speed = |place: &str| {
        let clock = reel(place).map_or(&motions.clock, |index| &motions.stores[index].reel);
        each(&|time| clock.speed(time))
    };
    let line = each(&|time| motions.clock.speed(time));
    let travelled = each(&|time| motions.clock.travelled(time));
    let mut variables = vec![
        Variable::numbers("line_speed", "m s-1", "line speed", &[TIME], line),
        Variable::numbers(
            "travelled_length",
            "m",
            "product that has left the die since the beginning",
            &[TIME],
            travelled,
        ),
        Variable::numbers("takeup_speed", "m s-1", "speed of the take-up", &[TIME], speed("exit")),
        Variable::numbers("payoff_speed", "m s-1", "speed of the pay-off", &[TIME], speed("entry")),
    ];
    for (place, name, units, words) in [
        (0, "metre_seen", "m", "product length of the metre that the station sees"),
        (1, "seen_surface_temperature", "degC", "surface temperature that the station sees"),
        (2, "seen_core_temperature", "degC", "temperature of the axis of what the station sees"),
        (3, "seen_diameter", "m", "diameter that the station sees"),
    ] {
        let values = driven.rows.seen.iter().flatten().map(|seen| seen[place]).collect();
        variables.push(Variable::numbers(name, units, words, &[STATION, TIME], values));
    }
    let water: Vec<f64> = case
        .sections
        .iter()
        .flat_map(|section| {
            let held = if section.medium.is_water() { section.temperature.0 } else { f64::NAN };
            vec![held; times.len()]
        })
        .collect();
    let words = "temperature of the water, which is held; not a number in air";
    variables.push(Variable::numbers("water_temperature", "degC", words, &[SECTION, TIME], water));
    variables
}

/// What the accumulators hold.
fn contents(case: &CaseFile, driven: &Answer, accumulator: usize) -> [Variable; 2] {
    let contents = driven.motions.stores.iter();
    let contents = contents.flat_map(|store| driven.rows.time.iter().map(|&time| store.content(time))).collect();
    let capacities = case.programme.accumulators.iter().map(|accumulator| accumulator.capacity).collect();
    [
        Variable::numbers("content", "m", "content of the accumulator", &[accumulator, TIME], contents),
        Variable::numbers("capacity", "m", "capacity of the accumulator", &[accumulator], capacities),
    ]
}

/// What belongs to a metre.
fn over_metres(case: &CaseFile, driven: &Answer) -> Vec<Variable> {
    let metres = &driven.driven.metres;
    let each = |value: &dyn Fn(&Metre) -> f64| metres.iter().map(value).collect::<Vec<f64>>();
    let outer = case.layers.iter().rposition(|layer| layer.material.kind != quenchway::material::Kind::Metal);
    let output = |metre: &Metre| outer.map_or(f64::NAN, |layer| driven.extruders[layer].output(metre.time_at_die));
    let causes = |metre: &Metre| {
        let those = driven.spans.iter().filter(|span| {
            let after = if metre.side == quenchway::line::clock::Side::Before {
                span.from < metre.length
            } else {
                span.from <= metre.length
            };
            let before = if metre.side == quenchway::line::clock::Side::Behind {
                metre.length < span.to
            } else {
                metre.length <= span.to
            };
            after && before
        });
        those.fold(0_u32, |bits, span| {
            bits | 1 << Cause::ALL.iter().position(|cause| *cause == span.cause).unwrap_or(31)
        })
    };
    let row = |name, units, words, values| Variable::numbers(name, units, words, &[METRE], values);
    let mut variables = vec![
        row("product_length", "m", "product length; two metres have the same at a jump", each(&|metre| metre.length)),
        row(
            "side",
            "1",
            "-1 just before a jump of the product, 1 just behind it, 0 elsewhere",
            each(&|metre| side(metre)),
        ),
        row("time_at_die", "s", "when the metre leaves the die", each(&|metre| metre.time_at_die)),
        row("output", "m s-1", "output of the outermost melt as a speed, when the metre leaves the die", each(&output)),
        row("diameter_at_die", "m", "outer diameter at the die", each(&|metre| metre.diameter_at_die)),
        row("scrap", "1", "whether the metre is scrap", each(&|metre| f64::from(u8::from(causes(metre) > 0)))),
        row(
            "scrap_cause",
            "1",
            "why, as bits: see the attribute scrap_cause_bits",
            each(&|metre| f64::from(causes(metre))),
        ),
    ];
    let mut times = Vec::with_capacity(case.sections.len() * metres.len());
    for section in 0..case.sections.len() {
        times.extend(metres.iter().map(|metre| {
            let entered = if section == 0 { metre.time_at_die } else { metre.sections[section - 1] };
            finite(metre.sections[section] - entered)
        }));
    }
    let words = "time of the metre in the section";
    variables.push(Variable::numbers("time_in_section", "s", words, &[SECTION, METRE], times));
    variables
}

fn side(metre: &Metre) -> f64 {
    match metre.side {
        quenchway::line::clock::Side::Before => -1.0,
        quenchway::line::clock::Side::At => 0.0,
        quenchway::line::clock::Side::Behind => 1.0,
    }
}

fn finite(value: f64) -> f64 {
    if value.is_finite() { value } else { f64::NAN }
}

/// What a station sees of a metre.
fn over_both(case: &CaseFile, driven: &Answer) -> Vec<Variable> {
    let stations = 0..case.stations.len();
    let metres = &driven.driven.metres;
    let each = |value: &dyn Fn(&quenchway::study::drive::Seen) -> f64| -> Vec<f64> {
        let one =
            |station: usize, metre: &Metre| metre.seen[station].as_ref().map_or(f64::NAN, |seen| finite(value(seen)));
        stations
            .clone()
            .flat_map(|station| metres.iter().map(move |metre| (station, metre)))
            .map(|(station, metre)| one(station, metre))
            .collect()
    };
    let along = [STATION, METRE];
    let mut variables = vec![
        Variable::numbers(
            "arrival_time",
            "s",
            "when the metre comes to the station",
            &along,
            each(&|seen| seen.arrives),
        ),
        Variable::numbers("departure_time", "s", "when it leaves the station", &along, each(&|seen| seen.leaves)),
    ];
    variables.extend(SEEN.map(|(name, units, words, measure)| {
        Variable::numbers(name, units, words, &along, each(&|seen| seen.sight.of(measure)))
    }));
    variables
}
