//! Small cases from plain numbers: what the checks are made of. Line speed 1 m/s, so that metres are seconds.

use quenchway::case::{
    Case, Contact, Contraction, DieTemperature, Geometry, Layer, Medium, Section, Shape, Size, Station, Turn,
};
use quenchway::film::Film;
use quenchway::march::march;
use quenchway::march::solution::{PointReport, Solution};
use quenchway::material::{Curve, Kind, Material, Uncertainty};
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
    Material {
        name: "check".to_string(),
        kind,
        conductivity,
        heat_capacity,
        density: constant(density),
        set_temperature: None,
        range: [Celsius(-300.0), Celsius(2000.0)],
        hazards: Vec::new(),
        melt: None,
        uncertainty: Uncertainty::usual(kind),
    }
}

/// A layer out to `diameter` m (flat: full thickness), perfect contact, held.
pub fn layer(material: Material, diameter: f64, temperature: f64) -> Layer {
    Layer {
        name: format!("to {diameter} m"),
        material,
        size: Size::Diameter(diameter),
        temperature: DieTemperature::Fixed(Celsius(temperature)),
        contact: Contact::Perfect,
        contraction: Contraction::Held,
        poisson_ratio: 0.5,
        conductivity_factor: 1.0,
        heat_capacity_factor: 1.0,
        melt_shrink_max: None,
    }
}

/// A section of `duration` seconds in a medium with a given film.
pub fn bath(duration: f64, temperature: f64, film: f64) -> Section {
    Section {
        name: "bath".to_string(),
        medium: Medium::Water,
        length: duration,
        temperature: Celsius(temperature),
        film: Film::Given(film),
        film_factor: 1.0,
        emissivity: 0.0,
        circulation: None,
        supply: None,
        passes: 1,
        turn: Turn::in_air(0.0, Celsius(25.0)),
    }
}

/// A case of layers and sections with stations at these ages, s.
pub fn case(shape: Shape, layers: Vec<Layer>, sections: Vec<Section>, ages: &[f64]) -> Case {
    let duration: f64 = sections.iter().map(|section| section.length).sum();
    let last = sections.len() - 1;
    let station =
        |age: &f64| Station { name: format!("{age} s"), after: last, offset: age - duration, limits: Vec::new() };
    Case {
        title: "check".to_string(),
        units: Default::default(),
        line_speed: 1.0,
        shape,
        geometry: Geometry::Fixed,
        bore: 0.0,
        layers,
        sections,
        stations: ages.iter().map(station).collect(),
        tolerance: TOLERANCE,
        assumptions: Vec::new(),
        bands: Vec::new(),
        modes: Vec::new(),
    }
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
