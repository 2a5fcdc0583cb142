//! Water whose temperature follows the heat: where it enters, where it leaves, and the temperatures that nobody gave.
//!
//! Along the product the water is one more thing to integrate. Against it, and in a tank at one temperature, the
//! temperature x where the product enters is the root of F(x) = x - T_supply - beta Q(x), beta Q the rise by the heat of
//! the section: F rises with x, since hotter water takes less heat. Sections in series hand their outlet on; where one is
//! fed by a later one, its supply y is the fixed point of y -> outlet of the other. A rise of y by 1 K warms the product
//! and so that outlet by less than 1 K, so the fixed point exists and iteration reaches it.
//!
//! Step sizes are chosen anew until the root moves by less than a hundredth of the accuracy; from then on the steps are
//! repeated, so that F is smooth and the books of the water close to rounding.

use super::alone::Alone;
use super::events::Events;
use super::trip::{Trip, rise, warming, water};
use super::watch::Watch;
use crate::case::error::Error;
use crate::case::{Case, Direction};
use crate::engine::Field;
use crate::line::observe;
use crate::maths::root::FalsePosition;

/// Share of the accuracy below which the steps are frozen.
const FREEZE: f64 = 0.01;
/// Most marches through one section, or through the line, in the search of a root.
const MARCHES: usize = 60;
/// The root's residual, relative to the water's rise; and the rounding of a temperature, K.
const RESIDUAL: [f64; 2] = [1e-11, 2e-13];

/// Most transfer units h A/(flow c_w) of water that runs against the product.
const MOST_UNITS: f64 = 100.0;

/// A root found before: where, and the slope of F there.
type Known = Option<[f64; 2]>;

/// Marches all sections with their water.
pub(super) fn march(alone: &mut Alone, events: &mut Events) -> Result<(), Error> {
    let case = alone.trip.of.case;
    let count = case.sections.len();
    if super::is_searched(case) {
        alone.trip.keep_script();
    }
    let fed_from_behind: Vec<usize> =
        (0..count).filter(|&index| case.sections[index].supply.is_some_and(|supply| supply > index)).collect();
    let mut known: Vec<Known> = vec![None; count];
    // What comes before the first of them does not depend on the root.
    let first = fed_from_behind.first().copied().unwrap_or(count);
    sweep(alone, 0..first, &mut known, events)?;
    check_liquid(&alone.trip)?;
    if !fed_from_behind.is_empty() {
        joint_root(alone, &fed_from_behind, &mut known, events)?;
    }
    check_liquid(&alone.trip)
}

/// The fixed point of the supplies that come from later sections.
fn joint_root(alone: &mut Alone, fed: &[usize], known: &mut [Known], events: &mut Events) -> Result<(), Error> {
    let before = alone.clone();
    let case = alone.trip.of.case;
    let sections = fed[0]..case.sections.len();
    let freeze = FREEZE * accuracy(alone);
    let mut last: Vec<Option<[f64; 2]>> = vec![None; fed.len()];
    let mut residual = f64::INFINITY;
    for _ in 0..MARCHES {
        alone.go_back(&before);
        sweep(alone, sections.clone(), known, &mut ())?;
        residual = 0.0;
        let mut rise: f64 = 0.0;
        let supplies = &alone.trip.supplies;
        let found: Vec<f64> = fed
            .iter()
            .map(|&index| {
                let feeder = case.sections[index].supply.and_then(|feeder| alone.trip.passages[feeder].water);
                let water = feeder.map_or([supplies[index]; 2], |water| [water.inlet, water.outlet]);
                residual = residual.max((water[1] - supplies[index]).abs());
                rise = rise.max((water[1] - water[0]).abs());
                water[1]
            })
            .collect();
        if is_frozen(alone) && residual <= RESIDUAL[0] * rise + RESIDUAL[1] {
            alone.go_back(&before);
            return sweep(alone, sections, known, events);
        }
        freeze_steps(alone, residual < freeze);
        for ((&index, &outlet), last) in fed.iter().zip(&found).zip(&mut last) {
            let supply = alone.trip.supplies[index];
            // The slope of the outlet with the supply, from the last two marches; between 0 and 1 by the physics.
            let slope = last.map_or(0.0, |[before, then]| (outlet - then) / (supply - before));
            let slope = if slope.is_finite() { slope.clamp(0.0, 0.9) } else { 0.0 };
            *last = Some([supply, outlet]);
            alone.trip.supplies[index] = supply + (outlet - supply) / (1.0 - slope);
        }
    }
    Err(Error::WaterOpen { section: name(case, fed[0]), residual })
}

