//! `quenchway sweep`: plan, reserve, compute block after block, join, report.

pub(super) mod before;
mod estimate;
pub(super) mod report;

use std::fs;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Instant;

use quenchway::case::cautions::cautions;
use quenchway::units::System;
use quenchway_pictures::png::Words;
use quenchway_pictures::sheet;
use quenchway_pictures::sweep::{MOST, Picture};

use super::{Answer, Failure};
use crate::args::{SweepArgs, Units};
use crate::report::width;
use crate::slurm::Job;
use crate::store::{self, StoreError};
use crate::sweep::{
    self, Folder, FolderError, Held, JoinError, Joined, Overview, Part, Plan, RunError, Stop, Tally, histograms,
};
use crate::{build, pictures};
use report::Told;

/// Computes a sweep, or a part of it; `columns` is the terminal's width, where there is one.
pub fn sweep(args: &SweepArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let plan = sweep::load(&args.study).map_err(Failure::Input)?;
    let threads = args.threads.map_or_else(cores, |threads| threads as usize);
    if args.dry_run {
        return estimate::estimate(&plan, args, threads, width(columns));
    }
    let Some(out) = &args.out else { return Err(Failure::flag("--out", "give the directory of the results")) };
    let folder = Folder::new(out, &plan);
    let results = out.join(format!("{}.h5", plan.stem));
    let complete = before::is_complete(&plan, &folder, &results, args.overwrite)?;
    if let Some(tasks) = args.slurm.slurm {
        return script(&plan, args, out, tasks as usize).map(Answer::report);
    }
    let stop = Stop::listen().map_err(|error| Failure::Write(format!("Ctrl-C cannot be listened to: {error}")))?;
    fs::create_dir_all(out).map_err(|error| unmade(out, &error))?;
    let replaces = args.overwrite || folder.may_replace();
    store::prepare(&results, replaces).map_err(Failure::Reserve)?;
    reserve_csv(args.csv, &results, args.overwrite || args.resume)?;
    reserve_picture(&results, args.overwrite)?;
    if complete {
        return finished_before(&plan, args, &folder, &results);
    }
    folder.make().map_err(|error| unusable(&error))?;
    let part = args.part.unwrap_or(Part::WHOLE);
    // The parts of an array may run twice at the same time when a node is given up: the same blocks are written twice.
    let lock = if args.part.is_none() { folder.lock().map_err(|error| unusable(&error))? } else { None };
    if lock.is_some() {
        folder.sweep_out();
        left_behind(&results);
    } else if args.part.is_some() {
        folder.sweep_out_part(part);
    }
    if args.overwrite && results.exists() {
        folder.allow_replacing().map_err(|error| unusable(&error))?;
    }
    let Work { blocks, before, damaged } = work(&plan, &folder, part, args)?;
    let mut notes = String::new();
    if damaged > 0 {
        notes += &format!("{damaged} damaged blocks are computed anew\n");
    }
    let start = Instant::now();
    let run = sweep::run(&plan, &folder, (part, &blocks), threads, before, &stop, args.quiet);
    let seconds = start.elapsed().as_secs_f64();
    let again = again(args, out);
    let tally = run.map_err(|error| match error {
        RunError::Folder(FolderError::Write(StoreError::Write { path, reason })) => Failure::Write(format!(
            "cannot write {}: {reason}; blocks that are finished are kept, so make room and go on with: {again}",
            path.display()
        )),
        RunError::Folder(error) => {
            Failure::Write(format!("{error}; blocks that are finished are kept, go on with: {again}"))
        }
    })?;
    if tally.stopped {
        return Ok(interrupted(&stop, Some(tally), &again));
    }
    let mut told = Told {
        samples: tally.samples,
        failed: tally.failed,
        side_by_side: tally.side_by_side,
        seconds,
        threads,
        ..Told::new(&plan)
    };
    if args.part.is_some() {
        told.part = Some((part, before + tally.samples));
        let report = shown(args, told.json(), || told.report(Units::of(args.units, &plan.case), width(columns)));
        if !args.quiet {
            notes += &format!("blocks in {}\n", folder.path().display());
        }
        return Ok(Answer { report, notes, status: 0 });
    }
    let report = |joined: &Joined| Told { joined: Some(joined), ..told }.json();
    let joined = match sweep::join(&plan, std::slice::from_ref(&folder), &results, &stop, report) {
        Ok(joined) => joined,
        Err(JoinError::Stopped) => return Ok(interrupted(&stop, None, &again)),
        Err(error) => {
            return Err(Failure::Write(format!("{error}; every block is computed and kept, go on with: {again}")));
        }
    };
    let mut wrote =
        vec![results.clone(), picture(&plan, &Overview::of(&joined), &results, Units::of(args.units, &plan.case))?];
    if args.csv {
        wrote.push(export(&plan, &results)?);
    }
    folder.remove_all();
    told.joined = Some(&joined);
    let json = report::sized(&told.json(), joined.bytes);
    let report = shown(args, json, || told.report(Units::of(args.units, &plan.case), width(columns)));
    if !args.quiet {
        notes.extend(wrote.iter().map(|path| format!("wrote {}\n", path.display())));
    }
    Ok(Answer { report, notes, status: 0 })
}

