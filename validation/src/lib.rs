//! Checks of the Quenchway engine: each one a question, a source, a bound with its reason, and a result.

pub mod around;
pub mod benchmarks;
pub mod body;
pub mod build;
pub mod composite;
pub mod conductors;
pub mod count;
pub mod figures;
pub mod freezing;
pub mod hard;
pub mod honesty;
pub mod lumped;
pub mod media;
pub mod moving_film;
pub mod mutants;
pub mod page;
pub mod picture;
pub mod random;
pub mod report;
pub mod shrink;
pub mod time;
pub mod transient;
pub mod water;

use rayon::prelude::*;

use page::Page;

/// Every check of the engine, in the order of the index; a new one is one line.
pub fn pages() -> Vec<Page> {
    let all: [fn() -> Page; 23] = [
        body::wall_and_cylinder,
        body::half_space,
        body::contact_on_entry,
        body::kirchhoff,
        composite::eigenfunctions,
        freezing::page,
        lumped::page,
        water::page,
        shrink::page,
        composite::nonlinear,
        transient::page,
        benchmarks::page,
        time::page,
        around::circumference,
        around::limits,
        media::films,
        media::moving,
        moving_film::turbulent,
        moving_film::products,
        media::gauges,
        conductors::classes,
        conductors::mixtures,
        media::water_and_air,
    ];
    all.par_iter().map(|page| page()).collect()
}

/// The pages, computed once for all tests of this package.
#[cfg(test)]
fn pages_once() -> &'static [Page] {
    static PAGES: std::sync::OnceLock<Vec<Page>> = std::sync::OnceLock::new();
    PAGES.get_or_init(pages)
}
