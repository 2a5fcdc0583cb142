//! Checks of the Quenchway engine: each one a question, a source, a bound with its reason, and a result.

pub mod honesty;
pub mod random;
