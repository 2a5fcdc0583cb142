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

use super::leg::Line;
use super::run::{Run, WaterRun};
use super::skin::Watch;
use crate::case::Direction;
use crate::error::Error;
use crate::march::around;
use crate::observe;
use crate::surface::Surface;

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

/// What a march starts from, to start again.
struct Before {
    run: Run,
    watches: Vec<Watch>,
}

impl Before {
    fn of(line: &Line) -> Before {
        Before { run: line.run.clone(), watches: line.watches.clone() }
    }

    fn restore(&self, line: &mut Line) {
        line.run.clone_from(&self.run);
        line.watches.clone_from(&self.watches);
    }
}

/// Marches all sections with their water.
pub(super) fn march(line: &mut Line) -> Result<(), Error> {
    let sections = &line.case.sections;
    let count = sections.len();
    let fed_from_behind: Vec<usize> =
        (0..count).filter(|&index| sections[index].supply.is_some_and(|supply| supply > index)).collect();
    let searched =
        sections.iter().any(|section| section.circulation.is_some_and(|water| water.direction != Direction::Along));
    if searched || !fed_from_behind.is_empty() {
        line.scripts = Some(vec![Vec::new(); super::legs(line.case).count()]);
    }
    let mut supplies: Vec<f64> = (0..count).map(|index| sections[line.case.water_head(index)].temperature.0).collect();
    let mut known: Vec<Known> = vec![None; count];
    if fed_from_behind.is_empty() {
        return sweep(line, 0..count, &mut supplies, &mut known);
    }
    // What comes before the first of them does not depend on the root.
    let first = fed_from_behind[0];
    sweep(line, 0..first, &mut supplies, &mut known)?;
    joint_root(line, &fed_from_behind, &mut supplies, &mut known)
}

/// The fixed point of the supplies that come from later sections.
fn joint_root(line: &mut Line, fed: &[usize], supplies: &mut [f64], known: &mut [Known]) -> Result<(), Error> {
    let before = Before::of(line);
    let sections = fed[0]..line.case.sections.len();
    let freeze = FREEZE * accuracy(line);
    let mut last: Vec<Option<[f64; 2]>> = vec![None; fed.len()];
    let mut residual = f64::INFINITY;
    for _ in 0..MARCHES {
        before.restore(line);
        line.searching = true;
        sweep(line, sections.clone(), supplies, known)?;
        residual = 0.0;
        let mut rise: f64 = 0.0;
        let found: Vec<f64> = fed
            .iter()
            .map(|&index| {
                let feeder = line.case.sections[index].supply.and_then(|feeder| line.run.passages[feeder].water);
                let water = feeder.map_or([supplies[index]; 2], |water| [water.inlet, water.outlet]);
                residual = residual.max((water[1] - supplies[index]).abs());
                rise = rise.max((water[1] - water[0]).abs());
                water[1]
            })
            .collect();
        if line.scripted && residual <= RESIDUAL[0] * rise + RESIDUAL[1] {
            line.searching = false;
            if line.settings.fields {
                before.restore(line);
                sweep(line, sections, supplies, known)?;
            }
            return check_liquid(line);
        }
        line.scripted = residual < freeze;
        for ((&index, &outlet), last) in fed.iter().zip(&found).zip(&mut last) {
            let supply = supplies[index];
            // The slope of the outlet with the supply, from the last two marches; between 0 and 1 by the physics.
            let slope = last.map_or(0.0, |[before, then]| (outlet - then) / (supply - before));
            let slope = if slope.is_finite() { slope.clamp(0.0, 0.9) } else { 0.0 };
            *last = Some([supply, outlet]);
            supplies[index] = supply + (outlet - supply) / (1.0 - slope);
        }
    }
    let section = fed.first().map(|&index| line.case.sections[index].name.clone()).unwrap_or_default();
    Err(Error::WaterOpen { section, residual })
}

/// Sections in order, each with its water; supplies from earlier sections are taken as they come.
fn sweep(
    line: &mut Line,
    sections: std::ops::Range<usize>,
    supplies: &mut [f64],
    known: &mut [Known],
) -> Result<(), Error> {
    for index in sections {
        let feeder = line.case.sections[index].supply.filter(|&feeder| feeder < index);
        if let Some(water) = feeder.and_then(|feeder| line.run.passages[feeder].water) {
            supplies[index] = water.outlet;
        }
        section(line, index, supplies[index], &mut known[index])?;
    }
    if line.searching { Ok(()) } else { check_liquid(line) }
}

/// Water boils above 100 degC and freezes below 0: neither is in the model.
fn check_liquid(line: &Line) -> Result<(), Error> {
    for (section, passage) in line.case.sections.iter().zip(&line.run.passages) {
        if let Some(water) = passage.water
            && !(0.0..=100.0).contains(&water.outlet)
        {
            let section = section.name.clone();
            return Err(Error::WaterNotLiquid { section, outlet: water.outlet, flow: water.flow });
        }
    }
    Ok(())
}

/// One section with its water supplied at `supply` degC.
fn section(line: &mut Line, index: usize, supply: f64, known: &mut Known) -> Result<(), Error> {
    let case = line.case;
    let Some(circulation) = case.sections[index].circulation else { return line.pass(index, supply, 0.0) };
    let head = &case.sections[case.water_head(index)];
    let flow = head.circulation.unwrap_or(circulation).flow.mass(head.temperature);
    let capacity = flow * crate::water::at(head.temperature.0).heat_capacity;
    // Rise of the water per heat given off per radian, K per J/m.
    let rise = around(case) * case.line_speed / capacity;
    match circulation.direction {
        Direction::Along => line.pass(index, supply, rise)?,
        Direction::Counter => root(line, index, supply, [rise, -rise], known)?,
        Direction::Mixed => root(line, index, supply, [rise, 0.0], known)?,
    }
    let Some(passage) = line.run.passages.last_mut() else { return Ok(()) };
    let outlet = supply + rise * passage.heat_of_passes;
    passage.water = Some(WaterRun { flow, capacity, inlet: supply, outlet });
    Ok(())
}

