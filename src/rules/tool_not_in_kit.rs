//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use super::kit_names::{Item, Name};
use super::text_names_other_part::has_words;
use super::typed_value::TypedStep;
use crate::finding::{Finding, Findings, Span, rule};
use crate::procedure::{Procedure, Step};
use crate::prose::{Verb, plain};
use crate::shop::{Shop, ToolId};

rule! {
    /// A step names a tool or a supply, and no step of the job puts it on the kit list.
    ///
    /// A tool is named by its name, without what follows a comma, or by one of the texts in `also`. Spanners and torque
    /// wrenches are left out, because the fasteners choose them. So is the tool of a reading that the job takes. A
    /// supply is named by its name, of two words or more.
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
    // The step that names a thing nearly always uses it by a link, so the rest is done for few files.
    let mut free = scene.kit_names.unlinked(scene.tree.text(procedure.body));
    if free.is_empty() {
        return;
    }
    for part in all_parts(scene, procedure) {
        free.retain(|name| {
            !name
                .items
                .iter()
                .any(|item| is_used(scene.shop, part, *item))
        });
    }
    for step in procedure.steps().filter(|_| !free.is_empty()) {
        let text = text_of(step);
        let mut reported = Vec::new();
        for name in &free {
            if has_words(&text, name.text) && !reported.contains(&&name.items) {
                reported.push(&name.items);
                report(scene, step, name, findings);
            }
        }
    }
}

fn report(scene: &TextScene<'_>, step: &Step, name: &Name<'_>, findings: &mut Findings) {
    let Some(item) = name.items.first() else {
        return;
    };
    let (key, verb) = match item {
        Item::Tool(tool) => (&scene.shop.tools[*tool].key, Verb::Use),
        Item::Supply(supply) => (&scene.shop.supplies[*supply].key, Verb::Apply),
    };
    let message = format!("`{key}` is named, and is on no kit list");
    let help = format!("write `[{}]({}:{key})`", name.text, verb.word());
    let span = span_of(scene, step, name.text);
    let finding = Finding::new(&RULE, message)
        .primary(span, "named here")
        .help(help);
    findings.push(match item {
        Item::Tool(tool) => finding.secondary(scene.shop.tools[*tool].span, "this tool"),
        Item::Supply(_) => finding,
    });
}

/// Whether a procedure puts a tool or a supply on the kit list of its jobs: by `use:` and `apply:`, with the readings
/// that it takes, and with the fluids of its machines, which may be named when they are let out.
fn is_used(shop: &Shop, procedure: &Procedure, item: Item) -> bool {
    let mut actions = procedure.steps().flat_map(Step::actions);
    match item {
        Item::Tool(tool) => {
            let key = &shop.tools[tool].key;
            actions.any(|action| match action.verb {
                Verb::Use => TypedStep::thing(action) == key,
                Verb::Measure | Verb::Adjust => {
                    is_meter(shop, procedure, TypedStep::thing(action), tool)
                }
                Verb::Drain | Verb::Fill => {
                    is_container(shop, procedure, action.verb, TypedStep::thing(action), tool)
                }
                Verb::Inspect => is_of_part(shop, procedure, TypedStep::thing(action), tool),
                _ => false,
            })
        }
        Item::Supply(supply) => {
            let key = &shop.supplies[supply].key;
            let mut machines = procedure.machines.iter();
            let is_fluid = machines.any(|machine| {
                let mut fluids = shop.machines[machine.value].fluids.values();
                fluids.any(|fluid| fluid.supply.as_ref().is_some_and(|own| own.value == supply))
            });
            is_fluid
                || actions
                    .any(|action| action.verb == Verb::Apply && TypedStep::thing(action) == key)
        }
    }
}

/// Whether a reading is taken with a tool on any machine of a procedure.
fn is_meter(shop: &Shop, procedure: &Procedure, reading: &str, tool: ToolId) -> bool {
    let mut machines = procedure.machines.iter();
    machines.any(|machine| {
        let reading = shop.machines[machine.value].readings.get(reading);
        let meter = reading.and_then(|reading| shop.tool_of(reading));
        meter.is_some_and(|meter| meter.id == tool)
    })
}

/// Whether the shop's container for a fluid is a tool, on any machine of a procedure.
fn is_container(shop: &Shop, procedure: &Procedure, verb: Verb, fluid: &str, tool: ToolId) -> bool {
    let mut machines = procedure.machines.iter();
    machines.any(|machine| {
        let fluid = shop.machines[machine.value].fluids.get(fluid);
        let container = fluid.and_then(|fluid| shop.container_for(verb, fluid));
        container.is_some_and(|container| container.id == tool)
    })
}

/// Whether a dimension of a part is measured with a tool on any machine of a procedure.
fn is_of_part(shop: &Shop, procedure: &Procedure, part: &str, tool: ToolId) -> bool {
    let mut machines = procedure.machines.iter();
    machines.any(|machine| {
        let part = shop.machines[machine.value].parts.get(part);
        let mut dimensions = part.into_iter().flat_map(|part| part.dimensions.values());
        dimensions.any(|dimension| dimension.tool.as_ref().is_some_and(|own| own.value == tool))
    })
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

fn text_of(step: &Step) -> String {
    let mut text = plain(&step.text);
    for note in &step.notes {
        text.push(' ');
        text += &plain(note);
    }
    text
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
