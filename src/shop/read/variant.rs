//! The files that a machine is read from: its own, and those of the machines that it is like.

use super::super::fields::machine;
use super::super::{Machine, rules};
use crate::finding::{FileId, Finding, Findings, Located, nearest};
use crate::record::{Keys, Parsed};
use crate::tree::{OVER_LIMIT, Source, SourceKind, Tree};
use std::cell::OnceCell;
use std::collections::BTreeSet;

/// The limit on machines that are like each other in a chain. A chain of two is rare.
const MAX_CHAIN: usize = 8;

/// A machine's file, parsed.
pub(super) struct MachineFile<'t> {
    pub(super) file: &'t Source,
    pub(super) key: &'t str,
    pub(super) parsed: Parsed<'t>,
    /// The syntax errors.
    pub(super) findings: Findings,
    /// The machine that it is a variant of, as its `like` names it.
    like: Option<Located<String>>,
}

/// The files of all machines. Each is parsed when it is first asked for.
pub(super) struct MachineFiles<'t> {
    sources: Vec<(&'t Source, &'t str)>,
    /// The index of each in `sources`.
    keys: Keys<'t, Machine>,
    parsed: Vec<OnceCell<MachineFile<'t>>>,
}

/// The machines that a machine is like.
pub(super) struct Chain<'f, 't> {
    /// From the one that it names on.
    pub(super) below: Vec<&'f MachineFile<'t>>,
    /// Whether the last of them is like no other one.
    pub(super) is_complete: bool,
    /// Why it is not complete. Without it, another machine reports that.
    pub(super) finding: Option<Finding>,
}

/// The files in machines/, each with the machine's key.
pub(super) fn machine_files(tree: &Tree) -> impl Iterator<Item = (&Source, &str)> {
    tree.files.iter().filter_map(|file| match &file.kind {
        SourceKind::Machine { id } => Some((file, id.as_str())),
        _ => None,
    })
}

impl<'t> MachineFiles<'t> {
    pub(super) fn new(tree: &'t Tree) -> MachineFiles<'t> {
        let sources: Vec<(&Source, &str)> = machine_files(tree).collect();
        MachineFiles {
            keys: sources.iter().map(|(_, key)| *key).collect(),
            parsed: sources.iter().map(|_| OnceCell::new()).collect(),
            sources,
        }
    }

    pub(super) fn all(&self) -> impl Iterator<Item = &MachineFile<'t>> {
        let indices = 0..self.sources.len();
        indices.map(|index| self.parsed(index))
    }

    pub(super) fn of(&self, file: FileId) -> Option<&MachineFile<'t>> {
        let mut sources = self.sources.iter();
        let index = sources.position(|(source, _)| source.id == file)?;
        Some(self.parsed(index))
    }

    fn parsed(&self, index: usize) -> &MachineFile<'t> {
        self.parsed[index].get_or_init(|| {
            let (file, key) = self.sources[index];
            let mut findings = Findings::new();
            let parsed = Parsed::new(&file.text, file.whole(), &mut findings);
            MachineFile {
                file,
                key,
                like: parsed.peek(machine::LIKE),
                parsed,
                findings,
            }
        })
    }

    /// The machine that a machine names as the one that it is like.
    fn next(&self, like: &Located<String>) -> Option<&MachineFile<'t>> {
        let id = self.keys.find(&like.value)?;
        Some(self.parsed(id.index()))
    }

    /// The machines that a machine is like.
    pub(super) fn chain<'f>(&'f self, machine: &'f MachineFile<'t>) -> Chain<'f, 't> {
        let mut below: Vec<&MachineFile<'_>> = Vec::new();
        let mut keys = BTreeSet::from([machine.key]);
        let incomplete = |below, finding| Chain {
            below,
            is_complete: false,
            finding,
        };
        while let Some(like) = &below.last().unwrap_or(&machine).like {
            let Some(next) = self.next(like) else {
                let finding = below.is_empty().then(|| self.unknown(machine, like));
                return incomplete(below, finding);
            };
            if !keys.insert(next.key) {
                // Of the machines in a circle, the first reports it. Others only lead to it.
                let is_reported = next.key == machine.key && keys.first() == Some(&machine.key);
                return incomplete(below, is_reported.then(|| circle(machine, like)));
            }
            below.push(next);
        }
        if below.len() > MAX_CHAIN {
            // The longer chains have one of this length in them.
            let is_reported = below.len() == MAX_CHAIN + 1;
            return incomplete(below, is_reported.then(|| too_long(machine)));
        }
        Chain {
            below,
            is_complete: true,
            finding: None,
        }
    }

    fn unknown(&self, machine: &MachineFile<'t>, like: &Located<String>) -> Finding {
        let message = format!(
            "machine `{}` is like an unknown machine `{}`",
            machine.key, like.value
        );
        let others = self.keys.iter().filter(|key| *key != machine.key);
        let near = nearest(&like.value, others);
        Finding::new(&rules::UNKNOWN_NAME, message)
            .primary(like.span, "")
            .suggest(near, "use the id of another machine: the name of its file")
            .corrected(&like.value, near)
    }
}

fn circle(machine: &MachineFile<'_>, closing: &Located<String>) -> Finding {
    let message = format!("machine `{}` is like itself", machine.key);
    let own = machine.like.as_ref().map_or(closing.span, |own| own.span);
    let finding = Finding::new(&rules::CONFLICTING_FIELDS, message).primary(own, "");
    let finding = if closing.span == own {
        finding
    } else {
        finding.secondary(closing.span, "closes the circle")
    };
    finding.help("leave out `like` in the file of the machine that the others are variants of")
}

fn too_long(machine: &MachineFile<'_>) -> Finding {
    let message = format!(
        "machine `{}` ends a chain of more than {MAX_CHAIN} machines that are like each other",
        machine.key
    );
    let span = machine
        .like
        .as_ref()
        .map_or(machine.file.span(0..0), |like| like.span);
    Finding::new(&OVER_LIMIT, message)
        .primary(span, "")
        .help("make it like the first of them")
}
