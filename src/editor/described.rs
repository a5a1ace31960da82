//! What the fields of a file can hold, from the descriptions by which the file is read.

use crate::prose::ThingKind;
use crate::record::{Description, Form, Value};
use crate::schema::{FileKind, Place};
use crate::tree::SourceKind;

/// What the texts of a field name.
pub(super) enum Named {
    /// Things of these kinds.
    Things(Vec<ThingKind>),
    /// Actions, such as `run:engine`.
    Actions,
}

/// What a field of a record names. `tables` are the keys of the tables that the record is in, without ids: `part` in
/// `[part.cover]`, and `part` and `dimension` in `[part.shaft.dimension.pin]`. There are none for a
/// field above all tables. `None` if it names nothing.
pub(super) fn named(file: &SourceKind, tables: &[&str], field: &str) -> Option<Named> {
    let kind = FileKind::of(file);
    let mut path = Vec::new();
    for table in tables {
        path.push(*table);
        if let Place::Ids(_) = kind.at(&path)? {
            path.push("any");
        }
    }
    path.push(field);
    let Place::Field(field) = kind.at(&path)? else {
        return None;
    };
    let (Value::Text(form) | Value::Texts { form, .. }) = field.value else {
        return None;
    };
    match form {
        Form::Id(words) => {
            let procedure = ThingKind::Procedure;
            let kinds = words().into_iter().filter_map(|word| {
                // A procedure is a file and no record.
                let is_procedure = word == procedure.word();
                ThingKind::of_word(word).or(is_procedure.then_some(procedure))
            });
            Some(Named::Things(kinds.collect()))
        }
        Form::Action(_) => Some(Named::Actions),
        _ => None,
    }
}

/// The fields of the front matter of a file. Empty if it has none.
pub(super) fn front_fields(file: &SourceKind) -> Vec<&'static Description> {
    let kind = FileKind::of(file);
    match kind {
        FileKind::Procedure | FileKind::Fault => kind.table().fields.to_vec(),
        _ => Vec::new(),
    }
}

/// What is written after the key of a field and `=`, with the place of the cursor at `$0`.
pub(super) fn value_snippet(field: &Description) -> &'static str {
    match field.value {
        Value::Text(_) => "\"$0\"",
        Value::Texts { .. } => "[\"$0\"]",
        Value::Numbers => "[$0]",
        Value::Table(_) | Value::Tables(_) | Value::Pairs { .. } | Value::Lists { .. } => "{ $0 }",
        Value::Count | Value::Number | Value::Flag | Value::Date => "$0",
    }
}
