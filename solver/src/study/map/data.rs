//! A map as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use super::{Axis, Map};
use crate::data::{Data, plain};
use crate::march::output::udunits;
use crate::march::told::Notes;

impl Axis {
    /// The unit of its values.
    fn units(&self) -> &'static str {
        self.variable.dimension.map_or("1", udunits)
    }
}

impl Map {
    /// Axes by their key paths, what is shown, the excess over every limit, the status of every point.
    pub fn data(&self) -> Data {
        let mut data = Data::with_cautions(&self.base.solution.cautions);
        let causes: Vec<&str> = self.failures.causes.iter().map(|(cause, _)| cause.as_str()).collect();
        let limits: Vec<&str> = self.ceilings.iter().map(|ceiling| ceiling.name.as_str()).collect();
        data.text("x", self.x.variable.path.clone())
            .text("y", self.y.variable.path.clone())
            .text("show", self.show.name.clone())
            .text("limits", limits.join("\n"))
            .text("status_reason", causes.join("\n"));
        for (name, value) in [
            ("base_x", self.base.place[0]),
            ("base_y", self.base.place[1]),
            ("base_value", self.base.shown),
            ("points_checked", self.check.points as f64),
            ("measured_error", self.check.shown),
            ("stated_error_K", self.check.stated),
            ("points_allowed", self.count_allowed() as f64),
        ] {
            data.number(name, value.is_finite().then_some(value));
        }
        let [y, x] = [&self.y, &self.x].map(|along| {
            let path = &along.variable.path;
            data.scale(&plain(path), along.units(), path, along.values.clone())
        });
        data.numbers(&plain(&self.show.name), self.show.units, &self.show.describes, &[y, x], self.shown.clone());
        for (ceiling, excess) in self.ceilings.iter().zip(&self.excess) {
            let units = match udunits(ceiling.dimension()) {
                "degC" => "K",
                other => other,
            };
            let words = format!("excess of {} over its limit, met at or below zero", ceiling.name);
            data.numbers(&format!("{}_excess", plain(&ceiling.name)), units, &words, &[y, x], excess.clone());
        }
        let words = "0 where there is an answer, otherwise the line of status_reason that says why there is none";
        let status = self.status.iter().map(|&status| f64::from(status)).collect();
        data.numbers("status", "1", words, &[y, x], status);
        data
    }
}

/// Rows from the lowest y, each from the lowest x; null where there is no answer.
impl Serialize for Map {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let columns = self.x.values.len();
        let rows = |values: &[f64]| -> Vec<Vec<Option<f64>>> {
            values.chunks(columns).map(|row| row.iter().map(|v| v.is_finite().then_some(*v)).collect()).collect()
        };
        let axis = |axis: &Axis| json!({ "key": axis.variable.path, "unit": axis.units(), "values": axis.values });
        let limits: Vec<Value> = (self.ceilings.iter().zip(&self.excess).zip(&self.check.ceilings).enumerate())
            .map(|(index, ((ceiling, excess), error))| {
                json!({
                    "name": ceiling.name,
                    "unit": udunits(ceiling.dimension()),
                    "max": ceiling.max,
                    "base_excess": self.base.excess[index],
                    "excess": rows(excess),
                    "error": error,
                })
            })
            .collect();
        let causes: Vec<Value> =
            (self.failures.causes.iter()).map(|(cause, points)| json!({ "cause": cause, "points": points })).collect();
        let computed: Vec<Value> =
            self.computed.iter().map(|(path, points)| json!({ "path": path, "points": points })).collect();
        let show = json!({ "output": self.show.name, "describes": self.show.describes, "unit": self.show.units });
        let base = json!({
            "x": self.base.place[0], "y": self.base.place[1], "value": self.base.shown, "on_map": self.holds_base(),
        });
        let check = json!({
            "points": self.check.points, "unsolved": self.check.unsolved,
            "error": self.check.shown, "stated_error_K": self.check.stated,
        });
        let notes = serde_json::to_value(Notes::of(&self.base.solution)).unwrap_or_default();
        json!({
            "x": axis(&self.x),
            "y": axis(&self.y),
            "show": show,
            "values": rows(&self.shown),
            "limits": limits,
            "status": self.status.chunks(columns).collect::<Vec<_>>(),
            "causes": causes,
            "points": self.shown.len(),
            "points_allowed": self.count_allowed(),
            "points_failed": self.failures.total(),
            "base": base,
            "check": check,
            "computed": computed,
            "warnings": notes["warnings"],
            "cautions": notes["cautions"],
        })
        .serialize(serializer)
    }
}
