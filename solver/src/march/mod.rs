//! The march: a case to a solution whose error is measured, stated and below the tolerance asked for.
//!
//! `tolerance` is a promise on every reported temperature. The case is solved by the rule at the tolerance and again at
//! an eighth of it; the finer run is reported, and the difference of the two states its error. Where that is above the
//! tolerance the pair is tightened again.

pub(crate) mod assemble;
pub mod batch;
pub(crate) mod by_rate;
#[cfg(test)]
mod by_rate_tests;
pub mod diameters;
pub mod output;
pub(crate) mod outputs;
mod report;
pub mod skins;
pub mod solution;
pub mod table;
pub mod told;
pub mod warnings;

use crate::case::Case;
use crate::case::check::checked_radii;
use crate::case::error::Error;
use crate::case::shrink::Radii;
use crate::case::warning::Warning;
use crate::engine::Field;
use crate::line::observe::{self, Point};
use crate::line::{self, Passage, Run, Settings};
use crate::march::solution::Solution;
use crate::slice::Slice;
use crate::slice::build::hull;
use crate::units::Celsius;

#[cfg(test)]
mod around_tests;

/// Each careful solve is this much tighter than the one before it.
const TIGHTER: f64 = 8.0;
/// Stated error of the finer of two runs, as a share of their difference. Were the error proportional to the accuracy
/// aimed at, 1/7 would do; kinks and cancellation make it more (measured on random cases, see the validation page).
const SHARE: f64 = 1.5;
/// The same of a slice with a steep table: the error of a mesh swings there as the peak passes its nodes, so that two meshes can be off
/// alike. On an LDPE core behind its warm tank the finer of 28 and 47 intervals was off by 1.67 of the difference.
const SHARE_OF_PEAKS: f64 = 1.8;
/// Least stated error, as a share of the tolerance: two runs can agree by chance. Where it decided, the true error was above
/// it in 2 of 616 random and hard cases.
const FLOOR: f64 = 0.2;
/// Share of the time that a surface stays above 100 degC for which the mesh is right: a latent peak near it swings the error of that
/// time. On an LDPE core in a warm tank, five ways, and an HDPE core it moves from 0.01 to 0.001 K by 0.015 % at most; with a share of
/// 1/4 by 0.21 %, with 1 by 0.57 %, with the mesh of stations and ends alone by 2.6 %.
const WELL_BEFORE: f64 = 1.0 / 16.0;
/// Pairs of runs tried before the tolerance is given up.
const ATTEMPTS: usize = 8;
/// A run of more node-steps than this, some seconds of work, is not followed by a tighter one: that takes three times as many.
const ENOUGH: usize = 30_000_000;
/// How much tighter than the rule the one run of a sweep's sample is.
pub(crate) const ONCE: f64 = 4.0;
/// Largest imbalance of the energy books, relative to the product's heat content above the coldest medium.
pub const BALANCE: f64 = 1e-12;

/// Largest imbalance of the water's books, relative to its heat, or to 1 K of it where there is less.
pub const WATER_BALANCE: f64 = 1e-10;

/// Marches a case down the line and reports it, with fields.
///
/// Where the tolerance cannot be met, or a tighter run would take more work than is allowed, the best measured pair is
/// reported with its own stated error and a warning.
///
/// # Errors
///
/// [`Error::Unphysical`] of a case that no march can start from, [`Error::TooLarge`] of one that needs too many nodes or steps; water
/// that boils, freezes, is too little or is not found; steps or temperatures that leave the range of numbers; books that do not
/// close, a fault of the program.
pub fn march(case: &Case) -> Result<Solution, Error> {
    let settled = by_rate::settled(case)?;
    let solution = march_as_it_is(&settled.case)?;
    Ok(settled.tell(solution))
}

