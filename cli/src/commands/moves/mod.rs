//! The questions on a line whose speed changes: what `stop`, `ramp` and `reel` share.

mod card;
pub mod ramp;
pub mod reel;
pub mod stop;

use std::path::Path;

use quenchway::study::moves::MoveError;
use quenchway::units::words;

use super::Failure;
use super::progress::Progress;
use super::study::on_threads;
use crate::args::MoveArgs;

/// Asks a question on the threads that are wanted, with its progress shown.
fn asked<T: Send>(
    args: &MoveArgs,
    question: impl FnOnce(&(dyn Fn(usize) + Sync)) -> Result<T, MoveError> + Send,
) -> Result<T, Failure> {
    let progress = Progress::new(args.study.quiet || args.study.json);
    let told = |drives: usize| progress.says(|| format!("{drives} programmes driven"));
    let found = on_threads(args.threads, || question(&told))?;
    progress.finish();
    found.map_err(|error| failure(&args.study.case, error))
}

fn failure(path: &Path, error: MoveError) -> Failure {
    match &error {
        MoveError::NoLimit | MoveError::Unsteady(_) => Failure::Question(path.to_path_buf(), error.to_string()),
        MoveError::NotSlower => Failure::flag("--slow-to", &error),
        MoveError::SameSpeeds => Failure::flag("--from, --to", &error),
        MoveError::NoAccumulator { .. } => Failure::flag("--accumulator", &error),
        MoveError::NoStandstill => Failure::lacks(path, "reel_change", &error, None),
        MoveError::NoRoom(name) => {
            Failure::lacks(path, &format!("accumulator.{}.content", words::key(name)), &error, None)
        }
        MoveError::Drive(error) => super::drive::failure(path, error.clone()),
    }
}
