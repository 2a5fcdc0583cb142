//! `quenchway join`: the parts of a sweep into one results file.

use super::sweep::report::Told;
use super::sweep::{export, picture, redrawn, reserve_csv, reserve_picture, unusable};
use super::{Answer, Failure};
use crate::args::{JoinArgs, Units};
use crate::report::width;
use crate::store;
use crate::sweep::{self, Folder, JoinError, Overview, Stop};

/// Joins parts; `columns` is the terminal's width, where there is one.
pub fn join(args: &JoinArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let plan = sweep::load(&args.study).map_err(Failure::Input)?;
    let stop = Stop::listen().map_err(|error| Failure::Write(format!("Ctrl-C cannot be listened to: {error}")))?;
    let folders: Vec<Folder> =
        std::iter::once(&args.out).chain(&args.from).map(|directory| Folder::new(directory, &plan)).collect();
    let results = args.out.join(format!("{}.h5", plan.stem));
    store::prepare(&results, args.overwrite).map_err(Failure::Reserve)?;
    reserve_csv(args.csv, &results, args.overwrite)?;
    reserve_picture(&results, args.overwrite)?;
    let there = store::study::identity(&results).is_some_and(|found| found == plan.identity);
    let already = || {
        let mut notes = format!("{} holds all samples of this study already\n", results.display());
        if let Some(path) = redrawn(&plan, &results, Units::of(args.units, &plan.case))? {
            notes += &format!("wrote {}\n", path.display());
        }
        if args.csv {
            notes += &format!("wrote {}\n", export(&plan, &results)?.display());
        }
        Ok(Answer { notes: if args.quiet { String::new() } else { notes }, ..Answer::default() })
    };
    if there && !folders.iter().any(|folder| folder.path().is_dir()) {
        return already();
    }
    if let Some(missing) = folders.iter().find(|folder| !folder.path().is_dir()) {
        let reason = format!(
            "there is no {}: no part of this study was computed there; nothing was written",
            missing.path().display()
        );
        return Err(Failure::flag(if missing.path() == folders[0].path() { "--out" } else { "--from" }, reason));
    }
    let command = format!("quenchway sweep {} --out {} --resume", args.study.display(), args.out.display());
    let joined = sweep::join(&plan, &folders, &results, &stop);
    if there && matches!(joined, Err(JoinError::Missing { .. })) {
        return already();
    }
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
    if args.remove_blocks {
        folders[0].remove_all();
    }
    let told = Told { joined: Some(&joined), ..Told::new(&plan) };
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => told.json()?,
        (false, false) => told.report(Units::of(args.units, &plan.case), width(columns)),
    };
    let notes: String = wrote.iter().map(|path| format!("wrote {}\n", path.display())).collect();
    Ok(Answer { report, notes: if args.quiet { String::new() } else { notes }, status: 0 })
}
