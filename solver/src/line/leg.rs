//! One leg of the line: a pass through a section, or a turn-round; landings, events, means.

use super::run::{Place, Run, Settings};
use super::skin::Watch;
use super::stops::{Leg, SAME, Stop, stops};
use crate::case::Case;
use crate::conduction::Field;
use crate::error::Error;
use crate::material::Kind;
use crate::observe;
use crate::surface::Surface;

/// More node-steps than this in one run are refused: some ten seconds of work.
pub(crate) const MAX_NODE_STEPS: usize = 100_000_000;
/// Share of the step tolerance that the first step after a kink of a film table may use: the surface answers a kink
/// with a t^1.5, for which the error estimate is the error, not twenty times more.
pub(crate) const AFTER_KINK: f64 = 0.05;
/// Share of the step tolerance that a step onto a reported point may use: its own error is seen there undamped.
pub(crate) const BEFORE_REPORT: f64 = 0.05;
/// Boiling point of water at 0.101325 MPa, degC (IAPWS R7-97: 99.974; the trade says 100).
const BOILING: f64 = 100.0;
/// Output points in each leg when fields are kept, at least.
const POINTS_A_LEG: usize = 60;

/// Output times from the section's entry (s) with their distances from the die (m), in order.
type Outputs = std::iter::Peekable<std::vec::IntoIter<(f64, f64)>>;

/// A march along the line.
pub(super) struct Line<'a> {
    pub(super) case: &'a Case,
    pub(super) settings: &'a Settings,
    pub(super) run: Run,
    /// Outer diameter at the die, m.
    pub(super) diameter: f64,
    /// Fields for looking inside a step.
    pub(super) look: Field,
    pub(super) spare: Vec<f64>,
    pub(super) last_water: Option<usize>,
    /// What happens sooner than this after an entry is not resolved, s.
    pub(super) instant: f64,
    /// What is watched of the layers that set.
    pub(super) watches: Vec<Watch>,
    /// Sizes of the accepted steps of each leg, kept where a leg may have to be marched again.
    pub(super) scripts: Option<Vec<Vec<f64>>>,
    /// Whether the legs repeat their scripts instead of choosing their steps.
    pub(super) scripted: bool,
    /// Whether this march only looks for the water's temperature: no fields are kept.
    pub(super) searching: bool,
}

