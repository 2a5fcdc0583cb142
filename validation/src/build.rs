//! Small cases from plain numbers: what the checks are made of. Line speed 1 m/s, so that metres are seconds.

use quenchway::case::{Case, Contraction, Geometry, Layer, Medium, Section, Shape, Size, Station};
use quenchway::march::march;
use quenchway::march::solution::{PointReport, Solution};
use quenchway::material::{Curve, Kind, Material};
use quenchway::units::Celsius;

/// Accuracy that the checks ask for, K, and with it their usual bound: the promise of `solver.tolerance`.
pub const TOLERANCE: f64 = 1e-3;

/// Why the usual bound is what it is.
pub const PROMISE: &str = "the tolerance asked for, 0.001 K, is the promise made";

/// Film coefficient that stands for a surface held at the medium's temperature, W/(m2 K).
pub const STEP: f64 = 1e9;

/// A curve from (degC, value) points.
pub fn curve(points: Vec<[f64; 2]>) -> Curve {
    match Curve::new(points) {
        Ok(curve) => curve,
        Err(error) => unreachable!("the checks' own curves are valid: {error:?}"),
    }
}

/// A curve of one value.
pub fn constant(value: f64) -> Curve {
    curve(vec![[0.0, value]])
}

/// A material; density constant unless changed afterwards.
pub fn material(kind: Kind, conductivity: Curve, heat_capacity: Curve, density: f64) -> Material {
    let material = Material::new("check", kind, conductivity, heat_capacity, constant(density));
    Material { range: [Celsius(-300.0), Celsius(2000.0)], ..material }
}

/// A layer out to `diameter` m (flat: full thickness), perfect contact, held.
pub fn layer(material: Material, diameter: f64, temperature: f64) -> Layer {
    let layer = Layer::new(format!("to {diameter} m"), material, Size::Diameter(diameter), Celsius(temperature));
    Layer { contraction: Contraction::Held, ..layer }
}

/// A section of `duration` seconds in a medium with a given film.
pub fn bath(duration: f64, temperature: f64, film: f64) -> Section {
    Section::new("bath", Medium::Water, duration, Celsius(temperature)).given(film)
}

/// A case of layers and sections with stations at these ages, s.
pub fn case(shape: Shape, layers: Vec<Layer>, sections: Vec<Section>, ages: &[f64]) -> Case {
    let duration: f64 = sections.iter().map(|section| section.length).sum();
    let last = sections.len() - 1;
    let stations = ages.iter().map(|age| Station::behind(format!("{age} s"), last).moved(age - duration)).collect();
    let (title, geometry) = ("check".to_string(), Geometry::Fixed);
    Case { title, shape, geometry, stations, tolerance: TOLERANCE, ..Case::new(1.0, layers, sections) }
}

/// The march of a case; a check whose march fails shows it as values that are no numbers.
pub fn marched(case: &Case) -> Option<Solution> {
    march(case).ok()
}

/// A value of a station's report, or no number.
pub fn at(solution: Option<&Solution>, station: usize, value: impl Fn(&PointReport) -> f64) -> f64 {
    solution.and_then(|solution| solution.stations.get(station)).map_or(f64::NAN, |report| value(&report.point))
}

/// One material cut at these places (m from the mid-plane or axis, rising, the last the surface), so that the joints
/// report its temperature there.
pub fn cut(material: &Material, places: &[f64], temperature: f64) -> Vec<Layer> {
    places.iter().map(|place| layer(material.clone(), 2.0 * place, temperature)).collect()
}
