//! (being written)

use crate::material::Material;

/// stand-in
pub fn find(_name: &str) -> Option<Material> {
    None
}
/// stand-in
pub fn names() -> Vec<&'static str> {
    Vec::new()
}
