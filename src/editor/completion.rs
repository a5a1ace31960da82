//! Completion of what is being typed: verbs, the things that a verb applies to, their positions and stages, marks, fields
//! of the front matter, and ids.
//!
//! What is typed is found in the text before the cursor, because a text that is being typed can't be parsed.

use super::abilities::Abilities;
use super::client::Client;
use super::completion_context::{Context, context};
use super::describe::{Describer, Description};
use super::described::{Named, front_fields, named, value_snippet};
use super::encoding::Lines;
use super::name::{NameKind, has_thing};
use super::names::{LEFT_UNDONE, written};
use super::place::Place;
use crate::Sources;
use crate::procedure::Procedure;
use crate::prose::{ThingKind, Verb};
use crate::rules;
use crate::shop::{Machine, Part, Records, slug};
use crate::tree::{Source, SourceKind};
use crate::verbs::{Qualifier, WHOLE};
use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionItemLabelDetails, CompletionParams,
    CompletionResponse, CompletionTextEdit, Documentation, InsertTextFormat, MarkupContent,
    MarkupKind, TextEdit,
};
use std::fmt::Write as _;
use std::ops::Range;

pub(super) fn completion(
    client: &Client,
    parameters: &CompletionParams,
) -> Option<CompletionResponse> {
    let place = Place::find(client, &parameters.text_document_position)?;
    let (sources, file) = place.opened.get()?;
    let (context, range) = context(file, place.offset)?;
    let completer = Completer {
        sources,
        file,
        describer: Describer::new(sources),
        written: written(sources, file.id),
    };
    let lines = Lines::of(&file.text, place.opened.encoding);
    let range = lines.range(Range {
        start: range.start.min(place.offset),
        end: range.end.max(place.offset),
    });
    let items = completer.items(&context).into_iter();
    let items = items.map(|proposed| proposed.item(range, client.abilities));
    Some(CompletionResponse::Array(items.collect()))
}

/// Something that can be typed.
struct Proposed {
    label: String,
    text: String,
    kind: CompletionItemKind,
    name: Option<String>,
    detail: Option<String>,
    documentation: Option<String>,
    is_snippet: bool,
}

impl Proposed {
    fn new(label: impl Into<String>, kind: CompletionItemKind) -> Proposed {
        let label = label.into();
        Proposed {
            text: label.clone(),
            label,
            kind,
            name: None,
            detail: None,
            documentation: None,
            is_snippet: false,
        }
    }

    /// What the client gets of it.
    fn item(self, range: lsp_types::Range, abilities: Abilities) -> CompletionItem {
        let name = self.name.filter(|_| abilities.shows_label_details);
        let documentation = self.documentation.map(|value| {
            if abilities.shows_markdown {
                let kind = MarkupKind::Markdown;
                Documentation::MarkupContent(MarkupContent { kind, value })
            } else {
                Documentation::String(value.replace(['*', '\\'], ""))
            }
        });
        let is_snippet = self.is_snippet && abilities.takes_snippets;
        CompletionItem {
            label: self.label,
            label_details: name.map(|name| CompletionItemLabelDetails {
                detail: None,
                description: Some(name),
            }),
            kind: Some(self.kind),
            detail: self.detail,
            documentation,
            insert_text_format: Some(if is_snippet {
                InsertTextFormat::SNIPPET
            } else {
                InsertTextFormat::PLAIN_TEXT
            }),
            text_edit: Some(CompletionTextEdit::Edit(TextEdit {
                range,
                new_text: if is_snippet {
                    self.text
                } else {
                    self.text.replace("$0", "")
                },
            })),
            ..CompletionItem::default()
        }
    }

    fn described(mut self, description: &Description) -> Proposed {
        self.name = Some(description.name.clone());
        self.detail = Some(description.line());
        self.documentation = Some(description.markdown());
        self
    }
}

struct Completer<'s> {
    sources: &'s Sources,
    file: &'s Source,
    describer: Describer<'s>,
    written: Option<&'s Procedure>,
}

