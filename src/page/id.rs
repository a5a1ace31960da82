//! Identifiers of the pages of the output, and the kinds of sheets and lists.

use crate::finding::Family;
use serde::Serialize;
use std::fmt;

/// The kinds of sheet, in the order of an index.
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
    /// A machine's symptoms with their causes, tests and remedies.
    FaultTable,
    /// A machine's figures with their numbered parts, to order from.
    PartsList,
    /// The jobs that are due on a machine, by interval.
    IntervalChart,
    /// Every safety message of a machine, to hang on the wall.
    #[serde(rename = "caution-sheet")]
    CautionSheet,
    /// Where each part, tool, supply and caution is used.
    WhereUsed,
}

impl SheetKind {
    pub(crate) const ALL: [SheetKind; 9] = [
        SheetKind::ShopSheet,
        SheetKind::BenchChecklist,
        SheetKind::KitList,
        SheetKind::MachineData,
        SheetKind::PartsList,
        SheetKind::FaultTable,
        SheetKind::IntervalChart,
        SheetKind::CautionSheet,
        SheetKind::WhereUsed,
    ];

    /// The kinds that every job has.
    pub(crate) const OF_JOB: [SheetKind; 3] = [
        SheetKind::ShopSheet,
        SheetKind::BenchChecklist,
        SheetKind::KitList,
    ];

    /// The kinds that every machine has.
    pub(crate) const OF_MACHINE: [SheetKind; 4] = [
        SheetKind::MachineData,
        SheetKind::PartsList,
        SheetKind::IntervalChart,
        SheetKind::CautionSheet,
    ];

    /// The key of the kind's title in the words files: "Shop sheet".
    #[must_use]
    pub(crate) fn title_key(self) -> &'static str {
        match self {
            SheetKind::ShopSheet => "kind-shop-sheet",
            SheetKind::BenchChecklist => "kind-bench-checklist",
            SheetKind::KitList => "kind-kit-list",
            SheetKind::MachineData => "kind-machine-data",
            SheetKind::PartsList => "kind-parts-list",
            SheetKind::FaultTable => "kind-fault-table",
            SheetKind::IntervalChart => "kind-interval-chart",
            SheetKind::CautionSheet => "kind-caution-sheet",
            SheetKind::WhereUsed => "kind-where-used",
        }
    }

    /// The kind's name on the command line and in file names: `shop-sheet`.
    #[must_use]
    pub(crate) fn name(self) -> &'static str {
        match self {
            SheetKind::ShopSheet => "shop-sheet",
            SheetKind::BenchChecklist => "bench-checklist",
            SheetKind::KitList => "kit-list",
            SheetKind::MachineData => "machine-data",
            SheetKind::PartsList => "parts-list",
            SheetKind::FaultTable => "fault-table",
            SheetKind::IntervalChart => "interval-chart",
            SheetKind::CautionSheet => "caution-sheet",
            SheetKind::WhereUsed => "where-used",
        }
    }
}

/// The lists of a shop's records, in the order in which the front page links to them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum ListKind {
    Machines,
    /// The fault tables, each with its machines.
    Symptoms,
    Cautions,
    Tools,
    Supplies,
    /// Parts by part number.
    PartNumbers,
    /// Terms and their meanings.
    Glossary,
}

impl ListKind {
    pub(crate) const ALL: [ListKind; 7] = [
        ListKind::Machines,
        ListKind::Symptoms,
        ListKind::Cautions,
        ListKind::Tools,
        ListKind::Supplies,
        ListKind::PartNumbers,
        ListKind::Glossary,
    ];

    /// The key of the list's title in the words files.
    #[must_use]
    pub(crate) fn title_key(self) -> &'static str {
        match self {
            ListKind::Machines => "machines",
            ListKind::Symptoms => "list-symptoms",
            ListKind::Cautions => "list-cautions",
            ListKind::Tools => "list-tools",
            ListKind::Supplies => "list-supplies",
            ListKind::PartNumbers => "list-part-numbers",
            ListKind::Glossary => "list-glossary",
        }
    }

    /// The list's name in file names.
    #[must_use]
    pub(crate) fn name(self) -> &'static str {
        match self {
            ListKind::Machines => "machines",
            ListKind::Symptoms => "symptoms",
            ListKind::Cautions => "cautions",
            ListKind::Tools => "tools",
            ListKind::Supplies => "supplies",
            ListKind::PartNumbers => "part-numbers",
            ListKind::Glossary => "glossary",
        }
    }
}

