//! Counts that are typed in steps: as many correct texts as faulty ones.

use super::case::Case;

/// Eight cover bolts, two nuts, a lever nut, and long and short screws.
const MACHINE: &str = r#"
[part.cover-bolt]
name = "cover bolt, flanged"
count = 8
thread = "M6"
stages = ["4 N·m ± 0.4 N·m", "8 N·m ± 0.8 N·m"]
[part.lid-nut]
name = "lid nut"
count = 2
[part.lever-nut]
name = "lever nut"
[part.hose-clip]
name = "hose clip"
count = 2
[part.long-screw]
name = "long case screw"
count = 4
[part.short-screw]
name = "short case screw"
count = 2
"#;

/// The same parts in a shop that writes Spanish.
const SPANISH: &str = r#"
[part.cover-bolt]
name = "tornillo de la tapa"
count = 8
[part.lid-nut]
name = "tuerca de la tapa"
count = 2
[part.plug]
name = "tapón del cárter"
count = 4
"#;

/// The words that `value-contradicts-machine` marks in a step.
fn contradicted(machine: &str, language: &str, step: &str) -> Vec<String> {
    let mut case = Case::on(machine);
    let text = format!("+++\ntitle = \"job\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. {step}\n");
    case.world.insert("case/job.md".to_owned(), text.into());
    let shop = case.world.get_mut("shop.toml").unwrap();
    let own = format!("language = \"{language}\"\n").into_bytes();
    shop.splice(0..0, own);
    let findings = case.findings().into_iter();
    let findings = findings.filter(|(rule, ..)| rule == "value-contradicts-machine");
    findings
        .map(|(_, place, _)| place.trim_start_matches("job ").to_owned())
        .collect()
}

