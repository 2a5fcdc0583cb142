//! Ceilings: everything that must not be exceeded, as one list: temperature limits at stations, then what layers bear and what
//! the plant allows.

use crate::case::{Case, CaseFile, Quantity};
use crate::march::output::Output;
use crate::march::skins;
use crate::march::solution::Solution;
use crate::material::Kind;
use crate::units::Dimension;
use crate::units::words::key;

/// One thing that must not be exceeded.
#[derive(Clone, Debug, PartialEq)]
pub struct Ceiling {
    /// What it is the ceiling of.
    pub what: What,
    /// Its name: an output for a temperature at a station (`capstan.core`), a key path for the plant (`plant.chiller_max`).
    pub name: String,
    /// Which temperature of a station it is of, in words: "core", "hottest point of jacket"; empty for the plant.
    pub temperature: String,
    /// Key path of its height in the case file.
    pub path: String,
    /// The highest that is allowed, SI (temperatures degC).
    pub max: f64,
}

/// What a ceiling is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A temperature of the product at the station of this index.
    Temperature(usize, Quantity),
    /// The shrink of the melt under the set skin of the layer of this index.
    MeltShrink(usize),
    /// All plastic together.
    Compound,
    /// The heat that all water takes up.
    Chiller,
    /// The water that leaves the section of this index.
    WaterOut(usize),
    /// The floor that the line stands on.
    Hall,
}

impl Ceiling {
    /// Its value in a solution of a case, SI.
    pub fn value(&self, case: &CaseFile, solution: &Solution) -> f64 {
        match self.what {
            What::Temperature(station, quantity) => {
                solution.stations.get(station).map_or(f64::NAN, |station| station.point.quantity(quantity))
            }
            What::MeltShrink(layer) => {
                let name = case.layers.get(layer).map_or("", |layer| layer.name.as_str());
                skins::melt_shrink(solution, name).unwrap_or_else(|| skins::all_melt_shrink(case, layer))
            }
            What::Compound => {
                let flows = case.layers.iter().zip(&solution.throughput);
                let plastic = flows.filter(|(layer, _)| layer.material.kind == Kind::Plastic);
                plastic.map(|(_, flow)| flow.kg_per_h).sum::<f64>() / 3600.0
            }
            What::Chiller => solution.chiller_duty,
            What::WaterOut(section) => {
                solution.sections.get(section).and_then(|section| section.water_out).unwrap_or(f64::NAN)
            }
            What::Hall => case.floor_length(),
        }
    }

    /// The output that it is a ceiling of; none of what the plant allows.
    pub(crate) fn output(&self, case: &Case) -> Option<Output> {
        match self.what {
            What::Temperature(station, quantity) => Some(Output::temperature_of(case, station, quantity)),
            What::MeltShrink(layer) => case.layers.get(layer).map(Output::melt_shrink_of),
            What::Compound | What::Chiller | What::WaterOut(_) | What::Hall => None,
        }
    }

    /// By how much its value exceeds it: met at or below zero.
    pub fn excess(&self, case: &CaseFile, solution: &Solution) -> f64 {
        self.value(case, solution) - self.max
    }

    /// What it measures.
    pub fn dimension(&self) -> Dimension {
        match self.what {
            What::Temperature(..) | What::WaterOut(_) => Dimension::Temperature,
            What::MeltShrink(_) => Dimension::Share,
            What::Compound => Dimension::MassFlow,
            What::Chiller => Dimension::Power,
            What::Hall => Dimension::Length,
        }
    }
}

/// The temperature limits of all stations.
pub fn limits(case: &CaseFile) -> Vec<Ceiling> {
    let of_station = |(index, station): (usize, &crate::case::Station)| {
        let judged = |limit: &crate::case::Limit| limit.quantity.judged(case);
        let ceiling = |limit: &crate::case::Limit| Ceiling {
            what: What::Temperature(index, judged(limit)),
            name: format!("{}.{}", key(&station.name), judged(limit).name(case)),
            temperature: judged(limit).words(case),
            path: format!("station.{}.{}", key(&station.name), limit.quantity.limit(case)),
            max: limit.max.0,
        };
        station.limits.iter().map(ceiling).collect::<Vec<_>>()
    };
    case.stations.iter().enumerate().flat_map(of_station).collect()
}

