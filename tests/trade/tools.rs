//! Torque tools, extensions, meters and the validity of calibrations.

use super::{apart, limits, near, number, plain, quantity, rows, text, value};
use benchleaf::quantity::{Quantity, Unit};
use benchleaf::trade::{
    Adequacy, AdequacyLevel, Choice, Day, Extension, Meter, TorqueTool, check_stages, choose_tool,
    extension_setting, last_day_of_calibration,
};

fn tool(range: &str, tolerance: Option<&str>) -> TorqueTool {
    TorqueTool::new(&limits(range), tolerance.map(quantity).as_ref()).unwrap()
}

fn marked(range: &str, tolerance: &str, graduation: &str) -> TorqueTool {
    tool(range, Some(tolerance))
        .graduated(&quantity(graduation))
        .unwrap()
}

#[test]
fn a_tool_covers_its_range() {
    for row in rows("torque_tools.toml", "range") {
        let tool = tool(text(&row, "range"), None);
        for (field, inside) in [("inside", true), ("outside", false)] {
            for torque in row[field].as_array().unwrap() {
                let torque = limits(torque.as_str().unwrap());
                assert_eq!(tool.covers(&torque), inside, "{torque} in {row}");
                let level = tool.judge(&torque).unwrap().level;
                assert_eq!(
                    level == AdequacyLevel::OutOfRange,
                    !inside,
                    "{torque} in {row}"
                );
            }
        }
    }
}

/// A setting is the only safe one for the torques that it can give, and not even it for those of the
/// wrong definition.
#[test]
fn tolerances_match_the_standard() {
    for row in rows("torque_tools.toml", "deviation") {
        let tool = tool(text(&row, "maximum"), None);
        assert_eq!(tool.tolerance(), value(&row, "percent"));
        let judge = |torque: String| tool.judge(&limits(&torque)).unwrap();
        let (least, most) = (text(&row, "least"), text(&row, "most"));
        let window = judge(format!("at least {least}")).window.unwrap();
        assert_eq!(window.least.unwrap().value(), value(&row, "set").value());
        let adequacy = judge(format!("{least} to {most}"));
        assert_eq!(plain(adequacy.ratio.unwrap()), "1.0:1");
        assert_eq!(
            (adequacy.level, adequacy.window),
            (AdequacyLevel::TooCoarse, None)
        );
        let most = text(&row, "most_of_true");
        let window = judge(format!("at most {most}")).window.unwrap();
        assert!(
            near(&window.most.unwrap(), &value(&row, "set"), &number("1")),
            "{row}"
        );
    }
}

/// The level, ratio and window of a result, as text.
fn level_ratio_and_window(adequacy: Adequacy) -> (AdequacyLevel, String, String) {
    let none = || "none".to_owned();
    let window = adequacy.window;
    (
        adequacy.level,
        adequacy.ratio.map_or_else(none, plain),
        window.map_or_else(none, plain),
    )
}

#[test]
fn a_tool_is_rated_by_the_limits_it_leaves() {
    for (torque, tolerance, level, ratio, window) in [
        (
            "10 N·m ± 1 N·m",
            "2.5 %",
            AdequacyLevel::Ample,
            "4.0:1",
            "9.24 N·m to 10.72 N·m",
        ),
        (
            "10 N·m ± 1 N·m",
            "2.51 %",
            AdequacyLevel::Close,
            "3.9:1",
            "9.24 N·m to 10.72 N·m",
        ),
        (
            "10 N·m ± 1 N·m",
            "10 %",
            AdequacyLevel::TooCoarse,
            "1.0:1",
            "none",
        ),
        (
            "10 N·m ± 1 N·m",
            "10.1 %",
            AdequacyLevel::TooCoarse,
            "0.9:1",
            "none",
        ),
        (
            "9 N·m +1/-0",
            "4 %",
            AdequacyLevel::Close,
            "1.3:1",
            "9.375 N·m to 9.600 N·m",
        ),
        ("9 N·m", "4 %", AdequacyLevel::Ample, "none", "none"),
        (
            "at most 9 N·m",
            "4 %",
            AdequacyLevel::Ample,
            "none",
            "at most 8.640 N·m",
        ),
        (
            "at least 9 N·m",
            "4 %",
            AdequacyLevel::Ample,
            "none",
            "at least 9.375 N·m",
        ),
        // The range ends before the limits do.
        (
            "24 N·m ± 2 N·m",
            "4 %",
            AdequacyLevel::Close,
            "2.0:1",
            "22.92 N·m to 24.96 N·m",
        ),
        (
            "24.9 N·m ± 2 N·m",
            "4 %",
            AdequacyLevel::Close,
            "2.0:1",
            "23.86 N·m to 25.00 N·m",
        ),
        ("25 N·m +2/-0", "3 %", AdequacyLevel::Close, "1.2:1", "none"),
        (
            "90 N·m ± 10 N·m",
            "4 %",
            AdequacyLevel::OutOfRange,
            "2.7:1",
            "none",
        ),
    ] {
        let adequacy = tool("5 N·m to 25 N·m", Some(tolerance)).judge(&limits(torque));
        let known = (level, ratio.to_owned(), window.to_owned());
        assert_eq!(
            level_ratio_and_window(adequacy.unwrap()),
            known,
            "{torque} with {tolerance}"
        );
    }
    assert_eq!(tool("25 N·m", None).judge(&limits("9 mm")), None);
}

