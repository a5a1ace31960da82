//! Jobs become [`Leaf`]s: what is on the page, for any medium.
//!
//! Comes in: a job and its rehearsal. Goes out: leaves, plain data that
//! serialises, with every value printed, every number and every blank in place.
//! It knows no medium: nothing here says how anything looks.

mod front;
mod index;
mod instruction;
mod page;
mod sign;
mod steps;
mod words;

use crate::dry_run::Rehearsal;
use crate::job::{Job, Place};
use crate::shop::Paper as ShopPaper;
use crate::tree::Tree;
pub use index::index;
pub use page::{
    Blank, Block, Cell, Column, Detail, Fact, Figure, Head, Index, IndexJob, IndexLeaf,
    IndexMachine, Leaf, LeafKind, Paper, Run, SafetyMessage, Section, SignLine, SignalWord, Step,
    Table, Target, Value,
};
use std::collections::{BTreeMap, BTreeSet};

/// What every leaf says of itself; a shop adds its own notices and can't take this one out.
pub const DEFERENCE: &str = "This leaf does not replace the equipment maker's instructions, local \
    codes or licensed practice. Where they differ, they rule. It was checked to agree with itself; \
    whether a figure is right is for the person who uses it to check.";

/// What leaves need besides their jobs.
#[derive(Debug)]
pub struct Setting {
    /// Where each figure of the tree stands in the output.
    figures: BTreeMap<String, String>,
    /// The leaves that are made in this run: only these are linked to.
    made: BTreeSet<String>,
}

impl Setting {
    /// The setting for a tree's leaves, when those at the paths in `made` are made.
    #[must_use]
    pub fn new(tree: &Tree, made: BTreeSet<String>) -> Setting {
        let figures = tree
            .figures
            .iter()
            .map(|figure| {
                (
                    figure.path.clone(),
                    figure_path(&figure.path, &figure.bytes),
                )
            })
            .collect();
        Setting { figures, made }
    }

    /// Where a figure of the tree stands in the output, named by its content:
    /// a figure that changes gets another name, so no page shows a new one by mistake.
    #[must_use]
    pub fn figure(&self, path: &str) -> Option<&str> {
        self.figures.get(path).map(String::as_str)
    }
}

