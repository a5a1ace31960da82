//! When something is due, from its interval and from when it was done last.

use super::known::{Known, Last};
use crate::quantity::Rational;
use crate::trade::{Day, Period};
use crate::words::{Due, Interval, Lapse};

/// Whether something has to be done. The most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum State {
    /// The hours or the day have passed.
    Overdue,
    /// The last tenth of the interval has begun, or the month of what is done in one month of the year.
    Due,
    /// The log says too little: not when it was done last, or how long the machine has run.
    NotRecorded,
    /// It is not due yet.
    Done,
    /// It is done at each use.
    EachUse,
    /// It is done when something is found.
    WhenNeeded,
    /// It was to be done once, and has been.
    Finished,
}

/// When something is due. Of several, the first to come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct When {
    pub(crate) state: State,
    /// The running hours at which it is due, and how many are left. Negative if they have passed; `None` if none were read.
    pub(crate) hours: Option<(Rational, Option<Rational>)>,
    /// The last day on which it is due, and how many days are left.
    pub(crate) day: Option<(Day, i32)>,
}

/// The part of an interval that is left when something becomes due: one of this many.
const NOTICE: u32 = 10;

/// The months after something was done for this year in which it is not due for the next. Whoever services in September
/// what is due in October has serviced it for that October.
const EARLY_MONTHS: u32 = 6;

pub(super) fn when(interval: &Interval, last: Option<&Last>, known: &Known<'_>, on: Day) -> When {
    let mut when = When {
        state: State::Finished,
        hours: None,
        day: None,
    };
    // What was never done counts from the start, by the first interval if that is another one.
    let base = last.or(known.start.as_ref());
    let is_first = last.is_none() && !interval.first.is_empty();
    let first = interval.first.iter().filter(|_| is_first);
    let mut states: Vec<State> = Vec::new();
    for lapse in first {
        states.push(after(*lapse, base, known, on, &mut when));
    }
    for due in interval.every.iter().filter(|_| !is_first) {
        states.push(match due {
            Due::Use(_) => State::EachUse,
            Due::Needed(_) => State::WhenNeeded,
            Due::Every(lapse) => after(*lapse, base, known, on, &mut when),
            Due::Yearly(month) => in_month(*month, last, base, on, &mut when),
        });
    }
    if let Some(state) = states.into_iter().min() {
        when.state = state;
    }
    when
}

/// Some hours or periods after the base.
fn after(lapse: Lapse, base: Option<&Last>, known: &Known<'_>, on: Day, when: &mut When) -> State {
    match lapse {
        Lapse::Hours(count) => {
            let Some(from) = base.and_then(|base| base.hours.as_ref()) else {
                return State::NotRecorded;
            };
            let count = Rational::from_integer(count.into());
            let due = from + &count;
            let left = known.hours.as_ref().map(|(now, _)| &due - now);
            when.hours = Some((due, left.clone()));
            let Some(left) = left else {
                return State::NotRecorded;
            };
            let notice = &count / &Rational::from_integer(NOTICE.into());
            if left.is_negative() {
                State::Overdue
            } else if left <= notice {
                State::Due
            } else {
                State::Done
            }
        }
        Lapse::Calendar(period, count) => {
            let Some(base) = base else {
                return State::NotRecorded;
            };
            let due = base.day.after(count, period);
            let length = due.days_since(base.day);
            let left = due.days_since(on);
            set_day(when, due, left);
            if left < 0 {
                State::Overdue
            } else if i64::from(left) * i64::from(NOTICE) <= i64::from(length) {
                State::Due
            } else {
                State::Done
            }
        }
    }
}

/// In a month of each year.
fn in_month(
    month: u8,
    last: Option<&Last>,
    base: Option<&Last>,
    on: Day,
    when: &mut When,
) -> State {
    let Some(base) = base else {
        return State::NotRecorded;
    };
    let from = if last.is_some() {
        base.day.after(EARLY_MONTHS, Period::Month)
    } else {
        base.day
    };
    let Some((first, end)) = from.next_month(month) else {
        return State::Done;
    };
    let left = end.days_since(on);
    set_day(when, end, left);
    if left < 0 {
        State::Overdue
    } else if on >= first {
        State::Due
    } else {
        State::Done
    }
}

/// Notes a day on which it is due, unless an earlier one is.
fn set_day(when: &mut When, day: Day, left: i32) {
    if when.day.is_none_or(|(other, _)| day < other) {
        when.day = Some((day, left));
    }
}
