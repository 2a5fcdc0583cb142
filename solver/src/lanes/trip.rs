//! The way of one case down the line in its lane: stops, steps, water, books.

use super::bundle::Bundle;
use super::prepare::Prepared;
use super::rows::Unknown;
use crate::line::{AFTER_KINK, BEFORE_REPORT, MAX_NODE_STEPS, Passage, SAME, Stop, WaterRun, fit};
use crate::march::around;
use crate::surface::Surface;

/// A case in a lane.
pub(super) struct Trip<'a> {
    pub(super) of: Box<Prepared<'a>>,
    /// Which leg, which of its stops comes next, time since its entry, s.
    leg: usize,
    next_stop: usize,
    time: f64,
    /// Of the leg: how long it takes, s. Of the next stop: when the clock must be there, s.
    duration: f64,
    target: f64,
    /// Its place from the leg's entry, m, and whether it is a kink.
    place: f64,
    kink: bool,
    speed: f64,
    /// The step wanted next, s; none before the first of a leg.
    wanted: Option<f64>,
    /// Whether the step at hand is shorter than wanted; whether the one before it was refused, or ended at a kink.
    cut: bool,
    rejected: bool,
    after_kink: bool,
    /// Accepted steps and attempts.
    pub(super) steps: usize,
    attempts: usize,
    /// Heat given off per radian at the entry of the section and of the leg, J/m.
    heat_of_section: f64,
    heat_of_leg: f64,
    heat_of_passes: f64,
    pub(super) passages: Vec<Passage>,
    last_water: Option<usize>,
    /// Highest enthalpy of the surface after the last water.
    pub(super) dry_peak: f64,
}

/// Where a case is after a step.
pub(super) enum Arrival {
    /// On its way.
    Under,
    /// At a station.
    Station(usize),
    /// At the end of a section.
    SectionEnd(usize),
    /// At the end of the line.
    LineEnd,
}

