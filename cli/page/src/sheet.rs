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

/// Letters of seven bits that a page cannot hold: no character, a line's end that browsers change, what ends a script.
const NOT_HELD: [u8; 3] = [0, b'\r', b'<'];
/// What stands for the first of them, the others follow.
const INSTEAD: u32 = 0xC0;

/// Bytes as text: seven bits a letter, the highest first, the last letter filled up with zeros.
fn letters(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len() / 6 * 7);
    let mut letter = |bits: u32| {
        let place = NOT_HELD.iter().position(|&not| u32::from(not) == bits);
        text.extend(char::from_u32(place.map_or(bits, |place| INSTEAD + place as u32)));
    };
    let (mut bits, mut count) = (0u32, 0);
    for &byte in bytes {
        (bits, count) = (bits << 8 | u32::from(byte), count + 8);
        while count >= 7 {
            count -= 7;
            letter(bits >> count & 127);
        }
        bits &= 127;
    }
    if count > 0 {
        letter(bits << (7 - count) & 127);
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

    #[test]
    fn bytes_become_letters_that_a_page_holds() {
        assert_eq!(letters(&[0b1000_0011, 0b0100_0000]), "A\u{50}\u{c0}", "seven bits a letter");
        assert_eq!(letters(&[0, 0b0011_0100, 0b1111_0000]), "\u{c0}\u{c1}\u{1e}\u{c0}");
        let all: Vec<u8> = (0..70_000u32).map(|place| (place ^ (place / 7)) as u8).collect();
        let text = letters(&all);
        assert!(!text.contains(['\0', '\r', '<']) && text.chars().count() == 80_000);
    }

    #[test]
    fn what_the_page_runs_can_stand_in_it() {
        for text in [SCRIPT, WORKER, STYLE] {
            assert!(!text.contains("</") && !text.contains("<!--"));
        }
        assert!(policy("a", "b").contains("connect-src 'none'"));
    }
}
