//! Torque and preload, compared with published examples and the aircraft table; tapped holes.

use super::{apart, near, number, plain, quantity, ratio, rows, text, value};
use benchleaf::quantity::{Quantity, Unit};
use benchleaf::trade::{
    Condition, Material, StrengthClass, Takes, Tapped, Thread, takes, torque_for,
};

fn joint(thread: &str, class: &str, condition: Condition, tapped: Option<&Tapped>) -> Takes {
    let thread = Thread::parse(thread).expect(thread);
    let class = StrengthClass::parse(class).expect(class);
    takes(&thread, class, condition, tapped).unwrap()
}

/// Compared with a calculation in floats. It is not published, so it checks the arithmetic only.
#[test]
fn preload_and_torque_match_a_calculation_in_floats() {
    for row in rows("torque.toml", "computed") {
        let (thread, class) = (text(&row, "thread"), text(&row, "class"));
        let takes = joint(thread, class, Condition::Dry, None);
        for (worked, known) in [(&takes.preload, "preload"), (&takes.torque, "torque")] {
            let known = value(&row, known);
            assert!(
                near(worked, &known, &number("0.2")),
                "{thread}, {class}: {worked}"
            );
        }
        let third_more = takes.torque.value() * ratio(4, 3);
        assert_eq!(*takes.ceiling.value(), third_more, "{thread}, {class}");
    }
}

/// The figures of `shigley-8-3b` are from memory where the table says so; its problem was read.
#[test]
fn torques_match_the_published_examples() {
    for row in rows("torque.toml", "nut_factor_example") {
        let nut_factor = number(text(&row, "K"));
        let torque = torque_for(&nut_factor, &value(&row, "d"), &value(&row, "F")).unwrap();
        let printed = value(&row, "printed");
        assert!(
            apart(&torque, &printed) <= number(text(&row, "within")),
            "{}: {torque} against {printed}",
            text(&row, "id")
        );
    }
}

/// The same 3/8-16 grade 5 bolt from thread and grade alone, as its page has it (read): 4940 lbf,
/// and about 30 ft·lbf dry and 23 oiled.
#[test]
fn a_published_torque_is_computed_from_thread_and_grade() {
    let dry = joint("3/8-16 UNC", "grade 5", Condition::Dry, None);
    assert_eq!(plain(&dry.preload), "4941 lbf");
    assert_eq!(plain(&dry.torque), "30.9 ft·lbf");
    let oiled = joint("3/8-16 UNC", "5", Condition::Oiled, None);
    assert_eq!(plain(&oiled.torque), "23.2 ft·lbf");
}

/// Each nut factor is within the published ones for its condition. They differ, so this is a band.
#[test]
fn nut_factors_are_within_the_published_ranges() {
    let known = rows("torque.toml", "nut_factor");
    for (condition, names) in [
        (Condition::Dry, &["dry", "dry steel on dry steel"][..]),
        (
            Condition::Oiled,
            &["lubricated", "engine oil", "machine oil, steel"],
        ),
        (
            Condition::Plated,
            &["zinc-plated", "zinc plated", "zinc, steel"],
        ),
        (
            Condition::Threadlocker,
            &["threadlocker, steel", "lubricated"],
        ),
    ] {
        let of = |field| {
            let named = known
                .iter()
                .filter(|row| names.contains(&text(row, "condition")));
            named
                .map(move |row| number(text(row, field)))
                .collect::<Vec<_>>()
        };
        let (least, most) = (of("least"), of("most"));
        let factor = condition.nut_factor();
        assert!(least.into_iter().min().unwrap() <= factor, "{condition}");
        assert!(factor <= most.into_iter().max().unwrap(), "{condition}");
        assert!(!condition.source().is_empty());
    }
}

/// A band, not a check of our torques: the table gives torques for 40 000 psi in the bolt and
/// cadmium-plated threads, so each row implies a nut factor, and with our areas all of them lie
/// where nut factors lie.
///
/// DIFFERENCE: 7/16-20 (0.22 to 0.24) is out of step with its neighbours in the table itself. The
/// limits for 90 000 psi are left out: they imply 0.09 to 0.21 and so aren't made by T = K · d · F.
#[test]
fn the_aircraft_table_implies_nut_factors_of_plated_threads() {
    let (least, most) = (number("0.11"), number("0.225"));
    let unit_factor = ratio(1, 1);
    for row in rows("torque.toml", "aircraft") {
        let name = text(&row, "thread");
        let thread = Thread::parse(name).unwrap();
        let force = thread.stress_area().unwrap().value() * ratio(40_000, 1);
        let force = Quantity::new(force, Unit::POUND_FORCE, 0);
        let without = torque_for(&unit_factor, &thread.diameter(), &force).unwrap();
        for field in ["least", "most"] {
            let torque = value(&row, field).in_unit(without.unit()).unwrap();
            let implied = torque.value() / without.value();
            let differs = name == "7/16-20" && field == "most";
            assert_eq!(
                least < implied && implied < most,
                !differs,
                "{name}: {implied}"
            );
        }
    }
}

