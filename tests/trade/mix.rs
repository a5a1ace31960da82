//! Two-stroke mixtures, compared with published charts.

use super::{apart, limits, plain, quantity, ratio, rows, text, value};
use benchleaf::quantity::{Quantity, Unit};
use benchleaf::trade::{
    fill_for, measured_oil_for, mix_ratio, mixture_of, oil_for, petrol_to_fill,
};
use toml::Table;

fn parts(text: &str) -> Quantity {
    limits(text).nominal().expect(text)
}

/// A ratio of zero, which no text gives.
fn no_ratio() -> Quantity {
    Quantity::new(ratio(0, 1), Unit::TO_ONE, 0)
}

/// Whether our amount of oil is that of a chart, within half a step of its last digit.
fn agrees(row: &Table) -> bool {
    let oil = oil_for(&value(row, "petrol"), &parts(text(row, "ratio"))).unwrap();
    let printed = value(row, "oil");
    apart(&oil, &printed) <= printed.resolution() / ratio(2, 1)
}

#[test]
fn amounts_of_oil_match_the_published_charts() {
    for row in rows("fuel_mix.toml", "mix") {
        assert!(agrees(&row), "{row}");
    }
    for row in rows("fuel_mix.toml", "wrong") {
        assert!(!agrees(&row), "{row}");
    }
}

#[test]
fn oil_is_given_in_the_unit_system_of_the_petrol() {
    for (petrol, oil) in [
        ("5 L", "100 mL"),
        ("0.25 L", "5.0 mL"),
        ("2.5 US gal", "6.4 US fl oz"),
        ("1 US qt", "0.6 US fl oz"),
        ("1 imp gal", "3.2 imp fl oz"),
    ] {
        let measured = measured_oil_for(&quantity(petrol), &parts("50:1")).unwrap();
        assert_eq!(plain(measured), oil, "{petrol}");
    }
}

#[test]
fn a_mixture_is_split_into_petrol_and_oil() {
    let mixture = mixture_of(&quantity("5 L"), &parts("50:1")).unwrap();
    assert_eq!(plain(&mixture), "5.10 L");
    let petrol = petrol_to_fill(&mixture, &parts("50:1")).unwrap();
    assert_eq!(plain(petrol), "5.00 L");
    // A full 5 L can.
    let petrol = petrol_to_fill(&quantity("5 L"), &parts("25:1")).unwrap();
    assert_eq!(plain(petrol), "4.81 L");
}

#[test]
fn a_tank_filled_to_the_brim_holds_petrol_and_oil() {
    for row in rows("fuel_mix.toml", "fill") {
        let fill = fill_for(&value(&row, "capacity"), &parts(text(&row, "ratio"))).unwrap();
        assert_eq!(plain(fill.petrol), text(&row, "petrol"), "{row}");
        assert_eq!(plain(fill.oil), text(&row, "oil"), "{row}");
    }
    for capacity in ["0 L", "0.1 mL", "0.6 kg"] {
        let fill = fill_for(&quantity(capacity), &quantity("50:1"));
        assert_eq!(fill, None, "{capacity}");
    }
    assert_eq!(fill_for(&quantity("1 L"), &no_ratio()), None);
}

#[test]
fn a_ratio_is_one_number_to_one() {
    for right in ["50:1", "16:1", "33.3:1", "1.5:1"] {
        assert_eq!(plain(mix_ratio(&limits(right)).unwrap()), right);
    }
    for (wrong, message) in [
        (
            "40:1 to 50:1",
            "expected one ratio of petrol to oil, found `40:1 to 50:1`",
        ),
        (
            "50:1 ± 5:1",
            "expected one ratio of petrol to oil, found `50:1 ± 5:1`",
        ),
        (
            "at most 50:1",
            "expected one ratio of petrol to oil, found `at most 50:1`",
        ),
        ("0.02:1", "expected more petrol than oil, found `0.02:1`"),
        ("1:1", "expected more petrol than oil, found `1:1`"),
        (
            "2 %",
            "expected a ratio of petrol to oil such as `50:1`, found `2 %`",
        ),
    ] {
        let error = mix_ratio(&limits(wrong)).unwrap_err();
        assert_eq!(plain(error), message);
    }
}

#[test]
fn an_invalid_volume_or_ratio_is_an_error() {
    for (petrol, ratio) in [
        ("5 mm", parts("50:1")),
        ("5 L", no_ratio()),
        ("5 L", parts("50 %")),
    ] {
        let petrol = quantity(petrol);
        assert_eq!(oil_for(&petrol, &ratio), None);
        assert_eq!(measured_oil_for(&petrol, &ratio), None);
        assert_eq!(mixture_of(&petrol, &ratio), None);
        assert_eq!(petrol_to_fill(&petrol, &ratio), None);
    }
}
