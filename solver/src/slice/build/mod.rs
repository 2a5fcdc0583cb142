//! From a case to a slice of nodes: which layers are meshed, how finely, and what the nodes start with.
//!
//! The rule, with c = (eps/0.009 K)^(1/4) at most 1.3, alpha of the layer at its die temperature and sizes in die radius:
//! at the surface 0.65 c sqrt(alpha t_out), t_out the earliest time asked for after a change of medium; at a joint
//! 0.45 c sqrt(alpha t_1), t_1 the first time asked for; growth 0.35 c. A layer with a latent peak: growth x 0.35,
//! intervals at most c/18 of the layer (0.5 and c/22 in a run that stands alone), surface sizes x 0.5, and joint sizes x 0.35 with the smallest alpha of its curve, on both sides of
//! the joint. At the surface a run whose error is measured takes at most c/6 of the depth of the freezing front where it reports, but
//! not less than 0.35 of the size by time. An axis asks for nothing, a bore for 0.5 c of its radius. Edges are spaced in radius, not in mass.

use std::sync::Arc;

use crate::case::error::Error;
use crate::case::shrink::{self, Radii};
use crate::case::{Case, Contact, Shape};
use crate::material::{Curve, Kind};
use crate::slice::enthalpy::Enthalpy;
use crate::slice::mesh::Sizing;
use crate::slice::{Core, Slice};
use crate::units::Celsius;

/// More intervals than this in one layer are refused.
const MAX_INTERVALS: usize = 4000;
/// Steps in which a layer thicker than its model's has more intervals.
const STRETCH: f64 = 1.25;

/// Accuracy for which c is 1, K, and the largest c.
const ACCURACY: f64 = 0.009;
const COARSEST: f64 = 1.3;
/// Largest intervals over c: at the surface and at a joint in lengths of diffusion, at a bore in its radius.
const AT_SURFACE: f64 = 0.65;
const AT_JOINT: f64 = 0.45;
const AT_BORE: f64 = 0.5;
/// How much they grow with the distance from there, over c.
const GROWTH: f64 = 0.35;
/// What a latent peak multiplies these with.
const SURFACE_OF_PEAK: f64 = 0.5;
const JOINT_OF_PEAK: f64 = 0.35;
const GROWTH_OF_PEAK: f64 = 0.35;
/// Into how many intervals over c it divides the layer at least.
const PARTS_OF_PEAK: f64 = 18.0;
/// Both of the last in a run that stands alone.
const GROWTH_ALONE: f64 = 0.5;
const PARTS_ALONE: f64 = 22.0;
/// Into how many intervals over c the depth of a freezing front is divided, and the least factor on the surface interval for it.
const PARTS_OF_FRONT: f64 = 6.0;
const LEAST_FOR_FRONT: f64 = 0.35;

/// What the mesh rule needs to know of the line: times in s, and a depth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Times {
    /// Earliest time asked for after a change of medium.
    pub earliest: f64,
    /// First time at which anything is reported: what joints and the core must be right for.
    pub first_report: f64,
    /// Least depth of a freezing front below the surface where the run reports, m; infinite where none is to be resolved.
    pub front: f64,
}

/// How fine the mesh is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Accuracy that the rule's sizes aim at, K.
    pub accuracy: f64,
    /// Factor on all interval sizes, 1 by the rule. A smaller one divides every layer into that many times more
    /// intervals with the same grading, so that a finer run is finer in every layer, however few intervals it has; the
    /// accuracy aimed at is then `accuracy` times its fourth power.
    pub factor: f64,
    /// Whether the run stands alone, as those of studies do: layers with a latent peak then grow coarser away from their faces.
    /// A run whose error is measured by a finer one must stay well below its tolerance, or costs a third run.
    pub alone: bool,
}

/// A slice and its state at the die.
///
/// # Errors
///
/// [`Error::TooLarge`] where the layers need more intervals than are allowed.
pub fn slice(case: &Case, radii: &Radii, times: Times, fineness: Fineness) -> Result<(Slice, Vec<f64>), Error> {
    slice_like(case, radii, radii, times, fineness)
}

