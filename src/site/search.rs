//! What can be found on the site, and by which words.
//!
//! A large shop's jobs are never in memory all at once. So each job gives a small [`SearchPiece`]
//! while it is there, and all pieces together with the shop's records give the [`SearchIndex`].

use crate::page::text::spaced;
use crate::sheet::{SearchKind, SearchPiece};
use crate::shop::{Machine, Shop};
use indexmap::IndexMap;
use std::collections::{BTreeMap, BTreeSet};
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// A word of the glossary.
#[derive(Clone, Copy, Debug)]
pub struct SearchTerm<'t> {
    /// Its id.
    pub id: &'t str,
    /// The word.
    pub name: &'t str,
    /// What it means.
    pub meaning: &'t str,
}

/// Everything that can be found in one edition, and the words to find it by.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SearchIndex {
    /// Every text once, in the order in which the things and then the steps first have it.
    pub texts: Vec<String>,
    /// Every word, folded, with the texts that have it, rising. The words are in the order of
    /// their UTF-16 code units, which is that of a script's strings.
    pub words: Vec<(String, Vec<usize>)>,
    /// The things, by kind.
    pub things: BTreeMap<SearchKind, Vec<SearchThing>>,
    /// For each procedure, its own steps.
    pub steps: Vec<Vec<SearchStep>>,
}

/// Something that is found by its name, or by what is said of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SearchThing {
    /// Its id.
    pub id: String,
    /// Its name, one of the texts.
    pub name: usize,
    /// What else is said of it: a part's number, the causes in a fault table.
    pub texts: Vec<usize>,
    /// The machines it is of, by their places among the things, rising; none for a thing of the shop.
    pub machines: Vec<usize>,
}

/// A step, with every machine on which it reads the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SearchStep {
    /// What it says, one of the texts.
    pub text: usize,
    /// Its number on each of its procedure's machines, in their order; none where it is not done.
    pub numbers: Vec<Option<u32>>,
}

impl SearchIndex {
    /// The index of an edition: from the pieces of its jobs and fault tables, in any order, from
    /// the shop's records and from its glossary. Of a machine without pieces there is no page to
    /// find.
    #[must_use]
    pub fn new(shop: &Shop, pieces: Vec<SearchPiece>, terms: &[SearchTerm<'_>]) -> SearchIndex {
        let mut of_kinds: BTreeMap<SearchKind, Pieces> = BTreeMap::new();
        let mut with_pages = BTreeSet::new();
        for piece in pieces {
            with_pages.insert(piece.machine.clone());
            let of_kind = of_kinds.entry(piece.kind).or_default();
            let of_one = of_kind.entry(piece.id.clone()).or_default();
            of_one.insert(piece.machine.clone(), piece);
        }
        let machines: Vec<&Machine> = shop
            .machines
            .values()
            .filter(|machine| with_pages.contains(&machine.id))
            .collect();
        let mut of = |kind| of_kinds.remove(&kind).unwrap_or_default();
        let mut builder = Builder::default();
        for machine in &machines {
            builder.thing(
                SearchKind::Machine,
                &machine.id,
                &machine.name.value,
                [],
                vec![],
            );
        }
        // In the order of the shop's machines.
        let places: BTreeMap<&str, usize> = (0..)
            .zip(&machines)
            .map(|(at, machine)| (machine.id.as_str(), at))
            .collect();
        let procedures: Vec<Vec<(usize, SearchPiece)>> = of(SearchKind::Procedure)
            .into_values()
            .map(|pieces| in_order(pieces, &places))
            .collect();
        for pieces in &procedures {
            if let [(_, first), ..] = pieces.as_slice() {
                let on = pieces.iter().map(|(machine, _)| *machine).collect();
                builder.thing(
                    SearchKind::Procedure,
                    &first.id,
                    &first.title,
                    first.texts.iter().map(String::as_str),
                    on,
                );
            }
        }
        for pieces in of(SearchKind::Fault).into_values() {
            for (machine, piece) in in_order(pieces, &places) {
                let texts = piece.texts.iter().map(String::as_str);
                let on = vec![machine];
                builder.thing(SearchKind::Fault, &piece.id, &piece.title, texts, on);
            }
        }
        builder.things_of_machines(&machines);
        builder.things_of_shop(shop, terms);
        for pieces in &procedures {
            builder.steps_of(pieces);
        }
        builder.index()
    }
}

/// The pieces of each procedure or fault table, by its id and then the machine's.
type Pieces = BTreeMap<String, BTreeMap<String, SearchPiece>>;

/// Pieces with the places of their machines, in order of these.
fn in_order(
    pieces: BTreeMap<String, SearchPiece>,
    places: &BTreeMap<&str, usize>,
) -> Vec<(usize, SearchPiece)> {
    let on = pieces
        .into_iter()
        .filter_map(|(machine, piece)| Some((*places.get(machine.as_str())?, piece)));
    let mut on: Vec<(usize, SearchPiece)> = on.collect();
    on.sort_by_key(|(machine, _)| *machine);
    on
}

/// An index as it grows.
#[derive(Default)]
struct Builder {
    texts: IndexMap<String, ()>,
    words: BTreeMap<String, Vec<usize>>,
    things: BTreeMap<SearchKind, Vec<SearchThing>>,
    steps: Vec<Vec<SearchStep>>,
}

impl Builder {
    /// A text's place; its words are taken in the first time.
    fn text(&mut self, text: &str) -> usize {
        let (at, before) = self.texts.insert_full(spaced(text), ());
        if before.is_none() {
            self.find_by(at, words_of(text));
        }
        at
    }