/// A procedure or a fault table on one machine.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct JobId {
    pub(crate) machine: String,
    pub(crate) procedure: String,
}

impl JobId {
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

/// A page of the output, independent of medium and language. The renderer decides its path.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum PageId {
    Front,
    Machine(String),
    /// Where the parts and readings of a machine are used.
    MachineParts(String),
    /// The jobs of a system on a machine, if the machine has too many jobs for one page.
    MachineSystem {
        /// Its id.
        machine: String,
        /// Its folder.
        system: String,
    },
    /// The procedures of a system, by its folder.
    System(String),
    /// The page of a procedure that several machines have, which leads to its sheets. A procedure of
    /// one machine has only the sheets.
    Procedure(String),
    List(ListKind),
    /// A sheet of a job (one of [`SheetKind::OF_JOB`]) or a fault table.
    JobSheet(SheetKind, JobId),
    /// A sheet of a machine, one of [`SheetKind::OF_MACHINE`].
    MachineSheet(SheetKind, String),
    /// The sheet that lists where the shop's tools, supplies, cautions, procedures and parts are
    /// used.
    WhereUsed,
    /// The rules by family, each with its level.
    Rules,
    /// The manual pages of the rules of a family.
    RuleFamily(Family),
    /// The kit list of several jobs together.
    Kit(Vec<JobId>),
    /// A bound manual, which is a PDF only. An empty list means all machines or all systems.
    Manual {
        /// Ids.
        machines: Vec<String>,
        /// Folders.
        systems: Vec<String>,
    },
}

impl PageId {
    /// The manual of all machines and all systems.
    #[must_use]
    pub(crate) fn whole_manual() -> PageId {
        PageId::Manual {
            machines: Vec::new(),
            systems: Vec::new(),
        }
    }

    /// The shop sheet of a job, on which the job is read.
    #[must_use]
    pub(crate) fn shop_sheet(job: JobId) -> PageId {
        PageId::JobSheet(SheetKind::ShopSheet, job)
    }

    /// The job whose sheet the page is. `None` for every other page, also for a fault table.
    pub(crate) fn job(&self) -> Option<&JobId> {
        match self {
            PageId::JobSheet(kind, job) if SheetKind::OF_JOB.contains(kind) => Some(job),
            _ => None,
        }
    }
}

/// A unique name for the page. It is not a path.
/// Its [`name`](Self::name).
impl fmt::Display for PageId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name())
    }
}

impl PageId {
    /// A unique name for the page.
    #[must_use]
    pub(crate) fn name(&self) -> String {
        let mut name = String::new();
        self.push_name(&mut name);
        name
    }

    /// Appends a unique name for the page.
    pub(super) fn push_name(&self, name: &mut String) {
        let mut push = |parts: &[&str]| name.extend(parts.iter().copied());
        match self {
            PageId::Front => push(&["front"]),
            PageId::Machine(machine) => push(&["machine:", machine]),
            PageId::MachineParts(machine) => push(&["parts:", machine]),
            PageId::MachineSystem { machine, system } => {
                push(&["system-on:", machine, ":", system]);
            }
            PageId::System(system) => push(&["system-page:", system]),
            PageId::Procedure(procedure) => push(&["procedure:", procedure]),
            PageId::List(list) => push(&["list:", list.name()]),
            PageId::JobSheet(kind, job) => {
                push(&[kind.name(), ":", &job.machine, "/", &job.procedure]);
            }
            PageId::MachineSheet(kind, machine) => push(&[kind.name(), ":", machine]),
            PageId::WhereUsed => push(&["where-used"]),
            PageId::Rules => push(&["rules"]),
            PageId::RuleFamily(family) => push(&["rules:", family.name()]),
            PageId::Kit(jobs) => {
                push(&["kit"]);
                for job in jobs {
                    push(&[":", &job.machine, "/", &job.procedure]);
                }
            }
            PageId::Manual { machines, systems } => {
                push(&["manual"]);
                for machine in machines {
                    push(&[":on:", machine]);
                }
                for system in systems {
                    push(&[":of:", system]);
                }
            }
        }
    }
}

impl Serialize for PageId {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.name())
    }
}
