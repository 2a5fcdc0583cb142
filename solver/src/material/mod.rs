//! Materials: conductivity, heat capacity and density against temperature.

pub mod air;
pub mod conductor;
pub mod fluid;
pub mod foam;
pub mod medium;
pub mod setting;
pub mod water;

use crate::units::Celsius;

/// Temperature at which a product counts as finished.
pub const FINISHED: Celsius = Celsius(23.0);

/// A material with its curves and where they are valid.
#[derive(Clone, Debug)]
pub struct Material {
    /// Key in the library or in the case file.
    pub name: String,
    /// Plastic, metal, or both as one round body.
    pub kind: Kind,
    /// Conductivity k(T), W/(m K).
    pub conductivity: Curve,
    /// Heat capacity c_p(T), J/(kg K); a peak is latent heat.
    pub heat_capacity: Curve,
    /// Density rho(T), kg/m3.
    pub density: Curve,
    /// Below it a plastic holds its shape.
    pub set_temperature: Option<Celsius>,
    /// Where the curves are meant to be used: lowest and highest temperature.
    pub range: [Celsius; 2],
    /// What it gives off or does when mistreated.
    pub hazards: Vec<Hazard>,
    /// Between which temperatures a plastic is usually extruded: lowest and highest.
    pub melt: Option<[Celsius; 2]>,
    /// How well its properties are known.
    pub uncertainty: Uncertainty,
}

/// A plastic without a set temperature is a melt above this (common practice, no source: nothing is extruded colder).
const COLDEST_MELT: Celsius = Celsius(100.0);

impl Material {
    /// A material without a set temperature, hazards or a usual melt temperature, as uncertain as its kind usually is; it is meant
    /// for the temperatures that its curves span, -50 to 300 degC where all are constants.
    pub fn new(
        name: impl Into<String>,
        kind: Kind,
        conductivity: Curve,
        heat_capacity: Curve,
        density: Curve,
    ) -> Material {
        let range = span_of([&conductivity, &heat_capacity, &density]).map(Celsius);
        Material {
            name: name.into(),
            kind,
            conductivity,
            heat_capacity,
            density,
            set_temperature: None,
            range,
            hazards: Vec::new(),
            melt: None,
            uncertainty: Uncertainty::usual(kind),
        }
    }

    /// Whether it is a melt at a temperature: a plastic above its set temperature, or above 100 degC where it has none.
    pub fn is_melt(&self, at: Celsius) -> bool {
        self.kind == Kind::Plastic && at > self.set_temperature.unwrap_or(COLDEST_MELT)
    }
}

/// Range of a material whose properties are all constant, degC.
const RANGE_OF_CONSTANTS: [f64; 2] = [-50.0, 300.0];

/// Lowest and highest temperature of the curves that are not constant.
fn span_of(curves: [&Curve; 3]) -> [f64; 2] {
    let temperatures: Vec<f64> = curves
        .iter()
        .filter(|curve| curve.points().len() > 1)
        .flat_map(|curve| curve.points().iter().map(|point| point[0]))
        .collect();
    if temperatures.is_empty() {
        return RANGE_OF_CONSTANTS;
    }
    let lowest = temperatures.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = temperatures.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    [lowest, highest]
}

/// One standard value of each property's uncertainty, relative: 0.1 is a tenth of the value, the same at every temperature.
///
/// ```
/// use quenchway::material::{Kind, Uncertainty};
/// assert_eq!(Uncertainty::usual(Kind::Plastic).conductivity, 0.15);
/// assert_eq!(Uncertainty::usual(Kind::Metal).density, 0.01);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// Of the conductivity.
    pub conductivity: f64,
    /// Of the heat capacity.
    pub heat_capacity: f64,
    /// Of the density.
    pub density: f64,
}

impl Uncertainty {
    /// What holds where a material does not say: common practice, no source.
    pub const fn usual(kind: Kind) -> Uncertainty {
        match kind {
            Kind::Plastic | Kind::LaidUp => Uncertainty { conductivity: 0.15, heat_capacity: 0.10, density: 0.03 },
            Kind::Metal => Uncertainty { conductivity: 0.03, heat_capacity: 0.02, density: 0.01 },
        }
    }
}

/// Plastic or metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Extruded: its mean and hottest temperature are reported.
    Plastic,
    /// A conductor, wire or screen.
    Metal,
    /// Insulated conductors laid up: not extruded here, and with a plastic in them that must not grow too hot.
    LaidUp,
}

