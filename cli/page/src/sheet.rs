//! The file: the page around the answers, with the case, the engine, the script and the style in it.

use maud::{DOCTYPE, PreEscaped, html};
use quenchway_words::clean;
use serde::Serialize;

/// The page's script: it moves text between the controls and the engine.
pub const SCRIPT: &str = include_str!("page.js");
/// What runs an engine beside the page.
pub const WORKER: &str = include_str!("worker.js");
/// Style for screen and paper.
pub const STYLE: &str = include_str!("page.css");

/// What a page carries besides.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Carried<'a> {
    /// The case file's text.
    pub case: &'a str,
    /// The case file's name without its ending.
    pub name: &'a str,
    /// The program that wrote the page, with the version of its sources.
    pub program: &'a str,
    /// SHA-256 of the case file's text.
    pub sha256: &'a str,
    /// When it was written.
    pub written: &'a str,
    /// Whether it begins in US units.
    pub us: bool,
}

/// What the page may do, for a script and a style with these hashes: nothing but run what it carries. It may ask nobody.
pub fn policy(script: &str, style: &str) -> String {
    format!(
        "default-src 'none'; connect-src 'none'; script-src 'sha256-{script}' 'wasm-unsafe-eval'; style-src 'sha256-{style}'; \
         worker-src blob:; base-uri 'none'; form-action 'none'"
    )
}

/// Text inside of a script element that is data: nothing in it ends the element.
fn data(carried: &Carried) -> String {
    serde_json::to_string(carried).unwrap_or_default().replace('<', "\\u003c")
}

/// Cautions that stand until those of the case take their place.
const AT_FIRST: [&str; 2] = [
    "Results are estimates for planning, to be confirmed on the line. Raise the speed in steps. Never use them for interlocks or \
     closed-loop control.",
    "A cool surface can hide a hot core.",
];

/// Cautions of every page, on screen and paper, below those of the case.
const CAUTIONS: [&str; 2] = [
    "The page reads nothing from the line and sends nothing anywhere.",
    "The file carries your recipe and your materials: who has the file has them.",
];

/// Bytes as text: five letters of 85 for each four bytes, the last ones filled up with zeros; a "v" for "<", which ends a script.
fn letters(bytes: &[u8]) -> String {
    let letter = |value: u32| match char::from(33 + value as u8) {
        '<' => 'v',
        letter => letter,
    };
    let mut text = String::with_capacity(bytes.len() / 4 * 5 + 5);
    for four in bytes.chunks(4) {
        let value = (0..4).fold(0, |value, place| value << 8 | u32::from(four.get(place).copied().unwrap_or(0)));
        text.extend((0..5).rev().map(|power| letter(value / 85u32.pow(power) % 85)));
    }
    text
}

