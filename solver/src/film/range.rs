//! Where a film law holds: the numbers that its range is stated in, and whether a state lies inside.

use super::{FilmState, Law, formulas};
use crate::case::Medium;
use crate::units::Dimension;

/// A number in which the range of a law is stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RangeQuantity {
    /// Mean of surface and medium, degC.
    FilmTemperature,
    /// Re_x = U x / nu with the speed through the medium and the distance from the section's entry.
    ReynoldsAlong,
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
            RangeQuantity::ReynoldsAlong => "Reynolds number on the distance",
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
        let fluid = formulas::fluid(medium, state);
        match self {
            RangeQuantity::FilmTemperature => 0.5 * (state.surface + state.medium),
            RangeQuantity::ReynoldsAlong => formulas::reynolds_along(&fluid, state),
            RangeQuantity::ReynoldsAcross => formulas::reynolds_across(&fluid, state),
            RangeQuantity::PecletAcross => formulas::reynolds_across(&fluid, state) * fluid.prandtl,
            RangeQuantity::Rayleigh => formulas::rayleigh_of(&fluid, state),
            RangeQuantity::ReynoldsSpray => formulas::spray_reynolds(&fluid, state),
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
    /// let wire = FilmState { shape, speed: 15.0, diameter: 1e-3, distance: 1.0, surface: 60.0, medium: 25.0, inputs };
    /// // 15 m/s over 1 m of air: turbulent.
    /// let broken: Vec<_> = find("moving-air").unwrap().outside(&wire).collect();
    /// assert_eq!(broken[0].0.quantity, RangeQuantity::ReynoldsAlong);
    /// assert!((8e5..9e5).contains(&broken[0].1));
    /// ```
    pub fn outside<'a>(&'a self, state: &'a FilmState) -> impl Iterator<Item = (&'a Bound, f64)> {
        self.bounds
            .iter()
            .map(|bound| (bound, bound.quantity.at(self.medium, state)))
            .filter(|(bound, value)| bound.excess(*value) > 0.0)
    }
}
