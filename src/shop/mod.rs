//! TOML files become the [`Shop`]: typed records, every field with its place.
//!
//! Comes in: the tree's TOML sources. Goes out: the shop, its tools, supplies,
//! cautions and machines, with values parsed and references within a machine
//! checked. It knows nothing of procedures.

mod crib;
mod key;
mod machine;
mod price;
mod read;
mod rules;
mod thing;

use crate::finding::{Level, Located, Span};
use crate::prose::{Inline, ThingKind, Verb};
use crate::quantity::{Rational, Spec, UnitOrder};
pub(crate) use crate::record::{Id, PerRecord, Records};
use crate::trade::{Day, Meter, TorqueTool};
pub(crate) use crib::CribChoice;
pub(crate) use machine::{
    Energy, EnergyKind, Engine, EngineNeed, EngineRun, Fluid, FluidState, Generator, Machine, Part,
    Reading, RunCondition, Turned, Valve, ValveState,
};
pub(crate) use price::Price;
pub(crate) use read::machine_keys;
pub(crate) use read::read;
pub(crate) use rules::RULES;
pub(crate) use thing::{LostBy, MachineAction, ThingId};

/// The id of a caution among the shop's.
pub(crate) type CautionId = Id<Caution>;
/// The id of a condition among a machine's.
pub(crate) type ConditionId = Id<RunCondition>;
/// The id of a source of energy among a machine's.
pub(crate) type EnergyId = Id<Energy>;
/// The id of a fluid among a machine's.
pub(crate) type FluidId = Id<Fluid>;
/// The id of a machine among the shop's.
pub(crate) type MachineId = Id<Machine>;
/// The id of a part among a machine's.
pub(crate) type PartId = Id<Part>;
/// The id of a reading among a machine's.
pub(crate) type ReadingId = Id<Reading>;
/// The id of a role among the shop's.
pub(crate) type RoleId = Id<Role>;
/// The id of a supply among the shop's.
pub(crate) type SupplyId = Id<Supply>;
/// The id of a tool among the shop's.
pub(crate) type ToolId = Id<Tool>;
/// The id of a valve among a machine's.
pub(crate) type ValveId = Id<Valve>;

/// Everything a shop says of itself and its machines.
#[derive(Clone, Debug)]
pub(crate) struct Shop {
    /// Its name.
    pub(crate) name: String,
    /// The documents' languages, BCP 47 tags that there are words for; never none.
    pub(crate) languages: Vec<String>,
    /// Where the output is served from, for whoever scans a sheet: `https://leaves.example`.
    pub(crate) address: Option<String>,
    /// What leaves are set on.
    pub(crate) paper: Paper,
    /// Printed on every page, such as "Invented data".
    pub(crate) data_note: Option<String>,
    /// Printed on every leaf besides the usual notice.
    pub(crate) notices: Vec<String>,
    /// What prices are in, printed before the number.
    pub(crate) currency: String,
    /// Which units to print, first and after.
    pub(crate) units: UnitOrder,
    /// Who can sign; the first signs every group of steps.
    pub(crate) roles: Records<Role>,
    /// Chapter titles by folder.
    pub(crate) systems: Records<System>,
    /// Levels that the shop sets for rules.
    pub(crate) levels: Vec<LevelSetting>,
    /// The tool crib.
    pub(crate) tools: Records<Tool>,
    /// What is consumed.
    pub(crate) supplies: Records<Supply>,
    /// Safety messages.
    pub(crate) cautions: Records<Caution>,
    /// Words of the shop's own, and what they mean.
    pub(crate) terms: Records<Term>,
    /// The machines.
    pub(crate) machines: Records<Machine>,
    /// Kinds of thing whose file could not be read whole: nothing is said to be unknown among them.
    pub(crate) half_read: Vec<ThingKind>,
}

impl Shop {
    /// The supply that a fluid is filled with.
    #[must_use]
    pub(crate) fn supply_of(&self, fluid: &Fluid) -> Option<&Supply> {
        let supply = fluid.supply.as_ref();
        supply.map(|supply| &self.supplies[supply.value])
    }

    /// The tool that a reading is taken with.
    #[must_use]
    pub(crate) fn tool_of(&self, reading: &Reading) -> Option<&Tool> {
        let tool = reading.tool.as_ref();
        tool.map(|tool| &self.tools[tool.value])
    }

    /// A chapter's title: its own, or its folder's name with a capital.
    #[must_use]
    pub(crate) fn system_title(&self, folder: &str) -> String {
        match self.systems.get(folder) {
            Some(system) => system.title.clone(),
            None => capitalised(&folder.replace('-', " ")),
        }
    }
}

/// Paper that leaves are set on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Paper {
    /// ISO 216 A4.
    #[default]
    A4,
    /// ANSI Letter.
    Letter,
}

