//! A variable: one number of a case, found once by its key path, then read and changed as often as a study needs.
//!
//! Every number that has a path is one row of the table in `rows`; bounds and dimension come from the key table of the case
//! file.

use super::error::KeyPathError;
use super::rows::{Access, ROWS, Row, Scale, each_of_material};
use crate::case::programme::{Change, Ramp};
use crate::case::{CaseFile, Circulation, Flow, Section};
use crate::names::contacts::CONTACTS;
use crate::names::keys::{self, LIQUID, Place};
use crate::units::{self, Dimension, System};

/// One number of a case. Indices were resolved in the case it was found in: use it on that case and its copies.
#[derive(Clone, Debug)]
pub struct Variable {
    /// Its key path.
    pub path: String,
    /// What it measures; none for a bare number.
    pub dimension: Option<Dimension>,
    /// Lowest and highest value, SI.
    pub bounds: [f64; 2],
    row: &'static Row,
    index: usize,
    /// Index of the layer, where it is a number of a layer at a station.
    layer: usize,
}

impl Variable {
    /// The number at a key of a table, `of` a layer where it has one for each; none where the case has none there.
    pub(crate) fn new(
        case: &CaseFile,
        place: Place,
        index: usize,
        (key, of): (&str, Option<&str>),
        path: String,
    ) -> Option<Variable> {
        let row = ROWS.iter().find(|row| row.place == place && row.key == key)?;
        let layer = match (&row.access, of) {
            (Access::OfLayer(..), Some(name)) => case.layers.iter().position(|layer| layer.name == name)?,
            (Access::OfLayer(..), None) | (_, Some(_)) => return None,
            _ => 0,
        };
        row.get(case, index, layer)?;
        // The lag of an output is a number, the output itself is none.
        let (mut dimension, mut bounds) =
            if key == "output" { keys::number(Place::Output, "lag")? } else { keys::number(place, key)? };
        let in_percent = |change: &Change| matches!(change.ramp, Ramp::Percent(_));
        if place == Place::Change && key == "rate" && case.programme.changes.get(index).is_some_and(in_percent) {
            (dimension, bounds) = keys::second_number(place, key)?;
        }
        let weighed = |section: &Section| matches!(section.circulation, Some(Circulation { flow: Flow::Mass(_), .. }));
        if key == "flow" && case.sections.get(index).is_some_and(weighed) {
            (dimension, bounds) = keys::second_number(place, key)?;
        }
        let wet = place == Place::Section && case.sections.get(index).is_some_and(|s| s.medium.is_water());
        if wet && key == "temperature" {
            bounds = LIQUID;
        }
        Some(Variable { path, dimension, bounds, row, index, layer })
    }

    /// The keys that lead to a number of one table, each with the layer that it is of where it has one for each.
    pub(crate) fn keys(case: &CaseFile, place: Place, index: usize) -> Vec<(&'static str, Option<String>)> {
        let rows = ROWS.iter().filter(|row| row.place == place);
        let numbers = rows.flat_map(|row| {
            let layers = if matches!(row.access, Access::OfLayer(..)) { case.layers.len() } else { 1 };
            (0..layers).filter(move |&layer| row.get(case, index, layer).is_some()).map(move |layer| {
                let of = matches!(row.access, Access::OfLayer(..)).then(|| case.layer_name(layer).to_string());
                (row.key, of)
            })
        });
        numbers.collect()
    }

    /// The number, SI; not a number where the case is not the one that the variable was found in.
    pub fn get(&self, case: &CaseFile) -> f64 {
        self.row.get(case, self.index, self.layer).unwrap_or(f64::NAN)
    }

    /// Changes the number.
    ///
    /// # Errors
    ///
    /// The value is outside what the case file allows; the case is then as it was. Sizes are not compared with
    /// each other here: the march refuses a layer without a wall and a station off the line.
    pub fn set(&self, case: &mut CaseFile, value: f64) -> Result<(), KeyPathError> {
        self.check(value)?;
        self.row.set(case, self.index, self.layer, value);
        Ok(())
    }

