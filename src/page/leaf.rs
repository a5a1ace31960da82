//! A leaf as a whole: its kind, its head and its body.

use super::Block;
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
