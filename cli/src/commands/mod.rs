//! One file per command.

pub mod check;
pub mod converge;
mod design;
mod failure;
pub mod films;
pub mod fit;
pub mod gauges;
pub mod join;
pub mod length;
pub mod listing;
pub mod map;
pub mod materials;
pub mod outputs;
pub mod rank;
pub mod run;
pub mod same;
pub mod schema;
pub mod speed;
pub mod spread;
pub mod study;
pub mod sweep;
pub mod verify;
pub mod water;

use std::fmt::Display;

pub use failure::Failure;

use crate::args::Command;
use crate::diagnostic::WRONG_INPUT;
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

    fn failed(message: impl Display, status: u8) -> Answer {
        let message = message.to_string();
        Answer { notes: format!("{}\n", message.trim_end()), status, ..Answer::default() }
    }
}

/// Does what a command says; `columns` is the terminal's width, where there is one.
pub fn answer(command: Command, columns: Option<usize>) -> Answer {
    let answered = match command {
        Command::Run(args) => run::run(&args, columns),
        Command::Check { case, units } => check::check(&case, units.into()).map(Answer::report).map_err(Failure::Input),
        Command::Converge { case } => converge::converge(&case, width(columns)).map(Answer::report),
        Command::Verify { all } => {
            let verdict = verify::verify(all, width(columns));
            Ok(Answer { status: u8::from(!verdict.holds), ..Answer::report(verdict.report) })
        }
        Command::Films(args) => {
            return films::films(&args, width(columns))
                .map_or_else(|(message, status)| Answer::failed(message, status), Answer::report);
        }
        Command::Fit(args) => fit::fit(&args, columns),
        Command::Sweep(args) => sweep::sweep(&args, columns),
        Command::Join(args) => join::join(&args, columns),
        Command::Same(args) => same::same(&args),
        Command::Gauges(args) => gauges::gauges(&args, columns),
        Command::Map(args) => map::map(&args, columns),
        Command::Water(args) => water::water(&args, columns),
        Command::Length(args) => length::length(&args, columns),
        Command::Speed(args) => speed::speed(&args, columns),
        Command::Spread(args) => spread::spread(&args, columns),
        Command::Rank(args) => rank::rank(&args, columns),
        Command::Schema { study } => Ok(Answer::report(schema::schema(study))),
        Command::Materials(args) => {
            return materials::answer(&args, width(columns))
                .map_or_else(|message| Answer::failed(message, WRONG_INPUT), Answer::report);
        }
    };
    answered.unwrap_or_else(|failure| Answer::failed(&failure, failure.status()))
}
