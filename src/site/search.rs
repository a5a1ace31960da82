//! What can be found on the site, and by which words.
//!
//! A large shop's jobs are never in memory all at once. So each job gives a small [`SearchPiece`]
//! while it is there, and all pieces together with the shop's records give the [`SearchIndex`].

use crate::page::text::collapse_whitespace;
use crate::sheet::{SearchKind, SearchPiece};
use crate::shop::{Machine, Shop};
use indexmap::IndexMap;
use std::collections::{BTreeMap, BTreeSet};
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// A word of the glossary.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SearchTerm<'t> {
    /// Its id.
    pub(crate) id: &'t str,
    /// The word.
    pub(crate) name: &'t str,
    /// What it means.
    pub(crate) meaning: &'t str,
}

/// Everything that can be found in one edition, and the words to find it by.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct SearchIndex {
    /// Every text once, in the order in which the things and then the steps first have it.
    pub(crate) texts: Vec<String>,
    /// Every word, folded, with the texts that have it, rising. The words are in the order of
    /// their UTF-16 code units, which is that of a script's strings.
    pub(crate) words: Vec<(String, Vec<usize>)>,
    /// The things, by kind.
    pub(crate) things: BTreeMap<SearchKind, Vec<SearchThing>>,
    /// For each procedure, its own steps.
    pub(crate) steps: Vec<Vec<SearchStep>>,
}

/// Something that is found by its name, or by what is said of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SearchThing {
    /// Its id.
    pub(crate) id: String,
    /// Its name, one of the texts.
    pub(crate) name: usize,
    /// What else is said of it: a part's number, the causes in a fault table.
    pub(crate) texts: Vec<usize>,
    /// The machines it is of, by their places among the things, rising; none for a thing of the shop.
    pub(crate) machines: Vec<usize>,
}

/// A step, with every machine on which it reads the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SearchStep {
    /// What it says, one of the texts.
    pub(crate) text: usize,
    /// Its number on each of its procedure's machines, in their order; none where it is not done.
    pub(crate) numbers: Vec<Option<u32>>,
}

impl SearchIndex {
    /// The index of an edition: from the pieces of its jobs and fault tables, in any order, from
    /// the shop's records and from its glossary. Of a machine without pieces there is no page to
    /// find.
    #[must_use]
    pub(crate) fn new(
        shop: &Shop,
        pieces: Vec<SearchPiece>,
        terms: &[SearchTerm<'_>],
    ) -> SearchIndex {
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
        let mut builder = IndexBuilder::default();
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
struct IndexBuilder {
    texts: IndexMap<String, ()>,
    words: BTreeMap<String, Vec<usize>>,
    things: BTreeMap<SearchKind, Vec<SearchThing>>,
    steps: Vec<Vec<SearchStep>>,
}

impl IndexBuilder {
    /// A text's place; its words are taken in the first time.
    fn text(&mut self, text: &str) -> usize {
        let (at, before) = self.texts.insert_full(collapse_whitespace(text), ());
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
                    // A number is also typed without what separates its letters and digits.
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

    /// A procedure's steps. What reads the same on several machines is one; what is twice in
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
mod tests;
