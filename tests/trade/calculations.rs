//! The calculations of the bench, compared with published examples and tables, and what they refuse.

use super::{plain, quantity, ratio, rows, text};
use benchleaf::quantity::{Gallons, Kind, Quantity, Rational, Unit};
use benchleaf::trade::{Answer, Answered, Bound, Calculation, Entered, Error, InputKind, Need};
use std::collections::BTreeMap;
use toml::Table;

/// The inputs of a calculation by name.
fn entered(calculation: &'static Calculation, inputs: &[(&str, &str)]) -> Vec<Entered> {
    let inputs = inputs.iter();
    inputs
        .map(|(name, text)| {
            let input = calculation.input(name);
            let input = input.unwrap_or_else(|| panic!("{} has no `{name}`", calculation.name));
            let entered = input.parse(text, Gallons::Unstated);
            entered.unwrap_or_else(|error| panic!("{} {name}: {error}", calculation.name))
        })
        .collect()
}

pub(crate) fn calculated(of: &str, inputs: &[(&str, &str)]) -> Result<Answer, Error> {
    let calculation = Calculation::named(of).unwrap_or_else(|| panic!("no `{of}`"));
    calculation.answer(&entered(calculation, inputs))
}

pub(crate) fn result<'a>(answer: &'a Answer, name: &str) -> &'a Answered {
    let mut results = answer.results.iter();
    let found = results.find(|result| result.outcome.name == name);
    found.unwrap_or_else(|| panic!("no `{name}`"))
}

fn inputs(row: &Table) -> Vec<(&str, &str)> {
    let inputs = row["inputs"].as_table().unwrap().iter();
    inputs
        .map(|(name, value)| (name.as_str(), value.as_str().unwrap()))
        .collect()
}

/// A published value. A plain number is read as a length, which reads all plain numbers. A length that shrinks is no text
/// that is read.
fn published(value: &str, of: &Answered) -> Quantity {
    if let Some(shrunk) = value
        .strip_prefix('−')
        .filter(|_| of.outcome.kind == Some(Kind::Length))
    {
        let size = quantity(shrunk);
        let value = ratio(0, 1) - size.value();
        return Quantity::new(value, size.unit(), 3);
    }
    match of.outcome.kind {
        Some(_) => quantity(value),
        None => quantity(&format!("{value} mm")),
    }
}

/// Our result, if it is not the published one within half of its last digit and one step of ours, or within its `within`.
fn other_than_published(row: &Table) -> Option<String> {
    let answer =
        calculated(text(row, "of"), &inputs(row)).unwrap_or_else(|error| panic!("{row}: {error}"));
    let ours = result(&answer, text(row, "result"));
    let printed = published(text(row, "value"), ours);
    let value = match ours.outcome.kind {
        Some(_) => ours.value_in(printed.unit()).unwrap(),
        None => quantity(&format!("{} mm", ours.text())),
    };
    let apart = (value.value() - printed.value()).abs();
    let most = match row.get("within") {
        Some(within) => published(within.as_str().unwrap(), ours)
            .in_unit(printed.unit())
            .unwrap()
            .value()
            .clone(),
        None => printed.resolution() / ratio(2, 1) + value.resolution(),
    };
    (apart > most).then(|| value.text())
}

#[test]
fn results_match_the_published_examples() {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let checks = rows("calculations.toml", "check");
    for row in &checks {
        assert_eq!(other_than_published(row), None, "{row}");
        assert!(row.contains_key("source"), "{row} has no source");
        assert_eq!(row.contains_key("within"), row.contains_key("why"), "{row}");
        *counts.entry(text(row, "of")).or_default() += 1;
    }
    for calculation in Calculation::ALL {
        let count = counts.get(calculation.name).copied().unwrap_or_default();
        assert!(count >= 3, "`{}` has {count} checks", calculation.name);
    }
    for row in rows("calculations.toml", "wrong") {
        assert!(other_than_published(&row).is_some(), "{row}");
    }
}

