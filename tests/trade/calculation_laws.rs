//! Laws of the calculations, with random values: inverse calculations give back what they were given, results between the
//! ends of tolerances are in the range that the ends give, and units do not matter.

use super::calculations::{calculated, result};
use super::{quantity, ratio, rows, text};
use benchleaf::quantity::{Gallons, Quantity, Rational, Unit};
use benchleaf::trade::{Calculation, Entered, Input, InputKind};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// A result in a unit.
fn value(of: &str, inputs: &[(&str, &str)], name: &str, unit: Unit) -> Quantity {
    let answer = calculated(of, inputs).unwrap_or_else(|error| panic!("{of} {inputs:?}: {error}"));
    result(&answer, name).value_in(unit).unwrap()
}

/// The text of a plain number.
fn number(of: &str, inputs: &[(&str, &str)], name: &str) -> String {
    let answer = calculated(of, inputs).unwrap_or_else(|error| panic!("{of} {inputs:?}: {error}"));
    result(&answer, name).text()
}

fn apart(one: &Quantity, other: &Rational) -> Rational {
    (one.value() - other).abs()
}

fn tenths(value: i64, unit: &str) -> String {
    format!("{}.{} {unit}", value / 10, value % 10)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Both are rounded down with three figures, so an angle comes back within 3 %.
    #[test]
    fn angle_and_height_of_the_piston_are_inverse(angle in 10..150_i64, stroke in 200..1200_i64, more in 1..2000_i64) {
        let (stroke_text, rod) = (tenths(stroke, "mm"), tenths(stroke + more, "mm"));
        let angle_text = format!("{angle}°");
        let crank = [("stroke", stroke_text.as_str()), ("rod", rod.as_str())];
        let height = value("timing-height", &[&crank[..], &[("angle", &angle_text)]].concat(), "height", Unit::MILLIMETRE);
        prop_assert!(*height.value() <= ratio(stroke, 10));
        let height_text = height.text();
        let back = value("timing-angle", &[&crank[..], &[("height", &height_text)]].concat(), "angle", Unit::DEGREE);
        prop_assert!(apart(&back, &ratio(angle, 1)) <= ratio(angle * 3, 100), "{back} for {angle}°");
    }

    #[test]
    fn size_flow_and_pressure_of_a_nozzle_are_inverse(size in 20..100_i64, pressure in 500..5000_i64) {
        let (size_text, pressure_text) = (tenths(size, "").trim().to_owned(), format!("{pressure} psi"));
        let flow = value("nozzle-flow", &[("size", &size_text), ("pressure", &pressure_text)], "flow", Unit::US_GALLON_PER_MINUTE);
        let flow_text = flow.text();
        let back = value("nozzle-pressure", &[("size", &size_text), ("flow", &flow_text)], "pressure", Unit::PSI);
        prop_assert!(apart(&back, &ratio(pressure, 1)) <= ratio(pressure * 3, 100), "{back} for {pressure}");
        let again = number("nozzle-size", &[("flow", &flow_text), ("pressure", &pressure_text)], "size");
        let again = quantity(&format!("{again} mm"));
        prop_assert!(apart(&again, &ratio(size, 10)) <= ratio(size * 2, 1000) + ratio(1, 100), "{again} for {size_text}");
        let there = value("flow-at-pressure", &[("flow", &flow_text), ("pressure", &pressure_text), ("new-pressure", "4000 psi")], "new-flow", Unit::US_GALLON_PER_MINUTE);
        prop_assert!(apart(&there, &ratio(size, 10)) <= ratio(size * 2, 1000) + ratio(1, 100), "{there} for {size_text}");
    }

    #[test]
    fn hot_and_cold_lash_are_inverse(lash in 10..60_i64, valve in 50..200_i64, hot in 50..400_i64, block in 50..250_i64) {
        let typed = format!("0.{lash:02} mm");
        let (length, valve_hot, block_hot) = (format!("{valve} mm"), format!("{hot} °C"), format!("{block} °C"));
        let engine = [
            ("valve-length", length.as_str()),
            ("valve-temperature", valve_hot.as_str()),
            ("cylinder-length", length.as_str()),
            ("cylinder-temperature", block_hot.as_str()),
        ];
        let cold = calculated("cold-lash", &[&engine[..], &[("lash", &typed)]].concat());
        // A cylinder that grows by more than the lash leaves none when cold.
        prop_assume!(cold.is_ok());
        let cold = result(&cold.unwrap(), "cold-lash").value().text();
        let hot = value("hot-lash", &[&engine[..], &[("lash", &cold)]].concat(), "hot-lash", Unit::MILLIMETRE);
        prop_assert!(apart(&hot, &ratio(lash, 100)) <= ratio(2, 100), "{hot} for {typed}");
    }

    #[test]
    fn links_and_length_of_a_saw_chain_are_inverse(links in 30..200_i64, pitch in prop::sample::select(&["1/4 in", "0.325 in", "3/8 in", "0.404 in"][..])) {
        let links_text = links.to_string();
        let length = calculated("chain-loop", &[("pitch", pitch), ("links", &links_text)]).unwrap();
        let length = result(&length, "length").value_in(Unit::INCH).unwrap();
        // The length has four figures, so a little more of it holds as many links.
        let longer = Quantity::new(length.value() + ratio(1, 10), Unit::INCH, 3).text();
        prop_assert_eq!(number("chain-links", &[("pitch", pitch), ("length", &longer)], "links"), links.to_string());
    }

    #[test]
    fn both_ways_to_write_a_dilution_are_the_same(parts in 2..200_i64, total in 1..1000_i64) {
        let total = format!("{total} mL");
        let concentrate = |ratio: String, means| value("dilution", &[("total", &total), ("ratio", &ratio), ("means", means)], "concentrate", Unit::MILLILITRE);
        prop_assert_eq!(concentrate(format!("{parts}:1"), "added"), concentrate(format!("{}:1", parts + 1), "total"));
    }

    #[test]
    fn the_share_that_protects_protects(celsius in -52..0_i64, glycol in prop::sample::select(&["ethylene", "propylene"][..])) {
        let temperature = format!("{celsius} °C");
        let share = calculated("antifreeze-share", &[("temperature", &temperature), ("glycol", glycol)]);
        prop_assume!(share.is_ok());
        let share = result(&share.unwrap(), "share").value().text();
        let point = value("antifreeze-protection", &[("share", &share), ("glycol", glycol)], "freezing-point", Unit::DEGREE_CELSIUS);
        prop_assert!(*point.value() <= ratio(celsius, 1), "{share} freezes at {point}");
    }

    /// After draining and refilling, the system has at least the share that was wanted.
    #[test]
    fn a_refill_reaches_the_share(present in 1..60_i64, more in 1..30_i64, capacity in 10..200_i64) {
        let wanted = present + more;
        let inputs = [tenths(capacity, "L"), format!("{present} %"), format!("{wanted} %")];
        let volume = value("antifreeze-refill", &[("capacity", &inputs[0]), ("present", &inputs[1]), ("wanted", &inputs[2])], "volume", Unit::LITRE);
        let capacity = ratio(capacity, 10);
        let glycol = (&capacity - volume.value()) * ratio(present, 100) + volume.value();
        prop_assert!(glycol >= &capacity * ratio(wanted, 100), "{volume}");
        prop_assert!(*volume.value() <= capacity);
    }

    #[test]
    fn a_crossed_belt_is_longer_than_an_open_one(driver in 20..400_i64, driven in 20..400_i64, more in 1..2000_i64) {
        let inputs = [format!("{driver} mm"), format!("{driven} mm"), format!("{} mm", i64::midpoint(driver, driven) + more)];
        let length = |run| value("belt-length", &[("driver", &inputs[0]), ("driven", &inputs[1]), ("distance", &inputs[2]), ("run", run)], "length", Unit::MILLIMETRE);
        let (open, crossed) = (length("open"), length("crossed"));
        prop_assert!(open.value() <= crossed.value());
        // It is not shorter than around two pins, and not longer than around a rectangle.
        let distance = quantity(&inputs[2]);
        prop_assert!(*open.value() >= distance.value() * ratio(2, 1));
    }
}

