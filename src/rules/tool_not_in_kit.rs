//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use super::text_names_other_part::has_words;
use super::typed_value::TypedStep;
use crate::finding::{Finding, Findings, Span, rule};
use crate::procedure::{Procedure, Step};
use crate::prose::{Verb, plain};
use crate::shop::{Shop, Supply, Tool};
use std::collections::BTreeSet;

rule! {
    /// A step names a tool or a supply, and no step of the job puts it on the kit list.
    ///
    /// A tool is named by its name, without what follows a comma, or by one of the texts in `also`. Spanners and torque
    /// wrenches are left out, because the fasteners choose them. So is the tool of a reading that the job takes. A supply is named by its name, of two words or more.
    ///
    /// ## At the bench
    ///
    /// The tank is open, and the funnel hangs in the crib.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.funnel]
    /// name = "strainer funnel"
    /// also = ["funnel"]
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. Through the funnel, [fill the pump](fill:water).
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the name as a link: `[funnel](use:funnel)`.
    "tool-not-in-kit", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(procedure) = scene.procedure else {
        return;
    };
    let is_candidate = |tool: &&Tool| tool.size.is_none() && tool.torque.is_none();
    let tools: Vec<&Tool> = scene.shop.tools.values().filter(is_candidate).collect();
    let used = used_tools(scene, procedure);
    // Two tools of the crib can have the same name.
    let is_used = |tool: &&Tool| used.contains(tool.key.as_str());
    let all_tools = scene.shop.tools.values();
    let used_names: BTreeSet<&str> = all_tools.filter(is_used).flat_map(names_of).collect();
    for step in procedure.steps() {
        let text = text_of(step);
        for tool in tools
            .iter()
            .filter(|tool| !used.contains(tool.key.as_str()))
        {
            let is_free = |name: &&str| !used_names.contains(name) && has_words(&text, name);
            let Some(name) = names_of(tool).find(is_free) else {
                continue;
            };
            let message = format!("`{}` is named, and is on no kit list", tool.key);
            findings.push(
                Finding::new(&RULE, message)
                    .primary(span_of(scene, step, name), "named here")
                    .secondary(tool.span, "this tool")
                    .help(format!("write `[{name}](use:{})`", tool.key)),
            );
        }
    }
    check_supplies(scene, procedure, findings);
}

/// A supply is named by its whole name, of two words or more: a single word, such as *oil*, is also what is in the
/// machine.
fn check_supplies(scene: &TextScene<'_>, procedure: &Procedure, findings: &mut Findings) {
    let supplies = scene.shop.supplies.values().map(|supply| {
        let name = supply.name.split([',', '(']).next().unwrap_or_default();
        (supply, name.trim())
    });
    let named = supplies.filter(|(_, name)| name.contains(' '));
    let named: Vec<(&Supply, &str, &Step)> = named
        .filter_map(|(supply, name)| {
            let mut steps = procedure.steps();
            let step = steps.find(|step| has_words(&text_of(step), name))?;
            Some((supply, name, step))
        })
        .collect();
    if named.is_empty() {
        return;
    }
    let used = used_supplies(scene, procedure);
    for (supply, name, step) in named {
        if used.contains(supply.key.as_str()) {
            continue;
        }
        let message = format!("`{}` is named, and is on no kit list", supply.key);
        findings.push(
            Finding::new(&RULE, message)
                .primary(span_of(scene, step, name), "named here")
                .help(format!("write `[{name}](apply:{})`", supply.key)),
        );
    }
}

/// The keys of the supplies that the job of a procedure needs: by `apply:`, and those that its fluids are filled with.
fn used_supplies<'t>(scene: &TextScene<'t>, procedure: &'t Procedure) -> BTreeSet<&'t str> {
    let mut used = BTreeSet::new();
    for part in all_parts(scene, procedure) {
        for action in part.steps().flat_map(Step::actions) {
            if action.verb == Verb::Apply {
                used.insert(TypedStep::thing(action));
            }
        }
        // What a machine holds may be named when it is let out.
        for machine in &part.machines {
            let fluids = scene.shop.machines[machine.value].fluids.values();
            let filled = fluids.filter_map(|fluid| fluid.supply.as_ref());
            used.extend(filled.map(|supply| scene.shop.supplies[supply.value].key.as_str()));
        }
    }
    used
}

/// A procedure and all that it includes.
fn all_parts<'t>(scene: &TextScene<'t>, procedure: &'t Procedure) -> Vec<&'t Procedure> {
    let mut parts = vec![procedure];
    let mut next = 0;
    while let Some(part) = parts.get(next).copied() {
        next += 1;
        for included in part.parts() {
            let included = &scene.procedures[included.value.index()];
            if !parts.iter().any(|part| std::ptr::eq(*part, included)) {
                parts.push(included);
            }
        }
    }
    parts
}

/// The keys of the tools that the job of a procedure puts on its kit list: by `use:`, and with the readings that it
/// takes.
fn used_tools<'t>(scene: &TextScene<'t>, procedure: &'t Procedure) -> BTreeSet<&'t str> {
    let mut used = BTreeSet::new();
    for part in all_parts(scene, procedure) {
        for step in part.steps() {
            for action in step.actions() {
                match action.verb {
                    Verb::Use => {
                        used.insert(TypedStep::thing(action));
                    }
                    Verb::Measure | Verb::Adjust => {
                        used.extend(meters(scene.shop, part, TypedStep::thing(action)));
                    }
                    _ => {}
                }
            }
        }
    }
    used
}

/// The tools of a reading on the machines of a procedure.
fn meters<'t>(
    shop: &'t Shop,
    procedure: &'t Procedure,
    reading: &'t str,
) -> impl Iterator<Item = &'t str> {
    procedure.machines.iter().filter_map(move |machine| {
        let reading = shop.machines[machine.value].readings.get(reading)?;
        shop.tool_of(reading).map(|tool| tool.key.as_str())
    })
}

fn text_of(step: &Step) -> String {
    let mut text = plain(&step.text);
    for note in &step.notes {
        text.push(' ');
        text += &plain(note);
    }
    text
}

/// The names of a tool. Remarks follow a comma: "fire extinguisher, foam or powder".
fn names_of(tool: &Tool) -> impl Iterator<Item = &str> {
    let name = tool.name.split([',', '(']).next().unwrap_or_default();
    let names = std::iter::once(name.trim()).chain(tool.also.iter().map(String::as_str));
    names.filter(|name| name.len() > 2)
}

/// The span of a name in a step, or of the step's first line if markup interrupts the name.
fn span_of(scene: &TextScene<'_>, step: &Step, name: &str) -> Span {
    let text = scene.tree.text(step.span);
    let lower = text.to_ascii_lowercase();
    match lower.find(&name.to_ascii_lowercase()) {
        Some(at) => step.span.part(at..at + name.len()),
        None => step.span.part(0..text.find('\n').unwrap_or(text.len())),
    }
}
