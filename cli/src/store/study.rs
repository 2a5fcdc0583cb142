//! A study as a results file, written block after block: one dimension per axis of a grid, or one of samples.

use std::path::Path;
use std::time::SystemTime;

use hdf5::types::VarLenUnicode;
use hdf5::{Dataset, H5Type};
use hdf5_metno as hdf5;
use ndarray::{ArrayViewD, IxDyn};

use super::scale::{Dim, Label, Labelled, number_attribute, text, text_attribute};
use super::slabs::slabs;
use super::write::{CONVENTIONS, source};
use super::{PROGRAM, utc};
use crate::sweep::Identity;

/// An input or output of every sample.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its exact name: a key path, or an output's name.
    pub name: String,
    /// UDUNITS spelling.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
}

/// What a file holds.
#[derive(Clone, Debug)]
pub struct Layout {
    /// What varies.
    pub axes: Vec<Column>,
    /// What is kept.
    pub outputs: Vec<Column>,
    /// The values of each axis of a grid; none where the samples are one dimension.
    pub coordinates: Option<Vec<Vec<f64>>>,
    /// How many samples there are.
    pub samples: u64,
    /// Numbers and words of the statuses.
    pub statuses: Vec<(i8, &'static str)>,
    /// Fields of every sample, and whether each is across the product too.
    pub fields: Vec<(Column, bool)>,
    /// Most points along the line and most nodes across the product that a sample has.
    pub extent: [usize; 2],
}

/// Samples one after the other, in the order of their indices.
#[derive(Debug)]
pub struct Rows<'r> {
    /// Index of the first.
    pub first: u64,
    /// Input by input; empty for a grid.
    pub inputs: &'r [Vec<f64>],
    /// Output by output; not a number where there is none.
    pub outputs: &'r [Vec<f64>],
    /// What became of each.
    pub status: &'r [i8],
    /// Why it is not good; empty for a good one.
    pub reasons: &'r [&'r str],
    /// Field by field, every sample filled up to the largest with not a number.
    pub fields: &'r [Vec<f64>],
}

/// A file under construction.
pub struct StudyFile {
    file: Labelled,
    shape: Vec<usize>,
    inputs: Vec<Dataset>,
    outputs: Vec<Dataset>,
    status: Dataset,
    reason: Dataset,
    /// Each with its shape and the numbers of one sample.
    fields: Vec<(Dataset, Vec<usize>, u64)>,
}

impl StudyFile {
    /// Makes the file with all its variables, still empty.
    pub fn create(path: &Path, layout: &Layout) -> hdf5::Result<StudyFile> {
        let mut file = Labelled::create(path)?;
        let root = file.root()?;
        let mut names = Names::default();
        let axis_names: Vec<String> = layout.axes.iter().map(|axis| names.of(&axis.name)).collect();
        let label = |name: &'static str, long_name: &'static str| Label::new(name, "", long_name);
        let (mut dims, mut shape, mut inputs) = (Vec::new(), Vec::new(), Vec::new());
        let mut coordinates = String::new();
        match &layout.coordinates {
            Some(values) => {
                for ((axis, name), values) in layout.axes.iter().zip(&axis_names).zip(values) {
                    dims.push(file.coordinate(&root, Label::new(name, &axis.units, &axis.long_name), values)?);
                    let dataset = root.dataset(name)?;
                    text_attribute(&dataset, "key_path", &axis.name)?;
                    shape.push(values.len());
                }
            }
            None => {
                let samples = usize::try_from(layout.samples).map_err(|error| hdf5::Error::from(error.to_string()))?;
                dims.push(file.dimension(&root, "sample", samples)?);
                shape.push(samples);
                for (axis, name) in layout.axes.iter().zip(&axis_names) {
                    let label = Label::new(name, &axis.units, &axis.long_name);
                    let dataset = file.reserve::<f64>(&root, label, &dims, "")?;
                    text_attribute(&dataset, "key_path", &axis.name)?;
                    inputs.push(dataset);
                }
                coordinates = axis_names.join(" ");
            }
        }
        let mut outputs = Vec::with_capacity(layout.outputs.len());
        for output in &layout.outputs {
            let name = names.of(&output.name);
            let label = Label::with_gaps(&name, &output.units, &output.long_name);
            let dataset = file.reserve::<f64>(&root, label, &dims, &coordinates)?;
            text_attribute(&dataset, "output", &output.name)?;
            outputs.push(dataset);
        }
        let status =
            reserve_status(&mut file, label("status", "what became of the sample"), &dims, &coordinates, layout)?;
        let why = label("status_reason", "why the sample is not good; empty for a good one");
        let reason = file.reserve::<VarLenUnicode>(&root, why, &dims, &coordinates)?;
        let fields = reserve_fields(&mut file, &dims, &coordinates, layout)?;
        Ok(StudyFile { file, shape, inputs, outputs, status, reason, fields })
    }

