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

/// What a field of a record names. `table` is the first key of the record's table: `part` in `[part.cover]`. It is empty for
/// a field above all tables. `None` if the field names nothing.
pub(super) fn named(file: &SourceKind, table: &str, field: &str) -> Option<Named> {
    let kind = FileKind::of(file);
    let place = if table.is_empty() {
        kind.at(&[field])?
    } else {
        match kind.at(&[table])? {
            Place::Ids(_) => kind.at(&[table, "any", field])?,
            Place::Table(_) => kind.at(&[table, field])?,
            Place::Field(_) => return None,
        }
    };
    let Place::Field(field) = place else {
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
