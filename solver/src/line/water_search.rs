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
//!
//! A search does not march: it says which section a lane marches next, and from where. So cases search alone and side by side.

use super::WaterRun;
use super::trip::Trip;
use super::water_root::{Ask, Known, MARCHES, RESIDUAL, Root};
use crate::case::error::Error;
use crate::case::{Case, Direction};
use crate::engine::{Bundle, Field, Row, View};
use crate::line::observe;

/// Share of the accuracy below which the steps are frozen.
const FREEZE: f64 = 0.01;

/// Most transfer units h A/(flow c_w) of water that runs against the product.
const MOST_UNITS: f64 = 100.0;

/// What a search wants of its lane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Order {
    /// To march through the next section; `watched`: this march counts, and is looked at.
    March { watched: bool },
    /// To bring its fields to the state that it was taken back to, and to ask again.
    Settle,
}

/// A lane at the entry of a section, to go back to.
#[derive(Debug)]
struct Kept<'a> {
    trip: Trip<'a>,
    state: Vec<f64>,
}

/// The way of one case through its sections, each with its water.
#[derive(Debug)]
pub(super) struct Search<'a> {
    /// Whether the lane marches through a section.
    under_way: bool,
    /// Whether marches count: not while the supplies from later sections are sought.
    counts: bool,
    /// Roots found before, of each section.
    known: Vec<Known>,
    /// The search at hand.
    at_root: Option<AtRoot<'a>>,
    /// The sections fed from later ones, and the search for their supplies once it has begun.
    fed: Vec<usize>,
    joint: Option<Joint<'a>>,
}

/// The search for the water of one section.
#[derive(Debug)]
struct AtRoot<'a> {
    root: Root,
    section: usize,
    before: Kept<'a>,
    /// Whether the lane has left the section's entry; whether it marches for the last time, and has done so.
    left: bool,
    last: bool,
}

/// The search for the supplies that come from later sections.
#[derive(Debug)]
struct Joint<'a> {
    before: Kept<'a>,
    /// Of each of these sections: supply and outlet of the march before.
    last: Vec<Option<[f64; 2]>>,
    marches: usize,
}

