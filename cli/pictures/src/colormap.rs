//! The colours of temperatures: dark and blue for cold, pale and yellow for hot, evenly lighter all the way.

use std::sync::LazyLock;

use plotters::style::RGBColor;

/// Colours from cold to hot in OKLab (lightness, green-red, blue-yellow): the lightness rises in equal steps, so that
/// equal differences look equal and a grey print keeps the order.
const STOPS: [[f64; 3]; 5] =
    [[0.24, 0.010, -0.105], [0.415, 0.110, -0.115], [0.59, 0.170, 0.035], [0.765, 0.075, 0.130], [0.94, -0.020, 0.110]];

/// More steps than eight bits a channel can tell apart.
const STEPS: usize = 1024;

static COLORS: LazyLock<[RGBColor; STEPS + 1]> =
    LazyLock::new(|| std::array::from_fn(|i| between_stops(i as f64 / STEPS as f64)));

/// The colour of a share from 0, cold, to 1, hot; shares beyond take the end's colour.
pub fn color(share: f64) -> RGBColor {
    // No number becomes 0 in the cast.
    COLORS[(share.clamp(0.0, 1.0) * STEPS as f64).round() as usize]
}

fn between_stops(share: f64) -> RGBColor {
    let along = share * (STOPS.len() - 1) as f64;
    let stop = (along.floor() as usize).min(STOPS.len() - 2);
    let part = along - stop as f64;
    let [cold, hot] = [STOPS[stop], STOPS[stop + 1]];
    oklab([0, 1, 2].map(|i| cold[i] + part * (hot[i] - cold[i])))
}

/// sRGB of an OKLab colour: B. Ottosson, "A perceptual color space for image processing", 2020; coefficients from
/// memory, not checked; the tests hold white, grey and the even rise of lightness.
fn oklab([lightness, a, b]: [f64; 3]) -> RGBColor {
    let l = (lightness + 0.3963377774 * a + 0.2158037573 * b).powi(3);
    let m = (lightness - 0.1055613458 * a - 0.0638541728 * b).powi(3);
    let s = (lightness - 0.0894841775 * a - 1.2914855480 * b).powi(3);
    let red = 4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s;
    let green = -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s;
    let blue = -0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s;
    let [red, green, blue] = [red, green, blue].map(encoded);
    RGBColor(red, green, blue)
}

/// The sRGB transfer function (IEC 61966-2-1:1999), in 256 steps.
fn encoded(linear: f64) -> u8 {
    let linear = linear.clamp(0.0, 1.0);
    let value = if linear <= 0.003_130_8 { 12.92 * linear } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 };
    (255.0 * value).round() as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE 1976 lightness of an sRGB colour (weights of ITU-R BT.709).
    fn lightness(color: RGBColor) -> f64 {
        let linear = |value: u8| {
            let v = f64::from(value) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        let y = 0.2126 * linear(color.0) + 0.7152 * linear(color.1) + 0.0722 * linear(color.2);
        116.0 * y.cbrt() - 16.0
    }

    #[test]
    fn white_and_grey_have_no_hue() {
        assert_eq!(oklab([1.0, 0.0, 0.0]), RGBColor(255, 255, 255));
        let grey = oklab([0.6, 0.0, 0.0]);
        assert!(grey.0 == grey.1 && grey.1 == grey.2, "{grey:?}");
    }

    #[test]
    fn hotter_is_lighter_in_even_steps() {
        let steps: Vec<f64> = (0..=20).map(|i| lightness(color(f64::from(i) / 20.0))).collect();
        let mean = (steps[20] - steps[0]) / 20.0;
        assert!(steps[0] < 20.0 && steps[20] > 85.0, "from {} to {}", steps[0], steps[20]);
        for pair in steps.windows(2) {
            let step = pair[1] - pair[0];
            // Even to the eye: no step below half or above twice the mean one.
            assert!(step > 0.5 * mean && step < 2.0 * mean, "step {step} of mean {mean}");
        }
    }

    #[test]
    fn shares_beyond_the_ends_and_no_numbers_have_a_colour() {
        assert_eq!(color(-1.0), color(0.0));
        assert_eq!(color(2.0), color(1.0));
        assert_eq!(color(f64::NAN), color(0.0));
    }
}
