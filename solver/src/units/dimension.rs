//! What values measure, and the units of each dimension.

use super::expression::{BTU, CIRCULAR_MIL, FAHRENHEIT, FOOT, GALLON, HOUR, INCH, MINUTE, POUND, Scale};

/// What a value measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A distance along the line, m.
    Length,
    /// A cross-section's diameter, thickness or wall, m; parses like a length.
    Diameter,
    /// Area of a cross-section, m2.
    Area,
    /// Speed, m/s.
    Speed,
    /// A temperature on the Celsius scale, degC.
    Temperature,
    /// A temperature difference, K.
    TemperatureDifference,
    /// Thermal conductivity, W/(m K).
    Conductivity,
    /// Heat capacity by mass, J/(kg K).
    HeatCapacity,
    /// Density, kg/m3.
    Density,
    /// Film coefficient or contact conductance, W/(m2 K).
    FilmCoefficient,
    /// Mass flow, kg/s.
    MassFlow,
    /// Volume flow, m3/s.
    VolumeFlow,
    /// Power, W.
    Power,
    /// Time, s.
    Time,
    /// Water that arrives at a surface, kg/(m2 s); in litres it is the same number.
    WaterFlux,
    /// A share of something, percent.
    Share,
    /// Change of a speed in time, m/s2.
    Acceleration,
    /// Share of itself by which something changes in time, 1/s; written in percent.
    Rate,
    /// Volume of a liquid, m3.
    Volume,
}

impl Dimension {
    /// Every dimension, in the order of the enum.
    pub const ALL: [Dimension; ROWS.len()] = {
        let mut all = [Dimension::Length; ROWS.len()];
        let mut index = 0;
        while index < all.len() {
            all[index] = ROWS[index].dimension;
            index += 1;
        }
        all
    };

    pub(super) fn row(self) -> &'static Row {
        // The table is in the order of the enum; a test holds it there.
        &ROWS[self as usize]
    }

    /// Its name with an article: "a speed".
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// Its SI unit in the spelling of UDUNITS: "m s-1".
    pub fn udunits(self) -> &'static str {
        self.row().udunits
    }

    /// The units to offer where one is missing or wrong: "m/min, m/s or ft/min".
    pub fn accepted(self) -> &'static str {
        self.row().accepted
    }
}

