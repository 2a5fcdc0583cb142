//! `quenchway same`: whether two results files have the same content.

use super::{Answer, Failure};
use crate::args::SameArgs;
use crate::diagnostic;
use crate::store::same::{Compared, compare};

/// Compares two files.
pub fn same(args: &SameArgs) -> Result<Answer, Failure> {
    for path in [&args.first, &args.second] {
        if !path.is_file() {
            return Err(Failure::Input(diagnostic::Failure::File {
                path: path.clone(),
                reason: if path.is_dir() { "it is a directory" } else { "there is no such file" }.to_string(),
                help: "give the path of a results file".to_string(),
            }));
        }
    }
    let (report, status) = match compare(&args.first, &args.second).map_err(Failure::Reserve)? {
        Compared::Same { variables } => (format!("the same content: {variables} variables, bit for bit\n"), 0),
        Compared::Different(what) => (format!("not the same: {what}\n"), 1),
    };
    Ok(Answer { report: if args.quiet { String::new() } else { report }, status, ..Answer::default() })
}
