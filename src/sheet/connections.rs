//! The connections of a machine, and the drawing of its wiring.

use super::machine::MachineWriter;
use super::wires::colour_text;
use crate::page::{Block, Cell, Figure, FigureId, Topic};

impl MachineWriter<'_, '_> {
    /// The table of the machine's connections, a row for each terminal, and below it the drawing of the wiring.
    pub(super) fn connections(&self) -> Option<Block> {
        let words = self.context.words();
        let mut rows = Vec::new();
        let parts = self.machine.parts.values();
        for part in parts.filter(|part| !part.wires.is_empty()) {
            for (index, wire) in part.wires.iter().enumerate() {
                let once = |text: &Option<String>| {
                    let text = text.as_ref().filter(|_| index == 0);
                    Cell::text(text.cloned().unwrap_or_default())
                };
                rows.push(vec![
                    if index == 0 {
                        Cell::part(part.name.clone(), &part.key)
                    } else {
                        Cell::text("")
                    },
                    once(&part.place),
                    Cell::text(wire.value.terminal.clone()),
                    Cell::text(colour_text(words, &wire.value)),
                    once(&part.mark),
                ]);
            }
        }
        let has_marks = self
            .machine
            .parts
            .values()
            .any(|part| part.mark.is_some() && !part.wires.is_empty());
        let mut columns = vec![
            ("connection", 5),
            ("where-head", 6),
            ("terminal", 3),
            ("wire", 5),
            ("mark-head-part", 4),
        ];
        if !has_marks {
            columns.pop();
            for row in &mut rows {
                row.pop();
            }
        }
        let table = self
            .context
            .table_section(Topic::Connections, &columns, rows);
        let figure = self.wiring().map(Block::Figure);
        match (table, figure) {
            (Some(Block::Section(mut section)), figure) => {
                section.blocks.extend(figure);
                Some(Block::Section(section))
            }
            (table, None) => table,
            (_, Some(figure)) => Some(self.context.section(Topic::Connections, vec![figure])),
        }
    }

    fn wiring(&self) -> Option<Figure> {
        let id = FigureId(self.machine.wiring.as_ref()?.value.clone());
        let facts = self.context.output.figure(&id)?;
        let words = self.context.words();
        let values = [("machine", self.machine.name.value.as_str())];
        Some(Figure {
            content: facts.content.clone(),
            least_width: facts.least_width,
            size: facts.size(),
            number: 1,
            again: false,
            optional: false,
            alt: words.format("wiring-of", &values),
            caption: Some(words.get("wiring").to_owned()),
            marked: None,
            id,
        })
    }
}
