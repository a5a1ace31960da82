//! The page of the calculations in the documentation, and limits of readings that are calculated.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use benchleaf::finding::Finding;
use benchleaf::quantity::Gallons;
use benchleaf::trade::{Calculation, Input, InputKind, Need, Outcome};
use benchleaf::tree::Memory;
use program::benchleaf;
use std::fmt::Write as _;
use support::{files, output_text, root, shop, tree, write};

const HEAD: &str = "\
# Calculations

What `benchleaf calculate` calculates, and what a reading of a machine can take its limits from
([the reference of the format](../procedures/README.md)). This page is written from the table of calculations; a test
compares it.

Each result is rounded to the side that is safe at the bench, which is named with it. Values are exact fractions. Roots, π
and angles are known to more than 24 digits, and a result within one part in 10²⁰ of a step counts as that step. An input
that may have a tolerance gives a range of results: over the ends of all tolerances, rounded inwards. A maker's value takes
precedence over every result.

";

/// The page, from the table.
fn page() -> String {
    let mut page = HEAD.to_owned();
    for calculation in Calculation::ALL {
        let _ = writeln!(
            page,
            "- [`{0}`](#{0}): {1}",
            calculation.name, calculation.title
        );
    }
    for calculation in Calculation::ALL {
        page += &section(calculation);
    }
    page
}

fn section(calculation: &'static Calculation) -> String {
    let mut text = format!(
        "\n## {}\n\nCalculates {}.\n\n{}\n\n| input | | |\n| --- | --- | --- |\n",
        calculation.name, calculation.title, calculation.definition
    );
    for input in calculation.inputs {
        text += &row_of_input(input);
    }
    text += "\n| result | | rounded | limits |\n| --- | --- | --- | --- |\n";
    for result in calculation.results {
        text += &row_of_result(result);
    }
    if let Some(caution) = calculation.caution {
        let _ = write!(text, "\n**Caution.** {caution}\n");
    }
    text += &example(calculation);
    text += "\n";
    for source in calculation.sources {
        let _ = writeln!(
            text,
            "- Source: {} ({})",
            source.title,
            source.verified.text()
        );
    }
    text
}

fn row_of_input(input: &Input) -> String {
    let unit = match input.takes {
        InputKind::Number(unit) if !unit.is_empty() => format!(" in {unit}"),
        _ => String::new(),
    };
    let need = match input.need {
        Need::Default(default) => format!(", by default {default}"),
        Need::Optional => ", optional".to_owned(),
        _ => String::new(),
    };
    let single = if input.may_vary {
        ""
    } else {
        ", without a tolerance"
    };
    format!(
        "| `{}` | {} | {}{unit}{single}{need} |\n",
        input.name,
        input.about,
        input.takes.expected()
    )
}

fn row_of_result(result: &Outcome) -> String {
    let kind = result.kind.map_or("a plain number", |kind| kind.name());
    let bound = match result.kind {
        Some(_) => format!("`{}`", result.bound.word()),
        None => "–".to_owned(),
    };
    format!(
        "| `{}` | {} ({kind}) | {} | {bound} |\n",
        result.name,
        result.about,
        result.rounded().trim_start_matches("rounded ")
    )
}

fn example(calculation: &'static Calculation) -> String {
    let mut command = format!("benchleaf calculate {}", calculation.name);
    let mut entered = Vec::new();
    for (name, value) in calculation.example {
        let _ = write!(command, " --{name} '{value}'");
        let input = calculation.input(name).unwrap();
        entered.push(input.parse(value, Gallons::Unstated).unwrap());
    }
    let answer = calculation.answer(&entered).unwrap();
    let mut text = format!("\n```sh\n{command}\n```\n\n```text\n");
    for result in &answer.results {
        let _ = writeln!(text, "{}: {}", result.outcome.about, result.text());
    }
    for line in &answer.lines {
        let _ = writeln!(text, "  {line}");
    }
    (text + "```\n").replace(['\u{a0}', '\u{202f}'], " ")
}

/// `INSTA_UPDATE=always` writes the page, as it updates snapshots.
#[test]
fn the_page_of_the_documentation_is_that_of_the_table() {
    let path = root().join("docs/calculations.md");
    let wanted = page();
    if std::env::var("INSTA_UPDATE").is_ok_and(|update| update == "always") {
        write(&path, &wanted);
    }
    let shown = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        shown == wanted,
        "docs/calculations.md is not that of the table: INSTA_UPDATE=always cargo test --test calculations"
    );
}