/// A case whose plastics set as their curves say.
fn march_as_it_is(case: &Case) -> Result<Solution, Error> {
    let radii = checked_radii(case)?;
    let (mut ratio, mut attempt, mut before) = (TIGHTER, 1, 0.0);
    let mut coarse = careful(case, &radii, Settings::tightened(case.tolerance, 1.0))?;
    // The time that a surface stays above 100 degC is reported, too, and only a run tells when it ends.
    let boiling = coarse.passages.iter().map(assemble::long_boiling).filter(|time| *time > 0.0);
    let sooner = WELL_BEFORE * boiling.fold(f64::INFINITY, f64::min);
    let tightened = |ratio: f64| Settings { sooner, ..Settings::tightened(case.tolerance, ratio) };
    if sooner < line::times(case).earliest {
        coarse = careful(case, &radii, tightened(1.0))?;
    }
    let mut fine = careful(case, &radii, Settings { fields: true, ..tightened(ratio) })?;
    loop {
        let apart = difference(case, &coarse, &fine);
        // Nor is an eighth of the accuracy trusted to leave less than an eighth of what the pair before differed by.
        let error = (share(&fine) * apart).max(before / TIGHTER).max(FLOOR * case.tolerance);
        if error <= case.tolerance {
            return stated(case, &radii, [&coarse, &fine], error);
        }
        let more = attempt < ATTEMPTS && node_steps(&fine) <= ENOUGH;
        let next = Settings { fields: true, ..tightened(ratio * TIGHTER) };
        let tighter = if more { careful(case, &radii, next).map(Some) } else { Ok(None) };
        match tighter {
            Ok(Some(tighter)) => {
                (coarse, fine, before) = (fine, tighter, apart);
                (ratio, attempt) = (ratio * TIGHTER, attempt + 1);
            }
            Ok(None) | Err(Error::TooLarge { .. }) => {
                let mut solution = stated(case, &radii, [&coarse, &fine], error)?;
                solution.warnings.push(Warning::ToleranceMissed { asked: case.tolerance, reached: error });
                return Ok(solution);
            }
            Err(error) => return Err(error),
        }
    }
}

/// The stated error of the finer run of a pair over their difference.
fn share(fine: &Run) -> f64 {
    if fine.slice.is_steep() { SHARE_OF_PEAKS } else { SHARE }
}

/// The finer of two runs with the errors that both state.
fn stated(case: &Case, radii: &Radii, [coarse, fine]: [&Run; 2], error: f64) -> Result<Solution, Error> {
    let mut solution = assemble::solution(case, radii, fine, error)?;
    let boiling = |run: &Run| run.passages.iter().map(assemble::long_boiling).collect::<Vec<f64>>();
    let pairs = boiling(coarse).into_iter().zip(boiling(fine)).filter(|(_, fine)| *fine > 0.0);
    let apart = pairs.map(|(coarse, fine)| (coarse - fine).abs()).reduce(f64::max);
    solution.numerics.boiling_error = apart.map(|apart| share(fine) * apart);
    Ok(solution)
}

/// What a run took.
fn node_steps(run: &Run) -> usize {
    run.slice.nodes() * (run.steps[0] + run.steps[1])
}

/// One run by the rule alone at the case's tolerance, without fields and without a measured error: what studies use.
///
/// The stated error is the accuracy aimed at.
///
/// # Errors
///
/// As [`march`].
pub fn march_by_rule(case: &Case) -> Result<Solution, Error> {
    let (solution, _) = march_with(case, &Settings::rule(case.tolerance))?;
    Ok(solution)
}

/// One run, tighter than the rule, with or without fields: what sweeps use.
///
/// On 30 variants each of nine cases with film laws, latent heat and water in series the error of the rule alone was 0.1 to 3.2
/// times the tolerance, of this run 0.03 to 0.9 times. The stated error is the tolerance; a sweep measures it on some of its
/// samples.
///
/// # Errors
///
/// As [`march`].
pub fn march_once(case: &Case, fields: bool) -> Result<Solution, Error> {
    let settled = by_rate::settled(case)?;
    let case = &*settled.case;
    let radii = checked_radii(case)?;
    let run = careful(case, &radii, Settings { fields, ..Settings::tightened(case.tolerance, ONCE) })?;
    let solution = assemble::solution(case, &radii, &run, case.tolerance)?;
    Ok(settled.tell(solution))
}

/// One run with given settings, for convergence studies and tests.
///
/// # Errors
///
/// As [`march`].
pub fn march_with(case: &Case, settings: &Settings) -> Result<(Solution, Run), Error> {
    let settled = by_rate::settled(case)?;
    let case = &*settled.case;
    let radii = checked_radii(case)?;
    let run = careful(case, &radii, *settings)?;
    let solution = assemble::solution(case, &radii, &run, settings.fineness.accuracy)?;
    Ok((settled.tell(solution), run))
}

