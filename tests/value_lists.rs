//! Values as shops type them, pairs as makers round them, and forms that must be refused: the lists in `reference/`,
//! with the source of each entry.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

use benchleaf::quantity::{Agreement, Gallons, Kind, Limits, Rational, Spec, Unit, find};
use serde::Deserialize;

#[derive(Deserialize)]
struct TypedValue {
    text: String,
    kind: String,
    second: Option<String>,
}

#[derive(Deserialize)]
struct TypedValues {
    value: Vec<TypedValue>,
}

fn typed_values() -> Vec<TypedValue> {
    let list: TypedValues = toml::from_str(include_str!("reference/typed_values.toml")).unwrap();
    assert_eq!(list.value.len(), 300);
    list.value
}

fn spec(text: &str) -> Spec {
    Spec::parse(text)
        .unwrap_or_else(|error| panic!("`{text}`: {error}; {}", error.help().unwrap_or_default()))
}

#[test]
fn values_as_shops_type_them_are_read() {
    for value in typed_values() {
        let spec = spec(&value.text);
        let kind = Kind::from_name(&value.kind).unwrap_or_else(|| panic!("{}", value.kind));
        assert_eq!(spec.limits().kind(), kind, "`{}`", value.text);
        // What is printed is read as the same value.
        assert_eq!(
            Spec::parse(&spec.text()).as_ref(),
            Ok(&spec),
            "`{}`",
            value.text
        );
    }
}

/// The part of the tolerance window that the limits lose in the unit, in hundredths.
fn lost_window(limits: &Limits, unit: Unit) -> Option<Rational> {
    let width = |limits: &Limits| {
        let (lower, upper) = (limits.lower()?, limits.upper()?);
        let upper = upper.in_unit(lower.unit())?;
        Some((upper.value() - lower.value()) * lower.unit().factor())
    };
    let rounded = limits.rounded_in(unit)?;
    assert!(rounded.is_inside(limits), "{limits} in {rounded}");
    let (before, after) = (width(limits)?, width(&rounded)?);
    Some((&before - after) / before * Rational::from_integer(100.into()))
}

/// A printed number without its spaces.
fn significant_digits(text: &str) -> usize {
    let number: String = text
        .chars()
        .filter(|c| !c.is_whitespace())
        .take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '\u{2212}'))
        .collect();
    let digits = number.trim_start_matches(['0', '.', '\u{2212}']);
    digits.chars().filter(char::is_ascii_digit).count()
}

/// Of the tolerance windows, at most 5 % is lost in 95 of 100 values, and at most 10 % in all. A value without a window
/// keeps three significant figures, or all that it has.
#[test]
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn the_second_unit_loses_little() {
    let whole = |number: i64| Rational::from_integer(number.into());
    let mut losses = Vec::new();
    let mut plain = 0;
    for value in typed_values() {
        let Some(second) = &value.second else {
            continue;
        };
        let unit = Unit::parse(second).unwrap_or_else(|error| panic!("{second}: {error}"));
        let limits = spec(&value.text).limits().clone();
        if let Some(lost) = lost_window(&limits, unit) {
            losses.push((lost, value.text));
            continue;
        }
        plain += 1;
        let rounded = limits.rounded_in(unit).unwrap();
        let only = |limits: &Limits| limits.nominal().or(limits.lower()).or(limits.upper());
        let (exact, shown) = (only(&limits).unwrap(), only(&rounded).unwrap());
        let text = rounded.text();
        let digits = text.trim_start_matches(|c: char| !c.is_ascii_digit());
        let is_exact = exact.in_unit(unit).unwrap().value() == shown.value();
        assert!(
            significant_digits(digits) >= 3 || is_exact,
            "`{}` is {text}",
            value.text
        );
    }
    losses.sort();
    let many = losses.len();
    assert!(many > 50 && plain > 80, "{many} windows, {plain} without");
    let (greatest, text) = losses.last().unwrap();
    let at_95 = &losses[many * 95 / 100].0;
    let hundredths = |part: &Rational| (part * whole(100)).floor().numer().to_string();
    println!(
        "{many} windows: the second unit loses at most {} hundredths of a percent in 95 of 100, {} in all",
        hundredths(at_95),
        hundredths(greatest)
    );
    assert!(*at_95 <= whole(5), "{}", hundredths(at_95));
    assert!(*greatest <= whole(10), "`{text}`: {}", hundredths(greatest));
}