#[test]
fn every_row_of_the_table_is_complete() {
    for calculation in Calculation::ALL {
        let name = calculation.name;
        assert!(
            !calculation.definition.is_empty() && calculation.definition.ends_with('.'),
            "{name}"
        );
        assert!(!calculation.sources.is_empty(), "{name} has no source");
        assert!(
            calculation
                .caution
                .is_none_or(|caution| caution.ends_with('.')),
            "{name}"
        );
        for input in calculation.inputs {
            assert!(
                !input.about.is_empty() && !input.about.ends_with('.'),
                "{name}: {}",
                input.name
            );
            if let Need::Default(default) = input.need {
                let parsed = input.parse(default, Gallons::Unstated);
                assert!(parsed.is_ok(), "{name}: {default}: {parsed:?}");
            }
            let single = matches!(input.takes, InputKind::Word(_) | InputKind::Count);
            assert!(!(single && input.may_vary), "{name}: {}", input.name);
        }
        let answer = calculated(name, calculation.example).unwrap();
        assert_eq!(
            answer.results[0].outcome.name, calculation.results[0].name,
            "{name}"
        );
        assert!(!answer.lines.is_empty(), "{name}");
        for answered in &answer.results {
            let unit = answered.value().unit();
            match answered.outcome.kind {
                Some(kind) => assert_eq!(unit.kind(), kind, "{name}"),
                None => assert_eq!(unit, Unit::TO_ONE, "{name}"),
            }
        }
    }
    let mut names: Vec<&str> = Calculation::ALL.iter().map(|of| of.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), Calculation::ALL.len());
}

/// Inputs by name.
type Inputs = &'static [(&'static str, &'static str)];

/// Inputs that are refused, each with the message that somebody at the bench can act on.
const REFUSED: &[(&str, Inputs, &str)] = &[
    (
        "timing-height",
        &[("angle", "22°"), ("stroke", "54 mm"), ("rod", "25 mm")],
        "expected a rod longer than half the stroke, 27 mm, found `25 mm`",
    ),
    (
        "timing-height",
        &[("angle", "200°"), ("stroke", "54 mm"), ("rod", "100 mm")],
        "expected an angle from 0° to 180°, found `200°`",
    ),
    (
        "timing-angle",
        &[("height", "55 mm"), ("stroke", "54 mm"), ("rod", "100 mm")],
        "expected a height from zero to the stroke, 54 mm, found `55 mm`",
    ),
    (
        "leak-down",
        &[("supply", "80 psi"), ("held", "90 psi")],
        "expected a held pressure from zero to the supply, found `90 psi`",
    ),
    (
        "leak-down",
        &[("supply", "80 psi"), ("held", "70 psig")],
        "expected two pressures that are both marked as gauge pressures, or neither, found `70 psig`",
    ),
    (
        "compression-ratio",
        &[
            ("bore", "66 mm"),
            ("stroke", "48 mm"),
            ("chamber", "5 mL"),
            ("dome", "6 mL"),
        ],
        "expected a chamber that holds more than the dome displaces, found `6 mL`",
    ),
    (
        "piston-clearance",
        &[("bore", "66 mm"), ("piston", "66.1 mm")],
        "expected a piston that goes into the bore, found `66.1 mm`",
    ),
    (
        "belt-length",
        &[
            ("driver", "200 mm"),
            ("driven", "200 mm"),
            ("distance", "200 mm"),
        ],
        "expected shafts further apart than the sum of the pulleys' radii, found `200 mm`",
    ),
    (
        "pulley-ratio",
        &[
            ("driver", "60 mm"),
            ("driven", "120 mm"),
            ("driver-2", "60 mm"),
        ],
        "expected both `driver-2` and `driven-2`, found one of them",
    ),
    (
        "pulley-ratio",
        &[
            ("driver", "6 mm"),
            ("driven", "1 mm"),
            ("driver-3", "6 mm"),
            ("driven-3", "1 mm"),
        ],
        "expected a second drive before the third, found a third one",
    ),
    (
        "cable-drop",
        &[
            ("voltage", "230 V"),
            ("length", "50 m"),
            ("conductor", "1.5 mm²"),
        ],
        "expected either `current` or `power`, found neither",
    ),
    (
        "cable-drop",
        &[
            ("voltage", "230 V"),
            ("current", "9 A"),
            ("length", "50 m"),
            ("conductor", "1.6 mm²"),
        ],
        "expected a cross-section of IEC 60228, such as 1 mm², 1.5 mm², 2.5 mm², 4 mm² or 6 mm², found `1.6 mm²`",
    ),
    (
        "cable-drop",
        &[
            ("voltage", "12 V"),
            ("current", "100 A"),
            ("length", "50 m"),
            ("conductor", "1.5 mm²"),
        ],
        "expected a cable that leaves some voltage, found `50 m`",
    ),
    (
        "battery-voltage",
        &[("voltage", "14.4 V")],
        "expected the voltage of a battery at rest, at most 2.2 V for each cell, found `14.4 V`",
    ),
    (
        "battery-density",
        &[("reading", "1.6 SG")],
        "expected the density of a battery's acid, from 1.0 to 1.4, found `1.6 SG`",
    ),
    (
        "dilution-share",
        &[("total", "5 L"), ("share", "20 %"), ("strength", "10 %")],
        "expected a share of at most the strength, 10 %, found `20 %`",
    ),
    (
        "antifreeze-refill",
        &[
            ("capacity", "5 L"),
            ("present", "30 %"),
            ("wanted", "60 %"),
            ("strength", "50 %"),
        ],
        "expected a share of less than what is filled in, 50 %, found `60 %`",
    ),
    (
        "antifreeze-share",
        &[("temperature", "−60 °C")],
        "expected a temperature that the table reaches, found `−60 °C`",
    ),
    (
        "chain-size",
        &[("rivets", "0.9 in")],
        "expected twice a pitch of about 1/4 in, 0.325 in, 3/8 in or 0.404 in, found `0.9 in`",
    ),
    (
        "nozzle-size",
        &[("flow", "9 L/min"), ("pressure", "0 bar")],
        "expected a value above zero for `pressure`, found `0 bar`",
    ),
];