/// Sections in order, each with its water.
fn sweep<W: Watch>(
    alone: &mut Alone,
    sections: std::ops::Range<usize>,
    known: &mut [Known],
    watch: &mut W,
) -> Result<(), Error> {
    for index in sections {
        match alone.trip.of.case.sections[index].circulation.map(|water| water.direction) {
            None | Some(Direction::Along) => alone.pass(watch)?,
            Some(Direction::Counter | Direction::Mixed) => root(alone, index, &mut known[index], watch)?,
        }
    }
    Ok(())
}

/// Water boils above 100 degC and freezes below 0: neither is in the model.
pub(crate) fn check_liquid(trip: &Trip) -> Result<(), Error> {
    for (section, passage) in trip.of.case.sections.iter().zip(&trip.passages) {
        if let Some(water) = passage.water
            && !water.is_liquid()
        {
            let section = section.name.clone();
            return Err(Error::WaterNotLiquid { section, outlet: water.outlet, flow: water.flow });
        }
    }
    Ok(())
}

/// Finds the water's temperature where the product enters, and leaves the section marched with it.
fn root<'a, W: Watch>(alone: &mut Alone<'a>, index: usize, known: &mut Known, watch: &mut W) -> Result<(), Error> {
    let supply = alone.trip.supply(index);
    enough(alone, index, supply)?;
    let before = alone.clone();
    let case = alone.trip.of.case;
    let freeze = FREEZE * accuracy(alone);
    let marched = |alone: &mut Alone<'a>, x: f64| -> Result<f64, Error> {
        alone.go_back(&before);
        alone.trip.entries[index] = Some(x);
        alone.pass(&mut ())?;
        let passage = &alone.trip.passages[index];
        Ok(x - supply - passage.water.map_or(0.0, |water| rise(case, &water) * passage.heat_of_passes))
    };
    let was_frozen = is_frozen(alone);
    let near = match *known {
        Some(known) if was_frozen => Some(known),
        Some(known) => from_known(alone, known, freeze, &marched)?,
        None => None,
    };
    let [mut x, mut slope] = match near {
        Some(near) => near,
        None => bracketed(alone, &before, index, [supply, freeze], &marched)?,
    };
    freeze_steps(alone, true);
    let mut residual = f64::INFINITY;
    let mut last: Option<[f64; 2]> = None;
    let mut found = false;
    for _ in 0..MARCHES {
        residual = marched(alone, x)?;
        if let Some([x0, f0]) = last
            && (x - x0).abs() > 1e-9
        {
            slope = ((residual - f0) / (x - x0)).max(1.0);
        }
        found = residual.abs() <= RESIDUAL[0] * (x - supply - residual).abs() + RESIDUAL[1];
        if found {
            break;
        }
        last = Some([x, residual]);
        x -= residual / slope;
    }
    if !found {
        return Err(Error::WaterOpen { section: name(case, index), residual });
    }
    *known = Some([x, slope]);
    if W::ANY {
        alone.go_back(&before);
        alone.trip.entries[index] = Some(x);
        alone.pass(watch)?;
    }
    freeze_steps(alone, was_frozen);
    Ok(())
}

