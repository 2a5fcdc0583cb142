//! Shrink: how ring areas follow the density, and the sizes that follow from it.
//!
//! A ring of area A0 at its die temperature T0 has the area A0 a(T), a(T0) = 1. `held`: a = rho(T0)/rho(T), the
//! conductor holds the layer's length and the whole volume change shows in the cross-section. `free`:
//! a = (rho(T0)/rho(T))^(2/3) (flat: thickness, exponent 1/3), the layer contracts in every direction alike. A held
//! layer with a Poisson ratio below 1/2 follows the held law down to its set temperature and less than that below it:
//! its exponent there is a third of [`bonded_factor`].

use crate::case::{Case, Contraction, Geometry, Layer, Shape, Size};
use crate::material::{Curve, FINISHED, Kind};
use crate::units::Celsius;

/// How a layer's ring areas follow its density: d ln a = -p d ln rho with one p above and one below a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Law {
    /// The exponent p of the melt.
    pub melt: f64,
    /// The exponent p below `set_temperature`.
    pub set: f64,
    /// Where the one follows the other; minus infinity where one law holds throughout.
    pub set_temperature: Celsius,
}

impl Law {
    /// One exponent at every temperature.
    pub fn uniform(exponent: f64) -> Law {
        Law { melt: exponent, set: exponent, set_temperature: Celsius(f64::NEG_INFINITY) }
    }

    /// Whether areas change at all with the density.
    pub fn moves(&self) -> bool {
        self.melt != 0.0
    }
}

/// Area change over the linear contraction of a set ring that sticks to a rigid core, its length held.
///
/// F = 2 (1 + nu)/(1 + (1 - 2 nu) x) with x = (inner radius/outer radius)^2, 0 to 1, and Poisson's ratio nu, 0 to 1/2.
/// A thin ring (and a flat layer, x = 1) has (1 + nu)/(1 - nu), a ring on a thin wire 2 (1 + nu), and an incompressible
/// one 3 at every x, as the melt has. It follows from the plane strain of a hollow cylinder (Timoshenko & Goodier,
/// Theory of Elasticity, 3rd ed. 1970, chapter 13, the long circular cylinder; from memory, not checked): see the
/// theory page; the tests solve the radial equation by themselves.
///
/// ```
/// use quenchway::case::shrink::bonded_factor;
/// assert!((bonded_factor(0.4, 1.0) - 1.4 / 0.6).abs() < 1e-15);
/// assert_eq!(bonded_factor(0.5, 0.3), 3.0);
/// ```
pub fn bonded_factor(poisson_ratio: f64, x: f64) -> f64 {
    2.0 * (1.0 + poisson_ratio) / (1.0 + (1.0 - 2.0 * poisson_ratio) * x)
}

/// The exponent p of a = (rho(T0)/rho(T))^p of a melt.
pub fn exponent(contraction: Contraction, shape: Shape, geometry: Geometry) -> f64 {
    match (geometry, contraction, shape) {
        (Geometry::Fixed, _, _) => 0.0,
        (_, Contraction::Held, _) => 1.0,
        (_, Contraction::Free, Shape::Round) => 2.0 / 3.0,
        (_, Contraction::Free, Shape::Flat) => 1.0 / 3.0,
    }
}

/// The law of layer `index` with the inner radius `inner` (m) and the area r_out^2 - r_in^2 (m2) at the die.
///
/// A bonded layer's x is that of the ring as it sets: what it loses below that changes F by a percent of itself.
fn law(case: &Case, index: usize, inner: f64, area: f64) -> Law {
    let layer = &case.layers[index];
    let melt = exponent(layer.contraction, case.shape, case.geometry);
    let bonded = melt != 0.0 && layer.contraction == Contraction::Held && layer.poisson_ratio < 0.5;
    let Some(set_temperature) = layer.material.set_temperature.filter(|_| bonded) else { return Law::uniform(melt) };
    let x = match case.shape {
        Shape::Flat => 1.0,
        Shape::Round => {
            let die = case.die_temperature(index);
            let hottest_solid = Celsius(set_temperature.0.min(die.0));
            let as_it_sets = area * area_ratio(&layer.material.density, &Law::uniform(melt), die, hottest_solid);
            inner * inner / (inner * inner + as_it_sets)
        }
    };
    Law { melt, set: bonded_factor(layer.poisson_ratio, x) / 3.0, set_temperature }
}

/// The law of every layer of a case with these radii.
pub fn laws(case: &Case, radii: &Radii) -> Vec<Law> {
    let inner = std::iter::once(case.bore / 2.0).chain(radii.hot.iter().copied());
    let between = inner.zip(&radii.hot).enumerate();
    between.map(|(index, (inner, &outer))| law(case, index, inner, (outer - inner) * (outer + inner))).collect()
}

