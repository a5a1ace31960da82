//! Heads and wrenches, compared with tables of ISO, DIN, JIS and ASME.

use super::{plain, quantity, rows, text, value};
use benchleaf::trade::{Drive, Head, Thread};

fn head(name: &str) -> Head {
    let known = Head::ALL.iter().find(|head| head.name() == name);
    *known.expect(name)
}

/// A thread of some size. The pitch does not matter for the head.
fn thread(size: &str) -> Thread {
    let thread = Thread::parse(size).or_else(|_| Thread::parse(&format!("{size} UNC")));
    thread.expect(size)
}

/// DIFFERENCE: the rows with `disagree`. Old DIN sizes are printed under ISO numbers for M10, M12,
/// M14 and M22 (17, 19, 22 and 32 mm for 16, 18, 21 and 34), EN 1662 has 16 mm for M12 flange
/// bolts where ISO 15071 has 15, and EN 1661 16 mm for M10 flange nuts where ISO 4161 has 15.
#[test]
fn sizes_match_the_tables() {
    let mut differing = Vec::new();
    for row in rows("hex_sizes.toml", "head") {
        let (standard, name) = (text(&row, "standard"), text(&row, "thread"));
        let size = head(text(&row, "head")).across_flats(&thread(name));
        assert_eq!(size, Some(value(&row, "size")), "{standard}, {name}");
        if row.contains_key("disagree") {
            differing.push(format!("{standard} {name}"));
        }
    }
    assert_eq!(
        differing,
        [
            "ISO 4032 M10",
            "ISO 4032 M12",
            "ISO 4014 M14",
            "ISO 4017 M14",
            "ISO 4032 M14",
            "ISO 4032 M22",
            "ISO 15071 / ISO 4162 / JIS B 1189 small series M12",
            "ISO 4161 M10",
        ]
    );
}

/// Common practice, no source: a 10 mm wrench fits an M6 hex.
#[test]
fn a_wrench_fits_the_heads_of_its_size() {
    for row in rows("hex_sizes.toml", "fit") {
        let fitted = Head::fitted(&value(&row, "wrench"), &thread(text(&row, "thread")));
        let names: Vec<&str> = fitted.into_iter().map(Head::name).collect();
        let known = row["heads"].as_array().unwrap();
        let known: Vec<&str> = known.iter().filter_map(|name| name.as_str()).collect();
        assert_eq!(names, known, "{row}");
    }
}

#[test]
fn near_sizes_of_two_systems_fit_or_not_as_in_the_table() {
    for row in rows("hex_sizes.toml", "near") {
        let drive = Drive::parse(text(&row, "one")).unwrap();
        let fits = row["fits"].as_integer() == Some(1);
        assert_eq!(drive.is_fitted_by(&value(&row, "other")), fits, "{row}");
    }
}

#[test]
fn usual_spellings_are_read() {
    for (typed, meant) in [
        ("hex 10 mm", "hex 10 mm"),
        ("Hex 10mm", "hex 10 mm"),
        ("10 mm", "hex 10 mm"),
        ("hex 9/16 in", "hex 9/16 in"),
        ("hex 9/16\"", "hex 9/16 in"),
        ("hex 1 1/8 in", "hex 1 1/8 in"),
        ("hex 20.8 mm", "hex 20.8 mm"),
        ("hex socket 4 mm", "hex socket 4 mm"),
    ] {
        let drive = Drive::parse(typed).unwrap_or_else(|error| panic!("{typed}: {error}"));
        assert_eq!(plain(&drive), meant);
        assert_eq!(drive.is_socket(), meant.contains("socket"));
    }
}

#[test]
fn an_invalid_hex_is_reported_with_the_expected_form() {
    let expected = "expected a drive such as `hex 10 mm`, `hex 9/16 in` or `hex socket 4 mm`";
    for (typed, help) in [
        (
            "hex 10",
            Some("write the number with its unit, as in `9 N·m`"),
        ),
        ("hex 10 mn", None),
        ("hex 10 N·m", None),
        ("hex 0 mm", None),
        ("slotted", None),
    ] {
        let error = Drive::parse(typed).unwrap_err();
        assert_eq!(error.to_string(), format!("{expected}, found `{typed}`"));
        assert_eq!(error.help(), help, "{typed}");
    }
    assert!(
        !Drive::parse("10 mm")
            .unwrap()
            .is_fitted_by(&quantity("10 N·m"))
    );
}
