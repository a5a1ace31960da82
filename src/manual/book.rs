//! What can appear in a bound manual: the blocks of sheets, and a few pieces of its own.
//!
//! [`Manual`] is to a manual what [`Sheet`](crate::page::Sheet) is to a sheet: these types are the
//! whole contract between what the manual says and how it looks. It is set as one PDF, so nothing
//! here is ever a page of HTML. No piece knows on which page it comes to be: the typesetter writes
//! the page of a place where something refers to it.

use crate::page::{
    Block, Cell, Fact, LinkTarget, PageId, Paper, SafetyMessage, SignalWord, TextRun,
};
use serde::Serialize;

/// A manual: a title page, and stretches of pages in reading order.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Manual {
    /// What the title page and the foot of every page say.
    pub(crate) head: ManualHead,
    /// Which page of the output it is.
    pub(crate) page: PageId,
    /// What is in it. The first chapter is the back of the title page; the contents come
    /// behind it.
    pub(crate) chapters: Vec<Chapter>,
}

/// What identifies a manual.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct ManualHead {
    /// "Shop manual".
    pub(crate) title: String,
    /// What it is of, where it is not of everything: its systems.
    pub(crate) systems: Vec<String>,
    /// The machines in it.
    pub(crate) machines: Vec<String>,
    /// The shop's name.
    pub(crate) shop: String,
    /// The document's language, a BCP 47 tag such as `en`.
    pub(crate) language: String,
    /// The paper it is set for.
    pub(crate) paper: Paper,
    /// What every page must say of its data, such as "Invented data for demonstration".
    pub(crate) data_note: Option<String>,
    /// The day of the newest revision of anything in it, `YYYY-MM-DD`.
    pub(crate) revised: Option<String>,
    /// A short mark that changes when anything in it does: two copies with the same mark say the
    /// same.
    pub(crate) mark: String,
    /// What is written on the title page by hand: copy number, where it is kept.
    pub(crate) entries: Vec<String>,
}

/// Pages under one running head. Each begins a new page.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Chapter {
    /// At the outer edge, where the thumb is: the machine, or the part of the manual.
    pub(crate) outer: String,
    /// At the inner edge: "Fuel · Float bowl and main jet".
    pub(crate) inner: String,
    /// Its body, in reading order.
    pub(crate) pieces: Vec<ManualPiece>,
}

/// One piece of a chapter.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "piece", rename_all = "kebab-case")]
pub(crate) enum ManualPiece {
    /// A heading, which the bookmarks list.
    Heading {
        /// 1 for a part of the manual, 2 for a system or a machine, 3 for a procedure, 4 for a
        /// machine that the procedure is for.
        level: u8,
        /// Whether the contents list it, too.
        listed: bool,
        /// The heading.
        title: String,
        /// The places that it is: a procedure for one machine is that of the job, too; none where
        /// nothing refers to it.
        places: Vec<LinkTarget>,
    },
    /// Blocks as sheets have them, with their sections' headings at this level.
    Blocks {
        /// The level of a section's heading.
        level: u8,
        /// Whether the bookmarks list these headings; no contents do.
        marked: bool,
        /// The job, the fault table or the machine that they are about; none where they are about the
        /// manual.
        about: Option<LinkTarget>,
        /// The blocks.
        blocks: Vec<Block>,
    },
    /// Short facts in a row: time allowed, revision.
    Facts {
        /// The facts.
        facts: Vec<Fact>,
    },
    /// What a job needs, a line or two each.
    Needs {
        /// Each under a label.
        needs: Vec<Need>,
    },
    /// Safety messages by their hazards alone, each with the page that has it in full.
    CautionUses {
        /// The messages, the most severe first.
        messages: Vec<CautionUse>,
    },
    /// A safety message in full.
    Message {
        /// The place that it is.
        place: LinkTarget,
        /// The message.
        message: SafetyMessage,
        /// The machines that meet it: "On the Tarn T7 tiller".
        on: String,
    },
    /// The signal words and what they mean.
    SignalWords {
        /// By falling severity.
        words: Vec<Meaning>,
    },
    /// Steps that are written out in another place of the manual.
    Elsewhere {
        /// The place that it is: what leads to one of the steps leads here.
        place: LinkTarget,
        /// "Steps 1 to 9", numbered as on the job's shop sheet.
        steps: String,
        /// The procedure that has them.
        title: String,
        /// The procedure's own job.
        to: LinkTarget,
        /// Its own numbers for them, where they differ: "steps 10 to 18".
        there: Option<String>,
    },
    /// An index.
    Index {
        /// By name.
        entries: Vec<IndexEntry>,
    },
}

