//! Which page of the output, and which kind of sheet.

use serde::Serialize;
use std::fmt;

/// The kinds of sheet, in the order in which an index lists them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum SheetKind {
    /// Everything about one job: why, hazards, tools, kit, values, steps.
    ShopSheet,
    /// The same job with a line for each step, to tick, note and initial at the bench.
    BenchChecklist,
    /// What to pull for one job or several: parts, supplies, tools.
    KitList,
    /// Every value of a machine.
    MachineData,
    /// From what is wrong with a machine to causes, tests and remedies.
    FaultTable,
    /// What is due on a machine, and when.
    IntervalChart,
    /// Every safety message of a machine, for the wall.
    #[serde(rename = "caution-leaf")]
    CautionSheet,
    /// Where each part, tool, supply and caution is used.
    WhereUsed,
}

impl SheetKind {
    /// All kinds, in the order of an index.
    pub(crate) const ALL: [SheetKind; 8] = [
        SheetKind::ShopSheet,
        SheetKind::BenchChecklist,
        SheetKind::KitList,
        SheetKind::MachineData,
        SheetKind::FaultTable,
        SheetKind::IntervalChart,
        SheetKind::CautionSheet,
        SheetKind::WhereUsed,
    ];

    /// The kinds that are made of each job.
    pub(crate) const OF_JOB: [SheetKind; 3] = [
        SheetKind::ShopSheet,
        SheetKind::BenchChecklist,
        SheetKind::KitList,
    ];

    /// The kinds that are made of each machine.
    pub(crate) const OF_MACHINE: [SheetKind; 3] = [
        SheetKind::MachineData,
        SheetKind::IntervalChart,
        SheetKind::CautionSheet,
    ];

    /// The key of its title among the words: "Shop sheet".
    #[must_use]
    pub(crate) fn title_key(self) -> &'static str {
        match self {
            SheetKind::ShopSheet => "kind-shop-sheet",
            SheetKind::BenchChecklist => "kind-bench-checklist",
            SheetKind::KitList => "kind-kit-list",
            SheetKind::MachineData => "kind-machine-data",
            SheetKind::FaultTable => "kind-fault-table",
            SheetKind::IntervalChart => "kind-interval-chart",
            SheetKind::CautionSheet => "kind-caution-leaf",
            SheetKind::WhereUsed => "kind-where-used",
        }
    }

    /// The name of the kind on the command line and in the names of files: `shop-sheet`.
    #[must_use]
    pub(crate) fn name(self) -> &'static str {
        match self {
            SheetKind::ShopSheet => "shop-sheet",
            SheetKind::BenchChecklist => "bench-checklist",
            SheetKind::KitList => "kit-list",
            SheetKind::MachineData => "machine-data",
            SheetKind::FaultTable => "fault-table",
            SheetKind::IntervalChart => "interval-chart",
            SheetKind::CautionSheet => "caution-leaf",
            SheetKind::WhereUsed => "where-used",
        }
    }
}

/// The lists of a shop's things, in the order in which the front page links to them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum ListKind {
    /// Safety messages.
    Cautions,
    /// Tools.
    Tools,
    /// Supplies.
    Supplies,
    /// Words and their meanings.
    Glossary,
}

impl ListKind {
    /// All lists.
    pub(crate) const ALL: [ListKind; 4] = [
        ListKind::Cautions,
        ListKind::Tools,
        ListKind::Supplies,
        ListKind::Glossary,
    ];

    /// The key of its title among the words.
    #[must_use]
    pub(crate) fn title_key(self) -> &'static str {
        match self {
            ListKind::Cautions => "list-cautions",
            ListKind::Tools => "list-tools",
            ListKind::Supplies => "list-supplies",
            ListKind::Glossary => "list-glossary",
        }
    }

    /// The name of the list in the names of files.
    #[must_use]
    pub(crate) fn name(self) -> &'static str {
        match self {
            ListKind::Cautions => "cautions",
            ListKind::Tools => "tools",
            ListKind::Supplies => "supplies",
            ListKind::Glossary => "glossary",
        }
    }
}

/// A procedure, or a fault table, on one machine.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct JobId {
    /// The machine's id.
    pub(crate) machine: String,
    /// The procedure's or the fault table's id.
    pub(crate) procedure: String,
}

impl JobId {
    /// The job of a procedure on a machine, by their ids.
    pub(crate) fn new(machine: impl Into<String>, procedure: impl Into<String>) -> JobId {
        JobId {
            machine: machine.into(),
            procedure: procedure.into(),
        }
    }
}

impl fmt::Display for JobId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.machine, self.procedure)
    }
}

/// A page of the output, in any medium and language. Where it is in the output is the medium's
/// decision.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum PageId {
    /// The front page.
    Front,
    /// A machine's page.
    Machine(String),
    /// A procedure's page, with a part for each of its machines.
    Procedure(String),
    /// A list of the shop's things.
    List(ListKind),
    /// A sheet of a job, of one of [`SheetKind::OF_JOB`], or a fault table.
    JobSheet(SheetKind, JobId),
    /// A sheet of a machine, of one of [`SheetKind::OF_MACHINE`].
    MachineSheet(SheetKind, String),
    /// The sheet that says where each thing of the shop is used.
    WhereUsed,
    /// The kit list of several jobs together.
    Kit(Vec<JobId>),
    /// A bound manual, which has no page in HTML: of these machines and these systems, of all where
    /// none are named.
    Manual {
        /// The ids of machines.
        machines: Vec<String>,
        /// The folders of systems.
        systems: Vec<String>,
    },
}

impl PageId {
    /// The manual of the whole shop.
    #[must_use]
    pub(crate) fn whole_manual() -> PageId {
        PageId::Manual {
            machines: Vec::new(),
            systems: Vec::new(),
        }
    }

    /// The job that it is a sheet of; none of another page, and of a fault table.
    pub(crate) fn job(&self) -> Option<&JobId> {
        match self {
            PageId::JobSheet(kind, job) if SheetKind::OF_JOB.contains(kind) => Some(job),
            _ => None,
        }
    }
}

/// A name for the page that no other page has. It is no path: a medium has its own.
impl fmt::Display for PageId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PageId::Front => f.write_str("front"),
            PageId::Machine(machine) => write!(f, "machine:{machine}"),
            PageId::Procedure(procedure) => write!(f, "procedure:{procedure}"),
            PageId::List(list) => write!(f, "list:{}", list.name()),
            PageId::JobSheet(kind, job) => write!(f, "{}:{job}", kind.name()),
            PageId::MachineSheet(kind, machine) => write!(f, "{}:{machine}", kind.name()),
            PageId::WhereUsed => f.write_str("where-used"),
            PageId::Kit(jobs) => {
                f.write_str("kit")?;
                jobs.iter().try_for_each(|job| write!(f, ":{job}"))
            }
            PageId::Manual { machines, systems } => {
                f.write_str("manual")?;
                for machine in machines {
                    write!(f, ":on:{machine}")?;
                }
                systems
                    .iter()
                    .try_for_each(|system| write!(f, ":of:{system}"))
            }
        }
    }
}

impl Serialize for PageId {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
