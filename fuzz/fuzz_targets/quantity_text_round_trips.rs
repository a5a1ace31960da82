//! Whatever the text: no panic, errors with a place in it; and what is read prints to something
//! that reads as the same value, in the written unit and inside the limits in every other.

#![no_main]

use benchleaf::quantity::{Error, Limits, Quantity, Spec, Unit, UnitOrder, find};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    has_its_place(text, Unit::parse(text).err());
    match Spec::parse(text) {
        Ok(spec) => {
            assert_eq!(Spec::parse(&spec.text()).as_ref(), Ok(&spec), "{spec}");
            let shown = UnitOrder::default().show(&spec);
            for shown in std::iter::once(shown.first).chain(shown.second) {
                assert!(Spec::parse(&shown).is_ok() || is_long(&shown), "{shown}");
            }
        }
        Err(error) => has_its_place(text, Some(error)),
    }
    match Limits::parse(text) {
        Ok(limits) => converts_inside(&limits),
        Err(error) => has_its_place(text, Some(error)),
    }
    match Quantity::parse(text) {
        Ok(value) => assert_eq!(Quantity::parse(&value.text()).as_ref(), Ok(&value)),
        Err(error) => has_its_place(text, Some(error)),
    }
    for found in find(text) {
        let typed = &text[found.range];
        assert_eq!(Limits::parse(typed).as_ref(), Ok(&found.limits), "{typed}");
    }
});

fn has_its_place(text: &str, error: Option<Error>) {
    if let Some(error) = error {
        assert!(text.get(error.range()).is_some(), "{error}");
        let _ = (error.message(), error.help());
    }
}

fn converts_inside(limits: &Limits) {
    for unit in Unit::ALL.iter().filter(|unit| unit.kind() == limits.kind()) {
        let printed = limits.text_in(*unit).expect("of one kind");
        match Limits::parse(&printed) {
            Ok(read) => assert!(read.is_inside(limits), "{printed}"),
            Err(error) => assert!(is_long(&printed), "{printed}: {error}"),
        }
    }
    assert_eq!(limits.intersection(limits).as_ref(), Some(limits));
}

/// Whether there may be a number of more digits than are read: in a unit a million times smaller,
/// one of eighteen has more.
fn is_long(printed: &str) -> bool {
    printed.chars().filter(char::is_ascii_digit).count() > 18
}
