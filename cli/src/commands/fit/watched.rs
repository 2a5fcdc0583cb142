//! The fit with its progress on standard error: what was merged, and how far it has come where it takes long.

use std::io::{IsTerminal, Write, stderr};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::Duration;

use quenchway::case::CaseFile;
use quenchway::study::fit::{Fit, FitError, Settings, Unknown, fit_watched};

use crate::trial::Data;

/// Between two lines of progress.
const EVERY: Duration = Duration::from_secs(2);

/// Fits the unknowns to the data; says now and then how many cases were solved, unless quiet.
pub(super) fn fit(
    case: &CaseFile,
    unknowns: &[Unknown],
    data: &Data,
    settings: Settings,
    quiet: bool,
) -> Result<Fit, FitError> {
    let solves = AtomicUsize::new(0);
    if quiet {
        return fit_watched(case, unknowns, &data.trials, settings, &solves);
    }
    let say = |words: &str| {
        let _ = writeln!(stderr().lock(), "{words}");
    };
    if let Some(merged) = data.merged {
        say(&format!("read {} rows, {} steady states; fitting", merged.rows, data.trials.len()));
    }
    let (done, wait) = mpsc::channel::<()>();
    std::thread::scope(|scope| {
        let solves = &solves;
        scope.spawn(move || {
            let (terminal, mut said) = (stderr().is_terminal(), false);
            while wait.recv_timeout(EVERY) == Err(mpsc::RecvTimeoutError::Timeout) {
                let solved = solves.load(Ordering::Relaxed);
                let (begin, end) = if terminal { ("\r", "") } else { ("", "\n") };
                let _ = write!(stderr().lock(), "{begin}fitting: {solved} cases solved{end}");
                said = true;
            }
            if terminal && said {
                let _ = writeln!(stderr().lock());
            }
        });
        let fit = fit_watched(case, unknowns, &data.trials, settings, solves);
        drop(done);
        fit
    })
}
