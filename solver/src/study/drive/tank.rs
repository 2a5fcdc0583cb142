//! Water with a mass of its own in a stirred tank, while the load of the line changes.
//!
//! M c dT_w/dt = m c (T_s - T_w) + Q, with the heat Q = 2 pi int R q'' dx that the product gives over the section. Q at a moment is
//! a sum over metres that are there, each marched in T_w(t); between moments it is a polynomial. In waves: all metres in T_w(t), the
//! tank anew, again, until that moves nothing. A wave takes with it how Q answers to the water, about Q/(T_die - T_w) a kelvin,
//! so that a strong load converges, too. What is left out: the water's own travel through the tank.

use super::Programme;
use super::load::{Loads, MARCHED, POINTS, gauss, loads};
use super::metre::{self, Request};
use crate::case::error::Error;
use crate::case::programme::Output;
use crate::case::{Case, CaseFile, Direction};
use crate::line::Settings;
use crate::line::clock::{Clock, Side};
use crate::line::waters::{Over, Waters};

/// Share of the tolerance within which water is found: the metres take the rest.
pub(super) const SHARE: f64 = 0.3;
/// The first wave begins with water that is off by kelvins: its heat may be so many times rougher, as of a tolerance of no more than
/// that of a search, K.
const FIRST: f64 = 8.0;
/// See `FIRST`.
const ROUGHEST: f64 = 0.1;
/// Waves before the water is given up.
const WAVES: usize = 24;
/// Steps of the tank's own equation in a piece of the time, at least.
const STEPS: usize = 16;
/// And each no longer than this share of its time constant.
const STEP: f64 = 0.02;

/// A stirred tank around a section.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tank {
    pub(super) section: usize,
    /// Temperature of the supply, degC.
    pub(super) supply: f64,
    /// Heat that the flow carries a kelvin, W/K.
    pub(super) flow: f64,
    /// Heat that the tank holds a kelvin, J/K; none where its volume is not known.
    pub(super) holds: Option<f64>,
}

/// The tanks of a case.
///
/// # Errors
///
/// Water that travels along the product or against it; water that another section feeds.
pub(super) fn tanks(case: &Case) -> Result<Vec<Tank>, Error> {
    let mut tanks = Vec::new();
    for (index, section) in case.sections.iter().enumerate() {
        let Some(water) = section.circulation else { continue };
        let place = format!("section {:?}", section.name);
        let refused = |reason: &str| Err(Error::Unphysical { place: place.clone(), reason: reason.to_string() });
        if water.direction != Direction::Mixed {
            return refused(
                "its water travels along the line, which couples place and time. The program does not follow that in a programme. \
                 Say direction = \"mixed\" and give its volume, or leave `flow` away",
            );
        }
        if section.supply.is_some() {
            return refused(
                "another section's outlet feeds it, which the program does not follow in a programme. Give it a flow and a temperature \
                 of its own",
            );
        }
        let at_supply = crate::material::water::at(section.temperature.0);
        let flow = water.flow.mass(section.temperature) * at_supply.heat_capacity;
        let holds = section.volume.map(|volume| volume * at_supply.density * at_supply.heat_capacity);
        tanks.push(Tank { section: index, supply: section.temperature.0, flow, holds });
    }
    Ok(tanks)
}

/// The case with its water held: what is driven.
pub(super) fn held(case: &CaseFile) -> CaseFile {
    let mut held = case.clone();
    held.sections.iter_mut().for_each(|section| section.circulation = None);
    held
}

/// Water over a programme.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) waters: Waters,
    /// Heat of each tank over its time, as pieces of polynomials.
    pub(super) heat: Vec<Vec<Loads>>,
    /// Waves that it took.
    pub(super) waves: usize,
    /// What the last wave moved, K, and what the sums are settled to.
    pub(super) error: f64,
}

