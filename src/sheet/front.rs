//! What a shop sheet says before its steps: why, making safe, tools, kit,
//! values, places, readings.

use super::details::fastener;
use super::kit::decimals_of;
use super::writer::Writer;
use crate::job::{Action, JobStep, Thing};
use crate::page::{Block, Cell, TextRun, Topic};
use crate::prose::Verb;
use crate::quantity::{Quantity, Rational};
use crate::rehearsal::PartPlace;
use crate::shop::{Part, Reading, Sourced, ThingId, Tool};
use indexmap::IndexMap;

impl<'a> Writer<'_, 'a> {
    /// What the procedure says before its sections.
    pub(crate) fn why(&self) -> Vec<Block> {
        let why = self.job.procedure.why.iter();
        why.filter_map(|block| self.text(block)).collect()
    }

    /// Every action of the job in order.
    pub(crate) fn actions(&self) -> impl Iterator<Item = &Action<'a>> {
        self.job.steps().flat_map(|step| step.all_actions())
    }

    /// The parts that some verbs are done to, each once, in order of the first time.
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

    /// What the job leaves undone on purpose, and why: whoever takes over a machine that is open has
    /// to see that it is.
    pub(crate) fn left_on_purpose(&self) -> Option<Block> {
        let end = &self.rehearsal.end;
        let undone = end.differences();
        let left = self.job.left.iter();
        let items: Vec<Vec<TextRun>> = left
            .filter(|left| undone.iter().any(|other| other.thing == left.thing))
            .map(|left| {
                let name = crate::shop::capitalised(left.name);
                vec![TextRun::text(format!("{name}: {}", left.why))]
            })
            .collect();
        // A part that is off or loose leaves the machine open for whoever comes next.
        let is_open = self.job.left.iter().any(|left| match left.thing {
            ThingId::Part(part) => end.part(part).place != PartPlace::On,
            _ => false,
        });
        let topic = if is_open {
            Topic::LeftOpen
        } else {
            Topic::LeftOnPurpose
        };
        (!items.is_empty()).then(|| self.desk.section(topic, vec![Block::Bullets { items }]))
    }

    pub(crate) fn make_safe(&self) -> Option<Block> {
        let mut energies = IndexMap::new();
        for action in self.actions() {
            if let (Verb::Isolate, Thing::Energy(energy)) = (action.verb, action.thing) {
                energies.entry(&energy.key).or_insert(energy);
            }
        }
        self.desk.energies(energies.into_values())
    }

    /// Every torque of the job, with the tool for it, on one table to set tools by.
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
                for (at, stage) in part.stages.iter().enumerate() {
                    let stage_note = (stages > 1).then(|| self.desk.stage_name(at + 1, stages));
                    let once = |text: Option<String>| text.filter(|_| at == 0);
                    let notes = [
                        stage_note,
                        once(self.desk.drive_text(part)),
                        once(part.pattern.clone()),
                    ];
                    let notes: Vec<String> = notes.into_iter().flatten().collect();
                    rows.push(vec![
                        Cell::name(fastener(part)),
                        Cell::Value {
                            value: self.desk.value(stage),
                        },
                        Cell::text(self.set_with(part, step, stage)),
                        Cell::text(notes.join(", ")),
                    ]);
                }
            }
        }
        let columns = [("fastener", 5), ("torque", 5), ("set-with", 5), ("how", 4)];
        self.desk.table_section(Topic::Torques, &columns, rows)
    }

    /// The step's tool for a torque, and what may be set on its scale so that its own error stays
    /// inside the limits; through an extension, what to set.
    fn set_with(&self, part: &Part, step: &JobStep<'_>, stage: &Sourced) -> String {
        let Some(tool) = self.torque_tool(part, step) else {
            return String::new();
        };
        if let Some(setting) = self.setting_through(tool, step, stage) {
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
        let words = self.desk.words();
        let window = window.map(|(least, most)| {
            let places = [
                ("least", &*words.quantity(&least)),
                ("most", &*words.quantity(&most)),
            ];
            format!(", {}", words.say("set-between", &places))
        });
        let ratio = adequacy.ratio.map(|ratio| {
            let places = [("ratio", &*words.quantity(&ratio))];
            format!(" ({})", words.say("limits-to-tool", &places))
        });
        let pieces = [Some(tool.name.clone()), window, ratio];
        pieces.into_iter().flatten().collect()
    }

    /// Where each linkage goes back, and where that was noted.
    pub(crate) fn places(&self) -> Option<Block> {
        let rows = self
            .parts(&[Verb::Note, Verb::Remove, Verb::Fit])
            .into_iter()
            .filter(|part| part.is_linkage() || part.seat.is_some())
            .map(|part| self.place_row(part));
        let columns = [
            ("part", 5),
            ("sits-in", 7),
            ("how-round", 5),
            ("noted-at", 3),
            ("refitted-at", 3),
        ];
        self.desk
            .table_section(Topic::Places, &columns, rows.collect())
    }

    fn place_row(&self, part: &Part) -> Vec<Cell> {
        let step = |number: Option<u32>| match number {
            Some(number) => Cell::text(self.step_name(number)),
            None => Cell::text("–"),
        };
        let seat = match &part.seat {
            Some(seat) => Cell::text(seat.value.clone()),
            None => Cell::Choice {
                options: part.seats.iter().map(|seat| seat.value.clone()).collect(),
            },
        };
        let mut fits = self.rehearsal.moves_of(part.id, &[Verb::Fit, Verb::Renew]);
        vec![
            Cell::name(part.name.clone()),
            seat,
            Cell::text(part.facing.clone().unwrap_or_default()),
            step(self.noted_at(part)),
            step(fits.next().map(|fit| fit.at.step)),
        ]
    }

    pub(crate) fn readings(&self) -> Option<Block> {
        let mut readings: IndexMap<&str, &Reading> = IndexMap::new();
        for action in self.actions() {
            if let (Verb::Measure, Thing::Reading(reading)) = (action.verb, action.thing) {
                readings.entry(&reading.key).or_insert(reading);
            }
        }
        let rows = readings.into_values().filter_map(|reading| {
            let limits = reading.limits.as_ref()?;
            Some(vec![
                Cell::name(reading.name.clone()),
                Cell::Value {
                    value: self.desk.value(limits),
                },
                Cell::Blank,
                Cell::Blank,
                Cell::text(self.desk.mends(reading)),
            ])
        });
        let columns = [
            ("reading", 5),
            ("limits-head", 5),
            ("as-found-head", 3),
            ("as-left-head", 3),
            ("if-out", 6),
        ];
        self.desk
            .table_section(Topic::Readings, &columns, rows.collect())
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
