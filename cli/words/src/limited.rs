//! A limit at a station, and values beside it.

use quenchway::study::drive::Limited;

use crate::Shown;

/// A value beside its limit: "49.9 degC".
pub(crate) fn value(of: &Limited, value: f64, limit: f64, shown: Shown) -> String {
    shown.beside(value, limit, of.dimension())
}

/// The limit: "45 degC".
pub(crate) fn bound(of: &Limited, limit: f64, shown: Shown) -> String {
    if of.is_diameter() { shown.with_unit(limit, of.dimension()) } else { shown.limit(limit) }
}

/// Product that stands at the station out of the limit: " (surface at up to 49.9 degC)"; empty where none does.
pub(crate) fn standing(of: &Limited, farthest: Option<f64>, limit: f64, shown: Shown) -> String {
    farthest.filter(|farthest| of.is_out(*farthest, limit)).map_or(String::new(), |farthest| {
        let verb = if of.above { "at up to" } else { "down to" };
        format!(" ({} {verb} {})", of.words, value(of, farthest, limit, shown))
    })
}
