//! A page to try numbers on: one HTML file that carries a case and the engine, and reads nothing else.
//!
//! The engine is this crate compiled for `wasm32-unknown-unknown`, with no imports: text goes in, JSON comes out, through the
//! four functions of `door`. The page's script moves text only: every number, unit, word and picture is made here, where all of
//! it is escaped. Everything but `door` is ordinary Rust.

mod controls;
#[cfg(target_arch = "wasm32")]
mod door;
mod drive;
pub mod edit;
mod frame;
mod opened;
mod pictures;
mod saved;
pub mod sheet;
mod wish;

pub use opened::Opened;
pub use wish::{Ask, Wish};
