//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, Located, Span, rule};
use crate::shop::{
    Energy, EngineRun, Fluid, Machine, MachineAction, Part, Reading, RunCondition, Shop, ThingId,
    Valve,
};
use std::collections::{BTreeMap, BTreeSet};

rule! {
    /// A record lacks a field, or a name in a list, that the records of the same name have on all other machines.
    ///
    /// At least two other machines must have the record. A name counts only if this machine has a thing of that
    /// name. A part with a `note` is not compared: the note says what is different.
    ///
    /// ## At the bench
    ///
    /// Most fields only add checks. If `needs` is missing from the petrol of one machine, its tank is drained without
    /// the extractor, and no check misses it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// === machines/foot-pump.toml
    /// name = "foot pump"
    /// basis = "measured on our own pump"
    /// [part.lid]
    /// name = "lid"
    /// clean = true
    /// === machines/drill-pump.toml
    /// name = "drill pump"
    /// basis = "measured on our own pump"
    /// [part.lid]
    /// name = "lid"
    /// clean = true
    /// ```
    ///
    /// ## Fix
    ///
    /// Add what is missing. If the part of this machine is different, say so in its `note`.
    "unlike-other-machines", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// The least number of other machines that must have the record.
const LEAST_OTHERS: usize = 2;

/// A record of one machine, as far as it is compared.
struct Compared<'s> {
    machine: &'s Machine,
    span: Span,
    /// The names in each field. A field that names nothing has an empty name.
    fields: BTreeMap<&'static str, BTreeSet<&'s str>>,
    has_note: bool,
}

impl Compared<'_> {
    fn has(&self, field: &str, name: &str) -> bool {
        let names = self.fields.get(field);
        names.is_some_and(|names| names.contains(name))
    }
}

