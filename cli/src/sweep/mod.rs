//! A sweep on disk: a study file becomes a plan, workers write blocks, the join makes them one results file.

mod block;
mod export;
mod folder;
mod join;
mod part;
mod plan;
mod progress;
mod ready;
mod run;
mod signal;

pub use block::Block;
pub use export::{Overview, csv, histograms};
pub use folder::{Folder, FolderError, Held};
pub use join::{JoinError, Joined, join};
pub use part::Part;
pub use plan::{Identity, Plan, load};
pub use progress::Progress;
pub(crate) use progress::duration;
pub use run::{RunError, Tally, run};
pub use signal::Stop;
