//! The section of a machine's data that shows what its records guard.

use super::guards::{Actions, ConditionGuard, EnergyGuard, FluidGuard, Guards};
use super::machine::MachineWriter;
use crate::job::Thing;
use crate::page::text::uncapitalised;
use crate::page::{Block, Cell, JobId, LinkTarget, TextRun, Topic};
use crate::procedure::Procedure;
use crate::prose::{ThingKind, Verb};
use crate::shop::{LostBy, MachineAction, Part, ThingId, capitalised};

impl MachineWriter<'_, '_> {
    /// What each energy, fluid and condition guards, and which parts nothing guards. `None` if the machine has none of
    /// them, so that nothing is guarded.
    pub(super) fn guards(&self) -> Option<Block> {
        let guards = Guards::of(self.context.shop, self.machine, self.jobs);
        let blocks = [
            self.unguarded(&guards.unguarded),
            self.energy_guards(&guards.energies),
            self.hands_on(&guards),
            self.fluid_guards(&guards.fluids),
            self.condition_guards(&guards.conditions),
        ];
        let blocks: Vec<Block> = blocks.into_iter().flatten().collect();
        // A machine with nothing but parts has no table.
        let has_table = blocks.iter().any(|block| matches!(block, Block::Table(_)));
        has_table.then(|| self.context.section(Topic::Guards, blocks))
    }

    fn unguarded(&self, parts: &[&Part]) -> Option<Block> {
        let parts = names(parts).join(", ");
        let values = [("parts", parts.as_str())];
        let text = self.context.words().format("nothing-guards", &values);
        (!parts.is_empty()).then(|| Block::Text {
            runs: vec![TextRun::text(text)],
        })
    }

    /// A table of the section. `None` without rows. Its caption names its first column as well, because a screen
    /// reader lists the tables by their captions.
    fn guard_table(&self, columns: &[(&str, u8)], rows: Vec<Vec<Cell>>) -> Option<Block> {
        let words = self.context.words();
        let (first, _) = columns.first()?;
        let first = uncapitalised(words.get(first));
        let caption = format!("{}: {first}", words.get(Topic::Guards.name()));
        (!rows.is_empty()).then(|| self.context.table(&caption, columns, rows))
    }

