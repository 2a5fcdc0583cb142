//! `quenchway join`: the parts of a sweep into one results file.

use super::sweep::before::{self, Asked};
use super::sweep::report::{Told, sized};
use super::sweep::{export, left_behind, picture, reserve_csv, reserve_picture, unusable};
use super::{Answer, Failure};
use crate::args::{JoinArgs, Units};
use crate::report::width;
use crate::store;
use crate::sweep::{self, Folder, FolderError, JoinError, Joined, Overview, Stop};

/// Joins parts; `columns` is the terminal's width, where there is one.
pub fn join(args: &JoinArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let plan = sweep::load(&args.study).map_err(Failure::Input)?;
    let stop = Stop::listen().map_err(|error| Failure::Write(format!("Ctrl-C cannot be listened to: {error}")))?;
    let folders: Vec<Folder> =
        std::iter::once(&args.out).chain(&args.from).map(|directory| Folder::new(directory, &plan)).collect();
    let results = args.out.join(format!("{}.h5", plan.stem));
    let complete = before::is_complete(&plan, &folders[0], &results, args.overwrite)?;
    store::prepare(&results, args.overwrite || folders[0].may_replace()).map_err(Failure::Reserve)?;
    reserve_csv(args.csv, &results, args.overwrite)?;
    reserve_picture(&results, args.overwrite)?;
    if complete {
        if args.remove_blocks {
            folders[0].remove_all();
        }
        let asked =
            Asked { csv: args.csv, json: args.json, quiet: args.quiet, system: Units::of(args.units, &plan.case) };
        return before::complete(&plan, &results, &asked);
    }
    if let Some(missing) = folders.iter().find(|folder| !folder.path().is_dir()) {
        let reason = format!(
            "there is no {}: no part of this study was computed there; nothing was written",
            missing.path().display()
        );
        return Err(Failure::flag(if missing.path() == folders[0].path() { "--out" } else { "--from" }, reason));
    }
    let command = format!("quenchway sweep {} --out {} --resume", args.study.display(), args.out.display());
    // Where the lock cannot be made, the blocks can be read all the same.
    let lock = match folders[0].lock() {
        Err(busy @ FolderError::Busy(_)) => return Err(unusable(&busy)),
        lock => lock.ok().flatten(),
    };
    if lock.is_some() {
        left_behind(&results);
    }
    let told = Told::new(&plan);
    let report = |joined: &Joined| Told { joined: Some(joined), ..told }.json();
    let joined = sweep::join(&plan, &folders, &results, &stop, report);
    let joined = joined.map_err(|error| match error {
        JoinError::Missing { .. } => Failure::Write(format!(
            "{error}, of {} in all; nothing was written. Run the parts again with --resume, or compute what is missing here: \
             {command}",
            plan.sweep.blocks()
        )),
        JoinError::Folder(error) => unusable(&error),
        JoinError::Differs { .. } | JoinError::Write(_) => Failure::Write(format!("{error}; the blocks are as they were")),
        JoinError::Stopped => Failure::Write("interrupted; the blocks are as they were, join again".to_string()),
    });
    let joined = match (joined, stop.status()) {
        (Ok(joined), _) => joined,
        (Err(failure), None) => return Err(failure),
        (Err(failure), Some(status)) => return Ok(Answer::failed(&failure, status)),
    };
    let mut wrote =
        vec![results.clone(), picture(&plan, &Overview::of(&joined), &results, Units::of(args.units, &plan.case))?];
    if args.csv {
        wrote.push(export(&plan, &results)?);
    }
    folders[0].replaced();
    if args.remove_blocks {
        folders[0].remove_all();
    }
    let told = Told { joined: Some(&joined), ..Told::new(&plan) };
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => sized(&told.json(), joined.bytes),
        (false, false) => told.report(Units::of(args.units, &plan.case), width(columns)),
    };
    let notes: String = wrote.iter().map(|path| format!("wrote {}\n", path.display())).collect();
    Ok(Answer { report, notes: if args.quiet { String::new() } else { notes }, status: 0 })
}
