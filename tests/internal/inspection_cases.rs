//! Intervals, inspections and the log: as many correct sources as faulty ones, each with the rule that it breaks.

use crate::tree::Memory;

const SHOP: &str = "name = \"Elmbrook\"\nlanguage = \"LANGUAGE\"";

const MACHINE: &str = r#"
name = "Tarn Sorrel pump"
[part.cover]
name = "cover"
[part.vane]
name = "vane"
reuse = "No chip"
[part.hose]
name = "hose"
limits = "at least 3 mm"
[reading.sag]
name = "belt sag"
limits = "8 mm to 12 mm"
"#;

/// The rules that a shop with these sources breaks, above advice, without duplicates.
fn broken(language: &str, files: &[(&str, &str)]) -> Vec<&'static str> {
    let above = crate::finding::Level::Advice;
    let findings = found(language, files);
    let findings = findings.iter().filter(|finding| finding.level > above);
    let mut rules: Vec<&str> = findings.map(|finding| finding.rule.name).collect();
    rules.dedup();
    rules
}

fn found(language: &str, files: &[(&str, &str)]) -> crate::finding::Findings {
    let shop = SHOP.replace("LANGUAGE", language);
    let mut all = vec![
        ("shop.toml", shop.as_str()),
        ("machines/sorrel.toml", MACHINE),
    ];
    all.extend(files);
    crate::check(&crate::read(&Memory::new(all))).findings
}

/// A procedure with this front matter and this body.
fn procedure(front: &str, body: &str) -> String {
    format!("+++\ntitle = \"Look\"\nmachines = [\"sorrel\"]\n{front}\n+++\nWhy.\n\n{body}")
}

fn of_body(body: &str) -> Vec<&'static str> {
    broken("en-GB", &[("a/look.md", &procedure("", body))])
}

#[test]
fn intervals_of_jobs() {
    let of = |language: &str, interval: &str| {
        let front = format!("interval = \"{interval}\"");
        broken(
            language,
            &[("a/look.md", &procedure(&front, "## Do\n\n1. Look.\n"))],
        )
    };
    for (language, interval) in [
        ("en-GB", "every 50 h or yearly"),
        ("en-GB", "yearly, in October"),
        ("en-GB", "first after 5 h, then every 50 h"),
        ("en-GB", "when needed: the tips are round"),
        ("en-GB", "every day of use"),
        ("en-US", "before each use"),
        ("es", "cada 50 h o cada año"),
        ("es", "según su estado: patina"),
        // An interval of another language can't be read as one of this.
        ("es", "every 50 h"),
        ("en-GB", "cada 50 h o cada año"),
    ] {
        assert_eq!(of(language, interval), [""; 0], "{interval}");
    }
    for (language, interval) in [
        ("en-GB", "every 50 h if used"),
        ("en-GB", "yearly, before the first frost"),
        ("en-GB", "first after 5 h"),
        ("en-GB", "when the tips are round"),
        ("en-GB", "every 0 h"),
        ("en-US", "before each loan"),
        ("es", "every 50 hours of"),
        ("es", "según su estado:"),
    ] {
        assert_eq!(
            of(language, interval),
            ["unreadable-interval"],
            "{interval}"
        );
    }
}

#[test]
fn a_misspelt_interval_is_corrected() {
    for (typed, meant) in [
        ("evry 50 h", "every 50 h"),
        ("every 50 h or yearley", "every 50 h or yearly"),
        ("before eech use", "before each use"),
    ] {
        let front = format!("interval = \"{typed}\"");
        let text = procedure(&front, "## Do\n\n1. Look.\n");
        let shop = SHOP.replace("LANGUAGE", "en-GB");
        let sources = crate::read(&Memory::new([
            ("shop.toml", shop.as_str()),
            ("machines/sorrel.toml", MACHINE),
            ("a/look.md", &text),
        ]));
        let findings = crate::check(&sources).findings;
        let edit = findings.iter().flat_map(|finding| &finding.edits).next();
        let edit = edit.unwrap_or_else(|| panic!("no edit for {typed}"));
        let source = sources.tree.file(edit.span.file);
        let mut fixed = source.text.clone();
        fixed.replace_range(edit.span.range(), &edit.replacement);
        assert!(
            fixed.contains(&format!("interval = \"{meant}\"")),
            "{typed}: {fixed}"
        );
    }
}

#[test]
fn items_say_what_to_look_for() {
    for item in [
        "1. Feet\n   - All there.\n   - Not ready if: one is missing.\n",
        "1. [](inspect:vane)\n   - Not ready if: it is chipped.\n",
        "1. [](inspect:hose)\n",
        "1. [](measure:sag)\n",
        "1. [](inspect:cover)\n   - not ready if: it is cracked.\n",
        "1. [](wait:5-min)\n2. [](measure:sag)\n",
    ] {
        let body = format!("## Before each use {{.inspection}}\n\n{item}");
        assert_eq!(of_body(&body), [""; 0], "{item}");
    }
    // An inspection that is not done before a use decides nothing about it.
    assert_eq!(
        of_body("## Weekly {.inspection}\n\n1. [](inspect:vane)\n"),
        [""; 0]
    );
    for (item, rule) in [
        ("1. Feet\n", "nothing-to-look-for"),
        ("1. [](inspect:cover)\n", "nothing-to-look-for"),
        (
            "1. [](inspect:cover) [](measure:sag)\n",
            "nothing-to-look-for",
        ),
        ("1. Feet\n   - Not ready if:\n", "nothing-to-look-for"),
        ("1. [](inspect:wing)\n   - Cracks.\n", "unknown-thing"),
    ] {
        let good = "1. Lid\n   - Not ready if: it is open.\n";
        let body = format!("## Before each use {{.inspection}}\n\n{good}{item}");
        assert_eq!(of_body(&body), [rule], "{item}");
    }
    // The rehearsal knows that nothing has changed since the first look.
    let twice = "## Weekly {.inspection}\n\n1. [](inspect:vane)\n2. [](inspect:vane)\n";
    let findings = found("en-GB", &[("a/look.md", &procedure("", twice))]);
    let rules = findings.iter().map(|finding| finding.rule.name);
    assert_eq!(
        rules
            .filter(|rule| *rule == "repeated-without-effect")
            .count(),
        1
    );
    let undecided = "## Before each use {.inspection}\n\n1. Feet\n   - All there.\n";
    assert_eq!(of_body(undecided), ["inspection-decides-nothing"]);
}

