//! The names in a TOML file: the keys of its records, the fields that name records, and the actions in its texts.

use super::described::{Named, named};
use super::name::{Name, NameKind, Scope, has_thing, is_of_shop};
use crate::Sources;
use crate::finding::Span;
use crate::prose::{ThingKind, Verb};
use crate::schema::{FileKind, Place};
use crate::shop::MachineId;
use crate::tree::{Source, SourceKind};
use std::collections::BTreeSet;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The tables of records in a machine's file.
const OF_MACHINE: [(&str, ThingKind); 7] = [
    ("energy", ThingKind::Energy),
    ("valve", ThingKind::Valve),
    ("control", ThingKind::Control),
    ("fluid", ThingKind::Fluid),
    ("part", ThingKind::Part),
    ("reading", ThingKind::Reading),
    ("condition", ThingKind::Condition),
];

/// The table of a part's dimensions.
const DIMENSION: &str = "dimension";

/// The tables of records in the other files.
const OF_SHOP: [(&str, ThingKind); 4] = [
    ("role", ThingKind::Role),
    ("tool", ThingKind::Tool),
    ("supply", ThingKind::Supply),
    ("caution", ThingKind::Caution),
];

/// The kind of the records in a table of a file.
fn kind_of_table(file: &Source, table: &str) -> Option<ThingKind> {
    let tables: &[(&str, ThingKind)] = match file.kind {
        SourceKind::Machine { .. } => &OF_MACHINE,
        _ => &OF_SHOP,
    };
    let mut tables = tables.iter();
    tables
        .find(|(name, _)| *name == table)
        .map(|(_, kind)| *kind)
}

/// All names in a TOML file.
pub(super) fn toml_names(sources: &Sources, file: &Source) -> Vec<Name> {
    let machine = match &file.kind {
        SourceKind::Machine { id } => sources.shop.machines.find(id),
        _ => None,
    };
    let (table, _) = DeTable::parse_recoverable(&file.text);
    let mut reader = Reader {
        sources,
        file,
        machine,
        names: Vec::new(),
    };
    if matches!(file.kind, SourceKind::Figure { .. }) {
        reader.legend(table.get_ref());
    } else {
        reader.top(table.get_ref());
    }
    reader.names
}

pub(super) fn as_table<'v, 't>(value: &'v Spanned<DeValue<'t>>) -> Option<&'v DeTable<'t>> {
    match value.get_ref() {
        DeValue::Table(table) => Some(table),
        _ => None,
    }
}

pub(super) struct Reader<'s> {
    pub(super) sources: &'s Sources,
    pub(super) file: &'s Source,
    /// The machine that the file is of.
    machine: Option<MachineId>,
    names: Vec<Name>,
}

