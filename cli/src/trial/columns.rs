//! The columns of a data file: what the header's cells name, and how the cells below are read.

use quenchway::case::CaseFile;
use quenchway::file::Problem;
use quenchway::march::output::Output;
use quenchway::names::key_path::KeyPath;
use quenchway::names::variable::Variable;
use quenchway::study::fit::usual_uncertainty;
use quenchway::units::{Dimension, parse};

use super::cells::{Cell, split_sign};

/// What a column holds.
#[derive(Clone, Debug)]
pub(super) enum Kind {
    /// A number of the case that the rows change.
    Setting(Variable),
    /// Measured values.
    Measured(Output),
}

/// A column.
#[derive(Clone, Debug)]
pub(super) struct Column {
    pub kind: Kind,
    /// The unit of its bare numbers.
    unit: Option<String>,
    /// The uncertainty that the header gives.
    pub uncertainty: Option<f64>,
    header: Cell,
}

impl Column {
    /// The column that a header cell names; `before` are those to the left of it.
    pub fn read(case: &CaseFile, cell: &Cell, before: &[Option<Column>]) -> Result<Column, Problem> {
        let (text, uncertainty) = split_sign(&cell.text);
        let (name, unit) = match text.strip_suffix(']').and_then(|text| text.rsplit_once('[')) {
            Some((name, unit)) => (name.trim(), Some(unit.trim().to_string())),
            None => (text, None),
        };
        if name.is_empty() {
            let help = "name a number of the case, such as line.speed, or an output, such as capstan.surface";
            return Err(cell.problem("", "this column has no name", "no name", help.to_string()));
        }
        let kind = match (KeyPath::find(case, name), Output::find(case, name)) {
            (Ok(variable), _) => Kind::Setting(variable),
            (_, Ok(output)) => Kind::Measured(output),
            (Err(of_case), Err(of_outputs)) => {
                let table = name.split('.').next().unwrap_or_default();
                let is_path = ["line", "layer", "section", "station", "material", "solver", "plant"].contains(&table);
                let help = match (is_path, of_outputs.near) {
                    (true, _) => of_case.parts().1,
                    (false, Some(near)) => format!("did you mean {near}?"),
                    (false, None) => {
                        format!(
                            "a setting is a key path such as line.speed; outputs are {}",
                            shortened(&of_outputs.known)
                        )
                    }
                };
                let message = format!("{name} is neither a number of the case nor one of its outputs");
                return Err(cell.problem("", message, "not known", help));
            }
        };
        let mut column = Column { kind, unit, uncertainty: None, header: cell.clone() };
        let alike = |other: &&Column| match (&other.kind, &column.kind) {
            (Kind::Setting(a), Kind::Setting(b)) => a.path == b.path,
            // Two instruments may measure one thing.
            _ => false,
        };
        if let Some(other) = before.iter().flatten().find(alike) {
            let message = format!("column {} gives this setting already", other.header.letter);
            return Err(cell.problem(name, message, "given twice", "leave out one of the two".to_string()));
        }
        column.check_unit()?;
        if let Some(text) = uncertainty {
            if let Kind::Setting(_) = column.kind {
                return Err(column.setting_with_uncertainty(cell));
            }
            column.uncertainty = Some(column.uncertainty(cell, text)?);
        }
        Ok(column)
    }

    fn name(&self) -> &str {
        match &self.kind {
            Kind::Setting(variable) => &variable.path,
            Kind::Measured(output) => &output.name,
        }
    }

    fn dimension(&self) -> Option<Dimension> {
        match &self.kind {
            Kind::Setting(variable) => variable.dimension,
            Kind::Measured(output) => output.dimension,
        }
    }

    /// The unit of the header must be one of what the column holds.
    fn check_unit(&self) -> Result<(), Problem> {
        let Some(unit) = &self.unit else { return Ok(()) };
        let Some(dimension) = self.dimension() else {
            if matches!(unit.as_str(), "%" | "-" | "1" | "") {
                return Ok(());
            }
            let message = format!("this is a number without a unit, [{unit}] was found");
            return Err(self.header.problem(self.name(), message, "no unit", "leave out the brackets".to_string()));
        };
        let error = parse(&format!("1 {unit}"), dimension).err();
        error.map_or(Ok(()), |error| Err(self.header.problem(self.name(), error.wrong(), "unit", error.remedy())))
    }

    /// The text of a value with the header's unit where it has none of its own.
    fn with_unit(&self, text: &str) -> String {
        match &self.unit {
            Some(unit) if self.dimension().is_some() && text.parse::<f64>().is_ok() => format!("{text} {unit}"),
            _ => text.to_string(),
        }
    }