#[test]
fn impossible_inputs_are_refused() {
    for (of, inputs, message) in REFUSED {
        let error = calculated(of, inputs).unwrap_err();
        assert_eq!(plain(error), *message);
    }
}

#[test]
fn an_input_of_the_wrong_kind_is_refused() {
    let parse = |of: &str, name: &str, text: &str| {
        let input = Calculation::named(of).unwrap().input(name).unwrap();
        plain(input.parse(text, Gallons::Unstated).unwrap_err())
    };
    assert_eq!(
        parse("ring-gap", "bore", "66 N·m"),
        "expected a length for `bore`, found the torque `66 N·m`"
    );
    assert_eq!(
        parse("ring-gap", "factor", "0.3 mm"),
        "expected a plain number for `factor`, found `0.3 mm`"
    );
    assert_eq!(
        parse("ring-gap", "bore", "at least 66 mm"),
        "expected a value with both limits for `bore`, found `at least 66 mm`"
    );
    assert_eq!(
        parse("gear-ratio", "driver", "2.5"),
        "expected a whole number above zero for `driver`, found `2.5`"
    );
    assert_eq!(
        parse("gear-ratio", "driver", "20 to 30"),
        "expected a single value for `driver`, found `20 to 30`"
    );
    assert_eq!(
        parse("belt-length", "run", "round"),
        "expected `open` or `crossed` for `run`, found `round`"
    );
    let error = calculated("ring-gap", &[]).unwrap_err();
    assert_eq!(error.to_string(), "expected a value for `bore`, found none");
    let error = calculated("ring-gap", &[("bore", "66 mm"), ("bore", "67 mm")]).unwrap_err();
    assert_eq!(
        plain(error),
        "expected one value for `bore`, found `66 mm` and `67 mm`"
    );
}

#[test]
fn limits_hold_over_all_tolerances_and_are_rounded_inwards() {
    let limits = |of, inputs: &[(&str, &str)], name, bound| {
        let answer = calculated(of, inputs).unwrap();
        result(&answer, name).limits(bound).map(plain)
    };
    let bore = [("bore", "66 mm ± 0.1 mm"), ("factor", "0.003 to 0.004")];
    // 0.003 × 65.9 = 0.1977 and 0.004 × 66.1 = 0.2644.
    assert_eq!(
        limits("ring-gap", &bore, "gap", Bound::Within).unwrap(),
        "0.198 mm to 0.264 mm"
    );
    assert_eq!(
        limits("ring-gap", &bore, "gap", Bound::AtLeast).unwrap(),
        "at least 0.265 mm"
    );
    assert_eq!(
        limits("ring-gap", &bore, "gap", Bound::AtMost).unwrap(),
        "at most 0.197 mm"
    );
    let exact = [("bore", "66 mm")];
    assert_eq!(
        limits("ring-gap", &exact, "gap", Bound::AtLeast).unwrap(),
        "at least 0.264 mm"
    );
    let error = limits("ring-gap", &exact, "gap", Bound::Within).unwrap_err();
    assert_eq!(
        plain(error),
        "expected an input with a tolerance, found the single result `0.264 mm`"
    );
    let size = [("flow", "9 L/min"), ("pressure", "150 bar")];
    let error = limits("nozzle-size", &size, "size", Bound::AtMost).unwrap_err();
    assert_eq!(
        plain(error),
        "expected a result with a unit, found the number `3.23`"
    );
    // A lash below zero is no length that can be measured.
    let open = [
        ("lash", "0.05 mm"),
        ("valve-length", "90 mm"),
        ("valve-temperature", "500 °C"),
        ("cylinder-length", "90 mm"),
        ("cylinder-temperature", "100 °C"),
    ];
    assert!(limits("hot-lash", &open, "hot-lash", Bound::AtLeast).is_err());
}

