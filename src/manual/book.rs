//! The content of a bound manual as plain data: the blocks of sheets, and pieces that only a manual
//! has.
//!
//! [`Manual`] is to a manual what [`Sheet`](crate::page::Sheet) is to a sheet: the whole interface
//! between content and layout. A manual is typeset as one PDF and never rendered as HTML. No piece
//! knows its page number: the typesetter fills in the page of a target wherever one refers to it.

use crate::page::{
    Block, Cell, Fact, LinkTarget, PageId, Paper, SafetyMessage, SetUpLine, SignalWord,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A manual: a title page and chapters in reading order.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Manual {
    /// Printed on the title page and at the foot of every page.
    pub(crate) head: ManualHead,
    pub(crate) page: PageId,
    /// The first chapter is the back of the title page; the table of contents and the list of figures follow it.
    pub(crate) chapters: Vec<Chapter>,
    /// The list of figures.
    pub(crate) figures: Vec<IndexEntry>,
    /// In a part of a divided manual, the names of the parts that have the other link targets, by the names of the
    /// targets: "part 2".
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub(crate) outside: BTreeMap<String, String>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct ManualHead {
    /// "Shop manual".
    pub(crate) title: String,
    /// The titles of the manual's systems. Empty if it covers all of them.
    pub(crate) systems: Vec<String>,
    pub(crate) machines: Vec<String>,
    pub(crate) shop: String,
    /// A BCP 47 tag.
    pub(crate) language: String,
    pub(crate) paper: Paper,
    /// A notice about the data that every page must carry, such as "Invented data for
    /// demonstration".
    pub(crate) data_note: Option<String>,
    /// The date of the newest revision of anything in the manual, `YYYY-MM-DD`.
    pub(crate) revised: Option<String>,
    /// The content mark: two copies with the same mark are identical in content.
    pub(crate) mark: String,
    /// Labels of the fields to fill in on the title page: copy number, where it is kept.
    pub(crate) entries: Vec<String>,
}

/// What is under one running head. Chapters of one part follow each other on a page.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Chapter {
    /// The part of the manual, or the system of a procedure. Each begins a new page, and has a thumb tab. Empty for a
    /// chapter without a tab.
    pub(crate) part: String,
    /// Whether its pages have two columns: steps are short lines.
    pub(crate) has_columns: bool,
    /// The outer part of the running head: the machine, or the part of the manual.
    pub(crate) outer: String,
    /// The inner part: "Fuel · Float bowl and main jet".
    pub(crate) inner: String,
    pub(crate) pieces: Vec<ManualPiece>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "piece", rename_all = "kebab-case")]
pub(crate) enum ManualPiece {
    /// A heading. The PDF's bookmarks list it.
    Heading {
        /// 1 for a part of the manual, 2 for a system or a machine, 3 for a procedure, 4 for a
        /// machine that the procedure is for.
        level: u8,
        /// Whether the table of contents lists it too.
        listed: bool,
        title: String,
        /// The link targets that the heading is. A procedure with one machine is also the target of
        /// its job. Empty if nothing refers to the heading.
        places: Vec<LinkTarget>,
    },
    /// Blocks of sheets. Their sections have headings of the given level.
    Blocks {
        /// The level of the sections' headings.
        level: u8,
        /// Whether the bookmarks list these headings. The table of contents never does.
        marked: bool,
        /// The job, fault table or machine that the blocks are about. `None` if they are about the
        /// manual.
        about: Option<LinkTarget>,
        blocks: Vec<Block>,
    },
    /// Short facts in a row: time allowed, revision.
    Facts { facts: Vec<Fact> },
    /// What a job needs, one or two lines each.
    Needs { needs: Vec<SetUpLine> },
    /// Safety messages by hazard only, each with the page that has the full message.
    CautionUses {
        /// The most severe first.
        messages: Vec<CautionUse>,
    },
    /// A safety message in full.
    Message {
        /// The link target that the message is.
        place: LinkTarget,
        message: SafetyMessage,
        /// The machines that it applies to: "On the Tarn Yarrow tiller".
        on: String,
    },
    /// The definitions of the signal words.
    SignalWords {
        /// The most severe first.
        words: Vec<Meaning>,
    },
    /// A line for steps that are printed in another place of the manual.
    Elsewhere {
        /// The link target that the line is: links to one of the steps lead here.
        place: LinkTarget,
        /// "Steps 1 to 9", numbered as on the job's shop sheet.
        steps: String,
        /// The title of the procedure that prints them.
        title: String,
        /// The job of that procedure on the same machine.
        to: LinkTarget,
        /// The steps' numbers in that job, if they differ: "steps 10 to 18".
        there: Option<String>,
    },
    /// An index.
    Index {
        /// Sorted by name.
        entries: Vec<IndexEntry>,
    },
}

/// A reference to a safety message.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct CautionUse {
    pub(crate) word: SignalWord,
    /// What causes harm.
    pub(crate) hazard: String,
    /// The target that prints the full message.
    pub(crate) to: LinkTarget,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Meaning {
    pub(crate) word: SignalWord,
    /// A sentence.
    pub(crate) meaning: String,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct IndexEntry {
    pub(crate) name: String,
    /// One line for each machine or section.
    pub(crate) lines: Vec<IndexLine>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct IndexLine {
    /// The machine's name or the section's title. `None` for the machine in a manual of one
    /// machine.
    pub(crate) of: Option<String>,
    /// The part's number.
    pub(crate) number: Option<String>,
    /// The targets. The typesetter sorts them by page.
    pub(crate) to: Vec<LinkTarget>,
    /// Those of the targets that are main entries, where the part's data are. Their pages are in bold.
    pub(crate) main: Vec<LinkTarget>,
}

impl Manual {
    /// The blocks of all chapters, in order.
    pub(crate) fn blocks(&self) -> impl Iterator<Item = &[Block]> {
        let pieces = self.chapters.iter().flat_map(|chapter| &chapter.pieces);
        pieces.filter_map(|piece| match piece {
            ManualPiece::Blocks { blocks, .. } => Some(blocks.as_slice()),
            _ => None,
        })
    }

    /// Every link target in the manual. Links to anything else are removed before typesetting.
    #[cfg(test)]
    pub(crate) fn places(&self) -> BTreeSet<LinkTarget> {
        self.chapters.iter().flat_map(Chapter::places).collect()
    }
}

impl Chapter {
    /// Every link target in the chapter.
    pub(super) fn places(&self) -> BTreeSet<LinkTarget> {
        let mut places = BTreeSet::new();
        for piece in &self.pieces {
            match piece {
                ManualPiece::Heading {
                    places: targets, ..
                } => places.extend(targets.iter().cloned()),
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

/// Adds the link targets of blocks: steps, sections, and the rows of a section's table.
fn places_of(about: &LinkTarget, blocks: &[Block], places: &mut BTreeSet<LinkTarget>) {
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
            Block::Table(table) => {
                let cells = table.rows.iter().flatten();
                places.extend(cells.filter_map(|cell| match cell {
                    Cell::Place { place, .. } => Some(place.clone()),
                    _ => None,
                }));
            }
            _ => {}
        }
    }
}

/// The rows of the first table among a section's blocks; empty without a table.
pub(super) fn rows(blocks: &[Block]) -> &[Vec<Cell>] {
    let table = blocks.iter().find_map(|block| match block {
        Block::Table(table) => Some(table.rows.as_slice()),
        _ => None,
    });
    table.unwrap_or_default()
}