/// What the layers bear: the melt's shrink under a set skin, where the case limits it.
pub fn of_layers(case: &CaseFile) -> Vec<Ceiling> {
    let layers = case.layers.iter().enumerate();
    let ceiling = |(index, layer): (usize, &crate::case::Layer)| {
        let name = format!("{}.melt_shrink", key(&layer.name));
        let path = format!("layer.{}.melt_shrink_max", key(&layer.name));
        let what = What::MeltShrink(index);
        layer.melt_shrink_max.map(|max| Ceiling { what, name, temperature: String::new(), path, max })
    };
    layers.filter_map(ceiling).collect()
}

/// What the product must keep on its way, wherever the plant stands: temperature limits, then what the layers bear.
pub fn of_product(case: &CaseFile) -> Vec<Ceiling> {
    limits(case).into_iter().chain(of_layers(case)).collect()
}

/// Everything: of the product, then of the plant.
pub fn all(case: &CaseFile) -> Vec<Ceiling> {
    of_product(case).into_iter().chain(of_plant(case)).collect()
}

/// By how much the worst ceiling of the product is exceeded, K or percent of melt shrink; none without any.
pub fn worst(case: &CaseFile, solution: &Solution) -> Option<f64> {
    of_product(case).iter().map(|ceiling| ceiling.excess(case, solution)).reduce(f64::max)
}

/// What the plant allows; of water only where a section has a flow.
pub fn of_plant(case: &CaseFile) -> Vec<Ceiling> {
    let plant = &case.plant;
    let ceiling = |what, name: &str, max| {
        let path = format!("plant.{name}");
        Ceiling { what, name: path.clone(), temperature: String::new(), path, max }
    };
    let mut ceilings = Vec::new();
    ceilings.extend(plant.compound_max.map(|max| ceiling(What::Compound, "compound_max", max)));
    ceilings.extend(plant.chiller_max.map(|max| ceiling(What::Chiller, "chiller_max", max)));
    if let Some(max) = plant.water_out_max {
        let flows = case.sections.iter().enumerate().filter(|(_, section)| section.circulation.is_some());
        ceilings.extend(flows.map(|(index, section)| Ceiling {
            what: What::WaterOut(index),
            name: format!("{}.water_out", key(&section.name)),
            temperature: String::new(),
            path: "plant.water_out_max".to_string(),
            max: max.0,
        }));
    }
    ceilings.extend(plant.hall_max.map(|max| ceiling(What::Hall, "hall_max", max)));
    ceilings
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::march::march_by_rule;

    /// A line so fast that no skin sets leaves all of the melt's shrink, which no skin exceeds.
    #[test]
    fn a_skin_that_does_not_set_leaves_everything_to_lose() {
        let mut case = crate::file::read(include_str!("../../../../cases/thick-pe-core.toml")).unwrap();
        case.layers[1].melt_shrink_max = Some(10.0);
        let [ceiling] = &of_layers(&case)[..] else { panic!() };
        let slow = ceiling.value(&case, &march_by_rule(&case).unwrap());
        case.line_speed = 60.0;
        let solution = march_by_rule(&case).unwrap();
        assert_eq!(solution.skins[0].melt_shrink, None);
        assert!(slow > 10.0 && ceiling.value(&case, &solution) > slow, "{slow}");
        case.layers[1].temperature = crate::case::DieTemperature::Fixed(crate::units::Celsius(60.0));
        assert_eq!(ceiling.value(&case, &march_by_rule(&case).unwrap()), 0.0);
    }
}
