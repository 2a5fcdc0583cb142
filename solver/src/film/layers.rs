//! Films of boundary layers, of one product or in every lane at once: the laws of a moving product, arranged for registers.
//!
//! Powers are made of logarithms and exponentials, and what vanishes with the speed is never divided by: at speed 0 the film is
//! that of free convection. Only the tables are read lane by lane.

use super::boundary_layer::surface_gradient;
use super::end::{End, ROUNDED};
use super::moving::{BoundaryLayer, ENTRY_OFFSET, TRANSITION, rayleigh};
use super::nusselt::{NEXT_TO_NOTHING, churchill_bernstein, churchill_chu, sublayer, turbulent_friction, white};
use super::{FilmState, Inputs, KELVIN, OF_DISTANCE, OF_SPEED};
use crate::film::surface::Surface;
use crate::material::{air, water};
use crate::maths::exp_ln::{exp, ln};
use crate::maths::shape::Shape;
use crate::maths::vector::{Instructions, One, Row, Set, Vector};

/// What the layers of the lanes are: rows of numbers that do not change along a leg.
#[derive(Clone, Debug)]
pub struct Films<R> {
    /// Lanes whose film is such a layer.
    pub lanes: u8,
    /// Lanes whose medium warms, whose water is stirred, whose film leans to an end of its band.
    warming_lanes: u8,
    stirred_lanes: u8,
    leaning_lanes: u8,
    /// Lanes on a line whose speed changes.
    driven_lanes: u8,
    /// Lanes of a flat product.
    flat_lanes: u8,
    /// 1 in water, 0 in air.
    wet: R,
    /// What the film is multiplied with.
    factor: R,
    /// Of the medium against the product's travel, m/s.
    velocity: R,
    diameter: R,
    /// 1 round, 0 flat.
    round: R,
    /// What the turbulent part is multiplied with.
    turbulent: R,
    /// Speed of the stirred water, m/s.
    stirred: R,
    /// Standard values towards the end, 0 or more.
    lean: R,
    /// That end, as `End`.
    end: Ends<R>,
    /// The medium, as in `Ends`.
    entry: R,
    warming: R,
    entry_heat: R,
}

/// [`End`] of every lane.
#[derive(Clone, Debug)]
struct Ends<R> {
    laminar: R,
    turbulent: R,
    free: R,
    stir: R,
    stirred: R,
    along: R,
    around: R,
}

/// A place of every lane: surface temperature, heat given off, distance from the leg's entry, line speed.
pub type Places<R> = [R; 4];

/// Films, and derivatives of the flux, as `surface::Slopes`.
pub struct Slopes<R> {
    /// Film coefficients with their factor, W/(m2 K).
    pub film: R,
    /// W/(m2 K), without radiation.
    pub per_kelvin: R,
    /// W/m3.
    pub per_metre: R,
    /// 1/(m s).
    pub per_heat: R,
    /// With the line speed, W s/m3; zero where no lane's changes.
    pub per_speed: R,
}

/// What films take from the temperatures alone.
#[derive(Clone, Copy)]
struct Fluids<V> {
    viscosity: V,
    conductivity: V,
    /// Heat capacity of a volume.
    capacity: V,
    log_prandtl: V,
    /// Of White's form.
    sublayer: V,
    /// The cube of the coefficients of free convection and of stirred water, and the same at the end of the band.
    still_cubed: V,
    end_cubed: V,
}

/// The layers on the product, W/(m2 K), with Re_x and, of a round one, x/a.
#[derive(Clone, Copy)]
struct Parts<V> {
    laminar: V,
    turbulent: V,
    reynolds: V,
    over_radius: V,
}

impl<R: Row> Default for Films<R> {
    fn default() -> Films<R> {
        let (nothing, one) = (R::all(0.0), R::all(1.0));
        Films {
            lanes: 0,
            warming_lanes: 0,
            stirred_lanes: 0,
            leaning_lanes: 0,
            wet: one,
            factor: one,
            velocity: nothing,
            driven_lanes: 0,
            flat_lanes: 0,
            diameter: one,
            round: one,
            turbulent: one,
            stirred: nothing,
            lean: nothing,
            end: Ends { laminar: one, turbulent: one, free: one, stir: one, stirred: nothing, along: one, around: one },
            entry: one,
            warming: nothing,
            entry_heat: one,
        }
    }
}

