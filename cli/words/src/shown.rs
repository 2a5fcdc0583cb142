//! Numbers as the user wants to see them: unit system, sensible precision.

use quenchway::units::{Dimension, Printed, System, Toward, decimals, decimals_of, printed, show};

/// The units of a report or a picture.
#[derive(Clone, Copy, Debug)]
pub struct Shown {
    /// Metric or US.
    pub system: System,
}

impl Shown {
    /// A value in the unit in which it is shown.
    pub fn value(self, si: f64, dimension: Dimension) -> f64 {
        show(si, dimension, self.system).0
    }

    /// The unit in which a dimension is shown.
    pub fn unit(self, dimension: Dimension) -> &'static str {
        show(0.0, dimension, self.system).1
    }

    /// Decimals that a reader can act on.
    pub fn decimals(self, dimension: Dimension) -> usize {
        decimals(dimension, self.system)
    }

    /// An answer that must not be exceeded, or the low end of a range: rounded down, three significant digits at least.
    pub fn down(self, si: f64, dimension: Dimension) -> Printed {
        self.printed(si, dimension, Toward::Less)
    }

    /// An answer that must be reached, or the high end of a range: rounded up, three significant digits at least.
    pub fn up(self, si: f64, dimension: Dimension) -> Printed {
        self.printed(si, dimension, Toward::More)
    }

    fn printed(self, si: f64, dimension: Dimension, toward: Toward) -> Printed {
        match si.is_finite() {
            true => printed(si, dimension, self.system, toward, 0),
            false => Printed { number: "-".to_string(), unit: self.unit(dimension), si },
        }
    }

    /// The number without its unit; a dash where there is none.
    pub fn number(self, si: f64, dimension: Dimension) -> String {
        if !si.is_finite() {
            return "-".to_string();
        }
        let decimals = match dimension {
            // A core runs at 8.74 m/min, a wire at 500 m/min.
            Dimension::Speed => decimals_of(si, dimension, self.system),
            _ => self.decimals(dimension),
        };
        let text = format!("{:.decimals$}", self.value(si, dimension));
        // Rounding must not leave a minus sign on zero.
        if text.starts_with('-') && !text.contains(|c: char| ('1'..='9').contains(&c)) {
            return text[1..].to_string();
        }
        text
    }

    /// The number with its unit.
    pub fn with_unit(self, si: f64, dimension: Dimension) -> String {
        format!("{} {}", self.number(si, dimension), self.unit(dimension))
    }

    /// Rises of water, K, that are round numbers in these units.
    pub fn rises(self) -> [f64; 3] {
        match self.system {
            System::Si => [1.0, 2.0, 5.0],
            System::Us => [2.0, 5.0, 10.0].map(|fahrenheit| fahrenheit / 1.8),
        }
    }

    /// A temperature with its unit; a whole one without decimals, as limits are written.
    pub fn limit(self, celsius: f64) -> String {
        let value = self.value(celsius, Dimension::Temperature);
        if (value - value.round()).abs() < 1e-6 {
            return format!("{:.0} {}", value, self.unit(Dimension::Temperature));
        }
        self.with_unit(celsius, Dimension::Temperature)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SI: Shown = Shown { system: System::Si };
    const US: Shown = Shown { system: System::Us };

    #[test]
    fn precision_is_what_a_reader_can_act_on() {
        assert_eq!(SI.with_unit(64.23, Dimension::Temperature), "64.2 degC");
        assert_eq!(SI.with_unit(3.3412e-3, Dimension::Diameter), "3.341 mm");
        assert_eq!(US.with_unit(64.23, Dimension::Temperature), "147.6 degF");
        assert_eq!(US.with_unit(3.3412e-3, Dimension::Diameter), "0.1315 in");
        assert_eq!(US.with_unit(4.2, Dimension::TemperatureDifference), "7.6 degF");
        assert_eq!(SI.with_unit(8432.0, Dimension::Power), "8.43 kW");
        assert_eq!(SI.with_unit(150.04 / 60.0, Dimension::Speed), "150 m/min");
        assert_eq!(SI.with_unit(8.744 / 60.0, Dimension::Speed), "8.74 m/min");
    }

    #[test]
    fn answers_and_ranges_are_rounded_to_their_side() {
        assert_eq!(SI.down(8.7499 / 60.0, Dimension::Speed).to_string(), "8.74 m/min");
        assert_eq!(US.up(31.39, Dimension::Length).to_string(), "103.0 ft");
        assert_eq!(SI.up(f64::NAN, Dimension::Length).number, "-");
    }

    #[test]
    fn rises_are_round_in_either_system() {
        let numbers = |shown: Shown| shown.rises().map(|rise| shown.with_unit(rise, Dimension::TemperatureDifference));
        assert_eq!(numbers(SI), ["1.0 K", "2.0 K", "5.0 K"]);
        assert_eq!(numbers(US), ["2.0 degF", "5.0 degF", "10.0 degF"]);
    }

    #[test]
    fn a_limit_is_written_as_the_user_wrote_it() {
        assert_eq!(SI.limit(60.0), "60 degC");
        assert_eq!(SI.limit(60.5), "60.5 degC");
        assert_eq!(US.limit(60.0), "140 degF");
    }

    #[test]
    fn nothing_is_a_dash_and_zero_has_no_sign() {
        assert_eq!(SI.number(f64::NAN, Dimension::Temperature), "-");
        assert_eq!(SI.number(-0.001, Dimension::TemperatureDifference), "0.0");
        assert_eq!(SI.number(-0.51, Dimension::TemperatureDifference), "-0.5");
    }
}
