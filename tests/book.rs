//! The book holds together: its page of commands is the program's, its command lines are understood, its files are there.

use std::fmt::Write;
use std::fs;

use clap::{Arg, CommandFactory, Parser};
use quenchway_cli::args::Args;

use crate::quoted::{pages, root, words};

/// Its options in a table of two columns.
fn options<'a>(of: impl Iterator<Item = &'a Arg>) -> String {
    let mut rows = String::new();
    for arg in of {
        let value: Vec<String> =
            arg.get_value_names().unwrap_or_default().iter().map(|name| format!("<{name}>")).collect();
        let value = if arg.get_action().takes_values() { value.join(" ") } else { String::new() };
        let name = match (arg.get_short(), arg.get_long()) {
            (Some(short), Some(long)) => format!("-{short}, --{long} {value}"),
            (None, Some(long)) => format!("--{long} {value}"),
            _ => value,
        };
        let help = arg.get_long_help().or(arg.get_help()).map(ToString::to_string).unwrap_or_default();
        let mut help = help.split_whitespace().collect::<Vec<_>>().join(" ");
        let possible = arg.get_possible_values();
        if arg.get_action().takes_values() && !possible.is_empty() {
            let listed = possible.iter().map(|value| match value.get_help() {
                Some(help) => format!("`{}`: {help}", value.get_name()),
                None => format!("`{}`", value.get_name()),
            });
            let _ = write!(help, ". {}", listed.collect::<Vec<_>>().join("; "));
        }
        if let (true, [default]) = (arg.get_action().takes_values(), arg.get_default_values()) {
            let default = default.to_string_lossy();
            let quote = if default.contains(' ') { "\"" } else { "" };
            let _ = write!(help, " [default: {quote}{default}{quote}]");
        }
        let _ = writeln!(
            rows,
            "| `{}` | {} |",
            name.trim(),
            help.replace('|', "\\|").replace('*', "\\*").replace('<', "&lt;")
        );
    }
    rows
}

/// `docs/commands.md` from the flags.
fn commands_page() -> String {
    let mut page = String::from(
        "# Commands\n\n\
         A test keeps this page equal to the program's own flags.\n\
         `quenchway COMMAND --help` prints the same on your terminal. Every value has its unit: `\"240 m/min\"`, `\"490 ft/min\"`.\n",
    );
    let program = Args::command();
    for command in program.get_subcommands().filter(|command| !command.is_hide_set()) {
        let name = command.get_name();
        let about = command.get_about().map(ToString::to_string).unwrap_or_default();
        let _ = write!(page, "\n## {name}\n\n{about}.\n", about = about.trim_end_matches(['.', '?']));
        let arguments = options(command.get_positionals());
        let flags = options(command.get_arguments().filter(|arg| !arg.is_positional() && arg.get_id() != "help"));
        if !(arguments.is_empty() && flags.is_empty()) {
            let _ = write!(page, "\n| argument, option | what it does |\n|---|---|\n{arguments}{flags}");
        }
        if let Some(after) = command.get_after_help() {
            let after = after.to_string();
            let short = |line: &str| if line.len() > 110 { textwrap::fill(line, 100) } else { line.to_string() };
            let lines: Vec<String> = after.trim_end().lines().map(short).collect();
            let _ = write!(page, "\n```text\n{}\n```\n", lines.join("\n"));
        }
    }
    page
}

#[test]
fn the_page_of_commands_is_the_program_s() {
    let path = root().join("docs/commands.md");
    let page = commands_page();
    if std::env::var_os("BLESS").is_some() {
        fs::write(&path, &page).unwrap();
    }
    let stale = "docs/commands.md is stale: BLESS=1 cargo test -p quenchway-cli --test main commands";
    assert!(fs::read_to_string(path).unwrap_or_default() == page, "{stale}");
}

/// Lines of code blocks that call the program, continued lines joined; comments, pipes and what two blanks set apart are cut off.
fn command_lines(blocks: &str) -> Vec<String> {
    let (mut lines, mut line) = (Vec::new(), String::new());
    for next in blocks.lines().map(str::trim) {
        match next.strip_suffix('\\') {
            Some(part) => line += &format!("{} ", part.trim_end()),
            None => lines.push(std::mem::take(&mut line) + next),
        }
    }
    let calls = lines.iter().filter(|line| line.starts_with("quenchway ") && !line.starts_with("quenchway COMMAND"));
    let cut = |line: &String| {
        let end = [" #", " | ", " > ", "  "].iter().filter_map(|end| line.find(end)).min();
        line[..end.unwrap_or(line.len())].to_string()
    };
    calls.map(cut).collect()
}

