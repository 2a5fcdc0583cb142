//! The engine for Python: cases, solutions and questions as Python objects, whose package `quenchway` is beside this crate.
//!
//! Python's own interrupt is answered while the engine works, and the interpreter's lock is not held meanwhile (`work`).
// Python's documentation stands in the stubs and in the docstrings of the package.
#![allow(missing_docs)]

mod batch;
mod case;
mod errors;
mod parts;
mod questions;
mod report;
mod solution;
mod svg;
mod table;
mod work;

#[pyo3::pymodule]
mod _engine {
    #[pymodule_export]
    use crate::batch::batch;
    #[pymodule_export]
    use crate::case::{Case, remake};
    #[pymodule_export]
    use crate::parts::{Limit, Section, Station};
    #[pymodule_export]
    use crate::questions::{Drive, converge, drive, march, needed_length, top_speed};
    #[pymodule_export]
    use crate::solution::Solution;

    #[pymodule_export]
    const VERSION: &str = env!("CARGO_PKG_VERSION");
    #[pymodule_export]
    const EXAMPLE: &str = quenchway::file::EXAMPLE;
}
