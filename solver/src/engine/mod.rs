//! The engine: one time step of a case, or of eight side by side.
//!
//! Conduction across a slice of the product in enthalpies at nodes of fixed mass (`slice`, the book's chapter on numerics),
//! and Rodas4P2 in time, a stiffly accurate Rosenbrock-Wanner method of order 4 with one factorisation a step
//! (Steinebach, Improvement of Rosenbrock-Wanner method RODASP, in: Progress in Differential-Algebraic Equations II, 2020).
//!
//! Every number of a node is a row with one place for each lane: `One` lane for a case that marches alone, `Eight` for cases
//! side by side. The same lines compute both, on every processor: a case gives the same bits alone, in any lane, beside any
//! neighbours. The engine knows one step; the way down the line is `line`'s.

mod bundle;
mod coefficients;
mod field;
mod kernel;
mod rows;
mod stepper;
#[cfg(test)]
mod tests;
mod view;

pub use crate::slice::{Core, Slice};
pub use bundle::Structure;
pub use coefficients::{A, ABSCISSAE, C, D, GAMMA, reach};
pub use field::Field;
pub use stepper::Stepper;

#[cfg(test)]
pub(crate) use crate::maths::vector::Eight;
pub use crate::maths::vector::Path;
pub(crate) use crate::maths::vector::{Abreast, One, Row};

pub(crate) use bundle::Bundle;
pub(crate) use view::View;

use crate::maths::vector::Set;

/// A call of the kernel, compiled for each instruction set.
macro_rules! compiled {
    ($(#[$doc:meta])* $name:ident($($argument:ident: $type:ty),*)) => {
        $(#[$doc])*
        pub(crate) fn $name<R: Row>(bundle: &mut Bundle<R> $(, $argument: $type)*) {
            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = "avx512f,avx2")]
            fn avx512<R: Row>(bundle: &mut Bundle<R> $(, $argument: $type)*) {
                kernel::$name::<R::Avx512>(bundle $(, $argument)*)
            }
            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = "avx2")]
            fn avx2<R: Row>(bundle: &mut Bundle<R> $(, $argument: $type)*) {
                kernel::$name::<R::Avx2>(bundle $(, $argument)*)
            }
            // SAFETY: `Instructions` are only those that the processor was asked for.
            match bundle.lanes.instructions.set() {
                // One case alone takes AVX2 at most: for it the first is not compiled.
                #[cfg(target_arch = "x86_64")]
                Set::Avx512 if R::LANES > 1 => unsafe { avx512(bundle $(, $argument)*) },
                #[cfg(target_arch = "x86_64")]
                Set::Avx512 | Set::Avx2 => unsafe { avx2(bundle $(, $argument)*) },
                Set::Plain => kernel::$name::<R::Plain>(bundle $(, $argument)*),
            }
        }
    };
}

compiled!(
    /// Brings every node to y_n: segments, temperatures, properties, conductances, rates by conduction.
    fields()
);
compiled!(
    /// After `fields`, once: adds the surface to the rates, and what the step needs of it; the drift.
    surround()
);
compiled!(
    /// Tries the step of each lane; a lane may try again with another step at once.
    attempt()
);
compiled!(
    /// Takes the attempt of the lanes where `taken` is one as their new state.
    accept(taken: &R)
);