/// The page of a case by its title, as HTML; `engine` is the engine packed by zlib, `policy` what the page may do.
pub fn html(title: &str, carried: &Carried, engine: &[u8], policy: &str) -> String {
    let title = clean(title);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="generator" content=(carried.program);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { (title) ", a page to try numbers on" }
                style { (PreEscaped(STYLE)) }
            }
            body data-state="computing" {
                main {
                    header { h1 { (title) } p.quiet #about {} }
                    section #answer tabindex="0" aria-labelledby="answered" {
                        h2 #answered { "Verdict" }
                        div #verdict data-of="0" {}
                        p #wrong role="alert" hidden {}
                        p #state { "Computing." }
                        noscript { p { "This page needs a browser that runs scripts. The preview of a mail program or of a tablet's files runs none." } }
                    }
                    div #told role="status" aria-live="polite" {}
                    section aria-labelledby="designed" {
                        h2 #designed { "With these numbers" }
                        div #design data-of="0" { p.quiet { "The fastest line and the shortest trough follow." } }
                    }
                    div.buttons {
                        button type="button" #keep { "Keep this answer as before" }
                        button type="button" #reset { "Back to the file's numbers" }
                        button type="button" #units { "Show US units" }
                        button type="button" #save { "Save as case file" }
                        button type="button" #print { "Print report" }
                    }
                    p.quiet #before hidden {
                        "The answer before is drawn thin. Changes from it stand in brackets."
                    }
                    div.two {
                        form #numbers aria-label="Numbers of the line" autocomplete="off" {}
                        div {
                            section.paper aria-labelledby="given" {
                                h2 #given { "Inputs" }
                                table {
                                    thead { tr { th scope="col" { "number" } th scope="col" { "here" } th scope="col" { "in the file" } } }
                                    tbody #inputs {}
                                }
                            }
                            figure { figcaption { "Temperatures along the line. Shaded: water" } div #line data-of="0" {} }
                            figure #across {
                                figcaption {
                                    "Temperatures across the product "
                                    label { "at " select #station {} }
                                }
                                div #profile data-of="0" {}
                            }
                            div #tables data-of="0" {}
                            section #programme aria-labelledby="driven" hidden {
                                h2 #driven { "The programme of the line" }
                                div #drive data-of="0" { p.quiet { "The programme follows." } }
                            }
                            details { summary { "More numbers" } div #more data-of="0" {} }
                            div #notes data-of="0" {}
                            section aria-labelledby="cautioned" {
                                h2 #cautioned { "Cautions" }
                                div #cautions data-of="0" { ul { @for caution in AT_FIRST { li { (caution) } } } }
                                ul { @for caution in CAUTIONS { li { (caution) } } }
                            }
                            section aria-labelledby="source" {
                                h2 #source { "Where this comes from" }
                                table.facts {
                                    tr { th scope="row" { "engine" } td { (carried.program) } }
                                    tr { th scope="row" { "page written" } td { (carried.written) } }
                                    tr { th scope="row" { "case file" } td { (clean(carried.name)) ".toml" } }
                                    tr { th scope="row" { "its SHA-256" } td.hash { (carried.sha256) } }
                                    tr.paper { th scope="row" { "printed" } td #printed {} }
                                }
                                p.quiet { "The page knows the case as it was when the page was written, and this engine." }
                            }
                        }
                    }
                }
                script type="application/json" #data { (PreEscaped(data(carried))) }
                script type="text/plain" #worker { (PreEscaped(WORKER)) }
                script type="text/plain" #engine data-bytes=(engine.len()) { (PreEscaped(letters(engine))) }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_of_the_case_becomes_part_of_the_page() {
        let name = "\"><img src=x onerror=alert(1)>";
        let case = "title = \"</script><script>alert(1)</script>\" # <!--";
        let carried = Carried { case, name, program: "p", sha256: "0", written: "now", us: false };
        let page = html("</title><script>alert(1)</script>", &carried, &[], &policy("a", "b"));
        assert_eq!(page.matches("<script").count(), 4);
        assert!(!page.contains("<img") && !page.contains("<!--"));
        assert!(page.contains("\\u003c/script>"));
    }

    /// Of four bytes the first letter counts most; 27 is "<" in the usual alphabet.
    #[test]
    fn bytes_become_letters() {
        assert_eq!(letters(&[0, 0, 0, 0, 0, 0, 0, 84]), "!!!!!!!!!u");
        assert_eq!(letters(&[255, 255, 255, 255]), "s8W-!", "the largest number that four bytes hold");
        assert_eq!(letters(&[0, 0, 0, 27, 1]), "!!!!v!vv*\"");
        let all: Vec<u8> = (0..=255)
            .cycle()
            .take(70_000)
            .enumerate()
            .map(|(place, byte): (usize, u8)| byte ^ (place / 7) as u8)
            .collect();
        assert!(letters(&all).chars().all(|c| ('!'..='v').contains(&c) && c != '<'));
    }

    #[test]
    fn what_the_page_runs_can_stand_in_it() {
        for text in [SCRIPT, WORKER, STYLE] {
            assert!(!text.contains("</") && !text.contains("<!--"));
        }
        assert!(policy("a", "b").contains("connect-src 'none'"));
    }
}
