//! Records that lack a field which most records of their kind have. Each faulty record is tested beside correct ones that
//! look like it.

use super::case::{Case, job};

/// Asserts which rules report something for a machine and more tools. Several findings of one rule are several names.
#[track_caller]
fn assert_rules(what: &str, machine: &str, tools: &str, rules: &[&str]) {
    let mut case = Case::on(machine);
    case.add("tools.toml", tools);
    // The pump of the tree has a fastener that is described as fully as those of the cases.
    let pump = case.world.get_mut("machines/hand-pump.toml").unwrap();
    let text = String::from_utf8_lossy(pump).into_owned();
    let drive = "drive = \"hex 10 mm\"\n";
    let full = format!("{drive}class = \"8\"\nassembled = \"dry\"\n");
    let text = text.replace(drive, &full);
    let (single_use, seals) = (
        "single-use = true\n",
        "single-use = true\nseals = [\"cover\"]\n",
    );
    *pump = text.replace(single_use, seals).into_bytes();
    assert_rules_of(what, &case, rules);
}

#[track_caller]
fn assert_rules_of(what: &str, case: &Case, rules: &[&str]) {
    let findings = case.findings();
    let found: Vec<&str> = findings.iter().map(|(rule, ..)| rule.as_str()).collect();
    assert_eq!(found, rules, "{what}: {findings:#?}");
}

/// Four complete fasteners, each with what it holds.
fn fasteners(count: usize) -> String {
    let fastener = |index| {
        format!(
            "[part.bolt-{index}]\nname = \"bolt {index}\"\nthread = \"M6\"\nclass = \"8.8\"\ndrive = \"hex 10 mm\"\n\
            torque = \"9 N·m ± 1 N·m\"\nassembled = \"dry\"\n\
            [part.lid-{index}]\nname = \"lid {index}\"\nheld-by = [\"bolt-{index}\"]\n"
        )
    };
    (0..count).map(fastener).collect()
}

#[test]
fn a_fastener_with_a_torque_has_what_makes_it_usable() {
    let base = fasteners(5);
    let full = [
        "thread = \"M6\"",
        "class = \"8.8\"",
        "drive = \"hex 10 mm\"",
        "torque = \"9 N·m ± 1 N·m\"",
        "assembled = \"dry\"",
    ];
    let machine = |fields: &[&str], more: &str| {
        format!(
            "{base}[part.odd]\nname = \"odd one\"\n{}\n{more}[part.plate]\nname = \"plate\"\nheld-by = [\"odd\"]\n",
            fields.join("\n")
        )
    };
    let rule = &["incomplete-fastener"];
    assert_rules("complete", &machine(&full, ""), "", &[]);
    for lacking in 0..full.len() {
        let fields: Vec<&str> = (0..full.len())
            .filter(|index| *index != lacking)
            .map(|index| full[index])
            .collect();
        // Without a thread, nothing is asked that depends on it.
        assert_rules(full[lacking], &machine(&fields, ""), "", rule);
    }
    assert_rules(
        "thread and drive alone",
        &machine(&[full[0], full[2]], ""),
        "",
        &[],
    );
    let headed = [full[0], full[1], "head = \"hex bolt\"", full[3], full[4]];
    assert_rules("a head gives the wrench", &machine(&headed, ""), "", &[]);
    let pipe = ["thread = \"G1/4\"", full[2], full[3]];
    assert_rules(
        "a pipe thread is sealed and has no class",
        &machine(&pipe, ""),
        "",
        &[],
    );
    let jet = [
        full[0],
        full[2],
        "torque = \"1 N·m\"",
        full[4],
        "low-torque = \"brass jet\"",
    ];
    assert_rules("a jet has no class", &machine(&jet, ""), "", &[]);
    let cup = "[part.cup]\nname = \"cup\"\ndrive = \"hex 10 mm\"\ntorque = \"4 N·m ± 1 N·m\"\ncarries = \"petrol\"\n\
        [fluid.petrol]\nsupply = \"grease\"\n";
    assert_rules(
        "a cup is itself screwed in",
        &format!("{base}{cup}"),
        "",
        &[],
    );
    let nut = "[part.nut]\nname = \"hose nut\"\ndrive = \"hex 24 mm\"\ntorque = \"60 N·m ± 5 N·m\"\n\
        [part.hose]\nname = \"hose\"\nheld-by = [\"nut\"]\ncarries = \"petrol\"\n[fluid.petrol]\nsupply = \"grease\"\n";
    assert_rules("so is the nut of a hose", &format!("{base}{nut}"), "", &[]);
    let nut = nut.replace("carries = \"petrol\"\n", "");
    assert_rules("the nut of a rod is not", &format!("{base}{nut}"), "", rule);
    // A shop that says it nowhere means dry threads.
    let unsaid = base.replace("assembled = \"dry\"\n", "");
    assert_rules("no fastener says it", &unsaid, "", &[]);
    let pattern = format!(
        "{base}[part.odd]\nname = \"odd one\"\nthread = \"M6\"\ncount = 4\npattern = \"crosswise\"\n"
    );
    assert_rules("a pattern without a torque", &pattern, "", rule);
}