/// The setting and the window of a tool, as text.
fn set(tool: &TorqueTool, torque: &str) -> String {
    let Some(setting) = tool.setting(&limits(torque)) else {
        return "none".to_owned();
    };
    let value = plain(setting.value);
    setting.window.map_or(value.clone(), |window| {
        format!("{value}, {}", plain(window))
    })
}

#[test]
fn a_setting_is_a_mark_in_the_range_and_safe() {
    let half = marked("10 N·m to 50 N·m", "2 %", "0.5 N·m");
    for (torque, setting) in [
        ("22 N·m ± 2 N·m", "22.0 N·m, 20.5 N·m to 23.5 N·m"),
        // Another unit: the marks are those of the tool.
        ("15 ft·lbf ± 1.5 ft·lbf", "20.5 N·m, 19.0 N·m to 21.5 N·m"),
        // The middle of a range; of two equally near marks, the lower.
        ("20 N·m to 24.5 N·m", "22.0 N·m, 20.5 N·m to 24.0 N·m"),
        // The nominal is at the edge of the limits.
        ("20 N·m +2/-0", "20.5 N·m, 20.5 N·m to 21.5 N·m"),
        ("20 N·m +0/-2", "19.5 N·m, 18.5 N·m to 19.5 N·m"),
        ("at least 30 N·m", "31.0 N·m, at least 31.0 N·m"),
        ("at most 30 N·m", "29.0 N·m, at most 29.0 N·m"),
        // The ends of the range.
        ("10 N·m ± 1 N·m", "10.0 N·m, 10.0 N·m to 10.5 N·m"),
        ("50 N·m ± 5 N·m", "50.0 N·m, 46.0 N·m to 50.0 N·m"),
        ("10 N·m +0/-1", "none"),
        ("at least 49.5 N·m", "none"),
        ("at most 10 N·m", "none"),
        ("55 N·m ± 5 N·m", "none"),
        // No mark between 12.143 and 12.348.
        ("12.25 N·m ± 0.35 N·m", "none"),
        // Without limits, a mark within the tolerance.
        ("22 N·m", "22.0 N·m"),
        ("15 ft·lbf", "20.5 N·m"),
        ("10.2 N·m", "10.0 N·m"),
        ("10.25 N·m", "none"),
        ("30 mm ± 1 mm", "none"),
    ] {
        assert_eq!(set(&half, torque), setting, "{torque}");
    }
    let pounds = marked("30 in·lbf to 200 in·lbf", "4 %", "10 in·lbf");
    assert_eq!(set(&pounds, "9 N·m ± 1 N·m"), "80 in·lbf, 80 in·lbf");
}