impl<'a> Trip<'a> {
    /// Enters the line.
    pub(super) fn start(of: Box<Prepared<'a>>, bundle: &mut Bundle<'a>, lane: usize) -> Trip<'a> {
        let last_water = of.case.sections.iter().rposition(|section| section.medium.is_water());
        let mut trip = Trip {
            leg: 0,
            next_stop: 0,
            time: 0.0,
            duration: 0.0,
            target: 0.0,
            place: 0.0,
            kink: false,
            speed: of.case.line_speed,
            wanted: None,
            cut: false,
            rejected: false,
            after_kink: false,
            steps: 0,
            attempts: 0,
            heat_of_section: 0.0,
            heat_of_leg: 0.0,
            heat_of_passes: 0.0,
            passages: Vec::with_capacity(of.case.sections.len()),
            last_water,
            dry_peak: f64::NEG_INFINITY,
            of,
        };
        let of = &mut *trip.of;
        bundle.fill(lane, &mut of.slice, &of.state);
        trip.enter(bundle, lane);
        trip
    }

    /// Heat given off so far per radian.
    fn heat(bundle: &Bundle, lane: usize) -> f64 {
        bundle.heat.state.0[lane]
    }

    /// Enters the present leg.
    fn enter(&mut self, bundle: &mut Bundle<'a>, lane: usize) {
        let case = self.of.case;
        let leg = self.of.itinerary.legs[self.leg].leg;
        let section = &case.sections[leg.section];
        let (shape, speed) = (case.shape, case.line_speed);
        let diameter = 2.0 * self.of.radii.hot[case.layers.len() - 1];
        let heat = Self::heat(bundle, lane);
        if self.passages.len() == leg.section {
            self.passages.push(Passage::default());
            (self.heat_of_section, self.heat_of_passes) = (heat, 0.0);
            self.passages[leg.section].water = self.water(leg.section);
        }
        self.heat_of_leg = heat;
        let surface = if leg.turn {
            Surface::turning(&section.turn, shape, speed, diameter)
        } else {
            let surface = Surface::new(section, shape, speed, diameter);
            match self.passages[leg.section].water {
                Some(water) => surface.in_medium(water.inlet, around(case) * speed / water.capacity, heat),
                None => surface,
            }
        };
        bundle.surround(lane, surface);
        if self.last_water.is_some_and(|last| leg.section > last) {
            bundle.lanes.dry |= 1 << lane;
        }
        (self.time, self.next_stop, self.wanted) = (0.0, 0, None);
        (self.cut, self.rejected, self.after_kink) = (false, false, false);
        bundle.ends.distance.0[lane] = 0.0;
        self.duration = leg.length / speed;
        self.aim();
    }

    /// Looks at the next stop.
    fn aim(&mut self) {
        let next = self.of.itinerary.legs[self.leg].stops.get(self.next_stop);
        (self.place, self.kink) = next.map_or((f64::NEG_INFINITY, false), |&(place, stop)| (place, stop == Stop::Kink));
        self.target = self.place / self.speed;
    }

    /// The water of a section that runs with the product.
    fn water(&self, index: usize) -> Option<WaterRun> {
        let case = self.of.case;
        let own = case.sections[index].circulation?;
        let head = &case.sections[case.water_head(index)];
        let flow = head.circulation.unwrap_or(own).flow.mass(head.temperature);
        let capacity = flow * crate::water::at(head.temperature.0).heat_capacity;
        let feeder = case.sections[index].supply.and_then(|feeder| self.passages[feeder].water);
        let inlet = feeder.map_or(head.temperature.0, |water| water.outlet);
        Some(WaterRun { flow, capacity, inlet, outlet: inlet })
    }

    /// Passes one stop that the last step reached, or says that there is none.
    pub(super) fn arrive(&mut self, bundle: &mut Bundle<'a>, lane: usize) -> Arrival {
        while self.target - self.time <= SAME * self.duration {
            let plan = &self.of.itinerary.legs[self.leg];
            let section = plan.leg.section;
            let Some(&(_, stop)) = plan.stops.get(self.next_stop) else {
                self.leave(bundle, lane);
                if self.leg + 1 == self.of.itinerary.legs.len() {
                    return Arrival::LineEnd;
                }
                self.leg += 1;
                self.enter(bundle, lane);
                continue;
            };
            self.next_stop += 1;
            self.aim();
            match stop {
                Stop::Station(index) => return Arrival::Station(index),
                Stop::End => return Arrival::SectionEnd(section),
                Stop::Kink => self.after_kink = true,
                Stop::Turn => {}
            }
        }
        Arrival::Under
    }

    /// Closes the books of a leg, and of its section with its last.
    fn leave(&mut self, bundle: &Bundle, lane: usize) {
        let case = self.of.case;
        let leg = self.of.itinerary.legs[self.leg].leg;
        let heat = Self::heat(bundle, lane);
        if !leg.turn {
            self.heat_of_passes += heat - self.heat_of_leg;
        }
        if leg.last {
            let section = &case.sections[leg.section];
            let passage = &mut self.passages[leg.section];
            passage.heat = heat - self.heat_of_section;
            passage.heat_of_passes = self.heat_of_passes;
            passage.film /= section.passes as f64 * section.length / case.line_speed;
            if let Some(water) = &mut passage.water {
                let rise = around(case) * case.line_speed / water.capacity;
                water.outlet = water.inlet + rise * passage.heat_of_passes;
            }
        }
    }

    /// Chooses the step and what it may err by; false where there is none to take.
    pub(super) fn plan(&mut self, bundle: &mut Bundle, lane: usize) -> bool {
        let duration = self.duration;
        let settings = &self.of.settings;
        let ends = &mut bundle.ends;
        let wanted = self.wanted.unwrap_or_else(|| {
            settings.fixed_step.unwrap_or_else(|| {
                let rate = ends.stiffness.0[lane];
                let slow = 0.5 / rate;
                if self.leg == 0 {
                    return slow.min(duration);
                }
                // After a change of film the surface follows sqrt(t): the step in which it moves three tolerances.
                let reach = 3.0 * settings.step_tolerance / ends.surface_rate.0[lane].abs();
                slow.max((2.0 * reach * reach * rate).min(duration / 5.0)).min(duration)
            })
        });
        let water = ends.water_slope.0[lane];
        let longest = if water < 0.0 { -0.5 / (crate::step::GAMMA * water) } else { f64::INFINITY };
        let remaining = self.target - self.time;
        let step;
        // Not `min`: a step that is no number must stay one.
        (step, self.cut) = fit(if wanted > longest { longest } else { wanted }, remaining);
        self.wanted = Some(wanted);
        self.attempts += 1;
        if step.is_nan() || step <= 1e-14 * duration || self.attempts > MAX_NODE_STEPS / self.of.slice.nodes() {
            return false;
        }
        let share = if self.after_kink {
            AFTER_KINK
        } else if step == remaining && !self.kink {
            BEFORE_REPORT
        } else {
            1.0
        };
        ends.step.0[lane] = step;
        ends.allowed.0[lane] = share * settings.step_tolerance;
        true
    }

    /// Judges the attempt: whether its state is taken. `film_means` where somebody asks for the means of films.
    pub(super) fn judge(&mut self, bundle: &mut Bundle, lane: usize, film_means: bool) -> bool {
        let (error, factor) = (bundle.ends.error.0[lane], bundle.ends.factor.0[lane]);
        let step = bundle.ends.step.0[lane];
        let free = self.of.settings.fixed_step.is_none();
        // An error that is no number refuses the step, too.
        let within = error <= 1.0;
        if free && !within {
            self.rejected = true;
            self.wanted = Some(step * factor.min(0.9));
            return false;
        }
        let (speed, target, before) = (self.speed, self.target, self.time);
        let landed = step == target - before;
        // On landing the distance is the stop's own, so that a film table is on the right side of its kink.
        let distance;
        (self.time, distance) = if landed { (target, self.place) } else { (before + step, (before + step) * speed) };
        if film_means {
            let leg = self.of.itinerary.legs[self.leg].leg;
            if !leg.turn {
                let mean = self.film_mean(bundle, lane, [before, self.time], speed);
                self.passages[leg.section].film += (self.time - before) * mean;
            }
        }
        bundle.ends.distance.0[lane] = distance;
        if bundle.lanes.dry >> lane & 1 == 1 {
            self.dry_peak = self.dry_peak.max(bundle.ends.peak.0[lane]);
        }
        if free {
            let growth = if self.rejected { factor.min(1.0) } else { factor };
            let wanted = self.wanted.unwrap_or(step);
            self.wanted = Some(if self.cut { wanted.max(step * growth) } else { step * growth });
        }
        (self.rejected, self.after_kink) = (false, false);
        self.steps += 1;
        true
    }

    /// Mean film coefficient of the attempt by Simpson's rule.
    fn film_mean(&self, bundle: &Bundle, lane: usize, [before, now]: [f64; 2], speed: f64) -> f64 {
        let Some(surface) = &bundle.lanes.surfaces[lane] else { return f64::NAN };
        if let Some(film) = surface.given() {
            return film;
        }
        let last = bundle.surface();
        let tables = &bundle.lanes.tables[lane];
        let table = &tables.tables[tables.of[bundle.structure.nodes() - 1]];
        let at = |theta: f64| {
            let temperature = table.temperature(inside(&last.unknown, lane, theta)).0.0;
            let distance = (before + theta * (now - before)) * speed;
            surface.film(temperature, inside(&bundle.heat, lane, theta), distance)
        };
        (at(0.0) + 4.0 * at(0.5) + at(1.0)) / 6.0
    }
}

/// Dense output of an unknown inside the attempt.
fn inside(unknown: &Unknown, lane: usize, theta: f64) -> f64 {
    let back = 1.0 - theta;
    let sum = |h: &[f64; 5]| h.iter().zip(&unknown.u).map(|(h, u)| h * u.0[lane]).sum::<f64>();
    let bent = sum(&crate::step::H1) + theta * sum(&crate::step::H2);
    back * unknown.state.0[lane] + theta * (unknown.fresh.0[lane] + back * bent)
}