/// Each step with the word that is marked in it. Empty for a correct text.
#[track_caller]
fn check(machine: &str, language: &str, steps: &[(&str, &str)]) {
    let mut failures = Vec::new();
    for (step, marked) in steps {
        let expected: Vec<&str> = Some(*marked)
            .filter(|marked| !marked.is_empty())
            .into_iter()
            .collect();
        let found = contradicted(machine, language, step);
        if found != expected {
            failures.push(format!("{step}: {found:?}"));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn a_typed_count_is_that_of_its_part() {
    check(
        MACHINE,
        "en-GB",
        &[
            ("[Undo the four bolts](remove:cover-bolt).", "four"),
            ("[Undo the 4 bolts](remove:cover-bolt).", "4"),
            ("[Undo all six M6 cover bolts](remove:cover-bolt).", "six"),
            ("[Undo these 7 bolts](remove:cover-bolt).", "7"),
            ("[Undo both bolts](remove:cover-bolt).", "both"),
            ("Undo the four [cover bolts](remove:cover-bolt).", "four"),
            (
                "Undo **the four** [cover bolts](remove:cover-bolt).",
                "four",
            ),
            ("[Undo nine bolts](remove:cover-bolt).", "nine"),
            ("[10 bolts](remove:cover-bolt) hold it.", "10"),
            ("[Undo the three upper nuts](remove:lid-nut).", "three"),
            ("[Undo three nuts](remove:lid-nut).", "three"),
            ("[Undo both lever nuts](remove:lever-nut).", "both"),
            ("[Turn the four bolts 4 turns](slacken:cover-bolt).", "four"),
            (
                "[Tighten the six bolts in two stages](tighten:cover-bolt).",
                "six",
            ),
            (
                "With two hands, [undo the four bolts](remove:cover-bolt).",
                "four",
            ),
            (
                "[Undo the five screws](remove:long-screw), [long and short](remove:short-screw).",
                "five",
            ),
            (
                "[Open the three clips on both hoses](slacken:hose-clip).",
                "three",
            ),
            ("[Undo one of the six bolts](slacken:cover-bolt).", "six"),
            (
                "[Undo the 10 mm bolts, all seven bolts](remove:cover-bolt).",
                "seven",
            ),
            (
                "With the [](use:wrench-10), undo the\n   four [bolts](remove:cover-bolt).",
                "four",
            ),
        ],
    );
}

#[test]
fn another_number_than_that_of_its_part_is_no_count_of_it() {
    check(
        MACHINE,
        "en-GB",
        &[
            ("[Undo the eight bolts](remove:cover-bolt).", ""),
            ("[Undo the 8 bolts](remove:cover-bolt).", ""),
            ("[Undo all eight M6 cover bolts](remove:cover-bolt).", ""),
            ("[Undo both lid nuts](remove:lid-nut).", ""),
            ("[Undo both](remove:lid-nut).", ""),
            ("Undo the eight [cover bolts](remove:cover-bolt).", ""),
            (
                "[Undo four bolts](slacken:cover-bolt), then the other four.",
                "",
            ),
            (
                "[Undo the four upper bolts](slacken:cover-bolt), then the lower ones.",
                "",
            ),
            ("[Undo the other four bolts](slacken:cover-bolt).", ""),
            ("[Undo the first two bolts](slacken:cover-bolt).", ""),
            (
                "[Hold the two halves of the nut together](slacken:lever-nut).",
                "",
            ),
            ("[Hold the two nut halves together](slacken:lever-nut).", ""),
            ("[Turn it 4 turns](slacken:lever-nut).", ""),
            ("[Turn the bolts 2 turns each](slacken:cover-bolt).", ""),
            ("[Undo one of the eight bolts](slacken:cover-bolt).", ""),
            ("[Tighten the bolts in two stages](tighten:cover-bolt).", ""),
            (
                "[Tighten the bolts in the two stages](tighten:cover-bolt).",
                "",
            ),
            ("[Tighten to stage 2](tighten:cover-bolt/2).", ""),
            (
                "[With the two spanners, undo the bolts](remove:cover-bolt).",
                "",
            ),
            (
                "[With the two spanners undo the bolts](remove:cover-bolt).",
                "",
            ),
            ("[With both hands on the bolts](slacken:cover-bolt).", ""),
            ("With both hands, [undo the bolts](remove:cover-bolt).", ""),
            ("[Undo both hoses' clip nuts](remove:lever-nut).", ""),
            ("[Loosen the clips on both hoses](slacken:hose-clip).", ""),
            ("[Undo the 10 mm bolts](remove:cover-bolt).", ""),
            ("[Undo the grade 12 bolts](remove:cover-bolt).", ""),
            ("[Undo the No. 10 bolts](remove:cover-bolt).", ""),
            ("[Undo the M6 × 25 bolts](remove:cover-bolt).", ""),
            ("[Undo the M6 x 25 bolts](remove:cover-bolt).", ""),
            ("[M6 × 25 bolts](remove:cover-bolt) hold it.", ""),
            (
                "[Undo the six screws](remove:long-screw), [long and short](remove:short-screw).",
                "",
            ),
            ("[Hang it on three nuts](fit:lid-nut) of the jig.", ""),
            ("[Undo the nuts of cylinder 3](remove:lid-nut).", ""),
            ("As in step 4, [undo the bolts](remove:cover-bolt).", ""),
            (
                "The two ends are one. [Undo the bolts](remove:cover-bolt).",
                "",
            ),
            ("[](remove:cover-bolt)", ""),
        ],
    );
}

#[test]
fn counts_are_read_in_the_language_of_the_shop() {
    check(
        SPANISH,
        "es",
        &[
            ("[Quite los cuatro tornillos](remove:cover-bolt).", "cuatro"),
            ("[Quite los 4 tornillos](remove:cover-bolt).", "4"),
            (
                "[Quite todos los seis tornillos](remove:cover-bolt).",
                "seis",
            ),
            ("[Quite ambos tornillos](remove:cover-bolt).", "ambos"),
            ("[Quite las tres tuercas](remove:lid-nut).", "tres"),
            ("[Quite los tres tapones](remove:plug).", "tres"),
            ("[Quite nueve tornillos](remove:cover-bolt).", "nueve"),
            ("Quite los cuatro [tornillos](remove:cover-bolt).", "cuatro"),
            ("[Quite los ocho tornillos](remove:cover-bolt).", ""),
            ("[Quite los 8 tornillos](remove:cover-bolt).", ""),
            ("[Quite ambas tuercas](remove:lid-nut).", ""),
            ("[Quite los cuatro tapones](remove:plug).", ""),
            (
                "[Quite los cuatro tornillos superiores](slacken:cover-bolt), luego los demás.",
                "",
            ),
            (
                "[Quite cuatro tornillos](slacken:cover-bolt), luego los otros cuatro.",
                "",
            ),
            (
                "[Con las dos manos en los tornillos](slacken:cover-bolt).",
                "",
            ),
            ("[Dé dos vueltas a las tuercas](slacken:lid-nut).", ""),
            (
                "[Afloje uno de los ocho tornillos](slacken:cover-bolt).",
                "",
            ),
        ],
    );
    check(
        MACHINE,
        "en-US",
        &[
            ("[Undo the four bolts](remove:cover-bolt).", "four"),
            ("[Undo the eight bolts](remove:cover-bolt).", ""),
        ],
    );
    // The English words are no numbers there.
    check(
        SPANISH,
        "es",
        &[("[The four tornillos](remove:cover-bolt).", "")],
    );
}