/// Whether water running against the product is enough to be followed: a trickle has the product's temperature everywhere,
/// and its own would grow by e for every transfer unit on the way.
fn enough(alone: &Alone, index: usize, supply: f64) -> Result<(), Error> {
    let of = &alone.trip.of;
    let (case, view) = (of.case, alone.view());
    let section = &case.sections[index];
    let Some(water) = water(case, index, supply) else { return Ok(()) };
    let surface = section.surface(case.shape, case.line_speed, of.diameter()).in_medium(supply, 0.0, 0.0);
    let film = surface.film(view.surface(), 0.0, 0.0);
    let duration = section.length / case.line_speed;
    let units = -warming(case, index, &water) * view.surface_square().sqrt() * film * duration;
    if units <= MOST_UNITS {
        return Ok(());
    }
    let needed = water.flow * units / MOST_UNITS;
    Err(Error::WaterTrickles { section: section.name.clone(), flow: water.flow, needed })
}

/// The root to within `close` K from one of nearly the same problem; none where it is not near.
fn from_known<'a>(
    alone: &mut Alone<'a>,
    [mut x, slope]: [f64; 2],
    close: f64,
    marched: &impl Fn(&mut Alone<'a>, f64) -> Result<f64, Error>,
) -> Result<Known, Error> {
    for _ in 0..4 {
        let step = marched(alone, x)? / slope;
        if step.abs() <= close {
            return Ok(Some([x, slope]));
        }
        x -= step;
    }
    Ok(None)
}

/// The root to within `close` K by false position between the supply and the product's temperatures (Illinois rule), and
/// the slope of F there; steps are chosen anew in every march.
fn bracketed<'a>(
    alone: &mut Alone<'a>,
    before: &Alone<'a>,
    index: usize,
    [supply, close]: [f64; 2],
    marched: &impl Fn(&mut Alone<'a>, f64) -> Result<f64, Error>,
) -> Result<[f64; 2], Error> {
    let of = &before.trip.of;
    let field = Field::of(&of.slice, &before.view().state());
    let layers = 0..of.case.layers.len();
    let [hottest, coldest] = layers
        .map(|layer| observe::node_extremes(&of.slice, &field, layer))
        .fold([supply, supply], |[high, low], [hot, cold]| [high.max(hot), low.min(cold)]);
    let far = [supply, marched(alone, supply)?];
    let mut ends = FalsePosition { far, newest: [(supply - far[1]).clamp(coldest, hottest), far[1]] };
    let mut slope: f64 = 1.0;
    if ends.newest[0] != supply {
        ends.newest[1] = marched(alone, ends.newest[0])?;
    }
    for _ in 0..MARCHES {
        let [b, fb] = ends.newest;
        if (b - ends.far[0]).abs() <= close || fb == 0.0 {
            return Ok([b, slope.max(1.0)]);
        }
        if !ends.encloses() {
            // The product's extremes do.
            let extreme = if fb < 0.0 { hottest } else { coldest };
            ends = FalsePosition { far: ends.newest, newest: [extreme, marched(alone, extreme)?] };
            if !ends.encloses() {
                break;
            }
        }
        let x = ends.guess();
        let fx = marched(alone, x)?;
        slope = (fx - ends.newest[1]) / (x - ends.newest[0]);
        if ends.take([x, fx]) <= close || fx.abs() <= close {
            return Ok([x, slope.max(1.0)]);
        }
    }
    Err(Error::WaterOpen { section: name(of.case, index), residual: ends.newest[1].abs() })
}

/// The accuracy that the run aims at, K.
fn accuracy(alone: &Alone) -> f64 {
    alone.trip.of.settings.step_tolerance / 20.0
}

/// Whether legs repeat their steps.
fn is_frozen(alone: &Alone) -> bool {
    alone.trip.script.as_ref().is_some_and(|script| script.frozen)
}

/// Lets legs repeat their steps, or choose them anew.
fn freeze_steps(alone: &mut Alone, frozen: bool) {
    if let Some(script) = &mut alone.trip.script {
        script.frozen = frozen;
    }
}

fn name(case: &Case, section: usize) -> String {
    case.sections[section].name.clone()
}
