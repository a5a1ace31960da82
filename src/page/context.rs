//! The context that every page is written in, and helpers for blocks that many pages have.

use super::edition::author_words;
use super::text::uncapitalised;
use super::{
    BareValue, Block, Cell, Column, Fact, HeadEntry, OutputContext, PageId, Paper, SectionId,
    SerialSpan, Sheet, SheetHead, SheetKind, SheetSection, Table, Topic, Value,
};
use crate::cache::Fingerprint;
use crate::procedure::{Procedure, Section};
use crate::prose;
use crate::quantity::Spec;
use crate::shop::{
    Energy, LevelMarks, Paper as ShopPaper, Part, Reading, Shop, Sourced, Turned, capitalised,
};
use crate::words::Words;

/// The shop, the language and the set of pages of this run. Cheap to copy.
#[derive(Clone, Copy)]
pub(crate) struct PageContext<'w> {
    pub(crate) shop: &'w Shop,
    pub(crate) output: &'w OutputContext,
}

/// The text of a sheet's head, before labels are translated.
#[derive(Clone)]
pub(crate) struct HeadText {
    pub(crate) title: String,
    pub(crate) machine: Option<String>,
    pub(crate) revision: Option<u32>,
    pub(crate) revised: Option<String>,
    /// The key of each label with the text beside it.
    pub(crate) facts: Vec<(&'static str, String)>,
    /// Keys of the labels of the fields to fill in at the top.
    pub(crate) entries: &'static [&'static str],
    /// The serial numbers that the sheet is for, as [`HeadEntry::serials`].
    pub(crate) serials: Vec<SerialSpan>,
}

/// The key of the entry for the machine's serial number.
const SERIAL_NUMBER: &str = "serial-number";