    /// A setting's value, SI.
    pub fn setting(&self, cell: &Cell, text: &str) -> Result<f64, Problem> {
        let Kind::Setting(variable) = &self.kind else { return self.value(cell, text) };
        variable.parse_value(&self.with_unit(text)).map_err(|error| {
            let (wrong, right) = error.parts();
            cell.problem(self.name(), wrong, "value", self.unit_help(text, right))
        })
    }

    /// A measured value, SI.
    pub fn value(&self, cell: &Cell, text: &str) -> Result<f64, Problem> {
        let Some(dimension) = self.dimension() else { return self.bare(cell, text.trim_end_matches('%').trim()) };
        parse(&self.with_unit(text), dimension)
            .map_err(|error| cell.problem(self.name(), error.wrong(), "value", self.unit_help(text, error.remedy())))
    }

    fn bare(&self, cell: &Cell, text: &str) -> Result<f64, Problem> {
        let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
        number.ok_or_else(|| {
            let help = "a bare number is expected; a cell that was not measured stays empty".to_string();
            cell.problem(self.name(), format!("{text} is not a number"), "value", help)
        })
    }

    /// Where a bare number lacks a unit, the header is the place for it.
    fn unit_help(&self, text: &str, help: String) -> String {
        match (&self.unit, self.dimension()) {
            (None, Some(dimension)) if text.parse::<f64>().is_ok() => {
                let unit = dimension.accepted().split([',', ' ']).next().unwrap_or_default();
                format!("{help}; or write the unit once, in the header: {} [{unit}]", self.header.text)
            }
            _ if text.parse::<f64>().is_err() => format!("{help}; a cell that was not measured stays empty"),
            _ => help,
        }
    }

    /// The uncertainty in a cell of the row that gives them; none where only the sign stands.
    pub fn uncertainty_of_row(&self, cell: &Cell) -> Result<Option<f64>, Problem> {
        let text = match split_sign(&cell.text) {
            (_, Some(text)) => text,
            (text, None) => text,
        };
        match &self.kind {
            _ if text.is_empty() => Ok(None),
            Kind::Setting(_) => Err(self.setting_with_uncertainty(cell)),
            Kind::Measured(_) => self.uncertainty(cell, text).map(Some),
        }
    }

    /// A standard uncertainty, SI; a bare number has the column's unit, of a temperature its difference.
    pub fn uncertainty(&self, cell: &Cell, text: &str) -> Result<f64, Problem> {
        let value = match self.dimension() {
            None => self.bare(cell, text.trim_end_matches('%').trim())?,
            Some(dimension) => {
                let is_temperature = dimension == Dimension::Temperature;
                let dimension = if is_temperature { Dimension::TemperatureDifference } else { dimension };
                let bare = text.parse::<f64>().is_ok();
                let text = match (bare, &self.unit) {
                    (true, Some(unit)) if is_temperature => {
                        let fahrenheit = unit.contains('F') || unit == "degR";
                        format!("{text} {}", if fahrenheit { "delta degF" } else { "K" })
                    }
                    (true, Some(unit)) => format!("{text} {unit}"),
                    _ => text.to_string(),
                };
                parse(&text, dimension)
                    .map_err(|error| cell.problem(self.name(), error.wrong(), "uncertainty", error.remedy()))?
            }
        };
        if value > 0.0 && value.is_finite() {
            return Ok(value);
        }
        let help = "leave the cell empty where nothing was measured".to_string();
        Err(cell.problem(self.name(), "an uncertainty is larger than zero", "uncertainty", help))
    }

    /// The usual uncertainty of what is measured.
    pub fn usual(&self) -> Option<f64> {
        match &self.kind {
            Kind::Measured(output) => usual_uncertainty(output),
            Kind::Setting(_) => None,
        }
    }

    pub fn setting_with_uncertainty(&self, cell: &Cell) -> Problem {
        let help =
            format!("leave it out, or fit {0} with --unknown {0} and a --prior instead of the column", self.name());
        cell.problem(self.name(), "a setting is taken as exact, an uncertainty was found", "uncertainty", help)
    }

    pub fn no_uncertainty(&self) -> Problem {
        let help = format!("write it in the header, in the column's unit: {} ± 5", self.header.text);
        self.header.problem(self.name(), "this has no usual uncertainty", "no uncertainty", help)
    }
}

/// The first few of many names.
fn shortened(names: &[String]) -> String {
    const MOST: usize = 12;
    let shown = names.iter().take(MOST).cloned().collect::<Vec<_>>().join(", ");
    if names.len() > MOST { format!("{shown}, ...") } else { shown }
}
