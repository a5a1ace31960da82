//! Reads the TOML sources into the [`Shop`]: typed records whose fields keep their spans.
//!
//! In: the tree's TOML sources. Out: the shop with its tools, supplies, cautions and machines; values
//! are parsed, and names of other records are resolved to ids. This module never looks at procedures.

mod colour;
mod container;
mod crib;
pub(crate) mod fields;
mod fleet;
mod key;
mod legend;
mod line;
mod machine;
mod part;
mod price;
mod read;
mod rules;
mod serial;
mod supply;
mod thing;
mod wait_time;
mod wire;

use crate::finding::{Level, Located, Span};
use crate::prose::{Inline, ThingKind, Verb};
use crate::quantity::{Gallons, Limits, Quantity, Rational, Spec, UnitOrder};
pub(crate) use crate::record::{Id, PerRecord, Records};
use crate::trade::{Day, DroopOf, Meter, TorqueTool};
use crate::words::marks::is_mark;
pub(crate) use colour::Colour;
pub(crate) use crib::CribChoice;
pub(crate) use fleet::{Done, LogDay, Unit};
pub(crate) use legend::{Callout, Legend};
pub(crate) use machine::{
    Calculated, Control, Endings, Energy, EnergyKind, Engine, EngineNeed, EngineRun, Fluid,
    FluidState, Generator, LevelMarks, Machine, OfPart, Reading, RepairKit, RunCondition, Valve,
    ValveState, slug,
};
pub(crate) use part::{Dimension, NamedBy, Part, Turned};
pub(crate) use price::Price;
pub(crate) use read::machine_keys;
pub(crate) use read::{read, read_machine_again};
pub(crate) use rules::RULES;
pub(crate) use serial::{SerialNumber, SerialRange};
use std::cmp::Ordering;
use std::collections::BTreeMap;
pub(crate) use supply::SupplyKind;
pub(crate) use thing::{CribTool, LostBy, MachineAction, ThingId};
pub(crate) use wait_time::WaitTime;
pub(crate) use wire::{Wire, WireFault, wire_colour_codes};

// Cautions, machines, roles, supplies and tools have ids within the shop. The ids of the other records are
// valid only for the machine that they were resolved on, those of dimensions only for their part.
pub(crate) type CautionId = Id<Caution>;
pub(crate) type ConditionId = Id<RunCondition>;
pub(crate) type ControlId = Id<Control>;
pub(crate) type DimensionId = Id<Dimension>;
pub(crate) type EnergyId = Id<Energy>;
pub(crate) type FluidId = Id<Fluid>;
pub(crate) type MachineId = Id<Machine>;
pub(crate) type PartId = Id<Part>;
pub(crate) type ReadingId = Id<Reading>;
pub(crate) type RoleId = Id<Role>;
pub(crate) type SupplyId = Id<Supply>;
pub(crate) type ToolId = Id<Tool>;
pub(crate) type ValveId = Id<Valve>;

/// The records of all TOML sources: the shop's own and its machines'.
#[derive(Clone, Debug)]
pub(crate) struct Shop {
    pub(crate) name: String,
    /// The languages of the documents as BCP 47 tags, each with a file in `templates/words`. Never empty.
    pub(crate) languages: Vec<String>,
    /// The base URL of the published output, for the QR codes on sheets: `https://sheets.example`.
    pub(crate) address: Option<String>,
    pub(crate) paper: Paper,
    /// The colour of the shop's pages.
    pub(crate) accent: Option<Colour>,
    /// Printed on every page, such as "Invented data".
    pub(crate) data_note: Option<String>,
    /// Printed on every sheet in addition to the standard notice.
    pub(crate) notices: Vec<String>,
    /// The symbol or code printed before each price. Empty if the shop sets none.
    pub(crate) currency: String,
    /// What `gal`, `qt`, `pt` and `fl oz` alone mean in the sources.
    pub(crate) gallons: Gallons,
    /// For each kind of quantity, the units to print, in order.
    pub(crate) units: UnitOrder,
    /// What the droop of a generator is a percentage of.
    pub(crate) droop_of: DroopOf,
    /// Whether each step is initialled, and not only each group of steps.
    pub(crate) initials_per_step: bool,
    /// Who can sign. The first role signs every group of steps. Empty only without a `shop.toml`.
    pub(crate) roles: Records<Role>,
    /// The folders of the chapters that the shop puts into an order, in this order.
    pub(crate) chapters: Vec<String>,
    /// The chapters of the manual, keyed by folder name.
    pub(crate) systems: Records<System>,
    pub(crate) levels: Vec<LevelSetting>,
    pub(crate) tools: Records<Tool>,
    /// The container for waste of each kind.
    pub(crate) waste: BTreeMap<SupplyKind, ToolId>,
    /// The tools that protect who wears them.
    pub(crate) protective: Vec<ToolId>,
    pub(crate) supplies: Records<Supply>,
    pub(crate) cautions: Records<Caution>,
    /// The glossary.
    pub(crate) terms: Records<Term>,
    pub(crate) machines: Records<Machine>,
    /// The legends of figures, by the names of the figures.
    pub(crate) legends: Records<Legend>,
    /// The shop's own machines, from its log.
    pub(crate) fleet: Records<Unit>,
    /// Kinds of thing whose file could only be read in part. No name of such a kind is reported as unknown,
    /// because its record may be in the unread part.
    pub(crate) incomplete_kinds: Vec<ThingKind>,
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