#[test]
fn a_value_that_ends_within_four_figures_keeps_all_of_them() {
    // NIST Handbook 44, appendix C, for the gallon and the inch.
    for (typed, unit, shown) in [
        ("1 US gal", "US fl oz", "128 US fl oz"),
        ("1 imp gal", "imp fl oz", "160 imp fl oz"),
        ("1 in", "mm", "25.4 mm"),
        ("1/8 in", "mm", "3.175 mm"),
        ("0.030 in", "mm", "0.762 mm"),
        ("1 ft", "mm", "304.8 mm"),
        ("1 US gal", "in³", "231 in³"),
        ("20 °C", "°F", "68 °F"),
    ] {
        let unit = Unit::parse(unit).unwrap();
        let text = Limits::parse(typed).unwrap().text_in(unit).unwrap();
        assert_eq!(text.replace('\u{a0}', " "), shown, "{typed}");
    }
}

#[derive(Deserialize)]
struct Pair {
    text: String,
}

#[derive(Deserialize)]
struct WrongPair {
    text: String,
    level: String,
}

#[derive(Deserialize)]
struct Pairs {
    pair: Vec<Pair>,
    wrong: Vec<WrongPair>,
}

fn pairs() -> Pairs {
    let pairs: Pairs = toml::from_str(include_str!("reference/pairs.toml")).unwrap();
    assert_eq!((pairs.pair.len(), pairs.wrong.len()), (100, 60));
    pairs
}

/// The worst agreement of the values in a text that are given in several units.
fn worst_agreement(text: &str) -> Option<Agreement> {
    let values = find(text, Gallons::Unstated);
    assert_eq!(values.refused, [], "{text}");
    let paired = values.found.iter().flat_map(|found| &found.paired);
    paired.map(|paired| paired.agreement).max()
}

#[test]
fn pairs_as_makers_round_them_agree() {
    for pair in pairs().pair {
        let agreement = worst_agreement(&pair.text);
        assert_eq!(agreement, Some(Agreement::Equal), "`{}`", pair.text);
    }
}

#[test]
fn wrong_pairs_are_found() {
    for pair in pairs().wrong {
        let expected = match pair.level.as_str() {
            "error" => Agreement::Contradicting,
            "warning" => Agreement::Apart,
            level => panic!("{level}"),
        };
        assert_eq!(
            worst_agreement(&pair.text),
            Some(expected),
            "`{}`",
            pair.text
        );
    }
}

/// The pairs that the tool prints itself agree.
#[test]
fn printed_pairs_agree() {
    for value in typed_values() {
        let limits = spec(&value.text).limits().clone();
        let second = value.second.map(|second| Unit::parse(&second).unwrap());
        let Some(second) = second.and_then(|unit| limits.text_in(unit)) else {
            continue;
        };
        let text = format!("{limits} / {second}");
        let agreement = worst_agreement(&text);
        assert!(
            agreement.is_none_or(|agreement| agreement == Agreement::Equal),
            "{text}"
        );
    }
}

#[derive(Deserialize)]
struct RefusedForm {
    text: String,
    class: String,
    /// The field in which it is refused; a value elsewhere.
    field: Option<String>,
}

#[derive(Deserialize)]
struct RefusedForms {
    form: Vec<RefusedForm>,
}

#[test]
fn forms_that_are_refused_have_the_pinned_messages() {
    let forms: RefusedForms = toml::from_str(include_str!("reference/refused.toml")).unwrap();
    assert_eq!(forms.form.len(), 200);
    let mut pinned = String::new();
    let mut class = String::new();
    for form in forms.form.iter().filter(|form| form.field.is_none()) {
        if form.class != class {
            class.clone_from(&form.class);
            pinned.extend(["\n# ", &class, "\n\n"]);
        }
        let Err(error) = Spec::parse(&form.text) else {
            panic!("`{}` is read", form.text)
        };
        pinned.extend(["`", &form.text, "`: ", &error.to_string(), "\n"]);
        if let Some(help) = error.help() {
            pinned.extend(["    ", &help, "\n"]);
        }
    }
    let pinned = pinned.replace(['\u{a0}', '\u{202f}'], " ");
    insta::assert_snapshot!("refused-forms", pinned.trim_start());
}
