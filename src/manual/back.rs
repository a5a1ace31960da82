//! The back of a manual: tools, supplies, the glossary and the index.

use super::book::{Chapter, IndexEntry, IndexLine, ManualPiece};
use super::writer::{Book, Uses, chapter, fault_place, heading};
use crate::page::{Cell, LinkTarget, SectionId, TextRun};
use crate::sheet::{cautions, sparks_a_turn};
use crate::shop::{Supply, Tool, capitalised};
use crate::site::terms;
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};

impl<'a> Book<'_, 'a> {
    /// The chapter of tools and supplies. `None` if the shop has neither.
    pub(super) fn crib(&self) -> Option<Chapter> {
        let part = self.word("crib");
        let cautions = self.caution_keys();
        let supplies = self.shop.supplies.values();
        let supplies: Vec<_> = supplies
            .map(|supply| self.supply(supply, &cautions))
            .collect();
        // Tools that are not for measuring have a shorter table: most of the columns would be
        // empty.
        let (measuring, plain): (Vec<&Tool>, Vec<&Tool>) = self
            .shop
            .tools
            .values()
            .partition(|tool| is_measuring(tool));
        let tools: Vec<_> = plain
            .into_iter()
            .map(|tool| plain_tool(tool, self.words()))
            .collect();
        let measuring = measuring.into_iter().map(|tool| self.measuring_tool(tool));
        let measuring: Vec<_> = measuring.collect();
        let mut pieces = vec![heading(1, part.clone(), [])];
        let tool_columns = [("tool", 6), ("size-or-range", 4), ("remark", 9)];
        let measuring_columns = [
            ("tool", 5),
            ("size-or-range", 5),
            ("tolerance", 4),
            ("scale-marks", 4),
            ("calibrated", 4),
            ("calibrated-until", 4),
            ("remark", 6),
        ];
        let supply_columns = [
            ("supply", 5),
            ("mix-head", 2),
            ("hazards", 6),
            ("remark", 5),
        ];
        for (key, columns, rows) in [
            ("tools", tool_columns.as_slice(), tools),
            ("measuring-tools", measuring_columns.as_slice(), measuring),
            ("supplies", supply_columns.as_slice(), supplies),
        ] {
            if rows.is_empty() {
                continue;
            }
            let title = self.word(key);
            let table = self.context().table(&title, columns, rows);
            pieces.push(heading(2, title, []));
            pieces.push(ManualPiece::Blocks {
                level: 3,
                marked: false,
                about: None,
                blocks: vec![table],
            });
        }
        (pieces.len() > 1).then(|| self.part(part, pieces))
    }

    /// A chapter that is a part of the manual.
    fn part(&self, part: String, pieces: Vec<ManualPiece>) -> Chapter {
        chapter(part.clone(), part, self.word("manual-title"), pieces)
    }

    /// The shop's terms, and the standard ones.
    pub(super) fn glossary(&self) -> Chapter {
        let part = self.word("list-glossary");
        let terms = terms(self.shop, self.words()).into_iter();
        let rows =
            terms.map(|(_, name, means)| vec![Cell::name(capitalised(&name)), Cell::text(means)]);
        let columns = [("term", 4), ("meaning", 11)];
        let table = self.context().table(&part, &columns, rows.collect());
        let pieces = vec![
            heading(1, part.clone(), []),
            ManualPiece::Blocks {
                level: 3,
                marked: false,
                about: None,
                blocks: vec![table],
            },
        ];
        self.part(part, pieces)
    }

    fn measuring_tool(&self, tool: &Tool) -> Vec<Cell> {
        let of_torque = tool
            .torque
            .as_ref()
            .map(crate::trade::TorqueTool::tolerance);
        let of_meter = tool.meter.as_ref().and_then(|meter| meter.accuracy());
        let tolerance = of_torque.or_else(|| of_meter.cloned());
        let day = |day: &Option<crate::finding::Located<crate::trade::Day>>| {
            day.as_ref()
                .map(|day| day.value.to_string())
                .unwrap_or_default()
        };
        let words = self.words();
        let marks = tool.graduation.as_ref();
        let marks = marks.map(|marks| words.value(&marks.value.parts()));
        let step = tool.meter.as_ref().and_then(|meter| meter.resolution());
        vec![
            Cell::name(capitalised(&tool.name)),
            Cell::text(self.settings(tool).unwrap_or_else(|| engraved(tool, words))),
            Cell::text(
                tolerance
                    .map(|part| format!("±\u{a0}{}", words.quantity(&part)))
                    .unwrap_or_default(),
            ),
            Cell::text(
                marks
                    .or_else(|| step.map(|step| words.quantity(step)))
                    .unwrap_or_default(),
            ),
            Cell::text(day(&tool.calibrated)),
            Cell::text(day(&tool.due)),
            Cell::text(tool.note.clone().unwrap_or_default()),
        ]
    }

    /// The settings of a tachometer. `None` for another tool.
    fn settings(&self, tool: &Tool) -> Option<String> {
        let settings = tool.pulse_settings.iter();
        let settings: Vec<String> = settings
            .map(|setting| sparks_a_turn(&setting.value, self.words()))
            .collect();
        let count = self.words().choice(&settings);
        let words = self.words().format("sparks-per-turn", &[("count", &count)]);
        (!settings.is_empty()).then_some(words)
    }

    fn supply(&self, supply: &Supply, cautions: &BTreeSet<&str>) -> Vec<Cell> {
        let mix = supply.mix.as_ref();
        let mix = mix.map(|mix| self.shop.units.show(&mix.value).first);
        let mix = mix.map(|mix| self.words().value(&mix.parts()));
        let cautions = supply.cautions.iter().map(|id| {
            let caution = &self.shop.cautions[id.value];
            let hazard = TextRun::text(&caution.hazard);
            // A message that no job of the manual uses is not in the manual, so it gets no link.
            if !cautions.contains(caution.key.as_str()) {
                return vec![hazard];
            }
            let target = LinkTarget::Caution(caution.key.clone());
            vec![TextRun::link(target, vec![hazard])]
        });
        let cautions: Vec<Vec<TextRun>> = cautions.collect();
        vec![
            Cell::name(capitalised(&supply.name)),
            Cell::text(mix.unwrap_or_default()),
            Cell::Text {
                runs: cautions.join(&TextRun::Break),
            },
            Cell::text(supply.note.clone().unwrap_or_default()),
        ]
    }

    /// The keys of the cautions in the manual.
    fn caution_keys(&self) -> BTreeSet<&'a str> {
        let jobs = self.content.jobs.iter().chain(&self.content.faults);
        let jobs: Vec<_> = jobs.map(|(job, _)| *job).collect();
        cautions(jobs.iter().copied())
            .iter()
            .map(|caution| caution.key.as_str())
            .collect()
    }

    /// The index. `None` if it would be empty.
    pub(super) fn index(&self, uses: &Uses) -> Option<Chapter> {
        let part = self.word("manual-index");
        let mut pieces = vec![heading(1, part.clone(), [])];
        for (key, entries) in [
            ("by-part", self.parts(uses)),
            ("by-symptom", self.symptoms()),
        ] {
            if !entries.is_empty() {
                pieces.push(heading(2, self.word(key), []));
                pieces.push(ManualPiece::Index { entries });
            }
        }
        (pieces.len() > 1).then(|| self.part(part, pieces))
    }

    /// The machine's name in an index line. `None` in a manual of one machine.
    fn machine_label(&self, name: &str) -> Option<String> {
        (self.content.machines.len() > 1).then(|| name.to_owned())
    }

    fn parts(&self, uses: &Uses) -> Vec<IndexEntry> {
        // Sorted by lowercase name. A part that several machines have is one entry.
        let mut entries: BTreeMap<(String, &str), Vec<IndexLine>> = BTreeMap::new();
        for machine in &self.content.machines {
            for part in machine.parts.values() {
                let Some(places) = uses.get(&(machine.id.clone(), part.key.clone())) else {
                    continue;
                };
                let key = (part.name.to_lowercase(), part.name.as_str());
                entries.entry(key).or_default().push(IndexLine {
                    of: self.machine_label(&machine.name.value),
                    number: part.number.clone(),
                    to: places.iter().cloned().collect(),
                    // The rows of the machine's data.
                    main: places
                        .iter()
                        .filter(|place| matches!(place, LinkTarget::Row { .. }))
                        .cloned()
                        .collect(),
                });
            }
        }
        let entries = entries.into_iter().map(|((_, name), lines)| IndexEntry {
            name: name.to_owned(),
            lines,
        });
        entries.collect()
    }

    /// The index by symptom: the fault tables with their sections.
    fn symptoms(&self) -> Vec<IndexEntry> {
        // For each table, the lines of its machines and the lines of its sections.
        type Lines = (Vec<IndexLine>, Vec<IndexLine>);
        let mut entries: BTreeMap<(&str, &str), Lines> = BTreeMap::new();
        for (fault, _) in &self.content.faults {
            let procedure = fault.procedure;
            let key = (procedure.title.value.as_str(), procedure.id.as_str());
            let (machines, sections) = entries.entry(key).or_default();
            machines.push(IndexLine {
                of: self.machine_label(&fault.machine.name.value),
                number: None,
                to: vec![fault_place(fault)],
                main: Vec::new(),
            });
            for (index, section) in fault.sections.iter().enumerate() {
                let to = fault_place(fault).section(SectionId::Steps(index + 1));
                let line = sections
                    .iter_mut()
                    .find(|line: &&mut IndexLine| line.of.as_deref() == Some(section.title));
                match line {
                    Some(line) => line.to.push(to),
                    None => sections.push(IndexLine {
                        of: Some(section.title.to_owned()),
                        number: None,
                        to: vec![to],
                        main: Vec::new(),
                    }),
                }
            }
        }
        let entries = entries
            .into_iter()
            .map(|((name, _), (mut lines, sections))| {
                lines.extend(sections);
                IndexEntry {
                    name: name.to_owned(),
                    lines,
                }
            });
        entries.collect()
    }
}

/// Whether a tool has any data about measuring.
fn is_measuring(tool: &Tool) -> bool {
    tool.torque.is_some()
        || tool.meter.is_some()
        || tool.graduation.is_some()
        || tool.calibrated.is_some()
        || tool.due.is_some()
}

fn plain_tool(tool: &Tool, words: &Words) -> Vec<Cell> {
    vec![
        Cell::name(capitalised(&tool.name)),
        Cell::text(engraved(tool, words)),
        Cell::text(tool.note.clone().unwrap_or_default()),
    ]
}

/// A tool's size or range as engraved: nobody looks for a 9/16 in wrench as 14.3 mm.
fn engraved(tool: &Tool, words: &Words) -> String {
    let size = tool.size.as_ref().or(tool.range.as_ref());
    size.map(|size| words.value(&size.value.parts()))
        .unwrap_or_default()
}
