//! Words that find a text although only a synonym of theirs is in it.

use super::words::{fold, stem, words_in};
use crate::page::{PageContext, author_words};
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};

/// The synonyms of a language and of a shop's glossary, as lists of phrases.
pub(super) struct Synonyms {
    pub(super) ignored: BTreeSet<String>,
    pub(super) endings: Vec<String>,
    /// Phrases with the same meaning. A phrase has its words, without those that a search leaves out.
    lists: Vec<Vec<Vec<String>>>,
}

impl Synonyms {
    /// The synonyms of the page's language, of the language of the shop's text, and of the shop's glossary.
    pub(super) fn new(context: PageContext<'_>) -> Synonyms {
        let languages = [context.words(), author_words(context.shop)].map(Words::search);
        let mut synonyms = Synonyms {
            ignored: BTreeSet::new(),
            endings: Vec::new(),
            lists: Vec::new(),
        };
        let mut lists = Vec::new();
        for language in languages {
            synonyms
                .ignored
                .extend(language.ignored.iter().map(|word| fold(word)));
            synonyms
                .endings
                .extend(language.endings.iter().map(|ending| fold(ending)));
            lists.extend(language.synonyms.iter().cloned());
        }
        synonyms
            .endings
            .sort_by_key(|ending| (std::cmp::Reverse(ending.len()), ending.clone()));
        synonyms.endings.dedup();
        let terms = context
            .shop
            .terms
            .values()
            .filter(|term| !term.also.is_empty());
        lists.extend(terms.map(|term| {
            let name = std::iter::once(&term.name);
            name.chain(&term.also).cloned().collect()
        }));
        let lists = lists.iter().map(|list| {
            let phrases = list.iter().map(|phrase| synonyms.words(phrase));
            phrases.filter(|words| !words.is_empty()).collect()
        });
        synonyms.lists = lists.collect();
        synonyms
    }

    /// The words of a text, in order, without those that a search leaves out.
    fn words(&self, text: &str) -> Vec<String> {
        let words = words_in(&fold(text));
        words.filter(|word| !self.ignored.contains(word)).collect()
    }

    /// Words that are not in a text but have a synonym in it, each with the indices of these texts. A
    /// synonym of several words is in a text if they follow each other there, in any form.
    pub(super) fn words_for(&self, texts: &[String]) -> BTreeMap<String, Vec<usize>> {
        let stems = |words: &[String]| -> Vec<String> {
            let words = words.iter();
            words
                .map(|word| stem(word, &self.endings).to_owned())
                .collect()
        };
        // Each phrase by the stem of its first word, with the number of its list.
        let mut beginnings: BTreeMap<String, Vec<(usize, Vec<String>)>> = BTreeMap::new();
        for (list, phrases) in self.lists.iter().enumerate() {
            for phrase in phrases {
                let stems = stems(phrase);
                let phrases = beginnings.entry(stems[0].clone()).or_default();
                phrases.push((list, stems));
            }
        }
        let mut found: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (index, text) in texts.iter().enumerate() {
            let words = stems(&self.words(text));
            let mut lists = BTreeSet::new();
            for at in 0..words.len() {
                let phrases = beginnings.get(&words[at]).into_iter().flatten();
                let phrases = phrases.filter(|(_, phrase)| words[at..].starts_with(phrase));
                lists.extend(phrases.map(|(list, _)| *list));
            }
            let others = lists.iter().flat_map(|list| &self.lists[*list]);
            let others: BTreeSet<&String> = others.flatten().collect();
            for word in others {
                found.entry(word.clone()).or_default().push(index);
            }
        }
        found
    }
}
