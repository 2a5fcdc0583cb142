//! Round values of an axis in the user's units, for the table in the report.

use quenchway::study::map::Axis;
use quenchway_words::Shown;
use quenchway_words::map as words;

/// Most columns and rows of the table.
pub const COLUMNS: usize = 8;
pub const ROWS: usize = 9;

/// The axis with at most so many round values between its ends, as a case file would take them; with its ends alone where
/// nothing round lies between them.
pub fn values(axis: &Axis, most: usize, shown: Shown) -> Axis {
    let dimension = axis.variable.dimension;
    let ends = [axis.values.first(), axis.values.last()].map(|end| end.copied().unwrap_or(f64::NAN));
    let unit = words::unit(shown, dimension, "");
    let si = |number: &String| axis.variable.parse_value(format!("{number} {unit}").trim()).ok();
    let numbers = rounds(ends.map(|end| words::value(shown, end, dimension)), most, axis.variable.is_whole());
    let inside = |value: &f64| (ends[0]..=ends[1]).contains(value);
    let values: Vec<f64> = numbers.iter().filter_map(si).filter(inside).collect();
    let values = if values.len() > 1 { values } else { ends.to_vec() };
    Axis { variable: axis.variable.clone(), values }
}

/// Multiples of 1, 2 or 5 times a power of ten within two ends, as many as `most` allows, as texts.
fn rounds([low, high]: [f64; 2], most: usize, whole: bool) -> Vec<String> {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) {
        return Vec::new();
    }
    // From far too fine to one that fits.
    let first = (span / most as f64).log10().floor() as i32 - 1;
    for exponent in first.. {
        for digit in [1, 2, 5] {
            let decimals = usize::try_from(-exponent).unwrap_or(0);
            let step = f64::from(digit) * 10f64.powi(exponent);
            if whole && step < 1.0 {
                continue;
            }
            // A billionth of a step outside is the end, but for rounding.
            let (from, to) = ((low / step - 1e-9).ceil(), (high / step + 1e-9).floor());
            if to - from + 1.0 <= most as f64 {
                let count = (to - from + 1.0).max(0.0) as usize;
                return (0..count).map(|index| format!("{:.decimals$}", (from + index as f64) * step)).collect();
            }
        }
    }
    Vec::new()
}

#[cfg(test)]
mod tests {
    use super::rounds;

    #[test]
    fn steps_are_one_two_or_five() {
        assert_eq!(rounds([100.0, 400.0], 8, false), ["100", "150", "200", "250", "300", "350", "400"]);
        assert_eq!(rounds([16.404, 131.234], 9, false), ["20", "40", "60", "80", "100", "120"]);
        assert_eq!(rounds([0.13, 0.41], 8, false), ["0.15", "0.20", "0.25", "0.30", "0.35", "0.40"]);
        assert_eq!(rounds([1.0, 3.0], 8, true), ["1", "2", "3"]);
        assert_eq!(rounds([-5.0, 12.0], 9, false), ["-4", "-2", "0", "2", "4", "6", "8", "10", "12"]);
        assert_eq!(rounds([5.0, 5.0], 9, false), [""; 0]);
    }

    #[test]
    fn there_are_always_some_and_never_too_many() {
        for i in 0..500 {
            let low = 0.37 * f64::from(i);
            let high = low + 1e-3 * 1.05_f64.powi(i % 300);
            for most in [8, 9] {
                let count = rounds([low, high], most, false).len();
                assert!((3..=most).contains(&count), "{low} to {high}: {count}");
            }
        }
    }
}
