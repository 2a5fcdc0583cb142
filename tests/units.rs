//! Units against published factors, and the parser against text that no one would write on purpose.

use proptest::prelude::*;
use quenchway::units::Dimension::*;
use quenchway::units::{Dimension, System, parse, show, write};

use crate::reference;

#[test]
fn factors_are_those_of_nist_sp_811() {
    let rows = reference::rows("units.csv");
    assert!(rows.len() > 20);
    for row in rows {
        let (text, [printed]) = (&row[0], reference::numbers(&row[2..]));
        let dimension = *Dimension::ALL.iter().find(|dimension| format!("{dimension:?}") == row[1]).unwrap();
        let value = parse(text, dimension).unwrap();
        // Half a unit of the seventh digit of the printed figure.
        let half_a_digit = 0.5 * 10f64.powf(printed.log10().floor() - 6.0);
        assert!((value - printed).abs() <= half_a_digit * 1.0001, "{text}: {value}, printed {printed}");
    }
}

/// ASTM B258: d = 0.127 mm * 92^((36 - n)/39); diameters in mm computed from that formula to five decimals.
const AWG: [(&str, f64); 6] = [
    ("24 AWG", 0.51056),
    ("18 AWG", 1.02369),
    ("14 AWG", 1.62773),
    ("12 AWG", 2.05253),
    ("10 AWG", 2.58819),
    ("4 AWG", 5.18940),
];

#[test]
fn gauges_are_those_of_astm_b258() {
    for (text, millimetres) in AWG {
        let value = parse(text, Diameter).unwrap() * 1e3;
        // Half a unit of the fifth decimal.
        assert!((value - millimetres).abs() <= 0.5e-5, "{text}: {value} mm");
    }
}

#[test]
fn absolute_temperatures_use_273_15_and_459_67() {
    // BIPM SI brochure, 9th edition (2019), section 2.3.1: 0 degC = 273.15 K exactly; NIST SP 811 B.8: t/degC =
    // (t/degF - 32)/1.8 and T/K = (t/degF + 459.67)/1.8. The tolerance is rounding of numbers of a few hundred.
    for (text, celsius) in
        [("273.15 K", 0.0), ("300 K", 26.85), ("32 degF", 0.0), ("212 degF", 100.0), ("-459.67 degF", -273.15)]
    {
        let value = parse(text, Temperature).unwrap();
        assert!((value - celsius).abs() < 1e-12, "{text}: {value}");
    }
    assert!(parse("-459.68 degF", Temperature).is_err());
    assert_eq!(show(0.0, Temperature, System::Us), (32.0, "degF"));
}

#[test]
fn percents_of_a_rate_are_rounded_once() {
    // 45.02/100 is another number than 0.4502.
    assert_eq!(parse("45.02 %/s", Dimension::Rate), Ok(0.4502));
    assert_eq!(parse("4502e-2 %/s", Dimension::Rate), Ok(0.4502));
    assert_eq!(write(0.4502, Dimension::Rate, System::Si), "45.02 %/s");
}

proptest! {
    #[test]
    fn any_text_is_a_finite_value_or_an_error(text in ".{0,40}", dimension in prop::sample::select(&Dimension::ALL)) {
        if let Ok(value) = parse(&text, dimension) {
            prop_assert!(value.is_finite());
        }
    }

    #[test]
    fn unit_like_text_is_a_finite_value_or_an_error(
        text in "[-+]?[0-9]{0,3}[.,]?[0-9]{0,3}(e-?[0-9]{1,3})? ?([mkgsKWJhCFu°µ²³·/() 2-]|deg|ft|in|AWG|BTU|delta ){0,12}",
        dimension in prop::sample::select(&Dimension::ALL),
    ) {
        match parse(&text, dimension) {
            Ok(value) => prop_assert!(value.is_finite()),
            Err(error) => prop_assert!(!error.wrong().is_empty() && !error.remedy().is_empty()),
        }
    }

    #[test]
    fn a_written_value_reads_back_exactly(
        value in prop_oneof![1e-6..1e5f64, (1u32..99999, 0i32..8).prop_map(|(n, e)| f64::from(n) / 10f64.powi(e))],
        dimension in prop::sample::select(&Dimension::ALL),
    ) {
        prop_assert_eq!(parse(&write(value, dimension, System::Si), dimension), Ok(value));
        let rounded = parse(&write(value, dimension, System::Us), dimension).unwrap();
        // Six digits; near 32 degF they are digits of the number shown, not of the value.
        prop_assert!((rounded - value).abs() <= 1e-5 * (value + 20.0 * f64::from(dimension == Temperature)));
    }
}
