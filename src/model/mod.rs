//! The model of a machine: what is known of its parts, valves, fluids, energies, conditions, readings
//! and engine at one moment of a job, and how an action changes it.
//!
//! Comes in: a machine, and the actions of a job one after another. Goes out: its [`State`] after each.
//! It is the only model there is: the rehearsal runs a whole job on it, and the derived reassembly asks
//! it what is still apart. It judges nothing.

mod account;
mod action;
mod state;

use crate::finding::Span;
pub(crate) use action::{Action, Thing};
pub(crate) use state::Undone;
pub(crate) use state::{
    Changed, EnergyState, EngineState, FluidLevel, PartPlace, PartState, ReadingState, State,
};

/// An action of a job: when it is done, and where it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Moment {
    /// Its index among the job's actions, from 0.
    pub(crate) index: u32,
    /// The step's number.
    pub(crate) step: u32,
    /// Where it is written.
    pub(crate) span: Span,
}
