//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use super::kit_names::{Item, names_of};
use super::text_names_other_part::has_words;
use super::typed_value::TypedStep;
use crate::finding::{Finding, Findings, Span, rule};
use crate::procedure::{Procedure, Step};
use crate::prose::{Verb, plain};
use crate::shop::Shop;
use std::collections::BTreeSet;

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
    // The step that names a thing nearly always uses it by the same link, so the rest is done for few files.
    let own = own_items(scene.shop, procedure);
    // A list, because most procedures name only their own items.
    let mut named: Vec<(Item, &str)> = scene
        .kit_names
        .find(&scene.file.text, |item| !own.contains(&item))
        .collect();
    named.sort_unstable();
    named.dedup();
    if named.is_empty() {
        return;
    }
    let used = used_items(scene, procedure);
    let is_used = |item: Item| used.contains(&item);
    // Two tools of the crib can have the same name.
    let tools = scene.shop.tools.values();
    let used_names: BTreeSet<&str> = tools
        .filter(|tool| is_used(Item::Tool(tool.id)))
        .flat_map(names_of)
        .collect();
    let free: Vec<(Item, &str)> = named
        .into_iter()
        .filter(|(item, name)| !is_used(*item) && !used_names.contains(name))
        .collect();
    for step in procedure.steps().filter(|_| !free.is_empty()) {
        let text = text_of(step);
        let mut reported = BTreeSet::new();
        for (item, name) in &free {
            if has_words(&text, name) && reported.insert(*item) {
                report(scene, step, *item, name, findings);
            }
        }
    }
}

/// The tools and supplies that a procedure names by a link of its own.
fn own_items(shop: &Shop, procedure: &Procedure) -> Vec<Item> {
    let mut own = Vec::new();
    for action in procedure.steps().flat_map(Step::actions) {
        let item = match action.verb {
            Verb::Use => shop.tools.find(TypedStep::thing(action)).map(Item::Tool),
            Verb::Apply => shop
                .supplies
                .find(TypedStep::thing(action))
                .map(Item::Supply),
            _ => None,
        };
        own.extend(item);
    }
    own
}

fn report(scene: &TextScene<'_>, step: &Step, item: Item, name: &str, findings: &mut Findings) {
    let key = key(scene.shop, item);
    let message = format!("`{key}` is named, and is on no kit list");
    let finding = Finding::new(&RULE, message).primary(span_of(scene, step, name), "named here");
    findings.push(match item {
        Item::Tool(tool) => finding
            .secondary(scene.shop.tools[tool].span, "this tool")
            .help(format!("write `[{name}](use:{key})`")),
        Item::Supply(_) => finding.help(format!("write `[{name}](apply:{key})`")),
    });
}

fn key(shop: &Shop, item: Item) -> &str {
    match item {
        Item::Tool(tool) => &shop.tools[tool].key,
        Item::Supply(supply) => &shop.supplies[supply].key,
    }
}

/// The tools and supplies that the job of a procedure puts on its kit list: by `use:` and `apply:`, with the readings
/// that it takes, and with the fluids of its machines, which may be named when they are let out.
fn used_items(scene: &TextScene<'_>, procedure: &Procedure) -> BTreeSet<Item> {
    let shop = scene.shop;
    let tools = used_tools(scene, procedure).into_iter();
    let tools = tools.filter_map(|key| Some(Item::Tool(shop.tools.find(key)?)));
    let supplies = used_supplies(scene, procedure).into_iter();
    let supplies = supplies.filter_map(|key| Some(Item::Supply(shop.supplies.find(key)?)));
    tools.chain(supplies).collect()
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

/// The span of a name in a step, or of the step's first line if markup interrupts the name.
fn span_of(scene: &TextScene<'_>, step: &Step, name: &str) -> Span {
    let text = scene.tree.text(step.span);
    let lower = text.to_ascii_lowercase();
    match lower.find(&name.to_ascii_lowercase()) {
        Some(at) => step.span.part(at..at + name.len()),
        None => step.span.part(0..text.find('\n').unwrap_or(text.len())),
    }
}
