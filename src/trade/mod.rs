//! The trade's arithmetic: pure functions of quantities, with their sources.
//!
//! **In**: quantities and limits, and the short texts of the trade: a thread, a class, a drive, a
//! day.
//!
//! **Out**: quantities, or an [`Error`] that says what was expected and what was found.
//!
//! - Threaded joints: [`Thread`] and [`StrengthClass`]; [`takes`] computes the torque of a joint,
//!   [`torque_for`] the torque for a preload; [`PlausibleTorque`] judges one that was typed.
//! - Spark plugs: [`usual_plug_torque`]. Ranges of measured values: [`Measured`].
//! - Wrenches: [`Head`] and [`Drive`] give the size that fits.
//! - Torque tools: [`TorqueTool`] and its [`Setting`], [`choose_tool`], [`check_stages`], [`Extension`],
//!   [`extension_setting`], [`Day`], [`Period`] and [`last_day_of_calibration`].
//! - Meters: [`Meter`]. Torque tools and meters are compared with limits in an [`Adequacy`], and what
//!   may be set or read is a [`Window`].
//! - Speeds: [`frequency`], [`synchronous_speed`], [`droop`], [`no_load_for`], [`DroopOf`],
//!   [`Ignition`], [`indicated_speed`], [`driven_speed`], [`tip_speed`].
//! - Two-stroke mixtures: [`mix_ratio`], [`oil_for`], [`measured_oil_for`], [`fill_for`],
//!   [`mixture_of`], [`petrol_to_fill`].
//!
//! - All others are rows of one table, from which the command `benchleaf calculate` and its documentation follow:
//!   [`Calculation`], its [`Input`]s and its [`Answer`].
//!
//! Figures are in tables, each with its source and how it was verified, or marked as from memory.
//! All results are exact except for π, roots and the functions of most angles, whose error is stated
//! in their documentation. Nothing here knows of shops, changes a maker's value, or reads the clock.

mod adequacy;
mod calculation;
mod day;
mod error;
mod extension;
mod figures;
mod head;
mod interval;
mod meter;
mod mix;
mod pattern;
mod plausible;
mod spark_plug;
mod speed;
mod strength;
mod thread;
mod thread_parse;
mod thread_pipe;
mod thread_table;
mod tightening;
mod torque_tool;
mod usual;

pub use adequacy::{Adequacy, AdequacyLevel, Window};
pub use calculation::{
    Answer, Answered, Bound, Calculation, Entered, Input, InputError, InputKind, Need, Outcome,
    Rounding, Source, Verified,
};
pub use day::{Day, Period, last_day_of_calibration};
pub use error::Error;
pub use extension::{Extension, extension_setting};
pub use head::{Drive, Head, is_same_size};
pub use meter::Meter;
pub use mix::{Fill, fill_for, measured_oil_for, mix_ratio, mixture_of, oil_for, petrol_to_fill};
pub use pattern::{FastenerPlace, TighteningPattern};
pub use plausible::{Plausibility, PlausibleTorque};
pub use spark_plug::{PlugSeat, plug_threads, usual_plug_torque};
pub use speed::{
    DroopOf, Ignition, driven_speed, droop, frequency, indicated_speed, no_load_for,
    synchronous_speed, tip_speed,
};
pub use strength::{Strength, StrengthClass};
pub use thread::{Series, Thread};
pub use tightening::{Condition, Material, StripsAt, Takes, Tapped, takes, torque_for};
pub use torque_tool::{Choice, Setting, TorqueTool, check_stages, choose_tool};
pub use usual::Measured;
