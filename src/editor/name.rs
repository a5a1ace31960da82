//! A name in a file: what it stands for, and where it is valid.

use crate::finding::{FileId, Span};
use crate::prose::ThingKind;
use crate::shop::{Machine, MachineId, Shop};

/// What a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum NameKind {
    /// A thing that actions act on, among them a procedure.
    Thing(ThingKind),
    Machine,
    Fault,
    /// A step that has an id.
    Step,
    /// A figure, by its path from the root.
    Figure,
}

impl NameKind {
    pub(super) fn word(self) -> &'static str {
        match self {
            NameKind::Thing(kind) => kind.word(),
            NameKind::Machine => "machine",
            NameKind::Fault => "fault table",
            NameKind::Step => "step",
            NameKind::Figure => "figure",
        }
    }
}

/// Where a name is valid.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Scope {
    /// In the whole shop.
    Shop,
    /// On these machines. A step of a procedure for several machines names a thing of each.
    Machines(Vec<MachineId>),
    /// In these procedures.
    Files(Vec<FileId>),
}

impl Scope {
    /// Whether both have something in common.
    pub(super) fn meets(&self, other: &Scope) -> bool {
        match (self, other) {
            (Scope::Shop, Scope::Shop) => true,
            (Scope::Machines(one), Scope::Machines(other)) => {
                one.iter().any(|id| other.contains(id))
            }
            (Scope::Files(one), Scope::Files(other)) => one.iter().any(|id| other.contains(id)),
            _ => false,
        }
    }

    /// Adds another of the same kind.
    pub(super) fn extend(&mut self, other: &Scope) {
        match (self, other) {
            (Scope::Machines(one), Scope::Machines(other)) => add_missing(one, other),
            (Scope::Files(one), Scope::Files(other)) => add_missing(one, other),
            _ => {}
        }
    }
}

fn add_missing<T: Copy + PartialEq>(ids: &mut Vec<T>, others: &[T]) {
    for id in others {
        if !ids.contains(id) {
            ids.push(*id);
        }
    }
}

/// A place where a name is written.
#[derive(Clone, Debug)]
pub(super) struct Name {
    pub(super) kind: NameKind,
    pub(super) key: String,
    pub(super) scope: Scope,
    /// Of the name alone, without quotes and without what follows it, such as a position.
    pub(super) span: Span,
    /// Whether the record is declared here.
    pub(super) is_declaration: bool,
}

impl Name {
    /// The id that is written at its place. That of a dimension is written without the one of its part.
    pub(super) fn id(&self) -> &str {
        let id = match self.kind {
            NameKind::Thing(ThingKind::Reading) => self.key.rsplit('/').next(),
            _ => None,
        };
        id.unwrap_or(&self.key)
    }

    /// Whether it stands for the same as another one.
    pub(super) fn is_same(&self, other: &Name) -> bool {
        self.kind == other.kind && self.key == other.key && self.scope.meets(&other.scope)
    }
}

/// Whether a machine or the shop has a thing.
pub(super) fn has_thing(shop: &Shop, machine: &Machine, kind: ThingKind, key: &str) -> bool {
    crate::job::is_on(shop, machine, kind, key)
}

/// Whether the shop has a record of a kind.
pub(super) fn is_of_shop(shop: &Shop, kind: ThingKind, key: &str) -> bool {
    match kind {
        ThingKind::Role => shop.roles.find(key).is_some(),
        ThingKind::Tool => shop.tools.find(key).is_some(),
        ThingKind::Supply => shop.supplies.find(key).is_some(),
        ThingKind::Caution => shop.cautions.find(key).is_some(),
        _ => false,
    }
}