/// Tenths of the last digit of the range, but no more than three figures.
#[test]
fn without_a_graduation_the_digits_of_the_range_decide() {
    for (range, torque, setting) in [
        (
            "5 N·m to 25 N·m",
            "9.04 N·m ± 1 N·m",
            "9.0 N·m, 8.4 N·m to 9.6 N·m",
        ),
        (
            "40 N·m to 200 N·m",
            "90.4 N·m ± 10 N·m",
            "90 N·m, 84 N·m to 96 N·m",
        ),
        (
            "0.6 N·m to 3.0 N·m",
            "1.504 N·m ± 0.2 N·m",
            "1.50 N·m, 1.36 N·m to 1.63 N·m",
        ),
    ] {
        assert_eq!(set(&tool(range, Some("4 %")), torque), setting, "{range}");
    }
    assert_eq!(tool("25 N·m", None).graduation(), None);
}

#[test]
fn an_invalid_graduation_is_reported_with_the_expected_form() {
    for wrong in ["0 N·m", "0.5 mm"] {
        let error = tool("25 N·m", None)
            .graduated(&quantity(wrong))
            .unwrap_err();
        let expected =
            "expected the interval between two marks of a torque tool, such as `0.5 N·m`";
        assert_eq!(plain(error), format!("{expected}, found `{wrong}`"));
    }
}

fn crowfoot(wrench: &str, extension: &str, angle: &str) -> Extension {
    Extension::new(&quantity(wrench), &quantity(extension), &quantity(angle)).unwrap()
}

#[test]
fn a_setting_through_an_extension_is_a_mark() {
    let wrench = marked("3 N·m to 15 N·m", "2 %", "0.1 N·m");
    let straight = wrench.extended(crowfoot("250 mm", "50 mm", "0°"));
    // The limits are 6.667 N·m to 8.333 N·m on the wrench.
    assert_eq!(
        set(&straight, "9 N·m ± 1 N·m"),
        "7.5 N·m, 6.9 N·m to 8.1 N·m"
    );
    assert_eq!(
        set(&straight, "at least 9 N·m"),
        "7.7 N·m, at least 7.7 N·m"
    );
    assert_eq!(set(&straight, "9.05 N·m"), "7.5 N·m");
    // The range is that of the scale: 15 N·m on it are 18 N·m at the fastener.
    assert!(straight.covers(&limits("18 N·m")) && !straight.covers(&limits("18.1 N·m")));
    assert!(straight.covers(&limits("3.6 N·m")) && !straight.covers(&limits("3.5 N·m")));
    assert_eq!(
        set(&straight, "17.9 N·m ± 1 N·m"),
        "14.9 N·m, 14.4 N·m to 15.0 N·m"
    );
    let square = wrench.extended(crowfoot("250 mm", "50 mm", "90°"));
    assert_eq!(set(&square, "9 N·m ± 1 N·m"), set(&wrench, "9 N·m ± 1 N·m"));
}

/// The bounds are rounded inwards, and the setting has the digits to lie between them.
#[test]
fn limits_are_converted_through_an_extension() {
    let extension = crowfoot("250 mm", "50 mm", "0°");
    for (torque, setting, window) in [
        ("9 N·m ± 1 N·m", "7.50 N·m", "6.67 N·m to 8.33 N·m"),
        ("8 N·m to 10 N·m", "7.50 N·m", "6.67 N·m to 8.33 N·m"),
        (
            "123.4 N·m ± 0.1 N·m",
            "102.8 N·m",
            "102.750 N·m to 102.916 N·m",
        ),
        ("at least 8 N·m", "6.67 N·m", "at least 6.667 N·m"),
        ("at most 8 N·m", "6.666 N·m", "at most 6.666 N·m"),
        ("9 N·m", "7.50 N·m", "none"),
    ] {
        let torque = limits(torque);
        assert_eq!(
            plain(extension.setting_within(&torque).unwrap()),
            setting,
            "{torque}"
        );
        let converted = extension.window(&torque);
        assert_eq!(
            converted.map_or("none".to_owned(), plain),
            window,
            "{torque}"
        );
    }
    assert_eq!(extension.window(&limits("9 mm ± 1 mm")), None);
    assert_eq!(extension.setting_within(&limits("9 mm")), None);
}

