use super::words::stem;
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
interval = \"every 50 h\"
+++
The seal dries out.

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

/// The index of sources, from some pieces.
fn index_of(
    sources: &crate::Sources,
    pieces: Vec<SearchPiece>,
    terms: &[SearchTerm<'_>],
) -> SearchIndex {
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let context = PageContext {
        shop: &sources.shop,
        output: &output,
    };
    SearchIndex::new(context, pieces, terms)
}

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
    index_of(&sources, pieces, &[term])
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
    texts_of(index, word, |word| &word.texts)
}

/// The texts that a word finds because they have a synonym of it.
fn texts_with_synonym<'i>(index: &'i SearchIndex, word: &str) -> Vec<&'i str> {
    texts_of(index, word, |word| &word.by_synonym)
}

fn texts_of<'i>(
    index: &'i SearchIndex,
    word: &str,
    texts: impl Fn(&SearchWord) -> &[usize],
) -> Vec<&'i str> {
    let word = index.words.iter().find(|known| known.word == word);
    let texts = word.map_or(&[] as &[_], texts).iter();
    texts.map(|text| index.texts[*text].as_str()).collect()
}

#[test]
fn a_job_contributes_its_own_steps_with_numbers_and_derived_text() {
    let (_, pieces) = pieces(SHOP);
    let look = pieces
        .iter()
        .find(|piece| piece.id == "look" && piece.machine == "hand-pump")
        .expect("the job exists");
    assert_eq!(look.shown, ["Air and filters"]);
    assert_eq!(look.texts, ["The seal dries out.", "every 50 h"]);
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
    let index = index_of(&sources, pieces.clone(), &[]);
    pieces.reverse();
    assert_eq!(index, index_of(&sources, pieces, &[]));
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
    let index = index_of(&sources, pieces, &[]);
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
        assert_eq!(
            texts_with(&index, word),
            ["Part number: HP 12/04"],
            "{word}"
        );
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
    assert_eq!(
        words("doesn't O’Brien's 'quoted'"),
        ["doesnt", "obriens", "quoted"]
    );
    assert_eq!(
        words("8.5\u{a0}N·m, 0,7 mm. 16\u{202f}000 rpm; M10×1.25"),
        ["0.7", "16000", "8.5", "m10x1.25", "mm", "nm", "rpm"]
    );
    assert_eq!(words(" – · – "), [] as [&str; 0]);
    let index = index();
    assert_eq!(texts_with(&index, "facade").len(), 1);
    let sorted = index
        .words
        .is_sorted_by(|left, right| left.word.encode_utf16().lt(right.word.encode_utf16()));
    assert!(sorted);
    let is_sorted = |word: &SearchWord| word.texts.is_sorted() && word.by_synonym.is_sorted();
    assert!(index.words.iter().all(is_sorted));
}

#[test]
fn whitespace_in_a_text_becomes_one_space() {
    let (sources, mut pieces) = pieces(SHOP);
    for piece in &mut pieces {
        "a\u{a0}b\n\tc\u{2028}d ".clone_into(&mut piece.title);
    }
    let index = index_of(&sources, pieces, &[]);
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

#[test]
fn a_text_is_found_by_synonyms_of_its_words() {
    let (sources, mut pieces) = pieces(SHOP);
    for piece in &mut pieces {
        piece.texts = [
            "Ear protections",
            "Protection of an ear",
            "A spanner and wrenches",
        ]
        .map(str::to_owned)
        .to_vec();
    }
    let index = index_of(&sources, pieces, &[]);
    // The words of a phrase have to follow each other, in any form.
    assert_eq!(texts_with_synonym(&index, "defenders"), ["Ear protections"]);
    assert_eq!(texts_with(&index, "defenders"), [] as [&str; 0]);
    // What a text has itself is not there by a synonym.
    assert_eq!(texts_with_synonym(&index, "spanner"), [] as [&str; 0]);
    assert_eq!(
        texts_with_synonym(&index, "wrench"),
        ["A spanner and wrenches"]
    );
    assert_eq!(texts_with_synonym(&index, "coughs"), [] as [&str; 0]);
    for word in &index.words {
        let is_own = |text: &usize| word.texts.contains(text);
        assert!(!word.by_synonym.iter().any(is_own), "{}", word.word);
    }
}

#[test]
fn a_shop_adds_synonyms_in_its_glossary() {
    let glossary = "[term.vane]\nname = \"vane\"\nalso = [\"wind paddle\"]\nmeans = \"Turns.\"\n";
    let sources = crate::read(&Memory::new([
        ("shop.toml", SHOP),
        ("glossary.toml", glossary),
        ("machines/wind-pump.toml", WIND),
        ("air/stand.md", STAND),
    ]));
    let piece = pieces(SHOP)
        .1
        .into_iter()
        .find(|piece| piece.machine == "wind-pump");
    let index = index_of(&sources, piece.into_iter().collect(), &[]);
    assert_eq!(texts_with_synonym(&index, "paddle"), ["vane"]);
    assert_eq!(texts_with_synonym(&index, "wind"), ["vane"]);
}

#[test]
fn values_are_indexed_in_every_unit_that_is_printed() {
    let pump = format!(
        "{PUMP}limits = \"9 mm to 11 mm\"\n[part.nut]\nname = \"nut\"\nthread = \"M6\"\ntorque = \"9 N·m ± 1 N·m\"\n\
         [part.rod]\nname = \"rod\"\nlimits = \"at least 4 mm\"\n"
    );
    let sources = crate::read(&Memory::new([
        ("shop.toml", SHOP),
        ("machines/hand-pump.toml", pump.as_str()),
        ("air/stand.md", STAND),
    ]));
    let piece = pieces(SHOP)
        .1
        .into_iter()
        .find(|piece| piece.machine == "hand-pump");
    let index = index_of(&sources, piece.into_iter().collect(), &[]);
    let values: Vec<String> = index
        .values
        .iter()
        .map(|(text, value)| {
            let SearchValue { unit, lower, upper } = value;
            format!(
                "{lower} to {upper} {unit}: {}",
                index.texts[*text].replace('\u{a0}', " ")
            )
        })
        .collect();
    assert_eq!(
        values,
        [
            "71 to 88 inlbf: Torque: 9 N·m ± 1 N·m [80 in·lbf (71 to 88)]",
            "8 to 10 nm: Torque: 9 N·m ± 1 N·m [80 in·lbf (71 to 88)]",
            "0.158 to  in: Limits: at least 4 mm [at least 0.158 in]",
            "4 to  mm: Limits: at least 4 mm [at least 0.158 in]",
            "0.355 to 0.433 in: Limits: 9 mm to 11 mm [0.355 in to 0.433 in]",
            "9 to 11 mm: Limits: 9 mm to 11 mm [0.355 in to 0.433 in]",
        ]
    );
    assert_eq!(texts_with(&index, "m6"), ["M6"]);
}

#[test]
fn words_lose_one_ending() {
    let endings = ["ing", "es", "s"].map(str::to_owned);
    for (word, expected) in [
        ("leaks", "leak"),
        ("leaking", "leak"),
        ("slipping", "slip"),
        ("slips", "slip"),
        ("gas", "gas"),
        ("full", "ful"),
        ("all", "all"),
        ("m10s", "m10s"),
        ("pérdidas", "pérdida"),
    ] {
        assert_eq!(stem(word, &endings), expected);
    }
}
