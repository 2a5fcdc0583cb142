#![allow(clippy::unwrap_used)]

use serde_json::Value;

use super::*;
use crate::case::programme::{Accumulator, End, Full, Output, ReelChange};

/// The figures of the reference problems hold to this, relative; to as many metres or seconds near 0.
const EXACT: f64 = 1e-9;

fn close(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() <= EXACT * expected.abs().max(1.0), "{what}: {found} for {expected}");
}

fn reference(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap()
}

/// Even ramps between points of time and speed.
fn through(points: &Value) -> Vec<Piece> {
    let points: Vec<[f64; 2]> = serde_json::from_value(points.clone()).unwrap();
    points.windows(2).map(|pair| Piece::even(pair[1][0] - pair[0][0], pair[0][1], pair[1][1])).collect()
}

fn draw() -> (Value, Clock) {
    let figures = reference(include_str!("../../../../validation/reference/line_in_time/draw.json"));
    let line = Clock::new(&through(&figures["programme_s_m_per_s"])).unwrap();
    (figures, line)
}

#[test]
fn the_diameter_at_the_die_is_that_of_the_closed_form() {
    let (figures, line) = draw();
    let speed = number(&figures, "speed_m_s");
    let [inner, outer] = ["inner_m", "outer_m"].map(|key| number(&figures, key));
    let diameter = |share: f64| (inner * inner + (outer * outer - inner * inner) * share).sqrt();
    let lagging = Extruder::new(Output::Lag(number(&figures, "lag_s")), &line, speed);
    let constant = Extruder::new(Output::Constant, &line, speed);
    let follows = Extruder::new(Output::Follows, &line, speed);
    for row in figures["rows"].as_array().unwrap() {
        let time = number(row, "t_die_s");
        close(line.travelled(time), number(row, "s_m"), "metre");
        close(line.speed(time), number(row, "speed_m_s"), "speed");
        close(lagging.output(time), number(row, "output_as_speed_m_s"), "output");
        // Diameters to 1e-9 of themselves, not of a metre.
        let relative = |found: f64, key: &str| close(found / number(row, key), 1.0, key);
        relative(diameter(lagging.share(time)), "diameter_at_die_lag_m");
        relative(diameter(constant.share(time)), "diameter_at_die_constant_output_m");
        assert_eq!(follows.share(time), 1.0);
    }
}

#[test]
fn the_length_out_of_size_is_that_of_the_closed_form() {
    let (figures, line) = draw();
    let [inner, outer] = ["inner_m", "outer_m"].map(|key| number(&figures, key));
    let lagging = Extruder::new(Output::Lag(number(&figures, "lag_s")), &line, number(&figures, "speed_m_s"));
    let diameter = |time: f64| (inner * inner + (outer * outer - inner * inner) * lagging.share(time)).sqrt();
    let over = |time: f64| diameter(time) - (outer - 0.05e-3);
    let expected = &figures["out_of_plus_minus_0_05_mm"];
    let from = speeds::crossing(over, 10.0, 16.0).unwrap();
    let to = speeds::crossing(over, 65.0, 80.0).unwrap();
    close(from, expected["times_s"][0].as_f64().unwrap(), "from");
    close(to, expected["times_s"][1].as_f64().unwrap(), "to");
    close(line.travelled(to) - line.travelled(from), number(expected, "product_length_m"), "length");
    // At the smallest the share is at rest: a search in steps of 0.1 ms is within 1e-10.
    let smallest = (100_000..700_000).map(|i| diameter(1e-4 * f64::from(i))).fold(f64::INFINITY, f64::min);
    close(smallest / number(expected, "smallest_hot_diameter_m"), 1.0, "smallest");
    assert!(lagging.spoilt(0.0, 130.0).is_empty());
}

#[test]
fn the_cold_gauge_reads_a_metre_as_late_as_it_lies_behind_the_die() {
    let (figures, line) = draw();
    let motions = Motions { clock: line, phases: Vec::new(), ends: 130.0, stores: Vec::new() };
    for row in figures["cold_gauge_delay"].as_array().unwrap() {
        let [left, delay] = motions.delay(number(row, "t_s"), number(row, "distance_m"));
        close(left, number(row, "left_the_die_at_s"), "left the die");
        close(delay, number(row, "delay_s"), "delay");
    }
}