fn figure_path(path: &str, bytes: &[u8]) -> String {
    let name = path.rsplit('/').next().unwrap_or(path);
    let (stem, ending) = name.rsplit_once('.').unwrap_or((name, "svg"));
    // A name from disk may hold anything; in an address it may not.
    let stem: String = stem
        .chars()
        .map(|letter| {
            if letter.is_ascii_alphanumeric() {
                letter.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .collect();
    let content = blake3::hash(bytes).to_hex();
    format!(
        "figures/{stem}-{}.{}",
        &content[..8],
        ending.to_ascii_lowercase()
    )
}

/// Where a job's leaf stands in the output, without an ending.
#[must_use]
pub fn path(machine: &str, procedure: &str, kind: LeafKind) -> String {
    format!("{machine}/{procedure}-{}", kind.slug())
}

/// A leaf of a job.
#[must_use]
pub fn make(kind: LeafKind, job: &Job<'_>, rehearsal: &Rehearsal<'_>, setting: &Setting) -> Leaf {
    let writer = Writer {
        kind,
        job,
        rehearsal,
        setting,
    };
    let blocks = match kind {
        LeafKind::ShopSheet => writer.shop_sheet(),
        LeafKind::BenchChecklist => writer.bench_checklist(),
    };
    let mut leaf = Leaf {
        kind,
        head: writer.head(),
        blocks,
    };
    leaf.head.mark = mark(&leaf);
    leaf
}

/// Eight hexadecimal digits of the leaf's content.
fn mark(leaf: &Leaf) -> String {
    // A leaf is plain data with text keys, which always serialises.
    let content = serde_json::to_vec(leaf).unwrap_or_default();
    blake3::hash(&content).to_hex()[..8].to_owned()
}

/// Writes one leaf.
#[derive(Clone, Copy)]
struct Writer<'w, 'a> {
    kind: LeafKind,
    job: &'w Job<'a>,
    rehearsal: &'w Rehearsal<'a>,
    setting: &'w Setting,
}

impl Writer<'_, '_> {
    fn head(&self) -> Head {
        let Job {
            shop,
            machine,
            procedure,
            ..
        } = self.job;
        let fact = |label: &str, text: Option<String>| {
            text.map(|text| Fact {
                label: label.to_owned(),
                text,
            })
        };
        let engine = machine
            .engine
            .as_ref()
            .and_then(|engine| engine.kind.clone());
        let facts = [
            fact("Engine", engine),
            fact("Time allowed", self.job.minutes.map(words::minutes)),
            fact("Interval", procedure.interval.clone()),
        ];
        Head {
            kind_title: self.kind.title(),
            title: procedure.title.value.clone(),
            machine: machine.name.value.clone(),
            shop: shop.name.clone(),
            language: shop.language.clone(),
            paper: match shop.paper {
                ShopPaper::A4 => Paper::A4,
                ShopPaper::Letter => Paper::Letter,
            },
            data_note: shop.data_note.clone(),
            revision: procedure.revision,
            revised: procedure.revised.clone(),
            mark: String::new(),
            facts: facts.into_iter().flatten().collect(),
            entries: ["Job number", "Serial number", "Date", "Mechanic"]
                .map(str::to_owned)
                .to_vec(),
            path: path(&machine.id, &procedure.id, self.kind),
        }
    }

    fn shop_sheet(&self) -> Vec<Block> {
        let mut blocks = Vec::new();
        blocks.push(self.notices());
        blocks.extend(self.why());
        blocks.extend(self.make_safe());
        blocks.extend(self.tools());
        blocks.extend(self.kit());
        blocks.extend(self.values());
        blocks.extend(self.places());
        blocks.extend(self.readings());
        blocks.extend(self.sections());
        blocks.extend(self.left_on_purpose());
        blocks.push(self.sign_off());
        blocks
    }

    fn bench_checklist(&self) -> Vec<Block> {
        let mut blocks = self.sections();
        blocks.extend(self.left_on_purpose());
        blocks.push(self.sign_off());
        blocks.push(self.notices());
        blocks
    }

    fn notices(&self) -> Block {
        let mut notices = vec![DEFERENCE.to_owned()];
        notices.extend(self.job.shop.notices.iter().cloned());
        Block::Notices { notices }
    }

    /// A value of the shop's, in its units.
    fn value(&self, value: &crate::shop::Sourced) -> Value {
        let shown = self.job.shop.units.show(&value.spec.value);
        Value {
            first: shown.first,
            second: shown.second,
            unverified: value.basis.is_none(),
        }
    }

    /// A link to a place, or its text alone where it leads nowhere in this run.
    fn link(&self, place: Place<'_>, runs: Vec<Run>) -> Run {
        let target = match place {
            Place::Step(number) => Some(Target::Here {
                anchor: words::step_anchor(number),
            }),
            Place::Procedure(procedure) => {
                let path = path(&self.job.machine.id, &procedure.id, self.kind);
                self.setting
                    .made
                    .contains(&path)
                    .then_some(Target::Leaf { path })
            }
            // Figures stand beside their steps, with numbers of their own.
            Place::Figure(_) => None,
        };
        match target {
            Some(target) => Run::Link { target, runs },
            None if runs.len() == 1 => runs.into_iter().next().unwrap_or(Run::Break),
            None => Run::Emphasis { runs },
        }
    }
}

fn section(title: &str, blocks: Vec<Block>) -> Block {
    Block::Section(Section {
        title: title.to_owned(),
        anchor: words::anchor(title),
        from: None,
        blocks,
    })
}
