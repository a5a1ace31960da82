//! The trade's arithmetic: pure functions over quantities, with their sources.
//!
//! **In**: quantities and limits, and the trade's own short texts: a thread, a class, a drive, a
//! day.
//!
//! **Out**: quantities, and an [`Error`] where values don't go together, which says what was
//! expected and what was found.
//!
//! - [`Thread`] and [`Class`]: what is stamped and cut; [`takes`] says what the joint takes, with
//!   its arithmetic, [`torque_for`] what gives a preload, and [`unit_slips`] what was perhaps meant by a torque it can't.
//! - [`Head`] and [`Drive`]: which wrench fits.
//! - [`TorqueTool`], [`choose_tool`], [`check_stages`], [`extension_setting`], [`Day`] and
//!   [`last_day_of_calibration`]: which torque wrench, and what to set it to.
//! - [`Meter`]: whether a reading can decide. Torque tools and meters answer with an [`Adequacy`].
//! - [`frequency`], [`synchronous_speed`], [`droop`], [`no_load_for`], [`Ignition`],
//!   [`indicated_speed`], [`driven_speed`], [`tip_speed`]: what turns.
//! - [`oil_for`], [`measured_oil_for`], [`mixture_of`], [`petrol_to_fill`]: what is mixed.
//!
//! Figures stand in tables, each with its source and how it was verified; a figure that nobody
//! could look up says that it is from memory. All is exact but for π and the cosines of odd
//! angles, whose error is stated where they are. It knows nothing of shops, changes no maker's
//! value, and never knows what day it is.

mod adequacy;
mod day;
mod error;
mod extension;
mod figures;
mod head;
mod meter;
mod mix;
mod speed;
mod strength;
mod thread;
mod tightening;
mod torque_tool;

pub use adequacy::{Adequacy, Level};
pub use day::{Day, last_day_of_calibration};
pub use error::Error;
pub use extension::extension_setting;
pub use head::{Drive, Head};
pub use meter::Meter;
pub use mix::{measured_oil_for, mixture_of, oil_for, petrol_to_fill};
pub use speed::{
    Ignition, driven_speed, droop, frequency, indicated_speed, no_load_for, synchronous_speed,
    tip_speed,
};
pub use strength::{Class, Strength};
pub use thread::{Series, Thread};
pub use tightening::{Condition, Material, Takes, Tapped, takes, torque_for, unit_slips};
pub use torque_tool::{Choice, TorqueTool, check_stages, choose_tool};
