//! What a job uses: tools, parts, supplies.

use crate::job::{Action, Job, Thing};
use crate::page::{
    Block, Cell, HeadText, JobId, OutputContext, PageContext, PageId, Sheet, SheetKind, TextRun,
    Topic, Value,
};
use crate::prose::Verb;
use crate::quantity::{Quantity, Rational};
use crate::shop::{CribChoice, Part, Price, Shop, Sourced, Supply, Tool};
use crate::verbs::Trait;
use indexmap::IndexMap;

/// The page of the kit list of several jobs together.
#[must_use]
pub(crate) fn kit_page(jobs: &[&Job<'_>]) -> PageId {
    let ids = jobs
        .iter()
        .map(|job| JobId::new(&job.machine.id, &job.procedure.id));
    PageId::Kit(ids.collect())
}

/// The kit list of several jobs together; none of no job at all.
#[must_use]
pub(crate) fn kit_of(shop: &Shop, jobs: &[&Job<'_>], output: &OutputContext) -> Option<Sheet> {
    let first = jobs.first()?;
    let desk = PageContext { shop, output };
    let kit = Kit { desk, jobs };
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
    let naming = HeadText {
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
    };
    Some(desk.sheet(kit_page(jobs), SheetKind::KitList, naming, kit.blocks()))
}

/// The tool that an action is done with: the one it names, or the one that the crib has for it,
/// whether the author named it or not.
pub(crate) fn tool_of<'a>(shop: &'a Shop, action: &Action<'a>) -> Option<&'a Tool> {
    match (action.verb, action.thing) {
        (Verb::Use, Thing::Tool(tool)) => Some(tool),
        (Verb::Tighten, Thing::Part(part)) => match shop.torque_tool_for(part) {
            Some(CribChoice::Covers(tool)) => Some(tool),
            _ => None,
        },
        (Verb::Measure | Verb::Adjust, Thing::Reading(reading)) => shop.tool_of(reading),
        _ => None,
    }
}

/// Writes what some jobs use.
#[derive(Clone, Copy)]
pub(crate) struct Kit<'w, 'a> {
    pub(crate) desk: PageContext<'w>,
    pub(crate) jobs: &'w [&'w Job<'a>],
}

impl<'a> Kit<'_, 'a> {
    pub(crate) fn blocks(self) -> Vec<Block> {
        let mut blocks: Vec<Block> = self.kit().into_iter().collect();
        blocks.extend(self.tools());
        if blocks.is_empty() {
            blocks.push(Block::Text {
                runs: vec![TextRun::text(self.desk.words().get("nothing-to-pull"))],
            });
        }
        blocks.push(self.desk.notices());
        blocks
    }

    fn actions(&self) -> impl Iterator<Item = &Action<'a>> {
        self.jobs
            .iter()
            .flat_map(|job| job.steps())
            .flat_map(|step| step.all_actions())
    }

    /// The parts that some verbs are done to, each once a machine, in order of the first time.
    fn parts(&self, is_wanted: impl Fn(Verb) -> bool) -> Vec<&'a Part> {
        let mut parts: IndexMap<(&str, &str), &'a Part> = IndexMap::new();
        for job in self.jobs {
            for action in job.steps().flat_map(|step| step.all_actions()) {
                if let Thing::Part(part) = action.thing
                    && is_wanted(action.verb)
                {
                    parts.entry((&job.machine.id, &part.key)).or_insert(part);
                }
            }
        }
        parts.into_values().collect()
    }

    pub(crate) fn tools(&self) -> Option<Block> {
        let rows = self.tool_lines().into_iter().map(|line| {
            vec![
                Cell::name(line.name),
                Cell::text(line.size),
                Cell::text(line.remark),
            ]
        });
        let columns = [("tool", 5), ("size-or-range", 4), ("remark", 6)];
        self.desk
            .table_section(Topic::Tools, &columns, rows.collect())
    }

    /// The tools that the jobs take, each once.
    pub(crate) fn tool_lines(&self) -> Vec<ToolLine> {
        let shop = self.desk.shop;
        let mut lines = Vec::new();
        let mut listed: Vec<&str> = Vec::new();
        for action in self.actions() {
            let Some(tool) = tool_of(shop, action) else {
                continue;
            };
            if listed.contains(&tool.key.as_str()) {
                continue;
            }
            listed.push(&tool.key);
            // As engraved on the tool: a 9/16 in wrench is not looked for as 14.3 mm.
            let size = tool.size.as_ref().or(tool.range.as_ref());
            let size = size.map(|size| self.desk.words().value(&size.value.parts()));
            lines.push(ToolLine {
                name: tool.name.clone(),
                size: size.unwrap_or_default(),
                remark: tool.note.clone().unwrap_or_default(),
            });
        }
        // Sizes that the job's fasteners ask for, whether the author wrote a tool or not.
        let mut drives: IndexMap<String, Vec<String>> = IndexMap::new();
        let sizes: Vec<Quantity> = listed
            .iter()
            .filter_map(|id| shop.tools.get(id)?.size.as_ref()?.value.limits().nominal())
            .collect();
        for part in self.parts(|verb| verb.spec().has(Trait::TakesTools)) {
            // A wrench that the author named is not asked for again.
            let has_tool = part.hex_size().is_some_and(|hex| {
                let mut sizes = sizes.iter();
                sizes.any(|size| size.compare(&hex).is_some_and(std::cmp::Ordering::is_eq))
            });
            if let Some(drive) = self.desk.drive_text(part).filter(|_| !has_tool) {
                drives.entry(drive).or_default().push(part.name.clone());
            }
        }
        let words = self.desk.words();
        for (drive, parts) in drives {
            lines.push(ToolLine {
                name: words.get("wrench").to_owned(),
                size: drive,
                remark: words.say("for-parts", &[("parts", &words.list(&parts))]),
            });
        }
        lines
    }

    /// What the jobs use up, as a table.
    pub(crate) fn kit(&self) -> Option<Block> {
        let items = self.items();
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
                match self.amount(item) {
                    Amount::AsNeeded => Cell::text(self.desk.words().get("as-needed")),
                    Amount::Pieces(count) => Cell::text(count.to_string()),
                    Amount::Filled(value) => Cell::Value { value },
                    Amount::Fillings(text) => Cell::text(text),
                },
                Cell::text(self.remark(item)),
            ];
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
            ("quantity", 4),
            ("remark", 5),
        ];
        if is_priced {
            columns.push(("cost", 3));
            let name = if is_all_priced {
                "total"
            } else {
                "total-priced"
            };
            rows.push(vec![
                Cell::name(self.desk.words().get(name)),
                Cell::text(""),
                Cell::text(""),
                Cell::text(""),
                Cell::text(self.money(&total)),
                Cell::text(""),
            ]);
        }
        columns.push(("pulled", 2));
        self.desk.table_section(Topic::Kit, &columns, rows)
    }

    /// Everything that the jobs use up, summed over all of them: parts first, then supplies.
    pub(crate) fn items(&self) -> Vec<Item<'_>> {
        let mut items: IndexMap<(&str, &str), Item<'_>> = IndexMap::new();
        let actions = self.jobs.iter().flat_map(|job| {
            let actions = job.steps().flat_map(|step| step.all_actions());
            actions.map(|action| (job.machine.id.as_str(), action))
        });
        for (machine, action) in actions {
            match (action.verb, action.thing) {
                (Verb::Renew, Thing::Part(part)) => {
                    // Parts of two machines are two, though they may share a name.
                    let item = items
                        .entry((machine, &part.key))
                        .or_insert_with(|| Item::of_part(part));
                    item.count += part.count;
                }
                (Verb::Apply, Thing::Supply(supply)) => {
                    items
                        .entry(("", &supply.key))
                        .or_insert_with(|| Item::of_supply(supply));
                }
                (Verb::Fill, Thing::Fluid(fluid)) => {
                    if let Some(supply) = self.desk.shop.supply_of(fluid) {
                        let item = items
                            .entry(("", &supply.key))
                            .or_insert_with(|| Item::of_supply(supply));
                        item.fills.extend(&fluid.capacity);
                    }
                }
                _ => {}
            }
        }
        // The counter pulls parts first, then takes the cans.
        items.sort_by(|_, one, _, other| one.supply.is_some().cmp(&other.supply.is_some()));
        items.into_values().collect()
    }

    fn money(&self, amount: &Price) -> String {
        let mark = self.desk.words().decimal_mark();
        format!("{}{}", self.desk.shop.currency, amount.text(mark))
    }

    /// How much of an item is used.
    pub(crate) fn amount(&self, item: &Item<'_>) -> Amount {
        match (item.count, item.fills.as_slice()) {
            (0, []) => Amount::AsNeeded,
            (0, [fill]) => Amount::Filled(self.desk.value(fill)),
            (0, fills) => {
                if let Some(sum) = item.filled() {
                    let unverified = fills.iter().any(|fill| fill.basis.is_none());
                    return Amount::Filled(self.desk.spec(&sum.into(), unverified));
                }
                let places = [("count", &*fills.len().to_string())];
                Amount::Fillings(self.desk.words().say("fillings", &places))
            }
            (count, _) => Amount::Pieces(count),
        }
    }

    fn remark(&self, item: &Item<'_>) -> String {
        let mix = item.supply.and_then(|supply| supply.mix.as_ref());
        if let Some(mix) = mix {
            let ratio = self.desk.spec(&mix.value, false).first;
            return self.desk.words().say("mixed", &[("ratio", &ratio)]);
        }
        if item.is_single_use {
            return self.desk.words().get("single-use").to_owned();
        }
        item.remark.unwrap_or_default().to_owned()
    }
}

