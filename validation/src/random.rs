//! Random valid cases: every construction that the engine takes, from the thinnest wire to the thickest cable.

use fastrand::Rng;
use quenchway::case::{
    Case, Circulation, Contact, Contraction, Direction, Flow, Geometry, Layer, Medium, Section, Shape, Size, Station,
};
use quenchway::file::library;
use quenchway::film::{self, Film, Inputs};
use quenchway::material::{Curve, Kind, Material};
use quenchway::units::Celsius;

/// The case of a seed: 1 to 4 layers, 1 to 6 sections, 0.2 to 80 mm, 0.01 to 30 m/s, library materials and own curves with
/// and without latent peaks, contacts, bores, film tables, sprays, air wipes, radiation,
/// warming water, both shapes. The same seed gives the same case.
pub fn case(seed: u64) -> Case {
    let mut rng = Rng::with_seed(seed);
    let rng = &mut rng;
    let shape = if rng.f64() < 0.15 { Shape::Flat } else { Shape::Round };
    let outer = 0.5 * log_uniform(rng, 0.2e-3, 80e-3);
    let line_speed = log_uniform(rng, 0.01, 30.0);
    let bore = if rng.f64() < 0.15 { 2.0 * outer * rng.f64() * 0.6 } else { 0.0 };
    let layers = layers(rng, outer, bore);
    let mut sections = sections(rng, outer - 0.5 * bore, line_speed);
    if shape == Shape::Round {
        warm_the_water(&mut Rng::with_seed(!seed), &layers, &mut sections, [bore, 2.0 * outer], line_speed);
    }
    let mut stations = vec![station("end", sections.len() - 1, 0.0)];
    for index in 0..rng.usize(0..3) {
        let after = rng.usize(0..sections.len());
        let offset = -sections[after].length * rng.f64() * 0.95;
        stations.push(station(&format!("station {index}"), after, offset));
    }
    let geometry = if rng.f64() < 0.1 { Geometry::Fixed } else { Geometry::Shrinking };
    let title = format!("random case {seed}");
    Case { title, shape, geometry, bore, stations, ..Case::new(line_speed, layers, sections) }
}

fn station(name: &str, after: usize, offset: f64) -> Station {
    Station::behind(name, after).moved(offset)
}

fn layers(rng: &mut Rng, outer: f64, bore: f64) -> Vec<Layer> {
    let count = rng.usize(1..5);
    let metal_core = count > 1 && rng.f64() < 0.7;
    let mut cuts: Vec<f64> = (1..count).map(|_| 0.1 + 0.8 * rng.f64()).collect();
    cuts.sort_by(f64::total_cmp);
    let inner = 0.5 * bore;
    let mut previous = inner;
    let mut layers: Vec<Layer> = Vec::new();
    cuts.push(1.0);
    for (index, cut) in cuts.into_iter().enumerate() {
        let wanted = inner + (outer - inner) * cut;
        // Never thinner than a fiftieth of the wall: two cuts may fall together.
        let radius = wanted.max(previous + 0.02 * (outer - inner));
        previous = radius;
        let metal = index == 0 && metal_core;
        let own = rng.f64() < 0.6;
        let material = match (own, metal) {
            (true, true) => metal_material(rng),
            (true, false) => plastic(rng),
            (false, _) => library_material(rng, if metal { Kind::Metal } else { Kind::Plastic }),
        };
        let temperature = if metal || rng.f64() < 0.2 { uniform(rng, 15.0, 140.0) } else { uniform(rng, 150.0, 220.0) };
        let contact = if index > 0 && rng.f64() < 0.35 {
            Contact::Conductance(log_uniform(rng, 100.0, 20000.0))
        } else {
            Contact::Perfect
        };
        let free = metal || !metal_core || rng.f64() < 0.2;
        let contraction = if free { Contraction::Free } else { Contraction::Held };
        let size = Size::Diameter(2.0 * radius);
        let layer = Layer::new(format!("layer {index}"), material, size, Celsius(temperature));
        layers.push(Layer { contact, contraction, ..layer });
    }
    layers
}