/// As `slice`, on the mesh of the sizes `model`, stretched: slices of nearly one size have one structure. A layer that is thicker
/// than its model's has that many times more intervals, in steps of `STRETCH`.
///
/// # Errors
///
/// As [`slice`].
pub fn slice_like(
    case: &Case,
    radii: &Radii,
    model: &Radii,
    times: Times,
    fineness: Fineness,
) -> Result<(Slice, Vec<f64>), Error> {
    let coarseness = libm::pow(fineness.accuracy / ACCURACY, 0.25).min(COARSEST);
    let laws = shrink::laws(case, radii);
    let die: Vec<Celsius> = (0..case.layers.len()).map(|index| case.die_temperature(index)).collect();
    // Room for those of the joints, too.
    let mut tables: Vec<Enthalpy> = Vec::with_capacity(2 * die.len());
    let of_layers = case.layers.iter().zip(&laws).zip(&die);
    tables.extend(of_layers.map(|((layer, law), &die)| Enthalpy::of_layer(layer, law, die)));
    let lumped = lump_core(case, model, &tables, &die, times, fineness.accuracy * libm::pow(fineness.factor, 4.0));
    let flat = case.shape == Shape::Flat;
    let mut builder = Builder::new(case, tables, lumped);
    if lumped {
        builder.core(core(case, radii));
    }
    for index in usize::from(lumped)..case.layers.len() {
        let sizing = sizing(case, model, &builder.tables, &die, times, (coarseness, fineness.alone), index);
        let faces = |radii: &Radii| [if index == 0 { case.bore / 2.0 } else { radii.hot[index - 1] }, radii.hot[index]];
        let ([inner, outer], [inside, outside]) = (faces(model), faces(radii));
        let wider = (outside - inside) / (outer - inner);
        let more = libm::pow(STRETCH, (libm::log(wider) / libm::log(STRETCH) - 1e-9).ceil().max(0.0));
        let mut edges = sizing
            .edges(inner, outer, more / fineness.factor, MAX_INTERVALS)
            .map_err(|needed| Error::TooLarge { what: "intervals in one layer", needed, allowed: MAX_INTERVALS })?;
        if [inner, outer] != [inside, outside] {
            edges.iter_mut().for_each(|edge| *edge = inside + wider * (*edge - inner));
            edges.iter_mut().next_back().into_iter().for_each(|edge| *edge = outside);
        }
        builder.layer(index, &edges, case.layers[index].material.density.at(die[index]), flat);
    }
    let mut slice = builder.finish();
    slice.moving =
        case.layers.iter().zip(&laws).any(|(layer, law)| law.moves() && layer.material.density.points().len() > 1);
    let state = initial_state(&slice, &die);
    Ok((slice, state))
}

/// Whether the first layer is a metal core that one node with a parabola describes to a quarter of the accuracy.
///
/// 0.008 dT x^1.5 < eps/4 with x = r^2/(14.7 alpha t_1), dT the largest difference of die temperatures.
fn lump_core(case: &Case, radii: &Radii, tables: &[Enthalpy], die: &[Celsius], times: Times, accuracy: f64) -> bool {
    let core = &case.layers[0];
    if core.material.kind != Kind::Metal || case.layers.len() < 2 {
        return false;
    }
    let rho0 = core.material.density.at(die[0]);
    let (low, high) = hull(case, die);
    let alpha = tables[0].smallest_diffusivity(rho0, low, high);
    let x = radii.hot[0] * radii.hot[0] / (14.7 * alpha * times.first_report);
    0.008 * (high - low) * libm::pow(x, 1.5) < accuracy / 4.0
}

/// Lowest and highest temperature that the product can meet, degC.
pub fn hull(case: &Case, die: &[Celsius]) -> (f64, f64) {
    let media = case.sections.iter().filter(|section| section.supply.is_none()).map(|section| section.temperature.0);
    let turns = case.sections.iter().filter(|section| section.passes > 1).map(|section| section.turn.temperature.0);
    let all = die.iter().map(|t| t.0).chain(media).chain(turns);
    all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| (low.min(t), high.max(t)))
}

fn core(case: &Case, radii: &Radii) -> Core {
    let layer = &case.layers[0];
    let density = layer.material.density.at(case.die_temperature(0));
    let (a, b) = (case.bore / 2.0, radii.hot[0]);
    let contact = match case.layers[1].contact {
        Contact::Perfect => f64::INFINITY,
        Contact::Conductance(h) => h,
    };
    let (area, shape, axis) = match (case.shape, a > 0.0) {
        (Shape::Flat, _) => (b - a, 3.0 / (b - a), 0.5),
        (Shape::Round, false) => (b * b, 4.0, 1.0),
        (Shape::Round, true) => {
            let (a2, b2) = (a * a, b * b);
            let log = libm::log(b / a);
            let below = b2 - 3.0 * a2 + 4.0 * a2 * a2 * log / (b2 - a2);
            // Quasi-steady tube: T = T_face + q/(2k) (b^2 - r^2 - 2 a^2 ln(b/r))...; the mean lies G_i above the face.
            let shape = 4.0 * (b2 - a2) / below;
            (b2 - a2, shape, tube_axis(a2, b2, log))
        }
    };
    let mass = if case.shape == Shape::Flat { density * area } else { density * area / 2.0 };
    Core { mass, table: 0, area, shape, axis, contact, density }
}

