//! What can stand on a leaf, for any medium.
//!
//! These types are the whole contract between what a leaf says and how it
//! looks. The typesetter reads a leaf as it stands, as JSON; the page templates
//! read the same head, and the same blocks one by one. A new kind of leaf
//! composes the blocks that are here; a new block is one variant here and one
//! branch in each medium.
//!
//! Every text in them is plain text of a shop's own files. A renderer escapes
//! it; nothing here is markup.

use serde::Serialize;

/// The kinds of leaf, in the order in which an index lists them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeafKind {
    /// Everything about one job: why, what can hurt, tools, kit, values, steps.
    ShopSheet,
    /// The same job a line a step, to tick, note and initial at the bench.
    BenchChecklist,
    /// What to pull for one job or several: parts, supplies, tools.
    KitList,
    /// Every value of a machine.
    MachineData,
    /// From what is wrong with a machine to its causes, tests and mends.
    FaultTable,
    /// What is due on a machine, and when.
    IntervalChart,
    /// Every safety message of a machine, for the wall.
    CautionLeaf,
    /// Where each part, tool, supply and caution is used.
    WhereUsed,
}

impl LeafKind {
    /// All kinds, in index order.
    pub const ALL: [LeafKind; 8] = [
        LeafKind::ShopSheet,
        LeafKind::BenchChecklist,
        LeafKind::KitList,
        LeafKind::MachineData,
        LeafKind::FaultTable,
        LeafKind::IntervalChart,
        LeafKind::CautionLeaf,
        LeafKind::WhereUsed,
    ];

    /// The kinds that are made of each job.
    pub const OF_JOB: [LeafKind; 3] = [
        LeafKind::ShopSheet,
        LeafKind::BenchChecklist,
        LeafKind::KitList,
    ];

    /// The kinds that are made of each machine.
    pub const OF_MACHINE: [LeafKind; 3] = [
        LeafKind::MachineData,
        LeafKind::IntervalChart,
        LeafKind::CautionLeaf,
    ];

    /// The key of its title among the words: "Shop sheet".
    #[must_use]
    pub fn title_key(self) -> &'static str {
        match self {
            LeafKind::ShopSheet => "kind-shop-sheet",
            LeafKind::BenchChecklist => "kind-bench-checklist",
            LeafKind::KitList => "kind-kit-list",
            LeafKind::MachineData => "kind-machine-data",
            LeafKind::FaultTable => "kind-fault-table",
            LeafKind::IntervalChart => "kind-interval-chart",
            LeafKind::CautionLeaf => "kind-caution-leaf",
            LeafKind::WhereUsed => "kind-where-used",
        }
    }

    /// The kind as a file name and the command line say it: `shop-sheet`.
    #[must_use]
    pub fn slug(self) -> &'static str {
        self.title_key().trim_start_matches("kind-")
    }
}

/// One leaf: a head and what stands below it.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Leaf {
    /// Which kind it is; the medium lays each kind out in its own way.
    pub kind: LeafKind,
    /// What the head and the foot of every page say.
    pub head: Head,
    /// The body, in reading order.
    pub blocks: Vec<Block>,
}

/// What identifies a leaf, printed in its head and in every footer.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Head {
    /// The kind as a title says it: "Shop sheet".
    pub kind_title: String,
    /// The procedure's title, or what else the leaf is about.
    pub title: String,
    /// The machine's name; none on a leaf about all of them.
    pub machine: Option<String>,
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
    /// The procedure's revision number; none on a leaf that is drawn from many files.
    pub revision: Option<u32>,
    /// The day of that revision, `YYYY-MM-DD`.
    pub revised: Option<String>,
    /// A short mark that changes when anything on the leaf does: two papers
    /// with the same mark say the same.
    pub mark: String,
    /// Short facts: engine, time allowed, interval.
    pub facts: Vec<Fact>,
    /// What the person at the bench writes in at the top: job number, date.
    pub entries: Vec<String>,
    /// Where the leaf lives, without ending: `tarn-t7/governor-linkage-shop-sheet`.
    pub path: String,
    /// The page's own address, where the shop says where its leaves are served from; printed as a
    /// QR code.
    pub address: Option<String>,
}

/// A leaf in another language.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Translation {
    /// The language's tag.
    pub language: String,
    /// Its own name: "Español".
    pub name: String,
    /// [`Head::path`] of the leaf in it.
    pub path: String,
}

/// The paper sizes a shop can choose from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub enum Paper {
    /// ISO 216 A4, 210 mm × 297 mm.
    #[serde(rename = "a4")]
    A4,
    /// ANSI Letter, 8.5 in × 11 in.
    #[serde(rename = "us-letter")]
    Letter,
}

/// A label and what it says.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Fact {
    /// "Time allowed".
    pub label: String,
    /// "35 min".
    pub text: String,
}

