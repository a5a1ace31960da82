//! Values as text.

use benchleaf::quantity::{Error, Gallons, Limits, Quantity, Spec, Unit, UnitOrder, find};

/// For any text: parsing never panics, and the range of an error is in the text. A parsed value prints
/// to text that parses as the same value. Converted to another unit, limits stay inside the originals.
pub fn text_round_trips(text: &str) {
    check_range(text, Unit::parse(text).err());
    match Spec::parse(text) {
        Ok(spec) => {
            assert_eq!(Spec::parse(&spec.text()).as_ref(), Ok(&spec), "{spec}");
            let shown = UnitOrder::default().show(&spec);
            for shown in std::iter::once(shown.first).chain(shown.others) {
                let text = shown.text();
                assert!(Spec::parse(&text).is_ok() || is_long(&text), "{text}");
            }
        }
        Err(error) => check_range(text, Some(error)),
    }
    match Limits::parse(text) {
        Ok(limits) => check_conversions(&limits),
        Err(error) => check_range(text, Some(error)),
    }
    match Quantity::parse(text) {
        Ok(value) => assert_eq!(Quantity::parse(&value.text()).as_ref(), Ok(&value)),
        Err(error) => check_range(text, Some(error)),
    }
    let values = find(text, Gallons::Unstated);
    for value in values.found {
        let source = &text[value.range];
        let parsed = Limits::parse(source);
        let is_found = parsed.as_ref() == Ok(&value.limits);
        assert!(is_found || is_prose_only(source), "{source}");
    }
    for refused in values.refused {
        assert!(text.get(refused.range).is_some(), "{}", refused.error);
    }
}

/// Whether a value is found in prose only: `20 nm` and `80 in/lbs`, which fields refuse, and the cells of a
/// table, which have their unit in the heading.
fn is_prose_only(source: &str) -> bool {
    let lower = source.to_lowercase();
    lower.contains("nm") || lower.contains("/lb") || !lower.contains(char::is_alphabetic)
}

fn check_range(text: &str, error: Option<Error>) {
    if let Some(error) = error {
        assert!(text.get(error.range()).is_some(), "{error}");
        let _ = (error.message(), error.help());
    }
}

fn check_conversions(limits: &Limits) {
    for unit in Unit::ALL.iter().filter(|unit| unit.kind() == limits.kind()) {
        let printed = limits.text_in(*unit).expect("the same kind");
        match Limits::parse(&printed) {
            Ok(parsed) => assert!(parsed.is_inside(limits), "{printed}"),
            Err(error) => assert!(is_long(&printed), "{printed}: {error}"),
        }
    }
    assert_eq!(limits.intersection(limits).as_ref(), Some(limits));
}

/// Whether a printed number may have more digits than the parser accepts. In a unit that is a million
/// times smaller, a number of eighteen digits has more.
pub(crate) fn is_long(printed: &str) -> bool {
    printed.chars().filter(char::is_ascii_digit).count() > 18
}
