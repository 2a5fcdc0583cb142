//! A study as a results file, written block after block: one dimension per axis of a grid, or one of samples.

use std::path::Path;
use std::time::SystemTime;

use hdf5::types::VarLenUnicode;
use hdf5::{Dataset, H5Type};
use hdf5_metno as hdf5;
use ndarray::{ArrayViewD, IxDyn};

use super::chunks::Chunks;
use super::scale::{Dim, Label, Labelled, number_attribute, text, text_attribute};
use super::slabs::slabs;
use super::write::CONVENTIONS;
use super::{PROGRAM, StoreError, utc};
use crate::build;
use crate::sweep::Identity;

/// What a file holds; labels have exact names: a key path, an output's name.
#[derive(Clone, Debug)]
pub struct Layout<'a> {
    /// What varies.
    pub axes: Vec<Label<'a>>,
    /// What is kept.
    pub outputs: Vec<Label<'a>>,
    /// The values of each axis of a grid; none where the samples are one dimension.
    pub coordinates: Option<Vec<Vec<f64>>>,
    /// How many samples there are.
    pub samples: u64,
    /// Numbers and words of the statuses.
    pub statuses: Vec<(i8, &'static str)>,
    /// Fields of every sample, and whether each is across the product too.
    pub fields: Vec<(Label<'a>, bool)>,
    /// Most points along the line and most nodes across the product that a sample has.
    pub extent: [usize; 2],
}

/// Samples one after the other, in the order of their indices.
#[derive(Debug)]
pub struct Rows<'r> {
    /// Index of the first.
    pub first: u64,
    /// The bytes of what is known of them, variable by variable: inputs (none for a grid), outputs, not a number where there is
    /// none, status, fields, every sample filled up to the largest with not a number.
    pub values: &'r [Vec<u8>],
    /// Why it is not good; empty for a good one.
    pub reasons: &'r [&'r str],
}

/// A file under construction.
pub struct StudyFile {
    file: Labelled,
    shape: Vec<usize>,
    /// Inputs, outputs, status, fields.
    growing: Chunks,
    reason: Dataset,
}

impl StudyFile {
    /// Makes the file with all its variables, still empty.
    pub fn create(path: &Path, layout: &Layout) -> hdf5::Result<StudyFile> {
        let mut file = Labelled::create(path)?;
        let root = file.root()?;
        let mut names = Names::default();
        let axis_names: Vec<String> = layout.axes.iter().map(|axis| names.of(axis.name)).collect();
        let label = |name: &'static str, long_name: &'static str| Label::new(name, "", long_name);
        let (mut dims, mut shape, mut growing) = (Vec::new(), Vec::new(), Chunks::new()?);
        let none = f64::NAN.to_ne_bytes();
        let mut coordinates = String::new();
        match &layout.coordinates {
            Some(values) => {
                for ((axis, name), values) in layout.axes.iter().zip(&axis_names).zip(values) {
                    dims.push(file.coordinate(&root, Label { name, ..*axis }, values)?);
                    let dataset = root.dataset(name)?;
                    text_attribute(&dataset, "key_path", axis.name)?;
                    shape.push(values.len());
                }
            }
            None => {
                let samples = usize::try_from(layout.samples).map_err(|error| hdf5::Error::from(error.to_string()))?;
                dims.push(file.dimension(&root, "sample", samples)?);
                shape.push(samples);
                for (axis, name) in layout.axes.iter().zip(&axis_names) {
                    let dataset = file.reserve::<f64>(&root, Label { name, ..*axis }, &dims, "")?;
                    text_attribute(&dataset, "key_path", axis.name)?;
                    growing.add(dataset, &[0; 8])?;
                }
                coordinates = axis_names.join(" ");
            }
        }
        for output in &layout.outputs {
            let name = names.of(output.name);
            let dataset = file.reserve::<f64>(&root, Label { name: &name, ..*output }, &dims, &coordinates)?;
            text_attribute(&dataset, "output", output.name)?;
            growing.add(dataset, &none)?;
        }
        let status =
            reserve_status(&mut file, label("status", "what became of the sample"), &dims, &coordinates, layout)?;
        growing.add(status, &[0])?;
        let why = label("status_reason", "why the sample is not good; empty for a good one");
        let reason = file.reserve::<VarLenUnicode>(&root, why, &dims, &coordinates)?;
        for dataset in reserve_fields(&mut file, &dims, &coordinates, layout)? {
            growing.add(dataset, &none)?;
        }
        Ok(StudyFile { file, shape, growing, reason })
    }