/// A label and the text beside it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Need {
    /// "Tools".
    pub(crate) label: String,
    /// "10 mm wrench; torque screwdriver, 0.6 N·m to 3 N·m".
    pub(crate) runs: Vec<TextRun>,
}

/// A safety message that is in full in another place.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct CautionUse {
    /// Its signal word.
    pub(crate) word: SignalWord,
    /// What can hurt.
    pub(crate) hazard: String,
    /// The place that has it in full.
    pub(crate) to: LinkTarget,
}

/// A signal word and its meaning.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Meaning {
    /// The word.
    pub(crate) word: SignalWord,
    /// What it means, a sentence.
    pub(crate) meaning: String,
}

/// A name in an index.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct IndexEntry {
    /// The name.
    pub(crate) name: String,
    /// Its places: one line for each machine.
    pub(crate) lines: Vec<IndexLine>,
}

/// A line of an index entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct IndexLine {
    /// The machine; none where the manual is of one alone.
    pub(crate) of: Option<String>,
    /// A part's number.
    pub(crate) number: Option<String>,
    /// Its places, not yet in order of pages.
    pub(crate) to: Vec<LinkTarget>,
}

impl Manual {
    /// Every place of the manual that a link may lead to. No link in the manual leads anywhere else, so
    /// that the typesetter need not be told.
    #[cfg(test)]
    pub(crate) fn places(&self) -> std::collections::BTreeSet<LinkTarget> {
        let pieces = self.chapters.iter().flat_map(|chapter| &chapter.pieces);
        let mut places = std::collections::BTreeSet::new();
        for piece in pieces {
            match piece {
                ManualPiece::Heading { places: own, .. } => places.extend(own.iter().cloned()),
                ManualPiece::Message { place, .. } | ManualPiece::Elsewhere { place, .. } => {
                    places.insert(place.clone());
                }
                ManualPiece::Blocks {
                    about: Some(about),
                    blocks,
                    ..
                } => places_of(about, blocks, &mut places),
                ManualPiece::Blocks { about: None, .. }
                | ManualPiece::Facts { .. }
                | ManualPiece::Needs { .. }
                | ManualPiece::CautionUses { .. }
                | ManualPiece::SignalWords { .. }
                | ManualPiece::Index { .. } => {}
            }
        }
        places
    }
}

#[cfg(test)]
/// The places of some blocks: steps, sections, and the rows of the table in a section.
fn places_of(
    about: &LinkTarget,
    blocks: &[Block],
    places: &mut std::collections::BTreeSet<LinkTarget>,
) {
    for block in blocks {
        match block {
            Block::Section(section) => {
                let id = &section.id;
                places.insert(about.clone().section(id.clone()));
                let rows = (1..).zip(rows(&section.blocks));
                places.extend(rows.map(|(row, _)| about.clone().row(id.clone(), row)));
                places_of(about, &section.blocks, places);
            }
            Block::Steps { steps } => {
                if let LinkTarget::Job(job) = about {
                    places.extend(steps.iter().map(|step| LinkTarget::Step {
                        job: job.clone(),
                        step: step.number,
                    }));
                }
            }
            _ => {}
        }
    }
}

/// The rows of the table among a section's blocks.
pub(super) fn rows(blocks: &[Block]) -> &[Vec<Cell>] {
    let table = blocks.iter().find_map(|block| match block {
        Block::Table(table) => Some(table.rows.as_slice()),
        _ => None,
    });
    table.unwrap_or_default()
}
