//! Tests of what is due.

use crate::due::{State, due, hours_text};
use crate::quantity::Rational;
use crate::trade::Day;
use crate::tree::Memory;
use crate::words::Words;
use crate::{Sources, check};

const SHOP: &str = "name = \"Elmbrook\"";
const MACHINE: &str = "name = \"Hand pump\"\n[part.cover]\nname = \"cover\"";

/// A shop with one job of this interval, and this log.
fn shop(interval: &str, log: &str) -> Sources {
    let job = format!(
        "+++\ntitle = \"Oil\"\nmachines = [\"pump\"]\ninterval = \"{interval}\"\n+++\nWhy.\n\n## Do\n\n1. Pour.\n"
    );
    crate::read(&Memory::new([
        ("shop.toml", SHOP.as_bytes().to_vec()),
        ("machines/pump.toml", MACHINE.as_bytes().to_vec()),
        ("a/oil.md", job.into_bytes()),
        ("log.toml", log.as_bytes().to_vec()),
    ]))
}

/// The state of the job, with the days and the hours that are left.
fn state(interval: &str, log: &str, on: &str) -> (State, Option<i32>, Option<String>) {
    let sources = shop(interval, log);
    let checked = check(&sources);
    let errors: Vec<String> = checked
        .findings
        .iter()
        .map(|found| found.message.clone())
        .collect();
    assert_eq!(errors, [""; 0], "{interval}");
    let words = Words::english();
    let on = Day::parse(on).expect("a day");
    let units = due(&sources.shop, &sources.procedures, words, on);
    let [unit] = units.as_slice() else {
        panic!("one unit")
    };
    let [job] = unit.jobs.as_slice() else {
        panic!("one job")
    };
    let left = job.when.hours.as_ref().and_then(|(_, left)| left.as_ref());
    (
        job.when.state,
        job.when.day.map(|(_, left)| left),
        left.map(hours_text),
    )
}

const LOG: &str = "
[unit.pump-1]
machine = \"pump\"
new = 2025-04-01

