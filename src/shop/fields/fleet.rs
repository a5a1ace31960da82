//! The fields of `log.toml`.

use super::super::{Machine, Unit};
use crate::record::{ById, Date, Described, Field, Many, Name, Number, Table, Text, field, table};

/// The file `log.toml`.
pub(crate) struct LogFile;

/// The table of a day.
pub(crate) struct LogDayTable;

table! {
    /// What was read and done, and when, on each unit of a machine.
    log: LogFile {
        /// The units, by their ids.
        UNIT: ById<Unit> = field("unit");
    }
}

table! {
    /// A unit of a machine: one of several that the shop has.
    unit: Unit {
        /// The machine that it is one of.
        MACHINE: Name<Machine> = field("machine").required().like(&["tarn-sedge"]);
        /// Its serial number.
        SERIAL_NUMBER: Text = field("serial-number").like(&["S3-0412"]);
        /// The day on which it was new and had run for no hours. Without it, what has never been done counts from the first
        /// day of the log.
        NEW: Date = field("new").like(&["2025-04-01"]);
        /// The days on which something was read or done, by their dates: `[unit.sedge-1.day.2026-02-27]`.
        DAY: ById<LogDayTable> = field("day");
    }
}

table! {
    /// A day on which something was read or done on a unit.
    log_day: LogDayTable {
        /// The running hours that its meter showed.
        HOURS: Number = field("hours").like(&["212.5", "40"]);
        /// The procedures that were done, by their ids. Of a procedure with several inspections, all count; one of them is
        /// named by its interval after a colon: `lending-check: every 3 months`.
        DONE: Many<Text> = field("done").like(&["oil-change"]);
    }
}
