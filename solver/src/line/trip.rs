//! The way of one case down the line, alone or in a lane: one clock, its stops and steps, the water beside it.

use std::sync::Arc;

use super::books::Books;
use super::clock::Motion;
use super::itinerary::{self, Landing, Leg};
use super::step::Step;
use super::waters::Over;
use super::{Prepared, SAME, Stop, WaterRun};
use crate::case::error::Error;
use crate::engine::{ABSCISSAE, Bundle, GAMMA, Row, View, reach};

/// More node-steps than this in one run are refused: some ten seconds of work.
const MAX_NODE_STEPS: usize = 100_000_000;
/// Share of the step tolerance that the first step after a kink of a film table may use: the surface answers a kink
/// with a t^1.5, for which the error estimate is the error, not twenty times more.
const AFTER_KINK: f64 = 0.05;
/// Share of the step tolerance that a step onto a reported point may use: its own error is seen there undamped.
const BEFORE_REPORT: f64 = 0.05;
/// In a slice with a steep table a step is refused only above this multiple of what it may err by: the factor of the next step
/// aims below it all the same.
const SLACK: f64 = 1.5;

/// A case on its way.
#[derive(Clone, Debug)]
pub(crate) struct Trip<'a> {
    pub(crate) of: Arc<Prepared<'a>>,
    /// Which leg, which of its stops comes next, time since its entry, s.
    leg: usize,
    next_stop: usize,
    time: f64,
    /// The leg at hand, how long it takes, s, the motion that holds in it and which that is; whether speed or water change by it.
    here: Leg,
    duration: f64,
    motion: Motion,
    number: usize,
    changing: bool,
    /// Of the next stop: when the clock must be there, s, its place from the leg's entry, m, and whether it is reported.
    target: f64,
    place: f64,
    reported: bool,
    /// The step wanted next, s; none before the first of a leg.
    wanted: Option<f64>,
    /// Whether the step at hand is shorter than wanted; whether the one before it was refused, or ended at a kink.
    cut: bool,
    rejected: bool,
    after_kink: bool,
    /// The last accepted step of the leg, s.
    last: Option<f64>,
    /// Steps accepted and refused.
    pub(crate) steps: [usize; 2],
    /// Surface temperature at the start of the step at hand.
    surface: f64,
    /// The last accepted step, and whether nobody has looked at it yet.
    pub(super) step: Step,
    taken: bool,
    pub(crate) books: Books,
    /// Of each section: the temperature of its medium's supply, degC; and where the product enters, if that is another.
    pub(super) supplies: Vec<f64>,
    pub(super) entries: Vec<Option<f64>>,
    last_water: Option<usize>,
    /// Highest enthalpy of the surface after the last water.
    pub(crate) dry_peak: Option<f64>,
    /// The steps of each leg, where legs may have to be marched again.
    pub(super) script: Option<Script>,
}

/// Sizes of the accepted steps of each leg.
#[derive(Clone, Debug)]
pub(super) struct Script {
    steps: Vec<Vec<f64>>,
    /// Whether legs repeat their steps instead of choosing them.
    pub(super) frozen: bool,
    /// Which of a leg's steps comes next.
    next: usize,
}

/// Where a case is after a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Arrival {
    /// On its way.
    Under,
    /// At a station.
    Station(usize),
    /// At the end of a section.
    SectionEnd(usize),
    /// At a moment for which a look was asked.
    Look(usize),
    /// Out of a section, its books closed: `enter` takes it into the next, where there is one.
    Out,
}

