//! Conversions between every pair of units of a kind, compared with other programs.
//!
//! 1. GNU units (Debian package `units`), run on random values.
//! 2. A UCUM library: its answers are in `reference/units_ucum.tsv`, which says how they were made.
//! 3. The crate `uom`, to the six digits of its factors.
//!
//! A unit that is missing from the tables here fails a test.

use std::io::Write;
use std::process::{Command, Stdio};

use benchleaf::quantity::{Kind, Limits, Quantity, Rational, Unit};

fn unit(symbol: &str) -> Unit {
    Unit::parse(symbol).unwrap_or_else(|error| panic!("{symbol}: {error}"))
}

/// All pairs of different units of the same kind.
fn pairs() -> Vec<(Unit, Unit)> {
    let with_others = |from: &Unit| {
        let from = *from;
        let others = Unit::ALL.iter().copied();
        others
            .filter(move |to| to.kind() == from.kind() && *to != from)
            .map(move |to| (from, to))
            .collect::<Vec<_>>()
    };
    Unit::ALL.iter().flat_map(with_others).collect()
}

/// The nearest float, because the other programs use floats.
fn float(value: &Rational) -> f64 {
    let part = |digits: String| digits.parse::<f64>().expect("digits");
    part(value.numer().to_string()) / part(value.denom().to_string())
}

fn converted(value: &Rational, from: Unit, to: Unit) -> f64 {
    let value = Quantity::new(value.clone(), from, 6);
    float(
        value
            .in_unit(to)
            .expect("the units are of one kind")
            .value(),
    )
}

/// Whether two floats differ by at most the fraction `part` of the greater one, or of `least` if both are near zero.
fn is_near(first: f64, second: f64, part: f64, least: f64) -> bool {
    (first - second).abs() <= part * first.abs().max(second.abs()).max(least)
}

/// The `least` of [`is_near`] for a kind. It is larger for temperatures, whose offsets cause cancellation.
fn least(kind: Kind) -> f64 {
    if kind == Kind::Temperature {
        1000.0
    } else {
        0.0
    }
}

// ---- 1. GNU units -----------------------------------------------------------------------------