[unit.pump-1.day.2025-10-03]
hours = 100
done = [\"oil\"]

[unit.pump-1.day.2026-01-31]
hours = 145.5
";

#[test]
fn hours_are_counted_from_the_last_time_to_the_last_reading() {
    let hours = |text: &str| Some(text.to_owned());
    for (interval, expected) in [
        ("every 45 h", (State::Overdue, None, hours("-0.5"))),
        ("every 46 h", (State::Due, None, hours("0.5"))),
        ("every 50 h", (State::Due, None, hours("4.5"))),
        ("every 51 h", (State::Done, None, hours("5.5"))),
        ("every 300 h", (State::Done, None, hours("254.5"))),
        (
            "first after 5 h, then every 300 h",
            (State::Done, None, hours("254.5")),
        ),
        ("once after 5 h", (State::Finished, None, None)),
        ("before each use", (State::EachUse, None, None)),
        ("when needed: it squeaks", (State::WhenNeeded, None, None)),
    ] {
        assert_eq!(state(interval, LOG, "2026-02-27"), expected, "{interval}");
    }
}

#[test]
fn the_calendar_is_counted_from_the_last_day() {
    for (interval, on, expected, left) in [
        ("every 6 months", "2026-04-03", State::Due, 0),
        ("every 6 months", "2026-04-04", State::Overdue, -1),
        ("every 6 months", "2026-03-16", State::Due, 18),
        ("every 6 months", "2026-03-15", State::Done, 19),
        ("daily", "2025-10-04", State::Due, 0),
        ("daily", "2025-10-05", State::Overdue, -1),
        // Serviced in October, so not due again before the next one.
        ("yearly, in October", "2025-10-20", State::Done, 376),
        ("yearly, in October", "2026-10-01", State::Due, 30),
        ("yearly, in October", "2026-11-01", State::Overdue, -1),
        // Early for November.
        ("yearly, in November", "2025-11-10", State::Done, 385),
    ] {
        let (state, days, _) = state(interval, LOG, on);
        assert_eq!((state, days), (expected, Some(left)), "{interval} on {on}");
    }
}

#[test]
fn of_several_the_first_to_come_counts() {
    let both = "every 50 h or every 6 months";
    let hours = || Some("4.5".to_owned());
    assert_eq!(
        state(both, LOG, "2026-02-01"),
        (State::Due, Some(61), hours())
    );
    assert_eq!(
        state(both, LOG, "2026-04-04"),
        (State::Overdue, Some(-1), hours())
    );
    let (found, _, _) = state("every 300 h or every 6 months", LOG, "2026-04-04");
    assert_eq!(found, State::Overdue);
    let (found, _, _) = state("every 45 h or every 24 months", LOG, "2026-02-01");
    assert_eq!(found, State::Overdue);
}

#[test]
fn what_was_never_done_counts_from_the_start() {
    let never = LOG.replace("done = [\"oil\"]", "");
    let hours = |text: &str| Some(text.to_owned());
    let of = |interval: &str, log: &str| state(interval, log, "2026-02-27");
    assert_eq!(of("every 150 h", &never), (State::Due, None, hours("4.5")));
    assert_eq!(
        of("first after 5 h, then every 300 h", &never),
        (State::Overdue, None, hours("-140.5"))
    );
    assert_eq!(
        of("once after 160 h", &never),
        (State::Due, None, hours("14.5"))
    );
    let used = never.replace("new = 2025-04-01", "");
    // From the first day of the log, with the 100 h of it.
    assert_eq!(
        of("every 45 h", &used),
        (State::Overdue, None, hours("-0.5"))
    );
    let empty = "[unit.pump-1]\nmachine = \"pump\"\n";
    assert_eq!(of("every 45 h", empty), (State::NotRecorded, None, None));
    assert_eq!(of("yearly", empty), (State::NotRecorded, None, None));
    assert_eq!(
        of("yearly, in May", empty),
        (State::NotRecorded, None, None)
    );
}

#[test]
fn later_days_of_the_log_are_left_out() {
    assert_eq!(
        state("every 50 h", LOG, "2025-12-01"),
        (State::Done, None, Some("50".to_owned()))
    );
    assert_eq!(
        state("every 50 h", LOG, "2025-01-01"),
        (State::NotRecorded, None, None)
    );
}

#[test]
fn the_inspections_of_a_procedure_are_done_one_by_one() {
    let job = "+++\ntitle = \"Look\"\nmachines = [\"pump\"]\n+++\nWhy.\n\n## Weekly {.inspection}\n\n1. Feet\n   - All there.\n\n## Every 3 months {.inspection}\n\n1. Nuts\n   - Tight.\n";
    let log = "[unit.p]\nmachine = \"pump\"\n[unit.p.day.2026-01-10]\ndone = [\"look\"]\n[unit.p.day.2026-01-31]\ndone = [\"look: Weekly\"]\n";
    let sources = crate::read(&Memory::new([
        ("shop.toml", SHOP),
        ("machines/pump.toml", MACHINE),
        ("a/look.md", job),
        ("log.toml", log),
    ]));
    let found = check(&sources).findings;
    assert_eq!(found.iter().count(), 0, "{found:?}");
    let on = Day::parse("2026-02-01").expect("a day");
    let units = due(&sources.shop, &sources.procedures, Words::english(), on);
    let days = units[0].jobs.iter().map(|job| {
        let last = job.last.as_ref().map(|last| last.day.to_string());
        (
            Words::english().interval(&job.interval),
            last.unwrap_or_default(),
        )
    });
    let mut days: Vec<(String, String)> = days.collect();
    days.sort();
    let pair = |interval: &str, day: &str| (interval.to_owned(), day.to_owned());
    assert_eq!(
        days,
        [
            pair("every 3 months", "2026-01-10"),
            pair("weekly", "2026-01-31")
        ]
    );
}

#[test]
fn hours_are_printed_as_decimals() {
    let text = |numerator: i64, denominator: i64| {
        hours_text(&Rational::new(numerator.into(), denominator.into()))
    };
    assert_eq!(text(425, 2), "212.5");
    assert_eq!(text(-1, 4), "-0.25");
    assert_eq!(text(-7, 1), "-7");
    assert_eq!(text(1, 3), "0.333333");
}
