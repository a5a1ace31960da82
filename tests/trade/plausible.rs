//! Plausible torques of joints and of spark plugs: what is found, and that published torques are not.

use super::{limits, plain, quantity, ratio, rows, text, value};
use benchleaf::quantity::{Limits, Quantity, Unit};
use benchleaf::trade::{
    Condition, Material, Plausibility, PlausibleTorque, PlugSeat, StrengthClass, Takes, Tapped,
    Thread, plug_threads, takes, usual_plug_torque,
};
use proptest::prelude::*;

const METRIC_CLASSES: [&str; 23] = [
    "4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9", "4", "5", "6", "8", "9", "10",
    "12", "A1-50", "A1-70", "A2-50", "A2-70", "A2-80", "A4-70", "A4-80",
];

const GRADES: [&str; 4] = ["grade 1", "grade 2", "grade 5", "grade 8"];

fn thread(text: &str) -> Thread {
    Thread::parse(text).expect(text)
}

fn class(text: &str) -> StrengthClass {
    StrengthClass::parse(text).expect(text)
}

fn joint(thread: &str, class: Option<&str>, condition: Condition) -> PlausibleTorque {
    let class = class.map(|class| StrengthClass::parse(class).expect(class));
    PlausibleTorque::of_joint(
        &Thread::parse(thread).expect(thread),
        class,
        condition,
        None,
    )
    .unwrap()
}

fn verdict(plausible: &PlausibleTorque, torque: &str) -> Plausibility {
    plausible.judge(&limits(torque))
}

/// Every metric thread with a coarse or fine pitch, every unified one that has strengths, with each class that it
/// is made in.
fn standard_joints() -> Vec<(Thread, StrengthClass)> {
    let metric = rows("threads.toml", "metric").into_iter();
    let unified = rows("threads.toml", "unified").into_iter();
    let mut joints = Vec::new();
    for row in metric.chain(unified) {
        let thread = thread(text(&row, "thread"));
        for name in METRIC_CLASSES.iter().chain(&GRADES) {
            let class = class(name);
            if class.strength(&thread).is_ok() {
                joints.push((thread, class));
            }
        }
    }
    joints
}

#[test]
fn the_bounds_are_on_either_side_of_the_torque_of_every_class() {
    let joints = standard_joints();
    assert!(joints.len() > 400, "{}", joints.len());
    for (thread, class) in joints {
        for condition in Condition::ALL {
            let Takes { torque, .. } = takes(&thread, class, *condition, None).unwrap();
            let torque = Limits::from(torque);
            for known in [None, Some(class)] {
                let plausible =
                    PlausibleTorque::of_joint(&thread, known, *condition, None).unwrap();
                let what = format!("{thread}, {class}, {condition}");
                assert_eq!(plausible.judge(&torque), Plausibility::Plausible, "{what}");
                assert_eq!(plausible.in_other_units(&torque), [], "{what}");
            }
        }
    }
}

/// 9 N·m is right for M6 of class 8.8, and so is what is meant by the three mistakes.
#[test]
fn a_mistyped_torque_of_m6_is_found_in_every_class_and_condition() {
    for condition in Condition::ALL {
        let known = METRIC_CLASSES.iter().map(|class| Some(*class));
        for class in known.chain([None]) {
            let plausible = joint("M6", class, *condition);
            for (typed, expected) in [
                ("9 in·lbf", Plausibility::TooLow),
                ("0.9 N·m", Plausibility::TooLow),
                ("0.9 N·m ± 0.1 N·m", Plausibility::TooLow),
                ("90 N·m", Plausibility::TooHigh),
                ("90 N·m ± 10 N·m", Plausibility::TooHigh),
                ("at least 90 N·m", Plausibility::TooHigh),
                ("at most 0.9 N·m", Plausibility::TooLow),
                ("8 N·m to 100 N·m", Plausibility::TooHigh),
            ] {
                assert_eq!(
                    verdict(&plausible, typed),
                    expected,
                    "{class:?}, {condition}, {typed}"
                );
            }
        }
    }
}

