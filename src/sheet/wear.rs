//! The dimensions of parts that wear: the tables beside the steps that measure them, and the section of a machine's data.

use super::machine::MachineWriter;
use super::writer::Writer;
use crate::job::{JobStep, Thing};
use crate::page::{Block, Cell, Topic, WearColumns, WearRow, WearTable};
use crate::prose::{self, Verb};
use crate::shop::{Dimension, Part, Shop, Sourced};

impl Writer<'_, '_> {
    /// The dimensions that a step measures, in a table for each part: all that an inspected part has, and those that are
    /// measured one by one.
    pub(crate) fn wear_tables(&self, step: &JobStep<'_>) -> Vec<WearTable> {
        let mut tables: Vec<WearTable> = Vec::new();
        for action in &step.actions {
            let (part, dimensions): (&Part, Vec<&Dimension>) = match (action.verb, action.thing) {
                (Verb::Inspect, Thing::Part(part)) => (part, part.dimensions.values().collect()),
                (Verb::Measure, Thing::Reading(reading)) => {
                    let Some(of) = &reading.dimension else {
                        continue;
                    };
                    let part = &self.job.machine.parts[of.part];
                    (part, vec![&part.dimensions[of.dimension]])
                }
                _ => continue,
            };
            let rows: Vec<WearRow> = dimensions
                .into_iter()
                .filter_map(|dimension| self.wear_row(part, dimension))
                .collect();
            match tables.last_mut().filter(|table| table.part == part.name) {
                Some(table) => table.rows.extend(rows),
                None if rows.is_empty() => {}
                None => tables.push(WearTable {
                    part: part.name.clone(),
                    rows,
                    has: WearColumns::default(),
                    to_fill: true,
                }),
            }
        }
        for table in &mut tables {
            table.has = WearColumns {
                new: table.rows.iter().any(|row| row.new.is_some()),
                desired: table.rows.iter().any(|row| row.desired.is_some()),
                beyond: table.rows.iter().any(|row| row.beyond.is_some()),
            };
        }
        tables
    }

    /// `None` if the wear limit could not be read.
    fn wear_row(&self, part: &Part, dimension: &Dimension) -> Option<WearRow> {
        let limit = dimension.wear_limit.as_ref()?;
        let (unit, bounds) = self.bounds(limit);
        let value = |sourced: &Option<Sourced>| {
            let sourced = sourced.as_ref();
            sourced.map(|sourced| self.context.value(sourced))
        };
        Some(WearRow {
            of: part.reading_key(dimension),
            label: dimension.name.clone(),
            how: how(self.context.shop, dimension),
            new: value(&dimension.new),
            desired: value(&dimension.desired),
            limit: self.context.value(limit),
            unit,
            bounds: Box::new(bounds),
            beyond: beyond(dimension),
        })
    }
}

/// Where and with which tool a dimension is measured.
fn how(shop: &Shop, dimension: &Dimension) -> Vec<String> {
    let tool = dimension.tool.as_ref();
    let tool = tool.map(|tool| shop.tools[tool.value].name.clone());
    dimension.place.iter().cloned().chain(tool).collect()
}

/// What is done if a dimension is beyond its wear limit.
fn beyond(dimension: &Dimension) -> Option<String> {
    dimension.beyond.as_ref().map(|text| prose::plain(text))
}

impl MachineWriter<'_, '_> {
    /// When parts may be used again: by their dimensions, and by their condition.
    pub(crate) fn wear(&self) -> Option<Block> {
        let tables = [self.dimensions(), self.reuse()];
        let tables: Vec<Block> = tables.into_iter().flatten().collect();
        (!tables.is_empty()).then(|| self.context.section(Topic::Wear, tables))
    }

    fn dimensions(&self) -> Option<Block> {
        let mut rows = Vec::new();
        for part in self.machine.parts.values() {
            for dimension in part.dimensions.values() {
                let value = |sourced: &Option<Sourced>| match sourced {
                    Some(sourced) => Cell::Value {
                        value: self.context.value(sourced),
                    },
                    None => Cell::text("–"),
                };
                rows.push(vec![
                    Cell::part(format!("{}, {}", part.name, dimension.name), &part.key),
                    value(&dimension.new),
                    value(&dimension.desired),
                    value(&dimension.wear_limit),
                    Cell::text(how(self.context.shop, dimension).join("; ")),
                    Cell::text(beyond(dimension).unwrap_or_default()),
                ]);
            }
        }
        let columns = [
            ("part-dimension", 6),
            ("new-head", 5),
            ("desired-head", 5),
            ("wear-limit-head", 5),
            ("where-and-tool", 6),
            ("beyond-head", 5),
        ];
        let caption = self.context.words().get(Topic::Wear.name());
        (!rows.is_empty()).then(|| self.context.table(caption, &columns, rows))
    }

    fn reuse(&self) -> Option<Block> {
        let worn = self.machine.parts.values();
        let worn = worn.filter(|part| part.limits.is_some() || part.reuse.is_some());
        let rows = worn.map(|part| {
            vec![
                Cell::part(part.name.clone(), &part.key),
                match &part.limits {
                    Some(limits) => Cell::Value {
                        value: self.context.value(limits),
                    },
                    None => Cell::text("–"),
                },
                Cell::text(
                    part.reuse
                        .as_ref()
                        .map(|text| prose::plain(text))
                        .unwrap_or_default(),
                ),
            ]
        });
        let rows: Vec<Vec<Cell>> = rows.collect();
        let columns = [("part", 5), ("limits-head", 4), ("use-again-head", 9)];
        let caption = self.context.words().get(Topic::Wear.name());
        (!rows.is_empty()).then(|| self.context.table(caption, &columns, rows))
    }
}
