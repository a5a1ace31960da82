//! Sections and steps.

use super::words::{counted, step_anchor};
use super::{
    Blank, Block, Detail, Figure, LeafKind, Run, SafetyMessage, Section, SignalWord, Step, Writer,
};
use crate::finding::Located;
use crate::job::{self, Act, Item, Phase, Thing};
use crate::prose::{self, Block as ProseBlock, Image, Inline, List, Verb};
use crate::quantity::{Limits, Quantity, Rational, Spec, Unit};
use crate::shop::{
    Caution, CribChoice, Fluid, Instruction, Part, Reading, Sourced, Supply, Tool, Word,
};
use crate::trade::{Condition, extension_setting, oil_for};

impl Writer<'_, '_> {
    /// The job's sections, each with its steps.
    pub(super) fn sections(&self) -> Vec<Block> {
        let numbered = self.job.sections.iter().enumerate();
        numbered
            .map(|(at, section)| {
                let is_own = section.origin.id == self.job.procedure.id;
                let from = (section.phase != Phase::Own || !is_own)
                    .then(|| section.origin.title.value.clone());
                Block::Section(Section {
                    title: section.title.clone(),
                    anchor: format!("section-{}", at + 1),
                    from,
                    blocks: self.items(section),
                })
            })
            .collect()
    }

    fn items(&self, section: &job::Section<'_>) -> Vec<Block> {
        let mut blocks = Vec::new();
        for item in &section.items {
            match item {
                Item::Step(step) => {
                    let step = self.step(step);
                    if let Some(Block::Steps { steps }) = blocks.last_mut() {
                        steps.push(step);
                    } else {
                        blocks.push(Block::Steps { steps: vec![step] });
                    }
                }
                // A checklist is a line a step: what is read beforehand stands on the shop sheet.
                Item::Text(_) | Item::Figure(_) if self.kind == LeafKind::BenchChecklist => {}
                Item::Text(block) => blocks.extend(self.text(block)),
                Item::Figure(image) => blocks.extend(self.figure(image).map(Block::Figure)),
            }
        }
        blocks
    }

    /// A paragraph or plain list.
    pub(super) fn text(&self, block: &ProseBlock) -> Option<Block> {
        match block {
            ProseBlock::Paragraph(inlines, _) => Some(Block::Text {
                runs: self.plain_runs(inlines),
            }),
            ProseBlock::List(list) => {
                let mut items = Vec::new();
                self.points(list, &mut items);
                Some(Block::Bullets { items })
            }
            ProseBlock::Heading(_) | ProseBlock::Quote(..) => None,
        }
    }

    /// The points of a plain list, those of lists within it after the point they belong to.
    fn points(&self, list: &List, items: &mut Vec<Vec<Run>>) {
        for item in &list.items {
            let mut runs = Vec::new();
            let mut inner = Vec::new();
            for block in &item.blocks {
                match block {
                    ProseBlock::Paragraph(inlines, _) => {
                        if !runs.is_empty() {
                            runs.push(Run::Break);
                        }
                        runs.extend(self.plain_runs(inlines));
                    }
                    ProseBlock::List(list) => self.points(list, &mut inner),
                    ProseBlock::Heading(_) | ProseBlock::Quote(..) => {}
                }
            }
            items.push(runs);
            items.append(&mut inner);
        }
    }

    /// Prose without actions other than references.
    pub(super) fn plain_runs(&self, inlines: &[Inline]) -> Vec<Run> {
        self.runs(inlines, &mut std::iter::empty())
    }

    fn step(&self, step: &job::Step<'_>) -> Step {
        let mut acts = step.acts.iter();
        let text = self.runs(&step.text, &mut acts);
        let mut notes: Vec<Vec<Run>> = step
            .notes
            .iter()
            .map(|note| self.runs(note, &mut acts))
            .collect();
        let figures = step.figures.iter().filter_map(|image| self.figure(image));
        let mut figures: Vec<Figure> = figures.collect();
        if self.kind == LeafKind::BenchChecklist {
            // What is only told is left to the shop sheet; what is done, or looked at by whoever
            // signs a hold, stays.
            let has_hold = step.acts.iter().any(|act| act.verb == Verb::Hold);
            let mut told = step.notes.iter().map(|note| {
                let acts = prose::actions(note);
                acts.iter().all(|action| action.verb == Verb::See)
            });
            notes.retain(|_| !told.next().unwrap_or_default() || has_hold);
            figures.clear();
        }
        notes.extend(
            step.acts
                .iter()
                .filter_map(|act| self.instruction_note(act, step)),
        );
        notes.extend(step.excuses.iter().map(|(_, reason)| {
            vec![Run::Emphasis {
                runs: vec![Run::text(format!("Meant so: {reason}."))],
            }]
        }));
        let holds = step.acts.iter().filter_map(|act| match act.thing {
            Thing::Role(role) => Some(role.name.clone()),
            _ => None,
        });
        Step {
            number: step.number,
            anchor: step_anchor(step.number),
            before: step.cautions.iter().map(|one| message(one)).collect(),
            text,
            notes,
            details: step
                .all_acts()
                .flat_map(|act| self.details(act, step))
                .collect(),
            blanks: step.acts.iter().filter_map(|act| self.blank(act)).collect(),
            figures,
            holds: holds.collect(),
        }
    }

