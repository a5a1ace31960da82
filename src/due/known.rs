//! What the log of a unit says up to a day.

use crate::procedure::Procedure;
use crate::quantity::Rational;
use crate::shop::Unit;
use crate::trade::Day;
use crate::words::{Interval, Words};

/// A day on which a job was done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Last {
    pub(crate) day: Day,
    /// The running hours then, or those that were read last before.
    pub(crate) hours: Option<Rational>,
}

/// What a log says of a unit up to a day.
pub(super) struct Known<'u> {
    pub(super) unit: &'u Unit,
    on: Day,
    /// The running hours that were read last.
    pub(super) hours: Option<(Rational, Day)>,
    /// The day that what has never been done counts from.
    pub(super) start: Option<Last>,
}

impl<'u> Known<'u> {
    pub(super) fn of(unit: &'u Unit, on: Day) -> Known<'u> {
        let mut known = Known {
            unit,
            on,
            hours: None,
            start: None,
        };
        known.hours = known.read_until(on);
        let first = known.days().next().map(|day| Last {
            day: day.day,
            hours: day.hours.as_ref().map(|hours| hours.value.clone()),
        });
        known.start = match &unit.new {
            Some(new) if new.value <= on => Some(Last {
                day: new.value,
                hours: Some(Rational::default()),
            }),
            Some(_) => None,
            None => first,
        };
        known
    }

    pub(super) fn days(&self) -> impl DoubleEndedIterator<Item = &'u crate::shop::LogDay> {
        let on = self.on;
        self.unit.days.iter().filter(move |day| day.day <= on)
    }

    /// The hours that were read last up to a day.
    pub(super) fn read_until(&self, until: Day) -> Option<(Rational, Day)> {
        let mut days = self.days().rev().filter(|day| day.day <= until);
        days.find_map(|day| Some((day.hours.as_ref()?.value.clone(), day.day)))
    }

    /// When a procedure was done last. Of one with several inspections, the one of an interval.
    pub(super) fn last(
        &self,
        procedure: &Procedure,
        inspection: Option<&Interval>,
        words: &Words,
    ) -> Option<Last> {
        let mut days = self.days().rev();
        let day = days.find(|day| {
            day.done.iter().any(|done| {
                let same = done.interval.as_ref().is_none_or(|text| {
                    inspection
                        .is_none_or(|interval| words.read_interval(text).as_ref() == Ok(interval))
                });
                done.procedure == procedure.id && same
            })
        })?;
        // Without a reading of that day the earlier one is taken, so that nothing is due too late.
        let hours = self.read_until(day.day).map(|(hours, _)| hours);
        let hours = hours.or_else(|| {
            let new = self.unit.new.as_ref();
            new.map(|_| Rational::default())
        });
        Some(Last {
            day: day.day,
            hours,
        })
    }
}
