#![allow(clippy::unwrap_used)]

use super::*;

/// The constant form is a product and a quotient, to the bit: what a steady run is made of.
#[test]
fn the_constant_form_has_the_bits_of_a_steady_run() {
    for (speed, place) in [(2.5, 18.4), (1.0 / 3.0, 19.599999999999998), (30.0, 1e-3)] {
        let motion = Motion::steady(speed);
        assert_eq!(motion.when(place), place / speed);
        assert_eq!(motion.place(place), place * speed);
        assert_eq!(motion.speed(place), speed);
        let clock = Clock::constant(speed);
        assert_eq!((clock.arrives(place, Side::At), clock.travelled(place)), (place / speed, place * speed));
        assert_eq!((clock.always(), clock.highest_speed()), (Some(speed), speed));
        assert_eq!(clock.arrives(-place, Side::At), -place / speed);
    }
}

/// Every kind of piece, jumps, a stop, and a speed that only touches 0.
fn varied() -> Clock {
    Clock::new(&[
        Piece::hold(10.0, 0.5),
        Piece::even(20.0, 0.5, 2.5),
        Piece::percent(15.0, 2.5, 4.0),
        Piece::hold(0.0, 9.0),
        Piece::hold(12.0, 1.25),
        Piece::percent(30.0, 1.25, 0.2),
        Piece::even(3.0, 0.2, 0.0),
        Piece::hold(60.0, 0.0),
        Piece::even(20.0, 0.0, 2.5),
        Piece::even(5.0, 2.5, 0.0),
        Piece::even(5.0, 0.0, 1.0),
    ])
    .unwrap()
}

#[test]
fn the_travelled_length_is_the_integral_of_the_speed_and_arrivals_undo_it() {
    let clock = varied();
    let mut sum = 0.0;
    let step = 1e-3;
    for i in 0..200_000 {
        let time = f64::from(i) * step;
        // The middle of each step: an error of second order, and a jump falls on a step's end.
        sum += step * clock.speed(time + 0.5 * step);
        let travelled = clock.travelled(time + step);
        assert!((travelled - sum).abs() < 1e-6, "{time}: {travelled} {sum}");
    }
    for i in 0..2000 {
        let time = -5.0 + 0.11 * f64::from(i);
        if clock.speed(time) < 1e-3 {
            continue;
        }
        let found = clock.arrives(clock.travelled(time), Side::At);
        assert!((found - time).abs() < 1e-12 * time.abs().max(1.0) / clock.speed(time).min(1.0), "{time} {found}");
    }
}

/// Figures of a stop, by hand: braked at 0.5 m/s2 from 2.5 m/s, 31.25 m made, started at 0.125 m/s2.
#[test]
fn a_parked_metre_arrives_and_leaves() {
    let clock = Clock::new(&[
        Piece::hold(10.0, 2.5),
        Piece::even(5.0, 2.5, 0.0),
        Piece::hold(60.0, 0.0),
        Piece::even(20.0, 0.0, 2.5),
    ])
    .unwrap();
    assert_eq!(clock.standstills(), [Standstill { travelled: 31.25, from: 15.0, to: 75.0 }]);
    assert_eq!(clock.corners(), [10.0, 15.0, 75.0, 95.0]);
    for (side, arrives, leaves) in [(Side::Before, 15.0, 15.0), (Side::At, 15.0, 75.0), (Side::Behind, 75.0, 75.0)] {
        assert_eq!((clock.arrives(31.25, side), clock.leaves(31.25, side)), (arrives, leaves));
    }
    // 1e-11 m are parked, 1e-8 m are not: they come sqrt(2 1e-8/0.5) s before it stands, sqrt(2 1e-8/0.125) s behind it.
    assert_eq!(clock.arrives(31.25 - 1e-11, Side::At), 15.0);
    for (offset, expected) in [(-1e-8, 15.0 - 2e-4), (1e-8, 75.0 + 4e-4)] {
        assert!((clock.arrives(31.25 + offset, Side::At) - expected).abs() < 1e-10);
    }
    // 1 m behind: 0.5 0.125 d^2 = 1.
    assert!((clock.arrives(32.25, Side::At) - 79.0).abs() < 1e-13);
}

#[test]
fn a_speed_that_only_touches_zero_is_a_standstill_of_no_length() {
    let stands: Vec<f64> = varied().standstills().iter().map(|stand| stand.to - stand.from).collect();
    assert_eq!(stands, [60.0, 0.0]);
    // And one at the end lasts for ever.
    let clock = Clock::new(&[Piece::even(4.0, 1.0, 0.0)]).unwrap();
    assert_eq!(clock.standstills(), [Standstill { travelled: 2.0, from: 4.0, to: f64::INFINITY }]);
    assert_eq!((clock.arrives(1.5, Side::At), clock.arrives(2.5, Side::At)), (2.0, f64::INFINITY));
}

#[test]
fn the_highest_speed_of_a_span_is_that_of_its_pieces() {
    let clock = varied();
    assert!((clock.highest_speed() - 4.0).abs() < 1e-14);
    assert_eq!(clock.highest_speed_within(-3.0, 5.0), 0.5);
    assert_eq!(clock.highest_speed_within(-3.0, 20.0), 1.5);
    assert_eq!(clock.highest_speed_within(46.0, 50.0), 1.25);
    assert_eq!(clock.highest_speed_within(100.0, 500.0), 2.5);
}

#[test]
fn a_chain_that_is_none_is_refused() {
    for (pieces, wrong) in [
        (vec![], ClockError::Empty),
        (vec![Piece::hold(1.0, 1.0), Piece::hold(-1.0, 1.0)], ClockError::Duration(1)),
        (vec![Piece::hold(f64::NAN, 1.0)], ClockError::Duration(0)),
        (vec![Piece::even(1.0, 1.0, -1.0)], ClockError::Speed(0)),
        (vec![Piece::percent(1.0, 0.0, 1.0)], ClockError::PercentOfZero(0)),
    ] {
        assert_eq!(Clock::new(&pieces), Err(wrong));
    }
}
