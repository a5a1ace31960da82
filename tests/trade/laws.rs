//! Properties, tested with random values by proptest.

use super::{quantity, ratio};
use benchleaf::quantity::{Limits, Quantity, Rational, Unit};
use benchleaf::trade::{
    Choice, Condition, Day, Drive, DroopOf, Extension, Head, Material, Meter, Series,
    StrengthClass, Tapped, Thread, TorqueTool, choose_tool, droop, extension_setting, fill_for,
    frequency, mixture_of, no_load_for, oil_for, petrol_to_fill, synchronous_speed, takes,
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
    fn parsers_never_panic(text in "\\PC{0,20}|[M#0-9x./ UNCF\"-]{0,14}|[GRNBSPTcp0-9/ .-]{0,10}") {
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
        let area = thread.stress_area().unwrap();
        let square = |diameter: &Quantity| diameter.value() * diameter.value();
        let bar = square(&thread.diameter()) * ratio(355, 4 * 113);
        prop_assert!(*area.value() < bar);
        let core = square(&thread.minor_diameter().unwrap()) * ratio(355, 4 * 113);
        // Rounding to three figures changes it by half a per cent at most.
        prop_assert!(*area.value() > core * ratio(995, 1000));
    }

    #[test]
    fn a_finer_pitch_has_no_smaller_stress_area(tenths in 60..=640_u32) {
        let of = |pitch: &str| {
            let text = format!("M{}.{}x{pitch}", tenths / 10, tenths % 10);
            Thread::parse(&text).unwrap()
        };
        let areas = ["1.5", "1.25", "1", "0.75", "0.5"].map(|pitch| of(pitch).stress_area().unwrap());
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

    /// Every recommended setting and both ends of its window, with any error in the tolerance, relative
    /// to the set value or to the true torque, keep the torque within the limits. All are marks in the
    /// range.
    #[test]
    fn settings_keep_the_limits(
        lower in 100..20_000_i64,
        width in 1..8_000_i64,
        form in 0..4_usize,
        tenths in 1..150_i64,
        graduation in prop::sample::select(&["0.05 N·m", "0.5 N·m", "2 N·m", "5 in·lbf", "1 ft·lbf", ""][..]),
        extension in prop::option::of((0..30_000_i64, 0..=1800_i64)),
        error in -1000..=1000_i64,
    ) {
        let percent = Quantity::new(ratio(tenths, 10), Unit::PERCENT, 1);
        let mut tool = TorqueTool::new(&super::limits("5 N·m to 100 N·m"), Some(&percent)).unwrap();
        if !graduation.is_empty() {
            tool = tool.graduated(&quantity(graduation)).unwrap();
        }
        let extension = extension.map(|(length, angle)| {
            let length = hundredths(length, Unit::MILLIMETRE);
            let angle = Quantity::new(ratio(angle, 10), Unit::DEGREE, 1);
            Extension::new(&quantity("310 mm"), &length, &angle).unwrap()
        });
        if let Some(extension) = extension.clone() {
            tool = tool.extended(extension);
        }
        let number = |value: i64| format!("{}.{:02} N·m", value / 100, value % 100);
        let (least, most) = (number(lower), number(lower + width));
        let torque = super::limits(&match form {
            0 => format!("{least} to {most}"),
            1 => format!("{least} +{}/-0", number(width)),
            2 => format!("at least {least}"),
            _ => format!("at most {most}"),
        });
        let Some(setting) = tool.setting(&torque) else { return Ok(()) };
        let window = setting.window.clone().unwrap();
        let share = ratio(tenths, 1000) * ratio(error, 1000);
        let at_fastener = |set: &Quantity| {
            let one = extension.as_ref().map(|extension| extension.setting(&quantity("1 N·m")).unwrap());
            let factor = one.map_or(ratio(1, 1), |one| one.value().clone());
            set.in_unit(Unit::NEWTON_METRE).unwrap().value() / factor
        };
        for set in [Some(&setting.value), window.least.as_ref(), window.most.as_ref()].into_iter().flatten() {
            let given = at_fastener(set);
            let of_set = &given * (ratio(1, 1) + &share);
            let of_true = &given / (ratio(1, 1) - &share);
            for true_torque in [of_set, of_true] {
                let true_torque = Quantity::new(true_torque, Unit::NEWTON_METRE, 6);
                prop_assert!(torque.contains(&true_torque), "{set} gives {true_torque}");
            }
            for end in [tool.lowest(), tool.highest()] {
                let inwards = end.compare(&quantity("50 N·m")).unwrap().reverse();
                let side = set.compare(end).unwrap();
                prop_assert!(side.is_eq() || side == inwards, "{set}");
            }
            if !graduation.is_empty() {
                prop_assert!((set.value() / quantity(graduation).value()).is_integer(), "{set}");
            }
        }
        // No mark is nearer to the target and safe as well.
        if let (0, Some(least), Some(most)) = (form, &window.least, &window.most) {
            let inside = |set: &Quantity| set.value() >= least.value() && set.value() <= most.value();
            prop_assert!(inside(&setting.value));
        }
    }

    /// If a torque has limits and a tool has no safe setting for it, every mark in its range breaks them
    /// for some error.
    #[test]
    fn a_torque_without_a_setting_has_no_safe_mark(
        lower in 100..6_000_i64,
        width in 1..300_i64,
        tenths in 1..60_i64,
    ) {
        let percent = Quantity::new(ratio(tenths, 10), Unit::PERCENT, 1);
        let tool = TorqueTool::new(&super::limits("5 N·m to 50 N·m"), Some(&percent)).unwrap();
        let tool = tool.graduated(&quantity("0.5 N·m")).unwrap();
        let torque = limits(lower, width, "N·m");
        let part = ratio(tenths, 1000);
        let is_safe = |half: i64| {
            let set = ratio(half, 2);
            let ends = [&set * (ratio(1, 1) - &part), &set / (ratio(1, 1) - &part)];
            ends.into_iter().all(|end| torque.contains(&Quantity::new(end, Unit::NEWTON_METRE, 6)))
        };
        let any = (10..=100).any(is_safe);
        prop_assert_eq!(tool.setting(&torque).is_some(), any);
    }

    /// The bounds that an extension gives are rounded inwards, and the setting lies between them.
    #[test]
    fn limits_through_an_extension_are_never_widened(
        lower in 100..20_000_i64,
        width in 1..5_000_i64,
        length in 0..30_000_i64,
        angle in 0..=1800_i64,
    ) {
        let angle = Quantity::new(ratio(angle, 10), Unit::DEGREE, 1);
        let length = hundredths(length, Unit::MILLIMETRE);
        let extension = Extension::new(&quantity("310 mm"), &length, &angle).unwrap();
        let torque = limits(lower, width, "N·m");
        let factor = extension.setting(&quantity("1 N·m")).unwrap().value().clone();
        if let (Some(window), Some(setting)) = (extension.window(&torque), extension.setting_within(&torque)) {
            let (least, most) = (window.least.unwrap(), window.most.unwrap());
            for set in [&least, &most, &setting] {
                let given = Quantity::new(set.value() / &factor, Unit::NEWTON_METRE, 6);
                prop_assert!(torque.contains(&given), "{set}");
                prop_assert!(least.value() <= set.value() && set.value() <= most.value());
            }
        }
    }

    /// Whether the accuracy is a share of the reading or of the true value.
    #[test]
    fn readings_in_the_window_are_within_the_limits(
        lower in -20_000..20_000_i64,
        width in 1..5_000_i64,
        step in 0..100_i64,
        tenths in 1..300_i64,
        error in -1000..=1000_i64,
    ) {
        let (lower, upper) = (ratio(lower, 100), ratio(lower + width, 100));
        let signed = |value: &Rational| Quantity::new(value.clone(), Unit::DEGREE_CELSIUS, 2).text();
        let Ok(limits) = Limits::parse(&format!("{} to {}", signed(&lower), signed(&upper))) else {
            return Ok(());
        };
        let resolution = (step > 0).then(|| hundredths(step, Unit::DEGREE_CELSIUS));
        let percent = Quantity::new(ratio(tenths, 10), Unit::PERCENT, 1);
        let meter = Meter::new(resolution, Some(percent)).unwrap();
        let Some(window) = meter.judge(&limits).unwrap().window else { return Ok(()) };
        let part = ratio(error, 1000);
        let (fixed, share) = (ratio(step, 200) * &part, ratio(tenths, 1000) * &part);
        for read in [window.least.unwrap(), window.most.unwrap()] {
            let size = if *read.value() < ratio(0, 1) { ratio(0, 1) - read.value() } else { read.value().clone() };
            let of_reading = read.value() - &fixed - size * &share;
            let rest = read.value() - &fixed;
            let sign = if rest < ratio(0, 1) { ratio(-1, 1) } else { ratio(1, 1) };
            let of_true = &rest / (ratio(1, 1) + sign * &share);
            for true_value in [of_reading, of_true] {
                prop_assert!(lower <= true_value && true_value <= upper, "{read} may be {true_value:?}");
            }
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
                let fitness = |tool: &TorqueTool| {
                    let can_be_set = torques.iter().all(|torque| tool.setting(torque).is_some());
                    let covers_all = torques.iter().all(|torque| tool.covers_all_of(torque));
                    (!can_be_set, !covers_all, tool.tolerance().value().clone())
                };
                let best = tools.iter().filter(|tool| covers(tool)).map(fitness).min();
                prop_assert_eq!(Some(fitness(&tools[place])), best);
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

    /// A tank never overflows, is full to the last digit, and never gets less oil than the ratio.
    #[test]
    fn a_fill_is_not_more_than_the_capacity_nor_leaner_than_the_ratio(
        hundredths_of in 1..100_000_i64,
        parts in 2..120_i64,
        unit in prop::sample::select(&[Unit::LITRE, Unit::MILLILITRE, Unit::US_GALLON, Unit::US_FLUID_OUNCE, Unit::IMPERIAL_GALLON][..]),
    ) {
        let capacity = hundredths(hundredths_of, unit);
        let ratio_to_one = Quantity::new(ratio(parts, 1), Unit::TO_ONE, 0);
        if let Some(fill) = fill_for(&capacity, &ratio_to_one) {
            let oil = fill.oil.in_unit(unit).unwrap().value().clone();
            let petrol = fill.petrol.value();
            prop_assert!(petrol + &oil <= *capacity.value());
            prop_assert!(*petrol <= &oil * ratio(parts, 1));
            // The petrol is rounded by less than one part in a hundred.
            prop_assert!(petrol * ratio(101, 100) + &oil >= *capacity.value());
            // The oil is rounded by less than a step of the measuring cup.
            let cup = if fill.oil.unit() == Unit::MILLILITRE { ratio(1, 1) } else { ratio(1, 10) };
            let exact = capacity.in_unit(fill.oil.unit()).unwrap().value() / ratio(parts + 1, 1);
            prop_assert!(fill.oil.value() - exact < cup);
        }
    }

    #[test]
    fn droop_and_the_speed_without_load_are_inverse(rpm in 1..20_000_i64, tenths in 0..999_i64) {
        let full_load = Quantity::new(ratio(rpm, 1), Unit::RPM, 0);
        let percent = Quantity::new(ratio(tenths, 10), Unit::PERCENT, 1);
        for of in DroopOf::ALL {
            let no_load = no_load_for(&full_load, &percent, of).unwrap();
            let back = droop(&no_load, &full_load, of).unwrap();
            prop_assert_eq!(back.value(), percent.value());
        }
        // The same speeds are a larger number of the full-load speed.
        let no_load = no_load_for(&full_load, &percent, DroopOf::NoLoad).unwrap();
        prop_assert!(droop(&no_load, &full_load, DroopOf::FullLoad).unwrap().value() >= percent.value());
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
