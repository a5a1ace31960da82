//! Growth with temperature.

use super::entry::{Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::whole;

/// How much a length grows.
pub(super) struct Growth {
    /// In mm; below zero if it shrinks.
    pub(super) millimetres: Rational,
    /// The line of the arithmetic.
    pub(super) line: String,
}

/// How much the length of an input grows, by the names of its inputs.
pub(super) fn grown(
    given: &Given<'_>,
    length: &str,
    coefficient: &str,
    from: &str,
    to: &str,
) -> Result<Growth, Error> {
    let millimetres = given.above_zero(length, Unit::MILLIMETRE)?;
    let kelvins = given.in_unit(to, Unit::KELVIN)? - given.in_unit(from, Unit::KELVIN)?;
    let growth = given.number(coefficient)? / whole(1_000_000) * millimetres * kelvins;
    let unit = given.unit(length)?;
    let text = Exact::new(growth.clone(), Unit::MILLIMETRE)
        .shown_in(unit)
        .text();
    let line = format!(
        "{length} grows {} × 10⁻⁶/K × {} × ({} − {}) = {text}",
        given.text(coefficient),
        given.text(length),
        given.text(to),
        given.text(from),
    );
    Ok(Growth {
        millimetres: growth,
        line,
    })
}

pub(super) static THERMAL_GROWTH: Calculation = Calculation {
    name: "thermal-growth",
    title: "how much a part grows with its temperature",
    definition: "Coefficient × length × rise in temperature. The coefficient is in millionths of the length for each \
        kelvin: grey cast iron about 10 to 11, steel 12, brass 19, aluminium alloy 21 to 24. One for each degree \
        Fahrenheit is multiplied by 1.8 first.",
    sources: &[
        Source::read("College Physics (OpenStax), chapter 13.2, example 13.3: ΔL = α L ΔT"),
        Source::read(
            "Coefficients of Thermal Expansion (tecnocentro): cast iron 10, carbon steel 12, brass 19, aluminium alloy 23",
        ),
    ],
    inputs: &[
        Input::length("length", "the length or diameter when cold"),
        Input::number(
            "coefficient",
            "10⁻⁶/K",
            "the coefficient of linear expansion",
        ),
        Input::of(
            "cold",
            &[Kind::Temperature],
            "the temperature at which it was measured",
        )
        .or("20 °C"),
        Input::of("hot", &[Kind::Temperature], "the temperature that it gets"),
    ],
    results: &[
        Outcome::of("growth", Kind::Length, "growth"),
        Outcome::of("hot-length", Kind::Length, "length when hot").figures(6),
    ],
    caution: None,
    example: &[
        ("length", "66 mm"),
        ("coefficient", "23"),
        ("hot", "200 °C"),
    ],
    work: thermal_growth,
};

fn thermal_growth(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("length")?;
    let growth = grown(given, "length", "coefficient", "cold", "hot")?;
    let length = given.in_unit("length", Unit::MILLIMETRE)?;
    let hot = &length + &growth.millimetres;
    if !hot.is_positive() {
        return Err(given.wrong(
            "coefficient",
            "a coefficient with which some length is left",
        ));
    }
    Ok(Worked {
        lines: vec![growth.line],
        values: vec![
            Some(Exact::new(growth.millimetres, Unit::MILLIMETRE).shown_in(unit)),
            Some(Exact::new(hot, Unit::MILLIMETRE).shown_in(unit)),
        ],
    })
}