/// The findings of the hand pump with these lines added to its file.
fn findings(lines: &str) -> Vec<(&'static str, String, String)> {
    let mut all = files(&tree("hand-pump"));
    for (path, bytes) in &mut all {
        if path == "machines/hand-pump.toml" {
            bytes.extend(format!("\n{lines}").into_bytes());
        }
    }
    let sources = benchleaf::read(&Memory::new(all));
    let checked = benchleaf::check(&sources);
    let marked = |finding: &Finding| {
        let primary = finding.primary.as_ref().unwrap();
        sources.tree.text(primary.span).to_owned()
    };
    let found = checked.findings.iter();
    found
        .map(|finding| {
            let message = finding.message.replace('\u{a0}', " ");
            (finding.rule.name, message, marked(finding))
        })
        .collect()
}

const NAME: &str = "[reading.gap]\nname = \"ring gap\"\n[reading.gap.calculated]\n";

#[test]
fn a_reading_takes_its_limits_from_a_calculation() {
    for lines in [
        "calculation = \"ring-gap\"\ninputs = { bore = \"66 mm\" }\n",
        "calculation = \"ring-gap\"\ninputs = { bore = \"66 mm ± 0.1 mm\", factor = \"0.003 to 0.004\" }\nbound = \"within\"\n",
        "calculation = \"timing-height\"\ninputs = { angle = \"20° to 24°\", stroke = \"54 mm\", rod = \"100 mm\" }\n",
        "calculation = \"piston-clearance\"\nresult = \"clearance\"\ninputs = { bore = \"66.00 mm\", piston = \"65.92 mm\" }\nbound = \"at-least\"\n",
        "calculation = \"belt-length\"\ninputs = { driver = \"60 mm\", driven = \"180 mm\", distance = \"40 cm ± 2 cm\", run = \"crossed\" }\n",
    ] {
        let found = findings(&format!("{NAME}{lines}"));
        let errors: Vec<_> = found
            .iter()
            .filter(|(rule, ..)| !["reading-without-tool"].contains(rule))
            .collect();
        assert!(errors.is_empty(), "{lines}: {errors:?}");
    }
}

/// Each with the rule, the message and the text that is marked.
#[test]
fn a_calculation_that_gives_no_limits_is_a_finding() {
    for (lines, rule, message, marked) in [
        (
            "calculation = \"ring-gab\"\ninputs = { bore = \"66 mm\" }\n",
            "unknown-choice",
            "`calculation` of `calculated` of reading `gap` can't be `ring-gab`",
            "ring-gab",
        ),
        (
            "calculation = \"ring-gap\"\ninputs = { boer = \"66 mm\" }\n",
            "limits-not-calculated",
            "`ring-gap` has no input `boer`",
            "boer",
        ),
        (
            "calculation = \"ring-gap\"\ninputs = { factor = \"0.004\" }\n",
            "limits-not-calculated",
            "`ring-gap` needs the input `bore`",
            "[reading.gap.calculated]",
        ),
        (
            "calculation = \"ring-gap\"\ninputs = { bore = \"66 N·m\" }\n",
            "ill-formed-value",
            "expected a length for `bore`, found the torque `66 N·m`",
            "66 N·m",
        ),
        (
            "calculation = \"ring-gap\"\ninputs = { bore = \"66,1 mm\" }\n",
            "ill-formed-value",
            "expected a decimal point, found the comma in `66,1`",
            "66,1",
        ),
        (
            "calculation = \"ring-gap\"\ninputs = { bore = \"0 mm\" }\n",
            "limits-not-calculated",
            "expected a value above zero for `bore`, found `0 mm`",
            "ring-gap",
        ),
        (
            "calculation = \"timing-height\"\ninputs = { angle = \"22°\", stroke = \"54 mm\", rod = \"100 mm\" }\n",
            "limits-not-calculated",
            "expected an input with a tolerance, found the single result `2.47 mm`",
            "timing-height",
        ),
        (
            "calculation = \"ring-gap\"\nresult = \"swept\"\ninputs = { bore = \"66 mm\" }\n",
            "limits-not-calculated",
            "`ring-gap` has no result `swept`",
            "swept",
        ),
        (
            "calculation = \"piston-clearance\"\nresult = \"hot-clearance\"\ninputs = { bore = \"66 mm\", piston = \"65.9 mm\" }\n",
            "limits-not-calculated",
            "these inputs give no `hot-clearance`",
            "hot-clearance",
        ),
        (
            "calculation = \"nozzle-size\"\ninputs = { flow = \"9 L/min\", pressure = \"150 bar\" }\n",
            "limits-not-calculated",
            "expected a result with a unit, found the number `3.23`",
            "nozzle-size",
        ),
    ] {
        let found = findings(&format!("{NAME}{lines}"));
        let expected = (rule, message.to_owned(), marked.to_owned());
        assert!(found.contains(&expected), "{lines}: {found:#?}");
        assert!(
            !found.iter().any(|(rule, ..)| *rule == "missing-field"),
            "{lines}: {found:#?}"
        );
    }
    let both = "[reading.gap]\nname = \"ring gap\"\nlimits = \"at least 1 mm\"\n[reading.gap.calculated]\n\
                calculation = \"ring-gap\"\ninputs = { bore = \"66 mm\" }\n";
    let found = findings(both);
    assert!(
        found.iter().any(|(rule, ..)| *rule == "conflicting-fields"),
        "{found:#?}"
    );
}

