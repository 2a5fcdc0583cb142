//! JSON Schemas of the case file and of the study file, for editors: made from the key tables.

use serde_json::{Map, Value, json};

use super::bands::MODE;
use super::vary::forms;
use crate::names::keys::{self, Key, Kind, Place, Quantity};

/// The JSON Schema (draft 2020-12) of a case file.
///
/// ```
/// let schema = quenchway::file::schema();
/// assert_eq!(schema["properties"]["line"]["$ref"], "#/$defs/line");
/// ```
pub fn schema() -> Value {
    let mut schema = object(Place::Root);
    let definitions: Map<String, Value> = Place::ALL
        .into_iter()
        .filter(|place| *place != Place::Root)
        .map(|place| (definition(place).to_string(), object(place)))
        .collect();
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Quenchway case file");
    schema["$defs"] = Value::Object(definitions);
    schema
}

/// The JSON Schema (draft 2020-12) of a study file.
///
/// Key paths and names of outputs depend on the base case: any text is taken for one.
///
/// ```
/// let schema = quenchway::file::study_schema();
/// assert_eq!(schema["required"], serde_json::json!(["case", "outputs", "vary"]));
/// ```
pub fn study_schema() -> Value {
    let mut schema = object(Place::Study);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Quenchway study file");
    schema["properties"]["outputs"]["minItems"] = json!(1);
    schema["properties"]["outputs"]["uniqueItems"] = json!(true);
    // Samples are counted in a study that takes samples, and there only.
    let sampled = json!({ "properties": { "method": { "enum": ["sobol", "latin-hypercube", "random"] } }, "required": ["method"] });
    schema["if"] = sampled;
    schema["then"] = json!({ "required": ["samples"] });
    schema["else"] = json!({ "properties": { "samples": false, "seed": false } });
    schema["$defs"] = json!({ "axes": axes() });
    schema
}

/// What varies: key paths, whole or as tables within tables, each with a list, a range or a distribution.
fn axes() -> Value {
    let number = || json!({ "type": ["string", "number"] });
    let ends = |more: Value| {
        let mut range = json!({
            "type": "object",
            "properties": { "from": number(), "to": number(), "spacing": { "enum": ["even", "logarithmic"] } },
            "required": ["from", "to"],
            "additionalProperties": false,
        });
        if let Some(name) = more["name"].as_str() {
            range["properties"][name] = more["what"].clone();
            range["required"] = json!(["from", "to", name]);
        }
        range
    };
    let points = json!({ "name": "points", "what": { "type": "integer", "minimum": 1, "maximum": 1_000_000 } });
    let mut ways = vec![
        json!({ "type": "array", "items": number(), "minItems": 1, "uniqueItems": true }),
        ends(points),
        ends(json!({ "name": "step", "what": number() })),
        ends(Value::Null),
    ];
    ways.extend(forms().map(|(name, count)| {
        let list = json!({ "type": "array", "items": number(), "minItems": count, "maxItems": count });
        json!({ "type": "object", "properties": { name: list }, "required": [name], "additionalProperties": false })
    }));
    ways.push(json!({ "$ref": "#/$defs/axes" }));
    // A range or distribution that is wrong is no table of further steps.
    let mut taken = vec!["from", "to", "points", "step", "spacing"];
    taken.extend(forms().map(|(name, _)| name));
    json!({
        "type": "object",
        "minProperties": 1,
        "propertyNames": { "not": { "enum": taken } },
        "additionalProperties": { "anyOf": ways },
    })
}

/// Name of a table's definition in the schema.
pub(super) fn definition(place: Place) -> &'static str {
    match place {
        Place::Root => "case",
        Place::Line => "line",
        Place::Change => "line_change",
        Place::Layer => "layer",
        Place::Output => "output",
        Place::Core => "core",
        Place::Section => "section",
        Place::Station => "station",
        Place::Accumulator => "accumulator",
        Place::ReelChange => "reel_change",
        Place::Material => "material",
        Place::Plant => "plant",
        Place::Stages => "stages",
        Place::Ranged => "stages_number",
        Place::Prices => "stages_cost",
        Place::Solver => "solver",
        Place::SpeedTable => "speed_table",
        Place::FilmTable => "film_table",
        Place::Property => "property",
        Place::Uncertainty => "uncertainty",
        Place::Study => "study",
    }
}

fn reference(place: Place) -> Value {
    json!({ "$ref": format!("#/$defs/{}", definition(place)) })
}

fn object(place: Place) -> Value {
    let properties: Map<String, Value> = keys::of(place).map(|key| (key.name.to_string(), property(key))).collect();
    let required: Vec<&str> = keys::of(place).filter(|key| key.required).map(|key| key.name).collect();
    json!({ "type": "object", "properties": properties, "required": required, "additionalProperties": false })
}

