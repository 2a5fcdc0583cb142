//! The `quenchway` program: parse, run, print, exit status.

use std::io::{self, ErrorKind, Write};
use std::process::ExitCode;

use clap::Parser;
use quenchway_cli::args::{Args, Command};
use quenchway_cli::commands::{check, converge, films, materials, run, schema, verify};
use quenchway_cli::diagnostic::WRONG_INPUT;
use quenchway_cli::report::{columns, width};

fn main() -> ExitCode {
    match Args::parse().command {
        Command::Run(args) => match run::run(&args, columns()) {
            Ok(outcome) => {
                complain(&outcome.notes);
                print(&outcome.report, u8::from(args.enforce && !outcome.limits_met))
            }
            Err(failure) => fail(&failure.to_string(), failure.status()),
        },
        Command::Check { case, units } => match check::check(&case, units.into()) {
            Ok(text) => print(&text, 0),
            Err(failure) => fail(&failure.report(), WRONG_INPUT),
        },
        Command::Converge { case } => match converge::converge(&case, width(columns())) {
            Ok(text) => print(&text, 0),
            Err(failure) => fail(&failure.to_string(), failure.status()),
        },
        Command::Verify { all } => {
            let verdict = verify::verify(all, width(columns()));
            print(&verdict.report, u8::from(!verdict.holds))
        }
        Command::Films(args) => match films::films(&args, width(columns())) {
            Ok(text) => print(&text, 0),
            Err((message, status)) => fail(&message, status),
        },
        Command::Schema => print(&schema::schema(), 0),
        Command::Materials(args) => match materials::answer(&args, width(columns())) {
            Ok(text) => print(&text, 0),
            Err(message) => fail(&message, WRONG_INPUT),
        },
    }
}

/// Prints to standard output; a reader that has left early is no error.
fn print(text: &str, status: u8) -> ExitCode {
    let mut out = anstream::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => fail(&format!("error: standard output: {error}"), 1),
        _ => ExitCode::from(status),
    }
}

fn fail(message: &str, status: u8) -> ExitCode {
    complain(&format!("{}\n", message.trim_end()));
    ExitCode::from(status)
}

/// Prints to standard error; when that is closed there is nobody to tell.
fn complain(text: &str) {
    let _ = write!(io::stderr().lock(), "{text}");
}
