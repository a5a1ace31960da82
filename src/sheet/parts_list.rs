//! The illustrated parts list of a machine: each of its figures with the parts that have numbers in it, and the other parts.

use super::figures::marked;
use super::machine::{MachineWriter, remarks};
use crate::page::{
    Block, Cell, Figure, FigureId, FigureSize, JobId, LinkTarget, Marked, SectionId, SheetSection,
    TextRun, Topic,
};
use crate::shop::{Legend, Part, ThingId};
use std::collections::BTreeSet;

/// The columns of a table of parts, each with its share of the width. The last is empty, to order with.
const COLUMNS: [(&str, u8); 7] = [
    ("callout-number", 2),
    ("part", 7),
    ("number", 4),
    ("quantity", 2),
    ("remark", 6),
    ("renewed-in", 6),
    ("to-order", 3),
];

impl MachineWriter<'_, '_> {
    /// The blocks of the illustrated parts list. Empty if the machine has no figure with numbers.
    pub(super) fn parts_list(&self) -> Vec<Block> {
        let mut listed = BTreeSet::new();
        let mut blocks = Vec::new();
        let legends = self.context.shop.legends.values();
        for legend in legends.filter(|legend| legend.is_for(self.machine.index)) {
            let number = u32::try_from(blocks.len() + 1).unwrap_or(u32::MAX);
            blocks.extend(self.figure_section(legend, number, &mut listed));
        }
        if !blocks.is_empty() {
            blocks.extend(self.other_parts(&listed));
        }
        blocks
    }

    /// A figure and the table of its parts. `listed` are the things of the figures before it.
    fn figure_section(
        &self,
        legend: &Legend,
        number: u32,
        listed: &mut BTreeSet<ThingId>,
    ) -> Option<Block> {
        let output = self.context.output;
        let id = FigureId(legend.picture.clone()?);
        let facts = output.figure(&id)?;
        let marked = Marked {
            has_legend: false,
            ..marked(output, legend, self.machine, None, FigureSize::Reading)?
        };
        let figure = Figure {
            content: facts.content.clone(),
            least_width: None,
            size: facts.size(),
            number,
            again: false,
            optional: false,
            alt: legend.title.clone(),
            caption: None,
            marked: Some(Box::new(marked)),
            id,
        };
        let mut rows = Vec::new();
        for (callout, thing) in legend.callouts_on(self.machine) {
            let Some(number) = &callout.number else {
                continue;
            };
            let name = self.machine.drawn_name(thing)?.to_owned();
            // A link to a part leads to its first figure.
            let name = if listed.insert(thing) {
                Cell::Place {
                    text: name,
                    place: LinkTarget::Drawn {
                        machine: self.machine.id.clone(),
                        thing: callout.key.value.clone(),
                    },
                    link: matches!(thing, ThingId::Part(_)).then(|| LinkTarget::Part {
                        machine: self.machine.id.clone(),
                        part: callout.key.value.clone(),
                    }),
                }
            } else {
                Cell::name(name)
            };
            let part = match thing {
                ThingId::Part(id) => Some(&self.machine.parts[id]),
                _ => None,
            };
            rows.push(self.row(number.value.to_string(), name, part));
        }
        let mut blocks = vec![Block::Figure(figure)];
        blocks.push(self.context.table(&legend.title, &COLUMNS, rows));
        Some(Block::Section(SheetSection {
            id: SectionId::Figure(legend.key.clone()),
            title: legend.title.clone(),
            from: None,
            blocks,
        }))
    }

    /// The parts that are in no figure.
    fn other_parts(&self, listed: &BTreeSet<ThingId>) -> Option<Block> {
        let parts = self.machine.parts.values();
        let rows = parts
            .filter(|part| !listed.contains(&part.id.into()))
            .map(|part| {
                let name = Cell::part(part.name.clone(), &part.key);
                let mut row = self.row(String::new(), name, Some(part));
                row.remove(0);
                row
            });
        self.context
            .table_section(Topic::OtherParts, &COLUMNS[1..], rows.collect())
    }

    fn row(&self, number: String, name: Cell, part: Option<&Part>) -> Vec<Cell> {
        let text = |text: Option<String>| Cell::text(text.unwrap_or_default());
        vec![
            Cell::text(number),
            name,
            text(part.and_then(|part| part.number.clone())),
            text(part.map(|part| part.count.to_string())),
            text(part.map(|part| remarks(self.context, part))),
            Cell::Text {
                runs: part.map_or_else(Vec::new, |part| self.renewed_in(part)),
            },
            Cell::Blank,
        ]
    }

    /// The jobs that renew a part.
    fn renewed_in(&self, part: &Part) -> Vec<TextRun> {
        let mut runs = Vec::new();
        for job in self
            .jobs
            .iter()
            .filter(|job| job.renewed.contains(&part.id))
        {
            if !runs.is_empty() {
                runs.push(TextRun::text("; "));
            }
            let target = LinkTarget::Job(JobId::new(&self.machine.id, &job.procedure.id));
            let title = TextRun::text(&job.procedure.title.value);
            runs.push(TextRun::link(target, vec![title]));
        }
        runs
    }
}