#[test]
fn a_fastener_holds_something() {
    let base = fasteners(5);
    let odd = "[part.odd]\nname = \"odd one\"\nthread = \"M6\"\nclass = \"8.8\"\ndrive = \"hex 10 mm\"\n\
        torque = \"9 N·m ± 1 N·m\"\nassembled = \"dry\"\n";
    let rule = &["fastener-holds-nothing"];
    assert_rules("nothing", &format!("{base}{odd}"), "", rule);
    assert_rules(
        "only seen behind it",
        &format!("{base}{odd}[part.plate]\nname = \"plate\"\nbehind = [\"odd\"]\n"),
        "",
        rule,
    );
    assert_rules(
        "a part",
        &format!("{base}{odd}[part.plate]\nname = \"plate\"\nheld-by = [\"odd\"]\n"),
        "",
        &[],
    );
    let lock = "[reading.gap]\nname = \"gap\"\nlimits = \"1 mm to 2 mm\"\nlocked-by = [\"odd\"]\n";
    assert_rules("an adjustment", &format!("{base}{odd}{lock}"), "", &[]);
    assert_rules(
        "a stack",
        &format!("{base}{odd}stack = [\"plate\"]\n[part.plate]\nname = \"plate\"\n"),
        "",
        &[],
    );
    assert_rules(
        "a drain plug",
        &format!("{base}{odd}drains = \"oil\"\n[fluid.oil]\nsupply = \"grease\"\n"),
        "",
        &[],
    );
    assert_rules(
        "a filler plug",
        &format!("{base}{odd}[fluid.oil]\nsupply = \"grease\"\nthrough = \"odd\"\n"),
        "",
        &[],
    );
    assert_rules(
        "said in its note",
        &format!("{base}{odd}note = \"sets the brake\"\n"),
        "",
        &[],
    );
    // In a shop that does not write it, it says nothing.
    let unsaid = base.replace("held-by", "behind");
    assert_rules("no fastener holds anything", &unsaid, "", &[]);
}

#[test]
fn parts_on_one_bolt_have_an_order() {
    let bolt = "[part.bolt]\nname = \"bolt\"\nthread = \"M10\"\n";
    let part = |id: &str, more: &str| {
        format!("[part.{id}]\nname = \"{id}\"\nheld-by = [\"bolt\"]\n{more}")
    };
    let rule = &["order-on-fastener-unknown"];
    let (washer, blade) = (part("washer", ""), part("blade", ""));
    assert_rules("unknown", &format!("{bolt}{washer}{blade}"), "", rule);
    let behind = part("blade", "behind = [\"washer\"]\n");
    assert_rules("known", &format!("{bolt}{washer}{behind}"), "", &[]);
    let hub = part("hub", "behind = [\"blade\"]\n");
    assert_rules(
        "known through a third part",
        &format!("{bolt}{washer}{behind}{hub}"),
        "",
        &[],
    );
    let hub = part("hub", "behind = [\"washer\"]\n");
    assert_rules(
        "two under one washer",
        &format!("{bolt}{washer}{behind}{hub}"),
        "",
        rule,
    );
    let cup = "[part.cup]\nname = \"cup\"\nbehind = [\"bolt\"]\n";
    let under = part("blade", "behind = [\"cup\"]\n");
    assert_rules(
        "a cup on the bolt that is not held by it",
        &format!("{bolt}{cup}{under}"),
        "",
        rule,
    );
    let held = part("cup", "behind = [\"bolt\"]\n");
    assert_rules("a cup that is", &format!("{bolt}{held}{under}"), "", &[]);
    let ring = "[part.ring]\nname = \"ring\"\nbehind = [\"bolt\"]\n";
    assert_rules(
        "a ring under the head alone",
        &format!("{bolt}{ring}{washer}"),
        "",
        &[],
    );
    let bolts = bolt.replace("thread", "count = 4\nthread");
    assert_rules(
        "four bolts may hold parts side by side",
        &format!("{bolts}{washer}{blade}"),
        "",
        &[],
    );
    assert_rules("one part", &format!("{bolt}{washer}"), "", &[]);
    let stack = "stack = [\"washer\", \"blade\"]\n";
    let loose = "[part.washer]\nname = \"washer\"\n[part.blade]\nname = \"blade\"\n";
    assert_rules(
        "a stack has an order",
        &format!("{bolt}{stack}{loose}"),
        "",
        &[],
    );
}

