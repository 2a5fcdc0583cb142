//! A wrong case file into words: path, line, caret, what would be right, and what happened to the work.

use std::fmt;
use std::io::{self, IsTerminal, Read};
use std::path::{Path, PathBuf};

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};
use quenchway::case::CaseFile;
use quenchway::file::{self, Problem};
use quenchway_words::clean;

use crate::{NARROW, asked_columns, columns, terminal};

/// Exit status for wrong input.
pub const WRONG_INPUT: u8 = 2;

/// Most problems that are shown; the rest is counted.
const MOST_SHOWN: usize = 20;
/// Longest line of a case file that is shown, bytes.
const LONGEST_LINE: usize = 400;

/// Why a case could not be taken up; `Display` gives the plain report, [`Failure::report`] the one for a terminal.
#[derive(Debug)]
pub enum Failure {
    /// The file itself cannot be read.
    File {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
        /// What would be right.
        help: String,
    },
    /// What stands in it is wrong.
    Case {
        /// The file.
        path: PathBuf,
        /// Its text.
        text: String,
        /// Everything that is wrong, in the order of the text.
        problems: Vec<Problem>,
    },
}

/// How a report is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Columns.
    pub width: usize,
    /// Lines and carets from Unicode, or from ASCII.
    pub unicode: bool,
    /// With colours.
    pub colour: bool,
}

impl Look {
    /// ASCII without colours, 100 columns: what files and tests get.
    pub const PLAIN: Look = Look { width: 100, unicode: false, colour: false };

    /// What suits the standard error stream: plain unless it is a terminal; no colours where `NO_COLOR` is set.
    pub fn of_stderr() -> Look {
        let width = |columns: Option<usize>| columns.map_or(Look::PLAIN.width, |columns| columns.max(NARROW));
        if !io::stderr().is_terminal() {
            return Look { width: width(asked_columns()), ..Look::PLAIN };
        }
        let width = width(columns());
        let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        Look { width, unicode: !plain, colour: !plain }
    }

    /// The closing line; only a narrow terminal breaks it, a file keeps it in one piece.
    fn closing(self, line: &str) -> String {
        if self.width < Look::PLAIN.width { terminal::fill(line, self.width) } else { line.to_string() }
    }

    fn handler(self) -> GraphicalReportHandler {
        let theme = match (self.unicode, self.colour) {
            (true, true) => GraphicalTheme::unicode(),
            (true, false) => GraphicalTheme::unicode_nocolor(),
            (false, true) => GraphicalTheme::ascii(),
            (false, false) => GraphicalTheme::none(),
        };
        GraphicalReportHandler::new_themed(theme)
            .with_width(self.width)
            .with_links(false)
            .with_context_lines(1)
            .with_break_words(false)
            .with_word_separator(textwrap::WordSeparator::AsciiSpace)
            .with_word_splitter(textwrap::WordSplitter::NoHyphenation)
    }
}

/// Reads a case file: its text and the case in it.
///
/// Errors: a file that is missing, is a directory, is too large or is not UTF-8; every problem of its text.
pub fn load(path: &Path) -> Result<(String, CaseFile), Failure> {
    let text = read(path, "case file")?;
    match file::read(&text) {
        Ok(case) => Ok((text, case)),
        Err(problems) => Err(Failure::Case { path: path.to_path_buf(), text, problems }),
    }
}

