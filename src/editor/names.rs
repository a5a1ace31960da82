//! The names in a file: where records are declared, and where they are named.

use super::name::{Name, NameKind, Scope, has_thing, is_of_shop};
use super::toml_names::toml_names;
use crate::Sources;
use crate::finding::{FileId, Located, Span};
use crate::job;
use crate::procedure::{Item, Procedure, Step};
use crate::prose::{self, ActionLink, Image, Inline, ProseBlock, ThingKind, Verb};
use crate::shop::MachineId;
use crate::tree::{Source, SourceKind};

/// All names in a file, in no particular order.
pub(super) fn names(sources: &Sources, file: &Source) -> Vec<Name> {
    match &file.kind {
        SourceKind::Procedure { .. } | SourceKind::Fault { .. } => written(sources, file.id)
            .map_or_else(Vec::new, |procedure| {
                let mut reader = Reader {
                    sources,
                    file,
                    procedure,
                    names: Vec::new(),
                };
                reader.read();
                reader.names
            }),
        _ => toml_names(sources, file),
    }
}

/// The name at a byte of a file. At the border of two, the one that begins there.
pub(super) fn name_at(sources: &Sources, file: &Source, offset: usize) -> Option<Name> {
    let names = names(sources, file).into_iter();
    let here = names.filter(|name| name.span.start() <= offset && offset <= name.span.end());
    here.max_by_key(|name| name.span.start())
}

/// All places in all files where what a name stands for is written.
pub(super) fn all_of(sources: &Sources, wanted: &Name) -> Vec<Name> {
    let mut found = Vec::new();
    let finder = memchr::memmem::Finder::new(word_of(wanted));
    for file in &sources.tree.files {
        // Most files do not have the name at all. That of a file may be in the file's path only.
        if finder.find(file.text.as_bytes()).is_some() {
            let names = names(sources, file).into_iter();
            found.extend(names.filter(|name| name.is_same(wanted)));
        }
    }
    found
}

/// What is written of a name wherever it is written.
fn word_of(name: &Name) -> &str {
    match name.kind {
        NameKind::Figure => name.key.rsplit('/').next().unwrap_or_default(),
        _ => name.id(),
    }
}

/// The procedure or fault table of a file.
pub(super) fn written(sources: &Sources, file: FileId) -> Option<&Procedure> {
    let mut written = sources.procedures.iter().chain(&sources.faults);
    written.find(|procedure| procedure.file == file)
}

/// The file that declares what has a file of its own, and an empty span at its start.
pub(super) fn file_of(sources: &Sources, name: &Name) -> Option<Span> {
    let is_declared_by = |kind: &SourceKind| match (name.kind, kind) {
        (NameKind::Machine, SourceKind::Machine { id })
        | (NameKind::Fault, SourceKind::Fault { id })
        | (NameKind::Thing(ThingKind::Procedure), SourceKind::Procedure { id, .. }) => {
            *id == name.key
        }
        _ => false,
    };
    let mut files = sources.tree.files.iter();
    let file = files.find(|file| is_declared_by(&file.kind))?;
    Some(file.span(0..0))
}

/// Reads the names in a procedure.
struct Reader<'s> {
    sources: &'s Sources,
    file: &'s Source,
    procedure: &'s Procedure,
    names: Vec<Name>,
}

impl<'s> Reader<'s> {
    fn read(&mut self) {
        let Reader {
            sources, procedure, ..
        } = *self;
        let shop = &sources.shop;
        let machine_key = |id: MachineId| shop.machines[id].id.clone();
        for machine in &procedure.machines {
            self.push(
                NameKind::Machine,
                &machine.with(machine_key(machine.value)),
                Scope::Shop,
            );
        }
        for part in procedure.named_in_front() {
            let key = sources.procedures[part.value.index()].id.clone();
            self.push(
                NameKind::Thing(ThingKind::Procedure),
                &part.with(key),
                Scope::Shop,
            );
        }
        for (left, _) in &procedure.left_undone {
            for kind in LEFT_UNDONE {
                let scope = self.machines_with(kind, &left.value, |_| true);
                self.push_on(kind, left, scope);
            }
        }
        for block in &procedure.why {
            self.block(block);
        }
        for section in &procedure.sections {
            for item in &section.items {
                match item {
                    Item::Text(block) => self.block(block),
                    Item::Figure(image) => self.figure(image),
                    Item::Step(step) => self.step(step),
                }
            }
        }
    }

    fn push(&mut self, kind: NameKind, key: &Located<String>, scope: Scope) {
        // The span of a text with escapes is longer. It can't be renamed, so it is no place of the name.
        if self.sources.tree.text(key.span) == key.value {
            self.names.push(Name {
                kind,
                key: key.value.clone(),
                scope,
                span: key.span,
                is_declaration: false,
            });
        }
    }

    /// Adds a thing of some machines, if there are any.
    fn push_on(&mut self, kind: ThingKind, key: &Located<String>, machines: Vec<MachineId>) {
        if !machines.is_empty() {
            self.push(NameKind::Thing(kind), key, Scope::Machines(machines));
        }
    }

