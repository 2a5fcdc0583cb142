//! (being written)
/// stand-in
pub fn cautions(_case: &crate::case::Case) -> Vec<String> {
    Vec::new()
}
