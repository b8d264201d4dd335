//! The JSON Schema of a record.

use super::content::Document;
use schemars::transform::{RecursiveTransform, Transform};
use schemars::{Schema, SchemaGenerator};
use serde_json::{Value, json};

/// Keys that came after the first records of their version, which lack them.
const LATER: [(&str, &str); 1] = [("MonteCarloResults", "verdict")];

/// The schema. Every key that a record may have is required, but for those that older ones lack.
pub(super) fn of_a_record() -> Value {
    let mut schema = SchemaGenerator::default().into_root_schema_for::<Document>();
    RecursiveTransform(all_required).transform(&mut schema);
    let mut schema = schema.to_value();
    let properties = &mut schema["properties"];
    properties["format"]["const"] = json!(super::Record::FORMAT);
    properties["version"] = json!({
        "description": properties["version"]["description"],
        "type": "integer",
        "minimum": 1,
        "maximum": super::Record::VERSION,
    });
    properties["digest"] = json!({
        "description": properties["digest"]["description"],
        "$ref": "#/$defs/Digest",
    });
    schema["$defs"]["Digest"]["properties"]["value"]["pattern"] = json!("^[0-9a-f]{64}$");
    for (structure, key) in LATER {
        if let Value::Array(required) = &mut schema["$defs"][structure]["required"] {
            required.retain(|own| own != key);
        }
    }
    schema["title"] = json!("Record of flowdoubt");
    schema
}

fn all_required(schema: &mut Schema) {
    let Some(Value::Object(properties)) = schema.get("properties") else {
        return;
    };
    let keys: Vec<String> = properties.keys().cloned().collect();
    schema.insert("required".to_owned(), json!(keys));
}
