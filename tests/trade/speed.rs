//! Rotational speeds of generators, tachometers, belts and blades, compared with published figures.

use super::{near, number, plain, quantity, ratio, rows, text, value};
use benchleaf::trade::{
    DroopOf, Ignition, driven_speed, droop, frequency, indicated_speed, no_load_for,
    synchronous_speed, tip_speed,
};
use toml::Table;

fn poles(row: &Table) -> u32 {
    u32::try_from(row["poles"].as_integer().unwrap()).unwrap()
}

#[test]
fn synchronous_speeds_match_the_tables() {
    for row in rows("speed.toml", "synchronous") {
        let worked = synchronous_speed(&value(&row, "frequency"), poles(&row)).unwrap();
        assert!(
            near(&worked, &value(&row, "speed"), &number("0.001")),
            "{row}: {worked}"
        );
    }
    for row in rows("speed.toml", "wrong") {
        let worked = synchronous_speed(&value(&row, "frequency"), poles(&row)).unwrap();
        assert!(
            !near(&worked, &value(&row, "speed"), &ratio(1, 1)),
            "{row}: {worked}"
        );
    }
}

#[test]
fn frequencies_match_known_values() {
    for row in rows("speed.toml", "frequency") {
        let worked = frequency(&value(&row, "speed"), poles(&row)).unwrap();
        assert_eq!(worked.value(), value(&row, "frequency").value(), "{row}");
    }
}

#[test]
fn a_wrongly_set_tachometer_shows_a_multiple_of_the_speed() {
    for row in rows("speed.toml", "tachometer") {
        let (given, set) = (number(text(&row, "given")), number(text(&row, "set")));
        let speed = value(&row, "speed");
        let shown = indicated_speed(&speed, &given, &set).unwrap();
        assert_eq!(shown.value(), value(&row, "shows").value(), "{row}");
        // The correct setting is the number of pulses that the engine gives.
        let true_speed = indicated_speed(&speed, &given, &given).unwrap();
        assert_eq!(true_speed.value(), speed.value());
    }
}

/// The sources are in the docs of the variants of `Ignition`.
#[test]
fn each_ignition_has_its_pulses_per_turn() {
    assert_eq!(Ignition::EveryTurn.pulses_per_turn(), ratio(1, 1));
    assert_eq!(Ignition::EverySecondTurn.pulses_per_turn(), ratio(1, 2));
    assert_eq!(Ignition::Distributor(4).pulses_per_turn(), ratio(2, 1));
}

/// Each row fits its definition, and none fits the other.
#[test]
fn droop_matches_the_worked_examples_of_its_definition() {
    for row in rows("speed.toml", "droop") {
        let [no_load, full_load, percent] =
            ["no_load", "full_load", "droop"].map(|field| value(&row, field));
        for of in DroopOf::ALL {
            let is_stated = of.name() == text(&row, "of");
            let worked = droop(&no_load, &full_load, of).unwrap();
            assert_eq!(
                near(&worked, &percent, &number("0.2")),
                is_stated,
                "{row}: {worked}"
            );
            let set = no_load_for(&full_load, &percent, of).unwrap();
            assert_eq!(
                near(&set, &no_load, &number("0.02")),
                is_stated,
                "{row}: {set}"
            );
        }
    }
}

/// Worked out by hand: 3450 × 75 / 150, π × 0.53 × 3100 / 60 and π × 21 × 0.0254 × 3600 / 60.
#[test]
fn belt_ratios_and_tip_speeds() {
    let driven = driven_speed(
        &quantity("3450 rpm"),
        &quantity("75 mm"),
        &quantity("150 mm"),
    );
    assert_eq!(plain(driven.unwrap()), "1725 rpm");
    let tip = tip_speed(&quantity("530 mm"), &quantity("3100 rpm")).unwrap();
    assert_eq!(plain(&tip), "86.0 m/s");
    let tip = tip_speed(&quantity("21 in"), &quantity("3600 rpm")).unwrap();
    assert!(
        near(&tip, &quantity("19792 ft/min"), &number("0.01")),
        "{tip}"
    );
    // π is rounded up, so that the tip speed is never underestimated. The exact value is 100.530 964 9.
    let tip = tip_speed(&quantity("640 mm"), &quantity("3000 rpm")).unwrap();
    assert!(*tip.value() > number("100.5309649"));
    assert!(*tip.value() < number("100.53098"));
}

#[test]
fn invalid_speeds_are_reported_with_the_expected_form() {
    let value = quantity;
    for (error, message) in [
        (
            frequency(&value("60 Hz"), 2),
            "expected a rotational speed, found `60 Hz`",
        ),
        (
            frequency(&value("3600 rpm"), 3),
            "expected an even number of poles, found 3",
        ),
        (
            frequency(&value("3600 rpm"), 0),
            "expected an even number of poles, found 0",
        ),
        (
            synchronous_speed(&value("60 rpm"), 2),
            "expected a frequency, found `60 rpm`",
        ),
        (
            droop(&value("3750 rpm"), &value("60 Hz"), DroopOf::FullLoad),
            "expected both speeds, or both frequencies, found `3750 rpm`",
        ),
        (
            droop(&value("3750 rpm"), &value("0 rpm"), DroopOf::FullLoad),
            "expected a speed or frequency under load, above zero, found `0 rpm`",
        ),
        (
            no_load_for(&value("60 Hz"), &value("3 Hz"), DroopOf::FullLoad),
            "expected a droop in per cent, found `3 Hz`",
        ),
        (
            no_load_for(&value("60 Hz"), &value("100 %"), DroopOf::NoLoad),
            "expected a droop below 100 %, found `100 %`",
        ),
        (
            droop(&value("0 rpm"), &value("3600 rpm"), DroopOf::NoLoad),
            "expected a speed or frequency without load, above zero, found `0 rpm`",
        ),
        (
            indicated_speed(&value("3000 rpm"), &ratio(1, 1), &ratio(0, 1)),
            "expected pulses a turn above zero, found zero or less",
        ),
        (
            driven_speed(&value("3000 rpm"), &value("75 mm"), &value("0 mm")),
            "expected a diameter above zero, found `0 mm`",
        ),
        (
            tip_speed(&value("530 g"), &value("3000 rpm")),
            "expected a diameter, found `530 g`",
        ),
    ] {
        assert_eq!(plain(error.unwrap_err()), message);
    }
}