/// (T_axis - T_mean)/(T_mean - T_face) of a tube cooled outside with zero flux inside and a uniform rate.
fn tube_axis(a2: f64, b2: f64, log: f64) -> f64 {
    // With 4k/g = 1: T(r) - T_face = b^2 - r^2 - 2 a^2 ln(b/r); its mean over the ring follows from G_i.
    let inner = b2 - a2 - 2.0 * a2 * log;
    let mean = (b2 - 3.0 * a2 + 4.0 * a2 * a2 * log / (b2 - a2)) / 2.0;
    (inner - mean) / mean
}

/// Interval sizes of a layer by the rule.
fn sizing(
    case: &Case,
    radii: &Radii,
    tables: &[Enthalpy],
    die: &[Celsius],
    times: Times,
    (coarseness, alone): (f64, bool),
    index: usize,
) -> Sizing {
    let (low, high) = hull(case, die);
    let peaked = |layer: usize| has_latent_peak(&case.layers[layer].material.heat_capacity);
    let rho0 = case.layers[index].material.density.at(die[index]);
    let at_die = {
        let c = tables[index].temperature(tables[index].enthalpy(die[index])).1;
        tables[index].kappa(die[index]) / (rho0 * rho0 * c)
    };
    let slowest = tables[index].smallest_diffusivity(rho0, low, high);
    let joint = |other: usize| {
        let (alpha, factor) = if peaked(index) || peaked(other) { (slowest, JOINT_OF_PEAK) } else { (at_die, 1.0) };
        AT_JOINT * coarseness * factor * (alpha * times.first_report).sqrt()
    };
    // Near a small bore the profile is logarithmic: intervals there must be a part of the radius.
    let hollow = case.bore > 0.0 && case.shape == Shape::Round;
    let at_bore = if hollow { AT_BORE * coarseness * (case.bore / 2.0) } else { f64::INFINITY };
    let inner_radius = if index == 0 { case.bore / 2.0 } else { radii.hot[index - 1] };
    let width = radii.hot[index] - inner_radius;
    let outermost = index + 1 == case.layers.len();
    // A peak's kinks pass through the thin layer that a plunge cools first.
    let surface_factor = if peaked(index) { SURFACE_OF_PEAK } else { 1.0 };
    let by_time = AT_SURFACE * coarseness * surface_factor * (at_die * times.earliest).sqrt();
    let of_front = if peaked(index) { coarseness * times.front / PARTS_OF_FRONT } else { f64::INFINITY };
    let at_surface = by_time.min(of_front.max(LEAST_FOR_FRONT * by_time));
    let (growth, parts) = if alone { (GROWTH_ALONE, PARTS_ALONE) } else { (GROWTH_OF_PEAK, PARTS_OF_PEAK) };
    Sizing {
        inner: if index == 0 { at_bore } else { joint(index - 1) },
        outer: if outermost { at_surface } else { joint(index + 1) },
        growth: GROWTH * coarseness * if peaked(index) { growth } else { 1.0 },
        largest: if peaked(index) { width * coarseness / parts } else { f64::INFINITY },
    }
}

/// How far a peak of the heat capacity is above the lowest on either side of it at least.
pub(crate) const PEAK: f64 = 1.5;

/// Whether a heat capacity curve has a peak: a point [`PEAK`] times above the lowest on either side of it.
pub fn has_latent_peak(curve: &Curve) -> bool {
    let points = curve.points();
    let lowest = |part: &[[f64; 2]]| part.iter().map(|point| point[1]).fold(f64::INFINITY, f64::min);
    let above = |i: usize| points[i][1] > PEAK * lowest(&points[..i]).max(lowest(&points[i + 1..]));
    (1..points.len().saturating_sub(1)).any(above)
}

struct Builder<'a> {
    case: &'a Case,
    slice: Slice,
    /// Tables of the layers, and of the joints behind them.
    tables: Vec<Enthalpy>,
    /// Tables and masses of the vertices, in order; middles are appended at the end.
    vertices: Vec<(usize, f64)>,
    middles: Vec<(usize, f64)>,
}