#[test]
fn the_accumulator_holds_what_the_closed_form_says() {
    let figures = reference(include_str!("../../../../validation/reference/line_in_time/accumulator.json"));
    let line = Clock::new(&through(&figures["line"])).unwrap();
    let pieces = through(&figures["takeup"]);
    let catching = Clock::new(&pieces).unwrap();
    let content = |reel: Clock| Store::new(End::Exit, 4.0, line.clone(), reel);
    let back = content(catching).when(4.0, 127.0, 400.0).unwrap();
    close(back, number(&figures, "back_to_4_m_at_s"), "back");
    let mut whole = pieces;
    let fast = whole.last().unwrap().to;
    whole.extend([Piece::hold(back - 127.0, fast), Piece::hold(200.0, 0.5)]);
    let store = content(Clock::new(&whole).unwrap());
    for row in figures["content_m"].as_array().unwrap() {
        close(store.content(number(row, "t_s")), number(row, "content_m"), "content");
    }
    let [lowest, largest] = store.extremes(0.0, 300.0);
    close(largest.content, number(&figures["largest"], "content_m"), "largest");
    close(largest.time, number(&figures["largest"], "t_s"), "when");
    // At 25 s the take-up runs 0.15 m/s faster; it brakes by 1/12 m/s2, the line by 0.03: they meet 0.15/(1/12 - 0.03) s later.
    let meet = 0.15 / (1.0 / 12.0 - 0.03);
    close(lowest.time, 25.0 + meet, "lowest when");
    close(lowest.content, 3.625 - 0.5 * 0.15 * meet, "lowest");
    assert_eq!(content(line.clone()).extremes(0.0, 300.0)[1].content, 4.0);
}

/// Simpson's rule on each piece is exact for even ramps; on percent ramps in small steps it is to 1e-13.
fn integral(speed: impl Fn(f64) -> f64, corners: &[f64]) -> f64 {
    corners
        .windows(2)
        .map(|pair| {
            let step = (pair[1] - pair[0]) / 200.0;
            let edge = 1e-13 * pair[1];
            (0..200)
                .map(|i| {
                    let from = pair[0] + step * f64::from(i);
                    step / 6.0
                        * (speed(from) + 4.0 * speed(from + 0.5 * step) + speed((from + step).min(pair[1] - edge)))
                })
                .sum::<f64>()
        })
        .sum()
}

fn change(name: &str, after: f64, to: f64, ramp: Ramp, hold: Option<f64>) -> Change {
    Change { name: name.to_string(), after, to, ramp, hold }
}

fn exit(capacity: f64, content: f64, reserve: f64, full: Full) -> Accumulator {
    Accumulator { name: "exit".to_string(), place: End::Exit, capacity, content, reserve, full }
}

const REEL: ReelChange =
    ReelChange { accumulator: 0, at: 30.0, brake: 6.0, standstill: 40.0, start: 10.0, catch_up: 0.15 };

fn reels(accumulator: Accumulator, change: ReelChange, speed: f64) -> Motions {
    let programme = Programme { accumulators: vec![accumulator], reel_changes: vec![change], ..Programme::default() };
    motions(&programme, speed, 20.0).unwrap()
}

#[test]
fn contents_are_the_integral_of_the_speeds() {
    let programme = Programme {
        starts_at: Some(1.0),
        changes: vec![
            change("up", 5.0, 2.5, Ramp::Percent(0.02), Some(20.0)),
            change("stop", 0.0, 0.0, Ramp::Even(0.5), Some(10.0)),
            change("again", 0.0, 2.0, Ramp::Within(8.0), None),
        ],
        accumulators: vec![exit(200.0, 10.0, 0.0, Full::Report)],
        reel_changes: vec![ReelChange { at: 8.0, ..REEL }],
        ..Programme::default()
    };
    let motions = motions(&programme, 2.5, 20.0).unwrap();
    let store = &motions.stores[0];
    let mut corners: Vec<f64> = motions.clock.corners().iter().chain(store.reel.corners()).copied().collect();
    corners.extend([0.0, motions.ends]);
    corners.sort_by(f64::total_cmp);
    corners.dedup();
    corners.retain(|&time| (0.0..=motions.ends).contains(&time));
    let line = integral(|time| motions.clock.speed(time), &corners);
    let reel = integral(|time| store.reel.speed(time), &corners);
    let made = motions.made();
    assert!((made - line).abs() < 1e-12 * made + 1e-10, "{made} {line}");
    let change = store.content(motions.ends) - store.content(0.0);
    assert!((change - (line - reel)).abs() < 1e-10, "{change}");
    assert!((store.content(store.back[0]) - 10.0).abs() < 1e-11, "back");
    // The last hold: until what left the die at the end of the ramp has left the line.
    let ramp_ends = motions.ends - 20.0 / 2.0;
    assert!((motions.clock.travelled(motions.ends) - motions.clock.travelled(ramp_ends) - 20.0).abs() < 1e-12 * made);
}

