//! The search index of the site, as plain data.
//!
//! The jobs of a large shop are never in memory all at once. Each job contributes small
//! [`SearchPiece`]s when it is built; all pieces, together with the shop's records, give the
//! [`SearchIndex`].

use crate::page::text::collapse_whitespace;
use crate::sheet::{SearchKind, SearchPiece};
use crate::shop::{Machine, Shop};
use indexmap::IndexMap;
use std::collections::{BTreeMap, BTreeSet};
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// A glossary term.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SearchTerm<'t> {
    pub(crate) id: &'t str,
    pub(crate) name: &'t str,
    pub(crate) meaning: &'t str,
}

/// The search index of one edition.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct SearchIndex {
    /// Every text once, in order of first use: things first, then steps.
    pub(crate) texts: Vec<String>,
    /// Every folded word, with the indices of the texts that contain it, ascending. Words are
    /// sorted by UTF-16 code units, as JavaScript sorts strings.
    pub(crate) words: Vec<(String, Vec<usize>)>,
    /// The things that have a name, by kind.
    pub(crate) things: BTreeMap<SearchKind, Vec<SearchThing>>,
    /// The own steps of each procedure, in the order of the procedures in `things`.
    pub(crate) steps: Vec<Vec<SearchStep>>,
}

/// A search result that has a name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SearchThing {
    pub(crate) id: String,
    /// The index of its name in `texts`.
    pub(crate) name: usize,
    /// The indices of other texts that find it: a part's number, the causes in a fault table.
    pub(crate) texts: Vec<usize>,
    /// The machines that it belongs to, as indices among the things of kind `Machine`, ascending.
    /// Empty for a thing of the whole shop.
    pub(crate) machines: Vec<usize>,
}

/// A step, with the machines on which its text is the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SearchStep {
    /// The index of its text in `texts`.
    pub(crate) text: usize,
    /// The step's number on each of the procedure's machines, in their order. `None` on a machine
    /// where the step has another text or does not occur.
    pub(crate) numbers: Vec<Option<u32>>,
}

impl SearchIndex {
    /// Builds the index of an edition from the pieces of its jobs and fault tables, in any order,
    /// from the shop's records and from its glossary. A machine without pieces has no page and is
    /// left out.
    #[must_use]
    pub(crate) fn new(
        shop: &Shop,
        pieces: Vec<SearchPiece>,
        terms: &[SearchTerm<'_>],
    ) -> SearchIndex {
        let mut by_kind: BTreeMap<SearchKind, Pieces> = BTreeMap::new();
        let mut with_pages = BTreeSet::new();
        for piece in pieces {
            with_pages.insert(piece.machine.clone());
            let by_id = by_kind.entry(piece.kind).or_default();
            let by_machine = by_id.entry(piece.id.clone()).or_default();
            by_machine.insert(piece.machine.clone(), piece);
        }
        let machines: Vec<&Machine> = shop
            .machines
            .values()
            .filter(|machine| with_pages.contains(&machine.id))
            .collect();
        let mut take = |kind| by_kind.remove(&kind).unwrap_or_default();
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
        // The index of each machine, in the shop's order.
        let machine_indices: BTreeMap<&str, usize> = (0..)
            .zip(&machines)
            .map(|(index, machine)| (machine.id.as_str(), index))
            .collect();
        let procedures: Vec<Vec<(usize, SearchPiece)>> = take(SearchKind::Procedure)
            .into_values()
            .map(|pieces| with_machine_index(pieces, &machine_indices))
            .collect();
        for pieces in &procedures {
            if let [(_, first), ..] = pieces.as_slice() {
                let machines = pieces.iter().map(|(machine, _)| *machine).collect();
                builder.thing(
                    SearchKind::Procedure,
                    &first.id,
                    &first.title,
                    first.texts.iter().map(String::as_str),
                    machines,
                );
            }
        }
        for pieces in take(SearchKind::Fault).into_values() {
            for (machine, piece) in with_machine_index(pieces, &machine_indices) {
                let texts = piece.texts.iter().map(String::as_str);
                let machines = vec![machine];
                builder.thing(SearchKind::Fault, &piece.id, &piece.title, texts, machines);
            }
        }
        builder.things_of_machines(&machines);
        builder.things_of_shop(shop, terms);
        for pieces in &procedures {
            builder.steps_of(pieces);
        }
        builder.finish()
    }
}

/// The pieces of each procedure or fault table, by its id and then by the machine's id.
type Pieces = BTreeMap<String, BTreeMap<String, SearchPiece>>;

/// Pieces with the indices of their machines, sorted by index. A piece of an unknown machine is
/// dropped.
fn with_machine_index(
    pieces: BTreeMap<String, SearchPiece>,
    machine_indices: &BTreeMap<&str, usize>,
) -> Vec<(usize, SearchPiece)> {
    let indexed = pieces
        .into_iter()
        .filter_map(|(machine, piece)| Some((*machine_indices.get(machine.as_str())?, piece)));
    let mut indexed: Vec<(usize, SearchPiece)> = indexed.collect();
    indexed.sort_by_key(|(machine, _)| *machine);
    indexed
}

#[derive(Default)]
struct IndexBuilder {
    texts: IndexMap<String, ()>,
    words: BTreeMap<String, Vec<usize>>,
    things: BTreeMap<SearchKind, Vec<SearchThing>>,
    steps: Vec<Vec<SearchStep>>,
}

impl IndexBuilder {
    /// Returns the index of a text. A new text is added together with its words.
    fn text(&mut self, text: &str) -> usize {
        let (index, previous) = self.texts.insert_full(collapse_whitespace(text), ());
        if previous.is_none() {
            self.add_words(index, words_of(text));
        }
        index
    }

