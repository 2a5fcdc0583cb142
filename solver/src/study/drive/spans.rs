//! Lengths of product: joined, measured, found where a time is too long, and those near a boundary in a standstill.

use crate::case::CaseFile;
use crate::line::clock::{Clock, Side};
use crate::line::programme::Motions;
use crate::material::FINISHED;
use crate::maths::order::sort_by_number;

/// Samples between two breaks among which a crossing is looked for.
const SAMPLES: usize = 16;
/// Widths of a front of conduction within which numbers are approximate: measured with conduction along copper and plastic.
const WIDTHS: f64 = 4.5;

/// Spans that do not touch, in order.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::study) struct Spans(Vec<[f64; 2]>);

impl Spans {
    /// Of any spans, joined where they overlap.
    pub(in crate::study) fn new(spans: impl IntoIterator<Item = [f64; 2]>) -> Spans {
        let mut spans: Vec<[f64; 2]> = spans.into_iter().collect();
        sort_by_number(&mut spans, |span| span[0]);
        let mut joined: Vec<[f64; 2]> = Vec::new();
        for [from, to] in spans {
            match joined.last_mut() {
                Some(before) if from <= before[1] => before[1] = before[1].max(to),
                _ => joined.push([from, to]),
            }
        }
        Spans(joined)
    }

    pub(in crate::study) fn length(&self) -> f64 {
        self.0.iter().fold(0.0, |sum, [from, to]| sum + to - from)
    }

    pub(super) fn list(&self) -> &[[f64; 2]] {
        &self.0
    }
}

/// How long a metre takes from one place to another, s; what stands exactly at the first is in what begins there.
pub(super) fn time_between(clock: &Clock, metre: f64, start: f64, end: f64) -> f64 {
    // A metre parked on a section's end belongs to the section that ends there.
    let left = if start == 0.0 { clock.arrives(metre, Side::At) } else { clock.leaves(metre + start, Side::At) };
    clock.leaves(metre + end, Side::At) - left
}

/// Where a time of each metre is above a limit, between breaks at `places`; with the longest time of each span.
pub(super) fn above(
    clock: &Clock,
    [first, last]: [f64; 2],
    places: &[f64],
    time: impl Fn(f64) -> f64,
    most: f64,
) -> Vec<([f64; 2], f64)> {
    let mut breaks = vec![first, last];
    for place in places {
        breaks.extend(clock.corners().iter().map(|&corner| clock.travelled(corner) - place));
    }
    breaks.retain(|metre| (first..=last).contains(metre));
    breaks.sort_by(f64::total_cmp);
    breaks.dedup();
    let mut found: Vec<([f64; 2], f64)> = Vec::new();
    for pair in breaks.windows(2) {
        // Inside: at a break itself the metre may be on either side of a standstill.
        let at = |share: f64| pair[0] + share * (pair[1] - pair[0]);
        let shares = (0..=SAMPLES).map(|number| 1e-9 + (1.0 - 2e-9) * number as f64 / SAMPLES as f64);
        let metres: Vec<f64> = shares.map(at).collect();
        for two in metres.windows(2) {
            let over = [two[0], two[1]].map(|metre| time(metre) - most);
            let span = match over.map(|over| over > 0.0) {
                [false, false] => continue,
                [true, true] => [two[0], two[1]],
                [begins, _] => {
                    let (mut low, mut high) = (two[0], two[1]);
                    for _ in 0..60 {
                        let middle = 0.5 * (low + high);
                        if (time(middle) > most) == begins { low = middle } else { high = middle }
                    }
                    if begins { [two[0], low] } else { [high, two[1]] }
                }
            };
            let longest = most + over[0].max(over[1]);
            // Neighbours share a sample, or a break that both stop short of.
            let near = 1e-6 * (pair[1] - pair[0]).max(1e-3);
            match found.last_mut() {
                Some((before, largest)) if span[0] - before[1] <= near => {
                    (before[1], *largest) = (span[1], largest.max(longest));
                }
                _ => found.push((span, longest)),
            }
        }
    }
    found
}

/// Product that stood within 4.5 sqrt(alpha t) of a boundary or of the die in a standstill of t, where alpha = sum kA / sum rho c A.
///
/// Width and reach: measured for this project with conduction along copper and plastic at the entrance of the water.
pub(super) fn around_boundaries(case: &CaseFile, motions: &Motions, [first, last]: [f64; 2]) -> Spans {
    let alpha = along(case);
    let mut places: Vec<f64> = (0..=case.sections.len()).map(|index| case.section_start(index)).collect();
    places.dedup();
    let mut spans = Vec::new();
    for stop in motions.clock.standstills().iter().filter(|stop| stop.to > stop.from && stop.from.is_finite()) {
        let stood = stop.to.min(motions.ends.max(stop.from)) - stop.from;
        let width = WIDTHS * (alpha * stood).sqrt();
        spans.extend(places.iter().map(|place| {
            let metre = stop.travelled - place;
            [(metre - width).max(first), (metre + width).min(last)]
        }));
    }
    Spans::new(spans.into_iter().filter(|[from, to]| to > from))
}

/// Diffusivity along the line, m2/s, everything at 23 degC.
fn along(case: &CaseFile) -> f64 {
    let sizes = crate::case::shrink::radii(case).map(|radii| radii.hot).unwrap_or_default();
    let mut inner = case.bore / 2.0;
    let (mut leads, mut holds) = (0.0, 0.0);
    for (layer, &outer) in case.layers.iter().zip(&sizes) {
        let area = case.shape.area_between(inner, outer);
        let material = &layer.material;
        leads += area * layer.conductivity_factor * material.conductivity.at(FINISHED);
        holds +=
            area * layer.heat_capacity_factor * material.heat_capacity.at(FINISHED) * material.density.at(FINISHED);
        inner = outer;
    }
    leads / holds
}
