//! Finds the names of a shop's tools and supplies in text.

use crate::shop::{Shop, SupplyId, Tool, ToolId};
use crate::words::Starts;
use indexmap::IndexMap;
use memchr::memchr2;
use memchr::memmem::Finder;
use std::ops::Range;

/// What a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Item {
    Tool(ToolId),
    Supply(SupplyId),
}

/// A name of a tool or a supply.
#[derive(Debug)]
pub(super) struct Name<'s> {
    pub(super) text: &'s str,
    /// Where its longest word is, by which it is found.
    word: Range<usize>,
    /// What has the name. Two tools of a crib can have the same.
    pub(super) items: Vec<Item>,
    /// The ends of the links that put the items on the kit list.
    links: Vec<Finder<'static>>,
}

/// The names of all tools and supplies of a shop, for one search through a text.
///
/// A shop can have a hundred names, and they are looked for in every procedure, so all are found in one pass.
#[derive(Debug)]
pub(super) struct KitNames<'s> {
    names: Vec<Name<'s>>,
    /// The longest words of the names, each with the index of its name.
    starts: Starts<usize>,
}

impl<'s> KitNames<'s> {
    /// Collects the names. A tool is named by its name, without what follows a comma, or by one of its `also`; spanners
    /// and torque wrenches are left out. A supply is named by its name, of two words or more: a single word, such as
    /// *oil*, is also what is in the machine.
    pub(super) fn of(shop: &'s Shop) -> KitNames<'s> {
        let tools = shop.tools.values();
        let tools = tools.filter(|tool| tool.size.is_none() && tool.torque.is_none());
        let of_tools = tools.flat_map(|tool| {
            let link = format!("](use:{})", tool.key);
            names_of(tool).map(move |name| (name, Item::Tool(tool.id), link.clone()))
        });
        let of_supplies = shop.supplies.values().map(|supply| {
            let link = format!("](apply:{})", supply.key);
            (short(&supply.name), Item::Supply(supply.id), link)
        });
        let of_supplies = of_supplies.filter(|(name, _, _)| name.contains(' '));
        let mut names: IndexMap<String, Name<'s>> = IndexMap::new();
        for (text, item, link) in of_tools.chain(of_supplies) {
            let Some(word) = longest_word(text).filter(|_| text.len() > 2) else {
                continue;
            };
            let name = names.entry(text.to_ascii_lowercase());
            let name = name.or_insert_with(|| Name {
                text,
                word,
                items: Vec::new(),
                links: Vec::new(),
            });
            name.items.push(item);
            name.links.push(Finder::new(&link).into_owned());
        }
        let names: Vec<Name<'s>> = names.into_values().collect();
        let words = names.iter().enumerate();
        let starts = Starts::of(words.map(|(index, name)| (&name.text[name.word.clone()], index)));
        KitNames { names, starts }
    }

    /// The names in a text that puts none of their items on the kit list by a link of its own. They are found in any
    /// case, with any white space between their words, also as a plural.
    pub(super) fn unlinked(&self, text: &str) -> Vec<&Name<'s>> {
        // A list, because a text has few names that are not the text of their link.
        let mut named = Vec::new();
        self.starts.find(text, |word_at, index| {
            let name = &self.names[index];
            if let Some(end) = name.end_at(text, word_at)
                && !name.is_in_link(&text[end..])
                && !named.contains(&index)
            {
                named.push(index);
            }
        });
        named.sort_unstable();
        let named = named.into_iter().map(|index| &self.names[index]);
        let is_linked = |name: &&Name<'s>| {
            let mut links = name.links.iter();
            links.any(|link| link.find(text.as_bytes()).is_some())
        };
        named.filter(|name| !is_linked(name)).collect()
    }
}

