//! What the writers of all leaves share.

use super::text::{anchor, uncapitalised};
use super::{
    Block, Cell, Column, Fact, Head, Leaf, LeafKind, Paper, Section, Setting, Table, Target, Value,
    on_machine, path, procedure_path,
};
use crate::prose;
use crate::quantity::Spec;
use crate::shop::{Energy, Paper as ShopPaper, Part, Reading, Shop, Sourced, Turned, capitalised};
use crate::words::Words;

/// Where a leaf is written: the shop, the edition, the kind of leaf.
#[derive(Clone, Copy)]
pub(crate) struct Desk<'w> {
    pub(crate) shop: &'w Shop,
    pub(crate) setting: &'w Setting,
    pub(crate) kind: LeafKind,
    /// Whether it is written for a page of the site, whose links lead to procedures' pages in place
    /// of their leaves.
    pub(crate) is_site: bool,
}

/// What a leaf is called.
pub(crate) struct Naming {
    pub(crate) title: String,
    pub(crate) machine: Option<String>,
    pub(crate) revision: Option<u32>,
    pub(crate) revised: Option<String>,
    /// Keys of words and what they say here.
    pub(crate) facts: Vec<(&'static str, String)>,
    /// Keys of what is written in at the top.
    pub(crate) entries: &'static [&'static str],
    /// Its path in the first edition.
    pub(crate) path: String,
}

