//! Reads the units of `log.toml`.

use super::super::fields::{LogDayTable, log_day, unit as fields};
use super::super::{Done, LogDay, Machine, Records, Unit};
use super::fields::{day, machine_named, trade_value};
use crate::finding::Findings;
use crate::record::Record;
use crate::trade::Day;

pub(super) fn read_unit(
    unit: &Record<'_, Unit>,
    machines: &Records<Machine>,
    findings: &mut Findings,
) -> Unit {
    let machine = unit.text(fields::MACHINE, findings);
    let machine = machine.and_then(|name| machine_named(&name, unit.what(), machines, findings));
    let mut days: Vec<LogDay> = Vec::new();
    unit.records(fields::DAY, findings, |_, record, findings| {
        days.extend(read_day(record, findings));
        LogDayTable
    });
    days.sort_by_key(|day| day.day);
    Unit {
        key: unit.key().to_owned(),
        machine,
        serial_number: unit
            .text(fields::SERIAL_NUMBER, findings)
            .map(|number| number.value),
        new: day(unit, fields::NEW, findings),
        days,
    }
}

/// `None` if its heading is no date, which is reported.
fn read_day(record: &Record<'_, LogDayTable>, findings: &mut Findings) -> Option<LogDay> {
    let hours = record.number(log_day::HOURS, findings);
    let done = record.texts(log_day::DONE, findings);
    let day = trade_value(Day::parse(record.key()), record.span(), findings)?;
    let done = done.into_iter().map(|text| {
        let (procedure, interval) = match text.value.split_once(':') {
            Some((procedure, interval)) => (procedure, Some(interval.trim().to_owned())),
            None => (text.value.as_str(), None),
        };
        Done {
            span: text.span,
            procedure: procedure.trim().to_owned(),
            interval,
        }
    });
    Some(LogDay {
        day,
        span: record.span(),
        hours,
        done: done.collect(),
    })
}