    /// The machine's own instruction for an action, where the step's text does not already say it.
    fn instruction_note(&self, act: &Act<'_>, step: &job::Step<'_>) -> Option<Vec<Run>> {
        let run = &self.job.machine.run;
        let of_machine: Option<&Instruction> = match (act.verb, act.thing) {
            (Verb::Run, _) => run.start.as_ref(),
            (Verb::Stop, _) => run.stop.as_ref(),
            (verb, Thing::Energy(energy)) if is_worded(act, step) => match verb {
                Verb::Isolate => Some(&energy.isolate),
                Verb::Prove => Some(&energy.prove),
                Verb::Restore => Some(&energy.restore),
                _ => None,
            },
            _ => None,
        };
        of_machine.map(|text| self.runs(text, &mut act.inner.iter()))
    }

    /// The values and facts that an action needs.
    fn details(&self, act: &Act<'_>, step: &job::Step<'_>) -> Vec<Detail> {
        match (act.verb, act.thing) {
            (Verb::Tighten, Thing::Part(part)) => self.tightening(act, part, step),
            (Verb::Remove | Verb::Slacken, Thing::Part(part)) => {
                let more: Vec<String> = part.turned_by().into_iter().collect();
                let is_told = !more.is_empty();
                let detail = Detail {
                    label: fastener(part),
                    value: None,
                    more,
                };
                is_told.then_some(detail).into_iter().collect()
            }
            (Verb::Fit | Verb::Renew, Thing::Part(part)) => self.fitting(act, part),
            (Verb::Inspect, Thing::Part(part)) => {
                let reuse = part.reuse.as_ref().map(|reuse| Detail {
                    label: format!("{}, use again if", part.name),
                    value: None,
                    more: vec![prose::plain(reuse)],
                });
                reuse.into_iter().collect()
            }
            (Verb::Measure, Thing::Reading(reading)) => {
                self.tachometer_setting(reading).into_iter().collect()
            }
            (Verb::Fill, Thing::Fluid(fluid)) => {
                let supply = self.job.shop.supplies.get(&fluid.supply.value);
                let mix = supply.and_then(|supply| self.mix(supply, fluid));
                vec![Detail {
                    label: supply.map_or_else(|| fluid.name.clone(), |supply| supply.name.clone()),
                    value: fluid.capacity.as_ref().map(|capacity| self.value(capacity)),
                    more: mix.into_iter().collect(),
                }]
            }
            _ => Vec::new(),
        }
    }

    /// "mixed 50:1, 12 mL of oil to the fill": the ratio is petrol to oil.
    fn mix(&self, supply: &Supply, fluid: &Fluid) -> Option<String> {
        let ratio = supply.mix.as_ref()?;
        let mixed = format!("mixed {}", self.job.shop.units.show(&ratio.value).first);
        let capacity = fluid
            .capacity
            .as_ref()
            .map(|capacity| capacity.spec.value.limits());
        let oil = capacity
            .and_then(Limits::nominal)
            .zip(ratio.value.limits().nominal())
            .and_then(|(petrol, ratio)| oil_for(&petrol, &ratio));
        Some(match oil {
            Some(oil) => format!("{mixed}: {} of oil to that much petrol", oil.text()),
            None => mixed,
        })
    }

    fn tightening(&self, act: &Act<'_>, part: &Part, step: &job::Step<'_>) -> Vec<Detail> {
        let mut more: Vec<String> = Vec::new();
        more.extend(part.turned_by());
        more.extend(part.pattern.clone());
        more.extend(part.assembled.map(|assembled| match assembled {
            Condition::Threadlocker => "threadlocker on the thread".to_owned(),
            other => format!("thread {}", other.name()),
        }));
        let stages = part.stages.len();
        let wrench = self.torque_tool(part, step);
        more.extend(wrench.map(|tool| format!("with the {}", tool.name)));
        if stages == 0 && more.is_empty() {
            return Vec::new();
        }
        if stages == 0 {
            return vec![Detail {
                label: fastener(part),
                value: None,
                more,
            }];
        }
        let numbered = part.stages.iter().enumerate();
        let asked = numbered.filter(|(at, _)| act.stage.is_none_or(|stage| stage == at + 1));
        asked
            .map(|(at, stage)| Detail {
                label: match (at, stages) {
                    (_, 1) => fastener(part),
                    (at, _) if at == 0 || act.stage.is_some() => {
                        format!("{}, stage {} of {stages}", fastener(part), at + 1)
                    }
                    _ => format!("stage {} of {stages}", at + 1),
                },
                value: Some(self.value(stage)),
                more: {
                    let is_first = at == 0 || act.stage.is_some();
                    let mut more = if is_first { more.clone() } else { Vec::new() };
                    more.extend(wrench.and_then(|tool| setting_through(tool, step, stage)));
                    more
                },
            })
            .collect()
    }

