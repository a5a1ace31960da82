//! Threads, compared with tables of ISO 262, ISO 724, ISO 898-1 and ASME B1.1.

use super::{apart, near, number, plain, quantity, ratio, rows, text, value};
use benchleaf::trade::{Series, Thread};

fn thread(text: &str) -> Thread {
    Thread::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// Each published area agrees to its last digit. If no publication was found (the `formula` rows), or a figure is from
/// memory, the area is compared only with the same formula in floats.
#[test]
fn metric_threads_match_the_tables() {
    let mut published = 0;
    for row in rows("threads.toml", "metric") {
        let name = text(&row, "thread");
        let thread = thread(name);
        let series = match text(&row, "series") {
            "coarse" => Series::MetricCoarse,
            _ => Series::MetricFine,
        };
        assert_eq!(thread.series(), series, "{name}");
        assert_eq!(thread.pitch(), value(&row, "pitch"), "{name}");
        let mid = apart(
            &thread.pitch_diameter().unwrap(),
            &value(&row, "pitch_diameter"),
        );
        assert!(mid <= number("0.0001"), "{name}: pitch diameter");

        let area = thread.stress_area().unwrap();
        let rounding = apart(&area, &value(&row, "computed"));
        assert!(
            rounding <= area.resolution() / ratio(2, 1),
            "{name}: {area}"
        );
        if row.contains_key("area") {
            let printed = value(&row, "area");
            assert_eq!(area.value(), printed.value(), "{name}: {area}");
            published += usize::from(text(&row, "source") != "memory");
        }
    }
    assert_eq!(published, 24, "areas that a page prints");
}

/// The areas agree within 0.2 % plus half a step of our last digit, because some tables print more digits.
#[test]
fn unified_threads_match_the_tables() {
    for row in rows("threads.toml", "unified") {
        let name = text(&row, "thread");
        let thread = thread(name);
        assert_eq!(plain(thread), name);
        assert_eq!(
            thread.diameter().value(),
            value(&row, "diameter").value(),
            "{name}"
        );
        let per_inch = row["per_inch"].as_integer().unwrap();
        assert_eq!(
            thread.threads_per_inch().map(i64::from),
            Some(per_inch),
            "{name}"
        );
        let (area, printed) = (thread.stress_area().unwrap(), value(&row, "area"));
        assert!(area.resolution() <= ratio(1, 10_000), "{name}: {area}");
        let most = printed.value() * ratio(2, 1000) + area.resolution() / ratio(2, 1);
        assert!(
            apart(&area, &printed) <= most,
            "{name}: {area} against {printed}"
        );
    }
}

#[test]
fn known_misprints_are_not_accepted() {
    for row in rows("threads.toml", "wrong") {
        let area = thread(text(&row, "thread")).stress_area().unwrap();
        assert!(
            !near(&area, &value(&row, "area"), &ratio(5, 1)),
            "{}",
            text(&row, "where")
        );
    }
}

/// Tapped holes of unified threads: read in "Unified National Coarse (UNC) Thread Chart"
/// (threadchart) and "UNF" (boltport). Metric ones: ISO 724, from memory.
#[test]
fn minor_diameters_match_the_tables() {
    for (name, minor) in [
        ("1/4-20", "0.1959 in"),
        ("3/8-16", "0.3073 in"),
        ("#10-24", "0.1449 in"),
        ("1/4-28", "0.2113 in"),
        ("10-32", "0.1562 in"),
        ("M5", "4.134 mm"),
        ("M6", "4.917 mm"),
        ("M8", "6.647 mm"),
        ("M10", "8.376 mm"),
        ("M12", "10.106 mm"),
    ] {
        let (worked, printed) = (thread(name).minor_diameter().unwrap(), quantity(minor));
        assert!(
            apart(&worked, &printed) <= printed.resolution(),
            "{name}: {worked}"
        );
    }
}

#[test]
fn usual_spellings_are_read() {
    for (typed, meant) in [
        ("M6", "M6"),
        ("m6", "M6"),
        (" M 6 ", "M6"),
        ("M6x1", "M6"),
        ("M6 x 1.0", "M6"),
        ("M10×1.25", "M10×1.25"),
        ("M10X1.25", "M10×1.25"),
        ("M10-1.25", "M10×1.25"),
        ("M3.5", "M3.5"),
        ("M14x1.25", "M14×1.25"),
        ("M10x1.25 LH", "M10×1.25 LH"),
        ("M10-LH", "M10 LH"),
        ("1/4-20 UNC", "1/4-20 UNC"),
        ("1/4-20UNC-2A", "1/4-20 UNC"),
        ("1/4\"-20", "1/4-20 UNC"),
        ("1/4 in-20", "1/4-20 UNC"),
        ("1/4 - 28", "1/4-28 UNF"),
        ("1/4 UNF", "1/4-28 UNF"),
        ("5/16-18", "5/16-18 UNC"),
        ("#10-24 unc", "#10-24 UNC"),
        ("10-32 UNF", "#10-32 UNF"),
        ("No. 10-24", "#10-24 UNC"),
        ("1-8", "1-8 UNC"),
        ("1-72", "#1-72 UNF"),
        ("1 UNC", "1-8 UNC"),
        ("1-14 UNS", "1-14 UNS"),
        ("1-1/8-7", "1-1/8-7 UNC"),
        ("1 1/8-7 UNC", "1-1/8-7 UNC"),
        ("1/4-32 UNEF", "1/4-32 UNEF"),
        ("1/2-20 UNF LH", "1/2-20 UNF LH"),
    ] {
        assert_eq!(thread(typed).to_string(), meant, "`{typed}`");
    }
}

/// Such threads are not in the selection of ISO 262, but are made. They are parsed, and marked as such.
#[test]
fn a_pitch_outside_of_the_selection_is_read() {
    for typed in ["M6x0.75", "M13x1", "M10x0.5", "M20x1"] {
        assert_eq!(thread(typed).series(), Series::Special, "{typed}");
    }
}

#[test]
fn an_invalid_thread_is_reported_with_the_expected_form() {
    for (typed, message, help) in [
        (
            "",
            "expected a thread such as `M6`, `M10x1.25`, `1/4-20 UNC` or `1/8-27 NPT`, found nothing",
            None,
        ),
        (
            "wood screw",
            "expected a thread such as `M6`, `M10x1.25`, `1/4-20 UNC` or `1/8-27 NPT`, found `wood screw`",
            None,
        ),
        (
            "N10x1.25",
            "expected a thread such as `M6`, `M10x1.25`, `1/4-20 UNC` or `1/8-27 NPT`, found `N10x1.25`",
            None,
        ),
        (
            "1/4_20 UNC",
            "expected a thread such as `M6`, `M10x1.25`, `1/4-20 UNC` or `1/8-27 NPT`, found `1/4_20 UNC`",
            Some("write `1/4-20 UNC`"),
        ),
        (
            "M10x1,25",
            "expected a decimal point, found `M10x1,25`",
            Some("write `M10×1.25`"),
        ),
        (
            "M10x1.2",
            "expected a pitch of ISO 261, found `M10x1.2`",
            Some("`M10` is made with a pitch of 1.5 or 1.25 or 1 mm"),
        ),
        (
            "M6x2",
            "expected a pitch of at most a quarter of the diameter, found `M6x2`",
            Some("`M6` is made with a pitch of 1 mm"),
        ),
        (
            "M9",
            "expected a diameter with a coarse pitch of ISO 262, found `M9`",
            Some("`M8` and `M10` have one; write any other with its pitch, as in `M9x1`"),
        ),
        (
            "M100",
            "expected a diameter with a coarse pitch of ISO 262, found `M100`",
            Some(
                "the largest that has one is `M64`; write any other with its pitch, as in `M100x1`",
            ),
        ),
        (
            "5/16-20",
            "expected a thread of the UNC or UNF series, found `5/16-20`",
            Some("`5/16-18 UNC` and `5/16-24 UNF` are the standard ones"),
        ),
        (
            "1/4-28 UNC",
            "expected a thread of the UNC or UNF series, found `1/4-28 UNC`",
            Some("`1/4-20 UNC` and `1/4-28 UNF` are the standard ones"),
        ),
        (
            "M6 x 1,0 mm",
            "expected a decimal point, found `M6 x 1,0 mm`",
            Some("write `M6`"),
        ),
        (
            "M6 x 1 mm",
            "expected a thread such as `M6`, `M10x1.25`, `1/4-20 UNC` or `1/8-27 NPT`, found `M6 x 1 mm`",
            Some("write `M6`"),
        ),
        (
            "1/8-27",
            "expected a thread such as `M6`, `M10x1.25`, `1/4-20 UNC` or `1/8-27 NPT`, found `1/8-27`",
            Some("as a pipe thread, it is `1/8-27 NPT`"),
        ),
        (
            "1/2-14",
            "expected a thread of the UNC or UNF series, found `1/2-14`",
            Some(
                "`1/2-13 UNC` and `1/2-20 UNF` are the standard ones; as a pipe thread, it is \
                 `1/2-14 NPT` or `G1/2` or `1/2 BSPT`",
            ),
        ),
        (
            "#0-72",
            "expected a thread of the UNC or UNF series, found `#0-72`",
            Some("`#0-80 UNF` is the standard one"),
        ),
    ] {
        let error = Thread::parse(typed).unwrap_err();
        assert_eq!(error.to_string(), message);
        assert_eq!(error.help(), help, "{typed}");
    }
}
