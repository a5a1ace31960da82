//! Sections and steps.

use super::Writer;
use crate::finding::Located;
use crate::job::{self, Act, Item, Phase, Thing};
use crate::page::text::step_anchor;
use crate::page::{Block, Detail, Figure, LeafKind, Run, Section, Step};
use crate::prose::{self, Block as ProseBlock, Image, Inline, List, Verb};
use crate::quantity::{Limits, Quantity, Rational, Spec, Unit};
use crate::shop::{CribChoice, Fluid, Instruction, Part, Reading, Sourced, Supply, Tool};
use crate::trade::{Condition, extension_setting, oil_for};

impl Writer<'_, '_> {
    /// The job's sections, each with its steps.
    pub(crate) fn sections(&self) -> Vec<Block> {
        let ends = self.group_ends();
        let numbered = self.job.sections.iter().enumerate();
        numbered
            .map(|(at, section)| {
                let is_own = section.origin.id == self.job.procedure.id;
                let from = (section.phase != Phase::Own || !is_own)
                    .then(|| section.origin.title.value.clone());
                Block::Section(Section {
                    title: if section.is_continued {
                        let places = [("title", section.title)];
                        self.desk.words().say("continued", &places)
                    } else {
                        section.title.to_owned()
                    },
                    anchor: format!("section-{}", at + 1),
                    from,
                    blocks: self.items(section, &ends),
                })
            })
            .collect()
    }

    fn items(&self, section: &job::Section<'_>, ends: &[u32]) -> Vec<Block> {
        let mut blocks = Vec::new();
        for item in &section.items {
            match item {
                Item::Step(step) => {
                    let group_end = self.stop(ends, step.number);
                    let step = self.step(step);
                    if let Some(Block::Steps { steps }) = blocks.last_mut() {
                        steps.push(step);
                    } else {
                        blocks.push(Block::Steps { steps: vec![step] });
                    }
                    blocks.extend(group_end.map(Block::Stop));
                }
                // A checklist is a line a step: what is read beforehand stands on the shop sheet.
                Item::Text(_) | Item::Figure(_) if self.desk.kind == LeafKind::BenchChecklist => {}
                Item::Text(block) => blocks.extend(self.text(block)),
                Item::Figure(image) => blocks.extend(self.figure(image).map(Block::Figure)),
            }
        }
        blocks
    }

    /// A paragraph or plain list.
    pub(crate) fn text(&self, block: &ProseBlock) -> Option<Block> {
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
    pub(crate) fn plain_runs(&self, inlines: &[Inline]) -> Vec<Run> {
        self.runs(inlines, &[])
    }

    fn step(&self, step: &job::Step<'_>) -> Step {
        let text = self.runs(&step.text, &step.acts);
        let mut notes: Vec<Vec<Run>> = step
            .notes
            .iter()
            .map(|note| self.runs(note, &step.acts))
            .collect();
        let figures = step.figures.iter().filter_map(|image| self.figure(image));
        let mut figures: Vec<Figure> = figures.collect();
        if self.desk.kind == LeafKind::BenchChecklist {
            // What is only told is left to the shop sheet; what is done, or looked at by whoever
            // signs a hold, stays.
            let has_hold = step.acts.iter().any(|act| act.verb == Verb::Hold);
            let mut told = step.notes.iter().map(|note| {
                let mut acts = prose::actions(note);
                acts.all(|action| action.verb == Verb::See)
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
                runs: vec![Run::text(
                    self.desk.words().say("meant-so", &[("why", reason)]),
                )],
            }]
        }));
        let holds = step.acts.iter().filter_map(|act| match act.thing {
            Thing::Role(role) => Some(role.name.clone()),
            _ => None,
        });
        Step {
            number: step.number,
            anchor: step_anchor(step.number),
            same_as: None,
            before: step
                .cautions
                .iter()
                .map(|one| self.desk.message(one))
                .collect(),
            text,
            notes,
            details: step
                .all_acts()
                .flat_map(|act| self.details(act, step))
                .collect(),
            blanks: step.acts.iter().flat_map(|act| self.blanks(act)).collect(),
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
        of_machine.map(|text| self.runs(text, &act.inner))
    }

