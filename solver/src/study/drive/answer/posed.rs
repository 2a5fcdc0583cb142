//! A case ready to be driven: its motions, its sizes, its water over time.

use super::judged::{Build, ends};
use super::{DriveError, Water};
use crate::case::error::Error;
use crate::case::shrink::{Radii, radii};
use crate::case::{CaseFile, Layer};
use crate::line::clock::Side;
use crate::line::programme::{Extruder, Motions};
use crate::line::waters::Waters;
use crate::maths::order::sort_by_number;
use crate::study::drive::load::Loads;
use crate::study::drive::tank::{self, Tank};
use crate::study::drive::{Driven, Method, Programme, Spoilt, drive};

/// A case ready to be driven: its motions, its sizes, its water over time.
pub(super) struct Posed {
    /// With its water held.
    pub(super) case: CaseFile,
    pub(super) motions: Motions,
    pub(super) sizes: Radii,
    pub(super) extruders: Vec<Extruder>,
    pub(super) tanks: Vec<Tank>,
    /// Temperature of each tank before the programme, degC.
    pub(super) before: Vec<f64>,
    /// Water that follows the load, or is frozen as it was before; none without a tank.
    pub(super) waters: Option<Waters>,
    /// Heat of each tank over time, where some follow it.
    pub(super) loads: Vec<Vec<Loads>>,
    pub(super) waves: usize,
    /// Stated error of the water, K.
    pub(super) error: f64,
}

impl Posed {
    /// Ready to be driven; water that follows the load is found with `care`, or as a search needs it.
    pub(super) fn new(case: &CaseFile, care: bool, watch: &(dyn Fn(usize) + Sync)) -> Result<Posed, DriveError> {
        let tanks = tank::tanks(case).map_err(DriveError::March)?;
        let case = if tanks.is_empty() { case.clone() } else { tank::held(case) };
        let motions = Motions::of(&case).map_err(DriveError::NotRecovered)?;
        let (sizes, extruders) = (sizes(&case)?, extruders(&case, &motions));
        let (waters, loads, waves, error) = (None, Vec::new(), 0, 0.0);
        let mut posed =
            Posed { case, motions, sizes, extruders, tanks, before: Vec::new(), waters, loads, waves, error };
        if !posed.tanks.is_empty() {
            posed.find_water(care, watch).map_err(DriveError::March)?;
        }
        Ok(posed)
    }

    /// Water as the line makes it: steady before the programme, then following the load where its volume is known.
    fn find_water(&mut self, care: bool, watch: &(dyn Fn(usize) + Sync)) -> Result<(), Error> {
        let Posed { case, tanks, motions, .. } = &*self;
        let (before, found) = self.with_programme(|programme| {
            let before = match case.programme.starts_empty {
                true => tanks.iter().map(|tank| tank.supply).collect(),
                false => tank::steady(programme, tanks, motions.clock.first_speed())?,
            };
            let follows = tanks.iter().any(|tank| tank.holds.is_some());
            let found = follows.then(|| tank::follow(programme, tanks, &before, care, watch)).transpose()?;
            Ok((before, found))
        })?;
        match found {
            Some(found) => {
                self.waters = Some(found.waters);
                (self.loads, self.waves, self.error) = (found.heat, found.waves, found.error);
            }
            None => {
                self.waters = Some(tank::constant(&self.case, &self.tanks, &before));
                self.error = 0.1 * tank::SHARE * self.case.tolerance;
            }
        }
        self.before = before;
        Ok(())
    }

    /// Its programme with all that it refers to.
    pub(super) fn with_programme<T>(&self, work: impl FnOnce(&Programme) -> T) -> T {
        let area = |layer: usize, time: f64, side: Side| self.extruders[layer].share_beside(time, side);
        let spoilt = spoilt(&self.motions, &self.extruders);
        let programme = programme_of(&self.case, &self.motions, &self.sizes, self.waters.as_ref());
        work(&Programme { area: &area, spoilt: &spoilt, ..programme })
    }

    /// Drives it to a tolerance, K, of which water that follows the load takes its share.
    pub(super) fn drive(
        &self,
        tolerance: f64,
        method: Method,
        watch: &(dyn Fn(usize) + Sync),
    ) -> Result<Driven, DriveError> {
        let own = if self.tanks.is_empty() { tolerance } else { (1.0 - tank::SHARE) * tolerance };
        let driven = self.with_programme(|programme| drive(&Programme { tolerance: own, ..*programme }, method, watch));
        let mut driven = driven.map_err(DriveError::March)?;
        if !self.tanks.is_empty() {
            driven.error += self.error;
            driven.met = driven.error <= tolerance;
        }
        Ok(driven)
    }

    pub(super) fn build<'a>(&'a self, driven: &'a Driven) -> Build<'a> {
        let Posed { case, motions, extruders, sizes, .. } = self;
        Build { case, motions, extruders, sizes, driven }
    }

