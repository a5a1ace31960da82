//! Properties, tested with random values by proptest.

use super::{quantity, ratio};
use benchleaf::quantity::{Limits, Quantity, Rational, Unit};
use benchleaf::trade::{
    AdequacyLevel, Choice, Condition, Day, Drive, Head, Material, Series, StrengthClass, Tapped,
    Thread, TorqueTool, choose_tool, extension_setting, frequency, mixture_of, oil_for,
    petrol_to_fill, synchronous_speed, takes, unit_slips,
};
use proptest::prelude::*;

fn hundredths(value: i64, unit: Unit) -> Quantity {
    Quantity::new(ratio(value, 100), unit, 2)
}

fn torque(least: i64, most: i64) -> impl Strategy<Value = Quantity> {
    (least..=most).prop_map(|value| hundredths(value, Unit::NEWTON_METRE))
}

fn length(least: i64, most: i64) -> impl Strategy<Value = Quantity> {
    (least..=most).prop_map(|value| hundredths(value, Unit::MILLIMETRE))
}

const PITCHES: [&str; 10] = [
    "0.35", "0.5", "0.75", "0.8", "1", "1.25", "1.5", "1.75", "2", "3",
];

/// Any metric thread that can be parsed: a diameter in tenths of a millimetre and a pitch of ISO 261.
fn metric() -> impl Strategy<Value = Thread> {
    (16..=640_u32, prop::sample::select(&PITCHES[..]))
        .prop_map(|(tenths, pitch)| format!("M{}.{}x{pitch}", tenths / 10, tenths % 10))
        .prop_filter_map("a pitch that is too coarse", |text| {
            Thread::parse(&text).ok()
        })
}

fn limits(lower: i64, width: i64, unit: &str) -> Limits {
    let number = |value: i64| format!("{}.{:02}", value / 100, value % 100);
    let text = format!(
        "{} {unit} to {} {unit}",
        number(lower),
        number(lower + width)
    );
    Limits::parse(&text).unwrap()
}

const BOLTS: [&str; 4] = ["4.6", "8.8", "9.8", "12.9"];