    /// Writes samples.
    pub fn rows(&mut self, rows: &Rows<'_>) -> hdf5::Result<()> {
        for (dataset, values) in self.inputs.iter().zip(rows.inputs).chain(self.outputs.iter().zip(rows.outputs)) {
            write(dataset, &self.shape, rows.first, values)?;
        }
        write(&self.status, &self.shape, rows.first, rows.status)?;
        // What is never written reads as an empty text, and takes no room.
        if rows.reasons.iter().any(|reason| !reason.is_empty()) {
            let reasons = rows.reasons.iter().map(|reason| text(reason)).collect::<hdf5::Result<Vec<_>>>()?;
            write(&self.reason, &self.shape, rows.first, &reasons)?;
        }
        for ((dataset, shape, each), values) in self.fields.iter().zip(rows.fields) {
            write(dataset, shape, rows.first * each, values)?;
        }
        Ok(())
    }

    /// Writes the root attributes and closes the file.
    pub fn finish(self, texts: &[(&'static str, String)], numbers: &[(&'static str, f64)]) -> hdf5::Result<()> {
        let root = self.file.root()?;
        let version = env!("CARGO_PKG_VERSION");
        let history = format!("{} {PROGRAM} {version} sweep", utc::stamp(SystemTime::now()));
        for (name, value) in [("Conventions", CONVENTIONS), ("history", &history), ("source", &source())] {
            text_attribute(&root, name, value)?;
        }
        for (name, value) in texts {
            text_attribute(&root, name, value)?;
        }
        for (name, value) in numbers {
            number_attribute(&root, name, *value)?;
        }
        drop((self.inputs, self.outputs, self.status, self.reason, self.fields));
        self.file.finish()
    }
}

/// Makes the variables of the fields, with the dimensions `point` and, across the product, `node`.
fn reserve_fields(
    file: &mut Labelled,
    dims: &[Dim],
    coordinates: &str,
    layout: &Layout,
) -> hdf5::Result<Vec<(Dataset, Vec<usize>, u64)>> {
    if layout.fields.is_empty() {
        return Ok(Vec::new());
    }
    let root = file.root()?;
    let point = file.dimension(&root, "point", layout.extent[0])?;
    let node = match layout.fields.iter().any(|(_, across)| *across) {
        true => Some(file.dimension(&root, "node", layout.extent[1])?),
        false => None,
    };
    let reserve = |(column, across): &(Column, bool)| {
        let own: Vec<Dim> = [Some(point), node.filter(|_| *across)].into_iter().flatten().collect();
        let dims = [dims, &own].concat();
        let label = Label::with_gaps(&column.name, &column.units, &column.long_name);
        let dataset = file.reserve::<f64>(&root, label, &dims, coordinates)?;
        let each = layout.extent[..own.len()].iter().product::<usize>() as u64;
        let shape = dataset.shape();
        Ok((dataset, shape, each))
    };
    layout.fields.iter().map(reserve).collect()
}

fn reserve_status(
    file: &mut Labelled,
    label: Label<'_>,
    dims: &[Dim],
    coordinates: &str,
    layout: &Layout,
) -> hdf5::Result<Dataset> {
    let root = file.root()?;
    let dataset = file.reserve::<i8>(&root, label, dims, coordinates)?;
    let (values, words): (Vec<i8>, Vec<&str>) = layout.statuses.iter().copied().unzip();
    dataset.new_attr_builder().with_data(&values).create("flag_values")?;
    text_attribute(&dataset, "flag_meanings", &words.join(" "))?;
    Ok(dataset)
}

/// A finished file, read back in pieces.
pub struct StudyRows {
    shape: Vec<usize>,
    outputs: Vec<Dataset>,
    status: Dataset,
    reason: Dataset,
}

/// Samples read back: output by output, statuses, reasons.
pub type ReadBack = (Vec<Vec<f64>>, Vec<i8>, Vec<String>);

