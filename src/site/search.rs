//! The search index of the site, as plain data.
//!
//! The jobs of a large shop are never in memory all at once. Each job contributes small
//! [`SearchPiece`]s when it is built; all pieces, together with the shop's records, give the
//! [`SearchIndex`].
//!
//! Synonyms are resolved here and not when somebody searches: a text that has a word or phrase of a list
//! of synonyms is also found by the words of the others. So a synonym can be misspelt and abbreviated like
//! any other word.

mod records;
mod synonyms;
mod words;

use crate::page::text::collapse_whitespace;
use crate::page::{PageContext, PageId, SheetKind};
use crate::sheet::{SearchKind, SearchPiece};
use crate::shop::{Machine, Shop};
use indexmap::IndexMap;
use records::Described;
pub(crate) use records::{SearchTerm, SearchValue};
use std::collections::{BTreeMap, BTreeSet};
use synonyms::Synonyms;
use words::{fold, words_in, words_of};

/// The search index of one edition.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct SearchIndex {
    /// Every text once, in order of first use: things first, then steps.
    pub(crate) texts: Vec<String>,
    /// Every folded word of a text or of a synonym, sorted by UTF-16 code units, as JavaScript sorts
    /// strings.
    pub(crate) words: Vec<SearchWord>,
    /// The values of parts, readings and fluids, by text and unit.
    pub(crate) values: Vec<(usize, SearchValue)>,
    /// Words that a search leaves out.
    pub(crate) ignored: Vec<String>,
    /// Endings that do not distinguish words, the longest first.
    pub(crate) endings: Vec<String>,
    /// The things that have a name, by kind.
    pub(crate) things: BTreeMap<SearchKind, Vec<SearchThing>>,
    /// The parts that have a number in a figure, as indices among the things of kind `Part`, ascending.
    pub(crate) drawn: Vec<usize>,
    /// The own steps of each procedure, in the order of the procedures in `things`.
    pub(crate) steps: Vec<Vec<SearchStep>>,
}

/// A word, with the indices of the texts that it finds, ascending.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct SearchWord {
    pub(crate) word: String,
    /// The texts that have the word.
    pub(crate) texts: Vec<usize>,
    /// The texts that have a synonym of it.
    pub(crate) by_synonym: Vec<usize>,
}

