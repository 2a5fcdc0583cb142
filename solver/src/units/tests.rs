#![allow(clippy::unwrap_used)]

use super::expression::INCH;
use super::*;

fn close(text: &str, dimension: Dimension, expected: f64) {
    let value = parse(text, dimension).unwrap_or_else(|error| panic!("{text}: {error}"));
    // Eight units of rounding: two or three multiplications of correctly rounded factors.
    assert!((value - expected).abs() <= 1e-14 + 2e-15 * expected.abs(), "{text}: {value} for {expected}");
}

#[test]
fn rows_stand_in_the_order_of_the_enum() {
    for row in &ROWS {
        assert_eq!(row.dimension.row().dimension, row.dimension);
    }
}

#[test]
fn spellings_of_one_unit_agree() {
    use Dimension::*;
    for text in ["2.5 mm2", "2.5mm2", "2.5 mm²", "2.5 mm^2", "2.5 sq mm", "2.5e-6 m2", "0.025 cm2"] {
        close(text, Area, 2.5e-6);
    }
    for text in [
        "500 W/(m2 K)",
        "500W/(m2K)",
        "500 W/m2/K",
        "500 W/m2 K",
        "500 W/m²K",
        "500 W/(m²·K)",
        "500 W m-2 K-1",
        "500 W·m⁻²·K⁻¹",
        "500 W/(m^2*K)",
        "0.5 kW/(m2 degC)",
        "0.05 W/cm2/K",
        "500 W/(m2 °C)",
    ] {
        close(text, FilmCoefficient, 500.0);
    }
    for text in ["0.17 W/(m K)", "0.17 W/mK", "0.17 W/m/K", "0.17W/m·K", "170 mW/(m K)", "0.0017 W/(cm K)"] {
        close(text, Conductivity, 0.17);
    }
    for text in ["1.5 kJ/(kg K)", "1500 J/kg/K", "1500 J/kgK", "1.5 J/(g K)", "1500 J/(kg K)"] {
        close(text, HeatCapacity, 1500.0);
    }
    for text in ["1.4 g/cm3", "1400 kg/m3", "1.4 kg/L", "1.4 t/m3", "1400kg/m³"] {
        close(text, Density, 1400.0);
    }
    for text in ["150 m/min", "150m/min", "2.5 m/s", "9 km/h", "+1.5e2 m/min"] {
        close(text, Speed, 2.5);
    }
    for text in ["1e-3 m", "1 mm", "1000 um", "1000 µm", "1000 μm", "0.1 cm", "1.mm", ".1 cm"] {
        close(text, Diameter, 1e-3);
    }
    for text in ["374 degF", "374°F", "374 °F", "374 ℉", "374 F", "374 deg F", "190 degC", "190 °C", "463.15 K"] {
        let value = parse(text, Temperature).unwrap();
        assert!((value - 190.0).abs() < 1e-12, "{text}: {value}");
    }
    for text in
        ["9 degF", "9 °F", "9 delta degF", "9 delta °F", "9 Δ°F", "9 delta deg F", "5 K", "5000 mK", "9 deltadegF"]
    {
        close(text, TemperatureDifference, 5.0);
    }
    for text in ["36 L/min", "36 l/min", "2.16 m3/h", "0.6 L/s", "6e5 mL/ks"] {
        close(text, VolumeFlow, 6e-4);
    }
    close("180 kg/h", MassFlow, 0.05);
    close("40 kW", Power, 4e4);
    close("3 min", Time, 180.0);
    for text in ["0.5 kg/(m2 s)", "0.5 L/(m2 s)", "0.5 L/m2/s", "30 L/(m2 min)", "1800 kg/m2/h", "0.5 mm/s"] {
        close(text, WaterFlux, 0.5);
    }
    // 231 in3 a minute on a square foot.
    close("1 gpm/ft2", WaterFlux, 231.0 * 0.0254f64.powi(3) * 1000.0 / (60.0 * 0.3048 * 0.3048));
    assert!(parse("0.5 L/min", WaterFlux).is_err() && parse("0.5 L/(m2 s)", MassFlow).is_err());
}