fn careful(case: &Case, radii: &Radii, settings: Settings) -> Result<Run, Error> {
    let run = line::run(case, radii, &settings)?;
    checked_books(case, &run.slice, [&run.start, &run.state], &run.passages)?;
    Ok(run)
}

/// Largest difference of any reported temperature between two runs, K.
pub fn difference(case: &Case, a: &Run, b: &Run) -> f64 {
    let points = |run: &Run| -> Vec<Point> {
        let mut field = Field::new(&run.slice);
        run.stations
            .iter()
            .chain(&run.ends)
            // At the die a station sees the layers as they enter, whatever the mesh.
            .filter(|state| **state != run.start)
            .map(|state| {
                field.update(&run.slice, state);
                observe::point(case, &run.slice, &field, state)
            })
            .collect()
    };
    let of_water = a.passages.iter().zip(&b.passages).filter_map(|(a, b)| Some((a.water?, b.water?)));
    let water = of_water.flat_map(|(a, b)| [(a.inlet - b.inlet).abs(), (a.outlet - b.outlet).abs()]);
    let hot = a.hot_side.iter().zip(&b.hot_side).flat_map(|(a, b)| {
        let pairs = a.stations.iter().zip(&b.stations).chain(a.ends.iter().zip(&b.ends));
        pairs.filter_map(|(a, b)| Some(((*a)? - (*b)?).abs()))
    });
    points(a).iter().zip(&points(b)).map(|(a, b)| a.distance(b)).chain(water).chain(hot).fold(0.0, f64::max)
}

/// Energy books per radian: content lost, heat given off, their difference relative to the content above the coldest
/// medium (or above the coldest layer, where a product is warmed).
pub fn books(case: &Case, run: &Run) -> [f64; 3] {
    books_of(case, &run.slice, [&run.start, &run.state])
}

fn books_of(case: &Case, slice: &Slice, [start, end]: [&[f64]; 2]) -> [f64; 3] {
    let lost = slice.content(start) - slice.content(end);
    let given = end[slice.heat_index()];
    [lost, given, (lost - given) / balance_scale(case, slice)]
}

/// What an imbalance is measured by: the content above the coldest medium, J/m per radian.
fn balance_scale(case: &Case, slice: &Slice) -> f64 {
    let die: Vec<Celsius> = (0..case.layers.len()).map(|index| case.die_temperature(index)).collect();
    let (low, high) = hull(case, &die);
    // A product that hardly cools is judged as one that cools by 10 K: its sums are exact to rounding, not better.
    let high = high.max(low + 10.0);
    let span = |index: usize| {
        let table = &slice.tables[index];
        observe::layer_mass(slice, index) * (table.enthalpy(Celsius(high)) - table.enthalpy(Celsius(low)))
    };
    let above_coldest = |index: usize| {
        let table = &slice.tables[index];
        observe::layer_mass(slice, index) * (table.enthalpy(die[index]) - table.enthalpy(Celsius(low)))
    };
    let layers = 0..case.layers.len();
    let content: f64 = layers.clone().map(above_coldest).sum();
    let range: f64 = layers.map(span).sum();
    content.max(0.1 * range)
}

/// The books of a slice from its first to its last state, which must close, and those of the water.
pub(crate) fn checked_books(
    case: &Case,
    slice: &Slice,
    states: [&[f64]; 2],
    passages: &[Passage],
) -> Result<[f64; 3], Error> {
    let books = books_of(case, slice, states);
    let relative = books[2];
    // Water: the heat that its rise accounts for against the heat that the product gave it.
    let power = case.shape.around() * case.line_speed;
    let open = |passage: &Passage| {
        let water = passage.water?;
        let given = passage.heat_of_passes * power;
        let left = water.capacity * (water.outlet - water.inlet) - given;
        Some(left / given.abs().max(water.capacity))
    };
    let worst = passages.iter().filter_map(open).fold(relative, |a, b| if b.abs() > a.abs() { b } else { a });
    if relative.abs() <= BALANCE && worst.abs() <= WATER_BALANCE {
        Ok(books)
    } else {
        Err(Error::BalanceOpen { relative: worst })
    }
}
