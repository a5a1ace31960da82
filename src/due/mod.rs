//! What is done, due and overdue on the shop's own machines on a day.
//!
//! In: the units of the shop's log, the procedures with their intervals, a day. Out: for each unit, when each of its
//! jobs was done last, and when it is due next. The day is always given: nothing reads the clock.

mod known;
mod state;

use crate::procedure::Procedure;
use crate::quantity::Rational;
use crate::shop::{Machine, Shop, Unit};
use crate::trade::Day;
use crate::words::{Interval, Words};
use known::Known;
pub(crate) use known::Last;
pub(crate) use state::{State, When};

/// What is due on a unit.
#[derive(Debug)]
pub(crate) struct UnitDue<'s> {
    pub(crate) unit: &'s Unit,
    pub(crate) machine: &'s Machine,
    /// The running hours that were read last, and the day of that. `None` if none were read.
    pub(crate) hours: Option<(Rational, Day)>,
    /// The most urgent first.
    pub(crate) jobs: Vec<JobDue<'s>>,
}

/// When one interval of a procedure is due on a unit.
#[derive(Debug)]
pub(crate) struct JobDue<'s> {
    pub(crate) procedure: &'s Procedure,
    pub(crate) interval: Interval,
    /// When it was done last.
    pub(crate) last: Option<Last>,
    pub(crate) when: When,
}

/// What is due on each unit on a day, in the order of the log. What the log says of later days is left out.
pub(crate) fn due<'s>(
    shop: &'s Shop,
    procedures: &'s [Procedure],
    words: &Words,
    on: Day,
) -> Vec<UnitDue<'s>> {
    let units = shop.fleet.values();
    let units = units.filter_map(|unit| {
        let machine = unit.machine?;
        let of_machine = procedures
            .iter()
            .filter(|procedure| procedure.is_for(machine));
        Some(of_unit(
            unit,
            &shop.machines[machine],
            of_machine,
            words,
            on,
        ))
    });
    units.collect()
}

/// What is due on a unit, of these procedures of its machine.
pub(crate) fn of_unit<'s>(
    unit: &'s Unit,
    machine: &'s Machine,
    procedures: impl Iterator<Item = &'s Procedure>,
    words: &Words,
    on: Day,
) -> UnitDue<'s> {
    let known = Known::of(unit, on);
    let mut jobs: Vec<JobDue<'s>> = procedures
        .flat_map(|procedure| {
            // An interval that can't be read has been reported.
            intervals(procedure, words)
                .map(|(interval, is_inspection)| {
                    let last = known.last(procedure, is_inspection.then_some(&interval), words);
                    let when = state::when(&interval, last.as_ref(), &known, on);
                    JobDue {
                        procedure,
                        interval,
                        last,
                        when,
                    }
                })
                .collect::<Vec<_>>()
        })
        .collect();
    jobs.sort_by(|left, right| left.rank().cmp(&right.rank()));
    UnitDue {
        unit,
        machine,
        hours: known.hours.clone(),
        jobs,
    }
}

/// The intervals of a procedure that can be read, and whether each is that of an inspection.
pub(crate) fn intervals(
    procedure: &Procedure,
    words: &Words,
) -> impl Iterator<Item = (Interval, bool)> {
    let own = procedure.interval.iter().map(|text| (&text.value, false));
    let inspections = procedure
        .inspections()
        .map(|section| (&section.title, true));
    own.chain(inspections)
        .filter_map(|(text, is_inspection)| Some((words.read_interval(text).ok()?, is_inspection)))
}

/// A number of hours as a decimal. Those of a log are decimals.
pub(crate) fn hours_text(hours: &Rational) -> String {
    let whole = |number: &Rational| number.numer().to_string();
    if hours.is_integer() {
        return whole(hours);
    }
    let sign = if hours.is_negative() { "-" } else { "" };
    let hours = hours.abs();
    let floor = hours.floor();
    let ten = Rational::from_integer(10.into());
    let (mut rest, mut digits) = (&hours - &floor, String::new());
    // A number with more digits is none that a meter shows.
    while !rest.is_zero() && digits.len() < 6 {
        rest = &rest * &ten;
        let digit = rest.floor();
        digits.push_str(&whole(&digit));
        rest = &rest - &digit;
    }
    format!("{sign}{}.{digits}", whole(&floor))
}

impl JobDue<'_> {
    fn rank(&self) -> (State, &str, &str) {
        let title = self.procedure.title.value.as_str();
        (self.when.state, title, &self.procedure.id)
    }
}
