//! Many cases at once: eight march side by side, each with its own step, section and acceptance.
//!
//! The scheme, the mesh and the rule are those of `march_by_rule`; only the order of the arithmetic differs, so that answers
//! agree to rounding. A case gives the same bits in any lane, beside any neighbours, in any batch, on any processor: lanes
//! never mix, and every operation is one that IEEE 754 fixes, in one order. `study::batch` is the way in.

mod bundle;
mod functions;
mod kernel;
mod layers;
mod prepare;
mod report;
mod rows;
mod runner;
mod trip;

pub use bundle::Structure;
pub use prepare::{Prepared, fits, prepare};
pub use report::Wanted;
pub use runner::{Outcome, Runner};

pub use crate::vector::Path;

use crate::vector::{self, Plain, Row};
use bundle::Bundle;

/// The kernel's calls, compiled for each instruction set.
macro_rules! compiled {
    ($name:ident($($argument:ident: $type:ty),*)) => {
        fn $name(path: Path, bundle: &mut Bundle $(, $argument: $type)*) {
            #[cfg(target_arch = "x86_64")]
            {
                #[target_feature(enable = "avx512f,avx2,fma")]
                fn avx512(bundle: &mut Bundle $(, $argument: $type)*) {
                    kernel::$name::<vector::Avx512>(bundle $(, $argument)*)
                }
                #[target_feature(enable = "avx2,fma")]
                fn avx2(bundle: &mut Bundle $(, $argument: $type)*) {
                    kernel::$name::<vector::Avx2>(bundle $(, $argument)*)
                }
                // SAFETY: a runner takes a path only where `runs_here` found its instructions.
                match path {
                    Path::Avx512 => return unsafe { avx512(bundle $(, $argument)*) },
                    Path::Avx2 => return unsafe { avx2(bundle $(, $argument)*) },
                    Path::Scalar | Path::Single => {}
                }
            }
            let _ = path;
            kernel::$name::<Plain>(bundle $(, $argument)*)
        }
    };
}

compiled!(fields());
compiled!(surround());
compiled!(attempt());
compiled!(accept(taken: &Row));