#[test]
fn a_seal_says_whether_it_is_used_again_and_where_it_lies() {
    let seal = |id: usize, fields: &str| {
        format!(
            "[part.seal-{id}]\nname = \"seal {id}\"\n{fields}[part.joint-{id}]\nname = \"joint {id}\"\n"
        )
    };
    let full =
        |id: usize| format!("single-use = true\nfaces = [\"face\"]\nseals = [\"joint-{id}\"]\n");
    let base: String = (0..4).map(|id| seal(id, &full(id))).collect();
    let with = |fields: &str| format!("{base}{}", seal(4, fields));
    let rule = &["incomplete-seal"];
    assert_rules("complete", &with(&full(4)), "", &[]);
    assert_rules(
        "no single-use",
        &with("faces = [\"face\"]\nseals = [\"joint-4\"]\n"),
        "",
        rule,
    );
    assert_rules(
        "no faces",
        &with("single-use = true\nseals = [\"joint-4\"]\n"),
        "",
        rule,
    );
    assert_rules("faces alone", &with("faces = [\"face\"]\n"), "", rule);
    assert_rules(
        "used again",
        &with("reuse = \"soft\"\nfaces = [\"face\"]\nseals = [\"joint-4\"]\n"),
        "",
        &[],
    );
    assert_rules(
        "a cover with faces",
        &with("faces = [\"face\"]\nheld-by = [\"screw\"]\n[part.screw]\nname = \"screw\"\n"),
        "",
        &[],
    );
    assert_rules(
        "no joint, said in its note",
        &with("single-use = true\nfaces = [\"face\"]\nnote = \"seals the shaft\"\n"),
        "",
        &[],
    );
    assert_rules(
        "no joint",
        &with("single-use = true\nfaces = [\"face\"]\n"),
        "",
        rule,
    );
    assert_rules(
        "a split pin is no seal",
        &with("single-use = true\n"),
        "",
        &[],
    );
}

#[test]
fn an_energy_has_cautions_if_others_have() {
    let energy = |id: usize, cautions: &str| {
        format!(
            "[energy.spring-{id}]\nname = \"spring {id}\"\nkind = \"spring\"\nisolate = \"a\"\nprove = \"b\"\n\
            restore = \"c\"\nendangers = [\"lid\"]\n{cautions}"
        )
    };
    let given = "cautions = [\"sharp-edge\"]\n";
    let machine = |with: usize, without: usize| {
        let with = (0..with).map(|id| energy(id, given));
        let without = (0..without).map(|id| energy(100 + id, ""));
        let energies: String = with.chain(without).collect();
        format!("[part.lid]\nname = \"lid\"\n{energies}")
    };
    let rule = "energy-without-caution";
    assert_rules("all", &machine(5, 0), "", &[]);
    assert_rules("one of five lacks them", &machine(4, 1), "", &[rule]);
    assert_rules("two of ten lack them", &machine(8, 2), "", &[rule, rule]);
    assert_rules("too few to tell", &machine(3, 1), "", &[]);
    assert_rules("only some have them", &machine(4, 2), "", &[]);
    assert_rules("none has them", &machine(0, 5), "", &[]);
}

