//! What flows around the product.

/// What surrounds the product in a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Medium {
    /// Still or slow air, with radiation.
    Air,
    /// Immersed in water.
    Water,
    /// Water jets on all sides, in air.
    Spray,
}

impl Medium {
    /// All of them.
    pub const ALL: [Medium; 3] = [Medium::Air, Medium::Water, Medium::Spray];

    /// The word that the case file, JSON and reports use.
    pub fn name(self) -> &'static str {
        match self {
            Medium::Air => "air",
            Medium::Water => "water",
            Medium::Spray => "spray",
        }
    }

    /// Whether water wets the product: no radiation, boiling is watched, the dry span begins behind it.
    pub fn is_water(self) -> bool {
        self != Medium::Air
    }
}