/// An input with a tolerance of a thousandth of its value, or of two kelvins.
fn wide(input: &'static Input, typed: &str) -> Option<(Entered, Quantity, Rational)> {
    let is_number = matches!(input.takes, InputKind::Number(_));
    let unit = if is_number { " mm" } else { "" };
    let middle = Quantity::parse(&format!("{typed}{unit}")).ok()?;
    let is_temperature = middle.kind().name() == "temperature";
    let half = if is_temperature {
        ratio(2, 1)
    } else {
        middle.value() / ratio(1000, 1)
    };
    if !half.is_positive() {
        return None;
    }
    let end = |value: Rational| shown(&value, middle.unit(), is_number);
    let text = format!(
        "{} to {}",
        end(middle.value() - &half),
        end(middle.value() + &half)
    );
    let entered = input.parse(&text, Gallons::Unstated).ok()?;
    Some((entered, middle, half))
}

fn shown(value: &Rational, unit: Unit, is_number: bool) -> String {
    let text = Quantity::new(value.clone(), unit, 9).text();
    if is_number {
        text.replace("\u{a0}mm", "")
    } else {
        text
    }
}

/// The inputs of each published example, with tolerances, and random values within them.
#[test]
fn results_are_between_those_at_the_ends_of_the_tolerances() {
    let mut random = 7_u64;
    let mut next = || {
        random = random
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(random >> 40).unwrap() % 1001
    };
    let mut tried: BTreeMap<&str, usize> = BTreeMap::new();
    for row in rows("calculations.toml", "check") {
        let calculation = Calculation::named(text(&row, "of")).unwrap();
        if tried
            .get(calculation.name)
            .is_some_and(|tried| *tried >= 10)
        {
            continue;
        }
        let typed = row["inputs"].as_table().unwrap();
        let mut wides = Vec::new();
        let mut fixed = Vec::new();
        for (name, value) in typed {
            let (input, value) = (calculation.input(name).unwrap(), value.as_str().unwrap());
            match wide(input, value).filter(|_| input.may_vary) {
                Some(found) => wides.push((input, found)),
                None => fixed.push(input.parse(value, Gallons::Unstated).unwrap()),
            }
        }
        let ends = wides.iter().map(|(_, (entered, ..))| entered.clone());
        let ends: Vec<Entered> = fixed.iter().cloned().chain(ends).collect();
        let Ok(whole) = calculation.answer(&ends) else {
            continue;
        };
        for _ in 0..5 {
            let inside = wides.iter().map(|(input, (_, middle, half))| {
                let value = middle.value() + half * ratio(next() - 500, 500);
                let is_number = matches!(input.takes, InputKind::Number(_));
                let text = shown(&value, middle.unit(), is_number);
                input.parse(&text, Gallons::Unstated).unwrap()
            });
            let inside: Vec<Entered> = fixed.iter().cloned().chain(inside).collect();
            let answer = calculation.answer(&inside).unwrap();
            for (one, all) in answer.results.iter().zip(&whole.results) {
                let Some((least, most)) = all.range() else {
                    continue;
                };
                let one = one.value_in(least.unit()).unwrap_or_else(|| one.value());
                // The ends are rounded inwards by at most a twentieth of the range, and the result by a step.
                let slack = (most.value() - least.value()) / ratio(9, 1) + one.resolution();
                assert!(
                    *one.value() >= least.value() - &slack,
                    "{row}: {one} below {least}"
                );
                assert!(
                    *one.value() <= most.value() + &slack,
                    "{row}: {one} above {most}"
                );
                *tried.entry(calculation.name).or_default() += 1;
            }
        }
    }
    // These have no input with a tolerance, or steps without a range.
    let without = [
        "chain-size",
        "gear-ratio",
        "antifreeze-protection",
        "antifreeze-share",
    ];
    for calculation in Calculation::ALL {
        let name = calculation.name;
        assert!(
            tried.contains_key(name) || without.contains(&name),
            "{name}"
        );
    }
}