/// Area ratio a(T) of a layer (flat: thickness ratio) relative to its die temperature `from`.
///
/// ```
/// use quenchway::material::Curve;
/// use quenchway::case::shrink::{Law, area_ratio};
/// use quenchway::units::Celsius;
/// let density = Curve::new(vec![[20.0, 920.0], [190.0, 757.5]]).unwrap();
/// let a = area_ratio(&density, &Law::uniform(1.0), Celsius(190.0), Celsius(20.0));
/// assert!((a - 757.5 / 920.0).abs() < 1e-15);
/// let stiff = Law { melt: 1.0, set: 0.7, set_temperature: Celsius(110.0) };
/// let a = area_ratio(&density, &stiff, Celsius(190.0), Celsius(20.0));
/// let at_set = density.at(Celsius(110.0));
/// assert!((a - 757.5 / at_set * (at_set / 920.0).powf(0.7)).abs() < 1e-15);
/// ```
pub fn area_ratio(density: &Curve, law: &Law, from: Celsius, to: Celsius) -> f64 {
    if !law.moves() {
        return 1.0;
    }
    let split = law.set_temperature.0;
    let part = |from: f64, to: f64, exponent: f64| {
        if from == to { 1.0 } else { libm::pow(density.at(Celsius(from)) / density.at(Celsius(to)), exponent) }
    };
    part(from.0.max(split), to.0.max(split), law.melt) * part(from.0.min(split), to.0.min(split), law.set)
}

/// Outer radii of all layers at the die and finished, m (flat: half thicknesses).
#[derive(Clone, Debug, PartialEq)]
pub struct Radii {
    /// At the die, hot, one per layer from the axis outward.
    pub hot: Vec<f64>,
    /// With everything at 23 degC.
    pub finished: Vec<f64>,
}

/// Area of a layer at the die by its size, the radii inside it hot and finished, and its area ratio between the die and
/// 23 degC.
pub(crate) fn area_at_die(size: Size, shape: Shape, [hot_inner, finished_inner]: [f64; 2], ratio: f64) -> f64 {
    match size {
        Size::Diameter(diameter) => shape.area_between(hot_inner, diameter / 2.0),
        Size::Wall(wall) => shape.area_between(hot_inner, hot_inner + wall),
        Size::FinishedDiameter(diameter) => shape.area_between(finished_inner, diameter / 2.0) / ratio,
        Size::FinishedWall(wall) => shape.area_between(finished_inner, finished_inner + wall) / ratio,
    }
}

/// Sizes as given, hot or finished, into radii at the die and finished, from the inside outward.
///
/// Round: A = r_out^2 - r_in^2 and A_finished = A_hot a(23 degC); flat: the same with thicknesses. The bore keeps its
/// size. Returns `Err(index)` for the first layer that would have no wall.
///
/// # Errors
///
/// The index of the first layer without a wall.
pub fn radii(case: &Case) -> Result<Radii, usize> {
    let outer_of = |inner: f64, area: f64| case.shape.outer_radius(inner, area);
    let area = |inner: f64, outer: f64| case.shape.area_between(inner, outer);
    let (mut hot_inner, mut finished_inner) = (case.bore / 2.0, case.bore / 2.0);
    let mut radii = Radii { hot: Vec::new(), finished: Vec::new() };
    for (index, layer) in case.layers.iter().enumerate() {
        let hot_area = match layer.size {
            Size::Diameter(diameter) => area(hot_inner, diameter / 2.0),
            Size::Wall(wall) => area(hot_inner, hot_inner + wall),
            Size::FinishedDiameter(diameter) => hot_area(case, index, hot_inner, area(finished_inner, diameter / 2.0)),
            Size::FinishedWall(wall) => hot_area(case, index, hot_inner, area(finished_inner, finished_inner + wall)),
        };
        if !(hot_area > 0.0 && hot_area.is_finite()) {
            return Err(index);
        }
        let finished_area = hot_area * finished_ratio(case, index, hot_inner, hot_area);
        hot_inner = match layer.size {
            Size::Diameter(diameter) => diameter / 2.0,
            _ => outer_of(hot_inner, hot_area),
        };
        finished_inner = match layer.size {
            Size::FinishedDiameter(diameter) => diameter / 2.0,
            _ => outer_of(finished_inner, finished_area),
        };
        radii.hot.push(hot_inner);
        radii.finished.push(finished_inner);
    }
    Ok(radii)
}

/// a(23 degC) of a layer with this inner radius and area at the die.
fn finished_ratio(case: &Case, index: usize, inner: f64, hot_area: f64) -> f64 {
    let law = law(case, index, inner, hot_area);
    area_ratio(&case.layers[index].material.density, &law, case.die_temperature(index), FINISHED)
}

/// The area at the die of a layer whose finished area is given: A_hot = A_finished/a(23 degC).
///
/// In closed form but for a round bonded layer, whose a depends on A_hot through x. Each pass then leaves at most
/// |ln(rho_set/rho_23)|/12 of the error of the one before, a hundredth with real densities.
fn hot_area(case: &Case, index: usize, inner: f64, finished_area: f64) -> f64 {
    if finished_area.is_nan() || finished_area <= 0.0 {
        return finished_area;
    }
    let mut area = finished_area;
    for _ in 0..1000 {
        let better = finished_area / finished_ratio(case, index, inner, area);
        if (better - area).abs() <= 2.0 * f64::EPSILON * better {
            return better;
        }
        area = better;
    }
    area
}

/// Axial strain frozen into a held plastic layer from its set temperature to 23 degC (0 for other layers).
///
/// epsilon = integral of alpha dT with alpha = -(1/3) d ln rho/dT, hence (1/3) ln(rho(23)/rho(T_set)); a lower bound of
/// the later shrink-back, to which draw-down orientation adds.
pub fn frozen_axial_strain(layer: &Layer) -> f64 {
    let held = layer.material.kind == Kind::Plastic && layer.contraction == Contraction::Held;
    match layer.material.set_temperature {
        Some(set) if held && set > FINISHED => {
            let density = &layer.material.density;
            libm::log(density.at(FINISHED) / density.at(set)) / 3.0
        }
        _ => 0.0,
    }
}
