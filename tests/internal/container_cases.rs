//! Where waste goes and where fresh supplies come from. Each table has correct jobs and faulty ones.

use super::case::{Case, assert_clean, assert_finding};

const TOOLS: &str = r#"
[tool.can]
name = "red can"
container = true
[tool.mix-can]
name = "blue can"
container = true
[tool.old-can]
name = "can for old petrol"
container = true
[tool.drum]
name = "drum of old oil"
container = true
[tool.jug]
name = "measuring jug"
container = true
[tool.pump]
name = "hand pump"
"#;

const SUPPLIES: &str = r#"
[supply.petrol]
name = "fresh petrol"
kind = "fuel"
container = "can"
[supply.mix]
name = "fresh mix"
mix = "50:1"
container = "mix-can"
[supply.engine-oil]
name = "engine oil"
kind = "oil"
"#;

const FLUIDS: &str = r#"
[fluid.fuel]
supply = "petrol"
[fluid.oil]
supply = "engine-oil"
[fluid.water]
supply = "grease"
"#;

/// One procedure of whole steps, in a shop with these containers for waste.
fn job(waste: &str, steps: &[&str]) -> Case {
    let mut case = Case::on(FLUIDS);
    case.add("shop.toml", &format!("\n[waste]\n{waste}\n"));
    case.add("tools.toml", TOOLS);
    case.add("supplies.toml", SUPPLIES);
    let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
    let text = format!(
        "+++\ntitle = \"job\"\nmachines = [\"case\"]\n+++\n## Do\n\n{}",
        steps.concat()
    );
    case.add("case/job.md", &text);
    case
}

const BOTH: &str = "fuel = \"old-can\"\noil = \"drum\"";

#[test]
fn waste_goes_into_the_container_of_its_kind() {
    let fill = "[](fill:fuel)";
    for steps in [
        ["[](drain:fuel) into the [](use:old-can)", fill],
        ["[](drain:fuel) with the [](use:pump)", fill],
        [
            "[](drain:fuel) through the [](use:jug) into the [](use:old-can)",
            fill,
        ],
        // Supplies without a kind go into any container.
        ["[](drain:water) into the [](use:jug)", "[](fill:water)"],
    ] {
        assert_clean(&job(BOTH, &steps));
    }
    // The shop says nothing of oil.
    let oil = ["[](drain:oil) into the [](use:jug)", "[](fill:oil)"];
    assert_clean(&job("fuel = \"old-can\"", &oil));
    let rule = "drained-into-wrong-container";
    for (steps, drained, into) in [
        (
            ["[](drain:fuel) into the [](use:drum)", fill],
            "fuel",
            "drum",
        ),
        (["[](drain:fuel) into the [](use:jug)", fill], "fuel", "jug"),
        (
            ["[](drain:oil) into the [](use:old-can)", "[](fill:oil)"],
            "oil",
            "old-can",
        ),
        // The container of a fresh supply takes no waste of any kind.
        (
            ["[](drain:water) into the [](use:can)", "[](fill:water)"],
            "water",
            "can",
        ),
    ] {
        let (drained, into) = (format!("job drain:{drained}"), format!("job use:{into}"));
        assert_finding(&job(BOTH, &steps), rule, &drained, &into);
    }
}

#[test]
fn what_is_fresh_comes_from_its_own_container() {
    let drain = "[](drain:fuel)";
    for steps in [
        [drain, "[](fill:fuel) from the [](use:can)"],
        [drain, "[](fill:fuel) from the [](use:jug)"],
        [drain, "[](fill:fuel) with the [](use:pump)"],
        // One container of two is that of the drain.
        [
            "[](fill:oil) and [](drain:oil) into the [](use:drum)",
            "[](fill:oil)",
        ],
    ] {
        assert_clean(&job(BOTH, &steps));
    }
    let rule = "filled-from-wrong-container";
    for (steps, from) in [
        ([drain, "[](fill:fuel) from the [](use:old-can)"], "old-can"),
        ([drain, "[](fill:fuel) from the [](use:drum)"], "drum"),
        ([drain, "[](fill:fuel) from the [](use:mix-can)"], "mix-can"),
        // It is one fault that the petrol goes back.
        (
            [
                "[](drain:fuel) into the [](use:old-can)",
                "[](fill:fuel) from the [](use:old-can)",
            ],
            "old-can",
        ),
    ] {
        let from = format!("job use:{from}");
        assert_finding(&job(BOTH, &steps), rule, "job fill:fuel", &from);
    }
}

#[test]
fn sheets_and_kit_lists_have_the_containers_that_no_step_names() {
    let sheets = |steps: &[&str]| job(BOTH, steps).sheets("job");
    for sheet in sheets(&["[](drain:fuel)", "[](fill:fuel)"]) {
        for name in ["can for old petrol", "red can"] {
            assert!(sheet.contains(name), "{name}: {sheet}");
        }
    }
    let (into, from) = ("into the container", "from the container");
    let named = [
        "[](drain:fuel) into the [](use:old-can)",
        "[](fill:fuel) from the [](use:can)",
    ];
    for sheet in sheets(&named) {
        assert!(!sheet.contains(into) && !sheet.contains(from), "{sheet}");
    }
    // What is put into a container that the step names is not put into another.
    let jug = sheets(&["[](fill:fuel) from the [](use:jug)"]).concat();
    assert!(!jug.contains("red can"), "{jug}");
    let water = sheets(&["[](drain:water)", "[](fill:water)"]).concat();
    assert!(!water.contains(into) && !water.contains(from), "{water}");
}

#[test]
fn only_a_container_holds_waste() {
    let found = |waste: &str| {
        let findings = job(waste, &["[](drain:fuel)", "[](fill:fuel)"]).findings();
        let findings = findings.into_iter();
        findings
            .map(|finding| format!("{} {}", finding.0, finding.1))
            .collect::<Vec<_>>()
    };
    assert_eq!(found("fuel = \"old-can\""), [""; 0]);
    assert_eq!(found("coolant = \"jug\""), [""; 0]);
    assert_eq!(found("fuel = \"old-cam\""), ["unknown-name shop old-cam"]);
    assert_eq!(found("fuel = \"pump\""), ["conflicting-fields shop pump"]);
    assert_eq!(found("petrol = \"can\""), ["unknown-field shop petrol"]);
}