/// A rule's level in this shop.
#[derive(Clone, Debug)]
pub(crate) struct LevelSetting {
    /// The rule.
    pub(crate) rule: Located<String>,
    /// Its level, or none where it is off.
    pub(crate) level: Option<Level>,
}

/// Someone who signs.
#[derive(Clone, Debug)]
pub(crate) struct Role {
    /// Its id among the shop's.
    pub(crate) id: RoleId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// "Mechanic", "Second person".
    pub(crate) name: String,
}

/// A chapter of the manual.
#[derive(Clone, Debug)]
pub(crate) struct System {
    /// Its title.
    pub(crate) title: String,
}

/// A tool of the crib.
#[derive(Clone, Debug)]
pub(crate) struct Tool {
    /// Its id among the shop's.
    pub(crate) id: ToolId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// Its name.
    pub(crate) name: String,
    /// Its size, as engraved.
    pub(crate) size: Option<Located<Spec>>,
    /// What it does as a torque tool, where it is one.
    pub(crate) torque: Option<TorqueTool>,
    /// What it does as a meter, where it is one.
    pub(crate) meter: Option<Meter>,
    /// For a torque wrench or a meter: what it can be set to or read.
    pub(crate) range: Option<Located<Spec>>,
    /// The step of its scale.
    pub(crate) graduation: Option<Located<Spec>>,
    /// Its length from the middle of the grip to the drive, for a setting with an extension.
    pub(crate) length: Option<Located<Spec>>,
    /// How far an extension or crowfoot reaches from the drive to the fastener.
    pub(crate) extends: Option<Located<Spec>>,
    /// How far it is turned out of the wrench's line; straight on where it is not said.
    pub(crate) turned_out: Option<Located<Spec>>,
    /// The sparks a turn that a tachometer can be set to.
    pub(crate) pulse_settings: Vec<Located<Rational>>,
    /// The day it was last calibrated.
    pub(crate) calibrated: Option<Located<Day>>,
    /// The day its calibration ends.
    pub(crate) due: Option<Located<Day>>,
    /// A remark.
    pub(crate) note: Option<String>,
    /// Where it is declared.
    pub(crate) span: Span,
}

/// Something that is consumed.
#[derive(Clone, Debug)]
pub(crate) struct Supply {
    /// Its id among the shop's.
    pub(crate) id: SupplyId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// Its name.
    pub(crate) name: String,
    /// What one costs: a tin, a litre, whatever `each` says.
    pub(crate) price: Option<Price>,
    /// What the price is for, where it is not for one piece.
    pub(crate) each: Option<Located<Spec>>,
    /// Oil into petrol, as 50:1.
    pub(crate) mix: Option<Located<Spec>>,
    /// Cautions it brings with it.
    pub(crate) brings: Vec<Located<CautionId>>,
    /// A remark.
    pub(crate) note: Option<String>,
}

/// The word that heads a safety message, by falling severity.
///
/// Meaning after ANSI Z535.6 and ISO 3864-2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Word {
    /// Death or serious injury will follow.
    Danger,
    /// Death or serious injury could follow.
    Warning,
    /// Minor or moderate injury could follow.
    Caution,
    /// Damage without injury.
    Notice,
}

/// A safety message.
#[derive(Clone, Debug)]
pub(crate) struct Caution {
    /// Its id among the shop's.
    pub(crate) id: CautionId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// The signal word.
    pub(crate) word: Word,
    /// What can hurt.
    pub(crate) hazard: String,
    /// What happens then.
    pub(crate) consequence: String,
    /// How to stay clear of it.
    pub(crate) avoid: Vec<String>,
    /// Its signs, by their numbers in ISO 7010.
    pub(crate) signs: Vec<Located<String>>,
    /// What is seen to before the work, such as moving air.
    pub(crate) before: Vec<String>,
    /// The verbs at which what brings it is met; any where none is named.
    pub(crate) at: Vec<Verb>,
}

/// A word that a new hire may not know.
#[derive(Clone, Debug)]
pub(crate) struct Term {
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// The word.
    pub(crate) name: String,
    /// Other words for the same.
    pub(crate) also: Vec<String>,
    /// What it means, in a sentence or two.
    pub(crate) means: String,
}

/// A value and where it comes from.
#[derive(Clone, Debug)]
pub(crate) struct Sourced {
    /// The value.
    pub(crate) spec: Located<Spec>,
    /// Where it comes from; a value without one is marked as unverified.
    pub(crate) basis: Option<String>,
}

/// An instruction in a record: one run of text, with actions where it has any.
pub(crate) type Instruction = Vec<Inline>;

/// The text with its first letter as a capital.
pub(crate) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