/// Water that was steady at the first speed before the programme, through it; sums are `checked` or not, as of [`loads`].
///
/// # Errors
///
/// A metre has no answer; the waves do not settle.
pub(super) fn follow(
    programme: &Programme,
    tanks: &[Tank],
    before: &[f64],
    checked: bool,
    watch: &(dyn Fn(usize) + Sync),
) -> Result<Found, Error> {
    let Programme { case, clock, tolerance, .. } = *programme;
    let close = SHARE * tolerance;
    let ends = horizon(programme);
    let mut waters = constant(case, tanks, before);
    let mut spans: Vec<Vec<[f64; 2]>> = tanks.iter().map(|tank| times(programme, tank, ends)).collect();
    for wave in 1..=WAVES {
        watch(wave);
        let rougher = if wave == 1 { (ROUGHEST / tolerance).clamp(1.0, FIRST) } else { 1.0 };
        let checks = checked && rougher == 1.0;
        let with = Programme { waters: Some(&waters), tolerance: rougher * tolerance, ..*programme };
        let mut heat = Vec::new();
        for (tank, spans) in tanks.iter().zip(&mut spans) {
            // Nobody asks for the heat of a tank whose volume is not known.
            let Some(holds) = tank.holds else {
                heat.push(Vec::new());
                continue;
            };
            let within = (rougher * 0.3 * close * tank.flow, holds / tank.flow, checks);
            let found = loads(&with, tank.section, std::mem::take(spans), within)?;
            *spans = found.iter().map(|loads| loads.span).collect();
            heat.push(found);
        }
        let hottest = (0..case.layers.len()).map(|layer| case.die_temperature(layer).0).fold(f64::MIN, f64::max);
        let next = |answers: bool| {
            let mut next = waters.clone();
            for (number, tank) in tanks.iter().enumerate() {
                let old = waters.of(tank.section).filter(|_| answers);
                next.0[tank.section] = Some(solved(tank, before[number], &heat[number], old, hottest, ends));
            }
            next
        };
        let found = next(true);
        let moved = tanks.iter().map(|tank| apart(&found, &waters, tank.section)).fold(0.0, f64::max);
        // The next wave would move it by far less; a search takes that as it is.
        if rougher == 1.0 && moved <= if checked { 0.3 * close } else { close } {
            // Last without the answer of the load, so that the water's books are those of the heat.
            let waters = next(false);
            return Ok(Found { waters, heat, waves: wave, error: (moved + 0.6 * close).min(close) });
        }
        waters = found;
    }
    Err(Error::Unphysical {
        place: format!("section {:?}", case.sections[tanks[0].section].name),
        reason: format!(
            "its water does not settle within {WAVES} waves; give a smaller programme or more flow (clock {ends:.0} s, {} corners)",
            clock.corners().len()
        ),
    })
}

/// The temperatures of tanks in the steady line at a speed, degC; of a line that stands, those of their supplies.
///
/// # Errors
///
/// A metre has no answer; the water does not settle.
pub(super) fn steady(programme: &Programme, tanks: &[Tank], speed: f64) -> Result<Vec<f64>, Error> {
    let supplies: Vec<f64> = tanks.iter().map(|tank| tank.supply).collect();
    if speed == 0.0 {
        return Ok(supplies);
    }
    let Programme { case, tolerance, .. } = *programme;
    let clock = Clock::constant(speed);
    // A lag has followed; a constant output is thin where the line is fast.
    let own: &(dyn Fn(usize, f64, Side) -> f64 + Sync) = &|layer, _, _| match case.layers[layer].feed.output {
        Output::Constant => case.line_speed / speed,
        Output::Follows | Output::Lag(_) => 1.0,
    };
    let still = Programme { clock: &clock, area: own, spoilt: &[], ..*programme };
    let close = 0.1 * SHARE * tolerance;
    // In a steady line every metre gives what all of them do.
    let metre = Request::new(0.0, Side::At);
    let excess = |found: &[f64]| -> Result<Vec<f64>, Error> {
        let waters = constant(case, tanks, found);
        let with = Programme { waters: Some(&waters), ..still };
        let metre = metre::one(&with, &metre, Settings::rule(MARCHED * tolerance))?;
        let each = tanks.iter().zip(found).map(|(tank, &found)| {
            let heat = metre.heats.get(tank.section).map_or(f64::NAN, |heat| case.shape.around() * speed * heat);
            tank.supply + heat / tank.flow - found
        });
        Ok(each.collect())
    };
    let (mut at, mut over) = (supplies.clone(), excess(&supplies)?);
    let mut slopes = vec![-1.0; tanks.len()];
    for _ in 0..WAVES {
        let next: Vec<f64> = (0..tanks.len()).map(|i| at[i] - over[i] / slopes[i]).collect();
        let found = excess(&next)?;
        for i in 0..tanks.len() {
            let moved = next[i] - at[i];
            // The excess falls at least as fast as the water warms.
            if moved != 0.0 {
                slopes[i] = ((found[i] - over[i]) / moved).min(-1.0);
            }
        }
        (at, over) = (next, found);
        if over.iter().all(|over| over.abs() <= close) {
            return Ok(at);
        }
    }
    Err(Error::Unphysical {
        place: format!("section {:?}", case.sections[tanks[0].section].name),
        reason: "its water does not settle at the first speed".to_string(),
    })
}

/// Every tank at one temperature.
pub(super) fn constant(case: &Case, tanks: &[Tank], temperatures: &[f64]) -> Waters {
    let mut waters = vec![None; case.sections.len()];
    for (tank, &temperature) in tanks.iter().zip(temperatures) {
        waters[tank.section] = Some(Over::constant(temperature));
    }
    Waters(waters)
}

/// Until when water is wanted, s: the last metre that is looked at has left the line.
fn horizon(programme: &Programme) -> f64 {
    let Programme { case, clock, last, end, .. } = *programme;
    let out = clock.arrives(last + case.line_length(), Side::At);
    if out.is_finite() { out.max(end) } else { end }
}

