//! The calculations of the bench: one table, from which the command, the page of the documentation and the limits of
//! readings follow.
//!
//! In: inputs by name, as values with or without a tolerance. Out: an [`Answer`] with the arithmetic and with results
//! that are rounded to a stated side; [`Answered::limits`] gives limits over all tolerances.

mod answer;
mod batteries;
mod bolts;
mod cables;
mod chains;
mod compression;
mod drives;
mod entry;
mod expansion;
mod given;
mod input;
mod lash;
mod leakdown;
mod mixtures;
mod nozzles;
mod rings;
mod timing;
mod worked;

pub use answer::{Answer, Answered};
pub use entry::{Bound, Calculation, Outcome, Rounding, Source, Verified};
pub use given::{Entered, InputError};
pub use input::{Input, InputKind, Need};

impl Calculation {
    /// All calculations, in the order of the documentation.
    pub const ALL: &'static [&'static Self] = &[
        &compression::COMPRESSION_RATIO,
        &leakdown::LEAK_DOWN,
        &rings::RING_GAP,
        &rings::RING_GAP_IN_BORE,
        &rings::PISTON_CLEARANCE,
        &expansion::THERMAL_GROWTH,
        &lash::HOT_LASH,
        &lash::COLD_LASH,
        &timing::TIMING_HEIGHT,
        &timing::TIMING_ANGLE,
        &bolts::BOLT_STRETCH,
        &bolts::BOLT_ANGLE,
        &drives::PULLEY_RATIO,
        &drives::GEAR_RATIO,
        &drives::BELT_LENGTH,
        &chains::CHAIN_SIZE,
        &chains::CHAIN_LOOP,
        &chains::CHAIN_LINKS,
        &chains::CHAIN_SPEED,
        &nozzles::NOZZLE_SIZE,
        &nozzles::NOZZLE_FLOW,
        &nozzles::NOZZLE_PRESSURE,
        &nozzles::FLOW_AT_PRESSURE,
        &cables::CABLE_DROP,
        &batteries::BATTERY_VOLTAGE,
        &batteries::BATTERY_DENSITY,
        &mixtures::DILUTION,
        &mixtures::DILUTION_SHARE,
        &mixtures::ANTIFREEZE_PROTECTION,
        &mixtures::ANTIFREEZE_SHARE,
        &mixtures::ANTIFREEZE_REFILL,
    ];

    /// The calculation of a name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        let mut all = Self::ALL.iter().copied();
        all.find(|calculation| calculation.name == name)
    }
}