#[test]
fn a_reading_names_its_tool_if_others_do() {
    let reading = |id: usize, tool: &str| {
        format!("[reading.gap-{id}]\nname = \"gap {id}\"\nlimits = \"1 mm to 2 mm\"\n{tool}")
    };
    let machine = |with: usize, without: usize| -> String {
        let with = (0..with).map(|id| reading(id, "tool = \"tape\"\n"));
        let without = (0..without).map(|id| reading(100 + id, ""));
        with.chain(without).collect()
    };
    let tape = "[tool.tape]\nname = \"tape\"\n";
    let rule = "reading-without-tool";
    // The pump of the tree has one without.
    assert_rules("most", &machine(4, 0), tape, &[rule]);
    assert_rules("two of ten", &machine(8, 1), tape, &[rule, rule]);
    assert_rules("too few to tell", &machine(3, 0), tape, &[]);
    assert_rules("some", &machine(4, 1), tape, &[]);
    assert_rules("none", &machine(0, 4), tape, &[]);
}

#[test]
fn a_speed_says_whether_the_engine_runs() {
    let engine = "engine = { kind = \"4-stroke\" }\n";
    let speed = "[reading.speed]\nname = \"speed\"\nlimits = \"3000 rpm ± 100 rpm\"\n";
    let rule = &["speed-without-engine-state"];
    assert_rules("unsaid", &format!("{engine}{speed}"), "", rule);
    let frequency = speed.replace("3000 rpm ± 100 rpm", "50 Hz ± 1 Hz");
    assert_rules("a frequency", &format!("{engine}{frequency}"), "", rule);
    assert_rules(
        "running",
        &format!("{engine}{speed}engine = \"running\"\n"),
        "",
        &[],
    );
    assert_rules(
        "turned by hand",
        &format!("{engine}{speed}engine = \"stopped\"\n"),
        "",
        &[],
    );
    assert_rules("a motor of the mains", speed, "", &[]);
    let ignition = "[energy.spark]\nname = \"spark\"\nkind = \"ignition\"\nisolate = \"a\"\nprove = \"b\"\nrestore = \"c\"\n";
    let stop = format!(
        "{}may-be-live = [\"spark\"]\n",
        speed.replace("3000 rpm ± 100 rpm", "at most 3 s")
    );
    assert_rules(
        "a time with the ignition live",
        &format!("{engine}{stop}{ignition}"),
        "",
        rule,
    );
    assert_rules(
        "a time after stopping",
        &format!("{engine}{stop}engine = \"stopped\"\n{ignition}"),
        "",
        &[],
    );
    let time = speed.replace("3000 rpm ± 100 rpm", "at most 3 s");
    assert_rules("a time", &format!("{engine}{time}"), "", &[]);
}

#[test]
fn speeds_are_measured_in_a_run() {
    let speed = |id: usize| {
        format!(
            "[reading.speed-{id}]\nname = \"speed {id}\"\nlimits = \"3000 rpm ± 100 rpm\"\nengine = \"running\"\n"
        )
    };
    let speeds: String = (0..5).map(speed).collect();
    let run = |ids: &[usize]| {
        let ids: Vec<String> = ids.iter().map(|id| format!("\"speed-{id}\"")).collect();
        format!(
            "engine = {{ kind = \"4-stroke\" }}\n{speeds}[run]\nmeasure = [{}]\n",
            ids.join(", ")
        )
    };
    let rule = &["speed-not-measured-in-run"];
    assert_rules("all", &run(&[0, 1, 2, 3, 4]), "", &[]);
    assert_rules("one is missing", &run(&[0, 1, 2, 3]), "", rule);
    assert_rules("many are not meant to be", &run(&[0, 1, 2]), "", &[]);
    let none = format!("engine = {{ kind = \"4-stroke\" }}\n{speeds}[run]\nstop = \"Pull.\"\n");
    assert_rules("no run measures anything", &none, "", &[]);
}