/// A tool that covers the nominal only, or has no safe mark, comes after one that does both.
#[test]
fn the_chosen_tool_covers_the_limits_and_can_be_set() {
    let crib = [
        marked("10 N·m to 50 N·m", "1 %", "0.5 N·m"),
        marked("3 N·m to 15 N·m", "2 %", "0.1 N·m"),
        marked("5 N·m to 25 N·m", "4 %", "5 N·m"),
    ];
    let choose = |torque: &str| choose_tool(&crib, &[limits(torque)]);
    for (torque, index) in [
        // The lower bound is below the range of the first.
        ("10 N·m ± 1 N·m", 1),
        ("10.9 N·m ± 1 N·m", 1),
        ("11 N·m ± 1 N·m", 0),
        // The upper bound is above the range of the second.
        ("14.5 N·m ± 1 N·m", 0),
        // The first has no mark within these limits; then none of the three has one.
        ("12.25 N·m ± 0.36 N·m", 1),
        ("12.2 N·m ± 0.2 N·m", 0),
        ("7 N·m ± 1 N·m", 1),
        ("at least 10 N·m", 0),
        ("at most 10 N·m", 1),
        ("10 N·m", 0),
    ] {
        assert_eq!(choose(torque), Some(Choice::Covers(index)), "{torque}");
    }
    // A stage that only the wide one covers.
    assert_eq!(
        choose_tool(&crib, &[limits("10 N·m ± 1 N·m"), limits("30 N·m ± 3 N·m")]),
        Some(Choice::Covers(0))
    );
}

#[test]
fn the_best_tool_is_chosen() {
    let crib = [
        tool("40 N·m to 200 N·m", Some("3 %")),
        tool("5 N·m to 50 N·m", Some("4 %")),
        tool("5 N·m to 25 N·m", Some("4 %")),
        tool("2 N·m to 10 N·m", Some("6 %")),
        tool("30 in·lbf to 150 in·lbf", Some("3 %")),
    ];
    let choose = |torques: &[&str]| {
        let torques: Vec<_> = torques.iter().map(|torque| limits(torque)).collect();
        choose_tool(&crib, &torques)
    };
    // The finest tolerance; with equal tolerances, the narrowest range; the only tool.
    assert_eq!(choose(&["9 N·m ± 1 N·m"]), Some(Choice::Covers(4)));
    assert_eq!(choose(&["20 N·m"]), Some(Choice::Covers(2)));
    assert_eq!(choose(&["3 N·m"]), Some(Choice::Covers(3)));
    // A finer tool comes before a narrower one.
    let pair = [
        tool("8 N·m to 12 N·m", Some("4 %")),
        tool("5 N·m to 25 N·m", Some("3 %")),
    ];
    assert_eq!(
        choose_tool(&pair, &[limits("9 N·m")]),
        Some(Choice::Covers(1))
    );
    // One tool for all stages, even if another is better for the last one.
    assert_eq!(choose(&["5 N·m", "45 N·m"]), Some(Choice::Covers(1)));
    // No tool is adequate: the one with the best ratio.
    assert_eq!(choose(&["220 N·m"]), Some(Choice::Nearest(0)));
    assert_eq!(choose(&["1 N·m"]), Some(Choice::Nearest(3)));
    assert_eq!(choose(&["9 mm"]), None);
    assert_eq!(choose(&[]), None);
    assert_eq!(choose_tool(&[], &[limits("9 N·m")]), None);
}

#[test]
fn an_invalid_torque_tool_is_reported_with_the_expected_form() {
    let range = "expected a torque tool's range or its maximum, such as `5 N·m to 25 N·m`";
    let tolerance = "expected a tolerance in per cent of the setting, such as `4 %`";
    for (typed, percent, message) in [
        ("25 mm", "4 %", format!("{range}, found `25 mm`")),
        (
            "at least 5 N·m",
            "4 %",
            format!("{range}, found `at least 5 N·m`"),
        ),
        ("0 N·m", "4 %", format!("{range}, found `0 N·m`")),
        ("25 N·m", "1 N·m", format!("{tolerance}, found `1 N·m`")),
        ("25 N·m", "0 %", format!("{tolerance}, found `0 %`")),
        ("25 N·m", "100 %", format!("{tolerance}, found `100 %`")),
    ] {
        let error = TorqueTool::new(&limits(typed), Some(&quantity(percent))).unwrap_err();
        assert_eq!(plain(error), message);
    }
}

