//! The values of a sheet, read back from each medium and from the sources.

use super::quantities::is_long;
use benchleaf::quantity::{Limits, Spec};
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// A printed value: in the first unit, and in the second.
pub type PrintedValue = (String, Option<String>);

/// The values in a sheet's data, sorted.
///
/// # Panics
///
/// If the data is not JSON.
#[must_use]
pub fn of_data(data: &str) -> Vec<PrintedValue> {
    let json: Json = serde_json::from_str(data).expect("the data of a sheet is JSON");
    let mut values = Vec::new();
    collect(&json, &mut values);
    values.sort();
    values
}

fn collect(json: &Json, values: &mut Vec<PrintedValue>) {
    match json {
        Json::Object(fields) => {
            if let (Some(Json::String(first)), Some(second), Some(_)) = (
                fields.get("first"),
                fields.get("second"),
                fields.get("unverified"),
            ) {
                values.push((first.clone(), second.as_str().map(str::to_owned)));
            }
            fields.values().for_each(|field| collect(field, values));
        }
        Json::Array(items) => items.iter().for_each(|item| collect(item, values)),
        _ => {}
    }
}

/// The values on an HTML page, sorted.
#[must_use]
pub fn of_html(page: &str) -> Vec<PrintedValue> {
    let mut values = Vec::new();
    for piece in page.split("<span class=\"value\"><b>").skip(1) {
        let (first, rest) = piece.split_once("</b>").unwrap_or((piece, ""));
        let second = rest.strip_prefix(" <span class=\"second\">[");
        let second = second.and_then(|rest| rest.split_once("]</span>"));
        values.push((
            without_entities(first),
            second.map(|(text, _)| without_entities(text)),
        ));
    }
    values.sort();
    values
}

fn without_entities(text: &str) -> String {
    let entities = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#x27;", "'"),
        ("&#39;", "'"),
        ("&amp;", "&"),
    ];
    entities
        .into_iter()
        .fold(text.to_owned(), |text, (entity, letter)| {
            text.replace(entity, letter)
        })
}

/// A value's text without white space, which line breaks change.
#[must_use]
pub fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|letter| !letter.is_whitespace())
        .collect()
}

/// Panics if a value with two units permits in the second what it forbids in the first. Values in words of another
/// language, and those of a column, which have their unit in its heading, are not read.
///
/// # Panics
///
/// See above.
pub fn check_second_unit(value: &PrintedValue) {
    let (first, Some(second)) = value else { return };
    let Ok(limits) = Spec::parse(first) else {
        return;
    };
    match Spec::parse(second) {
        Ok(second) => assert!(
            second.limits().is_inside(limits.limits()),
            "`{first}` forbids a part of `{second}`"
        ),
        Err(error) => assert!(is_long(second), "`{second}` can't be read back: {error}"),
    }
}

/// Panics if a sheet of machine data lacks a value of the machine's file, in any unit, or permits more.
///
/// # Panics
///
/// See above.
pub fn check_machine_data(machine_file: &str, data: &str) {
    let json: Json = serde_json::from_str(data).expect("the data of a sheet is JSON");
    let mut printed = Vec::new();
    collect_limits(&json, &mut printed);
    let Ok(file) = machine_file.parse::<toml::Table>() else {
        return;
    };
    for (table, field) in [
        ("part", "torque"),
        ("reading", "limits"),
        ("fluid", "capacity"),
    ] {
        let records = file.get(table).and_then(toml::Value::as_table);
        for record in records.iter().flat_map(|records| records.values()) {
            let text = record.get(field).and_then(toml::Value::as_str);
            // A value with its pair, or in gallons of an unstated kind, is read with the help of its file.
            let Some(Ok(spec)) = text.map(Spec::parse) else {
                continue;
            };
            let limits = spec.limits();
            let is_printed = printed.iter().any(|printed| printed.is_inside(limits));
            assert!(
                is_printed || is_long(limits.text().as_str()),
                "`{spec}` is not on the sheet"
            );
        }
    }
}

/// The limits on a sheet. A value in a column has its unit in the heading.
fn collect_limits(json: &Json, limits: &mut Vec<Limits>) {
    match json {
        Json::Object(fields) => {
            if let Some(first) = fields.get("first").and_then(Json::as_str) {
                limits.extend(Spec::parse(first).map(|spec| spec.limits().clone()));
            }
            let columns = fields.get("columns").and_then(Json::as_array);
            let rows = fields.get("rows").and_then(Json::as_array);
            for row in rows.into_iter().flatten().filter_map(Json::as_array) {
                for (cell, column) in row.iter().zip(columns.into_iter().flatten()) {
                    let first = cell.pointer("/value/first").and_then(Json::as_str);
                    let title = column.get("title").and_then(Json::as_str);
                    if let (Some(first), Some((_, unit))) =
                        (first, title.and_then(|title| title.rsplit_once(", ")))
                    {
                        let whole = format!("{} {unit}", first.trim());
                        limits.extend(Spec::parse(&whole).map(|spec| spec.limits().clone()));
                    }
                }
            }
            fields
                .values()
                .for_each(|field| collect_limits(field, limits));
        }
        Json::Array(items) => items.iter().for_each(|item| collect_limits(item, limits)),
        _ => {}
    }
}

/// The sheets of machine data among some sheets: for each, the machine's id and the data.
pub fn machine_data(sheets: &BTreeMap<String, String>) -> impl Iterator<Item = (&str, &str)> {
    sheets.iter().filter_map(|(path, data)| {
        let machine = path.strip_suffix("/machine-data")?;
        // In a second language the path has a prefix.
        let machine = machine.rsplit('/').next()?;
        Some((machine, data.as_str()))
    })
}
