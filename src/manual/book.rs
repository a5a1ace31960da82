//! What can stand in a bound manual: the pieces of leaves, and a few of its own.
//!
//! [`Manual`] is to a manual what [`Leaf`](crate::page::Leaf) is to a leaf. As with a leaf, these types are the whole contract between what the manual
//! says and how it looks. It is set as one PDF, so nothing here is ever a page
//! of HTML. No piece knows on which page it comes to stand: a place has an
//! anchor, and the typesetter writes the page where the anchor is asked for.

use crate::page::{Block, Fact, Paper, Run, SafetyMessage, SignalWord};
use serde::Serialize;
use std::collections::BTreeSet;

/// A manual: a title page, and stretches of pages in reading order.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Manual {
    /// What the title page and the foot of every page say.
    pub head: ManualHead,
    /// Every place that a link may lead to. No link in the manual leads anywhere else, so that the
    /// typesetter need not be told.
    #[serde(skip)]
    pub anchors: BTreeSet<String>,
    /// What stands in it. The first chapter is the back of the title page; the contents come
    /// behind it.
    pub chapters: Vec<Chapter>,
}

/// What identifies a manual.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct ManualHead {
    /// "Shop manual".
    pub title: String,
    /// What it is of, where it is not of everything: its systems.
    pub systems: Vec<String>,
    /// The machines in it.
    pub machines: Vec<String>,
    /// The shop's name.
    pub shop: String,
    /// Where the shop's logo stands in the output.
    pub logo: Option<String>,
    /// The document's language, a BCP 47 tag such as `en`.
    pub language: String,
    /// The paper it is set for.
    pub paper: Paper,
    /// What every page must say of its data, such as "Invented data for demonstration".
    pub data_note: Option<String>,
    /// The day of the newest revision of anything in it, `YYYY-MM-DD`.
    pub revised: Option<String>,
    /// A short mark that changes when anything in it does: two copies with the same mark say the
    /// same.
    pub mark: String,
    /// What is written on the title page by hand: copy number, where it is kept.
    pub entries: Vec<String>,
    /// Where it lives, without ending: `tarn-t7/manual`.
    pub path: String,
}

/// Pages under one running head. Each begins a new page.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Chapter {
    /// At the outer edge, where the thumb is: the machine, or the part of the manual.
    pub outer: String,
    /// At the inner edge: "Fuel · Float bowl and main jet".
    pub inner: String,
    /// Its body, in reading order.
    pub pieces: Vec<Piece>,
}

/// One piece of a chapter.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "piece", rename_all = "kebab-case")]
pub enum Piece {
    /// A heading, which the bookmarks list.
    Heading {
        /// 1 for a part of the manual, 2 for a system or a machine, 3 for a procedure, 4 for a
        /// machine that the procedure is for.
        level: u8,
        /// Whether the contents list it, too.
        listed: bool,
        /// The heading.
        title: String,
        /// Its anchors: a procedure for one machine has that of the job, too.
        anchors: Vec<String>,
    },
    /// Blocks as leaves have them, with their sections' headings at this level.
    Blocks {
        /// The level of a section's heading.
        level: u8,
        /// Whether the bookmarks list these headings; no contents do.
        marked: bool,
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
    /// Safety messages by their hazards alone, each with the page where it stands in full.
    Met {
        /// The messages, the most severe first.
        messages: Vec<Met>,
    },
    /// A safety message in full.
    Message {
        /// Its anchor.
        anchor: String,
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
        /// Its anchor: what leads to one of the steps leads here.
        anchor: String,
        /// "Steps 1 to 9", numbered as on the job's shop sheet.
        steps: String,
        /// The procedure that has them.
        title: String,
        /// The procedure's anchor.
        to: String,
        /// Its own numbers for them, where they differ: "steps 10 to 18".
        there: Option<String>,
    },
    /// An index.
    Index {
        /// By name.
        entries: Vec<IndexEntry>,
    },
}

/// A label and what stands beside it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Need {
    /// "Tools".
    pub label: String,
    /// "10 mm wrench; torque screwdriver, 0.6 N·m to 3 N·m".
    pub runs: Vec<Run>,
}

/// A safety message that stands in full in another place.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Met {
    /// Its signal word.
    pub word: SignalWord,
    /// What can hurt.
    pub hazard: String,
    /// Where it stands in full.
    pub to: String,
}

/// A signal word and its meaning.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Meaning {
    /// The word.
    pub word: SignalWord,
    /// What it means, a sentence.
    pub meaning: String,
}

/// A name in an index.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct IndexEntry {
    /// The name.
    pub name: String,
    /// Where it stands: one line for each machine.
    pub lines: Vec<IndexLine>,
}

/// A line of an index entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct IndexLine {
    /// The machine; none where the manual is of one alone.
    pub of: Option<String>,
    /// A part's number.
    pub number: Option<String>,
    /// Where it stands, not yet in order of pages.
    pub to: Vec<String>,
}