    /// The machines of the procedure that have a thing.
    fn machines_with(
        &self,
        kind: ThingKind,
        key: &str,
        is_for: impl Fn(MachineId) -> bool,
    ) -> Vec<MachineId> {
        let shop = &self.sources.shop;
        let machines = self.procedure.machines.iter().map(|id| id.value);
        let machines = machines.filter(|id| is_for(*id));
        machines
            .filter(|id| has_thing(shop, &shop.machines[*id], kind, key))
            .collect()
    }

    fn block(&mut self, block: &'s ProseBlock) {
        match block {
            ProseBlock::Paragraph(inlines, _) => self.inlines(inlines),
            ProseBlock::List(list) => {
                for block in list.items.iter().flat_map(|item| &item.blocks) {
                    self.block(block);
                }
            }
            ProseBlock::Note(note) => note
                .paragraphs
                .iter()
                .for_each(|paragraph| self.inlines(paragraph)),
            ProseBlock::Heading(_) | ProseBlock::Quote(..) => {}
        }
    }

    fn inlines(&mut self, inlines: &'s [Inline]) {
        for link in prose::actions(inlines) {
            self.action(link, None);
        }
    }

    fn figure(&mut self, image: &Image) {
        let Some(figure) = self.procedure.figures.get(&image.path.span) else {
            return;
        };
        let path = self.sources.tree.figures[figure.index()].path.clone();
        self.names.push(Name {
            kind: NameKind::Figure,
            key: path,
            scope: Scope::Shop,
            span: image.path.span,
            is_declaration: false,
        });
    }

    fn step(&mut self, step: &'s Step) {
        let in_notes = step.note_paragraphs().flat_map(prose::actions);
        for link in in_notes.chain(step.actions()).chain(&step.cautions) {
            self.action(link, Some(step));
        }
        for image in &step.figures {
            self.figure(image);
        }
        let text = self.sources.tree.text(step.span);
        if let Some(id) = &step.id {
            let at = mark_at(text, &format!("#{}", id.value));
            if let Some(at) = at {
                self.names.push(Name {
                    kind: NameKind::Step,
                    key: id.value.clone(),
                    scope: Scope::Files(vec![self.file.id]),
                    span: step.span.part(at + 1..at + 1 + id.value.len()),
                    is_declaration: true,
                });
            }
        }
        if step.only.is_some() {
            self.only(step, text);
        }
        self.outcomes(step, text);
    }

    /// The readings and parts in the marks `if` and `until`, and the step in `back-to`.
    fn outcomes(&mut self, step: &Step, text: &str) {
        for link in step.outcomes() {
            let name = &link.thing.value;
            for mark in ["if", "until"] {
                let opening = format!("{mark}=\"");
                let at = mark_at(text, &format!("{opening}{name}."));
                let Some(start) = at.map(|at| at + opening.len()) else {
                    continue;
                };
                let link = ActionLink {
                    thing: Located {
                        value: name.clone(),
                        span: step.span.part(start..start + name.len()),
                    },
                    ..link.clone()
                };
                self.action(&link, Some(step));
            }
        }
        let back_to = step.repeat.as_ref().map(|repeat| &repeat.back_to.value);
        let opening = "back-to=\"";
        if let Some(id) = back_to
            && let Some(start) =
                mark_at(text, &format!("{opening}{id}\"")).map(|at| at + opening.len())
        {
            self.names.push(Name {
                kind: NameKind::Step,
                key: id.clone(),
                scope: Scope::Files(vec![self.file.id]),
                span: step.span.part(start..start + id.len()),
                is_declaration: false,
            });
        }
    }

    /// The machines that the mark `only` names.
    fn only(&mut self, step: &Step, text: &str) {
        const OPENING: &str = "only=\"";
        let Some(start) = mark_at(text, OPENING).map(|at| at + OPENING.len()) else {
            return;
        };
        let names = text[start..].split('"').next().unwrap_or_default();
        for name in names.split_whitespace() {
            let at = start + (name.as_ptr() as usize - names.as_ptr() as usize);
            if self.sources.shop.machines.find(name).is_some() {
                let span = step.span.part(at..at + name.len());
                let key = Located {
                    value: name.to_owned(),
                    span,
                };
                self.push(NameKind::Machine, &key, Scope::Shop);
            }
        }
    }

    fn action(&mut self, link: &ActionLink, step: Option<&Step>) {
        let name = &link.thing.value;
        if self.sources.tree.text(link.thing.span) != name {
            return;
        }
        if link.verb == Verb::See {
            self.reference(link);
            return;
        }
        let kind = job::kind_of(link);
        let is_for = |machine| step.is_none_or(|step| step.is_for(machine));
        if kind == ThingKind::Reading {
            self.reading(&link.thing, is_for);
            return;
        }
        let end = name.find('/').unwrap_or(name.len());
        let key = Located {
            value: name[..end].to_owned(),
            span: link.thing.span.part(0..end),
        };
        if kind.is_of_machine() {
            if kind == ThingKind::Engine {
                return;
            }
            let machines = self.machines_with(kind, &key.value, is_for);
            self.push_on(kind, &key, machines);
        } else if is_of_shop(&self.sources.shop, kind, &key.value) || self.is_procedure(kind, &key)
        {
            self.push(NameKind::Thing(kind), &key, Scope::Shop);
        }
    }

