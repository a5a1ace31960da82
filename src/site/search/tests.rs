use super::*;
use crate::page::{Edition, OutputContext};
use crate::tree::Memory;

const SHOP: &str =
    "name = \"Elmbrook workshop\"\nlanguage = \"en\"\n[system.air]\ntitle = \"Air and filters\"\n";
const PUMP: &str = "\
name = \"Hand pump\"
[part.cover]
name = \"cover\"
behind = [\"cap\"]
[part.cap]
name = \"cap\"
number = \"HP 12/04\"
[reading.stroke]
name = \"stroke of the piston\"
";
const WIND: &str = "\
name = \"Wind pump\"
[part.cover]
name = \"cover\"
[part.vane]
name = \"vane\"
";
const LOOK: &str = "\
+++
title = \"Cover: look below\"
machines = [\"wind-pump\", \"hand-pump\"]
begin = [\"stand\"]
+++
## Take off
1. [Lift the cap off](remove:cap) {if-fitted}
2. [Lift the cover off](remove:cover) and look at the *façade*.
3. Blow it out.
4. Blow it out.
   - With dry air.
## Put back {.reverse}
";
const STAND: &str = "\
+++
title = \"Stand it up\"
machines = [\"wind-pump\", \"hand-pump\", \"spare-pump\"]
+++
## Stand
1. Stand the pump on the bench.
";
const FAULT: &str = "\
+++
title = \"Gives no water\"
machines = [\"hand-pump\"]
+++
It coughs and spits.
## By eye
1. The cap is loose.
   - Shake it.
   - It doesn't rattle.
   - [](see:procedure/look)
";

fn pieces(shop: &str) -> (crate::Sources, Vec<SearchPiece>) {
    let sources = crate::read(&Memory::new([
        ("shop.toml", shop),
        ("machines/hand-pump.toml", PUMP),
        ("machines/idle-pump.toml", "name = \"Idle pump\""),
        ("machines/spare-pump.toml", "name = \"Spare pump\""),
        ("machines/wind-pump.toml", WIND),
        ("air/look.md", LOOK),
        ("air/stand.md", STAND),
        ("faults/dry.md", FAULT),
    ]));
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let jobs = checked.jobs.iter();
    let jobs =
        jobs.map(|rehearsed| SearchPiece::of_job(&rehearsed.job, &rehearsed.rehearsal, &output));
    let faults = checked.faults.iter();
    let faults = faults
        .map(|rehearsed| SearchPiece::of_fault(&rehearsed.job, &rehearsed.rehearsal, &output));
    let pieces = jobs.chain(faults).collect();
    (sources, pieces)
}

fn index() -> SearchIndex {
    let (sources, pieces) = pieces(SHOP);
    let term = SearchTerm {
        id: "stroke",
        name: "stroke",
        meaning: "One way of the piston",
    };
    SearchIndex::new(&sources.shop, pieces, &[term])
}

fn things(index: &SearchIndex, kind: SearchKind) -> Vec<(&str, &str, Vec<usize>)> {
    let things = index.things[&kind].iter();
    things
        .map(|thing| {
            let name = index.texts[thing.name].as_str();
            (thing.id.as_str(), name, thing.machines.clone())
        })
        .collect()
}

/// The texts that a word finds, exactly as it is in the index.
fn texts_with<'i>(index: &'i SearchIndex, word: &str) -> Vec<&'i str> {
    let texts = index.words.iter().find(|(known, _)| known == word);
    let texts = texts.map_or(&[] as &[_], |(_, texts)| texts.as_slice());
    texts
        .iter()
        .map(|text| index.texts[*text].as_str())
        .collect()
}

#[test]
fn a_job_contributes_its_own_steps_with_numbers_and_derived_text() {
    let (_, pieces) = pieces(SHOP);
    let look = pieces
        .iter()
        .find(|piece| piece.id == "look" && piece.machine == "hand-pump")
        .expect("the job exists");
    assert_eq!(look.texts, ["Air and filters"]);
    let steps: Vec<(u32, &str)> = look
        .steps
        .iter()
        .map(|(number, text)| (*number, text.as_str()))
        .collect();
    // Step 1 belongs to the procedure that the job begins with.
    assert_eq!(
        steps,
        [
            (2, "Lift the cap off"),
            (3, "Lift the cover off and look at the façade."),
            (4, "Blow it out."),
            (5, "Blow it out. With dry air."),
            (6, "Fit the cover."),
            (7, "Fit the cap."),
        ]
    );
}

#[test]
fn a_step_on_several_machines_is_indexed_once_with_a_number_for_each() {
    let index = index();
    assert_eq!(
        things(&index, SearchKind::Machine),
        [
            ("hand-pump", "Hand pump", vec![]),
            ("spare-pump", "Spare pump", vec![]),
            ("wind-pump", "Wind pump", vec![]),
        ],
        "a machine without a job has no page"
    );
    let procedures = things(&index, SearchKind::Procedure);
    assert_eq!(procedures[0], ("look", "Cover: look below", vec![0, 2]));
    assert_eq!(procedures[1], ("stand", "Stand it up", vec![0, 1, 2]));
    let steps: Vec<(&str, &[Option<u32>])> = index.steps[0]
        .iter()
        .map(|step| (index.texts[step.text].as_str(), step.numbers.as_slice()))
        .collect();
    assert_eq!(steps[0], ("Lift the cap off", &[Some(2), None][..]));
    let (text, numbers) = steps[1];
    assert_eq!(text, "Lift the cover off and look at the façade.");
    assert_eq!(numbers, [Some(3), Some(2)]);
    assert_eq!(index.steps[1].len(), 1);
}

#[test]
fn the_index_does_not_depend_on_the_order_of_the_pieces() {
    let (sources, mut pieces) = pieces(SHOP);
    let index = SearchIndex::new(&sources.shop, pieces.clone(), &[]);
    pieces.reverse();
    assert_eq!(index, SearchIndex::new(&sources.shop, pieces, &[]));
}

#[test]
fn a_text_that_a_job_repeats_is_indexed_as_two_steps() {
    let shop = SHOP;
    let (sources, mut pieces) = pieces(shop);
    for piece in &mut pieces {
        for (_, text) in &mut piece.steps {
            "Push it home.".clone_into(text);
        }
    }
    let index = SearchIndex::new(&sources.shop, pieces, &[]);
    let numbers: Vec<_> = index.steps[0].iter().map(|step| &step.numbers).collect();
    assert_eq!(numbers[0], &[Some(2), Some(2)]);
    assert_eq!(numbers[1], &[Some(3), Some(3)]);
    assert_eq!(numbers.last(), Some(&&vec![Some(7), None]));
}

#[test]
fn a_fault_is_found_by_complaint_cause_and_test() {
    let index = index();
    assert_eq!(
        things(&index, SearchKind::Fault),
        [("dry", "Gives no water", vec![0])]
    );
    assert_eq!(texts_with(&index, "coughs"), ["It coughs and spits."]);
    assert_eq!(
        texts_with(&index, "rattle"),
        ["The cap is loose. Shake it. It doesn't rattle. See “Cover: look below”"]
    );
}

#[test]
fn a_part_number_is_found_with_and_without_separators() {
    let index = index();
    for word in ["hp", "12", "04", "hp1204"] {
        assert_eq!(texts_with(&index, word), ["HP 12/04"], "{word}");
    }
    assert_eq!(
        things(&index, SearchKind::Part)[..2],
        [("cover", "cover", vec![0]), ("cap", "cap", vec![0])]
    );
    assert_eq!(
        things(&index, SearchKind::Reading),
        [("stroke", "stroke of the piston", vec![0])]
    );
    assert_eq!(
        things(&index, SearchKind::Term),
        [("stroke", "stroke", vec![])]
    );
    assert_eq!(texts_with(&index, "piston").len(), 2);
}

#[test]
fn words_are_folded_and_sorted_by_utf16_code_units() {
    let words = |text: &str| words_of(text).into_iter().collect::<Vec<_>>();
    assert_eq!(words("Émbolo, AÑO y Öl"), ["ano", "embolo", "ol", "y"]);
    assert_eq!(
        words("re-fit the O-ring"),
        ["fit", "o", "oring", "re", "refit", "ring", "the"]
    );
    assert_eq!(words("196 cm³ \u{fb01}t"), ["196", "cm3", "fit"]);
    assert_eq!(words(" – · – "), [] as [&str; 0]);
    let index = index();
    assert_eq!(texts_with(&index, "facade").len(), 1);
    let sorted = index
        .words
        .is_sorted_by(|(left, _), (right, _)| left.encode_utf16().lt(right.encode_utf16()));
    assert!(sorted);
    assert!(index.words.iter().all(|(_, texts)| texts.is_sorted()));
}

#[test]
fn whitespace_in_a_text_becomes_one_space() {
    let (sources, mut pieces) = pieces(SHOP);
    for piece in &mut pieces {
        "a\u{a0}b\n\tc\u{2028}d ".clone_into(&mut piece.title);
    }
    let index = SearchIndex::new(&sources.shop, pieces, &[]);
    assert!(index.texts.contains(&"a b c d".to_owned()));
}

#[test]
fn derived_steps_are_in_the_language_of_the_edition() {
    let (_, pieces) = pieces(&SHOP.replace("\"en\"", "\"es\""));
    let texts = pieces.iter().flat_map(|piece| &piece.steps);
    let texts: Vec<&str> = texts.map(|(_, text)| text.as_str()).collect();
    assert!(
        texts.iter().any(|text| text.starts_with("Monte")),
        "{texts:?}"
    );
}