#[test]
fn a_tool_says_what_it_is_able_to_do() {
    let rule = &["incomplete-tool"];
    let wrench =
        |id: usize, fields: &str| format!("[tool.wrench-{id}]\nname = \"wrench {id}\"\n{fields}");
    let full = "range = \"5 N·m to 25 N·m\"\ntolerance = \"2 %\"\ngraduation = \"0.1 N·m\"\n";
    let wrenches = |fields: &str| {
        format!(
            "{}{}{}",
            wrench(0, full),
            wrench(1, full),
            wrench(2, fields)
        )
    };
    let tools = |what: &str, tools: &str, rules: &[&str]| assert_rules(what, "", tools, rules);
    tools("complete", &wrenches(full), &[]);
    tools(
        "no tolerance",
        &wrenches("range = \"5 N·m to 25 N·m\"\ngraduation = \"0.1 N·m\"\n"),
        rule,
    );
    tools(
        "no marks",
        &wrenches("range = \"5 N·m to 25 N·m\"\ntolerance = \"2 %\"\n"),
        rule,
    );
    tools(
        "no range",
        &wrenches("tolerance = \"2 %\"\ngraduation = \"0.1 N·m\"\n"),
        rule,
    );
    tools(
        "the only one",
        &wrench(0, "range = \"5 N·m to 25 N·m\"\ntolerance = \"2 %\"\n"),
        &[],
    );
    tools(
        "sized",
        "[tool.s]\nname = \"13 mm spanner\"\nsize = \"13 mm\"\n",
        &[],
    );
    tools("not sized", "[tool.s]\nname = \"13 mm spanner\"\n", rule);
    tools(
        "an extension",
        "[tool.s]\nname = \"75 mm extension\"\nextends = \"75 mm\"\n",
        &[],
    );
    tools(
        "no length first",
        "[tool.s]\nname = \"spanner of 1995\"\n",
        &[],
    );
    tools("a weight", "[tool.s]\nname = \"2 kg hammer\"\n", &[]);
    // What a tool without its range covers is not known, so no fastener is reported for want of a tool.
    let large = wrench(0, "range = \"20 N·m to 100 N·m\"\n");
    tools("none for the cover nut", &large, &["no-torque-tool"]);
    let unknown = wrench(1, "tolerance = \"2 %\"\ngraduation = \"0.1 N·m\"\n");
    tools("a range is missing", &format!("{large}{unknown}"), rule);
}

#[test]
fn a_rotating_part_has_all_that_its_speed_is_compared_with() {
    let wheel = "[part.wheel]\nname = \"wheel\"\n";
    let speed = "[reading.speed]\nname = \"speed\"\nlimits = \"3000 rpm ± 100 rpm\"\n";
    let (turns, tip, size) = (
        "turns-with = \"speed\"\n",
        "tip-speed = \"at most 60 m/s\"\n",
        "diameter = \"300 mm\"\n",
    );
    let rule = &["tip-speed-not-compared"];
    let machine = |fields: &[&str]| format!("{wheel}{}{speed}", fields.concat());
    assert_rules("all", &machine(&[turns, tip, size]), "", &[]);
    assert_rules("no limit", &machine(&[turns, size]), "", rule);
    assert_rules("no size", &machine(&[turns, tip]), "", rule);
    assert_rules("no speed", &machine(&[tip, size]), "", rule);
    assert_rules("a round part", &machine(&[size]), "", &[]);
    assert_rules("none", &machine(&[]), "", &[]);
}

