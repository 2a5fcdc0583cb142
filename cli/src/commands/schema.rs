//! `quenchway schema`: the JSON Schemas of the case file and of the study file, for editors.

/// The JSON Schema of the case file as text; of the study file where `study` says so.
pub fn schema(study: bool) -> String {
    let schema = if study { quenchway::file::study_schema() } else { quenchway::file::schema() };
    // The alternate form of a JSON value is indented.
    format!("{schema:#}\n")
}