fn property(key: &Key) -> Value {
    let mut schema = kind(key.kind);
    schema["description"] = json!(key.describes);
    // The example is TOML; in a document of one key it reads as any other value.
    if let Ok(example) = toml::from_str::<Value>(&format!("example = {}", key.example)) {
        schema["examples"] = json!([example["example"]]);
    }
    schema
}

fn kind(kind: Kind) -> Value {
    match kind {
        Kind::Text => json!({ "type": "string" }),
        Kind::Texts => json!({ "type": "array", "items": { "type": "string" } }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::ChoiceOrTable(words, place) => json!({ "anyOf": [{ "enum": words }, reference(place)] }),
        Kind::Choice(words) => json!({ "enum": words }),
        Kind::Choices(words) => json!({ "type": "array", "items": { "enum": words } }),
        Kind::Value(quantity) => value(quantity),
        Kind::ValueOr(quantity, words) => json!({ "anyOf": [value(quantity), { "enum": words }] }),
        Kind::ValueOrTable(quantity, place) => json!({ "anyOf": [value(quantity), reference(place)] }),
        Kind::Either(quantity, other) => json!({ "anyOf": [value(quantity), value(other)] }),
        Kind::Count(low, high) => json!({ "type": "integer", "minimum": low, "maximum": high }),
        Kind::Number(low, high) => json!({ "type": "number", "minimum": low, "maximum": high }),
        Kind::Pair(quantity) => pair(value(quantity)),
        Kind::Points(x, y) => points(value(x), value(y)),
        Kind::Curve(quantity) => json!({
            "anyOf": [value(quantity), points(value(keys::PROPERTY_POINT), value(quantity)), reference(Place::Property)]
        }),
        Kind::Constant(quantity) => json!({ "anyOf": [value(quantity), reference(Place::Property)] }),
        Kind::Window(quantity) => json!({ "anyOf": [pair(value(quantity)), reference(Place::Property)] }),
        Kind::CurvePoints => {
            let text = || json!({ "type": "string" });
            json!({ "anyOf": [text(), pair(text()), points(text(), text())] })
        }
        Kind::OfLayers(quantity) => json!({ "type": "object", "additionalProperties": value(quantity) }),
        Kind::Axes => json!({ "$ref": "#/$defs/axes" }),
        Kind::Bands => {
            let relative = json!({ "type": "number", "minimum": 0, "exclusiveMaximum": 1 });
            let ends = json!({ "anyOf": [value(keys::SPREAD), relative, { "type": "object" }] });
            let factor = json!({ "type": "number", "minimum": -0.99, "maximum": 99 });
            let moved = json!({ "anyOf": [value(keys::MOVED), factor, { "type": "object" }] });
            let mode = json!({ "type": "object", "minProperties": 1, "additionalProperties": moved });
            let modes = json!({ "type": "array", "items": mode });
            json!({ "type": "object", "properties": { (MODE): modes }, "additionalProperties": ends })
        }
        Kind::Varied => {
            let number = || json!({ "type": ["string", "number"] });
            let list =
                |count: usize| json!({ "type": "array", "items": number(), "minItems": count, "maxItems": count });
            let forms: Map<String, Value> = forms().map(|(name, count)| (name.to_string(), list(count))).collect();
            let one = json!({ "type": "object", "properties": forms, "additionalProperties": { "type": "object" } });
            json!({ "type": "object", "additionalProperties": one })
        }
        Kind::Ends => pair(json!({ "type": ["string", "number"] })),
        Kind::Step => json!({ "type": ["string", "number"] }),
        Kind::Ranges => {
            let ends = pair(json!({ "type": ["string", "number"] }));
            // A key path in dots is tables within tables.
            let one = json!({ "anyOf": [ends, reference(Place::Ranged), { "type": "object" }] });
            json!({ "type": "object", "minProperties": 1, "additionalProperties": one })
        }
        Kind::Maxima => {
            json!({ "type": "object", "additionalProperties": { "anyOf": [{ "type": "string" }, { "type": "object" }] } })
        }
        Kind::Table(place) => reference(place),
        Kind::Tables(place) => json!({ "type": "array", "items": reference(place) }),
        Kind::NamedTables(place) => json!({ "type": "object", "additionalProperties": reference(place) }),
    }
}

/// A value with its unit; the pattern asks for a number and something after it.
fn value(quantity: Quantity) -> Value {
    json!({
        "type": "string",
        "title": format!("{} in {}", quantity.dimension.name(), quantity.dimension.accepted()),
        "pattern": "^ *([-+]?[0-9.]|AWG|awg).*[^0-9. ]",
    })
}

fn pair(item: Value) -> Value {
    json!({ "type": "array", "items": item, "minItems": 2, "maxItems": 2 })
}

fn points(x: Value, y: Value) -> Value {
    json!({
        "type": "array",
        "minItems": 1,
        "items": { "type": "array", "prefixItems": [x, y], "items": false, "minItems": 2, "maxItems": 2 },
    })
}