    /// What is told of the water: its way over the programme, or both ends where its volume is not known.
    pub(super) fn told(&self, watch: &(dyn Fn(usize) + Sync)) -> Result<Vec<Water>, DriveError> {
        let mut told: Vec<Water> = Vec::new();
        for (number, tank) in self.tanks.iter().enumerate() {
            let section = &self.case.sections[tank.section];
            let over = self.waters.as_ref().and_then(|waters| waters.of(tank.section));
            let within = |node: &&[f64; 3]| (0.0..=self.motions.ends).contains(&node[0]);
            let nodes = || over.iter().flat_map(|over| over.nodes.iter().filter(within)).map(|node| [node[1], node[0]]);
            let start = [self.before[number], 0.0];
            let lowest = nodes().fold(start, |a, b| if b[0] < a[0] { b } else { a });
            let highest = nodes().fold(start, |a, b| if b[0] > a[0] { b } else { a });
            let loads = self.loads.get(number).filter(|_| tank.holds.is_some());
            let (books, more) = match (loads, over, tank.holds) {
                (Some(loads), Some(over), Some(holds)) => tank::books(tank, holds, self.before[number], over, loads),
                _ => (None, None),
            };
            told.push(Water {
                section: section.name.clone(),
                supply: tank.supply,
                before: self.before[number],
                residence_s: tank.holds.map(|holds| holds / tank.flow),
                lowest,
                highest,
                load_rise: more,
                books,
                ends: None,
                scrap_at_ends_m: None,
            });
        }
        if self.tanks.iter().any(|tank| tank.holds.is_none()) {
            self.both_ends(&mut told, watch)?;
        }
        Ok(told)
    }

    /// The programme driven with the water of its highest and of its lowest steady load.
    fn both_ends(&self, told: &mut [Water], watch: &(dyn Fn(usize) + Sync)) -> Result<(), DriveError> {
        let clock = &self.motions.clock;
        let lowest = if clock.standstills().iter().any(|stop| stop.to > stop.from) {
            0.0
        } else {
            clock.corners().iter().map(|&time| clock.speed(time)).fold(clock.first_speed(), f64::min)
        };
        let mut scrap = [0.0; 2];
        for (end, speed) in [lowest, clock.highest_speed()].into_iter().enumerate() {
            let water = self.with_programme(|programme| tank::steady(programme, &self.tanks, speed));
            let water = water.map_err(DriveError::March)?;
            let mut waters = tank::constant(&self.case, &self.tanks, &water);
            for tank in self.tanks.iter().filter(|tank| tank.holds.is_some()) {
                // What follows the load does so at both ends.
                waters.0[tank.section] = self.waters.as_ref().and_then(|waters| waters.of(tank.section)).cloned();
            }
            let at_end = Posed {
                case: self.case.clone(),
                motions: self.motions.clone(),
                sizes: self.sizes.clone(),
                extruders: self.extruders.clone(),
                tanks: self.tanks.clone(),
                before: self.before.clone(),
                waters: Some(waters),
                loads: Vec::new(),
                waves: 0,
                error: self.error,
            };
            let driven = at_end.drive(self.case.tolerance, Method::default(), watch)?;
            scrap[end] = at_end.build(&driven).judged(false).scrap_m;
            for number in (0..self.tanks.len()).filter(|&number| self.tanks[number].holds.is_none()) {
                told[number].ends.get_or_insert([f64::NAN; 2])[end] = water[number];
            }
        }
        for water in told.iter_mut().filter(|water| water.ends.is_some()) {
            water.scrap_at_ends_m = Some(scrap);
        }
        Ok(())
    }
}

/// The output of every layer.
pub(super) fn extruders(case: &CaseFile, motions: &Motions) -> Vec<Extruder> {
    let of = |layer: &Layer| Extruder::new(layer.feed.output, &motions.clock, case.line_speed);
    case.layers.iter().map(of).collect()
}

/// A case on its programme, with sizes as at its speed at every moment, and nothing spoilt.
pub(super) fn programme_of<'a>(
    case: &'a CaseFile,
    motions: &'a Motions,
    radii: &'a Radii,
    waters: Option<&'a Waters>,
) -> Programme<'a> {
    let [first, last] = ends(case, motions);
    Programme {
        case,
        radii,
        clock: &motions.clock,
        area: &|_, _, _| 1.0,
        spoilt: &[],
        first,
        last,
        end: motions.ends,
        tolerance: case.tolerance,
        waters,
    }
}

/// Sizes at the case's line speed.
pub(super) fn sizes(case: &CaseFile) -> Result<Radii, DriveError> {
    radii(case).map_err(|index| {
        let place = format!("layer {:?}", case.layer_name(index));
        DriveError::March(Error::Unphysical { place, reason: "has no wall".to_string() })
    })
}

/// Lumps and bare spots by product length, each length once: the first layer's word counts.
fn spoilt(motions: &Motions, extruders: &[Extruder]) -> Vec<([f64; 2], Spoilt)> {
    let mut found: Vec<([f64; 2], Spoilt)> = Vec::new();
    for extruder in extruders {
        for (times, lump) in extruder.spoilt(0.0, motions.ends) {
            let [from, to] = times.map(|time| motions.clock.travelled(time));
            let kind = if lump { Spoilt::Lump } else { Spoilt::Bare };
            // What another layer has spoilt already is left out.
            let mut from = from;
            let mut inside: Vec<[f64; 2]> = found.iter().map(|(span, _)| *span).collect();
            sort_by_number(&mut inside, |span| span[0]);
            for [low, high] in inside {
                if high <= from || low >= to {
                    continue;
                }
                if low > from {
                    found.push(([from, low], kind));
                }
                from = from.max(high);
            }
            if to > from {
                found.push(([from, to], kind));
            }
        }
    }
    sort_by_number(&mut found, |(span, _)| span[0]);
    found
}
