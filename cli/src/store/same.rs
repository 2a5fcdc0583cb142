//! Whether two files have the same content: every variable and every attribute, bit for bit, apart from when and how they
//! were made.

use std::collections::BTreeSet;
use std::path::Path;

use hdf5::types::{TypeDescriptor, VarLenArray, VarLenAscii, VarLenUnicode};
use hdf5::{Container, Dataset, File, Group, H5Type, Hyperslab, Location, ObjectReference1, ReferencedObject};
use hdf5_metno as hdf5;

use super::StoreError;
use super::slabs::slabs;

/// Attributes that tell when and how a file was made, not what it holds.
const ABOUT_THE_MAKING: [&str; 3] = ["history", "parts", "report_json"];
/// Attributes of dimension scales that follow from names and shapes, or are addresses within one file.
const OF_SCALES: [&str; 3] = ["CLASS", "NAME", "REFERENCE_LIST"];
/// Values that are compared at a time.
const AT_A_TIME: usize = 131_072;

/// What came of comparing two files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Compared {
    /// The same content.
    Same {
        /// How many variables were compared.
        variables: usize,
    },
    /// The first difference, in words.
    Different(String),
}

/// Compares two files of this program; attributes `history`, `parts` and wall times (`..._wall_s`) are left aside.
///
/// Errors: a file that is no HDF5 file, or that holds what this program does not write.
pub fn compare(first: &Path, second: &Path) -> Result<Compared, StoreError> {
    let failed = |path: &Path| {
        let path = path.to_path_buf();
        move |error: hdf5::Error| StoreError::Read { path, reason: error.to_string() }
    };
    let open = |path| File::open(path).and_then(|file| file.group("/")).map_err(failed(path));
    let (a, b) = (open(first)?, open(second)?);
    let mut variables = 0;
    let found = groups(&a, &b, &mut variables).map_err(|error| {
        // The damaged one is the one that cannot be compared with itself.
        let whole = |group| groups(group, group, &mut 0);
        match (whole(&a), whole(&b)) {
            (Ok(_), Err(error)) => failed(second)(error),
            (Err(error), _) => failed(first)(error),
            (Ok(_), Ok(_)) => failed(first)(error),
        }
    })?;
    Ok(found.map_or(Compared::Same { variables }, Compared::Different))
}

/// The first difference of two groups, if there is one.
fn groups(a: &Group, b: &Group, variables: &mut usize) -> hdf5::Result<Option<String>> {
    let found = attributes(a, b, &where_of(&a.name()))?;
    if found.is_some() {
        return Ok(found);
    }
    let (here, there) = (names(a.member_names()?), names(b.member_names()?));
    if let Some(only) = here.symmetric_difference(&there).next() {
        let which = if here.contains(only) { "first" } else { "second" };
        return Ok(Some(format!("only the {which} file has {}", path_of(a, only))));
    }
    for name in &here {
        let found = match (a.dataset(name), b.dataset(name)) {
            (Ok(a), Ok(b)) => {
                *variables += 1;
                datasets(&a, &b)?
            }
            (Err(_), Err(_)) => groups(&a.group(name)?, &b.group(name)?, variables)?,
            _ => Some(format!("{} is a variable in one file and a group in the other", path_of(a, name))),
        };
        if found.is_some() {
            return Ok(found);
        }
    }
    Ok(None)
}

fn names(names: Vec<String>) -> BTreeSet<String> {
    names.into_iter().collect()
}

fn path_of(group: &Group, name: &str) -> String {
    format!("{}/{name}", group.name().trim_end_matches('/')).trim_start_matches('/').to_string()
}

fn where_of(name: &str) -> String {
    match name.trim_start_matches('/') {
        "" => String::new(),
        name => format!("{name}: "),
    }
}

fn attributes(a: &Location, b: &Location, place: &str) -> hdf5::Result<Option<String>> {
    let of = |location: &Location| -> hdf5::Result<BTreeSet<String>> {
        let aside = |name: &String| {
            ABOUT_THE_MAKING.contains(&name.as_str()) || OF_SCALES.contains(&name.as_str()) || name.ends_with("wall_s")
        };
        Ok(location.attr_names()?.into_iter().filter(|name| !aside(name)).collect())
    };
    let (here, there) = (of(a)?, of(b)?);
    if let Some(only) = here.symmetric_difference(&there).next() {
        let which = if here.contains(only) { "first" } else { "second" };
        return Ok(Some(format!("{place}only the {which} file has the attribute {only}")));
    }
    for name in &here {
        let (x, y) = (a.attr(name)?, b.attr(name)?);
        if x.shape() != y.shape() {
            return Ok(Some(format!("{place}attribute {name} has the shape {:?}, there {:?}", x.shape(), y.shape())));
        }
        let read = |location: &Location, attribute: &Container| match name.as_str() {
            "DIMENSION_LIST" => Ok(Values::Texts(dimensions(location, attribute)?)),
            _ => values(attribute, None),
        };
        if let Some((_, x, y)) = read(a, &x)?.difference(&read(b, &y)?) {
            return Ok(Some(format!("{place}attribute {name} is {x}, there {y}")));
        }
    }
    Ok(None)
}

