//! Quantities: units, parsing, printing, errors and conversions.
//!
//! 1. The table of units is compared with `reference/units.toml`, which names the sources of its figures.
//! 2. Each form of input, with the standard form that is printed.
//! 3. Each error: its range, message and help.
//! 4. Conversions: worked examples of NIST SP 811, temperatures, and common practice of the trade.
//! 5. Properties, tested with random values by proptest.

use std::collections::BTreeSet;

use benchleaf::quantity::{Error, Gallons, Kind, Limits, Quantity, Rational, Spec, Unit, Verdict};
use proptest::prelude::*;
use toml::{Table, Value};

const REFERENCE: &str = include_str!("reference/units.toml");

// ---- helpers ----------------------------------------------------------------------------------

fn reference(rows: &str) -> Vec<Table> {
    let table: Table = REFERENCE.parse().expect("the reference is TOML");
    let rows = table[rows].as_array().expect("an array of tables").clone();
    rows.into_iter()
        .map(|row| row.as_table().expect("a table").clone())
        .collect()
}

fn text<'t>(row: &'t Table, key: &str) -> &'t str {
    row.get(key)
        .and_then(Value::as_str)
        .unwrap_or_else(|| panic!("{row} has no {key}"))
}

fn unit(text: &str) -> Unit {
    Unit::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn quantity(text: &str) -> Quantity {
    Quantity::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn limits(text: &str) -> Limits {
    Limits::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// The exact value of a decimal, read without the parser under test.
fn decimal(text: &str) -> Rational {
    let (sign, digits) = text
        .strip_prefix('-')
        .map_or((1, text), |digits| (-1, digits));
    let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
    let numerator: i128 = format!("{whole}{part}").parse().expect("digits");
    Rational::new(
        (sign * numerator).into(),
        10_i128
            .pow(u32::try_from(part.len()).expect("short"))
            .into(),
    )
}

/// Text with its special spaces replaced by plain ones, so that the tests are readable.
fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}

fn converted(from: &str, to: &str) -> String {
    plain(
        &quantity(from)
            .in_unit(unit(to))
            .expect("the units are of one kind")
            .text(),
    )
}

fn limits_in(from: &str, to: &str) -> String {
    plain(
        &limits(from)
            .text_in(unit(to))
            .expect("the units are of one kind"),
    )
}

/// Checks rows of `typed => printed`.
fn rows(rows: &str, print: impl Fn(&str) -> String) {
    for row in rows.lines().map(str::trim).filter(|row| !row.is_empty()) {
        let (typed, printed) = row.split_once(" => ").expect("an arrow");
        let typed = typed.trim_end();
        assert_eq!(plain(&print(typed)), printed, "{typed}");
    }
}

// ---- 1. the table -----------------------------------------------------------------------------

#[test]
fn factors_match_the_reference() {
    for row in reference("unit") {
        let (from, to) = (unit(text(&row, "symbol")), unit(text(&row, "to")));
        let ours = from.factor() / to.factor();
        let factor = text(&row, "factor");
        let theirs = decimal(factor);
        if row["exact"].as_bool() == Some(true) {
            assert_eq!(ours, theirs, "{from}");
        } else {
            // Within one unit of the last printed digit.
            let places = factor.split_once('.').map_or(0, |(_, part)| part.len());
            let last = decimal(&format!("0.{}1", "0".repeat(places - 1)));
            assert!(
                (&ours - &theirs) < last && (&theirs - &ours) < last,
                "{from}: {ours}"
            );
        }
        // SP 811 rounds to the printed digits.
        if let Some(printed) = row.get("sp811").and_then(Value::as_str) {
            let places = printed.split_once('.').map_or(0, |(_, part)| part.len());
            let places = u8::try_from(places).expect("few digits");
            let rounded = Quantity::new(ours, to, places).text();
            let rounded = rounded.replace('\u{202f}', "");
            let number = rounded.split('\u{a0}').next().expect("a number");
            assert_eq!(number, printed, "{from} in {to}, SP 811 B.8");
        }
    }
}

#[test]
fn kinds_and_spellings_match_the_reference() {
    for row in reference("unit") {
        let known = unit(text(&row, "symbol"));
        assert_eq!(known.symbol(), text(&row, "symbol"));
        assert_eq!(
            Some(known.kind()),
            Kind::from_name(text(&row, "kind")),
            "{known}"
        );
        for spelling in row["spellings"].as_array().expect("spellings") {
            assert_eq!(unit(spelling.as_str().expect("text")), known, "{spelling}");
        }
    }
}

#[test]
fn every_unit_is_in_the_reference() {
    let listed: BTreeSet<_> = reference("unit")
        .iter()
        .map(|row| text(row, "symbol").to_owned())
        .collect();
    for unit in Unit::ALL {
        // Temperatures have an offset, too, and are in another table.
        if unit.kind() != Kind::Temperature {
            assert!(
                listed.contains(unit.symbol()),
                "{unit} is checked against nothing"
            );
        }
    }
}

#[test]
fn temperatures_match_the_reference() {
    for row in reference("temperature") {
        let (from, to) = (unit(text(&row, "from")), unit(text(&row, "to")));
        let (here, there) = (decimal(text(&row, "value")), decimal(text(&row, "gives")));
        let value = Quantity::new(here.clone(), from, 2);
        assert_eq!(*value.in_unit(to).expect("a temperature").value(), there);
        let back = Quantity::new(there, to, 2);
        assert_eq!(*back.in_unit(from).expect("a temperature").value(), here);
    }
}

#[test]
fn differences_of_temperatures_have_no_offset() {
    for row in reference("temperature_difference") {
        let factor = unit(text(&row, "from")).factor() / unit(text(&row, "to")).factor();
        let printed = Quantity::new(factor, Unit::PERCENT, 7).text();
        assert!(
            printed
                .replace('\u{202f}', "")
                .starts_with(text(&row, "sp811"))
        );
    }
    let warm = limits("90 °C ± 9 °F");
    assert_eq!(plain(&warm.lower().expect("a bound").text()), "85.0 °C");
    assert_eq!(limits_in("90 °C ± 10 °C", "°F"), "194 °F ± 18 °F");
}

// ---- 2. forms ---------------------------------------------------------------------------------

#[test]
fn every_form_is_printed_in_the_standard_form() {
    rows(
        r#"
        9 N·m ± 1 N·m                   => 9 N·m ± 1 N·m
        (9 ± 1) N·m                     => 9 N·m ± 1 N·m
        9 ± 1 N·m                       => 9 N·m ± 1 N·m
        9 +/- 1 N·m                     => 9 N·m ± 1 N·m
        9±1Nm                           => 9 N·m ± 1 N·m
        9 N·m (± 1 N·m)                 => 9 N·m ± 1 N·m
        9.0 N·m ± 0.5 N·m               => 9.0 N·m ± 0.5 N·m
        9 N·m ± 10 %                    => 9 N·m ± 10 %
        9 Nm ±10%                       => 9 N·m ± 10 %
        20 mm ± 2 thou                  => 20 mm ± 2 thou
        20 % ± 5 %                      => 20 % ± 5 %
        8 to 10 N·m                     => 8 N·m to 10 N·m
        8 N·m to 10 N·m                 => 8 N·m to 10 N·m
        (8 to 10) N·m                   => 8 N·m to 10 N·m
        8–10 N·m                        => 8 N·m to 10 N·m
        8-10 N·m                        => 8 N·m to 10 N·m
        8 Nm - 10 Nm                    => 8 N·m to 10 N·m
        8 N-m-10 N-m                    => 8 N·m to 10 N·m
        8 N·m to 100 in-lb              => 8 N·m to 100 in·lbf
        -10 to -5 °C                    => −10 °C to −5 °C
        −10 °C to 40 °C                 => −10 °C to 40 °C
        9 N·m +1/−0.5                   => 9 N·m (+1/−0.5 N·m)
        9 N·m +1/-0.5 N·m               => 9 N·m (+1/−0.5 N·m)
        9 N·m +1 -0.5 N·m               => 9 N·m (+1/−0.5 N·m)
        9 N·m -0.5/+1                   => 9 N·m (+1/−0.5 N·m)
        9 N·m (+1/−0.5 N·m)             => 9 N·m (+1/−0.5 N·m)
        9 +1/-0.5 N·m                   => 9 N·m (+1/−0.5 N·m)
        20 mm +2/-1 thou                => 20 mm (+2/−1 thou)
        20 mm +2 thou/-0.1 mm           => 20 mm (+2 thou/−0.1 mm)
        20 mm +0.1/-0                   => 20 mm (+0.1/−0 mm)
        80 in·lbf (71 to 88)            => 80 in·lbf (71 to 88)
        80 in-lb (71 in-lb to 88 in-lb) => 80 in·lbf (71 to 88)
        5 °C (-10 to 40)                => 5 °C (−10 to 40)
        at least 15 bar                 => at least 15 bar
        At  most 0.10 mm                => at most 0.10 mm
        0.7 mm                          => 0.7 mm
        .7mm                            => 0.7 mm
        50:1                            => 50:1
        at least 8.5:1                  => at least 8.5:1
        1 1/2 in                        => 1 1/2 in
        1½ inch                         => 1 1/2 in
        3/8"                            => 3/8 in
        6/16 in ± 1/64 in               => 6/16 in ± 1/64 in
        90°                             => 90°
        90 deg ± 5 degrees              => 90° ± 5°
        1/4 turn                        => 1/4 turn
        5/6 turn                        => 5/6 turn
        1-1/2 in                        => 1 1/2 in
        2-63/64 in                      => 2 63/64 in
        1-2 in                          => 1 in to 2 in
        3/4 hp                          => 3/4 hp
        1/2 US gal                      => 1/2 US gal
        10 000 rpm                      => 10 000 rpm
        3 100 rpm                       => 3100 rpm
        3000 1/min                      => 3000 rpm
        35 ft. lbs.                     => 35 ft·lbf
        1 US gal                        => 1 US gal
        10 inH₂O                        => 10 inH2O
        20 deg C                        => 20 °C
        20 ° C                          => 20 °C
        10 kohm                         => 10 kΩ
        50 μm                           => 50 µm
        "#,
        |typed| limits(typed).text(),
    );
}

#[test]
fn the_units_of_shops_are_read() {
    // Common practice, no source.
    rows(
        r"
        14 AWG                => 14 AWG
        AWG 14                => 14 AWG
        2/0 AWG               => 2/0 AWG
        AWG 4/0               => 4/0 AWG
        3600 r.p.m.           => 3600 rpm
        3000 1/min            => 3000 rpm
        3000/min              => 3000 rpm
        3000 min⁻¹            => 3000 rpm
        12 VDC                => 12 V
        12.6 V DC             => 12.6 V
        61 cu in              => 61 in³
        90 ºC                 => 90 °C
        8‒10 N·m              => 8 N·m to 10 N·m
        250 mbar              => 250 mbar
        1.265 SG              => 1.265 SG
        85 dBA                => 85 dB(A)
        250 mfd               => 250 µF
        18 Ah                 => 18 A·h
        2.5 kVA               => 2.5 kV·A
        min 15 bar            => at least 15 bar
        15 bar min.           => at least 15 bar
        not less than 15 bar  => at least 15 bar
        >= 15 bar             => at least 15 bar
        max. 0.10 mm          => at most 0.10 mm
        0.10 mm maximum       => at most 0.10 mm
        ≤0.10 mm              => at most 0.10 mm
        up to 25 N·m          => at most 25 N·m
        between 8 and 10 N·m  => 8 N·m to 10 N·m
        about 9 N·m           => 9 N·m
        approx. 9 N·m         => 9 N·m
        ~9 N·m                => 9 N·m
        5 min                 => 5 min
        5 min max             => at most 5 min
        20 N·m (177 in·lbf)   => 20 N·m
        20 N·m / 15 ft-lb     => 20 N·m
        ",
        |typed| {
            let spec = Spec::parse(typed).unwrap_or_else(|error| panic!("{typed}: {error}"));
            spec.text()
        },
    );
}

#[test]
fn the_gallon_that_is_meant_is_read() {
    for (typed, us, imperial) in [
        ("1 gal", "1 US gal", "1 imp gal"),
        ("2 qt", "2 US qt", "2 imp qt"),
        ("1 1/2 pt", "1 1/2 US pt", "1 1/2 imp pt"),
        ("12 fl. oz.", "12 US fl oz", "12 imp fl oz"),
        ("3 gpm", "3 US gal/min", "3 imp gal/min"),
        ("0.5 gal/h", "0.5 US gal/h", "0.5 imp gal/h"),
        ("1 US gal", "1 US gal", "1 US gal"),
        ("1 imp gal", "1 imp gal", "1 imp gal"),
    ] {
        let read = |gallons| plain(&Quantity::parse_with(typed, gallons).expect(typed).text());
        assert_eq!(read(Gallons::Us), us);
        assert_eq!(read(Gallons::Imperial), imperial);
        let is_stated = typed.contains("US") || typed.contains("imp");
        assert_eq!(Quantity::parse(typed).is_ok(), is_stated, "{typed}");
    }
}

#[test]
fn no_break_and_thin_spaces_are_read_as_spaces() {
    let thin = limits("10\u{202f}000\u{2009}rpm\u{a0}±\u{a0}100\u{a0}rpm");
    assert_eq!(thin, limits("10000 rpm ± 100 rpm"));
    assert_eq!(
        quantity("0.112\u{202f}984\u{202f}8 N·m"),
        quantity("0.1129848 N·m")
    );
}

#[test]
fn printed_values_have_no_break_spaces() {
    assert_eq!(limits("9 N·m ± 1 N·m").text(), "9\u{a0}N·m ± 1\u{a0}N·m");
    assert_eq!(quantity("10000 rpm").text(), "10\u{202f}000\u{a0}rpm");
    assert_eq!(quantity("1 1/2 in").text(), "1\u{a0}1/2\u{a0}in");
    assert_eq!(quantity("3 US fl oz").text(), "3\u{a0}US\u{a0}fl\u{a0}oz");
}

#[test]
fn a_torque_may_be_followed_by_an_angle() {
    rows(
        r"
        20 N·m + 90°                    => 20 N·m + 90°
        20 N·m ± 2 N·m + 90 deg ± 5 deg => 20 N·m ± 2 N·m + 90° ± 5°
        (20 ± 2) Nm + 1/4 turn          => 20 N·m ± 2 N·m + 1/4 turn
        15 to 20 ft-lb + 90° to 100°    => 15 ft·lbf to 20 ft·lbf + 90° to 100°
        20 N·m +1/-0.5 + 90°            => 20 N·m (+1/−0.5 N·m) + 90°
        9 N·m                           => 9 N·m
        ",
        |typed| {
            Spec::parse(typed)
                .unwrap_or_else(|error| panic!("{typed}: {error}"))
                .text()
        },
    );
    let spec = Spec::parse("20 N·m + 90°").expect("a spec");
    assert_eq!(
        plain(&spec.text_in(Unit::FOOT_POUND).expect("a torque")),
        "14.8 ft·lbf + 90°"
    );
}

#[test]
fn bounds_are_exact() {
    let bounds = |text: &str| {
        let limits = limits(text);
        let show = |bound: Option<Quantity>| bound.map(|bound| plain(&bound.text()));
        (show(limits.lower()), show(limits.upper()))
    };
    let both = |lower: &str, upper: &str| (Some(lower.to_owned()), Some(upper.to_owned()));
    assert_eq!(bounds("9 N·m ± 10 %"), both("8.1 N·m", "9.9 N·m"));
    assert_eq!(bounds("20 mm ± 2 thou"), both("19.9492 mm", "20.0508 mm"));
    assert_eq!(bounds("9 N·m +1/−0.5"), both("8.5 N·m", "10 N·m"));
    assert_eq!(bounds("-12 V ± 10 %"), both("−13.2 V", "−10.8 V"));
    assert_eq!(bounds("1 1/2 in ± 1/8 in"), both("1.375 in", "1.625 in"));
    assert_eq!(bounds("0.7 mm"), (None, None));
    assert_eq!(bounds("at least 15 bar"), (Some("15 bar".to_owned()), None));
}

// ---- 3. errors --------------------------------------------------------------------------------

/// An error as text: the input, a mark below the range of the error (`|` if something is missing there), the message
/// and the help.
fn render_error(text: &str, error: &Error) -> String {
    let range = error.range();
    let before = text[..range.start].chars().count();
    let length = text[range].chars().count();
    let mark = if length == 0 {
        "|".to_owned()
    } else {
        "^".repeat(length)
    };
    let help = error
        .help()
        .map(|help| format!("\nhelp: {help}"))
        .unwrap_or_default();
    plain(&format!(
        "{text}\n{}{mark}\n{error}{help}",
        " ".repeat(before)
    ))
}

/// Checks the errors of some inputs. Each block is the text of [`render_error`], whose first line is the input.
fn assert_errors<T: std::fmt::Debug>(blocks: &str, parse: impl Fn(&str) -> Result<T, Error>) {
    let lines: Vec<_> = blocks
        .lines()
        .map(|line| line.get(8..).unwrap_or_default())
        .collect();
    for block in lines.join("\n").trim_matches('\n').split("\n\n") {
        let text = block.lines().next().expect("a text");
        let error = match parse(text) {
            Ok(value) => panic!("`{text}` was read as {value:?}"),
            Err(error) => error,
        };
        assert_eq!(render_error(text, &error), block.trim_end());
    }
}

#[test]
fn invalid_numbers_are_reported_with_a_correction() {
    assert_errors(
        r"
        08 N·m
        ^^
        expected a number without a leading zero, found `08`
        help: write `8`, or `0.8` if the point is missing

        tight
        ^^^^^
        expected a number, found `tight`

        at least
                |
        expected a number, found the end of the text

        9 N·m ±
               |
        expected a number, found the end of the text

        3,100 rpm
        ^^^^^
        expected a number without separators, found `3,100`
        help: write `3100`, or `3.10` if a decimal comma was meant

        1,234,567 Pa
        ^^^^^^^^^
        expected a number without separators, found `1,234,567`
        help: write `1234567`

        1.234,5 mm
        ^^^^^^^
        expected a number without separators, found `1.234,5`
        help: write `1234.5`

        3'100 rpm
        ^^^^^
        expected a number without separators, found `3'100`
        help: write `3100`

        9,5 N·m
        ^^^
        expected a decimal point, found the comma in `9,5`
        help: write `9.5`

        0,125 in
        ^^^^^
        expected a decimal point, found the comma in `0,125`
        help: write `0.125`

        9. N·m
           ^^^
        expected a digit after the decimal point, found `N·m`

        1234567890123456789 mm
        ^^^^^^^^^^^^^^^^^^^
        expected at most 18 digits in a number, found 19

        1/0 in
        ^^^
        expected a fraction with a denominator above zero, found `1/0`
        help: a lower deviation of zero is written with its sign, as in `+1/−0`

        20/25 psi
        ^^^^^
        expected a number or a range before `psi`, found `20/25`, which can be a range or a fraction
        help: write `20 psi to 25 psi` for a range, or `0.8 psi` for a fraction

        1500/1800 rpm
        ^^^^^^^^^
        expected a number or a range before `rpm`, found `1500/1800`, which can be a range or a fraction
        help: write `1500 rpm to 1800 rpm` for a range, or decimals for a fraction

        1800/900 rpm
        ^^^^^^^^
        expected a number or a range before `rpm`, found `1800/900`, which can be a range or a fraction
        help: write `900 rpm to 1800 rpm` for a range, or `2 rpm` for a fraction

        1/2 N·m
        ^^^
        expected a number or a range before `N·m`, found `1/2`, which can be a range or a fraction
        help: write `1 N·m to 2 N·m` for a range, or `0.5 N·m` for a fraction

        3/5 in
        ^^^
        expected a number or a range before `in`, found `3/5`, which can be a range or a fraction
        help: write `3 in to 5 in` for a range, or `0.6 in` for a fraction

        1/3 ft
        ^^^
        expected a number or a range before `ft`, found `1/3`, which can be a range or a fraction
        help: write `1 ft to 3 ft` for a range, or decimals for a fraction

        9 1/2 N·m
        ^^^^^
        expected a decimal number before `N·m`, found the fraction `9 1/2`
        help: write `9.5 N·m`
        ",
        Limits::parse,
    );
}

#[test]
fn unknown_units_are_reported_with_a_suggestion() {
    assert_errors(
        r"
        9
         |
        expected a unit after `9`, found the end of the text
        help: write the number with its unit, as in `9 N·m`

        9 ± 1
         |
        expected a unit after `9`, found the end of the text
        help: write the number with its unit, as in `9 N·m`

        9 ft-bls
          ^^^^^^
        expected a unit, found `ft-bls`
        help: write `ft·lbf`

        9 mpa
          ^^^
        expected a unit, found `mpa`

        9 Mpa
          ^^^
        expected a unit, found `Mpa`
        help: write `MPa`

        9 mPa
          ^^^
        expected a unit, found `mPa`
        help: write `0.009 Pa`

        250 hPa
            ^^^
        expected a unit, found `hPa`
        help: write `25 kPa`

        5 dL ± 1 dL
          ^^
        expected a unit, found `dL`
        help: write `0.5 L`

        9 rmp
          ^^^
        expected a unit, found `rmp`

        2 gal
          ^^^
        expected a US or an imperial unit, found `gal`
        help: write `US gal` or `imp gal`; a shop says which it means with `gallons` in `shop.toml`

        9 furlongs
          ^^^^^^^^
        expected a unit, found `furlongs`

        90 C
           ^
        expected a unit, found `C`
        help: write `°C` for degrees Celsius

        9 ft/lbs
          ^^^^^^
        expected a unit, found `ft/lbs`
        help: write `ft·lbf`: a torque is a product, not a quotient

        1:50
         ^^^
        expected a ratio to 1, found `:50`
        help: write it with 1 last, as in `50:1`
        ",
        Limits::parse,
    );
}

#[test]
fn contradictory_limits_are_reported() {
    assert_errors(
        r"
        9 N·m ± 1 mm
                  ^^
        expected a torque in `N·m` or the like, found `mm`, a length

        8 N·m to 10 bar
                    ^^^
        expected a torque in `N·m` or the like, found `bar`, a pressure

        9 % ± 1 mm
                ^^
        expected a percentage in `%` or the like, found `mm`, a length

        9 N·m (70 to 88 in·lbf)
                        ^^^^^^
        expected the bounds in `N·m`, found `in·lbf`

        9.8 N·m (7.2 ft·lbf)
                           ^
        expected `to` and an upper bound, found `)`

        9 N·m ± -1 N·m
                ^^
        expected a tolerance above zero, found `−1`

        9 N·m ± 0 N·m
                ^
        expected a tolerance above zero, found `0`
        help: no tool meets a tolerance of zero: leave it out, or say what is allowed

        0 V ± 10 %
              ^^
        expected a tolerance above zero, found `10`
        help: no tool meets a tolerance of zero: leave it out, or say what is allowed

        90 °C ± 10 %
                ^^^^
        expected a tolerance in `°C`, found a percentage
        help: a percentage of a value on this scale has no meaning, because its zero is arbitrary

        10 to 8 N·m
        ^^^^^^^^^^^
        expected the lower limit first, found `10 to 8 N·m`
        help: write `8 N·m to 10 N·m`

        8 to 8 N·m
        ^^^^^^^^^^
        expected two different limits, found `8 to 8 N·m`
        help: write the value once if it is a nominal

        90 N·m (71 to 88)
                ^^^^^^^^
        expected bounds on both sides of the nominal, found `71 to 88`

        9 mm +1
               |
        expected a minus before the lower deviation, found the end of the text

        9 N·m + 1 N·m
                ^^^^^
        expected an angle to turn after the `+`, found `1 N·m`
        help: write the angle with its unit, as in `20 N·m + 90°`, or a tolerance to one side with both deviations, as in `9 N·m +1/−0 N·m`

        20 N·m + 90°
               ^^^^^
        expected limits without an angle to turn, found `+ 90°`
        ",
        Limits::parse,
    );
}

#[test]
fn trailing_text_is_reported() {
    assert_errors(
        r"
        (9 ± 1 N·m
                  |
        expected `)`, found the end of the text

        9 N·m or so
              ^^^^^
        expected the end of the text, found `or so`

        15 bar, cold
              ^^^^^^
        expected the end of the text, found `, cold`
        ",
        Limits::parse,
    );
}

#[test]
fn an_empty_text_has_its_own_error() {
    for text in ["", " \u{a0}"] {
        let error = Limits::parse(text).expect_err("nothing");
        assert_eq!(
            error.message(),
            "expected a value with its unit, found nothing"
        );
        let help = "write one such as `9 N·m ± 1 N·m` or `at least 15 bar`";
        assert_eq!(error.help().as_deref(), Some(help));
    }
}

#[test]
fn specs_quantities_and_units_have_their_own_errors() {
    assert_errors(
        r"
        15 bar + 90°
               ^^^^^
        expected a torque before the angle to turn, found `bar`, a pressure

        20 N·m + 90° or so
                     ^^^^^
        expected the end of the text, found `or so`
        ",
        Spec::parse,
    );
    assert_errors(
        r"
        9 N·m ± 1 N·m
              ^^^^^^^
        expected one value without limits, found `± 1 N·m`

        at least 15 bar
        ^^
        expected a number, found `at`
        ",
        Quantity::parse,
    );
    assert_errors(
        r"
        ± N·m
        ^
        expected a unit, found `±`
        ",
        Unit::parse,
    );
}

#[test]
fn a_long_text_is_abbreviated_in_errors_and_parsed_fast() {
    let long = format!("9 {}", "Nm ".repeat(100_000));
    let message = Limits::parse(&long).expect_err("no unit").message();
    assert!(message.chars().count() < 80, "{message}");
    for text in [
        "9".repeat(1_000_000),
        "(".repeat(1_000_000),
        "9 N ".repeat(250_000),
    ] {
        assert!(Spec::parse(&text).is_err());
    }
}

// ---- 4. conversions and questions -------------------------------------------------------------

#[test]
fn worked_examples_of_sp_811_are_reproduced() {
    // NIST SP 811 (2008), B.7.2: 36 ft = 10.9728 m = 11.0 m.
    assert_eq!(
        *quantity("36 ft")
            .in_unit(Unit::METRE)
            .expect("a length")
            .value(),
        decimal("10.9728")
    );
    assert_eq!(converted("36 ft", "m"), "11.0 m");
    // B.8, on the notation of factors: 3.386 389 E+03 means 3386.389.
    assert_eq!(converted("1.000000 inHg", "Pa"), "3386.389 Pa");
}

#[test]
fn conversions_of_common_practice() {
    // Common practice, no source.
    assert_eq!(converted("7.2 ft-lb", "N·m"), "9.8 N·m");
    assert_eq!(converted("1/2 in", "mm"), "12.7 mm");
    assert_eq!(converted("3/8 in", "mm"), "9.5 mm");
    assert_eq!(converted("30 thou", "mm"), "0.76 mm");
    let speed = limits("3150 rpm ± 150 rpm");
    for (reading, by) in [("3500 rpm", "200 rpm"), ("3301 rpm", "1 rpm")] {
        let Some(Verdict::Above(margin)) = speed.judge(&quantity(reading)) else {
            panic!("{reading} is above")
        };
        assert_eq!(plain(&margin.text()), by);
    }
    assert!(speed.contains(&quantity("3250 rpm")) && speed.contains(&quantity("3280 rpm")));
}

#[test]
fn limits_round_inwards() {
    // Symmetric bounds are printed as a tolerance. A conversion by a power of ten is exact.
    rows(
        r"
        9 N·m ± 1 N·m in in·lbf        => 80 in·lbf (71 to 88)
        9 N·m ± 10 % in in·lbf         => 79.7 in·lbf (71.7 to 87.6)
        8 to 10 N·m in in·lbf          => 71 in·lbf to 88 in·lbf
        20 N·m ± 2 N·m in ft·lbf       => 14.8 ft·lbf (13.3 to 16.2)
        90 psi ± 10 psi in kPa         => 621 kPa (552 to 689)
        at least 15 bar in psi         => at least 218 psi
        at most 0.10 mm in in          => at most 0.003 93 in
        0.7 mm in in                   => 0.0276 in
        9 N·m +1/-0 in in·lbf          => 79.7 in·lbf (79.7 to 88.5)
        9 N·m ± 1 N·m in cN·m          => 900 cN·m ± 100 cN·m
        9 N·m ± 10 % in kN·m           => 0.009 kN·m ± 10 %
        9.25 N·m +1/-0.5 in cN·m       => 925 cN·m (+100/−50 cN·m)
        at least 15 bar in kPa         => at least 1500 kPa
        3/8 in in thou                 => 375 thou
        1 in ± 0.5 in in mm            => 25 mm (13 to 38)
        20 °C to 30 °C in °F           => 68 °F to 86 °F
        0 K in °F                      => −459.67 °F
        at most 0 K in °F              => at most −459.67 °F
        at most 1 K in °F              => at most −458 °F
        0 K to 1 K in °C               => −273.15 °C to −272.15 °C
        at most 100 °C in °F           => at most 212 °F
        1/4 turn in °                  => 90°
        ",
        |row| {
            let (typed, to) = row.rsplit_once(" in ").expect("a unit");
            limits_in(typed, to)
        },
    );
    assert_eq!(limits("9 N·m").text_in(Unit::BAR), None);
}

#[test]
fn values_of_different_kinds_are_not_compared() {
    let torque = limits("8 N·m to 10 N·m");
    let force = quantity("9 N");
    assert_eq!(torque.judge(&force), None);
    assert!(!torque.contains(&force));
    assert!(!torque.is_inside(&limits("at least 1 N")));
    assert_eq!(force.in_unit(Unit::NEWTON_METRE), None);
    assert!(!quantity("50 Hz").agrees_with(&quantity("3000 rpm")));
}

#[test]
fn a_nominal_without_bounds_gives_no_verdict() {
    let gap = limits("0.7 mm");
    assert_eq!(gap.judge(&quantity("0.7 mm")), None);
    assert!(!gap.contains(&quantity("0.7 mm")));
}

#[test]
fn gauge_and_absolute_pressure_are_different_kinds() {
    rows(
        r"
        30 psig              => 30 psig
        30 PSIG              => 30 psig
        30 psi(g)            => 30 psig
        30 psi gauge         => 30 psig
        2 bar(g)             => 2 bar(g)
        2 bar (g)            => 2 bar(g)
        2 barg               => 2 bar(g)
        2 bar gauge          => 2 bar(g)
        (2 to 3) bar(g)      => 2 bar(g) to 3 bar(g)
        2 bar(g) (1.9 to 2.1) => 2 bar(g) (1.9 to 2.1)
        2 bara               => 2 bar(a)
        2 bar (abs)          => 2 bar(a)
        100 kPa(a) ± 5 kPa(a) => 100 kPa(a) ± 5 kPa(a)
        14.7 psia            => 14.7 psia
        1 ata                => 1 kgf/cm²(a)
        2 bar                => 2 bar
        ",
        |typed| limits(typed).text(),
    );
    assert_eq!(converted("30 psig", "kPa(g)"), "207 kPa(g)");
    for (first, second) in [("30 psig", "psi"), ("30 psi", "psia"), ("30 psig", "psia")] {
        assert_eq!(quantity(first).in_unit(unit(second)), None);
        assert_eq!(
            quantity(first).compare(&quantity(&format!("30 {second}"))),
            None
        );
    }
    assert_errors(
        r"
        30 psig ± 2 psi
                    ^^^
        expected a gauge pressure in `psig` or the like, found `psi`, a pressure
        help: gauge and absolute pressure differ by the air pressure: mark both values in the same way

        2 bar(x)
              ^^
        expected a number, found `x)`
        ",
        Limits::parse,
    );
}

#[test]
fn a_temperature_difference_is_not_a_temperature() {
    assert_eq!(
        limits("at most 40 ∆°C")
            .text_in(Unit::DIFFERENCE_FAHRENHEIT)
            .as_deref(),
        Some("at most 72\u{a0}Δ°F")
    );
    assert_eq!(quantity("40 Δ°C").in_unit(Unit::DEGREE_CELSIUS), None);
    assert_eq!(
        quantity("40 delta deg C").kind(),
        Kind::TemperatureDifference
    );
    // A tolerance is a difference: it is converted by the factor, without the offset. The bounds are converted by the
    // scale. 75 °C is 167 °F, 85 °C is 185 °F.
    let warm = limits("80 °C ± 5 °C");
    assert_eq!(limits("80 °C ± 5 Δ°C"), warm);
    assert_eq!(limits("80 °C ± 9 Δ°F"), limits("80 °C ± 9 °F"));
    let fahrenheit = warm
        .rounded_in(Unit::DEGREE_FAHRENHEIT)
        .expect("a temperature");
    assert_eq!(plain(&fahrenheit.text()), "176 °F ± 9 °F");
    assert_eq!(fahrenheit.lower(), Some(quantity("167 °F")));
    assert_eq!(fahrenheit.upper(), Some(quantity("185 °F")));
    assert_eq!(limits_in("80 °C +5/-10", "°F"), "176 °F (+9/−18 °F)");
    assert_eq!(limits_in("180 °F ± 5 °F", "°C"), "82.2 °C (79.5 to 85.0)");
    let Some(Verdict::Above(margin)) = warm.judge(&quantity("194 °F")) else {
        panic!("90 °C is above")
    };
    assert_eq!(plain(&margin.text()), "5.0 °C");
}

#[test]
fn a_ratio_is_not_a_percentage() {
    assert_eq!(quantity("50:1").in_unit(Unit::PERCENT), None);
    assert_eq!(quantity("2 %").compare(&quantity("50:1")), None);
    assert!(
        Limits::parse("50:1 ± 10 %").is_ok(),
        "a tolerance in parts of the nominal"
    );
    assert!(Limits::parse("10 % ± 2:1").is_err());
}

#[test]
fn the_intersection_of_two_limits() {
    rows(
        r"
        8 N·m to 10 N·m & 9 N·m to 12 N·m => 9 N·m to 10 N·m
        8 N·m to 10 N·m & at least 9 N·m  => 9 N·m to 10 N·m
        9 N·m ± 1 N·m & 9.5 N·m ± 1 N·m   => 9 N·m (8.5 to 10)
        9 N·m ± 1 N·m & 10 N·m ± 1 N·m    => 9 N·m (9 to 10)
        9 N·m ± 1 N·m & 12 N·m ± 2.5 N·m  => 9.5 N·m to 10 N·m
        9 N·m ± 1 N·m & 7 N·m to 12 N·m   => 9 N·m ± 1 N·m
        7 N·m to 12 N·m & 9 N·m ± 1 N·m   => 9 N·m ± 1 N·m
        9 N·m ± 1 N·m & 9.5 N·m           => 9 N·m ± 1 N·m
        at least 8 N·m & at most 10 N·m   => 8 N·m to 10 N·m
        at least 8 N·m & at least 9 N·m   => at least 9 N·m
        9 N·m ± 1 N·m & at most 80 in-lb  => 8 N·m to 80 in·lbf
        20 in-lb ± 1 N·m & at least 2 N·m => 2 N·m to 28.8500 in·lbf
        20 in-lb ± 1 N·m & at most 2 N·m  => 11.1500 in·lbf to 2 N·m
        8 N·m to 10 N·m & 10 N·m to 12 N·m => nothing
        8 N·m to 10 N·m & 11 N·m to 12 N·m => nothing
        8 N·m to 10 N·m & 8 mm to 10 mm   => nothing
        ",
        |row| {
            let (first, second) = row.split_once('&').expect("a row has two limits");
            let both = limits(first.trim()).intersection(&limits(second.trim()));
            both.map_or("nothing".to_owned(), |both| both.text())
        },
    );
}

#[test]
fn a_setting_is_a_mark_of_the_tools_scale() {
    rows(
        r"
        9 N·m ± 1 N·m on 1 N·m          => 9 N·m
        9.4 N·m ± 1 N·m on 1 N·m        => 9 N·m
        9.5 N·m ± 1 N·m on 1 N·m        => 9 N·m
        9.4 N·m (+1/-0.2 N·m) on 1 N·m  => 10 N·m
        9.5 N·m ± 0.2 N·m on 1 N·m      => none
        9 N·m ± 1 N·m on 0.25 N·m       => 9.00 N·m
        9 N·m ± 1 N·m on 5 in-lb        => 80 in·lbf
        9 N·m ± 1 N·m on 1 ft-lb        => 7 ft·lbf
        8.1 N·m to 9.9 N·m on 1 N·m     => 9 N·m
        8 N·m to 11 N·m on 1 N·m        => 9 N·m
        at least 15.1 bar on 0.2 bar    => 15.2 bar
        at most 15.1 bar on 0.2 bar     => 15.0 bar
        0.7 mm on 0.05 mm               => 0.70 mm
        0.72 mm on 0.05 mm              => 0.70 mm
        3/8 in ± 1/32 in on 1/64 in     => 24/64 in
        -12 V ± 1 V on 0.5 V            => −12.0 V
        80 °C ± 5 °C on 2 °F            => 176 °F
        9 N·m ± 1 N·m on 1 bar          => none
        9 N·m ± 1 N·m on 0 N·m          => none
        ",
        |row| {
            let (typed, graduation) = row.split_once(" on ").expect("a graduation");
            let mark = limits(typed).on_scale(&quantity(graduation.trim()));
            mark.map_or("none".to_owned(), |mark| mark.text())
        },
    );
}

// ---- 5. laws ----------------------------------------------------------------------------------

/// The text of a positive decimal.
fn number(most: u32) -> impl Strategy<Value = String> {
    (1..most, 0_usize..4).prop_map(|(digits, places)| {
        let digits = format!("{digits:0>width$}", width = places + 1);
        let (whole, part) = digits.split_at(digits.len() - places);
        if part.is_empty() {
            whole.to_owned()
        } else {
            format!("{whole}.{part}")
        }
    })
}

fn any_unit() -> impl Strategy<Value = Unit> {
    proptest::sample::select(Unit::ALL)
}

/// The text of limits in any form and unit. The unit of a tolerance may be another one of the same kind.
fn any_limits() -> impl Strategy<Value = String> {
    let parts = (any_unit(), any::<prop::sample::Index>(), 0..9_u8);
    (
        parts,
        number(100_000),
        number(2_000),
        number(2_000),
        any::<bool>(),
    )
        .prop_map(|((unit, other, form), value, first, second, negative)| {
            let of_kind: Vec<_> = Unit::ALL
                .iter()
                .filter(|other| other.kind() == unit.kind())
                .collect();
            let other = other.get(&of_kind);
            let value = if negative { format!("-{value}") } else { value };
            let upper = decimal(&value) + decimal(&first);
            let upper = Quantity::new(upper, unit, 3).text();
            match form {
                0 => format!("{value} {unit}"),
                1 => format!("at least {value} {unit}"),
                2 => format!("at most {value} {unit}"),
                3 => format!("{value} {unit} ± {first} {other}"),
                4 if unit.kind() != Kind::Temperature => format!("{value} {unit} ± {first} %"),
                5 => format!("{value} {unit} (+{first}/-{second} {unit})"),
                6 => format!("{value} {unit} +{first} {other}/-0"),
                7 => format!("{value} {unit} ({value} to {upper})"),
                _ => format!("{value} {unit} to {upper}"),
            }
        })
        // Others are below the least of their kind, or have a point that may separate thousands.
        .prop_filter("limits that are refused", |text| {
            Limits::parse(text).is_ok()
        })
}

/// Pieces of real texts in random order. They reach more of the parser than random bytes do.
fn scrambled() -> impl Strategy<Value = String> {
    let pieces: &[&str] = &[
        "9", "1", "0", "10", "000", "1/2", "½", ".", ",", ".5", " ", "\u{a0}", "\u{202f}", "\t",
        "N·m", "Nm", "ft-lb", "in", "°", "°C", "%", "rpm", ":1", ":", "±", "+/-", "+", "-", "−",
        "–", "/", "(", ")", "to", "at least", "at most", "µ", "Ω", "é", "日本", "\u{301}", "🔧",
        "mm", "bar", "1/min", "\"", "'", "US fl oz", "Ⅷ", "٣", "\0", "AWG", "4/0", "≤", ">=",
        "min", "max", "min.", "between", "and", "up to", "about", "gal", "mPa", "SG", "dB(A)",
        "nm", "250",
    ];
    prop::collection::vec(proptest::sample::select(pieces), 0..12)
        .prop_map(|pieces| pieces.concat())
}

/// Properties of any text: it is parsed, or refused with a valid range and message.
fn check_parsers(text: &str) -> Result<(), TestCaseError> {
    let errors = [
        Quantity::parse(text).err(),
        Unit::parse(text).err(),
        Limits::parse(text).err(),
        Spec::parse(text).err(),
    ];
    for error in errors.into_iter().flatten() {
        prop_assert!(text.get(error.range()).is_some(), "{:?}", error.range());
        prop_assert!(error.message().starts_with("expected "), "{}", error);
        prop_assert!(!error.message().ends_with('.'));
    }
    if let Ok(spec) = Spec::parse(text) {
        let again = Spec::parse(&spec.text());
        prop_assert_eq!(again.as_ref(), Ok(&spec), "{}", spec);
    }
    Ok(())
}

/// A bound that is converted to a far smaller unit ends with zeros that are not significant. When printed, they are
/// digits.
#[test]
fn an_intersection_in_a_far_smaller_unit_prints_and_parses_as_itself() {
    let both = limits("40000 thou ± 1 m").intersection(&limits("at least 1 thou"));
    let both = both.expect("the limits overlap");
    assert_eq!(Limits::parse(&both.text()).as_ref(), Ok(&both));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn parsing_never_panics(text in any::<String>()) {
        check_parsers(&text)?;
    }

    #[test]
    fn parsing_scrambled_pieces_never_panics(text in scrambled()) {
        check_parsers(&text)?;
    }

    #[test]
    fn printed_limits_parse_as_themselves(text in any_limits()) {
        let limits = limits(&text);
        let again = Limits::parse(&limits.text());
        prop_assert_eq!(again.as_ref(), Ok(&limits));
    }

    /// Limits printed in a second unit are inside the exact limits, and narrower by less than one step of the last digit.
    #[test]
    fn printed_limits_are_inside_the_exact_ones_by_less_than_a_step(text in any_limits()) {
        let exact = limits(&text);
        for unit in Unit::ALL.iter().filter(|unit| unit.kind() == exact.kind()) {
            let rounded = exact.rounded_in(*unit).expect("the units are of one kind");
            let printed = limits(&exact.text_in(*unit).expect("the units are of one kind"));
            prop_assert!(printed.is_inside(&exact), "{} in {}", printed, unit);

            let value = |bound: Option<Quantity>| {
                bound.map(|bound| bound.in_unit(*unit).expect("the units are of one kind").value().clone())
            };
            // The printed limits are equal to the rounded ones.
            prop_assert_eq!(value(printed.lower()), value(rounded.lower()));
            prop_assert_eq!(value(printed.upper()), value(rounded.upper()));
            prop_assert_eq!(value(printed.nominal()), value(rounded.nominal()));

            if let (Some(shown), Some(least)) = (value(rounded.lower()), value(exact.lower())) {
                let step = rounded.lower().expect("shown").resolution();
                prop_assert!(&shown - &least < step, "{} in {}", printed, unit);
            }
            if let (Some(shown), Some(most)) = (value(rounded.upper()), value(exact.upper())) {
                let step = rounded.upper().expect("shown").resolution();
                prop_assert!(&most - &shown < step, "{} in {}", printed, unit);
            }
            if let (Some(shown), Some(nominal)) = (value(rounded.nominal()), value(exact.nominal())) {
                let step = rounded.nominal().expect("shown").resolution();
                prop_assert!(&shown - &nominal < step && &nominal - &shown < step);
            }
            // The same bounds are missing, and a range remains a range.
            prop_assert_eq!(printed.lower().is_some(), exact.lower().is_some());
            prop_assert_eq!(printed.upper().is_some(), exact.upper().is_some());
            if let (Some(lower), Some(upper)) = (value(printed.lower()), value(printed.upper())) {
                prop_assert!(lower < upper);
            }
        }
    }

    #[test]
    fn bounds_are_allowed_and_values_past_them_are_not(text in any_limits()) {
        let limits = limits(&text);
        let step = |bound: &Quantity, sign: i64| {
            let value = bound.value() + bound.resolution() * Rational::from_integer(sign.into());
            Quantity::new(value, bound.unit(), 6)
        };
        if let Some(lower) = limits.lower() {
            prop_assert!(limits.contains(&lower));
            prop_assert!(matches!(limits.judge(&step(&lower, -1)), Some(Verdict::Below(_))));
        }
        if let Some(upper) = limits.upper() {
            prop_assert!(limits.contains(&upper));
            prop_assert!(matches!(limits.judge(&step(&upper, 1)), Some(Verdict::Above(_))));
        }
    }

    #[test]
    fn an_intersection_allows_what_both_limits_allow(first in any_limits(), second in any_limits()) {
        let (first, second) = (limits(&first), limits(&second));
        let both = first.intersection(&second);
        if first.kind() != second.kind() {
            prop_assert_eq!(both, None);
            return Ok(());
        }
        let bounded = |limits: &Limits| limits.lower().is_some() || limits.upper().is_some();
        let allows = |limits: &Limits, value: &Quantity| !bounded(limits) || limits.contains(value);
        if let Some(both) = &both {
            prop_assert!(both.is_inside(&first) && both.is_inside(&second), "{}", both);
            let printed = Limits::parse(&both.text());
            prop_assert_eq!(printed.as_ref(), Ok(both));
        }
        let edges = [first.lower(), first.upper(), second.lower(), second.upper()];
        for edge in edges.into_iter().flatten() {
            let allowed = allows(&first, &edge) && allows(&second, &edge);
            match &both {
                // A bound that cannot be printed exactly is moved inwards.
                Some(both) if allowed => {
                    let moved = edge.resolution() + edge.value().abs() * decimal("0.000000000001");
                    let nearest = [both.lower(), both.upper()].into_iter().flatten().any(|bound| {
                        let apart = bound.in_unit(edge.unit()).expect("the units are of one kind").value() - edge.value();
                        apart < moved && -apart < moved
                    });
                    prop_assert!(allows(both, &edge) || nearest, "{} in {}", edge, both);
                }
                Some(both) => prop_assert!(!allows(both, &edge) || !bounded(both), "{} in {}", edge, both),
                None => {}
            }
        }
    }

    #[test]
    fn a_setting_is_the_nearest_allowed_mark(text in any_limits(), digits in 1..500_i64, places in 0..3_u8) {
        let limits = limits(&text);
        let scale = Rational::new(digits.into(), 10_i64.pow(u32::from(places)).into());
        let graduation = Quantity::new(scale.clone(), limits.unit(), places);
        let bounded = limits.lower().is_some() || limits.upper().is_some();
        let allows = |mark: &Rational| {
            !bounded || limits.contains(&Quantity::new(mark.clone(), limits.unit(), 6))
        };
        let Some(mark) = limits.on_scale(&graduation) else {
            // No mark next to a bound is allowed.
            for bound in [limits.lower(), limits.upper()].into_iter().flatten() {
                let below = (bound.value() / &scale).floor() * &scale;
                prop_assert!(!allows(&below) && !allows(&(&below + &scale)));
            }
            return Ok(());
        };
        prop_assert!((mark.value() / &scale).is_integer());
        prop_assert!(allows(mark.value()), "{} on {}", mark, graduation);
        if let Some(nominal) = limits.nominal() {
            let distance = |mark: &Rational| (mark - nominal.value()).abs();
            for other in [mark.value() - &scale, mark.value() + &scale] {
                prop_assert!(!allows(&other) || distance(mark.value()) <= distance(&other));
            }
        }
    }

    #[test]
    fn converting_there_and_back_gives_the_same_value(value in number(1_000_000), unit in any_unit()) {
        let value = Quantity::new(decimal(&value), unit, 3);
        for other in Unit::ALL.iter().filter(|other| other.kind() == unit.kind()) {
            let there = value.in_unit(*other).expect("the units are of one kind");
            let back = there.in_unit(unit).expect("the units are of one kind");
            prop_assert_eq!(back.value(), value.value());
            prop_assert!(there.agrees_with(&value));
        }
    }
}
