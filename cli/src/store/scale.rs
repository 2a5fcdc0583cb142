//! HDF5 as netCDF-4 readers expect it: every dimension is a dimension scale, attached to the variables that it labels.
//!
//! The attributes are those of the HDF5 dimension scale specification (The HDF Group, HDF5 Dimension Scale Specification
//! and Design Notes, 2005) and of the netCDF-4 format (Unidata, NetCDF File Format Specifications, appendix C).

use std::path::Path;
use std::str::FromStr;

use hdf5::plist::group_create::{AttrCreationOrder, LinkCreationOrder};
use hdf5::types::{VarLenArray, VarLenUnicode};
use hdf5::{Dataset, File, Group, H5Type, Location, ObjectReference1};
use hdf5_metno as hdf5;
use hdf5_metno_sys as sys;
use ndarray::{Array1, ArrayView1, ArrayViewD};
pub(super) use quenchway::data::Label;

/// A dimension of the file.
#[derive(Clone, Copy)]
pub(super) struct Dim(usize);

/// A file under construction.
pub(super) struct Labelled {
    file: File,
    scales: Vec<Scale>,
}

struct Scale {
    dataset: Dataset,
    length: usize,
    users: Vec<User>,
}

/// One entry of a scale's list of users, as the specification lays it out.
#[derive(Clone, Copy, H5Type)]
#[repr(C)]
struct User {
    dataset: ObjectReference1,
    dimension: i32,
}

impl Labelled {
    /// Makes the file; what was there is lost.
    pub fn create(path: &Path) -> hdf5::Result<Labelled> {
        // Creation order is what netCDF lists variables in; without times two runs give the same bytes.
        let file = File::with_options()
            .with_fcpl(|create| {
                create
                    .obj_track_times(false)
                    .link_creation_order(LinkCreationOrder::Indexed)
                    .attr_creation_order(AttrCreationOrder::Indexed)
            })
            .create(path)?;
        Ok(Labelled { file, scales: Vec::new() })
    }

    /// The root group.
    pub fn root(&self) -> hdf5::Result<Group> {
        self.file.group("/")
    }

    /// Makes a group below the root.
    pub fn group(&self, name: &str) -> hdf5::Result<Group> {
        let builder = self.file.create_group_builder().with_gcpl(|create| {
            create
                .obj_track_times(false)
                .link_creation_order(LinkCreationOrder::Indexed)
                .attr_creation_order(AttrCreationOrder::Indexed)
        });
        builder.create(name)
    }

    /// Makes a dimension that has a length and no values.
    pub fn dimension(&mut self, group: &Group, name: &str, length: usize) -> hdf5::Result<Dim> {
        let dataset = group
            .new_dataset_builder()
            .with_dcpl(|create| create.attr_creation_order(AttrCreationOrder::Indexed))
            .empty::<f32>()
            .shape([length])
            .create(name)?;
        // The words by which netCDF knows that there is no variable behind the dimension; the width is part of them.
        self.scale(dataset, &format!("This is a netCDF dimension but not a netCDF variable.{length:10}"), length)
    }

    /// Writes a variable of one dimension that is the dimension's own coordinate.
    pub fn coordinate<T: H5Type + Clone>(&mut self, group: &Group, label: Label, values: &[T]) -> hdf5::Result<Dim> {
        let dataset = numbers(group, label, ArrayView1::from(values).into_dyn())?;
        self.scale(dataset, label.name, values.len())
    }

    /// Writes numbers along dimensions; `coordinates` names further variables that label them (may be empty).
    pub fn numbers<T: H5Type + Clone>(
        &mut self,
        group: &Group,
        label: Label,
        dims: &[Dim],
        coordinates: &str,
        values: ArrayViewD<T>,
    ) -> hdf5::Result<()> {
        let dataset = numbers(group, label, values)?;
        if !coordinates.is_empty() {
            text_attribute(&dataset, "coordinates", coordinates)?;
        }
        self.attach(&dataset, dims)
    }

