//! Numbers as the user wants to see them: unit system, sensible precision.

use quenchway::units::{Dimension, Printed, System, Toward, decimals, decimals_of, printed, show};

/// Decimals more than usual that a value beside its limit may have.
const MORE: usize = 3;

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

    /// How much of something there is, with its unit. What is more than nothing is never shown as nothing: "less than 0.01 m".
    pub fn some(self, si: f64, dimension: Dimension) -> String {
        match self.least(si, dimension) {
            Some(least) => format!("less than {least} {}", self.unit(dimension)),
            None => self.with_unit(si, dimension),
        }
    }

    /// The same for a cell of a table: "<0.01".
    pub fn some_number(self, si: f64, dimension: Dimension) -> String {
        match self.least(si, dimension) {
            Some(least) => format!("<{least}"),
            None => self.number(si, dimension),
        }
    }

    /// Whether a value is shown as 0.
    pub fn is_nothing(self, si: f64, dimension: Dimension) -> bool {
        si.is_finite() && !self.number(si, dimension).contains(|c: char| ('1'..='9').contains(&c))
    }

    /// Half of the last digit that is shown, with its unit: what is less is shown as 0.
    pub fn half_a_digit(self, dimension: Dimension) -> String {
        let decimals = self.decimals(dimension);
        format!("{:.*} {}", decimals + 1, 0.5 * 10f64.powi(-(decimals as i32)), self.unit(dimension))
    }

    /// The least number that is shown, where a value above 0 would be shown as 0.
    pub fn least(self, si: f64, dimension: Dimension) -> Option<String> {
        let decimals = self.decimals(dimension);
        (si > 0.0 && self.is_nothing(si, dimension)).then(|| format!("{:.decimals$}", 10f64.powi(-(decimals as i32))))
    }

    /// A value beside the limit that it is held to: with as many decimals as tell the two apart. Where three more than usual do not,
    /// in words: "just above 45 degC".
    pub fn beside(self, si: f64, limit: f64, dimension: Dimension) -> String {
        if !si.is_finite() || si == limit {
            return self.with_unit(si, dimension);
        }
        let (value, bound, unit) = (self.value(si, dimension), self.value(limit, dimension), self.unit(dimension));
        let allowed = match dimension {
            Dimension::Temperature => self.limit(limit),
            _ => self.with_unit(limit, dimension),
        };
        let as_printed: f64 = allowed.split(' ').next().and_then(|number| number.parse().ok()).unwrap_or(bound);
        let usual = self.decimals(dimension);
        let tells = |decimals: &usize| {
            let rounded: f64 = format!("{value:.decimals$}").parse().unwrap_or(value);
            [bound, as_printed].into_iter().all(|bound| if si > limit { rounded > bound } else { rounded < bound })
        };
        match (usual..=usual + MORE).find(tells) {
            Some(decimals) if decimals == usual => self.with_unit(si, dimension),
            Some(decimals) => format!("{value:.decimals$} {unit}"),
            None => format!("{} {allowed}", if si > limit { "just above" } else { "just below" }),
        }
    }

    /// Rises of water, K, that are round numbers in these units.
    pub fn rises(self) -> [f64; 3] {
        match self.system {
            System::Si => [1.0, 2.0, 5.0],
            System::Us => [2.0, 5.0, 10.0].map(|fahrenheit| fahrenheit / 1.8),
        }
    }

    /// A temperature with its unit, with no more decimals than a limit is written with: 60, 60.5 or 45.25.
    pub fn limit(self, celsius: f64) -> String {
        let value = self.value(celsius, Dimension::Temperature);
        let exact = |decimals: &usize| {
            let steps = 10f64.powi(*decimals as i32);
            (value - (steps * value).round() / steps).abs() < 1e-6
        };
        match (0..=2).find(exact) {
            Some(decimals) => format!("{value:.decimals$} {}", self.unit(Dimension::Temperature)),
            None => self.with_unit(celsius, Dimension::Temperature),
        }
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
    fn what_is_more_than_nothing_is_never_shown_as_nothing() {
        assert_eq!(SI.some(0.004, Dimension::Length), "less than 0.01 m");
        assert_eq!(SI.some(0.006, Dimension::Length), "0.01 m");
        assert_eq!(SI.some(0.0, Dimension::Length), "0.00 m");
        assert_eq!(US.some(1e-4, Dimension::Length), "less than 0.1 ft");
        assert_eq!(SI.some(0.02, Dimension::TemperatureDifference), "less than 0.1 K");
        assert_eq!(SI.some_number(0.004, Dimension::Length), "<0.01");
        assert_eq!(SI.some_number(1.184, Dimension::Length), "1.18");
    }

    #[test]
    fn a_value_is_told_from_its_limit() {
        let beside = |value: f64, limit: f64| SI.beside(value, limit, Dimension::Temperature);
        assert_eq!(beside(49.93, 45.0), "49.9 degC");
        assert_eq!(beside(45.02, 45.0), "45.02 degC");
        assert_eq!(beside(44.9996, 45.0), "44.9996 degC");
        assert_eq!(beside(45.00001, 45.0), "just above 45 degC");
        assert_eq!(beside(44.99999, 45.0), "just below 45 degC");
        assert_eq!(beside(45.0, 45.0), "45.0 degC");
        assert_eq!(beside(f64::NAN, 45.0), "- degC");
        assert_eq!(US.beside(45.02, 45.0, Dimension::Temperature), "113.04 degF");
        // A limit with decimals of its own.
        assert_eq!(beside(45.26, 45.25), "45.3 degC");
        assert_eq!(beside(45.22, 45.25), "45.2 degC");
        assert_eq!(beside(45.2501, 45.25), "45.3 degC");
        // In inches the limit itself is rounded: 0.131693 in.
        let inches = |value: f64| US.beside(value, 3.345e-3, Dimension::Diameter);
        assert_eq!(inches(3.3455e-3), "0.13171 in");
        assert_eq!(SI.beside(3.37e-3 - 2e-8, 3.37e-3, Dimension::Diameter), "3.36998 mm");
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
        assert_eq!(SI.limit(45.25), "45.25 degC");
        assert_eq!(SI.limit(45.253), "45.3 degC");
        assert_eq!(US.limit(60.0), "140 degF");
    }

    #[test]
    fn nothing_is_a_dash_and_zero_has_no_sign() {
        assert_eq!(SI.number(f64::NAN, Dimension::Temperature), "-");
        assert_eq!(SI.number(-0.001, Dimension::TemperatureDifference), "0.0");
        assert_eq!(SI.number(-0.51, Dimension::TemperatureDifference), "-0.5");
    }
}
