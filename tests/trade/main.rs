//! The module `trade`, compared with published figures in `tests/reference`, and its properties.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod calculation_laws;
mod calculations;
mod heads;
mod laws;
mod mix;
mod pipes;
mod plausible;
mod speed;
mod strength;
mod threads;
mod tightening;
mod tools;

use benchleaf::quantity::{Limits, Quantity, Rational};
use toml::{Table, Value};

/// The rows of a table of `tests/reference`.
fn rows(file: &str, table: &str) -> Vec<Table> {
    let path = format!("{}/tests/reference/{file}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).expect(&path);
    let tables: Table = text.parse().expect(&path);
    let rows = tables.get(table).and_then(Value::as_array).expect(table);
    assert!(!rows.is_empty(), "{table} in {file} has no rows");
    let row = |row: &Value| row.as_table().expect("a row").clone();
    rows.iter().map(row).collect()
}

fn text<'a>(row: &'a Table, field: &str) -> &'a str {
    row.get(field).and_then(Value::as_str).expect(field)
}

fn value(row: &Table, field: &str) -> Quantity {
    quantity(text(row, field))
}

fn quantity(text: &str) -> Quantity {
    Quantity::parse(text).expect(text)
}

fn limits(text: &str) -> Limits {
    Limits::parse(text).expect(text)
}

/// A plain number.
fn number(text: &str) -> Rational {
    quantity(&format!("{text} mm")).value().clone()
}

fn ratio(numerator: i64, denominator: i64) -> Rational {
    Rational::new(numerator.into(), denominator.into())
}

/// The difference of two values of a kind, in the unit of the second.
fn apart(first: &Quantity, second: &Quantity) -> Rational {
    let first = first
        .in_unit(second.unit())
        .expect("the units are of one kind");
    if first.value() > second.value() {
        first.value() - second.value()
    } else {
        second.value() - first.value()
    }
}

/// Whether a value differs from a published one by at most this many thousandths.
fn near(value: &Quantity, published: &Quantity, thousandths: &Rational) -> bool {
    apart(value, published) <= published.value() * thousandths / ratio(1000, 1)
}

/// Text with plain spaces.
#[allow(
    clippy::needless_pass_by_value,
    reason = "so that values can be mapped over"
)]
fn plain(text: impl ToString) -> String {
    text.to_string().replace(['\u{a0}', '\u{202f}'], " ")
}
