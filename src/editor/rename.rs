//! Renames an id everywhere.

use super::client::{Client, Refusal};
use super::edits::workspace_edit;
use super::encoding::Lines;
use super::name::{Name, NameKind, Scope, has_thing, is_of_shop};
use super::names::{all_of, file_of, name_at};
use super::place::Place;
use crate::Sources;
use crate::finding::{Edit, Findings, Span};
use crate::procedure::Procedure;
use crate::prose::ThingKind;
use crate::record::{check_file_id, check_id};
use crate::tree::SourceKind;
use lsp_types::{PrepareRenameResponse, RenameParams, TextDocumentPositionParams, WorkspaceEdit};

/// The edits of a rename, and the files that get another path.
#[derive(Debug)]
pub(crate) struct Renamed {
    pub(crate) edits: Vec<Edit>,
    pub(crate) files: Vec<(String, String)>,
}

/// The range of the id at a position, if it can be renamed.
pub(super) fn prepare(
    client: &Client,
    parameters: &TextDocumentPositionParams,
) -> Result<Option<PrepareRenameResponse>, Refusal> {
    let Some(place) = Place::find(client, parameters) else {
        return Ok(None);
    };
    let Some((sources, file)) = place.opened.get() else {
        return Ok(None);
    };
    let Some(name) = name_at(sources, file, place.offset) else {
        return Ok(None);
    };
    refuse_kind(client, &name)?;
    let lines = Lines::of(&file.text, place.opened.encoding);
    Ok(Some(PrepareRenameResponse::RangeWithPlaceholder {
        range: lines.range(name.span.range()),
        placeholder: name.id().to_owned(),
    }))
}

/// Renames the id at a position.
pub(super) fn rename(
    client: &Client,
    parameters: &RenameParams,
) -> Result<Option<WorkspaceEdit>, Refusal> {
    let Some(place) = Place::find(client, &parameters.text_document_position) else {
        return Ok(None);
    };
    let Some((sources, file)) = place.opened.get() else {
        return Ok(None);
    };
    let Some(name) = name_at(sources, file, place.offset) else {
        return Err("there is no id here that can be renamed".to_owned());
    };
    refuse_kind(client, &name)?;
    let renamed = renamed(sources, &name, &parameters.new_name)?;
    Ok(workspace_edit(
        place.opened.folder,
        sources,
        place.opened.encoding,
        client.abilities,
        &renamed.edits,
        &renamed.files,
    ))
}

/// Refuses what can't be renamed in this client.
fn refuse_kind(client: &Client, name: &Name) -> Result<(), Refusal> {
    match name.kind {
        NameKind::Figure => Err("a figure is renamed by its file".to_owned()),
        kind if has_file(kind) && !client.abilities.renames_files => Err(format!(
            "the id of a {} is the name of its file, which this editor can't rename",
            kind.word()
        )),
        _ => Ok(()),
    }
}

/// Whether the id of something is the name of its file.
fn has_file(kind: NameKind) -> bool {
    let procedure = NameKind::Thing(ThingKind::Procedure);
    kind == NameKind::Machine || kind == NameKind::Fault || kind == procedure
}

/// The edits that rename what a name stands for, on all machines that a step names at once.
pub(crate) fn renamed(sources: &Sources, name: &Name, new: &str) -> Result<Renamed, Refusal> {
    if new == name.id() {
        return Ok(Renamed {
            edits: Vec::new(),
            files: Vec::new(),
        });
    }
    refuse_id(sources, name.kind, new)?;
    let mut name = name.clone();
    let names = loop {
        let names = all_of(sources, &name);
        let before = name.scope.clone();
        for other in &names {
            name.scope.extend(&other.scope);
        }
        if name.scope == before {
            break names;
        }
    };
    refuse_incomplete(sources, &names)?;
    refuse_taken(sources, &name, new)?;
    refuse_ambiguous(sources, &name, &names)?;
    let mut spans: Vec<Span> = names.into_iter().map(|name| name.span).collect();
    spans.sort();
    spans.dedup();
    let edits = spans.into_iter().map(|span| Edit {
        span,
        replacement: new.to_owned(),
    });
    let files = has_file(name.kind)
        .then(|| file_of(sources, &name))
        .flatten();
    let files = files.map(|span| {
        let path = &sources.tree.file(span.file).path;
        let folder = path.rsplit_once('/').map_or("", |(folder, _)| folder);
        let extension = path.rsplit_once('.').map_or("", |(_, extension)| extension);
        (path.clone(), format!("{folder}/{new}.{extension}"))
    });
    Ok(Renamed {
        edits: edits.collect(),
        files: files.into_iter().collect(),
    })
}

