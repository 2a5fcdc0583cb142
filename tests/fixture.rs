//! Cases of round and flat products, made in memory.

use quenchway::case::{
    Case, CaseFile, Contact, Contraction, DieTemperature, Geometry, Layer, Limit, Medium, Quantity, Section, Shape,
    Size, Station, Turn,
};
use quenchway::film::Film;
use quenchway::march::solution::Solution;
use quenchway::material::{Curve, Kind, Material, Uncertainty};
use quenchway::units::Celsius;

/// Solid copper, 8900 kg/m3: plausible values, not checked.
pub fn copper() -> Material {
    material("copper", Kind::Metal, 390.0, 385.0, vec![[20.0, 8900.0]])
}

/// Plasticised PVC with the densities of a melt and of a solid: plausible values, not checked.
pub fn pvc() -> Material {
    let mut pvc =
        material("pvc-insulation", Kind::Plastic, 0.17, 1500.0, vec![[0.0, 1400.0], [75.0, 1374.0], [200.0, 1290.0]]);
    pvc.set_temperature = Some(Celsius(80.0));
    pvc.hazards = vec![quenchway::material::Hazard::HydrogenChloride];
    pvc
}

fn material(name: &str, kind: Kind, k: f64, cp: f64, density: Vec<[f64; 2]>) -> Material {
    Material {
        name: name.to_string(),
        kind,
        conductivity: Curve::constant(k).unwrap(),
        heat_capacity: Curve::constant(cp).unwrap(),
        density: Curve::new(density).unwrap(),
        set_temperature: None,
        range: [Celsius(0.0), Celsius(230.0)],
        hazards: Vec::new(),
        melt: None,
        uncertainty: Uncertainty::usual(kind),
    }
}

/// A layer by its outer diameter at the die, m.
pub fn layer(name: &str, material: Material, diameter: f64, temperature: f64) -> Layer {
    let contraction = if material.kind == Kind::Metal { Contraction::Free } else { Contraction::Held };
    Layer {
        name: name.to_string(),
        material,
        size: Size::Diameter(diameter),
        temperature: DieTemperature::Fixed(Celsius(temperature)),
        contact: Contact::Perfect,
        contraction,
        poisson_ratio: 0.5,
        conductivity_factor: 1.0,
        heat_capacity_factor: 1.0,
        melt_shrink_max: None,
    }
}

/// A section with a given film coefficient.
pub fn section(name: &str, medium: Medium, length: f64, temperature: f64) -> Section {
    let film = if medium == Medium::Air { 22.0 } else { 2500.0 };
    Section {
        name: name.to_string(),
        medium,
        length,
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

/// A station at the end of a section plus an offset.
pub fn station(name: &str, after: usize, offset: f64, limits: &[(Quantity, f64)]) -> Station {
    let limits = limits.iter().map(|&(quantity, max)| Limit { quantity, max: Celsius(max) }).collect();
    Station { name: name.to_string(), after, offset, limits }
}

/// Solid building wire, 2.5 mm2, PVC insulated, at 150 m/min.
pub fn house_wire() -> CaseFile {
    let case = Case {
        title: "2.5 mm2 solid building wire, line to be speeded up".to_string(),
        units: Default::default(),
        line_speed: 2.5,
        shape: Shape::Round,
        geometry: Geometry::Shrinking,
        bore: 0.0,
        layers: vec![layer("conductor", copper(), 1.78e-3, 90.0), layer("insulation", pvc(), 3.42e-3, 188.0)],
        sections: vec![
            section("air gap", Medium::Air, 0.4, 28.0),
            section("trough", Medium::Water, 18.0, 16.0),
            section("to capstan", Medium::Air, 1.5, 28.0),
        ],
        stations: vec![
            station("hot gauge", 0, -0.2, &[]),
            station("capstan", 2, 0.0, &[(Quantity::Surface, 45.0), (Quantity::Core, 60.0)]),
        ],
        tolerance: 0.01,
        assumptions: Vec::new(),
        bands: Vec::new(),
        modes: Vec::new(),
    };
    case.into()
}

/// The case's solution.
pub fn solution(case: &Case) -> Solution {
    quenchway::march::march(case).unwrap()
}
