//! Tests of intervals.

use super::*;
use crate::words::marks::plain;

fn words(language: &str) -> &'static Words {
    Words::of(language).expect("a language")
}

fn read(text: &str) -> Interval {
    let read = words("en-GB").read_interval(text);
    read.unwrap_or_else(|error| panic!("{text}: {error:?}"))
}

fn every(due: Due) -> Interval {
    Interval {
        first: Vec::new(),
        every: vec![due],
    }
}

const fn calendar(period: Period, count: u32) -> Due {
    Due::Every(Lapse::Calendar(period, count))
}

#[test]
fn each_form_is_read() {
    let hours = |count| Due::Every(Lapse::Hours(count));
    for (text, due) in [
        ("every 200 h", hours(200)),
        ("every 50\u{a0}hours", hours(50)),
        ("Every 50 h", hours(50)),
        ("weekly", calendar(Period::Week, 1)),
        ("every 1 days", calendar(Period::Day, 1)),
        ("every 6 weeks", calendar(Period::Week, 6)),
        ("every 12 months", calendar(Period::Month, 12)),
        ("annually", calendar(Period::Year, 1)),
        ("yearly, in October", Due::Yearly(10)),
        ("every year in may", Due::Yearly(5)),
        ("before each use", Due::Use(Occasion::Before)),
        ("During use", Due::Use(Occasion::During)),
        ("after each use", Due::Use(Occasion::After)),
        ("every day of use", Due::Use(Occasion::Day)),
        (
            "when needed: the tips are round, or one is lost",
            Due::Needed("the tips are round, or one is lost".to_owned()),
        ),
    ] {
        assert_eq!(read(text), every(due), "{text}");
    }
}

#[test]
fn of_several_the_first_to_come_is_meant() {
    for text in [
        "every 50 h or yearly",
        "every 50 h and every year",
        "every 50 h, once a year",
        "every 50 h; yearly",
        "every 50 h or year",
        "every 50 h, or yearly",
    ] {
        let both = vec![Due::Every(Lapse::Hours(50)), calendar(Period::Year, 1)];
        assert_eq!(read(text).every, both, "{text}");
    }
    let needed = read("every 50 h, or when needed: it slips");
    assert_eq!(
        needed.every,
        [
            Due::Every(Lapse::Hours(50)),
            Due::Needed("it slips".to_owned())
        ]
    );
}

#[test]
fn the_first_time_can_differ() {
    let interval = read("first after 5 h or 1 month, then every 50 h or yearly");
    assert_eq!(
        interval.first,
        [Lapse::Hours(5), Lapse::Calendar(Period::Month, 1)]
    );
    assert_eq!(
        interval.every,
        [Due::Every(Lapse::Hours(50)), calendar(Period::Year, 1)]
    );
    for text in ["first after 5 h then yearly", "yearly, first after 5 h"] {
        let read = read(text);
        let both = (vec![Lapse::Hours(5)], vec![calendar(Period::Year, 1)]);
        assert_eq!((read.first, read.every), both, "{text}");
    }
    let once = read("once after 8 h");
    assert_eq!((once.first, once.every), (vec![Lapse::Hours(8)], vec![]));
}

#[test]
fn what_is_no_interval_is_refused_with_the_part_to_blame() {
    use UnreadInterval as Unread;
    type Make = fn(String) -> Unread;
    let unread: &[(&str, Make, &str)] = &[
        ("before spring and autumn", Unread::Unknown, "before spring"),
        ("yearly, before winter", Unread::Unknown, "before winter"),
        ("every many h", Unread::Unknown, "every many h"),
        (
            "when the tips are round",
            Unread::Unknown,
            "when the tips are round",
        ),
        ("every 50 h if used", Unread::Unknown, "every 50 h if used"),
        ("every 2.5 h", Unread::Unknown, "every 2.5 h"),
        ("every -5 h", Unread::Unknown, "every -5 h"),
        ("", Unread::Unknown, ""),
        (" , ", Unread::Unknown, ","),
        ("every 0 h", Unread::OutOfRange, "every 0 h"),
        (
            "every 100000 months",
            Unread::OutOfRange,
            "every 100000 months",
        ),
        (
            "every 99999999999 h",
            Unread::OutOfRange,
            "every 99999999999 h",
        ),
        ("every 50 h or every 100 h", Unread::Twice, "every 100 h"),
        ("yearly, every 6 months", Unread::Twice, "every 6 months"),
        (
            "yearly, in May, in June",
            Unread::MonthWithoutYear,
            "in June",
        ),
        ("every 6 months, in May", Unread::MonthWithoutYear, "in May"),
        ("in May", Unread::MonthWithoutYear, "in May"),
        ("first after 5 h", Unread::OnlyFirst, "first after 5 h"),
        (
            "first after each use, then yearly",
            Unread::Unknown,
            "each use",
        ),
        ("when needed:", Unread::NoCondition, "when needed:"),
    ];
    for (text, unread, part) in unread {
        let error = words("en-GB").read_interval(text);
        assert_eq!(error, Err(unread((*part).to_owned())), "{text}");
    }
}