    /// Makes a variable along dimensions that is written later, piece by piece.
    pub fn reserve<T: H5Type>(
        &mut self,
        group: &Group,
        label: Label,
        dims: &[Dim],
        coordinates: &str,
    ) -> hdf5::Result<Dataset> {
        let shape: Vec<usize> = dims.iter().map(|dim| self.scales[dim.0].length).collect();
        let mut builder = group
            .new_dataset_builder()
            .with_dcpl(|create| create.attr_creation_order(AttrCreationOrder::Indexed))
            .chunk(consecutive(&shape))
            .shuffle()
            .deflate(4);
        if label.may_miss {
            builder = builder.fill_value(f64::NAN);
        }
        let dataset = builder.empty::<T>().shape(&shape[..]).create(label.name)?;
        described(&dataset, label)?;
        if !coordinates.is_empty() {
            text_attribute(&dataset, "coordinates", coordinates)?;
        }
        self.attach(&dataset, dims)?;
        Ok(dataset)
    }

    /// Writes one text per point of a dimension.
    pub fn texts<'t>(
        &mut self,
        group: &Group,
        name: &str,
        long_name: &str,
        dim: Dim,
        values: impl Iterator<Item = &'t str>,
    ) -> hdf5::Result<()> {
        let values: Array1<VarLenUnicode> = values.map(text).collect::<hdf5::Result<_>>()?;
        let dataset = group
            .new_dataset_builder()
            .with_dcpl(|create| create.attr_creation_order(AttrCreationOrder::Indexed))
            .with_data(&values)
            .create(name)?;
        text_attribute(&dataset, "long_name", long_name)?;
        self.attach(&dataset, &[dim])
    }

    /// Writes the lists of users and closes the file.
    pub fn finish(self) -> hdf5::Result<()> {
        for scale in self.scales.iter().filter(|scale| !scale.users.is_empty()) {
            // Packed: the padding of the layout in memory is not defined and would differ between runs.
            let list = scale.dataset.new_attr_builder().with_data(&scale.users).packed(true);
            list.create("REFERENCE_LIST")?;
        }
        drop(self.scales);
        self.file.flush()?;
        self.file.close()
    }

    fn scale(&mut self, dataset: Dataset, name: &str, length: usize) -> hdf5::Result<Dim> {
        c_string_attribute(&dataset, c"CLASS", "DIMENSION_SCALE")?;
        c_string_attribute(&dataset, c"NAME", name)?;
        self.scales.push(Scale { dataset, length, users: Vec::new() });
        Ok(Dim(self.scales.len() - 1))
    }

    fn attach(&mut self, dataset: &Dataset, dims: &[Dim]) -> hdf5::Result<()> {
        let expected: Vec<usize> = dims.iter().map(|dim| self.scales[dim.0].length).collect();
        let found = dataset.shape();
        if expected != found {
            let name = dataset.name();
            return Err(format!("{name} has the shape {found:?} where its dimensions say {expected:?}").into());
        }
        if dims.is_empty() {
            return Ok(());
        }
        let user: ObjectReference1 = self.file.reference(&dataset.name())?;
        let mut list = Vec::new();
        for (dimension, dim) in (0..).zip(dims) {
            let scale = &mut self.scales[dim.0];
            let reference: ObjectReference1 = self.file.reference(&scale.dataset.name())?;
            list.push(VarLenArray::from_slice(&[reference]));
            scale.users.push(User { dataset: user, dimension });
        }
        dataset.new_attr_builder().with_data(&list).create("DIMENSION_LIST").map(drop)
    }
}

/// Writes a text attribute.
pub(super) fn text_attribute(place: &Location, name: &str, value: &str) -> hdf5::Result<()> {
    place.new_attr::<VarLenUnicode>().create(name)?.write_scalar(&text(value)?)
}