/// A tool that a job takes.
pub(crate) struct ToolLine {
    pub(crate) name: String,
    /// As engraved on it; empty where it has none.
    pub(crate) size: String,
    pub(crate) remark: String,
}

/// How much of a part or a supply is used.
pub(crate) enum Amount {
    /// Of a supply, as much as it takes.
    AsNeeded,
    /// Of a part.
    Pieces(u32),
    /// All that is filled in.
    Filled(Value),
    /// The number of fillings in words, where they can't be summed.
    Fillings(String),
}

/// A part or a supply that is used up.
pub(crate) struct Item<'k> {
    pub(crate) name: &'k str,
    pub(crate) number: Option<&'k str>,
    remark: Option<&'k str>,
    is_single_use: bool,
    /// Pieces, for a part.
    count: u32,
    /// What is filled in, for a supply.
    fills: Vec<&'k Sourced>,
    price: Option<&'k Price>,
    supply: Option<&'k Supply>,
}

impl<'k> Item<'k> {
    fn of_part(part: &'k Part) -> Item<'k> {
        Item {
            name: &part.name,
            number: part.number.as_deref(),
            remark: None,
            is_single_use: part.renew,
            count: 0,
            fills: Vec::new(),
            price: part.price.as_ref(),
            supply: None,
        }
    }

    fn of_supply(supply: &'k Supply) -> Item<'k> {
        Item {
            name: &supply.name,
            number: None,
            remark: supply.note.as_deref(),
            is_single_use: false,
            count: 0,
            fills: Vec::new(),
            price: supply.price.as_ref(),
            supply: Some(supply),
        }
    }

    /// All that is filled in, in the unit of the first filling; none where it can't be summed.
    fn filled(&self) -> Option<Quantity> {
        let nominals = self
            .fills
            .iter()
            .map(|fill| fill.spec.value.limits().nominal());
        let nominals: Vec<Quantity> = nominals.collect::<Option<_>>()?;
        let unit = nominals.first()?.unit();
        let mut sum = Rational::from_integer(0.into());
        let mut decimals = 0;
        for nominal in &nominals {
            let nominal = nominal.in_unit(unit)?;
            sum = &sum + nominal.value();
            decimals = decimals.max(decimals_of(&nominal.resolution()));
        }
        Some(Quantity::new(sum, unit, decimals))
    }

    /// Its price times its pieces, or times how often the amount that is priced goes into what is filled.
    fn cost(&self) -> Option<Price> {
        let price = self.price?;
        if self.count > 0 {
            return Some(price.times(&Rational::from_integer(self.count.into())));
        }
        let each = self.supply?.each.as_ref()?.value.limits().nominal()?;
        let filled = self.filled()?.in_unit(each.unit())?;
        Some(price.times(&(filled.value() / each.value())))
    }
}

/// How many decimals show a resolution: 2 for a hundredth.
pub(crate) fn decimals_of(resolution: &Rational) -> u8 {
    let ten = Rational::from_integer(10.into());
    let mut step = Rational::from_integer(1.into());
    let mut decimals = 0;
    while step > *resolution && decimals < 6 {
        step = &step / &ten;
        decimals += 1;
    }
    decimals
}