/// One block of a leaf's body.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "block", rename_all = "kebab-case")]
pub enum Block {
    /// A heading and what belongs to it. Sections nest at most two deep.
    Section(Section),
    /// A paragraph.
    Text {
        /// Its runs.
        runs: Vec<Run>,
    },
    /// A plain list, a dot before each item.
    Bullets {
        /// The items' runs.
        items: Vec<Vec<Run>>,
    },
    /// A safety message that belongs to no single step.
    Safety(SafetyMessage),
    /// A table with a header row.
    Table(Table),
    /// Steps, in order.
    Steps {
        /// The steps; their numbers go on across blocks.
        steps: Vec<Step>,
    },
    /// A figure that belongs to no single step.
    Figure(Figure),
    /// Standing notices: what the leaf does not replace, and the shop's own.
    Notices {
        /// Each in one paragraph.
        notices: Vec<String>,
    },
    /// What is put on or seen to before anything else: signs and a word each.
    Protection {
        /// Signs, each with its referent.
        signs: Vec<Sign>,
        /// What no sign says: moving air, a drip tray.
        notes: Vec<String>,
    },
    /// The end of a group of steps: a natural stop, where the group is signed.
    Stop(Stop),
    /// Lines to sign.
    SignOff {
        /// One for each signature.
        lines: Vec<SignLine>,
    },
    /// Room to write where the sheet was wrong.
    WrongHere {
        /// What to write: "Step or table, and what it should say".
        label: String,
    },
}

/// Where a sheet may be left, and what the machine is like there.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Stop {
    /// Its number on the leaf, from 1.
    pub number: u32,
    /// Unique on the leaf: `stop-2`.
    pub anchor: String,
    /// "Group 2 of 5: steps 4 to 9".
    pub title: String,
    /// Who signs.
    pub role: String,
    /// All that is not as it was found: "off: carburettor, air cleaner base".
    pub state: Vec<String>,
    /// Why the machine may not be left here; none where it may, and a box says so.
    pub never: Option<String>,
}

/// A sign after ISO 7010.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Sign {
    /// Its number: `W021`.
    pub number: String,
    /// What it stands for, and its text alternative: "Flammable material".
    pub referent: String,
}

/// A heading and its blocks.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Section {
    /// The heading.
    pub title: String,
    /// Unique on the leaf; a fragment id in HTML.
    pub anchor: String,
    /// Said small beside the heading: the procedure that the steps come from.
    pub from: Option<String>,
    /// Below it.
    pub blocks: Vec<Block>,
}

/// A stretch of text.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "run", rename_all = "kebab-case")]
pub enum Run {
    /// Plain text.
    Text {
        /// The text.
        text: String,
    },
    /// Strongly stressed.
    Strong {
        /// What is stressed.
        runs: Vec<Run>,
    },
    /// Stressed.
    Emphasis {
        /// What is stressed.
        runs: Vec<Run>,
    },
    /// As typed or engraved: a part number, a mark on a casting.
    Code {
        /// The text.
        text: String,
    },
    /// A cross-reference or a web address.
    Link {
        /// Where it leads.
        target: Target,
        /// What it says.
        runs: Vec<Run>,
    },
    /// A line break the author asked for.
    Break,
}

impl Run {
    /// Plain text as a run.
    pub fn text(text: impl Into<String>) -> Run {
        Run::Text { text: text.into() }
    }
}

/// Where a link leads.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "to", rename_all = "kebab-case")]
pub enum Target {
    /// A place on this leaf.
    Here {
        /// The place's anchor.
        anchor: String,
    },
    /// Another page of the same output.
    Leaf {
        /// Its [`Head::path`].
        path: String,
        /// The place on it; none for its beginning.
        #[serde(skip_serializing_if = "Option::is_none")]
        anchor: Option<String>,
    },
    /// The page of a place in a bound manual: its number is set between the first and the second
    /// run, and all of it left out where the reader is on that page. Only a manual has it.
    Page {
        /// The place's anchor.
        anchor: String,
    },
    /// An address outside the output.
    Web {
        /// The address, `https:` or `mailto:`.
        address: String,
    },
}

/// A value in one or two units, printed.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Value {
    /// In the shop's first unit: "9 N·m ± 1 N·m".
    pub first: String,
    /// In its second, rounded so that it allows nothing the first forbids.
    pub second: Option<String>,
    /// True where nobody said where the value comes from; printed as *unverified*.
    pub unverified: bool,
}

/// A signal word with what it warns of, after ANSI Z535.6 and ISO 3864-2.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct SafetyMessage {
    /// The caution's id, the same wherever it is shown.
    pub id: String,
    /// Where it can be linked to: on the list of all cautions, where it stands once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub anchor: Option<String>,
    /// The word that sets its look.
    pub word: SignalWord,
    /// What can hurt: "Petrol vapour catches fire".
    pub hazard: String,
    /// What happens then.
    pub consequence: String,
    /// How to stay clear of it.
    pub avoid: Vec<String>,
    /// Its signs.
    pub signs: Vec<Sign>,
}

