//! What an engine needs to run, what is filled in, and what changes a reading. Each table has correct jobs and faulty
//! ones.

use super::case::{Case, assert_clean, assert_finding, check_table, job};
use super::plain;
use crate::page::{Block, Cell, Edition, OutputContext};
use crate::sheet::JobDocument;
use crate::tree::Memory;
use std::collections::BTreeSet;

/// A pump with a fuel tap that is found shut, a casing that is found empty, and a delivery valve.
const PUMP: &str = r#"
engine = { kind = "4-stroke" }
[fluid.petrol]
supply = "grease"
capacity = "2 L"
[fluid.oil]
supply = "grease"
[fluid.prime]
supply = "grease"
found = "empty"
[valve.tap]
name = "tap"
shuts = "petrol"
found = "closed"
[valve.delivery]
name = "delivery valve"
shuts = "prime"
[valve.drain-cock]
name = "drain cock"
running = "closed"
found = "closed"
[valve.gauge-cock]
name = "gauge cock"
[control.switch]
name = "engine switch"
positions = ["off", "on"]
found = "off"
running = "on"
[control.lever]
name = "speed lever"
positions = ["slow", "half way", "fast"]
found = "slow"
[part.cover]
name = "cover"
"#;

#[test]
fn an_engine_is_run_with_its_fluids_in_and_its_valves_open() {
    check_table(
        PUMP,
        "",
        r"
all ready | fill:prime open:tap set:switch/on run:engine stop:engine set:switch/off close:tap drain:prime
lever moved and put back | fill:prime open:tap set:switch/on set:lever/half-way run:engine set:lever/slow stop:engine set:switch/off close:tap drain:prime
no run | remove:cover fit:cover
a valve that no fluid passes | fill:prime open:tap set:switch/on close:gauge-cock run:engine stop:engine open:gauge-cock set:switch/off close:tap drain:prime
oil drained and filled | drain:oil fill:oil fill:prime open:tap set:switch/on run:engine stop:engine set:switch/off close:tap drain:prime
tap run dry | fill:prime open:tap set:switch/on run:engine close:tap stop:engine set:switch/off drain:prime
tap not opened | fill:prime set:switch/on run:engine stop:engine set:switch/off drain:prime | not-ready-to-run | run:engine |
tap shut again | fill:prime open:tap close:tap set:switch/on run:engine stop:engine set:switch/off drain:prime | not-ready-to-run | run:engine | job close:tap
not primed | open:tap set:switch/on run:engine stop:engine set:switch/off close:tap | not-ready-to-run | run:engine |
primed and drained | fill:prime drain:prime open:tap set:switch/on run:engine stop:engine set:switch/off close:tap | not-ready-to-run | run:engine | job drain:prime
no oil | drain:oil fill:prime open:tap set:switch/on run:engine stop:engine fill:oil set:switch/off close:tap drain:prime | not-ready-to-run | run:engine | job drain:oil
against a shut valve | fill:prime open:tap set:switch/on close:delivery run:engine open:delivery stop:engine set:switch/off close:tap drain:prime | not-ready-to-run | run:engine | job close:delivery
drain cock open | fill:prime open:tap set:switch/on open:drain-cock run:engine stop:engine close:drain-cock set:switch/off close:tap drain:prime | not-ready-to-run | run:engine | job open:drain-cock
switch off | fill:prime open:tap run:engine stop:engine close:tap drain:prime | not-ready-to-run | run:engine |
tap left open | fill:prime open:tap set:switch/on run:engine stop:engine set:switch/off drain:prime | left-not-as-found | open:tap |
gauge cock left shut | close:gauge-cock | left-not-as-found | close:gauge-cock |
switch left on | fill:prime open:tap set:switch/on run:engine stop:engine close:tap drain:prime | left-not-as-found | set:switch/on |
lever left | set:lever/fast | left-not-as-found | set:lever/fast |
",
    );
}