#[test]
fn a_change_of_reel_takes_what_the_rule_of_thumb_says() {
    let speed = 2.5;
    let motions = reels(exit(200.0, 10.0, 0.0, Full::Report), REEL, speed);
    let store = &motions.stores[0];
    let [lowest, highest] = store.extremes(0.0, motions.ends);
    let needed = speed * (40.0 + 6.0 / 2.0 + 10.0 / (2.0 * 1.15));
    close(highest.content, 10.0 + needed, "highest");
    close(highest.time, 30.0 + 6.0 + 40.0 + 10.0 / 1.15, "when");
    close(lowest.content, 10.0, "lowest");
    // The rest of the start takes a little off; then 15 % of the speed.
    let start = 10.0 - 10.0 / 1.15;
    let left = needed - 0.5 * start * 0.15 * speed;
    close(store.back[0], 86.0 + left / (0.15 * speed), "back");
    assert_eq!(store.reel.speed(store.back[0] + 1.0), speed);
    assert!(motions.clock.always().is_some());
    let entry = Accumulator { place: End::Entry, content: 180.0, ..exit(200.0, 0.0, 0.0, Full::Report) };
    let pay_off = reels(entry, REEL, speed);
    let [lowest, highest] = pay_off.stores[0].extremes(0.0, pay_off.ends);
    close(lowest.content, 180.0 - needed, "entry");
    close(highest.content, 180.0, "entry");
}

#[test]
fn a_line_that_slows_brakes_as_late_as_is_possible() {
    let (speed, brake) = (2.5, 0.25);
    let motions = reels(exit(100.0, 10.0, 5.0, Full::Slow(brake)), REEL, speed);
    let store = &motions.stores[0];
    let [_, highest] = store.extremes(0.0, motions.ends);
    close(highest.content, 95.0, "highest");
    // The reel stands: C - reserve - L = v^2/(2 a), and L at a moment t of the standstill is 10 + v (t - 30 - 6/2).
    let room = speed * speed / (2.0 * brake);
    let begins = 33.0 + (85.0 - room) / speed;
    let first = motions.clock.corners()[0];
    close(first, begins, "begins");
    assert_eq!(motions.clock.speed(first - 1e-6), speed);
    // It stands with the reel, and comes back no faster than it braked.
    close(motions.clock.speed(highest.time), 0.0, "stands");
    let again = motions.clock.standstills()[0].to;
    close(again, 76.0, "starts with the reel");
    close(motions.clock.speed(again + 4.0), 1.0, "comes back");
    close(motions.clock.speed(again + 10.0), speed, "is back");
    assert!(store.back[0].is_finite() && store.content(store.back[0]) - 10.0 < 1e-9);
    // A line that brakes gently meets a reel that starts again: later than one that would have to stand.
    let gentle = reels(exit(100.0, 10.0, 5.0, Full::Slow(0.1)), REEL, speed);
    let [_, highest] = gentle.stores[0].extremes(0.0, gentle.ends);
    close(highest.content, 95.0, "highest");
    assert!(highest.time > 76.0 && gentle.clock.standstills().is_empty());
    close(gentle.clock.speed(highest.time), gentle.stores[0].reel.speed(highest.time), "as fast as the reel");
    let latest = 33.0 + (85.0 - speed * speed / 0.2) / speed;
    assert!(gentle.clock.corners()[0] > latest);
    // Where there is room enough nothing slows.
    assert!(reels(exit(200.0, 10.0, 5.0, Full::Slow(brake)), REEL, speed).clock.always().is_some());
}

