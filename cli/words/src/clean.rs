//! What is shown, cleaned of what could steer a terminal or turn letters round: one rule for every exit.

use std::borrow::Cow;
use std::fmt::Write as _;

use quenchway::units::hidden::is_hidden;

/// Stands for a character that would not be seen.
const MARK: char = '?';

/// A name on one line: control characters become spaces, what else is not seen becomes a mark.
///
/// ```
/// assert_eq!(quenchway_words::clean::line("a\r\nb\u{202e}c"), "a  b?c");
/// ```
pub fn line(name: &str) -> String {
    name.chars().map(shown).collect()
}

/// Hidden, and neither a line feed nor a tab.
fn steers(c: char) -> bool {
    is_hidden(c) && !matches!(c, '\n' | '\t')
}

fn shown(c: char) -> char {
    match is_hidden(c) {
        true if c.is_control() => ' ',
        true => MARK,
        false => c,
    }
}

/// A text of several lines: line feeds and tabs stay.
///
/// ```
/// assert_eq!(quenchway_words::clean::lines("a\n\tb\u{1b}[2J"), "a\n\tb [2J");
/// ```
pub fn lines(text: &str) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(|c| if steers(c) { shown(c) } else { c }).collect())
}

/// A piece of a file, byte for byte, so that places in it stay where they are.
///
/// ```
/// assert_eq!(quenchway_words::clean::excerpt("a\rb\r\n\u{200b}b"), "a?b\r\n???b");
/// ```
pub fn excerpt(text: &str) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        // A carriage return before a line feed ends a line on other systems.
        match steers(c) && (c != '\r' || rest.peek() != Some(&'\n')) {
            true => shown.extend(std::iter::repeat_n(MARK, c.len_utf8())),
            false => shown.push(c),
        }
    }
    Cow::Owned(shown)
}

/// What goes to a terminal: the program's own colours stay too.
///
/// ```
/// assert_eq!(quenchway_words::clean::screen("\u{1b}[1mbold\u{1b}[0m \u{1b}]0;title\u{7}"), "\u{1b}[1mbold\u{1b}[0m  ]0;title ");
/// ```
pub fn screen(text: &str) -> String {
    let text = text.replace("\r\n", "\n");
    let mut pieces = text.split('\u{1b}');
    let mut shown = pieces.next().map(lines).unwrap_or_default().into_owned();
    for piece in pieces {
        let code = piece.strip_prefix('[').and_then(|rest| rest.split_once('m')).map(|(code, _)| code);
        let colour = code.is_some_and(|code| code.chars().all(|c| c.is_ascii_digit() || c == ';'));
        shown.push(if colour { '\u{1b}' } else { ' ' });
        shown += &lines(piece);
    }
    shown
}

/// JSON, in whose strings every character that is not seen is escaped: the same values.
///
/// ```
/// assert_eq!(quenchway_words::clean::json("{\"a\": \"\u{202e}\"}\n"), "{\"a\": \"\\u202e\"}\n");
/// ```
pub fn json(text: &str) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        if steers(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(escaped, "\\u{unit:04x}");
            }
        } else {
            escaped.push(c);
        }
    }
    Cow::Owned(escaped)
}
