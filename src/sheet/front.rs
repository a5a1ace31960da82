//! What a shop sheet prints before its steps: why, how to make safe, torques, positions and
//! readings.

use super::details::fastener;
use super::pattern::pattern_text;
use super::setting::setting_text;
use super::writer::Writer;
use crate::job::{Action, JobStep, Thing};
use crate::page::{Block, Cell, TextRun, Topic};
use crate::prose::Verb;
use crate::rehearsal::{Moment, PartPlace};
use crate::shop::{Part, Reading, Sourced, ThingId};
use indexmap::IndexMap;

impl<'a> Writer<'_, 'a> {
    /// The procedure's text before its first section.
    pub(crate) fn why(&self) -> Vec<Block> {
        let why = self.job.procedure.why.iter();
        why.filter_map(|block| self.text(block)).collect()
    }

    /// The actions of the job, in order.
    pub(crate) fn actions(&self) -> impl Iterator<Item = &Action<'a>> {
        self.job.steps().flat_map(|step| step.all_actions())
    }

    /// The parts that the given verbs act on, each once, in order of first use.
    pub(crate) fn parts(&self, verbs: &[Verb]) -> Vec<&'a Part> {
        let mut parts: IndexMap<&str, &'a Part> = IndexMap::new();
        for action in self.actions() {
            if let Thing::Part(part) = action.thing
                && verbs.contains(&action.verb)
            {
                parts.entry(&part.key).or_insert(part);
            }
        }
        parts.into_values().collect()
    }

    /// What the job leaves undone on purpose, and why. Whoever takes over an open machine must see
    /// that it is open.
    pub(crate) fn left_undone(&self) -> Option<Block> {
        if let Some(left) = self.left_for_other_sheet() {
            return Some(left);
        }
        let end = &self.rehearsal.end;
        let undone = end.differences();
        let left = self.job.left_undone.iter();
        let items: Vec<Vec<TextRun>> = left
            .filter(|left| {
                undone
                    .iter()
                    .any(|difference| difference.thing == left.thing)
            })
            .map(|left| {
                let name = crate::shop::capitalised(left.name);
                vec![TextRun::text(format!("{name}: {}", left.why))]
            })
            .collect();
        // A part that is off or loose leaves the machine open.
        let is_open = self.job.left_undone.iter().any(|left| match left.thing {
            ThingId::Part(part) => end.part(part).place != PartPlace::On,
            _ => false,
        });
        let topic = if is_open {
            Topic::LeftOpen
        } else {
            Topic::LeftOnPurpose
        };
        (!items.is_empty()).then(|| self.context.section(topic, vec![Block::Bullets { items }]))
    }

    pub(crate) fn make_safe(&self) -> Option<Block> {
        let mut energies = IndexMap::new();
        for action in self.actions() {
            if let (Verb::Isolate, Thing::Energy(energy)) = (action.verb, action.thing) {
                energies.entry(&energy.key).or_insert(energy);
            }
        }
        self.context.energies(energies.into_values())
    }

    /// A table of every torque of the job with its tool, for setting the tools.
    pub(crate) fn torques(&self) -> Option<Block> {
        let mut rows = Vec::new();
        let mut listed: Vec<&str> = Vec::new();
        for step in self.job.steps() {
            for action in step.all_actions() {
                let (Verb::Tighten, Thing::Part(part)) = (action.verb, action.thing) else {
                    continue;
                };
                if listed.contains(&part.key.as_str()) {
                    continue;
                }
                listed.push(&part.key);
                let stages = part.stages.len();
                for (index, stage) in part.stages.iter().enumerate() {
                    let stage_note =
                        (stages > 1).then(|| self.context.stage_name(index + 1, stages));
                    let once = |text: Option<String>| text.filter(|_| index == 0);
                    let notes = [
                        stage_note,
                        once(self.context.drive_text(part)),
                        once(pattern_text(self.context.words(), part)),
                    ];
                    let notes: Vec<String> = notes.into_iter().flatten().collect();
                    rows.push(vec![
                        Cell::name(fastener(part)),
                        Cell::Value {
                            value: self.context.value(stage),
                        },
                        Cell::text(self.set_with(part, step, stage)),
                        Cell::text(notes.join(", ")),
                    ]);
                }
            }
        }
        let columns = [("fastener", 5), ("torque", 5), ("set-with", 5), ("how", 4)];
        self.context.table_section(Topic::Torques, &columns, rows)
    }

    /// The tool for a torque, what to set on it, and how the limits compare with its tolerance.
    fn set_with(&self, part: &Part, step: &JobStep<'_>, stage: &Sourced) -> String {
        let Some(tool) = step.torque_tool_for(self.job.shop, part) else {
            return String::new();
        };
        let (words, extension) = (self.context.words(), step.extension());
        let limits = stage.spec.value.limits();
        let setting = setting_text(words, tool, extension, limits);
        let torque = tool.torque_with(extension);
        let adequacy = torque.and_then(|torque| torque.judge(limits));
        let ratio = adequacy.and_then(|adequacy| adequacy.ratio).map(|ratio| {
            let values = [("ratio", &*words.quantity(&ratio))];
            words.format("tolerance-to-tool", &values)
        });
        let pieces = [Some(tool.name.clone()), setting, ratio];
        let pieces: Vec<String> = pieces.into_iter().flatten().collect();
        pieces.join(", ")
    }

    /// The table of linkage positions, with the steps at which they are noted and refitted.
    pub(crate) fn places(&self) -> Option<Block> {
        let rows = self
            .parts(&[Verb::Note, Verb::Remove, Verb::Fit])
            .into_iter()
            .filter(|part| part.is_linkage() || part.position.is_some())
            .map(|part| self.place_row(part));
        let columns = [
            ("part", 5),
            ("position", 7),
            ("orientation", 5),
            ("noted-at", 3),
            ("refitted-at", 3),
        ];
        self.context
            .table_section(Topic::Positions, &columns, rows.collect())
    }

    fn place_row(&self, part: &Part) -> Vec<Cell> {
        let step = |moment: Option<Moment>| match moment {
            Some(moment) => Cell::text(self.step_at(moment)),
            None => Cell::text("–"),
        };
        let position = match &part.position {
            Some(position) => Cell::text(position.value.clone()),
            None => Cell::Choice {
                options: part
                    .positions
                    .iter()
                    .map(|position| position.value.clone())
                    .collect(),
            },
        };
        let fits = self.rehearsal.moves_of(part.id, &[Verb::Fit, Verb::Renew]);
        let mut fits = fits.filter(|fit| !self.is_earlier(fit.moment));
        vec![
            Cell::name(part.name.clone()),
            position,
            Cell::text(part.orientation.clone().unwrap_or_default()),
            step(self.noted_at(part)),
            step(fits.next().map(|fit| fit.moment)),
        ]
    }

    pub(crate) fn readings(&self) -> Option<Block> {
        let mut readings: IndexMap<&str, &Reading> = IndexMap::new();
        for action in self.actions() {
            // A dimension has its table at the step.
            if let (Verb::Measure, Thing::Reading(reading)) = (action.verb, action.thing)
                && reading.dimension.is_none()
            {
                readings.entry(&reading.key).or_insert(reading);
            }
        }
        let rows = readings.into_values().filter_map(|reading| {
            let limits = self.context.limits(reading)?;
            Some(vec![
                Cell::name(reading.name.clone()),
                Cell::Value { value: limits },
                Cell::Blank,
                Cell::Blank,
                Cell::text(self.context.remedies(reading)),
            ])
        });
        let columns = [
            ("reading", 5),
            ("limits-head", 5),
            ("as-found-head", 3),
            ("as-left-head", 3),
            ("if-out", 6),
        ];
        self.context
            .table_section(Topic::Readings, &columns, rows.collect())
    }
}