/// The name of each unit in GNU units. Temperatures are functions there.
///
/// GNU units does not distinguish gauge from absolute pressure. They differ in the zero point, not in the factor.
const GNU_UNITS: &[(&str, &str)] = &[
    ("N·m", "N m"),
    ("kN·m", "kN m"),
    ("cN·m", "cN m"),
    ("N·mm", "N mm"),
    ("daN·m", "daN m"),
    ("ft·lbf", "ft lbf"),
    ("in·lbf", "in lbf"),
    ("ozf·in", "in lbf / 16"),
    ("kgf·m", "kgf m"),
    ("kgf·cm", "kgf cm"),
    ("mm", "mm"),
    ("cm", "cm"),
    ("m", "m"),
    ("µm", "um"),
    ("in", "inch"),
    ("thou", "mil"),
    ("ft", "ft"),
    ("mm²", "mm^2"),
    ("cm²", "cm^2"),
    ("in²", "in^2"),
    ("ft²", "ft^2"),
    ("Pa", "Pa"),
    ("kPa", "kPa"),
    ("MPa", "MPa"),
    ("bar", "bar"),
    ("mbar", "mbar"),
    ("psi", "psi"),
    ("kgf/cm²", "kgf/cm^2"),
    ("inHg", "inHg"),
    ("mmHg", "mmHg"),
    ("inH2O", "inH2O"),
    ("kPa(g)", "kPa"),
    ("bar(g)", "bar"),
    ("psig", "psi"),
    ("kgf/cm²(g)", "kgf/cm^2"),
    ("kPa(a)", "kPa"),
    ("bar(a)", "bar"),
    ("psia", "psi"),
    ("kgf/cm²(a)", "kgf/cm^2"),
    ("mL", "mL"),
    ("L", "L"),
    ("cm³", "cm^3"),
    ("in³", "in^3"),
    ("US fl oz", "usfloz"),
    ("US pt", "uspint"),
    ("US qt", "usquart"),
    ("US gal", "usgallon"),
    ("imp gal", "brgallon"),
    ("imp pt", "brpint"),
    ("imp qt", "brquart"),
    ("imp fl oz", "brfloz"),
    ("g", "g"),
    ("kg", "kg"),
    ("oz", "oz"),
    ("lb", "lb"),
    ("N", "N"),
    ("kN", "kN"),
    ("lbf", "lbf"),
    ("kgf", "kgf"),
    ("rpm", "rev/min"),
    ("rev/s", "rev/s"),
    ("m/s", "m/s"),
    ("km/h", "km/hour"),
    ("ft/min", "ft/min"),
    ("ft/s", "ft/s"),
    ("mi/h", "mile/hour"),
    ("Hz", "Hz"),
    ("kHz", "kHz"),
    ("s", "s"),
    ("ms", "ms"),
    ("min", "min"),
    ("h", "hour"),
    ("d", "day"),
    ("K", "tempK"),
    ("°C", "tempC"),
    ("°F", "tempF"),
    ("ΔK", "K"),
    ("Δ°C", "degC"),
    ("Δ°F", "degF"),
    ("°", "degree"),
    ("turn", "rev"),
    ("V", "V"),
    ("mV", "mV"),
    ("kV", "kV"),
    ("A", "A"),
    ("mA", "mA"),
    ("kA", "kA"),
    ("Ω", "ohm"),
    ("mΩ", "milliohm"),
    ("kΩ", "kiloohm"),
    ("MΩ", "megaohm"),
    ("W", "W"),
    ("kW", "kW"),
    ("hp", "hp"),
    ("PS", "metrichorsepower"),
    ("L/min", "L/min"),
    ("mL/min", "mL/min"),
    ("L/h", "L/hour"),
    ("imp gal/min", "brgallon/min"),
    ("imp gal/h", "brgallon/hour"),
    ("V·A", "V A"),
    ("kV·A", "kV A"),
    ("N/mm", "N/mm"),
    ("lbf/in", "lbf/in"),
    ("US gal/min", "usgallon/min"),
    ("US gal/h", "usgallon/hour"),
    (":1", "1"),
    ("%", "percent"),
];

fn gnu_name(unit: Unit) -> &'static str {
    let known = GNU_UNITS
        .iter()
        .find(|(symbol, _)| *symbol == unit.symbol());
    known.map_or_else(
        || panic!("{unit} has no name in GNU units here"),
        |(_, name)| name,
    )
}

/// Values from millionths to millions, the same in every run.
fn values() -> impl Iterator<Item = Rational> {
    // Knuth's multiplier for 64-bit numbers. The upper bits are random enough.
    let mut state = 20_261_125_u64;
    std::iter::from_fn(move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let (digits, places) = (state >> 44, (state >> 32) % 7);
        Some(Rational::new(
            (digits + 1).into(),
            10_u64.pow(u32::try_from(places).ok()?).into(),
        ))
    })
}