impl<'a> Trip<'a> {
    /// At the die, before the first section.
    pub(super) fn new(of: Arc<Prepared<'a>>) -> Trip<'a> {
        let case = of.case;
        let count = case.sections.len();
        Trip {
            leg: 0,
            next_stop: 0,
            time: 0.0,
            here: Leg::default(),
            duration: 0.0,
            motion: Motion::steady(case.line_speed),
            number: 0,
            changing: false,
            target: 0.0,
            place: 0.0,
            reported: true,
            wanted: None,
            cut: false,
            rejected: false,
            after_kink: false,
            last: None,
            steps: [0, 0],
            surface: f64::NAN,
            step: Step::default(),
            taken: false,
            books: Books::new(count),
            supplies: (0..count).map(|index| case.sections[case.water_head(index)].temperature.0).collect(),
            entries: vec![None; count],
            last_water: case.sections.iter().rposition(|section| section.medium.is_water()),
            dry_peak: None,
            script: None,
            of,
        }
    }

    /// Keeps the steps of every leg from now on.
    pub(super) fn keep_script(&mut self) {
        self.script = Some(Script { steps: vec![Vec::new(); self.of.itinerary.legs.len()], frozen: false, next: 0 });
    }

    /// Goes back to where it was, with the steps, supplies and entries that were found meanwhile.
    pub(super) fn go_back(&mut self, before: &Trip<'a>) {
        let mut found = std::mem::replace(self, before.clone());
        self.script = found.script.take();
        self.supplies = found.supplies;
        self.entries = found.entries;
    }

    /// Whether the line is behind it.
    pub(super) fn is_through(&self) -> bool {
        self.leg == self.of.itinerary.legs.len()
    }

    /// The section that it enters next; none where the line is behind it.
    pub(super) fn next_section(&self) -> Option<usize> {
        self.of.itinerary.legs.get(self.leg).map(|plan| plan.leg.section)
    }

    /// Enters the next leg.
    pub(super) fn enter<R: Row>(&mut self, bundle: &mut Bundle<'a, R>, lane: usize) {
        let case = self.of.case;
        let plan = &self.of.itinerary.legs[self.leg];
        (self.here, self.duration, self.motion, self.number) = (plan.leg, plan.duration(), plan.motion, 0);
        self.changing = self.changes();
        let leg = self.here;
        let section = &case.sections[leg.section];
        let (shape, speed) = (case.shape, case.line_speed);
        let heat = View::new(bundle, lane).heat();
        if self.books.passages.len() == leg.section {
            let supply = self.supply(leg.section);
            let water = if self.of.column.is_some() { None } else { WaterRun::of(case, leg.section, supply) };
            self.books.enter_section(heat, water);
        }
        self.books.enter_leg(heat);
        let surface = if leg.turn {
            section.turn.surface(shape, speed, self.of.diameter())
        } else {
            let supply = self.supplies[leg.section];
            let entry = self.entries[leg.section].unwrap_or(supply);
            let entry = self.water_over().map_or(entry, |over| over.at(self.of.itinerary.legs[self.leg].since));
            let water = self.books.passages[leg.section].water;
            let warming = water.map_or(0.0, |water| water.warming(case, leg.section));
            let entry = self.of.column.as_ref().map_or(entry, |column| column.medium(leg.section));
            self.of.surface(section, leg.start).in_medium(entry, warming, heat)
        };
        (self.time, self.next_stop, self.wanted, self.last) = (0.0, 0, None, None);
        let driven = self.of.metre.is_some();
        let surface = if driven { surface.driven(itinerary::driven(case, &leg)) } else { surface };
        bundle.surround(lane, surface);
        if self.last_water.is_some_and(|last| leg.section > last) {
            bundle.lanes.dry |= 1 << lane;
        }
        (self.cut, self.rejected, self.after_kink) = (false, false, false);
        bundle.ends.distance[lane] = 0.0;
        if driven {
            self.set_speed(bundle, lane);
        }
        if let Some(script) = &mut self.script {
            script.next = 0;
            if !script.frozen {
                script.steps[self.leg].clear();
            }
        }
        self.aim();
    }

    /// The temperature at which a section's medium is supplied: that of another section's outlet where it comes from there.
    pub(super) fn supply(&mut self, section: usize) -> f64 {
        let feeder = self.of.case.sections[section].supply.filter(|&feeder| feeder < section);
        if let Some(water) = feeder.and_then(|feeder| self.books.passages[feeder].water) {
            self.supplies[section] = water.outlet;
        }
        self.supplies[section]
    }

    /// Looks at the next stop.
    fn aim(&mut self) {
        let next = self.of.itinerary.legs[self.leg].stops.get(self.next_stop);
        let behind = Landing { place: f64::NEG_INFINITY, time: f64::NEG_INFINITY, stop: Stop::End };
        let Landing { place, time, stop } = next.copied().unwrap_or(behind);
        (self.place, self.target) = (place, time);
        self.reported = !matches!(stop, Stop::Kink | Stop::Corner | Stop::Bend);
    }

    /// Passes one stop that the last step reached, or says that there is none.
    pub(super) fn arrive<R: Row>(&mut self, bundle: &mut Bundle<'a, R>, lane: usize) -> Arrival {
        while self.target - self.time <= SAME * self.duration {
            let plan = &self.of.itinerary.legs[self.leg];
            let leg = plan.leg;
            let Some(&Landing { stop, .. }) = plan.stops.get(self.next_stop) else {
                self.books.leave(self.of.case, &leg, View::new(bundle, lane), self.time);
                self.leg += 1;
                if leg.last {
                    return Arrival::Out;
                }
                self.enter(bundle, lane);
                continue;
            };
            self.next_stop += 1;
            self.aim();
            match stop {
                Stop::Station(index) => return Arrival::Station(index),
                Stop::Look(index) => return Arrival::Look(index),
                Stop::End => return Arrival::SectionEnd(leg.section),
                Stop::Kink | Stop::Bend => self.after_kink = true,
                Stop::Corner => self.next_motion(bundle, lane),
                Stop::Turn => {}
            }
        }
        Arrival::Under
    }

    /// Whether the line speed or the water changes by the motion that holds.
    fn changes(&self) -> bool {
        self.motion.changes() || self.water_over().is_some()
    }

    /// Goes on by the next motion of the leg.
    fn next_motion<R: Row>(&mut self, bundle: &mut Bundle<'a, R>, lane: usize) {
        let before = self.motion.speed(self.time);
        self.motion = self.of.itinerary.legs[self.leg].later[self.number];
        self.number += 1;
        self.changing = self.changes();
        self.after_kink = true;
        // A jump of the speed is one of the film: as at an entry.
        if (self.motion.speed(self.time) - before).abs() > 1e-9 * before {
            self.wanted = None;
        }
        self.set_speed(bundle, lane);
    }

    /// The water of the leg over clock time, where it changes.
    fn water_over(&self) -> Option<&'a Over> {
        self.of.waters.filter(|_| !self.here.turn)?.of(self.here.section)
    }

