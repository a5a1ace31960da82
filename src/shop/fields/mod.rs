//! The fields of the TOML files, each described once: see [`crate::record::Field`].
//!
//! In: nothing. Out: a module for each kind of table, named as in the sources, with its fields. `read` reads records by
//! means of them.

mod choices;
mod files;
mod fleet;
mod legends;
mod machines;
mod names;
mod parts;
mod stock;

pub(crate) use choices::{Initials, MandatorySign};
#[cfg(test)]
pub(crate) use files::Waste;
pub(crate) use files::{
    CautionsFile, GlossaryFile, SuppliesFile, ToolsFile, cautions, glossary, role, shop, supplies,
    system, tools, waste,
};
pub(crate) use fleet::{LogDayTable, LogFile, log, log_day, unit};
pub(crate) use legends::{callout, legend};
pub(crate) use machines::{
    calculated, condition, control, energy, engine, fluid, generator, kit, machine, reading, run,
    valve,
};
pub(crate) use names::{Endangered, TakenOver, Things};
pub(crate) use parts::{dimension, part};
pub(crate) use stock::{caution, supply, term, tool};
