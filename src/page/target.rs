//! Targets of links.

use super::{JobId, PageId, SectionId};
use crate::finding::{Family, Rule};
use serde::Serialize;
use serde::ser::SerializeMap;
use std::fmt;

/// The target of a link, or the identity of a place that can be linked to. It names the thing that
/// is meant. The renderer resolves it to a page, address, anchor or page number; a target that the
/// output does not have becomes text without a link.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum LinkTarget {
    Page(PageId),
    /// A procedure on a machine. From one sheet of a job it resolves to the same kind of sheet of
    /// the target job, from anywhere else to the job's shop sheet.
    Job(JobId),
    Step {
        job: JobId,
        /// The step's number on the job's sheets, from 1.
        step: u32,
    },
    /// The procedures of a system, by the system's folder.
    System(String),
    Part {
        machine: String,
        part: String,
    },
    /// A part, a valve or a control in the first figure of a machine's parts list that shows it.
    Drawn {
        machine: String,
        thing: String,
    },
    Reading {
        machine: String,
        reading: String,
    },
    /// By its id.
    Tool(String),
    /// By its id.
    Supply(String),
    /// By the caution's id.
    Caution(String),
    /// A glossary term, by its id.
    Term(String),
    /// The manual page of a rule.
    Rule {
        family: Family,
        /// The rule's name.
        rule: &'static str,
    },
    /// A section about a job, a fault table or a machine.
    Section {
        /// The job, fault table or machine.
        of: Box<LinkTarget>,
        section: SectionId,
    },
    /// A row of the table in a section.
    Row {
        /// The job, fault table or machine.
        of: Box<LinkTarget>,
        section: SectionId,
        /// From 1.
        row: u32,
    },
    /// The line of a manual that refers to the place where some steps of a job are printed.
    Elsewhere {
        job: JobId,
        /// The number of the first section that the line replaces, from 1.
        section: usize,
    },
    /// A URL: `http:`, `https:`, `mailto:` or `tel:`.
    Web(String),
}

/// A figure, by its path in the shop's tree.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub(crate) struct FigureId(pub(crate) String);

impl LinkTarget {
    /// A fault table on a machine.
    #[must_use]
    pub(crate) fn fault(fault: JobId) -> LinkTarget {
        LinkTarget::Page(PageId::JobSheet(super::SheetKind::FaultTable, fault))
    }

    /// The page of a procedure that several machines have.
    pub(crate) fn procedure(procedure: impl Into<String>) -> LinkTarget {
        LinkTarget::Page(PageId::Procedure(procedure.into()))
    }

    pub(crate) fn machine(machine: impl Into<String>) -> LinkTarget {
        LinkTarget::Page(PageId::Machine(machine.into()))
    }

    #[must_use]
    pub(crate) fn rule(rule: &Rule) -> LinkTarget {
        LinkTarget::Rule {
            family: rule.family,
            rule: rule.name,
        }
    }

    /// A section of the target.
    #[must_use]
    pub(crate) fn section(self, section: SectionId) -> LinkTarget {
        LinkTarget::Section {
            of: Box::new(self),
            section,
        }
    }

    /// A row of the table in a section of the target. Rows count from 1.
    #[must_use]
    pub(crate) fn row(self, section: SectionId, row: u32) -> LinkTarget {
        LinkTarget::Row {
            of: Box::new(self),
            section,
            row,
        }
    }
}

impl LinkTarget {
    /// A unique name for the target, by which a renderer looks it up.
    ///
    /// Every link of every page is looked up, so this doesn't go through `fmt`, which takes several times as long.
    #[must_use]
    pub(crate) fn name(&self) -> String {
        let mut name = String::with_capacity(64);
        self.push_name(&mut name);
        name
    }

    fn push_name(&self, name: &mut String) {
        let mut push = |parts: &[&str]| name.extend(parts.iter().copied());
        match self {
            LinkTarget::Page(page) => page.push_name(name),
            LinkTarget::Job(job) => push(&["job:", &job.machine, "/", &job.procedure]),
            LinkTarget::Step { job, step } => {
                let step = step.to_string();
                push(&["job:", &job.machine, "/", &job.procedure, "/step-", &step]);
            }
            LinkTarget::System(system) => push(&["system:", system]),
            LinkTarget::Part { machine, part } => push(&["part:", machine, "/", part]),
            LinkTarget::Drawn { machine, thing } => push(&["drawn:", machine, "/", thing]),
            LinkTarget::Reading { machine, reading } => {
                push(&["reading:", machine, "/", reading]);
            }
            LinkTarget::Tool(tool) => push(&["tool:", tool]),
            LinkTarget::Supply(supply) => push(&["supply:", supply]),
            LinkTarget::Caution(caution) => push(&["caution:", caution]),
            LinkTarget::Term(term) => push(&["term:", term]),
            LinkTarget::Rule { rule, .. } => push(&["rule:", rule]),
            LinkTarget::Section { of, section } => {
                of.push_name(name);
                name.extend(["/", &section.to_string()]);
            }
            LinkTarget::Row { of, section, row } => {
                of.push_name(name);
                name.extend(["/", &section.to_string(), "/row-", &row.to_string()]);
            }
            LinkTarget::Elsewhere { job, section } => {
                let section = section.to_string();
                push(&[
                    "job:",
                    &job.machine,
                    "/",
                    &job.procedure,
                    "/part-",
                    &section,
                ]);
            }
            LinkTarget::Web(address) => push(&[address]),
        }
    }
}

/// Its [`name`](Self::name).
impl fmt::Display for LinkTarget {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name())
    }
}

impl Serialize for LinkTarget {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(2))?;
        if let LinkTarget::Web(address) = self {
            map.serialize_entry("to", "web")?;
            map.serialize_entry("address", address)?;
        } else {
            map.serialize_entry("to", "place")?;
            map.serialize_entry("place", &self.name())?;
        }
        map.end()
    }
}
