//! Writes the JSON Schema of a kind of file.
//!
//! A schema never rejects what the reader accepts. It accepts some of what the reader rejects, because it sees one file:
//! it knows no ids of other files, and it can't calculate with values.

use super::FileKind;
use super::object::Object;
use crate::prose::{ThingKind, Verb};
use crate::quantity::{Kind, Unit};
use crate::record::{Description, Form, ID_PATTERN, MAX_COUNT, MAX_RECORDS, Table, Value};
use crate::shop::capitalised;
use crate::shop::fields::machine;
use serde_json::json;

/// The JSON Schema of a kind of file.
pub(super) fn schema(kind: FileKind) -> Object {
    let head = Object::default()
        .with("$schema", "http://json-schema.org/draft-07/schema#")
        .with(
            "$comment",
            format!("Written by `benchleaf schema {}`.", kind.name()),
        )
        .with("title", format!("Benchleaf: {}", kind.files()));
    head.with("description", sentence(kind.table().about))
        .and(file_schema(kind))
}

/// The schema of a whole file. What a machine takes over from another one need not be in its file.
fn file_schema(kind: FileKind) -> Object {
    if kind != FileKind::Machine {
        return table_schema(kind.table());
    }
    let like = machine::LIKE.description.key;
    let like = Object::default().with("required", vec![like]);
    let object = loose_table_schema(kind.table());
    object
        .and(required(kind.table()))
        .with("if", Object::default().with("not", like))
        .with("then", required_within(kind.table()))
}

/// What is required of the tables in a table, and of those in them.
fn required_within(table: &Table) -> Object {
    let mut properties = Object::default();
    for field in table.fields {
        let whole = |table| required(table).and(required_within(table));
        let inner = match field.value {
            Value::Table(table) => whole(table),
            Value::Tables(table) => Object::default().with("additionalProperties", whole(table)),
            _ => continue,
        };
        properties = properties.with(field.key, inner);
    }
    if properties.is_empty() {
        return properties;
    }
    Object::default().with("properties", properties)
}

/// The fields that a table needs.
fn required(table: &Table) -> Object {
    let required = table.fields.iter().filter(|field| field.is_required);
    let required: Vec<&str> = required.map(|field| field.key).collect();
    if required.is_empty() {
        Object::default()
    } else {
        Object::default().with("required", required)
    }
}

/// A doc comment as one line.
fn sentence(about: &str) -> String {
    about.trim().to_owned()
}

/// The schema of a table with all that it needs.
fn table_schema(table: &Table) -> Object {
    closed(properties(table, table_schema)).and(required(table))
}

/// The schema of a table that need not have what is required in its fields, because it takes over the rest.
fn loose_table_schema(table: &Table) -> Object {
    closed(properties(table, loose_table_schema))
}

/// The schemas of a table's fields. `inner` is that of a table in a field.
fn properties(table: &Table, inner: fn(&Table) -> Object) -> Object {
    let fields = table.fields.iter();
    fields.fold(Object::default(), |properties, field| {
        properties.with(field.key, field_schema(field, inner))
    })
}

/// A table with these keys and no others.
fn closed(properties: Object) -> Object {
    Object::default()
        .with("type", "object")
        .with("properties", properties)
        .with("additionalProperties", false)
}

fn field_schema(field: &Description, inner: fn(&Table) -> Object) -> Object {
    let about = sentence(field.about);
    let described = match what(field) {
        Some(what) => format!("{about} {what}"),
        None => about,
    };
    let object = Object::default()
        .with("description", described)
        .and(value(field.value, inner));
    let examples = examples(field);
    if examples.is_empty() {
        object
    } else {
        object.with("examples", examples)
    }
}

/// What the texts of a field are, where a schema can't say it otherwise: "The id of a part.", "A torque."
fn what(field: &Description) -> Option<String> {
    let (Value::Text(form) | Value::Texts { form, .. }) = field.value else {
        return None;
    };
    let (start, kinds) = match form {
        Form::Id(kinds) => ("The id of ", kinds()),
        Form::Quantity(kinds) => ("", kinds.iter().map(|kind| kind.name()).collect()),
        _ => return None,
    };
    let (last, most) = kinds.split_last()?;
    let kinds = if most.is_empty() {
        (*last).to_owned()
    } else {
        format!("{} or {last}", most.join(", "))
    };
    let article = if kinds.starts_with(['a', 'e', 'i', 'o']) {
        "an"
    } else {
        "a"
    };
    let what = format!("{start}{article} {kinds}.");
    Some(capitalised(&what))
}

