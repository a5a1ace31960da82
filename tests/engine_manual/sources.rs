//! What the sources of the tree `engine-manual` say, read without Benchleaf.

use crate::support::{files, tree};
use std::collections::BTreeSet;
use std::path::PathBuf;
use toml::{Table, Value};

/// An item of an inspection: its number and text, what to look for, and when the machine is not ready.
pub(crate) type InspectionItem = (String, String, String);

pub(crate) fn source() -> PathBuf {
    tree("engine-manual")
}

/// The procedures: path, front matter and text.
pub(crate) fn procedures() -> Vec<(String, Table, String)> {
    let procedures = files(&source()).into_iter().filter_map(|(path, bytes)| {
        let is_procedure = path.strip_suffix(".md").is_some() && !path.starts_with("faults/");
        let text = is_procedure.then(|| String::from_utf8(bytes).unwrap())?;
        let (front, body) = text
            .strip_prefix("+++\n")
            .unwrap()
            .split_once("+++\n")
            .unwrap();
        Some((path, front.parse().unwrap(), body.to_owned()))
    });
    procedures.collect()
}

/// The id of a procedure by its path.
pub(crate) fn id(path: &str) -> &str {
    path.rsplit_once('/')
        .unwrap()
        .1
        .strip_suffix(".md")
        .unwrap()
}

/// The file of a machine, as written.
pub(crate) fn record(machine: &str) -> Table {
    let path = source().join(format!("machines/{machine}.toml"));
    std::fs::read_to_string(path).unwrap().parse().unwrap()
}

/// A machine with what it takes over from the one that it is like.
pub(crate) fn machine(id: &str) -> Table {
    let own = record(id);
    let Some(like) = own.get("like").and_then(Value::as_str) else {
        return own;
    };
    let mut whole = record(like);
    for key in own.get("lacks").and_then(Value::as_array).unwrap() {
        for (_, value) in &mut whole {
            let Some(table) = value.as_table_mut() else {
                continue;
            };
            table.remove(key.as_str().unwrap());
        }
    }
    merge(&mut whole, &own);
    whole
}

pub(crate) fn merge(into: &mut Table, from: &Table) {
    for (key, value) in from {
        match (into.get_mut(key).and_then(Value::as_table_mut), value) {
            (Some(into), Value::Table(from)) => merge(into, from),
            _ => {
                into.insert(key.clone(), value.clone());
            }
        }
    }
}

/// A value as the column of a table prints it, whose head has its unit: "9 ± 1" for "9 N·m ± 1 N·m".
pub(crate) fn without_unit(value: &str, unit: &str) -> String {
    let value = value.replace(&format!(" {unit}"), "");
    value.replace("max ", "at most ")
}

/// The records of a kind, with their keys.
pub(crate) fn records<'m>(machine: &'m Table, kind: &str) -> Vec<(&'m String, &'m Table)> {
    let records = machine[kind].as_table().unwrap().iter();
    records
        .map(|(key, record)| (key, record.as_table().unwrap()))
        .collect()
}

pub(crate) fn text<'t>(record: &'t Table, key: &str) -> Option<&'t str> {
    record.get(key).and_then(Value::as_str)
}

/// The names and torques of the fasteners.
pub(crate) fn torques(machine: &Table) -> BTreeSet<(String, String)> {
    let mut all = BTreeSet::new();
    for (_, part) in records(machine, "part") {
        let count = part.get("count").and_then(Value::as_integer).unwrap_or(1);
        let mut name = text(part, "name").unwrap().to_owned();
        if let Some(thread) = text(part, "thread") {
            let thread = thread.replace('x', "×");
            name.push_str(", ");
            if count > 1 {
                name.push_str(&count.to_string());
                name.push_str(" × ");
            }
            name.push_str(&thread);
        }
        if let Some(torque) = text(part, "torque") {
            all.insert((name, without_unit(torque, "N·m")));
        } else if let Some(stages) = part.get("stages").and_then(Value::as_array) {
            for (index, stage) in stages.iter().enumerate() {
                let stage_name = format!("{name}, stage {} of {}", index + 1, stages.len());
                all.insert((stage_name, without_unit(stage.as_str().unwrap(), "N·m")));
            }
        }
    }
    all
}