#[test]
fn a_line_that_stops_waits_for_the_content() {
    let (speed, brake) = (2.5, 0.25);
    let motions = reels(exit(100.0, 10.0, 5.0, Full::Stop(brake)), REEL, speed);
    let store = &motions.stores[0];
    close(store.extremes(0.0, motions.ends)[1].content, 95.0, "highest");
    let stop = motions.clock.standstills()[0];
    close(stop.to, store.back[0], "restarts when the content is back");
    close(store.content(stop.to), 10.0, "content");
    close(motions.clock.speed(stop.to + 4.0), 1.0, "restart");
    let entry = Accumulator { place: End::Entry, content: 90.0, ..exit(100.0, 0.0, 5.0, Full::Stop(brake)) };
    let entry = reels(entry, REEL, speed);
    close(entry.stores[0].extremes(0.0, entry.ends)[0].content, 5.0, "entry");
    close(entry.clock.standstills()[0].from, stop.from, "as at the exit");
}

#[test]
fn the_next_change_of_reel_waits_for_the_last() {
    let programme = |second: f64| Programme {
        accumulators: vec![exit(200.0, 10.0, 0.0, Full::Report)],
        reel_changes: vec![REEL, ReelChange { at: second, ..REEL }],
        ..Programme::default()
    };
    let error = motions(&programme(300.0), 2.5, 20.0).unwrap_err();
    assert_eq!(error.change, 1);
    assert!(error.back > 300.0);
    assert!(motions(&programme(error.back + 0.1), 2.5, 20.0).is_ok());
}

#[test]
fn lumps_and_bare_spots_lie_about_a_stop() {
    let line = Clock::new(&[
        Piece::hold(10.0, 2.0),
        Piece::even(5.0, 2.0, 0.0),
        Piece::hold(60.0, 0.0),
        Piece::even(20.0, 0.0, 2.0),
        Piece::hold(60.0, 2.0),
    ])
    .unwrap();
    for (output, spans) in [(Output::Lag(4.0), 2), (Output::Constant, 1), (Output::Follows, 0)] {
        let extruder = Extruder::new(output, &line, 2.0);
        let spoilt = extruder.spoilt(0.0, 155.0);
        assert_eq!(spoilt.len(), spans, "{output:?}: {spoilt:?}");
        // Their ends are at a level, and a scan finds no other spoilt moment.
        for end in spoilt.iter().flat_map(|(span, _)| span) {
            let left = [LUMP, BARE].map(|level| (extruder.output(*end) - level * line.speed(*end)).abs());
            assert!(left[0].min(left[1]) < 1e-13, "{end} {left:?}");
        }
        for i in 0..15500 {
            let time = 0.01 * f64::from(i) + 0.003;
            let inside = spoilt.iter().any(|([from, to], _)| (from..to).contains(&&time));
            assert_eq!(!(BARE..=LUMP).contains(&extruder.share(time)), inside, "{time}");
        }
    }
    // The output is the derivative of what has been given.
    let extruder = Extruder::new(Output::Lag(4.0), &line, 2.0);
    for time in [-3.0, 4.0, 12.0, 40.0, 80.0, 130.0] {
        let slope = (extruder.given(time + 1e-3) - extruder.given(time - 1e-3)) / 2e-3;
        assert!((slope - extruder.output(time)).abs() < 1e-7, "{time}");
    }
}

#[test]
fn the_melt_waits_through_a_stop() {
    let line = Clock::new(&[
        Piece::hold(10.0, 2.0),
        Piece::even(5.0, 2.0, 0.0),
        Piece::hold(60.0, 0.0),
        Piece::even(20.0, 0.0, 2.0),
        Piece::hold(200.0, 2.0),
    ])
    .unwrap();
    let extruder = Extruder::new(Output::Follows, &line, 2.0);
    // 100 m of output in the head: 50 s at speed, 60 s more through the stop, and what the ramps cost.
    let found = residence(&extruder, &line, 100.0, Some(100.0), 295.0);
    close(found.before, 50.0, "before");
    close(found.longest, 50.0 + 60.0 + 2.5 + 10.0, "longest");
    let [from, to] = [found.over[0][0], found.over[found.over.len() - 1][1]];
    assert!(found.over.len() == 1 && from >= 15.0 && to < 160.0 && found.at <= to, "{found:?}");
}
