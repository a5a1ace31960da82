//! Kit lists: the tools, parts and supplies that jobs use.

use super::kit_item::{Item, Need};
use super::mix::{capacity_of, mix_text};
use crate::job::{Action, Job, JobStep, Thing};
use crate::model::SupplyAmount;
use crate::page::text::uncapitalised;
use crate::page::{
    Block, Cell, HeadText, JobId, OutputContext, PageContext, PageId, Sheet, SheetKind, TextRun,
    Topic, Value,
};
use crate::prose::Verb;
use crate::quantity::Quantity;
use crate::shop::{Machine, Part, Price, RepairKit, Shop, Tool, ToolRank};
use crate::verbs::Trait;
use indexmap::IndexMap;

/// The column for where something is kept, in the table of parts and supplies.
const BIN: usize = 2;

#[must_use]
pub(crate) fn kit_page(jobs: &[&Job<'_>]) -> PageId {
    let ids = jobs
        .iter()
        .map(|job| JobId::new(&job.machine.id, &job.procedure.id));
    PageId::Kit(ids.collect())
}

/// The combined kit list of several jobs. `None` if there are no jobs.
#[must_use]
pub(crate) fn kit_of(shop: &Shop, jobs: &[&Job<'_>], output: &OutputContext) -> Option<Sheet> {
    let first = jobs.first()?;
    let context = PageContext { shop, output };
    let kit = Kit { context, jobs };
    let mut titles: Vec<&str> = Vec::new();
    for job in jobs {
        if !titles.contains(&job.procedure.title.value.as_str()) {
            titles.push(&job.procedure.title.value);
        }
    }
    let is_one_machine = jobs.iter().all(|job| job.machine.id == first.machine.id);
    let machines: Vec<String> = jobs
        .iter()
        .map(|job| job.machine.name.value.clone())
        .collect::<std::collections::BTreeSet<_>>()
        .into_iter()
        .collect();
    let head_text = HeadText {
        title: titles.join("; "),
        machine: is_one_machine.then(|| first.machine.name.value.clone()),
        revision: None,
        revised: None,
        facts: if is_one_machine {
            Vec::new()
        } else {
            vec![("machines", machines.join(", "))]
        },
        entries: &["job-number", "date"],
        serials: Vec::new(),
    };
    Some(context.sheet(kit_page(jobs), SheetKind::KitList, head_text, kit.blocks()))
}

/// The tools for an action of a step: the tool that the author named, or the shop's tools for the action.
pub(crate) fn tools_of<'a>(
    shop: &'a Shop,
    step: &JobStep<'a>,
    action: &Action<'a>,
) -> Vec<&'a Tool> {
    let tool = match (action.verb, action.thing) {
        (Verb::Use, Thing::Tool(tool)) => Some(tool),
        (Verb::Tighten, Thing::Part(part)) => step.torque_tool_for(shop, part),
        (Verb::Measure | Verb::Adjust, Thing::Reading(reading)) => shop.tool_of(reading),
        (Verb::Inspect, Thing::Part(part)) => {
            let dimensions = part.dimensions.values();
            let tools = dimensions.filter_map(|dimension| dimension.tool.as_ref());
            return tools.map(|tool| &shop.tools[tool.value]).collect();
        }
        (Verb::Drain | Verb::Fill, Thing::Fluid(fluid)) => {
            step.container_for(shop, action.verb, fluid)
        }
        _ => None,
    };
    tool.into_iter().collect()
}

/// Composes the kit of some jobs.
#[derive(Clone, Copy)]
pub(crate) struct Kit<'w, 'a> {
    pub(crate) context: PageContext<'w>,
    pub(crate) jobs: &'w [&'w Job<'a>],
}

