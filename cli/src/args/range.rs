//! A range of values as it is typed: `LOW..HIGH`.

/// Both ends of a range, each read by `value`, the lower one first.
///
/// Errors: no range; an end that `value` refuses; ends that leave nothing between them.
pub fn range(text: &str, value: impl Fn(&str) -> Result<f64, String>) -> Result<[f64; 2], String> {
    let Some((low, high)) = text.split_once("..") else {
        return Err(format!("{text:?} is no range; write LOW..HIGH, each with its unit: \"100 m/min..400 m/min\""));
    };
    let ends = [value(low.trim())?, value(high.trim())?];
    if ends[0] < ends[1] {
        return Ok(ends);
    }
    Err(format!("{text:?} holds nothing: its low end must lie below its high end"))
}

/// So many values from one end to the other, evenly spaced, both ends exact.
pub fn spaced([low, high]: [f64; 2], count: usize) -> Vec<f64> {
    let last = count.saturating_sub(1).max(1);
    let at = |index: usize| if index == last { high } else { low + (high - low) * index as f64 / last as f64 };
    (0..count).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_has_two_ends_in_order() {
        let metres = |text: &str| text.trim_end_matches(" m").parse().map_err(|_| format!("{text} is wrong"));
        assert_eq!(range("5 m..40 m", metres), Ok([5.0, 40.0]));
        assert_eq!(range("-0.5 m .. .5 m", metres), Ok([-0.5, 0.5]));
        for (text, words) in [
            ("5 m", "is no range; write LOW..HIGH"),
            ("5 m..x", "x is wrong"),
            ("5 m..5 m", "holds nothing"),
            ("6 m..5 m", "must lie below"),
        ] {
            let error = range(text, metres).err().unwrap_or_default();
            assert!(error.contains(words), "{text}: {error}");
        }
    }

    #[test]
    fn values_are_even_and_their_ends_exact() {
        assert_eq!(spaced([1.0, 2.0], 5), [1.0, 1.25, 1.5, 1.75, 2.0]);
        // -2 + (-0.9 + 2) is -0.8999999999999999.
        let third = spaced([-2.0, -0.9], 4);
        assert_eq!((third[0], third[3]), (-2.0, -0.9));
        assert_eq!(spaced([1.0, 2.0], 1), [1.0]);
    }
}
