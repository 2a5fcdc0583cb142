//! Films of boundary layers, of one product or in every lane at once: the laws of a moving product, arranged for registers.
//!
//! Powers are made of logarithms and exponentials: with l_P = ln Pr and l_R = ln Re_x the turbulent Nusselt number is
//! 0.0296 e^(0.8 l_R + l_P/3), and the root of Churchill and Chu's 0.60 + 0.387 e^(ln Ra/6 - 8/27 ln y). Only the tables
//! are read lane by lane.

use super::boundary_layer::surface_gradient;
use super::formulas::{ENTRY_OFFSET, Layer, TRANSITION, rayleigh};
use super::nusselt::{churchill_chu, colburn};
use super::{FilmState, KELVIN, OF_DISTANCE};
use crate::case::Shape;
use crate::film::surface::Surface;
use crate::material::{air, water};
use crate::maths::exp_ln::{exp, ln};
use crate::maths::vector::{Instructions, One, Row, Set, Vector};

/// What the layers of the lanes are: rows of numbers that do not change along a leg.
#[derive(Clone, Debug)]
pub struct Layers<R> {
    /// Lanes whose film is such a layer.
    pub lanes: u8,
    /// Lanes whose medium warms.
    warming_lanes: u8,
    /// 1 in water, 0 in air.
    wet: R,
    /// What the film is multiplied with.
    factor: R,
    /// Of the product through the medium, m/s.
    speed: R,
    diameter: R,
    /// 1 round, 0 flat; 1 where the layer turns turbulent, otherwise 0; 1 where there is a band.
    round: R,
    turbulent: R,
    banded: R,
    /// The band, W/(m2 K).
    low: R,
    high: R,
    /// The medium, as in `Ends`.
    entry: R,
    warming: R,
    entry_heat: R,
}

/// A place of every lane: surface temperature, heat given off, distance from the leg's entry.
pub type Places<R> = [R; 3];

/// Derivatives of the flux, as `surface::Slopes`.
pub struct Slopes<R> {
    /// W/(m2 K), without radiation.
    pub per_kelvin: R,
    /// W/m3.
    pub per_metre: R,
    /// 1/(m s).
    pub per_heat: R,
}

/// What films take from the temperatures alone.
#[derive(Clone, Copy)]
struct Fluids<V> {
    viscosity: V,
    conductivity: V,
    log_prandtl: V,
    /// The cube of the coefficient of free convection.
    free_cubed: V,
}

impl<R: Row> Default for Layers<R> {
    fn default() -> Layers<R> {
        let one = R::all(1.0);
        Layers {
            lanes: 0,
            warming_lanes: 0,
            wet: one,
            factor: one,
            speed: one,
            diameter: one,
            round: one,
            turbulent: one,
            banded: one,
            low: one,
            high: one,
            entry: one,
            warming: R::all(0.0),
            entry_heat: one,
        }
    }
}

impl<R: Row> Layers<R> {
    /// Puts a lane into a medium.
    pub fn surround(&mut self, lane: usize, surface: &Surface) {
        self.leave(lane);
        let Some((layer, speed)) = surface.layer() else { return };
        self.lanes |= 1 << lane;
        if surface.warming() != 0.0 {
            self.warming_lanes |= 1 << lane;
        }
        let (shape, diameter) = surface.product();
        self.set(lane, layer, shape, [speed, diameter]);
        self.factor[lane] = surface.factor();
        self.entry[lane] = surface.entry();
        self.warming[lane] = surface.warming();
        self.entry_heat[lane] = surface.entry_heat();
    }

    /// Sets what a layer on a product is at a speed through the medium, m/s, and a diameter, m.
    fn set(&mut self, lane: usize, layer: &Layer, shape: Shape, [speed, diameter]: [f64; 2]) {
        let flag = |truth: bool| if truth { 1.0 } else { 0.0 };
        let [low, high] = layer.band.unwrap_or([1.0; 2]);
        for (row, value) in [
            (&mut self.wet, flag(layer.medium.is_water())),
            (&mut self.speed, speed),
            (&mut self.diameter, diameter),
            (&mut self.round, flag(shape == Shape::Round)),
            (&mut self.turbulent, flag(layer.turbulent)),
            (&mut self.banded, flag(layer.band.is_some())),
            (&mut self.low, low),
            (&mut self.high, high),
        ] {
            row[lane] = value;
        }
    }