    fn find_by(&mut self, text: usize, words: BTreeSet<String>) {
        for word in words {
            let texts = self.words.entry(word).or_default();
            if let Err(at) = texts.binary_search(&text) {
                texts.insert(at, text);
            }
        }
    }

    fn thing<'t>(
        &mut self,
        kind: SearchKind,
        id: &str,
        name: &str,
        texts: impl IntoIterator<Item = &'t str>,
        machines: Vec<usize>,
    ) {
        let name = self.text(name);
        let texts = texts.into_iter().map(|text| self.text(text)).collect();
        let id = id.to_owned();
        let thing = SearchThing {
            id,
            name,
            texts,
            machines,
        };
        self.things.entry(kind).or_default().push(thing);
    }

    fn things_of_machines(&mut self, machines: &[&Machine]) {
        for (at, machine) in machines.iter().enumerate() {
            for part in machine.parts.values() {
                let number = part.number.as_deref();
                self.thing(SearchKind::Part, &part.key, &part.name, number, vec![at]);
                if let Some(number) = number {
                    // Whatever stands between its letters and digits, it is typed without, too.
                    let at = self.text(number);
                    let joined = words_in(&fold(number)).collect();
                    self.find_by(at, BTreeSet::from([joined]));
                }
            }
        }
        for (at, machine) in machines.iter().enumerate() {
            for reading in machine.readings.values() {
                let (id, name) = (&reading.key, &reading.name);
                self.thing(SearchKind::Reading, id, name, [], vec![at]);
            }
        }
    }

