//! The answer to a design question as a results file: axes, and variables along them, all with units and words.

use std::path::Path;
use std::time::SystemTime;

use hdf5_metno as hdf5;
use ndarray::{ArrayViewD, IxDyn};

use super::scale::{Dim, Label, Labelled, number_attribute, text_attribute};
use super::write::{CONVENTIONS, sha256};
use super::{PROGRAM, StoreError, prepare, utc, write_beside};
use crate::build;

/// The answer, ready to be written.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// The case's title.
    pub title: String,
    /// The command: `length`.
    pub command: &'static str,
    /// The case file's text, whole.
    pub case_text: String,
    /// The case with library materials and defaults written out.
    pub resolved_case: String,
    /// Cautions for the plant floor.
    pub cautions: Vec<String>,
    /// Further root attributes: what was asked, what decides.
    pub texts: Vec<(String, String)>,
    /// Further root attributes that are numbers; those without a value are left out by the caller.
    pub numbers: Vec<(String, f64)>,
    /// The dimensions.
    pub axes: Vec<Axis>,
    /// What lies along them.
    pub variables: Vec<Variable>,
}

/// A dimension of the file.
#[derive(Clone, Debug)]
pub enum Axis {
    /// With numbers as coordinate, which carry the axis' name.
    Numbers(Variable),
    /// Of named things: the names stand in the variable `NAME_name`.
    Names {
        /// The dimension's name: `limit`.
        name: String,
        /// What the names are, in words.
        long_name: String,
        /// The names.
        names: Vec<String>,
    },
}

/// A variable along dimensions.
#[derive(Clone, Debug)]
pub struct Variable {
    /// Its name.
    pub name: String,
    /// UDUNITS spelling; `1` for a number without unit, empty for texts.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Indices of its dimensions in `axes`, slowest first; none for a single number. Not looked at for a coordinate.
    pub axes: Vec<usize>,
    /// Its values, the last dimension running fastest.
    pub values: Values,
}

/// The values of a variable.
#[derive(Clone, Debug)]
pub enum Values {
    /// Numbers; one that is absent is not a number.
    Numbers(Vec<f64>),
    /// Texts along one dimension.
    Texts(Vec<String>),
}

impl Variable {
    /// Numbers along dimensions.
    pub fn numbers(name: &str, units: &str, long_name: &str, axes: &[usize], values: Vec<f64>) -> Variable {
        let [name, units, long_name] = [name, units, long_name].map(str::to_string);
        Variable { name, units, long_name, axes: axes.to_vec(), values: Values::Numbers(values) }
    }

    /// Texts along one dimension.
    pub fn texts(name: &str, long_name: &str, axis: usize, values: Vec<String>) -> Variable {
        let [name, long_name] = [name, long_name].map(str::to_string);
        Variable { name, units: String::new(), long_name, axes: vec![axis], values: Values::Texts(values) }
    }
}

impl Axis {
    /// A dimension with numbers as coordinate.
    pub fn numbers(name: &str, units: &str, long_name: &str, values: Vec<f64>) -> Axis {
        Axis::Numbers(Variable::numbers(name, units, long_name, &[], values))
    }

    /// A dimension of named things.
    pub fn names(name: &str, long_name: &str, names: Vec<String>) -> Axis {
        Axis::Names { name: name.to_string(), long_name: long_name.to_string(), names }
    }

    fn len(&self) -> usize {
        match self {
            Axis::Numbers(Variable { values: Values::Numbers(values), .. }) => values.len(),
            Axis::Numbers(_) => 0,
            Axis::Names { names, .. } => names.len(),
        }
    }
}

impl Table {
    /// Writes the answer to `path`, whole or not at all.
    ///
    /// # Errors
    /// As [`prepare`]; [`StoreError::Write`] when a variable does not fit its dimensions or writing fails.
    pub fn write(&self, path: &Path, overwrite: bool) -> Result<(), StoreError> {
        prepare(path, overwrite)?;
        write_beside(path, |temporary| self.fill(temporary))
    }

    fn fill(&self, path: &Path) -> hdf5::Result<()> {
        let mut file = Labelled::create(path)?;
        let root = file.root()?;
        let version = env!("CARGO_PKG_VERSION");
        let history = format!("{} {PROGRAM} {version} {}", utc::stamp(SystemTime::now()), self.command);
        for (name, value) in [
            ("title", self.title.as_str()),
            ("Conventions", CONVENTIONS),
            ("history", &history),
            ("source", build::PROGRAM),
            ("command", self.command),
            ("case_toml", &self.case_text),
            ("case_sha256", &sha256(&self.case_text)),
            ("resolved_case", &self.resolved_case),
            ("resolved_case_sha256", &sha256(&self.resolved_case)),
            ("cautions", &self.cautions.join("\n")),
        ] {
            text_attribute(&root, name, value)?;
        }
        for (name, value) in &self.texts {
            text_attribute(&root, name, value)?;
        }
        for (name, value) in &self.numbers {
            number_attribute(&root, name, *value)?;
        }
        let mut dims = Vec::with_capacity(self.axes.len());
        for axis in &self.axes {
            dims.push(match axis {
                Axis::Numbers(variable) => match &variable.values {
                    Values::Numbers(values) => file.coordinate(&root, variable.coordinate_label(), values)?,
                    Values::Texts(_) => return Err(format!("the axis {} has no numbers", variable.name).into()),
                },
                Axis::Names { name, long_name, names } => {
                    let dim = file.dimension(&root, name, names.len())?;
                    file.texts(&root, &format!("{name}_name"), long_name, dim, names.iter().map(String::as_str))?;
                    dim
                }
            });
        }
        for variable in &self.variables {
            self.variable(&mut file, variable, &dims)?;
        }
        file.finish()
    }

    fn variable(&self, file: &mut Labelled, variable: &Variable, dims: &[Dim]) -> hdf5::Result<()> {
        let root = file.root()?;
        let misfit = || hdf5::Error::from(format!("{} does not fit its dimensions", variable.name));
        let shape: Option<Vec<usize>> = variable.axes.iter().map(|&axis| Some(self.axes.get(axis)?.len())).collect();
        let own: Option<Vec<Dim>> = variable.axes.iter().map(|&axis| dims.get(axis).copied()).collect();
        let (shape, own) = (shape.ok_or_else(misfit)?, own.ok_or_else(misfit)?);
        let names = variable.axes.iter().filter_map(|&axis| match &self.axes[axis] {
            Axis::Names { name, .. } => Some(format!("{name}_name")),
            Axis::Numbers(_) => None,
        });
        let coordinates: Vec<String> = names.collect();
        match &variable.values {
            Values::Numbers(values) => {
                let view = ArrayViewD::from_shape(IxDyn(&shape), values).map_err(|_| misfit())?;
                file.numbers(&root, variable.label(), &own, &coordinates.join(" "), view)
            }
            Values::Texts(values) => match own[..] {
                [dim] if shape[0] == values.len() => {
                    file.texts(&root, &variable.name, &variable.long_name, dim, values.iter().map(String::as_str))
                }
                _ => Err(misfit()),
            },
        }
    }
}

impl Variable {
    /// As a variable, some of whose values may be absent.
    fn label(&self) -> Label<'_> {
        Label::with_gaps(&self.name, &self.units, &self.long_name)
    }

    /// As the coordinate of its own dimension, none of whose values is absent.
    fn coordinate_label(&self) -> Label<'_> {
        Label::new(&self.name, &self.units, &self.long_name)
    }
}