/// Sections whose lengths give the product a Fourier number of 0.003 to 1 each.
fn sections(rng: &mut Rng, wall: f64, speed: f64) -> Vec<Section> {
    let count = rng.usize(1..7);
    (0..count)
        .map(|index| {
            let air = if index == 0 { rng.f64() < 0.8 } else { rng.f64() < 0.3 };
            let fourier = if air { log_uniform(rng, 0.003, 0.1) } else { log_uniform(rng, 0.02, 1.0) };
            let length = speed * fourier * wall * wall / 1e-7;
            let film = film(rng, air, length);
            let temperature = Celsius(if air { uniform(rng, 15.0, 40.0) } else { uniform(rng, 8.0, 80.0) });
            let emissivity = if air && rng.f64() < 0.6 { 0.9 } else { 0.0 };
            let section = Section::new(format!("section {index}"), medium(air, &film), length, temperature);
            Section { film, emissivity, ..section }
        })
        .collect()
}

/// Gives a third of the sections in water or spray a flow, from plenty to what the product's heat brings near to boiling.
///
/// Random numbers of its own, so that what else a seed holds does not depend on it.
pub(crate) fn warm_the_water(
    rng: &mut Rng,
    layers: &[Layer],
    sections: &mut [Section],
    [bore, outer]: [f64; 2],
    speed: f64,
) {
    const HOTTEST: Celsius = Celsius(220.0);
    for section in sections.iter_mut().filter(|section| section.medium.is_water()) {
        let (given, hottest_outlet) = (rng.f64() < 0.33, uniform(rng, section.temperature.0, 95.0));
        let direction = [Direction::Along, Direction::Counter, Direction::Mixed][rng.usize(0..3)];
        let mut inner = bore;
        let heat: f64 = layers
            .iter()
            .map(|layer| {
                let Size::Diameter(diameter) = layer.size else { return 0.0 };
                let area = std::f64::consts::FRAC_PI_4 * (diameter * diameter - inner * inner);
                inner = diameter;
                let material = &layer.material;
                let content = material.heat_capacity.integral(section.temperature, HOTTEST);
                speed * area * material.density.at(section.temperature) * content
            })
            .sum();
        let capacity = heat / (hottest_outlet - section.temperature.0);
        let film = match &section.film {
            Film::OfSurface(points) | Film::OfDistance(points) => points.iter().map(|p| p[1]).fold(0.0, f64::max),
            Film::Given(film) => *film,
            Film::Law(..) => 6000.0,
        };
        // Against the product no more transfer units than the engine follows.
        let units = film * std::f64::consts::PI * outer * section.length / capacity;
        if given && (direction != Direction::Counter || units < 90.0) {
            let flow = Flow::Mass(capacity / quenchway::material::water::at(section.temperature.0).heat_capacity);
            section.circulation = Some(Circulation { flow, direction });
        }
    }
}

fn film(rng: &mut Rng, air: bool, length: f64) -> Film {
    let (low, high) = if air { (8.0, 60.0) } else { (800.0, 6000.0) };
    let value = |rng: &mut Rng| log_uniform(rng, low, high);
    match rng.f64() {
        x if x < 0.15 => Film::OfSurface([15.0, 60.0, 120.0, 200.0].map(|t| [t, value(rng)]).to_vec()),
        x if x < 0.3 => Film::OfDistance([0.0, 0.05, 0.3, 1.0].map(|part| [part * length, value(rng)]).to_vec()),
        x if x > 0.9 && air => blown(log_uniform(rng, 1.0, 60.0)),
        x if x > 0.9 => sprayed(log_uniform(rng, 0.1, 9.0)),
        _ => Film::Given(value(rng)),
    }
}

/// An air wipe, m/s.
fn blown(velocity: f64) -> Film {
    law("cross-air", Inputs { velocity, ..Inputs::default() })
}

