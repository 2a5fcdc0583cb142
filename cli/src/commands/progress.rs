//! How far a long computation has come, on a terminal.

use std::io::IsTerminal;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

/// A line that says how far it has come.
pub struct Progress {
    bar: Option<ProgressBar>,
    started: Instant,
}

impl Progress {
    /// What takes less needs no progress.
    const SHORT: Duration = Duration::from_secs(1);

    /// Nothing is shown where the user wants none, or where standard error is no terminal.
    pub fn new(quiet: bool) -> Progress {
        let bar = (!quiet && std::io::stderr().is_terminal()).then(|| {
            let bar = ProgressBar::hidden();
            if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}") {
                bar.set_style(style);
            }
            bar
        });
        Progress { bar, started: Instant::now() }
    }

    /// Shows what is said by now.
    pub fn says(&self, words: impl FnOnce() -> String) {
        let Some(bar) = self.bar.as_ref().filter(|_| self.started.elapsed() > Progress::SHORT) else { return };
        bar.set_draw_target(indicatif::ProgressDrawTarget::stderr());
        bar.set_message(words());
        bar.tick();
    }

    /// Takes the line away.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
