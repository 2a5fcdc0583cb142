//! A rank as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};

use super::{Effect, Rank, Target};
use crate::data::{ByName, Data, InUnit};
use crate::march::solution::{Cooling, LimitedBy};
use crate::units::Dimension;

/// Unit of a change, in UDUNITS spelling.
fn change_unit(of: Dimension) -> &'static str {
    if of == Dimension::Temperature { "K" } else { of.udunits() }
}

/// A unit at the end of a name.
fn named(unit: &str) -> String {
    unit.replace("-1", "").replace(' ', "_")
}

impl Rank {
    /// Changes of those targets that measure this; not numbers for the others.
    fn changes_of(&self, effect: &Effect, kind: Dimension) -> Vec<f64> {
        let targets = self.targets.iter().zip(&effect.changes);
        targets.map(|(target, &change)| if target.dimension == kind { change } else { f64::NAN }).collect()
    }

    /// Unit of what a tenth more does to the deciding target.
    fn per_tenth(&self) -> String {
        named(self.targets.get(self.deciding).map_or("K", |target| change_unit(target.dimension)))
    }

    /// What searches and drives tell of, each dimension once.
    fn besides(&self) -> Vec<Dimension> {
        let mut found: Vec<Dimension> = Vec::new();
        for target in &self.targets {
            let other = !matches!(target.dimension, Dimension::Temperature | Dimension::Share);
            if other && !found.contains(&target.dimension) {
                found.push(target.dimension);
            }
        }
        found
    }

    /// Whether a melt shrink is among the targets.
    fn has_shares(&self) -> bool {
        self.targets.iter().any(|target| target.dimension == Dimension::Share)
    }

    /// Along the targets, the numbers of the case, its uncertain inputs.
    pub fn data(&self) -> Data {
        let mut data = Data::with_cautions(&self.cautions);
        let ([film, plastic], per_tenth) = (self.film_and_plastic, self.per_tenth());
        let deciding = self.targets.get(self.deciding).map_or(String::new(), |target| target.name.clone());
        data.text("deciding", deciding)
            .text("no_length", self.length.as_ref().err().cloned())
            .number("coldest_medium_degC", self.coldest)
            .number(&format!("film_per_tenth_{per_tenth}"), film)
            .number(&format!("plastic_per_tenth_{per_tenth}"), plastic)
            .number("needed_length_m", self.length.as_ref().ok().copied());
        let target =
            data.names("target", "the temperature that is ranked", self.targets.iter().map(|target| &target.name));
        let limit: fn(&Target) -> f64 = |target| target.limit.unwrap_or(f64::NAN);
        let value: fn(&Target) -> f64 = |target| target.value;
        let mut told = vec![
            ("target_value", "degC", "its value", Dimension::Temperature, value),
            ("target_limit", "degC", "its limit", Dimension::Temperature, limit),
        ];
        if self.has_shares() {
            told.push(("target_melt_shrink", "percent", "its melt shrink", Dimension::Share, value));
            told.push(("target_melt_shrink_limit", "percent", "its limit", Dimension::Share, limit));
        }
        for kind in self.besides() {
            let one = |target: &Target| if target.dimension == kind { target.value } else { f64::NAN };
            let values = self.targets.iter().map(one).collect();
            let name = format!("target_{}", named(kind.udunits()));
            data.numbers(&name, kind.udunits(), "its value", &[target], values);
        }
        for (name, units, words, kind, value) in told {
            let one = |target: &Target| if target.dimension == kind { value(target) } else { f64::NAN };
            data.numbers(name, units, words, &[target], self.targets.iter().map(one).collect());
        }
        for (kind, words, effects, per) in [
            ("number", "number of the case", &self.numbers, "per 10 % or 10 K more"),
            ("uncertain", "uncertain input", &self.uncertain, "per standard value more"),
        ] {
            if effects.is_empty() {
                continue;
            }
            let axis = data.names(kind, words, effects.iter().map(|effect| &effect.input));
            let changes = |kind| effects.iter().flat_map(|effect| self.changes_of(effect, kind)).collect();
            let lengths = effects.iter().map(|effect| effect.length.unwrap_or(f64::NAN)).collect();
            let words = format!("change of the needed trough {per}");
            data.numbers(&format!("{kind}_length_change"), "m", &words, &[axis], lengths);
            let words = format!("change of the temperature {per}");
            data.numbers(&format!("{kind}_change"), "K", &words, &[axis, target], changes(Dimension::Temperature));
            if self.has_shares() {
                let (words, name) = (format!("change of the melt shrink {per}"), format!("{kind}_melt_shrink_change"));
                data.numbers(&name, "percent", &words, &[axis, target], changes(Dimension::Share));
            }
            for of in self.besides() {
                let (words, name) = (format!("change {per}"), format!("{kind}_change_{}", named(of.udunits())));
                data.numbers(&name, of.udunits(), &words, &[axis, target], changes(of));
            }
            if kind == "number" {
                let of = |effect: &Effect| -> Vec<f64> {
                    effect.elasticity.iter().map(|value| value.unwrap_or(f64::NAN)).collect()
                };
                let words = "relative change of the temperature above the coldest medium over that of the number";
                data.numbers("number_elasticity", "1", words, &[axis, target], effects.iter().flat_map(of).collect());
            }
        }
        data
    }
}