#[test]
fn stages_must_increase_to_the_torque() {
    let check = |stages: &[&str], torque| {
        let stages: Vec<Quantity> = stages.iter().map(|stage| quantity(stage)).collect();
        check_stages(&stages, &limits(torque)).map_err(plain)
    };
    assert_eq!(check(&["5 N·m", "9 N·m"], "9 N·m ± 1 N·m"), Ok(()));
    assert_eq!(check(&["40 in·lbf", "9 N·m"], "9 N·m"), Ok(()));
    assert_eq!(check(&[], "9 N·m"), Ok(()));
    let message = "expected a stage above the 9 N·m before it, found `5 N·m`";
    assert_eq!(check(&["9 N·m", "5 N·m"], "9 N·m"), Err(message.to_owned()));
    let message = "expected a stage above the 5 N·m before it, found `9 mm`";
    assert_eq!(check(&["5 N·m", "9 mm"], "9 N·m"), Err(message.to_owned()));
    let message = "expected a last stage of 9 N·m ± 1 N·m, found `7 N·m`";
    assert_eq!(
        check(&["5 N·m", "7 N·m"], "9 N·m ± 1 N·m"),
        Err(message.to_owned())
    );
}

/// Two rows are attributed to AC 43.13-1B from memory. Their arithmetic was read elsewhere.
#[test]
fn settings_with_extensions_match_the_published_examples() {
    for row in rows("torque.toml", "extension") {
        let field = |name| value(&row, name);
        let setting = extension_setting(
            &field("torque"),
            &field("wrench"),
            &field("extension"),
            &field("angle"),
        );
        let (setting, known) = (setting.unwrap(), field("setting"));
        assert!(
            apart(&setting, &known) <= number(text(&row, "within")),
            "{}: {setting} against {known}",
            text(&row, "id")
        );
    }
}

#[test]
fn an_invalid_extension_is_reported_with_the_expected_form() {
    let set = |torque, wrench, extension, angle| {
        extension_setting(
            &quantity(torque),
            &quantity(wrench),
            &quantity(extension),
            &quantity(angle),
        )
        .map_err(plain)
        .unwrap_err()
    };
    assert_eq!(
        set("9 mm", "300 mm", "50 mm", "0°"),
        "expected a torque, found `9 mm`"
    );
    assert_eq!(
        set("9 N·m", "0 mm", "50 mm", "0°"),
        "expected a length of the wrench above zero, found `0 mm`"
    );
    assert_eq!(
        set("9 N·m", "300 mm", "50 mm", "5 mm"),
        "expected an angle, found `5 mm`"
    );
    assert_eq!(
        set("9 N·m", "300 mm", "300 mm", "180°"),
        "expected an extension shorter than the wrench's 300 mm, as it points back, found `300 mm`"
    );
}

#[test]
fn an_extension_may_be_in_other_units() {
    let (angle, torque) = (quantity("45°"), quantity("20 N·m"));
    let metric = extension_setting(&torque, &quantity("254 mm"), &quantity("50.8 mm"), &angle);
    let mixed = extension_setting(&torque, &quantity("10 in"), &quantity("50.8 mm"), &angle);
    assert_eq!(metric, mixed);
    assert_eq!(plain(metric.unwrap()), "17.5 N·m");
}

fn meter(resolution: Option<&str>, accuracy: Option<&str>) -> Meter {
    Meter::new(resolution.map(quantity), accuracy.map(quantity)).unwrap()
}