/// No published torque is implausible: those of the aircraft table for its plated threads without a class, and those
/// that were computed for each class, with it and without.
#[test]
fn published_torques_are_plausible() {
    for row in rows("torque.toml", "aircraft") {
        let plausible = joint(text(&row, "thread"), None, Condition::Plated);
        for field in ["least", "most", "limit"] {
            let torque = Limits::from(value(&row, field));
            let what = format!("{}: {}", text(&row, "thread"), torque.text());
            assert_eq!(plausible.judge(&torque), Plausibility::Plausible, "{what}");
        }
    }
    for row in rows("torque.toml", "computed") {
        let torque = Limits::from(value(&row, "torque"));
        for class in [None, Some(text(&row, "class"))] {
            let plausible = joint(text(&row, "thread"), class, Condition::Dry);
            assert_eq!(
                plausible.judge(&torque),
                Plausibility::Plausible,
                "{}",
                torque.text()
            );
        }
    }
    for (thread, class, condition, torque) in [
        ("3/8-16 UNC", Some("grade 5"), Condition::Dry, "30 ft·lbf"),
        ("3/8-16 UNC", Some("grade 5"), Condition::Oiled, "23 ft·lbf"),
        ("M12", Some("8.8"), Condition::Dry, "82 N·m"),
        ("#10-32 UNF", None, Condition::Dry, "48.5 in·lbf"),
    ] {
        let plausible = joint(thread, class, condition);
        assert_eq!(
            verdict(&plausible, torque),
            Plausibility::Plausible,
            "{thread}, {torque}"
        );
    }
}

#[test]
fn a_mistaken_unit_is_named() {
    let meant = |thread, class, typed: &str| -> Vec<String> {
        let plausible = joint(thread, class, Condition::Dry);
        let meant = plausible.in_other_units(&limits(typed));
        meant.into_iter().map(plain).collect()
    };
    let m6 = |typed| meant("M6", Some("8.8"), typed);
    assert_eq!(m6("86 N·m"), ["86 in·lbf"]);
    assert_eq!(m6("86 N·m ± 5 N·m"), ["86 in·lbf"]);
    assert_eq!(m6("80 N·m to 90 N·m"), ["85 in·lbf"]);
    assert_eq!(m6("1 N·m"), ["1 kgf·m"]);
    assert_eq!(m6("1.3 N·m"), ["1.3 kgf·m"]);
    // Both units are likely. The nearer one comes first.
    assert_eq!(m6("8 in·lbf"), ["8 ft·lbf", "8 N·m"]);
    assert_eq!(m6("90 ft·lbf"), ["90 in·lbf"]);
    // Without a class, both are as likely.
    assert_eq!(meant("M6", None, "9 in·lbf"), ["9 N·m", "9 ft·lbf"]);
    assert_eq!(
        meant("3/8-16 UNC", Some("grade 5"), "370 ft·lbf"),
        ["370 in·lbf"]
    );
    // Wrong in every unit: a decimal point.
    assert_eq!(m6("0.09 N·m"), [""; 0]);
    assert_eq!(m6("900 N·m"), [""; 0]);
    // Plausible as typed, or not a torque.
    for typed in [
        "9 N·m ± 1 N·m",
        "14 N·m",
        "5 N·m",
        "at least 5 N·m",
        "90 in·lbf",
        "8 ft·lbf",
        "9 mm",
    ] {
        assert_eq!(m6(typed), [""; 0], "{typed}");
    }
}

#[test]
fn a_misplaced_point_is_named() {
    let m6 = joint("M6", Some("8.8"), Condition::Dry);
    for (typed, is_misplaced) in [
        ("0.9 N·m", true),
        ("90 N·m", true),
        ("9 N·m", false),
        ("900 N·m", false),
        ("0.09 N·m", false),
        ("60 in·lbf to 900 in·lbf", true),
    ] {
        assert_eq!(
            m6.has_misplaced_point(&limits(typed)),
            is_misplaced,
            "{typed}"
        );
    }
}