impl<R: Row> Films<R> {
    /// Puts a lane into a medium.
    pub fn surround(&mut self, lane: usize, surface: &Surface) {
        self.leave(lane);
        let Some((layer, inputs)) = surface.layer() else { return };
        self.lanes |= 1 << lane;
        if surface.warming() != 0.0 {
            self.warming_lanes |= 1 << lane;
        }
        let (shape, diameter) = surface.product();
        self.set(lane, (layer, inputs), shape, [surface.speed(), diameter]);
        if surface.is_driven() {
            self.driven_lanes |= 1 << lane;
        }
        self.factor[lane] = surface.factor();
        self.entry[lane] = surface.entry();
        self.warming[lane] = surface.warming();
        self.entry_heat[lane] = surface.entry_heat();
    }

    /// Sets what a layer on a product is at a line speed, m/s, and a diameter, m.
    fn set(
        &mut self,
        lane: usize,
        (layer, inputs): (&BoundaryLayer, &Inputs),
        shape: Shape,
        [line, diameter]: [f64; 2],
    ) {
        let flag = |truth: bool| if truth { 1.0 } else { 0.0 };
        let speed = line + inputs.velocity;
        let end = End::of(layer, speed, inputs);
        if inputs.stirred > 0.0 {
            self.stirred_lanes |= 1 << lane;
        }
        if inputs.lean != 0.0 {
            self.leaning_lanes |= 1 << lane;
        }
        if shape == Shape::Flat {
            self.flat_lanes |= 1 << lane;
        }
        for (row, value) in [
            (&mut self.wet, flag(layer.medium.is_water())),
            (&mut self.velocity, inputs.velocity),
            (&mut self.diameter, diameter),
            (&mut self.round, flag(shape == Shape::Round)),
            (&mut self.turbulent, layer.turbulent),
            (&mut self.stirred, inputs.stirred),
            (&mut self.lean, inputs.lean.abs()),
            (&mut self.end.laminar, end.laminar),
            (&mut self.end.turbulent, end.turbulent),
            (&mut self.end.free, end.free),
            (&mut self.end.stir, end.stir),
            (&mut self.end.stirred, end.stirred),
            (&mut self.end.along, end.transition[0]),
            (&mut self.end.around, end.transition[1]),
        ] {
            row[lane] = value;
        }
    }

    /// Takes the medium of a lane to another temperature where the product enters, degC.
    pub(crate) fn set_entry(&mut self, lane: usize, entry: f64) {
        self.entry[lane] = entry;
    }

    /// Takes a lane out of its medium.
    pub fn leave(&mut self, lane: usize) {
        let bit = 1 << lane;
        let [lanes, warming, driven] = [&mut self.lanes, &mut self.warming_lanes, &mut self.driven_lanes];
        for lanes in [lanes, warming, driven, &mut self.flat_lanes, &mut self.stirred_lanes, &mut self.leaning_lanes] {
            *lanes &= !bit;
        }
    }
}

/// The film coefficient of one product at one place, W/(m2 K).
pub(super) fn of_one(layer: &BoundaryLayer, state: &FilmState) -> f64 {
    let layers = one(layer, state);
    coefficient(&layers, fluids(&layers, state.surface, state.medium), [state.distance, state.speed])
}

/// The laminar and the whole turbulent layer of one product at one place, W/(m2 K), and the weight of the latter.
pub(super) fn parts_of_one(layer: &BoundaryLayer, state: &FilmState) -> [f64; 3] {
    let layers = one(layer, state);
    let parts = parts(&layers, &fluids(&layers, state.surface, state.medium), [state.distance, state.speed]);
    [parts.laminar, parts.turbulent, weight(&parts, TRANSITION)]
}