impl Completer<'_> {
    fn items(&self, context: &Context) -> Vec<Proposed> {
        match context {
            Context::Verb => self.verbs(),
            Context::Thing(verb) => self.things(*verb),
            Context::Qualifier(verb, key) => self.qualifiers(*verb, key),
            Context::Place(place) => self.places(place),
            Context::Mark => marks(),
            Context::SectionMark => ["{.reverse}", "{.inspection}"]
                .map(|mark| Proposed::new(mark, CompletionItemKind::KEYWORD))
                .into(),
            Context::Machine => self.of_kind(NameKind::Machine),
            Context::Rule => rule_names(),
            Context::FrontField(written) => self.front_fields(written),
            Context::FrontValue(field) => match field.as_str() {
                "machines" => self.of_kind(NameKind::Machine),
                "begin" | "finish" | "follow-on" => {
                    self.of_kind(NameKind::Thing(ThingKind::Procedure))
                }
                _ => Vec::new(),
            },
            Context::LeftUndone => LEFT_UNDONE
                .into_iter()
                .flat_map(|kind| self.of_thing(kind))
                .collect(),
            Context::Value { tables, field } => self.values(tables, field),
        }
    }

    fn verbs(&self) -> Vec<Proposed> {
        let is_fault = matches!(self.file.kind, SourceKind::Fault { .. });
        let verbs = Verb::ALL
            .iter()
            .filter(|verb| !is_fault || is_for_faults(**verb));
        let proposed = verbs.map(|verb| {
            let mut proposed =
                Proposed::new(format!("{}:", verb.word()), CompletionItemKind::FUNCTION);
            proposed.name = Some(verb.takes().word().to_owned());
            proposed.documentation = Some(verb.spec().reference.to_owned());
            proposed
        });
        proposed.collect()
    }

    /// The machines that a name of the file can be on.
    fn machines(&self) -> Vec<&Machine> {
        let shop = &self.sources.shop;
        if let Some(written) = self.written {
            return written
                .machines
                .iter()
                .map(|id| &shop.machines[id.value])
                .collect();
        }
        match &self.file.kind {
            SourceKind::Machine { id } => shop.machines.get(id).into_iter().collect(),
            _ => Vec::new(),
        }
    }

    fn things(&self, verb: Verb) -> Vec<Proposed> {
        match verb.takes() {
            ThingKind::Place => ["procedure/", "fault/", "step/", "figure/"]
                .into_iter()
                .map(|place| Proposed::new(place, CompletionItemKind::FOLDER))
                .collect(),
            ThingKind::Time => ["5-min", "10-min", "30-s", "1-h"]
                .into_iter()
                .map(|time| Proposed::new(time, CompletionItemKind::CONSTANT))
                .chain(self.of_thing(ThingKind::Condition))
                .collect(),
            ThingKind::Engine => {
                let has_engine = self.machines().iter().any(|machine| machine.has_engine());
                let engine =
                    has_engine.then(|| Proposed::new("engine", CompletionItemKind::CONSTANT));
                engine.into_iter().collect()
            }
            kind => {
                let mut things = self.of_kind(NameKind::Thing(kind));
                // What the verb can be done to comes first, such as fasteners after `tighten:`.
                if verb == Verb::Tighten || verb == Verb::Slacken {
                    things.sort_by_key(|thing| !self.is_fastener(&thing.label));
                } else if verb == Verb::Note {
                    things.sort_by_key(|thing| !self.is_linkage(&thing.label));
                }
                if verb.spec().qualifier == Qualifier::Setting {
                    for thing in &mut things {
                        thing.text.push('/');
                    }
                }
                things
            }
        }
    }

    fn is_fastener(&self, key: &str) -> bool {
        let machines = self.machines();
        let mut parts = machines.iter().filter_map(|machine| machine.parts.get(key));
        parts.any(Part::is_fastener)
    }

    fn is_linkage(&self, key: &str) -> bool {
        let machines = self.machines();
        let mut parts = machines.iter().filter_map(|machine| machine.parts.get(key));
        parts.any(Part::is_linkage)
    }

    /// Everything of a kind that the file can name, in the order of the sources.
    fn of_kind(&self, kind: NameKind) -> Vec<Proposed> {
        fn keys<T>(records: &Records<T>) -> Vec<String> {
            records.keys().map(str::to_owned).collect()
        }
        let shop = &self.sources.shop;
        let keys = match kind {
            NameKind::Thing(kind) if kind.is_of_machine() => return self.of_thing(kind),
            NameKind::Thing(ThingKind::Role) => keys(&shop.roles),
            NameKind::Thing(ThingKind::Tool) => keys(&shop.tools),
            NameKind::Thing(ThingKind::Supply) => keys(&shop.supplies),
            NameKind::Thing(ThingKind::Caution) => keys(&shop.cautions),
            NameKind::Thing(ThingKind::Procedure) => {
                let procedures = self.sources.procedures.iter();
                let others = procedures.filter(|procedure| procedure.file != self.file.id);
                others.map(|procedure| procedure.id.clone()).collect()
            }
            NameKind::Machine => keys(&shop.machines),
            NameKind::Fault => self
                .sources
                .faults
                .iter()
                .map(|fault| fault.id.clone())
                .collect(),
            _ => Vec::new(),
        };
        let proposed = keys.into_iter().map(|key| {
            let description = self.describer.describe(kind, &key, None);
            let proposed = Proposed::new(key, CompletionItemKind::REFERENCE);
            match description {
                Some(description) => proposed.described(&description),
                None => proposed,
            }
        });
        proposed.collect()
    }

    /// The things of a kind on the file's machines, each once.
    fn of_thing(&self, kind: ThingKind) -> Vec<Proposed> {
        fn keys<T>(records: &Records<T>) -> Vec<&str> {
            records.keys().collect()
        }
        let machines = self.machines();
        let mut proposed: Vec<Proposed> = Vec::new();
        for machine in &machines {
            let keys = match kind {
                ThingKind::Part => keys(&machine.parts),
                ThingKind::Valve => keys(&machine.valves),
                ThingKind::Control => keys(&machine.controls),
                ThingKind::Fluid => keys(&machine.fluids),
                ThingKind::Energy => keys(&machine.energies),
                ThingKind::Condition => keys(&machine.conditions),
                ThingKind::Reading => keys(&machine.readings),
                _ => Vec::new(),
            };
            // Only a step can name a dimension, which has the key of its part before its own.
            let is_step = self.written.is_some();
            let keys = keys.into_iter();
            for key in keys.filter(|key| is_step || !key.contains('/')) {
                if proposed.iter().any(|proposed| proposed.label == key) {
                    continue;
                }
                let description =
                    self.describer
                        .describe(NameKind::Thing(kind), key, Some(machine));
                let mut thing = Proposed::new(key, CompletionItemKind::FIELD);
                if let Some(description) = description {
                    thing = thing.described(&description);
                }
                let has_it =
                    |machine: &&&Machine| has_thing(&self.sources.shop, machine, kind, key);
                let with: Vec<&Machine> = machines.iter().filter(has_it).copied().collect();
                if with.len() < machines.len()
                    && let Some(documentation) = &mut thing.documentation
                {
                    let names = super::jobs::names_of(&with);
                    let _ = write!(
                        documentation,
                        "\n\nonly on {}",
                        super::describe::escaped(&names)
                    );
                }
                proposed.push(thing);
            }
        }
        proposed
    }

    /// What can follow a thing after `/`.
    fn qualifiers(&self, verb: Verb, key: &str) -> Vec<Proposed> {
        let mut labels: Vec<(String, Option<String>)> = Vec::new();
        for machine in self.machines() {
            let found: Vec<(String, Option<String>)> = match verb.spec().qualifier {
                Qualifier::None if verb == Verb::Measure => {
                    let part = machine.parts.get(key);
                    let dimensions = part.into_iter().flat_map(|part| part.dimensions.values());
                    dimensions
                        .map(|dimension| (dimension.key.clone(), Some(dimension.name.clone())))
                        .collect()
                }
                Qualifier::None | Qualifier::Amount => Vec::new(),
                Qualifier::All => vec![(WHOLE.to_owned(), Some("the whole capacity".to_owned()))],
                Qualifier::Position => {
                    let part = machine.parts.get(key);
                    let positions = part.into_iter().flat_map(|part| &part.positions);
                    positions
                        .map(|position| (slug(&position.value), Some(position.value.clone())))
                        .collect()
                }
                Qualifier::Turned => {
                    let part = machine.parts.get(key);
                    let positions = part.into_iter().flat_map(|part| &part.turned_to);
                    positions
                        .map(|position| (slug(&position.value), Some(position.value.clone())))
                        .collect()
                }
                Qualifier::Setting => {
                    let control = machine.controls.get(key);
                    let positions = control.into_iter().flat_map(|control| &control.positions);
                    positions
                        .map(|position| (slug(&position.value), Some(position.value.clone())))
                        .collect()
                }
                Qualifier::Stage => {
                    let part = machine.parts.get(key);
                    let stages = part
                        .into_iter()
                        .flat_map(|part| part.stages.iter().enumerate());
                    stages
                        .map(|(index, stage)| {
                            ((index + 1).to_string(), Some(self.describer.value(stage)))
                        })
                        .collect()
                }
            };
            for (label, detail) in found {
                if !labels.iter().any(|(known, _)| *known == label) {
                    labels.push((label, detail));
                }
            }
        }
        let proposed = labels.into_iter().map(|(label, detail)| {
            let mut proposed = Proposed::new(label, CompletionItemKind::ENUM_MEMBER);
            proposed.detail = detail;
            proposed
        });
        proposed.collect()
    }

    /// The targets of a reference, after `see:step/` and the like.
    fn places(&self, place: &str) -> Vec<Proposed> {
        match place {
            "procedure" => self.of_kind(NameKind::Thing(ThingKind::Procedure)),
            "fault" => self.of_kind(NameKind::Fault),
            "figure" => {
                let figures = self.sources.tree.figures.iter();
                let names = figures.filter_map(|figure| figure.path.strip_prefix("figures/"));
                names
                    .map(|name| Proposed::new(name, CompletionItemKind::FILE))
                    .collect()
            }
            "step" => {
                let steps = self.written.into_iter().flat_map(Procedure::steps);
                let ids = steps.filter_map(|step| step.id.as_ref());
                ids.map(|id| Proposed::new(id.value.clone(), CompletionItemKind::REFERENCE))
                    .collect()
            }
            _ => Vec::new(),
        }
    }

    fn front_fields(&self, written: &[String]) -> Vec<Proposed> {
        let fields = front_fields(&self.file.kind).into_iter();
        let missing = fields.filter(|field| !written.iter().any(|key| key == field.key));
        let proposed = missing.map(|field| {
            let mut proposed = Proposed::new(field.key, CompletionItemKind::PROPERTY);
            proposed.text = format!("{} = {}", field.key, value_snippet(field));
            proposed.is_snippet = true;
            proposed.documentation = Some(field.about.trim().to_owned());
            proposed
        });
        proposed.collect()
    }

    /// What a field of a record can name.
    fn values(&self, tables: &[String], field: &str) -> Vec<Proposed> {
        if tables.is_empty() && field == "like" {
            return self.of_kind(NameKind::Machine);
        }
        let tables: Vec<&str> = tables.iter().map(String::as_str).collect();
        match named(&self.file.kind, &tables, field) {
            None => Vec::new(),
            Some(Named::Actions) => self.verbs(),
            Some(Named::Things(kinds)) => {
                let kinds = kinds.into_iter();
                kinds
                    .flat_map(|kind| self.of_kind(NameKind::Thing(kind)))
                    .collect()
            }
        }
    }
}