/// A search result that has a name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SearchThing {
    pub(crate) id: String,
    /// The index of its name in `texts`.
    pub(crate) name: usize,
    /// The indices of other texts that find it: a part's number, the causes in a fault table.
    pub(crate) texts: Vec<usize>,
    /// The number of these texts, from the first, that are always shown with the result.
    pub(crate) shown: usize,
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
        context: PageContext<'_>,
        pieces: Vec<SearchPiece>,
        terms: &[SearchTerm<'_>],
    ) -> SearchIndex {
        let shop = context.shop;
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
            let described = Described::machine(context, machine);
            builder.thing(SearchKind::Machine, &machine.id, described, vec![]);
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
                let described = Described::piece(first);
                builder.thing(SearchKind::Procedure, &first.id, described, machines);
            }
        }
        for pieces in take(SearchKind::Fault).into_values() {
            for (machine, piece) in with_machine_index(pieces, &machine_indices) {
                let described = Described::piece(&piece);
                builder.thing(SearchKind::Fault, &piece.id, described, vec![machine]);
            }
        }
        builder.things_of_machines(context, &machines);
        builder.things_of_shop(context, terms);
        for pieces in &procedures {
            builder.steps_of(pieces);
        }
        builder.finish(&Synonyms::new(context))
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
    values: Vec<(usize, SearchValue)>,
    things: BTreeMap<SearchKind, Vec<SearchThing>>,
    drawn: Vec<usize>,
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

    fn thing(&mut self, kind: SearchKind, id: &str, described: Described, machines: Vec<usize>) {
        let name = self.text(&described.name);
        let shown = described.shown.len();
        let texts = described.shown.iter().chain(&described.others);
        let texts: Vec<usize> = texts.map(|text| self.text(text)).collect();
        let values = described.values.into_iter();
        let values = values.map(|(text, value)| (texts[text], value));
        self.values.extend(values);
        let thing = SearchThing {
            id: id.to_owned(),
            name,
            texts,
            shown,
            machines,
        };
        self.things.entry(kind).or_default().push(thing);
    }

    fn things_of_machines(&mut self, context: PageContext<'_>, machines: &[&Machine]) {
        let mut parts = 0;
        for (index, machine) in machines.iter().enumerate() {
            let list = PageId::MachineSheet(SheetKind::PartsList, machine.id.clone());
            let has_list = context.output.includes(&list);
            for part in machine.parts.values() {
                let shop = context.shop;
                if has_list && shop.first_callout(machine.index, &part.key).is_some() {
                    self.drawn.push(parts);
                }
                parts += 1;
                let described = Described::part(context, part);
                let shown = described.shown.first().cloned().unwrap_or_default();
                self.thing(SearchKind::Part, &part.key, described, vec![index]);
                let old = part.supersedes.iter().map(|old| &old.value);
                for number in part.number.iter().chain(old) {
                    let text = self.text(&shown);
                    // Readers also type a part number without its separators.
                    let joined = words_in(&fold(number)).collect();
                    self.add_words(text, BTreeSet::from([joined]));
                }
            }
        }
        for (index, machine) in machines.iter().enumerate() {
            for reading in machine.readings.values() {
                let described = Described::reading(context, reading);
                self.thing(SearchKind::Reading, &reading.key, described, vec![index]);
            }
        }
        for (index, machine) in machines.iter().enumerate() {
            for fluid in machine.fluids.values() {
                let described = Described::fluid(context, fluid);
                self.thing(SearchKind::Fluid, &fluid.key, described, vec![index]);
            }
        }
    }

    fn things_of_shop(&mut self, context: PageContext<'_>, terms: &[SearchTerm<'_>]) {
        let Shop {
            tools,
            supplies,
            cautions,
            ..
        } = context.shop;
        for tool in tools.values() {
            let described = Described::tool(context, tool);
            self.thing(SearchKind::Tool, &tool.key, described, vec![]);
        }
        for supply in supplies.values() {
            let described = Described::supply(context, supply);
            self.thing(SearchKind::Supply, &supply.key, described, vec![]);
        }
        for caution in cautions.values() {
            let described = Described::caution(caution);
            self.thing(SearchKind::Caution, &caution.key, described, vec![]);
        }
        for term in terms {
            let described = Described::term(term);
            self.thing(SearchKind::Term, term.id, described, vec![]);
        }
        let has_rules = context.output.includes(&PageId::Rules);
        for rule in crate::rules::all().into_iter().filter(|_| has_rules) {
            let described = Described::rule(rule);
            let id = format!("{}/{}", rule.family.name(), rule.name);
            self.thing(SearchKind::Rule, &id, described, vec![]);
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

    fn finish(self, synonyms: &Synonyms) -> SearchIndex {
        let texts: Vec<String> = self.texts.into_keys().collect();
        let mut words: BTreeMap<String, SearchWord> = BTreeMap::new();
        for (word, by_synonym) in synonyms.words_for(&texts) {
            words.entry(word).or_default().by_synonym = by_synonym;
        }
        for (word, texts) in self.words {
            let found = words.entry(word).or_default();
            found
                .by_synonym
                .retain(|text| texts.binary_search(text).is_err());
            found.texts = texts;
        }
        let words = words.into_iter();
        let mut words: Vec<SearchWord> = words
            .map(|(word, found)| SearchWord { word, ..found })
            .collect();
        words.sort_by(|left, right| {
            let (left, right) = (left.word.encode_utf16(), right.word.encode_utf16());
            left.cmp(right)
        });
        let mut values = self.values;
        values.sort();
        values.dedup();
        SearchIndex {
            texts,
            words,
            values,
            ignored: synonyms.ignored.iter().cloned().collect(),
            endings: synonyms.endings.clone(),
            things: self.things,
            drawn: self.drawn,
            steps: self.steps,
        }
    }
}

#[cfg(test)]
mod tests;