    /// Takes a lane out of its medium.
    pub fn leave(&mut self, lane: usize) {
        let bit = 1 << lane;
        (self.lanes, self.warming_lanes) = (self.lanes & !bit, self.warming_lanes & !bit);
    }
}

/// The film coefficient of one product at one place, W/(m2 K).
pub(super) fn of_one(layer: &Layer, state: &FilmState) -> f64 {
    let mut layers = Layers::<One>::default();
    layers.set(0, layer, state.shape, [state.speed + state.inputs.velocity, state.diameter]);
    coefficient(&layers, fluids(&layers, state.surface, state.medium), state.distance)
}

/// One call of a function that is compiled for a set of instructions, and not into its callers.
macro_rules! compiled {
    ($name:ident of $inner:ident ($($argument:ident: $type:ty),*) -> $result:ty) => {
        pub fn $name<R: Row>(instructions: Instructions, $($argument: $type),*) -> $result {
            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = "avx512f,avx2")]
            #[inline(never)]
            fn avx512<R: Row>($($argument: $type),*) -> $result {
                $inner::<R::Avx512>($($argument),*)
            }
            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = "avx2")]
            #[inline(never)]
            fn avx2<R: Row>($($argument: $type),*) -> $result {
                $inner::<R::Avx2>($($argument),*)
            }
            // SAFETY: `Instructions` are only those that the processor was asked for.
            match instructions.set() {
                #[cfg(target_arch = "x86_64")]
                Set::Avx512 => unsafe { avx512($($argument),*) },
                #[cfg(target_arch = "x86_64")]
                Set::Avx2 => unsafe { avx2($($argument),*) },
                Set::Plain => $inner::<R::Plain>($($argument),*),
            }
        }
    };
}

compiled!(films of films_of(layers: &Layers<R>, places: &Places<R>) -> R);
compiled!(slopes of slopes_of(layers: &Layers<R>, places: &Places<R>, film: &R) -> Slopes<R>);

/// Film coefficients with their factor, W/(m2 K).
#[inline(always)]
fn films_of<V: Vector>(layers: &Layers<V::Row>, [t, q, x]: &Places<V::Row>) -> V::Row {
    let (surface, medium) = (V::load(t), medium(layers, V::load(q)));
    let mut film = V::Row::all(0.0);
    V::load(&layers.factor).mul(coefficient(layers, fluids(layers, surface, medium), V::load(x))).store(&mut film);
    film
}

/// Derivatives of the flux by the central differences of `film::Law`; `film` is the coefficient with its factor.
#[inline(always)]
fn slopes_of<V: Vector>(layers: &Layers<V::Row>, [t, q, x]: &Places<V::Row>, film: &V::Row) -> Slopes<V::Row> {
    let (surface, medium, x) = (V::load(t), medium(layers, V::load(q)), V::load(x));
    let (film, factor, warming) = (V::load(film), V::load(&layers.factor), V::load(&layers.warming));
    let (kelvin, kelvins) = (V::all(KELVIN), V::all(1.0 / (2.0 * KELVIN)));
    let metre = V::all(OF_DISTANCE).mul(x.add(V::all(ENTRY_OFFSET)));
    // A loop, so that the formulas stand in the code once.
    let here = fluids(layers, surface, medium);
    let mut ways = [V::all(0.0); 4];
    for (way, found) in ways.iter_mut().enumerate() {
        *found = match way {
            0 => coefficient(layers, fluids(layers, surface.add(kelvin), medium), x),
            1 => coefficient(layers, fluids(layers, surface.sub(kelvin), medium), x),
            2 => coefficient(layers, here, x.add(metre)),
            _ => coefficient(layers, here, x.sub(metre)),
        };
    }
    let excess = factor.mul(surface.sub(medium));
    let mut slopes = Slopes { per_kelvin: V::Row::all(0.0), per_metre: V::Row::all(0.0), per_heat: V::Row::all(0.0) };
    ways[0].sub(ways[1]).mul(kelvins).mul_add(excess, film).store(&mut slopes.per_kelvin);
    ways[2].sub(ways[3]).div(metre.add(metre)).mul(excess).store(&mut slopes.per_metre);
    if layers.warming_lanes != 0 {
        let above = coefficient(layers, fluids(layers, surface, medium.add(kelvin)), x);
        let below = coefficient(layers, fluids(layers, surface, medium.sub(kelvin)), x);
        let with_medium = above.sub(below).mul(kelvins);
        with_medium.mul_sub(excess, film).mul(warming).store(&mut slopes.per_heat);
    }
    slopes
}