fn value(value: Value, inner: fn(&Table) -> Object) -> Object {
    match value {
        Value::Text(form) => text(form),
        Value::Texts { form, may_be_empty } => texts(form, may_be_empty),
        Value::Count => Object::default()
            .with("type", "integer")
            .with("minimum", 1_u32)
            .with("maximum", MAX_COUNT),
        Value::Number => number(),
        Value::Numbers => Object::default()
            .with("type", "array")
            .with("items", number()),
        Value::Flag => Object::default().with("type", "boolean"),
        // TOML has dates and JSON has none: validators get the date as it is written.
        Value::Date => Object::default()
            .with("type", "string")
            .with("format", "date")
            .with("pattern", "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"),
        Value::Table(table) => inner(table),
        Value::Tables(table) => {
            let record = Object::default()
                .with("title", table.name)
                .with("description", sentence(table.about))
                .and(inner(table));
            Object::default()
                .with("type", "object")
                .with(
                    "patternProperties",
                    Object::default().with(format!("^{ID_PATTERN}$"), record),
                )
                .with("additionalProperties", false)
                .with("maxProperties", MAX_RECORDS)
        }
        Value::Pairs { key, text: form } => keyed(key, |_| text(form)),
        Value::Lists { key, text: form } => keyed(key, |key| {
            let list = Object::default()
                .with("type", "array")
                .with("items", text(form));
            match form {
                Form::Unit => list.and(units(key)),
                _ => list,
            }
        }),
    }
}

/// The units of a kind of quantity, as the examples of a list of them.
fn units(kind: &str) -> Object {
    let kind = Kind::from_name(kind);
    let units = Unit::ALL.iter().filter(|unit| Some(unit.kind()) == kind);
    let units: Vec<&str> = units.map(|unit| unit.symbol()).collect();
    Object::default().with("examples", vec![json!(units)])
}

fn number() -> Object {
    Object::default()
        .with("type", "number")
        .with("exclusiveMinimum", 0_u32)
}

fn text(form: Form) -> Object {
    Object::default()
        .with("type", "string")
        .and(text_keywords(form))
}

/// What a schema demands of a text. Except for a list of words, it demands nothing of other values.
fn text_keywords(form: Form) -> Object {
    let object = Object::default();
    match form {
        Form::Any | Form::Markdown | Form::Quantity(_) | Form::Unit => {
            object.with("minLength", 1_u32)
        }
        Form::OneOf(words) => object.with("enum", words()),
        Form::Matching(pattern) => object.with("pattern", pattern),
        Form::Id(_) => object.with("pattern", format!("^{ID_PATTERN}$")),
        Form::Action(words) => {
            let words = words.iter().map(|word| format!("{word}|"));
            let words: String = words.collect();
            let verbs: Vec<&str> = performed().map(Verb::word).collect();
            object.with(
                "pattern",
                format!("^({words}({}):{ID_PATTERN})$", verbs.join("|")),
            )
        }
        Form::Rule => {
            let rules = crate::rules::all().into_iter();
            let names: Vec<&str> = rules.map(|rule| rule.name).collect();
            object.with("enum", names)
        }
    }
}

/// The verbs of actions that a record can name: those that a step performs at the machine.
fn performed() -> impl Iterator<Item = Verb> {
    let refers = |verb: &Verb| {
        matches!(
            verb.takes(),
            ThingKind::Procedure | ThingKind::Place | ThingKind::Caution | ThingKind::Time
        )
    };
    Verb::ALL.iter().copied().filter(move |verb| !refers(verb))
}

/// A text or a list of texts.
fn texts(form: Form, may_be_empty: bool) -> Object {
    let min_items = usize::from(!may_be_empty);
    if let Form::OneOf(_) = form {
        let list = Object::default()
            .with("type", "array")
            .with("items", text(form))
            .with("minItems", min_items);
        return Object::default().with("anyOf", [text(form), list]);
    }
    // Validators explain this better than a choice between two schemas.
    Object::default()
        .with("type", vec!["string", "array"])
        .and(text_keywords(form))
        .with("items", text(form))
        .with("minItems", min_items)
}

/// A table whose keys have this form. `value` is the schema of the value of a key.
fn keyed(key: Form, value: impl Fn(&str) -> Object) -> Object {
    let mut properties = Object::default();
    match key {
        Form::OneOf(words) => {
            for word in words() {
                let value = value(&word);
                properties = properties.with(word, value);
            }
        }
        Form::Rule => {
            for rule in crate::rules::all() {
                let what = rule.page.trim().lines().next().unwrap_or_default();
                let described = Object::default().with("description", what);
                properties = properties.with(rule.name, described.and(value(rule.name)));
            }
        }
        _ => {
            return Object::default()
                .with("type", "object")
                .with("additionalProperties", value(""));
        }
    }
    closed(properties)
}

fn examples(field: &Description) -> Vec<serde_json::Value> {
    let one = |text: &&str| match field.value {
        Value::Count | Value::Number | Value::Numbers => {
            serde_json::from_str(text).unwrap_or_else(|_| json!(text))
        }
        _ => json!(text),
    };
    let examples: Vec<serde_json::Value> = field.examples.iter().map(one).collect();
    match field.value {
        Value::Texts { .. } | Value::Numbers if !examples.is_empty() => vec![json!(examples)],
        _ => examples,
    }
}
