//! Hard cases: random ones made harder, each in one way or in several: what the stated error must cover, too.

use fastrand::Rng;
use quenchway::case::{Case, Direction, Shape, Size};
use quenchway::film::Film;
use quenchway::material::{Curve, Kind};

use crate::random;

/// The case of a seed: the random one, and then at least one of: a sharp latent peak (1.5 to 6 K half width), film tables with
/// many kinks, a fine wire (0.1 to 0.8 mm), a thick product (30 to 150 mm), a speed of 5 to 60 m/s, water against the product.
pub fn case(seed: u64) -> Case {
    let mut case = random::case(seed);
    let rng = &mut Rng::with_seed(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let sure = rng.usize(0..5);
    let chosen = |which: usize, rng: &mut Rng| which == sure || rng.f64() < 0.3;
    if chosen(0, rng) {
        case.layers.iter_mut().filter(|layer| layer.material.kind == Kind::Plastic).for_each(|layer| {
            layer.material.heat_capacity = sharp_peak(rng);
        });
    }
    if chosen(1, rng) {
        case.sections.iter_mut().for_each(|section| {
            let range = if section.medium.is_water() { [500.0, 8000.0] } else { [8.0, 80.0] };
            section.film = kinked(rng, range, section.length);
        });
    }
    if chosen(2, rng) {
        let diameter = if rng.bool() { log_uniform(rng, 0.1e-3, 0.8e-3) } else { log_uniform(rng, 30e-3, 150e-3) };
        resize(&mut case, diameter);
    }
    if chosen(3, rng) {
        let faster = log_uniform(rng, 5.0, 60.0) / case.line_speed;
        case.line_speed *= faster;
        stretch(&mut case, faster);
    }
    let counter = chosen(4, rng) && case.shape == Shape::Round;
    // The water follows from what the product now brings.
    case.sections.iter_mut().for_each(|section| section.circulation = None);
    if case.shape == Shape::Round {
        let size = [case.bore, outer(&case)];
        random::warm_the_water(rng, &case.layers, &mut case.sections, size, case.line_speed);
        if counter {
            let waters = case.sections.iter_mut().filter_map(|section| section.circulation.as_mut());
            waters.for_each(|water| water.direction = Direction::Counter);
        }
    }
    case.title = format!("hard case {seed}");
    case
}

/// Latent heat of 60 to 250 kJ/kg within a few kelvin.
fn sharp_peak(rng: &mut Rng) -> Curve {
    let (peak, half, base) = (uniform(rng, 70.0, 130.0), uniform(rng, 1.5, 6.0), uniform(rng, 1500.0, 2800.0));
    let height = uniform(rng, 60e3, 250e3) / half;
    let points =
        vec![[0.0, base], [peak - half, base], [peak, base + height], [peak + half, base], [220.0, 1.1 * base]];
    match Curve::new(points) {
        Ok(curve) => curve,
        Err(error) => unreachable!("temperatures rise: {error:?}"),
    }
}

/// A film with five to nine kinks over the surface's temperature or along the section.
fn kinked(rng: &mut Rng, [low, high]: [f64; 2], length: f64) -> Film {
    let count = rng.usize(5..10);
    let of_surface = rng.bool();
    let end = if of_surface { 220.0 } else { length };
    let points = (0..count).map(|i| [end * i as f64 / (count - 1) as f64, log_uniform(rng, low, high)]).collect();
    if of_surface { Film::OfSurface(points) } else { Film::OfDistance(points) }
}

fn outer(case: &Case) -> f64 {
    let sizes = case.layers.iter().filter_map(|layer| match layer.size {
        Size::Diameter(diameter) => Some(diameter),
        _ => None,
    });
    sizes.fold(0.0, f64::max)
}

/// The product at another outer diameter, on a line that leaves it the same Fourier numbers.
fn resize(case: &mut Case, diameter: f64) {
    let scale = diameter / outer(case);
    case.bore *= scale;
    for layer in &mut case.layers {
        if let Size::Diameter(diameter) = &mut layer.size {
            *diameter *= scale;
        }
    }
    stretch(case, scale * scale);
}

/// A line so many times longer.
fn stretch(case: &mut Case, factor: f64) {
    for section in &mut case.sections {
        section.length *= factor;
        if let Film::OfDistance(points) = &mut section.film {
            points.iter_mut().for_each(|point| point[0] *= factor);
        }
    }
    case.stations.iter_mut().for_each(|station| station.offset *= factor);
}

fn uniform(rng: &mut Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.f64()
}

fn log_uniform(rng: &mut Rng, low: f64, high: f64) -> f64 {
    low * (high / low).powf(rng.f64())
}
