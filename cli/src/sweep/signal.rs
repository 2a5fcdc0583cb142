//! Ctrl-C and SIGTERM: the sweep stops between two samples, and says how to go on.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// The signal that has come, if any.
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<AtomicUsize>);

impl Stop {
    /// Listens to Ctrl-C and SIGTERM.
    ///
    /// Errors: the system lets nobody listen.
    pub fn listen() -> io::Result<Stop> {
        let stop = Stop::default();
        for signal in [signal_hook::consts::SIGINT, signal_hook::consts::SIGTERM] {
            signal_hook::flag::register_usize(signal, Arc::clone(&stop.0), signal as usize)?;
        }
        Ok(stop)
    }

    /// The number of the signal that has come.
    pub fn signal(&self) -> Option<u8> {
        match self.0.load(Ordering::Relaxed) {
            0 => None,
            signal => u8::try_from(signal).ok(),
        }
    }

    /// Exit status of a program that a signal ended.
    pub fn status(&self) -> Option<u8> {
        self.signal().map(|signal| 128 + signal)
    }
}