#[test]
fn the_arithmetic_is_shown() {
    let inch = joint("1/4-20", "grade 5", Condition::Oiled, None);
    assert_eq!(
        inch.arithmetic.iter().map(plain).collect::<Vec<_>>(),
        [
            "A = 0.0318 in²",
            "F = 0.75 × 85 000 psi × 0.0318 in² = 2027 lbf",
            "T = 0.15 × 0.25 in × 2027 lbf = 76.0 in·lbf",
        ]
    );
    let nut = joint("M10x1.25", "8", Condition::Plated, None);
    assert_eq!(
        nut.arithmetic.iter().map(plain).collect::<Vec<_>>(),
        [
            "A = 61.2 mm²",
            "F = 0.75 × 580 MPa × 61.2 mm² = 26.6 kN",
            "T = 0.17 × 10 mm × 26.6 kN = 45.3 N·m",
        ]
    );
}

fn tapped(material: Material, engagement: &str) -> Tapped {
    Tapped::new(material, quantity(engagement)).unwrap()
}

/// π × 5.350 mm × 9 mm × 140 `MPa` / 3 = 7.06 kN, worked out by hand.
#[test]
fn a_short_thread_in_aluminium_limits_the_torque() {
    let short = tapped(Material::Aluminium, "9 mm");
    let takes = joint("M6", "8.8", Condition::Dry, Some(&short));
    assert_eq!(
        takes.arithmetic.iter().map(plain).collect::<Vec<_>>(),
        [
            "A = 20.1 mm²",
            "F = 0.75 × 580 MPa × 20.1 mm² = 8.74 kN",
            "S = π × 5.350 mm × 9 mm × 140 MPa / 3 = 7.06 kN, where the aluminium may strip",
            "F = 0.75 × 7.06 kN = 5.29 kN, because the aluminium is weaker than the bolt",
            "T = 0.20 × 6 mm × 5.29 kN = 6.35 N·m, recommended",
            "T = 0.20 × 6 mm × 7.06 kN = 8.47 N·m, strips the aluminium",
        ]
    );
    let strips = takes.strips_at.unwrap();
    assert!(strips.limits);
    assert_eq!(plain(&strips.force), "7.06 kN");
    assert_eq!(strips.torque, takes.ceiling);
    assert_eq!(plain(&takes.preload), "5.29 kN");
}

/// The margin is that of a bolt: the ceiling is four thirds of the torque.
#[test]
fn a_tapped_hole_has_the_margin_of_a_bolt() {
    for material in Material::ALL {
        for engagement in ["2 mm", "6 mm", "9 mm", "12 mm", "40 mm"] {
            let hole = tapped(*material, engagement);
            for (thread, class) in [("M6", "8.8"), ("M6", "4.6"), ("1/4-20", "grade 5")] {
                let takes = joint(thread, class, Condition::Oiled, Some(&hole));
                let ceiling = takes.torque.value() * ratio(4, 3);
                let most = takes.ceiling.in_unit(takes.torque.unit()).unwrap();
                assert_eq!(
                    *most.value(),
                    ceiling,
                    "{thread}, {engagement} of {material}"
                );
                let strips = takes.strips_at.unwrap();
                let at = strips.torque.in_unit(most.unit()).unwrap();
                assert_eq!(*at.value() == ceiling, strips.limits);
                assert!(ceiling <= *at.value());
            }
        }
    }
}

/// In 20 mm of aluminium the bolt decides, and the torque is that without a hole.
#[test]
fn a_long_thread_in_aluminium_does_not_limit_the_torque() {
    let long = tapped(Material::Aluminium, "20 mm");
    let (with, without) = (
        joint("M6", "8.8", Condition::Dry, Some(&long)),
        joint("M6", "8.8", Condition::Dry, None),
    );
    assert_eq!(
        (&with.torque, &with.preload, &with.ceiling),
        (&without.torque, &without.preload, &without.ceiling)
    );
    let strips = with.strips_at.unwrap();
    assert!(!strips.limits);
    assert_eq!(plain(&strips.torque), "18.8 N·m");
}

/// Plain steel is weaker than class 8.8 below 1.1 diameters, and a class 4.6 bolt is weaker than any usual
/// depth of it.
#[test]
fn steel_limits_the_torque_only_where_it_is_weaker_than_the_bolt() {
    for (class, engagement, limits) in [
        ("8.8", "6 mm", true),
        ("8.8", "7 mm", false),
        ("4.6", "4 mm", false),
        ("12.9", "9 mm", true),
        ("12.9", "12 mm", false),
    ] {
        let hole = tapped(Material::Steel, engagement);
        let takes = joint("M6", class, Condition::Dry, Some(&hole));
        assert_eq!(
            takes.strips_at.unwrap().limits,
            limits,
            "{class}, {engagement}"
        );
    }
}

#[test]
fn an_inch_thread_in_plastic_with_a_length_in_millimetres() {
    let boss = tapped(Material::Plastic, "12.7 mm");
    let takes = joint("1/4-20", "grade 2", Condition::Dry, Some(&boss));
    let strips = takes.strips_at.unwrap();
    assert_eq!(plain(strips.force), "413 lbf");
    assert_eq!(plain(strips.torque), "20.6 in·lbf");
    assert_eq!(plain(&takes.torque), "15.5 in·lbf");
}

#[test]
fn an_engagement_must_be_a_length() {
    for (engagement, found) in [("9 N·m", "9 N·m"), ("0 mm", "0 mm")] {
        let error = Tapped::new(Material::Aluminium, quantity(engagement)).unwrap_err();
        let message = format!("expected a length of engagement above zero, found `{found}`");
        assert_eq!(plain(error), message);
    }
    assert_eq!(
        Material::parse("brass").unwrap_err().to_string(),
        "expected a tapped material (steel, cast iron, aluminium, plastic), found `brass`"
    );
}