    /// The values and facts that an action needs.
    fn details(&self, act: &Act<'_>, step: &job::Step<'_>) -> Vec<Detail> {
        match (act.verb, act.thing) {
            (Verb::Tighten, Thing::Part(part)) => self.tightening(act, part, step),
            (Verb::Remove | Verb::Slacken, Thing::Part(part)) => {
                let more: Vec<String> = self.desk.turned_by(part).into_iter().collect();
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
                    label: self
                        .desk
                        .words()
                        .say("use-again-if", &[("part", &part.name)]),
                    value: None,
                    more: vec![prose::plain(reuse)],
                });
                reuse.into_iter().collect()
            }
            (Verb::Measure, Thing::Reading(reading)) => {
                self.tachometer_setting(reading).into_iter().collect()
            }
            (Verb::Fill, Thing::Fluid(fluid)) => {
                let supply = self.job.shop.supply_of(fluid);
                let mix = supply.and_then(|supply| self.mix(supply, fluid));
                vec![Detail {
                    label: supply.map_or_else(|| fluid.name.clone(), |supply| supply.name.clone()),
                    value: fluid
                        .capacity
                        .as_ref()
                        .map(|capacity| self.desk.value(capacity)),
                    more: mix.into_iter().collect(),
                }]
            }
            _ => Vec::new(),
        }
    }

    /// "mixed 50:1, 12 mL of oil to the fill": the ratio is petrol to oil.
    fn mix(&self, supply: &Supply, fluid: &Fluid) -> Option<String> {
        let ratio = supply.mix.as_ref()?;
        let words = self.desk.words();
        let shown = self.job.shop.units.show(&ratio.value).first;
        let capacity = fluid
            .capacity
            .as_ref()
            .map(|capacity| capacity.spec.value.limits());
        let oil = capacity
            .and_then(Limits::nominal)
            .zip(ratio.value.limits().nominal())
            .and_then(|(petrol, ratio)| oil_for(&petrol, &ratio));
        Some(match oil {
            Some(oil) => {
                let places = [("ratio", &*shown), ("oil", &*oil.text())];
                words.say("oil-to-petrol", &places)
            }
            None => words.say("mixed", &[("ratio", &shown)]),
        })
    }

    fn tightening(&self, act: &Act<'_>, part: &Part, step: &job::Step<'_>) -> Vec<Detail> {
        let words = self.desk.words();
        let mut more: Vec<String> = Vec::new();
        more.extend(self.desk.turned_by(part));
        more.extend(part.pattern.clone());
        more.extend(part.assembled.map(|assembled| match assembled {
            Condition::Threadlocker => words.get("threadlocker").to_owned(),
            other => words.say("thread-state", &[("state", words.get(other.name()))]),
        }));
        let stages = part.stages.len();
        let wrench = self.torque_tool(part, step);
        more.extend(wrench.map(|tool| words.say("with-tool", &[("tool", &tool.name)])));
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
                        format!("{}, {}", fastener(part), self.desk.stage_of(at + 1, stages))
                    }
                    _ => self.desk.stage_of(at + 1, stages),
                },
                value: Some(self.desk.value(stage)),
                more: {
                    let is_first = at == 0 || act.stage.is_some();
                    let mut more = if is_first { more.clone() } else { Vec::new() };
                    more.extend(wrench.and_then(|tool| self.setting_through(tool, step, stage)));
                    more
                },
            })
            .collect()
    }

    /// The torque tool that a step names, or the crib's for the fastener.
    pub(crate) fn torque_tool<'t>(
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
        let tool = self.job.shop.tool_of(reading)?;
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
            more: vec![self.desk.words().say("sparks-a-turn", &[("count", number)])],
        })
    }

    fn fitting(&self, act: &Act<'_>, part: &Part) -> Vec<Detail> {
        let words = self.desk.words();
        let mut more = Vec::new();
        if act.verb == Verb::Renew {
            let number = part.number.as_ref();
            more.extend(number.map(|number| words.say("part-number", &[("number", number)])));
        }
        if !part.faces.is_empty() {
            more.push(words.say("clean-first", &[("faces", &words.list(&part.faces))]));
        }
        let named = act.seat.map(str::to_owned);
        let seat = named.or_else(|| part.seat.as_ref().map(|seat| seat.value.clone()));
        match (&seat, part.is_linkage()) {
            (Some(seat), _) => more.push(words.say("goes-in", &[("seat", seat)])),
            (None, true) => more.push(match self.noted_at(part) {
                Some(step) => {
                    words.say("goes-where-noted", &[("step", &self.desk.step_name(step))])
                }
                None => words.get("goes-where-it-sat").to_owned(),
            }),
            (None, false) => {}
        }
        more.extend(part.facing.clone());
        if more.is_empty() {
            return Vec::new();
        }
        vec![Detail {
            label: words.counted(&part.name, part.count).into_owned(),
            value: None,
            more,
        }]
    }

    /// The step at which a part's place was noted.
    pub(crate) fn noted_at(&self, part: &Part) -> Option<u32> {
        let mut notes = self.rehearsal.moves_of(part.id, &[Verb::Note]);
        notes.next().map(|note| note.at.step)
    }

    /// A reading taken once is written as found and as left; taken more often, each time has its own box.
    pub(crate) fn boxes(&self, reading: &Reading, act: &Act<'_>) -> Vec<String> {
        let measured: Vec<_> = self
            .job
            .steps()
            .flat_map(|step| step.all_acts())
            .filter(|other| {
                other.verb == Verb::Measure && other.thing.id() == Some(reading.id.into())
            })
            .map(|other| other.span)
            .collect();
        let at = measured.iter().position(|span| *span == act.span);
        let names: &[&str] = match at {
            _ if measured.len() < 2 => &["as-found", "as-left"],
            Some(0) => &["as-found"],
            Some(at) if at + 1 == measured.len() => &["as-left"],
            _ => &["reading-box"],
        };
        let words = self.desk.words();
        names.iter().map(|key| words.get(key).to_owned()).collect()
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
    pub(crate) fn figure_number(&self, path: &str) -> Option<u32> {
        let at = self.figures().iter().position(|other| *other == path)?;
        u32::try_from(at + 1).ok()
    }

    pub(crate) fn figure(&self, image: &Image) -> Option<Figure> {
        let path = self.job.figures.get(&image.path.span)?;
        let number = self.figure_number(path)?;
        Some(Figure {
            number,
            anchor: format!("figure-{number}"),
            path: self.desk.setting.figure(path)?.to_owned(),
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
pub(crate) fn fastener(part: &Part) -> String {
    match (&part.thread, part.count) {
        (Some(thread), 1) => format!("{}, {}", part.name, thread.value),
        (Some(thread), count) => format!("{}, {count}\u{a0}×\u{a0}{}", part.name, thread.value),
        (None, 1) => part.name.clone(),
        (None, count) => format!("{count}\u{a0}×\u{a0}{}", part.name),
    }
}

impl Writer<'_, '_> {
    /// What to set a torque wrench to through the extension that the step names.
    pub(crate) fn setting_through(
        &self,
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
        let places = [
            ("value", &*setting.ok()?.text()),
            ("tool", &*extension.name),
        ];
        Some(self.desk.words().say("set-through", &places))
    }
}