#[test]
fn the_instruction_for_starting_may_open_valves_and_set_controls() {
    let start = "\n[condition.clear]\nname = \"clear\"\nlost-by = \"work\"\n[run]\nneeds = [\"clear\"]\nstart = \"[Open the tap](open:tap), [switch on](set:switch/on) and pull.\"\nstop = \"[Off](set:switch/off). [Shut the tap](close:tap).\"\n";
    check_table(
        &format!("{PUMP}{start}"),
        "",
        r"
whole | fill:prime confirm:clear run:engine stop:engine drain:prime
shut after starting | fill:prime confirm:clear run:engine close:tap stop:engine drain:prime
delivery shut | fill:prime close:delivery confirm:clear run:engine stop:engine open:delivery drain:prime | not-ready-to-run | run:engine | job close:delivery
",
    );
}

#[test]
fn a_run_can_do_without_what_the_machine_says() {
    let run = "\n[run]\nmay-lack = [\"prime\", \"delivery\", \"tap\", \"cover\"]\n";
    check_table(
        &format!("{PUMP}{run}"),
        "",
        r"
dry, with all shut | set:switch/on close:delivery run:engine stop:engine open:delivery set:switch/off
cover off | remove:cover set:switch/on run:engine stop:engine set:switch/off fit:cover
without oil | drain:oil set:switch/on run:engine stop:engine set:switch/off fill:oil | not-ready-to-run | run:engine | job drain:oil
",
    );
    let unknown = format!("{PUMP}\n[run]\nmay-lack = [\"primer\"]\n");
    let findings = job(&unknown, &["inspect:cover"]).findings();
    let rules: Vec<&str> = findings.iter().map(|finding| finding.0.as_str()).collect();
    assert_eq!(rules, ["unknown-name"]);
}

#[test]
fn a_control_has_the_positions_of_its_record() {
    let rules = |machine: &str, step: &str| -> Vec<String> {
        let findings = job(machine, &[step, "inspect:cover"]).findings();
        findings.into_iter().map(|finding| finding.0).collect()
    };
    assert_eq!(rules(PUMP, "set:lever/slow"), [""; 0]);
    for step in [
        "set:lever",
        "set:lever/full",
        "set:lever/",
        "set:levr/slow",
        "set:tap/open",
    ] {
        assert_eq!(rules(PUMP, step), ["unknown-thing"], "{step}");
    }
    let wrong = [
        ("found = \"slow\"", "found = \"idle\"", "unknown-name"),
        ("found = \"slow\"", "", "missing-field"),
        (
            "[\"slow\", \"half way\", \"fast\"]",
            "[\"slow\"]",
            "ill-formed-value",
        ),
    ];
    for (old, new, rule) in wrong {
        assert_eq!(
            rules(&PUMP.replace(old, new), "clean:cover"),
            [rule],
            "{new}"
        );
    }
}

#[test]
fn the_derived_reassembly_puts_controls_back() {
    let case = Case::on(PUMP).with_reverse("job", &["set:lever/fast", "remove:cover"]);
    assert_eq!(case.findings(), []);
    let sheets = case.sheets("job").concat();
    assert!(sheets.contains("Set speed lever to slow"), "{sheets}");
}

#[test]
fn the_whole_capacity_is_filled_only_after_draining() {
    check_table(
        PUMP,
        "",
        r"
topped up | fill:petrol
drained and filled | drain:petrol fill:petrol
drained and filled whole | drain:petrol fill:petrol/all
found empty | fill:prime/all drain:prime
filled twice after draining | drain:petrol fill:petrol/all fill:petrol
not drained | fill:petrol/all | full-quantity-without-draining | fill:petrol/all |
filled whole twice | drain:petrol fill:petrol fill:petrol/all | full-quantity-without-draining | fill:petrol/all | job fill:petrol
another word | fill:petrol/most drain:petrol fill:petrol | unknown-thing | petrol/most |
",
    );
}

#[test]
fn sheets_and_kits_tell_a_top_up_from_a_fill() {
    let top_up = job(PUMP, &["fill:petrol"]).sheets("job").concat();
    assert!(top_up.contains("Top up "), "{top_up}");
    assert!(top_up.contains("top up only: add what is missing"));
    assert!(!top_up.contains("2 L"), "the capacity is printed");
    let fill = job(PUMP, &["drain:petrol", "fill:petrol"])
        .sheets("job")
        .concat();
    assert!(
        fill.contains("Fill with ") && fill.contains("2\u{a0}L"),
        "{fill}"
    );
    assert!(!fill.contains("op up"));
}

