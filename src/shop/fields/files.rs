//! The fields at the top of the files of the shop, and those of `shop.toml`.

use super::super::{Caution, Paper, Role, Shop, Supply, System, Term, Tool};
use super::choices::{Initials, LevelText, QuantityName, RuleName, UnitSymbol};
use super::names::ChapterProcedure;
use crate::quantity::Gallons;
use crate::record::{
    ById, Described, Field, Lists, Many, Name, One, OneOf, Pairs, Table, Text, field, table,
};
use crate::trade::DroopOf;
use crate::words::DEFAULT_LANGUAGE;

/// The file `tools.toml`.
pub(crate) struct ToolsFile;

/// The file `supplies.toml`.
pub(crate) struct SuppliesFile;

/// The file `cautions.toml`.
pub(crate) struct CautionsFile;

/// The table of `shop.toml` that says where waste goes.
pub(crate) struct Waste;

/// The file `glossary.toml`.
pub(crate) struct GlossaryFile;

table! {
    /// The shop: its name, the language, units and paper of its sheets, who signs them, and its notices.
    shop: Shop {
        /// The shop's name, printed at the top of every sheet.
        NAME: Text = field("name").required().like(&["Elmbrook Tool Library, workshop"]);
        /// The language of the pages, a BCP 47 tag: `en-GB` (the default), `en-US` or `es`. With a list, every sheet is
        /// made in each language; the shop's own text is in the first.
        LANGUAGE: Many<Text> = field("language").like(&[DEFAULT_LANGUAGE]);
        /// The web address where the output is served. Each sheet then carries its own address as a QR code.
        ADDRESS: Text = field("address").matching("^https?://.").like(&["https://sheets.example/"]);
        /// The paper of the sheets: `A4` (the default) or `Letter`.
        PAPER: OneOf<Paper> = field("paper");
        /// The main colour of the pages, as in CSS. Text on it is black or white.
        ACCENT: Text = field("accent").matching("^#([0-9A-Fa-f]{3}|[0-9A-Fa-f]{6})$").like(&["#14505c"]);
        /// A note printed on every page, such as that the data is invented.
        DATA_NOTE: Text = field("data-note").like(&["Invented data"]);
        /// The shop's own notices, printed in addition to the standard one.
        NOTICES: Many<Text> = field("notices");
        /// The symbol or code printed before prices.
        CURRENCY: Text = field("currency").like(&["£", "EUR"]);
        /// The units to print, in order, for each kind of quantity: `torque = ["N·m", "ft·lbf"]`.
        UNITS: Lists<QuantityName, UnitSymbol> = field("units");
        /// What `gal`, `qt`, `pt`, `fl oz` and `gpm` alone mean. Without it, they are an error. With both, volumes are
        /// printed in both systems, and the first is the meaning.
        GALLONS: Many<OneOf<Gallons>> = field("gallons");
        /// What the droop of a generator is a percentage of: its speed at full load (the default, as in ISO 8528-5), or
        /// without load.
        DROOP_OF: OneOf<DroopOf> = field("droop-of");
        /// Where a checklist is initialled: at the end of each group of steps (the default), or at each step as well.
        INITIALS: OneOf<Initials> = field("initials");
        /// The roles that can sign. The first signs every group of steps, the others at a `hold:`.
        ROLE: ById<Role> = field("role");
        /// The order of the chapters, by the folders of the procedures. Those that it does not name come after these, in the
        /// order of their tables, and then by name.
        CHAPTERS: Many<Text> = field("chapters").like(&["safety", "fuel"]);
        /// The chapters of the manual, by the folders of the procedures.
        SYSTEM: ById<System> = field("system");
        /// Where waste of each kind goes.
        WASTE: One<Waste> = field("waste");
        /// The levels of rules in this shop: `error`, `warning`, `advice` or `off`. A rule whose findings are errors is
        /// lowered only with a reason, which every sheet prints: `part-left-off = "off: broken for parts"`.
        LEVELS: Pairs<RuleName, LevelText> = field("levels");
    }
}

table! {
    /// Where waste goes: for each kind of supply, the tool that is its container.
    waste: Waste {
        /// The container for old fuel.
        FUEL: Name<Tool> = field("fuel").like(&["old-fuel-can"]);
        /// The container for waste oil.
        OIL: Name<Tool> = field("oil").like(&["waste-oil"]);
        /// The container for waste coolant.
        COOLANT: Name<Tool> = field("coolant").like(&["waste-coolant"]);
        /// The container for waste cleaner.
        CLEANER: Name<Tool> = field("cleaner").like(&["waste-cleaner"]);
        /// The container for waste sealant.
        SEALANT: Name<Tool> = field("sealant").like(&["waste-sealant"]);
        /// The container for waste grease.
        GREASE: Name<Tool> = field("grease").like(&["waste-grease"]);
    }
}

table! {
    /// A role that can sign.
    role: Role {
        /// The name of the role, printed where it signs.
        NAME: Text = field("name").required().like(&["Mechanic"]);
    }
}

table! {
    /// A chapter of the manual: the procedures of one folder.
    system: System {
        /// The title of the chapter. Without it, the title is the folder's name.
        TITLE: Text = field("title").required().like(&["Fuel and carburettor"]);
        /// The order of the procedures in the chapter. Those that it does not name come after these, by title; in the manual,
        /// first those that begin other jobs and last those that finish them.
        PROCEDURES: Many<Name<ChapterProcedure>> = field("procedures").like(&["fuel-drain"]);
    }
}

table! {
    /// The tool crib.
    tools: ToolsFile {
        /// The tools, by their ids.
        TOOL: ById<Tool> = field("tool");
    }
}

table! {
    /// What is used up: fuels, oils, cleaners, sealants.
    supplies: SuppliesFile {
        /// The supplies, by their ids.
        SUPPLY: ById<Supply> = field("supply");
    }
}

table! {
    /// Safety messages.
    cautions: CautionsFile {
        /// The cautions, by their ids.
        CAUTION: ById<Caution> = field("caution");
    }
}

table! {
    /// Terms that a new mechanic may not know.
    glossary: GlossaryFile {
        /// The terms, by their ids. One with the id of a built-in term replaces it.
        TERM: ById<Term> = field("term");
    }
}
