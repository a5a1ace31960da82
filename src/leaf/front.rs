//! What a shop sheet says before its steps: why, making safe, tools, kit,
//! values, places, readings.

use super::steps::{fastener, setting_through};
use super::{Block, Cell, Column, Run, Table, Value, Writer, section};
use crate::job::{Act, Step, Thing};
use crate::prose::{self, Verb};
use crate::quantity::{Quantity, Rational, Spec};
use crate::shop::{CribChoice, Part, Price, Reading, Sourced, Supply, Tool};
use indexmap::IndexMap;

impl<'a> Writer<'_, 'a> {
    pub(super) fn why(&self) -> Option<Block> {
        let why = self.job.procedure.why.iter();
        let blocks: Vec<Block> = why.filter_map(|block| self.text(block)).collect();
        (!blocks.is_empty()).then(|| section("Why", blocks))
    }

    /// Every action of the job in order.
    fn acts(&self) -> impl Iterator<Item = &Act<'a>> {
        self.job.steps().flat_map(Step::all_acts)
    }

    /// The parts that some verbs are done to, each once, in order of the first time.
    fn parts(&self, verbs: &[Verb]) -> Vec<&'a Part> {
        let mut parts: IndexMap<&str, &'a Part> = IndexMap::new();
        for act in self.acts() {
            if let Thing::Part(part) = act.thing
                && verbs.contains(&act.verb)
            {
                parts.entry(&part.id).or_insert(part);
            }
        }
        parts.into_values().collect()
    }

    /// What the job leaves undone on purpose, and why.
    pub(super) fn left_on_purpose(&self) -> Option<Block> {
        let leaves = &self.job.procedure.leaves;
        let machine = self.job.machine;
        let name = |id: &str| {
            let part = machine.parts.get(id).map(|part| part.name.clone());
            let energy = || machine.energies.get(id).map(|energy| energy.name.clone());
            let valve = || machine.valves.get(id).map(|valve| valve.name.clone());
            let fluid = || machine.fluids.get(id).map(|fluid| fluid.name.clone());
            part.or_else(energy).or_else(valve).or_else(fluid)
        };
        let items: Vec<Vec<Run>> = leaves
            .iter()
            .filter_map(|(id, why)| {
                let name = crate::shop::capitalised(&name(&id.value)?);
                Some(vec![Run::text(format!("{name}: {}", why.value))])
            })
            .collect();
        (!items.is_empty()).then(|| section("Left on purpose", vec![Block::Bullets { items }]))
    }

    pub(super) fn make_safe(&self) -> Option<Block> {
        let mut energies = IndexMap::new();
        for act in self.acts() {
            if let (Verb::Isolate, Thing::Energy(energy)) = (act.verb, act.thing) {
                energies.entry(&energy.id).or_insert(energy);
            }
        }
        let rows = energies.into_values().map(|energy| {
            let cell = |text: &crate::shop::Instruction| Cell::Text {
                runs: self.plain_runs(text),
            };
            vec![
                Cell::Name {
                    text: crate::shop::capitalised(&energy.name),
                },
                cell(&energy.isolate),
                cell(&energy.prove),
                cell(&energy.restore),
            ]
        });
        let columns = [
            ("Energy", 3),
            ("Make safe", 6),
            ("Prove it", 5),
            ("Restore at the end", 5),
        ];
        table_section("Make safe", &columns, rows.collect())
    }

    pub(super) fn tools(&self) -> Option<Block> {
        let shop = self.job.shop;
        let mut rows = Vec::new();
        let mut listed: Vec<&str> = Vec::new();
        for act in self.acts() {
            let tool = match (act.verb, act.thing) {
                (Verb::Use, Thing::Tool(tool)) => Some(tool),
                // The torque tool that the crib has for it, whether the author named it or not.
                (Verb::Tighten, Thing::Part(part)) => match shop.torque_tool_for(part) {
                    Some(CribChoice::Covers(tool)) => Some(tool),
                    _ => None,
                },
                (Verb::Measure | Verb::Adjust, Thing::Reading(reading)) => {
                    let tool = reading.tool.as_ref();
                    tool.and_then(|tool| shop.tools.get(&tool.value))
                }
                _ => None,
            };
            let Some(tool) = tool else { continue };
            if listed.contains(&tool.id.as_str()) {
                continue;
            }
            listed.push(&tool.id);
            // As engraved on the tool: a 9/16 in wrench is not looked for as 14.3 mm.
            let size = tool.size.as_ref().or(tool.range.as_ref());
            let size = size.map(|size| size.value.text());
            rows.push(vec![
                Cell::Name {
                    text: tool.name.clone(),
                },
                Cell::text(size.unwrap_or_default()),
                Cell::text(tool.note.clone().unwrap_or_default()),
            ]);
        }
        // Sizes that the job's fasteners ask for, whether the author wrote a tool or not.
        let turned = [
            Verb::Remove,
            Verb::Slacken,
            Verb::Fit,
            Verb::Renew,
            Verb::Tighten,
        ];
        let mut drives: IndexMap<String, Vec<String>> = IndexMap::new();
        let sizes: Vec<Quantity> = listed
            .iter()
            .filter_map(|id| shop.tools.get(*id)?.size.as_ref()?.value.limits().nominal())
            .collect();
        for part in self.parts(&turned) {
            // A wrench that the author named is not asked for again.
            let has_tool = part.hex_size().is_some_and(|hex| {
                let mut sizes = sizes.iter();
                sizes.any(|size| size.compare(&hex).is_some_and(std::cmp::Ordering::is_eq))
            });
            if let Some(drive) = part.turned_by().filter(|_| !has_tool) {
                drives.entry(drive).or_default().push(part.name.clone());
            }
        }
        for (drive, parts) in drives {
            rows.push(vec![
                Cell::Name {
                    text: "Wrench, socket or key".to_owned(),
                },
                Cell::text(drive),
                Cell::text(format!("for {}", super::words::list(&parts))),
            ]);
        }
        table_section(
            "Tools",
            &[("Tool", 5), ("Size or range", 4), ("Remark", 6)],
            rows,
        )
    }

    /// Everything the job uses up, summed over all the procedures in it.
    pub(super) fn kit(&self) -> Option<Block> {
        let mut items: IndexMap<&str, Item<'_>> = IndexMap::new();
        for act in self.acts() {
            match (act.verb, act.thing) {
                (Verb::Renew, Thing::Part(part)) => {
                    let item = items.entry(&part.id).or_insert_with(|| Item::of_part(part));
                    item.count += part.count;
                }
                (Verb::Apply, Thing::Supply(supply)) => {
                    items
                        .entry(&supply.id)
                        .or_insert_with(|| Item::of_supply(supply));
                }
                (Verb::Fill, Thing::Fluid(fluid)) => {
                    if let Some(supply) = self.job.shop.supplies.get(&fluid.supply.value) {
                        let item = items
                            .entry(&supply.id)
                            .or_insert_with(|| Item::of_supply(supply));
                        item.fills.extend(&fluid.capacity);
                    }
                }
                _ => {}
            }
        }
        // The counter pulls parts first, then takes the cans.
        items.sort_by(|_, one, _, other| one.supply.is_some().cmp(&other.supply.is_some()));
        let is_priced = items.values().any(|item| item.cost().is_some());
        let mut total = Price::zero();
        let mut is_all_priced = true;
        let mut rows = Vec::new();
        for item in items.values() {
            let cost = item.cost();
            match &cost {
                Some(cost) => total = total.plus(cost),
                None => is_all_priced = false,
            }
            let mut row = vec![
                Cell::Name {
                    text: item.name.to_owned(),
                },
                Cell::text(item.number.unwrap_or_default()),
                self.amount(item),
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
            ("Part or supply", 6),
            ("Number", 3),
            ("Quantity", 4),
            ("Remark", 5),
        ];
        if is_priced {
            columns.push(("Cost", 3));
            let name = if is_all_priced {
                "Total"
            } else {
                "Total of what is priced"
            };
            rows.push(vec![
                Cell::Name {
                    text: name.to_owned(),
                },
                Cell::text(""),
                Cell::text(""),
                Cell::text(""),
                Cell::text(self.money(&total)),
                Cell::text(""),
            ]);
        }
        columns.push(("Pulled", 2));
        table_section("Kit", &columns, rows)
    }

    fn money(&self, amount: &Price) -> String {
        format!("{}{amount}", self.job.shop.currency)
    }

    fn amount(&self, item: &Item<'_>) -> Cell {
        match (item.count, item.fills.as_slice()) {
            (0, []) => Cell::text("as needed"),
            (0, [fill]) => Cell::Value {
                value: self.value(fill),
            },
            (0, fills) => match item.filled().and_then(|sum| Spec::parse(&sum.text()).ok()) {
                Some(sum) => {
                    let shown = self.job.shop.units.show(&sum);
                    Cell::Value {
                        value: Value {
                            first: shown.first,
                            second: shown.second,
                            unverified: fills.iter().any(|fill| fill.basis.is_none()),
                        },
                    }
                }
                None => Cell::text(format!("{} fillings", fills.len())),
            },
            (count, _) => Cell::text(count.to_string()),
        }
    }

    fn remark(&self, item: &Item<'_>) -> String {
        let mix = item.supply.and_then(|supply| supply.mix.as_ref());
        if let Some(mix) = mix {
            return format!("mixed {}", self.job.shop.units.show(&mix.value).first);
        }
        item.remark.unwrap_or_default().to_owned()
    }

    /// Every torque of the job, with the tool for it, on one table to set tools by.
    pub(super) fn values(&self) -> Option<Block> {
        let mut rows = Vec::new();
        let mut listed: Vec<&str> = Vec::new();
        for step in self.job.steps() {
            for act in step.all_acts() {
                let (Verb::Tighten, Thing::Part(part)) = (act.verb, act.thing) else {
                    continue;
                };
                if listed.contains(&part.id.as_str()) {
                    continue;
                }
                listed.push(&part.id);
                let stages = part.stages.len();
                for (at, stage) in part.stages.iter().enumerate() {
                    let stage_note = (stages > 1).then(|| format!("stage {} of {stages}", at + 1));
                    let once = |text: Option<String>| text.filter(|_| at == 0);
                    let notes = [
                        stage_note,
                        once(part.turned_by()),
                        once(part.pattern.clone()),
                    ];
                    let notes: Vec<String> = notes.into_iter().flatten().collect();
                    rows.push(vec![
                        Cell::Name {
                            text: fastener(part),
                        },
                        Cell::Value {
                            value: self.value(stage),
                        },
                        Cell::text(self.set_with(part, step, stage)),
                        Cell::text(notes.join(", ")),
                    ]);
                }
            }
        }
        let columns = [("Fastener", 5), ("Torque", 5), ("Set with", 5), ("How", 4)];
        table_section("Torques", &columns, rows)
    }

    /// The step's tool for a torque, and what may be set on its scale so that its own error stays
    /// inside the limits; through an extension, what to set.
    fn set_with(&self, part: &Part, step: &Step<'_>, stage: &Sourced) -> String {
        let Some(tool) = self.torque_tool(part, step) else {
            return String::new();
        };
        if let Some(setting) = setting_through(tool, step, stage) {
            return format!("{}, {setting}", tool.name);
        }
        let adequacy = tool
            .torque
            .as_ref()
            .and_then(|torque| torque.judge(stage.spec.value.limits()));
        let Some(adequacy) = adequacy else {
            return tool.name.clone();
        };
        let window = adequacy.window.and_then(|window| on_scale(window, tool));
        let window =
            window.map(|(least, most)| format!(", set {} to {}", least.text(), most.text()));
        let ratio = adequacy
            .ratio
            .map(|ratio| format!(" (limits to tool {})", ratio.text()));
        let pieces = [Some(tool.name.clone()), window, ratio];
        pieces.into_iter().flatten().collect()
    }

    /// Where each linkage goes back, and where that was noted.
    pub(super) fn places(&self) -> Option<Block> {
        let rows = self
            .parts(&[Verb::Note, Verb::Remove, Verb::Fit])
            .into_iter()
            .filter(|part| part.is_linkage() || part.seat.is_some())
            .map(|part| self.place_row(part));
        let columns = [
            ("Part", 5),
            ("Sits in", 7),
            ("How round", 5),
            ("Noted at", 3),
            ("Refitted at", 3),
        ];
        table_section("Where it goes back", &columns, rows.collect())
    }

    fn place_row(&self, part: &Part) -> Vec<Cell> {
        let step = |number: Option<u32>| match number {
            Some(number) => Cell::text(format!("step\u{a0}{number}")),
            None => Cell::text("–"),
        };
        let seat = match &part.seat {
            Some(seat) => Cell::text(seat.value.clone()),
            None => Cell::Choice {
                options: part.seats.iter().map(|seat| seat.value.clone()).collect(),
            },
        };
        let mut fits = self.rehearsal.moves_of(&part.id, &[Verb::Fit, Verb::Renew]);
        vec![
            Cell::Name {
                text: part.name.clone(),
            },
            seat,
            Cell::text(part.facing.clone().unwrap_or_default()),
            step(self.noted_at(part)),
            step(fits.next().map(|fit| fit.at.step)),
        ]
    }

    pub(super) fn readings(&self) -> Option<Block> {
        let mut readings: IndexMap<&str, &Reading> = IndexMap::new();
        for act in self.acts() {
            if let (Verb::Measure, Thing::Reading(reading)) = (act.verb, act.thing) {
                readings.entry(&reading.id).or_insert(reading);
            }
        }
        let rows = readings.into_values().filter_map(|reading| {
            let limits = reading.limits.as_ref()?;
            let advice = [("over", &reading.over), ("under", &reading.under)];
            let advice: Vec<String> = advice
                .into_iter()
                .filter_map(|(word, text)| {
                    let text = prose::plain(text.as_ref()?);
                    Some(format!("{word}: {}", super::words::uncapitalised(&text)))
                })
                .collect();
            Some(vec![
                Cell::Name {
                    text: reading.name.clone(),
                },
                Cell::Value {
                    value: self.value(limits),
                },
                Cell::Blank,
                Cell::Blank,
                Cell::text(advice.join("; ")),
            ])
        });
        let columns = [
            ("Reading", 5),
            ("Limits", 5),
            ("As found", 3),
            ("As left", 3),
            ("If out of limits", 6),
        ];
        table_section("Readings", &columns, rows.collect())
    }
}