#[test]
fn conversions_match_gnu_units() {
    const EACH: usize = 15;
    let mut cases = Vec::new();
    let mut values = values();
    for (from, to) in pairs() {
        cases.extend(values.by_ref().take(EACH).map(|value| (value, from, to)));
    }
    assert!(cases.len() > 5000, "thousands of values");

    let ask = |(value, from, to): &(Rational, Unit, Unit)| {
        let value = float(value);
        let (from, to) = (gnu_name(*from), gnu_name(*to));
        if from.starts_with("temp") {
            format!("{from}({value:?})\n{to}\n")
        } else {
            format!("{value:?} ({from})\n{to}\n")
        }
    };
    let questions: String = cases.iter().map(ask).collect();
    let mut program = Command::new("units")
        .args([
            "--quiet",
            "--terse",
            "--one-line",
            "--output-format",
            "%.17g",
        ])
        .env("LC_ALL", "C.UTF-8")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("GNU units is there; Debian's package is `units`");
    let mut input = program.stdin.take().expect("a pipe");
    let output = std::thread::scope(|scope| {
        // Writing everything before reading would fill both pipes and block.
        scope.spawn(move || {
            input
                .write_all(questions.as_bytes())
                .expect("the program reads its input");
        });
        program.wait_with_output().expect("the program answers")
    });
    let answers = String::from_utf8(output.stdout).expect("text");
    let answers: Vec<_> = answers.lines().collect();
    assert_eq!(answers.len(), cases.len(), "an answer each");
    for (answer, (value, from, to)) in answers.iter().zip(&cases) {
        let theirs: f64 = answer
            .trim()
            .parse()
            .unwrap_or_else(|_| panic!("{from} to {to}: {answer}"));
        let ours = converted(value, *from, *to);
        assert!(
            is_near(ours, theirs, 1e-14, least(from.kind())),
            "{value} {from} are {ours} {to}, by GNU units {theirs}"
        );
    }
}

// ---- 2. UCUM ----------------------------------------------------------------------------------

#[test]
fn conversions_match_ucum() {
    let table = include_str!("reference/units_ucum.tsv");
    let rows: Vec<Vec<_>> = table
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split('\t').collect())
        .collect();
    let mut checked = Vec::new();
    for row in &rows {
        let [value, from, gives, to, within] = row[..] else {
            panic!("five fields: {row:?}")
        };
        let (from, to) = (unit(from), unit(to));
        let value = Quantity::parse(&format!("{value} {from}")).expect("a value");
        let theirs: f64 = gives.parse().expect("a number");
        let ours = converted(value.value(), from, to);
        let within: f64 = within.parse().expect("a number");
        assert!(
            is_near(ours, theirs, within, least(from.kind())),
            "{value} are {ours} {to}, by UCUM {theirs}"
        );
        checked.push((from, to));
    }
    for pair in pairs() {
        assert!(checked.contains(&pair), "{pair:?} isn't in the table");
    }
}

// ---- 3. uom -----------------------------------------------------------------------------------

/// A unit, with the functions of `uom` that convert it to the base unit and back.
struct ByUom {
    unit: &'static str,
    to_base: fn(f64) -> f64,
    from_base: fn(f64) -> f64,
}

macro_rules! by_uom {
    ($($quantity:ident in $module:ident: [$($unit:literal = $name:ident),+ $(,)?];)+) => {
        vec![$(vec![$(ByUom {
            unit: $unit,
            to_base: |value| uom::si::f64::$quantity::new::<uom::si::$module::$name>(value).value,
            from_base: |base| {
                let mut quantity = uom::si::f64::$quantity::new::<uom::si::$module::$name>(1.0);
                quantity.value = base;
                quantity.get::<uom::si::$module::$name>()
            },
        },)+],)+]
    };
}