#[test]
fn what_a_job_does_is_asked_for_by_the_record() {
    let part = |id: usize| {
        format!(
            "[part.p{id}]\nname = \"p{id}\"\nclean = true\nreuse = \"whole\"\npositions = [\"a\", \"b\"]\nposition = \"a\"\n"
        )
    };
    let parts: Vec<String> = (0..8).map(part).collect();
    let parts = parts.concat();
    let on = |fields: &str, steps: &[&str]| {
        job(
            &format!("{parts}[part.odd]\nname = \"odd one\"\n{fields}"),
            steps,
        )
    };
    let clean = ["remove:odd", "clean:odd", "fit:odd"];
    let rule = &["work-not-in-record"];
    assert_rules_of("cleaned", &on("", &clean), rule);
    assert_rules_of("asked for", &on("clean = true\n", &clean), &[]);
    assert_rules_of("cleaned in its place", &on("", &["clean:odd"]), &[]);
    assert_rules_of(
        "its faces are cleaned anyway",
        &on(
            "faces = [\"rim\"]\nreuse = \"soft\"\n",
            &["remove:odd", "clean:odd", "inspect:odd", "fit:odd"],
        ),
        &[],
    );
    assert_rules_of(
        "said in its note",
        &on("note = \"dusty here\"\n", &clean),
        &[],
    );
    assert_rules_of(
        "few are cleaned",
        &job("[part.odd]\nname = \"odd one\"\n", &clean),
        &[],
    );
    let note = ["note:odd", "remove:odd", "fit:odd"];
    assert_rules_of("noted", &on("", &note), rule);
    assert_rules_of(
        "may sit in two places",
        &on("positions = [\"a\", \"b\"]\n", &note),
        &[],
    );
    let look = ["remove:odd", "inspect:odd", "fit:odd"];
    let rule = &["inspection-without-criterion"];
    assert_rules_of("inspected", &on("", &look), rule);
    assert_rules_of("inspected in its place", &on("", &["inspect:odd"]), rule);
    assert_rules_of("with a criterion", &on("reuse = \"whole\"\n", &look), &[]);
    let hose = "carries = \"oil\"\n[fluid.oil]\nsupply = \"grease\"\n";
    assert_rules_of("a look for leaks", &on(hose, &["inspect:odd"]), &[]);
    assert_rules_of(
        "few have a criterion",
        &job("[part.odd]\nname = \"odd one\"\n", &look),
        &[],
    );
    // One record is at fault, however many jobs show it.
    let mut two = on("", &clean).with("other", "", &clean);
    assert_rules_of("two jobs", &two, &["work-not-in-record"]);
    two.add("machines/case.toml", "clean = true\n");
    assert_rules_of("two jobs, corrected", &two, &[]);
}

#[test]
fn a_dangerous_voltage_has_a_caution() {
    let reading = |limits: &str, more: &str| {
        format!("[reading.supply]\nname = \"supply\"\nlimits = \"{limits}\"\n{more}")
    };
    let caution = "cautions = [\"sharp-edge\"]\n";
    let rule = &["dangerous-voltage-without-caution"];
    assert_rules("mains", &reading("230 V ± 20 V", ""), "", rule);
    assert_rules(
        "mains with a caution",
        &reading("230 V ± 20 V", caution),
        "",
        &[],
    );
    assert_rules("at least", &reading("at least 0.2 kV", ""), "", rule);
    assert_rules("a battery", &reading("12.4 V to 13.0 V", ""), "", &[]);
    assert_rules("a traction battery", &reading("at least 48 V", ""), "", &[]);
    let generator = "generator = { poles = 2, frequency = \"50 Hz ± 2 Hz\", droop = \"4 %\" }\nengine = { kind = \"a\" }\n";
    let frequency = reading("50 Hz ± 2 Hz", "engine = \"running\"\n");
    assert_rules("a generator", &format!("{generator}{frequency}"), "", rule);
    assert_rules(
        "a generator with a caution",
        &format!("{generator}{frequency}{caution}"),
        "",
        &[],
    );
    assert_rules(
        "a frequency of something else",
        &reading("50 Hz ± 2 Hz", ""),
        "",
        &[],
    );
}