#[test]
fn the_kelvin_scale_begins_at_273_15() {
    assert!((parse("273.15 K", Dimension::Temperature).unwrap()).abs() < 1e-12);
    assert!((parse("318 K", Dimension::Temperature).unwrap() - 44.85).abs() < 1e-12);
    assert!((Celsius(26.85).kelvin() - 300.0).abs() < 1e-12);
    assert!((parse("491.67 degR", Dimension::Temperature).unwrap()).abs() < 1e-12);
}

#[test]
fn shown_values_read_back() {
    for row in &ROWS {
        for system in [System::Si, System::Us] {
            for value in [1.7e-6, 0.37, 41.3, 8.9e3] {
                let (number, unit) = show(value, row.dimension, system);
                let again = parse(&format!("{number:e} {unit}"), row.dimension).unwrap();
                // Degrees Fahrenheit pass through an offset of 32: rounding of a number near 32, not near the value.
                assert!((again - value).abs() <= 1e-14 + 4e-15 * value, "{number} {unit}: {again} for {value}");
            }
        }
    }
}

#[test]
fn errors_say_what_is_wrong_and_what_would_be_right() {
    use Dimension::*;
    for (text, dimension, message) in [
        ("150", Speed, "150 has no unit, a speed was expected: m/min, m/s or ft/min"),
        ("1,78 mm", Diameter, "a decimal comma is not understood: write 1.78 mm"),
        ("1 500 kg/m3", Density, "a space within a number is not understood: write 1500 kg/m3"),
        ("150 mm", Speed, "mm is a length, a speed was expected: m/min, m/s or ft/min"),
        ("150 furlong", Length, "\"furlong\" is not a known unit, a length was expected: m, mm, ft or in"),
        (
            "fast",
            Speed,
            "\"fast\" does not begin with a number, a speed was expected: write a number and its unit: m/min, m/s or ft/min",
        ),
        ("5 degC", TemperatureDifference, "degC is a temperature, a temperature difference was expected: write 5 K"),
        (
            "9 delta degF",
            Temperature,
            "delta degF is a temperature difference, a temperature was expected: degC, degF or K",
        ),
        ("-300 degC", Temperature, "a temperature below absolute zero: a value above -273.15 degC"),
        ("14 AWG", Area, "AWG is a length, an area was expected: mm2, in2 or kcmil"),
        ("99 AWG", Diameter, "\"99 AWG\" is not a wire gauge: a whole number from 0 to 56, or 1/0, 2/0, 3/0, 4/0"),
        ("1e999 m", Length, "the number is too large: a value of ordinary size"),
        ("1e308 km", Length, "the number is too large: a value of ordinary size"),
        ("3 kg m", Length, "kg m is no unit of a length: m, mm, ft or in"),
    ] {
        assert_eq!(parse(text, dimension).unwrap_err().to_string(), message, "{text}");
    }
    for text in ["", " ", "mm", "NaN m", "inf m", "-", "+", ".", "e5 m", "1 m)", "1 (m", "1 /", "1 m@", "1 \u{1F980}"] {
        assert!(parse(text, Length).is_err(), "{text}");
    }
}

#[test]
fn gauges_have_all_their_spellings() {
    let diameter = |text: &str| parse(text, Dimension::Diameter);
    assert_eq!(diameter("36 AWG").unwrap(), 0.127e-3);
    // 4/0 is 0.46 inch by definition of the series.
    assert!((diameter("4/0 AWG").unwrap() - 0.46 * INCH).abs() < 1e-15);
    assert_eq!(diameter("0000 AWG"), diameter("4/0AWG"));
    assert_eq!(diameter("1/0 AWG"), diameter("0 awg"));
    assert_eq!(diameter("AWG 14"), diameter("14AWG"));
    for text in ["5/0 AWG", "-1 AWG", "14.5 AWG", "1/2 AWG", "57 AWG", "99999999999 AWG"] {
        assert!(matches!(diameter(text), Err(UnitError::Gauge { .. })), "{text}");
    }
    assert!(diameter("AWG").is_err());
}
