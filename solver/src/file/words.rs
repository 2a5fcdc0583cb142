//! The words of messages.

use toml::de::DeValue;

use crate::units::{self, Dimension, System};

/// A value in the trade's unit, to six digits.
pub(crate) fn shown(value: f64, dimension: Dimension) -> String {
    let (number, unit) = units::show(value, dimension, System::Si);
    // Printing to six digits and reading back drops the zeros that rounding leaves.
    let number = format!("{number:.5e}").parse().unwrap_or(number);
    format!("{number} {unit}")
}

/// An example of a value, with its quotation marks.
pub(crate) fn sample(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Length => "\"18 m\"",
        Dimension::Diameter => "\"3.42 mm\"",
        Dimension::Area => "\"2.5 mm2\"",
        Dimension::Speed => "\"150 m/min\"",
        Dimension::Temperature => "\"20 degC\"",
        Dimension::TemperatureDifference => "\"0.01 K\"",
        Dimension::Conductivity => "\"0.17 W/(m K)\"",
        Dimension::HeatCapacity => "\"1500 J/(kg K)\"",
        Dimension::Density => "\"1380 kg/m3\"",
        Dimension::FilmCoefficient => "\"500 W/(m2 K)\"",
        Dimension::MassFlow => "\"60 kg/h\"",
        Dimension::VolumeFlow => "\"60 L/min\"",
        Dimension::Power => "\"40 kW\"",
        Dimension::Time => "\"0.5 s\"",
        Dimension::WaterFlux => "\"0.5 L/(m2 s)\"",
        Dimension::Share => "\"10 %\"",
        Dimension::Acceleration => "\"30 m/min/s\"",
        Dimension::Rate => "\"1 %/s\"",
        Dimension::Volume => "\"0.5 L\"",
    }
}

/// What kind of value this is, in words.
pub(crate) fn kind_of(value: &DeValue) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a bare number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// A name of the file as a step of a key path, cut short where it is long.
pub(crate) fn step(name: &str) -> String {
    crate::units::words::key(&units::excerpt(name))
}
