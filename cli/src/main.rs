//! The `quenchway` program: parse, do, print, exit status.

use std::io::{self, ErrorKind, Write};
use std::process::ExitCode;

use clap::Parser;
use quenchway_cli::args::Args;
use quenchway_cli::commands::{self, Answer, Wrong};
use quenchway_cli::report::columns;
use quenchway_words::clean;

fn main() -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) if error.use_stderr() => return unusable(&error),
        Err(help) => help.exit(),
    };
    let Answer { report, notes, status } = commands::answer(args.command, columns());
    complain(&notes);
    print(&report, status)
}

/// Says what is wrong with the command line; on standard output too where JSON is expected there.
fn unusable(error: &clap::Error) -> ExitCode {
    let status = u8::try_from(error.exit_code()).unwrap_or(1);
    let text = error.render();
    complain(&text.ansi().to_string());
    let json = std::env::args_os().take_while(|arg| arg != "--").any(|arg| arg == "--json");
    let report = if json { Wrong::usage(&text.to_string()).json(status) } else { String::new() };
    print(&clean::json(&report), status)
}

/// Prints to standard output; a reader that has left early is no error.
fn print(text: &str, status: u8) -> ExitCode {
    let mut out = anstream::stdout().lock();
    match out.write_all(clean::screen(text).as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            complain(&format!("error: standard output: {error}\n"));
            ExitCode::from(1)
        }
        _ => ExitCode::from(status),
    }
}

/// Prints to standard error; when that is closed there is nobody to tell.
fn complain(text: &str) {
    let _ = write!(anstream::AutoStream::auto(io::stderr().lock()), "{}", clean::screen(text));
}