    fn energy_guards(&self, guards: &[EnergyGuard<'_>]) -> Option<Block> {
        let rows = guards.iter().map(|guard| {
            let kinds = guard.general_kinds().into_iter();
            let kinds = kinds.filter_map(|kind| match kind {
                ThingKind::Part => Some("any-part"),
                ThingKind::Reading => Some("any-reading"),
                _ => None,
            });
            let kinds = kinds.map(|key| self.context.words().get(key).to_owned());
            let things = guard.single_things().map(|thing| self.name(thing));
            let things: Vec<String> = kinds.chain(things).collect();
            vec![
                Cell::name(capitalised(&guard.energy.name)),
                Cell::text(things.join("; ")),
                self.actions(&guard.allowed),
            ]
        });
        let columns = [("energy", 4), ("hands-off", 8), ("allowed-live", 9)];
        self.guard_table(&columns, rows.collect())
    }

    /// The verbs that put hands on a thing: "part `remove`, `fit`; reading `measure`".
    fn hands_on(&self, guards: &Guards<'_>) -> Option<Block> {
        let words = self.context.words();
        let mut runs = Vec::new();
        for (kind, verbs) in guards.hands() {
            let key = match kind {
                ThingKind::Part => "part",
                ThingKind::Valve => "valve",
                ThingKind::Control => "control",
                ThingKind::Fluid => "fluid",
                ThingKind::Energy => "energy",
                _ => "reading",
            };
            let start = if runs.is_empty() { " " } else { "; " };
            let kind = TextRun::text(uncapitalised(words.get(key)));
            runs.push(TextRun::text(start));
            runs.push(TextRun::Strong { runs: vec![kind] });
            runs.push(TextRun::text(" "));
            push_verbs(&mut runs, &verbs);
        }
        if runs.is_empty() {
            return None;
        }
        runs.insert(0, TextRun::text(words.get("hands-on")));
        runs.push(TextRun::text("."));
        Some(Block::Text { runs })
    }

    fn fluid_guards(&self, guards: &[FluidGuard<'_>]) -> Option<Block> {
        let mut rows = Vec::new();
        for guard in guards {
            let first = rows.len();
            let actions = [
                (self.actions(&guard.opening), self.before_opening(guard)),
                (verb_cell(Verb::Drain), self.before_draining(guard)),
                (verb_cell(Verb::Fill), self.before_filling(guard)),
            ];
            for (action, before) in actions {
                if before.is_empty() {
                    continue;
                }
                let name = if rows.len() == first {
                    Cell::name(capitalised(&guard.fluid.name))
                } else {
                    Cell::text("")
                };
                rows.push(vec![name, action, Cell::text(before.join("; "))]);
            }
        }
        let columns = [("fluid", 4), ("action", 7), ("first", 10)];
        self.guard_table(&columns, rows)
    }

    /// What comes before the line of a fluid is opened. Empty for a fluid without a line.
    fn before_opening(&self, guard: &FluidGuard<'_>) -> Vec<String> {
        if guard.opening.is_empty() {
            return Vec::new();
        }
        let valves = guard.valves.iter();
        let valves = valves.map(|valve| self.instruction("do-close", &valve.name));
        let drain = self.instruction("do-drain", &guard.fluid.name);
        let ways: Vec<String> = valves.chain([drain]).collect();
        let mut before = vec![self.context.words().choice(&ways)];
        before.extend(needs(guard));
        before
    }

    fn before_draining(&self, guard: &FluidGuard<'_>) -> Vec<String> {
        let plugs = guard.drained_through.iter();
        let plugs = plugs.map(|part| self.instruction("do-remove", &part.name));
        let plugs: Vec<String> = plugs.collect();
        let mut before = Vec::new();
        if !plugs.is_empty() {
            before.push(self.context.words().choice(&plugs));
        }
        before.extend(needs(guard));
        before
    }

    fn before_filling(&self, guard: &FluidGuard<'_>) -> Vec<String> {
        let words = self.context.words();
        let mut before = Vec::new();
        if let Some(part) = guard.filled_through {
            before.push(self.instruction("do-remove", &part.name));
        }
        if !guard.filled_with.is_empty() {
            let parts = names(&guard.filled_with).join(", ");
            before.push(words.format("on-and-tight", &[("parts", &parts)]));
        }
        before.extend(needs(guard));
        if let Some(role) = guard.signed_by {
            before.push(words.format("signs-afterwards", &[("role", &role.name)]));
        }
        before
    }

    fn condition_guards(&self, guards: &[ConditionGuard<'_>]) -> Option<Block> {
        let rows = guards.iter().map(|guard| {
            let after = guard.after.iter().map(|action| self.action(*action));
            let lost_by = guard.lost_by.iter().map(|by| match by {
                LostBy::Work => vec![TextRun::text(self.context.words().get("work-on-part"))],
                LostBy::Action(action) => self.action(*action),
            });
            let procedures = guard.confirmed_in.iter();
            let procedures = procedures.map(|procedure| vec![self.procedure(procedure)]);
            let lost_by = if guard.lost_by.is_empty() {
                Cell::text(self.context.words().get("nothing"))
            } else {
                joined(lost_by)
            };
            vec![
                Cell::name(capitalised(&guard.condition.name)),
                self.actions(&guard.needed_by),
                joined(after),
                lost_by,
                joined(procedures),
            ]
        });
        let columns = [
            ("condition", 7),
            ("needed-by", 9),
            ("comes-after", 4),
            ("ended-by", 6),
            ("confirmed-in", 4),
        ];
        self.guard_table(&columns, rows.collect())
    }

    /// "`remove`: strainer cup; float bowl", and on a line of its own "`drain`, `fill`: petrol". The name of a reading
    /// may have commas.
    fn actions(&self, list: &[Actions<'_>]) -> Cell {
        joined(list.iter().map(|actions| {
            let mut runs = Vec::new();
            push_verbs(&mut runs, &actions.verbs);
            let things = actions.things.iter();
            let things: Vec<String> = things.map(|thing| self.name(*thing)).collect();
            runs.push(TextRun::text(format!(": {}", things.join("; "))));
            runs
        }))
    }

    /// "`run`: engine".
    fn action(&self, action: MachineAction) -> Vec<TextRun> {
        let (shop, machine) = (self.context.shop, self.machine);
        let name = match action.thing {
            ThingId::Part(id) => &machine.parts[id].name,
            ThingId::Valve(id) => &machine.valves[id].name,
            ThingId::Control(id) => &machine.controls[id].name,
            ThingId::Fluid(id) => &machine.fluids[id].name,
            ThingId::Energy(id) => &machine.energies[id].name,
            ThingId::Condition(id) => &machine.conditions[id].name,
            ThingId::Reading(id) => &machine.readings[id].name,
            ThingId::Role(id) => &shop.roles[id].name,
            ThingId::Tool(id) => &shop.tools[id].name,
            ThingId::Supply(id) => &shop.supplies[id].name,
            ThingId::Caution(id) => &shop.cautions[id].hazard,
            ThingId::Engine => &self.name(Thing::Engine),
        };
        let mut runs = Vec::new();
        push_verbs(&mut runs, &[action.verb]);
        runs.push(TextRun::text(format!(": {}", uncapitalised(name))));
        runs
    }

    fn name(&self, thing: Thing<'_>) -> String {
        match thing {
            Thing::Engine => uncapitalised(self.context.words().get("engine")),
            thing => thing.name().to_owned(),
        }
    }

    /// An instruction within a sentence: "close the fuel tap".
    fn instruction(&self, key: &str, thing: &str) -> String {
        uncapitalised(&self.context.words().format(key, &[("thing", thing)]))
    }

    /// The title of a procedure, linked if the machine has a job of it.
    fn procedure(&self, procedure: &Procedure) -> TextRun {
        let title = TextRun::text(procedure.title.value.clone());
        let mut jobs = self.jobs.iter();
        if jobs.any(|job| job.procedure.id == procedure.id) {
            let job = JobId::new(&self.machine.id, &procedure.id);
            TextRun::link(LinkTarget::Job(job), vec![title])
        } else {
            title
        }
    }
}

fn names(parts: &[&Part]) -> Vec<String> {
    parts.iter().map(|part| part.name.clone()).collect()
}

fn needs(guard: &FluidGuard<'_>) -> impl Iterator<Item = String> {
    guard.needs.iter().map(|condition| condition.name.clone())
}

fn verb_cell(verb: Verb) -> Cell {
    let mut runs = Vec::new();
    push_verbs(&mut runs, &[verb]);
    Cell::Text { runs }
}

/// Verbs as authors write them, with commas between them.
fn push_verbs(runs: &mut Vec<TextRun>, verbs: &[Verb]) {
    for (index, verb) in verbs.iter().enumerate() {
        if index > 0 {
            runs.push(TextRun::text(", "));
        }
        runs.push(TextRun::Code {
            text: verb.word().to_owned(),
        });
    }
}

/// A cell with a line for each piece, or a dash for none.
fn joined(pieces: impl Iterator<Item = Vec<TextRun>>) -> Cell {
    let mut runs = Vec::new();
    for piece in pieces {
        if !runs.is_empty() {
            runs.push(TextRun::Break);
        }
        runs.extend(piece);
    }
    if runs.is_empty() {
        return Cell::text("–");
    }
    Cell::Text { runs }
}
