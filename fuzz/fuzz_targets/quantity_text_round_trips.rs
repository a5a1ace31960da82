//! For any text: parsing never panics, and the range of an error is in the text. A parsed value prints
//! to text that parses as the same value. Converted to another unit, limits stay inside the originals.

#![no_main]

use benchleaf::quantity::{Error, Limits, Quantity, Spec, Unit, UnitOrder, find};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    check_range(text, Unit::parse(text).err());
    match Spec::parse(text) {
        Ok(spec) => {
            assert_eq!(Spec::parse(&spec.text()).as_ref(), Ok(&spec), "{spec}");
            let shown = UnitOrder::default().show(&spec);
            for shown in std::iter::once(shown.first).chain(shown.second) {
                assert!(Spec::parse(&shown).is_ok() || is_long(&shown), "{shown}");
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
    for value in find(text) {
        let source = &text[value.range];
        assert_eq!(
            Limits::parse(source).as_ref(),
            Ok(&value.limits),
            "{source}"
        );
    }
});

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
fn is_long(printed: &str) -> bool {
    printed.chars().filter(char::is_ascii_digit).count() > 18
}
