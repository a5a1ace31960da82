//! What the writers of all pages share.

use super::edition::author_words;
use super::text::uncapitalised;
use super::{
    Block, Cell, Column, Fact, OutputContext, PageId, Paper, SectionId, Sheet, SheetHead,
    SheetKind, SheetSection, Table, Topic, Value,
};
use crate::cache::Fingerprint;
use crate::prose;
use crate::quantity::Spec;
use crate::shop::{Energy, Paper as ShopPaper, Part, Reading, Shop, Sourced, Turned, capitalised};
use crate::words::Words;

/// What the writers of pages share: the shop, the language, and what is made in the run.
#[derive(Clone, Copy)]
pub(crate) struct PageContext<'w> {
    pub(crate) shop: &'w Shop,
    pub(crate) output: &'w OutputContext,
}

/// What a sheet's head says.
#[derive(Clone)]
pub(crate) struct Naming {
    pub(crate) title: String,
    pub(crate) machine: Option<String>,
    pub(crate) revision: Option<u32>,
    pub(crate) revised: Option<String>,
    /// Keys of words and what they say here.
    pub(crate) facts: Vec<(&'static str, String)>,
    /// Keys of what is written in at the top.
    pub(crate) entries: &'static [&'static str],
}

impl<'w> PageContext<'w> {
    pub(crate) fn words(self) -> &'w Words {
        &self.output.edition.words
    }

    /// The sheet, with the mark of its content.
    pub(crate) fn sheet(
        self,
        page: PageId,
        kind: SheetKind,
        naming: Naming,
        blocks: Vec<Block>,
    ) -> Sheet {
        let mut sheet = Sheet {
            page,
            kind,
            head: self.head(kind, naming),
            blocks,
        };
        sheet.head.mark = mark(&sheet);
        sheet
    }

    fn head(self, kind: SheetKind, naming: Naming) -> SheetHead {
        let words = self.words();
        let facts = naming.facts.into_iter().map(|(key, text)| Fact {
            label: words.get(key).to_owned(),
            text,
        });
        let entries = naming.entries.iter();
        SheetHead {
            kind_title: words.get(kind.title_key()).to_owned(),
            title: naming.title,
            machine: naming.machine,
            shop: self.shop.name.clone(),
            language: self.output.edition.language.clone(),
            paper: paper(self.shop),
            data_note: self.shop.data_note.clone(),
            revision: naming.revision,
            revised: naming.revised,
            mark: String::new(),
            facts: facts.collect(),
            entries: entries.map(|key| words.get(key).to_owned()).collect(),
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
        self.section(Topic::WrongHere, vec![Block::WrongHere { label }])
    }

    /// An interval of a procedure, in the page's language.
    pub(crate) fn interval(self, text: &str) -> String {
        self.words()
            .translated_intervals(text, author_words(self.shop))
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
            first: words.value(&shown.first.parts()),
            second: shown.second.map(|second| words.value(&second.parts())),
            unverified,
        }
    }

    /// How energies are made safe, shown to be safe and brought back.
    pub(crate) fn energies<'e>(self, energies: impl Iterator<Item = &'e Energy>) -> Option<Block> {
        let rows = energies.map(|energy| {
            let cell = |text: &[prose::Inline]| Cell::text(prose::plain(text));
            vec![
                Cell::name(capitalised(&energy.name)),
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
        self.table_section(Topic::MakeSafe, &columns, rows.collect())
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

    /// What turns a part, in the sheet's language.
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
        Some(
            self.words()
                .say(key, &[("size", &self.words().quantity(&size))]),
        )
    }

    /// "stage 1 of 3".
    pub(crate) fn stage_of(self, stage: usize, stages: usize) -> String {
        let (stage, stages) = (stage.to_string(), stages.to_string());
        self.words()
            .say("stage-of", &[("stage", &stage), ("stages", &stages)])
    }

    /// "step 4", or "steps 4 to 9".
    pub(crate) fn steps_name(self, first: u32, last: u32) -> String {
        if first == last {
            let places = [("number", &*first.to_string())];
            return self.words().say("step", &places);
        }
        let places = [("first", &*first.to_string()), ("last", &*last.to_string())];
        self.words().say("steps", &places)
    }

    /// A section on a topic, under the topic's title.
    pub(crate) fn section(self, topic: Topic, blocks: Vec<Block>) -> Block {
        Block::Section(SheetSection {
            id: SectionId::Topic(topic),
            title: self.words().get(topic.name()).to_owned(),
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
        topic: Topic,
        columns: &[(&str, u8)],
        rows: Vec<Vec<Cell>>,
    ) -> Option<Block> {
        let caption = self.words().get(topic.name());
        (!rows.is_empty()).then(|| self.section(topic, vec![self.table(caption, columns, rows)]))
    }
}

/// The paper that a shop's sheets are set for.
pub(crate) fn paper(shop: &Shop) -> Paper {
    match shop.paper {
        ShopPaper::A4 => Paper::A4,
        ShopPaper::Letter => Paper::Letter,
    }
}

/// The standing notices of every sheet.
pub(crate) fn notices(shop: &Shop, words: &Words) -> Vec<String> {
    let mut notices = vec![words.get("deference").to_owned()];
    notices.extend(shop.notices.iter().cloned());
    notices
}

/// Eight hexadecimal digits of the content of a sheet, or of a manual.
pub(crate) fn mark(content: &impl serde::Serialize) -> String {
    Fingerprint::of_data(content).short()
}
