//! The front of a manual: notices, document control and safety.

use super::book::{Chapter, ManualPiece, Meaning};
use super::writer::{Book, chapter, fault_place, heading};
use crate::cache::Fingerprint;
use crate::finding::FileId;
use crate::job::Job;
use crate::page::{Block, Cell, LinkTarget, SignalWord, TextRun, lowered_checks};
use crate::procedure::Procedure;
use crate::sheet::cautions;
use crate::shop::Caution;
use std::borrow::Cow;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// The number of blank rows for corrections.
const CORRECTIONS: usize = 14;

impl<'a> Book<'_, 'a> {
    /// The back of the title page, with the notices.
    pub(super) fn back_of_title(&self) -> Chapter {
        let mut notices = vec![self.word("deference-manual")];
        notices.extend(lowered_checks(self.shop, self.words()));
        notices.extend(self.shop.notices.iter().cloned());
        notices.push(self.word("manual-mark"));
        chapter("", "", "", vec![plain(vec![Block::Notices { notices }])])
    }

    pub(super) fn control(&self) -> Chapter {
        let part = self.word("document-control");
        let mut pieces = vec![
            heading(1, part.clone(), []),
            heading(2, self.word("revisions"), []),
            plain(vec![self.revisions()]),
            heading(2, self.word("made-from"), []),
            plain(vec![
                Block::Text {
                    runs: vec![TextRun::text(self.word("made-from-what"))],
                },
                self.sources(),
            ]),
        ];
        let blank = || vec![Cell::Blank; 4];
        let rows = (0..CORRECTIONS).map(|_| blank()).collect();
        let columns = [("date", 3), ("page", 2), ("correction", 12), ("role", 3)];
        let title = self.word("corrections");
        let table = self.context().table(&title, &columns, rows);
        pieces.push(heading(2, title, []));
        pieces.push(plain(vec![table]));
        let inner = self.word("manual-title");
        chapter(part.clone(), part, inner, pieces)
    }

    /// The table of every procedure and fault table, the newest revision first.
    fn revisions(&self) -> Block {
        let mut listed: BTreeMap<&str, (&Procedure, String, Vec<LinkTarget>)> = BTreeMap::new();
        for (job, _) in &self.content.jobs {
            let procedure = job.procedure;
            listed.entry(&procedure.path).or_insert_with(|| {
                let system = self.shop.system_title(&procedure.system);
                (
                    procedure,
                    system,
                    vec![LinkTarget::procedure(&procedure.id)],
                )
            });
        }
        let faults = self.content.machines.iter().flat_map(|machine| {
            let faults = self.content.faults.iter();
            faults.filter(|(fault, _)| fault.machine.id == machine.id)
        });
        for (fault, _) in faults {
            let procedure = fault.procedure;
            let entry = listed
                .entry(&procedure.path)
                .or_insert_with(|| (procedure, self.word("fault-finding"), Vec::new()));
            entry.2.push(fault_place(fault));
        }
        let mut listed: Vec<_> = listed.into_values().collect();
        listed.sort_by_key(|(procedure, system, _)| {
            (
                Reverse(procedure.revised.clone()),
                system.clone(),
                procedure.title.value.clone(),
            )
        });
        let rows = listed.into_iter().map(|(procedure, system, places)| {
            let pages = places.into_iter();
            let pages: Vec<Vec<TextRun>> = pages
                .map(|target| vec![TextRun::PageNumber { target }])
                .collect();
            vec![
                Cell::name(procedure.title.value.clone()),
                Cell::text(system),
                Cell::text(procedure.revision.to_string()),
                Cell::text(procedure.revised.clone().unwrap_or_default()),
                Cell::Text {
                    runs: pages.join(&TextRun::text(", ")),
                },
            ]
        });
        let columns = [
            ("procedure-or-table", 8),
            ("system", 5),
            ("revision", 3),
            ("revised", 3),
            ("page", 3),
        ];
        let caption = self.word("revisions");
        self.context().table(&caption, &columns, rows.collect())
    }

    /// The table of the files that the manual was made from, each with its content mark.
    fn sources(&self) -> Block {
        let content = self.content;
        let jobs = || content.jobs.iter().chain(&content.faults);
        let mut files: BTreeSet<FileId> = jobs().map(|(job, _)| job.procedure.file).collect();
        files.extend(content.machines.iter().flat_map(|machine| &machine.files));
        let figures: BTreeSet<&str> = jobs()
            .flat_map(|(job, _)| job.figures.values().copied())
            .collect();
        let texts = self.tree.files.iter().filter_map(|file| {
            // Files in the tree's root concern the whole shop.
            let is_included = files.contains(&file.id) || !file.path.contains('/');
            // Line endings do not change the content, and must not change the mark.
            let text = || file.text.replace("\r\n", "\n").into_bytes();
            is_included.then(|| (file.path.as_str(), Cow::Owned(text())))
        });
        let figure_files = self.tree.figures.iter();
        let figure_files = figure_files.filter(|figure| figures.contains(figure.path.as_str()));
        let figure_files = figure_files
            .map(|figure| (figure.path.as_str(), Cow::Borrowed(figure.bytes.as_slice())));
        let files: BTreeMap<&str, Cow<'_, [u8]>> = texts.chain(figure_files).collect();
        let cells = files.into_iter().map(|(path, bytes)| {
            let mark = Fingerprint::of_bytes(&bytes).short();
            [
                Cell::name(path),
                Cell::Text {
                    runs: vec![TextRun::Code { text: mark }],
                },
            ]
        });
        // Paths are short, so each row holds two files.
        let cells: Vec<_> = cells.collect();
        let half = cells.len().div_ceil(2);
        let rows = (0..half).map(|index| {
            let right = cells.get(index + half).cloned();
            let right = right.unwrap_or_else(|| [Cell::text(""), Cell::text("")]);
            [cells[index].clone(), right].concat()
        });
        let columns = [("file", 7), ("mark-head", 3), ("file", 7), ("mark-head", 3)];
        let caption = self.word("made-from");
        self.context().table(&caption, &columns, rows.collect())
    }

    pub(super) fn safety(&self) -> Chapter {
        let part = self.word("safety");
        let read = [
            "read-numbers",
            "read-elsewhere",
            "read-values",
            "read-unverified",
            "read-messages",
            "read-stops",
            "read-states",
        ];
        let items = read.map(|key| vec![TextRun::text(self.word(key))]).to_vec();
        let meanings = [
            (SignalWord::Danger, "means-danger"),
            (SignalWord::Warning, "means-warning"),
            (SignalWord::Caution, "means-caution"),
            (SignalWord::Notice, "means-notice"),
        ];
        let words = meanings.map(|(word, key)| Meaning {
            word,
            meaning: self.word(key),
        });
        let mut pieces = vec![
            heading(1, part.clone(), []),
            heading(2, self.word("signal-words"), []),
            ManualPiece::SignalWords {
                words: words.to_vec(),
            },
            heading(2, self.word("how-to-read"), []),
            plain(vec![Block::Bullets { items }]),
        ];
        let cautions = self.cautions_with_machines();
        if !cautions.is_empty() {
            let title = self.word("kind-caution-sheet");
            pieces.push(heading(2, title, []));
        }
        let context = self.context();
        pieces.extend(
            cautions
                .into_iter()
                .map(|(caution, on)| ManualPiece::Message {
                    place: LinkTarget::Caution(caution.key.clone()),
                    message: context.message(caution),
                    on,
                }),
        );
        let inner = self.word("manual-title");
        chapter(part.clone(), part, inner, pieces)
    }

    /// Every caution in the manual, the most severe first, with the text that names its machines.
    fn cautions_with_machines(&self) -> Vec<(&'a Caution, String)> {
        let jobs = self.content.jobs.iter().chain(&self.content.faults);
        let jobs: Vec<&Job<'a>> = jobs.map(|(job, _)| *job).collect();
        let cautions = cautions(jobs.iter().copied()).into_iter().map(|caution| {
            let has_caution = |job: &&Job<'_>| {
                let mut cautions = job.steps().flat_map(|step| &step.cautions);
                cautions.any(|other| other.id == caution.id)
            };
            let ids: BTreeSet<&str> = jobs
                .iter()
                .filter(|job| has_caution(job))
                .map(|job| job.machine.id.as_str())
                .collect();
            let machines = self.content.machines.iter();
            let names: Vec<String> = machines
                .filter(|machine| ids.contains(machine.id.as_str()))
                .map(|machine| machine.name.value.clone())
                .collect();
            let on = if names.len() == self.content.machines.len() {
                self.word("on-every-machine")
            } else {
                let list = self.words().list(&names);
                self.words().format("on-machines", &[("machines", &list)])
            };
            (caution, on)
        });
        cautions.collect()
    }
}

fn plain(blocks: Vec<Block>) -> ManualPiece {
    ManualPiece::Blocks {
        level: 3,
        marked: false,
        about: None,
        blocks,
    }
}