/// Checks that the CSV file can be written; one that is there is not known to be ours.
pub(super) fn reserve_csv(asked: bool, results: &Path, overwrite: bool) -> Result<(), Failure> {
    let path = results.with_extension("csv");
    if !asked {
        return Ok(());
    }
    store::prepare_beside(&path).map_err(Failure::Reserve)?;
    if path.exists() && !overwrite {
        return Err(Failure::flag(
            "--csv",
            format!("{} is there already: give --overwrite to replace it", path.display()),
        ));
    }
    Ok(())
}

/// Removes what a process left behind that was killed while it wrote the results file or what is made of it; whoever calls
/// this has locked the blocks.
pub(super) fn left_behind(results: &Path) {
    for ending in ["h5", "png", "csv"] {
        store::remove_left_behind(&results.with_extension(ending));
    }
}

/// Checks that the picture can be made.
pub(super) fn reserve_picture(results: &Path, overwrite: bool) -> Result<(), Failure> {
    pictures::prepare(&results.with_extension("png"), overwrite).map_err(Failure::Reserve)
}

/// Draws the outputs of a finished results file beside it.
pub(super) fn picture(plan: &Plan, overview: &Overview, results: &Path, system: System) -> Result<PathBuf, Failure> {
    let path = results.with_extension("png");
    let complete =
        |error: &dyn std::fmt::Display| Failure::Write(format!("{error}; {} is complete", results.display()));
    let counts = histograms(plan, &overview.ends, results, MOST).map_err(|error| complete(&error))?;
    let picture = Picture::new(&plan.sweep, overview.good, &overview.ends, counts, system);
    let warning = cautions(&plan.case).join("\n");
    let words = Words {
        program: build::PROGRAM,
        title: plan.sweep.title.clone(),
        description: picture.description.clone(),
        warning,
    };
    let png = sheet::encoded(&words, |sheet| picture.draw(sheet)).map_err(|error| complete(&error))?;
    pictures::write(&path, &png).map_err(|error| complete(&error))?;
    Ok(path)
}

/// Draws the picture of a finished results file that has none, or one that is older: what ended the sweep came between the two.
pub(super) fn redrawn(plan: &Plan, results: &Path, system: System) -> Result<Option<PathBuf>, Failure> {
    let written = |path: &Path| fs::metadata(path).and_then(|about| about.modified()).ok();
    if written(&results.with_extension("png")) >= written(results) {
        return Ok(None);
    }
    let complete = |error| Failure::Write(format!("{error}; there is no picture of it"));
    let overview = Overview::read(plan, results).map_err(complete)?;
    picture(plan, &overview, results, system).map(Some)
}

/// Writes the results file as CSV beside it.
pub(super) fn export(plan: &Plan, results: &Path) -> Result<PathBuf, Failure> {
    let path = results.with_extension("csv");
    sweep::csv(plan, results, &path)
        .map_err(|error| Failure::Write(format!("{error}; {} is complete", results.display())))?;
    Ok(path)
}