impl StudyRows {
    /// Opens a file with these outputs, by their exact names.
    pub fn open(path: &Path, outputs: &[String]) -> hdf5::Result<StudyRows> {
        let file = hdf5::File::open(path)?;
        let exact = |dataset: &Dataset| dataset.attr("output").ok()?.read_scalar::<VarLenUnicode>().ok();
        let named: Vec<(String, Dataset)> =
            file.datasets()?.into_iter().filter_map(|dataset| Some((exact(&dataset)?.to_string(), dataset))).collect();
        let find = |name: &String| {
            let found = named.iter().find(|(exact, _)| exact == name).map(|(_, dataset)| dataset.clone());
            found.ok_or_else(|| hdf5::Error::from(format!("there is no output {name}")))
        };
        let status = file.dataset("status")?;
        Ok(StudyRows {
            shape: status.shape(),
            outputs: outputs.iter().map(find).collect::<hdf5::Result<_>>()?,
            status,
            reason: file.dataset("status_reason")?,
        })
    }

    /// Reads the outputs and statuses of consecutive samples.
    pub fn numbers(&self, places: std::ops::Range<usize>) -> hdf5::Result<(Vec<Vec<f64>>, Vec<i8>)> {
        let outputs = self.outputs.iter().map(|dataset| read(dataset, &self.shape, places.clone()));
        Ok((outputs.collect::<hdf5::Result<_>>()?, read(&self.status, &self.shape, places.clone())?))
    }

    /// Reads consecutive samples.
    pub fn read(&self, places: std::ops::Range<usize>) -> hdf5::Result<ReadBack> {
        let (outputs, status) = self.numbers(places.clone())?;
        let reasons = read::<VarLenUnicode>(&self.reason, &self.shape, places.clone())?;
        Ok((outputs, status, reasons.iter().map(|reason| reason.to_string()).collect()))
    }
}

/// Reads values at consecutive places of a dataset.
fn read<T: H5Type>(dataset: &Dataset, shape: &[usize], places: std::ops::Range<usize>) -> hdf5::Result<Vec<T>> {
    let mut values = Vec::with_capacity(places.len());
    for slab in slabs(places, shape) {
        let piece = dataset.as_reader().read_slice::<T, _, IxDyn>(slab.selection())?;
        values.extend(piece.into_raw_vec_and_offset().0);
    }
    Ok(values)
}

/// What identifies the study of a results file; none where it is no file of a study.
pub fn identity(path: &Path) -> Option<Identity> {
    let file = hdf5::File::open(path).ok()?;
    let text = |name: &str| Some(file.attr(name).ok()?.read_scalar::<VarLenUnicode>().ok()?.to_string());
    Some(Identity { study: text("study_sha256")?, case: text("resolved_case_sha256")?, version: text("source")? })
}

/// Writes values at consecutive places of a dataset, the last dimension running fastest.
fn write<T: H5Type>(dataset: &Dataset, shape: &[usize], first: u64, values: &[T]) -> hdf5::Result<()> {
    let wrong = |error: &dyn std::fmt::Display| hdf5::Error::from(error.to_string());
    let first = usize::try_from(first).map_err(|error| wrong(&error))?;
    let mut written = 0;
    for slab in slabs(first..first + values.len(), shape) {
        let size: usize = slab.count.iter().product();
        let piece = values.get(written..written + size).ok_or_else(|| wrong(&"values do not fit"))?;
        let view = ArrayViewD::from_shape(IxDyn(&slab.count), piece).map_err(|error| wrong(&error))?;
        dataset.write_slice(view, slab.selection())?;
        written += size;
    }
    Ok(())
}

/// Names of variables: exact names with every character that a reader may stumble over replaced.
#[derive(Default)]
struct Names(Vec<String>);

impl Names {
    /// `"hot gauge".core` becomes `hot_gauge.core`; a second of the same spelling gets a number.
    fn of(&mut self, exact: &str) -> String {
        let kept = exact.chars().filter(|c| *c != '"');
        let plain: String = kept.map(|c| if c.is_alphanumeric() || ".-_".contains(c) { c } else { '_' }).collect();
        let mut name = plain.clone();
        let mut number = 2;
        while self.0.contains(&name) {
            name = format!("{plain}_{number}");
            number += 1;
        }
        self.0.push(name.clone());
        name
    }
}

#[cfg(test)]
mod tests {
    use super::Names;

    #[test]
    fn names_are_plain_and_unlike() {
        let mut names = Names::default();
        assert_eq!(names.of("capstan.core"), "capstan.core");
        assert_eq!(names.of("\"hot gauge\".core"), "hot_gauge.core");
        assert_eq!(names.of("\"hot/gauge\".core"), "hot_gauge.core_2");
    }
}