/// Every form is read again as what it was printed from, in every language. `for_author` marks the texts.
#[test]
fn every_form_is_printed_and_read_in_each_language() {
    let forms = [
        "every 200 h",
        "daily",
        "every 2 days",
        "weekly",
        "every 2 weeks",
        "monthly",
        "every 3 months",
        "yearly",
        "every 2 years",
        "yearly, in October",
        "before each use",
        "during each use",
        "after each use",
        "every day of use",
        "once after 8 h",
        "first after 1 day, then every 50 h",
        "first after 1 week, then every 2 weeks",
        "first after 1 month or 5 h, then every 50 h or yearly",
        "first after 1 year, then every 2 years",
        "first after 3 years, then monthly",
        "every 50 h or when needed: sparks, smoke or both",
    ];
    for language in crate::words::languages() {
        let author = words("en-GB");
        let page = words(language).for_author("en-GB");
        for form in forms {
            let interval = read(form);
            let printed = page.interval(&interval);
            assert_eq!(
                page.translated_interval(form, author),
                if language == "en-GB" {
                    form.to_owned()
                } else {
                    printed.clone()
                }
            );
            let again = words(language).read_interval(&plain(&printed));
            assert_eq!(again.as_ref(), Ok(&interval), "{language}: {printed}");
        }
    }
    assert_eq!(words("en-GB").interval(&read(forms[17])), forms[17]);
}

#[test]
fn intervals_are_printed_in_the_pages_language() {
    let (english, spanish) = (words("en-GB"), words("es"));
    let translated = |text: &str| spanish.translated_interval(text, english);
    assert_eq!(translated("every 200 hours"), "cada 200 h");
    assert_eq!(
        translated("every year and every 200 h"),
        "cada año o cada 200 h"
    );
    assert_eq!(translated("yearly, in October"), "cada año, en octubre");
    assert_eq!(translated("before each use"), "antes de cada uso");
    assert_eq!(
        translated("first after 5 h, then every 50 h"),
        "primero después de 5 h, luego cada 50 h"
    );
    assert_eq!(
        translated("when needed: the tips are round"),
        "según su estado: the tips are round"
    );
    // The author's words stay unmarked, so that they are read out in their language.
    let marked = spanish.for_author("en-GB");
    let marked = marked.translated_interval("when needed: the tips are round", english);
    assert!(marked.ends_with("\u{e001}the tips are round"), "{marked}");
    let text = "once a year, every 50 h";
    assert_eq!(english.translated_interval(text, english), text);
    assert_eq!(translated("before winter"), "before winter");
}

#[test]
fn an_interval_has_a_part_by_hours_and_a_part_by_the_calendar() {
    let interval = read("first after 5 h, then every 50 h or yearly");
    let print = |part: Option<Interval>| part.map(|part| words("en-GB").interval(&part));
    assert_eq!(
        print(interval.by_hours()).as_deref(),
        Some("first after 5 h, then every 50 h")
    );
    assert_eq!(print(interval.by_others()).as_deref(), Some("yearly"));
    assert_eq!(print(read("yearly").by_hours()), None);
    assert_eq!(read("yearly").hours(), None);
    assert_eq!(interval.hours(), Some(50));
    assert_eq!(read("once after 8 h").hours(), Some(8));
}
