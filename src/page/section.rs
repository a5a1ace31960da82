//! Identifiers of sections.

use super::text::anchor;
use crate::finding::Family;
use serde::Serialize;
use std::fmt;

#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum SectionId {
    /// A topic that many pages have.
    Topic(Topic),
    /// A section of steps or causes, by its number in the job, from 1.
    Steps(usize),
    /// By its folder.
    System(String),
    /// By its id.
    Machine(String),
    /// A fault table, by its id.
    Fault(String),
    /// A figure of a parts list, by its name.
    Figure(String),
    /// The rules of a family.
    RuleFamily(Family),
    /// A rule, by its name.
    Rule(&'static str),
}

/// Unique among the sections of a page.
impl fmt::Display for SectionId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SectionId::Topic(topic) => f.write_str(topic.name()),
            SectionId::Steps(number) => write!(f, "section-{number}"),
            SectionId::System(folder) => write!(f, "system-{}", anchor(folder)),
            SectionId::Machine(machine) => f.write_str(machine),
            SectionId::Fault(fault) => write!(f, "fault-{fault}"),
            SectionId::Figure(figure) => write!(f, "of-{}", anchor(figure)),
            SectionId::RuleFamily(family) => f.write_str(family.name()),
            SectionId::Rule(rule) => f.write_str(rule),
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
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub(crate) enum Topic {
            $(#[doc = $doc] $variant,)*
        }

        impl Topic {
            /// The topic's name, which is also the key of its title in the words files.
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
    Access "access" "What comes off before a part can be reached.",
    BeforeRunning "before-running" "What has to hold before the engine runs.",
    Cautions "term-caution" "Messages with the word CAUTION.",
    Connections "connections" "Plugs, sockets and leads with their wires.",
    Dangers "term-danger" "Messages with the word DANGER.",
    Details "details" "More about a machine.",
    Differences "differences" "How a variant differs from the machine that it is like.",
    Due "due" "What is due on a machine.",
    DueOnUnits "due-on-units" "What is done, due and overdue on each unit of a machine.",
    Faults "what-does-it-do" "Fault tables, by symptom.",
    Fluids "fluids" "Fluids that are filled in.",
    Guards "guards" "What a machine's energies, fluids and conditions guard.",
    Inspections "inspections" "Inspections, with their intervals.",
    Kit "kit" "Parts and supplies to pull.",
    LeftOnPurpose "left-on-purpose" "What a job leaves undone on purpose.",
    LeftOpen "left-open" "As [`Topic::LeftOnPurpose`], when a part stays off or loose.",
    Lists "lists" "The lists.",
    Machines "machines" "The machines.",
    MakeSafe "make-safe" "How energies are isolated, proved and restored.",
    Notices "term-notice" "Messages with the word NOTICE.",
    OtherParts "other-parts" "Parts that are in no figure.",
    Parts "parts" "Parts that can be ordered.",
    Positions "positions" "The positions of linkages.",
    Procedures "procedures" "Where procedures are used.",
    Readings "readings" "Readings and their limits.",
    ReadingsTaken "readings-taken" "Where readings are taken.",
    SetUp "set-up" "What a job needs and starts from.",
    Safety "safety" "Safety messages.",
    SignOff "sign-off" "Lines to sign.",
    States "states" "The machine's state at each stop.",
    Supplies "supplies" "Where supplies are used.",
    Systems "systems" "The systems.",
    Tools "tools" "Tools.",
    Torques "torques" "Torques.",
    Values "values" "The values of a machine that are looked up most.",
    UsesOfCautions "kind-caution-sheet" "Where cautions apply.",
    Warnings "term-warning" "Messages with the word WARNING.",
    Wear "wear" "Limits of wear.",
    WhereUsed "kind-where-used" "Where parts are used.",
    Why "why" "Why a job is done.",
    WrongHere "wrong-here" "Space to report an error in the sheet.",
}
