//! `quenchway try`: one HTML file with the case and the engine in it, to try numbers on.

use std::path::PathBuf;

use quenchway::units::System;

use super::study::stem;
use super::{Answer, Failure};
use crate::args::{TryArgs, Units};
use crate::diagnostic;
use crate::html::{self, to_try};

/// Writes the page.
pub fn try_out(args: &TryArgs) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let engine = to_try::engine().ok_or_else(|| Failure::Argument {
        what: "this program was built without the engine of the page".to_string(),
        help: Some("build it with `make build`".to_string()),
    })?;
    let name = stem(&args.case);
    let path = place(args, &name);
    html::prepare(&path, args.overwrite).map_err(|reason| Failure::flag("--out", reason))?;
    let us = Units::of(args.units, &case) == System::Us;
    let page = to_try::page(&case.title, &text, &name, us, engine).map_err(Failure::Write)?;
    html::write_text(&path, &page).map_err(|error| Failure::Write(error.to_string()))?;
    let notes = match args.quiet {
        true => String::new(),
        false => format!(
            "wrote {}\nThe page carries the recipe and the materials of the case: who has the file has them.\n",
            path.display()
        ),
    };
    Ok(Answer { notes, ..Answer::default() })
}

/// Where the page goes.
fn place(args: &TryArgs, name: &str) -> PathBuf {
    let file = format!("{name}-try.html");
    match &args.out {
        None => args.case.with_file_name(file),
        Some(out) if out.extension().is_none() || out.is_dir() => out.join(file),
        Some(out) => out.clone(),
    }
}