impl<'a> Search<'a> {
    /// Before the first section.
    pub(super) fn new(trip: &mut Trip<'a>) -> Search<'a> {
        let case = trip.of.case;
        let count = case.sections.len();
        if super::is_searched(case) {
            trip.keep_script();
        }
        let from_behind = |index: &usize| case.sections[*index].supply.is_some_and(|supply| supply > *index);
        Search {
            under_way: false,
            counts: true,
            known: vec![None; count],
            at_root: None,
            fed: (0..count).filter(from_behind).collect(),
            joint: None,
        }
    }

    /// What a lane does next that stands between two sections, its fields known; none at the end of the line.
    pub(super) fn next<R: Row>(
        &mut self,
        trip: &mut Trip<'a>,
        bundle: &mut Bundle<'a, R>,
        lane: usize,
    ) -> Result<Option<Order>, Error> {
        let case = trip.of.case;
        if let Some(at_root) = self.at_root.as_mut().filter(|_| self.under_way) {
            at_root.take(trip);
        }
        self.under_way = false;
        loop {
            if let Some(at_root) = &mut self.at_root {
                match at_root.next(trip, bundle, lane, self.counts)? {
                    Next::Lane(order) => {
                        self.under_way = order != Order::Settle;
                        return Ok(Some(order));
                    }
                    Next::Found(root) => self.known[at_root.section] = Some(root),
                }
                self.at_root = None;
            }
            let Some(section) = trip.next_section() else {
                let Some(joint) = self.joint.as_mut().filter(|_| !self.counts) else { return Ok(None) };
                self.counts = joint.closes(trip, &self.fed)?;
                joint.before.restore(trip, bundle, lane);
                return Ok(Some(Order::Settle));
            };
            // What comes before the first section fed from behind does not depend on the supplies sought.
            if self.joint.is_none() && self.fed.first() == Some(&section) {
                check_liquid(trip)?;
                let before = Kept::of(trip, View::new(bundle, lane));
                self.joint = Some(Joint { before, last: vec![None; self.fed.len()], marches: 0 });
                self.counts = false;
            }
            match case.sections[section].circulation.map(|water| water.direction) {
                None | Some(Direction::Along) => {
                    self.under_way = true;
                    return Ok(Some(Order::March { watched: self.counts }));
                }
                Some(Direction::Counter | Direction::Mixed) => {
                    let known = self.known[section];
                    self.at_root = Some(AtRoot::new(section, trip, View::new(bundle, lane), known)?);
                }
            }
        }
    }
}

/// What comes next in the search of one section.
enum Next {
    Lane(Order),
    /// The root and the slope of F there; the lane is behind the section, marched with it.
    Found([f64; 2]),
}

impl<'a> AtRoot<'a> {
    fn new<R: Row>(section: usize, trip: &mut Trip<'a>, view: View<R>, known: Known) -> Result<AtRoot<'a>, Error> {
        let supply = trip.supply(section);
        enough(trip, view, section, supply)?;
        let (frozen, close) = (is_frozen(trip), FREEZE * accuracy(trip));
        let root = Root { supply, known, frozen, close, marches: Vec::new() };
        Ok(AtRoot { root, section, before: Kept::of(trip, view), left: false, last: false })
    }

    /// Takes the march that is done.
    fn take(&mut self, trip: &Trip<'a>) {
        let passage = &trip.books.passages[self.section];
        self.left = true;
        if let Some(x) = trip.entries[self.section].filter(|_| !self.last) {
            self.root.take(x, passage.water.map_or(0.0, |water| water.rise(trip.of.case) * passage.heat_of_passes));
        }
    }

    fn next<R: Row>(
        &mut self,
        trip: &mut Trip<'a>,
        bundle: &mut Bundle<'a, R>,
        lane: usize,
        counts: bool,
    ) -> Result<Next, Error> {
        let product = || extremes(&self.before, self.root.supply);
        let (x, frozen, last) = match self.root.ask(product) {
            Ask::March { x, frozen } => (x, frozen, false),
            Ask::Found(root) if self.last || !counts => {
                freeze_steps(trip, self.root.frozen);
                return Ok(Next::Found(root));
            }
            // Once more, to be looked at.
            Ask::Found([x, _]) => (x, true, true),
            Ask::Open(residual) => {
                return Err(Error::WaterOpen { section: name(trip.of.case, self.section), residual });
            }
        };
        if std::mem::take(&mut self.left) {
            self.before.restore(trip, bundle, lane);
            return Ok(Next::Lane(Order::Settle));
        }
        freeze_steps(trip, frozen);
        (trip.entries[self.section], self.last) = (Some(x), last);
        Ok(Next::Lane(Order::March { watched: last }))
    }
}

impl<'a> Joint<'a> {
    /// Takes a march through the line; whether it closed. Otherwise the next one has supplies nearer to those sought.
    fn closes(&mut self, trip: &mut Trip<'a>, fed: &[usize]) -> Result<bool, Error> {
        let case = trip.of.case;
        let (mut residual, mut rise): (f64, f64) = (0.0, 0.0);
        let outlet = |index: usize| {
            let feeder = case.sections[index].supply.and_then(|feeder| trip.books.passages[feeder].water);
            feeder.map_or([trip.supplies[index]; 2], |water| [water.inlet, water.outlet])
        };
        let found: Vec<[f64; 2]> = fed.iter().map(|&index| outlet(index)).collect();
        for (&index, [inlet, outlet]) in fed.iter().zip(&found) {
            residual = residual.max((outlet - trip.supplies[index]).abs());
            rise = rise.max((outlet - inlet).abs());
        }
        if is_frozen(trip) && residual <= RESIDUAL[0] * rise + RESIDUAL[1] {
            return Ok(true);
        }
        self.marches += 1;
        if self.marches == MARCHES {
            return Err(Error::WaterOpen { section: name(case, fed[0]), residual });
        }
        let freeze = FREEZE * accuracy(trip);
        freeze_steps(trip, residual < freeze);
        for ((&index, &[_, outlet]), last) in fed.iter().zip(&found).zip(&mut self.last) {
            let supply = trip.supplies[index];
            // The slope of the outlet with the supply, from the last two marches; between 0 and 1 by the physics.
            let slope = last.map_or(0.0, |[before, then]| (outlet - then) / (supply - before));
            let slope = if slope.is_finite() { slope.clamp(0.0, 0.9) } else { 0.0 };
            *last = Some([supply, outlet]);
            trip.supplies[index] = supply + (outlet - supply) / (1.0 - slope);
        }
        Ok(false)
    }
}

impl<'a> Kept<'a> {
    fn of<R: Row>(trip: &Trip<'a>, view: View<R>) -> Kept<'a> {
        Kept { trip: trip.clone(), state: view.state() }
    }

    /// Takes a lane back to it, with the steps, supplies and entries that were found meanwhile.
    fn restore<R: Row>(&self, trip: &mut Trip<'a>, bundle: &mut Bundle<'a, R>, lane: usize) {
        trip.go_back(&self.trip);
        bundle.go_back(lane, &self.state);
    }
}

/// Water boils above 100 degC and freezes below 0: neither is in the model.
pub(crate) fn check_liquid(trip: &Trip) -> Result<(), Error> {
    for (section, passage) in trip.of.case.sections.iter().zip(&trip.books.passages) {
        if let Some(water) = passage.water
            && !water.is_liquid()
        {
            let section = section.name.clone();
            return Err(Error::WaterNotLiquid { section, outlet: water.outlet, flow: water.flow });
        }
    }
    Ok(())
}

/// Whether water running against the product is enough to be followed: a trickle has the product's temperature everywhere,
/// and its own would grow by e for every transfer unit on the way.
fn enough<R: Row>(trip: &Trip, view: View<R>, index: usize, supply: f64) -> Result<(), Error> {
    let of = &trip.of;
    let case = of.case;
    let section = &case.sections[index];
    let Some(water) = WaterRun::of(case, index, supply) else { return Ok(()) };
    let surface = section.surface(case.shape, case.line_speed, of.diameter()).in_medium(supply, 0.0, 0.0);
    let film = surface.film(view.surface(), 0.0, 0.0);
    let duration = section.length / case.line_speed;
    let units = -water.warming(case, index) * view.surface_square().sqrt() * film * duration;
    if units <= MOST_UNITS {
        return Ok(());
    }
    let needed = water.flow * units / MOST_UNITS;
    Err(Error::WaterTrickles { section: section.name.clone(), flow: water.flow, needed })
}

/// Hottest and coldest temperature of the product there, the supply's among them, degC.
fn extremes(at: &Kept, supply: f64) -> [f64; 2] {
    let of = &at.trip.of;
    let field = Field::of(&of.slice, &at.state);
    (0..of.case.layers.len())
        .map(|layer| observe::node_extremes(&of.slice, &field, layer))
        .fold([supply, supply], |[high, low], [hot, cold]| [high.max(hot), low.min(cold)])
}

/// The accuracy that the run aims at, K.
fn accuracy(trip: &Trip) -> f64 {
    trip.of.settings.step_tolerance / 20.0
}

/// Whether legs repeat their steps.
fn is_frozen(trip: &Trip) -> bool {
    trip.script.as_ref().is_some_and(|script| script.frozen)
}

/// Lets legs repeat their steps, or choose them anew.
fn freeze_steps(trip: &mut Trip, frozen: bool) {
    if let Some(script) = &mut trip.script {
        script.frozen = frozen;
    }
}

fn name(case: &Case, section: usize) -> String {
    case.sections[section].name.clone()
}