    fn add_words(&mut self, text: usize, words: BTreeSet<String>) {
        for word in words {
            let texts = self.words.entry(word).or_default();
            if let Err(index) = texts.binary_search(&text) {
                texts.insert(index, text);
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
        for (index, machine) in machines.iter().enumerate() {
            for part in machine.parts.values() {
                let number = part.number.as_deref();
                self.thing(SearchKind::Part, &part.key, &part.name, number, vec![index]);
                if let Some(number) = number {
                    // Readers also type a part number without its separators.
                    let text = self.text(number);
                    let joined = words_in(&fold(number)).collect();
                    self.add_words(text, BTreeSet::from([joined]));
                }
            }
        }
        for (index, machine) in machines.iter().enumerate() {
            for reading in machine.readings.values() {
                let (id, name) = (&reading.key, &reading.name);
                self.thing(SearchKind::Reading, id, name, [], vec![index]);
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
            let texts = std::iter::once(caution.consequence.as_str());
            let texts = texts.chain(caution.avoid.iter().map(String::as_str));
            let (id, name) = (&caution.key, &caution.hazard);
            self.thing(SearchKind::Caution, id, name, texts, vec![]);
        }
        for term in terms {
            let meaning = Some(term.meaning);
            self.thing(SearchKind::Term, term.id, term.name, meaning, vec![]);
        }
    }

    /// Adds a procedure's steps. Steps with the same text on several machines are one step. A text
    /// that a job repeats is a separate step each time.
    fn steps_of(&mut self, pieces: &[(usize, SearchPiece)]) {
        let mut steps: IndexMap<(usize, usize), Vec<Option<u32>>> = IndexMap::new();
        for (machine, (_, piece)) in pieces.iter().enumerate() {
            let mut occurrences: BTreeMap<usize, usize> = BTreeMap::new();
            for (number, text) in &piece.steps {
                let text = self.text(text);
                let occurrence = occurrences.entry(text).or_default();
                let numbers = steps
                    .entry((text, *occurrence))
                    .or_insert_with(|| vec![None; pieces.len()]);
                numbers[machine] = Some(*number);
                *occurrence += 1;
            }
        }
        let steps = steps
            .into_iter()
            .map(|((text, _), numbers)| SearchStep { text, numbers });
        self.steps.push(steps.collect());
    }

    fn finish(self) -> SearchIndex {
        let mut words: Vec<(String, Vec<usize>)> = self.words.into_iter().collect();
        words.sort_by(|(left, _), (right, _)| left.encode_utf16().cmp(right.encode_utf16()));
        SearchIndex {
            texts: self.texts.into_keys().collect(),
            words,
            things: self.things,
            steps: self.steps,
        }
    }
}

/// Folds a text for the search: NFKD, without combining marks (general category M), lowercase.
/// `search.js` folds the query in the same way.
fn fold(text: &str) -> String {
    let bare: String = text
        .nfkd()
        .filter(|letter| !is_combining_mark(*letter))
        .collect();
    bare.to_lowercase()
}

/// Splits a folded text into runs of letters and digits.
fn words_in(folded: &str) -> impl Iterator<Item = &str> {
    folded
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
}

/// The words that find a text: each run of letters and digits, and each hyphenated group as one
/// word.
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
