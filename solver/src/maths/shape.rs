//! Round or flat: what lies around a product, between two radii, outside of one.

/// The product's shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Concentric layers about an axis.
    Round,
    /// Layers from the mid-plane outward, cooled on both faces.
    Flat,
}

impl Shape {
    /// What lies around the product, per radian or per face: 2 pi for a round product, two faces for a flat one.
    pub fn around(self) -> f64 {
        match self {
            Shape::Round => std::f64::consts::TAU,
            Shape::Flat => 2.0,
        }
    }

    /// Area between two radii: r_out^2 - r_in^2, without pi; flat: the thickness of one side.
    pub fn area_between(self, inner: f64, outer: f64) -> f64 {
        match self {
            Shape::Round => (outer - inner) * (outer + inner),
            Shape::Flat => outer - inner,
        }
    }

    /// The outer radius of this area about an inner one: what [`Shape::area_between`] undoes.
    pub fn outer_radius(self, inner: f64, area: f64) -> f64 {
        match self {
            Shape::Round => (inner * inner + area).sqrt(),
            Shape::Flat => inner + area,
        }
    }
}