/// Everything about a dimension in one row.
pub(super) struct Row {
    pub(super) dimension: Dimension,
    /// With its article: "a length".
    pub(super) name: &'static str,
    /// Units to name where one is missing or wrong.
    pub(super) accepted: &'static str,
    /// Exponents of m, kg, s, K.
    pub(super) exponents: [i32; 4],
    /// The unit whose factor is 1, where it is not the one of `si`.
    pub(super) base: Option<&'static str>,
    /// The same in the spelling of UDUNITS.
    pub(super) udunits: &'static str,
    /// How it is shown: symbol and scale.
    pub(super) si: (&'static str, Scale),
    pub(super) us: (&'static str, Scale),
}

pub(super) const ROWS: [Row; 19] = [
    Row {
        dimension: Dimension::Length,
        name: "a length",
        accepted: "m, mm, ft or in",
        exponents: [1, 0, 0, 0],
        base: None,
        udunits: "m",
        si: ("m", Scale::times(1.0)),
        us: ("ft", Scale::times(FOOT)),
    },
    Row {
        dimension: Dimension::Diameter,
        name: "a length",
        accepted: "mm, um, in, mil or AWG",
        exponents: [1, 0, 0, 0],
        base: Some("m"),
        udunits: "m",
        si: ("mm", Scale::tens(-3)),
        us: ("in", Scale::times(INCH)),
    },
    Row {
        dimension: Dimension::Area,
        name: "an area",
        accepted: "mm2, in2 or kcmil",
        exponents: [2, 0, 0, 0],
        base: Some("m2"),
        udunits: "m2",
        si: ("mm2", Scale::tens(-6)),
        us: ("kcmil", Scale::times(CIRCULAR_MIL).shifted(3)),
    },
    Row {
        dimension: Dimension::Speed,
        name: "a speed",
        accepted: "m/min, m/s or ft/min",
        exponents: [1, 0, -1, 0],
        base: Some("m/s"),
        udunits: "m s-1",
        si: ("m/min", Scale::over(MINUTE)),
        us: ("ft/min", Scale::times(FOOT / MINUTE)),
    },
    Row {
        dimension: Dimension::Temperature,
        name: "a temperature",
        accepted: "degC, degF or K",
        exponents: [0, 0, 0, 1],
        base: None,
        udunits: "degC",
        si: ("degC", Scale::times(1.0)),
        us: ("degF", Scale::times(FAHRENHEIT)),
    },
    Row {
        dimension: Dimension::TemperatureDifference,
        name: "a temperature difference",
        accepted: "K or degF",
        exponents: [0, 0, 0, 1],
        base: None,
        udunits: "K",
        si: ("K", Scale::times(1.0)),
        us: ("degF", Scale::times(FAHRENHEIT)),
    },
    Row {
        dimension: Dimension::Conductivity,
        name: "a thermal conductivity",
        accepted: "W/(m K) or BTU/(h ft degF)",
        exponents: [1, 1, -3, -1],
        base: None,
        udunits: "W m-1 K-1",
        si: ("W/(m K)", Scale::times(1.0)),
        us: ("BTU/(h ft degF)", Scale::times(BTU / (HOUR * FOOT * FAHRENHEIT))),
    },
    Row {
        dimension: Dimension::HeatCapacity,
        name: "a heat capacity",
        accepted: "J/(kg K), kJ/(kg K) or BTU/(lb degF)",
        exponents: [2, 0, -2, -1],
        base: None,
        udunits: "J kg-1 K-1",
        si: ("J/(kg K)", Scale::times(1.0)),
        us: ("BTU/(lb degF)", Scale::times(BTU / (POUND * FAHRENHEIT))),
    },
    Row {
        dimension: Dimension::Density,
        name: "a density",
        accepted: "kg/m3, g/cm3 or lb/ft3",
        exponents: [-3, 1, 0, 0],
        base: None,
        udunits: "kg m-3",
        si: ("kg/m3", Scale::times(1.0)),
        us: ("lb/ft3", Scale::times(POUND / (FOOT * FOOT * FOOT))),
    },
    Row {
        dimension: Dimension::FilmCoefficient,
        name: "a heat transfer coefficient",
        accepted: "W/(m2 K) or BTU/(h ft2 degF)",
        exponents: [0, 1, -3, -1],
        base: None,
        udunits: "W m-2 K-1",
        si: ("W/(m2 K)", Scale::times(1.0)),
        us: ("BTU/(h ft2 degF)", Scale::times(BTU / (HOUR * FOOT * FOOT * FAHRENHEIT))),
    },
    Row {
        dimension: Dimension::MassFlow,
        name: "a mass flow",
        accepted: "kg/h, kg/s or lb/h",
        exponents: [0, 1, -1, 0],
        base: Some("kg/s"),
        udunits: "kg s-1",
        si: ("kg/h", Scale::over(HOUR)),
        us: ("lb/h", Scale::times(POUND / HOUR)),
    },
    Row {
        dimension: Dimension::VolumeFlow,
        name: "a volume flow",
        accepted: "L/min, m3/h or gpm",
        exponents: [3, 0, -1, 0],
        base: Some("m3/s"),
        udunits: "m3 s-1",
        si: ("L/min", Scale::over(MINUTE).shifted(-3)),
        us: ("gpm", Scale::times(GALLON / MINUTE)),
    },
    Row {
        dimension: Dimension::Power,
        name: "a power",
        accepted: "kW, W or BTU/h",
        exponents: [2, 1, -3, 0],
        base: Some("W"),
        udunits: "W",
        si: ("kW", Scale::tens(3)),
        us: ("BTU/h", Scale::times(BTU / HOUR)),
    },
    Row {
        dimension: Dimension::Time,
        name: "a time",
        accepted: "s, ms, min or h",
        exponents: [0, 0, 1, 0],
        base: None,
        udunits: "s",
        si: ("s", Scale::times(1.0)),
        us: ("s", Scale::times(1.0)),
    },
    Row {
        dimension: Dimension::WaterFlux,
        name: "a water flux",
        accepted: "kg/(m2 s), L/(m2 s) or gpm/ft2",
        exponents: [-2, 1, -1, 0],
        base: None,
        udunits: "kg m-2 s-1",
        si: ("kg/(m2 s)", Scale::times(1.0)),
        us: ("gpm/ft2", Scale::times(GALLON / (MINUTE * FOOT * FOOT)).shifted(3)),
    },
    Row {
        dimension: Dimension::Share,
        name: "a share",
        accepted: "%",
        exponents: [0, 0, 0, 0],
        base: None,
        udunits: "percent",
        si: ("%", Scale::times(1.0)),
        us: ("%", Scale::times(1.0)),
    },
    Row {
        dimension: Dimension::Acceleration,
        name: "an acceleration",
        accepted: "m/min/s, m/s2 or ft/min/s",
        exponents: [1, 0, -2, 0],
        base: Some("m/s2"),
        udunits: "m s-2",
        si: ("m/min/s", Scale::over(MINUTE)),
        us: ("ft/min/s", Scale::times(FOOT / MINUTE)),
    },
    Row {
        dimension: Dimension::Rate,
        name: "a rate",
        accepted: "%/s or %/min",
        exponents: [0, 0, -1, 0],
        base: None,
        udunits: "s-1",
        si: ("%/s", Scale::tens(-2)),
        us: ("%/s", Scale::tens(-2)),
    },
    Row {
        dimension: Dimension::Volume,
        name: "a volume",
        accepted: "L, m3 or gal",
        exponents: [3, 0, 0, 0],
        base: Some("m3"),
        udunits: "m3",
        si: ("L", Scale::tens(-3)),
        us: ("gal", Scale::times(GALLON)),
    },
];