/// The script of a job array; paths are made absolute, since a task may start elsewhere.
fn script(plan: &Plan, args: &SweepArgs, out: &Path, tasks: usize) -> Result<String, Failure> {
    let absolute = |path: &Path| {
        let path = std::path::absolute(path).map_err(|error| Failure::flag("--slurm", error))?;
        let text = path.to_str().map(str::to_string);
        text.ok_or_else(|| Failure::flag("--slurm", format!("{} is no UTF-8 text", path.display())))
    };
    let slurm = &args.slurm;
    let here = std::env::current_exe().map_err(|error| Failure::flag("--program", error));
    let program = slurm.program.clone().map_or_else(|| absolute(&here?), Ok)?;
    let job = Job {
        name: &plan.stem,
        study: &absolute(&args.study)?,
        out: &absolute(out)?,
        // More tasks than blocks would have nothing to do.
        tasks: tasks.min(usize::try_from(plan.sweep.blocks()).unwrap_or(tasks)),
        cores: slurm.cores as usize,
        account: slurm.account.as_deref(),
        partition: slurm.partition.as_deref(),
        time: &slurm.time,
        modules: &slurm.modules,
        program: &program,
    };
    Ok(job.script())
}

fn cores() -> usize {
    thread::available_parallelism().map_or(1, usize::from)
}

/// The report in the form that was asked for.
fn shown(args: &SweepArgs, json: String, report: impl FnOnce() -> String) -> String {
    match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => json,
        (false, false) => report(),
    }
}

/// What is to be computed.
struct Work {
    blocks: Vec<u64>,
    /// Samples in blocks that are there.
    before: u64,
    damaged: usize,
}

/// The blocks of a part that are not there yet.
fn work(plan: &Plan, folder: &Folder, part: Part, args: &SweepArgs) -> Result<Work, Failure> {
    let mut work = Work { blocks: Vec::new(), before: 0, damaged: 0 };
    let mut found = 0_usize;
    for number in (0..plan.sweep.blocks()).filter(|&number| part.has(number)) {
        if args.overwrite {
            folder.remove(number).map_err(|error| unusable(&error))?;
        } else if args.resume {
            match folder.read(number).map_err(|error| unusable(&error))? {
                Held::Block(block) => {
                    work.before += block.samples.len() as u64;
                    continue;
                }
                Held::Damaged => work.damaged += 1,
                Held::Nothing => {}
            }
        } else {
            found += usize::from(folder.has(number));
        }
        work.blocks.push(number);
    }
    if found > 0 {
        let reason = format!(
            "{} holds {found} finished blocks of {}: give --resume to go on with them, or --overwrite to begin anew",
            folder.path().display(),
            if part == Part::WHOLE { "this study".to_string() } else { format!("part {part}") }
        );
        return Err(Failure::flag("--out", reason));
    }
    Ok(work)
}

/// The results file was complete before.
fn finished_before(plan: &Plan, args: &SweepArgs, folder: &Folder, results: &Path) -> Result<Answer, Failure> {
    if args.part.is_none() && folder.path().is_dir() {
        // Killed between the last rename and the removal of the blocks.
        if let Some(_lock) = folder.lock().map_err(|error| unusable(&error))? {
            left_behind(results);
        }
        folder.remove_all();
    }
    let asked =
        before::Asked { csv: args.csv, json: args.json, quiet: args.quiet, system: Units::of(args.units, &plan.case) };
    before::complete(plan, results, &asked)
}

/// What a signal ended, and how to go on.
fn interrupted(stop: &Stop, tally: Option<Tally>, again: &str) -> Answer {
    let lost = match tally {
        Some(Tally { samples, kept, .. }) if samples > kept => format!(
            "of {samples} samples computed in this run {kept} are in finished blocks, {} will be computed again",
            samples - kept
        ),
        Some(Tally { samples, .. }) => format!("{samples} samples computed in this run, all in finished blocks"),
        None => "every block is computed and kept".to_string(),
    };
    let notes = format!("interrupted: {lost}; go on with: {again}\n");
    Answer { notes, status: stop.status().unwrap_or(1), ..Answer::default() }
}

/// The command that goes on.
fn again(args: &SweepArgs, out: &Path) -> String {
    let part = args.part.map_or(String::new(), |part| format!(" --part {part}"));
    format!("quenchway sweep {} --out {}{part} --resume", args.study.display(), out.display())
}

pub(super) fn unusable(error: &FolderError) -> Failure {
    Failure::flag("--out", error)
}

fn unmade(out: &Path, error: &std::io::Error) -> Failure {
    if out.is_file() {
        return Failure::flag("--out", format!("{} is a file: give a directory", out.display()));
    }
    Failure::Reserve(StoreError::Directory {
        directory: out.parent().filter(|p| !p.as_os_str().is_empty()).map_or(PathBuf::from("."), Path::to_path_buf),
        file: out.file_name().unwrap_or_default().into(),
        reason: error.to_string(),
    })
}