#[test]
fn every_command_line_of_the_book_is_understood() {
    let mut count = 0;
    for (path, page) in pages() {
        let fenced = page.lines().fold((false, String::new()), |(open, mut text), line| {
            let fence = line.trim_start().starts_with("```");
            if open || line.starts_with("    ") {
                text += line;
                text += "\n";
            }
            (open ^ fence, text)
        });
        for line in command_lines(&fenced.1) {
            count += 1;
            let parsed = Args::try_parse_from(words(&line));
            assert!(parsed.is_ok(), "{}: {line}\n{}", path.display(), parsed.unwrap_err());
            // From the root of a clone; the flags' own examples stand in the directory of the cases.
            let made = ["mine.toml", "calibrated.toml"];
            let mut files =
                words(&line).into_iter().filter(|word| [".toml", ".csv"].iter().any(|end| word.ends_with(end)));
            let there = files.all(|file| made.contains(&file.as_str()) || root().join(file).is_file());
            assert!(there || path.ends_with("commands.md"), "{}: {line}", path.display());
        }
    }
    assert!(count > 50, "{count} command lines");
}

/// A path of a case that a page names, in a clone of the project.
#[test]
fn every_case_that_a_page_names_is_there() {
    let mut count = 0;
    for (path, page) in pages() {
        for (at, _) in page.match_indices("cases/") {
            let name: String = page[at..].chars().take_while(|&char| !" `\"')|,;:\n#".contains(char)).collect();
            if !page[..at].ends_with(['/', '_', '-']) && [".toml", ".csv"].iter().any(|end| name.ends_with(end)) {
                count += usize::from(!name.contains("NAME"));
                assert!(name.contains("NAME") || root().join(&name).is_file(), "{}: {name}", path.display());
            }
        }
    }
    assert!(count > 40, "{count} paths");
}

#[test]
fn every_page_has_its_place_in_the_book() {
    let summary = fs::read_to_string(root().join("docs/SUMMARY.md")).unwrap();
    for entry in fs::read_dir(root().join("docs")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let listed = summary.matches(&format!("({name})")).count();
        assert!(
            !name.ends_with(".md") || name == "SUMMARY.md" || listed == 1,
            "{name} is {listed} times in SUMMARY.md"
        );
    }
}

/// The parts of the book in the reader's order.
#[test]
fn the_book_begins_with_the_start_and_ends_with_the_project() {
    let summary = fs::read_to_string(root().join("docs/SUMMARY.md")).unwrap();
    let parts: Vec<&str> = summary.lines().skip(1).filter_map(|line| line.strip_prefix("# ")).collect();
    assert_eq!(parts, ["Start", "Jobs", "More questions", "Reference", "Science", "Project"]);
    let jobs = summary.split("# Jobs").nth(1).unwrap().split("# More").next().unwrap();
    let of_jobs: Vec<&str> = jobs.lines().filter(|line| line.starts_with("- [")).collect();
    assert!(of_jobs.len() == 7 && of_jobs.iter().all(|line| line.contains("(job-")), "{of_jobs:?}");
}

/// A tutorial states the job, calls the program on a case, shows a picture and the answer, and says how to change the question.
#[test]
fn every_job_page_has_a_case_a_picture_and_an_answer() {
    let jobs: Vec<_> = pages().into_iter().filter(|(path, _)| path.display().to_string().contains("/job-")).collect();
    assert_eq!(jobs.len(), 7);
    for (path, page) in jobs {
        let name = path.display();
        let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("{name} has no {words}"));
        let (job, answer) = (at("**The job.**"), at("**The answer"));
        assert!(job < answer, "{name}");
        let asked = &page[job..answer];
        assert!(asked.contains("    quenchway ") && asked.contains("cases/"), "{name}: no case before the answer");
        let picture = page[answer..].split("![").nth(1).and_then(|rest| rest.split("](").nth(1));
        let picture = picture.and_then(|rest| rest.split(')').next());
        let picture = picture.unwrap_or_else(|| panic!("{name}: no picture"));
        assert!(root().join("docs").join(picture).is_file(), "{name}: {picture}");
    }
}

#[test]
fn the_version_is_one_everywhere() {
    let version = env!("CARGO_PKG_VERSION");
    for (page, said) in [
        ("CITATION.cff", format!("version: {version}\n")),
        ("README.md", format!("version {version}, not yet compared with a measured line")),
        ("docs/citing.md", format!("Version {version}, ")),
        ("docs/changes.md", format!("## {version} (")),
    ] {
        let text = fs::read_to_string(root().join(page)).unwrap();
        assert!(text.contains(&said), "{page} does not say {said:?}");
    }
}

/// The first screen of the README ends at its second heading.
#[test]
fn the_readme_begins_with_one_screen() {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let screen: Vec<&str> = text.lines().take_while(|line| !line.starts_with("## ")).collect();
    assert!(screen.len() <= 25, "{} lines", screen.len());
    let begin = |start: &str| screen.iter().filter(|line| line.starts_with(start)).count();
    assert_eq!((begin("    make "), begin("!["), begin("| question | command |")), (2, 1, 1), "{screen:#?}");
}
