//! An answer as one JSON object, after what identifies the case.

use serde::Serialize;

/// What identifies an answer.
#[derive(Clone, Copy, Debug)]
pub struct Head<'a> {
    /// The case's title.
    pub title: &'a str,
    /// The program that answered, with the version of its sources.
    pub program: &'a str,
    /// SHA-256 of the case file's text, hexadecimal.
    pub case_sha256: &'a str,
}

/// An answer as one JSON object, after what identifies it; a line feed ends it.
///
/// ```
/// use quenchway::data::{Head, document};
/// let head = Head { title: "a wire", program: "a program", case_sha256: "0f" };
/// let text = document(&head, &std::collections::BTreeMap::from([("core_degC", 63.5)])).unwrap();
/// assert!(text.starts_with("{\n  \"title\": \"a wire\",\n  \"version\": "));
/// assert!(text.ends_with("  \"case_sha256\": \"0f\",\n  \"core_degC\": 63.5\n}\n"));
/// ```
///
/// # Errors
///
/// An answer that is no JSON object.
pub fn document(head: &Head, answer: &impl Serialize) -> serde_json::Result<String> {
    #[derive(Serialize)]
    struct Document<'a, T> {
        title: &'a str,
        version: &'a str,
        program: &'a str,
        case_sha256: &'a str,
        #[serde(flatten)]
        answer: &'a T,
    }
    let &Head { title, program, case_sha256 } = head;
    let document = Document { title, version: env!("CARGO_PKG_VERSION"), program, case_sha256, answer };
    Ok(serde_json::to_string_pretty(&document)? + "\n")
}
