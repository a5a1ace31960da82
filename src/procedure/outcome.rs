//! What a step depends on: `{if="float-height.over"}`, and what ends a loop: `{until="float-height.within"}`.

use crate::finding::Located;
use crate::prose::{ActionLink, Verb};

/// What can be found: by a reading beside its limits, or by looking at a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Found {
    Under,
    Within,
    Over,
    /// The part is used again.
    Reuse,
    Renew,
}

/// A set of what can be found, all of one kind: of a reading, or of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Outcome(u8);

/// A step is done, or a loop ends, if a thing has an outcome.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct When {
    /// The action that finds the outcome out: the measurement of a reading or of a dimension of a part
    /// (`crankpin/out-of-round`), or the inspection of a part. Its spans are those of the step.
    pub(crate) link: ActionLink,
    pub(crate) outcome: Outcome,
}

/// Steps that are repeated until a thing has an outcome. It is written at the last of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Repeat {
    pub(crate) until: When,
    /// The id of the first of the steps.
    pub(crate) back_to: Located<String>,
    /// How often they are done, at most.
    pub(crate) at_most: u32,
}

/// The most times that a loop can be done.
pub(crate) const MOST_REPEATS: u32 = 20;

const fn bit(found: Found) -> u8 {
    1 << found as u8
}

const OF_READING: u8 = bit(Found::Under) | bit(Found::Within) | bit(Found::Over);
const OF_PART: u8 = bit(Found::Reuse) | bit(Found::Renew);

/// The words of outcomes.
const WORDS: [(&str, Outcome); 8] = [
    ("over", Outcome::of(&[Found::Over])),
    ("under", Outcome::of(&[Found::Under])),
    ("within", Outcome::of(&[Found::Within])),
    ("out", Outcome::of(&[Found::Under, Found::Over])),
    ("not-over", Outcome::of(&[Found::Under, Found::Within])),
    ("not-under", Outcome::of(&[Found::Within, Found::Over])),
    ("renew", Outcome::of(&[Found::Renew])),
    ("reuse", Outcome::of(&[Found::Reuse])),
];

impl Found {
    pub(crate) const ALL: [Found; 5] = [
        Found::Under,
        Found::Within,
        Found::Over,
        Found::Reuse,
        Found::Renew,
    ];

    /// Its word in the source.
    pub(crate) fn word(self) -> &'static str {
        Outcome(bit(self)).word()
    }

    /// What is found if nothing is wrong.
    pub(crate) const GOOD: [Found; 2] = [Found::Within, Found::Reuse];
}

impl Outcome {
    const fn of(found: &[Found]) -> Outcome {
        let mut bits = 0;
        let mut index = 0;
        while index < found.len() {
            bits |= bit(found[index]);
            index += 1;
        }
        Outcome(bits)
    }

    /// The outcome that a word means.
    pub(crate) fn parse(word: &str) -> Option<Outcome> {
        let found = WORDS.iter().find(|(known, _)| *known == word);
        found.map(|(_, outcome)| *outcome)
    }

    pub(crate) fn words() -> impl Iterator<Item = &'static str> {
        WORDS.iter().map(|(word, _)| *word)
    }

    /// Its word in the source.
    pub(crate) fn word(self) -> &'static str {
        let found = WORDS.iter().find(|(_, outcome)| *outcome == self);
        found.map_or("", |(word, _)| word)
    }

    /// Whether it is of a part. Otherwise it is of a reading.
    pub(crate) fn is_of_part(self) -> bool {
        self.0 & OF_PART != 0
    }

    pub(crate) fn has(self, found: Found) -> bool {
        self.0 & bit(found) != 0
    }

    /// What is in it.
    pub(crate) fn each(self) -> impl Iterator<Item = Found> {
        Found::ALL.into_iter().filter(move |found| self.has(*found))
    }

    /// Whatever else can be found. `None` if nothing else can.
    #[must_use]
    pub(crate) fn otherwise(self) -> Option<Outcome> {
        let all = if self.is_of_part() {
            OF_PART
        } else {
            OF_READING
        };
        let rest = all & !self.0;
        (rest != 0).then_some(Outcome(rest))
    }

    #[must_use]
    pub(crate) fn or(self, other: Outcome) -> Outcome {
        Outcome(self.0 | other.0)
    }
}

impl When {
    /// Reads `float-height.over`. The error says what is wrong with it.
    pub(super) fn parse(text: &Located<String>) -> Result<When, String> {
        let Some((thing, word)) = text.value.rsplit_once('.') else {
            return Err(format!("`{}` names no outcome", text.value));
        };
        let outcome = Outcome::parse(word).ok_or_else(|| format!("`{word}` is no outcome"))?;
        let verb = if outcome.is_of_part() {
            Verb::Inspect
        } else {
            Verb::Measure
        };
        let link = ActionLink {
            verb,
            thing: text.with(thing.to_owned()),
            span: text.span,
        };
        Ok(When { link, outcome })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_has_another_that_means_the_opposite() {
        for word in Outcome::words() {
            let outcome = Outcome::parse(word).unwrap();
            let other = outcome.otherwise().unwrap();
            assert!(!other.word().is_empty(), "{word}");
            assert_eq!(other.otherwise(), Some(outcome));
            assert_eq!(outcome.or(other).otherwise(), None);
            assert_eq!(outcome.is_of_part(), other.is_of_part());
            for found in Found::ALL {
                assert!(!(outcome.has(found) && other.has(found)), "{word}");
            }
            assert_eq!(outcome.word(), word);
        }
        assert_eq!(Outcome::parse("above"), None);
    }
}