/// Two speeds, of which each screw moves the other, and a clearance that a run settles.
const READINGS: &str = r#"
engine = { kind = "4-stroke" }
[reading.idle]
name = "idle speed of the belt"
limits = "10 to 20 m/s"
over = "a"
under = "b"
changed-by = ["adjust:full"]
[reading.full]
name = "full speed of the belt"
limits = "30 to 40 m/s"
over = "a"
under = "b"
[reading.clearance]
name = "clearance"
limits = "0.1 to 0.2 mm"
over = "a"
under = "b"
engine = "stopped"
changed-by = ["run:engine", "renew:ring"]
[part.ring]
name = "ring"
"#;

#[test]
fn a_reading_is_taken_again_after_what_changes_it() {
    check_table(
        READINGS,
        "",
        r"
one after the other | measure:full adjust:full measure:full measure:idle adjust:idle measure:idle
idle only | measure:idle adjust:idle measure:idle
full speed alone | measure:full adjust:full measure:full
measured again after a run | measure:clearance run:engine stop:engine measure:clearance
run before | run:engine stop:engine measure:clearance
run without the reading | run:engine stop:engine
another part | measure:clearance inspect:ring
ring renewed and measured | measure:clearance remove:ring renew:ring measure:clearance
idle set before full speed | measure:idle adjust:idle measure:idle measure:full adjust:full measure:full | not-measured-after-adjusting | adjust:full |
run after the reading | measure:clearance run:engine stop:engine | not-measured-after-adjusting | run:engine |
ring renewed after the reading | measure:clearance remove:ring renew:ring | not-measured-after-adjusting | renew:ring |
",
    );
}

/// A pump whose pressure is let out, which it may stay during a run, and that is hot after a run.
const HOT_AND_PRESSURIZED: &str = r#"
engine = { kind = "4-stroke" }
[energy.pressure]
name = "pressure"
kind = "pressure"
endangers = ["plug", "hose"]
isolate = "Open the bleed screw"
prove = "The gauge reads zero"
restore = "Shut the bleed screw"
[energy.heat]
name = "heat of the casing"
kind = "heat"
endangers = ["plug"]
isolate = "Wait until it has cooled"
prove = "Feel it with the back of the hand"
[part.plug]
name = "plug"
[part.hose]
name = "hose"
[part.handle]
name = "handle"
[run]
may-lack = ["pressure"]
"#;

#[test]
fn heat_and_pressure_are_proved_again_after_a_run() {
    check_table(
        HOT_AND_PRESSURIZED,
        "isolate:pressure prove:pressure isolate:heat prove:heat",
        r"
before a run | OFF remove:plug fit:plug run:engine stop:engine restore:pressure
after a run, both again | OFF run:engine stop:engine prove:pressure isolate:heat prove:heat remove:plug fit:plug restore:pressure
a part that neither reaches | OFF run:engine stop:engine inspect:handle restore:pressure
pressure not proved again | OFF run:engine stop:engine isolate:heat prove:heat remove:plug fit:plug restore:pressure | energy-not-proved | remove:plug | job run:engine
still hot | OFF run:engine stop:engine prove:pressure remove:plug fit:plug restore:pressure | work-on-live-energy | remove:plug | job run:engine
hose under pressure | OFF run:engine stop:engine clean:hose restore:pressure | energy-not-proved | clean:hose | job run:engine
",
    );
}

/// The rows of the table of parts and supplies of a job's kit list, as texts.
pub(super) fn kit_rows(case: &Case) -> Vec<Vec<String>> {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let mut jobs = checked.jobs.iter();
    let rehearsed = jobs.find(|made| made.job.procedure.id == "job").unwrap();
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let document = JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, &output);
    let Some(Block::Section(section)) = document.kit().items_section() else {
        panic!("no kit");
    };
    let Some(Block::Table(table)) = section.blocks.first() else {
        panic!("no table");
    };
    let text = |cell: &Cell| match cell {
        Cell::Text { runs } => plain(runs, " "),
        Cell::Name { text, .. } => text.clone(),
        Cell::Value { value } => value.first.clone(),
        _ => String::new(),
    };
    let rows = table.rows.iter();
    rows.map(|row| row.iter().map(text).collect()).collect()
}

