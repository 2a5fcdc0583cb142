//! Film coefficients of boundary layers, and their slopes.
//!
//! Powers are made of logarithms and exponentials, and what vanishes with the speed is never divided by: at speed 0 the film is
//! that of free convection. Only the tables are read lane by lane.

use super::Films;
use crate::film::boundary_layer::surface_gradient;
use crate::film::end::ROUNDED;
use crate::film::moving::{BoundaryLayer, ENTRY_OFFSET, TRANSITION, rayleigh};
use crate::film::nusselt::{NEXT_TO_NOTHING, churchill_bernstein, churchill_chu, sublayer, turbulent_friction, white};
use crate::film::{FilmState, KELVIN, OF_DISTANCE, OF_SPEED};
use crate::material::{air, water};
use crate::maths::exp_ln::{exp, ln};
use crate::maths::vector::{Instructions, One, Row, Set, Vector};

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

/// The film coefficient of one product at one place, W/(m2 K).
pub(in crate::film) fn of_one(layer: &BoundaryLayer, state: &FilmState) -> f64 {
    let layers = one(layer, state);
    coefficient(&layers, fluids(&layers, state.surface, state.medium), [state.distance, state.speed])
}

/// The laminar and the whole turbulent layer of one product at one place, W/(m2 K), and the weight of the latter.
pub(in crate::film) fn parts_of_one(layer: &BoundaryLayer, state: &FilmState) -> [f64; 3] {
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
                // One case alone takes AVX2 at most: for it the first is not compiled.
                #[cfg(target_arch = "x86_64")]
                Set::Avx512 if R::LANES > 1 => unsafe { avx512($($argument),*) },
                #[cfg(target_arch = "x86_64")]
                Set::Avx512 | Set::Avx2 => unsafe { avx2($($argument),*) },
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
    let aside = V::all(OF_SPEED).mul(v);
    let places = [[x, v], [x.add(metre), v], [x, v.add(aside)], [x, v.sub(aside)]];
    let states = [
        [surface, medium],
        [surface.add(kelvin), medium],
        [surface, medium.add(kelvin)],
        [surface, medium.sub(kelvin)],
    ];
    let (warming_lanes, driven_lanes) = (layers.warming_lanes != 0, layers.driven_lanes != 0);
    // In loops: written out, it is more code than the processor keeps at hand.
    let [mut by_place, mut by_state] = [[V::all(0.0); 4]; 2];
    for i in 0..if warming_lanes { 4 } else { 2 } {
        let [surface, medium] = states[i];
        let fluids = fluids(layers, surface, medium);
        let ahead = match (i, driven_lanes) {
            (0, true) => 4,
            (0, false) => 2,
            _ => 1,
        };
        for j in 0..ahead {
            let film = coefficient(layers, fluids, places[j]);
            if i == 0 {
                by_place[j] = film;
            } else {
                by_state[i] = film;
            }
        }
    }
    let [own, farther, faster, slower] = by_place;
    let [_, warmer, above, below] = by_state;
    let film = factor.mul(own);
    let excess = factor.mul(surface.sub(medium));
    let zero = V::Row::all(0.0);
    let mut slopes = Slopes { film: zero, per_kelvin: zero, per_metre: zero, per_heat: zero, per_speed: zero };
    film.store(&mut slopes.film);
    warmer.sub(own).div(kelvin).mul_add(excess, film).store(&mut slopes.per_kelvin);
    farther.sub(own).div(metre).mul(excess).store(&mut slopes.per_metre);
    if warming_lanes {
        let with_medium = above.sub(below).div(kelvin.add(kelvin));
        with_medium.mul_sub(excess, film).mul(warming).store(&mut slopes.per_heat);
    }
    if driven_lanes {
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
