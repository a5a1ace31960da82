//! Finds the names of a shop's tools and supplies in text.

use crate::shop::{Shop, SupplyId, Tool, ToolId};
use aho_corasick::{AhoCorasick, AhoCorasickKind, MatchKind};
use std::collections::BTreeMap;

/// What a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Item {
    Tool(ToolId),
    Supply(SupplyId),
}

/// A name of a tool or a supply.
#[derive(Debug)]
struct Name<'s> {
    text: &'s str,
    /// What precedes its longest word, by which it is found.
    before: &'s str,
    /// Its longest word and what follows.
    rest: &'s str,
    item: Item,
}

/// The names of all tools and supplies of a shop, for one search through a text.
///
/// A shop can have a hundred names, and they are looked for in every procedure, so all are found in one pass.
#[derive(Debug)]
pub(super) struct KitNames<'s> {
    names: Vec<Name<'s>>,
    /// For each pattern, the indices of the names with that longest word.
    by_pattern: Vec<Vec<usize>>,
    /// `None` if the shop has no names.
    search: Option<AhoCorasick>,
}

impl<'s> KitNames<'s> {
    /// Collects the names. A tool is named by its name, without what follows a comma, or by one of its `also`; spanners
    /// and torque wrenches are left out. A supply is named by its name, of two words or more: a single word, such as
    /// *oil*, is also what is in the machine.
    pub(super) fn of(shop: &'s Shop) -> KitNames<'s> {
        let tools = shop.tools.values();
        let tools = tools.filter(|tool| tool.size.is_none() && tool.torque.is_none());
        let of_tools =
            tools.flat_map(|tool| names_of(tool).map(|name| (name, Item::Tool(tool.id))));
        let supplies = shop.supplies.values();
        let of_supplies = supplies
            .map(|supply| (short(&supply.name), Item::Supply(supply.id)))
            .filter(|(name, _)| name.contains(' '));
        let mut names = Vec::new();
        let mut by_word: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (text, item) in of_tools.chain(of_supplies) {
            let Some((at, word)) = longest_word(text) else {
                continue;
            };
            if text.len() > 2 && !word.is_empty() {
                by_word
                    .entry(word.to_ascii_lowercase())
                    .or_default()
                    .push(names.len());
                let (before, rest) = text.split_at(at);
                names.push(Name {
                    text,
                    before,
                    rest,
                    item,
                });
            }
        }
        let search = AhoCorasick::builder()
            .ascii_case_insensitive(true)
            .kind(Some(AhoCorasickKind::DFA))
            // A shorter word within a longer one is not a whole word.
            .match_kind(MatchKind::LeftmostLongest)
            .build(by_word.keys())
            .ok()
            .filter(|_| !names.is_empty());
        KitNames {
            names,
            by_pattern: by_word.into_values().collect(),
            search,
        }
    }

    /// The names of wanted items in a text, in any case, with any white space between their words, also as a plural.
    pub(super) fn find<'k>(
        &'k self,
        text: &'k str,
        is_wanted: impl Fn(Item) -> bool + 'k,
    ) -> impl Iterator<Item = (Item, &'s str)> + 'k {
        let matches = self.search.iter().flat_map(move |search| {
            search.find_iter(text).flat_map(move |found| {
                let names = self.by_pattern[found.pattern().as_usize()].iter();
                names.map(move |index| (&self.names[*index], found.start()))
            })
        });
        matches
            .filter(move |(name, word_at)| is_wanted(name.item) && name.is_at(text, *word_at))
            .map(|(name, _)| (name.item, name.text))
    }
}

impl Name<'_> {
    /// Whether the rest of the name is around its longest word, which is at `word_at`.
    fn is_at(&self, text: &str, word_at: usize) -> bool {
        let Some((mut begin, mut rest)) = text.split_at_checked(word_at) else {
            return false;
        };
        for word in self.before.split(' ').rev().skip(1) {
            let trimmed = begin.trim_end();
            let start = trimmed.len().checked_sub(word.len());
            let found = start.and_then(|start| trimmed.split_at_checked(start));
            match found {
                Some((before_word, found))
                    if found.eq_ignore_ascii_case(word) && trimmed.len() < begin.len() =>
                {
                    begin = before_word;
                }
                _ => return false,
            }
        }
        for (index, word) in self.rest.split(' ').enumerate() {
            let trimmed = rest.trim_start();
            let has_space = trimmed.len() < rest.len();
            match trimmed.split_at_checked(word.len()) {
                Some((found, after))
                    if found.eq_ignore_ascii_case(word) && has_space == (index > 0) =>
                {
                    rest = after;
                }
                _ => return false,
            }
        }
        // It may be a plural.
        let rest = rest.strip_prefix('s').unwrap_or(rest);
        let is_letter = |letter: Option<char>| letter.is_some_and(char::is_alphanumeric);
        !is_letter(begin.chars().next_back()) && !is_letter(rest.chars().next())
    }
}

/// The last of the longest words of a name, and where it begins.
fn longest_word(name: &str) -> Option<(usize, &str)> {
    let words = name.split(' ').scan(0, |at, word| {
        let begin = *at;
        *at += word.len() + 1;
        Some((begin, word))
    });
    words.max_by_key(|(_, word)| word.len())
}

/// The names of a tool.
pub(super) fn names_of(tool: &Tool) -> impl Iterator<Item = &str> {
    std::iter::once(short(&tool.name)).chain(tool.also.iter().map(String::as_str))
}

/// A name without its remarks, which follow a comma: "fire extinguisher, foam or powder".
fn short(name: &str) -> &str {
    name.split([',', '(']).next().unwrap_or_default().trim()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tree::{self, Memory};

    #[test]
    fn names_are_found_as_whole_words_with_any_white_space() {
        let tools = "[tool.pump]\nname = \"hand pump, for petrol\"\nalso = [\"pump\"]\n\
                     [tool.spanner]\nname = \"ring spanner\"\nsize = \"10 mm\"\n";
        let supplies = "[supply.oil]\nname = \"oil\"\n[supply.water]\nname = \"clean water\"\n";
        let tree = tree::read(&Memory::new([
            ("shop.toml", "name = \"Shop\""),
            ("tools.toml", tools),
            ("supplies.toml", supplies),
        ]));
        let shop = crate::shop::read(&tree, &mut crate::finding::Findings::new());
        let names = KitNames::of(&shop);
        let found = |text: &str| -> Vec<&str> {
            names.find(text, |_| true).map(|(_, name)| name).collect()
        };
        assert_eq!(
            found("With the hand\n   pump, pump"),
            ["hand pump", "pump", "pump"]
        );
        assert_eq!(found("Two Hand Pumps"), ["hand pump", "pump"]);
        assert_eq!(found("in CLEAN WATER."), ["clean water"]);
        for none in [
            "",
            "handpump",
            "pumping",
            "clean-water",
            "cleanwater",
            "oil",
            "ring spanner",
            "é pumpé",
        ] {
            assert_eq!(found(none), [""; 0], "{none}");
        }
        let empty = tree::read(&Memory::new([("shop.toml", "name = \"Shop\"")]));
        let shop = crate::shop::read(&empty, &mut crate::finding::Findings::new());
        assert_eq!(KitNames::of(&shop).find("a pump", |_| true).count(), 0);
    }
}
