//! The `quenchway` program: parse, do, print, exit status.

use std::io::{self, ErrorKind, Write};
use std::process::ExitCode;

use clap::Parser;
use quenchway_cli::args::Args;
use quenchway_cli::commands::{self, Answer};
use quenchway_cli::report::columns;

fn main() -> ExitCode {
    let Answer { report, notes, status } = commands::answer(Args::parse().command, columns());
    complain(&notes);
    print(&report, status)
}

/// Prints to standard output; a reader that has left early is no error.
fn print(text: &str, status: u8) -> ExitCode {
    let mut out = anstream::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            complain(&format!("error: standard output: {error}\n"));
            ExitCode::from(1)
        }
        _ => ExitCode::from(status),
    }
}

/// Prints to standard error; when that is closed there is nobody to tell.
fn complain(text: &str) {
    let _ = write!(io::stderr().lock(), "{text}");
}
