//! An answer as a results file: what identifies it, and its labelled numbers group by group.

use std::path::Path;

use hdf5::Group;
use hdf5_metno as hdf5;
use ndarray::{ArrayViewD, IxDyn};
use quenchway::data::{Data, Fact, Label, Values, Variable, split};
use sha2::{Digest, Sha256};

use super::scale::{Dim, Labelled, number_attribute, text_attribute};
use super::{Header, PROGRAM, utc};
use crate::build;

/// The CF version whose rules the attributes follow (Climate and Forecast metadata conventions, 2022).
pub(super) const CONVENTIONS: &str = "CF-1.10";

/// The question whose answers need no word of what was asked.
const RUN: &str = "run";

/// Writes what a file says of itself and its labelled numbers.
pub(super) fn fill(path: &Path, header: &Header, data: &Data) -> hdf5::Result<()> {
    let mut file = Labelled::create(path)?;
    let root = file.root()?;
    let history = format!("{} {PROGRAM} {} {}", utc::stamp(header.time), env!("CARGO_PKG_VERSION"), header.question);
    for (name, value) in [
        ("title", header.title),
        ("Conventions", CONVENTIONS),
        ("history", &history),
        ("source", build::PROGRAM),
        ("case_toml", header.case_text),
        ("case_sha256", &sha256(header.case_text)),
        ("resolved_case", header.resolved_case),
        ("resolved_case_sha256", &sha256(header.resolved_case)),
    ] {
        text_attribute(&root, name, value)?;
    }
    if header.question != RUN {
        text_attribute(&root, "command", header.question)?;
    }
    lay(&mut file, data)?;
    file.finish()
}

/// Writes labelled numbers: facts as attributes of the root, then group by group the dimensions and the variables.
fn lay(file: &mut Labelled, data: &Data) -> hdf5::Result<()> {
    let root = file.root()?;
    for (name, fact) in &data.facts {
        match fact {
            Fact::Text(text) => text_attribute(&root, name, text)?,
            Fact::Number(number) => number_attribute(&root, name, *number)?,
            Fact::Whole(count) => number_attribute(&root, name, *count)?,
        }
    }
    let mut dims: Vec<Option<Dim>> = vec![None; data.axes.len()];
    let mut groups: Vec<(&str, Group)> = Vec::new();
    for variable in &data.variables {
        let (within, name) = split(&variable.name);
        let known = groups.iter().position(|(group, _)| *group == within);
        let index = known.unwrap_or(groups.len());
        if known.is_none() {
            let group = if within.is_empty() { file.root()? } else { file.group(within)? };
            for (dim, axis) in dims.iter_mut().zip(&data.axes).filter(|(_, axis)| split(&axis.name).0 == within) {
                *dim = Some(match data.variables.iter().find(|own| axis.has_coordinate && own.name == axis.name) {
                    Some(own) => coordinate(file, &group, own)?,
                    None => file.dimension(&group, split(&axis.name).1, axis.length)?,
                });
            }
            groups.push((within, group));
        }
        if !data.axes.iter().any(|axis| axis.has_coordinate && axis.name == variable.name) {
            put(file, &groups[index].1, data, (variable, name), &dims)?;
        }
    }
    Ok(())
}

fn label<'a>(variable: &'a Variable, name: &'a str) -> Label<'a> {
    Label { name, units: &variable.units, long_name: &variable.long_name, may_miss: variable.may_miss }
}

/// Writes the coordinate of a dimension.
fn coordinate(file: &mut Labelled, group: &Group, own: &Variable) -> hdf5::Result<Dim> {
    let label = label(own, split(&own.name).1);
    match &own.values {
        Values::Numbers(values) => file.coordinate(group, label, values),
        Values::Wholes(values) => file.coordinate(group, label, values),
        Values::Texts(_) => Err(format!("the dimension {} has no numbers", own.name).into()),
    }
}

/// Writes a variable along dimensions.
fn put(
    file: &mut Labelled,
    group: &Group,
    data: &Data,
    (variable, name): (&Variable, &str),
    dims: &[Option<Dim>],
) -> hdf5::Result<()> {
    let misfit = || hdf5::Error::from(format!("{} does not fit its dimensions", variable.name));
    let shape = IxDyn(&data.shape(variable).ok_or_else(misfit)?);
    let own: Vec<Dim> = variable.axes.iter().filter_map(|&axis| dims[axis]).collect();
    let (label, coordinates) = (label(variable, name), variable.coordinates.as_str());
    match &variable.values {
        Values::Numbers(values) => {
            let view = ArrayViewD::from_shape(shape, values).map_err(|_| misfit())?;
            file.numbers(group, label, &own, coordinates, view)
        }
        Values::Wholes(values) => {
            let view = ArrayViewD::from_shape(shape, values).map_err(|_| misfit())?;
            file.numbers(group, label, &own, coordinates, view)
        }
        Values::Texts(values) => match own[..] {
            [dim] => file.texts(group, name, label.long_name, dim, values.iter().map(String::as_str)),
            _ => Err(misfit()),
        },
    }
}

/// A text's SHA-256 in hexadecimal digits.
pub(crate) fn sha256(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}