    /// The setting of the tool that a reading is taken with: the one that the reading names, or the only one that can show
    /// its limits.
    #[must_use]
    pub(crate) fn setting_of(&self, reading: &Reading) -> Option<&MeterSetting> {
        let settings = &self.tool_of(reading)?.settings;
        if let Some(named) = &reading.setting {
            return settings
                .iter()
                .find(|setting| setting.name.value == named.value);
        }
        let limits = reading.limits.as_ref()?.spec.value.limits();
        let mut fitting = settings.iter().filter(|setting| setting.covers(limits));
        fitting.next().filter(|_| fitting.next().is_none())
    }

    /// The title of a folder's chapter. If the shop sets none, the folder's name with hyphens as spaces and
    /// the first letter capitalised.
    #[must_use]
    pub(crate) fn system_title(&self, folder: &str) -> String {
        match self.systems.get(folder) {
            Some(system) => system.title.clone(),
            None => capitalised(&folder.replace('-', " ")),
        }
    }

    /// The place of a folder's chapter.
    #[must_use]
    pub(crate) fn chapter_place<'f>(&self, folder: &'f str) -> ChapterPlace<'f> {
        let listed = self.chapters.iter().position(|listed| listed == folder);
        let described = self.systems.find(folder).map(Id::index);
        ChapterPlace {
            listed: listed.unwrap_or(usize::MAX),
            described: described.unwrap_or(usize::MAX),
            folder,
        }
    }

    /// The place of a procedure in the order that the shop gives its chapter. Those that it does not name come last and have
    /// the same place.
    #[must_use]
    pub(crate) fn procedure_place(&self, folder: &str, procedure: &str) -> usize {
        let system = self.systems.get(folder);
        let mut order = system.into_iter().flat_map(|system| &system.procedures);
        let place = order.position(|listed| listed == procedure);
        place.unwrap_or(usize::MAX)
    }
}

/// The place of a chapter among all, as a sort key: first those that the shop puts into an order, then those that have a
/// table, and last the others, by the names of their folders.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct ChapterPlace<'f> {
    /// The index in the list of chapters.
    listed: usize,
    /// The index of the table.
    described: usize,
    folder: &'f str,
}

/// The paper size of sheets.
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
    /// The rule's name.
    pub(crate) rule: Located<String>,
    /// `None` if the shop turned the rule off.
    pub(crate) level: Option<Level>,
    /// Why. Printed on every sheet.
    pub(crate) reason: Option<String>,
}

/// A role that signs for work.
#[derive(Clone, Debug)]
pub(crate) struct Role {
    pub(crate) id: RoleId,
    pub(crate) key: String,
    /// Such as "Mechanic" or "Second person".
    pub(crate) name: String,
}

/// A chapter of the manual.
#[derive(Clone, Debug)]
pub(crate) struct System {
    pub(crate) title: String,
    /// The ids of the procedures that the shop puts into an order, in this order. All are in the folder.
    pub(crate) procedures: Vec<String>,
}

/// A tool of the crib.
#[derive(Clone, Debug)]
pub(crate) struct Tool {
    pub(crate) id: ToolId,
    pub(crate) key: String,
    pub(crate) name: String,
    /// Shorter names of it in the text of steps.
    pub(crate) also: Vec<String>,
    /// Whether it holds what is drained into it or filled from it.
    pub(crate) container: bool,
    /// The mandatory signs that whoever wears it complies with, by their ISO 7010 numbers.
    pub(crate) protects: Vec<Located<String>>,
    pub(crate) rank: ToolRank,
    /// The size engraved on it.
    pub(crate) size: Option<Located<Spec>>,
    /// `None` if it is not a torque tool.
    pub(crate) torque: Option<TorqueTool>,
    /// `None` if it is not a meter.
    pub(crate) meter: Option<Meter>,
    /// Whether the error of a torque wrench is given.
    pub(crate) has_tolerance: bool,
    /// Whether the error of a meter is given.
    pub(crate) has_accuracy: bool,
    /// The settings of a torque wrench, or the values that a meter can read.
    pub(crate) range: Option<Located<Spec>>,
    /// The interval between two marks of its scale.
    pub(crate) graduation: Option<Located<Spec>>,
    /// From the middle of the grip to the drive, for computing the setting with an extension.
    pub(crate) length: Option<Located<Spec>>,
    /// For an extension or crowfoot: the distance from the drive to the fastener.
    pub(crate) extends: Option<Located<Spec>>,
    /// For an extension or crowfoot: its angle to the wrench. `None` means in line with it.
    pub(crate) turned_out: Option<Located<Spec>>,
    /// The settings of a meter with several functions and ranges.
    pub(crate) settings: Vec<MeterSetting>,
    /// The settings of a tachometer, in sparks per turn.
    pub(crate) pulse_settings: Vec<Located<Rational>>,
    /// The day of its last calibration.
    pub(crate) calibrated: Option<Located<Day>>,
    /// The day its calibration expires.
    pub(crate) due: Option<Located<Day>>,
    pub(crate) note: Option<String>,
    pub(crate) span: Span,
}