impl Line<'_> {
    /// Notes what holds at the die.
    pub(super) fn begin(&mut self, surface: &Surface) {
        let stepper = &self.run.stepper;
        for (index, layer) in self.case.layers.iter().enumerate() {
            let extremes = observe::node_extremes(&stepper.slice, &stepper.field, index);
            let set = layer.material.set_temperature;
            self.run.set_through[index] = set.filter(|set| extremes[0] <= set.0).map(|_| 0.0);
            let laid_up = layer.material.kind == Kind::LaidUp;
            self.run.softened[index] = set.filter(|set| laid_up && extremes[0] > set.0).map(|_| 0.0);
            self.run.extremes.push(extremes);
        }
        if self.settings.fields {
            let place = self.place(0.0, 0, 0.0, surface, self.run.start.clone());
            self.run.track.push(place);
        }
    }

    /// A state with what surrounds it, `within` m from the leg's entry.
    fn place(&self, distance: f64, section: usize, within: f64, surface: &Surface, state: Vec<f64>) -> Place {
        let slice = &self.run.stepper.slice;
        let last = slice.vertices() - 1;
        let temperature = slice.tables[slice.table_of[last]].temperature(state[last]).0.0;
        let heat = state[slice.heat_index()];
        Place {
            distance,
            section,
            medium: surface.medium(heat),
            film: surface.film(temperature, heat, within),
            heat_flux: surface.flux(temperature, heat, within),
            state,
        }
    }

    /// Marches one leg, the `number`th of the line.
    pub(super) fn leg(&mut self, number: usize, leg: &Leg, surface: &Surface) -> Result<(), Error> {
        let case = self.case;
        let speed = case.line_speed;
        let duration = leg.length / speed;
        let stops = stops(case, leg);
        let mut outputs = self.outputs(leg, &stops);
        let script = match (&mut self.scripts, self.scripted) {
            (Some(scripts), true) => Some(std::mem::take(&mut scripts[number])),
            (Some(scripts), false) => {
                scripts[number].clear();
                None
            }
            _ => None,
        };
        let mut scripted = script.iter().flatten();
        let (mut time, mut distance, mut next_stop) = (0.0, 0.0, 0);
        let allowed_steps = MAX_NODE_STEPS / self.run.stepper.slice.nodes();
        let tolerance = self.settings.step_tolerance;
        self.run.stepper.begin(surface, 0.0);
        let mut dt = self.first_step(number, duration);
        let (mut rejected, mut after_kink) = (false, false);
        while next_stop < stops.len() {
            let (place, stop) = stops[next_stop];
            let target = place / speed;
            if target - time <= SAME * duration {
                self.land(leg.section, stop);
                after_kink |= stop == Stop::Kink;
                next_stop += 1;
                continue;
            }
            let remaining = target - time;
            let (step, cut) = match scripted.next() {
                Some(&step) => (step, false),
                None => {
                    // Not `min`: a step that is no number must stay one.
                    let longest = self.run.stepper.longest_step();
                    fit(if dt > longest { longest } else { dt }, remaining)
                }
            };
            if step.is_nan() || step <= 1e-14 * duration {
                return Err(self.stuck(leg.section, time, step));
            }
            let steps = self.run.steps[0] + self.run.steps[1];
            if steps > allowed_steps {
                return Err(Error::TooLarge { what: "time steps", needed: steps, allowed: allowed_steps });
            }
            let reported = step == remaining && stop != Stop::Kink;
            let share = if after_kink {
                AFTER_KINK
            } else if reported {
                BEFORE_REPORT
            } else {
                1.0
            };
            let allowed = share * tolerance;
            let error = self.run.stepper.attempt(surface, distance, step) / allowed;
            if self.settings.fixed_step.is_none() && script.is_none() && error > 1.0 {
                self.run.steps[1] += 1;
                rejected = true;
                dt = step * factor(error).min(0.9);
                continue;
            }
            self.run.steps[0] += 1;
            if let (Some(scripts), None) = (&mut self.scripts, &script) {
                scripts[number].push(step);
            }
            self.run.stepper.accept();
            let landed = step == remaining;
            let before = time;
            // On landing the distance is the stop's own, so that a film table is on the right side of its kink.
            (time, distance) = if landed { (target, place) } else { (time + step, (time + step) * speed) };
            self.follow(leg, surface, before, time - before)?;
            self.keep_outputs(leg, surface, [before, time], &mut outputs);
            if self.settings.fixed_step.is_none() {
                let growth = if rejected { factor(error).min(1.0) } else { factor(error) };
                dt = if cut { dt.max(step * growth) } else { step * growth };
            }
            (rejected, after_kink) = (false, false);
            self.run.stepper.begin(surface, distance);
        }
        if let (Some(scripts), Some(script)) = (&mut self.scripts, script) {
            scripts[number] = script;
        }
        Ok(())
    }

    fn first_step(&self, leg: usize, duration: f64) -> f64 {
        if let Some(step) = self.settings.fixed_step {
            return step;
        }
        let stepper = &self.run.stepper;
        let rate = stepper.surface_stiffness();
        let slow = 0.5 / rate;
        if leg == 0 {
            return slow.min(duration);
        }
        // After a change of film the surface follows sqrt(t): the step in which it moves three tolerances.
        let reach = 3.0 * self.settings.step_tolerance / stepper.surface_rate().abs();
        slow.max((2.0 * reach * reach * rate).min(duration / 5.0)).min(duration)
    }

    fn land(&mut self, section: usize, stop: Stop) {
        let state = &self.run.stepper.state;
        match stop {
            Stop::Station(index) => self.run.stations[index].copy_from_slice(state),
            Stop::End => self.run.ends[section].copy_from_slice(state),
            Stop::Kink | Stop::Turn => {}
        }
    }

    /// Times in the leg, with their distances, at which a state is kept for the fields; stations and end exact.
    fn outputs(&self, leg: &Leg, stops: &[(f64, Stop)]) -> Outputs {
        if !self.settings.fields || self.searching {
            return Vec::new().into_iter().peekable();
        }
        let case = self.case;
        let speed = case.line_speed;
        let (start, duration) = (leg.start, leg.length / speed);
        let points = POINTS_A_LEG.max(240 / case.sections.len());
        let dense = (1..points).map(|i| duration * libm::pow(i as f64 / points as f64, 2.0));
        let mut places: Vec<(f64, f64)> = dense.map(|time| (time, start + time * speed)).collect();
        for &(place, stop) in stops.iter().filter(|stop| stop.0 > 0.0) {
            let time = place / speed;
            let distance = match stop {
                Stop::Station(index) => case.station_distance(&case.stations[index]),
                Stop::End => case.section_start(leg.section + 1),
                Stop::Turn => leg.start + leg.length,
                Stop::Kink => continue,
            };
            // A point next to an exact one would only repeat it.
            places.retain(|place| (place.0 - time).abs() > 1e-6 * duration);
            places.push((time, distance));
        }
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        places.into_iter().peekable()
    }

    fn keep_outputs(&mut self, leg: &Leg, surface: &Surface, [before, now]: [f64; 2], outputs: &mut Outputs) {
        while let Some((time, distance)) = outputs.next_if(|&(time, _)| time <= now) {
            let mut state = self.run.stepper.state.clone();
            if time < now {
                self.run.stepper.inside((time - before) / (now - before), &mut state);
            }
            let place = self.place(distance, leg.section, (distance - leg.start).max(0.0), surface, state);
            self.run.track.push(place);
        }
    }

    /// Events and means of the accepted step that began at `before`.
    fn follow(&mut self, leg: &Leg, surface: &Surface, before: f64, dt: f64) -> Result<(), Error> {
        let case = self.case;
        let speed = case.line_speed;
        let section = leg.section;
        let now = self.run.stepper.field.surface_temperature();
        if !now.is_finite() {
            return Err(Error::NotFinite { section: case.sections[section].name.clone(), time: before });
        }
        let start = self.surface_inside(0.0);
        let middle = self.surface_inside(0.5);
        // A section's means are those of its passes; Simpson's rule over the step.
        if !leg.turn {
            let last = self.run.stepper.slice.heat_index();
            let heat = |theta: f64| self.run.stepper.inside_one(theta, last);
            let mean = |f: &dyn Fn(f64, f64, f64) -> f64| {
                let at = |theta: f64, temperature: f64| f(temperature, heat(theta), (before + theta * dt) * speed);
                dt * (at(0.0, start) + 4.0 * at(0.5, middle) + at(1.0, now)) / 6.0
            };
            let film = mean(&|temperature, heat, distance| surface.film(temperature, heat, distance));
            let radiation = mean(&|temperature, _, _| surface.radiation(temperature));
            let wet = case.sections[section].medium.is_water() && start.max(now) > BOILING;
            let boiling = if wet { self.time_above(start, now, dt) } else { 0.0 };
            if let Some(passage) = self.run.passages.last_mut() {
                passage.film += film;
                passage.radiation += radiation;
                passage.boiling += boiling;
            }
        }
        if self.last_water.is_some_and(|last| section > last) {
            let inside = (1..8).map(|i| self.surface_inside(i as f64 / 8.0)).fold(now, f64::max);
            self.run.dry_peak = Some(self.run.dry_peak.map_or(inside, |peak| peak.max(inside)));
        }
        self.watch_layers(leg, before, dt);
        self.watch_skins(leg, before, dt);
        Ok(())
    }

    /// Surface temperature inside the last step, from the dense output of its enthalpy.
    fn surface_inside(&self, theta: f64) -> f64 {
        let stepper = &self.run.stepper;
        let last = stepper.slice.vertices() - 1;
        let table = &stepper.slice.tables[stepper.slice.table_of[last]];
        table.temperature(stepper.inside_one(theta, last)).0.0
    }

    /// How long the surface was above the boiling point in a step that crossed or stayed above it.
    fn time_above(&self, start: f64, now: f64, dt: f64) -> f64 {
        if start > BOILING && now > BOILING {
            return dt;
        }
        let theta = crossing(|theta| self.surface_inside(theta) - BOILING, start - BOILING, now - BOILING);
        if start > BOILING { theta * dt } else { (1.0 - theta) * dt }
    }

    /// Extremes of every layer, and where its hottest point falls below its set temperature.
    fn watch_layers(&mut self, leg: &Leg, before: f64, dt: f64) {
        for index in 0..self.case.layers.len() {
            let stepper = &self.run.stepper;
            let [hottest, coldest] = observe::node_extremes(&stepper.slice, &stepper.field, index);
            let met = &mut self.run.extremes[index];
            *met = [met[0].max(hottest), met[1].min(coldest)];
            let layer = &self.case.layers[index];
            let Some(set) = layer.material.set_temperature.filter(|_| layer.material.kind != Kind::Metal) else {
                continue;
            };
            if hottest > set.0 {
                if layer.material.kind == Kind::LaidUp && self.run.softened[index].is_none() {
                    let theta = self.set_crossing(index, set.0);
                    self.run.softened[index] = Some(leg.start + (before + theta * dt) * self.case.line_speed);
                }
                self.run.set_through[index] = None;
            } else if self.run.set_through[index].is_none()
                && observe::hottest(&stepper.slice, &stepper.field, index) <= set.0
            {
                let theta = self.set_crossing(index, set.0);
                let distance = leg.start + (before + theta * dt) * self.case.line_speed;
                self.run.set_through[index] = Some(distance);
            }
        }
    }

    /// Where in the last step the hottest point of a layer passed `set`.
    fn set_crossing(&mut self, layer: usize, set: f64) -> f64 {
        let Line { run, look, spare, .. } = self;
        let stepper = &run.stepper;
        let mut above = |theta: f64| {
            stepper.inside(theta, spare);
            look.update(&stepper.slice, spare);
            observe::hottest(&stepper.slice, look, layer) - set
        };
        let (start, end) = (above(0.0), above(1.0));
        crossing(above, start, end)
    }

    fn stuck(&self, section: usize, time: f64, step: f64) -> Error {
        let section = self.case.sections[section].name.clone();
        if step.is_finite() { Error::StepVanished { section, time, step } } else { Error::NotFinite { section, time } }
    }
}