impl<'w> PageContext<'w> {
    pub(crate) fn words(self) -> &'w Words {
        &self.output.edition.words
    }

    /// Builds a sheet and sets its content mark.
    pub(crate) fn sheet(
        self,
        page: PageId,
        kind: SheetKind,
        head_text: HeadText,
        blocks: Vec<Block>,
    ) -> Sheet {
        let mut sheet = Sheet {
            page,
            kind,
            head: self.head(kind, head_text),
            blocks,
        };
        sheet.head.mark = mark(&sheet);
        sheet
    }

    fn head(self, kind: SheetKind, head_text: HeadText) -> SheetHead {
        let words = self.words();
        let facts = head_text.facts.into_iter().map(|(key, text)| Fact {
            label: words.get(key).to_owned(),
            text,
        });
        let entries = head_text.entries.iter();
        SheetHead {
            kind_title: words.get(kind.title_key()).to_owned(),
            title: head_text.title,
            machine: head_text.machine,
            shop: self.shop.name.clone(),
            language: self.output.edition.language.clone(),
            paper: paper(self.shop),
            data_note: self.shop.data_note.clone(),
            revision: head_text.revision,
            revised: head_text.revised,
            mark: String::new(),
            facts: facts.collect(),
            entries: entries
                .map(|key| HeadEntry {
                    key: (*key).to_owned(),
                    label: words.get(key).to_owned(),
                    serials: if *key == SERIAL_NUMBER {
                        head_text.serials.clone()
                    } else {
                        Vec::new()
                    },
                })
                .collect(),
        }
    }

    /// The notices of every sheet: the built-in notice, which a shop cannot remove, then the shop's
    /// own.
    pub(crate) fn notices(self) -> Block {
        Block::Notices {
            notices: notices(self.shop, self.words()),
        }
    }

    /// The section in which the reader reports an error in the sheet.
    pub(crate) fn wrong_here(self) -> Block {
        let label = self.words().get("wrong-here-what").to_owned();
        self.section(Topic::WrongHere, vec![Block::WrongHere { label }])
    }

    /// When a procedure is due: its interval, and those of its inspections, in the page's language.
    pub(crate) fn intervals(self, procedure: &Procedure) -> Vec<String> {
        let author = author_words(self.shop);
        let of_inspection = |section: &Section| match author.read_interval(&section.title) {
            Ok(interval) => self.words().interval(&interval),
            Err(_) => section.title.clone(),
        };
        let own = procedure
            .interval
            .iter()
            .map(|text| self.interval(&text.value));
        own.chain(procedure.inspections().map(of_inspection))
            .collect()
    }

    /// Translates a procedure's interval into the page's language.
    pub(crate) fn interval(self, text: &str) -> String {
        self.words()
            .translated_interval(text, author_words(self.shop))
    }

    /// Prints a value in the shop's units. It is marked unverified if it names no basis.
    pub(crate) fn value(self, value: &Sourced) -> Value {
        self.spec(&value.spec.value, value.basis.is_none())
    }

    /// Prints a specification in the shop's units.
    pub(crate) fn spec(self, spec: &Spec, unverified: bool) -> Value {
        let shown = self.shop.units.show(spec);
        let words = self.words();
        let first = shown.first.parts();
        let bare = words.without_unit(&first);
        Value {
            first: words.value(&first),
            bare: bare.map(|(numbers, unit)| BareValue { numbers, unit }),
            second: (!shown.others.is_empty()).then(|| {
                let others = shown.others.iter();
                let others: Vec<String> = others.map(|other| words.value(&other.parts())).collect();
                others.join(", ")
            }),
            unverified,
        }
    }

    /// The table of how to isolate each energy, verify the isolation and restore it.
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

    /// The limits of a reading, or the marks that a level is between. `None` if it has neither, because it could not be read.
    pub(crate) fn limits(self, reading: &Reading) -> Option<Value> {
        let Some(LevelMarks { lower, upper }) = &reading.level else {
            return Some(self.value(reading.limits.as_ref()?));
        };
        let values = [("lower", lower.as_str()), ("upper", upper)];
        Some(Value {
            first: self.words().format("level-between", &values),
            second: None,
            unverified: false,
            bare: None,
        })
    }

    /// The remedies for a reading above and below its limits.
    pub(crate) fn remedies(self, reading: &Reading) -> String {
        let remedies = [("over", &reading.over), ("under", &reading.under)];
        let remedies = remedies.into_iter().filter_map(|(word, text)| {
            let text = prose::plain(text.as_ref()?);
            let word = uncapitalised(self.words().get(word));
            Some(format!("{word}: {}", uncapitalised(&text)))
        });
        remedies.collect::<Vec<_>>().join("; ")
    }

    /// The drive of a part, in the page's language: "10 mm hex".
    pub(crate) fn drive_text(self, part: &Part) -> Option<String> {
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
                .format(key, &[("size", &self.words().quantity(&size))]),
        )
    }

    /// "stage 1 of 3".
    pub(crate) fn stage_name(self, stage: usize, stages: usize) -> String {
        let (stage, stages) = (stage.to_string(), stages.to_string());
        self.words()
            .format("stage-of", &[("stage", &stage), ("stages", &stages)])
    }

    /// "step 4", or "steps 4 to 9".
    pub(crate) fn steps_name(self, first: u32, last: u32) -> String {
        if first == last {
            let values = [("number", &*first.to_string())];
            return self.words().format("step", &values);
        }
        let values = [("first", &*first.to_string()), ("last", &*last.to_string())];
        self.words().format("steps", &values)
    }

    pub(crate) fn section(self, topic: Topic, blocks: Vec<Block>) -> Block {
        Block::Section(SheetSection {
            id: SectionId::Topic(topic),
            title: self.words().get(topic.name()).to_owned(),
            from: None,
            blocks,
        })
    }

    /// A table. Each column is the key of its title and its share of the width.
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
        let mut table = Table {
            caption: caption.to_owned(),
            columns: columns.collect(),
            rows,
        };
        table.share_units();
        Block::Table(table)
    }

    /// A section with one table. `None` if the table has no rows.
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

pub(crate) fn paper(shop: &Shop) -> Paper {
    match shop.paper {
        ShopPaper::A4 => Paper::A4,
        ShopPaper::Letter => Paper::Letter,
    }
}

pub(crate) fn notices(shop: &Shop, words: &Words) -> Vec<String> {
    let mut notices = vec![words.get("deference").to_owned()];
    notices.extend(lowered_checks(shop, words));
    notices.extend(shop.notices.iter().cloned());
    notices
}

/// The checks that the shop has lowered with a reason. They stand beside the claim that the sheet was checked.
pub(crate) fn lowered_checks(shop: &Shop, words: &Words) -> impl Iterator<Item = String> {
    shop.levels.iter().filter_map(|setting| {
        let reason = setting.reason.as_deref()?;
        let values = [("rule", setting.rule.value.as_str()), ("reason", reason)];
        Some(words.format("lowered-check", &values))
    })
}

/// The content mark of a sheet or manual: eight hexadecimal digits of its fingerprint.
pub(crate) fn mark(content: &impl serde::Serialize) -> String {
    Fingerprint::of_data(content).short()
}