/// A job that applies supplies: grease by weight, cloths by the piece, cleaner as needed.
fn applying(steps: &[&str]) -> Case {
    let mut case = job("[part.cover]\nname = \"cover\"\n", steps);
    case.add(
        "supplies.toml",
        "[supply.white-grease]\nname = \"white grease\"\nprice = \"7.20\"\neach = \"400 g\"\nnumber = \"ST-031\"\nbin = \"C4\"\n\
        [supply.wipe]\nname = \"wipe\"\nprice = \"0.10\"\n\
        [supply.solvent]\nname = \"solvent\"\n",
    );
    case
}

#[test]
fn amounts_of_a_supply_are_summed_and_priced() {
    let case = applying(&[
        "apply:white-grease/15-g",
        "apply:white-grease/0.005-kg",
        "apply:wipe/2",
        "apply:wipe",
        "apply:wipe/3",
        "apply:solvent",
    ]);
    assert_clean(&case);
    let rows = kit_rows(&case);
    let row = |name: &str| rows.iter().find(|row| row[0] == name).unwrap().clone();
    // 20 g of 400 g for 7.20.
    assert_eq!(
        row("white grease"),
        ["white grease", "ST-031", "C4", "20\u{a0}g", "", "0.36", ""]
    );
    assert_eq!(
        row("wipe"),
        ["wipe", "", "", "5", "and as required", "0.50", ""]
    );
    assert_eq!(
        row("solvent"),
        ["solvent", "", "", "as required", "", "", ""]
    );
    let total = rows.last().unwrap();
    assert_eq!(total[..1], ["Total of the priced items"]);
    assert_eq!(total[5..], ["0.86", ""]);
}

#[test]
fn amount_is_of_the_kind_that_the_supply_has_a_price_for() {
    for steps in [
        &["apply:white-grease/5-g"][..],
        &["apply:wipe/1"],
        &["apply:solvent/20-mL", "apply:solvent/2"],
    ] {
        assert_clean(&applying(steps));
    }
    for step in [
        "apply:white-grease/5-mL",
        "apply:white-grease/2",
        "apply:white-grease/some",
        "apply:wipe/0",
        "apply:wipe/1.5",
        "apply:solvent/5-N·m",
    ] {
        assert_finding(
            &applying(&[step]),
            "unknown-thing",
            &format!("job {}", step.split_once(':').unwrap().1),
            "",
        );
    }
}

/// The names of the tools of a job's kit list, with what they are for.
fn kit_tools(case: &Case) -> Vec<(String, String)> {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let mut jobs = checked.jobs.iter();
    let rehearsed = jobs.find(|made| made.job.procedure.id == "job").unwrap();
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let document = JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, &output);
    let lines = document.kit().tool_lines().into_iter();
    lines.map(|line| (line.name, line.remark)).collect()
}

#[test]
fn a_wrench_of_the_crib_is_named_for_a_drive_that_it_fits() {
    let nut = |drive: &str| {
        format!(
            "[part.nut]\nname = \"nut\"\ndrive = \"{drive}\"\n[part.lid]\nname = \"lid\"\nheld-by = [\"nut\"]\n"
        )
    };
    let tools = |drive: &str| {
        let mut case = job(&nut(drive), &["slacken:nut", "tighten:nut"]);
        case.add(
            "tools.toml",
            "[tool.driver-13]\nname = \"13 mm torque driver\"\nsize = \"13 mm\"\nrange = \"1 N·m to 9 N·m\"\n\
            [tool.ring-13]\nname = \"13 mm ring spanner\"\nsize = \"13 mm\"\n",
        );
        kit_tools(&case)
    };
    let expected = |name: &str| vec![(name.to_owned(), "for nut".to_owned())];
    assert_eq!(tools("hex 13 mm"), expected("13 mm ring spanner"));
    assert_eq!(tools("hex 17 mm"), expected("Spanner, socket or key"));
    assert_eq!(tools("slot"), expected("Spanner, socket or key"));
}

/// The case with supplies of several kinds.
fn with_kinds(machine: &str) -> Case {
    let mut case = Case::on(machine);
    let kinds = ["fuel", "oil", "coolant", "cleaner", "sealant"];
    let records =
        kinds.map(|kind| format!("[supply.a-{kind}]\nname = \"a {kind}\"\nkind = \"{kind}\"\n"));
    let mut text = records.concat();
    text.push_str("[supply.mix]\nname = \"mix\"\nmix = \"50:1\"\n");
    case.add("supplies.toml", &text);
    case
}