/// The text of a file; `what` is the kind of file that was expected, in words.
pub fn read(path: &Path, what: &str) -> Result<String, Failure> {
    let failure = |reason: &str, help: &str| Failure::File {
        path: path.to_path_buf(),
        reason: reason.to_string(),
        help: help.to_string(),
    };
    let describe = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound => failure("there is no such file", &format!("give the path of a {what}")),
        io::ErrorKind::PermissionDenied => failure("it may not be read", "change its permissions or give another file"),
        _ => failure(&format!("it cannot be read: {error}"), &format!("give the path of a {what}")),
    };
    let too_large = |size: &str| {
        let reason = format!("it has {size}, {} are possible", file::LARGEST);
        failure(&reason, &format!("a file of this size is probably no {what}"))
    };
    let about = std::fs::metadata(path).map_err(describe)?;
    if about.is_dir() {
        return Err(failure("it is a directory", &format!("give the path of a {what} in it")));
    }
    if about.len() > file::LARGEST as u64 {
        return Err(too_large(&format!("{} bytes", about.len())));
    }
    // One byte more than is possible tells a pipe or device that does not end from one that fits.
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(describe)?;
    file.take(file::LARGEST as u64 + 1).read_to_end(&mut bytes).map_err(describe)?;
    if bytes.len() > file::LARGEST {
        return Err(too_large(&format!("more than {} bytes", file::LARGEST)));
    }
    String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let line = 1 + error.as_bytes()[..valid].iter().filter(|byte| **byte == b'\n').count();
        failure(&format!("line {line} is not UTF-8 text"), "save it as UTF-8 in your editor")
    })
}

impl Failure {
    /// The report as it suits the standard error stream.
    pub fn report(&self) -> String {
        self.render(Look::of_stderr())
    }

    /// The report: every problem with its line and caret, then one closing line.
    pub fn render(&self, look: Look) -> String {
        match self {
            Failure::File { path, reason, help } => {
                let path = clean::line(&path.display().to_string());
                let cause = Shown { message: format!("{path}: {reason}"), help: Some(help.clone()), place: None };
                let closing = format!("{path} was not read; nothing was computed, nothing was written");
                format!("{}\n{}\n", cause.draw(look), look.closing(&closing))
            }
            Failure::Case { path, text, problems } => {
                let path = clean::line(&path.display().to_string());
                let text = clean::excerpt(text);
                let mut report = String::new();
                for problem in problems.iter().take(MOST_SHOWN) {
                    report += &Shown::new(problem, &path, &text).draw(look);
                    report.push('\n');
                }
                if problems.len() > MOST_SHOWN {
                    report += &format!("and {} more problems, not shown\n\n", problems.len() - MOST_SHOWN);
                }
                let count = match problems.len() {
                    1 => "1 problem".to_string(),
                    count => format!("{count} problems"),
                };
                let closing = format!("{count} in {path}; nothing was computed, nothing was written");
                report + &look.closing(&closing) + "\n"
            }
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.render(Look::PLAIN))
    }
}

impl std::error::Error for Failure {}

/// One problem as miette draws it.
#[derive(Debug)]
struct Shown {
    message: String,
    help: Option<String>,
    place: Option<(NamedSource<String>, LabeledSpan)>,
}

impl Shown {
    fn new(problem: &Problem, path: &str, text: &str) -> Shown {
        let mut message = clean::line(&problem.message);
        if !problem.key.is_empty() {
            message = format!("{}: {message}", clean::line(&problem.key));
        }
        let mut place = None;
        if let Some(span) = &problem.span
            && let Some(before) = text.get(..span.start)
        {
            let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
            let line_length = text[line_start..].find('\n').unwrap_or(text.len() - line_start);
            if line_length <= LONGEST_LINE {
                // A value over many lines is pointed at by its first.
                let end = span.end.min(line_start + line_length).max(span.start);
                let label = LabeledSpan::new(Some(clean::line(&problem.label)), span.start, end - span.start);
                place = Some((NamedSource::new(path, text.to_string()), label));
            } else {
                let line = 1 + before.matches('\n').count();
                message += &format!(" (line {line}, column {})", span.start - line_start + 1);
            }
        }
        Shown { message, help: problem.help.as_deref().map(|help| clean::lines(help).into_owned()), place }
    }

    fn draw(&self, look: Look) -> String {
        let mut report = String::new();
        match look.handler().render_report(&mut report, self) {
            Ok(()) => report,
            // Without a drawing the words still count.
            Err(_) => format!("{self}\n"),
        }
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message)
    }
}

impl std::error::Error for Shown {}

impl Diagnostic for Shown {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.place.as_ref().map(|(source, _)| source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let (_, label) = self.place.as_ref()?;
        Some(Box::new(std::iter::once(label.clone())))
    }
}
