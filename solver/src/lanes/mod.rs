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
pub(crate) mod vector;

pub use bundle::Structure;
pub use prepare::{Prepared, fits, prepare};
pub use report::Wanted;
pub use runner::{Outcome, Runner};

use bundle::Bundle;
use vector::{Plain, Row};

/// How cases are computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Path {
    /// In lanes, with AVX-512.
    Avx512,
    /// In lanes, with AVX2 and FMA.
    Avx2,
    /// In lanes, with plain instructions; slow where fused multiply-adds are not in hardware.
    Scalar,
    /// One at a time, by `march_by_rule`.
    Single,
}

impl Path {
    /// The word for reports.
    pub fn name(self) -> &'static str {
        match self {
            Path::Avx512 => "lanes, AVX-512",
            Path::Avx2 => "lanes, AVX2",
            Path::Scalar => "lanes, scalar",
            Path::Single => "single",
        }
    }

    /// Whether this processor has what the path needs.
    pub fn runs_here(self) -> bool {
        match self {
            #[cfg(target_arch = "x86_64")]
            Path::Avx512 => is_x86_feature_detected!("avx512f") && Path::Avx2.runs_here(),
            #[cfg(target_arch = "x86_64")]
            Path::Avx2 => is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma"),
            #[cfg(not(target_arch = "x86_64"))]
            Path::Avx512 | Path::Avx2 => false,
            Path::Scalar | Path::Single => true,
        }
    }

    /// The fastest of the lanes that this processor has.
    pub fn best() -> Path {
        [Path::Avx512, Path::Avx2].into_iter().find(|path| path.runs_here()).unwrap_or(Path::Scalar)
    }
}

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
