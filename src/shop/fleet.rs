//! What was read and done on the shop's own machines.

use super::MachineId;
use crate::finding::{Located, Span};
use crate::quantity::Rational;
use crate::trade::Day;

/// A unit of a machine: one of several that the shop has.
#[derive(Clone, Debug)]
pub(crate) struct Unit {
    pub(crate) key: String,
    /// `None` if the machine is unknown, which has been reported.
    pub(crate) machine: Option<MachineId>,
    pub(crate) serial_number: Option<String>,
    /// The day on which it was new and had run for no hours.
    pub(crate) new: Option<Located<Day>>,
    /// In order of date.
    pub(crate) days: Vec<LogDay>,
}

/// A day on which something was read or done.
#[derive(Clone, Debug)]
pub(crate) struct LogDay {
    pub(crate) day: Day,
    /// The span of its heading.
    pub(crate) span: Span,
    /// The running hours that the meter showed.
    pub(crate) hours: Option<Located<Rational>>,
    pub(crate) done: Vec<Done>,
}

/// A procedure that was done.
#[derive(Clone, Debug)]
pub(crate) struct Done {
    pub(crate) span: Span,
    /// The id of the procedure, as written.
    pub(crate) procedure: String,
    /// The interval of one of its inspections, as written. `None`: all of it was done.
    pub(crate) interval: Option<String>,
}