/// The medium's temperature.
#[inline(always)]
fn medium<V: Vector>(layers: &Layers<V::Row>, q: V) -> V {
    V::load(&layers.warming).mul_add(q.sub(V::load(&layers.entry_heat)), V::load(&layers.entry))
}

/// The fluids at the mean of surface and medium, and free convection in them.
#[inline(always)]
fn fluids<V: Vector>(layers: &Layers<V::Row>, surface: V, medium: V) -> Fluids<V> {
    let mut celsius = V::Row::all(0.0);
    V::all(0.5).mul(surface.add(medium)).store(&mut celsius);
    let mut rows = [V::Row::all(0.0); 5];
    for lane in 0..<V::Row as Row>::LANES {
        let fluid = if layers.wet[lane] > 0.5 { water::at(celsius[lane]) } else { air::at(celsius[lane]) };
        rows[0][lane] = fluid.density;
        rows[1][lane] = fluid.heat_capacity;
        rows[2][lane] = fluid.viscosity;
        rows[3][lane] = fluid.conductivity;
        rows[4][lane] = fluid.expansion;
    }
    let (density, heat_capacity, dynamic) = (V::load(&rows[0]), V::load(&rows[1]), V::load(&rows[2]));
    let (conductivity, expansion) = (V::load(&rows[3]), V::load(&rows[4]));
    let viscosity = dynamic.div(density);
    let prandtl = dynamic.mul(heat_capacity).div(conductivity);
    let log_prandtl = ln(prandtl);
    let d = V::load(&layers.diameter);
    let rayleigh = rayleigh([surface.sub(medium), d], expansion, viscosity, prandtl);
    let free = churchill_chu(ln(rayleigh), log_prandtl).mul(conductivity).div(d);
    Fluids { viscosity, conductivity, log_prandtl, free_cubed: free.mul(free).mul(free) }
}

/// Film coefficients without their factor.
#[inline(always)]
fn coefficient<V: Vector>(layers: &Layers<V::Row>, fluids: Fluids<V>, distance: V) -> V {
    let (zero, one) = (V::all(0.0), V::all(1.0));
    let x = distance.add(V::all(ENTRY_OFFSET));
    let reynolds = V::load(&layers.speed).mul(x).div(fluids.viscosity);
    let root = reynolds.sqrt();
    let round = V::load(&layers.round).mul(V::all(4.0));
    let curvature = round.mul(x).div(root.mul(V::load(&layers.diameter)));
    let over_x = fluids.conductivity.div(x);
    let laminar = surface_gradient(curvature, fluids.log_prandtl).mul(root).mul(over_x);
    let turbulent = colburn(ln(reynolds), fluids.log_prandtl).mul(over_x);
    let ratio = V::all(TRANSITION).div(reynolds);
    let squared = ratio.mul(ratio);
    let weight = V::load(&layers.turbulent).div(squared.mul_add(squared, one));
    let forced = weight.mul_add(turbulent.sub(laminar), laminar);
    let cubes = forced.mul(forced).mul_add(forced, fluids.free_cubed);
    let together = exp(V::all(1.0 / 3.0).mul(ln(cubes)));
    let bent = bent([V::load(&layers.low), V::load(&layers.high)], together);
    V::select(zero.less(V::load(&layers.banded)), bent, together)
}

/// `h` bent into a band: h itself well inside, the ends far outside, 4 % inside of an end that h just reaches; smooth and
/// rising with h everywhere.
#[inline(always)]
fn bent<V: Vector>([low, high]: [V; 2], h: V) -> V {
    let one = V::all(1.0);
    let below_high = h.div(root_16(power_16(h.div(high)).add(one)));
    low.mul(root_16(power_16(below_high.div(low)).add(one)))
}

#[inline(always)]
fn power_16<V: Vector>(x: V) -> V {
    let second = x.mul(x);
    let fourth = second.mul(second);
    let eighth = fourth.mul(fourth);
    eighth.mul(eighth)
}

