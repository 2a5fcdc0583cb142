//! Whole fields of every sample: along the line, and across the product.

use ndarray::{Array1, Array2};

use crate::data::Label;
use crate::march::solution::Fields;

/// A field that can be kept.
#[derive(Debug)]
pub struct Field {
    /// How it is labelled: by its name in the results file of a run; shorter samples are filled up.
    pub label: Label<'static>,
    source: Source,
}

#[derive(Debug)]
enum Source {
    /// One number at a point of the line.
    Along(fn(&Fields) -> &Array1<f64>),
    /// One number at a node of a point.
    Across(fn(&Fields) -> &Array2<f64>),
}

const fn along(
    name: &'static str,
    units: &'static str,
    describes: &'static str,
    of: fn(&Fields) -> &Array1<f64>,
) -> Field {
    Field { label: Label::with_gaps(name, units, describes), source: Source::Along(of) }
}

const fn across(
    name: &'static str,
    units: &'static str,
    describes: &'static str,
    of: fn(&Fields) -> &Array2<f64>,
) -> Field {
    Field { label: Label::with_gaps(name, units, describes), source: Source::Across(of) }
}

/// Where the points of a sample lie: kept with every field.
static DISTANCE: Field = along("distance", "m", "distance from the die", |f| &f.distance);
static TIME: Field = along("time", "s", "age of the slice since the die", |f| &f.time);
/// Where the nodes of a point lie: kept with every field across.
static RADIUS: Field = across("radius", "m", "distance of the node from the axis or mid-plane", |f| &f.radius);

/// The fields that a study may ask for.
#[rustfmt::skip]
static FIELDS: [Field; 9] = [
    across("temperature", "degC", "temperature of the node", |f| &f.temperature),
    along("surface_temperature", "degC", "temperature of the outer surface", |f| &f.surface),
    along("core_temperature", "degC", "temperature of the axis or inner surface", |f| &f.core),
    along("mean_temperature", "degC", "mass mean temperature of the plastic", |f| &f.mean),
    along("hottest_plastic_temperature", "degC", "hottest point of the plastic", |f| &f.hottest),
    along("diameter", "m", "outer diameter (flat: full thickness)", |f| &f.diameter),
    along("medium_temperature", "degC", "temperature of the air or water around it", |f| &f.medium),
    along("film_coefficient", "W m-2 K-1", "film coefficient, radiation not included", |f| &f.film),
    along("heat_flux", "W m-2", "heat flux from the surface, radiation included", |f| &f.heat_flux),
];

pub use crate::names::keys::FIELDS as NAMES;

/// The fields of some positions in [`NAMES`], after those that say where they lie; none of none.
pub fn kept(positions: &[usize]) -> Vec<&'static Field> {
    let asked: Vec<&Field> =
        FIELDS.iter().enumerate().filter(|(place, _)| positions.contains(place)).map(|(_, field)| field).collect();
    let mut kept: Vec<&Field> = if asked.is_empty() { Vec::new() } else { vec![&DISTANCE, &TIME] };
    kept.extend(asked.iter().any(|field| field.is_across()).then_some(&RADIUS));
    kept.extend(asked);
    kept
}

impl Field {
    /// Whether it has a number at every node of a point.
    pub fn is_across(&self) -> bool {
        matches!(self.source, Source::Across(_))
    }
}

/// The fields of one sample, at the points and nodes of its own computation.
#[derive(Clone, Debug, PartialEq)]
pub struct FieldsOf {
    /// Points along the line.
    pub points: usize,
    /// Nodes across the product.
    pub nodes: usize,
    /// Field by field; across, the nodes of a point stand together.
    pub values: Vec<Vec<f64>>,
}

impl FieldsOf {
    /// What is kept of a sample's fields.
    pub fn new(kept: &[&Field], fields: &Fields) -> FieldsOf {
        let values = kept.iter().map(|field| match field.source {
            Source::Along(of) => of(fields).iter().copied().collect(),
            Source::Across(of) => of(fields).iter().copied().collect(),
        });
        FieldsOf { points: fields.distance.len(), nodes: fields.radius.ncols(), values: values.collect() }
    }
}
