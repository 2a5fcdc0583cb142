//! Characters that nobody sees and that steer what is seen: a terminal, the order of letters, the end of a line.

use std::fmt::Write;

/// A text in quotation marks on one line, as TOML writes it: what is not seen is escaped.
///
/// ```
/// use quenchway::units::hidden::quoted;
/// assert_eq!(quoted("a \"b\" é\u{200b}"), "\"a \\\"b\\\" é\\u200b\"");
/// ```
pub fn quoted(text: &str) -> String {
    let json = serde_json::Value::from(text).to_string();
    let mut quoted = String::with_capacity(json.len());
    for c in json.chars() {
        match u32::from(c) {
            _ if !is_hidden(c) => quoted.push(c),
            code @ 0x10000.. => {
                let _ = write!(quoted, "\\U{code:08x}");
            }
            code => {
                let _ = write!(quoted, "\\u{code:04x}");
            }
        }
    }
    quoted
}

/// Whether a character steers a terminal or the letters around it, or takes no room of its own.
///
/// Control characters (line feed and tab among them), line and paragraph separators, marks of writing direction, zero-width
/// spaces and joiners, soft hyphens, annotation and tag characters. Source: The Unicode Standard, Version 15.0 (2022),
/// general categories Cc, Cf, Zl and Zp.
///
/// ```
/// use quenchway::units::hidden::is_hidden;
/// assert!("\u{1b}\r\u{202e}\u{200b}\u{2066}".chars().all(is_hidden));
/// assert!(!"2.5 mm² Kabel, 电缆, é".chars().any(is_hidden));
/// ```
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{600}'..='\u{605}' | '\u{61c}' | '\u{6dd}' | '\u{70f}' | '\u{180e}'
            | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e007f}')
}
