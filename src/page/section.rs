//! What identifies a section.

use super::text::anchor;
use serde::Serialize;
use std::fmt;

/// What a section is about.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum SectionId {
    /// A subject that many pages have.
    Topic(Topic),
    /// A section of a procedure's or a fault table's own, by its number in the job, from 1.
    Steps(usize),
    /// A system, by its folder.
    System(String),
    /// A machine, by its id.
    Machine(String),
}

/// Unique among the sections of a page.
impl fmt::Display for SectionId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SectionId::Topic(topic) => f.write_str(topic.name()),
            SectionId::Steps(number) => write!(f, "section-{number}"),
            SectionId::System(folder) => write!(f, "system-{}", anchor(folder)),
            SectionId::Machine(machine) => f.write_str(machine),
        }
    }
}

impl Serialize for SectionId {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

macro_rules! topics {
    ($($variant:ident $name:literal $doc:literal,)*) => {
        /// The subjects of sections.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub(crate) enum Topic {
            $(#[doc = $doc] $variant,)*
        }

        impl Topic {
            /// Its name, which is also the key of its title among the words.
            #[must_use]
            pub(crate) fn name(self) -> &'static str {
                match self {
                    $(Topic::$variant => $name,)*
                }
            }
        }
    };
}

topics! {
    BeforeRunning "before-running" "What has to be so before the engine runs.",
    Cautions "term-caution" "Messages with the word CAUTION.",
    Cures "cures" "The fault tables that lead to a job.",
    Dangers "term-danger" "Messages with the word DANGER.",
    Due "due" "What is due on a machine.",
    Faults "faults" "A machine's fault tables.",
    Fluids "fluids" "What is filled in.",
    Kit "kit" "Parts and supplies to pull.",
    LeftOnPurpose "left-on-purpose" "What a job leaves undone on purpose.",
    LeftOpen "left-open" "The same, where the machine stays open.",
    Machines "machines" "The machines.",
    MakeSafe "make-safe" "How energies are isolated.",
    Notices "term-notice" "Messages with the word NOTICE.",
    Parts "parts" "Parts that can be ordered.",
    Places "places" "Where linkages go back.",
    Procedures "procedures" "Where procedures are used.",
    Readings "readings" "Readings and their limits.",
    ReadingsTaken "readings-taken" "Where readings are taken.",
    Safety "safety" "Safety messages.",
    SignOff "sign-off" "Lines to sign.",
    Supplies "supplies" "Where supplies are used.",
    Tools "tools" "Tools.",
    Torques "torques" "Torques.",
    UsesOfCautions "kind-caution-leaf" "Where cautions are met.",
    Warnings "term-warning" "Messages with the word WARNING.",
    Wear "wear" "Limits of wear.",
    WhereUsed "kind-where-used" "Where parts are used.",
    Why "why" "Why a job is done.",
    WrongHere "wrong-here" "Room to say that the sheet is wrong.",
}
