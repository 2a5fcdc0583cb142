//! The questions on a line whose speed changes: what `stop`, `ramp` and `reel` share.

mod card;
pub mod ramp;
pub mod reel;
pub mod stop;

use std::path::Path;

use quenchway::study::drive::answer::DriveError;
use quenchway::study::moves::MoveError;

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
    match error {
        MoveError::Drive(DriveError::March(error)) => Failure::March(path.to_path_buf(), error),
        MoveError::NoLimit | MoveError::Unsteady(_) => Failure::Question(path.to_path_buf(), error.to_string()),
        MoveError::Drive(error @ DriveError::NotRecovered(_)) => Failure::lacks(path, "reel_change", error, None),
        // What the case file or a flag lacks is wrong input.
        MoveError::Drive(_) | MoveError::Asked(_) => {
            Failure::Argument { what: format!("{}: {error}", path.display()), help: None }
        }
    }
}
