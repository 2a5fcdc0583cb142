//! Special functions that `libm` lacks: the scaled error function, its integral, and the phase of a Bessel pair.

use std::f64::consts::{FRAC_2_SQRT_PI, PI};

/// Scaled complementary error function erfcx(x) = exp(x^2) erfc(x).
///
/// Holds for every x; relative error below 1e-14 for x >= 0. For x below -26.6 the value exceeds the range of numbers
/// and is infinite. Equation: the product below x = 2, the continued fraction x + (1/2)/(x + 1/(x + (3/2)/(x + ...)))
/// above. Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 1964, eq. 7.1.14 (from memory, not checked).
///
/// ```
/// let y: f64 = 5.0;
/// assert!((1.0 - quenchway::exact::erfcx(y) - 0.889295362267).abs() < 1e-12);
/// assert!((quenchway::exact::erfcx(1e9) * 1e9 * std::f64::consts::PI.sqrt() - 1.0).abs() < 1e-14);
/// ```
pub fn erfcx(x: f64) -> f64 {
    if x < 2.0 {
        return libm::exp(x * x) * libm::erfc(x);
    }
    // 60 levels reach the last digit at x = 2; fewer would do above.
    let mut tail = x;
    for level in (1..=60).rev() {
        tail = x + 0.5 * f64::from(level) / tail;
    }
    0.5 * FRAC_2_SQRT_PI / tail
}

/// Integral of the complementary error function from x to infinity: ierfc(x) = exp(-x^2)/sqrt(pi) - x erfc(x).
///
/// Holds for every x. Source: Carslaw & Jaeger, Conduction of Heat in Solids, 1959, Appendix II (from memory, not
/// checked).
///
/// ```
/// assert!((quenchway::exact::ierfc(0.0) - 0.5641895835477563).abs() < 1e-15);
/// ```
pub fn ierfc(x: f64) -> f64 {
    let root = 0.5 * FRAC_2_SQRT_PI;
    if x < 2.0 {
        return root * libm::exp(-x * x) - x * libm::erfc(x);
    }
    libm::exp(-x * x) * (root - x * erfcx(x))
}

/// Phase of the Bessel pair without jumps: J0(x) = M cos, Y0(x) = M sin of it, rising from -pi/2 at x = 0.
pub(super) fn bessel_phase(x: f64) -> f64 {
    // The phase stays within (x - pi/2, x - pi/4), so the nearest turn is the right one.
    let turned = libm::atan2(libm::y0(x), libm::j0(x));
    turned + 2.0 * PI * libm::round((x - 0.375 * PI - turned) / (2.0 * PI))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scaled_error_function_on_both_sides_of_its_seam() {
        // Computed with mpmath, 30 digits, rounded to 15.
        for (x, wanted) in REFERENCE {
            assert!((erfcx(x) / wanted - 1.0).abs() < 1e-14, "{x}: {} against {wanted}", erfcx(x));
        }
        assert_eq!(erfcx(f64::INFINITY), 0.0);
    }

    #[test]
    fn integral_of_the_error_function_falls_as_the_error_function_says() {
        // Central difference over 1e-4: truncation 1e-9.
        for x in [-1.0, 0.0, 0.5, 1.9, 2.1, 4.0] {
            let slope = (ierfc(x + 1e-4) - ierfc(x - 1e-4)) / 2e-4;
            assert!((slope + libm::erfc(x)).abs() < 1e-8, "{x}");
        }
        assert!(ierfc(30.0) >= 0.0);
    }

    #[test]
    fn phase_counts_the_zeros_of_j0() {
        // Zeros 1, 2, 3, 10 of J0: Abramowitz & Stegun, 1964, Table 9.5 (from memory; recomputed with mpmath).
        for (number, zero) in
            [(1.0, 2.404825557695773), (2.0, 5.520078110286311), (3.0, 8.653727912911012), (10.0, 30.634606468431976)]
        {
            assert!((bessel_phase(zero) - (number - 0.5) * PI).abs() < 1e-14 * zero.max(1.0), "{number}");
        }
        let mut before = -PI / 2.0;
        for step in 1..20_000 {
            let phase = bessel_phase(f64::from(step) * 0.01);
            assert!(phase > before && phase < before + 0.5, "{step}");
            before = phase;
        }
    }

    const REFERENCE: [(f64, f64); 8] = [
        (0.0, 1.0),
        (0.1, 0.896456979969127),
        (1.0, 0.427583576155807),
        (1.99, 0.25646783671953),
        (2.0, 0.255395676310506),
        (2.5, 0.210806364061144),
        (5.0, 0.110704637733069),
        (30.0, 0.0187958888614168),
    ];
}
