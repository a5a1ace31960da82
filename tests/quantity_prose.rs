//! Finding values in prose, and sentences that must give none.

use benchleaf::quantity::{Agreement, Gallons, Limits, find};
use proptest::prelude::*;

/// The values found in a text, as typed. The same value in another unit follows `==` if it is equal, `~=` if it is a
/// little apart, `!=` if it contradicts.
fn values_in(text: &str) -> Vec<String> {
    let typed = |range: &std::ops::Range<usize>| text[range.clone()].to_owned();
    find(text, Gallons::Unstated)
        .found
        .iter()
        .map(|value| {
            let others = value.paired.iter().map(|paired| {
                let sign = match paired.agreement {
                    Agreement::Equal => "==",
                    Agreement::Apart => "~=",
                    Agreement::Contradicting => "!=",
                };
                format!(" {sign} {}", typed(&paired.range))
            });
            typed(&value.range) + &others.collect::<String>()
        })
        .collect()
}

#[test]
fn values_are_found() {
    for (text, values) in [
        ("Tighten to 9.8 N·m.", &["9.8 N·m"][..]),
        ("Set 3100 rpm ± 100 rpm, warm.", &["3100 rpm ± 100 rpm"]),
        ("Gap the plug to 0.7 mm and fit it.", &["0.7 mm"]),
        ("Gap: 0.7mm", &["0.7mm"]),
        ("Gap:0.7 mm", &["0.7 mm"]),
        ("35 ft. lbs. is enough.", &["35 ft. lbs"]),
        ("between 8 and 10 N·m", &["between 8 and 10 N·m"]),
        ("8 to 10 N·m, crosswise", &["8 to 10 N·m"]),
        ("8–10 N·m", &["8–10 N·m"]),
        ("(9 ± 1) N·m", &["(9 ± 1) N·m"]),
        ("It takes at least 15 bar.", &["at least 15 bar"]),
        ("It takes at most 2 people and 15 bar(g).", &["15 bar(g)"]),
        ("9 N·m +1/−0.5 with oil", &["9 N·m +1/−0.5"]),
        ("9 N·m ± 1.", &["9 N·m ± 1"]),
        ("-8 +1/-0.5 V V", &["-8 +1/-0.5 V"]),
        ("1 - 2%%", &["1 - 2%"]),
        ("(9 ± 10 %) N·m", &["(9 ± 10 %) N·m"]),
        ("80 in·lbf (71 to 88).", &["80 in·lbf (71 to 88)"]),
        ("20 N·m + 90°", &["20 N·m", "90°"]),
        ("Fill with 0.6 L of oil, mixed 50:1.", &["0.6 L", "50:1"]),
        ("A 10 mm wrench and a 3/8 in drive", &["10 mm", "3/8 in"]),
        ("the 3/8\" drive", &["3/8\""]),
        ("a 1 1/2 in hose", &["1 1/2 in"]),
        ("½ in below the rim", &["½ in"]),
        (".030 in feeler", &[".030 in"]),
        ("set to 0.030 in.", &["0.030 in"]),
        ("6 in", &["6 in"]),
        ("Run it for 5 min, then wait 2 h.", &["5 min", "2 h"]),
        ("below -5 °C or −5 °F", &["-5 °C", "−5 °F"]),
        ("**9 N·m**, not more", &["9 N·m"]),
        ("M6 × 20 mm", &["20 mm"]),
        ("a 12 V battery and a 2 A fuse", &["12 V", "2 A"]),
        ("10 % of 5 L", &["10 %", "5 L"]),
        ("10 mm, 12 mm and 14 mm", &["10 mm", "12 mm", "14 mm"]),
        ("9 N·m (see the table)", &["9 N·m"]),
        ("9 N·m (M6)", &["9 N·m"]),
        ("8 mm - undo it", &["8 mm"]),
    ] {
        assert_eq!(values_in(text), values, "{text}");
    }
}