impl<'w> Desk<'w> {
    pub(crate) fn words(self) -> &'w Words {
        &self.setting.edition.words
    }

    /// The leaf, with the mark of its content.
    pub(crate) fn leaf(self, naming: Naming, blocks: Vec<Block>) -> Leaf {
        let mut leaf = Leaf {
            kind: self.kind,
            head: self.head(naming),
            blocks,
        };
        leaf.head.mark = mark(&leaf);
        leaf
    }

    fn head(self, naming: Naming) -> Head {
        let words = self.words();
        let path = self.setting.edition.path(&naming.path);
        let facts = naming.facts.into_iter().map(|(key, text)| Fact {
            label: words.get(key).to_owned(),
            text,
        });
        let entries = naming.entries.iter();
        Head {
            kind_title: words.get(self.kind.title_key()).to_owned(),
            title: naming.title,
            machine: naming.machine,
            shop: self.shop.name.clone(),
            logo: self.setting.logo.clone(),
            language: self.setting.edition.language.clone(),
            paper: paper(self.shop),
            data_note: self.shop.data_note.clone(),
            revision: naming.revision,
            revised: naming.revised,
            mark: String::new(),
            facts: facts.collect(),
            entries: entries.map(|key| words.get(key).to_owned()).collect(),
            address: self
                .shop
                .address
                .as_ref()
                .map(|base| format!("{}/{path}.html", base.trim_end_matches('/'))),
            path,
        }
    }

    /// The standing notices: the usual one, which a shop can't take out, and the shop's own.
    pub(crate) fn notices(self) -> Block {
        Block::Notices {
            notices: notices(self.shop, self.words()),
        }
    }

    /// Room to say that the sheet is wrong.
    pub(crate) fn wrong_here(self) -> Block {
        let label = self.words().get("wrong-here-what").to_owned();
        self.section("wrong-here", vec![Block::WrongHere { label }])
    }

    /// A value of the shop's, in its units.
    pub(crate) fn value(self, value: &Sourced) -> Value {
        self.spec(&value.spec.value, value.basis.is_none())
    }

    /// A value in the shop's units.
    pub(crate) fn spec(self, spec: &Spec, unverified: bool) -> Value {
        let shown = self.shop.units.show(spec);
        let words = self.words();
        Value {
            first: words.value(shown.first),
            second: shown.second.map(|second| words.value(second)),
            unverified,
        }
    }

    /// How energies are made safe, shown to be safe and brought back.
    pub(crate) fn energies<'e>(self, energies: impl Iterator<Item = &'e Energy>) -> Option<Block> {
        let rows = energies.map(|energy| {
            let cell = |text: &[prose::Inline]| Cell::text(prose::plain(text));
            vec![
                Cell::Name {
                    text: capitalised(&energy.name),
                },
                cell(&energy.isolate),
                cell(&energy.prove),
                cell(&energy.restore),
            ]
        });
        let columns = [
            ("energy", 3),
            ("make-safe", 6),
            ("prove-it", 5),
            ("restore-at-the-end", 5),
        ];
        self.table_section("make-safe", &columns, rows.collect())
    }

    /// What to do when a reading is over its limits, and when it is under.
    pub(crate) fn mends(self, reading: &Reading) -> String {
        let mends = [("over", &reading.over), ("under", &reading.under)];
        let mends = mends.into_iter().filter_map(|(word, text)| {
            let text = prose::plain(text.as_ref()?);
            let word = uncapitalised(self.words().get(word));
            Some(format!("{word}: {}", uncapitalised(&text)))
        });
        mends.collect::<Vec<_>>().join("; ")
    }

    /// What turns a part, in the leaf's language.
    pub(crate) fn turned_by(self, part: &Part) -> Option<String> {
        if let Some(Turned::Other(words)) = part.drive.as_ref().map(|drive| &drive.value) {
            return Some(words.clone());
        }
        let size = part.hex_size()?;
        let key = if part.is_turned_by_key() {
            "hex-socket"
        } else {
            "hex"
        };
        Some(self.words().say(key, &[("size", &size.text())]))
    }

    /// "stage 1 of 3".
    pub(crate) fn stage_of(self, stage: usize, stages: usize) -> String {
        let (stage, stages) = (stage.to_string(), stages.to_string());
        self.words()
            .say("stage-of", &[("stage", &stage), ("stages", &stages)])
    }

    /// "step 4"; on a fault table "cause 4".
    pub(crate) fn step_name(self, number: u32) -> String {
        let key = match self.kind {
            LeafKind::FaultTable => "cause",
            _ => "step",
        };
        self.words().say(key, &[("number", &number.to_string())])
    }

    /// A link to the leaf at a path of the first edition, where it is made in this run.
    pub(crate) fn leaf_target(self, path: &str) -> Option<Target> {
        self.target(path, None)
    }

    fn target(self, path: &str, anchor: Option<&str>) -> Option<Target> {
        self.setting.is_made(path).then(|| Target::Leaf {
            path: self.setting.edition.path(path),
            anchor: anchor.map(str::to_owned),
        })
    }

    /// A link to a job: its leaf of a kind, or its part of the procedure's page, which leads on to
    /// all of its leaves. From one of its leaves to another's, the kind stays.
    pub(crate) fn job_target(
        self,
        machine: &str,
        procedure: &str,
        kind: LeafKind,
    ) -> Option<Target> {
        let leads_to_page = self.is_site || !LeafKind::OF_JOB.contains(&self.kind);
        let anchor = on_machine(machine);
        let page = leads_to_page.then(|| self.target(&procedure_path(procedure), Some(&anchor)));
        let leaf = || self.leaf_target(&path(machine, procedure, kind));
        page.flatten().or_else(leaf)
    }

    /// A section under a title of our own.
    pub(crate) fn section(self, key: &str, blocks: Vec<Block>) -> Block {
        let title = self.words().get(key);
        Block::Section(Section {
            title: title.to_owned(),
            anchor: anchor(key),
            from: None,
            blocks,
        })
    }

    /// A table, its columns by the keys of their titles and their shares of the width.
    pub(crate) fn table(
        self,
        caption: &str,
        columns: &[(&str, u8)],
        rows: Vec<Vec<Cell>>,
    ) -> Block {
        let columns = columns.iter().map(|(key, share)| Column {
            title: self.words().get(key).to_owned(),
            share: *share,
        });
        Block::Table(Table {
            caption: caption.to_owned(),
            columns: columns.collect(),
            rows,
        })
    }

    /// A section that is one table; none where the table would be empty.
    pub(crate) fn table_section(
        self,
        key: &str,
        columns: &[(&str, u8)],
        rows: Vec<Vec<Cell>>,
    ) -> Option<Block> {
        let caption = self.words().get(key);
        (!rows.is_empty()).then(|| self.section(key, vec![self.table(caption, columns, rows)]))
    }
}

/// The paper that a shop's leaves are set for.
pub(crate) fn paper(shop: &Shop) -> Paper {
    match shop.paper {
        ShopPaper::A4 => Paper::A4,
        ShopPaper::Letter => Paper::Letter,
    }
}

/// The standing notices of every leaf.
pub(crate) fn notices(shop: &Shop, words: &Words) -> Vec<String> {
    let mut notices = vec![words.get("deference").to_owned()];
    notices.extend(shop.notices.iter().cloned());
    notices
}

/// Eight hexadecimal digits of the content of a leaf, or of a manual.
pub(crate) fn mark(content: &impl serde::Serialize) -> String {
    // Plain data with text keys, which always serialises.
    let content = serde_json::to_vec(content).unwrap_or_default();
    blake3::hash(&content).to_hex()[..8].to_owned()
}
