//! Shrink: how ring areas follow the density, and the sizes that follow from it in closed form.
//!
//! A ring of area A0 at its die temperature T0 has the area A0 a(T), a(T0) = 1. `held`: a = rho(T0)/rho(T), the
//! conductor holds the layer's length and the whole volume change shows in the cross-section. `free`:
//! a = (rho(T0)/rho(T))^(2/3) (flat: thickness, exponent 1/3), the layer contracts in every direction alike.

use crate::case::{Case, Contraction, Geometry, Layer, Shape, Size};
use crate::material::Kind;
use crate::units::Celsius;

/// Temperature at which a product counts as finished.
pub const FINISHED: Celsius = Celsius(23.0);

/// The exponent p of a = (rho(T0)/rho(T))^p.
pub fn exponent(contraction: Contraction, shape: Shape, geometry: Geometry) -> f64 {
    match (geometry, contraction, shape) {
        (Geometry::Fixed, _, _) => 0.0,
        (_, Contraction::Held, _) => 1.0,
        (_, Contraction::Free, Shape::Round) => 2.0 / 3.0,
        (_, Contraction::Free, Shape::Flat) => 1.0 / 3.0,
    }
}

/// Area ratio a(T) of a layer (flat: thickness ratio) relative to its die temperature `from`.
///
/// ```
/// use quenchway::{case::{Contraction, Geometry, Shape}, material::Curve, shrink, units::Celsius};
/// let density = Curve::new(vec![[20.0, 920.0], [190.0, 757.5]]).unwrap();
/// let a = shrink::area_ratio(&density, 1.0, Celsius(190.0), Celsius(20.0));
/// assert!((a - 757.5 / 920.0).abs() < 1e-15);
/// ```
pub fn area_ratio(density: &crate::material::Curve, exponent: f64, from: Celsius, to: Celsius) -> f64 {
    if exponent == 0.0 {
        return 1.0;
    }
    libm::pow(density.at(from) / density.at(to), exponent)
}

/// Area ratio of layer `index` of a case between the die and temperature `to`.
pub fn layer_area_ratio(case: &Case, index: usize, to: Celsius) -> f64 {
    let layer = &case.layers[index];
    let p = exponent(layer.contraction, case.shape, case.geometry);
    area_ratio(&layer.material.density, p, case.die_temperature(index), to)
}

/// Outer radii of all layers at the die and finished, m (flat: half thicknesses).
#[derive(Clone, Debug, PartialEq)]
pub struct Radii {
    /// At the die, hot, one per layer from the axis outward.
    pub hot: Vec<f64>,
    /// With everything at 23 degC.
    pub finished: Vec<f64>,
}

/// Sizes as given, hot or finished, into radii at the die and finished, from the inside outward in closed form.
///
/// Round: A = r_out^2 - r_in^2 and A_finished = A_hot a(23 degC); flat: the same with thicknesses. The bore keeps its
/// size. Returns `Err(index)` for the first layer that would have no wall.
pub fn radii(case: &Case) -> Result<Radii, usize> {
    let area = |inner: f64, outer: f64| match case.shape {
        Shape::Round => (outer - inner) * (outer + inner),
        Shape::Flat => outer - inner,
    };
    let outer_of = |inner: f64, area: f64| match case.shape {
        Shape::Round => (inner * inner + area).sqrt(),
        Shape::Flat => inner + area,
    };
    let (mut hot_inner, mut finished_inner) = (case.bore / 2.0, case.bore / 2.0);
    let mut radii = Radii { hot: Vec::new(), finished: Vec::new() };
    for (index, layer) in case.layers.iter().enumerate() {
        let ratio = layer_area_ratio(case, index, FINISHED);
        let hot_area = match layer.size {
            Size::Diameter(diameter) => area(hot_inner, diameter / 2.0),
            Size::Wall(wall) => area(hot_inner, hot_inner + wall),
            Size::FinishedDiameter(diameter) => area(finished_inner, diameter / 2.0) / ratio,
            Size::FinishedWall(wall) => area(finished_inner, finished_inner + wall) / ratio,
        };
        if !(hot_area > 0.0 && hot_area.is_finite()) {
            return Err(index);
        }
        hot_inner = match layer.size {
            Size::Diameter(diameter) => diameter / 2.0,
            _ => outer_of(hot_inner, hot_area),
        };
        finished_inner = match layer.size {
            Size::FinishedDiameter(diameter) => diameter / 2.0,
            _ => outer_of(finished_inner, hot_area * ratio),
        };
        radii.hot.push(hot_inner);
        radii.finished.push(finished_inner);
    }
    Ok(radii)
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
