//! The report as one web page: its own pictures and style, no script, nothing from elsewhere; for screen and paper.

mod file;
mod inputs;
mod parts;

use std::time::SystemTime;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use quenchway::case::CaseFile;
use quenchway::file::resolved::resolved_in;
use quenchway::march::solution::Solution;
use quenchway::units::System;

use crate::build;
use crate::clean;
use crate::plot::Picture;
use crate::report::Report;
use crate::report::blocks::{Block, Part, Tone};
use crate::shown::Shown;
use crate::store::{sha256, stamp};

pub use file::{prepare, write, write_study};

/// Style for screen and paper. Paper has no size here: the printer's own holds, A4 or US Letter.
const STYLE: &str = include_str!("style.css");
/// The page may load what it carries in itself, and nothing else.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

/// What a page is made from.
#[derive(Clone, Copy, Debug)]
pub struct Page<'a> {
    /// The case file's text, whole.
    pub case_text: &'a str,
    /// The case.
    pub case: &'a CaseFile,
    /// The answer.
    pub solution: &'a Solution,
    /// Its pictures, drawn in the same units.
    pub pictures: &'a [Picture],
    /// The units of all that is shown.
    pub system: System,
    /// When it was computed.
    pub time: SystemTime,
}

/// What the page of a design question is made from.
#[derive(Clone, Copy, Debug)]
pub struct Study<'a> {
    /// The case's title.
    pub title: &'a str,
    /// What was asked.
    pub about: &'a str,
    /// What is told; the verdict first.
    pub parts: &'a [Part],
    /// Pictures, drawn in the same units.
    pub pictures: &'a [Picture],
    /// The case file's text, whole.
    pub case_text: &'a str,
    /// The case.
    pub case: &'a CaseFile,
    /// The units of all that is shown.
    pub system: System,
    /// When it was computed.
    pub time: SystemTime,
}

impl Study<'_> {
    /// The page as HTML.
    pub fn html(&self) -> String {
        let (first, rest) = self.parts.split_at(self.parts.len().min(1));
        let body = html! {
            header { h1 { (clean::line(self.title)) } p { (self.about) } }
            @for part in first { (verdict(part)) }
            (pictures(self.pictures))
            @for part in rest { (parts::part(part)) }
            (provenance(self.case_text, self.case, self.system, self.time))
        };
        framed(&clean::line(self.title), &body)
    }
}

/// A page around what stands in it.
fn framed(title: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(build::PROGRAM);
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { main { (body) } }
        }
    };
    clean::lines(&page.into_string()).into_owned()
}

/// Pictures, each with what it shows.
fn pictures(pictures: &[Picture]) -> Markup {
    html! {
        section {
            h2 { "Pictures" }
            @for picture in pictures {
                figure {
                    img alt=(picture.description) src=(format!("data:image/png;base64,{}", STANDARD.encode(&picture.png)));
                    figcaption { (picture.description) }
                }
            }
        }
    }
}

/// What made the page, of which case, when; the case as it was computed, folded away on the screen only.
fn provenance(case_text: &str, case: &CaseFile, system: System, time: SystemTime) -> Markup {
    html! {
        section {
            h2 { "Where this comes from" }
            div.wide {
                table.lines.facts {
                    tr { th { "program" } td { (build::PROGRAM) } }
                    tr { th { "computed" } td { (stamp(time)) } }
                    tr { th { "case file, SHA-256" } td.hash { (sha256(case_text)) } }
                }
            }
            input #case type="checkbox";
            label for="case" { "Show the case as it was computed, with materials and defaults written out" }
            h2.appendix { "Appendix: the case as it was computed" }
            pre { (resolved_in(case, system)) }
        }
    }
}

impl Page<'_> {
    /// The page as HTML.
    pub fn html(&self) -> String {
        let shown = Shown { system: self.system };
        let report = Report::new(self.case, self.solution, shown);
        let body = html! {
            header { h1 { (report.title) } p { (report.about) } }
            (verdict(&report.verdict))
            (parts::part(&inputs::key_numbers(self.case, self.solution, shown)))
            @for part in &report.numbers { (parts::part(part)) }
            (pictures(self.pictures))
            @for part in inputs::inputs(self.case, self.solution, shown) { (parts::part(&part)) }
            (parts::part(&warnings(&report.warnings)))
            (parts::part(&inputs::validity(self.case, self.solution, &report.accuracy, shown)))
            (parts::part(&report.cautions))
            (provenance(self.case_text, self.case, self.system, self.time))
        };
        framed(&report.title, &body)
    }
}

/// The verdict, in the colour of its first words.
fn verdict(part: &Part) -> Markup {
    let tone = part.blocks.iter().find_map(|block| match block {
        Block::Paragraph(words) => words.stressed.as_ref().map(|(tone, _)| *tone),
        _ => None,
    });
    let class = tone.map_or("plain", parts::class);
    html! { section class=(format!("verdict {class}")) { h2 { (part.heading) } (parts::blocks(&part.blocks)) } }
}

/// The assumptions and warnings; that there are none is said.
fn warnings(part: &Part) -> Part {
    let mut blocks = part.blocks.clone();
    if blocks.is_empty() {
        let none = "Nothing was assumed, and nothing is doubtful that the program could see.";
        blocks.push(Block::stressed(crate::report::blocks::Mark::Indent, none, Tone::Good, ""));
    }
    Part { heading: "Assumptions and warnings", blocks }
}
