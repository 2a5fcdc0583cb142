//! Film coefficients: given ones, tables, and published surface laws, one row each.

/// The film coefficient of a section.
#[derive(Clone, Debug)]
pub enum Film {
    /// A published law.
    Law(&'static Law),
    /// A given coefficient, W/(m2 K).
    Given(f64),
    /// Linear between (surface temperature degC, W/(m2 K)) points, constant outside.
    OfSurface(Vec<[f64; 2]>),
    /// Linear between (distance from the section's entry m, W/(m2 K)) points, constant outside.
    OfDistance(Vec<[f64; 2]>),
}

/// What a film law is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilmState {
    /// Line speed, m/s.
    pub speed: f64,
    /// Outer diameter, m (flat: full thickness).
    pub diameter: f64,
    /// Distance from the section's entry, m.
    pub distance: f64,
    /// Surface temperature, degC.
    pub surface: f64,
    /// Temperature of the medium, degC.
    pub medium: f64,
}

/// A published surface law: everything about it in one row.
#[derive(Debug)]
pub struct Law {
    /// Name in case files and lists.
    pub name: &'static str,
    /// The medium that it holds in.
    pub medium: crate::case::Medium,
    /// One line on what it describes.
    pub describes: &'static str,
    /// Convective film coefficient, W/(m2 K).
    pub coefficient: fn(&FilmState) -> f64,
    /// Validity range in words.
    pub range: &'static str,
    /// Author, title, year, equation.
    pub source: &'static str,
}

impl Film {
    /// stand-in
    pub fn coefficient(&self, state: &FilmState) -> f64 {
        match self {
            Film::Law(law) => (law.coefficient)(state),
            Film::Given(h) => *h,
            Film::OfSurface(points) => crate::material::linear(points, state.surface),
            Film::OfDistance(points) => crate::material::linear(points, state.distance),
        }
    }
    /// stand-in
    pub fn slopes(&self, state: &FilmState) -> (f64, f64) {
        let slope = |points: &[[f64; 2]], x: f64| {
            let after = points.partition_point(|point| point[0] <= x);
            if after == 0 || after == points.len() {
                return 0.0;
            }
            (points[after][1] - points[after - 1][1]) / (points[after][0] - points[after - 1][0])
        };
        match self {
            Film::Law(_) | Film::Given(_) => (0.0, 0.0),
            Film::OfSurface(points) => (slope(points, state.surface), 0.0),
            Film::OfDistance(points) => (0.0, slope(points, state.distance)),
        }
    }
    /// stand-in
    pub fn kinks_in_distance(&self) -> Vec<f64> {
        match self {
            Film::OfDistance(points) => points.iter().map(|p| p[0]).collect(),
            _ => Vec::new(),
        }
    }
}