impl Name<'_> {
    /// Whether the text that follows the name ends a link to one of its items.
    fn is_in_link(&self, rest: &str) -> bool {
        let end = memchr2(b'[', b']', rest.as_bytes());
        let end = end.map_or(&[][..], |end| &rest.as_bytes()[end..]);
        let mut links = self.links.iter();
        links.any(|link| end.starts_with(link.needle()))
    }

    /// The end of the name in a text that may have its longest word at `word_at`. `None` if the text has other words
    /// there.
    fn end_at(&self, text: &str, word_at: usize) -> Option<usize> {
        let word = &self.text.as_bytes()[self.word.clone()];
        let word_end = word_at + word.len();
        // Most words only begin like this one.
        let found = text.as_bytes().get(word_at..word_end)?;
        if !found.eq_ignore_ascii_case(word) {
            return None;
        }
        let (mut begin, mut rest) = (text.get(..word_at)?, text.get(word_end..)?);
        for word in self.text[self.word.end..].split(' ').skip(1) {
            let trimmed = rest.trim_start();
            let (found, after) = trimmed.split_at_checked(word.len())?;
            if !found.eq_ignore_ascii_case(word) || trimmed.len() == rest.len() {
                return None;
            }
            rest = after;
        }
        for word in self.text[..self.word.start].split(' ').rev().skip(1) {
            let trimmed = begin.trim_end();
            let start = trimmed.len().checked_sub(word.len())?;
            let (before, found) = trimmed.split_at_checked(start)?;
            if !found.eq_ignore_ascii_case(word) || trimmed.len() == begin.len() {
                return None;
            }
            begin = before;
        }
        // It may be a plural.
        let rest = rest.strip_prefix('s').unwrap_or(rest);
        let is_letter = |letter: Option<char>| letter.is_some_and(char::is_alphanumeric);
        let is_part = is_letter(begin.chars().next_back()) || is_letter(rest.chars().next());
        (!is_part).then(|| text.len() - rest.len())
    }
}

/// The last of the longest words of a name. Only words that begin with a letter or a digit can be found.
fn longest_word(name: &str) -> Option<Range<usize>> {
    let words = name.split(' ').scan(0, |at, word| {
        let begin = *at;
        *at += word.len() + 1;
        Some((begin, word))
    });
    let words = words.filter(|(_, word)| word.starts_with(char::is_alphanumeric));
    let longest = words.max_by_key(|(_, word)| word.len());
    longest.map(|(at, word)| at..at + word.len())
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
    fn a_name_of_two_tools_is_found_once_and_linked_by_either() {
        let tools = "[tool.wide]\nname = \"funnel\"\n[tool.narrow]\nname = \"Funnel, narrow\"\n";
        let tree = tree::read(&Memory::new([
            ("shop.toml", "name = \"Shop\""),
            ("tools.toml", tools),
        ]));
        let shop = crate::shop::read(&tree, &mut crate::finding::FindingsByFile::default());
        let names = KitNames::of(&shop);
        let found = names.unlinked("the funnel");
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].items.len(), 2);
        assert!(names.unlinked("funnel [x](use:narrow)").is_empty());
        assert!(names.unlinked("funnel [x](use:wide)").is_empty());
    }

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
        let shop = crate::shop::read(&tree, &mut crate::finding::FindingsByFile::default());
        let names = KitNames::of(&shop);
        let found = |text: &str| -> Vec<&str> {
            let found = names.unlinked(text).into_iter();
            found.map(|name| name.text).collect()
        };
        assert_eq!(found("With the hand\n   pump, pump"), ["hand pump", "pump"]);
        assert_eq!(found("Two Hand Pumps"), ["hand pump", "pump"]);
        assert_eq!(found("in CLEAN WATER."), ["clean water"]);
        assert_eq!(found("a “pump”"), ["pump"]);
        assert_eq!(found("a—pump"), ["pump"]);
        assert_eq!(found("the [pump](apply:pump)"), ["pump"]);
        assert_eq!(found("the [pump](use:pump-2)"), ["pump"]);
        for none in [
            "the [wide pump here](use:pump)",
            "the pump, then the [tool](use:pump)",
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
        let shop = crate::shop::read(&empty, &mut crate::finding::FindingsByFile::default());
        assert!(KitNames::of(&shop).unlinked("a pump").is_empty());
    }
}