/// Refuses what is no id.
fn refuse_id(sources: &Sources, kind: NameKind, new: &str) -> Result<(), Refusal> {
    let Some(file) = sources.tree.files.first() else {
        return Ok(());
    };
    let mut findings = Findings::default();
    if has_file(kind) {
        check_file_id(new, file.span(0..0), &mut findings);
    } else {
        check_id(new, file.span(0..0), &mut findings);
    }
    match findings.iter().next() {
        None => Ok(()),
        Some(finding) => Err(match &finding.help {
            Some(help) => format!("{}: {help}", finding.message),
            None => finding.message.clone(),
        }),
    }
}

/// Refuses to rename while a file that has the name can't be read in full, because it may have the name elsewhere.
fn refuse_incomplete(sources: &Sources, names: &[Name]) -> Result<(), Refusal> {
    for name in names {
        let file = sources.tree.file(name.span.file);
        let is_complete = match &file.kind {
            SourceKind::Machine { id } => {
                let machine = sources.shop.machines.get(id);
                machine.is_some_and(|machine| machine.is_complete)
            }
            SourceKind::Procedure { .. } | SourceKind::Fault { .. } => {
                let written = super::names::written(sources, file.id);
                written.is_some_and(|written| written.is_complete)
            }
            _ => sources.shop.incomplete_kinds.is_empty(),
        };
        if !is_complete {
            return Err(format!(
                "`{}` can't be read in full: correct it first",
                file.path
            ));
        }
    }
    Ok(())
}

/// Refuses an id that something else of the kind has.
fn refuse_taken(sources: &Sources, name: &Name, new: &str) -> Result<(), Refusal> {
    let shop = &sources.shop;
    let is_taken = match (name.kind, &name.scope) {
        (NameKind::Thing(ThingKind::Procedure), _) => sources
            .procedures
            .iter()
            .any(|procedure| procedure.id == new),
        (NameKind::Fault, _) => sources.faults.iter().any(|fault| fault.id == new),
        (NameKind::Machine, _) => shop.machines.find(new).is_some(),
        (NameKind::Thing(kind), Scope::Machines(machines)) if name.key.contains('/') => {
            // A dimension, whose id is one of its part only.
            let part = &name.key[..name.key.len() - name.id().len()];
            let key = format!("{part}{new}");
            let mut machines = machines.iter().map(|id| &shop.machines[*id]);
            machines.any(|machine| has_thing(shop, machine, kind, &key))
        }
        (NameKind::Thing(kind), Scope::Machines(machines)) => {
            let mut machines = machines.iter().map(|id| &shop.machines[*id]);
            // Fields such as `endangers` name things of several kinds.
            let kinds = ALL_OF_MACHINE.into_iter().chain([kind]);
            machines.any(|machine| {
                kinds
                    .clone()
                    .any(|kind| has_thing(shop, machine, kind, new))
            })
        }
        (NameKind::Thing(kind), _) => is_of_shop(shop, kind, new),
        (NameKind::Step, _) => {
            let mut steps = sources.procedures.iter().flat_map(Procedure::steps);
            steps.any(|step| step.id.as_ref().is_some_and(|id| id.value == new))
        }
        (NameKind::Figure, _) => false,
    };
    if is_taken {
        let word = name.kind.word();
        return Err(format!(
            "there is something called `{new}` already, so this {word} can't be"
        ));
    }
    Ok(())
}

const ALL_OF_MACHINE: [ThingKind; 7] = [
    ThingKind::Part,
    ThingKind::Valve,
    ThingKind::Control,
    ThingKind::Fluid,
    ThingKind::Energy,
    ThingKind::Reading,
    ThingKind::Condition,
];

/// Refuses to rename one of two things that a field such as `left-undone` names at once.
fn refuse_ambiguous(sources: &Sources, name: &Name, names: &[Name]) -> Result<(), Refusal> {
    for place in names {
        let file = sources.tree.file(place.span.file);
        let others = super::names::names(sources, file);
        let other = others
            .iter()
            .find(|other| other.span == place.span && other.kind != name.kind);
        if let Some(other) = other {
            let line = file.line(place.span.start());
            return Err(format!(
                "`{}` in line {line} of `{}` also names a {}: give that another id first",
                name.key,
                file.path,
                other.kind.word()
            ));
        }
    }
    Ok(())
}