/// Writes a number attribute.
pub(super) fn number_attribute<T: H5Type>(place: &Location, name: &str, value: T) -> hdf5::Result<()> {
    place.new_attr::<T>().create(name)?.write_scalar(&value)
}

fn numbers<T: H5Type + Clone>(group: &Group, label: Label, values: ArrayViewD<T>) -> hdf5::Result<Dataset> {
    let values = values.as_standard_layout();
    let fields = values.ndim() > 1 && !values.is_empty();
    let mut builder =
        group.new_dataset_builder().with_dcpl(|create| create.attr_creation_order(AttrCreationOrder::Indexed));
    if fields {
        // Up to 1 MiB a chunk, HDF5's default cache of one; shuffled, smooth profiles shrink to a fraction.
        let row: usize = values.shape()[1..].iter().product();
        let rows = (131_072 / row.max(1)).clamp(1, values.shape()[0]);
        let chunk: Vec<usize> = std::iter::once(rows).chain(values.shape()[1..].iter().copied()).collect();
        builder = builder.chunk(chunk).shuffle().deflate(6);
    }
    if label.may_miss {
        builder = builder.fill_value(f64::NAN);
    }
    let dataset = builder.with_data(values.view()).create(label.name)?;
    described(&dataset, label)?;
    Ok(dataset)
}

/// Writes what a variable is.
fn described(dataset: &Dataset, label: Label) -> hdf5::Result<()> {
    if label.may_miss {
        dataset.new_attr_builder().with_data(&[f64::NAN]).create("_FillValue")?;
    }
    // Texts have no unit.
    if !label.units.is_empty() {
        text_attribute(dataset, "units", label.units)?;
    }
    text_attribute(dataset, "long_name", label.long_name)
}

/// A chunk of consecutive places: 128 KiB of numbers, so that many variables can be written at once in little memory.
fn consecutive(shape: &[usize]) -> Vec<usize> {
    let mut left: usize = 16_384;
    let mut chunk: Vec<usize> = shape
        .iter()
        .rev()
        .map(|&length| {
            let taken = length.min(left).max(1);
            // A dimension that is not taken whole ends the run.
            left = if taken == length { left / length } else { 1 };
            taken
        })
        .collect();
    chunk.reverse();
    chunk
}

/// Writes a text attribute of fixed length that ends in NUL: HDF5 and netCDF-C recognise a scale by no other kind.
fn c_string_attribute(dataset: &Dataset, name: &std::ffi::CStr, value: &str) -> hdf5::Result<()> {
    use sys::{h5a, h5i, h5p, h5s, h5t};
    let value = std::ffi::CString::new(value).map_err(|error| hdf5::Error::from(error.to_string()))?;
    let bytes = value.as_bytes_with_nul();
    let written = hdf5::sync::sync(|| {
        // SAFETY: under the library's lock; `bytes` outlives the call and is as long as the type says; every identifier
        // is checked by HDF5 itself, which answers a negative one with an error and nothing else.
        unsafe {
            let kind = h5t::H5Tcopy(*h5t::H5T_C_S1);
            h5t::H5Tset_size(kind, bytes.len());
            let space = h5s::H5Screate(h5s::H5S_class_t::H5S_SCALAR);
            let attribute =
                h5a::H5Acreate2(dataset.id(), name.as_ptr(), kind, space, h5p::H5P_DEFAULT, h5p::H5P_DEFAULT);
            let written = h5a::H5Awrite(attribute, kind, bytes.as_ptr().cast());
            for id in [attribute, space, kind] {
                h5i::H5Idec_ref(id);
            }
            written
        }
    });
    if written < 0 { Err(format!("attribute {name:?} of {} refused", dataset.name()).into()) } else { Ok(()) }
}

pub(super) fn text(value: &str) -> hdf5::Result<VarLenUnicode> {
    VarLenUnicode::from_str(value).map_err(|error| hdf5::Error::from(format!("{value:?}: {error}")))
}