    /// The torque tool that a step names, or the crib's for the fastener.
    pub(super) fn torque_tool<'t>(
        &'t self,
        part: &Part,
        step: &'t job::Step<'_>,
    ) -> Option<&'t Tool> {
        let named = tools_of(step).find(|tool| tool.torque.is_some());
        named.or_else(|| match self.job.shop.torque_tool_for(part) {
            Some(CribChoice::Covers(tool)) => Some(tool),
            _ => None,
        })
    }

    /// What a tachometer that counts sparks has to be set to, so that it reads true on this engine.
    fn tachometer_setting(&self, reading: &Reading) -> Option<Detail> {
        let tool = self.job.shop.tools.get(&reading.tool.as_ref()?.value)?;
        let pulses = self.job.machine.engine.as_ref()?.pulses.as_ref()?;
        let setting = tool
            .pulse_settings
            .iter()
            .find(|setting| setting.value == pulses.value)?;
        let sparks = Quantity::new(setting.value.clone(), Unit::TO_ONE, 1);
        let number = sparks.text().replace(":1", "");
        let number = number.trim_end_matches(".0");
        Some(Detail {
            label: tool.name.clone(),
            value: None,
            more: vec![format!("set to sparks a turn: {number}")],
        })
    }

    fn fitting(&self, act: &Act<'_>, part: &Part) -> Vec<Detail> {
        let mut more = Vec::new();
        if act.verb == Verb::Renew {
            more.extend(part.number.as_ref().map(|number| format!("part {number}")));
        }
        if !part.faces.is_empty() {
            more.push(format!("clean first: {}", super::words::list(&part.faces)));
        }
        let named = act.seat.map(str::to_owned);
        let seat = named.or_else(|| part.seat.as_ref().map(|seat| seat.value.clone()));
        match (&seat, part.is_linkage()) {
            (Some(seat), _) => more.push(format!("goes in: {seat}")),
            (None, true) => more.push(match self.noted_at(part) {
                Some(step) => format!("goes where it sat (step\u{a0}{step})"),
                None => "goes where it sat".to_owned(),
            }),
            (None, false) => {}
        }
        more.extend(part.facing.clone());
        if more.is_empty() {
            return Vec::new();
        }
        vec![Detail {
            label: counted(&part.name, part.count),
            value: None,
            more,
        }]
    }

    /// The step at which a part's place was noted.
    pub(super) fn noted_at(&self, part: &Part) -> Option<u32> {
        let mut notes = self.rehearsal.moves_of(&part.id, &[Verb::Note]);
        notes.next().map(|note| note.at.step)
    }

    fn blank(&self, act: &Act<'_>) -> Option<Blank> {
        match (act.verb, act.thing) {
            (Verb::Note, Thing::Part(part)) if part.is_linkage() => Some(Blank::Choice {
                label: format!("{} sat in", part.name),
                options: part.seats.iter().map(|seat| seat.value.clone()).collect(),
            }),
            (Verb::Note, Thing::Part(part)) => Some(Blank::Words {
                label: part.name.clone(),
            }),
            (Verb::Measure, Thing::Reading(reading)) => {
                let limits = reading.limits.as_ref()?;
                Some(Blank::Reading {
                    label: reading.name.clone(),
                    limits: self.value(limits),
                    boxes: self.boxes(reading, act),
                    unit: self.unit(limits),
                    over: reading.over.as_ref().map(|text| prose::plain(text)),
                    under: reading.under.as_ref().map(|text| prose::plain(text)),
                })
            }
            (Verb::Inspect, Thing::Part(part)) => {
                let limits = part.limits.as_ref()?;
                Some(Blank::Reading {
                    label: part.name.clone(),
                    limits: self.value(limits),
                    boxes: vec!["found".to_owned()],
                    unit: self.unit(limits),
                    over: None,
                    under: None,
                })
            }
            _ => None,
        }
    }

    /// A reading taken once is written as found and as left; taken more often, each time has its own box.
    fn boxes(&self, reading: &Reading, act: &Act<'_>) -> Vec<String> {
        let measured: Vec<_> = self
            .job
            .steps()
            .flat_map(job::Step::all_acts)
            .filter(|other| other.verb == Verb::Measure && other.thing.id() == reading.id)
            .map(|other| other.span)
            .collect();
        let at = measured.iter().position(|span| *span == act.span);
        let names: &[&str] = match at {
            _ if measured.len() < 2 => &["as found", "as left"],
            Some(0) => &["as found"],
            Some(at) if at + 1 == measured.len() => &["as left"],
            _ => &["reading"],
        };
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    /// The unit a reading is written in: the one its limits are printed in first.
    fn unit(&self, limits: &crate::shop::Sourced) -> String {
        let written = limits.spec.value.limits();
        let order = self.job.shop.units.units(written.kind());
        let is_listed = order.contains(&written.unit());
        let unit = match order.first() {
            Some(first) if is_listed => *first,
            _ => written.unit(),
        };
        unit.symbol().to_owned()
    }

    /// The figures of the job's shop sheet in order, by the tree's paths.
    fn figures(&self) -> Vec<&str> {
        let mut paths: Vec<&str> = Vec::new();
        let images = self.job.sections.iter().flat_map(|section| &section.items);
        for item in images {
            let images: &[Image] = match item {
                Item::Figure(image) => std::slice::from_ref(*image),
                Item::Step(step) => step.figures,
                Item::Text(_) => &[],
            };
            for image in images {
                if let Some(path) = self.job.figures.get(&image.path.span).copied()
                    && !paths.contains(&path)
                {
                    paths.push(path);
                }
            }
        }
        paths
    }

    /// A figure's number on the job's shop sheet.
    pub(super) fn figure_number(&self, path: &str) -> Option<u32> {
        let at = self.figures().iter().position(|other| *other == path)?;
        u32::try_from(at + 1).ok()
    }

    fn figure(&self, image: &Image) -> Option<Figure> {
        let path = self.job.figures.get(&image.path.span)?;
        Some(Figure {
            number: self.figure_number(path)?,
            path: self.setting.figure(path)?.to_owned(),
            alt: image.alt.clone(),
            caption: image.caption.clone(),
        })
    }
}

