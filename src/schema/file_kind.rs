//! The kinds of files that have a schema.

use crate::procedure::{FaultTable, Procedure};
use crate::record::{Described, Table};
use crate::shop::fields::{CautionsFile, GlossaryFile, LogFile, SuppliesFile, ToolsFile};
use crate::shop::{Legend, Machine, Shop};

/// A kind of file that authors write TOML in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FileKind {
    Shop,
    Tools,
    Supplies,
    Cautions,
    Glossary,
    Log,
    Machine,
    Figure,
    /// The front matter of a procedure.
    Procedure,
    /// The front matter of a fault table.
    Fault,
}

impl FileKind {
    pub(crate) const ALL: [FileKind; 10] = [
        FileKind::Shop,
        FileKind::Tools,
        FileKind::Supplies,
        FileKind::Cautions,
        FileKind::Glossary,
        FileKind::Log,
        FileKind::Machine,
        FileKind::Figure,
        FileKind::Procedure,
        FileKind::Fault,
    ];

    /// Its name on the command line.
    #[must_use]
    pub(crate) fn name(self) -> &'static str {
        match self {
            FileKind::Shop => "shop",
            FileKind::Tools => "tools",
            FileKind::Supplies => "supplies",
            FileKind::Cautions => "cautions",
            FileKind::Glossary => "glossary",
            FileKind::Log => "log",
            FileKind::Machine => "machine",
            FileKind::Figure => "figure",
            FileKind::Procedure => "procedure",
            FileKind::Fault => "fault",
        }
    }

    /// The files of this kind, in words.
    #[must_use]
    pub(crate) fn files(self) -> &'static str {
        match self {
            FileKind::Shop => "shop.toml",
            FileKind::Tools => "tools.toml",
            FileKind::Supplies => "supplies.toml",
            FileKind::Cautions => "cautions.toml",
            FileKind::Glossary => "glossary.toml",
            FileKind::Log => "log.toml",
            FileKind::Machine => "machines/ID.toml",
            FileKind::Figure => "figures/ID.toml",
            FileKind::Procedure => "the front matter of SYSTEM/ID.md",
            FileKind::Fault => "the front matter of faults/ID.md",
        }
    }

    /// The description of its top table.
    #[must_use]
    pub(crate) fn table(self) -> &'static Table {
        match self {
            FileKind::Shop => Shop::TABLE,
            FileKind::Tools => ToolsFile::TABLE,
            FileKind::Supplies => SuppliesFile::TABLE,
            FileKind::Cautions => CautionsFile::TABLE,
            FileKind::Glossary => GlossaryFile::TABLE,
            FileKind::Log => LogFile::TABLE,
            FileKind::Machine => Machine::TABLE,
            FileKind::Figure => Legend::TABLE,
            FileKind::Procedure => Procedure::TABLE,
            FileKind::Fault => FaultTable::TABLE,
        }
    }
}