#[test]
fn values_in_two_units_are_compared() {
    for (text, pair) in [
        ("9.8 N·m (7.2 ft·lbf)", "9.8 N·m == 7.2 ft·lbf"),
        ("9.8 N·m [7.2 ft·lbf]", "9.8 N·m == 7.2 ft·lbf"),
        ("9.8 N·m / 7.2 ft·lbf", "9.8 N·m == 7.2 ft·lbf"),
        ("9.8 N·m/7.2 ft·lbf", "9.8 N·m == 7.2 ft·lbf"),
        ("9.8 N·m = 7.2 ft·lbf", "9.8 N·m == 7.2 ft·lbf"),
        ("9.8 N·m (7.4 ft·lbf)", "9.8 N·m == 7.4 ft·lbf"),
        ("9.8 N·m (7.6 ft·lbf)", "9.8 N·m ~= 7.6 ft·lbf"),
        ("9.8 N·m (7.8 ft·lbf)", "9.8 N·m != 7.8 ft·lbf"),
        ("9.8 N·m (72 ft·lbf)", "9.8 N·m != 72 ft·lbf"),
        ("0.7 mm (0.028 in)", "0.7 mm == 0.028 in"),
        ("0.7 mm (0.28 in)", "0.7 mm != 0.28 in"),
        ("80 °C (176 °F)", "80 °C == 176 °F"),
        ("80 °C (144 °F)", "80 °C != 144 °F"),
        ("20 to 30 °C (68 to 86 °F)", "20 to 30 °C == 68 to 86 °F"),
        ("20 to 30 °C (68 to 95 °F)", "20 to 30 °C ~= 68 to 95 °F"),
        ("20 to 30 °C (68 to 100 °F)", "20 to 30 °C != 68 to 100 °F"),
        ("at least 15 bar (217 psi)", "at least 15 bar == 217 psi"),
        ("at least 15 bar (220 psi)", "at least 15 bar == 220 psi"),
        ("at least 15 bar (190 psi)", "at least 15 bar != 190 psi"),
        (
            "8 to 10 N·m (71 to 88 in·lbf)",
            "8 to 10 N·m == 71 to 88 in·lbf",
        ),
        (
            "9 N·m ± 1 N·m (80 in·lbf ± 9 in·lbf)",
            "9 N·m ± 1 N·m == 80 in·lbf ± 9 in·lbf",
        ),
        (
            "9.0 N·m ± 1.0 N·m (80 in·lbf ± 5 in·lbf)",
            "9.0 N·m ± 1.0 N·m != 80 in·lbf ± 5 in·lbf",
        ),
        ("1 turn (360°)", "1 turn == 360°"),
        ("3/8 in (9.5 mm)", "3/8 in == 9.5 mm"),
    ] {
        assert_eq!(values_in(text), [pair], "{text}");
    }
}

#[test]
fn adjacent_values_are_not_always_a_pair() {
    assert_eq!(values_in("10 mm / 12 mm"), ["10 mm", "12 mm"]);
    assert_eq!(values_in("9 N·m (10 mm wrench)"), ["9 N·m", "10 mm"]);
    assert_eq!(
        values_in("9 N·m (80 in·lbf at most)"),
        ["9 N·m", "80 in·lbf"]
    );
    assert_eq!(values_in("15 bar (15 bar(g))"), ["15 bar", "15 bar(g)"]);
}

/// Sentences without a value. Most have a number before a word that is also a unit.
const HARMLESS: &str = r#"
    Use the M6 nuts.
    See step 4 in the manual.
    See steps 4 to 6 in the manual.
    Step 4 in section 2.
    2 A4 sheets
    About 1 in 10 of them leaks.
    9 out of 10 in a row
    Version 2.0 in the manual
    See 3.2 in the book.
    Remove 2 at a time.
    3 at the front, 2 at the back
    Undo the 4 in turn.
    On 2024-05-06 in the log
    On 12/05/2024 in the log
    3/4/24 in the log
    At 10:15 in the morning
    Part YAR-1185 in bag 3
    Bolt 1/4-20 in the cover
    5/16-18 UNC
    Use 10W-30 or 5W-30 oil.
    SAE 10W oil
    A class 2A thread
    Figure 3 A and table 2 B
    Figure 3 A
    Fig. 3 A
    Step 2 A new gasket goes on.
    See page 3 m.
    Page 12 rev 3
    10,5 mm
    3,100 rpm
    1,000 h
    5 ft 6 in
    1 h 30 min
    2 lb 4 oz
    10 m/s²
    5 A-rated fuses
    2 A-frames
    a 10mmx2 pad
    10 mm/rev
    Clearance 0.10 min, 0.15 max
    "Step 4" and "step 5"
    It says "turn to 4".
    Class 8.8 bolts, grade 5 nuts
    4-stroke, single
    The 1990s
    Take 2. In the box are 4.
    Check 3 of the 5.
    No. 12 g
    Bag 7
    Turn the key to I, then II.
    Use a T30 bit.
    Type 4 s
    Apply 2 second coats.
    2nd in line
    1st, 2nd and 3rd
    Cylinders 1 to 4 in order
    1 of 2 in each pack
    IP54 and IP65
    $5 in parts
    RFC 1149 at work
    page 4/6 in the folder
    5000
    12.5.2
    The #8 screw in the lid
    50:12
"#;

#[test]
fn sentences_without_a_value_give_none() {
    for text in HARMLESS
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
    {
        assert_eq!(values_in(text), [""; 0], "{text}");
        assert_eq!(find(text, Gallons::Us).refused, [], "{text}");
    }
}

