//! A coolant's properties at one temperature, read from a table.

use crate::maths::spline::{self, Knots, Place};

/// Properties of a fluid at one temperature and 0.101325 MPa, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fluid {
    /// Density rho, kg/m3.
    pub density: f64,
    /// Heat capacity at constant pressure c_p, J/(kg K).
    pub heat_capacity: f64,
    /// Dynamic viscosity mu, Pa s.
    pub viscosity: f64,
    /// Thermal conductivity k, W/(m K).
    pub conductivity: f64,
    /// Prandtl number, mu c_p / k.
    pub prandtl: f64,
    /// Volume expansion beta = -(1/rho) drho/dT, 1/K; negative in water below 4 degC.
    pub expansion: f64,
}

impl Fluid {
    /// Kinematic viscosity nu = mu / rho, m2/s.
    pub fn kinematic_viscosity(&self) -> f64 {
        self.viscosity / self.density
    }

    /// Thermal diffusivity alpha = k / (rho c_p), m2/s.
    pub fn diffusivity(&self) -> f64 {
        self.conductivity / (self.density * self.heat_capacity)
    }
}

/// Density, heat capacity, viscosity, conductivity and expansion against temperature, as splines.
pub(crate) struct FluidTable {
    knots: Knots,
    /// The cubics between the knots.
    cubics: Vec<[[f64; 5]; 4]>,
}

impl FluidTable {
    /// Rows of (rho, c_p, mu, k, beta) in SI, `step` kelvin apart from `start` degC on.
    pub fn new(start: f64, step: f64, rows: &[[f64; 5]]) -> FluidTable {
        let values: [Vec<f64>; 5] = std::array::from_fn(|column| rows.iter().map(|row| row[column]).collect());
        let slopes = values.each_ref().map(|column| spline::slopes(column));
        let mut cubics = vec![[[0.0; 5]; 4]; rows.len() - 1];
        for (left, cubics) in cubics.iter_mut().enumerate() {
            for (column, (values, slopes)) in values.iter().zip(&slopes).enumerate() {
                let cubic = spline::cubic([values[left], slopes[left], values[left + 1], slopes[left + 1]]);
                cubics.iter_mut().zip(cubic).for_each(|(row, coefficient)| row[column] = coefficient);
            }
        }
        FluidTable { knots: Knots { start, step, count: rows.len() }, cubics }
    }

    /// All properties at a temperature, degC; constant outside the table.
    pub fn at(&self, celsius: f64) -> Fluid {
        let [density, heat_capacity, viscosity, conductivity, expansion] = self.rows_at(celsius);
        let prandtl = viscosity * heat_capacity / conductivity;
        Fluid { density, heat_capacity, viscosity, conductivity, prandtl, expansion }
    }

    /// As `at`: density, heat capacity, viscosity, conductivity, expansion.
    #[inline(always)]
    pub fn rows_at(&self, celsius: f64) -> [f64; 5] {
        let Place { left, share } = self.knots.place(celsius);
        spline::at(&self.cubics[left], share)
    }
}
