//! The best trough and all that is told of it: as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};
use serde_json::{Map, Value, json};

use super::{FrontPoint, Neighbour, Number, Requirement, Setting, Staged};
use crate::case::Aim;
use crate::case::cautions::cautions;
use crate::data::Data;
use crate::march::output::udunits;
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

fn unit(number: &Number) -> &'static str {
    number.variable.dimension.map_or("1", udunits)
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
        data.texts("number_units", "unit of the numbers", number, numbers.iter().map(unit));
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
        let units = requirements.iter().map(|requirement| udunits(requirement.dimension()));
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
            let along = data.scale("front", udunits(traded.dimension()), &words, limits);
            let aims = front.points.iter().map(|point| point.aim).collect();
            data.numbers("front_aim", aim_unit(self.aim), "best aim with that limit", &[along], aims);
            let values = front.points.iter().flat_map(|point| point.values.clone()).collect();
            data.numbers("front_number", "1", "the numbers there, in number_units", &[along, number], values);
        }
        data
    }

    fn by_path(&self, values: &[f64]) -> Map<String, Value> {
        self.numbers.iter().zip(values).map(|(number, value)| (number.variable.path.clone(), json!(value))).collect()
    }

    fn setting(&self, setting: &Setting) -> Value {
        let left = |(layer, percent): (&str, f64)| json!({ "layer": layer, "percent": percent });
        json!({
            "aim": setting.told.aim,
            "numbers": self.by_path(&setting.values),
            "holds": self.holds(setting),
            "chiller_duty_W": setting.solution.chiller_duty,
            "heating_W": setting.heating(),
            "skins": setting.solution.skins,
            "set_through": setting.solution.set_through,
            "left_to_set": setting.left_to_set().into_iter().map(left).collect::<Value>(),
        })
    }

    fn requirement(&self, index: usize) -> Value {
        let requirement = &self.requirements[index];
        json!({
            "name": requirement.name,
            "unit": udunits(requirement.dimension()),
            "max": requirement.max,
            "margin": requirement.margin,
            "band": self.band[index],
            "before": self.before.as_ref().and_then(|before| finite(before.told.values[index])),
            "after": finite(self.after.told.values[index]),
        })
    }

    fn neighbour(&self, neighbour: &Neighbour) -> Value {
        let change = |(requirement, change): (&Requirement, &f64)| (requirement.name.clone(), json!(finite(*change)));
        json!({
            "number": self.numbers[neighbour.number].variable.path,
            "by": neighbour.by,
            "aim_change": neighbour.change.aim,
            "changes": self.requirements.iter().zip(&neighbour.change.values).map(change).collect::<Map<String, Value>>(),
            "holds": neighbour.holds,
            "better": neighbour.better,
            "missed": neighbour.missed.map(|which| &self.requirements[which].name),
        })
    }
}

/// That of a run at the best setting, and under `stages` what was asked.
impl Serialize for Staged {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let of_numbers = |value: &dyn Fn(usize) -> Value| -> Map<String, Value> {
            (0..self.numbers.len()).map(|index| (self.numbers[index].variable.path.clone(), value(index))).collect()
        };
        let mut after = self.setting(&self.after);
        after["printed"] = of_numbers(&|index| json!(self.printed[index])).into();
        let point = |of: &FrontPoint| json!({ "limit": of.limit, "aim": of.aim, "numbers": self.by_path(&of.values) });
        let bound = |&(number, high): &(usize, bool)| json!({ "number": self.numbers[number].variable.path, "bound": if high { "high" } else { "low" } });
        let told = json!({
            "aim": self.aim.word(),
            "unit": aim_unit(self.aim),
            "units": of_numbers(&|index| json!(unit(&self.numbers[index]))),
            "bounds": of_numbers(&|index| json!(self.numbers[index].bounds)),
            "before": self.before.as_ref().map(|before| self.setting(before)),
            "after": after,
            "unfavourable": self.unfavourable,
            "today_as_good": self.as_good(),
            "requirements": (0..self.requirements.len()).map(|index| self.requirement(index)).collect::<Value>(),
            "binding": self.binding.iter().map(|&which| &self.requirements[which].name).collect::<Vec<_>>(),
            "on_bound": self.on_bound.iter().map(bound).collect::<Value>(),
            "neighbours": self.neighbours.iter().map(|of| self.neighbour(of)).collect::<Value>(),
            "front": self.front.as_ref().map(|front| json!({
                "requirement": self.requirements[front.requirement].name,
                "points": front.points.iter().map(point).collect::<Value>(),
                "today": front.today,
                "answer": front.answer,
            })),
            "evaluations": self.evaluations,
            "checked": self.grid.as_ref().map(|grid| json!({
                "places": grid.places,
                "held": grid.held,
                "best": grid.best,
                "numbers": self.by_path(&grid.values),
                "better_by": finite(grid.by),
                "withdrawn": grid.better(),
            })),
        });
        beside(&self.after.case, Some(&self.after.solution), "stages", told).serialize(serializer)
    }
}