#[test]
fn a_meter_is_rated_by_its_resolution_and_accuracy() {
    for (resolution, accuracy, measured, level, ratio, window) in [
        (
            Some("10 rpm"),
            None,
            "3150 rpm ± 150 rpm",
            AdequacyLevel::Ample,
            "30.0:1",
            "3005 rpm to 3295 rpm",
        ),
        (
            Some("100 rpm"),
            Some("50 rpm"),
            "3150 rpm ± 150 rpm",
            AdequacyLevel::Close,
            "1.5:1",
            "3100 rpm to 3200 rpm",
        ),
        (
            None,
            Some("5 %"),
            "3150 rpm ± 150 rpm",
            AdequacyLevel::TooCoarse,
            "0.9:1",
            "none",
        ),
        (
            Some("0.05 mm"),
            None,
            "0.7 mm ± 0.1 mm",
            AdequacyLevel::Ample,
            "4.0:1",
            "0.625 mm to 0.775 mm",
        ),
        (
            Some("1 thou"),
            None,
            "0.006 in to 0.010 in",
            AdequacyLevel::Ample,
            "4.0:1",
            "0.006 50 in to 0.009 50 in",
        ),
        (
            Some("1 °C"),
            Some("1 °F"),
            "80 °C ± 2 °C",
            AdequacyLevel::Close,
            "1.8:1",
            "79.06 °C to 80.94 °C",
        ),
        (
            Some("1 bar"),
            None,
            "at least 8 bar",
            AdequacyLevel::Ample,
            "none",
            "at least 8.500 bar",
        ),
        // The accuracy may be a share of the reading or of the true value.
        (
            None,
            Some("2 %"),
            "100 bar ± 10 bar",
            AdequacyLevel::Ample,
            "5.0:1",
            "91.9 bar to 107.8 bar",
        ),
        (
            None,
            Some("2 %"),
            "at most 110 bar",
            AdequacyLevel::Ample,
            "none",
            "at most 107.8 bar",
        ),
    ] {
        let adequacy = meter(resolution, accuracy)
            .judge(&limits(measured))
            .unwrap();
        let known = (level, ratio.to_owned(), window.to_owned());
        assert_eq!(
            level_ratio_and_window(adequacy),
            known,
            "{resolution:?}, {accuracy:?} for {measured}"
        );
    }
    assert_eq!(
        meter(Some("1 bar"), None).judge(&limits("3150 rpm ± 150 rpm")),
        None
    );
}

#[test]
fn an_invalid_meter_is_reported_with_the_expected_form() {
    for (resolution, accuracy, message) in [
        (
            None,
            None,
            "expected a meter's resolution or its accuracy, found neither",
        ),
        (
            Some("0 rpm"),
            None,
            "expected an amount above zero, found `0 rpm`",
        ),
        (
            Some("10 rpm"),
            Some("1 mm"),
            "expected an accuracy in per cent or in `rpm`, found `1 mm`",
        ),
    ] {
        let error = Meter::new(resolution.map(quantity), accuracy.map(quantity)).unwrap_err();
        assert_eq!(plain(error), message);
    }
}

fn day(text: &str) -> Day {
    Day::parse(text).expect(text)
}

#[test]
fn a_calibration_is_valid_for_a_year_or_until_its_due_day() {
    for (calibrated, due, last) in [
        ("2026-02-09", None, "2027-02-09"),
        ("2024-02-29", None, "2025-02-28"),
        ("2025-12-31", None, "2026-12-31"),
        ("2026-02-09", Some("2026-08-09"), "2026-08-09"),
    ] {
        let last_day = last_day_of_calibration(day(calibrated), due.map(day));
        assert_eq!(last_day.to_string(), last);
    }
}

#[test]
fn only_valid_dates_are_accepted() {
    for text in [
        "2026-11-25",
        "2000-02-29",
        "2024-02-29",
        "0001-01-01",
        "9999-12-31",
    ] {
        assert_eq!(day(text).to_string(), text);
    }
    for text in [
        "",
        "2026",
        "2026-11",
        "2026-13-01",
        "2026-00-01",
        "2026-04-31",
        "1900-02-29",
        "2026-02-29",
        "26-11-25",
        "2026-11-25-01",
        "2026/11/25",
        "0000-01-01",
        "2026-1-5",
        "+026-01-05",
    ] {
        assert!(Day::parse(text).is_err(), "`{text}`");
    }
}

#[test]
fn a_tool_that_starts_at_zero_comes_after_those_that_do_not() {
    let crib = [
        tool("0 N·m to 25 N·m", Some("4 %")),
        tool("5 N·m to 25 N·m", Some("4 %")),
    ];
    assert_eq!(
        choose_tool(&crib, &[limits("9 N·m")]),
        Some(Choice::Covers(1))
    );
    assert_eq!(
        tool("25 N·m", None).lowest().in_unit(Unit::NEWTON_METRE),
        Some(quantity("5.00 N·m"))
    );
}