/// SI with the unit in the key.
#[derive(Serialize)]
struct Told<'a> {
    targets: &'a [Target],
    deciding: Option<&'a str>,
    needed_length_m: Option<f64>,
    no_length: Option<&'a str>,
    growing_sections: &'a [String],
    #[serde(rename = "coldest_medium_degC")]
    coldest: f64,
    limited_by: Option<LimitedBy>,
    cooling: Option<&'a Cooling>,
    numbers: Vec<Changes<'a>>,
    uncertain: Vec<Changes<'a>>,
    usual_bands: bool,
    #[serde(rename = "noise_K")]
    noise: f64,
    #[serde(flatten)]
    per_tenth: InUnit,
    solves: usize,
    wall_s: f64,
    cautions: &'a [String],
}

/// Changes of a melt shrink stand beside those of temperatures, which are null there.
#[derive(Serialize)]
struct Changes<'a> {
    #[serde(flatten)]
    effect: &'a Effect,
    #[serde(rename = "changes_K")]
    of_temperatures: Vec<f64>,
    #[serde(rename = "changes_percent", skip_serializing_if = "Option::is_none")]
    of_shares: Option<Vec<f64>>,
    /// By the unit: of what searches and drives tell.
    #[serde(flatten)]
    besides: ByName<String, Vec<f64>>,
}

impl Rank {
    fn of_kind(&self, effect: &Effect, kind: Dimension) -> (String, Vec<f64>) {
        (format!("changes_{}", named(kind.udunits())), self.changes_of(effect, kind))
    }

    fn told<'a>(&self, effects: &'a [Effect]) -> Vec<Changes<'a>> {
        let one = |effect| Changes {
            effect,
            of_temperatures: self.changes_of(effect, Dimension::Temperature),
            of_shares: self.has_shares().then(|| self.changes_of(effect, Dimension::Share)),
            besides: self.besides().into_iter().map(|kind| self.of_kind(effect, kind)).collect(),
        };
        effects.iter().map(one).collect()
    }
}

impl Serialize for Target {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Told<'a> {
            name: &'a str,
            #[serde(flatten)]
            numbers: InUnit,
        }
        let numbers = [("value", self.value), ("limit", self.limit.unwrap_or(f64::NAN))];
        Told { name: &self.name, numbers: InUnit::of(&named(self.dimension.udunits()), &numbers) }.serialize(serializer)
    }
}

impl Serialize for Rank {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let [film, plastic] = self.film_and_plastic;
        let told = Told {
            targets: &self.targets,
            deciding: self.targets.get(self.deciding).map(|target| target.name.as_str()),
            needed_length_m: self.length.as_ref().ok().copied(),
            no_length: self.length.as_ref().err().map(String::as_str),
            growing_sections: &self.sections,
            coldest: self.coldest,
            limited_by: self.cooling.as_ref().map(|cooling| cooling.now.limited_by),
            cooling: self.cooling.as_ref(),
            numbers: self.told(&self.numbers),
            uncertain: self.told(&self.uncertain),
            usual_bands: self.usual,
            noise: self.noise,
            per_tenth: InUnit::of(&self.per_tenth(), &[("film_per_tenth", film), ("plastic_per_tenth", plastic)]),
            solves: self.solves,
            wall_s: self.wall,
            cautions: &self.cautions,
        };
        told.serialize(serializer)
    }
}