/// The names, new and desired sizes and wear limits of the dimensions.
pub(crate) fn dimensions(machine: &Table) -> BTreeSet<[String; 4]> {
    let mut all = BTreeSet::new();
    for (_, part) in records(machine, "part") {
        if !part.contains_key("dimension") {
            continue;
        }
        for (_, dimension) in records(part, "dimension") {
            let (part, name) = (
                text(part, "name").unwrap(),
                text(dimension, "name").unwrap(),
            );
            let value = |key| match text(dimension, key) {
                Some(value) => without_unit(value, "mm"),
                None => "–".to_owned(),
            };
            all.insert([
                format!("{part}, {name}"),
                value("new"),
                value("desired"),
                value("wear-limit"),
            ]);
        }
    }
    all
}

/// The names and limits of the readings. The limits of a level are its marks.
pub(crate) fn readings(machine: &Table) -> BTreeSet<(String, String)> {
    let readings = records(machine, "reading").into_iter();
    let all = readings.map(|(_, reading)| {
        let marks = reading.get("marks").and_then(Value::as_array);
        let marks = marks.map(|marks| {
            let [low, high] = [0, 1].map(|index| marks[index].as_str().unwrap());
            format!("between {low} and {high}")
        });
        let limits = text(reading, "limits").map(|limits| limits.replace("max ", "at most "));
        (
            text(reading, "name").unwrap().to_owned(),
            limits.or(marks).unwrap(),
        )
    });
    all.collect()
}

/// A text without its links.
pub(crate) fn without_links(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('[') {
        let (label, after) = after.split_once("](").unwrap();
        plain += before;
        plain += label;
        rest = after.split_once(')').unwrap().1;
    }
    plain + rest
}

/// Whether a machine has whatever an item of an inspection names.
pub(crate) fn has_all(machine: &Table, item: &str) -> bool {
    let links = item
        .split("](")
        .skip(1)
        .map(|rest| rest.split_once(')').unwrap().0);
    let mut names = links.map(|link| link.split_once(':').unwrap().1);
    names.all(|name| {
        let mut tables = machine.values().filter_map(Value::as_table);
        tables.any(|table| table.contains_key(name))
    })
}

/// The items of the inspections of a procedure on a machine.
pub(crate) fn inspection_items(body: &str, id: &str) -> Vec<InspectionItem> {
    let machine = machine(id);
    let mut items: Vec<InspectionItem> = Vec::new();
    let sections = body.split("\n## ").skip(1);
    for section in
        sections.filter(|section| section.lines().next().unwrap().contains("{.inspection}"))
    {
        for item in section.split("\n\n").skip(1) {
            for part in item
                .trim()
                .lines()
                .collect::<Vec<_>>()
                .chunk_by(|_, line| line.starts_with(' '))
            {
                let (first, marks) = part[0].split_once(" {").unwrap_or((part[0], ""));
                let (_, text) = first.split_once(". ").unwrap();
                let is_other = marks.contains("only=")
                    && !marks.contains(&format!("{id} "))
                    && !marks.contains(&format!("{id}\""));
                if is_other || (marks.contains("if-fitted") && !has_all(&machine, first)) {
                    continue;
                }
                let points = part[1..]
                    .iter()
                    .map(|line| line.trim_start().strip_prefix("- ").unwrap());
                let (criteria, looks): (Vec<&str>, Vec<&str>) =
                    points.partition(|point| point.starts_with("Not ready if: "));
                let criteria = criteria
                    .iter()
                    .map(|point| point.strip_prefix("Not ready if: ").unwrap());
                items.push((
                    format!("{}. {}", items.len() + 1, without_links(text)),
                    looks.join(" "),
                    criteria.collect::<Vec<_>>().join(" "),
                ));
            }
        }
    }
    items
}
