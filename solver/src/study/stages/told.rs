//! The best trough and all that is told of it: as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};

use super::{Front, FrontPoint, Grid, Neighbour, Requirement, Setting, Staged};
use crate::case::Aim;
use crate::case::cautions::cautions;
use crate::data::{ByName, Data};
use crate::march::solution::{SetThrough, Skin};
use crate::study::search::told::{beside, finite};

/// The unit of an aim in SI, in the spelling of UDUNITS.
fn aim_unit(aim: Aim) -> &'static str {
    match aim {
        Aim::Fastest => "m s-1",
        Aim::Shortest => "m",
        Aim::LeastVoid => "percent",
        Aim::Cheapest => "s-1",
    }
}

impl Staged {
    /// Along the numbers, along the requirements, along the front.
    pub fn data(&self) -> Data {
        let mut data = Data::with_cautions(&cautions(&self.after.case));
        data.text("aim", self.aim.word().to_string())
            .text("aim_unit", aim_unit(self.aim).to_string())
            .text(
                "front_requirement",
                self.front.as_ref().map(|front| self.requirements[front.requirement].name.clone()),
            )
            .number("aim_after", self.after.told.aim)
            .number("aim_before", self.before.as_ref().map(|before| before.told.aim))
            .number("aim_unfavourable", self.unfavourable)
            .number("evaluations", self.evaluations as f64)
            .number("grid_better_by", self.grid.as_ref().and_then(|grid| finite(grid.by)));
        let before = |value: fn(&Setting) -> &Vec<f64>, count: usize| {
            self.before.as_ref().map_or(vec![f64::NAN; count], |before| value(before).clone())
        };
        let (numbers, requirements) = (&self.numbers, &self.requirements);
        let paths = numbers.iter().map(|number| number.variable.path.clone());
        let number = data.names("number", "numbers that were set, by key path", paths);
        data.texts("number_units", "unit of the numbers", number, numbers.iter().map(|number| number.variable.units()));
        let in_units = |what: &str| format!("{what}, in number_units");
        for (name, words, values) in [
            (
                "lowest",
                in_units("lowest value that may be set"),
                numbers.iter().map(|number| number.bounds[0]).collect(),
            ),
            (
                "highest",
                in_units("highest value that may be set"),
                numbers.iter().map(|number| number.bounds[1]).collect(),
            ),
            ("before", in_units("as the case has it"), before(|setting| &setting.values, numbers.len())),
            ("after", in_units("of the best setting"), self.after.values.clone()),
        ] {
            data.numbers(name, "1", &words, &[number], values);
        }
        let names = requirements.iter().map(|requirement| requirement.name.clone());
        let requirement = data.names("requirement", "what must hold", names);
        let units = requirements.iter().map(|requirement| requirement.dimension().udunits());
        data.texts("requirement_units", "unit of the requirements", requirement, units);
        let each = |value: fn(&Requirement) -> f64| requirements.iter().map(value).collect::<Vec<f64>>();
        for (name, words, values) in [
            ("requirement_max", "the most that is allowed, in requirement_units", each(|of| of.max)),
            ("requirement_margin", "what must be to spare below that, in requirement_units", each(|of| of.margin)),
            ("requirement_band", "what the band keeps to spare besides, in requirement_units", self.band.clone()),
            (
                "requirement_before",
                "value as the case is, in requirement_units",
                before(|setting| &setting.told.values, requirements.len()),
            ),
            ("requirement_after", "value of the best setting, in requirement_units", self.after.told.values.clone()),
        ] {
            data.numbers(name, "1", words, &[requirement], values);
        }
        if let Some(front) = &self.front {
            let traded = &requirements[front.requirement];
            let limits = front.points.iter().map(|point| point.limit).collect();
            let words = format!("the most that {} may be", traded.name);
            let along = data.scale("front", traded.dimension().udunits(), &words, limits);
            let aims = front.points.iter().map(|point| point.aim).collect();
            data.numbers("front_aim", aim_unit(self.aim), "best aim with that limit", &[along], aims);
            let values = front.points.iter().flat_map(|point| point.values.clone()).collect();
            data.numbers("front_number", "1", "the numbers there, in number_units", &[along, number], values);
        }
        data
    }
}

/// Something of every number, by its key path.
type ByPath<'a, T> = ByName<&'a str, T>;

/// What was asked and found, SI; absent numbers are null.
#[derive(Serialize)]
struct Answer<'a> {
    aim: &'static str,
    unit: &'static str,
    units: ByPath<'a, &'static str>,
    bounds: ByPath<'a, [f64; 2]>,
    before: Option<Set<'a>>,
    after: Found<'a>,
    unfavourable: Option<f64>,
    today_as_good: bool,
    requirements: Vec<Required<'a>>,
    binding: Vec<&'a str>,
    on_bound: Vec<OnBound<'a>>,
    neighbours: Vec<Aside<'a>>,
    front: Option<Traded<'a>>,
    evaluations: usize,
    checked: Option<Checked<'a>>,
}

#[derive(Serialize)]
struct Set<'a> {
    aim: f64,
    numbers: ByPath<'a, f64>,
    holds: bool,
    #[serde(rename = "chiller_duty_W")]
    chiller_duty: f64,
    #[serde(rename = "heating_W")]
    heating: f64,
    skins: &'a [Skin],
    set_through: &'a [SetThrough],
    left_to_set: Vec<Left<'a>>,
}

