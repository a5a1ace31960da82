//! Valve lash, cold and hot.

use super::entry::{Calculation, Outcome, Source};
use super::expansion::grown;
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;

const SOURCES: &[Source] = &[
    Source::read("College Physics (OpenStax), chapter 13.2: ΔL = α L ΔT"),
    Source::read(
        "Coefficients of Thermal Expansion (tecnocentro): cast iron 10, carbon steel 12, austenitic steel 17, aluminium alloy 23",
    ),
    Source::common_practice("that the change of the lash is the difference of the two growths"),
];

const CAUTION: &str = "A valve without lash does not close: it burns, and the engine may kick back when it is started. \
    Set the lash that the maker gives, at the temperature that the maker gives it for.";

const VALVE: Input = Input::length(
    "valve-length",
    "the length of the valve, with its push rod if there is one",
);
const VALVE_COEFFICIENT: Input = Input::number(
    "valve-coefficient",
    "10⁻⁶/K",
    "the coefficient of expansion of the valve",
)
.or("12");
const VALVE_HOT: Input = Input::of(
    "valve-temperature",
    &[Kind::Temperature],
    "the mean temperature of the valve when hot",
);
const CYLINDER: Input = Input::length(
    "cylinder-length",
    "the length of cylinder and head beside the valve, from its seat to where the rocker or lifter rests",
);
const CYLINDER_COEFFICIENT: Input = Input::number(
    "cylinder-coefficient",
    "10⁻⁶/K",
    "the coefficient of expansion of the cylinder",
)
.or("23");
const CYLINDER_HOT: Input = Input::of(
    "cylinder-temperature",
    &[Kind::Temperature],
    "the mean temperature of the cylinder when hot",
);
const COLD: Input = Input::of(
    "cold",
    &[Kind::Temperature],
    "the temperature of both when cold",
)
.or("20 °C");

/// All terms are products of one value of each input, so each result only grows or only falls with it.
pub(super) static HOT_LASH: Calculation = Calculation {
    name: "hot-lash",
    title: "the valve lash of a hot engine from the lash when cold",
    definition: "Cold lash + growth of the cylinder − growth of the valve. Each growth is coefficient × length × rise in \
        temperature, with the coefficient in millionths of the length for each kelvin: cast iron 10 to 11, steel 12, \
        stainless valve steel 17, aluminium alloy 21 to 24. Below zero, the valve is held open.",
    sources: SOURCES,
    inputs: &[
        Input::length("lash", "the lash when cold"),
        VALVE,
        VALVE_COEFFICIENT,
        VALVE_HOT,
        CYLINDER,
        CYLINDER_COEFFICIENT,
        CYLINDER_HOT,
        COLD,
    ],
    results: &[
        Outcome::of("hot-lash", Kind::Length, "lash when hot")
            .down("because too little lash holds the valve open"),
        Outcome::of("change", Kind::Length, "change of the lash"),
    ],
    caution: Some(CAUTION),
    example: &[
        ("lash", "0.15 mm"),
        ("valve-length", "90 mm"),
        ("valve-temperature", "250 °C"),
        ("cylinder-length", "90 mm"),
        ("cylinder-temperature", "150 °C"),
    ],
    work: |given| lash(given, false),
};

/// As [`HOT_LASH`].
pub(super) static COLD_LASH: Calculation = Calculation {
    name: "cold-lash",
    title: "the valve lash to set cold, from the lash wanted when hot",
    definition: "Hot lash − growth of the cylinder + growth of the valve. Each growth is coefficient × length × rise in \
        temperature, with the coefficient in millionths of the length for each kelvin: cast iron 10 to 11, steel 12, \
        stainless valve steel 17, aluminium alloy 21 to 24.",
    sources: SOURCES,
    inputs: &[
        Input::length("lash", "the lash wanted when hot"),
        VALVE,
        VALVE_COEFFICIENT,
        VALVE_HOT,
        CYLINDER,
        CYLINDER_COEFFICIENT,
        CYLINDER_HOT,
        COLD,
    ],
    results: &[
        Outcome::of("cold-lash", Kind::Length, "lash when cold")
            .up("because too little lash holds the valve open"),
        Outcome::of("change", Kind::Length, "change of the lash"),
    ],
    caution: Some(CAUTION),
    example: &[
        ("lash", "0.20 mm"),
        ("valve-length", "90 mm"),
        ("valve-temperature", "250 °C"),
        ("cylinder-length", "90 mm"),
        ("cylinder-temperature", "150 °C"),
    ],
    work: |given| lash(given, true),
};

fn lash(given: &Given<'_>, to_cold: bool) -> Result<Worked, Error> {
    let unit = given.unit("lash")?;
    let typed = given.in_unit("lash", Unit::MILLIMETRE)?;
    let cylinder = grown(
        given,
        "cylinder-length",
        "cylinder-coefficient",
        "cold",
        "cylinder-temperature",
    )?;
    let valve = grown(
        given,
        "valve-length",
        "valve-coefficient",
        "cold",
        "valve-temperature",
    )?;
    let rise = cylinder.millimetres - valve.millimetres;
    let change = if to_cold { -rise } else { rise };
    let other = &typed + &change;
    if to_cold && !other.is_positive() {
        let expected = "a lash that is not taken up by the growth of the cylinder";
        return Err(given.wrong("lash", expected));
    }
    let exact = |millimetres: Rational| Exact::new(millimetres, Unit::MILLIMETRE).shown_in(unit);
    let (other, change) = (exact(other), exact(change));
    let (minus, plus) = if to_cold {
        ("cylinder", "valve")
    } else {
        ("valve", "cylinder")
    };
    let line = format!(
        "lash = {} − growth of the {minus} + growth of the {plus} = {}",
        given.text("lash"),
        other.text()
    );
    Ok(Worked {
        lines: vec![valve.line, cylinder.line, line],
        values: vec![Some(other), Some(change)],
    })
}