#[test]
fn a_fastener_is_turned_with_a_tool_that_fits_it_and_measures_its_torque() {
    let machine = "[part.nut]\nname = \"nut\"\nthread = \"M8\"\ndrive = \"hex 13 mm\"\ntorque = \"20 N·m ± 2 N·m\"\n\
        [part.lid]\nname = \"lid\"\nheld-by = [\"nut\"]\n";
    let tools = "[tool.spanner-13]\nname = \"13 mm spanner\"\nsize = \"13 mm\"\n\
        [tool.spanner-17]\nname = \"17 mm spanner\"\nsize = \"17 mm\"\n\
        [tool.impact]\nname = \"impact driver with 13 mm socket\"\nsize = \"13 mm\"\n\
        [tool.torque]\nname = \"torque wrench\"\nrange = \"5 N·m to 40 N·m\"\ntolerance = \"2 %\"\n\
        [tool.large]\nname = \"large torque wrench\"\nrange = \"60 N·m to 200 N·m\"\ntolerance = \"2 %\"\n";
    let rules = |step: &str| {
        let mut case = Case::on(machine);
        let text =
            format!("+++\ntitle = \"job\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. {step}\n");
        case.world.insert("case/job.md".to_owned(), text.into());
        case.add("tools.toml", tools);
        let findings = case.findings().into_iter().map(|finding| finding.0);
        let asked = [
            "wrench-does-not-fit",
            "torqued-without-torque-tool",
            "torque-tool-out-of-range",
            "text-names-other-part",
            "value-contradicts-machine",
        ];
        findings
            .filter(|rule| asked.contains(&rule.as_str()))
            .collect::<Vec<_>>()
    };
    let none: [&str; 0] = [];
    assert_eq!(rules("With the [](use:torque), [](tighten:nut)"), none);
    assert_eq!(
        rules("With the [](use:torque) and the [](use:spanner-13), [](tighten:nut)"),
        none
    );
    assert_eq!(
        rules("With the [](use:spanner-13), [](slacken:nut)\n2. [](tighten:nut)"),
        none
    );
    assert_eq!(rules("[Tighten the nut](tighten:nut)"), none);
    assert_eq!(
        rules("With the [](use:spanner-17), [](slacken:nut). [](tighten:nut)"),
        ["wrench-does-not-fit"]
    );
    assert_eq!(
        rules("With the [](use:spanner-13), [](tighten:nut)"),
        ["torqued-without-torque-tool"]
    );
    assert_eq!(
        rules("With the [](use:impact), [](tighten:nut)"),
        ["torqued-without-torque-tool"]
    );
    assert_eq!(
        rules("With the [](use:large), [](tighten:nut)"),
        ["torque-tool-out-of-range"]
    );
    assert_eq!(
        rules("[Tighten the lid](tighten:nut)"),
        ["text-names-other-part"]
    );
}

/// The order of tightening has a name, or the places of the pieces, and never a word in a sentence.
#[test]
fn order_of_tightening_is_named_or_follows_from_places() {
    let bolts = |lines: &str| {
        let machine = format!(
            "[part.bolt]\nname = \"bolt\"\nthread = \"M6\"\n{lines}\n[part.lid]\nname = \"lid\"\nheld-by = [\"bolt\"]\n"
        );
        let case = Case::on(&machine);
        let findings = case.findings().into_iter();
        let findings = findings.map(|(rule, place, _)| format!("{rule} {place}"));
        findings.collect::<Vec<String>>()
    };
    let square = "bolts-at = [\"-30, 20\", \"30, 20\", \"30, -20\", \"-30, -20\"]";
    let complete =
        ["torque = \"9 N·m ± 1 N·m\"\ndrive = \"hex 10 mm\"\nclass = \"8.8\"\nassembled = \"dry\""];
    for lines in [
        "count = 4\npattern = \"crosswise\"".to_owned(),
        "count = 5\npattern = \"crosswise\"".to_owned(),
        "count = 10\npattern = \"spiral\"".to_owned(),
        "count = 6\npattern = \"ring\"".to_owned(),
        format!("count = 4\n{square}"),
        format!("count = 4\npattern = \"ring\"\n{square}"),
    ] {
        assert_eq!(
            bolts(&format!("{lines}\n{}", complete[0])),
            Vec::<String>::new(),
            "{lines}"
        );
    }
    for (lines, finding) in [
        (
            "count = 4\npattern = \"not crosswise\"".to_owned(),
            "unknown-choice case not crosswise",
        ),
        (
            "count = 2\npattern = \"crosswise\"".to_owned(),
            "conflicting-fields case crosswise",
        ),
        (
            format!("count = 3\n{square}"),
            "conflicting-fields case -30, 20",
        ),
        (
            "count = 3\nbolts-at = [\"0, 0\", \"1, 0\", \"0, 0\"]".to_owned(),
            "conflicting-fields case 0, 0",
        ),
        (
            "count = 2\nbolts-at = [\"0, 0\", \"1 0\"]".to_owned(),
            "ill-formed-value case 1 0",
        ),
    ] {
        assert_eq!(
            bolts(&format!("{lines}\n{}", complete[0])),
            [finding],
            "{lines}"
        );
    }
}
