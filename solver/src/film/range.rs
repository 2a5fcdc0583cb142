//! Where a film law holds: the numbers that its range is stated in, and whether a state lies inside.

use super::{FilmState, Law, formulas};
use crate::material::medium::Medium;
use crate::maths::shape::Shape;
use crate::units::Dimension;

/// A number in which the range of a law is stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RangeQuantity {
    /// Mean of surface and medium, degC.
    FilmTemperature,
    /// Re_x = U x / nu with the speed through the medium and the distance from the section's entry.
    ReynoldsAlong,
    /// The same of a flat product; 0 of a round one.
    ReynoldsAlongFlat,
    /// Re_a = U a / nu with the speed through the medium; 0 of a flat product.
    ReynoldsRadius,
    /// x/a; 0 of a flat product.
    LengthOverRadius,
    /// Re_d = velocity d / nu.
    ReynoldsAcross,
    /// Re_d Pr = velocity d / alpha.
    PecletAcross,
    /// Ra on the diameter.
    Rayleigh,
    /// Re = water flux D / mu with the D = 20 mm of the correlation.
    ReynoldsSpray,
    /// Outer diameter, m.
    Diameter,
}

impl RangeQuantity {
    /// What messages call it.
    pub fn name(self) -> &'static str {
        match self {
            RangeQuantity::FilmTemperature => "film temperature",
            RangeQuantity::ReynoldsAlong | RangeQuantity::ReynoldsAlongFlat => "Reynolds number on the distance",
            RangeQuantity::ReynoldsRadius => "Reynolds number on the radius",
            RangeQuantity::LengthOverRadius => "distance over the radius",
            RangeQuantity::ReynoldsAcross => "Reynolds number on the diameter",
            RangeQuantity::PecletAcross => "Reynolds times Prandtl number on the diameter",
            RangeQuantity::Rayleigh => "Rayleigh number",
            RangeQuantity::ReynoldsSpray => "spray Reynolds number",
            RangeQuantity::Diameter => "diameter",
        }
    }

    /// What it measures; none for a number without a unit.
    pub fn dimension(self) -> Option<Dimension> {
        match self {
            RangeQuantity::FilmTemperature => Some(Dimension::Temperature),
            RangeQuantity::Diameter => Some(Dimension::Diameter),
            _ => None,
        }
    }

    /// Its value in a state.
    pub fn at(self, medium: Medium, state: &FilmState) -> f64 {
        let fluid = || formulas::fluid(medium, state);
        match self {
            RangeQuantity::FilmTemperature => 0.5 * (state.surface + state.medium),
            RangeQuantity::ReynoldsAlong => formulas::reynolds_along(&fluid(), state),
            RangeQuantity::ReynoldsAlongFlat if state.shape == Shape::Flat => formulas::reynolds_along(&fluid(), state),
            RangeQuantity::LengthOverRadius if state.shape == Shape::Round => 2.0 * state.distance / state.diameter,
            RangeQuantity::ReynoldsAlongFlat | RangeQuantity::LengthOverRadius => 0.0,
            RangeQuantity::ReynoldsRadius => formulas::reynolds_radius(&fluid(), state),
            RangeQuantity::ReynoldsAcross => formulas::reynolds_across(&fluid(), state),
            RangeQuantity::PecletAcross => formulas::reynolds_across(&fluid(), state) * fluid().prandtl,
            RangeQuantity::Rayleigh => formulas::rayleigh_of(&fluid(), state),
            RangeQuantity::ReynoldsSpray => formulas::spray_reynolds(&fluid(), state),
            RangeQuantity::Diameter => state.diameter,
        }
    }
}

/// One limit of a law's range, both ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bound {
    /// In which number.
    pub quantity: RangeQuantity,
    /// From and to.
    pub range: [f64; 2],
}

impl Bound {
    /// How far a value lies outside; zero or less inside.
    pub fn excess(&self, value: f64) -> f64 {
        (value - self.range[1]).max(self.range[0] - value)
    }
}

impl Law {
    /// The bounds that a state breaks, each with the value met.
    ///
    /// ```
    /// use quenchway::case::Shape;
    /// use quenchway::film::{FilmState, Inputs, RangeQuantity, find};
    /// let (shape, inputs) = (Shape::Round, Inputs::default());
    /// let wire = FilmState { shape, speed: 15.0, diameter: 1e-3, distance: 20.0, surface: 60.0, medium: 25.0, inputs };
    /// // 20 m of air along a wire of 1 mm: no more than 30,000 radii were looked at.
    /// let broken: Vec<_> = find("moving-air").unwrap().outside(&wire).collect();
    /// assert_eq!(broken[0].0.quantity, RangeQuantity::LengthOverRadius);
    /// assert_eq!(broken[0].1, 40_000.0);
    /// ```
    pub fn outside<'a>(&'a self, state: &'a FilmState) -> impl Iterator<Item = (&'a Bound, f64)> {
        self.bounds
            .iter()
            .map(|bound| (bound, bound.quantity.at(self.medium, state)))
            .filter(|(bound, value)| bound.excess(*value) > 0.0)
    }
}
