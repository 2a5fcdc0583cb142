//! How far a sweep has come, on the terminal: a bar, or a line now and then where nobody watches.

use std::io::{self, IsTerminal, Write};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressState, ProgressStyle};

/// Time between two lines of a log.
const LOGGED: Duration = Duration::from_secs(30);

/// Samples done so far, counted by the workers.
#[derive(Debug, Default)]
pub struct Progress {
    /// Solved or failed in this run.
    pub done: AtomicU64,
    /// Failed in this run.
    pub failed: AtomicU64,
    /// Solved side by side, as far as workers are done.
    pub side_by_side: AtomicU64,
}

/// What shows it.
#[derive(Debug)]
pub(super) struct Display {
    bar: Option<ProgressBar>,
    started: Instant,
    logged: Instant,
    /// Samples that were there before.
    before: u64,
    total: u64,
    quiet: bool,
}

impl Display {
    /// A bar where standard error is a terminal, lines otherwise, nothing if quiet.
    pub fn new(total: u64, before: u64, quiet: bool) -> Display {
        let bar = (!quiet && io::stderr().is_terminal()).then(|| {
            let bar = ProgressBar::new(total).with_position(before);
            let rate = move |state: &ProgressState, out: &mut dyn std::fmt::Write| {
                let seconds = state.elapsed().as_secs_f64().max(1e-3);
                let _ = write!(out, "{:.0}/s", (state.pos() - before.min(state.pos())) as f64 / seconds);
            };
            let style = ProgressStyle::with_template("{bar:30} {human_pos} of {human_len}  {rate}  {eta} left  {msg}");
            if let Ok(style) = style {
                bar.set_style(style.with_key("rate", rate));
            }
            bar
        });
        let now = Instant::now();
        Display { bar, started: now, logged: now, before, total, quiet }
    }

    /// Shows where the workers are.
    pub fn show(&mut self, progress: &Progress) {
        let (done, failed) = (progress.done.load(Ordering::Relaxed), progress.failed.load(Ordering::Relaxed));
        if let Some(bar) = &self.bar {
            bar.set_position(self.before + done);
            bar.set_message(format!("{failed} failed"));
        } else if !self.quiet && self.logged.elapsed() > LOGGED {
            self.logged = Instant::now();
            let rate = done as f64 / self.started.elapsed().as_secs_f64().max(1e-3);
            let left = self.total.saturating_sub(self.before + done) as f64 / rate.max(1e-9);
            let line = format!(
                "{} of {} samples, {rate:.0} a second, {} left, {failed} failed\n",
                self.before + done,
                self.total,
                duration(left)
            );
            let _ = io::stderr().write_all(line.as_bytes());
        }
    }

    /// Takes the bar away.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

/// A time in words, to two digits or so.
pub(crate) fn duration(seconds: f64) -> String {
    match seconds {
        s if !s.is_finite() => "unknown time".to_string(),
        s if s < 10.0 => format!("{s:.1} s"),
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7200.0 => format!("{:.0} min", s / 60.0),
        s if s < 172_800.0 => format!("{:.1} h", s / 3600.0),
        s => format!("{:.1} days", s / 86_400.0),
    }
}
