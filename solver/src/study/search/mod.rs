//! What is crossed where, confirmed; what helps: under every question that searches.

pub mod ceilings;
pub mod confirm;
pub mod levers;
pub(crate) mod scan;
pub(in crate::study) mod told;
pub(crate) mod values;