/// Whether a fault table can have a verb, as in `procedures/README.md`.
fn is_for_faults(verb: Verb) -> bool {
    matches!(
        verb,
        Verb::Inspect
            | Verb::Measure
            | Verb::Open
            | Verb::Close
            | Verb::Set
            | Verb::Isolate
            | Verb::Prove
            | Verb::Restore
            | Verb::Confirm
            | Verb::End
            | Verb::Run
            | Verb::Stop
            | Verb::Wait
            | Verb::Use
            | Verb::See
            | Verb::Caution
    )
}

fn marks() -> Vec<Proposed> {
    let marks = [
        (
            "{if=\"…\"}",
            "{if=\"$0.over\"}",
            "done only on an outcome: of a reading `over`, `under`, `within`, `out`, `not-over`, `not-under`; of a part `renew`, `reuse`",
        ),
        (
            "{until=\"…\"}",
            "{until=\"$0.within\" back-to=\"id\" at-most=\"3\"}",
            "the last of steps that are repeated until an outcome",
        ),
        (
            "{if-fitted}",
            "{if-fitted}",
            "left out on a machine that lacks a thing in the step",
        ),
        ("{only=\"…\"}", "{only=\"$0\"}", "limited to these machines"),
        (
            "{waive=\"…\"}",
            "{waive=\"$0: why\"}",
            "waives a rule, with the reason",
        ),
        ("{#…}", "{#$0}", "an id for `see:step/`"),
    ];
    let proposed = marks.into_iter().map(|(label, text, description)| {
        let mut proposed = Proposed::new(label, CompletionItemKind::KEYWORD);
        text.clone_into(&mut proposed.text);
        proposed.is_snippet = true;
        proposed.documentation = Some(description.to_owned());
        proposed
    });
    proposed.collect()
}

fn rule_names() -> Vec<Proposed> {
    let proposed = rules::all().into_iter().map(|rule| {
        let mut proposed = Proposed::new(rule.name, CompletionItemKind::CONSTANT);
        proposed.documentation = Some(
            rule.page
                .split("\n##")
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned(),
        );
        proposed
    });
    proposed.collect()
}