fn one(layer: &BoundaryLayer, state: &FilmState) -> Films<One> {
    let mut layers = Films::default();
    layers.set(0, (layer, &state.inputs), state.shape, [state.speed, state.diameter]);
    layers
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

compiled!(films of films_of(layers: &Films<R>, places: &Places<R>) -> R);
compiled!(slopes of slopes_of(layers: &Films<R>, places: &Places<R>) -> Slopes<R>);

/// Film coefficients with their factor, W/(m2 K).
#[inline(always)]
fn films_of<V: Vector>(layers: &Films<V::Row>, [t, q, x, v]: &Places<V::Row>) -> V::Row {
    let (surface, medium) = (V::load(t), medium(layers, V::load(q)));
    let mut film = V::Row::all(0.0);
    let place = [V::load(x), V::load(v)];
    V::load(&layers.factor).mul(coefficient(layers, fluids(layers, surface, medium), place)).store(&mut film);
    film
}

/// Film coefficients with their factor, and derivatives of the flux by the differences of `film::Law`.
#[inline(always)]
fn slopes_of<V: Vector>(layers: &Films<V::Row>, [t, q, x, v]: &Places<V::Row>) -> Slopes<V::Row> {
    let (surface, medium, x, v) = (V::load(t), medium(layers, V::load(q)), V::load(x), V::load(v));
    let (factor, warming) = (V::load(&layers.factor), V::load(&layers.warming));
    let kelvin = V::all(KELVIN);
    let metre = V::all(OF_DISTANCE).mul(x.add(V::all(ENTRY_OFFSET)));
    let here = fluids(layers, surface, medium);
    let own = coefficient(layers, here, [x, v]);
    let warmer = coefficient(layers, fluids(layers, surface.add(kelvin), medium), [x, v]);
    let farther = coefficient(layers, here, [x.add(metre), v]);
    let film = factor.mul(own);
    let excess = factor.mul(surface.sub(medium));
    let zero = V::Row::all(0.0);
    let mut slopes = Slopes { film: zero, per_kelvin: zero, per_metre: zero, per_heat: zero, per_speed: zero };
    film.store(&mut slopes.film);
    warmer.sub(own).div(kelvin).mul_add(excess, film).store(&mut slopes.per_kelvin);
    farther.sub(own).div(metre).mul(excess).store(&mut slopes.per_metre);
    if layers.warming_lanes != 0 {
        let above = coefficient(layers, fluids(layers, surface, medium.add(kelvin)), [x, v]);
        let below = coefficient(layers, fluids(layers, surface, medium.sub(kelvin)), [x, v]);
        let with_medium = above.sub(below).div(kelvin.add(kelvin));
        with_medium.mul_sub(excess, film).mul(warming).store(&mut slopes.per_heat);
    }
    if layers.driven_lanes != 0 {
        let aside = V::all(OF_SPEED).mul(v);
        let faster = coefficient(layers, here, [x, v.add(aside)]);
        let slower = coefficient(layers, here, [x, v.sub(aside)]);
        let (nothing, per_speed) = (V::all(0.0), faster.sub(slower).div(aside.add(aside)).mul(excess));
        V::select(nothing.less(v), per_speed, nothing).store(&mut slopes.per_speed);
    }
    slopes
}

/// The medium's temperature.
#[inline(always)]
fn medium<V: Vector>(layers: &Films<V::Row>, q: V) -> V {
    V::load(&layers.warming).mul_add(q.sub(V::load(&layers.entry_heat)), V::load(&layers.entry))
}

/// The fluids at the mean of surface and medium, and free convection in them.
#[inline(always)]
fn fluids<V: Vector>(layers: &Films<V::Row>, surface: V, medium: V) -> Fluids<V> {
    let mut celsius = V::Row::all(0.0);
    V::all(0.5).mul(surface.add(medium)).store(&mut celsius);
    let mut rows = [V::Row::all(0.0); 5];
    let tables = [air::table(), water::table()];
    for lane in 0..<V::Row as Row>::LANES {
        let [density, heat_capacity, viscosity, conductivity, expansion] =
            tables[usize::from(layers.wet[lane] > 0.5)].rows_at(celsius[lane]);
        rows[0][lane] = density;
        rows[1][lane] = heat_capacity;
        rows[2][lane] = viscosity;
        rows[3][lane] = conductivity;
        rows[4][lane] = expansion;
    }
    let (density, heat_capacity, dynamic) = (V::load(&rows[0]), V::load(&rows[1]), V::load(&rows[2]));
    let (conductivity, expansion) = (V::load(&rows[3]), V::load(&rows[4]));
    let viscosity = dynamic.div(density);
    let prandtl = dynamic.mul(heat_capacity).div(conductivity);
    let log_prandtl = ln(prandtl);
    let d = V::load(&layers.diameter);
    let over_d = conductivity.div(d);
    let rayleigh = rayleigh([surface.sub(medium), d], expansion, viscosity, prandtl);
    let free = churchill_chu(ln(rayleigh), log_prandtl).mul(over_d);
    let mut still_cubed = cube(free);
    if layers.stirred_lanes != 0 {
        let speed = V::load(&layers.stirred);
        still_cubed = still_cubed.add(cube(stirred(speed, d.div(viscosity), log_prandtl).mul(over_d)));
    }
    let mut end_cubed = still_cubed;
    if layers.leaning_lanes != 0 {
        let speed = V::load(&layers.end.stirred);
        let stirred = stirred(speed, d.div(viscosity), log_prandtl).mul(over_d);
        end_cubed = cube(V::load(&layers.end.free).mul(free)).add(cube(V::load(&layers.end.stir).mul(stirred)));
    }
    let sublayer = sublayer(log_prandtl);
    Fluids {
        viscosity,
        conductivity,
        capacity: density.mul(heat_capacity),
        log_prandtl,
        sublayer,
        still_cubed,
        end_cubed,
    }
}

/// Nu_d of water that moves across at a speed, from d/nu; 0 where it does not.
#[inline(always)]
fn stirred<V: Vector>(speed: V, over_viscosity: V, log_prandtl: V) -> V {
    let nothing = V::all(0.0);
    V::select(nothing.less(speed), churchill_bernstein(speed.mul(over_viscosity), log_prandtl), nothing)
}

/// The laminar and the turbulent layer.
#[inline(always)]
fn parts<V: Vector>(layers: &Films<V::Row>, fluids: &Fluids<V>, [distance, line]: [V; 2]) -> Parts<V> {
    let x = distance.add(V::all(ENTRY_OFFSET));
    let (d, round) = (V::load(&layers.diameter), V::load(&layers.round));
    let speed = line.add(V::load(&layers.velocity));
    let reynolds = speed.mul(x).div(fluids.viscosity);
    let root = reynolds.sqrt();
    let curvature = round.mul(V::all(4.0)).mul(x).div(root.add(V::all(NEXT_TO_NOTHING)).mul(d));
    let laminar = surface_gradient(curvature, fluids.log_prandtl).mul(root).mul(fluids.conductivity.div(x));
    let a = V::all(0.5).mul(d);
    let is_round = if layers.flat_lanes == 0 { None } else { Some(V::all(0.0).less(round)) };
    let over_radius = x.div(a);
    let around = speed.mul(a).div(fluids.viscosity);
    let friction = turbulent_friction(is_round, [reynolds, around, over_radius]);
    let turbulent = white(friction, fluids.sublayer).mul(fluids.capacity).mul(speed);
    Parts { laminar, turbulent, reynolds, over_radius: round.mul(over_radius) }
}

/// The weight 1/[1 + (along/Re_x)^4 + (around/Re_a)^4] of the turbulent layer, multiplied out by Re_x^4.
#[inline(always)]
fn weight<V: Vector>(parts: &Parts<V>, [along, around]: [V; 2]) -> V {
    let grown = fourth_power(parts.reynolds);
    let needed = fourth_power(around.mul(parts.over_radius)).add(fourth_power(along));
    grown.div(grown.add(needed))
}

/// Film coefficients without their factor.
#[inline(always)]
fn coefficient<V: Vector>(layers: &Films<V::Row>, fluids: Fluids<V>, place: [V; 2]) -> V {
    let parts = parts(layers, &fluids, place);
    let turbulent = V::load(&layers.turbulent).mul(parts.turbulent);
    let own = weight(&parts, [V::all(TRANSITION[0]), V::all(TRANSITION[1])]);
    let forced = own.mul_add(turbulent.sub(parts.laminar), parts.laminar);
    let third = V::all(1.0 / 3.0);
    let log = third.mul(ln(cube(forced).add(fluids.still_cubed)));
    let film = exp(log);
    if layers.leaning_lanes == 0 {
        return film;
    }
    let end = &layers.end;
    let weight = weight(&parts, [V::load(&end.along), V::load(&end.around)]);
    let laminar = V::load(&end.laminar).mul(parts.laminar);
    let more = above_nothing(V::load(&end.turbulent).mul_sub(parts.turbulent, laminar), laminar);
    let log_end = third.mul(ln(cube(weight.mul_add(more, laminar)).add(fluids.end_cubed)));
    let lean = V::load(&layers.lean);
    V::select(V::all(0.0).less(lean), exp(lean.mul_add(log_end.sub(log), log)), film)
}

/// max(0, x) without its corner: (x + sqrt(x^2 + (ROUNDED scale)^2))/2.
#[inline(always)]
fn above_nothing<V: Vector>(x: V, scale: V) -> V {
    let rounded = V::all(ROUNDED).mul(scale);
    V::all(0.5).mul(x.add(x.mul_add(x, rounded.mul(rounded)).sqrt()))
}

#[inline(always)]
fn cube<V: Vector>(x: V) -> V {
    x.mul(x).mul(x)
}

#[inline(always)]
fn fourth_power<V: Vector>(x: V) -> V {
    let squared = x.mul(x);
    squared.mul(squared)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::{self, Inputs};
    use crate::maths::vector::{Eight, Path};

    /// Films of every law that is a layer, alone and in lanes, to the same bits; their slopes against those of the law; warm
    /// water and its slope, too.
    #[test]
    fn alone_and_in_lanes_the_same_films() {
        let text = include_str!("../../../cases/house-wire.toml");
        let base = crate::file::read(text).unwrap().sections[1].clone();
        let mut laws = 0;
        for law in film::laws().iter().filter(|law| law.layer.is_some()) {
            laws += 1;
            let velocity = if law.takes.is_empty() { 0.0 } else { 0.7 };
            let stirs: &[f64] = if law.medium.is_water() { &[0.0, 0.2] } else { &[0.0] };
            let leans = [0.0, -1.0, 1.5].into_iter().flat_map(|lean| stirs.iter().map(move |&stirred| (lean, stirred)));
            for (lean, stirred) in leans {
                let inputs = Inputs { velocity, stirred, lean, ..Inputs::default() };
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
                        let surface = section.surface(shape, speed, diameter).in_medium(17.0, warming, 500.0);
                        compare(&surface, law.name);
                    }
                }
            }
        }
        assert_eq!(laws, 4);
    }

    /// A lane that neither leans nor is stirred has the same bits beside lanes that do.
    #[test]
    fn a_lane_does_not_see_its_neighbours() {
        let law = film::find("moving-water").unwrap();
        let layer = law.layer.unwrap();
        let mut layers = Films::<Eight>::default();
        for lane in 0..8 {
            let told = lane % 2 == 1;
            let (stirred, lean) = if told { (0.1, -0.5 * lane as f64) } else { (0.0, 0.0) };
            layers.set(lane, (layer, &Inputs { stirred, lean, ..Inputs::default() }), Shape::Round, [2.5, 3.42e-3]);
            layers.factor[lane] = 1.0;
            (layers.entry[lane], layers.warming[lane], layers.entry_heat[lane]) = (16.0, 0.0, 0.0);
        }
        let places = [Eight::all(60.0), Eight::all(0.0), Eight::all(3.0), Eight::all(2.5)];
        let found = films(Instructions::of(Path::Scalar), &layers, &places);
        let (shape, inputs) = (Shape::Round, Inputs::default());
        let alone =
            FilmState { shape, speed: 2.5, diameter: 3.42e-3, distance: 3.0, surface: 60.0, medium: 16.0, inputs };
        for lane in 0..8 {
            let same = found[lane].to_bits() == of_one(layer, &alone).to_bits();
            assert!(same == (lane % 2 == 0), "lane {lane}: {}", found[lane]);
        }
    }

    fn compare(surface: &Surface, name: &str) {
        let mut layers = Films::<Eight>::default();
        (0..8).for_each(|lane| layers.surround(lane, surface));
        let t = Eight(std::array::from_fn(|lane| 10.0 + 22.0 * lane as f64));
        let q = Eight(std::array::from_fn(|lane| 300.0 + 4000.0 * lane as f64));
        for x in [0.0, 0.3, 18.0] {
            let places = [t, q, Eight::all(x), Eight::all(surface.speed())];
            let film = films(Instructions::of(Path::Scalar), &layers, &places);
            let found = slopes(Instructions::of(Path::Scalar), &layers, &places);
            for lane in 0..8 {
                let [t, q, x, _] = places.map(|row| row[lane]);
                let film_here = surface.film(t, q, x);
                let films = [film[lane], found.film[lane]];
                assert!(films == [film_here; 2], "{name} at {t} {x}: {films:?} {film_here}");
                let expected = surface.slopes(t, q, x);
                let warm = (t - surface.medium(q)).abs();
                let per_kelvin = found.per_kelvin[lane] + surface.radiation_slope(t);
                // Differences of the same films: only what is made of them is rounded otherwise.
                let over_kelvins = 1e-13 * film_here;
                let over_metres = 1e-13 * film_here * warm / (x + ENTRY_OFFSET);
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
