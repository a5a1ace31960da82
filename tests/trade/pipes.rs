//! Pipe threads, compared with tables of ASME B1.20.1, ISO 228-1 and ISO 7-1.

use super::{apart, number, quantity, ratio, rows, text, value};
use benchleaf::trade::{
    Condition, Head, Material, PlausibleTorque, Series, StrengthClass, Tapped, Thread, takes,
};

fn thread(text: &str) -> Thread {
    Thread::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// The printed outside diameter of 1/16 NPT is rounded to 0.313 in.
#[test]
fn sizes_and_pitches_match_the_tables() {
    let marks: [(&str, &[&str]); 2] =
        [("npt", &["NPT", "NPTF"]), ("bsp", &["BSPP", "BSPT", "BSP"])];
    for (table, marks) in marks {
        for row in rows("pipe_threads.toml", table) {
            for mark in marks {
                let size = text(&row, "size");
                let typed = format!("{size} {mark}");
                let is_tapered = row.get("tapered").and_then(toml::Value::as_bool);
                if *mark == "BSPT" && is_tapered == Some(false) {
                    assert!(Thread::parse(&typed).is_err(), "{typed}");
                    continue;
                }
                let thread = thread(&typed);
                assert_eq!(thread.series(), Series::Pipe, "{typed}");
                let printed = value(&row, "diameter");
                assert!(
                    apart(&thread.diameter(), &printed) <= printed.resolution() / ratio(2, 1),
                    "{typed}: {}",
                    thread.diameter()
                );
                let pitch = ratio(1, 1) / number(text(&row, "per_inch"));
                assert_eq!(*thread.pitch().value(), pitch, "{typed}");
            }
        }
    }
}

#[test]
fn usual_spellings_are_read_and_print_in_the_form_of_the_standard() {
    for (typed, meant) in [
        ("1/8-27 NPT", "1/8-27 NPT"),
        ("1/8 NPT", "1/8-27 NPT"),
        ("1/4 npt", "1/4-18 NPT"),
        ("NPT 1/4", "1/4-18 NPT"),
        ("NPT 1/4-18", "1/4-18 NPT"),
        ("1/4\" NPT", "1/4-18 NPT"),
        ("1/4 in NPT", "1/4-18 NPT"),
        ("1-11.5 NPT", "1-11.5 NPT"),
        ("1-11-1/2 NPT", "1-11.5 NPT"),
        ("1 NPT", "1-11.5 NPT"),
        ("1-1/4 NPT", "1-1/4-11.5 NPT"),
        ("1 1/4-11.5 NPT", "1-1/4-11.5 NPT"),
        ("1/8-27 NPTF", "1/8-27 NPTF"),
        ("G1/4", "G1/4"),
        ("G 1/4", "G1/4"),
        ("G 1/4 A", "G1/4"),
        ("G1/4B", "G1/4"),
        ("g1 1/4", "G1-1/4"),
        ("1/4 BSPP", "G1/4"),
        ("BSPP 1/4", "G1/4"),
        ("1/4-19 BSPP", "G1/4"),
        ("R1/8", "R1/8"),
        ("R 1/8", "R1/8"),
        ("Rc1/8", "Rc1/8"),
        ("Rp 1/2", "Rp1/2"),
        ("1/4 BSPT", "1/4 BSPT"),
        ("BSP 1/4", "1/4 BSP"),
        ("1/4 BSP", "1/4 BSP"),
        ("G1/4 LH", "G1/4 LH"),
    ] {
        let thread = thread(typed);
        assert_eq!(thread.to_string(), meant, "`{typed}`");
        assert_eq!(Thread::parse(meant), Ok(thread), "`{meant}`");
        assert!(thread.is_pipe() && !thread.is_metric());
    }
}

#[test]
fn an_unknown_size_is_refused_with_the_known_ones() {
    let npt = "the sizes are 1/16-27 NPT, 1/8-27 NPT, 1/4-18 NPT, 3/8-18 NPT, 1/2-14 NPT, 3/4-14 NPT, \
        1-11.5 NPT, 1-1/4-11.5 NPT, 1-1/2-11.5 NPT, 2-11.5 NPT";
    let tapered = "the sizes are R1/16, R1/8, R1/4, R3/8, R1/2, R3/4, R1, R1-1/4, R1-1/2, R2";
    for (typed, help) in [
        ("1/8-28 NPT", npt),
        ("5/8 NPT", npt),
        ("1/3 NPT", npt),
        ("1/4-20 NPT", npt),
        ("NPT 10", npt),
        ("R5/8", tapered),
        ("R 1/4 A", tapered),
    ] {
        let error = Thread::parse(typed).unwrap_err();
        let message = format!("expected a pipe thread of a standard size, found `{typed}`");
        assert_eq!(error.to_string(), message);
        assert_eq!(error.help(), Some(help), "{typed}");
    }
    // Without a size, it is no pipe thread at all.
    for typed in ["NPT", "G", "R", "BSP", "GM6", "grade 5", "Rc"] {
        assert!(Thread::parse(typed).is_err(), "{typed}");
    }
}

#[test]
fn nothing_is_calculated_for_a_pipe_thread() {
    for typed in ["1/4 NPT", "G1/4", "R1/4", "1/4 BSP"] {
        let thread = thread(typed);
        assert_eq!(thread.stress_area(), None);
        assert_eq!(thread.pitch_diameter(), None);
        assert_eq!(thread.minor_diameter(), None);
        assert_eq!(thread.threads_per_inch(), None);
        let hole = Tapped::new(Material::Aluminium, quantity("10 mm")).unwrap();
        for class in ["8.8", "8", "grade 5", "A2-70"] {
            let class = StrengthClass::parse(class).unwrap();
            assert!(takes(&thread, class, Condition::Dry, Some(&hole)).is_err());
        }
        let error = PlausibleTorque::of_joint(&thread, None, Condition::Dry, None).unwrap_err();
        assert!(error.help().unwrap().contains("no torque is calculated"));
        // It has the size of a head of 1/4-20 UNC in its name only.
        assert!(
            Head::ALL
                .iter()
                .all(|head| head.across_flats(&thread).is_none())
        );
        assert!(Head::fitted(&quantity("7/16 in"), &thread).is_empty());
    }
}
