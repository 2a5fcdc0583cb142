//! One layer of the product.

use super::preheat::Preheat;
use super::programme::Feed;
use crate::material::{Kind, Material};
use crate::units::Celsius;

/// One layer of the product.
#[derive(Clone, Debug)]
pub struct Layer {
    /// The user's name for it.
    pub name: String,
    /// What it is made of.
    pub material: Material,
    /// Its size as the case gives it.
    pub size: Size,
    /// Its uniform temperature at the die.
    pub temperature: DieTemperature,
    /// Thermal contact with the layer inside it (`Perfect` for the first layer).
    pub contact: Contact,
    /// How a ring's area answers a change of density.
    pub contraction: Contraction,
    /// Poisson's ratio of a held plastic below its set temperature, 0 to 0.5; 0.5: it goes on contracting as the melt.
    pub poisson_ratio: f64,
    /// Multiplier of the material's conductivity, 1.
    pub conductivity_factor: f64,
    /// Multiplier of the material's heat capacity, 1.
    pub heat_capacity_factor: f64,
    /// How much lower than its curves say the plastic sets, K; with a setting point by the rate beside what that gives.
    pub setting_shift: f64,
    /// Most volume that the melt under the set skin may still have to lose, percent of the layer's.
    pub melt_shrink_max: Option<f64>,
    /// Its output and its way to the die, of a melt; only `drive` looks at it.
    pub feed: Feed,
}

/// A layer's size; every value in m. Flat: full thickness for diameter, one side for wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    /// Outer diameter at the die, hot.
    Diameter(f64),
    /// Outer diameter when everything is at 23 degC.
    FinishedDiameter(f64),
    /// Wall at the die, hot.
    Wall(f64),
    /// Wall when everything is at 23 degC.
    FinishedWall(f64),
}

/// A temperature at the die: fixed, following the line speed, or what a preheater makes of it.
#[derive(Clone, Debug, PartialEq)]
pub enum DieTemperature {
    /// The same at every speed.
    Fixed(Celsius),
    /// Linear between (line speed m/s, degC) points, constant outside.
    OfSpeed(Vec<[f64; 2]>),
    /// What a preheater of this power makes of it at the case's line speed; first layer of a round product only.
    Preheated(Preheat),
}

/// Thermal contact between a layer and the one inside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Contact {
    /// One temperature on both sides.
    Perfect,
    /// q'' = h_c (T_in - T_out), W/(m2 K).
    Conductance(f64),
}

/// How a ring of area A0 at its die temperature answers a change of density.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contraction {
    /// A/A0 = rho(T0)/rho(T): the conductor holds the length.
    Held,
    /// A/A0 = (rho(T0)/rho(T))^(2/3); flat: thickness^(1/3): contracts in every direction.
    Free,
}

impl Layer {
    /// A layer in perfect contact with the one inside it, its material as it is; a metal contracts in every direction, a plastic
    /// is held in length by what lies inside it.
    ///
    /// A plastic with nothing solid inside it contracts in every direction: say `contraction: Contraction::Free`.
    pub fn new(name: impl Into<String>, material: Material, size: Size, at_die: Celsius) -> Layer {
        let contraction = if material.kind == Kind::Metal { Contraction::Free } else { Contraction::Held };
        Layer {
            name: name.into(),
            material,
            size,
            temperature: DieTemperature::Fixed(at_die),
            contact: Contact::Perfect,
            contraction,
            poisson_ratio: 0.5,
            conductivity_factor: 1.0,
            heat_capacity_factor: 1.0,
            setting_shift: 0.0,
            melt_shrink_max: None,
            feed: Feed::default(),
        }
    }
}