/// Finds the water's temperature where the product enters, and leaves the section marched with it.
///
/// `rise` and `warming` in K per J/m given off per radian: of the whole water, and along the product.
fn root(line: &mut Line, index: usize, supply: f64, [rise, warming]: [f64; 2], known: &mut Known) -> Result<(), Error> {
    enough(line, index, supply, warming)?;
    let before = Before::of(line);
    let was_searching = line.searching;
    line.searching = true;
    let freeze = FREEZE * accuracy(line);
    let marched = |line: &mut Line, x: f64| -> Result<f64, Error> {
        before.restore(line);
        line.pass(index, x, warming)?;
        Ok(x - supply - rise * line.run.passages.last().map_or(0.0, |passage| passage.heat_of_passes))
    };
    let near = match *known {
        Some(known) if line.scripted => Some(known),
        Some(known) => from_known(line, known, freeze, &marched)?,
        None => None,
    };
    let [mut x, mut slope] = match near {
        Some(near) => near,
        None => bracketed(line, &before.run, supply, freeze, &marched)?,
    };
    let was_scripted = std::mem::replace(&mut line.scripted, true);
    let mut residual = f64::INFINITY;
    let mut last: Option<[f64; 2]> = None;
    let mut found = false;
    for _ in 0..MARCHES {
        residual = marched(line, x)?;
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
        return Err(Error::WaterOpen { section: line.case.sections[index].name.clone(), residual });
    }
    *known = Some([x, slope]);
    line.searching = was_searching;
    if line.settings.fields && !line.searching {
        marched(line, x)?;
    }
    line.scripted = was_scripted;
    Ok(())
}

/// Whether water running against the product is enough to be followed: a trickle has the product's temperature everywhere,
/// and its own would grow by e for every transfer unit on the way.
fn enough(line: &Line, index: usize, supply: f64, warming: f64) -> Result<(), Error> {
    let (case, field) = (line.case, &line.run.stepper.field);
    let section = &case.sections[index];
    let surface = Surface::new(section, case.shape, case.line_speed, line.diameter).in_medium(supply, 0.0, 0.0);
    let film = surface.film(field.surface_temperature(), 0.0, 0.0);
    let duration = section.length / case.line_speed;
    let units = -warming * field.surface_radius() * film * duration;
    if units <= MOST_UNITS {
        return Ok(());
    }
    let head = &case.sections[case.water_head(index)];
    let flow = head.circulation.map_or(0.0, |water| water.flow.mass(head.temperature));
    Err(Error::WaterTrickles { section: section.name.clone(), flow, needed: flow * units / MOST_UNITS })
}

/// The root to within `close` K from one of nearly the same problem; none where it is not near.
fn from_known(
    line: &mut Line,
    [mut x, slope]: [f64; 2],
    close: f64,
    marched: &impl Fn(&mut Line, f64) -> Result<f64, Error>,
) -> Result<Known, Error> {
    for _ in 0..4 {
        let step = marched(line, x)? / slope;
        if step.abs() <= close {
            return Ok(Some([x, slope]));
        }
        x -= step;
    }
    Ok(None)
}

/// The root to within `close` K by false position between the supply and the product's temperatures (Illinois rule), and
/// the slope of F there; steps are chosen anew in every march.
fn bracketed(
    line: &mut Line,
    before: &Run,
    supply: f64,
    close: f64,
    marched: &impl Fn(&mut Line, f64) -> Result<f64, Error>,
) -> Result<[f64; 2], Error> {
    let (slice, field) = (&before.stepper.slice, &before.stepper.field);
    let layers = 0..line.case.layers.len();
    let [hottest, coldest] = layers
        .map(|layer| observe::node_extremes(slice, field, layer))
        .fold([supply, supply], |[high, low], [hot, cold]| [high.max(hot), low.min(cold)]);
    let (mut a, mut fa) = (supply, marched(line, supply)?);
    let (mut b, mut fb) = ((supply - fa).clamp(coldest, hottest), fa);
    let mut slope: f64 = 1.0;
    if b != a {
        fb = marched(line, b)?;
    }
    for _ in 0..MARCHES {
        if (b - a).abs() <= close || fb == 0.0 {
            return Ok([b, slope.max(1.0)]);
        }
        if (fa > 0.0) == (fb > 0.0) {
            // The far end does not enclose the root: the product's extremes do.
            (a, fa) = (b, fb);
            b = if fb < 0.0 { hottest } else { coldest };
            fb = marched(line, b)?;
            if (fa > 0.0) == (fb > 0.0) {
                break;
            }
        }
        let x = (a * fb - b * fa) / (fb - fa);
        let fx = marched(line, x)?;
        slope = (fx - fb) / (x - b);
        if (fx > 0.0) == (fb > 0.0) {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        let moved = (x - b).abs();
        (b, fb) = (x, fx);
        if moved <= close || fx.abs() <= close {
            return Ok([b, slope.max(1.0)]);
        }
    }
    let section = before.passages.len();
    Err(Error::WaterOpen { section: line.case.sections[section].name.clone(), residual: fb.abs() })
}

/// The accuracy that the run aims at, K.
fn accuracy(line: &Line) -> f64 {
    line.settings.step_tolerance / 20.0
}