/// The step to take towards a stop, and whether it is shorter than wanted: land exactly, never leave a sliver.
pub(crate) fn fit(wanted: f64, remaining: f64) -> (f64, bool) {
    if wanted >= remaining * (1.0 - 1e-9) {
        (remaining, wanted > remaining)
    } else if 2.0 * wanted > remaining {
        (0.5 * remaining, true)
    } else {
        (wanted, false)
    }
}

/// Step size factor for an error relative to the tolerance.
pub(super) fn factor(error: f64) -> f64 {
    if !error.is_finite() {
        return 0.15;
    }
    (0.9 / error.sqrt().sqrt()).clamp(0.15, 6.0)
}

/// Where in 0..1 a function changes sign, by false position with the Illinois rule (Dowell & Jarratt, A modified regula
/// falsi method for computing the root of an equation, BIT 11, 1971); `start` and `end` are its values at 0 and 1.
pub(super) fn crossing(mut f: impl FnMut(f64) -> f64, start: f64, end: f64) -> f64 {
    let (mut a, mut fa, mut b, mut fb) = (0.0, start, 1.0, end);
    if (fa > 0.0) == (fb > 0.0) {
        return 1.0;
    }
    for _ in 0..60 {
        let x = (a * fb - b * fa) / (fb - fa);
        let fx = f(x);
        if (fx > 0.0) == (fb > 0.0) {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        let moved = (x - b).abs();
        (b, fb) = (x, fx);
        if moved < 1e-9 || fx == 0.0 {
            break;
        }
    }
    b
}
