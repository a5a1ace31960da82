//! What a thing is, in a few lines: its name, values, wrench and positions.

use super::name::NameKind;
use crate::Sources;
use crate::page::{Edition, OutputContext, PageContext, SignalWord, Value};
use crate::prose::{self, ThingKind};
use crate::sheet::setting_text;
use crate::shop::{
    CribChoice, Energy, FluidState, Machine, Part, Shop, Sourced, ValveState, Word, capitalised,
};
use crate::words::Words;
use std::fmt::Write as _;

/// Describes things in the words of the shop's first language.
pub(super) struct Describer<'s> {
    pub(super) sources: &'s Sources,
    pub(super) output: OutputContext,
}

/// A description: a name, and facts about it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Description {
    pub(super) name: String,
    /// The first is the most useful one.
    pub(super) facts: Vec<String>,
}

impl<'s> Describer<'s> {
    pub(super) fn new(sources: &'s Sources) -> Describer<'s> {
        let edition = Edition::first(&sources.shop);
        Describer {
            sources,
            output: OutputContext::without_figures(&edition),
        }
    }

    fn shop(&self) -> &'s Shop {
        &self.sources.shop
    }

    pub(super) fn context(&self) -> PageContext<'_> {
        PageContext {
            shop: self.shop(),
            output: &self.output,
        }
    }

    fn words(&self) -> &Words {
        self.context().words()
    }

    /// A value in all units that pages print it in.
    pub(super) fn value(&self, value: &Sourced) -> String {
        shown(&self.context().value(value))
    }

    /// What a name stands for. `None` if there is nothing of the name.
    pub(super) fn describe(
        &self,
        kind: NameKind,
        key: &str,
        machine: Option<&Machine>,
    ) -> Option<Description> {
        let named = |name: &str, facts: Vec<String>| {
            Some(Description {
                name: name.to_owned(),
                facts,
            })
        };
        let shop = self.shop();
        match kind {
            NameKind::Machine => named(&shop.machines.get(key)?.name.value, Vec::new()),
            NameKind::Fault => {
                let fault = self.sources.faults.iter().find(|fault| fault.id == key)?;
                named(&fault.title.value, Vec::new())
            }
            NameKind::Step | NameKind::Figure => named(key, Vec::new()),
            NameKind::Thing(kind) if kind.is_of_machine() => self.of_machine(kind, key, machine?),
            NameKind::Thing(kind) => match kind {
                ThingKind::Role => named(&shop.roles.get(key)?.name, Vec::new()),
                ThingKind::Tool => {
                    let tool = shop.tools.get(key)?;
                    let specs = [&tool.size, &tool.range, &tool.graduation];
                    let specs = specs.into_iter().flatten();
                    let values = specs.map(|spec| shown(&self.context().spec(&spec.value, false)));
                    named(&tool.name, values.chain(tool.note.clone()).collect())
                }
                ThingKind::Supply => {
                    let supply = shop.supplies.get(key)?;
                    named(&supply.name, supply.note.iter().cloned().collect())
                }
                ThingKind::Caution => {
                    let caution = shop.cautions.get(key)?;
                    let mut facts = vec![caution.consequence.clone()];
                    facts.extend(caution.avoid.clone());
                    named(
                        &format!("{}: {}", word(caution.signal_word), caution.hazard),
                        facts,
                    )
                }
                ThingKind::Procedure => {
                    let mut procedures = self.sources.procedures.iter();
                    let procedure = procedures.find(|procedure| procedure.id == key)?;
                    named(&procedure.title.value, Vec::new())
                }
                _ => None,
            },
        }
    }

    fn of_machine(&self, kind: ThingKind, key: &str, machine: &Machine) -> Option<Description> {
        let (name, facts) = match kind {
            ThingKind::Part => {
                let part = machine.parts.get(key)?;
                (part.name.clone(), self.part(machine, part))
            }
            ThingKind::Valve => {
                let valve = machine.valves.get(key)?;
                let found = match valve.initial {
                    ValveState::Open => "found open",
                    ValveState::Closed => "found closed",
                };
                let shuts = valve.shuts.as_ref();
                let shuts =
                    shuts.map(|fluid| format!("shuts {}", machine.fluids[fluid.value].name));
                (
                    valve.name.clone(),
                    shuts.into_iter().chain([found.to_owned()]).collect(),
                )
            }
            ThingKind::Control => {
                let control = machine.controls.get(key)?;
                let positions = control.positions.iter();
                let positions: Vec<String> =
                    positions.map(|position| position.value.clone()).collect();
                (control.name.clone(), vec![positions.join(", ")])
            }
            ThingKind::Fluid => {
                let fluid = machine.fluids.get(key)?;
                let capacity = fluid.capacity.iter().map(|capacity| self.value(capacity));
                let supply = self
                    .shop()
                    .supply_of(fluid)
                    .map(|supply| supply.name.clone());
                let empty = (fluid.initial == FluidState::Empty).then(|| "found empty".to_owned());
                (
                    fluid.name.clone(),
                    capacity.chain(supply).chain(empty).collect(),
                )
            }
            ThingKind::Energy => {
                let energy = machine.energies.get(key)?;
                (energy.name.clone(), energy_facts(energy))
            }
            ThingKind::Condition => (machine.conditions.get(key)?.name.clone(), Vec::new()),
            ThingKind::Reading => {
                let reading = machine.readings.get(key)?;
                let limits = reading.limits.iter().map(|limits| self.value(limits));
                let tool = self.shop().tool_of(reading).map(|tool| tool.name.clone());
                (reading.title().to_owned(), limits.chain(tool).collect())
            }
            ThingKind::Engine => {
                let engine = machine.has_engine().then_some(machine.engine.as_ref())?;
                let kind = engine.and_then(|engine| engine.kind.clone());
                ("engine".to_owned(), kind.into_iter().collect())
            }
            _ => return None,
        };
        Some(Description { name, facts })
    }

    fn part(&self, machine: &Machine, part: &Part) -> Vec<String> {
        let words = self.words();
        let mut facts: Vec<String> = Vec::new();
        let tool = self.shop().torque_tool_with(None, part);
        for (index, stage) in part.stages.iter().enumerate() {
            let value = self.value(stage);
            let limits = stage.spec.value.limits();
            let setting = match &tool {
                Some(CribChoice::Covers(tool)) => setting_text(words, tool, None, limits),
                _ => None,
            };
            let number = index + 1;
            let start = if part.stages.len() > 1 {
                format!("stage {number}: ")
            } else {
                String::new()
            };
            let setting = setting.map_or_else(String::new, |setting| format!(", {setting}"));
            facts.push(format!("{start}{value}{setting}"));
        }
        facts.extend(self.context().drive_text(part));
        if let Some(CribChoice::Covers(tool)) = &tool {
            facts.push(tool.name.clone());
        }
        if let Some(thread) = &part.thread {
            let count = if part.count > 1 {
                format!("{} × ", part.count)
            } else {
                String::new()
            };
            facts.push(format!("{count}{}", thread.value));
        } else if part.count > 1 {
            facts.push(format!("{} pieces", part.count));
        }
        facts.extend(part.limits.iter().map(|limits| self.value(limits)));
        let dimensions = part.dimensions.values();
        facts.extend(dimensions.filter_map(|dimension| {
            let limit = self.value(dimension.wear_limit.as_ref()?);
            Some(format!("{}: {limit}", dimension.name))
        }));
        let positions = part
            .positions
            .iter()
            .map(|position| position.value.as_str());
        let positions: Vec<&str> = positions.collect();
        match &part.position {
            Some(position) => facts.push(format!("position: {}", position.value)),
            None if !positions.is_empty() => {
                facts.push(format!("positions: {}", positions.join(", ")));
            }
            None => {}
        }
        if !part.turned_to.is_empty() {
            let positions = part.turned_to.iter();
            let positions: Vec<&str> = positions.map(|position| position.value.as_str()).collect();
            facts.push(format!("turned to: {}", positions.join(", ")));
        }
        facts.extend(part.orientation.clone());
        if part.single_use {
            facts.push("single-use".to_owned());
        }
        let names = |ids: &[crate::finding::Located<crate::shop::PartId>]| {
            let names: Vec<&str> = ids
                .iter()
                .map(|id| machine.parts[id.value].name.as_str())
                .collect();
            names.join(", ")
        };
        if !part.behind.is_empty() {
            facts.push(format!("behind {}", names(&part.behind)));
        }
        if !part.held_by.is_empty() {
            facts.push(format!("held by {}", names(&part.held_by)));
        }
        facts.extend(
            part.number
                .iter()
                .map(|number| format!("part number {number}")),
        );
        facts
    }
}