/// What a material gives off or does when mistreated: each adds a caution to the results.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hazard {
    /// PVC: hydrogen chloride when overheated.
    HydrogenChloride,
    /// Fluoropolymer: hydrogen fluoride, polymer-fume fever.
    Fluoride,
    /// Hydrated filler: steam above about 180 degC.
    Hydrate,
    /// Peroxide-crosslinkable: scorch and by-products.
    Peroxide,
}

/// A property against temperature: linear between points, constant outside.
///
/// ```
/// use quenchway::material::Curve;
/// use quenchway::units::Celsius;
/// let k = Curve::new(vec![[0.0, 0.165], [80.0, 0.175]]).unwrap();
/// assert!((k.at(Celsius(40.0)) - 0.17).abs() < 1e-15);
/// assert_eq!(k.at(Celsius(-5.0)), 0.165);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    points: Vec<[f64; 2]>,
}

/// Why a list of points is not a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CurveError {
    /// No points at all.
    Empty,
    /// The temperature of this point (counted from 0) is not above the one before it.
    OutOfOrder(usize),
    /// The value of this point is not a positive finite number, or its temperature not finite.
    NotPositive(usize),
}

impl Curve {
    /// A curve through (degC, value) points: temperatures strictly rising, values positive.
    ///
    /// # Errors
    ///
    /// No points, or the first that is out of order or not positive.
    pub fn new(points: Vec<[f64; 2]>) -> Result<Curve, CurveError> {
        if points.is_empty() {
            return Err(CurveError::Empty);
        }
        for (i, point) in points.iter().enumerate() {
            if !(point[1] > 0.0 && point[1].is_finite() && point[0].is_finite()) {
                return Err(CurveError::NotPositive(i));
            }
            if i > 0 && point[0] <= points[i - 1][0] {
                return Err(CurveError::OutOfOrder(i));
            }
        }
        Ok(Curve { points })
    }

    /// The same value at every temperature; the value must be positive.
    ///
    /// # Errors
    ///
    /// A value that is not positive and finite.
    pub fn constant(value: f64) -> Result<Curve, CurveError> {
        Curve::new(vec![[0.0, value]])
    }

    /// The curve with every value times a factor, which must be positive.
    ///
    /// # Errors
    ///
    /// A factor that is not positive and finite.
    pub fn scaled(&self, factor: f64) -> Result<Curve, CurveError> {
        Curve::new(self.points.iter().map(|[temperature, value]| [*temperature, factor * value]).collect())
    }

    /// The value at a temperature.
    pub fn at(&self, temperature: Celsius) -> f64 {
        linear(&self.points, temperature.0)
    }

    /// The integral over temperature, exact: of a heat capacity the heat between two temperatures, J/kg.
    ///
    /// ```
    /// use quenchway::material::Curve;
    /// use quenchway::units::Celsius;
    /// let c = Curve::new(vec![[0.0, 1.0], [10.0, 3.0]]).unwrap();
    /// assert_eq!(c.integral(Celsius(-5.0), Celsius(20.0)), 5.0 + 20.0 + 30.0);
    /// assert_eq!(c.integral(Celsius(10.0), Celsius(0.0)), -20.0);
    /// ```
    pub fn integral(&self, from: Celsius, to: Celsius) -> f64 {
        let (low, high) = (from.0.min(to.0), from.0.max(to.0));
        let mut sum = 0.0;
        let mut start = low;
        let inside = self.points.iter().map(|point| point[0]).filter(|t| *t > low && *t < high);
        for end in inside.chain([high]) {
            // The trapezium is exact on a straight piece.
            sum += 0.5 * (end - start) * (self.at(Celsius(start)) + self.at(Celsius(end)));
            start = end;
        }
        if to.0 < from.0 { -sum } else { sum }
    }

    /// The (degC, value) points.
    pub fn points(&self) -> &[[f64; 2]] {
        &self.points
    }
}

/// Linear interpolation between (x, y) points with rising x, constant outside; at least one point.
pub(crate) fn linear(points: &[[f64; 2]], x: f64) -> f64 {
    let after = points.partition_point(|point| point[0] <= x);
    if after == 0 {
        return points[0][1];
    }
    if after == points.len() {
        return points[after - 1][1];
    }
    let ([x0, y0], [x1, y1]) = (points[after - 1], points[after]);
    y0 + (y1 - y0) * (x - x0) / (x1 - x0)
}