/// Signal words by falling severity. The safety alert symbol goes with the
/// first three; NOTICE is about damage without injury (ANSI Z535.4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SignalWord {
    /// Death or serious injury will follow.
    Danger,
    /// Death or serious injury could follow.
    Warning,
    /// Minor or moderate injury could follow.
    Caution,
    /// Damage without injury.
    Notice,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Step {
    /// Its number on this leaf, from 1.
    pub number: u32,
    /// Its anchor, unique on the leaf.
    pub anchor: String,
    /// On a page that shows a procedure on several machines: what is the same for a step on all of
    /// them, so that whoever changes the machine stays at the step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub same_as: Option<String>,
    /// Messages that must be read before it; never parted from it.
    pub before: Vec<SafetyMessage>,
    /// What to do.
    pub text: Vec<Run>,
    /// Further paragraphs and sub-points.
    pub notes: Vec<Vec<Run>>,
    /// The values it needs, each on its own line on a shop sheet.
    pub details: Vec<Detail>,
    /// What is written down at it.
    pub blanks: Vec<Blank>,
    /// Its figures.
    pub figures: Vec<Figure>,
    /// Roles that sign here before anyone goes on.
    pub holds: Vec<String>,
}

/// A value or fact that a step needs.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Detail {
    /// What it is of: "manifold nut, 2 × M6".
    pub label: String,
    /// The value, where there is one.
    pub value: Option<Value>,
    /// Short facts after it: "10 mm hex", "crosswise", "long leg towards the engine".
    pub more: Vec<String>,
}

/// Something to write at a step.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "blank", rename_all = "kebab-case")]
pub enum Blank {
    /// Tick one of a few places.
    Choice {
        /// "governor rod sat in".
        label: String,
        /// The places it could be.
        options: Vec<String>,
    },
    /// Write a reading beside its limits.
    Reading {
        /// "governed speed, no load, warm".
        label: String,
        /// The limits.
        limits: Value,
        /// The headings of the boxes: "as found", "as left".
        boxes: Vec<String>,
        /// The unit to write, printed behind each box.
        unit: String,
        /// The least that is within the limits, in that unit, as a plain decimal number.
        least: Option<String>,
        /// The most.
        most: Option<String>,
        /// What to do when it is over.
        over: Option<String>,
        /// What to do when it is under.
        under: Option<String>,
    },
    /// Write words or a number.
    Words {
        /// "valve lash, inlet".
        label: String,
    },
    /// The state that the step brings about, to tick: what was done is written, not that something was.
    State {
        /// "fuel tap"; empty where the state says it all.
        label: String,
        /// "closed".
        state: String,
    },
    /// The bag that what comes off goes into.
    Bag {
        /// "manifold nuts".
        label: String,
        /// How many pieces.
        count: String,
    },
}

/// A drawing or photograph.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Figure {
    /// Its number on this leaf, from 1.
    pub number: u32,
    /// Its anchor, unique on the leaf.
    pub anchor: String,
    /// Its place in the output, from the output's root: `figures/linkage-1a2b3c4d.svg`.
    pub path: String,
    /// What it shows, for those who can't see it.
    pub alt: String,
    /// Printed below it.
    pub caption: Option<String>,
}

/// A table.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Table {
    /// Names the table for a screen reader; the section's title says it in print.
    pub caption: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with as many cells as there are columns.
    pub rows: Vec<Vec<Cell>>,
}

/// A table's column.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Column {
    /// Its heading.
    pub title: String,
    /// Its share of the width against the other columns' shares.
    pub share: u8,
}

/// A table's cell.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "cell", rename_all = "kebab-case")]
pub enum Cell {
    /// Text.
    Text {
        /// Its runs; none for an empty cell.
        runs: Vec<Run>,
    },
    /// Names its row; a row header.
    Name {
        /// The name.
        text: String,
    },
    /// Names its row, and can be linked to.
    Place {
        /// The name.
        text: String,
        /// Unique on the page.
        anchor: String,
    },
    /// A value.
    Value {
        /// The value.
        value: Value,
    },
    /// Places to tick one of.
    Choice {
        /// The places.
        options: Vec<String>,
    },
    /// The order in which fasteners around a circle are tightened.
    Pattern {
        /// The same in words.
        text: String,
        /// For each place from the top and clockwise, when its turn is, from 1.
        order: Vec<u32>,
    },
    /// A box to tick.
    Tick,
    /// Room to write.
    Blank,
}

impl Cell {
    /// A cell of plain text.
    pub fn text(text: impl Into<String>) -> Cell {
        Cell::Text {
            runs: vec![Run::text(text)],
        }
    }
}

/// A line to sign.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct SignLine {
    /// What the signature stands for: "Take off, steps 4 to 9".
    pub what: String,
    /// Who signs: "Mechanic".
    pub role: String,
}
