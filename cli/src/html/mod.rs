//! The report as one web page: its own pictures and style, no script, nothing from elsewhere; for screen and paper.

mod file;
pub mod to_try;

use std::time::SystemTime;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use quenchway::case::CaseFile;
use quenchway::file::resolved::resolved_in;
use quenchway::units::System;
use quenchway_words::blocks::Report;
use quenchway_words::clean;
use quenchway_words::html::{STYLE, report};

use crate::build;
use crate::store::{sha256, stamp};
use quenchway_pictures::Picture;

pub use file::{prepare, write, write_card, write_text};

/// The page may load what it carries in itself, and nothing else.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

/// What a page is made from.
#[derive(Clone, Copy, Debug)]
pub struct Page<'a> {
    /// What is told; the verdict first.
    pub report: &'a Report,
    /// Before which of its parts the pictures stand, the verdict being number 0.
    pub place: usize,
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

impl Page<'_> {
    /// The page as HTML.
    pub fn html(&self) -> String {
        let body = html! {
            (report(self.report, self.place, &pictures(self.pictures)))
            (provenance(self.case_text, self.case, self.system, self.time))
        };
        framed(&self.report.title, &body)
    }
}

/// A card of one page for the plant floor: the report alone, and what made it.
fn card(words: &Report, case_text: &str, time: SystemTime) -> String {
    let hash: String = sha256(case_text).chars().take(16).collect();
    let body = html! {
        (report(words, 0, &html! {}))
        p.hash { (build::PROGRAM) ", " (stamp(time)) ", case " (hash) }
    };
    framed(&words.title, &body)
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