/// What a variant has replaces what the machine that it is like has, typed or calculated.
#[test]
fn a_variant_replaces_typed_and_calculated_limits() {
    let calculated =
        "[reading.gap.calculated]\ncalculation = \"ring-gap\"\ninputs = { bore = \"66 mm\" }\n";
    let typed = "limits = \"at least 1 mm\"\n";
    for (base, variant) in [(typed, calculated), (calculated, typed)] {
        let own = if variant == typed {
            "[reading.gap]\n"
        } else {
            ""
        };
        let mut all = files(&tree("hand-pump"));
        for (path, bytes) in &mut all {
            if path == "machines/hand-pump.toml" {
                let text = format!("\n[reading.gap]\nname = \"ring gap\"\n{base}");
                bytes.extend(text.into_bytes());
            }
        }
        let text = format!(
            "name = \"Other pump\"\nlike = \"hand-pump\"\nbasis = \"measured\"\n{own}{variant}"
        );
        all.push(("machines/other-pump.toml".to_owned(), text.into_bytes()));
        let checked = benchleaf::check(&benchleaf::read(&Memory::new(all)));
        let rules: Vec<&str> = checked
            .findings
            .iter()
            .map(|found| found.rule.name)
            .collect();
        assert!(
            !rules.contains(&"conflicting-fields"),
            "{variant}: {rules:?}"
        );
        assert!(!rules.contains(&"missing-field"), "{variant}: {rules:?}");
    }
}

#[test]
fn the_data_sheet_says_from_what_limits_were_calculated() {
    let folder = shop();
    let path = folder.path().join("procedures/machines/hand-pump.toml");
    let mut text = std::fs::read_to_string(&path).unwrap();
    text += "\n[reading.gap]\nname = \"ring gap\"\nbasis = \"measured\"\n[reading.gap.calculated]\n\
             calculation = \"ring-gap\"\ninputs = { bore = \"66 mm ± 0.1 mm\" }\n";
    write(&path, text);
    let output = benchleaf(folder.path())
        .args(["publish", "--html-only"])
        .output()
        .unwrap();
    let (_, stderr, status) = output_text(&output);
    assert_eq!(status, 0, "{stderr}");
    let pages = files(&folder.path().join("output"));
    let data = pages
        .iter()
        .find(|(path, _)| path.ends_with("machine-data.html"));
    let names = || {
        pages
            .iter()
            .map(|(path, _)| path.as_str())
            .collect::<Vec<_>>()
    };
    let (_, data) = data.unwrap_or_else(|| panic!("no data sheet in {:?}", names()));
    let data = String::from_utf8_lossy(data).replace(['\u{a0}', '\u{202f}'], " ");
    // 0.004 × 66.1 mm = 0.2644 mm, rounded up.
    for wanted in [
        "at least 0.265<",
        "Calculated limits",
        "ring-gap",
        "bore 66 mm ± 0.1 mm; factor 0.004",
    ] {
        assert!(data.contains(wanted), "{wanted}");
    }
}