impl<'a> Builder<'a> {
    fn new(case: &'a Case, tables: Vec<Enthalpy>, lumped: bool) -> Builder<'a> {
        let bore = case.bore / 2.0;
        let flat = case.shape == Shape::Flat;
        let slice = Slice {
            flat,
            moving: false,
            inner: if flat { bore } else { bore * bore },
            tables: Arc::default(),
            table_of: Vec::new(),
            mass: Vec::new(),
            coordinate: Vec::new(),
            link_mass: Vec::new(),
            link_density: Vec::new(),
            contacts: Vec::new(),
            joints: Vec::new(),
            core: None,
            layers: if lumped { vec![None] } else { Vec::new() },
        };
        Builder { case, slice, tables, vertices: Vec::new(), middles: Vec::new() }
    }

    fn core(&mut self, core: Core) {
        self.slice.core = Some(core);
    }

    /// Adds a meshed layer outside what is there.
    fn layer(&mut self, index: usize, edges: &[f64], density: f64, flat: bool) {
        let mass_of = |a: f64, b: f64| if flat { density * (b - a) } else { density * (b - a) * (b + a) / 2.0 };
        let masses = edges.windows(2).map(|pair| mass_of(pair[0], pair[1]));
        let first_mass = masses.clone().next().unwrap_or(0.0);
        match (self.vertices.is_empty(), self.case.layers[index].contact) {
            (true, _) => self.vertices.push((index, first_mass / 6.0)),
            (false, Contact::Perfect) => self.joint(index, first_mass),
            (false, Contact::Conductance(conductance)) => {
                self.slice.contacts.push((self.slice.link_mass.len(), conductance));
                self.slice.link_mass.push(0.0);
                self.slice.link_density.push(density);
                self.middles.push((index, 1.0));
                self.vertices.push((index, first_mass / 6.0));
            }
        }
        let first = self.vertices.len() - 1;
        self.slice.link_mass.reserve(masses.len());
        self.slice.link_density.reserve(masses.len());
        self.middles.reserve(masses.len());
        self.vertices.reserve(masses.len());
        let behind = masses.clone().skip(1).chain(std::iter::once(0.0));
        for (mass, next) in masses.zip(behind) {
            self.slice.link_mass.push(mass);
            self.slice.link_density.push(density);
            self.middles.push((index, 4.0 * mass / 6.0));
            self.vertices.push((index, (mass + next) / 6.0));
        }
        self.slice.layers.push(Some((first, self.vertices.len() - 1)));
    }

    /// Makes the last vertex a joint with layer `index`, whose first interval has the mass `mass`.
    fn joint(&mut self, index: usize, mass: f64) {
        let vertex = self.vertices.len() - 1;
        let (inside, own) = self.vertices[vertex];
        let total = own + mass / 6.0;
        let table = Enthalpy::of_joint(&self.tables[inside], &self.tables[index], own / total);
        self.tables.push(table);
        self.slice.joints.push(vertex);
        self.vertices[vertex] = (self.tables.len() - 1, total);
    }

    /// The slice of the layers that were added.
    fn finish(mut self) -> Slice {
        let all = self.vertices.iter().chain(&self.middles);
        (self.slice.table_of, self.slice.mass) = all.copied().unzip();
        let links = &self.slice.link_mass;
        let mut inside = Vec::with_capacity(2 * links.len() + 1);
        let mut sum = 0.0;
        inside.push(sum);
        for mass in links {
            sum += mass;
            inside.push(sum);
        }
        for (link, mass) in links.iter().enumerate() {
            inside.push(inside[link] + 0.5 * mass);
        }
        self.slice.coordinate = inside;
        self.slice.tables = Arc::new(self.tables);
        self.slice
    }
}

/// Every layer uniform at its die temperature; a joint takes the mix of both enthalpies.
fn initial_state(slice: &Slice, die: &[Celsius]) -> Vec<f64> {
    let mut state = vec![0.0; slice.unknowns()];
    let (nv, layers) = (slice.vertices(), &slice.layers);
    for (index, range) in layers.iter().enumerate() {
        let enthalpy = slice.tables[index].enthalpy(die[index]);
        let Some((first, last)) = *range else {
            state[slice.core_index()] = enthalpy;
            continue;
        };
        state[first..=last].fill(enthalpy);
        state[nv + first..nv + last].fill(enthalpy);
    }
    // A joint belongs to two layers: weigh both sides by the masses that they bring to it.
    for pair in layers.windows(2) {
        if let [Some((_, joint)), Some((first, _))] = *pair
            && joint == first
        {
            let (inside, outside) = (slice.link_mass[joint - 1], slice.link_mass[joint]);
            let index = layers.iter().position(|range| *range == pair[0]).unwrap_or(0);
            let share = inside / (inside + outside);
            state[joint] = share * slice.tables[index].enthalpy(die[index])
                + (1.0 - share) * slice.tables[index + 1].enthalpy(die[index + 1]);
        }
    }
    // The idle middle of a contact rests at the temperature of its layer.
    for (link, &mass) in slice.link_mass.iter().enumerate() {
        if mass == 0.0 {
            state[nv + link] = state[link + 1];
        }
    }
    state
}

#[cfg(test)]
mod tests;