#[test]
fn a_tapped_hole_moves_both_bounds() {
    let hole = Tapped::new(Material::Plastic, quantity("9 mm")).unwrap();
    let m6 = thread("M6");
    let of = |hole| PlausibleTorque::of_joint(&m6, None, Condition::Dry, hole).unwrap();
    let (plastic, free) = (of(Some(&hole)), of(None));
    // S = π × 5.350 mm × 9 mm × 25 MPa / 3 = 1.26 kN; T = 0.2 × 6 mm × S.
    assert_eq!(plain(plastic.most()), "1.51 N·m");
    assert_eq!(plain(plastic.least()), "0.567 N·m");
    assert_eq!(
        verdict(&plastic, "1 N·m ± 0.2 N·m"),
        Plausibility::Plausible
    );
    assert_eq!(verdict(&free, "1 N·m ± 0.2 N·m"), Plausibility::TooLow);
    assert_eq!(verdict(&plastic, "0.1 N·m"), Plausibility::TooLow);
    assert_eq!(verdict(&plastic, "9 N·m"), Plausibility::TooHigh);
    // A hole of unknown depth lowers the floor only.
    let lowered = free.clone().with_floor_of(plastic.clone());
    assert_eq!(lowered.least(), plastic.least());
    assert_eq!(lowered.most(), free.most());
    assert_eq!(plastic.clone().with_floor_of(free), plastic);
}

/// Torques of drain plugs as small engines and vehicles have them (common practice, no source).
#[test]
fn a_drain_plug_may_be_tightened_less() {
    for (thread, torque) in [
        ("M10x1.25", "18 N·m ± 2 N·m"),
        ("M12x1.5", "25 N·m"),
        ("M14x1.5", "25 N·m"),
        ("M18x1.5", "40 N·m"),
        ("M20x1.5", "45 N·m"),
        ("M22x1.5", "45 N·m"),
        ("3/8-16 UNC", "125 in·lbf"),
    ] {
        let plug = joint(thread, None, Condition::Oiled).of_seal();
        assert_eq!(verdict(&plug, torque), Plausibility::Plausible, "{thread}");
    }
    let plug = joint("M12x1.5", None, Condition::Oiled).of_seal();
    for (typed, expected) in [
        ("2.5 N·m", Plausibility::TooLow),
        ("25 in·lbf", Plausibility::TooLow),
        ("250 N·m", Plausibility::TooHigh),
    ] {
        assert_eq!(verdict(&plug, typed), expected, "{typed}");
    }
}

fn seat(name: &str) -> PlugSeat {
    let mut seats = PlugSeat::ALL.iter();
    *seats.find(|seat| seat.name() == name).expect(name)
}

/// Each published range is inside ours, and ours begins and ends where one of them does.
#[test]
fn torques_of_spark_plugs_match_the_tables() {
    let table = rows("spark_plugs.toml", "torque");
    for row in &table {
        let (name, head) = (text(row, "thread"), text(row, "head"));
        let (thread, seat) = (thread(name), seat(text(row, "seat")));
        let head = Material::parse(head).unwrap();
        let (least, most) = usual_plug_torque(&thread, seat, Some(head)).expect(name);
        let same = |other: &&toml::Table| {
            ["thread", "seat", "head"]
                .iter()
                .all(|field| row[*field] == other[*field])
        };
        let of = |field| table.iter().filter(same).map(move |row| value(row, field));
        let exact = |torque: &Quantity| torque.in_unit(Unit::NEWTON_METRE).unwrap();
        let lowest = of("least")
            .map(|torque| exact(&torque).value().clone())
            .min();
        let highest = of("most")
            .map(|torque| exact(&torque).value().clone())
            .max();
        assert_eq!(
            Some(least.value()),
            lowest.as_ref(),
            "{name}, {seat}, {head}"
        );
        assert_eq!(
            Some(most.value()),
            highest.as_ref(),
            "{name}, {seat}, {head}"
        );

        for head in [Some(head), None] {
            let plausible = PlausibleTorque::of_plug(&thread, seat, head).unwrap();
            for field in ["least", "most"] {
                let torque = Limits::from(value(row, field));
                assert_eq!(plausible.judge(&torque), Plausibility::Plausible, "{name}");
            }
        }
    }
    assert_eq!(plug_threads().len(), 6);
}

