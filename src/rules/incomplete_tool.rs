//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::{self, Gallons, Kind};
use crate::shop::{Shop, Tool};

rule! {
    /// The record of a tool lacks a field that belongs to it.
    ///
    /// - Its name begins with a size, such as "10 mm spanner", but it has no `size`.
    /// - It has a `graduation` or a `tolerance`, but no `range`.
    /// - It is a torque wrench, a meter or a tool with a `calibrated` day, and all others of the shop have a field that it
    ///   lacks: `tolerance` and `graduation` of torque wrenches, `range` and `accuracy` of meters, `due` of what is
    ///   calibrated. There must be at least two others.
    ///
    /// ## At the bench
    ///
    /// A tool that says less is compared less: a spanner without a size fits every nut, a wrench without a range holds
    /// every torque, a meter without an accuracy is fine enough for everything.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.spanner-13]
    /// name = "13 mm spanner"
    /// ```
    ///
    /// ## Fix
    ///
    /// Add the field. It is on the tool itself or in its certificate.
    "incomplete-tool", Trade, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// Fields of a kind of tool, each with whether a tool has it.
type Fields = &'static [(&'static str, fn(&Tool) -> bool)];

const OF_TORQUE_TOOL: Fields = &[
    ("tolerance", |tool| tool.has_tolerance),
    ("graduation", |tool| tool.graduation.is_some()),
];

const OF_METER: Fields = &[
    ("range", |tool| tool.range.is_some()),
    ("accuracy", |tool| tool.has_accuracy),
];

const OF_CALIBRATED: Fields = &[("due", |tool| tool.due.is_some())];

/// The least number of other tools of a kind that must have a field.
const LEAST_OTHERS: usize = 2;

fn check(shop: &Shop, findings: &mut Findings) {
    let is_torque_tool = |tool: &&Tool| tool.torque.is_some();
    let is_meter = |tool: &&Tool| {
        let has_range = tool.range.is_some() && tool.torque.is_none();
        has_range || tool.meter.is_some()
    };
    let torque_tools: Vec<&Tool> = shop.tools.values().filter(is_torque_tool).collect();
    let meters: Vec<&Tool> = shop.tools.values().filter(is_meter).collect();
    let calibrated = shop.tools.values().filter(|tool| tool.calibrated.is_some());
    let calibrated: Vec<&Tool> = calibrated.collect();
    let kinds = [
        (torque_tools, OF_TORQUE_TOOL),
        (meters, OF_METER),
        (calibrated, OF_CALIBRATED),
    ];
    for tool in shop.tools.values() {
        let mut lacks: Vec<&str> = Vec::new();
        if tool.size.is_none() && names_size(tool) {
            lacks.push("size");
        }
        if tool.range.is_none() && (tool.graduation.is_some() || tool.has_tolerance) {
            lacks.push("range");
        }
        for (kind, fields) in &kinds {
            let Some(own) = kind.iter().position(|other| other.id == tool.id) else {
                continue;
            };
            let others = || kind.iter().enumerate().filter(|(index, _)| *index != own);
            let usual = fields.iter().filter(|(_, is_given)| {
                others().count() >= LEAST_OTHERS && others().all(|(_, other)| is_given(other))
            });
            let lacking = usual.filter(|(_, is_given)| !is_given(tool));
            lacks.extend(lacking.map(|(field, _)| *field));
        }
        if lacks.is_empty() {
            continue;
        }
        let lacks: Vec<String> = lacks.iter().map(|field| format!("`{field}`")).collect();
        let message = format!("tool `{}` has no {}", tool.key, lacks.join(" and no "));
        findings.push(
            Finding::new(&RULE, message)
                .primary(tool.span, "")
                .help("add it: without it, the tool is not compared with the work"),
        );
    }
}

/// Whether the name of a tool begins with a length, as those of spanners and sockets do.
fn names_size(tool: &Tool) -> bool {
    let values = quantity::find(&tool.name, Gallons::Unstated).found;
    let first = values.first().filter(|value| value.range.start == 0);
    let is_other = tool.range.is_some() || tool.length.is_some() || tool.extends.is_some();
    first.is_some_and(|value| value.limits.kind() == Kind::Length) && !is_other && !tool.container
}
