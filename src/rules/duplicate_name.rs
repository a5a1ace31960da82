//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, Span, rule};
use crate::tree::SourceKind;
use std::collections::BTreeMap;

rule! {
    /// Two things of one kind have the same name.
    ///
    /// ## At the bench
    ///
    /// The sheet says "cover nut" twice and means two different ones. On the kit list, nobody can tell them apart.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.wrench-10-deep]
    /// name = "10 mm wrench"
    /// size = "10 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Say in the name what is different: where it is, its size or its number.
    "duplicate-name", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let shop = scene.shop;
    let report = |table: &str, names: &mut dyn Iterator<Item = (&str, &str)>| {
        report_table(scene, table, names)
    };
    let found = match &scene.file.kind {
        SourceKind::Tools => report(
            "tool",
            &mut shop.tools.values().map(|tool| (&*tool.key, &*tool.name)),
        ),
        SourceKind::Supplies => report(
            "supply",
            &mut shop
                .supplies
                .values()
                .map(|supply| (&*supply.key, &*supply.name)),
        ),
        SourceKind::Machine { id } => {
            let Some(machine) = shop.machines.get(id) else {
                return;
            };
            let same_name = shop.machines.values().find(|other| {
                other.index < machine.index
                    && other.name.value.eq_ignore_ascii_case(&machine.name.value)
            });
            let mut found: Vec<Finding> = Vec::new();
            if let Some(other) = same_name {
                let message = format!("machines `{}` and `{id}` have the same name", other.id);
                found.push(
                    finding(message, machine.name.span)
                        .secondary(other.name.span, "the other machine"),
                );
            }
            found.extend(report(
                "part",
                &mut machine.parts.values().map(|part| (&*part.key, &*part.name)),
            ));
            found.extend(report(
                "valve",
                &mut machine
                    .valves
                    .values()
                    .map(|valve| (&*valve.key, &*valve.name)),
            ));
            found.extend(report(
                "control",
                &mut machine
                    .controls
                    .values()
                    .map(|control| (&*control.key, &*control.name)),
            ));
            found.extend(report(
                "fluid",
                &mut machine
                    .fluids
                    .values()
                    .map(|fluid| (&*fluid.key, &*fluid.name)),
            ));
            found.extend(report(
                "energy",
                &mut machine
                    .energies
                    .values()
                    .map(|energy| (&*energy.key, &*energy.name)),
            ));
            found.extend(report(
                "reading",
                &mut machine
                    .readings
                    .values()
                    .filter(|reading| reading.dimension.is_none())
                    .map(|reading| (&*reading.key, &*reading.name)),
            ));
            // Two parts may have a dimension of the same name, such as the free length of a spring.
            for part in machine.parts.values() {
                found.extend(report(
                    &format!("part.{}.dimension", part.key),
                    &mut part
                        .dimensions
                        .values()
                        .map(|dimension| (&*dimension.key, &*dimension.name)),
                ));
            }
            found
        }
        _ => return,
    };
    for finding in found {
        findings.push(finding);
    }
}

/// Reports the records of a table whose name an earlier record has. `names` has each record's key and name.
fn report_table(
    scene: &TextScene<'_>,
    table: &str,
    names: &mut dyn Iterator<Item = (&str, &str)>,
) -> Vec<Finding> {
    let mut first: BTreeMap<String, &str> = BTreeMap::new();
    let mut found = Vec::new();
    for (key, name) in names {
        let folded = folded(name);
        // A missing name is an error of its own.
        if folded.is_empty() {
            continue;
        }
        match first.get(&folded) {
            Some(other) => {
                let message = format!("`{other}` and `{key}` have the same name: `{name}`");
                let finding = finding(message, header(scene, table, key));
                found.push(finding.secondary(header(scene, table, other), "the other one"));
            }
            None => {
                first.insert(folded, key);
            }
        }
    }
    found
}

fn finding(message: String, span: Span) -> Finding {
    Finding::new(&RULE, message)
        .primary(span, "")
        .help("say in the name what is different: where it is, its size or its number")
}

/// The span of a record's header, `[part.cover]`.
fn header(scene: &TextScene<'_>, table: &str, key: &str) -> Span {
    let header = format!("[{table}.{key}]");
    let at = scene.file.text.find(&header);
    at.map_or(scene.file.span(0..0), |at| {
        scene.file.span(at..at + header.len())
    })
}

/// A name without differences that nobody sees on a sheet.
fn folded(name: &str) -> String {
    let words: Vec<&str> = name.split_whitespace().collect();
    words.join(" ").to_lowercase()
}