/// A value as pages print it, with its second unit.
fn shown(value: &Value) -> String {
    let second = value.second.as_ref().map(|second| format!(" ({second})"));
    let mark = if value.unverified { ", unverified" } else { "" };
    format!("{}{}{mark}", value.first, second.unwrap_or_default())
}

fn energy_facts(energy: &Energy) -> Vec<String> {
    let texts = [&energy.isolate, &energy.prove, &energy.restore];
    let labels = ["isolate", "prove", "restore"];
    let facts = labels.into_iter().zip(texts);
    let facts = facts.filter(|(_, text)| !text.is_empty());
    facts
        .map(|(label, text)| format!("{label}: {}", prose::plain(text)))
        .collect()
}

/// A signal word as it is printed.
fn word(word: Word) -> &'static str {
    match word {
        Word::Danger => "DANGER",
        Word::Warning => "WARNING",
        Word::Caution => "CAUTION",
        Word::Notice => "NOTICE",
    }
}

impl Description {
    /// Everything in one line.
    pub(super) fn line(&self) -> String {
        let facts = self.facts.iter().map(String::as_str);
        std::iter::once(self.name.as_str())
            .chain(facts)
            .collect::<Vec<_>>()
            .join(", ")
    }

    /// Everything as Markdown.
    pub(super) fn markdown(&self) -> String {
        let mut text = format!("**{}**", escaped(&capitalised(&self.name)));
        for fact in &self.facts {
            let _ = write!(text, "\n- {}", escaped(fact));
        }
        text
    }
}

/// A text of the shop in Markdown: its marks stand for themselves.
pub(super) fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        if "\\`*_[]<>#|~&".contains(letter) {
            escaped.push('\\');
        }
        escaped.push(if letter.is_control() { ' ' } else { letter });
    }
    escaped
}

/// The signal word of a message on a sheet.
pub(super) fn signal_word(word: SignalWord) -> &'static str {
    match word {
        SignalWord::Danger => "DANGER",
        SignalWord::Warning => "WARNING",
        SignalWord::Caution => "CAUTION",
        SignalWord::Notice => "NOTICE",
    }
}