/// Names of the scales that label a variable's dimensions.
fn dimensions(location: &Location, attribute: &Container) -> hdf5::Result<Vec<String>> {
    let lists = attribute.read_raw::<VarLenArray<ObjectReference1>>()?;
    let name = |reference: &ObjectReference1| match location.dereference(reference)? {
        ReferencedObject::Dataset(scale) => Ok(scale.name()),
        _ => Err(hdf5::Error::from("a dimension is labelled by something that is no variable")),
    };
    lists.iter().map(|list| Ok(list.iter().map(name).collect::<hdf5::Result<Vec<_>>>()?.join(" "))).collect()
}

fn datasets(a: &Dataset, b: &Dataset) -> hdf5::Result<Option<String>> {
    let name = a.name().trim_start_matches('/').to_string();
    if a.shape() != b.shape() {
        return Ok(Some(format!("{name} has the shape {:?}, there {:?}", a.shape(), b.shape())));
    }
    let kinds = (a.dtype()?.to_descriptor()?, b.dtype()?.to_descriptor()?);
    if kinds.0 != kinds.1 {
        return Ok(Some(format!("{name} holds {}, there {}", kinds.0, kinds.1)));
    }
    let found = attributes(a, b, &format!("{name}: "))?;
    if found.is_some() {
        return Ok(found);
    }
    let shape = a.shape();
    let size: usize = shape.iter().product();
    let differs = |first: usize, x: &Values, y: &Values| {
        x.difference(y).map(|(place, x, y)| format!("{name}{} is {x}, there {y}", index(first + place, &shape)))
    };
    if shape.is_empty() {
        return Ok(differs(0, &values(a, None)?, &values(b, None)?));
    }
    for first in (0..size).step_by(AT_A_TIME) {
        let mut at = first;
        for slab in slabs(first..(first + AT_A_TIME).min(size), &shape) {
            let of = |dataset| values(dataset, Some(slab.selection()));
            if let Some(found) = differs(at, &of(a)?, &of(b)?) {
                return Ok(Some(found));
            }
            at += slab.count.iter().product::<usize>();
        }
    }
    Ok(None)
}

/// The place of a value in an array: `[3, 0]`.
fn index(mut place: usize, shape: &[usize]) -> String {
    let mut along: Vec<String> = Vec::new();
    for length in shape.iter().rev() {
        along.push((place % length.max(&1)).to_string());
        place /= length.max(&1);
    }
    along.reverse();
    if along.is_empty() { String::new() } else { format!("[{}]", along.join(", ")) }
}

/// Values of a variable or attribute, so that equal means equal bits.
enum Values {
    Floats(Vec<f64>),
    Integers(Vec<i128>),
    Texts(Vec<String>),
}

impl Values {
    /// The first place where two differ, and what stands there.
    fn difference(&self, other: &Values) -> Option<(usize, String, String)> {
        match (self, other) {
            (Values::Floats(x), Values::Floats(y)) => {
                let place = x.iter().zip(y).position(|(x, y)| x.to_bits() != y.to_bits())?;
                Some((place, format!("{:?}", x[place]), format!("{:?}", y[place])))
            }
            (Values::Integers(x), Values::Integers(y)) => {
                let place = x.iter().zip(y).position(|(x, y)| x != y)?;
                Some((place, x[place].to_string(), y[place].to_string()))
            }
            (Values::Texts(x), Values::Texts(y)) => {
                let place = x.iter().zip(y).position(|(x, y)| x != y)?;
                Some((place, cut(&x[place], &y[place]), cut(&y[place], &x[place])))
            }
            _ => Some((0, "of one kind".to_string(), "of another".to_string())),
        }
    }
}

/// A text from a little before its first difference to another.
fn cut(text: &str, other: &str) -> String {
    const BEFORE: usize = 10;
    const MOST: usize = 40;
    let same = text.chars().zip(other.chars()).take_while(|(a, b)| a == b).count();
    let skip = same.saturating_sub(BEFORE);
    let shown: String = text.chars().skip(skip).take(MOST).collect();
    let (left, right) =
        (if skip > 0 { "..." } else { "" }, if text.chars().count() > skip + MOST { "..." } else { "" });
    format!("{left}{shown:?}{right}")
}

/// Reads the whole, or what is selected.
fn values(of: &Container, selected: Option<Hyperslab>) -> hdf5::Result<Values> {
    fn read<T: H5Type>(of: &Container, selected: Option<Hyperslab>) -> hdf5::Result<Vec<T>> {
        match selected {
            None => of.read_raw::<T>(),
            Some(selected) => {
                let values = of.as_reader().read_slice::<T, _, ndarray::IxDyn>(selected)?;
                Ok(values.into_raw_vec_and_offset().0)
            }
        }
    }
    Ok(match of.dtype()?.to_descriptor()? {
        TypeDescriptor::Float(_) => Values::Floats(read::<f64>(of, selected)?),
        TypeDescriptor::Integer(_) => {
            Values::Integers(read::<i64>(of, selected)?.into_iter().map(i128::from).collect())
        }
        TypeDescriptor::Unsigned(_) => {
            Values::Integers(read::<u64>(of, selected)?.into_iter().map(i128::from).collect())
        }
        TypeDescriptor::VarLenUnicode => {
            Values::Texts(read::<VarLenUnicode>(of, selected)?.iter().map(|text| text.to_string()).collect())
        }
        TypeDescriptor::VarLenAscii => {
            Values::Texts(read::<VarLenAscii>(of, selected)?.iter().map(|text| text.to_string()).collect())
        }
        other => return Err(format!("{} holds {other}, which is not compared here", of.name()).into()),
    })
}