impl Reader<'_> {
    fn top(&mut self, top: &DeTable<'_>) {
        for (name, value) in top {
            let table = &**name.get_ref();
            let DeValue::Table(records) = value.get_ref() else {
                self.actions(value.span());
                self.figure(table, value.span(), value.get_ref());
                self.like(table, value.span(), value.get_ref());
                continue;
            };
            if self.file.kind == SourceKind::Log {
                self.log(records);
                continue;
            }
            let Some(kind) = kind_of_table(self.file, table) else {
                self.unnamed(table, records);
                continue;
            };
            let mut places: BTreeSet<(usize, usize, String)> = headers(&self.file.text, table)
                .map(|(range, key)| (range.start, range.end, key))
                .collect();
            for (key, record) in records {
                let key_text = key.get_ref().to_string();
                if let Some(range) = self.plain(key.span(), &key_text) {
                    places.insert((range.start, range.end, key_text.clone()));
                }
                if let DeValue::Table(fields) = record.get_ref() {
                    self.fields(&[table], fields);
                    self.dimensions(kind, &key_text, fields);
                }
            }
            for (start, end, key) in places {
                let scope = self.scope_of(kind, &key);
                self.push(kind, &key, scope, start..end, true);
            }
        }
    }

    /// The machines and the procedures that a log names.
    fn log(&mut self, units: &DeTable<'_>) {
        for (field, value) in units.values().filter_map(as_table).flatten() {
            match (&**field.get_ref(), value.get_ref()) {
                ("machine", DeValue::String(text)) => {
                    if let Some(range) = self.plain(value.span(), text) {
                        let span = self.file.span(range);
                        self.push_span(NameKind::Machine, text, Scope::Shop, span, false);
                    }
                }
                ("day", DeValue::Table(days)) => {
                    let days = days.values().filter_map(as_table);
                    for done in days.filter_map(|day| day.get("done")) {
                        match done.get_ref() {
                            DeValue::Array(items) => items.iter().for_each(|item| self.done(item)),
                            _ => self.done(done),
                        }
                    }
                }
                _ => {}
            }
        }
    }

    /// A procedure that was done. An interval may follow it after a colon.
    fn done(&mut self, value: &Spanned<DeValue<'_>>) {
        let DeValue::String(text) = value.get_ref() else {
            return;
        };
        let id = text.split(':').next().unwrap_or_default().trim();
        let at = text.find(id).unwrap_or_default();
        if let Some(range) = self.plain(value.span(), text) {
            let start = range.start + at;
            let range = start..start + id.len();
            self.push(ThingKind::Procedure, id, Scope::Shop, range, false);
        }
    }

    /// A table whose ids are no names of things: one record, such as `run`, or records such as `system.fuel`.
    fn unnamed(&mut self, table: &str, records: &DeTable<'_>) {
        let kind = FileKind::of(&self.file.kind);
        if !matches!(kind.at(&[table]), Some(Place::Ids(_))) {
            self.fields(&[table], records);
            return;
        }
        for record in records.values() {
            if let DeValue::Table(fields) = record.get_ref() {
                self.fields(&[table], fields);
            }
        }
    }

    /// What a record of the file is valid for: the file's machine, and those that take the record over.
    fn scope_of(&self, kind: ThingKind, key: &str) -> Scope {
        let Some(machine) = self.machine else {
            return Scope::Shop;
        };
        let shop = &self.sources.shop;
        let others = shop.machines.values().filter(|other| {
            other.index != machine
                && other.files.contains(&self.file.id)
                && has_thing(shop, other, kind, key)
        });
        let others = others.map(|other| other.index);
        Scope::Machines(std::iter::once(machine).chain(others).collect())
    }

    pub(super) fn push(
        &mut self,
        kind: ThingKind,
        key: &str,
        scope: Scope,
        range: Range<usize>,
        is_declaration: bool,
    ) {
        let span = self.file.span(range);
        self.push_span(NameKind::Thing(kind), key, scope, span, is_declaration);
    }

    pub(super) fn push_span(
        &mut self,
        kind: NameKind,
        key: &str,
        scope: Scope,
        span: Span,
        is_declaration: bool,
    ) {
        self.names.push(Name {
            kind,
            key: key.to_owned(),
            scope,
            span,
            is_declaration,
        });
    }

    /// The place of a text without its quotes. `None` if it is written in another way, as with escapes.
    pub(super) fn plain(&self, range: Range<usize>, text: &str) -> Option<Range<usize>> {
        let written = self.file.text.get(range.clone())?;
        if written == text {
            return Some(range);
        }
        let inner = range.start + 1..range.end.saturating_sub(1).max(range.start + 1);
        let is_quoted = written.starts_with(['"', '\'']);
        (is_quoted && self.file.text.get(inner.clone()) == Some(text)).then_some(inner)
    }

    fn figure(&mut self, field: &str, range: Range<usize>, value: &DeValue<'_>) {
        let DeValue::String(path) = value else {
            return;
        };
        if matches!(field, "picture" | "wiring")
            && self.sources.tree.figure(path).is_some()
            && let Some(range) = self.plain(range, path)
        {
            let span = self.file.span(range);
            self.push_span(NameKind::Figure, path, Scope::Shop, span, false);
        }
    }

    /// The names of the machine that the file's machine is like, and of what it does not take over from it.
    fn like(&mut self, field: &str, range: Range<usize>, value: &DeValue<'_>) {
        let shop = &self.sources.shop;
        let machine = self.machine.map(|machine| &shop.machines[machine]);
        let like = machine.and_then(|machine| machine.like.as_ref());
        let Some(like) = like.and_then(|like| shop.machines.find(&like.value)) else {
            return;
        };
        match (field, value) {
            ("like", DeValue::String(text)) => {
                if let Some(range) = self.plain(range, text) {
                    let span = self.file.span(range);
                    self.push_span(NameKind::Machine, text, Scope::Shop, span, false);
                }
            }
            ("lacks", DeValue::String(text)) => self.left_behind(like, text, range),
            ("lacks", DeValue::Array(items)) => {
                for item in items {
                    if let DeValue::String(text) = item.get_ref() {
                        self.left_behind(like, text, item.span());
                    }
                }
            }
            _ => {}
        }
    }

    /// A thing that the file's machine does not take over from the one that it is like.
    fn left_behind(&mut self, like: MachineId, text: &str, range: Range<usize>) {
        let Some(range) = self.plain(range, text) else {
            return;
        };
        let shop = &self.sources.shop;
        for (_, kind) in OF_MACHINE {
            let machines = self.machine.into_iter().chain([like]);
            let has = |id: &MachineId| has_thing(shop, &shop.machines[*id], kind, text);
            if has(&like) {
                let scope = Scope::Machines(machines.filter(has).collect());
                self.push(kind, text, scope, range.clone(), false);
            }
        }
    }

    /// The dimensions of a part: `pin` of `[part.shaft.dimension.pin]`.
    fn dimensions(&mut self, kind: ThingKind, part: &str, fields: &DeTable<'_>) {
        let dimensions = fields.get(DIMENSION).map(Spanned::get_ref);
        let Some(DeValue::Table(dimensions)) = dimensions.filter(|_| kind == ThingKind::Part)
        else {
            return;
        };
        for (key, record) in dimensions {
            let key_text = key.get_ref().to_string();
            if let Some(range) = self.plain(key.span(), &key_text) {
                let key = format!("{part}/{key_text}");
                let scope = self.scope_of(ThingKind::Reading, &key);
                self.push(ThingKind::Reading, &key, scope, range, true);
            }
            if let DeValue::Table(fields) = record.get_ref() {
                self.fields(&["part", DIMENSION], fields);
            }
        }
    }

    fn fields(&mut self, tables: &[&str], fields: &DeTable<'_>) {
        for (field, value) in fields {
            let field = &**field.get_ref();
            let Some(named) = named(&self.file.kind, tables, field) else {
                self.actions(value.span());
                continue;
            };
            match value.get_ref() {
                DeValue::String(text) => self.named(&named, text, value.span()),
                DeValue::Array(items) => {
                    for item in items {
                        if let DeValue::String(text) = item.get_ref() {
                            self.named(&named, text, item.span());
                        }
                    }
                }
                _ => {}
            }
        }
    }

    /// A text of a field that names something.
    fn named(&mut self, named: &Named, text: &str, range: Range<usize>) {
        let Some(range) = self.plain(range, text) else {
            return;
        };
        match named {
            Named::Things(kinds) => {
                for kind in kinds {
                    self.thing(*kind, text, range.clone());
                }
            }
            Named::Actions => {
                if let Some((verb, key)) = text.split_once(':')
                    && let Some(verb) = Verb::find(verb)
                {
                    let key = key.split('/').next().unwrap_or_default();
                    let start = range.start + verb.word().len() + 1;
                    self.thing(verb.takes(), key, start..start + key.len());
                }
            }
        }
    }

    /// Adds the name of a thing, if there is one of that name.
    fn thing(&mut self, kind: ThingKind, key: &str, range: Range<usize>) {
        let shop = &self.sources.shop;
        if kind.is_of_machine() {
            let machine = self
                .machine
                .filter(|id| has_thing(shop, &shop.machines[*id], kind, key));
            if machine.is_some() && kind != ThingKind::Engine {
                let scope = self.scope_of(kind, key);
                self.push(kind, key, scope, range, false);
            }
        } else if is_of_shop(shop, kind, key) || self.is_procedure(kind, key) {
            self.push(kind, key, Scope::Shop, range, false);
        }
    }

    fn is_procedure(&self, kind: ThingKind, key: &str) -> bool {
        let mut procedures = self.sources.procedures.iter();
        kind == ThingKind::Procedure && procedures.any(|procedure| procedure.id == key)
    }

    /// The actions in a text, such as the instruction for starting the engine.
    fn actions(&mut self, range: Range<usize>) {
        const OPENING: &str = "](";
        let Some(text) = self.file.text.get(range.clone()) else {
            return;
        };
        let found: Vec<(Verb, Range<usize>)> = text
            .match_indices(OPENING)
            .filter_map(|(at, _)| {
                let start = at + OPENING.len();
                let address = &text[start..start + text[start..].find([')', ' ', '\n'])?];
                let (verb, name) = address.split_once(':')?;
                let key = name.split('/').next().unwrap_or_default();
                let first = range.start + start + verb.len() + 1;
                Some((Verb::find(verb)?, first..first + key.len()))
            })
            .collect();
        for (verb, range) in found {
            let key = self.file.text[range.clone()].to_owned();
            self.thing(verb.takes(), &key, range);
        }
    }
}

/// The keys in the headers of a table's records, each with its place: `cover` of `[part.cover]`. A record may have
/// several headers, of which the parser keeps one.
pub(super) fn headers<'t>(
    text: &'t str,
    table: &'t str,
) -> impl Iterator<Item = (Range<usize>, String)> + 't {
    let lines = text.split_inclusive('\n');
    lines.filter_map(move |line| {
        let rest = line.trim_start().strip_prefix('[')?;
        let rest = rest.trim_start_matches('[').trim_start();
        let rest = rest
            .strip_prefix(table)?
            .trim_start()
            .strip_prefix('.')?
            .trim_start();
        let rest = rest.strip_prefix(['"', '\'']).unwrap_or(rest);
        let is_key = |letter: char| letter.is_alphanumeric() || "-_".contains(letter);
        let end = rest.find(|letter| !is_key(letter)).unwrap_or(rest.len());
        let key = &rest[..end];
        let start = key.as_ptr() as usize - text.as_ptr() as usize;
        (!key.is_empty()).then(|| (start..start + end, key.to_owned()))
    })
}
