//! Convergence: a case on meshes twice finer and with steps halved each time, observed order, grid convergence index.
//!
//! On three levels f3 (coarse), f2, f1 (fine) with refinement ratio r = 2: observed order
//! p = ln((f3 - f2)/(f2 - f1))/ln r, extrapolated value f1 + (f1 - f2)/(r^p - 1), and the grid convergence index
//! GCI = F |f1 - f2|/(r^p - 1) with F = 1.25 (Roache, Perspective: a method for uniform reporting of grid refinement
//! studies, J. Fluids Eng. 116, 1994, 405; ASME V&V 20-2009 as summarised by Celik et al., J. Fluids Eng. 130, 2008,
//! 078001). Where the differences change sign or the order lies outside 1 to 6 the levels are not yet in the asymptotic
//! range: then p = 2, the lowest order of the scheme, is used for the index with F = 3, and said so.

use crate::case::error::Error;
use crate::case::{Case, Quantity};
use crate::line::Settings;
use crate::march::march_with;
use crate::slice::build::Fineness;

/// Refinement ratio of mesh and step between levels.
pub const RATIO: f64 = 2.0;

/// One level of a convergence study.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Interval sizes relative to the rule.
    pub factor: f64,
    /// Intervals across the product.
    pub cells: usize,
    /// Time steps.
    pub steps: usize,
}

/// A reported temperature on every level, coarse to fine.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// `station.quantity`.
    pub name: String,
    /// Value on each level, degC.
    pub values: Vec<f64>,
    /// What the last three levels say.
    pub verdict: Verdict,
}

/// Observed order, extrapolated value, grid convergence index of the finest level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    /// Observed order; none where the levels are not in the asymptotic range or agree to rounding.
    pub order: Option<f64>,
    /// Extrapolated value.
    pub extrapolated: f64,
    /// Grid convergence index, in the values' unit.
    pub index: f64,
}

/// Judges three values on meshes refined by `ratio`: coarse, middle, fine.
///
/// ```
/// // Worked example of NASA's NPARC alliance tutorial on grid convergence (printed results from memory, not checked).
/// let verdict = quenchway::study::converge::judge([0.96178, 0.96854, 0.97050], 2.0);
/// assert!((verdict.order.unwrap() - 1.786170).abs() < 1e-6);
/// assert!((verdict.extrapolated - 0.971300).abs() < 1e-6);
/// assert!((verdict.index / 0.97050 - 0.00103083).abs() < 1e-7);
/// ```
pub fn judge(values: [f64; 3], ratio: f64) -> Verdict {
    let [coarse, middle, fine] = values;
    let (first, second) = (middle - coarse, fine - middle);
    // Differences of this size are rounding and the property tables' fit.
    let rounding = 1e-9 * (1.0 + fine.abs());
    if second.abs() <= rounding {
        return Verdict { order: None, extrapolated: fine, index: rounding.max(second.abs()) };
    }
    let order = libm::log(first / second) / libm::log(ratio);
    if !(1.0..=6.0).contains(&order) {
        let index = 3.0 * second.abs() / (ratio * ratio - 1.0);
        return Verdict { order: None, extrapolated: fine, index };
    }
    let gain = libm::pow(ratio, order) - 1.0;
    Verdict { order: Some(order), extrapolated: fine + second / gain, index: 1.25 * second.abs() / gain }
}

/// Marches a case on `levels` levels (at least three), each with half the interval sizes and a step tolerance that
/// halves the steps, and judges every temperature of every station and section end.
///
/// # Errors
///
/// As [`march`](crate::march::march()), of any level.
pub fn converge(case: &Case, levels: usize) -> Result<(Vec<Level>, Vec<Track>), Error> {
    let mut found = Vec::new();
    let mut values: Vec<Vec<f64>> = Vec::new();
    for level in 0..levels.max(3) {
        let factor = libm::pow(RATIO, -(level as f64));
        let rule = Settings::tightened(case.tolerance, 1.0);
        let settings = Settings {
            fineness: Fineness { factor, ..rule.fineness },
            step_tolerance: rule.step_tolerance * libm::pow(factor, 4.0),
            ..rule
        };
        let (solution, run) = march_with(case, &settings)?;
        found.push(Level { factor, cells: solution.numerics.cells, steps: run.steps[0] });
        let stations = solution.stations.iter().map(|station| &station.point);
        let points = stations.chain(solution.sections.iter().map(|section| &section.exit));
        let quantities = Quantity::all(case);
        values.push(points.flat_map(|point| quantities.iter().map(|&quantity| point.quantity(quantity))).collect());
    }
    let names = case.stations.iter().map(|station| station.name.clone());
    let names = names.chain(case.sections.iter().map(|section| format!("end of {}", section.name)));
    let names = names.flat_map(|name| Quantity::all(case).into_iter().map(move |q| format!("{name}.{}", q.name(case))));
    let tracks = names
        .enumerate()
        .map(|(index, name)| {
            let values: Vec<f64> = values.iter().map(|level| level[index]).collect();
            let n = values.len();
            Track { name, verdict: judge([values[n - 3], values[n - 2], values[n - 1]], RATIO), values }
        })
        .collect();
    Ok((found, tracks))
}