#[test]
fn a_fluid_has_a_supply_of_the_kind_that_it_takes() {
    let rule = "wrong-kind-of-supply";
    let fluid = |fields: &str| with_kinds(&format!("[fluid.sump]\n{fields}\n"));
    for fields in [
        "supply = \"a-oil\"\ntakes = \"oil\"",
        "supply = \"a-coolant\"\ntakes = [\"oil\", \"coolant\"]",
        "supply = \"mix\"\ntakes = \"fuel\"",
        // Without one of the two fields nothing is compared.
        "supply = \"a-fuel\"",
        "supply = \"grease\"\ntakes = \"oil\"",
    ] {
        assert_eq!(fluid(fields).findings(), [], "{fields}");
    }
    for (supply, takes) in [
        ("a-fuel", "\"oil\""),
        ("mix", "\"oil\""),
        ("a-oil", "\"fuel\""),
        ("a-cleaner", "[\"oil\", \"coolant\"]"),
        ("a-sealant", "\"grease\""),
    ] {
        let findings = fluid(&format!("supply = \"{supply}\"\ntakes = {takes}")).findings();
        let found: Vec<(&str, &str)> = findings
            .iter()
            .map(|finding| (finding.0.as_str(), finding.1.as_str()))
            .collect();
        assert_eq!(
            found,
            [(rule, format!("case {supply}").as_str())],
            "{takes}"
        );
    }
}

#[test]
fn a_variant_is_filled_with_the_kind_that_it_takes() {
    let of = |base: &str, variant: &str| {
        let mut case = with_kinds(&format!("[fluid.sump]\n{base}\n"));
        let text = format!("name = \"late\"\nlike = \"case\"\n[fluid.sump]\n{variant}\n");
        case.add("machines/late.toml", &text);
        let findings = case.findings().into_iter();
        findings
            .map(|finding| format!("{} {}", finding.0, finding.1))
            .collect::<Vec<_>>()
    };
    let oil = "supply = \"a-oil\"\ntakes = \"oil\"";
    let fuel = "supply = \"a-fuel\"\ntakes = \"oil\"";
    let rule = "wrong-kind-of-supply";
    assert_eq!(of(oil, "found = \"empty\""), [""; 0]);
    assert_eq!(of(oil, "supply = \"mix\"\ntakes = \"fuel\""), [""; 0]);
    assert_eq!(of("supply = \"a-oil\"", "takes = \"oil\""), [""; 0]);
    assert_eq!(of(oil, "supply = \"mix\""), [format!("{rule} late mix")]);
    assert_eq!(of(oil, "takes = \"fuel\""), [format!("{rule} case a-oil")]);
    assert_eq!(
        of(fuel, "found = \"empty\""),
        [format!("{rule} case a-fuel")]
    );
}

#[test]
fn one_part_is_the_way_in_for_one_kind() {
    let two = |one: &str, other: &str, through: &str| {
        let case = with_kinds(&format!(
            "[part.cap]\nname = \"cap\"\n[part.plug]\nname = \"plug\"\n\
             [fluid.one]\nsupply = \"{one}\"\nthrough = \"cap\"\n\
             [fluid.other]\nsupply = \"{other}\"\n{through}\n"
        ));
        let findings = case.findings().into_iter();
        findings.map(|finding| finding.0).collect::<Vec<_>>()
    };
    let same = "through = \"cap\"";
    for (one, other, through) in [
        ("a-fuel", "a-oil", "through = \"plug\""),
        ("a-fuel", "a-oil", ""),
        ("a-fuel", "mix", same),
        ("a-fuel", "grease", same),
    ] {
        assert_eq!(two(one, other, through), [""; 0], "{one} {other} {through}");
    }
    for (one, other) in [
        ("a-fuel", "a-oil"),
        ("a-oil", "mix"),
        ("a-coolant", "a-oil"),
        ("a-cleaner", "a-fuel"),
    ] {
        let rule = "two-kinds-through-one-part";
        assert_eq!(two(one, other, same), [rule], "{one} {other}");
    }
}
