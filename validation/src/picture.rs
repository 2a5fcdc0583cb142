//! The stated error against the true one, as a small SVG.

use std::fmt::Write as _;

use crate::honesty::Outcome;

const SIZE: f64 = 560.0;
const MARGIN: f64 = 80.0;
/// Decades shown on both axes: 1e-6 to 1e-1 K.
const DECADES: [i32; 2] = [-6, -1];

fn place(error: f64) -> f64 {
    let [low, high] = DECADES.map(f64::from);
    (error.max(1e-12).log10().clamp(low, high) - low) / (high - low) * SIZE
}

/// Dots above the diagonal are cases whose stated error covers the true one.
pub fn honesty(outcomes: &[Outcome]) -> String {
    let side = SIZE + 2.0 * MARGIN;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\" font-family=\"sans-serif\" font-size=\"18\">\n\
         <rect width=\"{side}\" height=\"{side}\" fill=\"white\"/>\n"
    );
    let (x, y) = (|value: f64| MARGIN + value, |value: f64| MARGIN + SIZE - value);
    for decade in DECADES[0]..=DECADES[1] {
        let at = place(10f64.powi(decade));
        let _ = writeln!(
            svg,
            "<path d=\"M{} {} V{} M{} {} H{}\" stroke=\"#ccc\"/><text x=\"{}\" y=\"{}\" text-anchor=\"middle\">1e{decade}</text>\
             <text x=\"{}\" y=\"{}\" text-anchor=\"end\">1e{decade}</text>",
            x(at),
            y(0.0),
            y(SIZE),
            x(0.0),
            y(at),
            x(SIZE),
            x(at),
            y(-26.0),
            x(-8.0),
            y(at - 6.0)
        );
    }
    let tolerance = place(0.01);
    let _ = writeln!(
        svg,
        "<path d=\"M{} {} L{} {}\" stroke=\"black\" stroke-width=\"2\"/>\
         <path d=\"M{} {} V{}\" stroke=\"#d55e00\" stroke-width=\"2\" stroke-dasharray=\"6 5\"/>\
         <text x=\"{}\" y=\"{}\" fill=\"#d55e00\" text-anchor=\"end\">tolerance</text>",
        x(0.0),
        y(0.0),
        x(SIZE),
        y(SIZE),
        x(tolerance),
        y(0.0),
        y(SIZE),
        x(tolerance - 8.0),
        y(SIZE - 20.0)
    );
    for outcome in outcomes {
        let _ = writeln!(
            svg,
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"4\" fill=\"#0072b2\" fill-opacity=\"0.45\"/>",
            x(place(outcome.careful)),
            y(place(outcome.stated))
        );
    }
    let _ = writeln!(
        svg,
        "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">true error, K</text>\
         <text transform=\"translate({} {}) rotate(-90)\" text-anchor=\"middle\">stated error, K</text>\
         <text x=\"{}\" y=\"40\" text-anchor=\"middle\" font-size=\"20\">above the line: the stated error covers the true one</text>\n</svg>",
        x(0.5 * SIZE),
        y(-58.0),
        x(-62.0),
        y(0.5 * SIZE),
        0.5 * side
    );
    svg
}