    /// Writes the next samples.
    pub fn rows(&mut self, rows: &Rows<'_>) -> hdf5::Result<()> {
        for (variable, values) in rows.values.iter().enumerate() {
            self.growing.push(variable, values)?;
        }
        // What is never written reads as an empty text, and takes no room.
        if rows.reasons.iter().any(|reason| !reason.is_empty()) {
            let reasons = rows.reasons.iter().map(|reason| text(reason)).collect::<hdf5::Result<Vec<_>>>()?;
            write(&self.reason, &self.shape, rows.first, &reasons)?;
        }
        Ok(())
    }

    /// Writes the root attributes and closes the file.
    pub fn finish(self, texts: &[(&'static str, String)], numbers: &[(&'static str, f64)]) -> hdf5::Result<()> {
        let root = self.file.root()?;
        let version = env!("CARGO_PKG_VERSION");
        let history = format!("{} {PROGRAM} {version} sweep", utc::stamp(SystemTime::now()));
        for (name, value) in [("Conventions", CONVENTIONS), ("history", &history), ("source", build::PROGRAM)] {
            text_attribute(&root, name, value)?;
        }
        for (name, value) in texts {
            text_attribute(&root, name, value)?;
        }
        for (name, value) in numbers {
            number_attribute(&root, name, *value)?;
        }
        self.growing.finish()?;
        drop(self.reason);
        self.file.finish()
    }
}

/// Makes the variables of the fields, with the dimensions `point` and, across the product, `node`.
fn reserve_fields(file: &mut Labelled, dims: &[Dim], coordinates: &str, layout: &Layout) -> hdf5::Result<Vec<Dataset>> {
    if layout.fields.is_empty() {
        return Ok(Vec::new());
    }
    let root = file.root()?;
    let point = file.dimension(&root, "point", layout.extent[0])?;
    let node = match layout.fields.iter().any(|(_, across)| *across) {
        true => Some(file.dimension(&root, "node", layout.extent[1])?),
        false => None,
    };
    let reserve = |(label, across): &(Label<'_>, bool)| {
        let own: Vec<Dim> = [Some(point), node.filter(|_| *across)].into_iter().flatten().collect();
        let dims = [dims, &own].concat();
        file.reserve::<f64>(&root, *label, &dims, coordinates)
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

/// The report in JSON that a results file of a study keeps.
///
/// # Errors
/// [`StoreError::Read`] when the file is no results file of a study.
pub fn report(path: &Path) -> Result<String, StoreError> {
    let read = || {
        let file = hdf5::File::open(path)?;
        file.attr("report_json")?.read_scalar::<VarLenUnicode>()
    };
    let failed = |error: hdf5::Error| StoreError::Read { path: path.to_path_buf(), reason: error.to_string() };
    read().map(|report| report.to_string()).map_err(failed)
}

/// What identifies the study of a results file; none where it is no file of a study.
pub fn identity(path: &Path) -> Option<Identity> {
    let file = hdf5::File::open(path).ok()?;
    let text = |name: &str| Some(file.attr(name).ok()?.read_scalar::<VarLenUnicode>().ok()?.to_string());
    Some(Identity {
        study: text("study_sha256")?,
        case: text("resolved_case_sha256")?,
        program: text("program_sha256").unwrap_or_default(),
        build: text("source")?,
    })
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
