//! The reference of the format, compared with the schemas: it has every field, and marks those that are required.

use crate::support::root;
use serde_json::Value as Json;

/// What the reference says of a kind of table.
fn part_about<'t>(reference: &'t str, table: &str) -> &'t str {
    let row = format!("| `[{table}.ID]` |");
    let paragraph = format!("`[{table}.ID]`: ");
    let (start, end) = match table {
        "shop" => ("## shop.toml", "\n## "),
        "procedure" => ("## Procedures", "\n## "),
        "fault" => ("`faults/ID.md` is one complaint", "\n\n"),
        "machine" | "engine" | "generator" => ("At the top: ", "\n\n"),
        "run" => ("| `[run]` |", "\n"),
        "calculated" => ("`[reading.ID.calculated]` has ", "\n\n"),
        "waste" => ("| `[waste]` |", "\n"),
        "part" => ("`[part.ID]`: ", "`[part.ID.dimension.ID]`"),
        "dimension" => ("`[part.ID.dimension.ID]` is ", "\n\n"),
        "tool" | "supply" | "caution" | "term" => (paragraph.as_str(), "\n\n"),
        _ => (row.as_str(), "\n"),
    };
    let (_, rest) = reference
        .split_once(start)
        .unwrap_or_else(|| panic!("the reference has no `{start}`"));
    rest.split_once(end).unwrap().0
}

/// What the reference does not say, or says otherwise, of the fields of a table and of the tables in it.
fn faults(reference: &str, table: &str, schema: &Json) -> Vec<String> {
    let mut found = Vec::new();
    let part = part_about(reference, table);
    let required = schema["required"].as_array();
    let is_required =
        |key: &str| required.is_some_and(|required| required.iter().any(|r| r == key));
    for (key, field) in schema["properties"].as_object().unwrap() {
        if let Some(records) = field["patternProperties"].as_object() {
            // The dimensions of a part are in its own table.
            let name = match table {
                "part" => format!("`[part.ID.{key}.ID]`"),
                _ => format!("`[{key}.ID]`"),
            };
            if !reference.contains(&name) {
                found.push(format!("{name} is missing"));
            }
            found.extend(
                records
                    .values()
                    .flat_map(|record| faults(reference, key, record)),
            );
            continue;
        }
        let is_there = part.contains(&format!("`{key}`"));
        let is_table = reference.contains(&format!("`[{key}]`"));
        if !is_there && !is_table {
            found.push(format!("`{key}` of `{table}` is missing"));
        }
        // Required for all kinds of energy but heat, as the reference explains.
        let is_conditional = table == "energy" && key == "restore";
        let is_marked = part.contains(&format!("`{key}` *"));
        if is_marked != is_required(key) && !is_conditional {
            found.push(format!("`{key}` of `{table}`: the mark `*` is wrong"));
        }
        if matches!(
            key.as_str(),
            "engine" | "generator" | "run" | "waste" | "calculated"
        ) && field["type"] == "object"
        {
            found.extend(faults(reference, key, field));
        }
    }
    found
}

#[test]
fn the_reference_has_every_field() {
    let reference = std::fs::read_to_string(root().join("procedures/README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut found = Vec::new();
    for (kind, schema) in crate::schemas(folder.path()) {
        match kind {
            // Each holds records of a single kind.
            "tools" | "supplies" | "cautions" | "glossary" => {
                let fields = schema["properties"].as_object().unwrap();
                let (key, field) = fields.iter().next().unwrap();
                let records = field["patternProperties"].as_object().unwrap();
                found.extend(
                    records
                        .values()
                        .flat_map(|record| faults(&reference, key, record)),
                );
            }
            _ => found.extend(faults(&reference, kind, &schema)),
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}
