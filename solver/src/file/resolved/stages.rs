//! What `stages` is asked.

use super::writer::Writer;
use crate::case::{CaseFile, Margin};
use crate::file::stages::{HOUR, KILOWATT_HOUR};
use crate::march::output::Output;
use crate::names::key_path::KeyPath;
use crate::units::Dimension;
use crate::units::hidden::quoted as text;

impl Writer {
    pub(super) fn stages(&mut self, case: &CaseFile) {
        let Some(stages) = &case.stages else { return };
        self.head("[stages]");
        self.key("aim", text(stages.aim.word()));
        if let Some((rest, section)) = stages.rest.and_then(|rest| Some((rest, case.sections.get(rest.section)?))) {
            self.key("rest", text(&section.name));
            self.value("line_length", rest.line_length, Dimension::Length);
        }
        match stages.margin {
            Margin::Kelvin(margin) => self.value("margin", margin, Dimension::TemperatureDifference),
            Margin::Band => self.key("margin", text("band")),
        }
        self.head("[stages.vary]");
        for ranged in &stages.vary {
            let Ok(variable) = KeyPath::find(case, &ranged.input) else { continue };
            let of = |value: f64, dimension: Option<Dimension>| match dimension {
                Some(dimension) => self.quantity(value, dimension),
                None => format!("{value}"),
            };
            let ends = format!("[{}, {}]", of(ranged.low, variable.dimension), of(ranged.high, variable.dimension));
            let difference = match variable.dimension {
                Some(Dimension::Temperature) => Some(Dimension::TemperatureDifference),
                other => other,
            };
            let value = match ranged.step {
                Some(step) => format!("{{ range = {ends}, step = {} }}", of(step, difference)),
                None => ends,
            };
            self.key(&text(&ranged.input), value);
        }
        if !stages.limits.is_empty() {
            self.head("[stages.limits]");
        }
        for limit in &stages.limits {
            let output = Output::find(case, &limit.output).ok();
            let dimension = output.and_then(|output| output.dimension).unwrap_or(Dimension::Share);
            self.value(&text(&limit.output), limit.max, dimension);
        }
        if let Some(prices) = stages.prices {
            self.head("[stages.cost]");
            // Ten digits: what was read and divided comes back as it was written.
            let mut price = |key: &str, number: f64, unit: &str| {
                let number: f64 = format!("{number:.9e}").parse().unwrap_or(number);
                self.key(key, text(&format!("{number} {unit}")));
            };
            price("chiller", prices.chiller * KILOWATT_HOUR, "/kWh");
            price("heating", prices.heating * KILOWATT_HOUR, "/kWh");
            price("metre", prices.metre * HOUR, "/h");
            price("speed_worth", prices.speed_worth * HOUR / 60.0, "/h");
        }
    }
}