proptest! {
    #[test]
    fn parsers_never_panic(text in "\\PC{0,20}|[M#0-9x./ UNCF\"-]{0,14}") {
        let thread = Thread::parse(&text);
        let class = StrengthClass::parse(&text);
        let _ = (Drive::parse(&text), Day::parse(&text), Condition::parse(&text), Material::parse(&text));
        if let (Ok(thread), Ok(class)) = (&thread, class) {
            let _ = takes(thread, class, Condition::Dry, None);
        }
        if let Ok(thread) = thread {
            prop_assert_eq!(Thread::parse(&thread.to_string()), Ok(thread));
        }
    }

    #[test]
    fn a_printed_thread_parses_as_itself(thread in metric()) {
        prop_assert_eq!(Thread::parse(&thread.to_string()), Ok(thread));
    }

    /// It is between the areas of the root circle and of the nominal circle.
    #[test]
    fn a_stress_area_is_smaller_than_the_area_of_the_nominal_diameter(thread in metric()) {
        let area = thread.stress_area();
        let square = |diameter: &Quantity| diameter.value() * diameter.value();
        let bar = square(&thread.diameter()) * ratio(355, 4 * 113);
        prop_assert!(*area.value() < bar);
        let core = square(&thread.minor_diameter()) * ratio(355, 4 * 113);
        // Rounding to three figures changes it by half a per cent at most.
        prop_assert!(*area.value() > core * ratio(995, 1000));
    }

    #[test]
    fn a_finer_pitch_has_no_smaller_stress_area(tenths in 60..=640_u32) {
        let of = |pitch: &str| {
            let text = format!("M{}.{}x{pitch}", tenths / 10, tenths % 10);
            Thread::parse(&text).unwrap()
        };
        let areas = ["1.5", "1.25", "1", "0.75", "0.5"].map(|pitch| of(pitch).stress_area());
        prop_assert!(areas.is_sorted_by(|a, b| a.value() <= b.value()));
    }

    #[test]
    fn a_stronger_bolt_takes_more_torque(thread in metric(), condition in prop::sample::select(Condition::ALL)) {
        let torques: Vec<Rational> = BOLTS
            .iter()
            .filter_map(|class| takes(&thread, StrengthClass::parse(class).unwrap(), condition, None).ok())
            .map(|takes| takes.torque.value() / takes.strength.proof.value())
            .collect();
        // The torque depends on the class only by the proof stress.
        prop_assert!(torques.windows(2).all(|pair| pair[0] == pair[1]));
    }

    #[test]
    fn a_tapped_hole_never_takes_more_torque_than_the_bolt(
        thread in metric(),
        class in prop::sample::select(&BOLTS[..]),
        shorter in 1..5_000_i64,
        more in 0..5_000_i64,
    ) {
        let class = StrengthClass::parse(class).unwrap();
        let hold = |engagement: i64| {
            let length = hundredths(engagement, Unit::MILLIMETRE);
            let tapped = Tapped::new(Material::Aluminium, length).unwrap();
            takes(&thread, class, Condition::Oiled, Some(&tapped))
        };
        if let Ok(bolt) = takes(&thread, class, Condition::Oiled, None) {
            let (short, long) = (hold(shorter).unwrap(), hold(shorter + more).unwrap());
            for (less, more) in [(&short, &long), (&long, &bolt)] {
                prop_assert!(less.torque.value() <= more.torque.value());
                prop_assert!(less.ceiling.value() <= more.ceiling.value());
                prop_assert!(less.torque.value() <= less.ceiling.value());
            }
        }
    }

    #[test]
    fn a_suggested_unit_keeps_the_number_and_is_nearer(typed in 1..20_000_i64, taken in torque(50, 30_000)) {
        let torque = hundredths(typed, Unit::NEWTON_METRE);
        let limits = Limits::parse(&format!("{}.{:02} N·m", typed / 100, typed % 100)).unwrap();
        let share = |torque: &Quantity| {
            torque.in_unit(taken.unit()).unwrap().value() / taken.value()
        };
        for meant in unit_slips(&limits, &taken) {
            prop_assert_eq!(meant.value(), torque.value());
            let (typed, meant) = (share(&torque), share(&meant));
            prop_assert!(typed < ratio(1, 8) || typed > ratio(4, 3));
            prop_assert!(ratio(1, 2) <= meant && meant <= ratio(4, 3));
        }
    }

    #[test]
    fn fitting_is_symmetric_and_independent_of_the_unit(first in length(100, 5_000), second in length(100, 5_000)) {
        let drive = |size: &Quantity| Drive::parse(&size.text()).unwrap();
        prop_assert!(drive(&first).is_fitted_by(&first));
        let fits = drive(&first).is_fitted_by(&second);
        prop_assert_eq!(fits, drive(&second).is_fitted_by(&first));
        let inches = second.in_unit(Unit::INCH).unwrap();
        prop_assert_eq!(fits, drive(&first).is_fitted_by(&inches));
    }

    #[test]
    fn a_wrench_fits_a_head_of_its_size(thread in metric()) {
        for head in Head::ALL {
            if let Some(size) = head.across_flats(&thread) {
                prop_assert!(Head::fitted(&size, &thread).contains(head));
            }
        }
    }

    #[test]
    fn no_extension_and_one_at_a_right_angle_keep_the_setting(
        torque in torque(1, 30_000),
        wrench in length(1_000, 100_000),
        extension in length(0, 50_000),
        angle in 0..=360_i64,
    ) {
        let set = |extension: &Quantity, angle: i64| {
            let angle = Quantity::new(ratio(angle, 1), Unit::DEGREE, 0);
            extension_setting(&torque, &wrench, extension, &angle).unwrap()
        };
        let none = quantity("0 mm");
        let same = set(&none, angle);
        prop_assert_eq!(same.value(), torque.value());
        let same = set(&extension, 90);
        prop_assert_eq!(same.value(), torque.value());
    }

    /// The inverse of the formula gives the torque again. A longer extension needs a lower setting.
    #[test]
    fn a_straight_extension_lowers_the_setting(
        torque in torque(1, 30_000),
        wrench in length(1_000, 100_000),
        extension in length(1, 50_000),
    ) {
        let set = |angle: &str| extension_setting(&torque, &wrench, &extension, &quantity(angle));
        let straight = set("0°").unwrap();
        let back = straight.value() * (wrench.value() + extension.value()) / wrench.value();
        prop_assert_eq!(&back, torque.value());
        let settings: Vec<Rational> = ["0°", "30°", "59.9°", "75°", "90°"]
            .iter()
            .map(|angle| set(angle).unwrap().value().clone())
            .collect();
        prop_assert!(settings.is_sorted_by(|a, b| a < b));
        if extension.value() < wrench.value() {
            prop_assert!(set("180°").unwrap().value() > torque.value());
        }
    }

    /// With a setting in the window, the torque is within the limits even if the tool has its largest error.
    #[test]
    fn settings_in_the_window_keep_the_limits(lower in 100..20_000_i64, width in 1..5_000_i64, tenths in 1..150_i64) {
        let percent = Quantity::new(ratio(tenths, 10), Unit::PERCENT, 1);
        let tool = TorqueTool::new(&super::limits("5 N·m to 100 N·m"), Some(&percent)).unwrap();
        let torque = limits(lower, width, "N·m");
        let adequacy = tool.judge(&torque).unwrap();
        prop_assert_eq!(adequacy.level == AdequacyLevel::OutOfRange, !tool.covers(&torque));
        let part = ratio(tenths, 1000);
        if let Some((least, most)) = adequacy.window {
            let off = |set: &Quantity, part: Rational| {
                Quantity::new(set.value() * (ratio(1, 1) + part), set.unit(), 2)
            };
            for set in [&least, &most] {
                prop_assert!(torque.contains(&off(set, part.clone())));
                prop_assert!(torque.contains(&off(set, ratio(0, 1) - &part)));
            }
        } else {
            // There is no window only if the tolerance of the tool is about as wide as the limits.
            prop_assert!(adequacy.ratio.unwrap().value() < &ratio(11, 10));
        }
    }

    #[test]
    fn a_chosen_tool_covers_its_torques(
        ranges in prop::collection::vec((1..500_i64, 1..10_000_i64), 1..6),
        torques in prop::collection::vec((1..10_000_i64, 1..100_i64), 1..4),
    ) {
        let tools: Vec<TorqueTool> = ranges
            .iter()
            .map(|(lower, width)| TorqueTool::new(&limits(*lower, *width, "N·m"), None).unwrap())
            .collect();
        let torques: Vec<Limits> = torques
            .iter()
            .map(|(lower, width)| limits(*lower, *width, "N·m"))
            .collect();
        let covers = |tool: &TorqueTool| torques.iter().all(|torque| tool.covers(torque));
        match choose_tool(&tools, &torques) {
            Some(Choice::Covers(place)) => {
                prop_assert!(covers(&tools[place]));
                let best = tools.iter().filter(|tool| covers(tool)).map(TorqueTool::tolerance);
                let best = best.map(|tolerance| tolerance.value().clone()).min();
                prop_assert_eq!(Some(tools[place].tolerance().value().clone()), best);
            }
            Some(Choice::Nearest(_)) => prop_assert!(!tools.iter().any(covers)),
            None => prop_assert!(false, "there are tools"),
        }
    }

    #[test]
    fn petrol_and_oil_add_up_to_the_mixture(millilitres in 1..100_000_i64, parts in 1..200_i64) {
        let petrol = Quantity::new(ratio(millilitres, 1), Unit::MILLILITRE, 0);
        let parts = Quantity::new(ratio(parts, 1), Unit::TO_ONE, 0);
        let oil = oil_for(&petrol, &parts).unwrap();
        let mixture = mixture_of(&petrol, &parts).unwrap();
        prop_assert_eq!(mixture.value(), &(petrol.value() + oil.value()));
        let back = petrol_to_fill(&mixture, &parts).unwrap();
        prop_assert_eq!(back.value(), petrol.value());
    }

    #[test]
    fn speed_and_frequency_are_inverse(rpm in 1..20_000_i64, pairs in 1..20_u32) {
        let speed = Quantity::new(ratio(rpm, 1), Unit::RPM, 0);
        let hertz = frequency(&speed, pairs * 2).unwrap();
        let back = synchronous_speed(&hertz, pairs * 2).unwrap();
        prop_assert_eq!(back.value(), speed.value());
    }

    #[test]
    fn the_series_depends_on_the_pitch_only(thread in metric()) {
        let name = thread.to_string();
        let size = name.split('×').next().unwrap_or_default();
        let is_coarse = Thread::parse(size) == Ok(thread);
        prop_assert_eq!(thread.series() == Series::MetricCoarse, is_coarse);
    }
}
