//! Where links lead.

use super::{JobId, PageId, SectionId};
use serde::Serialize;
use serde::ser::SerializeMap;
use std::fmt;

/// Where a link leads, or what is at a place that can be linked to. It says what is meant; which page
/// has it, with which address, anchor or number, is the medium's decision, and so is whether it is
/// there at all: what has no place in the output is text without a link.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum LinkTarget {
    /// A page.
    Page(PageId),
    /// A procedure on a machine, in the form that the reader has: from one sheet of a job to the
    /// same sheet of the other job, from elsewhere to the procedure's page.
    Job(JobId),
    /// A step of a job.
    Step {
        /// The job.
        job: JobId,
        /// The step's number on the job's sheets.
        step: u32,
    },
    /// The procedures of a system, by its folder.
    System(String),
    /// A machine's part.
    Part {
        /// The machine's id.
        machine: String,
        /// The part's id.
        part: String,
    },
    /// A machine's reading.
    Reading {
        /// The machine's id.
        machine: String,
        /// The reading's id.
        reading: String,
    },
    /// A tool, by its id.
    Tool(String),
    /// A supply, by its id.
    Supply(String),
    /// A safety message, by its caution's id.
    Caution(String),
    /// A term of the glossary, by its id.
    Term(String),
    /// A section of what is said of a job, a fault table or a machine.
    Section {
        /// The job, fault table or machine.
        of: Box<LinkTarget>,
        /// The section.
        section: SectionId,
    },
    /// A row of the table in a section.
    Row {
        /// The job, fault table or machine.
        of: Box<LinkTarget>,
        /// The section.
        section: SectionId,
        /// The row's number, from 1.
        row: u32,
    },
    /// The line of a manual that says where else some steps of a job are written out.
    Elsewhere {
        /// The job.
        job: JobId,
        /// The number of the first section that the line stands for, from 1.
        section: usize,
    },
    /// An address on the web, `https:`, `mailto:` or `tel:`.
    Web(String),
}

/// A figure's id: its path in the shop's tree.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub(crate) struct FigureId(pub(crate) String);

impl LinkTarget {
    /// The fault table of an id on a machine.
    #[must_use]
    pub(crate) fn fault(fault: JobId) -> LinkTarget {
        LinkTarget::Page(PageId::JobSheet(super::SheetKind::FaultTable, fault))
    }

    /// A procedure on all its machines.
    pub(crate) fn procedure(procedure: impl Into<String>) -> LinkTarget {
        LinkTarget::Page(PageId::Procedure(procedure.into()))
    }

    /// The part of a procedure's page that is about one machine.
    pub(crate) fn procedure_on(
        procedure: impl Into<String>,
        machine: impl Into<String>,
    ) -> LinkTarget {
        LinkTarget::procedure(procedure).section(SectionId::Machine(machine.into()))
    }

    /// A machine.
    pub(crate) fn machine(machine: impl Into<String>) -> LinkTarget {
        LinkTarget::Page(PageId::Machine(machine.into()))
    }

    /// A section of what is said of a target.
    #[must_use]
    pub(crate) fn section(self, section: SectionId) -> LinkTarget {
        LinkTarget::Section {
            of: Box::new(self),
            section,
        }
    }

    /// A row of the table in a section of what is said of a target; rows count from 1.
    #[must_use]
    pub(crate) fn row(self, section: SectionId, row: u32) -> LinkTarget {
        LinkTarget::Row {
            of: Box::new(self),
            section,
            row,
        }
    }
}

/// A name for the target that no other target has, by which a medium finds what it knows of it.
impl fmt::Display for LinkTarget {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LinkTarget::Page(page) => page.fmt(f),
            LinkTarget::Job(job) => write!(f, "job:{job}"),
            LinkTarget::Step { job, step } => write!(f, "job:{job}/step-{step}"),
            LinkTarget::System(system) => write!(f, "system:{system}"),
            LinkTarget::Part { machine, part } => write!(f, "part:{machine}/{part}"),
            LinkTarget::Reading { machine, reading } => write!(f, "reading:{machine}/{reading}"),
            LinkTarget::Tool(tool) => write!(f, "tool:{tool}"),
            LinkTarget::Supply(supply) => write!(f, "supply:{supply}"),
            LinkTarget::Caution(caution) => write!(f, "caution:{caution}"),
            LinkTarget::Term(term) => write!(f, "term:{term}"),
            LinkTarget::Section { of, section } => write!(f, "{of}/{section}"),
            LinkTarget::Row { of, section, row } => write!(f, "{of}/{section}/row-{row}"),
            LinkTarget::Elsewhere { job, section } => write!(f, "job:{job}/part-{section}"),
            LinkTarget::Web(address) => f.write_str(address),
        }
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
            map.serialize_entry("place", &self.to_string())?;
        }
        map.end()
    }
}