#[derive(Serialize)]
struct Left<'a> {
    layer: &'a str,
    percent: f64,
}

#[derive(Serialize)]
struct Found<'a> {
    #[serde(flatten)]
    set: Set<'a>,
    printed: ByPath<'a, &'a str>,
}

#[derive(Serialize)]
struct Required<'a> {
    name: &'a str,
    unit: &'static str,
    max: f64,
    margin: f64,
    band: f64,
    before: Option<f64>,
    after: f64,
}

#[derive(Serialize)]
struct OnBound<'a> {
    number: &'a str,
    bound: &'static str,
}

#[derive(Serialize)]
struct Aside<'a> {
    number: &'a str,
    by: f64,
    aim_change: f64,
    changes: ByName<&'a str, f64>,
    holds: bool,
    better: bool,
    missed: Option<&'a str>,
}

#[derive(Serialize)]
struct Traded<'a> {
    requirement: &'a str,
    points: Vec<AtLimit<'a>>,
    today: Option<[f64; 2]>,
    answer: [f64; 2],
}

#[derive(Serialize)]
struct AtLimit<'a> {
    limit: f64,
    aim: f64,
    numbers: ByPath<'a, f64>,
}

#[derive(Serialize)]
struct Checked<'a> {
    places: usize,
    held: usize,
    best: Option<f64>,
    numbers: ByPath<'a, f64>,
    better_by: f64,
    withdrawn: bool,
}

impl Staged {
    fn by_path<T>(&self, of_numbers: impl IntoIterator<Item = T>) -> ByPath<'_, T> {
        self.numbers.iter().map(|number| number.variable.path.as_str()).zip(of_numbers).collect()
    }

    fn set<'a>(&'a self, setting: &'a Setting) -> Set<'a> {
        let left = |(layer, percent): (&'a str, f64)| Left { layer, percent };
        Set {
            aim: setting.told.aim,
            numbers: self.by_path(setting.values.iter().copied()),
            holds: self.holds(setting),
            chiller_duty: setting.solution.chiller_duty,
            heating: setting.heating(),
            skins: &setting.solution.skins,
            set_through: &setting.solution.set_through,
            left_to_set: setting.left_to_set().into_iter().map(left).collect(),
        }
    }

    fn required(&self, index: usize) -> Required<'_> {
        let requirement = &self.requirements[index];
        Required {
            name: &requirement.name,
            unit: requirement.dimension().udunits(),
            max: requirement.max,
            margin: requirement.margin,
            band: self.band[index],
            before: self.before.as_ref().map(|before| before.told.values[index]),
            after: self.after.told.values[index],
        }
    }

    fn neighbour(&self, neighbour: &Neighbour) -> Aside<'_> {
        let names = self.requirements.iter().map(|requirement| requirement.name.as_str());
        Aside {
            number: &self.numbers[neighbour.number].variable.path,
            by: neighbour.by,
            aim_change: neighbour.change.aim,
            changes: names.zip(neighbour.change.values.iter().copied()).collect(),
            holds: neighbour.holds,
            better: neighbour.better,
            missed: neighbour.missed.map(|which| self.requirements[which].name.as_str()),
        }
    }

    fn traded(&self, front: &Front) -> Traded<'_> {
        let point = |of: &FrontPoint| AtLimit {
            limit: of.limit,
            aim: of.aim,
            numbers: self.by_path(of.values.iter().copied()),
        };
        Traded {
            requirement: &self.requirements[front.requirement].name,
            points: front.points.iter().map(point).collect(),
            today: front.today,
            answer: front.answer,
        }
    }

    fn checked(&self, grid: &Grid) -> Checked<'_> {
        Checked {
            places: grid.places,
            held: grid.held,
            best: grid.best,
            numbers: self.by_path(grid.values.iter().copied()),
            better_by: grid.by,
            withdrawn: grid.better(),
        }
    }
}

/// That of a run at the best setting, and under `stages` what was asked.
impl Serialize for Staged {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let on_bound = |&(number, high): &(usize, bool)| OnBound {
            number: &self.numbers[number].variable.path,
            bound: if high { "high" } else { "low" },
        };
        let told = Answer {
            aim: self.aim.word(),
            unit: aim_unit(self.aim),
            units: self.by_path(self.numbers.iter().map(|number| number.variable.units())),
            bounds: self.by_path(self.numbers.iter().map(|number| number.bounds)),
            before: self.before.as_ref().map(|before| self.set(before)),
            after: Found { set: self.set(&self.after), printed: self.by_path(self.printed.iter().map(String::as_str)) },
            unfavourable: self.unfavourable,
            today_as_good: self.as_good(),
            requirements: (0..self.requirements.len()).map(|index| self.required(index)).collect(),
            binding: self.binding.iter().map(|&which| self.requirements[which].name.as_str()).collect(),
            on_bound: self.on_bound.iter().map(on_bound).collect(),
            neighbours: self.neighbours.iter().map(|of| self.neighbour(of)).collect(),
            front: self.front.as_ref().map(|front| self.traded(front)),
            evaluations: self.evaluations,
            checked: self.grid.as_ref().map(|grid| self.checked(grid)),
        };
        beside(&self.after.case, Some(&self.after.solution), "stages", told).serialize(serializer)
    }
}