    /// Takes the lane to the line speed of the moment, and to its water.
    fn set_speed<R: Row>(&self, bundle: &mut Bundle<'a, R>, lane: usize) {
        let acceleration = self.changing.then(|| self.motion.acceleration(self.time));
        bundle.set_speed(lane, self.motion.speed(self.time), acceleration);
        if let Some(over) = self.water_over() {
            let time = self.of.itinerary.legs[self.leg].since + self.time;
            bundle.set_medium(lane, over.at(time), over.rate(time));
        }
    }

    /// Where the lane is in the stages of a step, how fast, and in what medium, where its speed or its water changes meanwhile.
    fn look_ahead<R: Row>(&self, bundle: &mut Bundle<'a, R>, lane: usize, step: f64) {
        if !self.changing {
            return;
        }
        let (motion, water) = (self.motion, self.water_over());
        let (since, held) = (self.of.itinerary.legs[self.leg].since, bundle.ends.entry[lane]);
        for (stage, abscissa) in ABSCISSAE.into_iter().enumerate().skip(1) {
            let time = self.time + abscissa * step;
            bundle.ends.distances[stage][lane] = motion.place(time);
            bundle.ends.speeds[stage][lane] = motion.speed(time);
            bundle.ends.media[stage][lane] = water.map_or(held, |over| over.at(since + time));
        }
    }

    /// Chooses the step and what it may err by; an error where there is none to take.
    pub(super) fn plan<R: Row>(&mut self, bundle: &mut Bundle<'a, R>, lane: usize) -> Result<(), Error> {
        self.surface = View::new(bundle, lane).surface();
        self.books.close_mean(bundle.ends.film_now[lane]);
        let remaining = self.target - self.time;
        let step = match self.scripted() {
            Some(step) => {
                self.cut = false;
                step
            }
            None => self.chosen(bundle, lane, remaining),
        };
        if step.is_nan() || step <= 1e-14 * self.duration {
            return Err(self.stuck(step));
        }
        let (tried, nodes) = (self.steps[0] + self.steps[1], self.of.slice.nodes());
        if tried * nodes > MAX_NODE_STEPS {
            return Err(Error::TooLarge { what: "time steps", needed: tried, allowed: MAX_NODE_STEPS / nodes });
        }
        let settings = &self.of.settings;
        let ordinary = settings.ordinary(bundle.structure.steep);
        (bundle.ends.step[lane], bundle.ends.reach[lane]) = (step, reach(step, self.last));
        let reported = if self.after_kink {
            AFTER_KINK * settings.step_tolerance
        } else if step == remaining && self.reported {
            BEFORE_REPORT * settings.step_tolerance
        } else {
            ordinary
        };
        self.look_ahead(bundle, lane, step);
        bundle.allow(lane, reported, ordinary);
        Ok(())
    }

    /// The next step of the script, where steps are repeated.
    fn scripted(&self) -> Option<f64> {
        let script = self.script.as_ref().filter(|script| script.frozen)?;
        script.steps[self.leg].get(script.next).copied()
    }