#[test]
fn results_are_rounded_to_the_side_that_they_say() {
    for (of, inputs, name, printed) in [
        // 0.004 × 66.01 = 0.264 04
        ("ring-gap", &[("bore", "66.01 mm")][..], "gap", "0.265 mm"),
        ("ring-gap", &[("bore", "66 mm")], "gap", "0.264 mm"),
        // 5.5 × √0.5 = 3.889 09
        (
            "nozzle-flow",
            &[("size", "5.5"), ("pressure", "2000 psi")],
            "flow",
            "3.88 US gal/min",
        ),
        // A root that is exact keeps its digits.
        (
            "nozzle-flow",
            &[("size", "4"), ("pressure", "1000 psi")],
            "flow",
            "2.00 US gal/min",
        ),
        // 1 / 3 %
        (
            "leak-down",
            &[("supply", "300 psi"), ("held", "299 psi")],
            "leakage",
            "0.334 %",
        ),
        (
            "timing-angle",
            &[("height", "27 mm"), ("stroke", "54 mm"), ("rod", "100 mm")],
            "angle",
            "82.2°",
        ),
    ] {
        let answer = calculated(of, inputs).unwrap();
        assert_eq!(plain(result(&answer, name).text()), printed, "{of}");
    }
}

#[test]
fn the_arithmetic_is_shown() {
    let lines =
        |of, inputs: &[(&str, &str)]| plain(calculated(of, inputs).unwrap().lines.join("\n"));
    assert_eq!(
        lines("leak-down", &[("supply", "80 psi"), ("held", "72 psi")]),
        "leak-down = (80 psi − 72 psi) / 80 psi = 10 %"
    );
    assert_eq!(
        lines(
            "compression-ratio",
            Calculation::named("compression-ratio").unwrap().example
        ),
        "swept = π/4 × (66 mm)² × 48 mm = 164.22 cm³\n\
         gasket = π/4 × (66 mm)² × 1.2 mm = 4.1054 cm³\n\
         clearance = 19 cm³ + 4.1054 cm³ = 23.1054 cm³\n\
         ratio = 187.32 cm³ / 23.1054 cm³ = 8.1073:1"
    );
}

/// Results do not depend on the units of the inputs.
#[test]
fn units_do_not_matter() {
    for (of, inputs, same, name) in [
        (
            "ring-gap",
            &[("bore", "4 in")][..],
            &[("bore", "101.6 mm")][..],
            "gap",
        ),
        (
            "nozzle-size",
            &[("flow", "3 US gal/min"), ("pressure", "200 bar")],
            &[("flow", "11.356235352 L/min"), ("pressure", "20 MPa")],
            "size",
        ),
        (
            "battery-density",
            &[("reading", "1.25 SG"), ("temperature", "50 °F")],
            &[("reading", "1.25 SG"), ("temperature", "10 °C")],
            "charge",
        ),
    ] {
        let value = |inputs| {
            let answer = calculated(of, inputs).unwrap();
            let answered = result(&answer, name);
            let unit = answered.outcome.kind.map_or(Unit::TO_ONE, Kind::base);
            answered.value_in(unit).unwrap_or_else(|| answered.value())
        };
        let (one, other): (Quantity, Quantity) = (value(inputs), value(same));
        let apart: Rational = (one.value() - other.value()).abs();
        assert!(apart <= one.resolution(), "{of}: {one} and {other}");
    }
}
