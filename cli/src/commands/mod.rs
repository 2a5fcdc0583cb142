//! One file per command.

pub mod check;
pub mod converge;
mod design;
pub mod drive;
mod failure;
pub mod films;
pub mod fit;
pub mod gauges;
pub mod join;
pub mod length;
pub mod listing;
pub mod map;
pub mod materials;
pub mod moves;
pub mod outputs;
mod progress;
pub mod rank;
pub mod run;
pub mod same;
pub mod schema;
pub mod speed;
pub mod spread;
pub mod stages;
pub mod study;
pub mod sweep;
pub mod try_out;
pub mod verify;
pub mod water;
mod wrong;

use quenchway_words::clean;

pub use failure::Failure;
pub use wrong::Wrong;

use crate::args::Command;
use crate::report::width;

/// What a command says, and its exit status.
#[derive(Debug, Default)]
pub struct Answer {
    /// For standard output.
    pub report: String,
    /// For standard error.
    pub notes: String,
    /// Exit status.
    pub status: u8,
}

impl Answer {
    fn report(report: String) -> Answer {
        Answer { report, ..Answer::default() }
    }

    fn failed(failure: &Failure, status: u8) -> Answer {
        Answer { notes: format!("{}\n", failure.shown()), status, ..Answer::default() }
    }
}

/// Does what a command says; `columns` is the terminal's width, where there is one.
///
/// With `--json` the report is one JSON object, whatever happens: see [`Wrong`].
pub fn answer(command: Command, columns: Option<usize>) -> Answer {
    let json = command.json();
    let mut answer = match done(command, columns) {
        Ok(answer) => Answer { notes: clean::lines(&answer.notes).into_owned(), ..answer },
        Err(failure) => {
            let report = if json { Wrong::of(&failure).json(failure.status()) } else { String::new() };
            Answer { report, ..Answer::failed(&failure, failure.status()) }
        }
    };
    if json && answer.report.is_empty() && answer.status != 0 {
        answer.report = Wrong::interrupted(&answer.notes).json(answer.status);
    }
    if json {
        answer.report = clean::json(&answer.report).into_owned();
    }
    answer
}

fn done(command: Command, columns: Option<usize>) -> Result<Answer, Failure> {
    let width = width(columns);
    match command {
        Command::Run(args) => run::run(&args, columns),
        Command::Try(args) => try_out::try_out(&args),
        Command::Drive(args) => drive::drive(&args, columns),
        Command::Stop(args) => moves::stop::stop(&args, columns),
        Command::Ramp(args) => moves::ramp::ramp(&args, columns),
        Command::Reel(args) => moves::reel::reel(&args, columns),
        Command::Check(args) => check::answer(&args),
        Command::Converge(args) => converge::converge(&args, width),
        Command::Verify { all } => {
            let verdict = verify::verify(all, width);
            Ok(Answer { status: u8::from(!verdict.holds), ..Answer::report(verdict.report) })
        }
        Command::Films(args) => films::films(&args, width).map(Answer::report),
        Command::Fit(args) => fit::fit(&args, columns),
        Command::Sweep(args) => sweep::sweep(&args, columns),
        Command::Join(args) => join::join(&args, columns),
        Command::Same(args) => same::same(&args),
        Command::Gauges(args) => gauges::gauges(&args, columns),
        Command::Map(args) => map::map(&args, columns),
        Command::Water(args) => water::water(&args, columns),
        Command::Length(args) => length::length(&args, columns),
        Command::Speed(args) => speed::speed(&args, columns),
        Command::Stages(args) => stages::stages(&args, columns),
        Command::Spread(args) => spread::spread(&args, columns),
        Command::Rank(args) => rank::rank(&args, columns),
        Command::Schema { study } => Ok(Answer::report(schema::schema(study))),
        Command::Materials(args) => materials::answer(&args, width).map(Answer::report),
    }
}