fn check<'s>(shop: &'s Shop, findings: &mut Findings) {
    let mut groups: BTreeMap<(&str, &'s str), Vec<Compared<'s>>> = BTreeMap::new();
    let machines = shop.machines.values().filter(|machine| machine.is_complete);
    for machine in machines {
        let mut add = |kind, key: &'s str, span: Option<Span>, fields: Fields<'s>, has_note| {
            groups.entry((kind, key)).or_default().push(Compared {
                machine,
                span: span.unwrap_or(machine.name.span),
                fields: fields.0,
                has_note,
            });
        };
        for part in machine.parts.values() {
            let fields = Fields::of_part(shop, machine, part);
            add(
                "part",
                &part.key,
                Some(part.span),
                fields,
                part.note.is_some(),
            );
        }
        for energy in machine.energies.values() {
            let fields = Fields::of_energy(shop, machine, energy);
            add("energy", &energy.key, Some(energy.span), fields, false);
        }
        for fluid in machine.fluids.values() {
            let span = fluid.supply.as_ref().map(|supply| supply.span);
            add(
                "fluid",
                &fluid.key,
                span,
                Fields::of_fluid(shop, machine, fluid),
                false,
            );
        }
        for reading in machine.readings.values() {
            let span = reading.limits.as_ref().map(|limits| limits.spec.span);
            let fields = Fields::of_reading(shop, machine, reading);
            add("reading", &reading.key, span, fields, false);
        }
        for valve in machine.valves.values() {
            let fields = Fields::of_valve(machine, valve);
            add("valve", &valve.key, None, fields, false);
        }
        for condition in machine.conditions.values() {
            let fields = Fields::of_condition(shop, machine, condition);
            add("condition", &condition.key, None, fields, false);
        }
        add("machine", "", None, Fields::of_machine(machine), false);
        if machine.run.start.is_some() {
            add(
                "run",
                "",
                None,
                Fields::of_run(shop, machine, &machine.run),
                false,
            );
        }
    }
    for ((kind, key), records) in &groups {
        if records.len() > LEAST_OTHERS {
            compare(shop, kind, key, records, findings);
        }
    }
}

/// Reports the records of a group that lack what all others have, as far as those others could have it.
fn compare(shop: &Shop, kind: &str, key: &str, records: &[Compared<'_>], findings: &mut Findings) {
    // For each field and name, the number of records that have it.
    let mut having: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for record in records {
        for (field, names) in &record.fields {
            for name in names {
                *having.entry((field, name)).or_default() += 1;
            }
        }
    }
    let common: Vec<(&str, &str)> = having
        .into_iter()
        .filter(|(_, count)| (LEAST_OTHERS..records.len()).contains(count))
        .filter(|((_, name), count)| {
            let could_have = records
                .iter()
                .filter(|record| exists(shop, record.machine, name));
            could_have.count() == count + 1
        })
        .map(|(named, _)| named)
        .collect();
    for record in records.iter().filter(|record| !record.has_note) {
        let mut lacks: Vec<String> = Vec::new();
        let mut first_lacking = None;
        for (field, name) in &common {
            let own = record.fields.get(field);
            if record.has(field, name) || !exists(shop, record.machine, name) {
                continue;
            }
            first_lacking.get_or_insert((field, name));
            let lacking = match own {
                Some(_) => format!("`{name}` in `{field}`"),
                None => format!("`{field}`"),
            };
            if lacks.last() != Some(&lacking) {
                lacks.push(lacking);
            }
        }
        let Some((field, name)) = first_lacking else {
            continue;
        };
        let what = match kind {
            "machine" => format!("`{}`", record.machine.id),
            "run" => format!("`[run]` of `{}`", record.machine.id),
            kind => format!("{kind} `{key}` of `{}`", record.machine.id),
        };
        let message = format!(
            "{what} lacks {}, which every other machine has where it can",
            lacks.join(", ")
        );
        let mut finding = Finding::new(&RULE, message)
            .primary(record.span, "")
            .help(match kind {
                "part" => "add it, or say in its `note` what is different on this machine",
                _ => "add it if it is true of this machine as well",
            });
        let mut others = records.iter();
        if let Some(other) = others.find(|other| other.has(field, name)) {
            finding = finding.secondary(other.span, "has it");
        }
        findings.push(finding);
    }
}

/// Whether a machine or its shop has the thing that is named, or the thing of an action that is named.
fn exists(shop: &Shop, machine: &Machine, name: &str) -> bool {
    let key = name.rsplit(':').next().unwrap_or(name);
    matches!(key, "" | "engine" | "work")
        || machine.parts.find(key).is_some()
        || machine.valves.find(key).is_some()
        || machine.fluids.find(key).is_some()
        || machine.energies.find(key).is_some()
        || machine.conditions.find(key).is_some()
        || machine.readings.find(key).is_some()
        || shop.tools.find(key).is_some()
        || shop.supplies.find(key).is_some()
        || shop.cautions.find(key).is_some()
        || shop.roles.find(key).is_some()
}

/// The fields of a record, each with the names in it.
#[derive(Default)]
struct Fields<'s>(BTreeMap<&'static str, BTreeSet<&'s str>>);

impl<'s> Fields<'s> {
    /// Adds a field that names nothing, if the record has it.
    fn flag(&mut self, field: &'static str, is_there: bool) {
        if is_there {
            self.0.entry(field).or_default().insert("");
        }
    }

    fn names<T: Copy + 's>(
        &mut self,
        field: &'static str,
        names: impl IntoIterator<Item = &'s Located<T>>,
        key_of: impl Fn(T) -> &'s str,
    ) {
        for name in names {
            let key = key_of(name.value);
            self.0.entry(field).or_default().insert(key);
        }
    }

    fn of_machine(machine: &Machine) -> Fields<'s> {
        let mut fields = Fields::default();
        let engine = machine.engine.as_ref();
        fields.flag("engine", engine.is_some());
        let pulses = engine.is_some_and(|engine| engine.pulses.is_some());
        fields.flag("ignition-pulses-per-turn", pulses);
        fields
    }

    fn of_part(shop: &'s Shop, machine: &'s Machine, part: &'s Part) -> Fields<'s> {
        let mut fields = Fields::default();
        let key = |id| machine.parts[id].key.as_str();
        fields.names("behind", &part.behind, key);
        fields.names("held-by", &part.held_by, key);
        fields.names("seals", &part.seals, key);
        fields.names("stack", &part.stack, key);
        fields.names("off-first", &part.off_first, key);
        fields.names("laid-open-by", &part.laid_open_by, key);
        let fluid = |id| machine.fluids[id].key.as_str();
        fields.names("carries", &part.carries, fluid);
        fields.names("drains", &part.drains, fluid);
        fields.names("may-be-live", &part.may_be_live, |id| {
            machine.energies[id].key.as_str()
        });
        fields.names("cautions", &part.cautions, |id| {
            shop.cautions[id].key.as_str()
        });
        fields.names("signed-by", &part.signed_by, |id| {
            shop.roles[id].key.as_str()
        });
        let flags = [
            ("count", part.count > 1),
            ("single-use", part.single_use),
            ("clean", part.clean),
            ("faces", !part.faces.is_empty()),
            ("positions", !part.positions.is_empty()),
            ("thread", part.thread.is_some()),
            ("class", part.class.is_some()),
            (
                "drive",
                // `head` gives the wrench as well.
                part.drive.is_some() || part.head.is_some(),
            ),
            ("torque", !part.stages.is_empty()),
            ("pattern", part.pattern.is_some()),
            ("assembled", part.assembled.is_some()),
            ("reuse", part.reuse.is_some()),
            ("limits", part.limits.is_some()),
            ("spark-plug", part.spark_plug.is_some()),
            ("into", part.into.is_some()),
        ];
        for (field, is_there) in flags {
            fields.flag(field, is_there);
        }
        fields
    }

    fn of_energy(shop: &'s Shop, machine: &'s Machine, energy: &'s Energy) -> Fields<'s> {
        let mut fields = Fields::default();
        let named = energy.endangers.iter().flatten();
        let named: BTreeSet<&str> = named.map(|id| id.key(shop, machine)).collect();
        if !named.is_empty() {
            fields.0.insert("endangers", named);
        }
        fields.names("secured-by", &energy.secured_by, |id| {
            shop.tools[id].key.as_str()
        });
        fields.names("cautions", &energy.cautions, |id| {
            shop.cautions[id].key.as_str()
        });
        fields
    }

    fn of_valve(machine: &'s Machine, valve: &'s Valve) -> Fields<'s> {
        let mut fields = Fields::default();
        fields.names("shuts", &valve.shuts, |id| machine.fluids[id].key.as_str());
        fields
    }

    fn of_fluid(shop: &'s Shop, machine: &'s Machine, fluid: &'s Fluid) -> Fields<'s> {
        let mut fields = Fields::default();
        fields.flag("capacity", fluid.capacity.is_some());
        fields.names("needs", &fluid.needs, |id| {
            machine.conditions[id].key.as_str()
        });
        fields.names("through", &fluid.through, |id| {
            machine.parts[id].key.as_str()
        });
        fields.names("signed-by", &fluid.signed_by, |id| {
            shop.roles[id].key.as_str()
        });
        fields.names("cautions", &fluid.cautions, |id| {
            shop.cautions[id].key.as_str()
        });
        fields
    }

    fn of_reading(shop: &'s Shop, machine: &'s Machine, reading: &'s Reading) -> Fields<'s> {
        let mut fields = Fields::default();
        let key = |id| machine.parts[id].key.as_str();
        fields.names("with", &reading.with, key);
        fields.names("without", &reading.without, key);
        fields.names("locked-by", &reading.locked_by, key);
        fields.names("needs", &reading.needs, |id| {
            machine.conditions[id].key.as_str()
        });
        fields.names("may-be-live", &reading.may_be_live, |id| {
            machine.energies[id].key.as_str()
        });
        fields.names("tool", &reading.tool, |id| shop.tools[id].key.as_str());
        fields.names("signed-by", &reading.signed_by, |id| {
            shop.roles[id].key.as_str()
        });
        fields.names("cautions", &reading.cautions, |id| {
            shop.cautions[id].key.as_str()
        });
        fields.flag("engine", reading.engine.is_some());
        fields
    }

    fn of_condition(
        shop: &'s Shop,
        machine: &'s Machine,
        condition: &'s RunCondition,
    ) -> Fields<'s> {
        let mut fields = Fields::default();
        let things = |action: MachineAction| match action.thing {
            ThingId::Engine => "engine",
            thing => thing.key(shop, machine),
        };
        fields.names("after", &condition.after, things);
        fields.names("lost-by", &condition.lost_by, |by| match by {
            crate::shop::LostBy::Work => "work",
            crate::shop::LostBy::Action(action) => things(action),
        });
        fields
    }

    fn of_run(shop: &'s Shop, machine: &'s Machine, run: &'s EngineRun) -> Fields<'s> {
        let mut fields = Fields::default();
        fields.names("needs", &run.needs, |id| {
            machine.conditions[id].key.as_str()
        });
        fields.names("looks", &run.inspect, |id| machine.parts[id].key.as_str());
        fields.names("measure", &run.measure, |id| {
            machine.readings[id].key.as_str()
        });
        fields.names("signed-by", &run.signed_by, |id| {
            shop.roles[id].key.as_str()
        });
        fields.flag("stop", run.stop.is_some());
        fields
    }
}
