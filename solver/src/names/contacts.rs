//! Contacts between layers that have a name.

/// A contact between two layers that has a name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NamedContact {
    /// The word of the case file.
    pub name: &'static str,
    /// Typical conductance, W/(m2 K).
    pub conductance: f64,
    /// From low to high, W/(m2 K).
    pub band: [f64; 2],
    /// What the joint looks like.
    pub describes: &'static str,
}

/// Contacts by name. Common practice, no source: air gaps of about 0.01, 0.03 and 0.06 mm.
pub const CONTACTS: [NamedContact; 3] = [
    NamedContact {
        name: "pressed",
        conductance: 2000.0,
        band: [1000.0, 5000.0],
        describes: "extruded under pressure onto the layer inside it",
    },
    NamedContact {
        name: "talc",
        conductance: 1000.0,
        band: [500.0, 2000.0],
        describes: "separated from the layer inside it by talc or a thin tape",
    },
    NamedContact {
        name: "tubed",
        conductance: 500.0,
        band: [200.0, 1000.0],
        describes: "drawn down as a tube onto the layer inside it",
    },
];