    /// A reading, or a part and its dimension.
    fn reading(&mut self, name: &Located<String>, is_for: impl Fn(MachineId) -> bool + Copy) {
        let kind = ThingKind::Reading;
        let machines = self.machines_with(kind, &name.value, is_for);
        let Some((part, dimension)) = name.value.split_once('/') else {
            self.push_on(kind, name, machines);
            return;
        };
        let part = Located {
            value: part.to_owned(),
            span: name.span.part(0..part.len()),
        };
        let is_plain = self.sources.tree.text(name.span) == name.value;
        if !machines.is_empty() && is_plain {
            let start = name.value.len() - dimension.len();
            self.names.push(Name {
                kind: NameKind::Thing(kind),
                key: name.value.clone(),
                scope: Scope::Machines(machines),
                span: name.span.part(start..name.value.len()),
                is_declaration: false,
            });
        }
        let machines = self.machines_with(ThingKind::Part, &part.value, is_for);
        self.push_on(ThingKind::Part, &part, machines);
    }

    fn is_procedure(&self, kind: ThingKind, key: &Located<String>) -> bool {
        let mut procedures = self.sources.procedures.iter();
        kind == ThingKind::Procedure && procedures.any(|procedure| procedure.id == key.value)
    }

    /// The target of a `see:`.
    fn reference(&mut self, link: &ActionLink) {
        let sources = self.sources;
        let thing = &link.thing;
        let Some((place, name)) = thing.value.split_once('/') else {
            return;
        };
        let start = place.len() + 1;
        let key = |key: &str, start: usize| Located {
            value: key.to_owned(),
            span: thing.span.part(start..start + key.len()),
        };
        match place {
            "procedure" => self.push(
                NameKind::Thing(ThingKind::Procedure),
                &key(name, start),
                Scope::Shop,
            ),
            "fault" => self.push(NameKind::Fault, &key(name, start), Scope::Shop),
            "figure" => {
                let wanted = format!("figures/{name}");
                if sources.tree.figure(&wanted).is_some() {
                    self.names.push(Name {
                        kind: NameKind::Figure,
                        key: wanted,
                        scope: Scope::Shop,
                        span: key(name, start).span,
                        is_declaration: false,
                    });
                }
            }
            "step" => self.step_reference(name, &key, start),
            _ => {}
        }
    }

    /// The target of a `see:step/`: the id of a step, or the thing of an action.
    fn step_reference(
        &mut self,
        name: &str,
        key: &impl Fn(&str, usize) -> Located<String>,
        start: usize,
    ) {
        let Some((verb, name)) = name.split_once('/') else {
            let scope = Scope::Files(self.files_with_step(name));
            self.push(NameKind::Step, &key(name, start), scope);
            return;
        };
        let Some(verb) = Verb::find(verb) else {
            return;
        };
        let key = key(name, start + verb.word().len() + 1);
        // A step with a time to wait has no name to refer to.
        let kind = match verb {
            Verb::Wait => ThingKind::Condition,
            verb => verb.takes(),
        };
        if kind == ThingKind::Reading {
            self.reading(&key, |_| true);
        } else if kind.is_of_machine() {
            let machines = self.machines_with(kind, name, |_| true);
            self.push_on(kind, &key, machines);
        } else {
            self.push(NameKind::Thing(kind), &key, Scope::Shop);
        }
    }

    /// The procedures with a step of an id that a reference in this one can mean: this one, or else any other.
    fn files_with_step(&self, id: &str) -> Vec<FileId> {
        let has_step = |procedure: &Procedure| {
            let mut ids = procedure.steps().filter_map(|step| step.id.as_ref());
            ids.any(|known| known.value == id)
        };
        if has_step(self.procedure) {
            return vec![self.file.id];
        }
        let others = self.sources.procedures.iter();
        others
            .filter(|other| has_step(other))
            .map(|other| other.file)
            .collect()
    }
}

/// The kinds of things that a job can leave undone.
pub(super) const LEFT_UNDONE: [ThingKind; 5] = [
    ThingKind::Part,
    ThingKind::Energy,
    ThingKind::Valve,
    ThingKind::Fluid,
    ThingKind::Control,
];

/// Where a mark begins in the text of a step: within braces.
fn mark_at(text: &str, mark: &str) -> Option<usize> {
    let mut places = text.match_indices(mark).map(|(at, _)| at);
    places.find(|at| {
        let before = &text[..*at];
        let is_begun = before.ends_with(['{', ' ']);
        is_begun && before.rfind('{') > before.rfind('}')
    })
}
