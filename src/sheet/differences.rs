//! How a machine differs from the one that it is a variant of.

use super::machine::MachineWriter;
use super::setting::meter_setting_text;
use super::wires::connection_facts;
use crate::page::{Block, Cell, Topic};
use crate::record::Records;
use crate::shop::{Fluid, Machine, Part, Reading, Sourced};

/// What is compared of a record, each with the key of its label.
type Details = Vec<(&'static str, Cell)>;

impl MachineWriter<'_, '_> {
    /// The table of what was added, is not taken over, or has another value. `None` for a machine that is no variant.
    pub(super) fn differences(&self) -> Option<Block> {
        let machines = &self.context.shop.machines;
        let like = machines.get(&self.machine.like.as_ref()?.value)?;
        let (old, new) = (like, self.machine);
        let mut rows = Vec::new();
        let names = &mut rows;
        self.records(
            names,
            &old.parts,
            &new.parts,
            |part| &part.name,
            |on, part| self.part(on, part),
        );
        self.records(
            names,
            &old.fluids,
            &new.fluids,
            |fluid| &fluid.name,
            |_, fluid| self.fluid(fluid),
        );
        self.records(
            names,
            &old.readings,
            &new.readings,
            |reading| &reading.name,
            |_, reading| self.reading(reading),
        );
        self.records(
            names,
            &old.valves,
            &new.valves,
            |valve| &valve.name,
            |_, _| Vec::new(),
        );
        self.records(
            names,
            &old.controls,
            &new.controls,
            |control| &control.name,
            |_, _| Vec::new(),
        );
        self.records(
            names,
            &old.energies,
            &new.energies,
            |energy| &energy.name,
            |_, _| Vec::new(),
        );
        let columns = [
            ("item", 6),
            ("detail", 4),
            ("base-machine", 6),
            ("this-machine", 6),
        ];
        self.context
            .table_section(Topic::Differences, &columns, rows)
    }

    /// The rows of one kind of record. Those of the other machine come first, in their order.
    fn records<'m, T>(
        &self,
        rows: &mut Vec<Vec<Cell>>,
        old: &'m Records<T>,
        new: &'m Records<T>,
        name: impl Fn(&'m T) -> &'m String,
        details: impl Fn(&Machine, &'m T) -> Details,
    ) {
        let words = self.context.words();
        let machines = &self.context.shop.machines;
        let like = self.machine.like.as_ref();
        let Some(like) = like.and_then(|like| machines.get(&like.value)) else {
            return;
        };
        let row = |name: &str, detail: &str, old: Cell, new: Cell| {
            vec![Cell::name(name.to_owned()), Cell::text(detail), old, new]
        };
        for (key, before) in old.keys().zip(old.values()) {
            let Some(now) = new.get(key) else {
                let not_here = Cell::text(words.get("not-on-this-machine"));
                rows.push(row(
                    name(before),
                    "",
                    Cell::text(words.get("present")),
                    not_here,
                ));
                continue;
            };
            if name(before) != name(now) {
                let cell = |name: &str| Cell::text(name.to_owned());
                rows.push(row(
                    name(now),
                    words.get("name"),
                    cell(name(before)),
                    cell(name(now)),
                ));
            }
            let (before, after) = (details(like, before), details(self.machine, now));
            let keys: Vec<&str> = after.iter().chain(&before).map(|(key, _)| *key).collect();
            for (index, key) in keys.iter().enumerate() {
                let is_repeated = keys[..index].contains(key);
                let cells = |details: &Details| {
                    let mut details = details.iter();
                    let found = details.find(|(other, _)| other == key);
                    found.map_or_else(|| Cell::text("–"), |(_, cell)| cell.clone())
                };
                let (before, after) = (cells(&before), cells(&after));
                if !is_repeated && before != after {
                    rows.push(row(name(now), words.get(key), before, after));
                }
            }
        }
        let added = new.keys().zip(new.values());
        for (_, record) in added.filter(|(key, _)| old.get(key).is_none()) {
            let added = Cell::text(words.get("added"));
            rows.push(row(name(record), "", Cell::text("–"), added));
        }
    }

    fn part(&self, on: &Machine, part: &Part) -> Details {
        let words = self.context.words();
        let text = |text: &Option<String>| text.clone().map(Cell::text);
        let positions: Vec<String> = part
            .positions
            .iter()
            .map(|position| position.value.clone())
            .collect();
        let torque = match part.stages.as_slice() {
            [] => None,
            [torque] => Some(self.value(torque)),
            stages => {
                let stages = stages.iter();
                let texts = stages.map(|stage| self.context.spec(&stage.spec.value, false).first);
                let texts: Vec<String> = texts.collect();
                Some(Cell::text(texts.join(", ")))
            }
        };
        let behind = part
            .behind
            .iter()
            .map(|front| on.parts[front.value].name.clone());
        let behind: Vec<String> = behind.collect();
        let holders = part
            .held_by
            .iter()
            .map(|by| on.parts[by.value].name.clone());
        let holders: Vec<String> = holders.collect();
        let list = |list: Vec<String>| (!list.is_empty()).then(|| Cell::text(list.join(", ")));
        let details = [
            ("number", text(&part.number)),
            ("quantity", Some(Cell::text(part.count.to_string()))),
            (
                "thread",
                part.thread
                    .as_ref()
                    .map(|thread| Cell::text(thread.value.to_string())),
            ),
            (
                "class",
                part.class
                    .as_ref()
                    .map(|class| Cell::text(class.value.to_string())),
            ),
            ("wrench-head", self.context.drive_text(part).map(Cell::text)),
            ("torque", torque),
            (
                "limits-head",
                part.limits.as_ref().map(|limits| self.value(limits)),
            ),
            (
                "possible-positions",
                (!positions.is_empty()).then(|| Cell::text(words.choice(&positions))),
            ),
            (
                "position",
                part.position
                    .as_ref()
                    .map(|position| Cell::text(position.value.clone())),
            ),
            ("orientation", text(&part.orientation)),
            ("where-head", text(&part.place)),
            ("terminal", list(connection_facts(self.context, part))),
            ("parts-in-front", list(behind)),
            ("held-by", list(holders)),
            (
                "single-use-head",
                part.single_use.then(|| Cell::text(words.get("yes"))),
            ),
        ];
        present(details)
    }

    fn fluid(&self, fluid: &Fluid) -> Details {
        let supply = self.context.shop.supply_of(fluid);
        present([
            (
                "filled-with",
                supply.map(|supply| Cell::text(supply.name.clone())),
            ),
            (
                "capacity",
                fluid.capacity.as_ref().map(|capacity| self.value(capacity)),
            ),
        ])
    }

    fn reading(&self, reading: &Reading) -> Details {
        let tool = self.context.shop.tool_of(reading);
        let tool = tool.map(|tool| {
            let setting = meter_setting_text(self.context, reading);
            let texts: Vec<String> = std::iter::once(tool.name.clone()).chain(setting).collect();
            texts.join(", ")
        });
        let text = |text: &Option<String>| text.clone().map(Cell::text);
        present([
            (
                "limits-head",
                self.context
                    .limits(reading)
                    .map(|value| Cell::Value { value }),
            ),
            ("tool", text(&tool)),
        ])
    }

    fn value(&self, value: &Sourced) -> Cell {
        Cell::Value {
            value: self.context.value(value),
        }
    }
}

fn present<const N: usize>(details: [(&'static str, Option<Cell>); N]) -> Details {
    let details = details.into_iter();
    details
        .filter_map(|(key, cell)| Some((key, cell?)))
        .collect()
}