/// Pieces of the time between which the heat of a section has its sharpest corners: those of the speed, and where product ends that
/// is counted. What else jumps in the product bends the heat as it comes to the section; the pieces are halved there where that
/// moves the water.
fn times(programme: &Programme, tank: &Tank, ends: f64) -> Vec<[f64; 2]> {
    let Programme { case, clock, .. } = *programme;
    let start = case.section_start(tank.section);
    let places = [start, start + case.sections[tank.section].span()];
    let mut moments = vec![0.0, ends];
    moments.extend(clock.corners());
    for end in programme.spoilt.iter().flat_map(|(span, _)| *span).chain([programme.first, programme.last]) {
        moments.extend(places.map(|place| clock.arrives(end + place, Side::At)));
    }
    moments.retain(|time| (0.0..=ends).contains(time));
    moments.sort_by(f64::total_cmp);
    moments.dedup_by(|b, a| *b - *a < 1e-6);
    moments.windows(2).map(|pair| [pair[0], pair[1]]).collect()
}

/// The tank's equation with a known heat, by the classical fourth-order steps; `old` is the water in which that heat was given.
fn solved(tank: &Tank, before: f64, heat: &[Loads], old: Option<&Over>, hottest: f64, ends: f64) -> Over {
    let Some(holds) = tank.holds else { return Over::constant(before) };
    let rate = |loads: &Loads, time: f64, water: f64| {
        let given = loads.at(time);
        let answers = old.map_or(0.0, |old| {
            let old = old.at(time);
            // Heat goes about as the product's temperature above the water's.
            let per_kelvin = given.max(0.0) / (hottest - old).max(10.0);
            per_kelvin * (old - water)
        });
        (tank.flow * (tank.supply - water) + given + answers) / holds
    };
    let longest = STEP * holds / tank.flow;
    let mut water = before;
    let mut nodes = Vec::new();
    for loads in heat {
        let [from, to] = loads.span;
        let steps = STEPS.max(((to - from) / longest).ceil() as usize).min(100_000);
        let step = (to - from) / steps as f64;
        for number in 0..steps {
            let time = from + step * number as f64;
            let a = rate(loads, time, water);
            nodes.push([time, water, a]);
            let b = rate(loads, time + 0.5 * step, water + 0.5 * step * a);
            let c = rate(loads, time + 0.5 * step, water + 0.5 * step * b);
            let d = rate(loads, time + step, water + step * c);
            water += step / 6.0 * (a + 2.0 * (b + c) + d);
        }
    }
    let last = heat.last().map_or(0.0, |loads| rate(loads, ends, water));
    nodes.push([ends, water, last]);
    Over { nodes }
}

/// The water's books over its time, M c (T - T_0) + int m c (T - T_s) dt against the heat from the metres, as a share of that; and what
/// the change of the load alone warms the tank by at most, K.
pub(super) fn books(tank: &Tank, holds: f64, before: f64, over: &Over, heat: &[Loads]) -> (Option<f64>, Option<f64>) {
    let (mut carried, mut taken, mut more, mut farthest) = (0.0, 0.0, 0.0f64, 0.0f64);
    let steady = tank.flow * (before - tank.supply);
    let rule = gauss(POINTS[1]);
    for loads in heat {
        let [from, to] = loads.span;
        let inside: Vec<f64> = over.nodes.iter().map(|node| node[0]).filter(|t| *t > from && *t < to).collect();
        let cuts: Vec<f64> = std::iter::once(from).chain(inside).chain([to]).collect();
        for pair in cuts.windows(2) {
            let span = pair[1] - pair[0];
            for &(point, weight) in &rule {
                let time = pair[0] + point * span;
                let given = loads.at(time);
                carried += weight * span * tank.flow * (over.at(time) - tank.supply);
                taken += weight * span * given;
                more += weight * span * (given - steady);
            }
            if more.abs() > farthest.abs() {
                farthest = more;
            }
        }
    }
    let ends = heat.last().map_or(0.0, |loads| loads.span[1]);
    let open = holds * (over.at(ends) - before) + carried - taken;
    (Some(open.abs() / taken.abs().max(f64::MIN_POSITIVE)), Some(farthest / holds))
}

/// Largest difference of two waters of a section, K.
fn apart(found: &Waters, old: &Waters, section: usize) -> f64 {
    let (Some(found), Some(old)) = (found.of(section), old.of(section)) else { return 0.0 };
    found.nodes.iter().map(|&[time, water, _]| (water - old.at(time)).abs()).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Without a load the water goes to its supply by its time constant.
    #[test]
    fn an_idle_tank_cools_to_its_supply() {
        let tank = Tank { section: 0, supply: 16.0, flow: 200.0, holds: Some(2e4) };
        let heat = [Loads::steady([0.0, 300.0], 0.0)];
        let over = solved(&tank, 30.0, &heat, None, 90.0, 300.0);
        for time in [0.0, 50.0, 100.0, 299.0] {
            let exact = 16.0 + 14.0 * libm::exp(-time / 100.0);
            assert!((over.at(time) - exact).abs() < 1e-6, "{time}: {} {exact}", over.at(time));
        }
    }
}