impl<'a> Kit<'_, 'a> {
    pub(crate) fn blocks(self) -> Vec<Block> {
        let mut blocks: Vec<Block> = self.items_section().into_iter().collect();
        blocks.extend(self.tools_section());
        if blocks.is_empty() {
            blocks.push(Block::Text {
                runs: vec![TextRun::text(self.context.words().get("nothing-to-pull"))],
            });
        }
        blocks.push(self.context.notices());
        blocks
    }

    /// The actions of all steps, each with its step.
    fn actions(&self) -> impl Iterator<Item = (&JobStep<'a>, &Action<'a>)> {
        let steps = self.jobs.iter().flat_map(|job| job.steps());
        steps.flat_map(|step| step.all_actions().map(move |action| (step, action)))
    }

    /// The parts that the given verbs act on, once for each machine, in order of first use.
    fn parts(&self, is_included: impl Fn(Verb) -> bool) -> Vec<&'a Part> {
        let mut parts: IndexMap<(&str, &str), &'a Part> = IndexMap::new();
        for job in self.jobs {
            for action in job.steps().flat_map(|step| step.all_actions()) {
                if let Thing::Part(part) = action.thing
                    && is_included(action.verb)
                {
                    parts.entry((&job.machine.id, &part.key)).or_insert(part);
                }
            }
        }
        parts.into_values().collect()
    }

    pub(crate) fn tools_section(&self) -> Option<Block> {
        let rows = self.tool_lines().into_iter().map(|line| {
            vec![
                Cell::name(line.name),
                Cell::text(line.size),
                Cell::text(if line.special {
                    self.special_remark(&line.remark)
                } else {
                    line.remark
                }),
            ]
        });
        let columns = [("tool", 5), ("size-or-range", 4), ("remark", 6)];
        self.context
            .table_section(Topic::Tools, &columns, rows.collect())
    }

    /// "Special tool; hooks under the deck".
    fn special_remark(&self, remark: &str) -> String {
        let special = self.context.words().get("special-tool");
        if remark.is_empty() {
            special.to_owned()
        } else {
            format!("{special}; {}", uncapitalised(remark))
        }
    }

    /// The tools, special or not, each in a few words. The size is added unless the tool's name contains it.
    pub(crate) fn tools_in_brief(&self, special: bool) -> Vec<Vec<TextRun>> {
        let lines = self.tool_lines().into_iter();
        let lines = lines.filter(|line| line.special == special);
        let tools = lines.map(|ToolLine { name, size, .. }| {
            let has_size = name.contains(&size.replace('\u{a0}', " "));
            vec![TextRun::text(if has_size {
                name
            } else {
                format!("{name}, {size}")
            })]
        });
        tools.collect()
    }

    /// The parts and supplies, each in a few words, with the amount if it is known and not 1.
    pub(crate) fn items_in_brief(&self) -> Vec<Vec<TextRun>> {
        let items = self.items();
        let items = items.iter().map(|item| {
            let name = item.name;
            let text = match self.amount(item) {
                Amount::AsNeeded | Amount::TopUp | Amount::Pieces(1) => name.to_owned(),
                Amount::Pieces(count) => format!("{count}\u{a0}×\u{a0}{name}"),
                Amount::Filled(value) => format!("{name}, {}", value.first),
                Amount::Fillings(text) => format!("{name}, {text}"),
            };
            let mut runs = vec![TextRun::text(text)];
            if let Some(number) = item.number {
                runs.push(TextRun::text(" "));
                runs.push(TextRun::Code {
                    text: number.to_owned(),
                });
            }
            runs
        });
        items.collect()
    }

    /// The tools that the jobs need, each once, the special ones first, and last the wrench sizes of their fasteners.
    pub(crate) fn tool_lines(&self) -> Vec<ToolLine> {
        let shop = self.context.shop;
        let mut lines = Vec::new();
        let mut listed: Vec<&str> = Vec::new();
        let tools = self.actions();
        let tools = tools.flat_map(|(step, action)| tools_of(shop, step, action));
        for tool in tools {
            if listed.contains(&tool.key.as_str()) {
                continue;
            }
            listed.push(&tool.key);
            // Printed as engraved: nobody looks for a 9/16 in wrench as 14.3 mm.
            let size = tool.size.as_ref().or(tool.range.as_ref());
            let size = size.map(|size| self.context.words().value(&size.value.parts()));
            lines.push(ToolLine {
                name: tool.name.clone(),
                size: size.unwrap_or_default(),
                remark: tool.note.clone().unwrap_or_default(),
                special: tool.rank == ToolRank::Special,
            });
        }
        lines.sort_by_key(|line| !line.special);
        // Wrench sizes that the fasteners need, even if the author named no tool.
        let mut drives: IndexMap<String, (Option<&Tool>, Vec<String>)> = IndexMap::new();
        let sizes: Vec<Quantity> = listed
            .iter()
            .filter_map(|id| shop.tools.get(id)?.size.as_ref()?.value.limits().nominal())
            .collect();
        for part in self.parts(|verb| verb.spec().has(Trait::TakesTools)) {
            // Skip a size that a named wrench covers.
            let has_tool = part.hex_size().is_some_and(|hex| {
                let mut sizes = sizes.iter();
                sizes.any(|size| size.compare(&hex).is_some_and(std::cmp::Ordering::is_eq))
            });
            if let Some(drive) = self.context.drive_text(part).filter(|_| !has_tool) {
                let (_, parts) = drives
                    .entry(drive)
                    .or_insert_with(|| (shop.wrench_for(part), Vec::new()));
                parts.push(part.name.clone());
            }
        }
        let words = self.context.words();
        for (drive, (tool, parts)) in drives {
            let name = tool.map_or_else(|| words.get("wrench"), |tool| &tool.name);
            lines.push(ToolLine {
                name: name.to_owned(),
                size: drive,
                remark: words.format("for-parts", &[("parts", &words.list(&parts))]),
                special: false,
            });
        }
        lines
    }

    /// The table of parts and supplies that the jobs consume. If nothing has a bin, there is no column for it.
    pub(crate) fn items_section(&self) -> Option<Block> {
        let items = self.items();
        let has_bins = items.iter().any(|item| item.bin.is_some());
        let is_priced = items.iter().any(|item| item.cost().is_some());
        let mut total = Price::zero();
        let mut is_all_priced = true;
        let mut rows = Vec::new();
        for item in &items {
            let cost = item.cost();
            match &cost {
                Some(cost) => total = total.plus(cost),
                None => is_all_priced = false,
            }
            let mut row = vec![
                Cell::name(item.name),
                Cell::text(item.number.unwrap_or_default()),
                Cell::text(item.bin.unwrap_or_default()),
                match self.amount(item) {
                    Amount::AsNeeded => Cell::text(self.context.words().get("as-needed")),
                    Amount::TopUp => Cell::text(self.context.words().get("to-top-up")),
                    Amount::Pieces(count) => Cell::text(count.to_string()),
                    Amount::Filled(value) => Cell::Value { value },
                    Amount::Fillings(text) => Cell::text(text),
                },
                Cell::text(self.remark(item)),
            ];
            if !has_bins {
                row.remove(BIN);
            }
            if is_priced {
                row.push(Cell::text(
                    cost.map(|cost| self.money(&cost)).unwrap_or_default(),
                ));
            }
            row.push(Cell::Tick);
            rows.push(row);
        }
        let mut columns = vec![
            ("part-or-supply", 6),
            ("number", 3),
            ("bin", 2),
            ("quantity", 4),
            ("remark", 5),
        ];
        if !has_bins {
            columns.remove(BIN);
        }
        if is_priced {
            columns.push(("cost", 3));
            let name = if is_all_priced {
                "total"
            } else {
                "total-priced"
            };
            let mut row = vec![Cell::name(self.context.words().get(name))];
            row.resize(columns.len() - 1, Cell::text(""));
            row.extend([Cell::text(self.money(&total)), Cell::text("")]);
            rows.push(row);
        }
        columns.push(("pulled", 2));
        self.context.table_section(Topic::Kit, &columns, rows)
    }

    /// The parts and supplies that the jobs consume, with totals over all jobs: parts first, then
    /// supplies.
    pub(crate) fn items(&self) -> Vec<Item<'_>> {
        let mut items: IndexMap<(&str, &str), Item<'_>> = IndexMap::new();
        for filling in self.jobs.iter().flat_map(|job| job.fillings()) {
            let fluid = filling.fluid;
            if let Some(supply) = self.context.shop.supply_of(fluid) {
                let item = items
                    .entry(("", &supply.key))
                    .or_insert_with(|| Item::of_supply(supply));
                item.add_need(false);
                if filling.is_top_up {
                    item.is_topped_up = true;
                } else {
                    item.fills.extend(&fluid.capacity);
                }
            }
        }
        let actions = self.jobs.iter().flat_map(|job| {
            let machine = job.machine.id.as_str();
            job.steps().flat_map(move |step| {
                let actions = step.all_actions();
                actions.map(move |action| (machine, step.when.is_some(), action))
            })
        });
        for (machine, is_conditional, action) in actions {
            match (action.verb, action.thing) {
                (Verb::Renew, Thing::Part(part)) => {
                    // Parts of different machines are different items, even with the same name.
                    let item = items
                        .entry((machine, &part.key))
                        .or_insert_with(|| Item::of_part(part));
                    item.add_need(is_conditional);
                    item.count += part.count;
                }
                (Verb::Apply, Thing::Supply(supply)) => {
                    let item = items
                        .entry(("", &supply.key))
                        .or_insert_with(|| Item::of_supply(supply));
                    item.add_need(is_conditional);
                    match action.amount.as_deref() {
                        Some(SupplyAmount::Pieces(count)) => item.count += count,
                        Some(SupplyAmount::Quantity(amount)) => item.applied.push(amount.clone()),
                        None => item.is_as_needed = true,
                    }
                }
                _ => {}
            }
        }
        let mut all = self.take_kits(&mut items);
        all.extend(items.into_values());
        // The parts counter pulls kits and parts first, then supplies.
        all.sort_by_key(|item| item.supply.is_some());
        all
    }

    /// Takes parts out of the items and returns the repair kits that hold them: where a kit holds two of the parts or more, or
    /// one that has no number of its own. The kit with the most of them comes first.
    fn take_kits(&self, items: &mut IndexMap<(&'a str, &'a str), Item<'a>>) -> Vec<Item<'a>> {
        let mut taken = Vec::new();
        let mut machines: Vec<&'a Machine> = self.jobs.iter().map(|job| job.machine).collect();
        machines.sort_by_key(|machine| machine.index);
        machines.dedup_by_key(|machine| machine.index);
        for machine in machines {
            let mut kits: Vec<&RepairKit> = machine.kits.values().collect();
            let held = |items: &IndexMap<_, Item<'a>>, kit: &'a RepairKit| -> Vec<&'a Part> {
                let parts = kit.holds.iter().map(|id| &machine.parts[id.value]);
                let is_pulled =
                    |part: &&Part| items.contains_key(&(machine.id.as_str(), part.key.as_str()));
                parts.filter(is_pulled).collect()
            };
            kits.sort_by_key(|kit| std::cmp::Reverse(held(items, kit).len()));
            for kit in kits {
                let parts = held(items, kit);
                let is_needed = parts.len() > 1 || parts.iter().any(|part| part.number.is_none());
                if parts.is_empty() || !is_needed {
                    continue;
                }
                let mut item = Item::of_kit(kit);
                for part in parts {
                    let of_part = items.shift_remove(&(machine.id.as_str(), part.key.as_str()));
                    let Some(of_part) = of_part else { continue };
                    let kits_for_part = of_part.count.div_ceil(part.count.max(1));
                    item.count = item.count.max(kits_for_part);
                    item.add_need(of_part.need == Need::IfFound);
                    item.held.push(&part.name);
                }
                taken.push(item);
            }
        }
        taken
    }

    fn money(&self, amount: &Price) -> String {
        let mark = self.context.words().decimal_mark();
        format!("{}{}", self.context.shop.currency, amount.text(mark))
    }

    /// The amount of an item to pull.
    pub(crate) fn amount(&self, item: &Item<'_>) -> Amount {
        if !item.applied.is_empty() {
            return match item.filled() {
                Some(sum) => {
                    let unverified = item.fills.iter().any(|fill| fill.basis.is_none());
                    Amount::Filled(self.context.spec(&sum.into(), unverified))
                }
                None => Amount::AsNeeded,
            };
        }
        match (item.count, item.fills.as_slice()) {
            (0, []) if item.is_topped_up => Amount::TopUp,
            (0, []) => Amount::AsNeeded,
            (0, [fill]) => Amount::Filled(self.context.value(fill)),
            (0, fills) => {
                if let Some(sum) = item.filled() {
                    let unverified = fills.iter().any(|fill| fill.basis.is_none());
                    return Amount::Filled(self.context.spec(&sum.into(), unverified));
                }
                let values = [("count", &*fills.len().to_string())];
                Amount::Fillings(self.context.words().format("fillings", &values))
            }
            (count, _) => Amount::Pieces(count),
        }
    }

    fn remark(&self, item: &Item<'_>) -> String {
        let supply = item.supply;
        let words = self.context.words();
        if !item.held.is_empty() {
            let names: Vec<String> = item.held.iter().map(|name| (*name).to_owned()).collect();
            let parts = words.format("for-parts", &[("parts", &words.list(&names))]);
            return match item.need {
                Need::IfFound => format!("{parts}; {}", words.get("if-needed")),
                Need::Always => parts,
            };
        }
        if item.need == Need::IfFound {
            return self.context.words().get("if-needed").to_owned();
        }
        if item.is_as_needed && (item.count > 0 || !item.applied.is_empty()) {
            return self.context.words().get("and-as-needed").to_owned();
        }
        if item.is_topped_up && !item.fills.is_empty() {
            return self.context.words().get("and-to-top-up").to_owned();
        }
        let mix = supply.and_then(|supply| mix_text(self.context, supply, item.sum(capacity_of)));
        if let Some(mix) = mix {
            return mix;
        }
        if item.is_single_use {
            return self.context.words().get("single-use").to_owned();
        }
        item.remark.unwrap_or_default().to_owned()
    }
}

/// A line of the tool table.
pub(crate) struct ToolLine {
    pub(crate) name: String,
    /// As engraved on the tool; empty if the tool has no size.
    pub(crate) size: String,
    pub(crate) remark: String,
    pub(crate) special: bool,
}

/// The amount of a part or a supply to pull.
pub(crate) enum Amount {
    /// As much of a supply as the work needs.
    AsNeeded,
    /// As much of a supply as is missing from a fluid.
    TopUp,
    /// The number of pieces of a part.
    Pieces(u32),
    /// The total quantity of a supply.
    Filled(Value),
    /// The number of fillings as text, if their quantities cannot be added.
    Fillings(String),
}