#[test]
fn conversions_match_uom() {
    let kinds: Vec<Vec<ByUom>> = by_uom! {
        Torque in torque: [
            "N·m" = newton_meter, "kN·m" = kilonewton_meter, "cN·m" = centinewton_meter,
            "ft·lbf" = pound_force_foot, "in·lbf" = pound_force_inch, "ozf·in" = ounce_force_inch,
            "kgf·m" = kilogram_force_meter, "N·mm" = newton_millimeter, "daN·m" = decanewton_meter,
        ];
        Length in length: [
            "mm" = millimeter, "cm" = centimeter, "m" = meter, "µm" = micrometer, "in" = inch,
            "thou" = mil, "ft" = foot,
        ];
        Area in area: [
            "mm²" = square_millimeter, "cm²" = square_centimeter, "in²" = square_inch,
            "ft²" = square_foot,
        ];
        Pressure in pressure: [
            "Pa" = pascal, "kPa" = kilopascal, "MPa" = megapascal, "bar" = bar, "psi" = psi,
            "kgf/cm²" = kilogram_force_per_square_centimeter, "inHg" = inch_of_mercury,
            "mmHg" = millimeter_of_mercury, "inH2O" = inch_of_water, "mbar" = millibar,
        ];
        Volume in volume: [
            "mL" = milliliter, "L" = liter, "cm³" = cubic_centimeter, "in³" = cubic_inch, "US fl oz" = fluid_ounce,
            "US pt" = pint_liquid, "US qt" = quart_liquid, "US gal" = gallon,
            "imp gal" = gallon_imperial, "imp fl oz" = fluid_ounce_imperial,
        ];
        Mass in mass: ["g" = gram, "kg" = kilogram, "oz" = ounce, "lb" = pound];
        Force in force: [
            "N" = newton, "kN" = kilonewton, "lbf" = pound_force, "kgf" = kilogram_force,
        ];
        AngularVelocity in angular_velocity: [
            "rpm" = revolution_per_minute, "rev/s" = revolution_per_second,
        ];
        Velocity in velocity: [
            "m/s" = meter_per_second, "km/h" = kilometer_per_hour, "ft/min" = foot_per_minute,
            "ft/s" = foot_per_second, "mi/h" = mile_per_hour,
        ];
        Frequency in frequency: ["Hz" = hertz, "kHz" = kilohertz];
        Time in time: [
            "s" = second, "ms" = millisecond, "min" = minute, "h" = hour, "d" = day,
        ];
        ThermodynamicTemperature in thermodynamic_temperature: [
            "K" = kelvin, "°C" = degree_celsius, "°F" = degree_fahrenheit,
        ];
        TemperatureInterval in temperature_interval: [
            "ΔK" = kelvin, "Δ°C" = degree_celsius, "Δ°F" = degree_fahrenheit,
        ];
        Angle in angle: ["°" = degree, "turn" = revolution];
        ElectricPotential in electric_potential: [
            "V" = volt, "mV" = millivolt, "kV" = kilovolt,
        ];
        ElectricCurrent in electric_current: [
            "A" = ampere, "mA" = milliampere, "kA" = kiloampere,
        ];
        ElectricalResistance in electrical_resistance: [
            "Ω" = ohm, "mΩ" = milliohm, "kΩ" = kiloohm, "MΩ" = megaohm,
        ];
        Power in power: [
            "W" = watt, "kW" = kilowatt, "hp" = horsepower, "PS" = horsepower_metric,
        ];
        VolumeRate in volume_rate: [
            "L/min" = liter_per_minute, "US gal/min" = gallon_per_minute,
        ];
    };
    for (from, to) in kinds.iter().flat_map(|kind| {
        let others = |from| kind.iter().map(move |to| (from, to));
        kind.iter().flat_map(others)
    }) {
        let (ours, theirs) = (unit(from.unit), unit(to.unit));
        for value in values().take(20) {
            let expected = (to.from_base)((from.to_base)(float(&value)));
            let ours = converted(&value, ours, theirs);
            assert!(
                is_near(ours, expected, 5e-6, 0.0),
                "{value} {} are {ours} {}, by uom {expected}",
                from.unit,
                to.unit
            );
        }
    }
}

// ---- not covered by these programs -----------------------------------------------------------------

#[test]
fn a_temperature_tolerance_is_converted_by_the_factor_and_its_bounds_by_the_scale() {
    // GNU units: tempC(75) is tempF(167), tempC(85) is tempF(185); 5 degC are 9 degF.
    let limits = Limits::parse("80 °C ± 5 °C").expect("limits");
    let fahrenheit = limits
        .rounded_in(Unit::DEGREE_FAHRENHEIT)
        .expect("a temperature");
    assert_eq!(Ok(fahrenheit), Limits::parse("176 °F ± 9 °F"));
}