#[test]
fn headings_of_inspections_are_intervals() {
    let item = "1. Feet\n   - Not ready if: one is missing.\n";
    let of = |heads: &[&str]| {
        let sections: Vec<String> = heads
            .iter()
            .map(|head| format!("## {head}\n\n{item}"))
            .collect();
        of_body(&sections.join("\n"))
    };
    for heads in [
        &[
            "Before each use {.inspection}",
            "Every 50 h or yearly {.inspection}",
        ][..],
        &["Every 50 h {.inspection}", "Every 100 h {.inspection}"],
        &["Every day of use {.inspection}"],
        &["Looked at before each use"],
    ] {
        assert_eq!(of(heads), [""; 0], "{heads:?}");
    }
    for (heads, rule) in [
        (
            &["Before the season {.inspection}"][..],
            "unreadable-interval",
        ),
        (
            &["Every 50 h {.inspection}", "Every 50 hours {.inspection}"],
            "interval-given-twice",
        ),
        (&["Every 50 h {.inspections}"], "unknown-mark"),
        (&["Every 50 h {.inspection .reverse}"], "unknown-mark"),
    ] {
        assert_eq!(of(heads), [rule], "{heads:?}");
    }
    let body = format!("## Weekly {{.inspection}}\n\n{item}");
    let text = procedure("interval = \"yearly\"", &body);
    assert_eq!(
        broken("en-GB", &[("a/look.md", &text)]),
        ["interval-given-twice"]
    );
}

#[test]
fn spanish_inspections() {
    let body =
        "## Antes de cada uso {.inspection}\n\n1. Patas\n   - No está listo si: falta una.\n";
    let text = procedure("", body);
    assert_eq!(broken("es", &[("a/look.md", &text)]), [""; 0]);
    let english = procedure("", &body.replace("No está listo si", "Not ready if"));
    assert_eq!(broken("es", &[("a/look.md", &english)]), [""; 0]);
    let unclear = procedure("", &body.replace("No está listo si", "No vale si"));
    assert_eq!(
        broken("es", &[("a/look.md", &unclear)]),
        ["inspection-decides-nothing"]
    );
}

#[test]
fn logs() {
    let look = procedure("", "## Weekly {.inspection}\n\n1. [](inspect:vane)\n");
    let oil = procedure("interval = \"yearly\"", "## Do\n\n1. Pour.\n").replace("Look", "Oil");
    let of = |log: &str| {
        broken(
            "en-GB",
            &[("a/look.md", &look), ("a/oil.md", &oil), ("log.toml", log)],
        )
    };
    let unit = "[unit.s-1]\nmachine = \"sorrel\"\n";
    for days in [
        "",
        "new = 2026-01-01\n",
        "[unit.s-1.day.2026-01-10]\nhours = 3\n[unit.s-1.day.2026-02-10]\nhours = 3\n",
        "[unit.s-1.day.2026-02-10]\nhours = 9.5\n[unit.s-1.day.2026-01-10]\nhours = 3\n",
        "[unit.s-1.day.2026-01-10]\ndone = [\"oil\", \"look: weekly\", \"look\"]\n",
        "[unit.s-1.day.2024-02-29]\ndone = \"oil\"\n",
        "serial-number = \"S-1\"\n[unit.s-2]\nmachine = \"sorrel\"\n",
    ] {
        assert_eq!(of(&format!("{unit}{days}")), [""; 0], "{days}");
    }
    for (days, rule) in [
        (
            "[unit.s-1.day.2026-01-10]\nhours = 3\n[unit.s-1.day.2026-02-10]\nhours = 2\n",
            "log-out-of-order",
        ),
        (
            "new = 2026-01-11\n[unit.s-1.day.2026-01-10]\n",
            "log-out-of-order",
        ),
        (
            "[unit.s-1.day.2026-01-10]\ndone = [\"oill\"]\n",
            "log-names-unknown-job",
        ),
        (
            "[unit.s-1.day.2026-01-10]\ndone = [\"look: daily\"]\n",
            "log-names-unknown-job",
        ),
        ("[unit.s-1.day.2026-02-29]\nhours = 3\n", "ill-formed-value"),
        ("[unit.s-1.day.2026-01-10]\nhours = \"3\"\n", "wrong-type"),
        ("[unit.s-2]\nmachine = \"sorel\"\n", "unknown-name"),
    ] {
        assert_eq!(of(&format!("{unit}{days}")), [rule], "{days}");
    }
}