#[test]
fn a_mistyped_torque_of_a_spark_plug_is_found() {
    let plug = |name, seat| {
        PlausibleTorque::of_plug(&thread(name), seat, Some(Material::Aluminium)).unwrap()
    };
    let m14 = plug("M14x1.25", PlugSeat::Gasket);
    for (typed, expected) in [
        ("22 N·m ± 2 N·m", Plausibility::Plausible),
        ("18 N·m", Plausibility::Plausible),
        ("15 ft·lbf ± 1.5 ft·lbf", Plausibility::Plausible),
        ("180 in·lbf", Plausibility::Plausible),
        ("22 in·lbf", Plausibility::TooLow),
        ("2.2 N·m", Plausibility::TooLow),
        ("220 N·m", Plausibility::TooHigh),
        ("180 N·m", Plausibility::TooHigh),
        ("180 ft·lbf", Plausibility::TooHigh),
        ("18 ft·lbf to 81 ft·lbf", Plausibility::TooHigh),
    ] {
        assert_eq!(verdict(&m14, typed), expected, "{typed}");
    }
    let meant = m14.in_other_units(&limits("180 N·m"));
    assert_eq!(
        meant.into_iter().map(plain).collect::<Vec<_>>(),
        ["180 in·lbf"]
    );
    let m10 = plug("M10x1", PlugSeat::Gasket);
    assert_eq!(verdict(&m10, "12 N·m ± 1.2 N·m"), Plausibility::Plausible);
    assert_eq!(verdict(&m10, "21 N·m"), Plausibility::TooHigh);
    // No table has it, or plugs are not made with it.
    assert_eq!(
        usual_plug_torque(&thread("M12x1.25"), PlugSeat::Taper, None),
        None
    );
    assert_eq!(
        usual_plug_torque(&thread("M14"), PlugSeat::Gasket, None),
        None
    );
}

fn torque(least: i64, most: i64) -> impl Strategy<Value = Quantity> {
    (least..=most).prop_map(|value| Quantity::new(ratio(value, 100), Unit::NEWTON_METRE, 2))
}

proptest! {
    /// The same number, in a unit in which it is plausible.
    #[test]
    fn a_suggested_unit_keeps_the_number(
        typed in torque(1, 50_000),
        of in prop::sample::select(standard_joints()),
        condition in prop::sample::select(Condition::ALL),
        is_known in prop::bool::ANY,
    ) {
        let (thread, class) = of;
        let class = Some(class).filter(|_| is_known);
        let plausible = PlausibleTorque::of_joint(&thread, class, condition, None).unwrap();
        let limits = Limits::from(typed.clone());
        for meant in plausible.in_other_units(&limits) {
            prop_assert_eq!(meant.value(), typed.value());
            prop_assert_ne!(meant.unit(), typed.unit());
            prop_assert_eq!(plausible.judge(&Limits::from(meant)), Plausibility::Plausible);
            prop_assert_ne!(plausible.judge(&limits), Plausibility::Plausible);
        }
    }

    /// A torque that is right for its joint is found when it is typed in a unit that differs by a factor of
    /// 8.85 or more, or with its decimal point one place away.
    #[test]
    fn a_mistake_by_a_factor_of_nine_is_found(
        of in prop::sample::select(standard_joints()),
        condition in prop::sample::select(Condition::ALL),
        percent in 50_i64..=130,
    ) {
        let (thread, class) = of;
        let own = takes(&thread, class, condition, None).unwrap().torque;
        let typed = |factor: &benchleaf::quantity::Rational| {
            let torque = own.value() * ratio(percent, 100) * factor;
            Limits::from(Quantity::new(torque, own.unit(), 3))
        };
        let plausible = PlausibleTorque::of_joint(&thread, Some(class), condition, None).unwrap();
        for factor in [ratio(885, 100), ratio(981, 100), ratio(10, 1), ratio(12, 1)] {
            prop_assert_eq!(plausible.judge(&typed(&factor)), Plausibility::TooHigh);
            let inverse = ratio(1, 1) / factor;
            prop_assert_eq!(plausible.judge(&typed(&inverse)), Plausibility::TooLow);
        }
    }
}