fn tools_of<'s>(step: &'s job::Step<'_>) -> impl Iterator<Item = &'s Tool> {
    step.acts.iter().filter_map(|act| match act.thing {
        Thing::Tool(tool) => Some(tool),
        _ => None,
    })
}

/// What to set a torque wrench to through the extension that the step names.
pub(super) fn setting_through(
    wrench: &Tool,
    step: &job::Step<'_>,
    stage: &Sourced,
) -> Option<String> {
    let nominal = |spec: &Option<Located<Spec>>| spec.as_ref()?.value.limits().nominal();
    let extension = tools_of(step).find(|tool| tool.extends.is_some())?;
    let straight = Quantity::new(Rational::from_integer(0.into()), Unit::DEGREE, 0);
    let setting = extension_setting(
        &stage.spec.value.limits().nominal()?,
        &nominal(&wrench.length)?,
        &nominal(&extension.extends)?,
        &nominal(&extension.turned_out).unwrap_or(straight),
    );
    let setting = setting.ok()?;
    Some(format!(
        "set to {} through the {}",
        setting.text(),
        extension.name
    ))
}

/// Whether the author gave the action words of their own.
fn is_worded(act: &Act<'_>, step: &job::Step<'_>) -> bool {
    fn search(inlines: &[Inline], act: &Act<'_>) -> bool {
        inlines.iter().any(|inline| match inline {
            Inline::Action(action, text) => action.span == act.span && !text.is_empty(),
            Inline::Strong(parts) | Inline::Emphasis(parts) | Inline::Link(_, parts) => {
                search(parts, act)
            }
            _ => false,
        })
    }
    search(&step.text, act) || step.notes.iter().any(|note| search(note, act))
}

/// "manifold nut, 2 × M6".
pub(super) fn fastener(part: &Part) -> String {
    match (&part.thread, part.count) {
        (Some(thread), 1) => format!("{}, {}", part.name, thread.value),
        (Some(thread), count) => format!("{}, {count}\u{a0}×\u{a0}{}", part.name, thread.value),
        (None, 1) => part.name.clone(),
        (None, count) => format!("{count}\u{a0}×\u{a0}{}", part.name),
    }
}

/// A caution as a message on a page.
pub(super) fn message(caution: &Caution) -> SafetyMessage {
    SafetyMessage {
        id: caution.id.clone(),
        word: match caution.word {
            Word::Danger => SignalWord::Danger,
            Word::Warning => SignalWord::Warning,
            Word::Caution => SignalWord::Caution,
            Word::Notice => SignalWord::Notice,
        },
        hazard: caution.hazard.clone(),
        consequence: caution.consequence.clone(),
        avoid: caution.avoid.clone(),
    }
}