    fn things_of_shop(&mut self, shop: &Shop, terms: &[SearchTerm<'_>]) {
        for tool in shop.tools.values() {
            let note = tool.note.as_deref();
            self.thing(SearchKind::Tool, &tool.key, &tool.name, note, vec![]);
        }
        for supply in shop.supplies.values() {
            let note = supply.note.as_deref();
            self.thing(SearchKind::Supply, &supply.key, &supply.name, note, vec![]);
        }
        for caution in shop.cautions.values() {
            let told = std::iter::once(caution.consequence.as_str());
            let told = told.chain(caution.avoid.iter().map(String::as_str));
            let (id, name) = (&caution.key, &caution.hazard);
            self.thing(SearchKind::Caution, id, name, told, vec![]);
        }
        for term in terms {
            let meaning = Some(term.meaning);
            self.thing(SearchKind::Term, term.id, term.name, meaning, vec![]);
        }
    }

    /// A procedure's steps. What reads the same on several machines is one; what stands twice in
    /// one job is two.
    fn steps_of(&mut self, pieces: &[(usize, SearchPiece)]) {
        let mut steps: IndexMap<(usize, usize), Vec<Option<u32>>> = IndexMap::new();
        for (place, (_, piece)) in pieces.iter().enumerate() {
            let mut turns: BTreeMap<usize, usize> = BTreeMap::new();
            for (number, text) in &piece.steps {
                let text = self.text(text);
                let turn = turns.entry(text).or_default();
                let numbers = steps
                    .entry((text, *turn))
                    .or_insert_with(|| vec![None; pieces.len()]);
                numbers[place] = Some(*number);
                *turn += 1;
            }
        }
        let steps = steps
            .into_iter()
            .map(|((text, _), numbers)| SearchStep { text, numbers });
        self.steps.push(steps.collect());
    }

    fn index(self) -> SearchIndex {
        let mut words: Vec<(String, Vec<usize>)> = self.words.into_iter().collect();
        words.sort_by(|(one, _), (other, _)| one.encode_utf16().cmp(other.encode_utf16()));
        SearchIndex {
            texts: self.texts.into_keys().collect(),
            words,
            things: self.things,
            steps: self.steps,
        }
    }
}

/// A text as it is searched: without accents, and small. The script folds what is typed in the same
/// way: NFKD, without marks (general category M), small letters.
fn fold(text: &str) -> String {
    let bare: String = text
        .nfkd()
        .filter(|letter| !is_combining_mark(*letter))
        .collect();
    bare.to_lowercase()
}

/// The runs of letters and digits in a folded text.
fn words_in(folded: &str) -> impl Iterator<Item = &str> {
    folded
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
}

/// The words that a text is found by: each alone, and those that a hyphen joins as one, too.
fn words_of(text: &str) -> BTreeSet<String> {
    let folded = fold(text);
    let mut words: BTreeSet<String> = words_in(&folded).map(str::to_owned).collect();
    let hyphened = folded.split(|letter: char| !letter.is_alphanumeric() && letter != '-');
    words.extend(hyphened.map(|group| group.replace('-', "")));
    words.remove("");
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::{Edition, Setting};
    use crate::tree::Memory;

    const SHOP: &str = "name = \"Elmbrook workshop\"\nlanguage = \"en\"\n[system.air]\ntitle = \"Air and filters\"\n";
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
        let checked = crate::check(&sources);
        let edition = Edition::first(&sources.shop);
        let setting = Setting::new(&sources.tree, &edition, &[], BTreeSet::new());
        let jobs = checked.jobs.iter();
        let jobs = jobs.map(|one| SearchPiece::of_job(&one.job, &one.rehearsal, &setting));
        let faults = checked.faults.iter();
        let faults = faults.map(|one| SearchPiece::of_fault(&one.job, &one.rehearsal, &setting));
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

    fn said(index: &SearchIndex, kind: SearchKind) -> Vec<(&str, &str, Vec<usize>)> {
        let things = index.things[&kind].iter();
        things
            .map(|thing| {
                let name = index.texts[thing.name].as_str();
                (thing.id.as_str(), name, thing.machines.clone())
            })
            .collect()
    }

    /// The texts that a word finds.
    fn found<'i>(index: &'i SearchIndex, word: &str) -> Vec<&'i str> {
        let texts = index.words.iter().find(|(known, _)| known == word);
        let texts = texts.map_or(&[] as &[_], |(_, texts)| texts.as_slice());
        texts.iter().map(|at| index.texts[*at].as_str()).collect()
    }

    #[test]
    fn a_jobs_piece_has_its_own_steps_with_their_numbers_and_derived_text() {
        let (_, pieces) = pieces(SHOP);
        let look = pieces
            .iter()
            .find(|piece| piece.id == "look" && piece.machine == "hand-pump")
            .expect("the job is there");
        assert_eq!(look.texts, ["Air and filters"]);
        let steps: Vec<(u32, &str)> = look
            .steps
            .iter()
            .map(|(number, text)| (*number, text.as_str()))
            .collect();
        // The first step of the job is that of the procedure that begins it.
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
    fn a_step_of_several_machines_is_one_with_a_number_on_each() {
        let index = index();
        assert_eq!(
            said(&index, SearchKind::Machine),
            [
                ("hand-pump", "Hand pump", vec![]),
                ("spare-pump", "Spare pump", vec![]),
                ("wind-pump", "Wind pump", vec![]),
            ],
            "a machine without a job has no page"
        );
        let procedures = said(&index, SearchKind::Procedure);
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
    fn the_order_of_the_pieces_does_not_matter() {
        let (sources, mut pieces) = pieces(SHOP);
        let one = SearchIndex::new(&sources.shop, pieces.clone(), &[]);
        pieces.reverse();
        assert_eq!(one, SearchIndex::new(&sources.shop, pieces, &[]));
    }

    #[test]
    fn what_stands_twice_in_one_job_is_two_steps() {
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
            said(&index, SearchKind::Fault),
            [("dry", "Gives no water", vec![0])]
        );
        assert_eq!(found(&index, "coughs"), ["It coughs and spits."]);
        assert_eq!(
            found(&index, "rattle"),
            ["The cap is loose. Shake it. It doesn't rattle. See “Cover: look below”"]
        );
    }

    #[test]
    fn a_part_number_is_found_with_and_without_what_stands_between() {
        let index = index();
        for word in ["hp", "12", "04", "hp1204"] {
            assert_eq!(found(&index, word), ["HP 12/04"], "{word}");
        }
        assert_eq!(
            said(&index, SearchKind::Part)[..2],
            [("cover", "cover", vec![0]), ("cap", "cap", vec![0])]
        );
        assert_eq!(
            said(&index, SearchKind::Reading),
            [("stroke", "stroke of the piston", vec![0])]
        );
        assert_eq!(
            said(&index, SearchKind::Term),
            [("stroke", "stroke", vec![])]
        );
        assert_eq!(found(&index, "piston").len(), 2);
    }

    #[test]
    fn words_are_folded_and_sorted_as_a_script_sorts_them() {
        let all = |text: &str| words_of(text).into_iter().collect::<Vec<_>>();
        assert_eq!(all("Émbolo, AÑO y Öl"), ["ano", "embolo", "ol", "y"]);
        assert_eq!(
            all("re-fit the O-ring"),
            ["fit", "o", "oring", "re", "refit", "ring", "the"]
        );
        assert_eq!(all("196 cm³ \u{fb01}t"), ["196", "cm3", "fit"]);
        assert_eq!(all(" – · – "), [] as [&str; 0]);
        let index = index();
        assert_eq!(found(&index, "facade").len(), 1);
        let sorted = index
            .words
            .is_sorted_by(|(one, _), (other, _)| one.encode_utf16().lt(other.encode_utf16()));
        assert!(sorted);
        assert!(index.words.iter().all(|(_, texts)| texts.is_sorted()));
    }

    #[test]
    fn a_line_break_in_a_text_is_a_space() {
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
}
