//! A map as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};

use super::{Axis, Check, Failures, Map};
use crate::data::{Data, plain};
use crate::engine::Path;
use crate::march::told::Notes;

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
            data.scale(&plain(path), along.variable.units(), path, along.values.clone())
        });
        data.numbers(&plain(&self.show.name), self.show.units, &self.show.describes, &[y, x], self.shown.clone());
        for (ceiling, excess) in self.ceilings.iter().zip(&self.excess) {
            let units = match ceiling.dimension().udunits() {
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
#[derive(Serialize)]
struct Told<'a> {
    x: Along<'a>,
    y: Along<'a>,
    show: Shown<'a>,
    values: Vec<&'a [f64]>,
    limits: Vec<OfLimit<'a>>,
    status: Vec<&'a [u16]>,
    causes: Vec<Caused<'a>>,
    points: usize,
    points_allowed: usize,
    points_failed: usize,
    base: AsItIs,
    check: &'a Check,
    computed: Vec<Computed>,
    #[serde(flatten)]
    notes: Notes<'a>,
}

#[derive(Serialize)]
struct Along<'a> {
    key: &'a str,
    unit: &'static str,
    values: &'a [f64],
}

#[derive(Serialize)]
struct Shown<'a> {
    output: &'a str,
    describes: &'a str,
    unit: &'static str,
}

#[derive(Serialize)]
struct OfLimit<'a> {
    name: &'a str,
    unit: &'static str,
    max: f64,
    base_excess: f64,
    excess: Vec<&'a [f64]>,
    error: f64,
}

#[derive(Serialize)]
struct Caused<'a> {
    cause: &'a str,
    points: usize,
}

#[derive(Serialize)]
struct AsItIs {
    x: f64,
    y: f64,
    value: f64,
    on_map: bool,
}

#[derive(Serialize)]
struct Computed {
    path: Path,
    points: usize,
}

impl Axis {
    fn told(&self) -> Along<'_> {
        Along { key: &self.variable.path, unit: self.variable.units(), values: &self.values }
    }
}

impl Failures {
    fn told(&self) -> Vec<Caused<'_>> {
        self.causes.iter().map(|(cause, points)| Caused { cause, points: *points }).collect()
    }
}

impl Map {
    fn of_limit(&self, index: usize) -> OfLimit<'_> {
        let ceiling = &self.ceilings[index];
        OfLimit {
            name: &ceiling.name,
            unit: ceiling.dimension().udunits(),
            max: ceiling.max,
            base_excess: self.base.excess[index],
            excess: self.rows(&self.excess[index]),
            error: self.check.ceilings[index],
        }
    }

    fn rows<'a, T>(&self, points: &'a [T]) -> Vec<&'a [T]> {
        points.chunks(self.x.values.len()).collect()
    }
}

impl Serialize for Map {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let [x, y] = self.base.place;
        let told = Told {
            x: self.x.told(),
            y: self.y.told(),
            show: Shown { output: &self.show.name, describes: &self.show.describes, unit: self.show.units },
            values: self.rows(&self.shown),
            limits: (0..self.ceilings.len()).map(|index| self.of_limit(index)).collect(),
            status: self.rows(&self.status),
            causes: self.failures.told(),
            points: self.shown.len(),
            points_allowed: self.count_allowed(),
            points_failed: self.failures.total(),
            base: AsItIs { x, y, value: self.base.shown, on_map: self.holds_base() },
            check: &self.check,
            computed: self.computed.iter().map(|&(path, points)| Computed { path, points }).collect(),
            notes: Notes::of(&self.base.solution),
        };
        told.serialize(serializer)
    }
}