#[inline(always)]
fn root_16<V: Vector>(x: V) -> V {
    x.sqrt().sqrt().sqrt().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::{self, Inputs};
    use crate::maths::vector::{Eight, Path};

    #[test]
    fn the_band_bends_and_never_falls() {
        let bent = |h| bent([1000.0, 6000.0], h);
        let mut last = 0.0;
        for i in 0..4000 {
            let h = bent(10f64.powf(2.0 + 0.001 * f64::from(i)));
            // Far outside the band only rounding is left between neighbours.
            assert!(h >= last * (1.0 - 1e-15), "falls at {i}");
            last = h;
        }
        // 2^(1/16) at the ends; (1/2)^16/16 = 1e-6 an octave inside.
        for (h, expected, within) in [
            (1000.0, 1000.0 * 2f64.powf(0.0625), 1e-6),
            (6000.0, 6000.0 / 2f64.powf(0.0625), 1e-6),
            (2500.0, 2500.0, 2e-6),
            (1e-3, 1000.0, 1e-12),
            (1e6, 6000.0, 1e-12),
        ] {
            assert!((bent(h) / expected - 1.0).abs() < within, "{h}: {}", bent(h));
        }
    }

    /// Films of every law that is a layer, alone and in lanes, to the same bits; their slopes against those of the law; warm
    /// water and its slope, too.
    #[test]
    fn alone_and_in_lanes_the_same_films() {
        let text = include_str!("../../../cases/house-wire.toml");
        let base = crate::file::read(text).unwrap().sections[1].clone();
        let mut laws = 0;
        for law in film::laws().iter().filter(|law| law.layer.is_some()) {
            laws += 1;
            let inputs = Inputs { velocity: if law.takes.is_empty() { 0.0 } else { 0.7 }, water_flux: 0.0 };
            let section = crate::case::Section {
                medium: law.medium,
                film: film::Film::Law(law, inputs),
                film_factor: 1.3,
                ..base.clone()
            };
            for (shape, speed, diameter) in
                [(Shape::Round, 0.05, 80e-3), (Shape::Round, 25.0, 0.4e-3), (Shape::Flat, 2.5, 3e-3)]
            {
                for warming in [0.0, 2e-4] {
                    let surface = Surface::new(&section, shape, speed, diameter).in_medium(17.0, warming, 500.0);
                    compare(&surface, law.name);
                }
            }
        }
        assert_eq!(laws, 4);
    }

    fn compare(surface: &Surface, name: &str) {
        let mut layers = Layers::<Eight>::default();
        (0..8).for_each(|lane| layers.surround(lane, surface));
        let t = Eight(std::array::from_fn(|lane| 10.0 + 22.0 * lane as f64));
        let q = Eight(std::array::from_fn(|lane| 300.0 + 4000.0 * lane as f64));
        for x in [0.0, 0.3, 18.0] {
            let places = [t, q, Eight::all(x)];
            let film = films(Instructions::of(Path::Scalar), &layers, &places);
            let found = slopes(Instructions::of(Path::Scalar), &layers, &places, &film);
            for lane in 0..8 {
                let [t, q, x] = places.map(|row| row[lane]);
                let film_here = surface.film(t, q, x);
                assert!(film[lane] == film_here, "{name} at {t} {x}: {} {film_here}", film[lane]);
                let expected = surface.slopes(t, q, x);
                let warm = (t - surface.medium(q)).abs();
                let per_kelvin = found.per_kelvin[lane] + surface.radiation_slope(t);
                // Differences of films that agree to some 1e-15, over 2e-3 K, or over 2e-4 of the distance.
                let rounding = 1e-14 * film_here * warm;
                let over_kelvins = rounding / (2.0 * KELVIN) + 1e-13 * film_here;
                let over_metres = rounding / (2.0 * OF_DISTANCE * (x + ENTRY_OFFSET));
                for (found, expected, within) in [
                    (per_kelvin, expected.per_kelvin, over_kelvins),
                    (found.per_metre[lane], expected.per_metre, over_metres),
                    (found.per_heat[lane], expected.per_heat, surface.warming() * over_kelvins),
                ] {
                    assert!((found - expected).abs() <= within, "{name} at {t} {x}: {found} {expected} {within}");
                }
            }
        }
    }
}