    /// The step that error control, stops and water allow.
    fn chosen<R: Row>(&mut self, bundle: &Bundle<'a, R>, lane: usize, remaining: f64) -> f64 {
        let (duration, settings, ends) = (self.duration, &self.of.settings, &bundle.ends);
        let wanted = self.wanted.unwrap_or_else(|| {
            settings.fixed_step.unwrap_or_else(|| {
                let rate = ends.stiffness[lane];
                let slow = 0.5 / rate;
                if self.leg == 0 {
                    return slow.min(duration);
                }
                // After a change of film the surface follows sqrt(t): the step in which it moves three tolerances.
                let far = 3.0 * settings.ordinary(bundle.structure.steep) / ends.surface_rate[lane].abs();
                slow.max((2.0 * far * far * rate).min(duration / 5.0)).min(duration)
            })
        });
        self.wanted = Some(wanted);
        // Water that runs against the product: gamma dt |e| < 1/2 with e = -R dq''/dQ, so that the pivot of the heat stays
        // positive.
        let water = ends.water_slope[lane];
        let mut longest = if water < 0.0 { -0.5 / (GAMMA * water) } else { f64::INFINITY };
        if let Some(column) = &self.of.column {
            // A metal core is held as it is in the middle of a step: what stops lie in wait for, the last steps must not feel.
            let ahead = [0.0, remaining].map(|ahead| self.place_ahead(ahead));
            if column.changes(ahead) > settings.step_tolerance / 20.0 {
                longest = longest.min(0.5 * remaining);
            }
        }
        let step;
        // Not `min`: a step that is no number must stay one.
        (step, self.cut) = fit(if wanted > longest { longest } else { wanted }, remaining);
        step
    }

    /// Distance from the die where it will be so many s later, m.
    pub(super) fn place_ahead(&self, later: f64) -> f64 {
        self.here.start + (self.time + later) * self.of.case.line_speed
    }

    /// Judges the attempt: whether its state is taken.
    pub(super) fn judge<R: Row>(&mut self, bundle: &mut Bundle<'a, R>, lane: usize) -> bool {
        let (error, factor) = (bundle.ends.error[lane], bundle.ends.factor[lane]);
        let step = bundle.ends.step[lane];
        let frozen = self.script.as_ref().is_some_and(|script| script.frozen);
        let fixed = self.of.settings.fixed_step.is_some();
        // An error that is no number refuses the step, too.
        let within = error <= if bundle.structure.steep { SLACK } else { 1.0 };
        if !fixed && !frozen && !within {
            self.steps[1] += 1;
            self.rejected = true;
            self.wanted = Some(step * factor.min(0.9));
            return false;
        }
        self.steps[0] += 1;
        if let Some(script) = &mut self.script {
            script.next += 1;
            if !frozen {
                script.steps[self.leg].push(step);
            }
        }
        let (target, before) = (self.target, self.time);
        let landed = step == target - before;
        self.time = if landed { target } else { before + step };
        // On landing the distance is the stop's own, so that a film table is on the right side of its kink.
        bundle.ends.distance[lane] = if landed { self.place } else { self.motion.place(self.time) };
        let size = self.time - before;
        self.step = Step { number: self.leg, leg: self.here, before, size, surface: self.surface };
        self.taken = true;
        if !fixed {
            let growth = if self.rejected { factor.min(1.0) } else { factor };
            let wanted = self.wanted.unwrap_or(step);
            self.wanted = Some(if self.cut { wanted.max(step * growth) } else { step * growth });
        }
        (self.rejected, self.after_kink, self.last) = (false, false, Some(step));
        if self.changing {
            self.set_speed(bundle, lane);
        }
        true
    }

    /// Whether there is an accepted step to look at, as soon as the fields behind it are known; its means are taken.
    pub(super) fn follow<R: Row>(&mut self, view: View<R>) -> Result<bool, Error> {
        if !std::mem::take(&mut self.taken) {
            return Ok(false);
        }
        let section = self.step.leg.section;
        if !view.surface().is_finite() {
            let section = self.of.case.sections[section].name.clone();
            return Err(Error::NotFinite { section, time: self.step.before });
        }
        // A section's means are those of its passes.
        if self.of.means && !self.step.leg.turn {
            self.books.add_means(self.of.case, view, &self.step);
        }
        if self.last_water.is_some_and(|last| section > last) {
            let peak = view.peak();
            self.dry_peak = Some(self.dry_peak.map_or(peak, |highest| highest.max(peak)));
        }
        Ok(true)
    }

    fn stuck(&self, step: f64) -> Error {
        let (section, time) = (self.of.case.sections[self.here.section].name.clone(), self.time);
        if step.is_finite() { Error::StepVanished { section, time, step } } else { Error::NotFinite { section, time } }
    }
}

/// The step to take towards a stop, and whether it is shorter than wanted: land exactly, never leave a sliver.
pub(super) fn fit(wanted: f64, remaining: f64) -> (f64, bool) {
    if wanted >= remaining * (1.0 - 1e-9) {
        (remaining, wanted > remaining)
    } else if 2.0 * wanted > remaining {
        (0.5 * remaining, true)
    } else {
        (wanted, false)
    }
}
