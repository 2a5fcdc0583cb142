//! American wire gauge.

use super::UnitError;

/// Diameter of a solid round wire of a gauge, m; none if the text names no gauge.
///
/// d = 0.127 mm * 92^((36 - n)/39), n = 1 - z for the sizes z/0. Range 4/0 to 56. Source: ASTM B258, Standard
/// Specification for Standard Nominal Diameters and Cross-Sectional Areas of AWG Sizes of Solid Round Wires Used as
/// Electrical Conductors.
pub(super) fn read(text: &str) -> Option<Result<f64, UnitError>> {
    let upper = text.to_ascii_uppercase();
    let size = upper.strip_suffix("AWG").or_else(|| upper.strip_prefix("AWG"))?.trim();
    // "AWG" alone or after words is for the number reader to refuse.
    if !size.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
        return None;
    }
    let number = match size.split_once('/') {
        Some((zeros, "0")) => zeros.parse::<i32>().ok().filter(|zeros| (1..=4).contains(zeros)).map(|zeros| 1 - zeros),
        Some(_) => None,
        // 00 is 2/0, 000 is 3/0, 0000 is 4/0.
        None if size.bytes().all(|byte| byte == b'0') => Some(1 - size.len() as i32).filter(|n| *n >= -3),
        None => size.parse::<i32>().ok().filter(|n| (1..=56).contains(n)),
    };
    Some(match number {
        Some(n) => Ok(0.127e-3 * libm::pow(92.0, f64::from(36 - n) / 39.0)),
        None => Err(UnitError::Gauge { gauge: text.to_string() }),
    })
}