/// Water jets, kg/(m2 s).
fn sprayed(water_flux: f64) -> Film {
    law("spray", Inputs { water_flux, ..Inputs::default() })
}

fn law(name: &str, inputs: Inputs) -> Film {
    match film::find(name) {
        Some(law) => Film::Law(law, inputs),
        None => unreachable!("no law {name}"),
    }
}

fn medium(air: bool, film: &Film) -> Medium {
    match film {
        Film::Law(law, _) => law.medium,
        _ if air => Medium::Air,
        _ => Medium::Water,
    }
}

/// Materials of the library by name, so that a seed stays the same case when the library grows.
const FROM_LIBRARY: [&str; 6] = ["pvc-insulation", "pvc-jacket", "ldpe", "hdpe", "copper", "aluminium"];

/// One of these materials of a kind.
fn library_material(rng: &mut Rng, kind: Kind) -> Material {
    let all: Vec<Material> =
        FROM_LIBRARY.iter().filter_map(|name| library::find(name)).filter(|material| material.kind == kind).collect();
    all[rng.usize(0..all.len())].clone()
}

fn metal_material(rng: &mut Rng) -> Material {
    let copper = rng.bool();
    let (k, rho, c) = if copper { (390.0, 8930.0, 386.0) } else { (215.0, 2700.0, 900.0) };
    let expansion = if copper { 5e-5 } else { 7e-5 };
    material(
        "metal",
        Kind::Metal,
        vec![[0.0, k], [300.0, 0.97 * k]],
        vec![[0.0, c], [300.0, 1.08 * c]],
        vec![[0.0, rho], [300.0, rho * (1.0 - 300.0 * expansion)]],
    )
}

fn plastic(rng: &mut Rng) -> Material {
    let k = log_uniform(rng, 0.14, 0.6);
    let c = uniform(rng, 1000.0, 2300.0);
    let rho = uniform(rng, 850.0, 1550.0);
    let conductivity = vec![[0.0, k], [80.0, k * uniform(rng, 0.8, 1.1)], [200.0, k * uniform(rng, 0.6, 1.05)]];
    let knee = uniform(rng, 50.0, 110.0);
    let density = vec![[0.0, rho], [knee, rho * uniform(rng, 0.93, 0.99)], [220.0, rho * uniform(rng, 0.8, 0.92)]];
    let heat_capacity = match rng.f64() {
        x if x < 0.2 => vec![[0.0, c]],
        x if x < 0.6 => vec![[0.0, c], [knee - 15.0, 1.2 * c], [knee + 15.0, 1.6 * c], [220.0, 1.8 * c]],
        _ => {
            // Crystallisation heat of 60 to 200 kJ/kg over a peak of 12 to 40 K.
            let (peak, half) = (uniform(rng, 70.0, 130.0), uniform(rng, 6.0, 20.0));
            let height = uniform(rng, 60e3, 200e3) / half;
            let base = 1.3 * c;
            vec![[0.0, c], [peak - half, base], [peak, base + height], [peak + half, base], [220.0, 1.4 * c]]
        }
    };
    material("plastic", Kind::Plastic, conductivity, heat_capacity, density)
}

fn material(name: &str, kind: Kind, k: Vec<[f64; 2]>, c: Vec<[f64; 2]>, rho: Vec<[f64; 2]>) -> Material {
    // The generator writes rising temperatures and positive values only.
    let curve = |points: Vec<[f64; 2]>| match Curve::new(points) {
        Ok(curve) => curve,
        Err(error) => unreachable!("{error:?}"),
    };
    let (set_temperature, range) = (Some(Celsius(80.0)), [Celsius(-50.0), Celsius(300.0)]);
    Material { set_temperature, range, ..Material::new(name, kind, curve(k), curve(c), curve(rho)) }
}

fn uniform(rng: &mut Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.f64()
}

fn log_uniform(rng: &mut Rng, low: f64, high: f64) -> f64 {
    low * (high / low).powf(rng.f64())
}
