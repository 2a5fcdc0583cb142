//! `quenchway schema`: the JSON Schema of the case file, for editors.

/// The JSON Schema as text.
pub fn schema() -> String {
    // The alternate form of a JSON value is indented.
    format!("{:#}\n", quenchway::input::schema())
}
