//! One case down the line at one accuracy, alone or side by side with others: sections, landings, events, books.

mod alone;
mod books;
pub mod clock;
mod column;
mod events;
mod front;
mod hot_side;
pub(crate) mod itinerary;
pub mod observe;
mod passage;
mod prepare;
pub mod programme;
mod run;
mod runner;
pub(crate) mod set;
mod settings;
pub(crate) mod skin;
pub(crate) mod step;
pub(crate) mod trip;
pub(crate) mod watch;
mod water_root;
pub(crate) mod water_search;
pub mod waters;

#[cfg(test)]
mod tests;

pub use hot_side::HotSide;
pub use itinerary::times;
pub(crate) use itinerary::{Itinerary, SAME, Stop};
pub use passage::{Passage, Place, WaterRun};
pub(crate) use prepare::Prepared;
pub use prepare::is_searched;
pub use run::{Run, run};
pub(crate) use runner::{LANES, Outcome, Runner, alone};
pub use settings::Settings;
pub use skin::{ASIDE, SKIN, Skin};
