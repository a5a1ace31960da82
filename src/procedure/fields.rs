//! The fields of the front matter of procedures and fault tables, each described once.

use super::{FaultTable, Procedure};
use crate::record::{
    Count, Date, Described, Field, Form, Many, Name, Named, Pairs, Table, Text, field, table,
};
use crate::shop::Machine;

impl Named for Procedure {
    const FORM: Form = Form::Id(|| vec!["procedure"]);
}

table! {
    /// A procedure: a job on each of its machines.
    procedure: Procedure {
        /// The title of the job.
        TITLE: Text = field("title").required().like(&["Carburettor: clean"]);
        /// The machines that it is for. Each gives a job.
        MACHINES: Many<Name<Machine>> = field("machines").required().like(&["tarn-sedge"]);
        /// The time for this procedure in minutes, without `begin` and `finish`.
        MINUTES: Count = field("minutes").like(&["40"]);
        /// How many people it takes, with those who hold or watch.
        PEOPLE: Count = field("people").like(&["2"]);
        /// What has to be so when the job begins and the machine's file does not say, in words: where the machine stands,
        /// which part of it somebody else works on.
        AT_START: Many<Text> = field("at-start").like(&["the mower stands on level ground"]);
        /// When it is due: after hours or a time on the calendar, at each use, or when something is found. Of several, the
        /// first to come is meant.
        INTERVAL: Text = field("interval").like(&["every 100 h", "every 50 h or yearly"]);
        /// Procedures that are done before this one, each once in a job.
        BEGIN: Many<Name<Procedure>> = field("begin").like(&["make-safe"]);
        /// Procedures that are done after this one, each once in a job.
        FINISH: Many<Name<Procedure>> = field("finish").like(&["run-up"]);
        /// The procedure that takes off what this one puts back. The two are a pair: this one starts with the machine as
        /// the other leaves it.
        REVERSES: Name<Procedure> = field("reverses").like(&["carburettor-off"]);
        /// Procedures that are done some time after this one, as jobs of their own.
        FOLLOW_ON: Many<Name<Procedure>> = field("follow-on").like(&["oil-change"]);
        /// The number of the revision. By default 1.
        REVISION: Count = field("revision").like(&["2"]);
        /// The day of the revision.
        REVISED: Date = field("revised").like(&["2026-03-14"]);
        /// What is left undone on purpose, with the reason: `ignition = "the test run restores it"`.
        LEFT_UNDONE: Pairs<Text, Text> = field("left-undone");
    }
}

table! {
    /// A fault table: a complaint with its likely causes.
    fault: FaultTable {
        /// The complaint.
        TITLE: Text = field("title").required().like(&["Hard to start"]);
        /// The machines that it is for.
        MACHINES: Many<Name<Machine>> = field("machines").required().like(&["tarn-sedge"]);
        /// The number of the revision. By default 1.
        REVISION: Count = field("revision").like(&["2"]);
        /// The day of the revision.
        REVISED: Date = field("revised").like(&["2026-03-14"]);
    }
}