/// Where a tool is in lists of tools.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum ToolRank {
    /// Before all others: it is made or bought for one job, or has to be fetched.
    Special,
    Usual,
}

/// A setting of a meter: a function, and the values that it can show there.
#[derive(Clone, Debug)]
pub(crate) struct MeterSetting {
    /// As engraved: "DC V".
    pub(crate) name: Located<String>,
    pub(crate) range: Located<Spec>,
}

impl MeterSetting {
    /// Whether it shows all values from the least to the greatest of some limits.
    #[must_use]
    pub(crate) fn covers(&self, limits: &Limits) -> bool {
        let range = self.range.value.limits();
        let compare = |value: Option<Quantity>, bound: Option<Quantity>| {
            value
                .zip(bound)
                .and_then(|(value, bound)| value.compare(&bound))
        };
        let values = || [limits.lower(), limits.upper(), limits.nominal()];
        range.kind() == limits.kind()
            && values().into_iter().all(|value| {
                compare(value.clone(), range.lower()) != Some(Ordering::Less)
                    && compare(value, range.upper()) != Some(Ordering::Greater)
            })
    }
}

/// A consumable.
#[derive(Clone, Debug)]
pub(crate) struct Supply {
    pub(crate) id: SupplyId,
    pub(crate) key: String,
    pub(crate) name: String,
    /// What it is. A mixture of petrol and oil is a fuel, whether or not its record says so.
    pub(crate) kind: Option<SupplyKind>,
    /// The container of what is fresh.
    pub(crate) container: Option<Located<ToolId>>,
    /// The price of the quantity in `each`.
    pub(crate) price: Option<Price>,
    /// The quantity that `price` buys, such as one litre. `None` means one piece.
    pub(crate) each: Option<Located<Spec>>,
    /// Its stock number.
    pub(crate) number: Option<String>,
    /// Where it is kept.
    pub(crate) bin: Option<String>,
    /// The ratio of petrol to oil, such as 50:1.
    pub(crate) mix: Option<Located<Spec>>,
    /// Cautions shown where it is used.
    pub(crate) cautions: Vec<Located<CautionId>>,
    pub(crate) note: Option<String>,
}

/// The signal word of a safety message, most severe first.
///
/// The meanings follow ANSI Z535.6 and ISO 3864-2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Word {
    /// Will cause death or serious injury if not avoided.
    Danger,
    /// Could cause death or serious injury.
    Warning,
    /// Could cause minor or moderate injury.
    Caution,
    /// Could cause damage, but no injury.
    Notice,
}

/// A safety message.
#[derive(Clone, Debug)]
pub(crate) struct Caution {
    pub(crate) id: CautionId,
    pub(crate) key: String,
    pub(crate) signal_word: Word,
    /// The source of harm.
    pub(crate) hazard: String,
    /// The harm it can do.
    pub(crate) consequence: String,
    /// How to avoid it.
    pub(crate) avoid: Vec<String>,
    /// How to avoid it in one line, for where the message was given before. If `None`, `avoid` is repeated.
    pub(crate) reminder: Option<String>,
    /// Safety signs, by their ISO 7010 numbers.
    pub(crate) signs: Vec<Located<String>>,
    /// Preparations before the work, such as ventilation.
    pub(crate) before: Vec<String>,
    /// The tools that its precautions ask for, such as a fire extinguisher.
    pub(crate) at_hand: Vec<Located<ToolId>>,
    /// The verbs whose actions show it. Empty means all verbs.
    pub(crate) at: Vec<Verb>,
}

/// An entry of the glossary.
#[derive(Clone, Debug)]
pub(crate) struct Term {
    pub(crate) key: String,
    /// The term being defined.
    pub(crate) name: String,
    /// Synonyms.
    pub(crate) also: Vec<String>,
    /// Its definition.
    pub(crate) means: String,
}

/// A value with its source.
#[derive(Clone, Debug)]
pub(crate) struct Sourced {
    pub(crate) spec: Located<Spec>,
    /// The source of the value. Without it, pages mark the value as unverified.
    pub(crate) basis: Option<String>,
}

/// An instruction in a record: inline text that may contain actions.
pub(crate) type Instruction = Vec<Inline>;

/// Capitalises the first letter of a text.
pub(crate) fn capitalised(text: &str) -> String {
    let said = text.trim_start_matches(is_mark);
    let marks = &text[..text.len() - said.len()];
    let mut letters = said.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    marks.chars().chain(first).chain(letters).collect()
}