/// A line of the kit list.
struct Item<'k> {
    name: &'k str,
    number: Option<&'k str>,
    remark: Option<&'k str>,
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
            remark: part.renew.then_some("single use"),
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

/// A window in the tool's own unit, drawn in to the marks of its scale; none where no mark is left.
fn on_scale((least, most): (Quantity, Quantity), tool: &Tool) -> Option<(Quantity, Quantity)> {
    let graduation = tool.graduation.as_ref();
    let Some(step) = graduation.and_then(|graduation| graduation.value.limits().nominal()) else {
        let unit = tool.range.as_ref()?.value.limits().unit();
        // Without marks to keep to, the window is only brought into the tool's unit.
        return (least.unit() == unit).then_some((least, most));
    };
    let marks = |value: &Quantity| Some(value.in_unit(step.unit())?.value() / step.value());
    let (least, most) = (marks(&least)?.ceil(), marks(&most)?.floor());
    let decimals = decimals_of(&step.resolution());
    let at = |marks: Rational| Quantity::new(marks * step.value(), step.unit(), decimals);
    (least <= most).then(|| (at(least), at(most)))
}

/// How many decimals show a resolution: 2 for a hundredth.
fn decimals_of(resolution: &Rational) -> u8 {
    let ten = Rational::from_integer(10.into());
    let mut step = Rational::from_integer(1.into());
    let mut decimals = 0;
    while step > *resolution && decimals < 6 {
        step = &step / &ten;
        decimals += 1;
    }
    decimals
}

/// A section that is one table; none where the table would be empty.
fn table_section(title: &str, columns: &[(&str, u8)], rows: Vec<Vec<Cell>>) -> Option<Block> {
    if rows.is_empty() {
        return None;
    }
    let columns = columns.iter().map(|(title, share)| Column {
        title: (*title).to_owned(),
        share: *share,
    });
    let table = Table {
        caption: title.to_owned(),
        columns: columns.collect(),
        rows,
    };
    Some(section(title, vec![Block::Table(table)]))
}
