//! The model of a machine: the state of its parts, valves, fluids, energies, conditions, readings and engine at one
//! moment of a job.
//!
//! In: a machine, and the actions of a job in order. Out: the [`State`] after each action. The rehearsal and the
//! derived reassembly use the same model. This module never reports findings.

mod account;
mod action;
mod difference;
mod state;
mod supply_amount;

use crate::finding::Span;
pub(crate) use action::{Action, Thing};
pub(crate) use state::Undone;
pub(crate) use state::{
    Changed, EnergyState, EngineState, PartPlace, PartState, ReadingState, State,
};
pub(crate) use supply_amount::SupplyAmount;

/// The position of an action in a job and in the sources.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Moment {
    /// The index of the action in the job, from 0.
    pub(crate) index: u32,
    /// The number of its step, from 1.
    pub(crate) step: u32,
    /// The span of the action.
    pub(crate) span: Span,
}