#[test]
fn text_that_can_be_read_in_two_ways_is_refused() {
    let refused = |text: &str| {
        let refused = find(text, Gallons::Unstated).refused;
        let ranges = refused
            .into_iter()
            .map(|refused| text[refused.range].to_owned());
        ranges.collect::<Vec<_>>()
    };
    for (text, wrong) in [
        ("Set it to 3.600 rpm, warm.", "3.600"),
        ("Pump it up to 20/25 psi.", "20/25"),
        ("Gap it to 0.030/0.035 in.", "0.030/0.035"),
        ("Fill in 2 gal of water.", "gal"),
        ("Add 1/2 pt of oil", "pt"),
        ("It takes 1.200 rpm ± 50 rpm.", "1.200"),
        ("Play of -5 mm is wrong.", "-5 mm"),
        ("0.1 mm ± 0.2 mm is too loose", "0.1 mm ± 0.2 mm"),
    ] {
        assert_eq!(refused(text), [wrong], "{text}");
    }
    for text in [
        "Set it to 3600 rpm or 3.60 krpm.",
        "Feeler gauges from 0.050 mm to 1.000 mm.",
        "1 000 N and 12.600 V and 1.265 SG",
        "Volume 2.100 in the series",
        "Item 1.250 of the list",
        "A drop of -5 °C or of −0.5 bar",
    ] {
        assert_eq!(refused(text), [""; 0], "{text}");
    }
}

#[test]
fn forms_of_the_shop_are_found() {
    for (text, values) in [
        ("Tighten to 20 nm.", &["20 nm"][..]),
        (
            "Tighten to 80 in/lbs, then 20 ft/lb.",
            &["80 in/lbs", "20 ft/lb"],
        ),
        ("max 0.10 mm of play", &["max 0.10 mm"]),
        ("0.10 mm max. of play", &["0.10 mm max."]),
        ("up to 25 N·m", &["up to 25 N·m"]),
        ("≤ 5 mm or ≥ 15 bar", &["≤ 5 mm", "≥ 15 bar"]),
        ("Min. 15 bar", &["Min. 15 bar"]),
        (
            "set to 3600 r.p.m. and 3000 min⁻¹",
            &["3600 r.p.m", "3000 min⁻¹"],
        ),
        ("in 5 min or 10 min", &["5 min", "10 min"]),
    ] {
        assert_eq!(values_in(text), values, "{text}");
    }
}

#[test]
fn a_sentence_may_end_after_a_unit() {
    assert_eq!(values_in("Add 2 oz. In the cup is more."), ["2 oz"]);
    assert_eq!(values_in("Wait 10 s. Then 2 L."), ["10 s", "2 L"]);
    assert_eq!(values_in("Fill to 5 L; bleed."), ["5 L"]);
    assert_eq!(values_in("It holds 5 L, or more?"), ["5 L"]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    /// In any text, the ranges of the values are in order, and their text parses to their limits.
    #[test]
    fn found_ranges_parse_to_the_found_limits(pieces in prop::collection::vec(proptest::sample::select(PIECES), 0..12)) {
        let text = pieces.concat();
        let mut end = 0;
        let values = find(&text, Gallons::Unstated);
        for refused in &values.refused {
            prop_assert!(text.get(refused.range.clone()).is_some(), "{:?}", refused);
        }
        for value in values.found {
            prop_assert!(value.range.start >= end, "{:?}", find(&text, Gallons::Unstated));
            end = value.paired.last().map_or(value.range.end, |paired| paired.range.end);
            let mut typed = vec![(value.range, value.limits)];
            typed.extend(value.paired.into_iter().map(|paired| (paired.range, paired.limits)));
            for (range, limits) in typed {
                let typed = text.get(range).expect("the range is on character boundaries");
                prop_assert_eq!(Limits::parse(typed), Ok(limits), "{}", typed);
            }
        }
    }
}

/// Pieces of sentences, for random texts.
const PIECES: &[&str] = &[
    "9", "10", "000", "1/2", "½", ".", ",", " ", " ", " ", "\u{a0}", "\n", "N·m", "Nm", "ft-lb",
    "in", "°", "°C", "%", "rpm", ":1", ":", "±", "+", "-", "–", "/", "=", "(", ")", "to",
    "at least", "at", "the", "step", "mm", "bar", "bar(g)", "min", "max", "\"", "'", "é", "日本",
    "🔧", "A", "s",
];

#[test]
fn long_texts_are_searched_fast() {
    for text in [
        "9 ".repeat(20_000),
        "9 N·m ".repeat(10_000),
        "(9 ".repeat(20_000),
        "9".repeat(1_000_000),
        format!("9{}", " ".repeat(100_000)),
        "at least ".repeat(10_000),
        "9 mm (".repeat(10_000),
        "\"9\" ".repeat(10_000),
    ] {
        let _ = find(&text, Gallons::Unstated);
    }
}