    /// Multiplies the number; a curve as a whole.
    ///
    /// # Errors
    ///
    /// The result is outside what the case file allows; a temperature, which is varied by a difference.
    pub fn scale(&self, case: &mut CaseFile, factor: f64) -> Result<(), KeyPathError> {
        if self.is_temperature() {
            return Err(KeyPathError::Relative { path: self.path.clone() });
        }
        self.check(factor * self.get(case))?;
        match &self.row.scale {
            Some(Scale::Section(scale)) => case.sections.get_mut(self.index).into_iter().for_each(|s| scale(s, factor)),
            Some(Scale::Material(scale)) => each_of_material(case, self.index, |material| scale(material, factor)),
            None => self.row.set(case, self.index, self.layer, factor * self.get(case)),
        }
        Ok(())
    }

    /// Gives the number this value; a curve is multiplied as a whole, so that its shape stays.
    ///
    /// # Errors
    ///
    /// As [`Variable::set`].
    pub fn move_to(&self, case: &mut CaseFile, value: f64) -> Result<(), KeyPathError> {
        match &self.row.scale {
            Some(_) => {
                self.check(value)?;
                // Rounding must not carry a value at its bound over it.
                let [low, high] = self.bounds.map(|bound| bound / self.get(case));
                self.scale(case, (value / self.get(case)).clamp(low * (1.0 + 1e-12), high * (1.0 - 1e-12)))
            }
            None => self.set(case, value),
        }
    }

    /// Whether it is a temperature on a scale with a conventional zero, or a shift of one: varied by differences, never by factors.
    pub fn is_temperature(&self) -> bool {
        self.dimension == Some(Dimension::Temperature) || self.row.key == "setting_shift"
    }

    /// A value's text with its unit (a bare number for a number without one) into SI, within the bounds.
    ///
    /// # Errors
    ///
    /// A text without a number or with a wrong unit; a value outside what the case file allows.
    pub fn parse_value(&self, text: &str) -> Result<f64, KeyPathError> {
        let path = || self.path.clone();
        let value = match self.dimension {
            _ if self.is_contact() && text.trim() == "perfect" => f64::INFINITY,
            Some(dimension) => match CONTACTS.iter().find(|named| self.is_contact() && named.name == text.trim()) {
                Some(named) => named.conductance,
                None => units::parse(text, dimension).map_err(|error| KeyPathError::Value { path: path(), error })?,
            },
            None => text
                .trim()
                .parse()
                .map_err(|_| KeyPathError::NotBare { path: path(), text: text.trim().to_string() })?,
        };
        self.check(value)?;
        Ok(value)
    }

    /// A value with its unit, to six digits.
    pub fn show(&self, value: f64, system: System) -> String {
        if value.is_infinite() && self.is_contact() {
            return "perfect".to_string();
        }
        let (number, unit) = match self.dimension {
            Some(dimension) => units::show(value, dimension, system),
            None => (value, ""),
        };
        // Printing to six digits and reading back drops the zeros that rounding leaves.
        let number: f64 = format!("{number:.5e}").parse().unwrap_or(number);
        format!("{number} {unit}").trim_end().to_string()
    }

    /// Its SI unit in the spelling of UDUNITS; `1` of a bare number.
    pub fn units(&self) -> &'static str {
        self.dimension.map_or("1", Dimension::udunits)
    }

    /// Whether only whole numbers make sense.
    pub fn is_whole(&self) -> bool {
        self.row.key == "passes"
    }

    fn is_contact(&self) -> bool {
        self.row.key == "contact"
    }

    fn check(&self, value: f64) -> Result<(), KeyPathError> {
        let [low, high] = self.bounds;
        if (low..=high).contains(&value) || (self.is_contact() && value == f64::INFINITY) {
            return Ok(());
        }
        let show = |value| self.show(value, System::Si);
        Err(KeyPathError::OutOfRange { path: self.path.clone(), value: show(value), range: [show(low), show(high)] })
    }
}
